//! A run that is killed at any moment leaves the old outputs or the new ones, complete.

use crate::scene::{Scene, files};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;
use std::collections::BTreeMap;
use std::path::Path;
use std::time::{Duration, Instant};

/// Moments to kill at.
const MOMENTS: u32 = 20;
const RUN: [&str; 4] = ["run", "small/design.toml", "--out", "results"];

/// The set at a folder: every file that the results list, with its hash, and no other.
fn complete(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = files(folder);
    let results: serde_json::Value = serde_json::from_slice(&files["results.json"]).expect("whole JSON");
    let listed = results["files"].as_array().expect("files");
    for file in listed {
        let name = file["name"].as_str().expect("a name");
        let bytes = files.get(name).unwrap_or_else(|| panic!("{name} is listed and missing"));
        assert_eq!(
            file["blake3"].as_str(),
            Some(blake3::hash(bytes).to_hex().as_str()),
            "{name} is not whole"
        );
    }
    assert_eq!(files.len(), listed.len() + 1, "a file that is not listed: {:?}", files.keys());
    files
}

#[test]
fn a_killed_run_leaves_the_old_or_the_new_outputs_complete() {
    let scene = Scene::small();
    // Two designs whose outputs differ in every file; both results are in the cache, so that most of a run is writing.
    let other = |to_other: bool| {
        let (a, b) = ("space = \"10 um\"", "space = \"12 um\"");
        if to_other {
            scene.change("small/design.toml", a, b)
        } else {
            scene.change("small/design.toml", b, a)
        }
    };
    assert_eq!(scene.run(&RUN).code, Some(0));
    let first = complete(&scene.path("results"));
    other(true);
    assert_eq!(scene.run(&RUN).code, Some(0));
    let second = complete(&scene.path("results"));
    assert!(first != second);
    let began = Instant::now();
    assert_eq!(scene.run(&RUN).code, Some(0));
    let whole = began.elapsed();

    let mut random = Pcg64::new(2, 0xf11b);
    let (mut killed, mut now_second) = (0, true);
    for moment in 0..MOMENTS {
        now_second = !now_second;
        other(now_second);
        // Spread over the whole run and a little beyond, each a random moment of its own slice.
        let share = (f64::from(moment) + random.next_u32() as f64 / f64::from(u32::MAX)) / f64::from(MOMENTS);
        let mut run = scene.start(&RUN);
        std::thread::sleep(Duration::from_secs_f64(whole.as_secs_f64() * 1.1 * share));
        if run.try_wait().expect("a state").is_none() {
            run.kill().expect("killed");
            killed += 1;
        }
        run.wait().expect("ended");
        let found = complete(&scene.path("results"));
        assert!(found == first || found == second, "a mixture after a kill at {share:.3} of the run");
    }
    assert!(killed >= MOMENTS / 4, "only {killed} runs were still going when they were killed");

    // The next run clears what the killed ones left.
    other(!now_second);
    assert_eq!(scene.run(&RUN).code, Some(0));
    let found = complete(&scene.path("results"));
    assert!(found == if now_second { first } else { second });
    let left: Vec<_> = std::fs::read_dir(scene.path(".facedown")).expect("folder").flatten().collect();
    assert_eq!(left.len(), 1, "only the lock stays: {left:?}");
}

#[cfg(unix)]
#[test]
fn an_interrupted_run_says_so_and_changes_nothing() {
    let scene = Scene::new();
    scene.run(&["new", "demo", "--example", "breakwater"]);
    let mut run = scene.start(&["run", "demo/design.toml", "--out", "results"]);
    // Long enough to be at work, far shorter than the work.
    std::thread::sleep(Duration::from_millis(700));
    if run.try_wait().expect("a state").is_none() {
        let pid = run.id().to_string();
        let sent = std::process::Command::new("kill").args(["-INT", &pid]).status().expect("kill starts");
        assert!(sent.success());
        assert_eq!(run.wait().expect("ended").code(), Some(130));
        assert!(!scene.path("results").exists());
    }
}
