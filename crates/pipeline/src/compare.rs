//! The same design in other package forms: bare die, ring, lid, and the variants that the design file gives.
//!
//! The layout is the same in every form and is taken over from the run of the design; all studies behind it are solved
//! again. Forms that the design does not give are of usual sizes and say so.

use crate::graph::{Depth, Graph, Run};
use crate::requirements::judgements;
use crate::studies::{REDISTRIBUTION, RULE_CHECK};
use crate::verdict::{Bound, Judgement, Verdict};
use crate::watch::Control;
use facedown_package::{Design, Form, usual_forms};
use serde::Serialize;

/// One form of a design.
#[derive(Debug, Clone)]
pub struct Variant {
    /// Name: `as designed`, the name of the variant in the file, or the form.
    pub name: String,
    /// True when its sizes are usual ones and not the design's.
    pub usual: bool,
    /// The design in this form.
    pub design: Design,
}

/// One form with its verdicts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Column {
    /// Name of the form.
    pub name: String,
    /// `bare`, `ring` or `lid`.
    pub form: &'static str,
    /// True when its sizes are usual ones and not the design's.
    pub usual: bool,
    /// Every requirement in the same order as in the other forms.
    pub requirements: Vec<Cell>,
    /// What could not be solved in this form.
    pub failures: Vec<String>,
}

/// A requirement in one form.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cell {
    /// Study and figure (`heat.theta_ja`).
    pub figure: String,
    /// Side of the limit.
    pub bound: Bound,
    /// Limit in `unit`.
    pub limit: f64,
    /// Unit.
    pub unit: String,
    /// Value in `unit`; null when there is none.
    pub value: Option<f64>,
    /// Verdict.
    pub verdict: Verdict,
    /// The verdict in a sentence.
    pub sentence: String,
}

/// The forms to set side by side: the design's own, its variants, and of bare, ring and lid those that are missing.
pub fn variants(design: &Design) -> Vec<Variant> {
    let plain = |form: Form, interfaces| Design {
        form: Some(form),
        interfaces,
        variants: Vec::new(),
        ..design.clone()
    };
    let mut out = vec![Variant { name: "as designed".into(), usual: false, design: design.clone() }];
    for variant in &design.variants {
        out.push(Variant {
            name: variant.name.to_string(),
            usual: false,
            design: plain(variant.form.clone(), variant.interfaces.clone()),
        });
    }
    let has = |out: &[Variant], word: &str| out.iter().any(|v| v.design.form().word() == word);
    if !has(&out, "bare") {
        out.push(Variant { name: "bare".into(), usual: false, design: plain(Form::Bare, Vec::new()) });
    }
    if !has(&out, "ring")
        && let Some(ring) = usual_forms::usual_ring(design)
    {
        out.push(Variant { name: "ring".into(), usual: true, design: plain(ring, Vec::new()) });
    }
    if !has(&out, "lid")
        && let Some((lid, interfaces)) = usual_forms::usual_lid(design)
    {
        out.push(Variant { name: "lid".into(), usual: true, design: plain(lid, interfaces) });
    }
    out
}

/// Solves the forms one after the other on the layout of `base`, the run of the design as it is.
pub fn compare(graph: &Graph<Design>, variants: &[Variant], base: &Run, control: Control<'_>) -> Vec<Column> {
    variants
        .iter()
        .map(|variant| {
            let held = [REDISTRIBUTION, RULE_CHECK];
            let run = graph.vary(&variant.design, &[base], &held, Depth::Solvers, control.unheard());
            let failures = run.failures().into_iter().map(|(study, part, what)| {
                if part.is_empty() {
                    format!("{study}: {what}")
                } else {
                    format!("{study} of {part}: {what}")
                }
            });
            // The layout has its own requirements, which no form changes.
            let behind = |j: &Judgement| j.requirement.study != REDISTRIBUTION;
            Column {
                name: variant.name.clone(),
                form: variant.design.form().word(),
                usual: variant.usual,
                requirements: judgements(&variant.design, &run)
                    .iter()
                    .filter(|j| behind(j))
                    .map(|j| cell(j, &run))
                    .collect(),
                failures: failures.collect(),
            }
        })
        .collect()
}

fn cell(judgement: &Judgement, run: &Run) -> Cell {
    let asked = &judgement.requirement;
    let figure = crate::requirements::figure_of(run, &asked.study, &asked.figure);
    Cell {
        figure: format!("{}.{}", asked.study, asked.figure),
        bound: asked.bound,
        limit: asked.limit,
        unit: asked.unit.clone(),
        value: figure.map(|f| f.value).filter(|v| v.is_finite()),
        verdict: judgement.verdict,
        sentence: judgement.sentence.clone(),
    }
}
