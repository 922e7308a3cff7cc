//! What a ball array asks of the board: the lands, and the signal layers that free it. Lengths in millimetres, as outlines
//! are written.

/// Diameter of the board land for a ball, mm: 25 % less for balls from 0.55 mm, 20 % less from 0.25 mm, both to the
/// nearest 0.05 mm; 15 % less below, to the nearest 0.01 mm (reduction rule of IPC-7095, which allows +-0.05 mm from
/// 0.35 mm up).
pub fn board_land_mm(ball_mm: f64) -> f64 {
    // The guard keeps halves such as 0.375 from falling to the rounding of the product.
    let to = |value: f64, step: f64| (value / step + 1e-9).round() * step;
    if ball_mm > 0.549 {
        to(ball_mm * 0.75, 0.05)
    } else if ball_mm > 0.249 {
        to(ball_mm * 0.80, 0.05)
    } else {
        to(ball_mm * 0.85, 0.01)
    }
}

/// Balls per side of the square that a ball count comes nearest to.
pub fn balls_per_side(balls: usize) -> usize {
    (balls as f64).sqrt().round() as usize
}

/// Escape channels of a square array: 4 (n - 1).
pub fn escape_channels(balls: usize) -> usize {
    4 * balls_per_side(balls).saturating_sub(1)
}

/// Board or substrate signal layers that free a ball array when 60 % of the balls are signals:
/// `round(0.6 balls / (channels traces))`, at least 1 (AMD/Xilinx UG1099 v2.0, 2022, table 1).
/// `traces` is the number of traces between two lands; zero counts as one.
pub fn escape_layers(balls: usize, traces: usize) -> usize {
    let passes = escape_channels(balls) * traces.max(1);
    if passes == 0 {
        return 1;
    }
    ((0.6 * balls as f64 / passes as f64).round() as usize).max(1)
}

#[cfg(test)]
mod tests {
    use super::escape_layers;

    #[test]
    fn small_counts_need_one_layer() {
        assert_eq!(escape_layers(1, 1), 1);
        assert_eq!(escape_layers(0, 2), 1);
    }
}
