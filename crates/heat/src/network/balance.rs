//! Sharing the heat out: the junctions seen from above and from below must agree.

use super::stage::Stage;
use super::{Network, Solution, Upward};
use crate::sheet::Sheet;
use crate::valid::Refusal;
use facedown_field::dense;

impl Network<'_> {
    /// Resistance of a die's body from active face to back, K/W.
    fn body(&self, place: usize) -> f64 {
        self.bodies[place].iter().map(Sheet::resistance).sum::<f64>() / self.areas[place]
    }

    /// From the back of a die to the lid's inner face, or through its own film to the air, K/W; `None` where no heat leaves
    /// upward.
    fn above(&self, place: usize) -> Option<f64> {
        match (&self.lid, self.setting.up) {
            (Some(_), _) => self.interfaces[place].map(|t| t.resistance() / self.areas[place]),
            (None, Upward::Insulated) => None,
            (None, _) if self.problem.lid.is_some() => None,
            (None, _) => Some(1.0 / (self.films.top * self.areas[place])),
        }
    }

    /// Shares the heat out; the places beside the means ([`Solution::case`], [`Solution::board_sensor`]) come with
    /// [`Network::places`].
    ///
    /// # Errors
    /// [`Refusal::NoWayOut`] when a heated die has no path, [`Refusal::Unsettled`] when the system has no finite solution.
    pub fn solve(&self) -> Result<Solution, Refusal> {
        let total: f64 = self.setting.powers_w.iter().sum();
        let unsettled = |_| Refusal::Unsettled { power_w: total };
        let n = self.on_bumps.len();
        let power: Vec<f64> = self.on_bumps.iter().map(|&i| self.setting.powers_w[i]).collect();
        let stacked = &self.stacked_w;
        let foot = self.foot.filter(|_| self.substrate.is_some());

        // Below: rise under each die for one watt through each die's bumps, and through the foot.
        let mut below = vec![0.0; n * n];
        let (mut foot_under, mut foot_foot) = (vec![0.0; n], 0.0);
        let mut on_substrate = Vec::new();
        if let Some(substrate) = &self.substrate {
            on_substrate = substrate.influence_without_film_under().map_err(unsettled)?;
            let ports = substrate.patches.len();
            let port = |i: usize| if self.interposer.is_some() { 0 } else { i };
            let local = self.interposer.as_ref().map(Stage::influence);
            for i in 0..n {
                for j in 0..n {
                    below[i * n + j] = on_substrate[port(i) * ports + port(j)]
                        + local.as_ref().map_or(0.0, |l| l[i * n + j]);
                }
                if foot.is_some() {
                    foot_under[i] = on_substrate[port(i) * ports + ports - 1];
                }
            }
            if foot.is_some() {
                foot_foot = on_substrate[ports * ports - 1];
            }
        }
        // Above: rise of the lid's inner face over each die.
        let mut over = vec![0.0; n * n];
        let (mut foot_over, mut foot_lid) = (vec![0.0; n], 0.0);
        if let Some(lid) = &self.lid {
            let all = lid.influence();
            let ports = lid.patches.len();
            for i in (0..n).filter(|&i| self.interfaces[i].is_some()) {
                for j in (0..n).filter(|&j| self.interfaces[j].is_some()) {
                    over[i * n + j] = all[i * ports + j];
                }
                if foot.is_some() {
                    foot_over[i] = all[i * ports + ports - 1];
                }
            }
            if foot.is_some() {
                foot_lid = all[ports * ports - 1];
            }
        }

        // Unknown: heat up through each body, then the foot.
        let size = n + usize::from(foot.is_some());
        let mut matrix = vec![0.0; size * size];
        let mut right = vec![0.0; size];
        for i in 0..n {
            let bumps = self.joints[i].resistance() / self.areas[i];
            match (self.substrate.is_some(), self.above(i)) {
                (true, Some(above)) => {
                    for j in 0..n {
                        matrix[i * size + j] = over[i * n + j] + below[i * n + j];
                        right[i] += below[i * n + j] * power[j] - over[i * n + j] * stacked[j];
                    }
                    matrix[i * size + i] += self.body(i) + above + bumps;
                    right[i] += bumps * power[i] - above * stacked[i];
                    if foot.is_some() {
                        matrix[i * size + n] = -foot_over[i] - foot_under[i];
                    }
                }
                (true, None) => {
                    matrix[i * size + i] = 1.0;
                    right[i] = -stacked[i];
                }
                (false, Some(_)) => {
                    matrix[i * size + i] = 1.0;
                    right[i] = power[i];
                }
                (false, None) => {
                    if power[i] + stacked[i] > 0.0 {
                        return Err(Refusal::NoWayOut(
                            "a die touches no lid, and nothing cools it from below",
                        ));
                    }
                    matrix[i * size + i] = 1.0;
                }
            }
        }
        if let Some(resistance) = foot {
            for j in 0..n {
                matrix[n * size + j] = foot_over[j] + foot_under[j];
                right[n] += foot_under[j] * power[j] - foot_over[j] * stacked[j];
            }
            matrix[n * size + n] = -(foot_lid + foot_foot + resistance);
        }
        let x = dense::solve(&matrix, &right).map_err(unsettled)?;
        let mut s = Solution {
            body_up: x[..n].to_vec(),
            foot: if foot.is_some() { x[n] } else { 0.0 },
            ..Solution::default()
        };
        s.up = s.body_up.iter().zip(stacked).map(|(u, s)| u + s).collect();
        s.down = s.body_up.iter().zip(&power).map(|(u, p)| p - u).collect();
        let sum = |row: &[f64], heat: &[f64]| row.iter().zip(heat).map(|(r, q)| r * q).sum::<f64>();
        for i in 0..n {
            let under = sum(&below[i * n..(i + 1) * n], &s.down) + foot_under[i] * s.foot;
            let inner = sum(&over[i * n..(i + 1) * n], &s.up) - foot_over[i] * s.foot;
            s.under_bumps.push(under);
            let bumps = self.joints[i].resistance() / self.areas[i];
            let junction = if self.substrate.is_some() {
                under + bumps * s.down[i]
            } else {
                inner + (self.body(i) + self.above(i).unwrap_or(0.0)) * s.up[i]
            };
            s.junction.push(junction);
            s.back.push(junction - self.body(i) * s.body_up[i]);
        }
        self.faces(&mut s, &on_substrate);
        let finite = s.junction.iter().chain(&s.back).all(|t| t.is_finite()) && s.balls.is_finite();
        if finite { Ok(s) } else { Err(Refusal::Unsettled { power_w: total }) }
    }
}
