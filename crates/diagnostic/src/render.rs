//! Findings as text, with the offending characters underlined.

use crate::finding::{Finding, Level, Place, Sources};
use annotate_snippets::{AnnotationKind, Group, Level as Heading, Origin, Renderer, Snippet};

/// One finding as text. `color` turns terminal colours on; without it the text is plain and byte-stable.
pub fn render(finding: &Finding, sources: &Sources, color: bool) -> String {
    let heading = match finding.level {
        Level::Error => Heading::ERROR,
        Level::Warning => Heading::WARNING,
        Level::Advice => Heading::INFO.with_name("advice"),
    };
    let mut group = Group::with_title(heading.primary_title(finding.what.as_str()).id(finding.code.as_str()));
    let first = finding.place.iter().map(|place| (place, "", AnnotationKind::Primary));
    let also = finding.also.iter().map(|(place, word)| (place, word.as_str(), AnnotationKind::Context));
    let mut marks: Vec<_> = first.chain(also).collect();
    while let Some(&(place, _, _)) = marks.first() {
        // all marks of one file stand in one snippet, the file of the finding first
        let (here, elsewhere) = marks.into_iter().partition(|m| m.0.file == place.file);
        group = add(group, &place.file, here, sources);
        marks = elsewhere;
    }
    if let Some(allowed) = &finding.allowed {
        group = group.element(Heading::NOTE.with_name("allowed").message(allowed.as_str()));
    }
    if let Some(mend) = &finding.mend {
        group = group.element(Heading::HELP.with_name("mend").message(mend.as_str()));
    }
    let renderer = if color { Renderer::styled() } else { Renderer::plain() };
    renderer.render(&[group]).to_string()
}

type Mark<'a> = (&'a Place, &'a str, AnnotationKind);

fn add<'a>(group: Group<'a>, file: &'a str, marks: Vec<Mark<'a>>, sources: &'a Sources) -> Group<'a> {
    let Some(source) = sources.0.get(file) else { return group.element(Origin::path(file)) };
    let text: &str = &source.text;
    let annotations = marks.into_iter().map(|(place, word, kind)| {
        let end = on_character(text, place.end);
        let annotation = kind.span(on_character(text, place.start).min(end)..end);
        if word.is_empty() { annotation } else { annotation.label(word) }
    });
    group.element(Snippet::source(text).path(file).annotations(annotations))
}

/// The last start of a character at or before a byte, so that no place of a careless check can end inside one.
fn on_character(text: &str, byte: usize) -> usize {
    let byte = byte.min(text.len());
    (0..=byte).rev().find(|b| text.is_char_boundary(*b)).unwrap_or(0)
}
