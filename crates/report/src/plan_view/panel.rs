//! Title, key figures, legend and list of violations: the words beside the plan.

use facedown_layout::Drawing;

use super::options::{PlanOptions, View};
use super::scene::{Paint, Scene};
use crate::number::fixed;
use crate::svg::Svg;
use crate::typography::{shorten, width, wrap};
use crate::verdict::{Verdict, mark, triangle};

/// Most violations that are written out beside the plan; the others are marked in it.
pub(super) const LISTED: usize = 8;

/// Draws the head over the whole picture and returns its height in pixels.
pub(super) fn head(
    svg: &mut Svg,
    drawing: &Drawing,
    options: &PlanOptions,
    scene: &Scene,
    x: f64,
    y: f64,
    room: f64,
) -> f64 {
    let badge = "invented data";
    let badge_width = width(badge, 11.0) + 18.0;
    let title_room = if options.invented { room - badge_width - 16.0 } else { room };
    let title = if options.design.trim().is_empty() { &drawing.name } else { &options.design };
    svg.label("h1", x, y + 24.0, &shorten(title, 26.0, title_room));
    if options.invented {
        let left = x + room - badge_width;
        svg.start("rect").attr("class", "badge").num("x", left).num("y", y + 6.0);
        svg.num("width", badge_width).num("height", 21.0).num("rx", 10.5).end();
        svg.label("bt mid", left + badge_width / 2.0, y + 20.5, badge);
    }
    let layers = scene.metal.len();
    let mut parts = vec![format!(
        "die {}, {} × {} mm",
        drawing.name,
        fixed(drawing.width.m() * 1e3, 3),
        fixed(drawing.height.m() * 1e3, 3)
    )];
    parts.push(counted(scene.nets.len(), "net", "nets"));
    if layers > 0 {
        parts.push(counted(layers, "metal layer", "metal layers"));
    }
    let mut below = y + 46.0;
    for line in wrap(&parts.join(" · "), 13.0, room).iter().take(2) {
        svg.label("sub", x, below, line);
        below += 18.0;
    }
    below -= 4.0;
    svg.start("rect")
        .attr("class", "rule")
        .num("x", x)
        .num("y", below)
        .num("width", room)
        .num("height", 1.0)
        .end();
    below + 1.0 - y
}

/// A count with its noun.
fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

/// Draws the panel at a place and returns the y where it ends.
pub(super) fn panel(svg: &mut Svg, options: &PlanOptions, scene: &Scene, x: f64, y: f64, room: f64) -> f64 {
    let mut y = y;
    y = key_figures(svg, options, x, y, room);
    y = violations(svg, options, x, y, room);
    y = chosen(svg, options, scene, x, y, room);
    legend(svg, options, scene, x, y, room)
}

/// One row a figure: label, value, and below the label the verdict in shape and word.
fn key_figures(svg: &mut Svg, options: &PlanOptions, x: f64, mut y: f64, room: f64) -> f64 {
    let judged = options.figures.iter().any(|f| f.verdict.is_some());
    let indent = if judged { 19.0 } else { 0.0 };
    for (i, figure) in options.figures.iter().enumerate() {
        if i > 0 {
            svg.start("rect").attr("class", "rule").num("x", x).num("y", y - 1.0);
            svg.num("width", room).num("height", 1.0).end();
        }
        let value = shorten(&figure.value, 14.0, (room - indent) * 0.62);
        let label_room = room - indent - width(&value, 14.0) - 10.0;
        svg.label("kv end", x + room, y + 19.0, &value);
        if let Some(verdict) = figure.verdict {
            mark(svg, verdict, x + 5.5, y + 14.5, 9.0);
        }
        for line in wrap(&figure.label, 13.0, label_room).iter().take(2) {
            svg.label("kl", x + indent, y + 19.0, line);
            y += 16.0;
        }
        if let Some(verdict) = figure.verdict {
            let class = match verdict {
                Verdict::Meets => "vw good",
                Verdict::Short => "vw bad",
                Verdict::NotJudged => "vw",
            };
            svg.label(class, x + indent, y + 18.0, verdict.words());
            y += 14.0;
        }
        y += 13.0;
    }
    if options.figures.is_empty() { y } else { y + 18.0 }
}

fn violations(svg: &mut Svg, options: &PlanOptions, x: f64, mut y: f64, room: f64) -> f64 {
    let count = options.violations.len();
    if count == 0 {
        return y;
    }
    mark(svg, Verdict::Short, x + 7.0, y + 8.0, 12.0);
    svg.label("h2 bad", x + 22.0, y + 13.0, &counted(count, "rule violation", "rule violations"));
    y += 24.0;
    for (i, violation) in options.violations.iter().take(LISTED).enumerate() {
        svg.label("nb", x, y + 12.0, &(i + 1).to_string());
        for line in wrap(&violation.sentence, 12.0, room - 22.0).iter().take(4) {
            svg.label("st", x + 22.0, y + 12.0, line);
            y += 16.0;
        }
        y += 5.0;
    }
    if count > LISTED {
        let more = format!("and {} more, each marked in the plan", count - LISTED);
        svg.label("st", x + 22.0, y + 12.0, &more);
        y += 21.0;
    }
    y + 18.0
}

/// Names the nets that are kept in full colour.
fn chosen(svg: &mut Svg, options: &PlanOptions, scene: &Scene, x: f64, mut y: f64, room: f64) -> f64 {
    if options.highlight.is_empty() {
        return y;
    }
    svg.label("h2", x, y + 13.0, "In full colour");
    y += 22.0;
    let named: Vec<String> = options
        .highlight
        .iter()
        .map(|n| {
            if scene.nets.contains_key(n.as_str()) { n.clone() } else { format!("{n} (not in the drawing)") }
        })
        .collect();
    for line in wrap(&named.join(", "), 12.0, room).iter().take(6) {
        svg.label("st", x, y + 12.0, line);
        y += 16.0;
    }
    y + 22.0
}

/// A swatch of the legend: style class, shape, words.
struct Entry {
    class: &'static str,
    shape: Swatch,
    words: String,
}

enum Swatch {
    Flat,
    Disc,
    Square,
    Corner,
    Triangle,
}

fn entries(options: &PlanOptions, scene: &Scene) -> Vec<Entry> {
    let mut list = Vec::new();
    let mut add = |class, shape, words: String| list.push(Entry { class, shape, words });
    let has = |paint| scene.paints.contains(&paint);
    if options.view == View::DieFaceDown {
        add("die", Swatch::Flat, "silicon, seen through".into());
    } else {
        add("die", Swatch::Flat, "dielectric on the die".into());
    }
    for number in scene.metal.keys() {
        let class = if *number <= 1 { "c1" } else { "k-c2" };
        add(class, Swatch::Flat, format!("copper, RDL {number}"));
    }
    if has(Paint::Bump) {
        add("b", Swatch::Disc, "solder, bump".into());
    }
    if has(Paint::Ubm) && !has(Paint::Bump) {
        add("u", Swatch::Disc, "plate, UBM".into());
    }
    if has(Paint::Pad) {
        add("p", Swatch::Square, "plate, die pad".into());
    }
    if has(Paint::Unused) {
        add("x", Swatch::Disc, "site without a net".into());
    }
    if !scene.keep_outs.is_empty() {
        add("ko", Swatch::Flat, "keep-out".into());
    }
    add("cm", Swatch::Corner, "die origin corner".into());
    if !options.violations.is_empty() {
        add("v-short", Swatch::Triangle, "rule violation".into());
    }
    list
}

fn legend(svg: &mut Svg, options: &PlanOptions, scene: &Scene, x: f64, y: f64, room: f64) -> f64 {
    let list = entries(options, scene);
    let columns = if room >= 340.0 { 2 } else { 1 };
    let rows = list.len().div_ceil(columns);
    svg.label("h2", x, y + 13.0, "Made of");
    let top = y + 26.0;
    // The classes of the plan measure lines in its font size; ten pixels make them the same here.
    svg.start("g").attr("font-size", 10);
    for (i, entry) in list.iter().enumerate() {
        let left = x + (i / rows) as f64 * room / columns as f64;
        let middle = top + (i % rows) as f64 * 22.0 + 8.0;
        match entry.shape {
            Swatch::Flat => {
                svg.start("rect").attr("class", entry.class).num("x", left).num("y", middle - 6.0);
                svg.num("width", 22.0).num("height", 12.0).end();
            }
            Swatch::Disc => {
                svg.start("circle")
                    .attr("class", entry.class)
                    .num("cx", left + 11.0)
                    .num("cy", middle)
                    .num("r", 6.5);
                svg.end();
            }
            Swatch::Square => {
                svg.start("rect").attr("class", entry.class).num("x", left + 6.0).num("y", middle - 5.0);
                svg.num("width", 10.0).num("height", 10.0).end();
            }
            Swatch::Corner => {
                let d = format!("M{} {}h9l-9-9z", fixed(left + 6.5, 2), fixed(middle + 4.5, 2));
                svg.start("path").attr("class", entry.class).attr("d", d).end();
            }
            Swatch::Triangle => {
                svg.start("path")
                    .attr("class", entry.class)
                    .attr("d", triangle(left + 11.0, middle, 5.5))
                    .end();
            }
        }
        svg.label("st", left + 32.0, middle + 4.0, &entry.words);
    }
    svg.end();
    top + rows as f64 * 22.0
}
