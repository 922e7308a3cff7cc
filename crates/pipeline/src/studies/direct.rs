//! Dies whose pads were drawn for bumps: every pad has its bump on it, and there is nothing to route.

use facedown_evidence::{Figure, Status};
use facedown_layout::{Drawing, Label, Point, Polygon, Role, Shape, ShapeKind};
use facedown_package::{BumpSite, Die, Pad};
use facedown_quantity::Nm;
use facedown_redistribution::{NetReport, Outcome, PlacedBump};
use serde::Serialize;
use std::collections::BTreeMap;

/// A pad with the bump on it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Seat {
    /// Bump name.
    pub bump: String,
    /// Pad name.
    pub pad: String,
    /// Net; empty where the pad carries none.
    pub net: String,
    /// Centre of the bump.
    pub at: Point,
    /// Centre of the pad.
    pub pad_at: Point,
    /// Pad opening in x and y.
    pub pad_size: [Nm; 2],
}

/// What drawing such a die reads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Direct {
    /// Die name.
    pub name: String,
    /// Die width.
    pub width: Nm,
    /// Die height.
    pub height: Nm,
    /// Pads and bumps.
    pub seats: Vec<Seat>,
    /// UBM diameter.
    pub ubm: Nm,
    /// Opening under the UBM, diameter.
    pub opening: Nm,
    /// Largest diameter of the bump.
    pub bump: Nm,
}

/// The direct die, when every bump stands on a pad of its own and every pad with a net has a bump; otherwise the
/// sentence that says why not.
pub fn direct(die: &Die) -> Result<Direct, String> {
    let Some(bumps) = &die.bumps else {
        return Err(format!("Die {} is flip-mounted but has no bumps.", die.name));
    };
    let sizes = bumps.sizes();
    let (pads, sites) = (die.pads(), die.sites().sites);
    let mut by_place: BTreeMap<(Nm, Nm), Vec<&Pad>> = BTreeMap::new();
    for pad in &pads {
        by_place.entry((pad.x, pad.y)).or_default().push(pad);
    }
    let mut seats = Vec::new();
    for site in &sites {
        // A pad under a bump is nearly always drawn at its very centre; the search around it covers the rest.
        let own = by_place.get(&(site.x, site.y)).and_then(|p| p.first().copied());
        let Some(pad) = own.or_else(|| pads.iter().find(|p| covers(p, site))) else {
            return Err(format!(
                "Bump {} of die {} has no pad under it, and the die has no redistribution layer ([die.rdl]).",
                site.name, die.name
            ));
        };
        if site.net.as_ref().is_some_and(|net| *net != pad.net) {
            return Err(format!(
                "Bump {} of die {} carries net {} but stands on pad {} of net {}.",
                site.name,
                die.name,
                site.net.as_deref().unwrap_or_default(),
                pad.name,
                pad.net
            ));
        }
        seats.push(Seat {
            bump: site.name.clone(),
            pad: pad.name.clone(),
            net: pad.net.clone(),
            at: Point::new(site.x, site.y),
            pad_at: Point::new(pad.x, pad.y),
            pad_size: [pad.width, pad.height],
        });
    }
    let seated: std::collections::BTreeSet<&str> = seats.iter().map(|s| s.pad.as_str()).collect();
    if let Some(pad) = pads.iter().find(|p| !p.net.is_empty() && !seated.contains(p.name.as_str())) {
        return Err(format!(
            "Pad {} of die {} has no bump on it, and the die has no redistribution layer ([die.rdl]).",
            pad.name, die.name
        ));
    }
    Ok(Direct {
        name: die.name.to_string(),
        width: Nm::round_m(die.width.si()),
        height: Nm::round_m(die.height.si()),
        seats,
        ubm: sizes.ubm,
        opening: sizes.opening,
        bump: sizes.bump,
    })
}

fn covers(pad: &Pad, site: &BumpSite) -> bool {
    (pad.x - site.x).abs() * 2 <= pad.width && (pad.y - site.y).abs() * 2 <= pad.height
}

/// Bumps, drawing and figures of a direct die. Bumps and UBM are drawn as polygons around the true circle, so that
/// spacings are never flattered.
pub fn outcome(direct: &Direct) -> Outcome {
    let mut drawing = Drawing::new(&direct.name, direct.width, direct.height);
    let die = Polygon::rectangle(Point::default(), Point::new(direct.width, direct.height));
    drawing.layer_mut(Role::Outline).shapes.push(Shape::new(ShapeKind::Outline, None, die));
    let mut nets: BTreeMap<&str, NetReport> = BTreeMap::new();
    for seat in &direct.seats {
        let net = (!seat.net.is_empty()).then_some(seat.net.as_str());
        let half = |size: Nm| Nm(size.0 / 2);
        let [w, h] = seat.pad_size.map(half);
        let (low, high) = (
            Point::new(seat.pad_at.x - w, seat.pad_at.y - h),
            Point::new(seat.pad_at.x + w, seat.pad_at.y + h),
        );
        let mut draw =
            |role, kind, polygon| drawing.layer_mut(role).shapes.push(Shape::new(kind, net, polygon));
        draw(Role::Pad, ShapeKind::Pad, Polygon::rectangle(low, high));
        draw(Role::BumpOpening, ShapeKind::Opening, circle(seat.at, direct.opening));
        draw(Role::Ubm, ShapeKind::Ubm, circle(seat.at, direct.ubm));
        draw(Role::Bump, ShapeKind::Bump, circle(seat.at, direct.bump));
        drawing.labels.push(Label { role: Role::Pad, at: seat.pad_at, text: seat.pad.clone() });
        drawing.labels.push(Label { role: Role::Bump, at: seat.at, text: seat.bump.clone() });
        if let Some(net) = net {
            let report = nets.entry(net).or_insert_with(|| NetReport {
                net: net.to_owned(),
                pads: Vec::new(),
                bumps: Vec::new(),
                routed: true,
                length_m: 0.0,
                bound_m: 0.0,
                width_m: 0.0,
                squares: 0.0,
                layers: Vec::new(),
            });
            report.pads.push(seat.pad.clone());
            report.bumps.push(seat.bump.clone());
        }
    }
    let placed = |seat: &Seat| PlacedBump {
        name: seat.bump.clone(),
        at: seat.at,
        net: (!seat.net.is_empty()).then(|| seat.net.clone()),
    };
    let count = |name: &str, value: usize, basis: &str| Figure {
        name: name.into(),
        value: value as f64,
        unit: String::new(),
        error: Some(0.0),
        hand: None,
        basis: basis.into(),
        status: Status::Solved,
        outside: None,
        between: None,
    };
    let figures = vec![
        count("nets", nets.len(), "counted: nets of the pads under the bumps"),
        count("routed_nets", nets.len(), "counted: every pad lies under its bump"),
        count("bumps", direct.seats.len(), "counted"),
        Figure { unit: "mm".into(), ..count("wirelength", 0, "no trace: every pad lies under its bump") },
        count("layers_used", 0, "no redistribution layer"),
    ];
    Outcome {
        figures,
        certificates: Vec::new(),
        nets: nets.into_values().collect(),
        bumps: direct.seats.iter().map(placed).collect(),
        drawing,
    }
}

/// A regular 32-gon around a circle of that diameter.
fn circle(at: Point, diameter: Nm) -> Polygon {
    const CORNERS: u32 = 32;
    let half_step = std::f64::consts::PI / f64::from(CORNERS);
    let radius = diameter.nm() / 2.0 / half_step.cos();
    let corner = |i: u32| {
        let angle = f64::from(2 * i + 1) * half_step;
        let (x, y) = (radius * angle.cos(), radius * angle.sin());
        Point::new(at.x + Nm(x.round() as i64), at.y + Nm(y.round() as i64))
    };
    Polygon::new((0..CORNERS).map(corner).collect())
}
