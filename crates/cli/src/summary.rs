//! The summary of a run on one screen: figures with their verdicts, what is short, what is not judged.

use crate::terminal;
use facedown_pipeline::results::{FigureEntry, RequirementEntry, Results, StudyEntry, StudyState};
use facedown_pipeline::verdict::{Verdict, amount};
use facedown_report::verdict::glyph;

const WIDTH: usize = 100;

/// The summary as text, at most about forty lines.
pub fn text(results: &Results, out: &str) -> String {
    let mut text = String::new();
    let mut line = |s: &str| {
        text.push_str(s.trim_end());
        text.push('\n');
    };
    let provenance = &results.design.provenance;
    line(&format!("{}  (data: {provenance})", results.design.name));
    for (name, study) in &results.studies {
        line("");
        line(&format!("{name}{}", state(study)));
        for note in study.notes.iter().take(4) {
            wrapped(note, "  ", &mut line);
        }
        let wide = study.figures.keys().map(|k| k.chars().count()).max().unwrap_or(0);
        for (name, figure) in &study.figures {
            line(&format!("  {} {name:<wide$}  {}", mark(figure.verdict), shown(figure)));
        }
        let obstacles = study.parts.values().flat_map(|p| &p.obstacles);
        let violations = study.parts.values().flat_map(|p| &p.violations).map(|v| &v.sentence);
        for sentence in obstacles.take(4).chain(violations.take(4)) {
            wrapped(sentence, "    ", &mut line);
        }
    }
    let short: Vec<&RequirementEntry> =
        results.requirements.iter().filter(|r| r.verdict == Verdict::Short).collect();
    if !short.is_empty() {
        line("");
        for requirement in &short {
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
    let named = results.files.iter().find(|f| f.name.ends_with(".svg")).map(|f| f.name.as_str());
    let picture = named.map(|n| format!("; open {out}/{n} in a browser")).unwrap_or_default();
    let files = results.files.len() + 1;
    line(&format!("{files} {} in {out}{picture}", if files == 1 { "file" } else { "files" }));
    text
}

fn state(study: &StudyEntry) -> &'static str {
    match study.state {
        StudyState::Done => "",
        StudyState::Failed => ": failed",
        StudyState::Absent => ": nothing to do",
    }
}

/// Value, what was asked, margin; the hand check where nothing is asked.
fn shown(figure: &FigureEntry) -> String {
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
