//! Decimal numbers in text, exact: digits and a power of ten, scaled by a unit and rounded once.

use crate::error::Problem;
use crate::table::Scale;

/// Most significant digits that are read; more than any measurement or layout needs, few enough for exact arithmetic.
pub(crate) const MOST_DIGITS: usize = 25;

/// A decimal number: `(-1)^negative x digits x 10^exponent`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Decimal {
    pub negative: bool,
    pub digits: u128,
    pub exponent: i32,
}

/// Reads a decimal number at the start of `text`; gives it and the number of bytes that it took.
pub(crate) fn read_decimal(text: &str) -> Result<(Decimal, usize), (Problem, usize)> {
    let mut at = 0;
    let mut negative = false;
    if let Some(c) = text.chars().next().filter(|c| matches!(c, '+' | '-' | '−')) {
        negative = c != '+';
        at += c.len_utf8();
    }
    let bytes = text.as_bytes();
    let (mut digits, mut exponent, mut significant, mut seen, mut in_fraction) =
        (0u128, 0i32, 0usize, 0usize, false);
    // zeros are held back until a further digit follows, so that trailing zeros cost nothing
    let mut held = 0u32;
    while let Some(&b) = bytes.get(at) {
        match b {
            b'0'..=b'9' => {
                seen += 1;
                if b == b'0' {
                    if significant > 0 {
                        held = held.saturating_add(1);
                    }
                } else {
                    significant += if significant > 0 { held as usize } else { 0 } + 1;
                    if significant > MOST_DIGITS {
                        return Err((Problem::TooManyDigits, end_of_number(text, at)));
                    }
                    digits =
                        digits * 10u128.pow(if digits == 0 { 0 } else { held } + 1) + u128::from(b - b'0');
                    held = 0;
                }
                if in_fraction {
                    exponent -= 1;
                }
            }
            b'.' if !in_fraction => in_fraction = true,
            _ => break,
        }
        at += 1;
    }
    if seen == 0 {
        return Err((Problem::NoNumber, at));
    }
    exponent = exponent.saturating_add(held as i32);
    // an exponent only when digits follow, so that `5 eV` and `5eV` stay a number and a unit
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let mut end = at + 1;
        let mut sign = 1;
        let rest = text.get(end..).unwrap_or("");
        if let Some(c) = rest.chars().next().filter(|c| matches!(c, '+' | '-' | '−')) {
            sign = if c == '+' { 1 } else { -1 };
            end += c.len_utf8();
        }
        let first = end;
        let mut power = 0i32;
        while let Some(b @ b'0'..=b'9') = bytes.get(end) {
            power = power.saturating_mul(10).saturating_add(i32::from(b - b'0')).min(100_000);
            end += 1;
        }
        if end > first {
            exponent = exponent.saturating_add(sign * power);
            at = end;
        }
    }
    Ok((Decimal { negative, digits, exponent }, at))
}

fn end_of_number(text: &str, from: usize) -> usize {
    text[from..].find(|c: char| !(c.is_ascii_digit() || c == '.')).map_or(text.len(), |n| from + n)
}

impl Decimal {
    /// The nearest `f64`; infinite or zero when out of range.
    pub(crate) fn to_f64(self) -> f64 {
        let size: f64 = format!("{}e{}", self.digits, self.exponent).parse().unwrap_or(f64::NAN);
        if self.negative && size != 0.0 { -size } else { size }
    }

    /// The SI value of this number in a unit of that scale, rounded once where the scale is decimal.
    pub(crate) fn to_si(self, scale: Scale) -> f64 {
        match scale {
            Scale::Decimal { mantissa, exponent } => match self.digits.checked_mul(u128::from(mantissa)) {
                Some(digits) => {
                    Decimal { digits, exponent: self.exponent.saturating_add(exponent), ..self }.to_f64()
                }
                None => self.to_f64() * scale.factor(),
            },
            Scale::Factor(factor) => self.to_f64() * factor,
            Scale::Celsius => {
                self.plus_hundredths(27_315).map_or_else(|| self.to_f64() + 273.15, Decimal::to_f64)
            }
        }
    }

    /// This number plus a count of hundredths, exact, when the digits fit.
    pub(crate) fn plus_hundredths(self, hundredths: i128) -> Option<Decimal> {
        if self.digits == 0 {
            return Some(Decimal {
                negative: hundredths < 0,
                digits: hundredths.unsigned_abs(),
                exponent: -2,
            });
        }
        let exponent = self.exponent.min(-2);
        let own = i128::try_from(self.digits).ok()?;
        let own = own.checked_mul(10i128.checked_pow(u32::try_from(self.exponent - exponent).ok()?)?)?;
        let own = if self.negative { -own } else { own };
        let sum = hundredths
            .checked_mul(10i128.checked_pow(u32::try_from(-2 - exponent).ok()?)?)?
            .checked_add(own)?;
        Some(Decimal { negative: sum < 0, digits: sum.unsigned_abs(), exponent })
    }

    /// The decimal with the fewest digits that is nearest to `value`.
    pub(crate) fn shortest(value: f64) -> Decimal {
        let text = format!("{:e}", value.abs());
        read_decimal(&text).map_or(Decimal { negative: false, digits: 0, exponent: 0 }, |(d, _)| Decimal {
            negative: value < 0.0,
            ..d
        })
    }

    /// Plain decimal text where that stays short, otherwise with an exponent.
    pub(crate) fn text(self) -> String {
        if self.digits == 0 {
            return "0".into();
        }
        let (mut digits, mut exponent) = (self.digits, self.exponent);
        while digits.is_multiple_of(10) {
            digits /= 10;
            exponent += 1;
        }
        let sign = if self.negative { "-" } else { "" };
        let figures = digits.to_string();
        let point = figures.len() as i32 + exponent;
        if exponent >= 0 && point <= 9 {
            format!("{sign}{figures}{}", "0".repeat(exponent as usize))
        } else if exponent < 0 && point > 0 {
            let (whole, part) = figures.split_at(point as usize);
            format!("{sign}{whole}.{part}")
        } else if exponent < 0 && point > -6 {
            format!("{sign}0.{}{figures}", "0".repeat((-point) as usize))
        } else {
            let (first, rest) = figures.split_at(1);
            let dot = if rest.is_empty() { "" } else { "." };
            format!("{sign}{first}{dot}{rest}e{}", point - 1)
        }
    }
}
