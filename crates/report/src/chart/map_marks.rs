//! Marks over a map: gas that is shut in, bumps that stand in it.

use crate::number::fixed;
use crate::svg::Svg;

/// Rings that are drawn at most; more would hide the map.
const MOST_RINGS: usize = 4000;
/// Smallest ring that can be seen, picture units.
const SMALLEST: f64 = 0.8;

/// Rings at places; `scale` is picture units a mm.
pub(super) fn rings(svg: &mut Svg, rings: &[[f64; 3]], at: impl Fn(f64, f64) -> (f64, f64), scale: f64) {
    if rings.is_empty() || rings.len() > MOST_RINGS {
        return;
    }
    let mut d = String::new();
    for [x, y, radius] in rings {
        let ((x, y), r) = (at(*x, *y), radius * scale);
        if r < SMALLEST {
            continue;
        }
        let (r, across) = (fixed(r, 2), fixed(2.0 * r, 2));
        d.push_str(&format!(
            "M{} {}a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0-{across} 0",
            fixed(x - radius * scale, 2),
            fixed(y, 2)
        ));
    }
    if !d.is_empty() {
        svg.start("path").attr("class", "map-ring").attr("d", d).end();
    }
}

/// Cells of gas: paper, crossed out, with a dark rim along what is no gas. Grid lines in mm.
pub(super) fn gas(
    svg: &mut Svg,
    id: &str,
    gas: &[bool],
    lines: (&[f64], &[f64]),
    at: impl Fn(f64, f64) -> (f64, f64),
) {
    let columns = lines.0.len().saturating_sub(1);
    if columns == 0 || !gas.contains(&true) {
        return;
    }
    let rows = gas.len() / columns;
    let holds = |i: usize, j: usize| i < columns && j < rows && gas[j * columns + i];
    let (mut cells, mut rim) = (String::new(), String::new());
    for j in 0..rows {
        for i in (0..columns).filter(|i| holds(*i, j)) {
            let (left, low) = at(lines.0[i], lines.1[j]);
            let (right, high) = at(lines.0[i + 1], lines.1[j + 1]);
            let [left, right, low, high] = [left, right, low, high].map(|v| fixed(v, 2));
            cells.push_str(&format!("M{left} {high}H{right}V{low}H{left}z"));
            for (open, side) in [
                (i == 0 || !holds(i.wrapping_sub(1), j), format!("M{left} {low}V{high}")),
                (!holds(i + 1, j), format!("M{right} {low}V{high}")),
                (j == 0 || !holds(i, j.wrapping_sub(1)), format!("M{left} {low}H{right}")),
                (!holds(i, j + 1), format!("M{left} {high}H{right}")),
            ] {
                if open {
                    rim.push_str(&side);
                }
            }
        }
    }
    let cross = format!("{id}-cross");
    svg.start("pattern")
        .attr("id", &cross)
        .attr("patternUnits", "userSpaceOnUse")
        .num("width", 5.0)
        .num("height", 5.0);
    svg.start("path").attr("class", "map-cross").attr("d", "M0 0L5 5M5 0L0 5").end();
    svg.end();
    svg.start("path").attr("class", "map-gas").attr("d", &cells).end();
    svg.start("path").attr("fill", format!("url(#{cross})")).attr("d", &cells).end();
    svg.start("path").attr("class", "map-rim").attr("d", rim).end();
}
