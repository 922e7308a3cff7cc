//! Recipes and process windows of the underfill on the page.

use super::studies::row;
use super::write::{Cell, figure, paragraph, table};
use super::{PageInput, third};
use crate::chart::Words;
use crate::chart::curve::{Curve, Curves, curves};
use crate::chart::window_map::{Mark, WindowMap, window_map};
use crate::number::significant;
use crate::svg::Svg;
use facedown_underfill::planning::Plan;
use facedown_underfill::search::{Stage, Table};
use facedown_underfill::window::{Verdict, Window, WindowOutcome};

const KELVIN: f64 = 273.15;
/// Rows of the table of recipes.
const ROWS: usize = 14;

/// Every part with recipes or windows.
pub fn planning(input: &PageInput<'_>, out: &mut Svg) {
    for (index, (die, outcome)) in input.underfill.iter().enumerate() {
        let plan = &outcome.plan;
        if plan.recipes.is_none() && plan.windows.is_empty() {
            continue;
        }
        if input.underfill.len() > 1 {
            third(out, &format!("Die {die}"));
        }
        if let Some(recipes) = &plan.recipes {
            table_of(recipes, out);
        }
        if !plan.windows.is_empty() {
            windows(input, plan, (index, die), out);
        }
    }
}

fn table_of(recipes: &Table, out: &mut Svg) {
    let number = |value: Option<f64>, scale: f64| {
        Cell::number(value.map_or("\u{2013}".into(), |v| significant(scale * v, 3)))
    };
    let rows: Vec<Vec<Cell>> = recipes
        .rows
        .iter()
        .take(ROWS)
        .map(|tried| {
            let window = tried.volume_window_m3.map_or("\u{2013}".into(), |[least, most]| {
                format!("{} to {}", significant(1e9 * least, 3), significant(1e9 * most, 3))
            });
            vec![
                Cell::text(tried.recipe.words()),
                number(tried.fill_time_s.or(tried.estimate_s), 1.0),
                number(tried.void_area_fraction, 100.0),
                Cell::number(window),
                Cell::text(match (&tried.why, tried.stage) {
                    (Some(why), _) => why.to_string(),
                    (None, Stage::Refined) => "keeps all limits".into(),
                    (None, _) => "keeps all limits on the coarse grid".into(),
                }),
            ]
        })
        .collect();
    let caption = format!(
        "Recipes, the shortest that keeps all limits first: {} of {} shown, {} followed on a coarse grid, {} on the fine one",
        rows.len(),
        recipes.rows.len(),
        recipes.followed[0],
        recipes.followed[1]
    );
    table(out, &caption, &["Recipe", "fill time, s", "voids, %", "volume, mm3", "verdict"], &rows);
}

fn windows(input: &PageInput<'_>, plan: &Plan, (index, die): (usize, &str), out: &mut Svg) {
    if let Some(spread) = &plan.spread {
        let percent = |p: facedown_underfill::window::Probability| {
            format!(
                "{} % ({} to {} %)",
                significant(100.0 * p.share, 2),
                significant(100.0 * p.between[0], 2),
                significant(100.0 * p.between[1], 2)
            )
        };
        let times = spread.fill_times_s.map_or(String::new(), |[low, middle, high]| {
            format!(
                " Nine of ten fills take {} to {} s, half of them less than {} s.",
                significant(low, 3),
                significant(high, 3),
                significant(middle, 3)
            )
        });
        let told = format!(
            "With the tolerances a void is trapped under {die} in {} of {} draws, and the gap does not fill in {}.{times}",
            percent(spread.void),
            spread.void.draws,
            percent(spread.no_fill)
        );
        paragraph(out, "", &told);
    }
    row(out, |out| {
        for (k, (window, outcome)) in plan.windows.iter().enumerate() {
            one(input, window, outcome, &format!("{index}-{k}"), die, out);
        }
    });
}

/// How the fill time grows with the wait, up to where it does not fill any more.
fn fill_times(
    points: &[(f64, facedown_underfill::Angle)],
    outcome: &WindowOutcome,
    id: &str,
    die: &str,
    out: &mut Svg,
) {
    let times = points.iter().zip(&outcome.points);
    let times: Vec<(f64, f64)> = times.filter_map(|(q, p)| Some((q.0 / 3600.0, p.fill_time_s?))).collect();
    if times.len() < 2 {
        return;
    }
    let (first, last) = (times[0], times[times.len() - 1]);
    let caption = format!(
        "Fill time over the queue time: {} s at once, {} s after {} h{}",
        significant(first.1, 3),
        significant(last.1, 3),
        significant(last.0, 2),
        if times.len() < points.len() { "; after that the gap does not fill." } else { "." }
    );
    let chart = Curves {
        x: "queue time after plasma, h".into(),
        y: "fill time, s".into(),
        curves: vec![Curve { name: String::new(), dashed: false, points: times }],
        x_from_zero: true,
        y_from_zero: true,
        ..Curves::default()
    };
    let id = format!("{id}-time");
    let words = Words { id: &id, title: "Fill time over the queue time", description: &caption };
    figure(out, &format!("Fill time over the queue time, under {die}"), &curves(&words, &chart), &caption);
}

/// The recipe's own angle on the substrate, deg, temperature, degC, and gap, um.
fn here(input: &PageInput<'_>, die: &str) -> (f64, f64, f64) {
    let outcome = input.underfill.iter().find(|u| u.0 == die).map(|u| u.1);
    let angle = outcome.and_then(|o| {
        o.angles
            .iter()
            .find(|a| a.face == facedown_underfill::Face::Substrate)
            .map(|a| a.angle_rad.to_degrees())
    });
    let fill = input.design.process.as_ref().and_then(|p| p.underfill.as_ref());
    let temperature = fill.map_or(f64::NAN, |f| f.temperature.si() - KELVIN);
    (angle.unwrap_or(f64::NAN), temperature, outcome.map_or(f64::NAN, |o| 1e6 * o.gap_m))
}

fn one(input: &PageInput<'_>, window: &Window, outcome: &WindowOutcome, id: &str, die: &str, out: &mut Svg) {
    let (angle, temperature, gap) = here(input, die);
    let mark = |v: Verdict| match v {
        Verdict::Fills => Mark::Good,
        Verdict::Voids => Mark::Void,
        Verdict::DoesNotWet => Mark::Dry,
        Verdict::Gels => Mark::Gel,
        Verdict::RunsDry => Mark::Short,
    };
    let id = format!("chart-window-{id}");
    // Points come with their settings; what runs fastest is read off them.
    let cells = |across: &[f64], up: &[f64], at: &dyn Fn(f64, f64) -> [f64; 2]| -> Vec<(f64, Mark)> {
        let place = |x: f64, y: f64| {
            let wanted = at(x, y);
            let apart = |p: &facedown_underfill::window::Point| {
                (0..2).map(|k| ((p.at[k] - wanted[k]) / wanted[k].abs().max(1e-300)).abs()).sum::<f64>()
            };
            outcome.points.iter().min_by(|a, b| apart(a).total_cmp(&apart(b)))
        };
        up.iter()
            .flat_map(|y| across.iter().map(move |x| (*x, *y)))
            .filter_map(|(x, y)| place(x, y).map(|p| (p.good.share, mark(p.verdict))))
            .collect()
    };
    let degrees = |v: &[f64]| -> Vec<f64> { v.iter().map(|a| a.to_degrees()).collect() };
    let (title, map) = match window {
        Window::AngleTemperature { angles_rad, temperatures_k, .. } => {
            let map = WindowMap {
                x: "angle on the substrate, deg".into(),
                y: "flow temperature, degC".into(),
                across: degrees(angles_rad),
                up: temperatures_k.iter().map(|t| t - KELVIN).collect(),
                cells: cells(angles_rad, temperatures_k, &|x, y| [x, y]),
                here: (angle, temperature),
            };
            ("Angle and temperature", map)
        }
        Window::GapAngle { gaps_m, angles_rad, .. } => {
            let map = WindowMap {
                x: "angle on the substrate, deg".into(),
                y: "gap, um".into(),
                across: degrees(angles_rad),
                up: gaps_m.iter().map(|g| 1e6 * g).collect(),
                cells: cells(angles_rad, gaps_m, &|x, y| [y, x]),
                here: (angle, gap),
            };
            ("Angle and gap", map)
        }
        Window::Queue { points, .. } => {
            let curve =
                |name: &str, dashed, value: &dyn Fn(&facedown_underfill::window::Point) -> f64| Curve {
                    name: name.into(),
                    dashed,
                    points: points
                        .iter()
                        .zip(&outcome.points)
                        .map(|(q, p)| (q.0 / 3600.0, 100.0 * value(p)))
                        .collect(),
                };
            let chart = Curves {
                x: "queue time after plasma, h".into(),
                y: "draws, %".into(),
                curves: vec![
                    curve("void", false, &|p| p.void.share),
                    curve("does not fill", true, &|p| p.no_fill.share),
                ],
                x_from_zero: true,
                y_from_zero: true,
                ..Curves::default()
            };
            let degrees =
                |p: Option<&(f64, facedown_underfill::Angle)>| p.map_or(0.0, |p| p.1.angle_rad.to_degrees());
            // The first wait after which one draw in a hundred is lost; up to it the step may wait.
            let lost = points.iter().zip(&outcome.points).find(|(_, p)| p.good.share < 0.99);
            let told = match lost {
                Some((q, _)) => {
                    format!("From {} h on more than 1 % of the draws is lost.", significant(q.0 / 3600.0, 2))
                }
                None => "None of these waits loses 1 % of the draws.".into(),
            };
            let caption = format!(
                "Probability of a void and of no fill over the queue time, by the angle that the readings tell ({} deg at once, {} deg at the \
                 end). {told}",
                significant(degrees(points.first()), 3),
                significant(degrees(points.last()), 3)
            );
            let words = Words { id: &id, title: "Queue time", description: &caption };
            figure(out, &format!("Queue time, under {die}"), &curves(&words, &chart), &caption);
            fill_times(points, outcome, &id, die, out);
            return;
        }
    };
    let good = map.cells.iter().filter(|c| c.1 == Mark::Good).count();
    let caption = format!(
        "{title}: {good} of {} settings fill without more voids than allowed. Colour: share of the draws of the tolerances that come out well.",
        map.cells.len()
    );
    let words = Words { id: &id, title, description: &caption };
    figure(out, &format!("{title}, under {die}"), &window_map(&words, &map), &caption);
}
