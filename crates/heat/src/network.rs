//! The package as a network of plates, joints and films, solved by a small dense system.
//!
//! Unknown are the heat that each die sends through its back and the heat that flows through the lid's foot. All plates
//! are linear for given films and conductivities, so the junction temperatures seen from above and from below are
//! linear in them and must agree. Rises are over the ambient, K.
//!
//! A plate under a smaller one sees its footprint as an even source; in turn the smaller one sees the footprint's mean
//! temperature, while its uneven heat sees the layers below cut off at its own outline. A film over a whole face takes
//! heat under a footprint too, where there is no air; that heat is put back as part of the source, which is exact but
//! for the unevenness within the footprint (derived).

use crate::film::Natural;
use crate::fin::RoundBoard;
use crate::mixing::{Pattern, at, joint_sheet, sheet};
use crate::plate::{Face, Modes, Patch, Plate, Rectangle, Waves, held_rim};
use crate::problem::{Carrier, Mount, Problem};
use crate::sheet::Sheet;
use crate::standards::{BOARD_SENSOR_M, RING_DISTANCE_M};
use crate::valid::Refusal;
use facedown_field::dense;
use std::f64::consts::PI;

/// Modes of the board that follow a change of film at once; higher ones hardly feel it and follow with the next network.
const BOARD_FOLLOWS: [usize; 2] = [6, 6];
/// The same for the other plates: only the even part.
const EVEN_FOLLOWS: [usize; 2] = [0, 0];
/// Modes for each width of a source in its plate, and the most in one direction.
const PER_PATCH: f64 = 6.0;
/// Most modes in one direction.
pub(crate) const MOST_MODES: usize = 320;

/// Where heat goes below the package.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Downward {
    /// Into a board in air of that velocity, m/s.
    Air(f64),
    /// Into a board whose rim around the package is held at the ambient temperature (JESD51-8).
    Ring,
    /// Nowhere.
    Insulated,
}

/// Where heat goes above the package.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Upward {
    /// Into air of that velocity, m/s.
    Air(f64),
    /// Through a film, W/(m2 K).
    Film(f64),
    /// Nowhere.
    Insulated,
}

/// What is solved: surroundings, board, choices of the method.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Ambient, K.
    pub ambient_k: f64,
    /// Below.
    pub down: Downward,
    /// Above.
    pub up: Upward,
    /// The board.
    pub board: Carrier,
    /// Correlations of natural convection.
    pub natural: Natural,
    /// How metal lies in thin trace layers.
    pub pattern: Pattern,
    /// Heat of each die, W.
    pub powers_w: Vec<f64>,
}

/// Films of the faces, convection and radiation together, W/(m2 K).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Films {
    /// On the lid, or on the backs of the dies.
    pub top: f64,
    /// On the substrate around the dies, where there is no lid.
    pub substrate: f64,
    /// On the board around the package.
    pub board_top: f64,
    /// Under the board.
    pub board_bottom: f64,
}

/// Mean temperatures that conductivities are taken at, K.
#[derive(Debug, Clone, PartialEq)]
pub struct Levels {
    /// Dies in the order of the problem.
    pub dies: Vec<f64>,
    /// Lid.
    pub lid: f64,
    /// Interposer.
    pub interposer: f64,
    /// Substrate.
    pub substrate: f64,
    /// Board.
    pub board: f64,
}

/// A plate with its sources.
#[derive(Debug, Clone)]
pub(crate) struct Stage {
    pub plate: Plate,
    pub modes: Modes,
    pub patches: Vec<Patch>,
    waves: Vec<Waves>,
    /// Modes that follow the films at once.
    follow: [usize; 2],
    /// Influence of each patch on each other by the other modes, K/W, row by row.
    fixed: Vec<f64>,
}

impl Stage {
    fn new(plate: Plate, patches: Vec<Patch>, follow: [usize; 2]) -> Stage {
        let modes = Modes::new(&plate, Self::count(&plate, &patches), false);
        let waves: Vec<Waves> = patches.iter().map(|p| modes.waves(p)).collect();
        let mut stage = Stage { plate, modes, patches, waves, follow, fixed: Vec::new() };
        let all = stage.matrix(None);
        stage.fixed = all.iter().zip(stage.matrix(Some(follow))).map(|(all, low)| all - low).collect();
        stage
    }

    fn count(plate: &Plate, patches: &[Patch]) -> [usize; 2] {
        Modes::count_for(plate, patches, PER_PATCH, MOST_MODES)
    }

    fn matrix(&self, upto: Option<[usize; 2]>) -> Vec<f64> {
        let n = self.patches.len();
        let mut all = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let value = self.modes.mean_of(&self.waves[j], &self.waves[i], upto);
                all[i * n + j] = value;
                all[j * n + i] = value;
            }
        }
        all
    }

    /// Takes the changed films of the plate.
    fn refresh(&mut self) {
        self.modes.refresh(&self.plate, self.follow);
    }

    /// Mean rise of each patch for one watt in each other, K/W, row by row.
    fn influence(&self) -> Vec<f64> {
        self.matrix(Some(self.follow)).iter().zip(&self.fixed).map(|(low, high)| low + high).collect()
    }

    /// The same when the face's film is absent on the patches; and what the patches must be heated with for one watt each.
    fn influence_without_film_under(&self) -> Result<Vec<f64>, facedown_field::NoConvergence> {
        let n = self.patches.len();
        let all = self.influence();
        let film = self.plate.face_film;
        if film == 0.0 {
            return Ok(all);
        }
        let mut matrix = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..n {
                matrix[i * n + j] =
                    f64::from(u8::from(i == j)) - all[i * n + j] * film * self.patches[j].area;
            }
        }
        let mut result = vec![0.0; n * n];
        for j in 0..n {
            let column: Vec<f64> = (0..n).map(|i| all[i * n + j]).collect();
            for (i, value) in dense::solve(&matrix, &column)?.into_iter().enumerate() {
                result[i * n + j] = value;
            }
        }
        Ok(result)
    }
}

/// The path of a board with a cooled ring, from the footprint and from the board sensor, K/W.
#[derive(Debug, Clone, Copy)]
struct Ring {
    footprint: f64,
    sensor: f64,
}

/// The assembled network.
#[derive(Debug, Clone)]
pub struct Network<'a> {
    pub(crate) problem: &'a Problem,
    pub(crate) setting: &'a Setting,
    /// Dies on bumps, as indices into the problem's dies.
    pub(crate) on_bumps: Vec<usize>,
    /// Area of each die on bumps, m2.
    areas: Vec<f64>,
    /// Bump layer of each die on bumps.
    pub(crate) joints: Vec<Sheet>,
    /// Body of each die on bumps, from the active face to the back.
    pub(crate) bodies: Vec<Vec<Sheet>>,
    /// Interface of each die on bumps.
    pub(crate) interfaces: Vec<Option<Sheet>>,
    /// Heat of the dies that stand on each die on bumps, W.
    stacked_w: Vec<f64>,
    board: Option<Stage>,
    ring: Option<Ring>,
    pub(crate) balls: Sheet,
    pub(crate) substrate: Option<Stage>,
    pub(crate) interposer: Option<Stage>,
    pub(crate) interposer_joints: Option<Sheet>,
    pub(crate) lid: Option<Stage>,
    foot: Option<f64>,
    films: Films,
}

/// Temperatures and heat of a solved network; rises over the ambient, K; heat in W.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solution {
    /// Mean rise of the active face of each die on bumps.
    pub junction: Vec<f64>,
    /// Mean rise of its back.
    pub back: Vec<f64>,
    /// Heat through its body toward its back; negative where a stacked die heats it from above.
    pub body_up: Vec<f64>,
    /// Heat that leaves its back upward, that of stacked dies included.
    pub up: Vec<f64>,
    /// Heat through its bumps.
    pub down: Vec<f64>,
    /// Mean rise of what carries it, under its bumps.
    pub under_bumps: Vec<f64>,
    /// Rise of the top of the case over its centre.
    pub case: Vec<f64>,
    /// Heat through the lid's foot, downward.
    pub foot: f64,
    /// Mean rise of the lid's outer face.
    pub lid: f64,
    /// Mean rise of the substrate under the interposer, or zero.
    pub under_interposer: f64,
    /// Mean rise of the substrate's face.
    pub substrate: f64,
    /// Mean rise of the board under the package.
    pub board_footprint: f64,
    /// Rise of the board beside the package, at the standard place.
    pub board_sensor: f64,
    /// Heat through the balls.
    pub balls: f64,
    /// Top, substrate, board above, board below.
    pub faces: [FaceHeat; 4],
}

/// One cooled face.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FaceHeat {
    /// Area, m2.
    pub area: f64,
    /// Mean rise, K.
    pub rise: f64,
    /// Heat that leaves, W.
    pub heat: f64,
}

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
    fn board_resistance(&self) -> f64 {
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

    /// Mean temperatures and heat of the cooled faces.
    fn faces(&self, s: &mut Solution, on_substrate: &[f64]) {
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

/// A board around a footprint as an annular fin of the same areas, K/W, from the rim of the footprint to the air: the
/// hand check of the board's series. Areas m2, in-plane conductivity times thickness W/K, films of both faces W/(m2 K).
///
/// # Errors
/// When the fin's functions do not converge.
pub fn board_as_round_fin(
    footprint_m2: f64,
    board_m2: f64,
    conductance: f64,
    films: f64,
) -> Result<f64, facedown_field::NoConvergence> {
    RoundBoard { inner_m: (footprint_m2 / PI).sqrt(), outer_m: (board_m2 / PI).sqrt(), conductance, films }
        .resistance()
}
