//! Control charts of readings and voids in a picture.

use super::{Source, Table};
use crate::micrograph::{Asked, Shade, read};
use crate::readings::chart::{Lot, c4, chart, range_of_two};
use facedown_evidence::Basis;
use facedown_raster::{Grey, smooth};

const FACTORS: Source = Source(
    "The Handbook for Quality Management: A Complete Guide to Operational Excellence, p. 414: factors for control limits by lot size",
    Basis::Published,
);
const FLOW_RATES: Source = Source(
    "NIST/SEMATECH e-Handbook, sec. 6.3.2.2: individuals chart of ten batch flow rates (from memory)",
    Basis::FromMemory,
);
const DISC: Source = Source("plane geometry: a disc in a square", Basis::Published);

pub fn rows(table: &mut Table) {
    // Lot size, c4, A3 = 3 / (c4 sqrt n), B4 = 1 + 3 sqrt(1 - c4^2) / c4.
    for (n, unbiased, a3, b4) in [
        (2, 0.7979, 2.659, 3.267),
        (5, 0.9400, 1.427, 2.089),
        (10, 0.9727, 0.975, 1.716),
        (25, 0.9896, 0.606, 1.435),
    ] {
        let c = c4(n);
        table.within(&format!("underfill-chart-c4-{n}"), FACTORS, unbiased, c, 5.1e-5);
        table.within(&format!("underfill-chart-a3-{n}"), FACTORS, a3, 3.0 / (c * (n as f64).sqrt()), 5.1e-4);
        let upper = 1.0 + 3.0 * (1.0 - c * c).sqrt() / c;
        table.within(&format!("underfill-chart-b4-{n}"), FACTORS, b4, upper, 5.1e-4);
    }
    let [d2, d3] = range_of_two();
    table.within("underfill-chart-d2", FACTORS, 1.128, d2, 5e-4);
    table.within("underfill-chart-d4", FACTORS, 3.267, 1.0 + 3.0 * d3 / d2, 6e-4);
    // The rates stand for angles: a hundredth of a radian each.
    let rates = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    let lots: Vec<Lot> = rates
        .iter()
        .enumerate()
        .map(|(i, r)| Lot { name: i.to_string(), angles_rad: vec![r / 100.0] })
        .collect();
    if let Ok(found) = chart(&lots) {
        let [low, high] = found.points[0].limits_rad;
        table.within("underfill-chart-middle", FLOW_RATES, 50.81, 100.0 * found.middle_rad, 1e-9);
        // The handbook divides by 1.128, rounded from 1.12838.
        table.within("underfill-chart-upper", FLOW_RATES, 55.8041, 100.0 * high, 2e-3);
        table.within("underfill-chart-lower", FLOW_RATES, 45.8159, 100.0 * low, 2e-3);
    }
    // A disc of radius 20 on 250 x 250 pixels, drawn by the part of each pixel that it covers, then blurred.
    let disc = facedown_raster::render::covered(250, 250, 8, |x, y| (x - 124.5).hypot(y - 124.5) < 20.0);
    let picture: Grey = smooth::gaussian(&disc.map(|v| 0.4 + 0.25 * v), 0.8);
    let asked = Asked {
        die_m: [2.5e-3, 2.5e-3],
        bumps: &[],
        bump_diameter_m: 0.0,
        corners: Some([[-0.5, 249.5], [249.5, 249.5], [249.5, -0.5], [-0.5, -0.5]]),
        edge_m: 0.0,
        voids: Shade::Brighter,
        least_diameter_m: 0.0,
    };
    if let Ok(found) = read(&picture, &asked) {
        let share = std::f64::consts::PI * 400.0 / 62_500.0;
        table.relative("underfill-micrograph-disc", DISC, share, found.share, 0.01);
    }
}
