//! `facedown new`.

use crate::scene::Scene;
use expect_test::expect;

#[test]
fn an_example_is_written_with_its_tables() {
    let scene = Scene::new();
    expect![[r#"
        exit 0
        --- stdout
        buoy/design.toml
        buoy/dirty.toml
        buoy/pads.csv
        buoy/drops.csv
        buoy/readings.csv
        buoy/water.csv
        buoy/design.schema.json
        buoy/drop.png
        buoy/scan.png
        --- stderr
        tidewatch: buoy-telemetry controller, 390 wire-bond pads redistributed to solder bumps, bare die. Its data are invented.
        Next: facedown run buoy/design.toml
    "#]]
    .assert_eq(&scene.run(&["new", "buoy", "--example", "tidewatch"]).all());
    assert!(scene.read("buoy/design.toml").contains("invented"));
    let again = scene.run(&["new", "buoy", "--example", "tidewatch"]);
    assert_eq!(again.code, Some(2));
    assert_eq!(again.stderr, "error: buoy is not empty; choose a new folder\n");
}

#[test]
fn an_unknown_example_names_the_nearest() {
    expect![[r#"
        exit 2
        --- stdout
        --- stderr
        error: there is no example "tidewach"; there are tidewatch, harborlight, breakwater; did you mean "tidewatch"?
    "#]]
    .assert_eq(&Scene::new().run(&["new", "x", "--example", "tidewach"]).all());
}
