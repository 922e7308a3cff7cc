//! `facedown run`: verdicts and exit statuses, the cache, the output folder.

use crate::scene::Scene;
use expect_test::expect;

#[test]
fn a_second_run_solves_nothing_and_a_change_only_what_reads_it() {
    let scene = Scene::small();
    let last = |said: crate::scene::Said| said.stderr.lines().last().unwrap_or_default().to_owned();
    // The others read much more of the design.
    let run = ["run", "small/design.toml", "--out", "results", "--only", "rule-check"];
    assert_eq!(last(scene.run(&run)), "2 solved, 0 from the cache");
    assert_eq!(last(scene.run(&run)), "0 solved, 2 from the cache");
    scene.change("small/design.toml", "max = 1.2", "max = 1.3 # looser");
    scene.change("small/design.toml", "thickness = \"300 um\"", "thickness = \"250 um\"");
    assert_eq!(last(scene.run(&run)), "0 solved, 2 from the cache", "redistribution reads neither");
    scene.change("small/design.toml", "space = \"10 um\"", "space = \"12 um\"");
    assert_eq!(last(scene.run(&run)), "2 solved, 0 from the cache");
    assert_eq!(last(scene.run(&[run.as_slice(), &["--no-cache"]].concat())), "2 solved, 0 from the cache");
}

#[test]
fn a_requirement_that_is_short_is_exit_status_1() {
    let scene = Scene::small();
    scene.change("small/design.toml", "max = \"2 mm\"", "max = \"0.1 mm\"");
    let said = scene.run(&["run", "small/design.toml"]);
    assert_eq!(said.code, Some(1), "{}", said.all());
    assert!(said.stdout.contains("△ short      longest_net"), "{}", said.stdout);
    assert!(said.stdout.contains("asked at most 0.1 mm"), "{}", said.stdout);
    assert!(scene.path("out/small/results.json").exists(), "the default folder is out/<design name>");
}

#[test]
fn a_design_with_errors_is_not_run() {
    let scene = Scene::small();
    scene.change("small/design.toml", "line = \"10 um\"", "line = \"10 K\"");
    let said = scene.run(&["run", "small/design.toml", "--out", "results"]);
    assert_eq!((said.code, said.stdout.as_str()), (Some(2), ""));
    assert!(
        said.stderr.ends_with(
            "error: small/design.toml: 1 error, 0 warnings, 0 pieces of advice; nothing was run\n"
        ),
        "{}",
        said.stderr
    );
    assert!(!scene.path("results").exists());
}

#[test]
fn the_output_folder_of_somebody_else_is_left_alone() {
    let scene = Scene::small();
    scene.write("thesis/chapter.txt", "mine");
    expect![[r#"
        exit 2
        --- stdout
        --- stderr
        error: [folder]/thesis holds files but no results.json of an earlier run, so nothing there is touched; choose an empty or new folder with --out
    "#]]
    .assert_eq(&scene.run(&["run", "small/design.toml", "--out", "thesis"]).all());
    assert_eq!(scene.read("thesis/chapter.txt"), "mine");
}

#[test]
fn files_that_the_user_adds_to_the_results_stay() {
    let scene = Scene::small();
    scene.run(&["run", "small/design.toml", "--out", "results"]);
    scene.write("results/notes.txt", "mine");
    scene.change("small/design.toml", "space = \"10 um\"", "space = \"12 um\"");
    scene.run(&["run", "small/design.toml", "--out", "results"]);
    assert_eq!(scene.read("results/notes.txt"), "mine");
}

#[test]
fn only_names_studies_that_exist() {
    let scene = Scene::small();
    let said = scene.run(&["run", "small/design.toml", "--only", "tides"]);
    assert_eq!((said.code, said.stdout.as_str()), (Some(2), ""));
    let words = "error: there is no study \"tides\"; there are redistribution, rule-check, ";
    assert!(said.stderr.starts_with(words), "{}", said.stderr);
    let said = scene.run(&["run", "small/design.toml", "--only", "redistribution", "--json"]);
    let results: serde_json::Value = serde_json::from_str(&said.stdout).expect("JSON");
    assert_eq!(results["design"]["only"][0], "redistribution");
    assert_eq!(results["studies"]["redistribution"]["figures"]["violations"]["value"], 0.0);
}

#[test]
fn progress_is_plain_lines_without_a_terminal() {
    let said = Scene::small().run(&["run", "small/design.toml"]);
    assert!(said.stderr.starts_with("redistribution of main: solving\n"), "{}", said.stderr);
    assert!(said.stderr.contains("\nredistribution of main: solved in [time]\n"), "{}", said.stderr);
    assert!(!said.stderr.contains('\u{1b}') && !said.stderr.contains('\r'), "{}", said.stderr);
}

#[test]
fn the_summary_fits_a_screen() {
    let said = Scene::small().run(&["run", "small/design.toml"]);
    assert!(said.stdout.lines().count() <= 30, "{}", said.stdout);
    assert!(said.stdout.lines().all(|l| l.chars().count() <= 100), "{}", said.stdout);
}
