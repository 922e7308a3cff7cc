//! What a plan view must hold: well-formed for any words, true in size, the same bytes every time.

use expect_test::expect;
use facedown_layout::{Label, Point, Polygon, Role, Shape};
use proptest::prelude::*;

use super::*;
use facedown_layout::ShapeKind;

fn circle(x: f64, y: f64, radius: f64) -> Polygon {
    let corner = |i: i32| {
        let angle = std::f64::consts::TAU * f64::from(i) / 48.0;
        Point::um(x + radius * angle.cos(), y + radius * angle.sin())
    };
    Polygon::new((0..48).map(corner).collect())
}

fn push(drawing: &mut Drawing, role: Role, kind: ShapeKind, net: Option<&str>, polygon: Polygon) {
    drawing.layer_mut(role).shapes.push(Shape::new(kind, net, polygon));
}

/// One net from a pad to a bump, and one site without a net.
fn tiny(net: &str) -> Drawing {
    let mut d = Drawing::new("T1", Nm::from_um(1000), Nm::from_um(800));
    push(
        &mut d,
        Role::Pad,
        ShapeKind::Pad,
        Some(net),
        Polygon::rectangle(Point::um(20.0, 370.0), Point::um(80.0, 430.0)),
    );
    push(
        &mut d,
        Role::Rdl(1),
        ShapeKind::Trace,
        Some(net),
        Polygon::rectangle(Point::um(50.0, 390.0), Point::um(400.5, 410.0)),
    );
    push(&mut d, Role::Ubm, ShapeKind::Ubm, Some(net), circle(400.0, 400.0, 80.0));
    push(&mut d, Role::Bump, ShapeKind::Bump, Some(net), circle(400.0, 400.0, 100.0));
    push(&mut d, Role::Bump, ShapeKind::Bump, None, circle(800.0, 400.0, 100.0));
    d.labels.push(Label { role: Role::Bump, at: Point::um(400.0, 400.0), text: "A1".into() });
    d
}

fn still() -> PlanOptions {
    PlanOptions { design: "tiny".into(), interactive: false, ..PlanOptions::default() }
}

fn parsed(picture: &str) -> roxmltree::Document<'_> {
    roxmltree::Document::parse(picture).unwrap_or_else(|e| panic!("{e} in:\n{picture}"))
}

#[test]
fn the_plan_of_a_tiny_die() {
    let picture = plan_view(&tiny("clk"), &still());
    let start = picture.find("<svg class=\"plan").unwrap_or_default();
    let end = picture[start..].find("</svg>").unwrap_or_default();
    expect![[r#"
        <svg class="plan" x="66" y="113" width="794" height="638.58" viewBox="-1023.897 -823.897 1054.134 847.794" font-size="13.276" data-fine="0.146">
        <rect class="bg" x="-1023.897" y="-823.897" width="1054.134" height="847.794"/>
        <g transform="scale(-1,-1)">
        <rect class="die" width="1000" height="800"/>
        <path class="cm" d="M-3.983 -3.983V-17.259L-17.259 -3.983z"/>
        <g class="n" data-n="0">
        <title>net clk</title>
        <path class="c1" d="M50 390h350.5v20h-350.5z"/></g>
        <g class="plain">
        <path class="x" d="M900 400a100 100 0 1 1-200 0a100 100 0 1 1 200 0z"/></g>
        <g class="n" data-n="0">
        <title>net clk</title>
        <path class="p" d="M20 370h60v60h-60z"/>
        <path class="u" d="M480 400a80 80 0 1 1-160 0a80 80 0 1 1 160 0z"/>
        <path class="b" d="M500 400a100 100 0 1 1-200 0a100 100 0 1 1 200 0z"/>
        <path class="r f" d="M480 400a80 80 0 1 1-160 0a80 80 0 1 1 160 0z"/></g></g>
        <g class="t">
        <g>
        <text x="-400" y="-400" dy=".36em" font-size="1.1em" data-n="0">A1</text>
        <text x="9.3" y="-400" dy=".36em" class="s" font-size="0.75em" data-n="0">clk</text></g></g>"#]].assert_eq(&picture[start..start + end]);
}

#[test]
fn the_words_say_from_where_it_is_seen_and_the_view_is_mirrored() {
    for (view, words, transform) in [
        (View::DieFaceUp, "die face up: seen on the pads", "scale(1,-1)"),
        (View::DieFaceDown, "die face down: seen from above through the die", "scale(-1,-1)"),
    ] {
        let picture = plan_view(&tiny("clk"), &PlanOptions { view, ..still() });
        let document = parsed(&picture);
        assert!(document.descendants().any(|n| n.text() == Some(words)));
        let mirrored = picture.contains("messages give x in the die frame: from the right edge here");
        assert_eq!(mirrored, view == View::DieFaceDown);
        let turned = document.descendants().filter_map(|n| n.attribute("transform")).collect::<Vec<_>>();
        // The other transforms turn pad names; none of those here, as the pad stands at a side.
        assert_eq!(turned, [transform]);
        // The die is 1000 um wide; face down it lies left of the die's own zero.
        let plan = document.descendants().find(|n| n.attribute("class") == Some("plan"));
        let left: f64 = plan
            .and_then(|n| n.attribute("viewBox"))
            .and_then(|v| v.split(' ').next()?.parse().ok())
            .unwrap_or(f64::NAN);
        assert!(if view == View::DieFaceUp { left < 0.0 && left > -200.0 } else { left < -1000.0 }, "{left}");
    }
}

#[test]
fn axes_read_from_the_given_origin() {
    let ticks = |options: &PlanOptions| -> Vec<String> {
        let picture = plan_view(&tiny("clk"), options);
        let document = parsed(&picture);
        let axis = document.descendants().find(|n| n.attribute("class") == Some("tx"));
        axis.into_iter()
            .flat_map(|a| a.descendants())
            .filter(|n| n.has_tag_name("text"))
            .filter_map(|n| n.text())
            .map(str::to_owned)
            .collect()
    };
    assert_eq!(ticks(&still()).first().map(String::as_str), Some("0.0"));
    let centred = PlanOptions { origin: Some(Point::um(500.0, 400.0)), ..still() };
    assert_eq!(ticks(&centred).first().map(String::as_str), Some("-0.5"));
    assert_eq!(ticks(&centred).last().map(String::as_str), Some("0.5"));
}

#[test]
fn a_chosen_net_stays_and_all_else_fades() {
    let mut drawing = tiny("clk");
    push(
        &mut drawing,
        Role::Rdl(1),
        ShapeKind::Trace,
        Some("d0"),
        Polygon::rectangle(Point::um(0.0, 0.0), Point::um(9.0, 9.0)),
    );
    let picture = plan_view(&drawing, &PlanOptions { highlight: vec!["clk".into()], ..still() });
    let document = parsed(&picture);
    assert_eq!(document.root_element().attribute("class"), Some("some"));
    for group in document.descendants().filter(|n| n.has_tag_name("g") && n.has_attribute("data-n")) {
        let title = group.first_element_child().and_then(|t| t.text()).unwrap_or_default();
        assert_eq!(group.attribute("class"), Some(if title == "net clk" { "n on" } else { "n" }));
    }
    assert!(picture.contains("#plan.some .n,#plan.some .plain,#plan.some .t text{opacity:.2}"));
}

#[test]
fn a_net_says_its_pads_bumps_and_length() {
    let mut options = still();
    let note = NetNote {
        pads: vec!["W12".into()],
        bumps: vec!["A1".into(), "A2".into()],
        length: Some(Nm::from_um(1842)),
    };
    options.nets.insert("clk".into(), note);
    let picture = plan_view(&tiny("clk"), &options);
    assert!(picture.contains("<title>net clk\npad W12\nbumps A1, A2\nlength 1.84 mm</title>"));
}

#[test]
fn violations_are_marked_and_told() {
    let sentence = "clk and d0 are 8.2 um apart on RDL 1; at least 10 um is asked.";
    let violation = Violation { at: Point::um(300.0, 400.0), sentence: sentence.into() };
    let many = vec![violation; panel::LISTED + 3];
    let picture =
        plan_view(&tiny("clk"), &PlanOptions { violations: many, view: View::DieFaceUp, ..still() });
    let document = parsed(&picture);
    let told =
        document.descendants().filter(|n| n.has_tag_name("title") && n.text() == Some(sentence)).count();
    assert_eq!(told, panel::LISTED + 3);
    assert!(picture.contains("<svg x=\"300\" y=\"-400\" width=\"2em\""));
    assert!(picture.contains("and 3 more, each marked in the plan"));
}

#[test]
fn themes_can_be_forced() {
    let of = |theme| plan_view(&tiny("clk"), &PlanOptions { theme, ..still() });
    assert!(of(Theme::Auto).contains("prefers-color-scheme:dark"));
    let (light, dark) = (of(Theme::Light), of(Theme::Dark));
    assert!(!light.contains("prefers-color-scheme") && light.contains(".bg{fill:#faf8f3}"));
    assert!(!dark.contains("prefers-color-scheme") && dark.contains(".bg{fill:#1d2433}"));
}

#[test]
fn an_empty_drawing_is_still_a_picture() {
    let picture =
        plan_view(&Drawing::new("", Nm(0), Nm(0)), &PlanOptions { width: 0, ..PlanOptions::default() });
    let document = parsed(&picture);
    for node in document.descendants() {
        for attribute in node.attributes() {
            assert!(!["NaN", "inf", "-inf"].contains(&attribute.value()), "{attribute:?}");
        }
    }
}

#[test]
fn four_hundred_nets_stay_below_two_megabytes() {
    let mut drawing = Drawing::new("many", Nm::from_um(7200), Nm::from_um(6400));
    for i in 0..400 {
        let (x, y) = (f64::from(i % 20) * 340.0 + 200.0, f64::from(i / 20) * 300.0 + 200.0);
        let net = format!("net_{i}");
        // A line bent in a circle, with 400 corners, as an unthinned arc would be.
        let arc = |r: f64, k: i32| {
            let angle = f64::from(k) * 0.0075;
            Point::um(x + r * angle.cos(), y + r * angle.sin())
        };
        let mut ring: Vec<Point> = (0..200).map(|k| arc(120.0, k)).collect();
        ring.extend((0..200).rev().map(|k| arc(105.0, k)));
        push(&mut drawing, Role::Rdl(1), ShapeKind::Trace, Some(&net), Polygon::new(ring));
        for (role, kind, r) in [
            (Role::Rdl(1), ShapeKind::Capture, 90.0),
            (Role::Ubm, ShapeKind::Ubm, 70.0),
            (Role::Bump, ShapeKind::Bump, 88.0),
        ] {
            push(&mut drawing, role, kind, Some(&net), circle(x, y, r));
        }
    }
    let picture = plan_view(&drawing, &still());
    assert!(picture.len() < 700_000, "{} bytes", picture.len());
    assert_eq!(picture, plan_view(&drawing, &still()), "the same drawing gave other bytes");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn any_words_give_well_formed_xml(
        net in any::<String>(), design in any::<String>(), label in any::<String>(), sentence in any::<String>(),
        figure in any::<String>(), id in any::<String>(), width in 0u32..5000, interactive: bool
    ) {
        let mut drawing = tiny(&net);
        drawing.name = design.clone();
        drawing.labels.push(Label { role: Role::Pad, at: Point::um(50.0, 400.0), text: label });
        let options = PlanOptions {
            id, design, width, interactive, invented: true,
            figures: vec![KeyFigure::new(&figure, &figure)],
            highlight: vec![net.clone()],
            violations: vec![Violation { at: Point::um(1.0, 2.0), sentence }],
            nets: [(net.clone(), NetNote { pads: vec![net.clone()], ..NetNote::default() })].into(),
            ..PlanOptions::default()
        };
        let picture = plan_view(&drawing, &options);
        let document = roxmltree::Document::parse(&picture);
        prop_assert!(document.is_ok(), "{:?}", document.err());
        // What can be written in XML at all is read back as it was.
        let plain = net.chars().all(|c| c >= ' ' && c != '\u{fffe}' && c != '\u{ffff}');
        if let (Ok(document), true) = (document, plain) {
            let said = format!("net {net}\npad {net}");
            prop_assert!(document.descendants().any(|n| n.has_tag_name("title") && n.text() == Some(&said)));
        }
    }
}
