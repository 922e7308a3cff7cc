//! The pictures of the studies: warpage, joints, life, electrical, cost.

use super::PageInput;
use super::write::{Cell, capital, figure, list, table};
use crate::chart::Words;
use crate::chart::bars::{Bar, bars};
use crate::chart::curve::{Curve, Curves, curves};
use crate::chart::joint::{Joint, joint};
use crate::chart::stages::{Moment, stages};
use crate::chart::weibull::{Weibull, weibull};
use crate::number::significant;
use crate::svg::Svg;
use facedown_life::outcome::AttachmentLife;
use facedown_pipeline::results::RequirementEntry;
use facedown_pipeline::verdict::amount;

pub(super) const YEAR: f64 = 365.25 * 86_400.0;

pub(super) fn asked<'a>(input: &'a PageInput<'_>, study: &str, name: &str) -> Option<&'a RequirementEntry> {
    input.results.requirements.iter().find(|r| r.study == study && r.figure == name)
}

pub(super) fn limit_words(requirement: &RequirementEntry) -> String {
    let limit = &requirement.requirement;
    format!("asked {} {}", limit.bound.words(), amount(limit.limit, &limit.unit))
}

/// Opens and closes a row that holds small charts side by side.
pub(super) fn row(out: &mut Svg, write: impl FnOnce(&mut Svg)) {
    out.start("div").attr("class", "charts");
    write(out);
    out.end();
}

/// Warpage over the stages and over temperature.
pub fn warpage(input: &PageInput<'_>, out: &mut Svg) {
    let Some(course) = &input.warpage else { return };
    let band = course.permissible.map(|p| [-p.abs(), p.abs()]);
    row(out, |out| {
        if !course.stages.is_empty() {
            let moments: Vec<Moment> = course
                .stages
                .iter()
                .map(|(name, value)| Moment { name: name.clone(), value: *value })
                .collect();
            let told: Vec<String> =
                course.stages.iter().map(|(n, v)| format!("{n} {} um", significant(*v, 3))).collect();
            let words = Words {
                id: "chart-warpage-stages",
                title: "Warpage over the stages",
                description: &format!("{}.", told.join(", ")),
            };
            let caption = "Positive: the corners of the ball side are nearer the board than the centre. Shaded: permitted by the \
                           ball pitch at board reflow.";
            figure(out, "Warpage over the stages", &stages(&words, "warpage, um", &moments, band), caption);
        }
        if course.heating.len() + course.cooling.len() > 1 {
            let curve = |name: &str, dashed, points: &[(f64, f64)]| Curve {
                name: name.into(),
                dashed,
                points: points.to_vec(),
            };
            let chart = Curves {
                x: "temperature, degC".into(),
                y: "warpage, um".into(),
                curves: if course.cooling.is_empty() {
                    vec![curve("heating and cooling", false, &course.heating)]
                } else {
                    vec![curve("heating", false, &course.heating), curve("cooling", true, &course.cooling)]
                },
                band: band.map(|b| (b, "permitted".into())),
                y_from_zero: true,
                ..Curves::default()
            };
            let words = Words {
                id: "chart-warpage",
                title: "Warpage against temperature at board reflow",
                description: "Warpage while the package heats and cools at board reflow, with the band that the ball pitch permits.",
            };
            figure(
                out,
                "Warpage against temperature",
                &curves(&words, &chart),
                "Board reflow, heating and cooling.",
            );
        }
    });
}

/// The profile of each kind of joint.
pub fn joints(input: &PageInput<'_>, out: &mut Svg) {
    if input.joints.is_empty() {
        return;
    }
    row(out, |out| {
        let mut balls_shown = false;
        for (index, (die, outcome)) in input.joints.iter().enumerate() {
            let arrays = [(outcome.bumps.as_ref(), false), (outcome.balls.as_ref(), true)];
            for (array, is_ball) in arrays.into_iter().filter_map(|(a, b)| Some((a?, b))) {
                // Every part of the package stands on the same balls.
                if is_ball && std::mem::replace(&mut balls_shown, true) {
                    continue;
                }
                for (place, kind) in array.kinds.iter().enumerate().take(2) {
                    let who = if is_ball { "under the package".to_owned() } else { format!("of {die}") };
                    let told = format!(
                        "{} {who}: {} um high, {} um wide, {} joints of {} nl of solder.",
                        capital(&kind.name),
                        significant(kind.height * 1e6, 3),
                        significant(kind.width * 1e6, 3),
                        kind.count,
                        significant(kind.volume * 1e12, 3)
                    );
                    let picture = Joint {
                        outline: kind.profile.clone(),
                        height: kind.height,
                        width: kind.width,
                        above: if is_ball { "substrate".into() } else { (*die).to_owned() },
                        below: if is_ball { "board".into() } else { "substrate".into() },
                    };
                    let id = format!("chart-joint-{index}-{}{place}", if is_ball { "ball" } else { "bump" });
                    let words = Words { id: &id, title: "Joint in equilibrium", description: &told };
                    figure(out, &format!("Joint {who}"), &joint(&words, &picture), &told);
                }
            }
        }
    });
}

/// Life distribution, damage by cycle, electromigration.
pub fn life(input: &PageInput<'_>, out: &mut Svg) {
    let all: Vec<(String, &AttachmentLife)> = input
        .life
        .iter()
        .flat_map(|(part, life)| {
            let bumps = life.bumps.as_ref().map(|a| (format!("bumps of {part}"), a));
            bumps.into_iter().chain(life.balls.as_ref().map(|a| ("balls".to_owned(), a)))
        })
        .collect();
    // The bumps that fail first, and the balls.
    let first = |balls: bool| {
        let kind = all.iter().filter(|(name, _)| (name == "balls") == balls);
        kind.min_by(|a, b| a.1.characteristic_life_s.total_cmp(&b.1.characteristic_life_s))
    };
    let shown: Vec<&(String, &AttachmentLife)> = first(false).into_iter().chain(first(true)).collect();
    if !shown.is_empty() {
        let mission = input.design.mission.as_ref();
        let asked = mission.map(|m| (m.life.si() / YEAR, m.failed.map_or(0.01, |f| f.si())));
        let lines = shown.iter().map(|(name, a)| {
            let points = a.distribution.iter().map(|(t, share)| (t / YEAR, *share)).collect();
            (format!("{name}, shape {}", significant(a.weibull_shape, 2)), points)
        });
        let plot = Weibull { lines: lines.collect(), asked };
        let told: Vec<String> = shown
            .iter()
            .map(|(name, a)| {
                format!(
                    "{}: characteristic life {} years, worst at {}",
                    capital(name),
                    significant(a.characteristic_life_s / YEAR, 3),
                    a.worst_place
                )
            })
            .collect();
        let told = format!("{}.", told.join("; "));
        row(out, |out| {
            let words = Words { id: "chart-life", title: "Packages failed over time", description: &told };
            figure(out, "Life distribution", &weibull(&words, &plot), &told);
            for (index, (name, a)) in shown.iter().enumerate() {
                damage(out, index, name, a);
            }
        });
    }
    super::life_test::finished(input, out);
    if all.len() > shown.len() {
        let rows: Vec<Vec<Cell>> = all
            .iter()
            .map(|(name, a)| {
                vec![
                    Cell::text(capital(name)),
                    Cell::text(&a.worst_place),
                    Cell::number(significant(a.characteristic_life_s / YEAR, 3)),
                    Cell::number(significant(a.weibull_shape, 2)),
                ]
            })
            .collect();
        let columns = ["Joints", "Worst at", "Characteristic life, years", "Weibull shape"];
        table(out, "Life of every array of joints", &columns, &rows);
    }
    let years = |s: f64| Cell::number(significant(s / YEAR, 3));
    let rows: Vec<Vec<Cell>> = input
        .life
        .iter()
        .flat_map(|(part, life)| life.electromigration.iter().map(move |e| (part, e)))
        .map(|(part, e)| {
            vec![
                Cell::text(capital(part)),
                Cell::text(&e.kinetics),
                years(e.calendar_time_s),
                years(e.worst_median_s),
            ]
        })
        .collect();
    if !rows.is_empty() {
        let columns =
            ["Die", "Constants", "Years to the permitted share", "Median of the worst joint, powered years"];
        table(out, "Electromigration by set of constants", &columns, &rows);
    }
}

/// The damage of one array by mission cycle.
fn damage(out: &mut Svg, index: usize, name: &str, a: &AttachmentLife) {
    let rows: Vec<Bar> = a
        .damage
        .iter()
        .take(8)
        .map(|d| Bar {
            name: d.cycle.clone(),
            value: d.damage.max(0.0),
            from: 0.0,
            text: significant(d.damage, 3),
        })
        .collect();
    let Some(first) = rows.first() else { return };
    let told = format!("Damage of the {name} by mission cycle; most from {}.", first.name);
    let id = format!("chart-damage-{index}");
    let words = Words { id: &id, title: "Damage by cycle", description: &told };
    let axis = "share of the median life over the mission";
    figure(out, &format!("Damage of the {name}"), &bars(&words, &rows, axis), &told);
}

/// Wire bond against flip chip.
pub fn electrical(input: &PageInput<'_>, out: &mut Svg) {
    for (die, outcome) in &input.electrical {
        if outcome.comparison.is_empty() {
            continue;
        }
        let rows: Vec<Vec<Cell>> = outcome
            .comparison
            .iter()
            .map(|r| {
                let ratio = if r.bump_and_trace != 0.0 {
                    significant(r.wire / r.bump_and_trace, 2)
                } else {
                    String::new()
                };
                vec![
                    Cell::text(capital(&r.quantity)),
                    Cell::text(&r.unit),
                    Cell::number(significant(r.wire, 3)),
                    Cell::number(significant(r.bump, 3)),
                    Cell::number(significant(r.bump_and_trace, 3)),
                    Cell::number(ratio),
                ]
            })
            .collect();
        let columns =
            ["Quantity", "Unit", "Bond wire", "Bump", "Bump and longest trace", "Wire over bump and trace"];
        table(out, &format!("Die {die}"), &columns, &rows);
    }
}

/// What a good package costs, step by step.
pub fn cost(input: &PageInput<'_>, out: &mut Svg) {
    let Some(cost) = input.cost else { return };
    let mut before = 0.0;
    let steps: Vec<Bar> = cost
        .steps
        .iter()
        .map(|step| {
            let bar = Bar {
                name: step.name.clone(),
                value: (step.spent - before).max(0.0),
                from: before,
                text: significant(step.spent, 3),
            };
            before = step.spent;
            bar
        })
        .collect();
    let told = format!(
        "After the last step {} has been spent on a package, dies included. The numbers at the bars are the sums so far, in the money of the cost table.",
        significant(before, 3)
    );
    row(out, |out| {
        if !steps.is_empty() {
            let words = Words { id: "chart-cost", title: "Money spent by step", description: &told };
            figure(out, "Money spent by step", &bars(&words, &steps, "money per package"), &told);
        }
        let rows: Vec<Vec<Cell>> = cost
            .dies
            .iter()
            .map(|d| {
                vec![
                    Cell::text(&d.name),
                    Cell::number(significant(d.per_wafer, 4)),
                    Cell::number(format!("{} %", significant(100.0 * d.good, 3))),
                    Cell::number(significant(d.price, 3)),
                ]
            })
            .collect();
        table(out, "Dies", &["Die", "Per wafer", "Good", "Price of a tested one"], &rows);
    });
    list(out, cost.notes.iter().map(String::as_str));
}
