//! The built-in materials as a user of the library sees them.

use facedown_material::*;

#[test]
fn every_material_and_property_names_its_source() {
    let library = Library::built_in();
    assert!(library.names().count() >= 60, "{}", library.names().count());
    for material in library.materials() {
        assert!(!material.title.is_empty() && !material.from_design, "{}", material.name);
        assert!(!material.properties.is_empty(), "{} has no properties", material.name);
        for property in material.properties.values() {
            let which = format!("{}: {}", material.name, property.name);
            assert!(property.source.len() > 5 && property.source != "not named", "{which} names no source");
            assert_ne!(property.status, Status::Invented, "{which}");
            if property.status == Status::Published {
                assert!(property.source.split_whitespace().count() >= 3, "{which}: `{}`", property.source);
            }
        }
    }
}

#[test]
fn every_property_over_temperature_says_where_it_holds() {
    for material in Library::built_in().materials() {
        for property in material.properties.values() {
            let stated = property.range.is_some();
            assert_eq!(stated, property.name.is_over_temperature(), "{}: {}", material.name, property.name);
        }
    }
}

#[test]
fn values_lie_within_what_sources_give() {
    for material in Library::built_in().materials() {
        for property in material.properties.values() {
            let Some((low, high)) = property.spread else { continue };
            let values = match &property.values {
                Values::Constant(v) => vec![*v],
                Values::Curve(points) => points.iter().map(|p| p.1).collect(),
            };
            for v in values {
                assert!(
                    low * (1.0 - 1e-12 * low.signum()) <= v && v <= high * (1.0 + 1e-12 * high.signum()),
                    "{}: {} {} outside {} to {}",
                    material.name,
                    property.name,
                    property.text_of(v),
                    property.text_of(low),
                    property.text_of(high)
                );
            }
        }
    }
}

#[test]
fn solders_melt_and_add_up() {
    let library = Library::built_in();
    let mut solders = 0;
    for material in library.materials().filter(|m| m.made_of == MadeOf::Solder) {
        solders += 1;
        let at = |p| material.value(p, 300.0).unwrap();
        assert!(at(PropertyName::Solidus) <= at(PropertyName::Liquidus), "{}", material.name);
        let sum: f64 = material.composition.values().sum();
        assert!((sum - 1.0).abs() < 1e-9, "{}", material.name);
        // tin, lead, gold and bismuth alloys weigh between indium and gold
        assert!((7000.0..16000.0).contains(&at(PropertyName::Density)), "{}", material.name);
    }
    assert!(solders >= 12);
    let get = |n: &str| library.get(n).unwrap().clone();
    assert!(
        get("pb95sn5").is_high_lead() && get("pb97sn3").contains_lead() && !get("sn63pb37").is_high_lead()
    );
    assert!(get("sac305").is_high_tin() && !get("sac305").contains_lead() && !get("sn58bi").is_high_tin());
}

#[test]
fn metals_under_bumps_know_their_roles() {
    let library = Library::built_in();
    for (name, role) in [
        ("chromium", Role::Adhesion),
        ("titanium", Role::Adhesion),
        ("titanium_tungsten", Role::Barrier),
        ("nickel", Role::Barrier),
        ("nickel_phosphorus", Role::Wetting),
        ("nickel_vanadium", Role::Wetting),
        ("copper", Role::Wetting),
        ("copper_plated", Role::Wetting),
        ("gold", Role::OxidationBarrier),
        ("palladium", Role::OxidationBarrier),
    ] {
        assert!(library.get(name).unwrap().can_be(role), "{name} {role:?}");
    }
    assert!(!library.get("gold").unwrap().can_be(Role::Adhesion));
}

#[test]
fn silicon_agrees_with_published_numbers_and_itself() {
    let library = Library::built_in();
    let silicon = library.get("silicon").unwrap();
    // Okada and Tokumaru, J. Appl. Phys. 56 (1984) 314: 3.725 {1 - exp[-5.88e-3 (T - 124)]} + 5.548e-4 T ppm/K
    for kelvin in [218.15, 273.15, 298.15, 398.15, 533.15, 800.0, 1000.0] {
        let formula = 3.725 * (1.0 - (-5.88e-3 * (kelvin - 124.0f64)).exp()) + 5.548e-4 * kelvin;
        let read = silicon.value(PropertyName::Expansion, kelvin).unwrap() * 1e6;
        assert!((read - formula).abs() < 6e-4, "{kelvin}: {read} {formula}");
    }
    // Brantley, J. Appl. Phys. 44 (1973) 534: E<100> = (C11 + 2 C12)(C11 - C12)/(C11 + C12), nu = C12/(C11 + C12)
    let at = |p| silicon.value(p, 298.15).unwrap();
    let (c11, c12) = (at(PropertyName::ElasticC11), at(PropertyName::ElasticC12));
    let modulus = (c11 + 2.0 * c12) * (c11 - c12) / (c11 + c12);
    assert!((modulus / at(PropertyName::Modulus) - 1.0).abs() < 1e-3, "{modulus}");
    assert!((c12 / (c11 + c12) - at(PropertyName::Poisson)).abs() < 1e-3);
    let biaxial = c11 + c12 - 2.0 * c12 * c12 / c11;
    assert!((biaxial / 180.2e9 - 1.0).abs() < 1e-3, "{biaxial}");
}

#[test]
fn metals_obey_the_law_of_wiedemann_and_franz() {
    // conductivity x resistivity / T near the Lorenz number 2.44e-8 W ohm / K2; a slip of unit would show
    let library = Library::built_in();
    for name in
        ["copper", "aluminium", "gold", "nickel", "tungsten", "sac305", "sn63pb37", "indium", "au80sn20"]
    {
        let material = library.get(name).unwrap();
        let at = |p| material.value(p, 293.15).or_else(|_| material.value(p, 300.0)).unwrap();
        let lorenz = at(PropertyName::Conductivity) * at(PropertyName::Resistivity) / 293.15;
        assert!((1.6e-8..3.6e-8).contains(&lorenz), "{name}: {lorenz}");
    }
}

#[test]
fn a_misspelt_name_finds_its_neighbour() {
    let library = Library::built_in();
    assert_eq!(library.get("aluminum").unwrap_err().nearest.as_deref(), Some("aluminium"));
    assert_eq!(library.get("sac350").unwrap_err().nearest.as_deref(), Some("sac305"));
    assert_eq!(library.get("unobtainium_x").unwrap_err().nearest, None);
}

#[test]
fn values_outside_their_range_are_refused_with_the_range() {
    let library = Library::built_in();
    let silicon = library.get("silicon").unwrap();
    let said = silicon.value(PropertyName::Conductivity, 673.15).unwrap_err().to_string();
    assert_eq!(
        said,
        "`silicon`: conductivity is known from -73.15 degC to 326.85 degC; 400 degC lies outside"
    );
    assert!(silicon.value(PropertyName::Conductivity, f64::NAN).is_err());
    let said = silicon.value(PropertyName::Viscosity, 300.0).unwrap_err().to_string();
    assert_eq!(said, "`silicon` has no viscosity");
}

#[test]
fn tables_list_every_point_with_its_source() {
    let library = Library::built_in();
    let rows = property_rows(library.get("silicon").unwrap());
    let conductivity: Vec<_> = rows.iter().filter(|r| r.property == "conductivity").collect();
    assert_eq!(conductivity.len(), 4);
    assert_eq!((conductivity[1].at.as_str(), conductivity[1].value.as_str()), ("26.85 degC", "148 W/mK"));
    assert!(conductivity[1].source.contains("Incropera") && conductivity[1].status == "published");
    assert_eq!(material_rows(&library).len(), library.names().count());
}

#[test]
fn the_schema_knows_every_property() {
    let schema = material_schema().to_value();
    for name in PropertyName::ALL {
        assert!(schema["properties"]["properties"]["properties"][name.words()].is_object(), "{name}");
        assert!(!name.meaning().is_empty());
        assert_eq!(PropertyName::from_words(name.words()), Some(*name));
    }
}
