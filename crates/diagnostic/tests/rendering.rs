//! Findings as text, at any place in any file.

use expect_test::expect;
use facedown_diagnostic::{Finding, Level, Place, Sources, nearest, render};
use proptest::prelude::*;

#[test]
fn a_finding_shows_place_allowed_mend_and_further_places() {
    let mut sources = Sources::default();
    sources.add("design.toml", "[die]\nname = \"µ1\"\nname = \"µ1\"\n");
    let finding = Finding::warning("name-twice", "the name `µ1` stands twice")
        .at(Place::new("design.toml", 26..31))
        .also(Place::new("design.toml", 13..18), "first here")
        .allowed("each name once")
        .mend("rename one of them");
    expect![[r#"
        warning[name-twice]: the name `µ1` stands twice
         --> design.toml:3:8
          |
        2 | name = "µ1"
          |        ---- first here
        3 | name = "µ1"
          |        ^^^^
          |
          = allowed: each name once
          = mend: rename one of them"#]]
    .assert_eq(&render(&finding, &sources, false));
}

#[test]
fn a_finding_without_a_place_or_a_known_file_still_reads() {
    let sources = Sources::default();
    let finding = Finding::advice("no-balls", "the design has no balls").at(Place::new("gone.toml", 3..4));
    expect![[r#"
        advice[no-balls]: the design has no balls
        --> gone.toml"#]]
    .assert_eq(&render(&finding, &sources, false));
}

#[test]
fn colour_changes_no_words() {
    let mut sources = Sources::default();
    sources.add("a.toml", "x = 1\n");
    let finding = Finding::error("x", "no").at(Place::new("a.toml", 0..1));
    let coloured = render(&finding, &sources, true);
    let mut plain = String::new();
    let mut escaped = false;
    for c in coloured.chars() {
        match c {
            '\u{1b}' => escaped = true,
            'm' if escaped => escaped = false,
            c if !escaped => plain.push(c),
            _ => {}
        }
    }
    assert_eq!(plain, render(&finding, &sources, false));
    assert_ne!(plain, coloured);
}

#[test]
fn lines_and_columns_count_from_one_in_characters() {
    let mut sources = Sources::default();
    sources.add("a.toml", "µµx\ny");
    assert_eq!(sources.line_column(&Place::new("a.toml", 4..5)), Some((1, 3)));
    assert_eq!(sources.line_column(&Place::new("a.toml", 6..7)), Some((2, 1)));
    assert_eq!(sources.line_column(&Place::new("a.toml", 1..2)), None);
    assert_eq!(sources.line_column(&Place::new("b.toml", 0..1)), None);
}

#[test]
fn the_nearest_word_forgives_one_slip_in_three_letters() {
    assert_eq!(nearest("hieght", ["width", "height"]), Some("height"));
    assert_eq!(nearest("ab", ["abc", "xyz"]), Some("abc"));
    assert_eq!(nearest("pads", ["bumps", "pad"]), Some("pad"));
    assert_eq!(nearest("", ["height"]), None);
    assert_eq!(nearest("height", []), None);
}

#[test]
fn levels_sort_from_grave_to_light() {
    assert!(Level::Error < Level::Warning && Level::Warning < Level::Advice);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn any_place_in_any_text_is_shown_without_a_panic(text in "[ -~\tµ\u{2028}€\r\n]{0,40}", start in 0usize..60, length in 0usize..60) {
        let mut sources = Sources::default();
        sources.add("a.toml", &text);
        let place = Place::new("a.toml", start..start + length);
        let finding = Finding::error("x", "no").at(place.clone()).also(place.clone(), "again");
        prop_assert!(render(&finding, &sources, false).contains("no"));
        let _ = sources.line_column(&place);
    }
}
