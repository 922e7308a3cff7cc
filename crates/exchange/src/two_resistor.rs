//! The two-resistor thermal model of JESD15-3 as a block of text that a board designer can read and copy.
//!
//! Three nodes (junction, top of the case, board) and two resistances, for a package with one source of heat. The text is
//! TOML, each quantity with its unit. The model is not independent of the surroundings, and the block says so.

/// The model of one package.
#[derive(Debug, Clone, PartialEq)]
pub struct TwoResistor<'a> {
    /// Name of the package.
    pub name: &'a str,
    /// Junction to the top of the case, all heat forced upward, K/W.
    pub theta_jc_top_k_w: f64,
    /// How that was found.
    pub theta_jc_top_basis: &'a str,
    /// Junction to board, all heat forced into the board, K/W.
    pub theta_jb_k_w: f64,
    /// How that was found.
    pub theta_jb_basis: &'a str,
}

/// A resistance that is not above zero.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{name} is {value} K/W; a two-resistor model needs two finite resistances above zero")]
pub struct NoResistance {
    /// Which one.
    pub name: &'static str,
    /// Its value, K/W.
    pub value: f64,
}

/// The block, with values to four digits.
///
/// # Errors
/// [`NoResistance`] where one of the two is missing.
pub fn two_resistor(model: &TwoResistor<'_>) -> Result<String, NoResistance> {
    for (name, value) in [("theta_jc_top", model.theta_jc_top_k_w), ("theta_jb", model.theta_jb_k_w)] {
        if !(value > 0.0 && value.is_finite()) {
            return Err(NoResistance { name, value });
        }
    }
    let TwoResistor { name, theta_jc_top_basis, theta_jb_basis, .. } = model;
    Ok(format!(
        "# Two-resistor thermal model after JESD15-3: nodes junction, case_top, board; all heat enters at the junction.\n\
         # For one source of heat. It is not independent of the surroundings: 10 to 30 % is a common error, most with a small\n\
         # die under a large lid or with a heat sink (from memory).\n\
         [two_resistor]\n\
         name = {}\n\
         theta_jc_top = \"{} K/W\"\n\
         theta_jc_top_basis = {}\n\
         theta_jb = \"{} K/W\"\n\
         theta_jb_basis = {}\n",
        quoted(name),
        four_digits(model.theta_jc_top_k_w),
        quoted(theta_jc_top_basis),
        four_digits(model.theta_jb_k_w),
        quoted(theta_jb_basis),
    ))
}

/// A basic string of TOML 1.0.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", c as u32)),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// Four significant digits, plainly written.
fn four_digits(value: f64) -> String {
    let rounded: f64 = format!("{value:.3e}").parse().unwrap_or(value);
    format!("{rounded}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect;

    #[test]
    fn a_block_reads_as_it_is_meant() {
        let model = TwoResistor {
            name: "demo \"A\"",
            theta_jc_top_k_w: 0.31236,
            theta_jc_top_basis: "solved, cold plate on the lid",
            theta_jb_k_w: 6.0,
            theta_jb_basis: "solved, ring cold plate of JESD51-8",
        };
        expect![[r#"
            # Two-resistor thermal model after JESD15-3: nodes junction, case_top, board; all heat enters at the junction.
            # For one source of heat. It is not independent of the surroundings: 10 to 30 % is a common error, most with a small
            # die under a large lid or with a heat sink (from memory).
            [two_resistor]
            name = "demo \"A\""
            theta_jc_top = "0.3124 K/W"
            theta_jc_top_basis = "solved, cold plate on the lid"
            theta_jb = "6 K/W"
            theta_jb_basis = "solved, ring cold plate of JESD51-8"
        "#]]
        .assert_eq(&two_resistor(&model).unwrap());
        let none = TwoResistor { theta_jb_k_w: f64::NAN, ..model };
        assert_eq!(two_resistor(&none).unwrap_err().name, "theta_jb");
    }
}
