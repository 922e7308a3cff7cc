//! The plan view: a redistribution seen from above, everything at its true size.
//!
//! One path per net, layer and kind of thing keeps the file small and lets a net be chosen as a whole. The
//! plan itself is a nested picture in micrometres under a single turning-over of its axes, so a coordinate in
//! the file is the coordinate of the design. Lines and names inside it are measured in its font size, which
//! the script shrinks as one zooms, so that they stay as fine as they were.
//!
//! Size: about 0.6 kB per two-terminal net with round corners. Time: linear in the corners of the drawing.

mod frame;
mod labels;
mod options;
mod outline;
mod panel;
mod scene;
mod style;

use facedown_layout::Drawing;
use facedown_quantity::Nm;

use crate::number::{fixed, millimetres};
use crate::svg::Svg;
use crate::verdict::triangle;
use frame::Frame;
use labels::{LEVELS, Name, Run};
pub use options::{KeyFigure, NetNote, PlanOptions, Theme, View, Violation};
use scene::{Scene, Story};

/// Choosing nets, zooming, moving. `PICTURE` stands for the identifier.
const SCRIPT: &str = include_str!("plan.js");

/// Pixels of the plan's font, the unit of its line widths.
const EM: f64 = 10.0;

/// Pixels that a bump should have before the rings inside it are drawn.
const FINE_PIXELS: f64 = 22.0;

/// The plan view of a drawing as one SVG document.
///
/// The picture is `options.width` pixels wide (held to 320..=4000) and as tall as it needs; the plan inside
/// has coordinates in micrometres, written to the nanometre, with long curves thinned to within a
/// twenty-thousandth of the die's longer side. Works for any drawing, an empty one included.
pub fn plan_view(drawing: &Drawing, options: &PlanOptions) -> String {
    Plan::of(drawing, &options.highlight).view(options)
}

/// A drawing sorted once, for several views of it.
pub struct Plan<'a> {
    drawing: &'a Drawing,
    scene: Scene<'a>,
}

impl<'a> Plan<'a> {
    /// Sorts a drawing; the nets of `highlight` are kept in full colour in every view.
    pub fn of(drawing: &'a Drawing, highlight: &'a [String]) -> Plan<'a> {
        let longer = drawing.width.0.max(drawing.height.0).max(1);
        Plan { drawing, scene: Scene::new(drawing, highlight, Nm((longer / 20_000).max(1))) }
    }

    /// One view, as [`plan_view()`] gives it; `options.highlight` should be what it was sorted with.
    pub fn view(&self, options: &PlanOptions) -> String {
        draw(self.drawing, &self.scene, options)
    }
}

fn draw(drawing: &Drawing, scene: &Scene, options: &PlanOptions) -> String {
    let id = identifier(&options.id);
    let total = f64::from(options.width.clamp(320, 4000));
    let wide = total >= 820.0;
    let edge = if wide { 32.0 } else { 18.0 };
    let axis_room = 34.0;
    let panel_room = if wide { 264.0 } else { total - 2.0 * edge };
    let plan_room = total - 2.0 * edge - axis_room - if wide { panel_room + 44.0 } else { 0.0 };

    let wanted = labels::wanted(drawing, scene);
    let margins = labels::margins(&wanted, drawing);
    let typical = scene.typical_bump().unwrap_or(0.0);

    let mut body = Svg::new();
    let head_y = edge - 6.0;
    let below_head =
        head_y + panel::head(&mut body, drawing, options, scene, edge, head_y, total - 2.0 * edge);
    let corner = (edge + axis_room, below_head + 26.0);
    let frame = Frame::fit(drawing, options, margins, corner, plan_room, plan_room * 1.3);
    let names = labels::names(&wanted, drawing, &frame, typical);
    let fine = FINE_PIXELS / (typical * frame.scale).max(1e-6);
    plan(&mut body, drawing, options, scene, &frame, &names, fine);
    let mut plan_bottom = frame.top + frame.height + frame.draw(&mut body);
    if options.interactive {
        plan_bottom += 22.0;
        let hint = if wide {
            "Point at a net to read it, click to keep it. The wheel zooms, dragging moves, a double click returns."
        } else {
            "Point at a net to read it, click to keep it."
        };
        let left = if plan_room < 500.0 { frame.left } else { frame.die_left() };
        body.label("info", left, plan_bottom - 8.0, hint);
    }
    let panel_bottom = if wide {
        panel::panel(&mut body, options, scene, total - edge - panel_room, below_head + 22.0, panel_room)
    } else {
        panel::panel(&mut body, options, scene, edge, plan_bottom + 26.0, panel_room)
    };
    let total_height = plan_bottom.max(panel_bottom + if wide { 0.0 } else { 24.0 }) + edge - 4.0;
    signature(&mut body, total - edge, total_height - edge + 10.0);

    document(drawing, options, &id, (total, total_height.ceil()), scene, &frame, &body.finish())
}

/// The outermost element with style, patterns and script.
fn document(
    drawing: &Drawing,
    options: &PlanOptions,
    id: &str,
    size: (f64, f64),
    scene: &Scene,
    frame: &Frame,
    body: &str,
) -> String {
    let mut svg = Svg::new();
    svg.start("svg").attr("xmlns", "http://www.w3.org/2000/svg").attr("id", id);
    svg.num("width", size.0).num("height", size.1);
    svg.attr("viewBox", format!("0 0 {} {}", fixed(size.0, 2), fixed(size.1, 2)));
    if !options.highlight.is_empty() {
        svg.attr("class", "some");
    }
    svg.attr("role", "img").attr("aria-labelledby", format!("{id}-title {id}-desc"));
    let title = if options.design.trim().is_empty() { &drawing.name } else { &options.design };
    svg.start("title").attr("id", format!("{id}-title")).text(&format!("{title}: plan view")).end();
    let invented = if options.invented { " Invented data." } else { "" };
    let description = format!(
        "Die {}, {} by {}, {} nets; {}.{invented}",
        drawing.name,
        millimetres(drawing.width),
        millimetres(drawing.height),
        scene.nets.len(),
        options.view.words()
    );
    svg.start("desc").attr("id", format!("{id}-desc")).text(&description).end();
    svg.start("style").text(&style::sheet(&format!("#{id} "), options.theme, options.view)).end();
    svg.start("defs");
    hatch(&mut svg, &format!("{id}-c2"), 5.0 / frame.scale);
    hatch(&mut svg, &format!("{id}-k2"), 5.0);

    // A class, so that the hatch follows the theme; a reference, so that several pictures can stand on a page.
    svg.start("style")
        .text(&format!("#{id} .c2{{fill:url(#{id}-c2)}}#{id} .k-c2{{fill:url(#{id}-k2)}}"))
        .end();
    svg.end();
    svg.start("rect").attr("class", "bg").attr("width", "100%").attr("height", "100%").end();
    svg.raw("\n").raw(body.trim_end());
    if options.interactive {
        let script = SCRIPT.replace("PICTURE", id);
        svg.start("script").raw("<![CDATA[\n").raw(script.trim_end()).raw("\n]]>").end();
    }
    svg.finish()
}

/// The name of the tool beside a die on its bumps.
fn signature(svg: &mut Svg, right: f64, y: f64) {
    let left = right - 84.0;
    let bumps: String = (0..3)
        .map(|i| format!("M{} {}v3h2v-3z", fixed(left + 1.5 + 4.0 * f64::from(i), 2), fixed(y - 3.0, 2)))
        .collect();
    svg.start("path").attr("class", "mark");
    svg.attr("d", format!("M{} {}h13v5h-13z{bumps}", fixed(left, 2), fixed(y - 8.0, 2))).end();
    svg.start("text")
        .attr("class", "mark end")
        .num("x", right)
        .num("y", y)
        .attr("textLength", 64)
        .text("facedown")
        .end();
}

/// The fine diagonal of further copper layers, with a period in the units of its user.
fn hatch(svg: &mut Svg, id: &str, period: f64) {
    let p = fixed(period, 3);
    svg.start("pattern")
        .attr("id", id)
        .attr("patternUnits", "userSpaceOnUse")
        .attr("width", &p)
        .attr("height", &p);
    svg.start("rect").attr("class", "c2a").attr("width", &p).attr("height", &p).end();
    // The corners are drawn too, so that the line is whole where tiles meet.
    let h = fixed(period / 2.0, 3);
    let d = format!("M-{h} {h}L{h}-{h}M0 {p}L{p} 0M{h} {e}L{e} {h}", e = fixed(period * 1.5, 3));
    svg.start("path").attr("class", "c2b").attr("stroke-width", fixed(period * 0.16, 3)).attr("d", d).end();
    svg.end();
}

/// The plan itself: a nested picture in micrometres.
#[allow(clippy::too_many_arguments)] // drawn once, from parts that are made once
fn plan(
    svg: &mut Svg,
    drawing: &Drawing,
    options: &PlanOptions,
    scene: &Scene,
    frame: &Frame,
    names: &[Name],
    fine: f64,
) {
    svg.start("svg").attr("class", if fine > 1.0 { "plan coarse" } else { "plan" });
    svg.num("x", frame.left).num("y", frame.top).num("width", frame.width).num("height", frame.height);
    svg.attr("viewBox", frame.view_box())
        .attr("font-size", fixed(EM / frame.scale, 3))
        .attr("data-fine", fixed(fine, 3));
    svg.start("rect").attr("class", "bg");
    let view = frame.view_box();
    for (name, value) in ["x", "y", "width", "height"].iter().zip(view.split(' ')) {
        svg.attr(name, value);
    }
    svg.end();
    svg.start("g").attr("transform", frame.transform());
    svg.start("rect").attr("class", "die");
    svg.attr("width", fixed(drawing.width.um(), 3)).attr("height", fixed(drawing.height.um(), 3)).end();
    // The mark stands outside the corner, where it hides nothing.
    let (near, far) = (fixed(-3.0 / frame.scale, 3), fixed(-13.0 / frame.scale, 3));
    svg.start("path").attr("class", "cm").attr("d", format!("M{near} {near}V{far}L{far} {near}z")).end();
    if !scene.outlines.is_empty() {
        svg.start("path").attr("class", "seal").attr("d", &scene.outlines).end();
    }
    if !scene.keep_outs.is_empty() {
        svg.start("path").attr("class", "ko").attr("d", &scene.keep_outs).end();
    }
    for story in scene.metal.values() {
        paint_story(svg, story, options, scene);
    }
    paint_story(svg, &scene.sites_story, options, scene);
    svg.end();
    paint_names(svg, options, scene, frame, names);
    paint_violations(svg, options, frame);
    svg.end();
}

fn paint_story(svg: &mut Svg, story: &Story, options: &PlanOptions, scene: &Scene) {
    for (net, paths) in story {
        svg.start("g");
        match net {
            Some(name) => {
                let on = scene.chosen.contains(name);
                svg.attr("class", if on { "n on" } else { "n" });
                svg.attr("data-n", scene.nets.get(name).copied().unwrap_or_default());
                svg.start("title").text(&net_title(name, options)).end();
            }
            None => {
                svg.attr("class", "plain");
            }
        }
        for (paint, path) in paths {
            svg.start("path").attr("class", paint.class()).attr("d", path).end();
        }
        svg.end();
    }
}

/// What is said of a net: a line each for its name, pads, bumps and length, as far as known.
fn net_title(name: &str, options: &PlanOptions) -> String {
    let mut lines = vec![format!("net {name}")];
    if let Some(note) = options.nets.get(name) {
        for (one, many, names) in [("pad", "pads", &note.pads), ("bump", "bumps", &note.bumps)] {
            match names.len() {
                0 => {}
                1 => lines.push(format!("{one} {}", names[0])),
                count if count <= 8 => lines.push(format!("{many} {}", names.join(", "))),
                count => lines.push(format!("{count} {many}: {}, ...", names[..6].join(", "))),
            }
        }
        if let Some(length) = note.length {
            lines.push(format!("length {}", millimetres(length)));
        }
    }
    lines.join("\n")
}

fn paint_names(svg: &mut Svg, options: &PlanOptions, scene: &Scene, frame: &Frame, names: &[Name]) {
    let marks: Vec<(f64, f64)> =
        options.violations.iter().map(|v| frame.seen(v.at.x.um(), v.at.y.um())).collect();
    let level_of = labels::levels(names, &scene.chosen, frame.scale, &marks, 10.0);

    svg.start("g").attr("class", "t");
    for level in 0..LEVELS {
        let shown: Vec<&Name> =
            names.iter().zip(&level_of).filter(|(_, l)| **l == Some(level)).map(|(n, _)| n).collect();
        if shown.is_empty() {
            continue;
        }
        svg.start("g");
        if level > 0 {
            svg.attr("class", format!("l{level}"));
        }
        for name in shown {
            let side = match name.run {
                Run::Middle => "",
                Run::Right | Run::Up => "s",
                Run::Left | Run::Down => "e",
            };
            let on = name.net.is_some_and(|n| scene.chosen.contains(n));
            let class = [side, if on { "on" } else { "" }].join(" ");
            let (x, y) = (fixed(name.x, 1), fixed(name.y, 1));
            svg.start("text").attr("x", &x).attr("y", &y).attr("dy", ".36em");
            if !class.trim().is_empty() {
                svg.attr("class", class.trim());
            }
            if matches!(name.run, Run::Up | Run::Down) {
                svg.attr("transform", format!("rotate(-90 {x} {y})"));
            }
            svg.attr("font-size", format!("{}em", fixed(name.size / EM, 2)));
            if let Some(number) = name.net.and_then(|n| scene.nets.get(n)) {
                svg.attr("data-n", number);
            }
            svg.text(&name.text).end();
        }
        svg.end();
    }
    svg.end();
}

fn paint_violations(svg: &mut Svg, options: &PlanOptions, frame: &Frame) {
    if options.violations.is_empty() {
        return;
    }
    let triangle = triangle(0.0, 0.0, 7.0);
    svg.start("g").attr("class", "viol");
    for (i, violation) in options.violations.iter().enumerate() {
        let (x, y) = frame.seen(violation.at.x.um(), violation.at.y.um());
        svg.start("svg")
            .attr("x", fixed(x, 3))
            .attr("y", fixed(y, 3))
            .attr("width", "2em")
            .attr("height", "2em");
        svg.attr("viewBox", "0 0 20 20").attr("overflow", "visible");
        svg.start("title").text(&violation.sentence).end();
        svg.start("path").attr("class", "halo").attr("d", &triangle).end();
        svg.start("path").attr("class", "v-short").attr("d", &triangle).end();
        if i < panel::LISTED {
            svg.label("vn", 10.0, 4.5, &(i + 1).to_string());
        }
        svg.end();
    }
    svg.end();
}

/// Letters, digits and hyphens of a wish, led by a letter; `plan` when nothing is left.
fn identifier(wish: &str) -> String {
    let kept: String = wish.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    if kept.starts_with(|c: char| c.is_ascii_alphabetic()) { kept } else { format!("plan{kept}") }
}

#[cfg(test)]
mod tests;
