//! The head of the page: what it is, where its data come from, what is met and what is not, and what holds it back.

use super::PageInput;
use super::write::{Cell, list, paragraph, table, word};
use crate::svg::Svg;
use crate::verdict::MarginBar;
use facedown_pipeline::results::{FigureEntry, RequirementEntry, StudyState};
use facedown_pipeline::verdict::{Verdict, amount};

/// Name, title, provenance, and the counts of verdicts.
pub fn header(input: &PageInput<'_>, out: &mut Svg) {
    let results = input.results;
    out.start("header");
    out.start("h1").text(&results.design.name).end();
    if let Some(title) = &input.design.heading.title {
        paragraph(out, "lead", title);
    }
    let provenance = &results.design.provenance;
    let data = if provenance == "invented" {
        "Data: invented, for demonstration.".to_owned()
    } else {
        format!("Data: {provenance}.")
    };
    paragraph(out, "provenance", &data);
    out.start("p").attr("class", "counts");
    let counts = results.verdicts;
    for (verdict, count) in [
        (Verdict::Meets, counts.meets),
        (Verdict::Short, counts.short),
        (Verdict::NotJudged, counts.not_judged),
    ] {
        out.start("span").attr("class", "count");
        word(out, verdict);
        out.start("strong").text(&count.to_string()).end();
        out.end();
    }
    out.end();
    paragraph(out, "lead", &holds_back(input));
    out.end();
}

/// What limits the design, in sentences.
fn holds_back(input: &PageInput<'_>) -> String {
    let requirements = &input.results.requirements;
    let margin = |r: &&RequirementEntry| r.margin.unwrap_or(0.0);
    let least = |verdict: Verdict| {
        let of = requirements.iter().filter(|r| r.verdict == verdict && r.margin.is_some());
        // A built-in requirement is all or nothing, so its room says nothing of what holds the design back.
        of.filter(|r| !(r.requirement.built_in && verdict == Verdict::Meets))
            .min_by(|a, b| margin(a).total_cmp(&margin(b)))
    };
    if requirements.is_empty() {
        return "Nothing is required of this design, so nothing is judged.".into();
    }
    let counts = input.results.verdicts;
    match (least(Verdict::Short), least(Verdict::Meets)) {
        (Some(short), _) => {
            let rest = match counts.short {
                1 => "One requirement is short".to_owned(),
                n => format!("{n} requirements are short; the farthest"),
            };
            format!("What holds the design back: {rest}. {}", short.sentence)
        }
        (None, _) if counts.short > 0 => {
            let short = requirements.iter().find(|r| r.verdict == Verdict::Short);
            let sentence = short.map(|r| r.sentence.as_str()).unwrap_or_default();
            format!("What holds the design back: {sentence}")
        }
        (None, Some(meets)) => format!(
            "Every requirement that could be judged is met. The least room, {:.0} % of the limit: {}",
            100.0 * margin(&meets),
            meets.sentence
        ),
        (None, None) if counts.meets > 0 => "Every requirement that could be judged is met.".into(),
        (None, None) => "No requirement could be judged.".into(),
    }
}

/// The figure that a requirement asks for.
fn asked<'a>(input: &'a PageInput<'_>, requirement: &RequirementEntry) -> Option<&'a FigureEntry> {
    input.results.studies.get(&requirement.study)?.figures.get(&requirement.figure)
}

/// Every requirement: short ones first, then those not judged, then those met.
pub fn verdicts(input: &PageInput<'_>, out: &mut Svg) {
    let rank = |v: Verdict| match v {
        Verdict::Short => 0,
        Verdict::NotJudged => 1,
        Verdict::Meets => 2,
    };
    let mut requirements: Vec<&RequirementEntry> = input.results.requirements.iter().collect();
    requirements.sort_by_key(|r| rank(r.verdict));
    if requirements.is_empty() {
        paragraph(out, "", "The design file has no table [[requirement]].");
    } else {
        let rows: Vec<Vec<Cell>> = requirements
            .iter()
            .map(|r| {
                let margin = r.margin.map_or_else(String::new, |m| format!("{:+.1} %", 100.0 * m));
                let limit = amount(r.requirement.limit, &r.requirement.unit);
                let value = r.value.map_or_else(|| "none".into(), |v| amount(v, &r.requirement.unit));
                vec![
                    Cell::text(format!("{}: {}", r.study, super::write::in_words(&r.figure))),
                    Cell::Verdict(r.verdict),
                    Cell::number(value),
                    Cell::number(format!("{} {limit}", r.requirement.bound.words())),
                    Cell::Markup(bar(input, r)),
                    Cell::number(margin),
                    Cell::text(&r.sentence),
                ]
            })
            .collect();
        let columns = ["Figure", "Verdict", "Value", "Asked", "Value against limit", "Margin", "In words"];
        table(out, "Requirements and verdicts", &columns, &rows);
        let caption = "The bar is the value from zero, the tick the limit, the whisker one standard deviation from the \
                       tolerances of the design.";
        paragraph(out, "small", caption);
    }
    let states = input.results.studies.iter().filter(|(_, s)| s.state != StudyState::Done);
    let states: Vec<String> = states
        .map(|(name, study)| {
            let how = if study.state == StudyState::Failed { "failed" } else { "had nothing to do" };
            let why = study.notes.first().map(|n| format!(": {n}")).unwrap_or_default();
            format!("The study {name} {how}{why}")
        })
        .collect();
    list(out, states.iter().map(String::as_str));
}

/// The margin bar; the row beside it says the same in words.
fn bar(input: &PageInput<'_>, requirement: &RequirementEntry) -> String {
    let mut svg = Svg::new();
    svg.start("svg")
        .attr("class", "margin")
        .attr("viewBox", "0 0 160 20")
        .num("width", 160.0)
        .num("height", 20.0);
    svg.attr("aria-hidden", "true").attr("focusable", "false");
    let bar = MarginBar {
        value: requirement.value.unwrap_or(f64::NAN),
        limit: requirement.requirement.limit,
        sense: requirement.requirement.bound,
        spread: asked(input, requirement).and_then(|f| f.spread.as_ref()).map(|s| s.deviation),
    };
    bar.draw(&mut svg, 2.0, 10.0, 156.0);
    svg.finish()
}
