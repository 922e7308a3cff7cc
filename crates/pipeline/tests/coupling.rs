//! What feeds what, told by what is solved again: a changed design runs only the studies that read the change.
#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_evidence::{Figure, Status};
use facedown_package::{Design, Memory, demo, read_and_check};
use facedown_pipeline::{Cache, Control, Depth, Event, Run, spread::spreads, studies};
use std::collections::BTreeSet;
use std::sync::Mutex;
use std::sync::atomic::AtomicBool;

/// The small demonstration design with one text in one of its files changed.
fn design(changed: Option<(&str, &str)>) -> Design {
    let demo = demo("tidewatch").unwrap();
    if let Some((from, _)) = changed {
        // The variant repeats what the design says.
        let own = demo
            .files
            .iter()
            .filter(|f| !f.0.ends_with(".json") && f.0 != "dirty.toml" && f.0 != "drops.csv");
        let found: usize = own.map(|f| f.1.matches(from).count()).sum();
        assert_eq!(found, 1, "{from}");
    }
    let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| {
        let text = match changed {
            Some((from, to)) => text.replace(from, to),
            None => (*text).to_owned(),
        };
        files.with(name, text)
    });
    let reading = read_and_check(&files, "design.toml");
    assert!(reading.is_runnable(), "{:?}", reading.findings);
    reading.design.unwrap()
}

/// The parts that were solved, as `study/part`; the rule check has tests of its own.
fn solved(design: &Design, cache: &Cache, depth: Depth) -> BTreeSet<String> {
    let graph = studies::graph().unwrap().at_depth(depth);
    let names = ["warpage", "joints", "underfill", "electrical", "heat", "life", "cost"].map(String::from);
    let selected: BTreeSet<&'static str> =
        graph.select(&names).unwrap().into_iter().filter(|s| *s != studies::RULE_CHECK).collect();
    let (heard, never) = (Mutex::new(BTreeSet::new()), AtomicBool::new(false));
    let hear = |event: Event<'_>| {
        if let Event::Solved { study, part, .. } = event {
            heard.lock().unwrap().insert(format!("{study}/{part}"));
        }
    };
    let run = graph.run(design, Some(&selected), cache, Control::new(&never, &hear));
    assert!(run.failures().is_empty(), "{:?}", run.failures());
    heard.into_inner().unwrap()
}

#[test]
fn a_changed_input_runs_only_what_depends_on_it() {
    let folder = tempfile::tempdir().unwrap();
    let cache = Cache::in_folder(folder.path());
    let all = solved(&design(None), &cache, Depth::ClosedForms);
    assert_eq!(all.len(), 10, "{all:?}");
    assert!(solved(&design(None), &cache, Depth::ClosedForms).is_empty());
    let cases: [((&str, &str), &[&str]); 15] = [
        // Hotter air moves the temperatures, and with them lives; nothing that was made before service.
        (("ambient = \"55 degC\"", "ambient = \"56 degC\""), &["heat/", "life/controller", "life/balls"]),
        // A longer life asks only what survives.
        (("life = \"10 year\"", "life = \"11 year\""), &["life/controller", "life/balls"]),
        // An angle moves the flow alone.
        (("angle_bump = \"35 deg", "angle_bump = \"36 deg"), &["underfill/controller"]),
        // A thicker die weighs, bends and heats otherwise: joints are lower and wider, and all that reads them follows.
        (
            ("thickness = \"300 um +- 10 um\"", "thickness = \"310 um +- 10 um\""),
            &[
                "warpage/",
                "joints/controller",
                "joints/balls",
                "underfill/controller",
                "electrical/controller",
                "heat/",
                "life/controller",
                "life/balls",
            ],
        ),
        // The price of nothing physical.
        (("failed = \"1 %\"", "failed = \"2 %\""), &["life/controller", "life/balls"]),
        // A record of temperatures is service alone, and so are what a power cycle spares and the damp.
        (("\n14,31.0\n", "\n14,33.0\n"), &["life/controller", "life/balls"]),
        (("gate = \"3 K\"", "gate = \"4 K\""), &["life/controller", "life/balls"]),
        (
            ("high = \"70 degC\"", "high = \"70 degC\"\nsubstrate = [\"-40 degC\", \"60 degC\"]"),
            &["life/controller", "life/balls"],
        ),
        (("humidity = \"90 %\"", "humidity = \"80 %\""), &["life/controller", "life/balls"]),
        // A colder record than any cycle is also the coldest that the die is stressed in. The temperatures of the warpage
        // begin there, and the balls read the curve over them; their height stays, so that heat is not asked.
        (("\n5,-1.0\n", "\n5,-50.0\n"), &["warpage/", "joints/balls", "life/controller", "life/balls"]),
        // How strong the die is moves no joint.
        (
            (
                "[die.rdl]\n",
                "[die.strength.back]\ncharacteristic = \"400 MPa\"\nshape = 5\narea = \"1 cm2\"\n\n[die.rdl]\n",
            ),
            &["warpage/"],
        ),
        // Contacts spread the current of the die's bumps.
        (
            ("max_current = \"60 mA\"", "max_current = \"60 mA\"\ncontact_resistance = \"1e-8 ohm cm2\""),
            &["life/controller"],
        ),
        // Where the underfill holds no stress moves the warpage, with it the balls, and what conducts and lives through them.
        (
            ("[[process.cure.step]]", "[process.cure]\nstress_free = \"140 degC\"\n[[process.cure.step]]"),
            &["warpage/", "joints/balls", "heat/", "life/controller", "life/balls"],
        ),
        // How the underfill's surface tension is split moves what readings predict.
        (
            ("offset = \"0.5 mm\"", "offset = \"0.5 mm\"\ndispersive_share = \"80 %\""),
            &["underfill/controller"],
        ),
        // A requirement is judged, not solved.
        (("max = \"28 K/W\"", "max = \"27 K/W\""), &[]),
    ];
    for (change, wanted) in cases {
        let again = solved(&design(Some(change)), &cache, Depth::ClosedForms);
        let wanted: BTreeSet<String> = wanted.iter().map(|s| (*s).to_owned()).collect();
        let unasked: Vec<_> = again.difference(&wanted).collect();
        assert!(unasked.is_empty(), "{change:?} also solved {unasked:?}");
        // Every study downstream is asked again, unless its own input came out the same to the last bit.
        for must in &wanted {
            assert!(again.contains(must), "{change:?} did not solve {must}: {again:?}");
        }
    }
}

#[test]
fn solvers_and_closed_forms_do_not_mix() {
    let demo = demo("tidewatch").unwrap();
    let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
    let reading = read_and_check(&files, "design.toml");
    let design = reading.design.as_ref().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let cache = Cache::in_folder(folder.path());
    let graph = || studies::graph().unwrap();
    let selected = graph().select(&["heat".to_owned(), "life".to_owned()]).unwrap();
    let run = |depth| {
        let run = graph().at_depth(depth).run(design, Some(&selected), &cache, Control::silent());
        assert!(run.failures().is_empty(), "{:?}", run.failures());
        run
    };
    let figures = |run: &Run, study: &str| run.study(study).unwrap().figures.clone();
    let find = |run: &Run, study: &str, name: &str| -> Figure {
        figures(run, study).into_iter().find(|f| f.name == name).unwrap()
    };
    let (closed, solved) = (run(Depth::ClosedForms), run(Depth::Solvers));
    // One cache holds both, and neither takes what the other kept.
    for name in ["theta_ja", "theta_jb", "theta_jc_top", "psi_jb", "junction_max", "bump_max"] {
        let (hand, solid) = (find(&closed, "heat", name), find(&solved, "heat", name));
        assert_eq!((hand.status, solid.status), (Status::Hand, Status::Solved), "{name}");
        // The warpage of closed forms has a coarse grid of its own, which moves the height of a ball by nanometres.
        let apart = solid.hand.unwrap() / hand.value - 1.0;
        assert!(apart.abs() < 1e-6, "{name}: {apart}");
        assert!(solid.value != hand.value && solid.error.is_some_and(|e| e > 0.0), "{name}");
    }
    // The solved temperature of the bumps is what their life reads.
    let life = |run| find(run, "life", "electromigration_life").value;
    assert!(life(&solved) != life(&closed));
    for (depth, first) in [(Depth::Solvers, &solved), (Depth::ClosedForms, &closed)] {
        let again = run(depth);
        assert_eq!(again.solved, 0, "{depth:?}");
        for study in ["heat", "life"] {
            assert_eq!(figures(&again, study), figures(first, study), "{study} at {depth:?}");
        }
    }
    // What a tolerance moves is a difference of two closed forms, whatever the run stands on.
    let spread = |base| spreads(&graph(), &files, &reading, "design.toml", base, Control::silent());
    let of_closed = spread(&closed);
    assert_eq!(spread(&solved), of_closed);
    let junction = &of_closed[&("heat".to_owned(), "junction_max".to_owned())];
    assert!(junction.deviation > 0.0);
}
