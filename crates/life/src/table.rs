//! Properties over temperature: values and integrals of piecewise straight tables.

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

/// The integral of a table from one temperature to another, exact for straight pieces. For an expansion this is the
/// strain; negative where `to` lies below `from`.
pub fn integral(table: &[(f64, f64)], from: f64, to: f64) -> f64 {
    if to < from {
        return -integral(table, to, from);
    }
    let mut sum = 0.0;
    let mut at = from;
    for &(knot, _) in table.iter().filter(|p| p.0 > from && p.0 < to) {
        // A step (two points at one temperature) has no width; the middle of a piece is free of it.
        sum += value(table, 0.5 * (at + knot)) * (knot - at);
        at = knot;
    }
    sum + value(table, 0.5 * (at + to)) * (to - at)
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
        assert!((integral(&table, 250.0, 600.0) - (50.0 + 200.0 + 300.0 + 300.0)).abs() < 1e-12);
        assert!((integral(&table, 600.0, 250.0) + 850.0).abs() < 1e-12);
        let step = [(300.0, 1.0), (350.0, 1.0), (350.0, 5.0), (400.0, 5.0)];
        assert!((integral(&step, 300.0, 400.0) - 300.0).abs() < 1e-12);
        assert!(fault(&[], 0.0, 1.0).is_some() && fault(&[(300.0, f64::NAN)], 0.0, 1.0).is_some());
    }
}
