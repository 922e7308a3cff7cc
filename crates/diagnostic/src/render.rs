//! Findings as text, with the offending characters underlined.

use crate::finding::{Finding, Level, Place, Sources};
use annotate_snippets::{AnnotationKind, Group, Level as Heading, Renderer, Snippet};

/// One finding as text. `color` turns terminal colours on; without it the text is plain and byte-stable.
pub fn render(finding: &Finding, sources: &Sources, color: bool) -> String {
    let heading = match finding.level {
        Level::Error => Heading::ERROR,
        Level::Warning => Heading::WARNING,
        Level::Advice => Heading::INFO.with_name("advice"),
    };
    let mut group = Group::with_title(heading.primary_title(finding.what.as_str()).id(finding.code.as_str()));
    if let Some(place) = &finding.place {
        group = add(group, place, "", AnnotationKind::Primary, sources);
    }
    for (place, word) in &finding.also {
        group = add(group, place, word, AnnotationKind::Context, sources);
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

fn add<'a>(group: Group<'a>, place: &'a Place, word: &'a str, kind: AnnotationKind, sources: &'a Sources) -> Group<'a> {
    let Some(source) = sources.0.get(&place.file) else { return group };
    let text: &str = &source.text;
    let end = place.end.min(text.len());
    let start = place.start.min(end);
    let mut annotation = kind.span(start..end);
    if !word.is_empty() {
        annotation = annotation.label(word);
    }
    group.element(Snippet::source(text).path(place.file.as_str()).annotation(annotation))
}
