//! How the study words numbers and causes.

/// Seconds in a Julian year.
pub(crate) const YEAR_S: f64 = 31_557_600.0;

/// What a refusal or a fault says, as a clause.
pub(crate) fn clause(said: &str) -> String {
    said.trim_end_matches('.').to_owned()
}

/// Three digits, in powers of ten where large.
pub(crate) fn significant(value: f64) -> String {
    if value == 0.0 || (0.01..1e4).contains(&value.abs()) {
        let digits = if value.abs() >= 100.0 { 0 } else { 2 };
        format!("{value:.digits$}")
    } else {
        format!("{value:.2e}")
    }
}

/// The same with a small first letter.
pub(crate) fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_lowercase().collect::<String>() + letters.as_str())
}
