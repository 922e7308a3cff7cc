//! Temperatures and heat of the cooled faces, and of the places where a test reads them.

use super::stage::{MOST_MODES, Stage};
use super::{FaceHeat, Network, Solution};
use crate::plate::{Face, Modes};
use crate::standards::BOARD_SENSOR_M;

impl Network<'_> {
    /// Mean temperatures and heat of the cooled faces.
    pub(super) fn faces(&self, s: &mut Solution, on_substrate: &[f64]) {
        let up: f64 = s.up.iter().sum();
        s.faces[0] = match &self.lid {
            Some(lid) => {
                let (area, heat) = (lid.plate.area(), up - s.foot);
                FaceHeat { area, rise: heat / (area * self.films.top), heat }
            }
            None => {
                let area: f64 = self.areas.iter().sum();
                let heat = if self.problem.lid.is_some() { 0.0 } else { up };
                let mean = s.back.iter().zip(&self.areas).map(|(t, a)| t * a).sum::<f64>() / area;
                FaceHeat { area, rise: mean, heat }
            }
        };
        s.lid = s.faces[0].rise;
        let Some(substrate) = &self.substrate else { return };
        let ports = substrate.patches.len();
        let heats: Vec<f64> = match (&self.interposer, self.foot) {
            (Some(_), foot) => {
                let all: f64 = s.down.iter().sum();
                if foot.is_some() { vec![all, s.foot] } else { vec![all; ports.min(1)] }
            }
            (None, Some(_)) => s.down.iter().copied().chain([s.foot]).collect(),
            (None, None) => s.down.clone(),
        };
        // A foot port without a foot's heat (an insulated top) takes none.
        let heat_of = |i: usize| heats.get(i).copied().unwrap_or(0.0);
        let patch_rise = |i: usize| (0..ports).map(|j| on_substrate[i * ports + j] * heat_of(j)).sum::<f64>();
        let rises: Vec<f64> = (0..ports).map(patch_rise).collect();
        if self.interposer.is_some() {
            s.under_interposer = rises[0];
        }
        let plate = &substrate.plate;
        let film = plate.face_film;
        let put_back: f64 = rises.iter().zip(&substrate.patches).map(|(t, p)| film * p.area * t).sum();
        let entering: f64 = (0..ports).map(heat_of).sum();
        s.substrate = (entering + put_back) / (plate.area() * (plate.mean_admittance() + film));
        let covered: f64 = substrate.patches.iter().map(|p| p.area).sum();
        let heat = film * plate.area() * s.substrate - put_back;
        let area = plate.area() - covered;
        s.faces[1] = FaceHeat {
            area,
            rise: if area > 0.0 && film > 0.0 { heat / (film * area) } else { s.substrate },
            heat,
        };
        s.balls = s.substrate * plate.area() * plate.mean_admittance();
        s.board_footprint = s.balls * self.board_resistance();
        if let Some(ring) = &self.ring {
            s.board_sensor = s.balls * ring.sensor;
        }
        if let Some(board) = &self.board {
            let (plate, patch) = (&board.plate, &board.patches[0]);
            let put_back = plate.face_film * patch.area * s.board_footprint;
            let entering = s.balls + put_back;
            let face = entering / (plate.area() * (plate.mean_admittance() + plate.face_film));
            let bottom_heat = face * plate.area() * plate.mean_admittance();
            let top_heat = face * plate.area() * plate.face_film - put_back;
            let top_area = plate.area() - patch.area;
            let top_rise =
                if top_area > 1e-9 * plate.area() { top_heat / (plate.face_film * top_area) } else { face };
            s.faces[2] = FaceHeat { area: top_area, rise: top_rise, heat: top_heat };
            s.faces[3] = FaceHeat {
                area: plate.area(),
                rise: bottom_heat / (plate.area() * plate.film),
                heat: bottom_heat,
            };
        }
    }

    /// Adds the temperatures at single places: top of the case over each die, board beside the package.
    pub fn places(&self, s: &mut Solution) {
        self.case(s);
        if let Some(board) = &self.board {
            let (plate, patch) = (&board.plate, &board.patches[0]);
            let entering = s.balls + plate.face_film * patch.area * s.board_footprint;
            let size = [self.problem.substrate.width_m, self.problem.substrate.height_m];
            let centre = [plate.width_m / 2.0, plate.height_m / 2.0];
            // At the middle of the longest side: beside it in the other direction.
            let place = if size[0] >= size[1] {
                [centre[0], (centre[1] + size[1] / 2.0 + BOARD_SENSOR_M).min(plate.height_m)]
            } else {
                [(centre[0] + size[0] / 2.0 + BOARD_SENSOR_M).min(plate.width_m), centre[1]]
            };
            s.board_sensor = entering * board.modes.at(patch, place, Face::Heated);
        }
    }

    /// Top of the case over the centre of each die: on the lid, or the die's own back.
    fn case(&self, s: &mut Solution) {
        let n = self.on_bumps.len();
        s.case = s.back.clone();
        let Some(lid) = &self.lid else { return };
        let modes = Modes::new(&lid.plate, Stage::count(&lid.plate, &lid.patches), true);
        let shift = self.problem.interposer.as_ref().map_or([0.0; 2], |i| i.at_m);
        for i in 0..n {
            let at = self.problem.dies[self.on_bumps[i]].at_m;
            let point = [
                (lid.plate.width_m / 2.0 + at[0] + shift[0]).clamp(0.0, lid.plate.width_m),
                (lid.plate.height_m / 2.0 + at[1] + shift[1]).clamp(0.0, lid.plate.height_m),
            ];
            s.case[i] = (0..n)
                .filter(|&j| self.interfaces[j].is_some())
                .map(|j| s.up[j] * modes.at(&lid.patches[j], point, Face::Far))
                .sum::<f64>()
                - self.foot.map_or(0.0, |_| s.foot * modes.at(&lid.patches[n], point, Face::Far));
        }
    }

    /// True when a source is so small on its plate that the series was cut off early.
    pub(crate) fn cut_short(&self) -> bool {
        [&self.substrate, &self.interposer, &self.lid, &self.board]
            .into_iter()
            .flatten()
            .any(|stage| Stage::count(&stage.plate, &stage.patches).contains(&MOST_MODES))
    }
}
