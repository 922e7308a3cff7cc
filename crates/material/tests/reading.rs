//! Material tables of a design: what is read, and what is said about broken ones.

use expect_test::{Expect, expect};
use facedown_diagnostic::{Sources, render};
use facedown_material::*;
use toml::de::DeTable;

fn read(text: &str) -> (Library, String) {
    let mut library = Library::built_in();
    let mut sources = Sources::default();
    sources.add("design.toml", text);
    let table = DeTable::parse(text).expect("the tests write TOML");
    let materials =
        table.get_ref().get("material").and_then(|node| node.get_ref().as_table()).expect("materials");
    let findings = library.add_from(materials, "design.toml", text);
    let said: Vec<String> = findings.iter().map(|f| render(f, &sources, false)).collect();
    (library, said.join("\n\n"))
}

fn check(text: &str, expected: Expect) {
    let (_, said) = read(text);
    assert!(!said.is_empty(), "nothing was found");
    expected.assert_eq(&said);
}

#[test]
fn an_override_changes_only_what_it_states() {
    let (library, said) = read(
        r#"
[material.sac305]
source = "our tensile tests of lot 7"
[material.sac305.properties]
modulus = [["-40 degC", "52 GPa"], ["25 degC", "44 GPa +- 2 GPa"], ["150 degC", "30 GPa"]]
poisson = 0.37
"#,
    );
    assert_eq!(said, "");
    let sac = library.get("sac305").unwrap();
    assert!(sac.from_design);
    assert_eq!(sac.made_of, MadeOf::Solder);
    assert_eq!(sac.value(PropertyName::Poisson, 300.0).unwrap(), 0.37);
    assert!((sac.value(PropertyName::Modulus, 265.65).unwrap() - 48e9).abs() < 1.0);
    let modulus = &sac.properties[&PropertyName::Modulus];
    assert_eq!((modulus.source.as_str(), modulus.status), ("our tensile tests of lot 7", Status::Published));
    assert_eq!(sac.value(PropertyName::Density, 300.0).unwrap(), 7380.0);
}

#[test]
fn a_new_material_may_start_from_another() {
    let (library, said) = read(
        r#"
[material.underfill_trial]
like = "underfill_capillary"
source = "invented"
properties = { expansion = "26 ppm/K +- 10 %", glass_transition = "135 degC" }

[material.underfill_trial_b]
like = "underfill_trial"
source = "invented"
"#,
    );
    assert_eq!(said, "");
    let trial = library.get("underfill_trial_b").unwrap();
    let expansion = &trial.properties[&PropertyName::Expansion];
    assert_eq!(expansion.status, Status::Invented);
    assert!((expansion.tolerance.unwrap().0 - 2.6e-6).abs() < 1e-18);
    assert_eq!(trial.properties[&PropertyName::Viscosity].status, Status::CommonPractice);
    assert_eq!(trial.title, "underfill trial b");
}

#[test]
fn a_material_without_a_source_is_refused() {
    check(
        r#"
[material.polyimide]
properties = { modulus = "3 GPa" }
"#,
        expect![[r#"
            error[material-no-source]: `polyimide` names no source
             --> design.toml:2:11
              |
            2 | [material.polyimide]
              |           ^^^^^^^^^
              |
              = allowed: a published source in words, `common practice`, `from memory`, or `invented`
              = mend: add `source = "..."`, or `source = "invented"`"#]],
    );
}

#[test]
fn a_new_material_says_what_it_is_made_of() {
    check(
        r#"
[material.copper_platd]
source = "invented"
properties = { modulus = "90 GPa" }

[material.mystery]
made_of = "polymer"
source = "invented"
"#,
        expect![[r#"
            error[material-class-missing]: `copper_platd` does not say what it is made of
             --> design.toml:2:11
              |
            2 | [material.copper_platd]
              |           ^^^^^^^^^^^^
              |
              = allowed: silicon, copper, solder, plate, dielectric, underfill, laminate, interface, gas
              = mend: write `copper_plated` to change the built-in one, or add `made_of = "..."`

            error[material-unknown-word]: `polymer` is not a class of material
             --> design.toml:7:11
              |
            7 | made_of = "polymer"
              |           ^^^^^^^^^
              |
              = allowed: silicon, copper, solder, plate, dielectric, underfill, laminate, interface, gas"#]],
    );
}

#[test]
fn misspelt_keys_and_properties_get_their_neighbours() {
    check(
        r#"
[material.polyimide]
source = "invented"
titel = "polyimide"
conductivity = "0.2 W/mK"
properties = { modlus = "3 GPa", expansion = { valeu = "30 ppm/K" }, poisson = { value = 0.3, stauts = "invented" } }
"#,
        expect![[r#"
            error[material-unknown-key]: `titel` is not a key of a material
             --> design.toml:4:1
              |
            4 | titel = "polyimide"
              | ^^^^^
              |
              = allowed: title, made_of, like, source, status, valid, roles, composition, note, caution, properties
              = mend: write `title`

            error[material-unknown-key]: `conductivity` is not a key of a material
             --> design.toml:5:1
              |
            5 | conductivity = "0.2 W/mK"
              | ^^^^^^^^^^^^
              |
              = allowed: title, made_of, like, source, status, valid, roles, composition, note, caution, properties
              = mend: write `conductivity` under `properties`

            error[property-unknown]: `modlus` is not a property
             --> design.toml:6:16
              |
            6 | properties = { modlus = "3 GPa", expansion = { valeu = "30 ppm/K" }, poisson = { value = 0.3, stauts = "invented" } }
              |                ^^^^^^
              |
              = allowed: density, conductivity, conductivity_in_plane, conductivity_through, heat_capacity, emissivity, modulus, modulus_above_glass, poisson, elastic_c11, elastic_c12, elastic_c44, expansion, expansion_above_glass, expansion_in_plane, expansion_in_plane_above_glass, expansion_through, expansion_through_above_glass, glass_transition, cure_temperature, yield_stress, tensile_strength, elongation, fracture_toughness, film_stress, resistivity, resistivity_coefficient, permittivity, loss_tangent, solidus, liquidus, density_liquid, surface_tension, viscosity, shear_index, shear_rate, filler_mass, contact_angle, bond_line, interface_resistance
              = mend: write `modulus`

            error[property-unknown-key]: `valeu` is not a key of a property
             --> design.toml:6:48
              |
            6 | properties = { modlus = "3 GPa", expansion = { valeu = "30 ppm/K" }, poisson = { value = 0.3, stauts = "invented" } }
              |                                                ^^^^^
              |
              = allowed: value, curve, spread, valid, source, status, note
              = mend: write `value`

            error[property-no-value]: `expansion` has no value
             --> design.toml:6:34
              |
            6 | properties = { modlus = "3 GPa", expansion = { valeu = "30 ppm/K" }, poisson = { value = 0.3, stauts = "invented" } }
              |                                  ^^^^^^^^^
              |
              = mend: add `value = "..."` or `curve = [["25 degC", "..."], ...]`

            error[property-unknown-key]: `stauts` is not a key of a property
             --> design.toml:6:95
              |
            6 | properties = { modlus = "3 GPa", expansion = { valeu = "30 ppm/K" }, poisson = { value = 0.3, stauts = "invented" } }
              |                                                                                               ^^^^^^
              |
              = allowed: value, curve, spread, valid, source, status, note
              = mend: write `status`"#]],
    );
}

#[test]
fn wrong_units_are_underlined_inside_the_text() {
    check(
        r#"
[material.polyimide]
source = "invented"
[material.polyimide.properties]
modulus = "3 GPa·m"
conductivity = 0.2
density = "1400"
expansion = "35 ppm"
glass_transition = "325 K degC"
poisson = "0.35"
"#,
        expect![[r#"
            error[unit-unknown]: `GPa·m` is not a unit of a stress or pressure
             --> design.toml:5:14
              |
            5 | modulus = "3 GPa·m"
              |              ^^^^^
              |
              = allowed: a stress or pressure in Pa, kPa, MPa, GPa, mbar, bar, for instance `28 MPa`
              = mend: write it in one of Pa, kPa, MPa, GPa, mbar, bar

            error[unit-missing]: `0.2` has no unit; a thermal conductivity belongs here
             --> design.toml:6:16
              |
            6 | conductivity = 0.2
              |                ^^^
              |
              = allowed: a thermal conductivity in mW/mK, W/mK, W/cmK
              = mend: write `"0.2 W/mK"` if W/mK is meant

            error[unit-missing]: `1400` has no unit; a density belongs here
             --> design.toml:7:12
              |
            7 | density = "1400"
              |            ^^^^
              |
              = allowed: a density in kg/m3, g/cm3, for instance `2330 kg/m3`
              = mend: write `1400 kg/m3` if kg/m3 is meant

            error[unit-unknown]: `ppm` is not a unit of a thermal expansion
             --> design.toml:8:17
              |
            8 | expansion = "35 ppm"
              |                 ^^^
              |
              = allowed: a thermal expansion in ppm/K, 1/K, for instance `2.6 ppm/K`
              = mend: write `35 ppm/K` if that is meant

            error[unit-unknown]: `K degC` is not a unit of an absolute temperature
             --> design.toml:9:25
              |
            9 | glass_transition = "325 K degC"
              |                         ^^^^^^
              |
              = allowed: an absolute temperature in degC, K, for instance `260 degC`
              = mend: write it in one of degC, K

            error[material-wrong-kind]: found text where a plain number without a unit belongs
              --> design.toml:10:11
               |
            10 | poisson = "0.35"
               |           ^^^^^^
               |
               = allowed: a plain number without a unit"#]],
    );
}

#[test]
fn slips_of_a_power_of_ten_are_caught() {
    check(
        r#"
[material.silicon]
source = "invented"
[material.silicon.properties]
conductivity = "148000 W/mK"
modulus = "130 Pa"
poisson = 0.6
"#,
        expect![[r#"
            error[property-unlikely]: `conductivity` of 148000 W/mK is not possible in a package
             --> design.toml:5:16
              |
            5 | conductivity = "148000 W/mK"
              |                ^^^^^^^^^^^^^
              |
              = allowed: 0.001 W/mK to 3000 W/mK
              = mend: check the unit and the power of ten

            error[property-unlikely]: `modulus` of 130 Pa is not possible in a package
             --> design.toml:6:11
              |
            6 | modulus = "130 Pa"
              |           ^^^^^^^^
              |
              = allowed: 1 kPa to 1200 GPa
              = mend: check the unit and the power of ten

            error[property-unlikely]: `poisson` of 0.6 is not possible in a package
             --> design.toml:7:11
              |
            7 | poisson = 0.6
              |           ^^^
              |
              = allowed: 0 to 0.5
              = mend: check the unit and the power of ten"#]],
    );
}

#[test]
fn curves_rise_in_temperature_and_have_two_points() {
    check(
        r#"
[material.silicon]
source = "invented"
[material.silicon.properties]
conductivity = [["100 degC", "110 W/mK"], ["25 degC", "148 W/mK"]]
heat_capacity = [["25 degC", "712 J/kgK"]]
expansion = [["25 degC", "2.6 ppm/K"], "3 ppm/K"]
modulus = { curve = [["25 degC", "130 GPa"], ["125 degC", "128 GPa"]], valid = ["25 degC", "300 degC"] }
"#,
        expect![[r#"
            error[curve-order]: 25 degC does not come after 100 degC
             --> design.toml:5:44
              |
            5 | conductivity = [["100 degC", "110 W/mK"], ["25 degC", "148 W/mK"]]
              |                                            ^^^^^^^^^
              |
              = allowed: points that rise in temperature

            error[curve-short]: a curve needs at least two points, found 1
             --> design.toml:6:17
              |
            6 | heat_capacity = [["25 degC", "712 J/kgK"]]
              |                 ^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = mend: write one value as text, or add a point

            error[material-wrong-kind]: found text where a point of temperature and value belongs
             --> design.toml:7:40
              |
            7 | expansion = [["25 degC", "2.6 ppm/K"], "3 ppm/K"]
              |                                        ^^^^^^^^^
              |
              = allowed: a point of temperature and value

            error[range-beyond-curve]: the range goes beyond the points of modulus
             --> design.toml:8:80
              |
            8 | modulus = { curve = [["25 degC", "130 GPa"], ["125 degC", "128 GPa"]], valid = ["25 degC", "300 degC"] }
              |                                                                                ^^^^^^^^^^^^^^^^^^^^^^^
              |
              = allowed: 25 degC to 125 degC"#]],
    );
}

#[test]
fn alloys_add_up_and_melt_in_order() {
    check(
        r#"
[material.sac_trial]
like = "sac305"
source = "invented"
composition = { Sn = "96 %", Ag = "3 %", Cu = "0.5 %" }
properties = { solidus = "225 degC", liquidus = [["25 degC", "220 degC"], ["30 degC", "221 degC"]] }
roles = { weting = "invented" }
"#,
        expect![[r#"
            error[material-unknown-word]: `weting` is not a role under a bump
             --> design.toml:7:11
              |
            7 | roles = { weting = "invented" }
              |           ^^^^^^
              |
              = allowed: adhesion, barrier, wetting, oxidation barrier
              = mend: write `wetting`

            error[composition-sum]: the mass fractions add up to 99.5 %
             --> design.toml:5:15
              |
            5 | composition = { Sn = "96 %", Ag = "3 %", Cu = "0.5 %" }
              |               ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = allowed: 100 %

            error[curve-not-taken]: liquidus is not a function of temperature
             --> design.toml:6:49
              |
            6 | properties = { solidus = "225 degC", liquidus = [["25 degC", "220 degC"], ["30 degC", "221 degC"]] }
              |                                                 ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = allowed: one value

            error[melting-order]: the solidus 225 degC lies above the liquidus 220 degC
             --> design.toml:2:11
              |
            2 | [material.sac_trial]
              |           ^^^^^^^^^
              |
              = allowed: a solidus not above the liquidus"#]],
    );
}

#[test]
fn unknown_bases_words_and_ranges_are_named() {
    check(
        r#"
[material.my_film]
like = "polyimid"
source = "invented"

[material.polyimide]
source = "invented"
status = "guessed"
valid = ["150 degC", "25 degC"]
properties = { modulus = { value = "3 GPa", spread = ["4 GPa", "2 GPa"] }, density = { source = "invented" } }

[material."My Film"]
made_of = "dielectric"
source = "invented"

[material]
bare = "polyimide"
"#,
        expect![[r#"
            error[material-unknown]: there is no material `polyimid`
             --> design.toml:3:8
              |
            3 | like = "polyimid"
              |        ^^^^^^^^^^
              |
              = allowed: a built-in material, or one that stands earlier in this file
              = mend: write `polyimide`

            error[material-unknown-word]: `guessed` is not a status
             --> design.toml:8:10
              |
            8 | status = "guessed"
              |          ^^^^^^^^^
              |
              = allowed: published, common practice, from memory, invented

            error[range-order]: the range runs from 150 degC to 25 degC
             --> design.toml:9:9
              |
            9 | valid = ["150 degC", "25 degC"]
              |         ^^^^^^^^^^^^^^^^^^^^^^^
              |
              = allowed: the lower temperature first

            error[spread-order]: the lowest value is above the highest
              --> design.toml:10:54
               |
            10 | properties = { modulus = { value = "3 GPa", spread = ["4 GPa", "2 GPa"] }, density = { source = "invented" } }
               |                                                      ^^^^^^^^^^^^^^^^^^
               |
               = allowed: the lower value first

            error[property-no-value]: `density` has no value
              --> design.toml:10:76
               |
            10 | properties = { modulus = { value = "3 GPa", spread = ["4 GPa", "2 GPa"] }, density = { source = "invented" } }
               |                                                                            ^^^^^^^
               |
               = mend: add `value = "..."` or `curve = [["25 degC", "..."], ...]`

            error[material-name]: `My Film` is not a name for a material
              --> design.toml:12:11
               |
            12 | [material."My Film"]
               |           ^^^^^^^^^
               |
               = allowed: small letters, digits and `_`
               = mend: write `my_film`

            error[material-wrong-kind]: found text where a table [material.NAME] belongs
              --> design.toml:17:8
               |
            17 | bare = "polyimide"
               |        ^^^^^^^^^^^
               |
               = allowed: a table [material.NAME]"#]],
    );
}
