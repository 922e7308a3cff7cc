//! The heat section: maps of the solved temperatures, where the kelvins go, dies and blocks, and what the numbers rest on.

use super::PageInput;
use super::studies::row;
use super::write::{Cell, capital, figure, in_words, paragraph, table};
use crate::chart::Words;
use crate::chart::curve::Curve;
use crate::chart::field_map::{FieldMap, field_map};
use crate::chart::log_curves::{LogCurves, Panel, log_curves};
use crate::chart::waterfall::{HeatPath, waterfall};
use crate::number::{fixed, significant};
use crate::svg::Svg;
use facedown_heat::Outcome;
use facedown_heat::outcome::{DieTemperatures, Followed, FollowedPlace, Solid, Step, Warming};
use facedown_heat::solid::Map;
use facedown_pipeline::results::FigureEntry;

const KELVIN: f64 = 273.15;
/// Blocks that the page lists of all dies; a power map may have thousands.
const LISTED_BLOCKS: usize = 24;
/// Height of a section over its width that is aimed at by stretching it upward, and the factors for it.
const SECTION_SHAPE: f64 = 0.5;
const STRETCHES: [f64; 8] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];

/// The whole section.
pub fn heat(input: &PageInput<'_>, out: &mut Svg) {
    let Some(heat) = input.heat else { return };
    let Some(hottest) = heat.dies.iter().max_by(|a, b| a.max_k.total_cmp(&b.max_k)) else { return };
    let told = told(heat, hottest);
    paragraph(out, "", &told);
    match &heat.solid {
        Some(solid) => row(out, |out| {
            out.start("div");
            plan(heat, solid, out);
            evidence(input, solid, out);
            out.end();
            out.start("div");
            section(heat, solid, out);
            blocks(input, heat, out);
            out.end();
        }),
        None => blocks(input, heat, out),
    }
    steps(heat, hottest, &told, out);
    if let Some(warming) = heat.solid.as_ref().and_then(|s| s.heating.as_ref()) {
        row(out, |out| warming_up(warming, out));
    }
    if let Some(trace) = heat.solid.as_ref().and_then(|s| s.trace.as_ref()) {
        row(out, |out| over_trace(trace, out));
    }
    against_hand(input, out);
}

/// The path that carries most of the heat, in a sentence.
fn told(heat: &Outcome, hottest: &DieTemperatures) -> String {
    let main = if heat.up_w > heat.down_w { &heat.up } else { &heat.down };
    let most = main.iter().max_by(|a, b| a.kelvins.total_cmp(&b.kelvins));
    let all: f64 = main.iter().map(|s| s.kelvins).sum();
    most.map_or_else(String::new, |m| {
        format!(
            "The hottest place of die {} is at {} degC, the ambient at {} degC. On the path that carries most of the heat, {} takes {} K of the {} K.",
            hottest.name,
            celsius(hottest.max_k),
            celsius(heat.ambient_k),
            m.name,
            significant(m.kelvins, 3),
            significant(all, 3)
        )
    })
}

fn celsius(kelvin: f64) -> String {
    significant(kelvin - KELVIN, 3)
}

fn hottest_name<'a>(heat: &'a Outcome, solid: &Solid) -> &'a str {
    heat.dies.get(solid.hottest_die).map_or("", |d| d.name.as_str())
}

fn plan(heat: &Outcome, solid: &Solid, out: &mut Svg) {
    let caption = format!(
        "The active face of die {}, what stands beside it at that height, else the surface below. Temperatures of service on \
         the finest grid in degrees Celsius; dashed: the dies.",
        hottest_name(heat, solid)
    );
    let sheet = Sheet {
        map: &solid.plan,
        ambient_k: heat.ambient_k,
        stretch: 1.0,
        seen: "package coordinates, seen from above, through the die",
    };
    figure(out, "Temperatures in plan", &sheet.picture("chart-heat-plan", "Temperatures in plan"), &caption);
}

fn section(heat: &Outcome, solid: &Solid, out: &mut Svg) {
    let stretch = stretch(&solid.section);
    let caption = format!(
        "Cut along x through the hottest place of die {}, at y = {} mm, as wide as the substrate; height {}. It begins at the \
         lower face of the board.",
        hottest_name(heat, solid),
        fixed(solid.hottest_at_m[1] * 1e3, 2),
        if stretch > 1.0 { format!("stretched {stretch:.0} times") } else { "true to scale".to_owned() }
    );
    let sheet = Sheet {
        map: &solid.section,
        ambient_k: heat.ambient_k,
        stretch,
        seen: "cut along x through the hottest place",
    };
    let picture = sheet.picture("chart-heat-section", "Temperatures in section");
    figure(out, "Temperatures in section", &picture, &caption);
}

/// A round factor that makes a section readable.
fn stretch(map: &Map) -> f64 {
    let size = |lines: &[f64]| lines.last().zip(lines.first()).map_or(0.0, |(a, b)| a - b);
    let (wide, tall) = (size(&map.across), size(&map.along));
    let wanted = if tall > 0.0 { SECTION_SHAPE * wide / tall } else { 1.0 };
    STRETCHES.into_iter().rev().find(|s| *s <= wanted).unwrap_or(1.0)
}

/// A map in the units of the page.
struct Sheet<'a> {
    map: &'a Map,
    ambient_k: f64,
    stretch: f64,
    seen: &'a str,
}

impl Sheet<'_> {
    fn picture(&self, id: &str, title: &str) -> String {
        let mm = |lines: &[f64]| lines.iter().map(|v| v * 1e3).collect::<Vec<f64>>();
        let (across, up) = (mm(&self.map.across), mm(&self.map.along));
        let ambient = self.ambient_k - KELVIN;
        let values: Vec<f64> = self.map.rises.iter().map(|rise| rise + ambient).collect();
        let known = || values.iter().copied().filter(|v| v.is_finite());
        let (low, high) = (known().fold(f64::INFINITY, f64::min), known().fold(f64::NEG_INFINITY, f64::max));
        let map = FieldMap {
            across: &across,
            up: &up,
            values: &values,
            name: "temperature",
            unit: "degC",
            signed: false,
            outlines: self
                .map
                .outlines
                .iter()
                .map(|o| {
                    let [[left, right], [low, high]] = [o.across, o.along];
                    (o.name.as_str(), [left, right, low, high].map(|v| v * 1e3))
                })
                .collect(),
            stretch: self.stretch,
            stepped: false,
            gas: &[],
            rings: Vec::new(),
            seen: self.seen,
        };
        let description = format!(
            "A map of temperatures from {} to {} degC with contours.",
            significant(low, 3),
            significant(high, 3)
        );
        field_map(&Words { id, title, description: &description }, &map)
    }
}

/// The waterfall of kelvins and the resistances of each step.
fn steps(heat: &Outcome, hottest: &DieTemperatures, told: &str, out: &mut Svg) {
    let of = |path: &[Step]| path.iter().map(|s| (s.name.clone(), s.kelvins)).collect();
    let mut paths = Vec::new();
    for (name, path, watts) in [("Up", &heat.up, heat.up_w), ("Down", &heat.down, heat.down_w)] {
        if !path.is_empty() {
            paths.push(HeatPath {
                name: format!("{name}: {} of {} W", significant(watts, 3), significant(heat.power_w, 3)),
                steps: of(path),
            });
        }
    }
    let words =
        Words { id: "chart-heat", title: "Temperature drops from junction to ambient", description: told };
    row(out, |out| {
        let caption =
            "Each step begins where the last one ended. A step to the right is warmer than the one before.";
        let (junction, ambient) = (hottest.max_k - KELVIN, heat.ambient_k - KELVIN);
        figure(out, "Waterfall of kelvins", &waterfall(&words, junction, ambient, &paths), caption);
        let mut rows = Vec::new();
        for (way, path) in [("up", &heat.up), ("down", &heat.down)] {
            for step in path {
                rows.push(vec![
                    Cell::text(format!("{way}: {}", step.name)),
                    Cell::number(significant(step.kelvins, 3)),
                    Cell::number(significant(step.heat_w, 3)),
                    Cell::number(significant(step.resistance_k_w, 3)),
                ]);
            }
        }
        table(out, "The same in numbers", &["Step", "K", "W", "K/W"], &rows);
    });
}

/// Thermal impedance over time and the structure function of the mean junction.
fn warming_up(warming: &Warming, out: &mut Svg) {
    let points = |pairs: &[[f64; 2]]| pairs.iter().map(|p| (p[0], p[1])).collect::<Vec<_>>();
    let curve = |name: &str, points: Vec<(f64, f64)>| Curve { name: name.into(), dashed: false, points };
    let end = warming.curve.last().map_or(0.0, |p| p[1]);
    let impedance = LogCurves {
        x: "time after switching on, s".into(),
        x_logarithmic: true,
        marks: Vec::new(),
        panels: vec![Panel {
            y: "thermal impedance, K/W".into(),
            y_logarithmic: false,
            curves: vec![curve(&warming.die, points(&warming.curve))],
            ..Panel::default()
        }],
    };
    let description = format!("Rises from nothing to {} K/W.", significant(end, 3));
    let words = Words {
        id: "chart-heat-impedance",
        title: "Thermal impedance after switching on",
        description: &description,
    };
    let caption = format!(
        "Rise of the hottest place of die {} over the whole power after all powers are switched on at once, films as settled; \
         error of the curve {} % of its end.",
        warming.die,
        significant(100.0 * warming.error, 2)
    );
    figure(out, "Thermal impedance", &log_curves(&words, &impedance), &caption);
    if let Some([greased, dry]) = &warming.pair {
        let dashed = Curve { dashed: true, ..curve("poor contact", points(dry)) };
        let pair = LogCurves {
            x: "time after switching on, s".into(),
            x_logarithmic: true,
            marks: Vec::new(),
            panels: vec![Panel {
                y: "thermal impedance, K/W".into(),
                y_logarithmic: false,
                curves: vec![curve("good contact", points(greased)), dashed],
                ..Panel::default()
            }],
        };
        let words = Words {
            id: "chart-heat-pair",
            title: "Pair of transients on a cold plate",
            description: "One curve until the heat reaches the case, two afterwards.",
        };
        let caption = "All heat upward into a cold plate, through a good contact at the case and through one a third as good                        (JESD51-14): where the curves part, the resistance from junction to case has been passed.";
        figure(out, "Pair of transients", &log_curves(&words, &pair), caption);
    }
    if warming.structure.len() > 1 {
        let structure = LogCurves {
            x: "resistance from the junction, K/W".into(),
            x_logarithmic: false,
            marks: Vec::new(),
            panels: vec![Panel {
                y: "heat capacity passed, J/K".into(),
                y_logarithmic: true,
                curves: vec![curve(&warming.die, points(&warming.structure))],
                ..Panel::default()
            }],
        };
        let words = Words {
            id: "chart-heat-structure",
            title: "Structure function of the mean junction",
            description: "Heat capacity passed over the resistance from the junction.",
        };
        let caption = "By network identification by deconvolution of the mean junction's curve. Flat stretches store much over \
                       little resistance, steep ones resist and store little.";
        figure(out, "Structure function", &log_curves(&words, &structure), caption);
    }
}

/// Curves of a power trace that are drawn.
const DRAWN: usize = 5;

/// Junctions over the power trace, and the power below.
fn over_trace(trace: &Followed, out: &mut Svg) {
    let Some(hottest) = trace.places.get(trace.hottest) else { return };
    let length = trace.power.last().map_or(0.0, |p| p[0]);
    let (unit, per_second) = match length {
        l if l >= 1.0 => ("s", 1.0),
        l if l >= 1e-3 => ("ms", 1e3),
        _ => ("us", 1e6),
    };
    let mut drawn: Vec<&FollowedPlace> = trace.places.iter().collect();
    drawn.sort_by(|a, b| b.max_k.total_cmp(&a.max_k));
    drawn.truncate(DRAWN);
    let curve = |place: &&FollowedPlace| Curve {
        name: place.name.clone(),
        dashed: place.name != hottest.name,
        points: place.curve.iter().map(|[t, k]| (per_second * t, k - KELVIN)).collect(),
    };
    let power = trace.power.iter().map(|[t, w]| (per_second * t, *w)).collect();
    let chart = LogCurves {
        x: format!("time, {unit}"),
        x_logarithmic: false,
        marks: vec![(per_second * hottest.at_s, "hottest".into())],
        panels: vec![
            Panel {
                y: "temperature, degC".into(),
                y_around: true,
                curves: drawn.iter().map(curve).collect(),
                ..Panel::default()
            },
            Panel {
                y: "power of all dies, W".into(),
                curves: vec![Curve { name: String::new(), dashed: false, points: power }],
                ..Panel::default()
            },
        ],
    };
    let description = format!(
        "{} becomes hottest, {} degC at {} {unit}.",
        hottest.name,
        celsius(hottest.max_k),
        significant(per_second * hottest.at_s, 3)
    );
    let words =
        Words { id: "chart-heat-trace", title: "Junctions over the power trace", description: &description };
    let caption = format!(
        "The hottest place of each die or block that follows the trace{}. {} In service it has {} degC. Films stay as they \
         settle in service; error of the responses {} % of their ends.",
        if trace.repeats { ", which repeats for ever" } else { "; before it, its first powers held" },
        capital(&description),
        celsius(hottest.service_k),
        significant(100.0 * trace.error, 2)
    );
    figure(out, "Power trace", &log_curves(&words, &chart), &caption);
}

/// Mean and hottest temperature of every die and of its blocks.
fn blocks(input: &PageInput<'_>, heat: &Outcome, out: &mut Svg) {
    let row = |name: String, watts: f64, [mean, hottest]: [f64; 2]| {
        vec![
            Cell::text(name),
            Cell::number(significant(watts, 3)),
            Cell::number(celsius(mean)),
            Cell::number(celsius(hottest)),
        ]
    };
    let mut rows: Vec<Vec<Cell>> =
        heat.dies.iter().map(|d| row(format!("die {}", d.name), d.power_w, [d.mean_k, d.max_k])).collect();
    let mut found: Vec<(String, f64, [f64; 2])> = Vec::new();
    let known = heat.solid.iter().flat_map(|s| &s.blocks);
    for (die, blocks) in heat.dies.iter().zip(known) {
        let own = input.design.dies.iter().find(|d| d.name.as_str() == die.name);
        let given = own.map_or(&[][..], |d| d.power_blocks.as_slice());
        for (index, (block, reading)) in given.iter().zip(blocks).enumerate() {
            let name = block.name.clone().unwrap_or_else(|| format!("block {}", index + 1));
            let whose = if heat.dies.len() > 1 { format!(" of {}", die.name) } else { String::new() };
            found.push((format!("{name}{whose}"), block.power_w, *reading));
        }
    }
    found.sort_by(|a, b| b.2[1].total_cmp(&a.2[1]));
    let all = found.len();
    found.truncate(LISTED_BLOCKS);
    rows.extend(found.into_iter().map(|(name, watts, reading)| row(name, watts, reading)));
    let caption = if all > LISTED_BLOCKS {
        format!("Dies, and the hottest {LISTED_BLOCKS} of {all} blocks of their power maps")
    } else {
        "Dies and the blocks of their power maps, hottest first".to_owned()
    };
    table(out, &caption, &["Die or block", "W", "mean, degC", "hottest, degC"], &rows);
}

/// What the solved numbers rest on.
fn evidence(input: &PageInput<'_>, solid: &Solid, out: &mut Svg) {
    let mut rows = vec![
        ["cells of the finest of three grids".to_owned(), solid.cells.to_string()],
        ["rounds of films and conductivities".to_owned(), solid.rounds.to_string()],
        ["steps of the solver in all rounds".to_owned(), solid.steps.to_string()],
        [
            "observed order of the error at the junction".to_owned(),
            solid.order.map_or("none told by the grids".to_owned(), |o| significant(o, 2)),
        ],
    ];
    if let Some(balance) = figures(input).iter().find(|f| f.0 == "energy_balance") {
        rows.push(["heat that the balance misses, of the power".to_owned(), significant(balance.1.value, 2)]);
    }
    let rows: Vec<Vec<Cell>> =
        rows.into_iter().map(|[what, value]| vec![Cell::text(capital(&what)), Cell::number(value)]).collect();
    let caption = "What the solved numbers rest on. Pictures, steps and temperatures of dies are those of the finest grid; \
                   figures are carried on from several grids to none, and their error is what that adds";
    table(out, caption, &["Evidence", "In service"], &rows);
}

fn figures<'a>(input: &'a PageInput<'_>) -> Vec<(&'a str, &'a FigureEntry)> {
    let study = input.results.studies.get("heat");
    study.map_or_else(Vec::new, |s| s.figures.iter().map(|(n, f)| (n.as_str(), f)).collect())
}

/// Solved figures beside their closed forms.
fn against_hand(input: &PageInput<'_>, out: &mut Svg) {
    let mut rows = Vec::new();
    for (name, figure) in figures(input).into_iter().filter(|f| f.1.status == "solved") {
        let Some(hand) = figure.hand else { continue };
        let error = figure.error.unwrap_or(0.0);
        rows.push(vec![
            Cell::text(capital(&in_words(name))),
            Cell::number(format!("{} {}", significant(figure.value, 4), figure.unit)),
            Cell::number(format!("{} {}", significant(error, 2), difference(&figure.unit))),
            Cell::number(format!("{} {}", significant(hand, 4), figure.unit)),
            Cell::number(format!("{} {}", significant(figure.value - hand, 3), difference(&figure.unit))),
        ]);
    }
    if rows.is_empty() {
        return;
    }
    let columns = ["Figure", "Solved", "Numerical error", "Closed form", "Solved less closed form"];
    table(out, "The solver against the closed forms", &columns, &rows);
}

/// Unit of a difference.
fn difference(unit: &str) -> &str {
    if unit == "degC" { "K" } else { unit }
}
