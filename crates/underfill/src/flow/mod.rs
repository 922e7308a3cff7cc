//! Capillary flow between two faces, through bumps or without.
//!
//! [`plates`] has the fill times of a bare gap, [`cells`] (a table of cells solved by [`unit_cell`]), [`permeability`] (closed forms)
//! and [`pressure`] what bumps do to resistance and drive,
//! [`regions`] the front through rim and bump field in series, [`patterns`] dispensing along several edges, [`race`] the lead
//! of the bump-free rim and the air that it may trap.

pub mod cells;
pub mod patterns;
pub mod permeability;
pub mod plates;
pub mod pressure;
pub mod race;
pub mod regions;
pub mod unit_cell;

/// What a front needs to know of a part of the gap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Medium {
    /// Permeability over the superficial velocity (flow over the whole cross-section), m2.
    pub permeability_m2: f64,
    /// Share of the volume that liquid can fill, 0 to 1.
    pub free: f64,
    /// Mean driving pressure, Pa.
    pub pressure_pa: f64,
}

impl Medium {
    /// `permeability * pressure / free`, m2 Pa: a straight front travels `x^2 = 2 S` times it in the fluidity time S.
    pub fn mobility(self) -> f64 {
        self.permeability_m2 * self.pressure_pa / self.free
    }
}
