//! Assemblies that differ little, one after the other: moduli follow the temperature, so over many intervals the
//! matrix is nearly the one before.

use super::unknowns::mirrors;
use super::{Assembly, Bent, Model};
use facedown_field::fronts::Factor;
use facedown_field::{NoConvergence, conjugate};
use std::collections::VecDeque;
use std::sync::Arc;

/// Steps after which factoring anew is as quick.
const STEPS: usize = 12;
/// Solutions from which the next one starts.
const KEPT: usize = 3;
/// Error in energy that a change is left with, as a share of the change.
const CHANGE: f64 = 3e-3;

/// Assemblies that differ little, as over intervals of temperature: one of them is factored, the others are found by
/// conjugate gradients from there.
pub struct Series {
    rest: f64,
    /// The factored one and its factor.
    factored: Option<(Arc<Model>, Arc<Factor>)>,
    /// The last one.
    last: Option<Arc<Model>>,
    solved: VecDeque<Vec<f64>>,
}

/// An assembly that was solved, from which others that differ little are solved.
pub(crate) struct Solved {
    model: Arc<Model>,
    /// Of this assembly or of one like it.
    factor: Arc<Factor>,
    x: Vec<f64>,
}

/// Solves an assembly that differs little from a solved one: only the change is sought, to a thousandth of itself, so that
/// what both have of rounding and rest falls out of it. Nothing where the grids have other lines.
///
/// # Errors
/// As [`super::solve()`].
pub(crate) fn changed(
    assembly: &Assembly,
    mirrors: [bool; 2],
    from: &Solved,
) -> Result<Option<Bent>, NoConvergence> {
    let model = Model::on(assembly, mirrors, Some(&from.model));
    if model.numbering != from.model.numbering {
        return Ok(None);
    }
    let times = |x: &[f64]| from.factor.plan().times(&model.matrices, x);
    let held = times(&from.x);
    let rest: Vec<f64> = model.right.iter().zip(&held).map(|(f, h)| f - h).collect();
    let near = |r: &[f64]| from.factor.solve(r);
    let Ok(change) = conjugate::solve_at_pace(times, near, &rest, CHANGE, STEPS) else { return Ok(None) };
    let x = from.x.iter().zip(&change.x).map(|(x, d)| x + d).collect();
    Ok(Some(model.bent(x)))
}

impl Solved {
    /// Whether both are solved from one factor.
    pub(crate) fn shares_factor(&self, other: &Solved) -> bool {
        Arc::ptr_eq(&self.factor, &other.factor)
    }

    pub fn bent(&self) -> Bent {
        self.model.bent(self.x.clone())
    }

    /// The same assembly on the grid with fewer mirrors: its solution is there already, on the images too. The factor is that
    /// of `like`, or its own without it.
    ///
    /// # Errors
    /// As [`super::solve()`].
    pub fn widened(
        &self,
        assembly: &Assembly,
        mirrors: [bool; 2],
        like: Option<&Solved>,
    ) -> Result<Solved, NoConvergence> {
        let model = Arc::new(Model::on(assembly, mirrors, like.map(|l| &*l.model)));
        let factor = match like.filter(|l| l.model.numbering == model.numbering) {
            Some(like) => Arc::clone(&like.factor),
            None => Arc::new(model.factor()?),
        };
        let x = self.bent().unknowns_of(&model);
        Ok(Solved { model, factor, x })
    }
}

impl Series {
    /// No assembly yet; `rest` is the error in energy at which steps end, as a share.
    pub fn new(rest: f64) -> Series {
        Series { rest, factored: None, last: None, solved: VecDeque::new() }
    }

    /// Solves the next assembly. The result depends on the ones before within the tolerance of the steps only.
    ///
    /// # Errors
    /// As [`super::solve()`].
    pub fn solve(&mut self, assembly: &Assembly) -> Result<Bent, NoConvergence> {
        self.solve_on(assembly, mirrors(assembly))
    }

    /// What the next assembly may be solved from, of the one that was solved last.
    pub(crate) fn last(&self) -> Option<Solved> {
        let (_, factor) = self.factored.as_ref()?;
        let x = self.solved.front()?.clone();
        Some(Solved { model: Arc::clone(self.last.as_ref()?), factor: Arc::clone(factor), x })
    }

    /// The same with the halves left out that are mirror images by `mirrors`, of which the assembly may have more.
    pub(crate) fn solve_on(
        &mut self,
        assembly: &Assembly,
        mirrors: [bool; 2],
    ) -> Result<Bent, NoConvergence> {
        let model = Arc::new(Model::on(assembly, mirrors, self.last.as_deref()));
        let near = self.factored.as_ref().filter(|(m, _)| m.numbering == model.numbering);
        let found = near.and_then(|(_, factor)| {
            let times = |x: &[f64]| factor.plan().times(&model.matrices, x);
            let start = self.solved.make_contiguous();
            conjugate::solve(times, |r| factor.solve(r), &model.right, start, self.rest, STEPS).ok()
        });
        let x = match found {
            Some(found) => found.x,
            None => {
                let factor = Arc::new(model.factor()?);
                let x = factor.solve(&model.right)?;
                self.solved.clear();
                self.factored = Some((Arc::clone(&model), factor));
                x
            }
        };
        self.solved.truncate(KEPT - 1);
        self.solved.push_front(x.clone());
        self.last = Some(Arc::clone(&model));
        Ok(model.bent(x))
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Area, Part, Region, Spring, solve};
    use super::*;
    use crate::property::Elastic;
    use crate::section::stacked;

    /// A die of silicon and a lid of copper on a laminate of some modulus, with glue that may be soft.
    fn lidded(laminate: f64, glue: f64, die: f64) -> Assembly {
        let full = |plate: usize, side: f64, from: f64, thickness: f64, [modulus, ppm]: [f64; 2]| Part {
            plate,
            region: Region::full(Area::around([0.0; 2], side, side)),
            plies: stacked(from, &[(thickness, Elastic { modulus, poisson: 0.3, strain: -1e-4 * ppm })]),
        };
        let frame = Region {
            outer: Area::around([0.0; 2], 30e-3, 30e-3),
            opening: Some(Area::around([0.0; 2], 24e-3, 24e-3)),
        };
        Assembly {
            size: [30e-3, 30e-3],
            parts: vec![
                full(0, 30e-3, -0.5e-3, 1e-3, [laminate, 16.0]),
                full(0, die, 0.5e-3, 0.7e-3, [131e9, 2.8]),
                full(1, 30e-3, -0.5e-3, 1e-3, [117e9, 17.0]),
            ],
            springs: vec![Spring {
                region: frame,
                heights: [0.5e-3, -0.5e-3],
                shear: glue,
                normal: 3.0 * glue,
                opening: 1e-6,
            }],
            step: 3e-3,
        }
    }

    #[test]
    fn a_series_gives_what_each_solution_gives() {
        let mut series = Series::new(1e-11);
        // Nearly alike; the same; much softer; another number of lines.
        let cases =
            [(22e9, 1e13, 12e-3), (24e9, 0.9e13, 12e-3), (24e9, 0.9e13, 12e-3), (20e9, 1e12, 12.01e-3)];
        let wide = [(9e9, 1e10, 12e-3), (22e9, 1e13, 20e-3), (22e9, 1e13, 29.999_9e-3)];
        for (laminate, glue, die) in cases.into_iter().chain(wide) {
            let assembly = lidded(laminate, glue, die);
            let (one, own) = (series.solve(&assembly).unwrap(), solve(&assembly).unwrap());
            for at in [[15e-3, 15e-3], [15e-3, 0.0], [5e-3, -7e-3]] {
                for plate in [0, 1] {
                    let height = |b: &Bent| b.deflection(plate, at) - b.deflection(0, [0.0; 2]);
                    let (a, b) = (height(&one), height(&own));
                    assert!((a - b).abs() < 1e-9 * b.abs(), "{laminate} {glue} {die}: {a} {b}");
                }
            }
        }
    }
}
