//! Consumption of the metal under the solder, over reflows and in the solid state.
//!
//! While the solder is liquid each reflow takes metal from the layer that it touches, with a dependence on time between
//! the ripening of scallops (`t^(1/3)` over all reflows together; A. M. Gusak and K. N. Tu, Phys. Rev. B 66, 2002,
//! 115403, from memory) and a full share for every reflow with diffusion through a layer (`t^(1/2)`). In the solid
//! state compounds grow by diffusion, `x^2 = x_0^2 + k t` with `k = k_0 exp(-Q/RT)`. Published activation energies and
//! rates differ widely, so least and most are run through all corners and reported beside the central estimate. When
//! a layer is used up the next one towards the pad is taken.

use crate::compound::Compound;
use crate::problem::{Dwell, Layer, Metal};

/// Gas constant, J/(mol K) (exact in the SI of 2019).
pub const GAS_CONSTANT: f64 = 8.314_462_618_153_24;
/// Temperature at which the solid-state rates are given, K.
pub const REFERENCE_TEMPERATURE: f64 = 423.15;
/// Time above liquidus of the reflows for which the ranges are given, s (60 to 90 s).
pub const REFERENCE_TIME: f64 = 75.0;

/// One choice of constants for a metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rates {
    /// Metal that one reflow of [`REFERENCE_TIME`] takes, m.
    pub per_reflow: f64,
    /// Power of time that several reflows together follow.
    pub power: f64,
    /// True where the power acts on all reflows together, false where each reflow takes its full share.
    pub together: bool,
    /// Parabolic growth constant of the compound at [`REFERENCE_TEMPERATURE`], m2/s.
    pub growth: f64,
    /// Activation energy of the growth, J/mol.
    pub activation: f64,
}

/// Least and most of what sources give for a metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Metal per reflow, m.
    pub per_reflow: [f64; 2],
    /// Growth constant at [`REFERENCE_TEMPERATURE`], m2/s.
    pub growth: [f64; 2],
    /// Activation energy, J/mol.
    pub activation: [f64; 2],
}

impl Range {
    /// The published or remembered range of a metal; absent where it does not react.
    ///
    /// Per reflow (60 to 90 s above liquidus, peak 245 to 250 degC, tin-silver solders) and growth constants: from
    /// memory. Activation energies: copper 60 to 80 kJ/mol for tin (from memory) and up to 127.9 kJ/mol for tin-bismuth;
    /// nickel 67.1 (Sn-3Ag-8Bi-5In) to 171.8 kJ/mol (Sn-2.5Ag micro bumps, 100 to 150 degC), both published.
    pub fn of(metal: Metal) -> Option<Range> {
        match metal {
            Metal::Copper => Some(Range {
                per_reflow: [0.5e-6, 1.5e-6],
                growth: [1e-17, 1e-16],
                activation: [60e3, 127.9e3],
            }),
            Metal::Nickel => Some(Range {
                per_reflow: [0.05e-6, 0.2e-6],
                growth: [1e-18, 5e-18],
                activation: [67.1e3, 171.8e3],
            }),
            Metal::NickelPhosphorus => Some(Range {
                per_reflow: [0.1e-6, 0.4e-6],
                growth: [1e-18, 5e-18],
                activation: [67.1e3, 171.8e3],
            }),
            Metal::Gold | Metal::Palladium | Metal::Inert => None,
        }
    }

    /// The central estimate: geometric means of rates, mean of the energies, every reflow its full share by the cube
    /// root of its time.
    pub fn central(&self) -> Rates {
        let mean = |pair: [f64; 2]| (pair[0] * pair[1]).sqrt();
        Rates {
            per_reflow: mean(self.per_reflow),
            power: 1.0 / 3.0,
            together: false,
            growth: mean(self.growth),
            activation: 0.5 * (self.activation[0] + self.activation[1]),
        }
    }

    /// All corners of the range.
    pub fn corners(&self) -> Vec<Rates> {
        let mut corners = Vec::with_capacity(16);
        for per_reflow in self.per_reflow {
            for (power, together) in [(1.0 / 3.0, true), (0.5, false)] {
                for growth in self.growth {
                    for activation in self.activation {
                        corners.push(Rates { per_reflow, power, together, growth, activation });
                    }
                }
            }
        }
        corners
    }
}

impl Rates {
    /// Metal that `count` reflows of `time` seconds above liquidus take, m.
    pub fn reflowed(&self, count: f64, time: f64) -> f64 {
        let one = self.per_reflow * (time / REFERENCE_TIME).powf(self.power);
        one * if self.together { count.powf(self.power) } else { count }
    }

    /// Growth constant at a temperature in K, m2/s.
    pub fn growth_at(&self, temperature: f64) -> f64 {
        self.growth
            * (-self.activation / GAS_CONSTANT * (1.0 / temperature - 1.0 / REFERENCE_TEMPERATURE)).exp()
    }
}

/// What a metallisation goes through.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Number of reflows.
    pub reflows: u32,
    /// Time above liquidus in each, s.
    pub time: f64,
    /// Dwells in the solid state.
    pub storage: Vec<Dwell>,
}

/// What a metallisation has become.
#[derive(Debug, Clone, PartialEq)]
pub struct Consumed {
    /// Thickness of each layer left, m, in the order of the layers.
    pub left: Vec<f64>,
    /// Compound grown, m.
    pub compound: f64,
    /// Tin taken from the solder, as a thickness over the pad, m.
    pub tin: f64,
    /// Metal that dissolved or reacted, m, without gold and palladium.
    pub used: f64,
    /// True where solder has reached a layer that does not react, so that it may lose its hold.
    pub through: bool,
}

/// Consumes a metallisation (layers from the pad outward) by the given rates of each metal.
pub fn consume(layers: &[Layer], history: &History, rates: impl Fn(Metal) -> Option<Rates>) -> Consumed {
    let mut done = Consumed {
        left: layers.iter().map(|l| l.thickness).collect(),
        compound: 0.0,
        tin: 0.0,
        used: 0.0,
        through: false,
    };
    // Shares of the liquid and of the solid history that are still to come.
    let (mut liquid, mut solid) = (1.0, 1.0);
    let melted = history.reflows > 0 && history.time > 0.0;
    for (place, layer) in layers.iter().enumerate().rev() {
        let (rates, compound) = match (rates(layer.metal), Compound::of(layer.metal)) {
            (Some(rates), Some(compound)) => (rates, compound),
            _ if matches!(layer.metal, Metal::Gold | Metal::Palladium) => {
                if melted {
                    done.left[place] = 0.0;
                }
                continue;
            }
            _ => {
                done.through = layer.thickness > 0.0
                    && layers[place + 1..].iter().any(|l| Compound::of(l.metal).is_some());
                return done;
            }
        };
        let share = compound.metal_share();
        let full = rates.reflowed(f64::from(history.reflows), history.time);
        let taken = (liquid * full).min(layer.thickness);
        liquid = if full > 0.0 { (liquid - taken / full).max(0.0) } else { 0.0 };
        let before = taken / share;
        let remaining = layer.thickness - taken;
        let growth: f64 = history.storage.iter().map(|d| rates.growth_at(d.temperature) * d.time).sum();
        let grown = if remaining > 0.0 {
            let wanted = (before * before + solid * growth).sqrt();
            let most = before + remaining / share;
            let reached = wanted.min(most);
            if wanted > most && growth > 0.0 {
                solid -= (most * most - before * before) / growth;
            } else {
                solid = 0.0;
            }
            reached
        } else {
            before
        };
        done.left[place] = (layer.thickness - grown * share).max(0.0);
        done.compound += grown;
        done.tin += grown * compound.tin_share();
        done.used += layer.thickness - done.left[place];
        if done.left[place] > 1e-12 * layer.thickness {
            return done;
        }
    }
    done.through = layers.iter().any(|l| Compound::of(l.metal).is_some());
    done
}

/// Reserve that a barrier should keep beyond its calculated use: half of the use, at least 0.5 um (common practice).
pub fn reserve(used: f64) -> f64 {
    (0.5 * used).max(0.5e-6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn history(reflows: u32, hours: f64) -> History {
        let storage = vec![Dwell { temperature: REFERENCE_TEMPERATURE, time: hours * 3600.0 }];
        History { reflows, time: REFERENCE_TIME, storage }
    }

    fn central(metal: Metal) -> Option<Rates> {
        Range::of(metal).map(|r| r.central())
    }

    #[test]
    fn reflows_alone_take_their_share_each() {
        let layers = [Layer { metal: Metal::Nickel, thickness: 3e-6 }];
        let done = consume(&layers, &history(3, 0.0), central);
        assert!((done.used - 3.0 * 0.1e-6).abs() < 1e-15 && (done.left[0] - 2.7e-6).abs() < 1e-15);
        let together = Rates { together: true, ..central(Metal::Nickel).unwrap() };
        assert!((together.reflowed(8.0, REFERENCE_TIME) / together.per_reflow - 2.0).abs() < 1e-12);
    }

    #[test]
    fn diffusion_follows_the_square_root_of_time() {
        let rates = Rates { per_reflow: 0.0, growth: 7.46e-17, ..central(Metal::Nickel).unwrap() };
        let layers = [Layer { metal: Metal::Nickel, thickness: 50e-6 }];
        let done = consume(&layers, &history(0, 1000.0), |_| Some(rates));
        assert!((done.compound - (7.46e-17_f64 * 3.6e6).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn a_used_up_layer_hands_on_to_the_next() {
        let layers = [
            Layer { metal: Metal::Inert, thickness: 0.1e-6 },
            Layer { metal: Metal::Nickel, thickness: 3e-6 },
            Layer { metal: Metal::Copper, thickness: 1e-6 },
            Layer { metal: Metal::Gold, thickness: 0.1e-6 },
        ];
        let done = consume(&layers, &history(3, 1000.0), central);
        assert!(done.left[3] == 0.0 && done.left[2] < 1e-15 && done.left[1] < 3e-6 && done.left[0] == 0.1e-6);
        assert!(!done.through);
        let bare = consume(&layers[..1], &history(3, 0.0), central);
        assert!(!bare.through && bare.used == 0.0);
        let thin = [layers[0], Layer { metal: Metal::Copper, thickness: 0.3e-6 }];
        assert!(consume(&thin, &history(3, 0.0), central).through);
    }

    proptest! {
        #[test]
        fn more_reflows_and_time_leave_less(
            copper in 0.0..3e-6_f64, nickel in 0.0..4e-6_f64, reflows in 0..8_u32, hours in 0.0..2e4_f64,
        ) {
            let layers = [
                Layer { metal: Metal::Nickel, thickness: nickel },
                Layer { metal: Metal::Copper, thickness: copper },
            ];
            let left = |reflows, hours| consume(&layers, &history(reflows, hours), central).left.iter().sum::<f64>();
            let now = left(reflows, hours);
            prop_assert!(now >= 0.0 && now <= copper + nickel);
            prop_assert!(left(reflows + 1, hours) <= now + 1e-15 && left(reflows, hours + 100.0) <= now + 1e-15);
        }

        #[test]
        fn the_central_estimate_lies_within_the_corners(reflows in 1..6_u32, hours in 0.0..5e3_f64, at in 350.0..450.0_f64) {
            let layers = [Layer { metal: Metal::Copper, thickness: 50e-6 }];
            let storage = vec![Dwell { temperature: at, time: hours * 3600.0 }];
            let history = History { reflows, time: REFERENCE_TIME, storage };
            let used = |rates| consume(&layers, &history, |_| Some(rates)).used;
            let range = Range::of(Metal::Copper).unwrap();
            let middle = used(range.central());
            let all: Vec<f64> = range.corners().into_iter().map(used).collect();
            prop_assert!(all.iter().any(|&u| u <= middle) && all.iter().any(|&u| u >= middle));
        }
    }
}
