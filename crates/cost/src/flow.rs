//! Money and yield along the steps of assembly.
//!
//! Every package begun costs its dies and the steps that it goes through. A bad package is found at the next
//! inspected step and taken out there; what was spent on it is scrap, which the good ones must carry. The last step is
//! an inspection whatever the table says, so that only good packages are counted.

use crate::outcome::StepRow;
use crate::problem::Step;

/// What becomes of the packages.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    /// One row a step.
    pub rows: Vec<StepRow>,
    /// Share of the packages begun that are good at the end, 0 to 1.
    pub good: f64,
    /// Money spent for each package begun.
    pub spent: f64,
    /// Money spent on packages that are taken out, for each package begun.
    pub scrap: f64,
}

/// Follows packages that begin with dies of the money `dies`, good with the share `dies_good`, through `steps`.
pub fn follow(dies: f64, dies_good: f64, steps: &[Step]) -> Flow {
    // Shares of all packages begun: those still on the line, and the good ones among them.
    let (mut on_line, mut good) = (1.0, dies_good);
    let (mut each, mut spent, mut scrap) = (dies, dies, 0.0);
    let mut rows = Vec::new();
    for (i, step) in steps.iter().enumerate() {
        each += step.price;
        spent += step.price * on_line;
        good *= step.good;
        let mut taken_out = 0.0;
        if step.inspected || i + 1 == steps.len() {
            taken_out = on_line - good;
            scrap += taken_out * each;
            on_line = good;
        }
        rows.push(StepRow { name: step.name.clone(), spent: each, good: good / on_line, taken_out });
    }
    if steps.is_empty() {
        scrap = (on_line - good) * each;
    }
    Flow { rows, good, spent, scrap }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn step(price: f64, good: f64, inspected: bool) -> Step {
        Step { name: "x".into(), price, good, inspected }
    }

    #[test]
    fn an_early_inspection_saves_the_later_steps() {
        // By hand: dies 10, half are bad; step 4. Found at once: 10 for each begun, then 4 for half of them.
        let early = follow(10.0, 0.5, &[step(0.0, 1.0, true), step(4.0, 1.0, false)]);
        let late = follow(10.0, 0.5, &[step(0.0, 1.0, false), step(4.0, 1.0, false)]);
        assert_eq!((early.good, early.spent, early.scrap), (0.5, 12.0, 5.0));
        assert_eq!((late.good, late.spent, late.scrap), (0.5, 14.0, 7.0));
    }

    proptest! {
        #[test]
        fn money_is_kept(dies in 0.0..100.0_f64, y in 0.1..1.0_f64,
            steps in prop::collection::vec((0.0..20.0_f64, 0.5..1.0_f64, any::<bool>()), 0..8)) {
            let steps: Vec<Step> = steps.iter().map(|s| step(s.0, s.1, s.2)).collect();
            let f = follow(dies, y, &steps);
            // What is spent lies in good packages or in scrap.
            let full = dies + steps.iter().map(|s| s.price).sum::<f64>();
            prop_assert!((f.spent - f.scrap - f.good * full).abs() <= 1e-9 * (1.0 + f.spent));
            let out: f64 = f.rows.iter().map(|r| r.taken_out).sum();
            if !steps.is_empty() {
                prop_assert!((out + f.good - 1.0).abs() < 1e-12);
            }
        }
    }
}
