//! A solder joint from the side, at equal scale in both directions, dimensioned as an engineer would.

use super::{HALF, Words, open};
use crate::number::{fixed, significant};
use crate::svg::Svg;
use crate::typography::shorten;

/// A joint.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Outline from the lower pad to the upper one: radius and height, m.
    pub outline: Vec<[f64; 2]>,
    /// Height from pad to pad, m.
    pub height: f64,
    /// Largest diameter, m.
    pub width: f64,
    /// Names of what is above and below.
    pub above: String,
    /// What is below.
    pub below: String,
}

/// Draws it.
pub fn joint(words: &Words<'_>, joint: &Joint) -> String {
    let total = 300.0;
    let mut svg = open(words, HALF, total);
    let radius = |p: Option<&[f64; 2]>| p.map_or(0.0, |p| p[0]);
    let (lower, upper) = (radius(joint.outline.first()), radius(joint.outline.last()));
    let room = joint.width.max(2.0 * lower).max(2.0 * upper).max(1e-9);
    let scale = (180.0 / joint.height.max(1e-9)).min(250.0 / room);
    let (middle, base) = (HALF / 2.0 - 20.0, total / 2.0 + joint.height * scale / 2.0);
    let at = |r: f64, z: f64| (middle + r * scale, base - z * scale);
    let (left, right) = (middle - 150.0, middle + 150.0);
    let top = base - joint.height * scale;
    plate(&mut svg, "k-silicon", left, top - 30.0, right - left, 26.0);
    plate(&mut svg, "k-laminate", left, base + 4.0, right - left, 26.0);
    plate(&mut svg, "k-plate", middle - upper * scale, top - 4.0, 2.0 * upper * scale, 4.0);
    plate(&mut svg, "k-copper", middle - lower * scale, base, 2.0 * lower * scale, 4.0);
    let mut d = String::new();
    for (sign, points) in
        [(1.0, joint.outline.clone()), (-1.0, joint.outline.iter().rev().copied().collect())]
    {
        for [r, z] in points {
            let (x, y) = at(sign * r, z);
            d.push_str(if d.is_empty() { "M" } else { "L" });
            d.push_str(&format!("{} {}", fixed(x, 1), fixed(y, 1)));
        }
    }
    if !d.is_empty() {
        svg.start("path").attr("class", "k-solder").attr("d", d + "Z").end();
    }
    let name = |text: &str| shorten(text, super::TEXT, left - 12.0);
    svg.label("text end", left - 8.0, top - 12.0, &name(&joint.above));
    svg.label("text end", left - 8.0, base + 22.0, &name(&joint.below));
    let um = |m: f64| format!("{} um", significant(m * 1e6, 3));
    let x = right + 20.0;
    dimension(&mut svg, x, top, base);
    svg.label("value", x + 8.0, (top + base) / 2.0 + 4.5, &um(joint.height));
    let y = base + 52.0;
    let (a, b) = (middle - joint.width * scale / 2.0, middle + joint.width * scale / 2.0);
    let d = format!(
        "M{0} {1}v10M{2} {1}v10M{0} {3}H{2}",
        fixed(a, 1),
        fixed(y - 5.0, 1),
        fixed(b, 1),
        fixed(y, 1)
    );
    svg.start("path").attr("class", "dim").attr("d", d).end();
    svg.label("value mid", middle, y - 6.0, &um(joint.width));
    svg.finish()
}

fn plate(svg: &mut Svg, class: &str, x: f64, y: f64, width: f64, height: f64) {
    svg.start("rect").attr("class", class).num("x", x).num("y", y).num("width", width.max(0.0));
    svg.num("height", height).end();
}

/// An upright dimension line between two heights.
pub fn dimension(svg: &mut Svg, x: f64, top: f64, bottom: f64) {
    let d = format!(
        "M{0} {1}h10M{0} {2}h10M{3} {1}V{2}",
        fixed(x - 5.0, 1),
        fixed(top, 1),
        fixed(bottom, 1),
        fixed(x, 1)
    );
    svg.start("path").attr("class", "dim").attr("d", d).end();
}
