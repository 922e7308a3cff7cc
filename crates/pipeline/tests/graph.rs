//! The graph on a toy design: what is solved, what is recalled, what is selected, how failures and cancelling go.

use facedown_evidence::{Figure, Status};
use facedown_pipeline::graph::{Absent, Depth, GraphError, Inputs, Join, Memory};
use facedown_pipeline::{
    Cache, Control, Event, Failure, Graph, Node, Progress, Reads, Report, Stage, Study, Upstream,
};
use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

/// A toy design: a number per part for the first study, and one that only the second reads.
#[derive(Clone)]
struct Toy {
    parts: BTreeMap<String, f64>,
    scale: f64,
}

fn toy() -> Toy {
    Toy { parts: [("a".to_owned(), 2.0), ("b".to_owned(), 3.0)].into(), scale: 10.0 }
}

fn figure(name: &str, value: f64) -> Figure {
    Figure {
        name: name.into(),
        value,
        unit: "um".into(),
        error: Some(0.5),
        hand: None,
        basis: "toy".into(),
        status: Status::Solved,
        outside: None,
        between: None,
    }
}

struct Square {
    version: u32,
}

impl Study<Toy> for Square {
    type Input = f64;
    type Output = f64;
    fn node(&self) -> Node {
        Node {
            name: "square",
            stage: Stage::Bump,
            version: self.version,
            reads: &[Reads::Design("parts")],
            reported_under: "square",
        }
    }
    fn inputs(&self, design: &Toy, upstream: &Upstream<'_>) -> Inputs<f64> {
        if design.parts.is_empty() {
            return Err(Absent::NotInDesign("The design has no parts.".into()));
        }
        let coarse = upstream.depth == Depth::ClosedForms;
        let input = |value: f64| if coarse { value.round() } else { value };
        Ok(design.parts.iter().map(|(name, value)| (name.clone(), input(*value))).collect())
    }
    fn solve(&self, input: &f64, progress: &Progress<'_>) -> Result<f64, Failure> {
        progress.tell(0.5, "squaring");
        if progress.cancelled() {
            return Err(Failure::Cancelled);
        }
        assert!(*input < 1e6, "too large for this toy");
        if *input < 0.0 {
            return Err(Failure::Study(format!("{input} has no side")));
        }
        Ok(input * input)
    }
    fn report(&self, part: &str, _: &f64, output: &f64) -> Report {
        Report {
            figures: vec![figure("total", *output), figure("worst", *output), figure("least", *output)],
            limits: [("worst".to_owned(), format!("set by {part}"))].into(),
            notes: Vec::new(),
        }
    }
    fn join(&self, figure: &str) -> Join {
        match figure {
            "total" => Join::Sum,
            "least" => Join::Smallest,
            _ => Join::Largest,
        }
    }
}

struct Scale {
    reads: &'static [Reads],
}

impl Study<Toy> for Scale {
    type Input = (f64, Vec<f64>);
    type Output = f64;
    fn node(&self) -> Node {
        Node { name: "scale", stage: Stage::Service, version: 1, reads: self.reads, reported_under: "square" }
    }
    fn inputs(&self, design: &Toy, upstream: &Upstream<'_>) -> Inputs<(f64, Vec<f64>)> {
        let squares = upstream.parts::<f64>("square")?;
        Ok(vec![(String::new(), (design.scale, squares.into_iter().map(|(_, v)| *v).collect()))])
    }
    fn solve(&self, (scale, squares): &(f64, Vec<f64>), _: &Progress<'_>) -> Result<f64, Failure> {
        Ok(scale * squares.iter().sum::<f64>())
    }
    fn report(&self, _: &str, _: &(f64, Vec<f64>), output: &f64) -> Report {
        Report { figures: vec![figure("scaled", *output)], ..Report::default() }
    }
    fn join(&self, _: &str) -> Join {
        Join::Sum
    }
}

const SCALE: Scale = Scale { reads: &[Reads::Design("scale"), Reads::Study("square")] };

fn graph(version: u32) -> Graph<Toy> {
    Graph::default().with(Square { version }).and_then(|g| g.with(SCALE)).expect("a sound graph")
}

fn counts(version: u32, design: &Toy, cache: &Cache) -> (usize, usize) {
    let run = graph(version).run(design, None, cache, Control::silent());
    (run.solved, run.recalled)
}

#[test]
fn a_second_run_solves_only_what_changed() {
    let folder = tempfile::tempdir().expect("folder");
    let cache = Cache::in_folder(folder.path());
    let mut design = toy();
    assert_eq!(counts(1, &design, &cache), (3, 0));
    assert_eq!(counts(1, &design, &cache), (0, 3));
    design.scale = 11.0;
    assert_eq!(counts(1, &design, &cache), (1, 2), "only the second study reads the scale");
    design.parts.insert("b".into(), 4.0);
    assert_eq!(counts(1, &design, &cache), (2, 1), "part a did not change");
    assert_eq!(
        counts(2, &toy(), &cache),
        (2, 1),
        "another version of the first study gives the same squares"
    );
    assert_eq!(counts(1, &toy(), &Cache::none()), (3, 0));
}

#[test]
fn recalled_results_are_the_solved_ones() {
    let folder = tempfile::tempdir().expect("folder");
    let cache = Cache::in_folder(folder.path());
    let mut design = toy();
    design.parts.insert("c".into(), 1.0 / 3.0);
    let (first, second) = (
        graph(1).run(&design, None, &cache, Control::silent()),
        graph(1).run(&design, None, &cache, Control::silent()),
    );
    for part in ["a", "b", "c"] {
        assert!(first.output::<f64>("square", part).is_some());
        assert_eq!(first.output::<f64>("square", part), second.output::<f64>("square", part));
    }
    assert_eq!(first.output::<String>("square", "a"), None, "another type is no output");
}

#[test]
fn a_damaged_entry_is_told_and_solved_again() {
    let folder = tempfile::tempdir().expect("folder");
    let cache = Cache::in_folder(folder.path());
    counts(1, &toy(), &cache);
    for shelf in std::fs::read_dir(folder.path()).expect("cache") {
        for entry in std::fs::read_dir(shelf.expect("shelf").path()).expect("shelf") {
            std::fs::write(entry.expect("entry").path(), "rubbish").expect("written");
        }
    }
    let damaged = Mutex::new(0);
    let hear = |event: Event<'_>| {
        if matches!(event, Event::Damaged { .. }) {
            *damaged.lock().expect("lock") += 1;
        }
    };
    let never = AtomicBool::new(false);
    let run = graph(1).run(&toy(), None, &cache, Control::new(&never, &hear));
    assert_eq!((run.solved, *damaged.lock().expect("lock")), (3, 3));
    assert_eq!(counts(1, &toy(), &cache), (0, 3));
}

#[test]
fn figures_of_parts_are_joined_by_their_rule() {
    let run = graph(1).run(&toy(), None, &Cache::none(), Control::silent());
    let square = run.study("square").expect("ran");
    let values: Vec<_> = square.figures.iter().map(|f| (f.name.as_str(), f.value, f.error)).collect();
    assert_eq!(values, [("total", 13.0, Some(1.0)), ("worst", 9.0, Some(0.5)), ("least", 4.0, Some(0.5))]);
    assert_eq!(square.limits["worst"], "set by b of \"b\"");
    assert_eq!(run.study("scale").expect("ran").figures[0].value, 130.0);
}

#[test]
fn a_failed_part_takes_the_figures_and_the_readers_with_it() {
    let mut design = toy();
    design.parts.insert("b".into(), -3.0);
    let run = graph(1).run(&design, None, &Cache::none(), Control::silent());
    let square = run.study("square").expect("ran");
    assert!(square.figures.is_empty(), "a total without part b would be wrong");
    assert_eq!(square.parts[0].report.figures.len(), 3, "part a keeps its own figures");
    assert_eq!(
        run.failures(),
        [
            ("square", "b", "-3 has no side".to_owned()),
            ("scale", "", "It reads \"square\", which failed.".to_owned())
        ]
    );
}

#[test]
fn a_defect_of_a_study_is_its_failure_and_not_the_end() {
    let mut design = toy();
    design.parts.insert("b".into(), 1e9);
    let run = graph(1).run(&design, None, &Cache::none(), Control::silent());
    assert_eq!(run.failures()[0].2, "a fault of the program: too large for this toy");
    assert!(run.output::<f64>("square", "a").is_some());
}

#[test]
fn nothing_to_do_is_absent_and_not_a_failure() {
    let design = Toy { parts: BTreeMap::new(), scale: 1.0 };
    let run = graph(1).run(&design, None, &Cache::none(), Control::silent());
    assert_eq!(
        run.study("square").expect("ran").absent,
        Some(Absent::NotInDesign("The design has no parts.".into()))
    );
    assert!(run.failures().is_empty());
}

#[test]
fn a_cancelled_run_stops_and_keeps_nothing_half() {
    let folder = tempfile::tempdir().expect("folder");
    let cache = Cache::in_folder(folder.path());
    let cancel = AtomicBool::new(false);
    let hear = |event: Event<'_>| {
        if matches!(event, Event::Progress { part: "b", .. }) {
            cancel.store(true, Ordering::Relaxed);
        }
    };
    let run = graph(1).run(&toy(), None, &cache, Control::new(&cancel, &hear));
    assert!(run.cancelled);
    assert_eq!((run.solved, run.study("scale").is_none()), (1, true));
    assert_eq!(counts(1, &toy(), &cache), (2, 1), "part a was kept");
}

#[test]
fn a_selection_takes_what_it_reads_and_what_checks_it() {
    let graph = graph(1);
    let names = |only: &[&str]| {
        let only: Vec<String> = only.iter().map(|s| (*s).to_owned()).collect();
        graph.select(&only).map(|set| set.into_iter().collect::<Vec<_>>())
    };
    assert_eq!(names(&["scale"]), Ok(vec!["scale", "square"]));
    assert_eq!(names(&["square"]), Ok(vec!["scale", "square"]), "scale reports under square");
    assert_eq!(names(&["heat"]), Err(GraphError::Unknown("heat".into())));
}

#[test]
fn an_unsound_graph_is_refused() {
    assert_eq!(
        Graph::default().with(SCALE).map(|_| ()),
        Err(GraphError::NotBefore { study: "scale", reads: "square" })
    );
    let twice = Graph::default().with(Square { version: 1 }).and_then(|g| g.with(Square { version: 1 }));
    assert_eq!(twice.map(|_| ()), Err(GraphError::Twice("square")));
}

#[test]
fn a_study_sees_only_what_it_declared() {
    let graph = Graph::default().with(Square { version: 1 }).and_then(|g| g.with(Scale { reads: &[] }));
    let run = graph.expect("sound").run(&toy(), None, &Cache::none(), Control::silent());
    let failures = run.failures();
    assert_eq!(failures.len(), 1);
    assert!(failures[0].2.contains("without having declared it"), "{failures:?}");
}

#[test]
fn a_part_that_reads_the_same_as_another_is_not_solved_again() {
    let mut design = toy();
    design.parts.insert("b".into(), 2.0);
    let told = Mutex::new(Vec::new());
    let hear = |event: Event<'_>| {
        if let Event::Same { study, part, other } = event {
            told.lock().expect("lock").push(format!("{study} {part} {other}"));
        }
    };
    let never = AtomicBool::new(false);
    let run = graph(1).run(&design, None, &Cache::none(), Control::new(&never, &hear));
    assert_eq!((run.solved, run.recalled, run.same), (2, 0, 1));
    assert_eq!(*told.lock().expect("lock"), ["square b a"]);
    assert_eq!(run.study("scale").expect("ran").figures[0].value, 80.0);
}

#[test]
fn variations_go_as_far_as_they_are_asked_and_share_what_they_solve() {
    let graph = graph(1);
    let base = graph.run(&toy(), None, &Cache::none(), Control::silent());
    let mut design = toy();
    design.parts.insert("b".into(), 3.4);
    let scaled = |run: &facedown_pipeline::Run| run.study("scale").expect("ran").figures[0].value;
    let fine = graph.vary(&design, &[&base], &[], Depth::Solvers, Control::silent());
    assert!((scaled(&fine) - 10.0 * (4.0 + 3.4 * 3.4)).abs() < 1e-12);
    let memory = Memory::default();
    let how = (Depth::ClosedForms, &memory, None);
    let coarse = |design: &Toy| graph.vary_sharing(design, &[&base], &[], how, Control::silent());
    // Rounded it reads what the base has read.
    let first = coarse(&design);
    assert_eq!((scaled(&first), first.solved, first.recalled), (130.0, 0, 3));
    design.parts.insert("b".into(), 3.6);
    let second = coarse(&design);
    assert_eq!((scaled(&second), second.solved), (200.0, 2));
    design.parts.insert("b".into(), 4.4);
    let third = coarse(&design);
    assert_eq!(
        (scaled(&third), third.solved, third.recalled),
        (200.0, 0, 3),
        "another variation has solved it"
    );
}
