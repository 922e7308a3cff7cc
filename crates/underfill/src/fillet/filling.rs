//! One side as it fills: from a surface that hangs on the die's lower edge, up the wall, to one that stands level with the back.
//!
//! At an edge of the die the line stays while the angle turns (J. W. Gibbs's condition), between the edges the angle stays while
//! the line climbs. Both are counted by one number, the stage: 0 to 1 on the lower edge, from the surface between the plates to the
//! contact angle of the wall; 1 to 2 on the wall; 2 to 3 on the upper edge, until the surface is level there and any more
//! would bulge over the back. On the substrate the contact angle holds until the line meets a stop, then the distance.
//!
//! Pressure rises with the stage. On the lower and the upper edge and on a free substrate this is read from the pressure of a
//! profile ([`super::profile`]); with the line at a stop, on the wall, from the balance of upright forces, `P width = sin foot - sin
//! head + area / a^2`, up to a right angle at the foot. One pressure therefore belongs to one stage.

use super::problem::{Problem, Side};
use super::profile::Profile;
use facedown_field::{NoConvergence, root};
use serde::{Deserialize, Serialize};
use std::f64::consts::{FRAC_PI_2, PI};

/// Capillary lengths beyond which a tongue counts as running away.
const WIDEST: f64 = 12.0;

/// Where the line of the liquid is on the die.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Seat {
    /// On the edge of the lower face: the fillet does not climb.
    LowerEdge,
    /// On the wall.
    Wall,
    /// On the edge of the back.
    UpperEdge,
}

/// What happens to a side that gets more than it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Way {
    /// It bulges over the edge onto the die's back.
    Back,
    /// It goes over the stop.
    Stop,
    /// Its tongue runs on over the substrate without holding.
    Substrate,
}

/// A surface at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct State {
    pub profile: Profile,
    pub seat: Seat,
    pub stopped: bool,
}

/// One side with what bounds its filling.
#[derive(Debug, Clone, Copy)]
pub(super) struct Filling {
    side: Side,
    heights_m: [f64; 2],
    face_rad: f64,
    weight_per_m2: f64,
    /// The last stage that holds, and what comes after it.
    pub end: (f64, Way),
}

impl Filling {
    pub fn of(problem: &Problem, side: usize) -> Result<Filling, NoConvergence> {
        let mut filling = Filling {
            side: problem.sides[side],
            heights_m: [problem.gap_m, problem.back_m],
            face_rad: problem.face_rad,
            weight_per_m2: problem.weight_per_m2(),
            end: (3.0, Way::Back),
        };
        if filling.at(3.0)?.is_none() {
            let (mut low, mut high) = (0.0, 3.0);
            for _ in 0..50 {
                let middle = 0.5 * (low + high);
                if filling.at(middle)?.is_some() { low = middle } else { high = middle }
            }
            let way = if filling.side.stop.is_some() { Way::Stop } else { Way::Substrate };
            filling.end = (low, way);
        }
        Ok(filling)
    }

    /// The surface at a stage; nothing where none holds.
    pub fn at(&self, stage: f64) -> Result<Option<State>, NoConvergence> {
        let [gap, back] = self.heights_m;
        let wall = FRAC_PI_2 - self.side.wall_rad;
        let (height, head, seat) = if stage < 1.0 {
            let under = PI - self.face_rad;
            (gap, under + stage * (wall - under), Seat::LowerEdge)
        } else if stage < 2.0 {
            (gap * (back / gap).powf(stage - 1.0), wall, Seat::Wall)
        } else {
            (back, wall * (3.0 - stage), Seat::UpperEdge)
        };
        let with = |foot: f64| Profile::between(height, foot, head, self.weight_per_m2);
        let least = self.side.substrate_rad;
        let free = with(least)?;
        let Some(stop) = self.side.stop else {
            let narrow = |p: &Profile| p.width_m * self.weight_per_m2.sqrt() <= WIDEST;
            return Ok(free.filter(narrow).map(|profile| State { profile, seat, stopped: false }));
        };
        let distance = stop.distance_m;
        if let Some(profile) = free.filter(|p| p.width_m <= distance) {
            return Ok(Some(State { profile, seat, stopped: false }));
        }
        // The width falls from beyond the stop to less than its distance as the foot gets steeper.
        let most = stop.until_rad.min(FRAC_PI_2).max(least);
        let beyond = |foot: f64| match with(foot) {
            Ok(Some(p)) => (p.width_m / distance - 1.0).atan(),
            Ok(None) => FRAC_PI_2,
            Err(_) => f64::NAN,
        };
        if beyond(most) > 0.0 {
            return Ok(None);
        }
        let foot = root::bracketed(beyond, least, most, 1e-13)?;
        Ok(with(foot)?.map(|profile| State { profile, seat, stopped: true }))
    }

    /// Pressures over the tension, 1/m, between which the side holds.
    pub fn range(&self) -> Result<Option<[f64; 2]>, NoConvergence> {
        let at = |stage| Ok(self.at(stage)?.map(|s| s.profile.pressure_per_m()));
        let (Some(low), Some(high)) = (at(0.0)?, at(self.end.0)?) else { return Ok(None) };
        Ok(Some([low, high]))
    }

    /// The stage at which something that rises with it has a value; the nearest end where it is beyond.
    fn stage(&self, of: impl Fn(&State) -> f64, value: f64) -> Result<f64, NoConvergence> {
        let apart = |stage: f64| match self.at(stage) {
            Ok(Some(state)) => of(&state) - value,
            _ => f64::NAN,
        };
        if apart(0.0) >= 0.0 {
            return Ok(0.0);
        }
        if apart(self.end.0) <= 0.0 {
            return Ok(self.end.0);
        }
        root::bracketed(apart, 0.0, self.end.0, 1e-14)
    }

    /// The surface under a pressure over the tension, 1/m.
    pub fn under(&self, pressure_per_m: f64) -> Result<State, NoConvergence> {
        let stage = self.stage(|s| s.profile.pressure_per_m(), pressure_per_m)?;
        self.at(stage)?.ok_or(NoConvergence::NotBracketed)
    }

    /// The surface that holds an area, m2, and whether the side holds it.
    pub fn holding(&self, area_m2: f64) -> Result<(State, bool), NoConvergence> {
        let area = |s: &State| s.profile.area_m2().unwrap_or(f64::NAN);
        let stage = self.stage(area, area_m2)?;
        Ok((self.at(stage)?.ok_or(NoConvergence::NotBracketed)?, stage < self.end.0))
    }
}
