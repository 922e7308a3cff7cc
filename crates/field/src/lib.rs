//! The numerics under the studies: roots, quadrature, rate equations, small dense systems, systems on a grid, distributions.
//!
//! Nothing here knows packaging, materials or units; every function takes plain numbers and closures and can be
//! tested against a general-purpose library. A method that does not reach its tolerance says so by an error; it never
//! returns its last guess.
//!
//! ```
//! use facedown_field::{quadrature, root};
//! let half_pi = root::bracketed(f64::cos, 1.0, 2.0, 1e-14).unwrap();
//! let area = quadrature::adaptive(f64::sin, 0.0, 2.0 * half_pi, 1e-12).unwrap();
//! assert!((area - 2.0).abs() < 1e-12);
//! ```

pub mod conduction;
pub mod conjugate;
pub mod deconvolution;
pub mod dense;
pub mod distribution;
pub mod fronts;
pub mod gauss;
pub mod grid;
pub mod ladder;
pub mod laplace;
pub mod proportion;
pub mod quadrature;
pub mod random;
pub mod rates;
pub mod relaxation;
pub mod root;
pub mod step_response;
pub mod stiff;
pub mod stokes;
pub mod structure;

/// Why a numerical method gave no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoConvergence {
    /// The two ends of an interval do not enclose a root.
    NotBracketed,
    /// The tolerance was not reached within the allowed work.
    TooSlow,
    /// A value on the way was not a finite number.
    NotFinite,
    /// A system of equations has no unique solution in the given precision.
    Singular,
}

impl std::fmt::Display for NoConvergence {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            NoConvergence::NotBracketed => "the interval encloses no root",
            NoConvergence::TooSlow => "the tolerance was not reached",
            NoConvergence::NotFinite => "a value on the way is not a finite number",
            NoConvergence::Singular => "the system of equations has no unique solution",
        })
    }
}

impl std::error::Error for NoConvergence {}
