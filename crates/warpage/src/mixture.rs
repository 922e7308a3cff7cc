//! Mixtures as one solid: copper patterns in dielectric, joints in underfill, filler in resin.

use crate::problem::{JointLayer, Layer};
use crate::property::Elastic;

/// Bulk modulus, Pa.
fn bulk(e: &Elastic) -> f64 {
    e.modulus / (3.0 * (1.0 - 2.0 * e.poisson))
}

/// Young's modulus and strain of a layer in which `metal` takes a share of the area and runs along the load (Voigt
/// 1889): an upper bound.
pub fn along(body: &Elastic, metal: &Elastic, share: f64) -> Elastic {
    let modulus = share * metal.modulus + (1.0 - share) * body.modulus;
    let strain =
        (share * metal.modulus * metal.strain + (1.0 - share) * body.modulus * body.strain) / modulus;
    Elastic { modulus, poisson: share * metal.poisson + (1.0 - share) * body.poisson, strain }
}

/// The same across the load (Reuss 1929): a lower bound.
pub fn across(body: &Elastic, metal: &Elastic, share: f64) -> Elastic {
    Elastic {
        modulus: 1.0 / (share / metal.modulus + (1.0 - share) / body.modulus),
        poisson: share * metal.poisson + (1.0 - share) * body.poisson,
        strain: share * metal.strain + (1.0 - share) * body.strain,
    }
}

/// A layer with a metal pattern without a direction: mean of the two bounds (R. Hill 1952), with the strain that two
/// phases of that stiffness must show (V. M. Levin 1967, in its form for one modulus: linear in the compliance).
pub fn patterned(body: &Elastic, metal: &Elastic, share: f64) -> Elastic {
    let (up, low) = (along(body, metal, share), across(body, metal, share));
    let modulus = (up.modulus + low.modulus) / 2.0;
    let span = 1.0 / metal.modulus - 1.0 / body.modulus;
    let strain = if span.abs() > 1e-9 / body.modulus {
        body.strain + (metal.strain - body.strain) * (1.0 / modulus - 1.0 / body.modulus) / span
    } else {
        low.strain
    };
    Elastic { modulus, poisson: low.poisson, strain }
}

/// A layer of a plate over an interval of temperature.
pub(crate) fn layer(layer: &Layer, from_k: f64, to_k: f64) -> Elastic {
    let body = Elastic::of(&layer.solid, from_k, to_k);
    match &layer.metal {
        Some(metal) => patterned(&body, &Elastic::of(&metal.solid, from_k, to_k), metal.share),
        None => body,
    }
}

/// A filled resin with spheres (Z. Hashin, S. Shtrikman 1963, lower bounds; V. M. Levin 1967 for the strain), `share`
/// by volume.
pub fn filled(resin: &Elastic, filler: &Elastic, share: f64) -> Elastic {
    let (km, kf, gm, gf) = (bulk(resin), bulk(filler), resin.shear(), filler.shear());
    if share <= 0.0 {
        return *resin;
    }
    let k = km + share / (1.0 / (kf - km) + 3.0 * (1.0 - share) / (3.0 * km + 4.0 * gm));
    let g = gm
        + share
            / (1.0 / (gf - gm) + 6.0 * (1.0 - share) * (km + 2.0 * gm) / (5.0 * gm * (3.0 * km + 4.0 * gm)));
    let strain = resin.strain + (filler.strain - resin.strain) * (1.0 / k - 1.0 / km) / (1.0 / kf - 1.0 / km);
    Elastic {
        modulus: 9.0 * k * g / (3.0 * k + g),
        poisson: (3.0 * k - 2.0 * g) / (2.0 * (3.0 * k + g)),
        strain,
    }
}

/// A layer of joints in underfill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Joined {
    /// In the plane.
    pub in_plane: Elastic,
    /// Modulus through the layer, Pa.
    pub through: f64,
    /// Free strain through the layer.
    pub through_strain: f64,
    /// Modulus of shear between the two faces, Pa.
    pub shear: f64,
}

/// Joints that take `share` of the area of a layer, as a composite of columns across it: rule of mixtures through the
/// layer, J. C. Halpin and S. W. Tsai 1969 with zeta = 2 in the plane, R. A. Schapery 1968 for the strain in the
/// plane. Shear between the faces takes joints and underfill side by side, an upper bound for joints not much taller
/// than wide.
pub fn joined(fill: &Elastic, joint: &Elastic, share: f64) -> Joined {
    let through = share * joint.modulus + (1.0 - share) * fill.modulus;
    let through_strain =
        (share * joint.modulus * joint.strain + (1.0 - share) * fill.modulus * fill.strain) / through;
    let zeta = 2.0;
    let ratio = joint.modulus / fill.modulus;
    let eta = (ratio - 1.0) / (ratio + zeta);
    let poisson = share * joint.poisson + (1.0 - share) * fill.poisson;
    let in_plane = Elastic {
        modulus: fill.modulus * (1.0 + zeta * eta * share) / (1.0 - eta * share),
        poisson,
        strain: share * joint.strain * (1.0 + joint.poisson)
            + (1.0 - share) * fill.strain * (1.0 + fill.poisson)
            - through_strain * poisson,
    };
    Joined { in_plane, through, through_strain, shear: share * joint.shear() + (1.0 - share) * fill.shear() }
}

/// A layer of joints over an interval of temperature. Without underfill (or before its cure) the joints stand apart:
/// no stiffness in the plane, shear through the joints alone.
pub(crate) fn joint_layer(layer: &JointLayer, cured: bool, from_k: f64, to_k: f64) -> Joined {
    let joint = Elastic::of(&layer.joint, from_k, to_k);
    match layer.underfill.as_ref().filter(|_| cured) {
        Some(u) => joined(&Elastic::of(&u.solid, from_k, to_k), &joint, layer.share),
        None => Joined {
            in_plane: Elastic { modulus: 0.0, ..joint },
            through: layer.share * joint.modulus,
            through_strain: joint.strain,
            shear: layer.share * joint.shear(),
        },
    }
}
