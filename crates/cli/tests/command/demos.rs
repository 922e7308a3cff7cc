//! The demonstration designs through the program, from design file to written results. Tidewatch with its solvers; the large ones by
//! closed forms, since what their solvers give is kept by the figures of the pipeline.

use crate::scene::Scene;

fn run(example: &str, options: &[&str]) -> (crate::scene::Said, serde_json::Value) {
    let scene = Scene::new();
    scene.run(&["new", "demo", "--example", example]);
    let check = scene.run(&["check", "demo/design.toml", "--json"]);
    assert_eq!(check.code, Some(0), "{}", check.all());
    let said = scene.run(&[&["run", "demo/design.toml", "--out", "results"], options].concat());
    let results = scene.json("results/results.json");
    (said, results)
}

#[test]
fn tidewatch_is_redistributed_without_a_violation() {
    let (said, results) = run("tidewatch", &[]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    let figures = &results["studies"]["redistribution"]["figures"];
    assert_eq!(figures["routed_nets"]["value"], figures["nets"]["value"]);
    assert_eq!(figures["violations"]["value"], 0.0);
    assert!(figures["wirelength_ratio"]["value"].as_f64().expect("a number") <= 1.06, "{figures:#}");
}

#[test]
fn harborlight_has_its_pads_under_its_bumps_and_says_so() {
    let (said, results) = run("harborlight", &["--closed-forms"]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    let study = &results["studies"]["redistribution"];
    assert_eq!(study["figures"]["wirelength"]["value"], 0.0);
    assert_eq!(study["figures"]["violations"]["value"], 0.0);
    assert!(study["parts"].to_string().contains("nothing is routed"), "{study:#}");
}

#[test]
fn breakwater_reports_each_die_and_their_sum() {
    let (said, results) = run("breakwater", &["--closed-forms"]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    let study = &results["studies"]["redistribution"];
    let parts = study["parts"].as_object().expect("parts");
    assert_eq!(parts.len(), 4);
    let bumps: f64 = parts.values().map(|p| p["figures"]["bumps"]["value"].as_f64().expect("a number")).sum();
    assert_eq!(study["figures"]["bumps"]["value"].as_f64(), Some(bumps));
}

#[test]
fn a_fill_is_played_as_numbered_frames_the_same_from_the_cache() {
    let scene = Scene::new();
    scene.run(&["new", "demo", "--example", "tidewatch"]);
    let run = |out: &str, options: &[&str]| {
        let base = ["run", "demo/dirty.toml", "--only", "underfill", "--out", out];
        scene.run(&[&base[..], options].concat())
    };
    let said = run("results", &["--fill-frames", "5"]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    // What feeds the fill: the joints the tolerance of the gap, drops on residue what the plasma leaves of it, the material its shear.
    let study = &scene.json("results/results.json")["studies"]["underfill"];
    let told = study.to_string();
    for words in ["as the joints find it", "on it before and after plasma show that", "thins under shear"] {
        assert!(told.contains(words), "{words}: {study:#}");
    }
    let value = |name: &str| study["figures"][name]["value"].as_f64().expect("a figure");
    assert!(value("residue_left") > 0.5 && value("residue_left") < 15.0, "{study:#}");
    assert!(value("residue_left") > 0.0 && value("shear_rate") > 0.0);
    let index = scene.json("results/fill-frames.json");
    let fills = index["fills"].as_array().expect("fills");
    let ends: Vec<&str> = fills.iter().filter_map(|f| f["end"].as_str()).collect();
    assert_eq!(ends, ["air shut in", "full"]);
    for fill in fills {
        let frames = fill["frames"].as_array().expect("frames");
        assert_eq!(frames.len(), 5);
        let number = |frame: &serde_json::Value, key: &str| frame[key].as_f64().expect("a number");
        assert!(frames.windows(2).all(|f| number(&f[0], "time_s") < number(&f[1], "time_s")
            && number(&f[0], "filled") <= number(&f[1], "filled")));
        assert_eq!(number(&frames[0], "filled"), 0.0);
        let shut_in = fill["end"] == "air shut in";
        assert_eq!(number(&frames[4], "pockets") > 0.0, shut_in, "{fill:#}");
        let last = scene.read(&format!("results/{}", frames[4]["file"].as_str().expect("a file")));
        assert_eq!(last.contains("class=\"air\""), shut_in);
    }
    // From the cache, in another folder: the same bytes. Without the option none.
    assert_eq!(run("again", &["--fill-frames", "5"]).code, Some(0));
    for name in ["fill-frames.json", "controller-fill-0003.svg", "controller-fill-untreated-0005.svg"] {
        assert_eq!(scene.read(&format!("results/{name}")), scene.read(&format!("again/{name}")), "{name}");
    }
    assert_eq!(run("again", &[]).code, Some(0));
    assert!(
        !scene.path("again/fill-frames.json").exists()
            && !scene.path("again/controller-fill-0001.svg").exists()
    );
    // Closed forms follow no front.
    assert_eq!(run("again", &["--fill-frames", "5", "--closed-forms"]).code, Some(2));
    let none =
        scene.run(&["run", "demo/design.toml", "--only", "joints", "--out", "none", "--fill-frames", "5"]);
    assert!(none.stderr.contains("no frames of a fill"), "{}", none.all());
}
