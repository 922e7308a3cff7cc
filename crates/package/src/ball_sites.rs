//! The places of the balls under the substrate.

use crate::bump_rules::nm;
use crate::bump_sites::{row_name, site_block};
use crate::bumps::BumpSite;
use crate::stack::{Balls, Substrate};
use facedown_quantity::Nm;

impl Balls {
    /// Columns and rows: as written, or as many as the body takes.
    pub fn matrix_on(&self, substrate: &Substrate) -> (u32, u32) {
        let (pitch, ball) = (nm(&self.pitch), nm(&self.diameter));
        let fit = |size: Nm| {
            if pitch <= Nm::ZERO || size < ball {
                0
            } else {
                ((size - ball).0 / pitch.0 + 1).min(10_000) as u32
            }
        };
        self.matrix.map_or((fit(nm(&substrate.width)), fit(nm(&substrate.height))), |[x, y]| (x, y))
    }

    /// Distance between the centres of the outermost balls along x and y: (count - 1) x pitch, the dimensions D1 and E1
    /// of JEDEC outlines (MO-192, MS-034).
    pub fn footprint(&self, substrate: &Substrate) -> (Nm, Nm) {
        let (columns, rows) = self.matrix_on(substrate);
        let span = |count: u32| Nm(nm(&self.pitch).0.saturating_mul(i64::from(count.max(1)) - 1));
        (span(columns), span(rows))
    }

    /// All balls, centres from the centre of the body, seen from above through the package; row A has the largest y.
    /// Empty when there would be more than [`crate::limits::SITES`].
    pub fn sites(&self, substrate: &Substrate) -> Vec<BumpSite> {
        let (columns, rows) = self.matrix_on(substrate);
        if u64::from(columns) * u64::from(rows) > crate::limits::SITES as u64 {
            return Vec::new();
        }
        let (span_x, span_y) = self.footprint(substrate);
        let pitch = nm(&self.pitch);
        let ring = self.rows.unwrap_or(u32::MAX);
        let gone =
            crate::bump_sites::left_out(self.depopulate.iter().filter_map(|t| site_block(t)), columns, rows);
        let mut sites = Vec::new();
        for row in 0..rows {
            for column in 0..columns {
                let depth = row.min(rows - 1 - row).min(column.min(columns - 1 - column));
                if depth >= ring || gone[row as usize * columns as usize + column as usize] {
                    continue;
                }
                sites.push(BumpSite {
                    name: format!("{}{}", row_name(row), column + 1),
                    x: pitch * i64::from(column) - Nm(span_x.0 / 2),
                    y: Nm(span_y.0 / 2) - pitch * i64::from(row),
                    net: None,
                });
            }
        }
        sites
    }
}
