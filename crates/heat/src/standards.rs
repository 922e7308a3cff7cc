//! Boards and cold plates of the JESD51 standards.
//!
//! JESD51-9 (July 2000) gives the boards of area-array packages, JESD51-8 (October 1999) the ring-style cold plate,
//! JESD51-2A the still air, JESD51-6 the wind tunnel. Sizes as far as the standards fix them; what they leave to the
//! user (dielectric thicknesses within their range) is stated here.

use crate::problem::{Carrier, Layer, Metal};

/// Number of planes of a test board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TestBoard {
    /// Signal layers only.
    NoPlanes,
    /// Two solid planes of 35 um inside.
    TwoPlanes,
}

/// Size of a JESD51-9 board for a body size (longer side), m: 101.5 x 114.5 mm up to 40 mm, 127.0 x 139.5 mm up to
/// 65 mm, 152.5 x 165.0 mm up to 90 mm; `None` beyond.
pub fn board_size(body_m: f64) -> Option<[f64; 2]> {
    // A tenth of a micrometre keeps a body that is read as 40 mm in its class.
    let up_to = |limit: f64| body_m <= limit + 1e-7;
    if up_to(0.040) {
        Some([0.1015, 0.1145])
    } else if up_to(0.065) {
        Some([0.1270, 0.1395])
    } else if up_to(0.090) {
        Some([0.1525, 0.1650])
    } else {
        None
    }
}

/// Copper share of the trace layers: traces about 40 % of their pitch, over about half of the board; one fifth of the
/// area (common practice, no source).
const TRACE_SHARE: f64 = 0.2;
/// Conductivity of copper foil and of glass-epoxy laminate, W/(m K) (from memory).
const FOIL: f64 = 390.0;
const LAMINATE: f64 = 0.35;
/// Heat capacities of their volume, J/(m3 K) (from memory).
const FOIL_CAPACITY: f64 = 3.44e6;
const LAMINATE_CAPACITY: f64 = 1.9e6;

fn metal(name: &str, thickness_m: f64, share: f64) -> Layer {
    Layer {
        metal: Some(Metal { share, conductivity: vec![(300.0, FOIL)] }),
        capacity: Some(share * FOIL_CAPACITY + (1.0 - share) * LAMINATE_CAPACITY),
        ..Layer::plain(name, thickness_m, LAMINATE)
    }
}

/// A JESD51-9 board, 1.60 mm, outer copper 70 um; planes 35 um below 0.40 mm of laminate. Bodies over 90 mm take the
/// largest board.
pub fn board(kind: TestBoard, body_m: f64) -> Carrier {
    let [width_m, height_m] = board_size(body_m).unwrap_or([0.1525, 0.1650]);
    let core = |thickness| Layer {
        capacity: Some(LAMINATE_CAPACITY),
        ..Layer::plain("laminate", thickness, LAMINATE)
    };
    let layers = match kind {
        TestBoard::NoPlanes => {
            vec![metal("traces", 70e-6, TRACE_SHARE), core(1.46e-3), metal("traces", 70e-6, TRACE_SHARE)]
        }
        TestBoard::TwoPlanes => vec![
            metal("traces", 70e-6, TRACE_SHARE),
            core(0.40e-3),
            metal("plane", 35e-6, 1.0),
            core(0.59e-3),
            metal("plane", 35e-6, 1.0),
            core(0.40e-3),
            metal("traces", 70e-6, TRACE_SHARE),
        ],
    };
    Carrier { width_m, height_m, layers }
}

/// Distance of the cooled ring from the body, m (JESD51-8: at least 5 mm).
pub const RING_DISTANCE_M: f64 = 5e-3;
/// Distance of the board temperature from the body, at the middle of its longest side, m (JESD51-8: at most 1 mm).
pub const BOARD_SENSOR_M: f64 = 1e-3;
/// Speeds that the moving-air metric is reported at, m/s (JESD51-6; 200, 400, 600 ft/min).
pub const SPEEDS_M_S: [f64; 3] = [1.0, 2.0, 3.0];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boards_have_their_thickness_and_class() {
        for kind in [TestBoard::NoPlanes, TestBoard::TwoPlanes] {
            let thickness: f64 = board(kind, 0.035).layers.iter().map(|l| l.thickness_m).sum();
            assert!((thickness - 1.6e-3).abs() < 1e-12);
        }
        assert_eq!(board_size(0.04), Some([0.1015, 0.1145]));
        assert_eq!(board_size(0.041), Some([0.1270, 0.1395]));
        assert_eq!(board_size(0.1), None);
    }
}
