//! How numbers are written in pictures: fixed decimals without waste, so that the same input gives the same
//! bytes and files stay small.

use facedown_quantity::Nm;

/// A coordinate with at most `decimals` decimals, trailing zeros dropped, never `-0`.
///
/// Used for positions inside a picture. A value that is not finite has no place in a picture; it is written
/// as `0` so that the file stays readable.
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".into() } else { text }
}

/// Appends a length as micrometres with up to three decimals, the shortest exact form (`12`, `-3.5`, `.25`).
pub fn push_um(out: &mut String, length: Nm) {
    let nanometres = length.0.unsigned_abs();
    let (whole, rest) = (nanometres / 1000, nanometres % 1000);
    if length.0 < 0 {
        out.push('-');
    }
    if whole > 0 || rest == 0 {
        push_whole(out, whole);
    }
    if rest > 0 {
        out.push('.');
        // Pictures hold millions of these, so that digits are not formatted but taken one by one.
        let mut left = rest;
        for place in [100, 10, 1] {
            out.push(char::from(b'0' + (left / place) as u8));
            left %= place;
            if left == 0 {
                break;
            }
        }
    }
}

fn push_whole(out: &mut String, mut number: u64) {
    let mut digits = [0_u8; 20];
    let mut from = digits.len();
    loop {
        from -= 1;
        digits[from] = b'0' + (number % 10) as u8;
        number /= 10;
        if number == 0 {
            break;
        }
    }
    out.extend(digits[from..].iter().map(|&d| char::from(d)));
}

/// A length as micrometres, see [`push_um`].
pub fn um(length: Nm) -> String {
    let mut out = String::new();
    push_um(&mut out, length);
    out
}

/// A number with so many significant digits, in plain notation between 1e-4 and 1e7 and as `1.2e-6` outside;
/// a value that is not a number is said in words.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "not a number".into();
    }
    if value == 0.0 {
        return "0".into();
    }
    let digits = digits.max(1);
    // Rounding first: 9.996 with three digits is 10.0, one decade higher.
    let scientific = format!("{:.*e}", digits - 1, value);
    let exponent: i32 = scientific.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or(0);
    if !(-4..7).contains(&exponent) {
        return scientific;
    }
    let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
    let rounded: f64 = scientific.parse().unwrap_or(value);
    format!("{rounded:.decimals$}")
}

/// A length in millimetres with three significant digits, for instance `1.84 mm`.
pub fn millimetres(length: Nm) -> String {
    format!("{} mm", significant(length.m() * 1e3, 3))
}

/// The smallest step of 1, 2 or 5 times a power of ten that cuts `span` into at most `most` pieces. Both must
/// be above zero; anything else gives 1.
pub fn round_step(span: f64, most: f64) -> f64 {
    let least = span / most;
    if !(least.is_finite() && least > 0.0) {
        return 1.0;
    }
    let decade = 10f64.powi(least.log10().floor() as i32);
    // The slack lets an exact fit, spoilt only by rounding, keep its step.
    [1.0, 2.0, 5.0]
        .map(|m| m * decade)
        .into_iter()
        .find(|s| *s >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * decade)
}

/// Decimals needed to write multiples of a [`round_step`] exactly.
pub fn step_decimals(step: f64) -> usize {
    (-(step.log10() + 1e-9).floor()).clamp(0.0, 9.0) as usize
}

/// The multiples of `step` inside `low..=high` (with a hair of slack), at most 1,000 of them.
pub fn ticks(low: f64, high: f64, step: f64) -> Vec<f64> {
    let first = (low / step - 1e-6).ceil() as i64;
    let last = (high / step + 1e-6).floor() as i64;
    (first..=last).take(1000).map(|i| i as f64 * step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short_and_exact() {
        for (nm, text) in
            [(0, "0"), (1_000, "1"), (12_500, "12.5"), (-250, "-.25"), (1, ".001"), (-100_010, "-100.01")]
        {
            assert_eq!(um(Nm(nm)), text);
        }
        assert_eq!(fixed(-0.001, 2), "0");
        assert_eq!(fixed(2.50, 2), "2.5");
        assert_eq!(fixed(f64::NAN, 2), "0");
    }

    #[test]
    fn significant_digits_survive_rounding_up_a_decade() {
        for (value, text) in
            [(9.996, "10.0"), (0.31, "0.310"), (1234.0, "1230"), (0.0, "0"), (-1.2345e-6, "-1.23e-6")]
        {
            assert_eq!(significant(value, 3), text);
        }
        assert_eq!(significant(f64::INFINITY, 3), "not a number");
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(round_step(7.2, 8.0), 1.0);
        assert_eq!(round_step(5.0, 10.0), 0.5);
        assert_eq!(round_step(0.0, 10.0), 1.0);
        assert_eq!(step_decimals(0.5), 1);
        assert_eq!(step_decimals(2.0), 0);
        assert_eq!(ticks(0.0, 1.0, 0.5), vec![0.0, 0.5, 1.0]);
    }
}
