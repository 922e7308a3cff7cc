//! Collects two findings about one file and prints them with the offending text underlined.
//!
//! Run with `cargo run -p facedown-diagnostic --example print_findings`.

use facedown_diagnostic::{Finding, Place, Sources, nearest, render};

fn main() {
    let text = "[die]\nwidht = \"7.2 mm\"\nheight = \"6.4\"\n";
    let mut sources = Sources::default();
    sources.add("design.toml", text);
    let known = ["name", "width", "height"];

    let mut findings = vec![
        Finding::error("unit-missing", "`6.4` has no unit; a length belongs here")
            .at(Place::new("design.toml", 33..38))
            .allowed("a length in um, mm, m")
            .mend("write `6.4 mm` if mm is meant"),
    ];
    let mut misspelt = Finding::error("unknown-key", "`widht` is not a key of a die")
        .at(Place::new("design.toml", 6..11))
        .allowed(known.join(", "));
    if let Some(near) = nearest("widht", known) {
        misspelt = misspelt.mend(format!("write `{near}`"));
    }
    findings.push(misspelt);

    findings.sort_by(|a, b| a.place.cmp(&b.place));
    for finding in &findings {
        println!("{}\n", render(finding, &sources, false));
    }
}
