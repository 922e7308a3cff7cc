//! Requirements and verdicts: meets, short or not judged, with the margin and a sentence.

use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};

/// On which side of its limit a figure must lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Bound {
    /// The figure must not be above the limit.
    AtMost,
    /// The figure must not be below the limit.
    AtLeast,
    /// The magnitude of a figure that has a sign must not be above the limit.
    Within,
}

impl Bound {
    /// `at most`, `at least` or `within`.
    pub fn words(self) -> &'static str {
        match self {
            Bound::AtMost => "at most",
            Bound::AtLeast => "at least",
            Bound::Within => "within",
        }
    }

    /// How far a value lies on the right side of a limit; negative on the wrong one.
    pub fn room(self, value: f64, limit: f64) -> f64 {
        match self {
            Bound::AtMost => limit - value,
            Bound::AtLeast => value - limit,
            Bound::Within => limit - value.abs(),
        }
    }
}

/// What is asked of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Requirement {
    /// Study that reports the figure.
    pub study: String,
    /// Figure.
    pub figure: String,
    /// Side.
    pub bound: Bound,
    /// Limit in `unit`.
    pub limit: f64,
    /// Unit of the limit, the same as the figure's.
    pub unit: String,
    /// True for a requirement that every design has (all nets routed, no violation), false for one of the file.
    pub built_in: bool,
}

/// The outcome of a requirement.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
pub enum Verdict {
    /// The figure, with its numerical error, is on the right side of the limit.
    #[serde(rename = "meets")]
    Meets,
    /// The figure, with its numerical error, is on the wrong side.
    #[serde(rename = "short")]
    Short,
    /// There is no figure, or its numerical error straddles the limit.
    #[serde(rename = "not judged")]
    NotJudged,
}

impl Verdict {
    /// `meets`, `short` or `not judged`.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Meets => "meets",
            Verdict::Short => "short",
            Verdict::NotJudged => "not judged",
        }
    }
}

/// A requirement with its verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// What was asked.
    pub requirement: Requirement,
    /// The outcome.
    pub verdict: Verdict,
    /// Room to the limit as a share of the limit: positive on the right side, negative on the wrong one. Absent
    /// without a figure and for a limit of zero, of which nothing is a share.
    pub margin: Option<f64>,
    /// One sentence built from the numbers.
    pub sentence: String,
}

/// Judges a requirement. `figure` is the study's figure, `why_absent` the reason when there is none, and
/// `limited_by` the clause that says what sets the figure.
pub fn judge(
    requirement: Requirement,
    figure: Option<&Figure>,
    why_absent: &str,
    limited_by: Option<&str>,
) -> Judgement {
    let Some(figure) = figure.filter(|f| f.value.is_finite()) else {
        let sentence = why_absent.to_owned();
        return Judgement { requirement, verdict: Verdict::NotJudged, margin: None, sentence };
    };
    let room = requirement.bound.room(figure.value, requirement.limit);
    let error = figure.error.unwrap_or(0.0);
    let verdict = if room >= error {
        Verdict::Meets
    } else if room < -error || error == 0.0 {
        Verdict::Short
    } else {
        Verdict::NotJudged
    };
    let margin = (requirement.limit != 0.0).then(|| room / requirement.limit.abs());
    let asked =
        format!("asked {} {}", requirement.bound.words(), amount(requirement.limit, &requirement.unit));
    let by = limited_by.map(|by| format!(" ({by})")).unwrap_or_default();
    let value = format!("{} {}{by}, {asked}", named(&figure.name), amount(figure.value, &figure.unit));
    let sentence = match verdict {
        Verdict::Meets => format!("{value}."),
        Verdict::Short => {
            let side = match requirement.bound {
                Bound::AtMost | Bound::Within => "above",
                Bound::AtLeast => "below",
            };
            format!("{value}: {} {side} the limit.", amount(-room, &figure.unit))
        }
        Verdict::NotJudged => {
            format!("{value}: the limit lies within the numerical error of {}.", amount(error, &figure.unit))
        }
    };
    Judgement { requirement, verdict, margin, sentence }
}

/// A figure's name as the beginning of a sentence (`Longest net`).
fn named(figure: &str) -> String {
    let words = figure.replace('_', " ");
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// A value with its unit, three significant digits or all digits of a whole number (`1.03`, `57`, `0.31 K/W`).
pub fn amount(value: f64, unit: &str) -> String {
    let number = digits(value);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

fn digits(value: f64) -> String {
    if !value.is_finite() {
        return "not a number".into();
    }
    if value.fract() == 0.0 && value.abs() < 1e9 {
        return format!("{value:.0}");
    }
    let magnitude = value.abs().log10().floor();
    if !(-4.0..9.0).contains(&magnitude) {
        return format!("{value:.2e}");
    }
    // A ratio just above 1 says nothing with three digits, so one more is given between 1 and 2.
    let wanted = if (1.0..2.0).contains(&value.abs()) { 3.0 } else { 2.0 };
    let decimals = (wanted - magnitude).max(0.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::{Bound, Requirement, Verdict, amount, judge};
    use facedown_evidence::{Figure, Status};

    fn figure(value: f64, error: Option<f64>) -> Figure {
        Figure {
            name: "wirelength_ratio".into(),
            value,
            unit: String::new(),
            error,
            hand: None,
            basis: "test".into(),
            status: Status::Solved,
            outside: None,
            between: None,
        }
    }

    fn asked(bound: Bound, limit: f64) -> Requirement {
        Requirement {
            study: "redistribution".into(),
            figure: "wirelength_ratio".into(),
            bound,
            limit,
            unit: String::new(),
            built_in: false,
        }
    }

    #[test]
    fn margin_is_positive_on_the_right_side() {
        let meets = judge(asked(Bound::AtMost, 2.0), Some(&figure(1.5, None)), "", None);
        assert_eq!((meets.verdict, meets.margin), (Verdict::Meets, Some(0.25)));
        let short = judge(asked(Bound::AtLeast, 2.0), Some(&figure(1.5, None)), "", Some("set by net miso"));
        assert_eq!((short.verdict, short.margin), (Verdict::Short, Some(-0.25)));
        assert_eq!(
            short.sentence,
            "Wirelength ratio 1.5 (set by net miso), asked at least 2: 0.5 below the limit."
        );
    }

    #[test]
    fn a_signed_figure_is_held_within_its_limit_on_both_sides() {
        let down = judge(asked(Bound::Within, 2.0), Some(&figure(-1.5, None)), "", None);
        assert_eq!((down.verdict, down.margin), (Verdict::Meets, Some(0.25)));
        let far = judge(asked(Bound::Within, 2.0), Some(&figure(-2.5, None)), "", None);
        assert_eq!((far.verdict, far.margin), (Verdict::Short, Some(-0.25)));
        assert_eq!(far.sentence, "Wirelength ratio -2.5, asked within 2: 0.5 above the limit.");
    }

    #[test]
    fn the_limit_itself_meets() {
        let at = judge(asked(Bound::AtMost, 1.5), Some(&figure(1.5, Some(0.0))), "", None);
        assert_eq!((at.verdict, at.margin), (Verdict::Meets, Some(0.0)));
    }

    #[test]
    fn a_limit_within_the_numerical_error_is_not_judged() {
        let unsure = judge(asked(Bound::AtMost, 1.5), Some(&figure(1.49, Some(0.02))), "", None);
        assert_eq!(unsure.verdict, Verdict::NotJudged);
        assert!(unsure.sentence.contains("numerical error of 0.02"), "{}", unsure.sentence);
    }

    #[test]
    fn a_limit_of_zero_has_no_margin() {
        let none = judge(asked(Bound::AtMost, 0.0), Some(&figure(0.0, Some(0.0))), "", None);
        assert_eq!((none.verdict, none.margin), (Verdict::Meets, None));
        assert_eq!(
            judge(asked(Bound::AtMost, 0.0), Some(&figure(3.0, None)), "", None).verdict,
            Verdict::Short
        );
    }

    #[test]
    fn without_a_figure_nothing_is_judged() {
        let open = judge(asked(Bound::AtMost, 1.0), None, "No study computes it yet.", None);
        assert_eq!((open.verdict, open.sentence.as_str()), (Verdict::NotJudged, "No study computes it yet."));
        let nan = judge(asked(Bound::AtMost, 1.0), Some(&figure(f64::NAN, None)), "No result.", None);
        assert_eq!(nan.verdict, Verdict::NotJudged);
    }

    #[test]
    fn amounts_have_three_digits_and_ratios_above_one_four() {
        for (value, text) in [
            (57.0, "57"),
            (1.0342, "1.034"),
            (0.31, "0.31"),
            (123_456.7, "123457"),
            (10.0, "10"),
            (99.96, "100"),
            (-0.04567, "-0.0457"),
            (1.0e-7, "1.00e-7"),
        ] {
            assert_eq!(amount(value, ""), text);
        }
        assert_eq!(amount(2.5, "mm"), "2.5 mm");
    }
}
