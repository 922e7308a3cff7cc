//! Curves between their points: never outside the neighbours, exact at the points, refused beyond the ends.

use facedown_material::*;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn a_curve_stays_between_its_neighbours(
        steps in prop::collection::vec((0.01f64..200.0, -1e12f64..1e12), 2..12),
        shares in prop::collection::vec(0.0f64..=1.0, 20),
    ) {
        let mut kelvin = 200.0;
        let points: Vec<(f64, f64)> = steps.iter().map(|&(step, v)| { kelvin += step; (kelvin, v) }).collect();
        let (first, last) = (points[0].0, points[points.len() - 1].0);
        let curve = Property {
            name: PropertyName::Modulus,
            values: Values::Curve(points.clone()),
            range: Some((first, last)),
            spread: None,
            tolerance: None,
            source: "invented".into(),
            status: Status::Invented,
            note: None,
        };
        for (t, v) in &points {
            prop_assert_eq!(curve.at(*t).unwrap(), *v);
        }
        for share in shares {
            let t = (first + share * (last - first)).clamp(first, last);
            let v = curve.at(t).unwrap();
            let above = points.iter().position(|p| p.0 >= t).unwrap();
            let (a, b) = (points[above.saturating_sub(1)].1, points[above].1);
            prop_assert!(a.min(b) <= v && v <= a.max(b), "{} {} {}", a, v, b);
        }
        prop_assert!(curve.at(first - 0.001).is_err() && curve.at(last + 0.001).is_err());
    }

    #[test]
    fn any_table_is_read_or_refused_without_a_panic(
        key in "(title|made_of|like|source|status|valid|roles|composition|properties|x)",
        value in "(\"[a-z0-9 %]{0,8}\"|[0-9]{1,4}|\\[\\]|\\[\"25 degC\", \"[a-z0-9]{0,4}\"\\]|\\{ (modulus|solidus|wetting|Sn) = (\"[0-9]{0,3} ?(GPa|degC|%)?\"|1|\\[\\[\\]\\]|\\{\\}) \\}|true)",
    ) {
        let text = format!("[m]\n{key} = {value}\n");
        if let Ok(table) = toml::de::DeTable::parse(&text) {
            for finding in Library::built_in().add_from(table.get_ref(), "m.toml", &text) {
                let place = finding.place.unwrap();
                prop_assert!(text.get(place.start..place.end).is_some());
            }
        }
    }
}
