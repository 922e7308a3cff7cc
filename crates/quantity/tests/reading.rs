//! Texts that are right, and the exact numbers that they mean.

use facedown_quantity::*;

#[test]
fn decimal_text_reads_to_the_nearest_floating_number() {
    assert_eq!(Length::parse("75 um").unwrap().si(), 75e-6);
    assert_eq!(Length::parse("0.1 um").unwrap().si(), 1e-7);
    assert_eq!(Length::parse("1e-3 m").unwrap().si(), 1e-3);
    assert_eq!(Length::parse(".5mm").unwrap().si(), 5e-4);
    assert_eq!(Length::parse("1 mil").unwrap().si(), 25.4e-6);
    assert_eq!(Length::parse("1 inch").unwrap().si(), 25.4e-3);
    assert_eq!(Temperature::parse("260 degC").unwrap().si(), 533.15);
    assert_eq!(Temperature::parse("-273.15 degC").unwrap().si(), 0.0);
    assert_eq!(Temperature::parse("0 degC").unwrap().si(), 273.15);
    assert_eq!(Time::parse("30 min").unwrap().si(), 1800.0);
    assert_eq!(Time::parse("2 h").unwrap().si(), 7200.0);
    assert_eq!(Stress::parse("1 bar").unwrap().si(), 1e5);
    assert_eq!(Resistivity::parse("1.72 uohm cm").unwrap().si(), 1.72e-8);
    assert_eq!(ActivationEnergy::parse("1 eV").unwrap().si(), constants::ELEMENTARY_CHARGE);
    assert_eq!(Acceleration::parse("1 gn").unwrap().si(), constants::STANDARD_GRAVITY);
}

#[test]
fn one_electronvolt_is_96_485_kilojoules_a_mole() {
    // exact product of the defining constants: e N_A = 96485.332123... J/mol (BIPM SI brochure, 9th ed., 2019)
    let one = ActivationEnergy::from_ev(1.0).kj_per_mol();
    assert!((one - 96.485_332_123_310).abs() < 1e-9, "{one}");
}

#[test]
fn typographic_variants_mean_the_same() {
    for text in ["75 um", "75µm", "75 μm", "75\u{a0}um"] {
        assert_eq!(Length::parse(text).unwrap().si(), 75e-6, "{text}");
    }
    for text in ["260 degC", "260 °C", "260°C", "260 ℃"] {
        assert_eq!(Temperature::parse(text).unwrap().si(), 533.15, "{text}");
    }
    for text in ["148 W/mK", "148 W/(m K)", "148 W/(m·K)", "148 W/m/K", "148 W/m-K"] {
        assert_eq!(Conductivity::parse(text).unwrap().si(), 148.0, "{text}");
    }
    for text in ["17 ppm/K", "17 ppm/°C", "17e-6 1/K", "17e-6 /K", "17e-6/K"] {
        assert_eq!(Expansion::parse(text).unwrap().si(), 17e-6, "{text}");
    }
    assert_eq!(Resistance::parse("12 mΩ").unwrap().si(), 12e-3);
    assert_eq!(Viscosity::parse("300 mPa·s").unwrap().si(), 0.3);
    assert_eq!(FilmCoefficient::parse("10 W/m²K").unwrap().si(), 10.0);
    assert_eq!(Temperature::parse("−40 °C").unwrap().si(), 233.15);
    assert_eq!(Rate::parse("3 s-1").unwrap().si(), 3.0);
    assert_eq!(Energy::parse("5e3 J").unwrap().si(), 5000.0);
    assert_eq!(ActivationEnergy::parse("5eV").unwrap().ev(), 5.0);
}

#[test]
fn whole_nanometres_are_exact() {
    for (text, nm) in [
        ("0.1 um", 100),
        ("0.001 um", 1),
        ("12.345 um", 12_345),
        ("7.2 mm", 7_200_000),
        ("1 mil", 25_400),
        ("0.3 mm", 300_000),
        ("-0.007 um", -7),
        ("1.000001 m", 1_000_001_000),
    ] {
        assert_eq!(Length::parse(text).unwrap().exact_nm(), Some(Nm(nm)), "{text}");
        assert_eq!(Length::from(Nm(nm)), Length::parse(text).unwrap(), "{text}");
    }
    for text in ["0.1 nm", "12.3456 um", "0.01 mil", "1e-12 m"] {
        let exact = Length::parse(text).unwrap().exact_nm();
        assert_eq!(exact, (text == "0.01 mil").then_some(Nm(254)), "{text}");
    }
    assert_eq!(Length::parse("1e12 m").unwrap().to_nm(), None);
}

#[test]
fn tolerances_are_part_of_the_text() {
    let check = |text: &str, plus: f64, minus: f64| {
        let t = Toleranced::<kind::Length>::parse(text).unwrap().tolerance().unwrap();
        assert!((t.plus - plus).abs() < 1e-18 && (t.minus - minus).abs() < 1e-18, "{text}: {t:?}");
    };
    for text in ["75 um +- 5 um", "75um±5um", "75 um +/- 5 um", "75 um +- 0.005 mm", "75 um +5 um -5 um"] {
        check(text, 5e-6, 5e-6);
    }
    check("75 um +- 4 %", 3e-6, 3e-6);
    check("-75 um +- 4 %", 3e-6, 3e-6);
    check("75 um +5 um -3 um", 5e-6, 3e-6);
    check("75 um -3 um +5 um", 5e-6, 3e-6);
    check("75 um + 5 um - 3 um", 5e-6, 3e-6);
    check("75 um +5 um", 5e-6, 0.0);
    check("7.5e-5 m +- 5e-6 m", 5e-6, 5e-6);
    let peak = Toleranced::<kind::Temperature>::parse("245 degC +- 5 K").unwrap();
    assert_eq!((peak.si(), peak.tolerance().unwrap().plus), (518.15, 5.0));
    let fill = Toleranced::<kind::Fraction>::parse("60 % +- 3 %").unwrap();
    assert_eq!(fill.band(), (0.57, 0.63));
}

#[test]
fn the_spread_gives_the_standard_deviation() {
    let t = Toleranced::<kind::Length>::parse("75 um +- 6 um").unwrap();
    let check = |spread: &str, um: f64| {
        let sigma = t.standard_deviation(spread.parse().unwrap());
        assert!((sigma - um * 1e-6).abs() < 1e-16, "{spread}: {sigma}");
    };
    check("3 sigma", 2.0);
    check("2 sigma", 3.0);
    check("1σ", 6.0);
    // JCGM 100:2008, 4.3.7: half width over the square root of three
    check("limits", 6.0 / 3f64.sqrt());
    assert_eq!(Spread::default().to_string(), "3 sigma");
    assert!("0 sigma".parse::<Spread>().is_err());
    assert!("three".parse::<Spread>().is_err());
    assert_eq!(Toleranced::<kind::Length>::parse("75 um").unwrap().standard_deviation(Spread::Limits), 0.0);
}

#[test]
fn writing_chooses_the_unit_of_the_trade() {
    let check = |si: &str, text: &str| assert_eq!(si, text);
    check(&Length::from_um(75.0).to_string(), "75 um");
    check(&Length::from_mm(7.2).to_string(), "7.2 mm");
    check(&Length::parse("0.04 um").unwrap().to_string(), "40 nm");
    check(&Length::parse("75 mil").unwrap().to_string(), "1.905 mm");
    check(&Temperature::from_deg_c(260.0).to_string(), "260 degC");
    check(&Temperature::parse("-40 degC").unwrap().to_string(), "-40 degC");
    check(&TemperatureDifference::from_kelvin(63.0).to_string(), "63 K");
    check(&Time::from_minutes(30.0).to_string(), "30 min");
    check(&Time::from_seconds(90.0).to_string(), "90 s");
    check(&Time::parse("48 h").unwrap().to_string(), "2 day");
    check(&Stress::parse("130 GPa").unwrap().to_string(), "130 GPa");
    check(&Resistivity::parse("1.72 uohm cm").unwrap().to_string(), "1.72 uohm cm");
    check(&Angle::parse("30 deg").unwrap().to_string(), "30 deg");
    check(&Density::parse("7.4 g/cm3").unwrap().to_string(), "7400 kg/m3");
    check(&Fraction::parse("60 %").unwrap().to_string(), "60 %");
    check(&Cycles::parse("1000 cycles").unwrap().to_string(), "1000 cycles");
    check(&ActivationEnergy::parse("0.9 eV").unwrap().to_string(), "0.9 eV");
    check(&SurfaceTension::parse("0.48 N/m").unwrap().to_string(), "480 mN/m");
    check(&Length::parse("0 um").unwrap().to_string(), "0 um");
    check(&Length::parse("75 mil").unwrap().text_in("mil").unwrap(), "75 mil");
    check(&Toleranced::<kind::Length>::parse("75µm ± 5µm").unwrap().to_string(), "75 um +- 5 um");
    check(&Toleranced::<kind::Length>::parse("75 um +5 um -3 um").unwrap().to_string(), "75 um +5 um -3 um");
}

#[test]
fn json_carries_the_text() {
    let t = Toleranced::<kind::Temperature>::parse("245 degC +- 5 K").unwrap();
    let json = serde_json::to_string(&t).unwrap();
    assert_eq!(json, "\"245 degC +- 5 K\"");
    assert_eq!(serde_json::from_str::<Toleranced<kind::Temperature>>(&json).unwrap(), t);
    assert!(serde_json::from_str::<Length>("\"75\"").is_err());
}

#[test]
fn every_unit_of_every_kind_reads_and_every_example_is_right() {
    for table in all_kinds() {
        for unit in table.units {
            for spelling in std::iter::once(&unit.name).chain(unit.also) {
                let text = format!("300 {spelling}");
                let read = read_as(&text, table).unwrap_or_else(|e| panic!("{}: {e}", table.name));
                let expected =
                    if unit.scale == Scale::Celsius { 573.15 } else { 300.0 * unit.scale.factor() };
                assert!((read.si / expected - 1.0).abs() < 1e-15, "{text}");
            }
        }
        for example in table.examples {
            read_as(example, table).unwrap();
        }
        assert!(table.unit(table.customary).is_some(), "{}", table.name);
        // no spelling may mean two units
        for (i, a) in table.units.iter().enumerate() {
            for b in &table.units[..i] {
                assert!(
                    table.unit(a.name) == Some(a) && table.unit(b.name) == Some(b),
                    "{} {}",
                    a.name,
                    b.name
                );
            }
        }
    }
}

#[test]
fn a_difference_of_temperatures_is_a_difference() {
    let rise = Temperature::from_deg_c(85.0) - Temperature::from_deg_c(25.0);
    assert!((rise.kelvin() - 60.0).abs() < 1e-12);
    assert!(((Temperature::from_deg_c(25.0) + rise).deg_c() - 85.0).abs() < 1e-12);
}

#[test]
fn a_value_that_is_not_a_number_does_not_look_like_one() {
    for si in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let text = Length::from_si(si).to_string();
        assert!(Length::parse(&text).is_err(), "{text}");
        assert_eq!(Length::from_si(si).text_in("um"), None);
        assert_eq!(Length::from_si(si).to_nm(), None);
    }
}

#[test]
fn the_schema_takes_what_is_right_and_refuses_what_is_not() {
    for table in all_kinds() {
        let schema = jsonschema::validator_for(&schema_of(table, true).to_value()).unwrap();
        for example in table.examples {
            assert!(schema.is_valid(&serde_json::json!(example)), "{}: {example}", table.name);
        }
        for unit in table.units {
            for text in [format!("-1.5e-3 {}", unit.name), format!("75{} +- 3 %", unit.name)] {
                assert!(schema.is_valid(&serde_json::json!(text)), "{}: {text}", table.name);
            }
        }
        for wrong in ["", "75", "um", "75 furlong", "1,5 um", "75 +- 5"] {
            assert!(!schema.is_valid(&serde_json::json!(wrong)), "{}: {wrong}", table.name);
        }
    }
}
