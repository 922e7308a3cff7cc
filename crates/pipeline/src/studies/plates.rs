//! The parts of the package as elastic plates: what warpage and life ask of the design in the same way.
//!
//! A design lists layers from the top down; plates are listed from the bottom up.

use super::properties::{self, ROOM, material};
use crate::graph::Absent;
use facedown_material::PropertyName as P;
use facedown_package::{Bumps, Design, Die, StackLayer};
use facedown_warpage::problem::{Layer, Metal, Plate, Solid};

/// Poisson's ratio where a material has none: that of most polymers and laminates (common practice, no source).
const POISSON: f64 = 0.3;

/// A material as an elastic solid. Silicon has the modulus and Poisson's ratio along <100>, which together give the
/// biaxial modulus of a (100) wafer.
///
/// # Errors
/// [`Absent::Impossible`] for a material without modulus or expansion.
pub fn solid(design: &Design, name: &str) -> Result<Solid, Absent> {
    let body = material(design, name)?;
    Ok(Solid {
        name: body.name.clone(),
        modulus: properties::modulus(body)?,
        poisson: properties::optional(body, P::Poisson, ROOM).unwrap_or(POISSON),
        expansion: properties::expansion(body)?,
    })
}

/// The material between the metal of a layer: as given, else the dielectric below, else the one above; absent where a
/// stack is metal throughout.
pub fn fill(layers: &[StackLayer], index: usize) -> Option<&str> {
    let plain = |l: &&StackLayer| l.copper.is_none();
    let given = layers.get(index).and_then(|l| l.fill.as_ref()).map(|f| f.as_str());
    given.or_else(|| {
        let below = layers.iter().skip(index + 1).find(plain);
        below.or_else(|| layers.iter().take(index).rev().find(plain)).map(|l| l.material.as_str())
    })
}

/// A stack of the design as a plate of that size, m.
///
/// # Errors
/// As [`solid`]; a stack without layers.
pub fn stack(design: &Design, layers: &[StackLayer], size: [f64; 2], what: &str) -> Result<Plate, Absent> {
    if layers.is_empty() {
        return Err(Absent::NotInDesign(format!("The {what} has no layers; its warpage needs them.")));
    }
    let mut plates = Vec::with_capacity(layers.len());
    for (index, layer) in layers.iter().enumerate() {
        let own = solid(design, layer.material.as_str())?;
        let (body, metal) = match (layer.copper, fill(layers, index)) {
            (Some(share), Some(fill)) => {
                (solid(design, fill)?, Some(Metal { share: share.si(), solid: own }))
            }
            _ => (own, None),
        };
        let name = layer.name.clone().unwrap_or_else(|| layer.material.as_str().to_owned());
        plates.push(Layer { name, thickness_m: layer.thickness.si(), solid: body, metal });
    }
    plates.reverse();
    Ok(Plate { width_m: size[0], height_m: size[1], layers: plates })
}

/// A die of that footprint, m, as one plate; its metal layers are left out.
///
/// # Errors
/// As [`solid`].
pub fn die(design: &Design, die: &Die, size: [f64; 2]) -> Result<Plate, Absent> {
    let layer = Layer::plain(die.material(), die.thickness.si(), solid(design, die.material())?);
    Ok(Plate { width_m: size[0], height_m: size[1], layers: vec![layer] })
}

/// Pillar and solder over each other as one solid: compliances and expansions weighed by height (series, Reuss 1929).
///
/// # Errors
/// As [`solid`].
pub fn joint(design: &Design, bumps: &Bumps) -> Result<Solid, Absent> {
    let sizes = bumps.sizes();
    let solder = solid(design, bumps.solder())?;
    let share = (sizes.pillar.m() / sizes.height.m()).clamp(0.0, 1.0);
    if share <= 0.0 {
        return Ok(solder);
    }
    let copper = solid(design, "copper")?;
    let mut kelvins: Vec<f64> = [&solder.modulus, &copper.modulus, &solder.expansion, &copper.expansion]
        .iter()
        .flat_map(|t| t.iter().map(|p| p.0))
        .collect();
    kelvins.sort_by(f64::total_cmp);
    kelvins.dedup();
    let both = |mix: &dyn Fn(f64) -> f64| kelvins.iter().map(|&k| (k, mix(k))).collect();
    let at = |table: &properties::Table, k| properties::at(table, k).unwrap_or(f64::NAN);
    Ok(Solid {
        name: format!("{} on a pillar", solder.name),
        modulus: both(&|k| 1.0 / (share / at(&copper.modulus, k) + (1.0 - share) / at(&solder.modulus, k))),
        poisson: share * copper.poisson + (1.0 - share) * solder.poisson,
        expansion: both(&|k| share * at(&copper.expansion, k) + (1.0 - share) * at(&solder.expansion, k)),
    })
}

/// True where the underfill fills the gap of that die; of the interposer without a name.
pub fn filled(design: &Design, die: Option<&str>) -> bool {
    design.process.as_ref().and_then(|p| p.underfill.as_ref()).is_some_and(|underfill| {
        underfill.dies.is_empty() || die.is_some_and(|name| underfill.dies.iter().any(|d| d.as_str() == name))
    })
}

/// A plate as it stretches in its plane, without bending.
#[derive(Debug, Clone, PartialEq)]
pub struct Membrane {
    /// Young's modulus over temperature, Pa.
    pub modulus: properties::Table,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Expansion over temperature, 1/K.
    pub expansion: properties::Table,
    /// Thickness, m.
    pub thickness: f64,
}

/// One piece of a membrane: modulus, expansion, Poisson's ratio, thickness (m) that it counts for.
struct Piece<'a>(&'a properties::Table, &'a properties::Table, f64, f64);

/// A plate as one membrane: every piece strains alike (Voigt 1889; for expansion Schapery, J. Compos. Mater. 2 (1968) 380,
/// eq. 34 for equal Poisson's ratios); metal counts by its share of the area.
pub fn membrane(plate: &Plate) -> Membrane {
    let mut pieces = Vec::new();
    for layer in &plate.layers {
        let share = layer.metal.as_ref().map_or(0.0, |m| m.share);
        let piece = |s: &'_ Solid, t: f64| (s.modulus.clone(), s.expansion.clone(), s.poisson, t);
        pieces.push(piece(&layer.solid, layer.thickness_m * (1.0 - share)));
        if let Some(metal) = &layer.metal {
            pieces.push(piece(&metal.solid, layer.thickness_m * share));
        }
    }
    mixed(&pieces.iter().map(|(e, a, n, t)| Piece(e, a, *n, *t)).collect::<Vec<_>>())
}

fn mixed(pieces: &[Piece<'_>]) -> Membrane {
    let mut kelvins: Vec<f64> =
        pieces.iter().flat_map(|p| p.0.iter().chain(p.1.iter())).map(|point| point.0).collect();
    kelvins.sort_by(f64::total_cmp);
    kelvins.dedup();
    let at = |table: &properties::Table, k| properties::at(table, k).unwrap_or(f64::NAN);
    let thickness: f64 = pieces.iter().map(|p| p.3).sum();
    let stiffness = |k: f64| pieces.iter().map(|p| at(p.0, k) * p.3).sum::<f64>();
    let force = |k: f64| pieces.iter().map(|p| at(p.0, k) * p.3 * at(p.1, k)).sum::<f64>();
    Membrane {
        modulus: kelvins.iter().map(|&k| (k, stiffness(k) / thickness)).collect(),
        poisson: pieces.iter().map(|p| p.2 * p.3).sum::<f64>() / thickness,
        expansion: kelvins.iter().map(|&k| (k, force(k) / stiffness(k))).collect(),
        thickness,
    }
}

/// Temperatures at which an expansion is tabled, K.
const KELVINS: [f64; 13] =
    [213.15, 233.15, 253.15, 273.15, 298.15, 323.15, 348.15, 373.15, 393.15, 413.15, 433.15, 453.15, 473.15];

/// Expansion of the lower face of some layers, from the bottom up, that are bonded and bend as they like, 1/K.
///
/// # Errors
/// [`Absent::Impossible`] for layers without stiffness.
pub fn expansion_below(layers: &[Layer]) -> Result<properties::Table, Absent> {
    facedown_warpage::face::expansion_below(layers, &KELVINS)
        .map_err(|e| Absent::Impossible(format!("A stack of layers cannot bend: {e}.")))
}
