//! Joints as life reads them: the bumps of a part and the balls, with what they hold together and rest on.

use super::{Known, expansion, membrane, plate};
use crate::graph::Absent;
use crate::studies::joints::BALLS;
use crate::studies::placing::extent;
use crate::studies::plates::{self, Membrane};
use crate::studies::properties::{self, ROOM, material};
use facedown_joints::outcome::ArrayOutcome;
use facedown_life::cell::{disc_on_layer_normal_stiffness, disc_on_layer_stiffness};
use facedown_life::problem as life;
use facedown_material::PropertyName as P;
use facedown_package::{Bumps, Design, StackLayer};

/// Weibull shape of the fatigue life of one joint: that of stiff joints without leads (IPC-D-279, from memory).
const SHAPE: f64 = 4.0;
/// Kinds of distances that the joints of an array are sorted into.
const RINGS: usize = 24;

/// The two parts that joints hold together.
pub(super) struct Parts<'a> {
    pub upper: life::Plate,
    pub lower: life::Plate,
    /// Size of the upper part, m.
    pub size: [f64; 2],
    /// Layers of the lower part from the top down.
    pub below: &'a [StackLayer],
}

impl Known<'_> {
    fn shape(&self, part: &str) -> Option<&ArrayOutcome> {
        let (_, outcome) = self.joints.iter().find(|j| j.0 == part)?;
        outcome.bumps.as_ref().or(outcome.balls.as_ref())
    }

    pub(super) fn attachment(
        &self,
        part: &str,
        bumps: &Bumps,
        places: &[[f64; 2]],
        parts: Parts<'_>,
        filled: bool,
        notes: &mut Vec<String>,
    ) -> Result<life::Attachment, Absent> {
        let design = self.design;
        let sizes = bumps.sizes();
        let shape = self.shape(part);
        let kind = shape.and_then(|s| s.kinds.iter().max_by_key(|k| k.count));
        if shape.is_none() {
            notes.push("The joint study gives no height: the bump's own is taken.".into());
        }
        notes.push(shape_note());
        let underfill = match design.process.as_ref().and_then(|p| p.underfill.as_ref()).filter(|_| filled) {
            Some(written) => {
                let fill = material(design, written.material.as_str())?;
                let solid = plates::solid(design, written.material.as_str())?;
                Some(life::Underfill {
                    modulus: solid.modulus,
                    poisson: solid.poisson,
                    expansion: solid.expansion,
                    glass_transition: properties::optional(fill, P::GlassTransition, ROOM),
                })
            }
            None => None,
        };
        let diameter = sizes.ubm.m();
        let cell = bumps.pitch.si() * bumps.row_pitch().m();
        let reach = extent(places);
        let margin = (0.5 * (parts.size[0] - reach[0])).min(0.5 * (parts.size[1] - reach[1]));
        let [stiffness, normal_stiffness] = match (&underfill, pad_layer(parts.below)) {
            (Some(_), Some(layer)) => {
                let solid = plates::solid(design, layer.material.as_str())?;
                let modulus = properties::at(&solid.modulus, ROOM).unwrap_or(f64::NAN);
                let shear = modulus / (2.0 * (1.0 + solid.poisson));
                notes.push(format!(
                    "Each joint rests on {} of {:.0} um over a stiff base, by its modulus at room temperature; the part \
                     above does not give way.",
                    layer.material,
                    layer.thickness.si() * 1e6
                ));
                let depth = layer.thickness.si();
                let radius = 0.5 * sizes.opening.m();
                [disc_on_layer_stiffness, disc_on_layer_normal_stiffness]
                    .map(|stiff| Some(stiff(shear, solid.poisson, radius, depth)))
            }
            _ => [None; 2],
        };
        let solder_height = kind.map_or((sizes.height - sizes.pillar).m().max(1e-6), |k| k.height);
        Ok(life::Attachment {
            alloy: alloy(design, bumps.solder())?,
            places: self.upstream.made_of(&format!("rings of {part}"), places, rings).to_vec(),
            gap: shape.map_or(sizes.height.m(), |s| s.stand_off).max(solder_height),
            solder_height,
            interface_diameter: diameter,
            solder_expansion: expansion(design, bumps.solder())?,
            pillar_expansion: expansion(design, "copper")?,
            upper: parts.upper,
            lower: parts.lower,
            shadow: None,
            underfill,
            strain_factor: 1.0,
            stiffness,
            normal_stiffness,
            edge_margin: margin.max(0.0),
            joint_share: (0.25 * std::f64::consts::PI * diameter * diameter / cell).min(1.0),
            pillar_modulus: copper_modulus(design)?,
            weibull_shape: SHAPE,
        })
    }

    /// The balls between the package and its board; nothing where the design has none.
    pub(super) fn ball_attachment(
        &self,
        substrate: &Membrane,
        notes: &mut Vec<String>,
    ) -> Result<Option<life::Attachment>, Absent> {
        let design = self.design;
        let (Some(balls), Some(written)) = (&design.balls, &design.substrate) else { return Ok(None) };
        notes.push(shape_note());
        let board = match &design.board {
            Some(board) if !board.layers.is_empty() => {
                membrane(design, &board.layers, [board.width.si(), board.height.si()], "board")?
            }
            _ => {
                notes.push("No board is given: 1.6 mm of FR-4 is taken (common practice, no source).".into());
                let fr4 = plates::solid(design, "fr4")?;
                Membrane {
                    modulus: fr4.modulus,
                    poisson: fr4.poisson,
                    expansion: fr4.expansion,
                    thickness: 1.6e-3,
                }
            }
        };
        let shape = self.shape(BALLS);
        let kind = shape.and_then(|s| s.kinds.first());
        let land = balls.land.map_or(0.8 * balls.diameter.si(), |l| l.si());
        // A ball sinks to about three quarters of its diameter (common practice, no source).
        let height =
            balls.stand_off.map(|h| h.si()).or(kind.map(|k| k.height)).unwrap_or(0.75 * balls.diameter.si());
        let places: Vec<[f64; 2]> = balls.sites(written).iter().map(|s| [s.x.m(), s.y.m()]).collect();
        Ok(Some(life::Attachment {
            alloy: alloy(design, balls.solder.as_str())?,
            places: self.upstream.made_of(&format!("rings of {BALLS}"), &places, rings).to_vec(),
            gap: height,
            solder_height: height,
            interface_diameter: land,
            solder_expansion: expansion(design, balls.solder.as_str())?,
            pillar_expansion: expansion(design, "copper")?,
            upper: plate(substrate),
            lower: plate(&board),
            shadow: self.shadow(notes)?,
            underfill: None,
            strain_factor: 1.0,
            stiffness: None,
            normal_stiffness: None,
            edge_margin: 0.0,
            joint_share: 0.0,
            pillar_modulus: copper_modulus(design)?,
            weibull_shape: SHAPE,
        }))
    }
}

fn shape_note() -> String {
    "The fatigue life of a joint has a Weibull shape of 4 (IPC-D-279, from memory); measured arrays show 5 to 12.".into()
}

pub(super) fn alloy(design: &Design, solder: &str) -> Result<life::Alloy, Absent> {
    let lead = material(design, solder)?.contains_lead();
    Ok(if lead { life::Alloy::TinLead } else { life::Alloy::TinSilverCopper })
}

fn copper_modulus(design: &Design) -> Result<f64, Absent> {
    Ok(properties::at(&properties::modulus(material(design, "copper")?)?, ROOM).unwrap_or(f64::NAN))
}

/// The dielectric that carries the pads of the uppermost metal: the first below it, else the first of all.
fn pad_layer(layers: &[StackLayer]) -> Option<&StackLayer> {
    let metal = layers.iter().position(|l| l.copper.is_some()).map_or(0, |i| i + 1);
    let plain = |l: &&StackLayer| l.copper.is_none();
    layers.iter().skip(metal).find(plain).or_else(|| layers.iter().find(plain))
}

/// Joints sorted by their distance from the middle of the array, each kind at its farthest; the farthest kind holds
/// only the joints at the very corners.
fn rings(places: &[[f64; 2]]) -> Vec<life::Place> {
    let count = places.len().max(1) as f64;
    let middle = places.iter().fold([0.0; 2], |m, p| [m[0] + p[0] / count, m[1] + p[1] / count]);
    let mut distances: Vec<f64> = places.iter().map(|p| (p[0] - middle[0]).hypot(p[1] - middle[1])).collect();
    distances.sort_by(|a, b| b.total_cmp(a));
    let Some(&far) = distances.first() else { return Vec::new() };
    // Joints at one distance differ by rounding to a nanometre.
    let same = 2e-9;
    let corners = distances.iter().take_while(|d| **d >= far - same).count();
    let mut rings =
        vec![life::Place { name: "joints at the corners".into(), distance: far, count: corners as u64 }];
    let width = far / RINGS as f64;
    for distance in &distances[corners..] {
        match rings.last_mut().filter(|r| r.name != "joints at the corners" && r.distance - distance < width)
        {
            Some(ring) => ring.count += 1,
            None => rings.push(life::Place {
                name: format!("joints up to {:.2} mm from the middle", distance * 1e3),
                distance: *distance,
                count: 1,
            }),
        }
    }
    rings
}
