//! Current through the bumps of a die: carriers, what spreads their current, constants of the design's own tests.

use super::{Known, attachment::alloy};
use crate::graph::Absent;
use crate::studies::properties::{self, ROOM, material};
use facedown_life::electromigration::{Kinetics, crowding};
use facedown_life::problem as life;
use facedown_material::PropertyName as P;
use facedown_package::{Bumps, Die};

/// Thickness of a redistribution layer where the design gives none, m (common practice, no source).
const USUAL_RDL: f64 = 5e-6;

impl Known<'_> {
    pub(super) fn currents(
        &self,
        die: &Die,
        bumps: &Bumps,
        notes: &mut Vec<String>,
    ) -> Result<Option<life::Currents>, Absent> {
        let name = die.name.as_str();
        let Some((_, electrical)) = self.electrical.iter().find(|e| e.0 == name) else { return Ok(None) };
        let Some(temperature) = self.temperature(name) else {
            notes.push("Without temperatures from the heat study, electromigration is not judged.".into());
            return Ok(None);
        };
        let mut carriers = Vec::new();
        for net in electrical.nets.iter().filter(|n| n.bump_current_max_a > 0.0) {
            carriers.push(life::Carrier {
                name: format!("fullest bump of {}", net.name),
                current: net.bump_current_max_a,
                temperature,
                count: 1,
            });
            if net.bumps > 1 {
                carriers.push(life::Carrier {
                    name: format!("bumps of {}", net.name),
                    current: net.bump_current_mean_a,
                    temperature,
                    count: u64::from(net.bumps) - 1,
                });
            }
        }
        if carriers.is_empty() {
            notes.push(format!("No net of die {name} has a current: electromigration is not judged."));
            return Ok(None);
        }
        let opening = bumps.sizes().opening.m();
        let silicon = properties::conductivity(material(self.design, die.material())?)?;
        let conductivity = properties::at(&silicon, temperature).unwrap_or(f64::NAN);
        Ok(Some(life::Currents {
            carriers,
            opening,
            resistance: electrical.bump.resistance_ohm,
            // A disc on a half space: 1 / (4 k a) (Carslaw and Jaeger, Conduction of Heat in Solids, 1959, section 8.2).
            thermal_resistance: 1.0 / (2.0 * conductivity * opening),
            feed: self.feed(die, bumps, opening, notes)?,
            kinetics: self.kinetics(),
            alloy: alloy(self.design, bumps.solder())?,
        }))
    }

    /// Constants of the design's own tests under current.
    fn kinetics(&self) -> Vec<Kinetics> {
        let tests = self.design.qualification.as_ref().map_or(&[][..], |q| q.current_tests.as_slice());
        tests
            .iter()
            .enumerate()
            .map(|(i, test)| Kinetics {
                name: test.name.as_ref().map_or_else(|| format!("test {}", i + 1), |n| n.to_string()),
                exponent: test.exponent,
                activation_ev: test.activation.value().ev(),
                reference_density: test.density.si(),
                reference_temperature: test.temperature.si(),
                reference_life: test.life.si(),
                log_deviation: test.log_deviation.unwrap_or(0.5),
                reference_crowding: test.crowding,
            })
            .collect()
    }

    /// What spreads the current of a bump over its opening: the redistribution with the UBM (and a pillar) over the opening
    /// along it, the UBM (and the pillar) and the contacts through it.
    fn feed(
        &self,
        die: &Die,
        bumps: &Bumps,
        opening: f64,
        notes: &mut Vec<String>,
    ) -> Result<Option<life::Feed>, Absent> {
        let Some(rdl) = &die.rdl else {
            notes.push(format!(
                "Die {} has no redistribution: what feeds its bumps is not known, and their current crowds as in the test \
                 that the constants come from.",
                die.name
            ));
            return Ok(None);
        };
        let resistivity =
            |name: &str| properties::value(material(self.design, name)?, &[P::Resistivity], ROOM);
        let thickness = rdl.thickness.map_or(USUAL_RDL, |t| t.si());
        let mut along = thickness / resistivity(rdl.material.as_ref().map_or("copper", |m| m.as_str()))?;
        let mut through = bumps.contact_resistance.map_or(0.0, |c| c.si());
        let pillar = bumps.sizes().pillar.m();
        let layers = die.ubm.iter().map(|l| (l.material.as_str(), l.thickness.si()));
        for (name, thickness) in layers.chain((pillar > 0.0).then_some(("copper", pillar))) {
            let own = resistivity(name)?;
            along += thickness / own;
            through += thickness * own;
        }
        if through <= 0.0 {
            notes.push(format!(
                "Die {} has neither UBM layers nor a contact resistance: how its current crowds is not known, and it is \
                 taken as in the test that the constants come from.",
                die.name
            ));
            return Ok(None);
        }
        let feed = life::Feed { sheet_resistance: 1.0 / along, vertical_resistance: through };
        notes.push(format!(
            "Where the redistribution of die {} enters a bump, the current crowds to {:.1} times its mean over {:.0} um of \
             opening ({:.2} mohm/sq with the UBM, {:.1e} ohm cm2 through it{}; H. H. Berger 1972). The solder is taken as one \
             potential, so that real crowding is less: the life under current spans from this to the crowding of the test.",
            die.name,
            crowding(&feed, opening),
            opening * 1e6,
            feed.sheet_resistance * 1e3,
            feed.vertical_resistance * 1e4,
            if bumps.contact_resistance.is_some() { ", contacts included" } else { ", contacts taken as none" }
        ));
        Ok(Some(feed))
    }
}
