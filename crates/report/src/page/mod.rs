//! The report of a run: one self-contained page with the verdicts first, then the pictures, then every number with its
//! source.
//!
//! The page works without a network, in light, dark and print, and by keyboard; nothing in it is said by colour alone.
//! It is written as XHTML-style HTML, so that an XML reader can check it. There is no time stamp in it: the same
//! results give the same bytes.

mod cleaning;
mod cut;
mod figures;
mod heat;
mod history;
mod life_test;
mod measured;
mod micrographs;
mod planning;
mod process;
mod studies;
pub mod style;
mod summary;
mod underfill;
mod write;

use crate::chart;
use crate::svg::Svg;
use facedown_package::Design;
use facedown_pipeline::results::Results;
use write::{figure, heading, paragraph};

/// A plan view that the page shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanPicture {
    /// The picture as [`crate::plan_view()`] gives it, with an identifier of its own.
    pub svg: String,
    /// What it shows.
    pub caption: String,
    /// Name of the file beside the page that holds the same picture.
    pub file: String,
}

/// Bytes of plan views that a page holds; beyond them a picture is linked, so that the page still opens at once.
const PLAN_BYTES: usize = 5_000_000;

/// Warpage as the page shows it. Temperatures in degrees Celsius, warpage in micrometres, positive where the corners of
/// the ball side are nearer the board than the centre.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WarpageCourse {
    /// Stage with its temperature in words, and warpage.
    pub stages: Vec<(String, f64)>,
    /// Temperature and warpage while it heats.
    pub heating: Vec<(f64, f64)>,
    /// Temperature and warpage while it cools.
    pub cooling: Vec<(f64, f64)>,
    /// What the ball pitch permits, to either side.
    pub permissible: Option<f64>,
}

/// What the page is made from.
#[derive(Debug, Clone)]
pub struct PageInput<'a> {
    /// The results file of the run.
    pub results: &'a Results,
    /// The design.
    pub design: &'a Design,
    /// Plan views.
    pub plans: Vec<PlanPicture>,
    /// Joints by die.
    pub joints: Vec<(&'a str, &'a facedown_joints::Outcome)>,
    /// Underfill by die.
    pub underfill: Vec<(&'a str, &'a facedown_underfill::Outcome)>,
    /// Micrographs by die.
    pub micrographs: Vec<(&'a str, &'a facedown_underfill::micrograph::judged::Judged)>,
    /// Electrical by die.
    pub electrical: Vec<(&'a str, &'a facedown_electrical::Outcome)>,
    /// Heat of the package.
    pub heat: Option<&'a facedown_heat::Outcome>,
    /// Warpage of the package.
    pub warpage: Option<WarpageCourse>,
    /// Life by die, interposer and balls.
    pub life: Vec<(&'a str, &'a facedown_life::Outcome)>,
    /// Cost of the package.
    pub cost: Option<&'a facedown_cost::Outcome>,
}

impl<'a> PageInput<'a> {
    /// A page of results and design alone.
    pub fn new(results: &'a Results, design: &'a Design) -> PageInput<'a> {
        PageInput {
            results,
            design,
            plans: Vec::new(),
            joints: Vec::new(),
            underfill: Vec::new(),
            micrographs: Vec::new(),
            electrical: Vec::new(),
            heat: None,
            warpage: None,
            life: Vec::new(),
            cost: None,
        }
    }
}

/// The sections of a page: identifier, heading, and what writes it. A writer that has nothing to show writes nothing.
type Section = (&'static str, &'static str, fn(&PageInput<'_>, &mut Svg));

const SECTIONS: [Section; 19] = [
    ("verdicts", "Verdicts", summary::verdicts),
    ("life-line", "The life line", life_line),
    ("plan", "Plan view", plans),
    ("section", "Section", section),
    ("heat", "Where the kelvins go", heat::heat),
    ("warpage", "Warpage", studies::warpage),
    ("measured", "Readings of the faces", measured::measured),
    ("cleaning", "Cleaning and waiting", cleaning::cleaning),
    ("underfill", "Underfill", underfill::underfill),
    ("planning", "Recipes and process windows", planning::planning),
    ("micrographs", "Micrographs", micrographs::micrographs),
    ("joints", "Joints", studies::joints),
    ("life", "Life", studies::life),
    ("electrical", "Wire bond against flip chip", studies::electrical),
    ("tolerances", "What the tolerances do", figures::tolerances),
    ("cost", "Cost", studies::cost),
    ("process", "Process sheet", process::sheet),
    ("qualification", "Qualification plan", process::plan),
    ("figures", "All figures", figures::all),
];

/// The page as text.
pub fn page(input: &PageInput<'_>) -> String {
    let mut sections: Vec<(&str, &str, String)> = Vec::new();
    for (id, title, write) in SECTIONS {
        let mut part = Svg::new();
        part.start("section").attr("id", id).attr("aria-labelledby", format!("{id}-head"));
        part.start("h2").attr("id", format!("{id}-head")).text(title).end();
        let empty = part.len();
        write(input, &mut part);
        if part.len() > empty {
            sections.push((id, title, part.finish()));
        }
    }
    let mut sources = Svg::new();
    figures::sources(input, &mut sources);
    sections.push(("sources", "Sources", sources.finish()));
    let name = &input.results.design.name;
    let mut html = Svg::new();
    html.start("html").attr("lang", "en").attr("xmlns", "http://www.w3.org/1999/xhtml");
    html.start("head");
    html.start("meta").attr("charset", "utf-8").end();
    html.start("meta").attr("name", "viewport").attr("content", "width=device-width, initial-scale=1").end();
    html.start("meta").attr("name", "color-scheme").attr("content", "light dark").end();
    html.start("title").text(&format!("{name}: flip-chip package report")).end();
    html.start("style").raw(&style::sheet()).end();
    html.end();
    html.start("body");
    html.start("a").attr("class", "skip").attr("href", "#main").text("To the verdicts").end();
    summary::header(input, &mut html);
    html.start("nav").attr("aria-label", "Contents").start("ul");
    for (id, title, _) in &sections {
        html.start("li").start("a").attr("href", format!("#{id}")).text(title).end().end();
    }
    html.end().end();
    html.start("main").attr("id", "main");
    for (_, _, text) in &sections {
        html.raw(text);
    }
    html.end();
    html.start("footer");
    let program = &input.results.program;
    let file = &input.results.design;
    paragraph(
        &mut html,
        "small",
        &format!(
            "Written by facedown {program} from {}, BLAKE3 {}. The numbers of this page stand in results.json beside it.",
            file.file, file.blake3
        ),
    );
    html.end();
    format!("<!DOCTYPE html>\n{}", html.finish())
}

fn life_line(input: &PageInput<'_>, out: &mut Svg) {
    let knots = history::knots(input);
    let told: Vec<String> = knots
        .iter()
        .map(|k| {
            let figure = k.figure.as_ref().map_or("no figure".into(), |(n, v, j)| {
                format!("{n} {v}{}", j.map(|j| format!(", {}", j.words())).unwrap_or_default())
            });
            format!("{}: {figure}", k.stage)
        })
        .collect();
    let words = chart::Words {
        id: "chart-life-line",
        title: "Temperature of the package through its life",
        description: &format!("Stage by stage with the figure that each decides. {}.", told.join("; ")),
    };
    let caption = "The package's temperature through its stages, and the figure that each stage decides. Ball attach and board \
                   reflow are drawn with the profile of the chip-attach reflow.";
    figure(out, "Life line", &chart::life_line::life_line(&words, &knots), caption);
}

fn plans(input: &PageInput<'_>, out: &mut Svg) {
    let mut room = PLAN_BYTES;
    for plan in &input.plans {
        if let Some(left) = room.checked_sub(plan.svg.len()) {
            room = left;
            figure(out, &plan.caption, &plan.svg, &plan.caption);
            continue;
        }
        out.start("p").text(&format!("{} This picture is large and has a file of its own: ", plan.caption));
        out.start("a").attr("href", &plan.file).text(&plan.file).end();
        out.end();
    }
}

fn section(input: &PageInput<'_>, out: &mut Svg) {
    let Some((section, notes)) = cut::section(input) else { return };
    let sizes: Vec<String> = section
        .dimensions
        .iter()
        .map(|d| format!("{} {} um", d.name, crate::number::significant((d.z[1] - d.z[0]) * 1e6, 3)))
        .collect();
    let words = chart::Words {
        id: "chart-section",
        title: "The package cut through the first die, true to scale and stretched in height",
        description: &format!("From the board upward: {}.", sizes.join(", ")),
    };
    figure(out, "Section", &chart::section::section(&words, &section), &notes);
}

/// A heading of the third rank.
fn third(out: &mut Svg, text: &str) {
    heading(out, "h3", text);
}
