//! The report page as a document: well formed, complete for those who cannot see it, without anything from elsewhere.

use facedown_package::{Design, Memory, demo, read_and_check};
use facedown_pipeline::{About, Cache, Control, Results, assemble, studies};
use facedown_report::page::WarpageCourse;
use facedown_report::{PageInput, PlanPicture, page};
use roxmltree::{Document, Node, ParsingOptions};
use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;

/// A demonstration design with the results of its heat and cost.
fn run(name: &str) -> (Design, facedown_pipeline::Run, Results) {
    let demo = demo(name).expect("a demonstration");
    let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
    let reading = read_and_check(&files, "design.toml");
    let design = reading.design.clone().expect("reads");
    let graph = studies::graph().expect("a graph");
    let selected = graph.select(&["heat".to_owned(), "cost".to_owned()]).expect("both are there");
    let quiet = |_: facedown_pipeline::Event<'_>| {};
    let go_on = AtomicBool::new(false);
    let run = graph.run(&design, Some(&selected), &Cache::none(), Control::new(&go_on, &quiet));
    let about = About {
        program: "test",
        file: "design.toml",
        findings: &reading.findings,
        sources: &reading.sources,
        only: None,
    };
    let results = assemble(&design, &run, about);
    (design, run, results)
}

fn joints() -> facedown_joints::Outcome {
    use facedown_joints::problem::{Array, GapMap, Kind, Problem, Solder, Supply};
    let bumps = Array {
        solder: Solder {
            name: "Sn-3.0Ag-0.5Cu".into(),
            surface_tension: 0.55,
            surface_tension_range: None,
            density_liquid: 7050.0,
            solidus: 490.15,
            liquidus: 493.15,
            leaded: false,
        },
        joints: vec![Kind {
            name: "bump".into(),
            count: 390,
            upper_diameter: 156e-6,
            lower_diameter: 156e-6,
            upper_solder: vec![Supply::Reflowed { pad: 156e-6, height: 120e-6 }],
            lower_solder: vec![],
            upper_metal: 0.0,
            lower_metal: 0.0,
        }],
        pitch: 300e-6,
        carried_mass: 32e-6,
        extra_force: 0.0,
        gap_map: GapMap::Flat,
        misplacement: 10e-6,
        height_shortfall: 8e-6,
        metallisation: vec![],
        lower_metallisation: vec![],
        consumed_per_reflow: None,
    };
    facedown_joints::solve(&Problem { bumps: Some(bumps), ..Problem::default() }).expect("joints")
}

/// Made-up life of an array: only its form matters here.
fn life() -> facedown_life::outcome::Outcome {
    use facedown_life::outcome::*;
    let year = 365.25 * 86_400.0;
    let (shape, scale) = (3.1, 38.0 * year);
    let points = (1..=60).map(|i| 0.5 * f64::from(i) * year * 2.0);
    let attachment = AttachmentLife {
        worst_place: "corner".into(),
        damage: vec![
            CycleDamage {
                cycle: "day and night on the water".into(),
                between_k: (268.0, 318.0),
                count: 3650.0,
                strain_range: 3e-3,
                median_cycles: 9e3,
                damage: 0.4,
            },
            CycleDamage {
                cycle: "transport".into(),
                between_k: (233.0, 343.0),
                count: 60.0,
                strain_range: 7e-3,
                median_cycles: 2e3,
                damage: 0.03,
            },
        ],
        distribution: points.map(|t: f64| (t, -(-(t / scale).powf(shape)).exp_m1())).collect(),
        weibull_shape: shape,
        characteristic_life_s: scale,
        loops: vec![],
        models: vec![],
        place_cycles: vec![],
    };
    Outcome {
        figures: vec![],
        limits: Default::default(),
        notes: vec![],
        advice: vec![],
        bumps: Some(attachment),
        balls: None,
        electromigration: vec![CurrentLife {
            kinetics: "set one".into(),
            powered_time_s: 40.0 * year,
            calendar_time_s: 40.0 * year,
            worst_median_s: 90.0 * year,
        }],
        test: Some(FittedTest {
            shape: Some(6.0),
            shape_bounds: Some((3.9, 8.7)),
            characteristic: Some(3727.0),
            characteristic_bounds: Some((3479.0, 4155.0)),
            confidence: 0.9,
            points: vec![(1860.0, 0.02), (2410.0, 0.06), (2980.0, 0.2)],
            running: vec![1500.0, 3500.0, 3500.0],
            band: [(0.001, 600.0, 1700.0), (0.1, 2100.0, 2900.0), (0.99, 4200.0, 6000.0)]
                .map(|(failed, low, high)| ShareLife { failed, between: (low, high) })
                .to_vec(),
            at_least: None,
            translated: Some(TranslatedTest {
                failed: 0.01,
                test_cycles: 1736.0,
                test_cycles_between: Some((1205.0, 2158.0)),
                mission_cycles: (49.0, 434.0),
                field_life_s: (40.0 * year, 354.0 * year),
            }),
        }),
        plan: vec![PlanRow {
            test: "temperature cycling".into(),
            standard: "JESD22-A104".into(),
            condition: "-40 to 125 degC".into(),
            amount: 850.0,
            unit: "cycles".into(),
            sample: 77,
            accepted: 0,
            why: "the mission by the acceleration fit".into(),
            basis: "invented".into(),
        }],
        equivalent_cycles: vec![Equivalent { fit: "fit".into(), test_cycles: 512.3 }],
    }
}

fn warpage() -> WarpageCourse {
    let stage = |name: &str, um| (name.to_owned(), um);
    WarpageCourse {
        stages: vec![
            stage("die attach, 25 degC", 62.0),
            stage("underfill cure, 150 degC", 12.0),
            stage("room, 25 degC", 96.0),
            stage("ball attach, 245 degC", -74.0),
            stage("board reflow, 245 degC", -81.0),
        ],
        heating: (0..12).map(|i| (25.0 + 20.0 * f64::from(i), 96.0 - 15.0 * f64::from(i))).collect(),
        cooling: (0..12).map(|i| (245.0 - 20.0 * f64::from(i), -81.0 + 16.0 * f64::from(i))).collect(),
        permissible: Some(170.0),
    }
}

/// A page with everything that it can show.
fn whole() -> String {
    let (design, run, results) = run("tidewatch");
    let (joints, life) = (joints(), life());
    let flow = facedown_underfill::solve(&facedown_underfill::specimen::with_readings()).expect("underfill");
    let wires = facedown_electrical::solve(&facedown_electrical::specimen::small()).expect("electrical");
    let input = PageInput {
        plans: vec![PlanPicture {
            svg: "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" viewBox=\"0 0 9 9\"><title>plan</title></svg>".into(),
            caption: "A small picture in the place of a plan view.".into(),
            file: "plan.svg".into(),
        }],
        joints: vec![("controller", &joints)],
        underfill: vec![("controller", &flow)],
        electrical: vec![("controller", &wires)],
        heat: run.output("heat", ""),
        cost: run.output("cost", ""),
        life: vec![("controller", &life)],
        warpage: Some(warpage()),
        ..PageInput::new(&results, &design)
    };
    page(&input)
}

fn parsed(text: &str) -> Document<'_> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    Document::parse_with_options(text, options).unwrap_or_else(|e| panic!("not well formed: {e}"))
}

fn named<'a, 'b>(document: &'a Document<'b>, tag: &'a str) -> impl Iterator<Item = Node<'a, 'b>> {
    document.descendants().filter(move |n| n.tag_name().name() == tag)
}

#[test]
fn the_page_is_well_formed_and_holds_every_section() {
    let text = whole();
    let path = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("whole-page.html");
    std::fs::write(path, &text).expect("written for those who want to look");
    let document = parsed(&text);
    let heads: Vec<&str> = named(&document, "h2").filter_map(|n| n.text()).collect();
    assert_eq!(
        heads,
        [
            "Verdicts",
            "The life line",
            "Plan view",
            "Section",
            "Where the kelvins go",
            "Warpage",
            "Cleaning and waiting",
            "Underfill",
            "Joints",
            "Life",
            "Wire bond against flip chip",
            "Cost",
            "Process sheet",
            "Qualification plan",
            "All figures",
            "Sources"
        ]
    );
    assert_eq!(named(&document, "h1").count(), 1);
    for tag in ["header", "nav", "main", "footer"] {
        assert_eq!(named(&document, tag).count(), 1, "{tag}");
    }
}

#[test]
fn everything_can_be_read_without_seeing_it() {
    let text = whole();
    let document = parsed(&text);
    let ids: Vec<&str> = document.descendants().filter_map(|n| n.attribute("id")).collect();
    let unique: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(unique.len(), ids.len(), "an identifier is used twice");
    for node in document.descendants() {
        for name in ["aria-labelledby", "href"] {
            let Some(value) = node.attribute(name).filter(|v| name != "href" || v.starts_with('#')) else {
                continue;
            };
            for id in value.trim_start_matches('#').split(' ') {
                assert!(unique.contains(id), "{name} names {id}, which is not there");
            }
        }
    }
    for svg in named(&document, "svg") {
        let hidden = svg.attribute("aria-hidden") == Some("true");
        let told =
            svg.attribute("role") == Some("img") && svg.children().any(|n| n.tag_name().name() == "title");
        assert!(hidden || told, "a picture without words: {:?}", svg.attribute("id"));
    }
    for table in named(&document, "table") {
        let tags: BTreeSet<&str> = table.descendants().map(|n| n.tag_name().name()).collect();
        assert!(tags.contains("caption") && tags.contains("th"), "a table without a caption or headers");
    }
    let mut rank = 1;
    for head in document.descendants().filter(|n| matches!(n.tag_name().name(), "h1" | "h2" | "h3")) {
        let next: u8 = head.tag_name().name()[1..].parse().expect("a rank");
        assert!(next <= rank + 1, "a heading of rank {next} follows one of rank {rank}");
        rank = next;
    }
}

#[test]
fn nothing_comes_from_elsewhere_and_no_number_is_missing() {
    let text = whole();
    let document = parsed(&text);
    for node in document.descendants() {
        let tag = node.tag_name().name();
        assert!(!["link", "img", "iframe", "object", "embed"].contains(&tag), "{tag} fetches something");
        assert!(node.attribute("src").is_none());
        let href = node.attribute("href").unwrap_or("#");
        assert!(href.starts_with('#') || href == "plan.svg", "{href}");
    }
    for style in named(&document, "style").filter_map(|n| n.text()) {
        assert!(!style.contains("url(") && !style.contains("@import"));
    }
    for word in ["NaN", "inf ", "not a number"] {
        assert!(!text.contains(word), "{word} in the page");
    }
}

#[test]
fn the_same_results_give_the_same_page_and_every_demonstration_has_one() {
    for name in ["tidewatch", "harborlight", "breakwater"] {
        let demo = demo(name).expect("a demonstration");
        let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
        let reading = read_and_check(&files, "design.toml");
        let design = reading.design.clone().expect("reads");
        let about = About {
            program: "test",
            file: "design.toml",
            findings: &[],
            sources: &reading.sources,
            only: None,
        };
        let graph = studies::graph().expect("a graph");
        let quiet = |_: facedown_pipeline::Event<'_>| {};
        // Cancelled at once: a page of a run without any result is a page all the same.
        let stop = AtomicBool::new(true);
        let run = graph.run(&design, None, &Cache::none(), Control::new(&stop, &quiet));
        let results = assemble(&design, &run, about);
        let (one, two) = (page(&PageInput::new(&results, &design)), page(&PageInput::new(&results, &design)));
        assert!(one == two);
        parsed(&one);
        assert!(one.contains("id=\"chart-section\"") && one.contains("invented"), "{name}");
    }
}

#[test]
fn a_finished_test_is_drawn_and_told_in_years_of_the_mission() {
    let text = whole();
    assert_eq!(text.matches("id=\"chart-life-test-0\"").count(), 1);
    assert!(text.contains("3 of 6 packages with bumps of controller failed, 3 still ran"));
    assert!(
        text.contains("after 40.0 to 354 years of the mission, which stands for 49 to 434 of its cycles")
    );
    assert!(text.contains("40.0 to 354 by the fits"));
}
