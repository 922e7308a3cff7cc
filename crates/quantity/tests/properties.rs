//! Properties: writing reads back to the same bits, reading never panics, nanometres are exact.

use facedown_quantity::*;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn writing_reads_back_to_the_same_number(mantissa in -9.99f64..9.99, power in -18i32..15, which in 0usize..1000) {
        let kinds = all_kinds();
        let table = kinds[which % kinds.len()];
        let si = mantissa * 10f64.powi(power);
        let si = if table.least.is_some() { si.abs() } else { si };
        let text = write_as(si, table);
        let read = read_as(&text, table).unwrap();
        prop_assert_eq!(read.si.to_bits(), (si + 0.0).to_bits(), "{} {}", text, si);
        prop_assert_eq!(write_as(read.si, table), text);
    }

    #[test]
    fn short_texts_stay_short(count in 1u32..100_000, unit in 0usize..1000, which in 0usize..1000) {
        let kinds = all_kinds();
        let table = kinds[which % kinds.len()];
        let unit = &table.units[unit % table.units.len()];
        let si = read_as(&format!("{count} {}", unit.name), table).unwrap().si;
        let again = write_in(si, table, unit.name);
        let expected = format!("{} {}", plain(count), unit.name);
        prop_assert_eq!(again, Some(expected));
    }

    #[test]
    fn a_toleranced_text_is_stable(value in 1u32..100_000, plus in 0u32..1000, minus in 0u32..1000) {
        let text = format!("{}.{:02} um +0.{plus:03} um -0.{minus:03} um", value / 100, value % 100);
        let read = Toleranced::<kind::Length>::parse(&text).unwrap();
        let written = read.to_string();
        let again = Toleranced::<kind::Length>::parse(&written).unwrap();
        prop_assert_eq!(again, read);
        prop_assert_eq!(again.to_string(), written);
    }

    #[test]
    fn micrometres_with_three_places_are_whole_nanometres(nm in -2_000_000_000_000i64..2_000_000_000_000) {
        let text = Nm(nm).to_string();
        prop_assert_eq!(Length::parse(&text).unwrap().exact_nm(), Some(Nm(nm)));
    }

    #[test]
    fn any_text_is_read_or_refused_inside_the_text(text in "[-+±0-9.,eE_' \u{a0}a-zA-Zµ°Ω%/²(·)−]{0,24}", which in 0usize..1000) {
        let kinds = all_kinds();
        match read_as(&text, kinds[which % kinds.len()]) {
            Ok(read) => prop_assert!(read.si.is_finite()),
            Err(e) => prop_assert!(text.get(e.span.clone()).is_some() && !e.what().is_empty()),
        }
    }

    #[test]
    fn any_characters_are_read_or_refused(text in "\\PC{0,30}") {
        if let Err(e) = Toleranced::<kind::Temperature>::parse(&text) {
            prop_assert!(text.get(e.span.clone()).is_some());
        }
    }
}

fn plain(count: u32) -> String {
    count.to_string()
}
