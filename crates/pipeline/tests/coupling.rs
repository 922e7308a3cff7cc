//! What feeds what, told by what is solved again: a changed design runs only the studies that read the change.
#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_package::{Design, Memory, demo, read_and_check};
use facedown_pipeline::{Cache, Control, Event, studies};
use std::collections::BTreeSet;
use std::sync::Mutex;
use std::sync::atomic::AtomicBool;

/// The small demonstration design with one text in it changed.
fn design(changed: Option<(&str, &str)>) -> Design {
    let demo = demo("tidewatch").unwrap();
    let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| {
        let text = match changed {
            Some((from, to)) if *name == "design.toml" => {
                assert_eq!(text.matches(from).count(), 1, "{from}");
                text.replace(from, to)
            }
            _ => (*text).to_owned(),
        };
        files.with(name, text)
    });
    let reading = read_and_check(&files, "design.toml");
    assert!(reading.is_runnable(), "{:?}", reading.findings);
    reading.design.unwrap()
}

/// The parts that were solved, as `study/part`; the rule check has tests of its own.
fn solved(design: &Design, cache: &Cache) -> BTreeSet<String> {
    let graph = studies::graph().unwrap();
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
    let all = solved(&design(None), &cache);
    assert_eq!(all.len(), 10, "{all:?}");
    assert!(solved(&design(None), &cache).is_empty());
    let cases: [((&str, &str), &[&str]); 6] = [
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
        // A requirement is judged, not solved.
        (("max = \"28 K/W\"", "max = \"27 K/W\""), &[]),
    ];
    for (change, wanted) in cases {
        let again = solved(&design(Some(change)), &cache);
        let wanted: BTreeSet<String> = wanted.iter().map(|s| (*s).to_owned()).collect();
        let unasked: Vec<_> = again.difference(&wanted).collect();
        assert!(unasked.is_empty(), "{change:?} also solved {unasked:?}");
        // Every study downstream is asked again, unless its own input came out the same to the last bit.
        for must in &wanted {
            assert!(again.contains(must), "{change:?} did not solve {must}: {again:?}");
        }
    }
}
