//! Text to SI: a number, its unit and a tolerance, with errors that point into the text.

use crate::error::{Problem, QuantityError};
use crate::kinds::all_kinds;
use crate::number::{Decimal, read_decimal};
use crate::table::{KindTable, Unit, plain_unit};
use crate::toleranced::Tolerance;
use std::ops::Range;

/// What a text held, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Read {
    /// The value in the SI unit of its kind.
    pub si: f64,
    /// The tolerance, where one is written, as SI differences.
    pub tolerance: Option<Tolerance>,
}

/// Reads `text` as a quantity of the kind that `table` describes, with an optional tolerance.
///
/// For kinds known only while running (material properties); [`crate::Quantity::parse`] and
/// [`crate::Toleranced::parse`] are the typed doors to it.
///
/// # Errors
/// [`QuantityError`] with the byte range of the first wrong part.
pub fn read_as(text: &str, table: &'static KindTable) -> Result<Read, QuantityError> {
    let reader = Reader { text, table };
    let (nominal, tolerances) = reader.split();
    if text.trim().is_empty() {
        return Err(reader.error(
            Problem::Empty,
            0..text.len(),
            Some(format!("write `{}`", table.examples[0])),
        ));
    }
    if let Some((first, _)) = tolerances.first()
        && let Some(error) = reader.shared_unit(nominal.clone(), first.clone())
    {
        return Err(error);
    }
    let (number, unit) = reader.number_and_unit(nominal.clone(), table)?;
    let si = reader.finite(number, unit, nominal.clone())?;
    if table.least.is_some_and(|least| si < least) {
        return Err(reader.error(
            Problem::BelowAbsoluteZero,
            nominal,
            Some("absolute zero is -273.15 degC".into()),
        ));
    }
    let mut tolerance: Option<Tolerance> = None;
    for (range, side) in tolerances {
        let size = reader.tolerance_size(range.clone(), si)?;
        let known = tolerance.get_or_insert(Tolerance { plus: f64::NAN, minus: f64::NAN });
        let again = match side {
            Side::Both => !known.plus.is_nan() || !known.minus.is_nan(),
            Side::Plus => !known.plus.is_nan(),
            Side::Minus => !known.minus.is_nan(),
        };
        if again {
            let mend = "write one tolerance with `+-`, or one with `+` and one with `-`".into();
            return Err(reader.error(Problem::ToleranceSign, range, Some(mend)));
        }
        if side != Side::Minus {
            known.plus = size;
        }
        if side != Side::Plus {
            known.minus = size;
        }
    }
    if let Some(known) = &mut tolerance {
        // a side that is not written is zero: `75 um +5 um` allows no less than 75 um
        known.plus = if known.plus.is_nan() { 0.0 } else { known.plus };
        known.minus = if known.minus.is_nan() { 0.0 } else { known.minus };
    }
    Ok(Read { si, tolerance })
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Both,
    Plus,
    Minus,
}

struct Reader<'a> {
    text: &'a str,
    table: &'static KindTable,
}

impl Reader<'_> {
    fn error(&self, problem: Problem, span: Range<usize>, mend: Option<String>) -> QuantityError {
        self.error_of(problem, span, mend, self.table)
    }

    fn error_of(
        &self,
        problem: Problem,
        span: Range<usize>,
        mend: Option<String>,
        table: &'static KindTable,
    ) -> QuantityError {
        let span = trimmed(self.text, span);
        QuantityError { problem, found: self.text[span.clone()].to_string(), span, table, mend }
    }

    /// Parts the text into the nominal and its tolerances: ranges after each sign that starts a tolerance.
    fn split(&self) -> (Range<usize>, Vec<(Range<usize>, Side)>) {
        let mut cuts: Vec<(usize, usize, Side)> = Vec::new();
        let mut at = 0;
        let mut previous = ' ';
        let mut before: char = ' ';
        let started = |at: usize| !self.text[..at].trim().is_empty();
        while let Some(c) = self.text[at..].chars().next() {
            let rest = &self.text[at..];
            if let Some(mark) = ["+-", "+/-", "±", "-+"].into_iter().find(|m| rest.starts_with(m))
                && started(at)
            {
                cuts.push((at, at + mark.len(), Side::Both));
                at += mark.len();
                previous = ' ';
                continue;
            }
            let after = rest[c.len_utf8()..].trim_start().chars().next();
            let number_follows = after.is_some_and(|a| a.is_ascii_digit() || a == '.');
            // not the sign of an exponent, and not a hyphen inside a unit (`W/m-K`, `s-1`)
            let in_exponent = matches!(previous, 'e' | 'E') && (before.is_ascii_digit() || before == '.');
            if matches!(c, '+' | '-' | '−')
                && started(at)
                && number_follows
                && !in_exponent
                && (c == '+' || previous.is_whitespace())
            {
                cuts.push((at, at + c.len_utf8(), if c == '+' { Side::Plus } else { Side::Minus }));
            }
            before = previous;
            previous = c;
            at += c.len_utf8();
        }
        let end = self.text.len();
        let nominal = 0..cuts.first().map_or(end, |c| c.0);
        let parts = cuts
            .iter()
            .enumerate()
            .map(|(i, &(_, from, side))| (from..cuts.get(i + 1).map_or(end, |next| next.0), side));
        (nominal, parts.collect())
    }

    /// `75 +- 5 um`: the value has no unit of its own, which the mend writes out.
    fn shared_unit(&self, nominal: Range<usize>, tolerance: Range<usize>) -> Option<QuantityError> {
        let span = trimmed(self.text, nominal);
        let found = &self.text[span.clone()];
        let (_, used) = read_decimal(found).ok()?;
        if used != found.len() {
            return None;
        }
        let (_, unit) = self.number_and_unit(tolerance.clone(), self.table).ok()?;
        let size = self.text[tolerance].trim();
        let difference = match self.table.tolerance {
            Some(table) => size.replace(unit.name, table.customary).replace("°C", table.customary),
            None => size.to_string(),
        };
        let mend = format!("write `{found} {} +- {difference}`; each number carries its own unit", unit.name);
        Some(self.error(Problem::NoUnit, span, Some(mend)))
    }

    fn number_and_unit(
        &self,
        range: Range<usize>,
        table: &'static KindTable,
    ) -> Result<(Decimal, &'static Unit), QuantityError> {
        let span = trimmed(self.text, range);
        let part = &self.text[span.clone()];
        if part.is_empty() {
            let mend = format!("write a number with its unit, for instance `{}`", table.examples[0]);
            return Err(self.error_of(Problem::Empty, span, Some(mend), table));
        }
        let (number, used) = match read_decimal(part) {
            Ok(read) => read,
            Err((problem, end)) => return Err(self.no_number(problem, end, span, table)),
        };
        if let Some(error) = self.separator(part, used, &span, table) {
            return Err(error);
        }
        let unit_text = part[used..].trim();
        if unit_text.is_empty() {
            let mend = format!("write `{part} {}` if {} is meant", table.customary, table.customary);
            return Err(self.error_of(Problem::NoUnit, span, Some(mend), table));
        }
        let Some(unit) = table.unit(unit_text) else {
            let start = span.end - part[used..].trim_start().len();
            return Err(self.unknown_unit(unit_text, start..span.end, &part[..used], table));
        };
        Ok((number, unit))
    }

    fn no_number(
        &self,
        problem: Problem,
        end: usize,
        span: Range<usize>,
        table: &'static KindTable,
    ) -> QuantityError {
        let part = &self.text[span.clone()];
        let word = part.trim_start_matches(['+', '-']).to_ascii_lowercase();
        let not_finite = ["inf", "nan", "infinity", "∞"].iter().any(|w| word.starts_with(w));
        match problem {
            Problem::TooManyDigits => {
                let mend = format!("write at most {} significant digits", crate::number::MOST_DIGITS);
                self.error_of(problem, span.start..span.start + end, Some(mend), table)
            }
            _ if not_finite => self.error_of(Problem::NotFinite, span, Some("write a number".into()), table),
            _ => {
                let mend =
                    Some(format!("write a number with its unit, for instance `{}`", table.examples[0]));
                self.error_of(Problem::NoNumber, span, mend, table)
            }
        }
    }

    /// Decimal commas and thousands separators right after the digits that were read.
    fn separator(
        &self,
        part: &str,
        used: usize,
        span: &Range<usize>,
        table: &'static KindTable,
    ) -> Option<QuantityError> {
        let mark = part[used..].chars().next()?;
        let digits_follow = |from: usize| part[from..].chars().take_while(char::is_ascii_digit).count();
        let count = part.get(used + mark.len_utf8()..).map_or(0, |_| digits_follow(used + mark.len_utf8()));
        let whole_end = number_run(part, used);
        let whole = &part[..whole_end];
        let bare: String = whole
            .chars()
            .filter(|c| !matches!(c, ',' | '_' | '\'' | '’' | ' ' | '\u{a0}' | '\u{202f}'))
            .collect();
        let rest = part[whole_end..].trim();
        let unit = table.unit(rest).map_or(table.customary, |u| u.name);
        let at = span.start..span.start + whole_end;
        match mark {
            ',' if count > 0 => {
                // `1.000,5`: with a point before the comma, the point groups the thousands.
                let grouped = part[..used].contains('.');
                if grouped && part[..used].split('.').skip(1).any(|group| group.len() != 3) {
                    let mend = format!("write one number with a decimal point and its unit, `{unit}`");
                    return Some(self.error_of(Problem::DecimalComma, at, Some(mend), table));
                }
                let whole = if grouped { whole.replace('.', "") } else { whole.to_owned() };
                let dotted = whole.replacen(',', ".", 1);
                if count == 3 && !grouped {
                    let mend = if dotted.contains(',') {
                        format!("write `{bare} {unit}`")
                    } else {
                        format!("write `{bare} {unit}`, or `{dotted} {unit}` if the comma is a decimal comma")
                    };
                    Some(self.error_of(Problem::ThousandsSeparator, at, Some(mend), table))
                } else {
                    let mend = format!("write `{dotted} {unit}` with a decimal point");
                    Some(self.error_of(Problem::DecimalComma, at, Some(mend), table))
                }
            }
            '_' | '\'' | '’' if count > 0 => {
                let mend = format!("write `{bare} {unit}`");
                Some(self.error_of(Problem::ThousandsSeparator, at, Some(mend), table))
            }
            ' ' | '\u{a0}' | '\u{202f}' if count > 0 && table.unit(part[used..].trim()).is_none() => {
                // `17e-6 1/K` is a number and a unit; `1 000 um` is not
                let mend = format!("write `{bare} {unit}`");
                Some(self.error_of(Problem::ThousandsSeparator, at, Some(mend), table))
            }
            _ => None,
        }
    }

    fn unknown_unit(
        &self,
        unit: &str,
        span: Range<usize>,
        number: &str,
        table: &'static KindTable,
    ) -> QuantityError {
        let plain = plain_unit(unit);
        if table.name == "temperature difference" && matches!(plain.as_str(), "degC" | "C") {
            let mend = format!("write `{number} K`");
            return self.error_of(Problem::DifferenceInCelsius, span, Some(mend), table);
        }
        if table.name == "temperature" && matches!(plain.as_str(), "F" | "degF") {
            let celsius = number.parse::<f64>().map(|f| ((f - 32.0) / 1.8 * 1e6).round() / 1e6);
            let mend = celsius.map_or("write it in degC".into(), |c| format!("write `{c} degC`"));
            return self.error_of(Problem::UnknownUnit, span, Some(mend), table);
        }
        let other = all_kinds().iter().find(|k| k.unit(unit).is_some());
        let spelt = table.units.iter().find(|u| plain_unit(u.name).eq_ignore_ascii_case(&plain));
        let proposed = spelt.or_else(|| word_unit(&plain, table));
        let problem = match other {
            Some(kind) if proposed.is_none() => Problem::UnitOf(kind.a_name),
            _ => Problem::UnknownUnit,
        };
        let mend = match proposed {
            Some(unit) => format!("write `{number} {}` if that is meant", unit.name),
            None => format!("write it in one of {}", table.unit_list()),
        };
        self.error_of(problem, span, Some(mend), table)
    }

    fn finite(&self, number: Decimal, unit: &Unit, range: Range<usize>) -> Result<f64, QuantityError> {
        let si = number.to_si(unit.scale);
        if !si.is_finite() {
            return Err(self.error(Problem::TooLarge, range, None));
        }
        if number.digits != 0 && !si.is_normal() && unit.name != "degC" {
            return Err(self.error(Problem::TooSmall, range, None));
        }
        Ok(si)
    }

    /// The SI size of one written tolerance; per cent means of the nominal, except on a fraction.
    fn tolerance_size(&self, range: Range<usize>, nominal: f64) -> Result<f64, QuantityError> {
        let table = self.table.of_tolerance();
        let span = trimmed(self.text, range.clone());
        let part = &self.text[span.clone()];
        if part.starts_with(['+', '-', '−']) {
            let mend = Some("write the size of the tolerance without a sign of its own".into());
            return Err(self.error_of(Problem::ToleranceSign, span, mend, table));
        }
        if self.table.name != "fraction"
            && let Ok((number, used)) = read_decimal(part)
            && matches!(plain_unit(&part[used..]).as_str(), "%" | "percent")
        {
            if self.table.tolerance.is_some() {
                let mend = Some("write the tolerance in K, for instance `+- 5 K`".into());
                return Err(self.error_of(Problem::PercentOfTemperature, span, mend, table));
            }
            let share = number.to_f64() / 100.0;
            let size = (share * nominal).abs();
            return if size.is_finite() { Ok(size) } else { Err(self.error(Problem::TooLarge, span, None)) };
        }
        let (number, unit) = self.number_and_unit(range, table)?;
        self.finite(number, unit, span)
    }
}

/// End of the run of digits and separators that starts a part, so that a message shows the whole number.
fn number_run(part: &str, used: usize) -> usize {
    let mut end = used;
    let mut chars = part[used..].char_indices().peekable();
    while let Some((i, c)) = chars.next() {
        let next_is_digit = chars.peek().is_some_and(|(_, n)| n.is_ascii_digit());
        let separator =
            matches!(c, ',' | '_' | '\'' | '’' | ' ' | '\u{a0}' | '\u{202f}' | '.') && next_is_digit;
        if !(c.is_ascii_digit() || separator) {
            break;
        }
        end = used + i + c.len_utf8();
    }
    end
}

/// Units written as words or by habit, where the meaning is clear.
fn word_unit(plain: &str, table: &'static KindTable) -> Option<&'static Unit> {
    let word = plain.to_ascii_lowercase();
    let name = match word.trim_end_matches('s') {
        "micrometer" | "micrometre" | "u" => "um",
        "millimeter" | "millimetre" => "mm",
        "nanometer" | "nanometre" => "nm",
        "meter" | "metre" => "m",
        "inche" | "inch" | "\"" => "inch",
        "c" | "celsiu" | "deg" | "degcelsiu" | "degree" if table.name == "temperature" => "degC",
        "c" | "celsiu" | "deg" if table.name == "temperature difference" => "K",
        "watt" => "W",
        "milliwatt" => "mW",
        "amp" | "ampere" => "A",
        "milliamp" => "mA",
        "volt" => "V",
        "ohm" => "ohm",
        "milliohm" => "mohm",
        "second" => "s",
        "minute" => "min",
        "cyc" => "cycles",
        "pct" => "%",
        "ppm" => "ppm/K",
        _ => return None,
    };
    table.units.iter().find(|u| u.name == name)
}

/// The range without the spaces at its ends.
fn trimmed(text: &str, range: Range<usize>) -> Range<usize> {
    let part = &text[range.clone()];
    let start = range.start + (part.len() - part.trim_start().len());
    start..start + part.trim().len()
}
