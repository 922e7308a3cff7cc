//! From a step response to the heat path that it shows: time constants, ladder, structure functions.
//!
//! Each step is done by the numerics ([`facedown_field::step_response`], [`facedown_field::deconvolution`],
//! [`facedown_field::ladder`], [`facedown_field::structure`]); here they are put in order for a junction whose rise over
//! power is recorded after a step of power (V. Székely, T. Van Bien, Solid-State Electronics 31 (1988) 1363-1368; V.
//! Székely, Microelectronics J. 28 (1997) 277-292; from memory). A structure function reads as layers only where heat
//! flows one way; where it spreads, the path is an equivalent one.

use facedown_field::deconvolution::{Asked, NoSpectrum, Spectrum, spectrum};
use facedown_field::ladder::{Rung, from_parts};
use facedown_field::step_response::{Resampling, StepResponse};
use facedown_field::structure::cumulative;
pub use facedown_field::structure::{Place, differential};

/// The path that a step response shows.
#[derive(Debug, Clone, PartialEq)]
pub struct TransientPath {
    /// The response on a uniform grid of the logarithm of time: K/W and its slope.
    pub response: StepResponse,
    /// Time constants (s) with their resistances (K/W).
    pub spectrum: Spectrum,
    /// Ladder of heat capacities (J/K) and resistances (K/W), from the junction on.
    pub ladder: Vec<Rung>,
    /// Cumulative structure function: heat capacity (J/K) over resistance (K/W), from the junction on.
    pub structure: Vec<Place>,
}

/// Follows a junction's rise over power (K/W) after a step of power, sampled at rising times (s), to its path.
///
/// # Errors
/// [`NoSpectrum`] when the samples are no settled, rising response, or the fit misses it.
pub fn transient_path(
    times_s: &[f64],
    rises_k_w: &[f64],
    how: Resampling,
    asked: &Asked,
) -> Result<TransientPath, NoSpectrum> {
    let response = StepResponse::sampled(times_s, rises_k_w, how)?;
    let spectrum = spectrum(&response, asked)?;
    let ladder = from_parts(&spectrum.parts)?;
    let structure = cumulative(&ladder);
    Ok(TransientPath { response, spectrum, ladder, structure })
}
