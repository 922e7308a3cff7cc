//! `facedown export`.

use crate::scene::{Scene, files};

#[test]
fn every_format_is_written_and_named() {
    let scene = Scene::small();
    for (format, name) in [
        ("gdsii", "main-face_up.gds"),
        ("dxf", "main-face_up.dxf"),
        ("csv", "main-face_up-nets.csv"),
        ("svg", "main-face_down-plan.svg"),
    ] {
        let said = scene.run(&["export", "small/design.toml", "--format", format, "--out", format]);
        assert_eq!(said.code, Some(0), "{}", said.all());
        assert!(said.stdout.lines().any(|l| l == format!("{format}/{name}")), "{}", said.stdout);
        let written = files(&scene.path(format));
        assert_eq!(written.len(), said.stdout.lines().count());
        assert!(written.values().all(|bytes| !bytes.is_empty()));
    }
    let gerber = scene.run(&["export", "small/design.toml", "--format", "gerber", "--out", "gerber"]);
    assert!(gerber.stdout.lines().count() >= 5, "one file a layer: {}", gerber.stdout);
}

#[test]
fn a_face_is_chosen_and_said() {
    let scene = Scene::small();
    for face in ["up", "down"] {
        let said =
            scene.run(&["export", "small/design.toml", "--format", "csv", "--face", face, "--out", face]);
        assert_eq!(said.code, Some(0), "{}", said.all());
        let text = scene.read(&format!("{face}/main-face_{face}-pads.csv"));
        assert!(text.starts_with(&format!("# die face {face}")), "{text}");
    }
}

#[test]
fn an_export_is_what_a_run_writes() {
    let scene = Scene::small();
    scene.run(&["run", "small/design.toml", "--out", "results"]);
    scene.run(&["export", "small/design.toml", "--format", "gdsii", "--out", "masks"]);
    let (run, export) = (files(&scene.path("results")), files(&scene.path("masks")));
    assert!(run["main-face_up.gds"] == export["main-face_up.gds"]);
}

#[test]
fn an_unknown_die_is_bad_input() {
    let said = Scene::small().run(&["export", "small/design.toml", "--format", "svg", "--die", "hub"]);
    assert_eq!(
        (said.code, said.stderr.as_str()),
        (Some(2), "error: there is no die \"hub\"; there are main\n")
    );
}
