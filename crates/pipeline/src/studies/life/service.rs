//! Service and what shows that the package lasts it: mission, moisture, qualification, the finished test.

use super::{Known, attachment::alloy};
use crate::graph::Absent;
use facedown_life::problem as life;
use facedown_package::values::Temperature;
use facedown_package::{Cycle, CyclingCondition, MoistureLevel, Substrate, thickness_m};

/// Diffusivity of moisture in a laminate at 30 degC, m2/s, and its activation energy, eV; both from memory.
const MOISTURE: (f64, f64) = (6e-13, 0.45);

/// Which parts some joints hold together, as power cycles see them.
#[derive(Clone, Copy)]
pub(super) enum Between {
    /// A die and the interposer under it.
    DieAndInterposer,
    /// A die or an interposer and the substrate.
    AndSubstrate,
    /// Substrate and board.
    SubstrateAndBoard,
}

impl Between {
    /// A cycle of the design: the upper part and the joints, and the lower part where it has temperatures of its own.
    fn cycle(self, index: usize, written: &Cycle) -> life::Cycle {
        let pair = |p: [Temperature; 2]| (p[0].si(), p[1].si());
        let dies = (written.low.si(), written.high.si());
        let substrate = written.substrate.map(pair);
        let ((low, high), lower_part) = match self {
            Between::DieAndInterposer => (dies, None),
            Between::AndSubstrate => (dies, substrate),
            Between::SubstrateAndBoard => (substrate.unwrap_or(dies), written.board.map(pair)),
        };
        life::Cycle {
            name: written.name.as_ref().map_or_else(|| format!("cycle {}", index + 1), |n| n.to_string()),
            low,
            high,
            lower_part,
            count: written.count.si(),
            dwell: written.dwell.map(|d| d.si()),
            ramp: written.ramp.map(|r| r.si()),
        }
    }

    /// What is taken where a lower part has temperatures of its own.
    fn note(self) -> Option<&'static str> {
        match self {
            Between::DieAndInterposer => {
                Some("In power cycles the interposer is as warm as its dies (common practice, no source).")
            }
            Between::AndSubstrate => None,
            Between::SubstrateAndBoard => Some(
                "In power cycles balls and die above them are as warm as the substrate (common practice, no source).",
            ),
        }
    }
}

impl Known<'_> {
    /// The mission as the joints between two parts see it.
    pub(super) fn mission(
        &self,
        powered_temperature: Option<f64>,
        between: Between,
        notes: &mut Vec<String>,
    ) -> life::Mission {
        let mission = self.design.mission.as_ref();
        let life = mission.map_or(0.0, |m| m.life.si());
        let written = mission.map_or(&[][..], |m| m.cycles.as_slice());
        if written.iter().any(|c| c.substrate.is_some() || c.board.is_some()) {
            notes.extend(between.note().map(str::to_owned));
        }
        let environment = self.design.environment.as_ref();
        life::Mission {
            life,
            powered: mission.and_then(|m| m.powered).map_or(1.0, |p| p.si()),
            failed: mission.and_then(|m| m.failed).map_or(0.01, |f| f.si()),
            cycles: written.iter().enumerate().map(|(i, c)| between.cycle(i, c)).collect(),
            history: mission.and_then(|m| m.history.as_ref()).map(|h| life::History {
                name: h.name().to_owned(),
                points: h.points.iter().map(|p| (p.time_s, p.temperature_k)).collect(),
                repeats: h.repeats(life),
                gate: h.gate_k(),
            }),
            powered_temperature,
            ambient_temperature: environment.map(|e| e.ambient.si()),
            ambient_humidity: environment.and_then(|e| e.humidity).map(|h| h.si()),
        }
    }

    /// Moisture of the substrate.
    pub(super) fn moisture(&self, written: &Substrate, notes: &mut Vec<String>) -> life::Moisture {
        notes.push(format!(
            "Moisture: diffusivity {:e} m2/s at 30 degC and {} eV for the laminate, both from memory; it enters from the \
             ball side alone.",
            MOISTURE.0, MOISTURE.1
        ));
        let written_level = self.design.qualification.as_ref().and_then(|q| q.moisture_level);
        let level = written_level.unwrap_or_else(|| {
            notes.push("The package is to keep moisture level 3 (common practice, no source).".into());
            MoistureLevel::Level3
        });
        life::Moisture {
            level: match level {
                MoistureLevel::Level1 => life::Level::L1,
                MoistureLevel::Level2 => life::Level::L2,
                MoistureLevel::Level2a => life::Level::L2a,
                MoistureLevel::Level3 => life::Level::L3,
                MoistureLevel::Level4 => life::Level::L4,
                MoistureLevel::Level5 => life::Level::L5,
                MoistureLevel::Level5a => life::Level::L5a,
                MoistureLevel::Level6 => life::Level::L6,
            },
            thickness: thickness_m(&written.layers),
            both_faces: false,
            diffusivity: MOISTURE.0,
            diffusivity_temperature: 303.15,
            activation_energy: MOISTURE.1,
            floor_temperature: 303.15,
            bake_temperature: 398.15,
        }
    }

    pub(super) fn qualification(&self) -> life::Qualification {
        let mut plan = life::Qualification::default();
        if let Some(written) = &self.design.qualification {
            if let Some(condition) = written.condition {
                plan.condition = letter(condition).to_owned();
            }
            plan.cycles_per_day = written.cycles_per_day.map_or(plan.cycles_per_day, |c| c.si());
            plan.confidence = written.confidence.map_or(plan.confidence, |c| c.si());
            plan.accepted = written.accepted.unwrap_or(plan.accepted);
            plan.storage_temperature =
                written.storage_temperature.map_or(plan.storage_temperature, |t| t.si());
        }
        plan
    }

    /// The finished test, which is of the bumps.
    pub(super) fn test(&self, solder: &str) -> Result<Option<life::LifeTest>, Absent> {
        let Some(test) = self.design.qualification.as_ref().and_then(|q| q.test.as_ref()) else {
            return Ok(None);
        };
        Ok(Some(life::LifeTest {
            low: test.low.si(),
            high: test.high.si(),
            cycles_per_day: test.cycles_per_day.si(),
            alloy: alloy(self.design, solder)?,
            failures: test.failures.iter().map(|c| c.si()).collect(),
            running: test.running.iter().map(|c| c.si()).collect(),
        }))
    }
}

fn letter(condition: CyclingCondition) -> &'static str {
    match condition {
        CyclingCondition::A => "A",
        CyclingCondition::B => "B",
        CyclingCondition::C => "C",
        CyclingCondition::G => "G",
        CyclingCondition::H => "H",
        CyclingCondition::J => "J",
        CyclingCondition::K => "K",
        CyclingCondition::L => "L",
        CyclingCondition::M => "M",
        CyclingCondition::N => "N",
        CyclingCondition::R => "R",
        CyclingCondition::T => "T",
    }
}
