//! One wire pulled taut around octagons.
//!
//! The same active set as for discs: take in the corner most intruded upon, drop corners that the string no longer
//! bends around, until neither is left. The string bends at corners of octagons only, all on whole nanometres.

use super::gauge;
use crate::route::plane::{P2, cross, distance, dot, norm, sub};
use crate::route::taut::{Course, Disc};

/// A place where a string bends.
#[derive(Debug, Clone, Copy)]
pub struct Bend {
    /// The octagon's disc, by number in the list given; `usize::MAX` for the ends.
    pub disc: usize,
    /// The corner.
    pub p: P2,
    /// +1 when the string turns left here, -1 right, 0 at the ends.
    pub side: f64,
    /// Place along the wire in crossings.
    pub index: f64,
}

/// Intrusions smaller than this are rounding, nm.
const FINE: f64 = 0.6;

/// The taut string from `start` to `end` around the octagons of `discs`; `round` is a taut course around the discs
/// themselves, which tells where to begin. `None` when it does not fit.
pub fn taut(
    start: P2,
    end: P2,
    discs: &[Disc],
    crossings: usize,
    round: Option<&Course>,
) -> Option<Vec<Bend>> {
    let octagons: Vec<[P2; 8]> = discs.iter().map(|d| gauge::octagon(d.centre, d.radius)).collect();
    let tip = |p: P2, index: f64| Bend { disc: usize::MAX, p, side: 0.0, index };
    let mut chain = vec![tip(start, -1.0), tip(end, crossings as f64)];
    for arc in round.iter().flat_map(|c| &c.arcs) {
        let middle = sub(arc.from, arc.centre);
        let (s, c) = (arc.side * arc.angle / 2.0).sin_cos();
        let middle = [middle[0] * c - middle[1] * s, middle[0] * s + middle[1] * c];
        let found = (0..discs.len()).find(|&k| {
            discs[k].centre == arc.centre
                && discs[k].side == arc.side
                && discs[k].span[0] <= arc.index + 1.0
                && arc.index <= discs[k].span[1] + 1.0
        });
        let Some(k) = found else { continue };
        let reach = |p: &P2| dot(sub(*p, arc.centre), middle);
        let Some(p) = octagons[k].iter().copied().max_by(|a, b| reach(a).total_cmp(&reach(b))) else {
            continue;
        };
        let at = chain.len() - 1;
        let index = arc.index.max(chain[at - 1].index);
        chain.insert(at, Bend { disc: k, p, side: arc.side, index });
    }
    for _ in 0..400 + 24 * discs.len() {
        if let Some(k) = slack(&chain) {
            chain.remove(k);
            continue;
        }
        let Some((after, disc, p)) = worst(&chain, discs, &octagons) else { return Some(chain) };
        let span = discs[disc].span;
        let (lo, hi) = (chain[after].index, chain[after + 1].index);
        let index = ((span[0] + span[1]) / 2.0).clamp(lo, hi);
        if chain.iter().any(|b| b.disc == disc && b.p == p && b.index == index) {
            return None;
        }
        chain.insert(after + 1, Bend { disc, p, side: discs[disc].side, index });
    }
    None
}

/// The bend that turns most in the wrong sense, or not at all.
fn slack(chain: &[Bend]) -> Option<usize> {
    let mut worst = (1e-9, None);
    for k in 1..chain.len().saturating_sub(1) {
        let u = sub(chain[k].p, chain[k - 1].p);
        let v = sub(chain[k + 1].p, chain[k].p);
        if distance(u, [0.0; 2]) == 0.0 || distance(v, [0.0; 2]) == 0.0 {
            return Some(k);
        }
        let mut turn = cross(u, v).atan2(dot(u, v)) * chain[k].side;
        if turn < -2.4 {
            turn += std::f64::consts::TAU;
        }
        if turn < worst.0 {
            worst = (turn, Some(k));
        }
    }
    worst.1
}

/// The corner intruded upon most, with its disc and the bend after which it belongs.
fn worst(chain: &[Bend], discs: &[Disc], octagons: &[[P2; 8]]) -> Option<(usize, usize, P2)> {
    let mut worst = (FINE, None);
    for (n, d) in discs.iter().enumerate() {
        if d.radius <= 0.0 {
            continue;
        }
        for k in 0..chain.len() - 1 {
            let (a, b) = (chain[k], chain[k + 1]);
            if a.index > d.span[1] + 1e-9 || b.index < d.span[0] - 1e-9 {
                continue;
            }
            let l = sub(b.p, a.p);
            let long = norm(l);
            if long == 0.0 {
                continue;
            }
            let inside = gauge::gap([a.p, b.p], [d.centre; 2]) < d.radius - FINE;
            for &p in &octagons[n] {
                let v = sub(p, a.p);
                let depth = -d.side * cross(l, v) / long;
                let t = dot(v, l) / (long * long);
                if depth > worst.0 && p != a.p && p != b.p && (inside || (t > 1e-9 && t < 1.0 - 1e-9)) {
                    worst = (depth, Some((k, n, p)));
                }
            }
        }
    }
    worst.1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn disc(x: f64, y: f64, radius: f64, side: f64, at: f64) -> Disc {
        Disc { centre: [x, y], radius, side, span: [at, at], vertex: crate::route::mesh::NONE }
    }

    #[test]
    fn a_string_over_one_octagon_bends_at_its_two_nearest_corners() {
        let s = taut([-300.0, 0.0], [300.0, 0.0], &[disc(0.0, 0.0, 100.0, -1.0, 0.0)], 1, None).unwrap();
        // Circumscribed about a circle of 100: upper corners at 42 (from 100 tan 22.5 degrees) and height 100.
        let bends: Vec<P2> = s.iter().map(|b| b.p).collect();
        assert_eq!(bends, vec![[-300.0, 0.0], [-42.0, 100.0], [42.0, 100.0], [300.0, 0.0]]);
    }

    #[test]
    fn octagons_that_overlap_across_the_wire_leave_no_string() {
        let discs = [disc(500.0, 60.0, 70.0, 1.0, 0.0), disc(500.0, -60.0, 70.0, -1.0, 0.0)];
        assert!(taut([0.0, 0.0], [1000.0, 0.0], &discs, 1, None).is_none());
    }
}
