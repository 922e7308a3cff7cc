//! Putting the network together from a problem: sheets at their temperatures, patches in their plates, films.

use super::stage::{BOARD_FOLLOWS, EVEN_FOLLOWS, Stage};
use super::{Downward, Films, Levels, Network, Ring, Setting, Upward};
use crate::mixing::{at, joint_sheet, sheet};
use crate::plate::{Patch, Plate, Rectangle, held_rim};
use crate::problem::{Mount, Problem};
use crate::sheet::Sheet;
use crate::standards::{BOARD_SENSOR_M, RING_DISTANCE_M};
use crate::valid::Refusal;

impl<'a> Network<'a> {
    /// Puts the network together for conductivities at `levels` and for `films`.
    ///
    /// # Errors
    /// [`Refusal::Unsettled`] when numbers on the way leave the range of double precision.
    pub fn assemble(
        problem: &'a Problem,
        setting: &'a Setting,
        levels: &Levels,
        films: Films,
    ) -> Result<Network<'a>, Refusal> {
        let p = problem;
        let on_bumps: Vec<usize> =
            (0..p.dies.len()).filter(|&i| matches!(p.dies[i].mount, Mount::Bumps(_))).collect();
        let areas: Vec<f64> = on_bumps.iter().map(|&i| p.dies[i].width_m * p.dies[i].height_m).collect();
        let mut stacked_w = vec![0.0; on_bumps.len()];
        for (die, power) in p.dies.iter().zip(&setting.powers_w) {
            if let Mount::OnDie { host, .. } = die.mount
                && let Some(place) = on_bumps.iter().position(|&i| i == host)
            {
                stacked_w[place] += power;
            }
        }
        let of = |list: &[crate::problem::Layer], level: f64| -> Vec<Sheet> {
            list.iter().map(|l| sheet(l, level, setting.pattern)).collect()
        };
        let mut joints = Vec::new();
        for (&i, &area) in on_bumps.iter().zip(&areas) {
            if let Mount::Bumps(bumps) = &p.dies[i].mount {
                joints.push(joint_sheet(bumps, area, levels.dies[i]));
            }
        }
        let bodies: Vec<Vec<Sheet>> = on_bumps.iter().map(|&i| of(&p.dies[i].body, levels.dies[i])).collect();
        let lidded = p.lid.is_some();
        let interfaces: Vec<Option<Sheet>> = on_bumps
            .iter()
            .map(|&i| p.dies[i].interface.as_ref().filter(|_| lidded).map(|t| t.sheet(levels.dies[i])))
            .collect();

        let sub_size = [p.substrate.width_m, p.substrate.height_m];
        let sub_area = sub_size[0] * sub_size[1];
        let board_sheets = of(&setting.board.layers, levels.board);
        let balls = joint_sheet(&p.balls, sub_area, levels.substrate);
        let middle = |size: [f64; 2], at: [f64; 2]| [size[0] / 2.0 + at[0], size[1] / 2.0 + at[1]];
        let die_patches = |on: [f64; 2], shift: [f64; 2]| -> Vec<Patch> {
            on_bumps
                .iter()
                .map(|&i| {
                    let d = &p.dies[i];
                    let centre = middle(on, [d.at_m[0] + shift[0], d.at_m[1] + shift[1]]);
                    Patch::rectangle(Rectangle::centred(centre, d.width_m, d.height_m))
                })
                .collect()
        };
        let foot_patch = |on: [f64; 2]| {
            let lid = p.lid.as_ref()?;
            let foot = lid.foot.as_ref()?;
            let outer = Rectangle::centred(middle(on, [0.0; 2]), lid.width_m, lid.height_m);
            let band = 2.0 * foot.band_m;
            let inner = Rectangle::centred(middle(on, [0.0; 2]), lid.width_m - band, lid.height_m - band);
            Some(Patch::frame(outer, inner))
        };

        let board_size = [setting.board.width_m, setting.board.height_m];
        let (mut board, mut ring, mut substrate, mut interposer, mut interposer_joints) =
            (None, None, None, None, None);
        if setting.down != Downward::Insulated {
            let mut deep_film = 0.0;
            if setting.down == Downward::Ring {
                ring = Some(ring_path(sub_size, &board_sheets));
            } else {
                deep_film = films.board_bottom;
                let footprint = Patch::rectangle(Rectangle::centred(
                    middle(board_size, [0.0; 2]),
                    sub_size[0],
                    sub_size[1],
                ));
                let plate = Plate {
                    face_film: films.board_top,
                    ..Plate::on_film(board_size[0], board_size[1], board_sheets.clone(), films.board_bottom)
                };
                board = Some(Stage::new(plate, vec![footprint], BOARD_FOLLOWS));
            }
            let mut layers = of(&p.substrate.layers, levels.substrate);
            layers.push(balls);
            let mut patches = match &p.interposer {
                Some(i) => vec![Patch::rectangle(Rectangle::centred(
                    middle(sub_size, i.at_m),
                    i.carrier.width_m,
                    i.carrier.height_m,
                ))],
                None => die_patches(sub_size, [0.0; 2]),
            };
            patches.extend(foot_patch(sub_size));
            if let Some(i) = &p.interposer {
                let size = [i.carrier.width_m, i.carrier.height_m];
                let between = joint_sheet(&i.joints, size[0] * size[1], levels.interposer);
                let mut own = of(&i.carrier.layers, levels.interposer);
                own.push(between);
                let plate = Plate {
                    width_m: size[0],
                    height_m: size[1],
                    layers: own,
                    beneath: layers.iter().chain(&board_sheets).copied().collect(),
                    film: deep_film,
                    mean_resistance: 0.0,
                    face_film: 0.0,
                };
                interposer = Some(Stage::new(plate, die_patches(size, [0.0; 2]), EVEN_FOLLOWS));
                interposer_joints = Some(between);
            }
            let plate = Plate {
                width_m: sub_size[0],
                height_m: sub_size[1],
                layers,
                beneath: board_sheets,
                film: deep_film,
                // Set by `refresh` below, once the board's path is known.
                mean_resistance: 1.0,
                face_film: 0.0,
            };
            substrate = Some(Stage::new(plate, patches, EVEN_FOLLOWS));
        }
        let (mut lid, mut foot) = (None, None);
        // Under an insulated top a lid still takes heat from the dies to its foot.
        let joins = |l: &crate::problem::Lid| l.foot.is_some() && setting.down != Downward::Insulated;
        if let Some(l) = p.lid.as_ref().filter(|l| setting.up != Upward::Insulated || joins(l)) {
            let size = [l.width_m, l.height_m];
            let shift = p.interposer.as_ref().map_or([0.0; 2], |i| i.at_m);
            let layers = vec![Sheet::isotropic(l.thickness_m, at(&l.conductivity, levels.lid))];
            let mut patches = die_patches(size, shift);
            // A die that does not touch the lid may lie outside it; its patch is never heated.
            for (patch, interface) in patches.iter_mut().zip(&interfaces) {
                if interface.is_none() {
                    *patch = Patch::rectangle(Rectangle::centred(middle(size, [0.0; 2]), size[0], size[1]));
                }
            }
            if let Some((patch, f)) = foot_patch(size).zip(l.foot.as_ref())
                && setting.down != Downward::Insulated
            {
                let k = at(&l.conductivity, levels.lid);
                foot = Some(
                    (f.height_m / k + sheet(&f.adhesive, levels.substrate, setting.pattern).resistance())
                        / patch.area,
                );
                patches.push(patch);
            }
            lid =
                Some(Stage::new(Plate::on_film(size[0], size[1], layers, films.top), patches, EVEN_FOLLOWS));
        }
        let mut network = Network {
            problem,
            setting,
            on_bumps,
            areas,
            joints,
            bodies,
            interfaces,
            stacked_w,
            board,
            ring,
            balls,
            substrate,
            interposer,
            interposer_joints,
            lid,
            foot,
            films,
        };
        network.refresh(films);
        Ok(network)
    }

    /// Resistance of the board from the package's footprint to the ambient, K/W.
    pub(super) fn board_resistance(&self) -> f64 {
        match (&self.board, &self.ring) {
            (Some(stage), _) => {
                let r = stage.influence()[0];
                r / (1.0 - stage.plate.face_film * stage.patches[0].area * r)
            }
            (None, Some(ring)) => ring.footprint,
            (None, None) => f64::INFINITY,
        }
    }

    /// Takes other films.
    pub fn refresh(&mut self, films: Films) {
        self.films = films;
        let mut deep = 0.0;
        if let Some(board) = &mut self.board {
            deep = films.board_bottom;
            board.plate.film = films.board_bottom;
            board.plate.mean_resistance = 1.0 / films.board_bottom;
            board.plate.face_film = films.board_top;
            board.refresh();
        }
        let below = self.board_resistance();
        let open = self.problem.lid.is_none() && !matches!(self.setting.up, Upward::Insulated);
        if let Some(substrate) = &mut self.substrate {
            substrate.plate.film = deep;
            substrate.plate.mean_resistance = below * substrate.plate.area();
            substrate.plate.face_film = if open { films.substrate } else { 0.0 };
            substrate.refresh();
        }
        if let Some(interposer) = &mut self.interposer {
            interposer.plate.film = deep;
            interposer.refresh();
        }
        if let Some(lid) = &mut self.lid {
            lid.plate.film = films.top;
            lid.plate.mean_resistance = 1.0 / films.top;
            lid.refresh();
        }
    }
}

/// A board between the package and a cooled ring around it, held at one temperature through all its layers.
fn ring_path(body: [f64; 2], sheets: &[Sheet]) -> Ring {
    let size = body.map(|b| b + 2.0 * RING_DISTANCE_M);
    // Beside the middle of the longest side.
    let place = if body[0] >= body[1] {
        [0.0, body[1] / 2.0 + BOARD_SENSOR_M]
    } else {
        [body[0] / 2.0 + BOARD_SENSOR_M, 0.0]
    };
    let (footprint, sensor) = held_rim(size, body, sheets, place);
    Ring { footprint, sensor }
}
