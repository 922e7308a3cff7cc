//! From a design to the studies and back to verdicts, on small invented designs in memory.

use facedown_package::{Design, Memory, read};
use facedown_pipeline::results::StudyState;
use facedown_pipeline::studies::{RDL_CURRENT_DENSITY, checker_rules, graph, routing_problem};
use facedown_pipeline::verdict::Verdict;
use facedown_pipeline::{About, Cache, Control, Results, assemble};
use facedown_quantity::Nm;
use facedown_redistribution::{AssignmentMode, Style};

const HEAD: &str = "[design]\nname = \"toy\"\ndata = \"invented\"\n";
const DIE: &str = r#"
[[die]]
name = "a"
width = "2 mm"
height = "1.6 mm"
thickness = "300 um"
seal_ring = "20 um"
pads = "pads.csv"
bumps = { pitch = "400 um", ubm_diameter = "180 um", max_current = "50 mA" }
rdl = { line = "12 um", space = "10 um", thickness = "4 um", style = "octilinear" }
"#;
const PADS: &str = "name,net,x (um),y (um),width (um),height (um)\n\
    p1,sig,400,60,60,60\np2,vdd,800,60,60,60\np3,vdd,1200,60,60,60\np4,,1600,60,60,60\n";

fn design(text: &str) -> Design {
    let files = Memory::default().with("design.toml", text).with("pads.csv", PADS);
    let reading = read(&files, "design.toml");
    assert!(reading.is_runnable(), "{:#?}", reading.findings);
    reading.design.expect("a design")
}

fn results(text: &str) -> Results {
    let files = Memory::default().with("design.toml", text).with("pads.csv", PADS);
    let reading = read(&files, "design.toml");
    assert!(reading.is_runnable(), "{:#?}", reading.findings);
    let design = reading.design.as_ref().expect("a design");
    let run = graph().expect("sound").run(design, None, &Cache::none(), Control::silent());
    let about = About {
        program: "0",
        file: "design.toml",
        findings: &reading.findings,
        sources: &reading.sources,
        only: None,
    };
    assemble(design, &run, about)
}

#[test]
fn a_die_becomes_a_routing_problem_in_whole_nanometres() {
    let design = design(&format!("{HEAD}{DIE}"));
    let (problem, notes) = routing_problem(&design.dies[0]).expect("a problem");
    assert_eq!((problem.width, problem.height), (Nm(2_000_000), Nm(1_600_000)));
    assert_eq!((problem.rules.line, problem.rules.space), (Nm(12_000), Nm(10_000)));
    assert_eq!((problem.rules.ubm, problem.rules.capture), (Nm(180_000), Nm(200_000)));
    assert_eq!(
        (problem.style, problem.layers, problem.assignment),
        (Style::Octilinear, 1, AssignmentMode::Free)
    );
    let names: Vec<&str> = problem.pads.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["p1", "p2", "p3"], "a pad without a net is left alone");
    assert!(notes.iter().any(|n| n.contains("1 pad carries no net")), "{notes:?}");
    assert!(!problem.sites.is_empty() && problem.sites.iter().all(|s| s.net.is_none()));
}

#[test]
fn current_asks_for_bumps_and_for_width() {
    let net = "\n[[die.net]]\nname = \"vdd\"\nclass = \"supply\"\ncurrent = \"190 mA\"\njoined = false\n";
    let design = design(&format!("{HEAD}{DIE}{net}"));
    let (problem, _) = routing_problem(&design.dies[0]).expect("a problem");
    assert_eq!(problem.nets.len(), 1, "a plain signal needs no entry");
    let vdd = &problem.nets[0];
    // 190 mA over at most 50 mA a bump; two pads carry 95 mA each through 4 um of metal.
    assert_eq!((vdd.name.as_str(), vdd.supply, vdd.bumps, vdd.one_piece), ("vdd", true, 4, false));
    let width = 0.095 / (RDL_CURRENT_DENSITY * 4e-6);
    assert_eq!(vdd.width, Some(Nm::round_m(width)));
    assert!(checker_rules(&design.dies[0]).joined_elsewhere.contains("vdd"));
}

#[test]
fn a_current_beyond_the_capture_pad_is_told() {
    let net = "\n[[die.net]]\nname = \"sig\"\ncurrent = \"2 A\"\n";
    let design = design(&format!("{HEAD}{DIE}{net}"));
    let (problem, notes) = routing_problem(&design.dies[0]).expect("a problem");
    assert_eq!(problem.nets[0].width, Some(problem.rules.capture));
    assert!(notes.iter().any(|n| n.contains("Net sig of die a asks for traces 500 um wide")), "{notes:?}");
}

#[test]
fn keep_outs_reach_router_and_checker_counter_clockwise() {
    let keep_out = "\n[[die.keep_out]]\nname = \"laser fuse\"\npolygon = [[\"0.9 mm\", \"0.7 mm\"], [\"0.9 mm\", \"0.9 mm\"], [\"1.1 mm\", \"0.7 mm\"]]\n";
    let design = design(&format!("{HEAD}{DIE}{keep_out}"));
    let (problem, _) = routing_problem(&design.dies[0]).expect("a problem");
    let ring = &problem.keep_outs[0].polygon.outer;
    let area: i64 =
        (0..3).map(|i| (ring[i], ring[(i + 1) % 3])).map(|(a, b)| a.x.0 * b.y.0 - b.x.0 * a.y.0).sum();
    assert_eq!(area, 2 * 20_000_000_000);
    assert_eq!(checker_rules(&design.dies[0]).keep_outs.len(), 1);
}

#[test]
fn a_design_without_a_flip_die_has_no_redistribution() {
    let wire = DIE.replace("pads = \"pads.csv\"", "pads = \"pads.csv\"\nmount = \"wire\"");
    let results = results(&format!(
        "{HEAD}{wire}\n[[requirement]]\nfigure = \"redistribution.longest_net\"\nmax = \"2 mm\"\n"
    ));
    let study = &results.studies["redistribution"];
    assert_eq!(study.state, StudyState::Absent);
    assert_eq!(study.notes, ["The design has no flip-mounted die."]);
    assert_eq!(results.requirements.len(), 1, "nothing is built in where nothing is routed");
    assert_eq!(results.requirements[0].verdict, Verdict::NotJudged);
    assert_eq!(
        (results.requirements[0].requirement.limit, results.requirements[0].requirement.unit.as_str()),
        (2.0, "mm")
    );
}

#[test]
fn pads_away_from_bumps_without_a_layer_to_route_on_are_a_failure() {
    let bare = DIE.lines().filter(|l| !l.starts_with("rdl")).collect::<Vec<_>>().join("\n");
    let results = results(&format!("{HEAD}{bare}\n"));
    let study = &results.studies["redistribution"];
    assert_eq!(study.state, StudyState::Failed);
    assert!(study.notes[0].contains("has no pad under it"), "{:?}", study.notes);
}

#[test]
fn dies_with_pads_under_their_bumps_add_up() {
    let die = |name: &str, width: &str| {
        format!(
            "\n[[die]]\nname = \"{name}\"\nwidth = \"{width}\"\nheight = \"1 mm\"\nthickness = \"300 um\"\n\
             pads = \"at bumps\"\nbumps = {{ pitch = \"150 um\", net_tile = [[\"vdd\", \"vss\", \"*\"]] }}\n"
        )
    };
    let text = format!("{HEAD}{}{}", die("a", "1 mm"), die("b", "2 mm"));
    let results = results(&text);
    let study = &results.studies["redistribution"];
    assert_eq!(study.state, StudyState::Done, "{:?}", study.notes);
    let bumps = |part: &str| study.parts[part].figures["bumps"].value;
    assert!(bumps("b") > bumps("a") && bumps("a") > 0.0);
    assert_eq!(study.figures["bumps"].value, bumps("a") + bumps("b"));
    assert_eq!((study.figures["wirelength"].value, study.figures["violations"].value), (0.0, 0.0));
    assert_eq!(study.figures["routed_nets"].verdict, Some(Verdict::Meets));
    assert!(study.parts["a"].notes[0].contains("nothing is routed"));
    assert!(!study.figures.contains_key("min_spacing"), "there are no traces to keep apart");
}

#[test]
fn a_limit_of_another_kind_is_not_judged_and_says_why() {
    let die = "\n[[die]]\nname = \"a\"\nwidth = \"1 mm\"\nheight = \"1 mm\"\nthickness = \"300 um\"\npads = \"at bumps\"\n\
               bumps = { pitch = \"150 um\", net_tile = [[\"*\"]] }\n";
    let asked = "[[requirement]]\nfigure = \"redistribution.wirelength\"\nmax = \"3 W\"\n\
                 [[requirement]]\nfigure = \"redistribution.wirelength\"\nmax = \"500 um\"\n";
    let results = results(&format!("{HEAD}{die}\n{asked}"));
    assert_eq!(results.requirements[0].verdict, Verdict::NotJudged);
    assert_eq!(results.requirements[0].sentence, "The limit is given in W, but the figure wirelength is mm.");
    assert_eq!(results.requirements[1].verdict, Verdict::Meets);
    assert_eq!(results.requirements[1].requirement.limit, 0.5, "in the figure's own unit");
}
