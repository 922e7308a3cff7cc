//! The real ring that some tests route, read from the shared data beside the checkout.
#![allow(clippy::unwrap_used, dead_code, reason = "test code; each test uses a part")]

use facedown_layout::Point;
use facedown_quantity::Nm;
use facedown_redistribution::{AssignmentMode, Outcome, Pad, Problem, Rules, Site, Style};
use facedown_rulecheck::{Report, check};
use std::path::PathBuf;

/// Rows of one of the two tables: name, net, x and y in um.
pub type Row = (String, String, f64, f64);

/// The folder of the real ring's tables, or the reason why it is not there.
pub fn ring_b_folder() -> Result<PathBuf, String> {
    let folder = std::env::var_os("FACEDOWN_RING_B").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data"),
        PathBuf::from,
    );
    if folder.join("ring-b-pads.csv").is_file() {
        Ok(folder)
    } else {
        Err("the folder of ring-b-pads.csv is absent; FACEDOWN_RING_B may name it".to_owned())
    }
}

/// Reads one table.
pub fn rows(path: &std::path::Path) -> Vec<Row> {
    let text = std::fs::read_to_string(path).unwrap();
    text.lines()
        .filter(|l| !l.starts_with('#'))
        .skip(1)
        .map(|l| {
            let f: Vec<&str> = l.split(',').collect();
            (f[0].into(), f[1].into(), f[2].parse().unwrap(), f[3].parse().unwrap())
        })
        .collect()
}

/// The real ring as a problem: one layer, capture pads of 270 um, lines of 40 um, every bump's net given.
pub fn ring_b(pads: &[Row], bumps: &[Row], space_um: f64) -> Problem {
    let um = Nm::round_um;
    Problem {
        name: "ring-b".into(),
        width: um(3880.0),
        height: um(5070.0),
        pads: pads
            .iter()
            .map(|p| Pad {
                name: p.0.clone(),
                net: p.1.clone(),
                at: Point::um(p.2, p.3),
                width: um(60.0),
                height: um(60.0),
            })
            .collect(),
        sites: bumps
            .iter()
            .map(|b| Site { name: b.0.clone(), at: Point::um(b.2, b.3), net: Some(b.1.clone()) })
            .collect(),
        rules: Rules {
            line: um(40.0),
            space: um(space_um),
            edge_clearance: um(1.0),
            landing_enclosure: um(10.0),
            capture: um(270.0),
            ubm: um(250.0),
            bump_opening: um(220.0),
            bump: um(310.0),
            pad_opening_inset: um(10.0),
            via: um(40.0),
            via_enclosure: um(10.0),
            slots: None,
        },
        layers: 1,
        style: Style::AnyAngle,
        assignment: AssignmentMode::Fixed,
        nets: Vec::new(),
        keep_outs: Vec::new(),
    }
}

/// The independent rule check of an outcome against the rules of its problem.
pub fn judge(problem: &Problem, outcome: &Outcome) -> Report {
    let mut rules = facedown_rulecheck::Rules::new(problem.rules.line, problem.rules.space);
    rules.edge_clearance = Some(problem.rules.edge_clearance);
    rules.landing_enclosure = Some(problem.rules.landing_enclosure);
    rules.capture_encloses_ubm = Some((problem.rules.capture - problem.rules.ubm) / 2);
    rules.joined_elsewhere = problem.nets.iter().filter(|n| !n.one_piece).map(|n| n.name.clone()).collect();
    check(&outcome.drawing, &rules)
}

/// A figure by name.
pub fn figure(outcome: &Outcome, name: &str) -> f64 {
    outcome.figures.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("no figure {name}")).value
}
