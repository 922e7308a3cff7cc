//! SI back to text in a trade unit, with the fewest digits that read back to the same number.

use crate::number::{Decimal, read_decimal};
use crate::table::{KindTable, Scale, Unit};

/// `si` as text in a unit chosen by size: the largest written unit of which there is at least one.
///
/// The text reads back to exactly `si` when `si` is finite. Times of whole minutes, hours or days are written so.
pub fn write_as(si: f64, table: &'static KindTable) -> String {
    if !si.is_finite() {
        // no text that reads back: a value that is not a number must not look like one
        return format!("{si} {}", table.customary);
    }
    let unit = choose(si, table);
    let number = digits_in(si, unit).filter(|n| {
        // degrees and minutes are not decimal: where they cost long digits, SI says it shorter
        !matches!(unit.scale, Scale::Factor(_)) || n.len() <= 17
    });
    match number {
        Some(number) => format!("{number} {}", unit.name),
        None => {
            let si_unit = table.units.iter().find(|u| u.scale == Scale::Decimal { mantissa: 1, exponent: 0 });
            match si_unit {
                Some(u) => format!("{} {}", Decimal::shortest(si).text(), u.name),
                None => format!("{} {}", si / unit.scale.factor(), unit.name),
            }
        }
    }
}

/// `si` as text in the named unit, or `None` when the kind has no such unit or no short text reads back exactly.
pub fn write_in(si: f64, table: &'static KindTable, unit: &str) -> Option<String> {
    let unit = table.unit(unit).filter(|_| si.is_finite())?;
    digits_in(si, unit).map(|number| format!("{number} {}", unit.name))
}

fn choose(si: f64, table: &'static KindTable) -> &'static Unit {
    let units: &'static [Unit] = table.units;
    let mut written = units.iter().filter(|u| u.written);
    let customary = units.iter().find(|u| u.name == table.customary).unwrap_or(&units[0]);
    if si == 0.0 {
        return customary;
    }
    let fits = |u: &&Unit| match u.scale {
        // a unit that is no power of ten (minute, hour, day) only for a whole number of it
        Scale::Decimal { mantissa, .. } if mantissa > 1 && table.name == "time" => {
            let count = si.abs() / u.scale.factor();
            count >= 1.0 && count.fract() == 0.0 && count < 1e6
        }
        _ => si.abs() >= u.scale.factor() * 0.999_999_999_999,
    };
    if written.clone().count() == 1 {
        return written.next().unwrap_or(customary);
    }
    written.clone().rev().find(fits).or_else(|| written.next()).unwrap_or(customary)
}

/// The shortest digits in this unit that read back to exactly `si`.
fn digits_in(si: f64, unit: &Unit) -> Option<String> {
    let reads_back = |d: &Decimal| d.to_si(unit.scale) == si;
    if let Scale::Decimal { mantissa: 1, exponent } = unit.scale {
        let shortest = Decimal::shortest(si);
        let moved = Decimal { exponent: shortest.exponent - exponent, ..shortest };
        return Some(moved.text()).filter(|_| reads_back(&moved));
    }
    if unit.scale == Scale::Celsius
        && let Some(d) = Decimal::shortest(si).plus_hundredths(-27_315)
        && d.digits < 10u128.pow(17)
        && reads_back(&d)
    {
        return Some(d.text());
    }
    let rough = if unit.scale == Scale::Celsius { si - 273.15 } else { si / unit.scale.factor() };
    let short = (0..17).find_map(|places| {
        let (d, _) = read_decimal(&format!("{:.*e}", places, rough.abs())).ok()?;
        Some(Decimal { negative: rough < 0.0, ..d }).filter(reads_back)
    });
    short.or_else(|| exact_quotient(si, unit.scale).filter(reads_back)).map(Decimal::text)
}

/// The quotient of `si` and a decimal unit to twenty digits, where a quotient of floating numbers is too coarse.
fn exact_quotient(si: f64, scale: Scale) -> Option<Decimal> {
    let Scale::Decimal { mantissa, exponent } = scale else { return None };
    let (own, _) = read_decimal(&format!("{:.16e}", si.abs())).ok()?;
    let mut digits = own.digits.checked_mul(10u128.pow(20))? / u128::from(mantissa);
    let mut power = own.exponent - 20 - exponent;
    while digits >= 10u128.pow(20) {
        digits = digits / 10 + u128::from(digits % 10 >= 5);
        power += 1;
    }
    Some(Decimal { negative: si < 0.0, digits, exponent: power })
}
