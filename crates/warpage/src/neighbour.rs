//! A package that was solved, and from there packages that differ from it little: what derivatives are made of.
//!
//! Most of a solve goes into factoring stiffnesses. Of a package with one thickness moved by a hundredth the stiffness is
//! nearly that of the package before, so that the change of the displacements is found in a few steps from the factor that
//! is there (see [`plates::changed`](crate::plates)); steps of temperature in which nothing differs are taken over. A moved
//! part may rob a package of its mirror image: then the package before is solved once on the larger grid, and the change
//! is read as the difference of two solutions on it.
//!
//! Where several parts share the grid, the length over which each is held is taken from the package before: it changes by
//! a few micrometres, but that would move lines past each other and past places that are read, where stress and curvature
//! jump. It is a fifth of the change of warpage with the thickness of a die at the most; a die alone has its own.

use crate::history::{Layout, Reading};
use crate::plates::{Bent, Series, Solved, changed, mirrors};
use crate::problem::{Problem, Resolution};
use crate::stack::{Cause, Made, Stack, stack_held};
use facedown_field::NoConvergence;
use std::collections::BTreeMap;
use std::sync::{Mutex, OnceLock, PoisonError};

/// One step that was solved.
struct Step {
    stack: Stack,
    reading: Reading,
    solved: Option<Solved>,
}

/// The steps of one state of assembly in their order, solved one after the other.
pub(crate) struct Way {
    made: Made,
    series: Series,
    steps: Vec<Step>,
}

/// What a step is solved from.
pub(crate) enum Start<'a> {
    /// Nothing is known.
    Anew,
    /// A package that differs little, and what was solved on one side of it for the other.
    Near(&'a Trace, Option<&'a Sides>),
}

/// What a package moved to one side of a solved one was found to be, for the same package moved as far to the other side: what
/// moves it there to first order is the opposite, which is all that a derivative needs.
#[derive(Default)]
pub struct Sides {
    /// By way and step.
    solved: Mutex<BTreeMap<(usize, usize), (Stack, Reading)>>,
}

impl Sides {
    fn taken(&self, at: (usize, usize)) -> Option<(Stack, Reading)> {
        self.solved.lock().unwrap_or_else(PoisonError::into_inner).remove(&at)
    }

    fn keep(&self, at: (usize, usize), solved: (Stack, Reading)) {
        self.solved.lock().unwrap_or_else(PoisonError::into_inner).insert(at, solved);
    }
}

/// Share of the change by which the two sides may fail to be opposite.
const OPPOSITE: f64 = 0.1;

/// Whether two packages lie on opposite sides of one, as far from it.
fn opposite(middle: &Stack, one: &Stack, other: &Stack) -> bool {
    let [middle, one, other] = [middle, one, other].map(Stack::numbers);
    middle.len() == one.len()
        && middle.len() == other.len()
        && middle.iter().zip(one.iter().zip(&other)).all(|(m, (a, b))| {
            let ([a, b], rounding) = ([a - m, b - m], 1e-12 * m.abs());
            (a + b).abs() <= OPPOSITE * a.abs().max(b.abs()) + rounding
        })
}

impl Way {
    pub fn new(made: Made, rest: f64) -> Way {
        Way { made, series: Series::new(rest), steps: Vec::new() }
    }

    /// The package over the next step; near another one, seats are held over what they are there.
    pub fn stack(&self, problem: &Problem, cause: Cause, from: &Start<'_>) -> Stack {
        let like = match from {
            Start::Anew => None,
            Start::Near(trace, _) => {
                let step = trace.at(self.made, self.steps.len()).map(|(_, step)| &step.stack);
                step.filter(|stack| stack.seats.len() > 1)
            }
        };
        stack_held(problem, self.made, cause, like)
    }

    /// Solves the next step and reads what it adds.
    pub fn step(
        &mut self,
        layout: &Layout,
        stack: Stack,
        from: &Start<'_>,
    ) -> Result<Reading, NoConvergence> {
        let number = self.steps.len();
        let near = match from {
            Start::Anew => None,
            Start::Near(trace, sides) => trace.beside(self.made, number, layout, &stack, *sides)?,
        };
        let (reading, solved) = match near {
            Some(reading) => (reading, None),
            None => {
                let bent = self.series.solve(&stack.assembly)?;
                (layout.read(self.made, &stack, &bent), self.series.last())
            }
        };
        self.steps.push(Step { stack, reading: reading.clone(), solved });
        Ok(reading)
    }
}

/// What a step was solved to on a grid with fewer mirrors.
struct Wider {
    reading: Reading,
    solved: Solved,
}

/// All that was solved for a package, from which others that differ little are solved by
/// [`solve_near`](crate::solve_near).
pub struct Trace {
    layout: Layout,
    resolution: Resolution,
    ways: Vec<Way>,
    /// The steps of all ways on the grids with fewer mirrors, once one is asked for.
    wider: [OnceLock<Option<Vec<Vec<Wider>>>>; 4],
}

impl Trace {
    pub(crate) fn new(layout: Layout, resolution: Resolution, ways: Vec<Way>) -> Trace {
        Trace { layout, resolution, ways, wider: Default::default() }
    }

    /// How a problem is solved from here: not at all where it is read elsewhere or solved otherwise.
    pub(crate) fn from<'a>(&'a self, problem: &Problem, sides: Option<&'a Sides>) -> Start<'a> {
        if self.resolution == problem.resolution && self.layout == Layout::new(problem) {
            Start::Near(self, sides)
        } else {
            Start::Anew
        }
    }

    /// A step with the place of its way.
    fn at(&self, made: Made, number: usize) -> Option<(usize, &Step)> {
        let at = self.ways.iter().position(|w| w.made == made)?;
        Some((at, self.ways[at].steps.get(number)?))
    }

    /// What a step adds, taken from the other side where that was solved; nothing where it is too unlike.
    fn beside(
        &self,
        made: Made,
        number: usize,
        layout: &Layout,
        stack: &Stack,
        sides: Option<&Sides>,
    ) -> Result<Option<Reading>, NoConvergence> {
        let (Some(sides), Some((at, own))) = (sides, self.at(made, number)) else {
            return self.step(made, number, layout, stack);
        };
        if let Some((other, found)) = sides.taken((at, number))
            && opposite(&own.stack, &other, stack)
        {
            return Ok(Some(own.reading.clone().plus(&own.reading, 1.0).plus(&found, -1.0)));
        }
        let found = self.step(made, number, layout, stack)?;
        if let Some(reading) = &found {
            sides.keep((at, number), (stack.clone(), reading.clone()));
        }
        Ok(found)
    }

    /// What a step adds; nothing where it is too unlike.
    fn step(
        &self,
        made: Made,
        number: usize,
        layout: &Layout,
        stack: &Stack,
    ) -> Result<Option<Reading>, NoConvergence> {
        let Some((at, own)) = self.at(made, number) else { return Ok(None) };
        if own.stack == *stack {
            return Ok(Some(own.reading.clone()));
        }
        let (here, there) = (mirrors(&own.stack.assembly), mirrors(&stack.assembly));
        let read = |bent: &Bent| layout.read(made, stack, bent);
        if here == there {
            let Some(from) = &own.solved else { return Ok(None) };
            return Ok(changed(&stack.assembly, there, from)?.map(|bent| read(&bent)));
        }
        if (0..2).any(|k| there[k] && !here[k]) {
            return Ok(None);
        }
        let wider = &self.wider[usize::from(there[0]) + 2 * usize::from(there[1])];
        let Some(wider) = wider.get_or_init(|| self.widened(there).ok()) else { return Ok(None) };
        let Some(from) = wider.get(at).and_then(|steps| steps.get(number)) else { return Ok(None) };
        let Some(bent) = changed(&stack.assembly, there, &from.solved)? else { return Ok(None) };
        Ok(Some(own.reading.clone().plus(&read(&bent), 1.0).plus(&from.reading, -1.0)))
    }

    /// All steps on the grid with those mirrors.
    fn widened(&self, mirrors: [bool; 2]) -> Result<Vec<Vec<Wider>>, NoConvergence> {
        let of = |way: &Way| {
            let mut wider: Vec<Wider> = Vec::with_capacity(way.steps.len());
            for (k, step) in way.steps.iter().enumerate() {
                let own = step.solved.as_ref().ok_or(NoConvergence::Singular)?;
                // What was solved from the factor of the step before is near it on the other grid too.
                let before = k.checked_sub(1).and_then(|before| way.steps[before].solved.as_ref());
                let like = before.filter(|b| b.shares_factor(own)).and_then(|_| wider.last());
                let solved = own.widened(&step.stack.assembly, mirrors, like.map(|w| &w.solved))?;
                wider
                    .push(Wider { reading: self.layout.read(way.made, &step.stack, &solved.bent()), solved });
            }
            Ok(wider)
        };
        self.ways.iter().map(of).collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::problem::Resolution;
    use crate::specimen;
    use crate::{Outcome, Problem, solve, solve_near, solve_traced};

    /// Numbers of an outcome that a change moves, m, Pa and 1/m.
    fn numbers(o: &Outcome) -> Vec<f64> {
        let curve = o.curve.iter().flat_map(|p| [p.warpage_body_m, p.warpage_m]);
        let dies = o.dies.iter().flat_map(|d| [d.back_room_pa[0], d.back_room_pa[1], d.tension_max_pa]);
        let edges = o.edges.iter().flat_map(|e| [e.shear_max_pa, e.peel_max_pa]);
        curve.chain(dies).chain(edges).collect()
    }

    fn moved(problem: &Problem, share: f64, of: fn(&mut Problem) -> &mut f64) -> Problem {
        let mut moved = problem.clone();
        *of(&mut moved) *= 1.0 + share;
        moved
    }

    #[test]
    fn a_problem_solved_from_its_neighbour_is_itself() {
        for own in [specimen::bare(), specimen::lidded(), specimen::module()] {
            let (outcome, trace) = solve_traced(&own).unwrap();
            assert_eq!(outcome, solve(&own).unwrap());
            let near = solve_near(&own, &trace, None).unwrap();
            assert_eq!((outcome.curve, outcome.stages), (near.curve, near.stages));
            assert_eq!((outcome.dies, outcome.edges), (near.dies, near.edges));
        }
    }

    #[test]
    fn changes_from_a_neighbour_are_those_of_solves_of_their_own() {
        let fine = Resolution { rest: 1e-13, ..Resolution::default() };
        let quantities: [fn(&mut Problem) -> &mut f64; 4] = [
            |p| &mut p.dies[0].plate.layers[0].thickness_m,
            |p| &mut p.dies[0].joints.gap_m,
            |p| &mut p.substrate.plate.layers[0].thickness_m,
            |p| &mut p.process.reflow_peak_k,
        ];
        // Several parts are held where they were.
        for (own, share) in [(specimen::lidded(), 0.02), (specimen::module(), 0.25)] {
            let own = Problem { resolution: fine, ..own };
            let (base, trace) = solve_traced(&own).unwrap();
            for (k, of) in quantities.into_iter().enumerate() {
                let moved = moved(&own, 1e-3, of);
                let (near, alone) = (solve_near(&moved, &trace, None).unwrap(), solve(&moved).unwrap());
                let [base, near, alone] = [&base, &near, &alone].map(numbers);
                for (n, ((b, x), y)) in base.iter().zip(&near).zip(&alone).enumerate() {
                    let (change, whole) = ((y - b).abs(), b.abs().max(y.abs()));
                    assert!((x - y).abs() <= share * change + 1e-6 * whole, "{k} {n}: {b} {x} {y}");
                }
            }
        }
    }

    #[test]
    fn the_other_side_is_the_opposite_of_the_first() {
        let own = specimen::lidded();
        let (base, trace) = solve_traced(&own).unwrap();
        let side = |share: f64, sides: Option<&crate::Sides>| {
            numbers(
                &solve_near(
                    &moved(&own, share, |p| &mut p.dies[0].plate.layers[0].thickness_m),
                    &trace,
                    sides,
                )
                .unwrap(),
            )
        };
        let sides = crate::Sides::default();
        let up = side(1e-3, Some(&sides));
        let (down, alone) = (side(-1e-3, Some(&sides)), side(-1e-3, None));
        assert_ne!(down, alone, "the second side was solved");
        for (b, ((u, d), a)) in numbers(&base).iter().zip(up.iter().zip(&down).zip(&alone)) {
            let change = (u - b).abs().max((a - b).abs());
            assert!((d - a).abs() <= 0.02 * change + 1e-6 * b.abs(), "{b} {u} {d} {a}");
        }
        // Twice as far is not the opposite: it is solved.
        side(1e-3, Some(&sides));
        assert_eq!(side(-2e-3, Some(&sides)), side(-2e-3, None));
    }

    #[test]
    fn a_lost_mirror_image_leaves_no_jump() {
        // Two dies alike, each the other's image; one of them is moved by less than anything can show.
        let mut own = specimen::module();
        let mut one = own.dies[1].clone();
        one.at_m = [-7e-3, 0.0];
        let image = crate::problem::Die { name: "image".into(), at_m: [7e-3, 0.0], ..one.clone() };
        own.dies = vec![one, image];
        own.interposer.as_mut().unwrap().at_m = [0.0; 2];
        let (base, trace) = solve_traced(&own).unwrap();
        let hardly = moved(&own, 1e-10, |p| &mut p.dies[0].plate.layers[0].thickness_m);
        let near = solve_near(&hardly, &trace, None).unwrap();
        for (b, x) in numbers(&base).into_iter().zip(numbers(&near)) {
            assert!((b - x).abs() <= 1e-7 * b.abs().max(1e-9), "{b} {x}");
        }
    }
}
