//! How figures follow the tolerances of the design: numerical derivatives through the whole chain.
//!
//! Each toleranced quantity is moved by one standard deviation to both sides and the studies are run again; half the
//! difference of a figure is its change for that quantity. Both sides are needed: a figure of several parts is that of the
//! worst, and of two alike a step to one side moves it fully or not at all. Changes of independent quantities add up as
//! squares (JCGM 100:2008, Guide to the expression of uncertainty in measurement, section 5.1, equation 10). The layout is
//! held: tolerances of sizes do not move bumps. All runs go by closed forms on coarse grids, the undisturbed one too,
//! because a change needs not the last percent of a value and a solver takes seconds for each; from the difference of two
//! solves alike most of the error of their grid falls out, and the tests hold what is left. Runs share what they solve:
//! dies alike are solved once, studies solve a variation from what the undisturbed run left, and what they make of the bumps of
//! a layout is made once. A quantity that makes a
//! study fail on one side is differentiated on the other alone.

use crate::graph::{Depth, Graph, Memory, Run, Sides};
use crate::results::{ContributorEntry, Results, SpreadEntry};
use crate::studies::{REDISTRIBUTION, RULE_CHECK};
use crate::watch::Control;
use facedown_package::variation::{Tolerated, tolerated, varied};
use facedown_package::{Design, Files, Reading};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Contributors that a figure lists.
const LISTED: usize = 3;
/// Changes below this share of the value are rounding.
const FINE: f64 = 1e-9;

/// Figures that tell what a solver left over; what moves them is rounding.
const RESIDUALS: [&str; 2] = ["energy_balance", "volume_error"];

/// Study and figure with the value.
type Values = BTreeMap<(String, String), f64>;

/// Spreads of the figures of a run by study and name.
pub fn spreads(
    graph: &Graph<Design>,
    files: &(dyn Files + Sync),
    reading: &Reading,
    name: &str,
    base: &Run,
    control: Control<'_>,
) -> BTreeMap<(String, String), SpreadEntry> {
    spreads_at(Depth::Changes, graph, files, reading, name, base, control)
}

/// The same with all runs as far as a depth; slow with solvers, to check what closed forms give.
pub fn spreads_at(
    depth: Depth,
    graph: &Graph<Design>,
    files: &(dyn Files + Sync),
    reading: &Reading,
    name: &str,
    base: &Run,
    control: Control<'_>,
) -> BTreeMap<(String, String), SpreadEntry> {
    let held = [REDISTRIBUTION, RULE_CHECK];
    let Some(design) = &reading.design else { return BTreeMap::new() };
    let memory = Memory::default();
    let undisturbed = graph.vary_sharing(design, &[base], &held, (depth, &memory, None), control.unheard());
    memory.close();
    let nominal = values(&undisturbed);
    let quantities = tolerated(reading, name);
    let quiet = control.unheard();
    let changes: Vec<(Tolerated, Values)> = quantities
        .into_par_iter()
        .map(|quantity| {
            let sides = Sides::default();
            let how = (depth, &memory, Some(&sides));
            let at = |deviations: f64| {
                let design = varied(files, reading, name, &quantity, deviations)?;
                Some(values(&graph.vary_sharing(&design, &[&undisturbed, base], &held, how, quiet)))
            };
            let change = changes_of(&nominal, at(1.0).as_ref(), at(-1.0).as_ref());
            (quantity, change)
        })
        .collect();
    let mut out = BTreeMap::new();
    for (key, value) in &nominal {
        let mut moved: Vec<ContributorEntry> = changes
            .iter()
            .filter_map(|(quantity, change)| {
                let change = *change.get(key)?;
                (change.abs() > FINE * value.abs()).then(|| ContributorEntry {
                    quantity: quantity.path.clone(),
                    text: quantity.text.clone(),
                    change,
                    share: 0.0,
                })
            })
            .collect();
        let variance: f64 = moved.iter().map(|c| c.change * c.change).sum();
        if !(variance > 0.0 && variance.is_finite()) {
            continue;
        }
        moved.iter_mut().for_each(|c| c.share = c.change * c.change / variance);
        moved.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.quantity.cmp(&b.quantity)));
        moved.truncate(LISTED);
        out.insert(key.clone(), SpreadEntry { deviation: variance.sqrt(), contributors: moved });
    }
    out
}

/// Writes the spreads beside the figures of the whole package.
pub fn add_to(results: &mut Results, spreads: &BTreeMap<(String, String), SpreadEntry>) {
    for (study, entry) in &mut results.studies {
        for (name, figure) in &mut entry.figures {
            figure.spread = spreads.get(&(study.clone(), name.clone())).cloned();
        }
    }
}

fn values(run: &Run) -> Values {
    run.studies()
        .filter(|s| ![REDISTRIBUTION, RULE_CHECK].contains(&s.node.name))
        .flat_map(|s| {
            s.figures
                .iter()
                .filter(|f| !RESIDUALS.contains(&f.name.as_str()))
                .map(|f| ((s.node.reported_under.to_owned(), f.name.clone()), f.value))
        })
        .collect()
}

/// Change of each figure for one standard deviation upward.
fn changes_of(nominal: &Values, up: Option<&Values>, down: Option<&Values>) -> Values {
    nominal
        .iter()
        .filter_map(|(key, value)| {
            let change = match (up.and_then(|v| v.get(key)), down.and_then(|v| v.get(key))) {
                (Some(up), Some(down)) => (up - down) / 2.0,
                (Some(up), None) => up - value,
                (None, Some(down)) => value - down,
                (None, None) => return None,
            };
            Some((key.clone(), change))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_side_does_where_the_other_fails() {
        let of = |v: f64| Values::from([(("heat".to_owned(), "theta_ja".to_owned()), v)]);
        let change = |up: Option<f64>, down: Option<f64>| {
            changes_of(&of(10.0), up.map(of).as_ref(), down.map(of).as_ref()).into_values().next()
        };
        assert_eq!(change(Some(12.0), Some(9.0)), Some(1.5));
        assert_eq!(change(Some(12.0), None), Some(2.0));
        assert_eq!(change(None, Some(9.0)), Some(1.0));
        assert_eq!(change(None, None), None);
    }
}
