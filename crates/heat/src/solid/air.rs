//! Which exposed face gives its heat to what, and the films that follow from its temperature.
//!
//! Convection of a face is that of the mean temperature of all faces of its kind, because the correlations are means
//! over a plate; radiation is that of the face's own temperature.

use super::mesh::ring;
use super::parts::{Part, Parts};
use crate::film::{AirFace, radiation};
use crate::network::{Downward, Films, Setting, Upward};
use crate::problem::Problem;
use crate::surroundings::Faces;
use facedown_field::conduction::{Body, Field, Side};

/// Kinds of faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Uppermost faces of lid, dies.
    Top,
    /// Substrate around the dies, ring, and all upright faces of the package.
    Beside,
    /// Upper face of the board, and its rim.
    BoardTop,
    /// Lower face of the board.
    BoardBottom,
    /// Held by the cooled ring.
    Ring,
    /// Insulated.
    Closed,
}

impl Kind {
    /// All that give heat, in the order of their sums.
    pub const OPEN: [Kind; 5] = [Kind::Top, Kind::Beside, Kind::BoardTop, Kind::BoardBottom, Kind::Ring];
}

/// Sums over the faces of a kind.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Sum {
    /// Area, m2.
    pub area: f64,
    /// Mean rise, K.
    pub rise: f64,
    /// Heat that leaves, W.
    pub heat: f64,
    /// Convection or given film, W/(m2 K).
    pub convection: f64,
    /// Radiation, mean, W/(m2 K).
    pub radiation: f64,
}

/// The exposed faces of a body, sorted by kind, with what cools them.
pub(super) struct Skin {
    kinds: Vec<Kind>,
    faces: Faces,
    up: Upward,
    ambient_k: f64,
    emissivity: [f64; 3],
    given: Option<Films>,
}

impl Skin {
    /// Sorts the faces of a body.
    pub fn new(
        problem: &Problem,
        setting: &Setting,
        parts: &Parts<'_>,
        body: &Body,
        part_of: impl Fn([usize; 3]) -> Part,
    ) -> Skin {
        let grid = body.grid();
        let [inner, outer] = ring(parts);
        let kind = |face: &facedown_field::conduction::Exposed| {
            let at = [grid.middle(0, face.cell[0]), grid.middle(1, face.cell[1])];
            let part = part_of(face.cell);
            let upright = !matches!(face.side, Side::Top | Side::Bottom);
            match (setting.down, setting.up) {
                (Downward::Ring, _) => {
                    let under = outer.holds(at) && !inner.holds(at);
                    match (part, face.side) {
                        (Part::Board, _) if under && !upright => Kind::Ring,
                        // A film that is given, a heat sink for one, cools the top beside the ring.
                        (Part::Die(_) | Part::Lid, Side::Top) if matches!(setting.up, Upward::Film(_)) => {
                            Kind::Top
                        }
                        _ => Kind::Closed,
                    }
                }
                // All heat is to go through the top face.
                (Downward::Insulated, _) => match (part, face.side) {
                    (Part::Die(_) | Part::Lid, Side::Top) => Kind::Top,
                    _ => Kind::Closed,
                },
                (Downward::Air(_), up) => match (part, face.side) {
                    (Part::Board, Side::Bottom) => Kind::BoardBottom,
                    (Part::Board, _) => Kind::BoardTop,
                    (_, _) if up == Upward::Insulated => Kind::Closed,
                    (Part::Die(_) | Part::Lid, Side::Top) => Kind::Top,
                    // Nothing blows through the gap under lid and substrate.
                    (_, Side::Bottom) => Kind::Closed,
                    _ => Kind::Beside,
                },
            }
        };
        Skin {
            kinds: body.exposed().iter().map(kind).collect(),
            faces: Faces::of(setting),
            up: setting.up,
            ambient_k: setting.ambient_k,
            emissivity: [problem.emissivity.top, problem.emissivity.substrate, problem.emissivity.board],
            given: None,
        }
    }

    /// The same with films that are given, convection and radiation together, instead of those of air.
    pub fn with(self, given: Option<Films>) -> Skin {
        Skin { given, ..self }
    }

    fn given(&self, kind: Kind) -> Option<f64> {
        let films = self.given?;
        match kind {
            Kind::Top => Some(films.top),
            Kind::Beside => Some(films.substrate),
            Kind::BoardTop => Some(films.board_top),
            Kind::BoardBottom => Some(films.board_bottom),
            Kind::Ring | Kind::Closed => None,
        }
    }

    /// Sums over each kind of [`Kind::OPEN`] for a solved field and the rises outside of the faces that it was solved with.
    pub fn sums(&self, body: &Body, field: &Field, outside: &[f64]) -> [Sum; 5] {
        let mut sums = [Sum::default(); 5];
        for (i, (face, kind)) in body.exposed().iter().zip(&self.kinds).enumerate() {
            let Some(at) = Kind::OPEN.iter().position(|k| k == kind) else { continue };
            let [rise, heat] = body.on_face(field, i, outside[i]);
            sums[at].area += face.area;
            sums[at].rise += face.area * rise;
            sums[at].heat += heat;
        }
        for (sum, kind) in sums.iter_mut().zip(Kind::OPEN) {
            if sum.area > 0.0 {
                sum.rise /= sum.area;
                sum.convection = self.convection(kind, sum.rise);
                sum.radiation = (sum.heat / (sum.area * sum.rise) - sum.convection).max(0.0);
            }
        }
        sums
    }

    fn air(&self, kind: Kind) -> Option<&AirFace> {
        match kind {
            Kind::Top => self.faces.top.as_ref(),
            Kind::Beside => self.faces.top.as_ref().or(self.faces.board_top.as_ref()),
            Kind::BoardTop => self.faces.board_top.as_ref(),
            Kind::BoardBottom => self.faces.board_bottom.as_ref(),
            Kind::Ring | Kind::Closed => None,
        }
    }

    fn convection(&self, kind: Kind, mean_rise: f64) -> f64 {
        if let Some(film) = self.given(kind) {
            return film;
        }
        match (kind, self.up) {
            (Kind::Top, Upward::Film(film)) => film,
            (Kind::Ring, _) => f64::INFINITY,
            _ => self
                .air(kind)
                .map_or(0.0, |face| face.convection((self.ambient_k + mean_rise).max(1.0), self.ambient_k)),
        }
    }

    /// Films of all exposed faces for temperatures of the last field and how steeply their heat grows with the rise of a
    /// face where all rises grow alike, both W/(m2 K). Without a field, those of 20 K.
    pub fn films(&self, body: &Body, last: Option<&Field>, outside: &[f64]) -> Vec<[f64; 2]> {
        let means = last.map(|field| self.sums(body, field, outside));
        let of = |at: usize| means.map_or(20.0, |m| m[at].rise);
        let convection: Vec<[f64; 2]> = Kind::OPEN
            .iter()
            .enumerate()
            .map(|(i, k)| with_slope(of(i), |rise| self.convection(*k, rise)))
            .collect();
        let exposed = 0..self.kinds.len();
        exposed
            .map(|i| {
                let kind = self.kinds[i];
                let Some(at) = Kind::OPEN.iter().position(|k| *k == kind) else { return [0.0; 2] };
                let emissivity = match kind {
                    Kind::Top => self.emissivity[0],
                    Kind::Beside => self.emissivity[1],
                    _ => self.emissivity[2],
                };
                let radiates = self.given.is_none()
                    && self.air(kind).is_some()
                    && !(kind == Kind::Top && matches!(self.up, Upward::Film(_)));
                if !radiates {
                    return convection[at];
                }
                let rise = last.map_or(20.0, |field| body.on_face(field, i, outside[i])[0]);
                let radiated = with_slope(rise, |rise| {
                    radiation(emissivity, (self.ambient_k + rise).max(1.0), self.ambient_k)
                });
                [0, 1].map(|k| convection[at][k] + radiated[k])
            })
            .collect()
    }
}

/// A film at a rise and the slope of its heat over the rise, by a difference over a thousandth of it.
fn with_slope(rise: f64, film: impl Fn(f64) -> f64) -> [f64; 2] {
    const PART: f64 = 1e-3;
    let own = film(rise);
    let slope = own + (film(rise * (1.0 + PART)) - own) / PART;
    // An infinite film holds its face, and no film that air makes falls as steeply as the rise grows.
    [own, if slope.is_finite() && slope > 0.0 { slope } else { own }]
}
