//! The summary of a run on one screen: figures with their verdicts, what is short, what is not judged.

use crate::report_page::NAME;
use crate::terminal;
use facedown_pipeline::results::{FigureEntry, RequirementEntry, Results, StudyEntry, StudyState};
use facedown_pipeline::verdict::{Verdict, amount};
use facedown_report::verdict::glyph;

const WIDTH: usize = 100;
/// Sentences on what is wrong that a study may take on the screen.
const SENTENCES: usize = 4;

/// Figures that are shown although nothing is asked of them: the few that an engineer looks at first.
const KEY_FIGURES: [(&str, &str); 9] = [
    ("cost", "cost_good_package"),
    ("electrical", "supply_drop_max"),
    ("heat", "junction_max"),
    ("heat", "theta_ja"),
    ("joints", "stand_off"),
    ("redistribution", "wirelength_ratio"),
    ("redistribution", "longest_net"),
    ("underfill", "fill_time"),
    ("warpage", "warpage_peak"),
];

/// Figures of a study that the screen has room for: those that something is asked of, and the key figures.
fn worth_showing<'a>(study: &str, entry: &'a StudyEntry) -> Vec<(&'a str, &'a FigureEntry)> {
    let key = |name: &str| KEY_FIGURES.contains(&(study, name));
    let figures = entry.figures.iter().filter(|(name, f)| f.requirement.is_some() || key(name));
    figures.map(|(name, figure)| (name.as_str(), figure)).collect()
}

/// The summary as text, at most about forty lines.
pub fn text(results: &Results, out: &str) -> String {
    let mut text = String::new();
    let mut line = |s: &str| {
        text.push_str(s.trim_end());
        text.push('\n');
    };
    let provenance = &results.design.provenance;
    line(&format!("{}  (data: {provenance})", results.design.name));
    let (mut silent, mut absent) = (Vec::new(), Vec::new());
    for (name, study) in &results.studies {
        let shown = worth_showing(name, study);
        let obstacles: Vec<&String> = study.parts.values().flat_map(|p| &p.obstacles).collect();
        let violations = study.parts.values().flat_map(|p| &p.violations).map(|v| &v.sentence);
        let wrong: Vec<&String> = obstacles.into_iter().chain(violations).collect();
        if study.state == StudyState::Done && shown.is_empty() && wrong.is_empty() {
            silent.push(name.as_str());
            continue;
        }
        if study.state == StudyState::Absent && wrong.is_empty() {
            absent.push((name, study));
            continue;
        }
        line("");
        line(&format!("{name}{}", state(study)));
        if study.state != StudyState::Done {
            // The first sentence says why; what was assumed stands in the report.
            study.notes.iter().take(1).for_each(|note| wrapped(note, "  ", &mut line));
        }
        let wide = shown.iter().map(|(k, _)| k.chars().count()).max().unwrap_or(0);
        for (name, figure) in shown {
            line(&format!("  {} {name:<wide$}  {}", mark(figure.verdict), value_and_limit(figure)));
        }
        let more = wrong.len().saturating_sub(SENTENCES);
        for sentence in wrong.into_iter().take(SENTENCES) {
            wrapped(sentence, "    ", &mut line);
        }
        if more > 0 {
            line(&format!("    and {more} more, in the report"));
        }
    }
    if !absent.is_empty() {
        line("");
        line("nothing to do");
        for (name, study) in absent {
            let why = study.notes.first().map_or("", String::as_str);
            wrapped(&format!("{name}: {why}"), "  ", &mut line);
        }
    }
    if !silent.is_empty() {
        line("");
        wrapped(&format!("In the report too: {}", silent.join(", ")), "", &mut line);
    }
    let short: Vec<&RequirementEntry> =
        results.requirements.iter().filter(|r| r.verdict == Verdict::Short).collect();
    if !short.is_empty() {
        line("");
        for requirement in short.iter().take(2 * SENTENCES) {
            wrapped(&format!("{} {}", word(Verdict::Short), requirement.sentence), "  ", &mut line);
        }
    }
    let open: Vec<String> = results
        .requirements
        .iter()
        .filter(|r| r.verdict == Verdict::NotJudged)
        .map(|r| format!("{}.{}", r.study, r.figure))
        .collect();
    if !open.is_empty() {
        line("");
        wrapped(&format!("{} {}", word(Verdict::NotJudged), open.join(", ")), "  ", &mut line);
    }
    line("");
    let counts = results.verdicts;
    line(&format!(
        "{} {}  {} {}  {} {}",
        word(Verdict::Meets),
        counts.meets,
        word(Verdict::Short),
        counts.short,
        word(Verdict::NotJudged),
        counts.not_judged
    ));
    let files = results.files.len() + 1;
    line(&format!(
        "{files} {} in {out}; open {out}/{NAME} in a browser",
        if files == 1 { "file" } else { "files" }
    ));
    text
}

fn state(study: &StudyEntry) -> &'static str {
    match study.state {
        StudyState::Done => "",
        StudyState::Failed => ": failed",
        // Told in a list of its own, unless it also has something wrong.
        StudyState::Absent => ": nothing to do",
    }
}

/// Value, what was asked, margin; the hand check where nothing is asked.
fn value_and_limit(figure: &FigureEntry) -> String {
    let value = format!("{:>14}", amount(figure.value, &figure.unit));
    let Some(asked) = &figure.requirement else {
        let hand = figure.hand.map(|h| format!("  by hand {}", amount(h, &figure.unit)));
        return value + &hand.unwrap_or_default();
    };
    let margin = figure.margin.map(|m| format!(", margin {:+.1} %", 100.0 * m)).unwrap_or_default();
    format!("{value}  asked {} {}{margin}", asked.bound.words(), amount(asked.limit, &asked.unit))
}

/// Mark and word of a verdict, padded to one width; blank where nothing is asked.
fn mark(verdict: Option<Verdict>) -> String {
    match verdict {
        None => " ".repeat(12),
        Some(verdict) => {
            let pad = 10usize.saturating_sub(verdict.words().len());
            format!("{}{}", word(verdict), " ".repeat(pad))
        }
    }
}

/// `● meets`, coloured where colour is on.
fn word(verdict: Verdict) -> String {
    let color = match verdict {
        Verdict::Meets => "36",
        Verdict::Short => "31",
        Verdict::NotJudged => "90",
    };
    let text = format!("{} {}", glyph(verdict, terminal::plain_marks()), verdict.words());
    if terminal::color_on_stdout() { format!("\u{1b}[{color}m{text}\u{1b}[0m") } else { text }
}

/// Words over several lines, the later ones indented further.
fn wrapped(text: &str, indent: &str, line: &mut impl FnMut(&str)) {
    let mut current = indent.to_owned();
    for word in text.split_whitespace() {
        if current.chars().count() + 1 + word.chars().count() > WIDTH && current.trim() != "" {
            line(&current);
            current = format!("{indent}  ");
        }
        if !current.ends_with(' ') {
            current.push(' ');
        }
        current.push_str(word);
    }
    line(&current);
}
