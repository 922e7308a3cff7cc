//! Ball grid arrays: how many balls, where the outer ones stand, what land they get on the board, how many board
//! layers free them. Lengths in millimetres, as outlines are written.

/// Ball pitches in common use, mm, coarse to fine (common practice, no source).
pub const PITCH_FAMILY_MM: [f64; 10] = [1.50, 1.27, 1.00, 0.80, 0.75, 0.65, 0.50, 0.40, 0.35, 0.30];

/// A rectangular matrix of balls, all positions or only outer rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BallMatrix {
    /// Balls along x.
    pub columns: usize,
    /// Balls along y.
    pub rows: usize,
    /// Pitch, mm.
    pub pitch_mm: f64,
    /// Populated outer rows; absent for a full matrix.
    pub outer_rows: Option<usize>,
}

impl BallMatrix {
    /// Number of balls. For r outer rows of an n x n matrix this is 4 r (n - r).
    pub fn balls(&self) -> usize {
        let all = self.columns * self.rows;
        let hole = |n: usize, r: usize| n.saturating_sub(r.saturating_mul(2));
        match self.outer_rows {
            None => all,
            Some(r) => all - hole(self.columns, r) * hole(self.rows, r),
        }
    }

    /// Distance between the outermost ball centres along x and y, mm: D1 = (M_D - 1) e, E1 = (M_E - 1) e in the symbols
    /// of the JEDEC outlines.
    pub fn span_mm(&self) -> (f64, f64) {
        let span = |n: usize| n.saturating_sub(1) as f64 * self.pitch_mm;
        (span(self.columns), span(self.rows))
    }

    /// Offset of the ball next to the centre line along x and y, mm: e/2 for an even number of balls, 0 for odd.
    pub fn centre_offset_mm(&self) -> (f64, f64) {
        let offset = |n: usize| if n.is_multiple_of(2) { self.pitch_mm / 2.0 } else { 0.0 };
        (offset(self.columns), offset(self.rows))
    }
}

/// Diameter of the board land for a ball, mm: 25 % less for balls from 0.55 mm, 20 % less from 0.25 mm, both to the
/// nearest 0.05 mm; 15 % less below, to the nearest 0.01 mm (reduction rule of IPC-7095, which allows +-0.05 mm from
/// 0.35 mm up).
pub fn land_from_ball_mm(ball_mm: f64) -> f64 {
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
    use super::*;

    #[test]
    fn odd_matrices_have_a_ball_on_the_centre_line() {
        let odd = BallMatrix { columns: 15, rows: 20, pitch_mm: 1.27, outer_rows: None };
        assert_eq!(odd.centre_offset_mm(), (0.0, 0.635));
        assert_eq!(odd.balls(), 300);
    }

    #[test]
    fn more_outer_rows_than_there_are_means_full() {
        let full = BallMatrix { columns: 5, rows: 4, pitch_mm: 0.8, outer_rows: Some(3) };
        assert_eq!(full.balls(), 20);
    }

    #[test]
    fn small_counts_need_one_layer() {
        assert_eq!(escape_layers(1, 1), 1);
        assert_eq!(escape_layers(0, 2), 1);
    }
}
