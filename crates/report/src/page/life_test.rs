//! The finished life test: its Weibull plot, and what was fitted in numbers.

use super::PageInput;
use super::studies::{YEAR, row};
use super::write::{Cell, figure, table};
use crate::chart::Words;
use crate::chart::life_test::{LifeTest, life_test};
use crate::number::{fixed, significant};
use crate::svg::Svg;
use facedown_life::outcome::FittedTest;

/// The finished test, once for all dies that it says the same about.
pub fn finished(input: &PageInput<'_>, out: &mut Svg) {
    let mut told: Vec<&FittedTest> = Vec::new();
    for (part, life) in &input.life {
        let Some(test) = life.test.as_ref().filter(|t| !told.contains(t)) else { continue };
        one(input, out, part, test, told.len());
        told.push(test);
    }
}

fn one(input: &PageInput<'_>, out: &mut Svg, part: &str, test: &FittedTest, index: usize) {
    let units = test.points.len() + test.running.len();
    let fit = test.shape.zip(test.characteristic);
    let name = match (fit, test.at_least) {
        (Some((shape, scale)), _) => {
            format!("fit: shape {}, 63.2 % at {}", significant(shape, 3), whole(scale))
        }
        (None, Some((shape, scale))) => {
            format!("at least: 63.2 % at {}, for a shape of {}", whole(scale), significant(shape, 2))
        }
        (None, None) => String::new(),
    };
    let conditions = input.design.qualification.as_ref().and_then(|q| q.test.as_ref());
    let axis = conditions.map_or_else(
        || "cycles of the test".to_owned(),
        |t| {
            let celsius = |k: f64| fixed(k - 273.15, 1);
            format!("cycles of the test, {} to {} degC", celsius(t.low.si()), celsius(t.high.si()))
        },
    );
    let plot = LifeTest {
        axis,
        failures: test.points.clone(),
        running: test.running.clone(),
        line: fit.or(test.at_least),
        fitted: fit.is_some(),
        name,
        band: test.band.iter().map(|b| (b.failed, b.between)).collect(),
        asked: test
            .translated
            .map(|t| (t.failed, format!("asked: {} % at the most", fixed(100.0 * t.failed, 4)))),
        life_between: test.translated.and_then(|t| t.test_cycles_between),
        mission: test.translated.map(|t| t.mission_cycles),
    };
    let description = format!(
        "{} of {units} packages with bumps of {part} failed, {} still ran when they were taken out. {}",
        test.points.len(),
        test.running.len(),
        field(test)
    );
    let id = format!("chart-life-test-{index}");
    let words = Words { id: &id, title: "Packages failed in the finished test", description: &description };
    let band = if test.band.is_empty() {
        ""
    } else {
        " Disks: failures at their median ranks. Line with band: fit with its bounds. Open marks below: packages that still ran when they were taken out, and how many."
    };
    row(out, |out| {
        figure(out, "Finished test", &life_test(&words, &plot), &format!("{description}{band}"));
        table(out, "The finished test in numbers", &["Quantity", "Value", &bounds_at(test)], &rows(test));
    });
}

fn bounds_at(test: &FittedTest) -> String {
    format!("Between, at {} %", fixed(100.0 * test.confidence, 1))
}

/// Cycles as a whole number.
fn whole(cycles: f64) -> String {
    fixed(cycles, 0)
}

fn between((low, high): (f64, f64), write: impl Fn(f64) -> String) -> String {
    let (low, high) = (write(low), write(high));
    if low == high { low } else { format!("{low} to {high}") }
}

/// What the test says about the field, in a sentence.
fn field(test: &FittedTest) -> String {
    let Some(t) = &test.translated else {
        return "It is not translated into the mission.".into();
    };
    let bound = if test.shape.is_some() { "By it" } else { "By it no more than" };
    format!(
        "{bound} {} % have failed after {} years of the mission, which stands for {} of its cycles by the published fits.",
        fixed(100.0 * t.failed, 4),
        between(t.field_life_s, |s| significant(s / YEAR, 3)),
        between(t.mission_cycles, whole)
    )
}

fn rows(test: &FittedTest) -> Vec<Vec<Cell>> {
    let mut rows = Vec::new();
    let mut tell = |name: String, value: String, bounds: Option<String>| {
        let bounds = bounds.unwrap_or_else(|| "not bounded".into());
        rows.push(vec![Cell::text(name), Cell::number(value), Cell::number(bounds)]);
    };
    let three = |v: f64| significant(v, 3);
    tell("Failed".into(), test.points.len().to_string(), Some(String::new()));
    tell("Still ran".into(), test.running.len().to_string(), Some(String::new()));
    if let Some(shape) = test.shape {
        tell("Weibull shape".into(), three(shape), test.shape_bounds.map(|b| between(b, three)));
    }
    if let Some(scale) = test.characteristic {
        let bounds = test.characteristic_bounds.map(|b| between(b, whole));
        tell("Characteristic life, cycles".into(), whole(scale), bounds);
    }
    if let Some((shape, scale)) = test.at_least {
        let name =
            format!("Characteristic life at the least, cycles, for a shape of {}", significant(shape, 2));
        tell(name, whole(scale), Some(String::new()));
    }
    if let Some(t) = &test.translated {
        let share = fixed(100.0 * t.failed, 4);
        let bounds = if test.shape.is_some() {
            t.test_cycles_between.map(|b| between(b, whole))
        } else {
            Some(String::new())
        };
        tell(format!("Cycles to {share} % failed"), whole(t.test_cycles), bounds);
        let fits = |text: String| format!("{text} by the fits");
        let mission = fits(between(t.mission_cycles, whole));
        tell("Cycles that stand for the mission".into(), mission, Some(String::new()));
        let years = fits(between(t.field_life_s, |s| three(s / YEAR)));
        tell(format!("Years of the mission to {share} % failed"), years, Some(String::new()));
    }
    rows
}
