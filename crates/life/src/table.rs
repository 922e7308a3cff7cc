//! Properties over temperature: values of piecewise straight tables, and what is wrong with one.

/// The value of a table at a temperature, by straight lines between its points, held at its ends; zero for an
/// empty table.
pub fn value(table: &[(f64, f64)], temperature: f64) -> f64 {
    let (Some(first), Some(last)) = (table.first(), table.last()) else { return 0.0 };
    if temperature <= first.0 {
        return first.1;
    }
    if temperature >= last.0 {
        return last.1;
    }
    let after = table.partition_point(|p| p.0 <= temperature).min(table.len() - 1);
    let (a, b) = (table[after.saturating_sub(1)], table[after]);
    if b.0 > a.0 { a.1 + (b.1 - a.1) * (temperature - a.0) / (b.0 - a.0) } else { b.1 }
}

/// Why a table cannot be read, if so: empty, falling temperatures, or values outside `least` to `most`.
pub fn fault(table: &[(f64, f64)], least: f64, most: f64) -> Option<String> {
    if table.is_empty() {
        return Some("has no points".into());
    }
    for pair in table.windows(2) {
        if pair[1].0 < pair[0].0 {
            return Some(format!("goes back from {:.1} K to {:.1} K", pair[0].0, pair[1].0));
        }
    }
    table
        .iter()
        .find(|p| !(p.0.is_finite() && p.0 > 0.0 && p.1 >= least && p.1 <= most))
        .map(|p| format!("gives {:e} at {:.1} K", p.1, p.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn straight_pieces_are_exact() {
        let table = [(300.0, 1.0), (400.0, 3.0), (500.0, 3.0)];
        assert_eq!(value(&table, 350.0), 2.0);
        assert_eq!(value(&table, 200.0), 1.0);
        assert_eq!(value(&table, 900.0), 3.0);
        let step = [(300.0, 1.0), (350.0, 1.0), (350.0, 5.0), (400.0, 5.0)];
        assert_eq!((value(&step, 349.0), value(&step, 351.0)), (1.0, 5.0));
        assert!(fault(&[], 0.0, 1.0).is_some() && fault(&[(300.0, f64::NAN)], 0.0, 1.0).is_some());
    }
}
