//! Prices and yields: numbers that are prices, wafers of dies that there are, steps by their names.

use super::Checker;
use crate::prices::{STEPS, StepPrices, WaferPrices};
use crate::values::{Fraction, Length};
use facedown_diagnostic::{Finding, nearest};
use std::collections::BTreeSet;

pub fn check(c: &mut Checker) {
    let Some(prices) = &c.design.prices else { return };
    let mut seen = BTreeSet::new();
    for (i, wafer) in prices.wafers.iter().enumerate() {
        let at = format!("cost.wafer[{i}]");
        wafer_numbers(c, &at, wafer);
        let die = wafer.die.as_ref().map(|d| d.as_str());
        if let Some(name) = die
            && c.design.die(name).is_none()
        {
            let names: Vec<&str> = c.design.dies.iter().map(|d| d.name.as_str()).collect();
            let finding =
                Finding::error("die-unknown", format!("there is no die `{name}`")).allowed(names.join(", "));
            let finding = match nearest(name, names.iter().copied()) {
                Some(right) => finding.mend(format!("write \"{right}\"")),
                None => finding,
            };
            c.at(&format!("{at}.die"), finding);
        }
        if !seen.insert(die) {
            let whose = die.map_or("every die".into(), |d| format!("the die `{d}`"));
            let finding = Finding::error("duplicate", format!("{whose} has its wafer already"))
                .mend("keep one table [[cost.wafer]] for each die, and one without `die` for the others");
            c.absent(&at, finding);
        }
    }
    let mut seen = BTreeSet::new();
    for (i, step) in prices.steps.iter().enumerate() {
        let at = format!("cost.step[{i}]");
        step_numbers(c, &at, step);
        if !seen.insert(step.name.as_str()) {
            let finding = Finding::error("duplicate", format!("the step `{}` is priced already", step.name))
                .mend("keep one table [[cost.step]] for each step");
            c.at(&format!("{at}.name"), finding);
        }
        if !STEPS.contains(&step.name.as_str()) {
            // A step of another name is one more; one that is nearly a known one is probably misspelt.
            if let Some(right) = nearest(&step.name, STEPS.iter().copied()) {
                let finding = Finding::warning(
                    "step-near",
                    format!("the step `{}` is one more step beside `{right}`", step.name),
                )
                .mend(format!("write \"{right}\" if that one is meant"));
                c.at(&format!("{at}.name"), finding);
            }
            if step.price.is_none() {
                let finding = Finding::error(
                    "price-missing",
                    format!("the step `{}` has no price, and no default is known for it", step.name),
                )
                .mend("add `price = ...`");
                c.absent(&at, finding);
            }
        }
    }
}

fn wafer_numbers(c: &mut Checker, at: &str, wafer: &WaferPrices) {
    for (key, value) in
        [("price", wafer.price), ("defects_per_cm2", wafer.defects_per_cm2), ("test_price", wafer.test_price)]
    {
        not_negative(c, &format!("{at}.{key}"), value);
    }
    for (key, value) in
        [("diameter", &wafer.diameter), ("edge_exclusion", &wafer.edge_exclusion), ("street", &wafer.street)]
    {
        length(c, &format!("{at}.{key}"), key == "diameter", value.as_ref());
    }
    if let Some(clustering) = wafer.clustering
        && clustering <= 0.0
    {
        let finding = Finding::error("not-positive", format!("a clustering of {}", clustering))
            .allowed("a number above zero");
        c.at(&format!("{at}.clustering"), finding);
    }
    share(c, &format!("{at}.test_coverage"), true, wafer.test_coverage.as_ref());
}

fn step_numbers(c: &mut Checker, at: &str, step: &StepPrices) {
    not_negative(c, &format!("{at}.price"), step.price);
    share(c, &format!("{at}.yield"), false, step.good.as_ref());
}

fn not_negative(c: &mut Checker, path: &str, value: Option<f64>) {
    if let Some(value) = value.filter(|v| *v < 0.0) {
        c.at(path, Finding::error("negative", format!("{value} is negative")).allowed("zero or more"));
    }
}

fn length(c: &mut Checker, path: &str, positive: bool, value: Option<&Length>) {
    let Some(value) = value else { return };
    if value.si() < 0.0 || (positive && value.si() == 0.0) {
        let allowed = if positive { "a length above zero" } else { "zero or more" };
        c.at(path, Finding::error("not-positive", format!("{value} is not a size")).allowed(allowed));
    } else if value.si() > 1.0 {
        let finding = Finding::error("too-large", format!("{value} is larger than any wafer"))
            .allowed("lengths up to 1 m")
            .mend("look at the unit: mm may be meant");
        c.at(path, finding);
    }
}

fn share(c: &mut Checker, path: &str, zero: bool, value: Option<&Fraction>) {
    let Some(value) = value else { return };
    if !(0.0..=1.0).contains(&value.si()) || (!zero && value.si() == 0.0) {
        let allowed = if zero { "0 % to 100 %" } else { "above 0 % and up to 100 %" };
        c.at(
            path,
            Finding::error("share-range", format!("{value} is not a share of a whole")).allowed(allowed),
        );
    }
}
