//! Texts that are wrong, and what is said about them.

use expect_test::{Expect, expect};
use facedown_quantity::*;
use std::fmt::Write;

fn check<K: Kind>(texts: &[&str], expected: Expect) {
    let mut out = String::new();
    for text in texts {
        match Toleranced::<K>::parse(text) {
            Ok(read) => panic!("`{text}` was read as {read}"),
            Err(e) => {
                let _ = writeln!(out, "`{text}`\n  {}[{:?}] {}", e.code(), e.span, e.what());
                if let Some(mend) = e.mend() {
                    let _ = writeln!(out, "  mend: {mend}");
                }
            }
        }
    }
    expected.assert_eq(&out);
}

#[test]
fn units_missing_unknown_or_of_another_kind() {
    check::<kind::Length>(
        &[
            "75",
            " 75 ",
            "75 +- 5 um",
            "75 W",
            "75 uM",
            "75 microns wide",
            "75 micrometer",
            "75 furlong",
            "75 um +- 5",
            "75 um +- 5 W",
        ],
        expect![[r#"
            `75`
              unit-missing[0..2] `75` has no unit; a length belongs here
              mend: write `75 um` if um is meant
            ` 75 `
              unit-missing[1..3] `75` has no unit; a length belongs here
              mend: write `75 um` if um is meant
            `75 +- 5 um`
              unit-missing[0..2] `75` has no unit; a length belongs here
              mend: write `75 um +- 5 um`; each number carries its own unit
            `75 W`
              unit-wrong-kind[3..4] `W` is a unit of a power; a length belongs here
              mend: write it in one of nm, um, mm, m, cm, mil, inch
            `75 uM`
              unit-unknown[3..5] `uM` is not a unit of a length
              mend: write `75 um` if that is meant
            `75 microns wide`
              unit-unknown[3..15] `microns wide` is not a unit of a length
              mend: write it in one of nm, um, mm, m, cm, mil, inch
            `75 micrometer`
              unit-unknown[3..13] `micrometer` is not a unit of a length
              mend: write `75 um` if that is meant
            `75 furlong`
              unit-unknown[3..10] `furlong` is not a unit of a length
              mend: write it in one of nm, um, mm, m, cm, mil, inch
            `75 um +- 5`
              unit-missing[9..10] `5` has no unit; a length belongs here
              mend: write `5 um` if um is meant
            `75 um +- 5 W`
              unit-wrong-kind[11..12] `W` is a unit of a power; a length belongs here
              mend: write it in one of nm, um, mm, m, cm, mil, inch
        "#]],
    );
}

#[test]
fn numbers_that_cannot_be_read() {
    check::<kind::Length>(
        &[
            "",
            "  ",
            "um",
            "wide",
            "NaN um",
            "inf um",
            "-infinity um",
            "1e400 m",
            "1e-400 m",
            "--5 um",
            "1.2.3 um",
            "0.12345678901234567890123456789 um",
            "0x10 um",
        ],
        expect![[r#"
            ``
              number-missing[0..0] a length is missing here
              mend: write `75 um`
            `  `
              number-missing[2..2] a length is missing here
              mend: write `75 um`
            `um`
              number-missing[0..2] `um` does not start with a number; a length belongs here
              mend: write a number with its unit, for instance `75 um`
            `wide`
              number-missing[0..4] `wide` does not start with a number; a length belongs here
              mend: write a number with its unit, for instance `75 um`
            `NaN um`
              number-not-finite[0..6] `NaN um` is not a finite number
              mend: write a number
            `inf um`
              number-not-finite[0..6] `inf um` is not a finite number
              mend: write a number
            `-infinity um`
              number-not-finite[0..12] `-infinity um` is not a finite number
              mend: write a number
            `1e400 m`
              number-not-finite[0..7] `1e400 m` is too large to be computed with
            `1e-400 m`
              number-not-finite[0..8] `1e-400 m` is not zero but too small to be computed with
            `--5 um`
              number-missing[0..6] `--5 um` does not start with a number; a length belongs here
              mend: write a number with its unit, for instance `75 um`
            `1.2.3 um`
              unit-unknown[3..8] `.3 um` is not a unit of a length
              mend: write it in one of nm, um, mm, m, cm, mil, inch
            `0.12345678901234567890123456789 um`
              number-too-long[0..31] `0.12345678901234567890123456789` has more than 25 significant digits
              mend: write at most 25 significant digits
            `0x10 um`
              unit-unknown[1..7] `x10 um` is not a unit of a length
              mend: write it in one of nm, um, mm, m, cm, mil, inch
        "#]],
    );
}

#[test]
fn separators_and_commas() {
    check::<kind::Length>(
        &[
            "1,000 um",
            "1,5 um",
            "1.000,5 um",
            "1.5,3 um",
            "1,25 um",
            "12,000,000 nm",
            "1 000 um",
            "1_000 um",
            "1'000.5 um",
            "75 um +- 0,5 um",
        ],
        expect![[r#"
            `1,000 um`
              thousands-separator[0..5] `1,000` has a thousands separator
              mend: write `1000 um`, or `1.000 um` if the comma is a decimal comma
            `1,5 um`
              decimal-comma[0..3] `1,5` has a decimal comma
              mend: write `1.5 um` with a decimal point
            `1.000,5 um`
              decimal-comma[0..7] `1.000,5` has a decimal comma
              mend: write `1000.5 um` with a decimal point
            `1.5,3 um`
              decimal-comma[0..5] `1.5,3` has a decimal comma
              mend: write one number with a decimal point and its unit, `um`
            `1,25 um`
              decimal-comma[0..4] `1,25` has a decimal comma
              mend: write `1.25 um` with a decimal point
            `12,000,000 nm`
              thousands-separator[0..10] `12,000,000` has a thousands separator
              mend: write `12000000 nm`
            `1 000 um`
              thousands-separator[0..5] `1 000` has a thousands separator
              mend: write `1000 um`
            `1_000 um`
              thousands-separator[0..5] `1_000` has a thousands separator
              mend: write `1000 um`
            `1'000.5 um`
              thousands-separator[0..7] `1'000.5` has a thousands separator
              mend: write `1000.5 um`
            `75 um +- 0,5 um`
              decimal-comma[9..12] `0,5` has a decimal comma
              mend: write `0.5 um` with a decimal point
        "#]],
    );
}

#[test]
fn temperatures_and_differences_are_kept_apart() {
    check::<kind::Temperature>(
        &[
            "260",
            "-300 degC",
            "-1 K",
            "260 C",
            "260 degC +- 5 degC",
            "260 +- 5 degC",
            "260 degC +- 3 %",
            "500 F",
        ],
        expect![[r#"
            `260`
              unit-missing[0..3] `260` has no unit; an absolute temperature belongs here
              mend: write `260 degC` if degC is meant
            `-300 degC`
              below-absolute-zero[0..9] `-300 degC` is below absolute zero
              mend: absolute zero is -273.15 degC
            `-1 K`
              below-absolute-zero[0..4] `-1 K` is below absolute zero
              mend: absolute zero is -273.15 degC
            `260 C`
              unit-unknown[4..5] `C` is not a unit of an absolute temperature
              mend: write `260 degC` if that is meant
            `260 degC +- 5 degC`
              difference-in-degc[14..18] `degC` is the scale of absolute temperatures; a difference is written in K
              mend: write `5 K`
            `260 +- 5 degC`
              unit-missing[0..3] `260` has no unit; an absolute temperature belongs here
              mend: write `260 degC +- 5 K`; each number carries its own unit
            `260 degC +- 3 %`
              tolerance-wrong[12..15] `3 %`: a per cent of an absolute temperature has no clear meaning
              mend: write the tolerance in K, for instance `+- 5 K`
            `500 F`
              unit-unknown[4..5] `F` is not a unit of an absolute temperature
              mend: write `260 degC`
        "#]],
    );
    check::<kind::TemperatureDifference>(
        &["60 degC", "60 °C", "60"],
        expect![[r#"
            `60 degC`
              difference-in-degc[3..7] `degC` is the scale of absolute temperatures; a difference is written in K
              mend: write `60 K`
            `60 °C`
              difference-in-degc[3..6] `°C` is the scale of absolute temperatures; a difference is written in K
              mend: write `60 K`
            `60`
              unit-missing[0..2] `60` has no unit; a temperature difference belongs here
              mend: write `60 K` if K is meant
        "#]],
    );
}

#[test]
fn tolerances_that_contradict_themselves() {
    check::<kind::Length>(
        &["75 um +- 5 um +- 3 um", "75 um +5 um +3 um", "75 um +- -5 um", "75 um +-", "75 um + um"],
        expect![[r#"
            `75 um +- 5 um +- 3 um`
              tolerance-wrong[17..21] `3 um` is not a tolerance: `+` then a size, or `-` then a size
              mend: write one tolerance with `+-`, or one with `+` and one with `-`
            `75 um +5 um +3 um`
              tolerance-wrong[13..17] `3 um` is not a tolerance: `+` then a size, or `-` then a size
              mend: write one tolerance with `+-`, or one with `+` and one with `-`
            `75 um +- -5 um`
              number-missing[9..9] a length is missing here
              mend: write a number with its unit, for instance `75 um`
            `75 um +-`
              number-missing[8..8] a length is missing here
              mend: write a number with its unit, for instance `75 um`
            `75 um + um`
              unit-unknown[3..10] `um + um` is not a unit of a length
              mend: write it in one of nm, um, mm, m, cm, mil, inch
        "#]],
    );
}

#[test]
fn a_plain_quantity_takes_no_tolerance() {
    let e = Length::parse("75 um +- 5 um").unwrap_err();
    expect!["`75 um +- 5 um`: no tolerance is taken here; allowed: a length in nm, um, mm, m, cm, mil, inch, for instance `75 um`; write `75 um`"].assert_eq(&e.to_string());
}

#[test]
fn the_schema_pattern_names_number_unit_and_tolerance() {
    expect![[r#"^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*(nm|um|[µμ]m|micron|microns|mm|m|cm|mil|mils|thou|inch|in)(\s*(\+-|±|\+|-).*)?\s*$"#]].assert_eq(&pattern(<kind::Length as Kind>::TABLE, true));
    expect![[r#"^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*(n(ohm|Ω)[ ·*]?m|u(ohm|Ω)[ ·*]?cm|[µμ](ohm|Ω)[ ·*]?cm|u(ohm|Ω)[ ·*]?m|[µμ](ohm|Ω)[ ·*]?m|(ohm|Ω)[ ·*]?cm|(ohm|Ω)[ ·*]?m)\s*$"#]].assert_eq(&pattern(<kind::Resistivity as Kind>::TABLE, false));
}
