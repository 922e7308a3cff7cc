//! A package that stands solved and answers changes of what cools and heats it from where it is.
//!
//! Most of a solve is the layout of the grid, its couplings and the way from nothing to the field. What an engineer turns
//! most often (a heat sink's film, the wind, the powers) leaves the first two as they are and the field near: the hierarchy
//! takes the new films over, and the solver starts from the last field.

use super::case::Case;
use super::mesh::Cut;
use super::reading::Reading;
use crate::network::Setting;
use crate::problem::Problem;
use crate::valid::{Refusal, check};

/// A solved package.
///
/// ```
/// use facedown_heat::{network::Upward, service, solid::Standing, specimen};
/// let problem = specimen::lidded();
/// let mut setting = service(&problem);
/// let laid_out = setting.clone();
/// let (mut standing, before) = Standing::new(&problem, &laid_out, 0.4).unwrap();
/// setting.up = Upward::Film(4000.0);
/// assert!(standing.with(&setting).unwrap().junction() < before.junction());
/// ```
pub struct Standing<'a> {
    problem: &'a Problem,
    laid_out: &'a Setting,
    case: Case<'a>,
}

impl<'a> Standing<'a> {
    /// Solves a setting at a fineness (1 is the usual grid) and reads it off.
    ///
    /// # Errors
    /// [`Refusal`] of a problem that cannot be, and as [`super::solve`].
    pub fn new(
        problem: &'a Problem,
        setting: &'a Setting,
        fineness: f64,
    ) -> Result<(Standing<'a>, Reading), Refusal> {
        check(problem)?;
        let case = Case::solve(problem, setting, Cut { fineness, early: false }, None)?;
        let reading = Reading::of(problem, &case);
        Ok((Standing { problem, laid_out: setting, case }, reading))
    }

    /// Solves again with other films, powers or ambient, from the last field, and reads it off.
    ///
    /// # Errors
    /// [`Refusal::NoGrid`] for a setting of another layout (board, trace pattern, another kind of surroundings below), and
    /// as [`super::solve`]. What stands is left as it is, or begins anew at the next call.
    pub fn with(&mut self, setting: &Setting) -> Result<Reading, Refusal> {
        let alike = std::mem::discriminant(&setting.down) == std::mem::discriminant(&self.laid_out.down)
            && setting.board == self.laid_out.board
            && setting.pattern == self.laid_out.pattern
            && setting.powers_w.len() == self.laid_out.powers_w.len();
        if !alike {
            let why =
                "the setting has another board, other dies or another kind of surroundings; lay it out anew";
            return Err(Refusal::NoGrid { why: why.into() });
        }
        self.case.settle(setting, None)?;
        Ok(Reading::of(self.problem, &self.case))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{Downward, Upward};
    use crate::{service, specimen};

    #[test]
    fn what_is_changed_is_what_is_solved_anew() {
        let problem = specimen::lidded();
        let laid_out = service(&problem);
        let (mut standing, _) = Standing::new(&problem, &laid_out, 0.5).unwrap();
        let film = Setting { up: Upward::Film(1500.0), ..laid_out.clone() };
        let hotter =
            Setting { powers_w: laid_out.powers_w.iter().map(|p| 1.5 * p).collect(), ..film.clone() };
        let elsewhere = Setting { ambient_k: laid_out.ambient_k + 25.0, ..hotter.clone() };
        for setting in [film, hotter, elsewhere, laid_out.clone()] {
            let again = standing.with(&setting).unwrap();
            let anew = super::super::solve(&problem, &setting, 0.5).unwrap();
            // Conductivities may be of fields that are a fiftieth of a kelvin apart.
            let apart = (again.junction() - anew.junction()).abs();
            assert!(apart < 0.01, "{} {}", again.junction(), anew.junction());
            assert!(again.balance.abs() < 1e-6);
        }
    }

    #[test]
    fn another_layout_is_refused_and_what_stands_stays() {
        let problem = specimen::bare();
        let laid_out = service(&problem);
        let (mut standing, before) = Standing::new(&problem, &laid_out, 0.4).unwrap();
        let ring = Setting { down: Downward::Ring, ..laid_out.clone() };
        assert!(matches!(standing.with(&ring), Err(Refusal::NoGrid { .. })));
        let same = standing.with(&laid_out).unwrap();
        assert!((same.junction() - before.junction()).abs() < 1e-3);
    }
}
