//! How many traces pass a gap, a ring, an array: the closed forms and the small flow network that checks them.
//!
//! A trace of width `line` keeps `space` from its neighbours and `pad_space` from the metal on both sides of the gap, so
//! n traces need `n line + (n - 1) space + 2 pad_space`. Lengths share one unit of the caller's choice.

use facedown_graph::flow::{FlowError, Network, maximum_flow};

/// Guard of the floor: a gap that fits exactly on paper must not lose a trace to the rounding of its centre distance.
const RELATIVE_EPSILON: f64 = 1e-9;

/// Traces that pass between two metal edges `gap` apart: `floor((gap - 2 pad_space + space) / (line + space))`.
///
/// Lines and spaces must be positive; a gap too narrow for one trace gives 0.
///
/// ```
/// use facedown_redistribution::capacity::gap_capacity;
/// assert_eq!(gap_capacity(230.0, 10.0, 10.0, 10.0), 11);
/// assert_eq!(gap_capacity(50.0, 25.0, 25.0, 25.0), 0);
/// assert_eq!(gap_capacity(75.0, 25.0, 25.0, 25.0), 1);
/// ```
pub fn gap_capacity(gap: f64, line: f64, space: f64, pad_space: f64) -> usize {
    let traces = (gap - 2.0 * pad_space + space) / (line + space);
    if traces.is_nan() || traces <= 0.0 {
        return 0;
    }
    // Saturates for absurd input instead of wrapping.
    (traces * (1.0 + RELATIVE_EPSILON)).floor() as usize
}

/// Edge-to-edge gap of two round pads of the given diameters with centres `distance` apart.
pub fn gap_of_discs(distance: f64, diameter_a: f64, diameter_b: f64) -> f64 {
    distance - (diameter_a + diameter_b) / 2.0
}

/// The two gaps of a square array, side and diagonal, with the traces that pass each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArrayGaps {
    /// Gap between neighbours in a row.
    pub orthogonal: f64,
    /// Gap between diagonal neighbours.
    pub diagonal: f64,
    /// Traces through the orthogonal gap.
    pub orthogonal_traces: usize,
    /// Traces through the diagonal gap; a tile between four pads must respect both (Yan and Wong, 2012, IEEE Trans. CAD
    /// 31(2), 285-293).
    pub diagonal_traces: usize,
}

/// Gaps of a square array of pads of diameter `capture` at `pitch`, space to pads equal to the space of traces.
pub fn array_gaps(pitch: f64, capture: f64, line: f64, space: f64) -> ArrayGaps {
    let orthogonal = gap_of_discs(pitch, capture, capture);
    let diagonal = gap_of_discs(pitch * std::f64::consts::SQRT_2, capture, capture);
    ArrayGaps {
        orthogonal,
        diagonal,
        orthogonal_traces: gap_capacity(orthogonal, line, space, space),
        diagonal_traces: gap_capacity(diagonal, line, space, space),
    }
}

/// Edge spacing of two parallel traces whose centre lines are `offset` apart along x, at `degrees` to the x axis:
/// `offset |sin| - line`.
pub fn parallel_spacing(offset: f64, degrees: f64, line: f64) -> f64 {
    offset * degrees.to_radians().sin().abs() - line
}

/// Most nets that leave a full n x n array on one layer when every site is a signal and `traces` pass each gap:
/// `min(n^2, 4 (n - 1) (1 + traces))`, since the outline of the array is the smallest cut. `traces` may be
/// fractional for a bound. A single site always leaves.
pub fn escape_maximum(n: usize, traces: f64) -> f64 {
    let n = n as f64;
    if n <= 1.0 { n } else { (n * n).min(4.0 * (n - 1.0) * (1.0 + traces)) }
}

/// Layers that free a full n x n array when each layer takes `1 + traces` outer rows.
pub fn layers_by_rows(n: usize, traces: usize) -> usize {
    n.div_ceil(2).div_ceil(1 + traces)
}

/// The same maximum as [`escape_maximum`], by a maximum flow on the tiles between the pads: every side of a tile passes
/// `traces_over / traces_under` traces (a fraction, so that bounds stay in whole numbers), every pad feeds one net to its
/// four tiles, and all that is outside is the sink. Returns the flow times `traces_under`.
///
/// # Errors
/// When the numbers are negative or too large.
pub fn escape_by_flow(n: usize, traces_over: i64, traces_under: i64) -> Result<i64, FlowError> {
    let inner = n.saturating_sub(1);
    let mut network = Network::new(2 + n * n + inner * inner);
    let (source, sink) = (0, 1);
    let pad = |row: usize, column: usize| 2 + row * n + column;
    // Tile (row, column) lies between pads (row, column) and (row + 1, column + 1); anything beyond is outside.
    let tile = |row: Option<usize>, column: Option<usize>| match (row, column) {
        (Some(r), Some(c)) if r < inner && c < inner => 2 + n * n + r * inner + c,
        _ => sink,
    };
    for row in 0..n {
        for column in 0..n {
            network.add_arc(source, pad(row, column), traces_under, 0);
            for r in [row.checked_sub(1), Some(row)] {
                for c in [column.checked_sub(1), Some(column)] {
                    network.add_arc(pad(row, column), tile(r, c), traces_under, 0);
                }
            }
        }
    }
    for row in 0..inner {
        for column in 0..inner {
            let here = tile(Some(row), Some(column));
            for (r, c) in [
                (row.checked_sub(1), Some(column)),
                (Some(row + 1), Some(column)),
                (Some(row), column.checked_sub(1)),
                (Some(row), Some(column + 1)),
            ] {
                network.add_arc(here, tile(r, c), traces_over, 0);
            }
        }
    }
    Ok(maximum_flow(&network, source, sink)?.value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exact_fit_keeps_its_trace() {
        // 0.1 + 0.2 style sums: 3 lines of 0.1 with 4 spaces of 0.1 need 0.7.
        assert_eq!(gap_capacity(0.1 * 7.0, 0.1, 0.1, 0.1), 3);
        assert_eq!(gap_capacity(0.7 - 1e-6, 0.1, 0.1, 0.1), 2);
        assert_eq!(gap_capacity(-5.0, 1.0, 1.0, 1.0), 0);
    }

    #[test]
    fn flow_and_closed_form_agree() {
        for n in 1..9 {
            for traces in 0..4 {
                let flow = escape_by_flow(n, traces, 1).unwrap();
                assert_eq!(flow as f64, escape_maximum(n, traces as f64), "n {n}, traces {traces}");
            }
        }
    }
}
