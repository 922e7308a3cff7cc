//! Finished tests under current: constants that such a test can give.

use super::Checker;
use facedown_diagnostic::Finding;

pub fn check(c: &mut Checker) {
    let Some(qualification) = &c.design.qualification else { return };
    for (i, test) in qualification.current_tests.iter().enumerate() {
        let at = |key: &str| format!("qualification.current_test[{i}].{key}");
        let positive = [
            (
                "activation",
                test.activation.band().0,
                test.activation.to_string(),
                "an energy above zero; 0.6 eV to 1.4 eV for solder (common practice)",
            ),
            (
                "density",
                test.density.band().0,
                test.density.to_string(),
                "a current density above zero, that of the test",
            ),
            ("life", test.life.band().0, test.life.to_string(), "a time above zero, the median of the test"),
        ];
        for (key, least, text, allowed) in positive {
            if least <= 0.0 {
                let finding =
                    Finding::error("not-positive", format!("{text} tells nothing of a test under current"));
                c.at(&at(key), finding.allowed(allowed));
            }
        }
        for (key, value, range, allowed) in [
            (
                "exponent",
                Some(test.exponent),
                0.1..=50.0,
                "0.1 to 50; 1 to 3 without own heat and crowding (common practice)",
            ),
            (
                "log_deviation",
                test.log_deviation,
                0.001..=20.0,
                "0.001 to 20; 0.2 to 1 is usual (common practice)",
            ),
            ("crowding", test.crowding, 1.0..=1e6, "1 and more: the highest over the mean current density"),
        ] {
            let Some(value) = value.filter(|v| !range.contains(v)) else { continue };
            let finding = Finding::error("number-range", format!("{key} is {value}")).allowed(allowed);
            c.at(&at(key), finding);
        }
        let celsius = test.temperature.si() - 273.15;
        if !(-50.0..=300.0).contains(&celsius) {
            let finding = Finding::error(
                "temperature-range",
                format!("no bump is tested under current at {}", test.temperature),
            )
            .allowed("-50 degC to 300 degC");
            c.at(&at("temperature"), finding);
        }
    }
}
