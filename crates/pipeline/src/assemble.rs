//! From a run to the results file.

use crate::graph::{Absent, Run, StudyRun};
use crate::requirements::judgements;
use crate::results::{
    DesignEntry, FORMAT, FigureEntry, FileEntry, FindingEntry, LimitEntry, PartEntry, RequirementEntry,
    Results, SCHEMA_VERSION, StageEntry, StudyEntry, StudyState, VerdictCount, ViolationEntry,
};
use crate::stage::Stage;
use crate::studies::{REDISTRIBUTION, RULE_CHECK, layer_words};
use crate::verdict::{Judgement, Verdict};
use facedown_diagnostic::{Finding, Level, Sources};
use facedown_evidence::{Figure, Status};
use facedown_package::Design;
use facedown_redistribution::{Certificate, Outcome};
use std::collections::BTreeMap;

/// Violations that the results file lists of one part; all are counted.
pub const LISTED_VIOLATIONS: usize = 100;

/// What the results file says beyond the run itself.
#[derive(Debug, Clone, Copy)]
pub struct About<'a> {
    /// Version of the program.
    pub program: &'a str,
    /// Name of the design file without its folder.
    pub file: &'a str,
    /// Findings of reading and checking the design.
    pub findings: &'a [Finding],
    /// Texts that the findings point into.
    pub sources: &'a Sources,
    /// Studies asked for, when not all were.
    pub only: Option<&'a [String]>,
}

/// The results of a run, without files yet.
pub fn assemble(design: &Design, run: &Run, about: About<'_>) -> Results {
    let judgements = judgements(design, run);
    let mut studies = BTreeMap::new();
    for run_of in run.studies().filter(|r| r.node.reported_under == r.node.name) {
        studies.insert(run_of.node.name.to_owned(), study(run, run_of, &judgements));
    }
    let life_line = Stage::ALL
        .iter()
        .map(|stage| StageEntry {
            stage: *stage,
            studies: studies
                .iter()
                .filter(|(_, s)| s.stage == *stage)
                .map(|(name, _)| name.clone())
                .collect(),
        })
        .collect();
    let mut verdicts = VerdictCount::default();
    for judgement in &judgements {
        match judgement.verdict {
            Verdict::Meets => verdicts.meets += 1,
            Verdict::Short => verdicts.short += 1,
            Verdict::NotJudged => verdicts.not_judged += 1,
        }
    }
    Results {
        format: FORMAT.into(),
        schema_version: SCHEMA_VERSION,
        program: about.program.into(),
        design: DesignEntry {
            name: design.heading.name.to_string(),
            file: about.file.into(),
            blake3: fingerprint(about.sources),
            provenance: design.heading.data.clone().unwrap_or_else(|| "not stated".into()),
            only: about.only.map(<[String]>::to_vec),
        },
        verdicts,
        life_line,
        requirements: judgements.iter().map(|j| requirement(j, run)).collect(),
        studies,
        findings: about.findings.iter().map(|f| finding(f, about.sources)).collect(),
        files: Vec::new(),
    }
}

/// A file of the set as the results file lists it.
pub fn listed(name: &str, holds: &str, bytes: &[u8]) -> FileEntry {
    FileEntry {
        name: name.into(),
        holds: holds.into(),
        bytes: bytes.len() as u64,
        blake3: blake3::hash(bytes).to_hex().to_string(),
    }
}

/// One hash over the design file and every table that was read, each with its name and length.
fn fingerprint(sources: &Sources) -> String {
    let mut hasher = blake3::Hasher::new();
    for (name, source) in &sources.0 {
        for part in [name.as_bytes(), source.text.as_bytes()] {
            hasher.update(&(part.len() as u64).to_le_bytes());
            hasher.update(part);
        }
    }
    hasher.finalize().to_hex().to_string()
}

fn study(run: &Run, main: &StudyRun, judgements: &[Judgement]) -> StudyEntry {
    let name = main.node.name;
    let mut entry = StudyEntry {
        stage: main.node.stage,
        state: StudyState::Done,
        notes: Vec::new(),
        figures: BTreeMap::new(),
        parts: BTreeMap::new(),
    };
    for reported in run.studies().filter(|r| r.node.reported_under == name) {
        match &reported.absent {
            Some(Absent::NotInDesign(why)) if reported.node.name == name => {
                entry.state = StudyState::Absent;
                entry.notes.push(why.clone());
            }
            Some(Absent::Impossible(why)) => {
                entry.state = StudyState::Failed;
                // A study that is reported under another one's name says so itself.
                let whose = if reported.node.name == name { "" } else { reported.node.name };
                let note = if whose.is_empty() { why.clone() } else { format!("{whose}: {why}") };
                entry.notes.push(note);
            }
            Some(Absent::NotInDesign(_)) | None => {}
        }
        for figure in &reported.figures {
            let limit = reported.limits.get(&figure.name);
            let judgement = judgements
                .iter()
                .find(|j| j.requirement.study == name && j.requirement.figure == figure.name);
            entry.figures.insert(figure.name.clone(), self::figure(figure, limit, judgement));
        }
        for part in &reported.parts {
            let into = entry.parts.entry(part.name.clone()).or_default();
            if let Some(failure) = part.failure() {
                entry.state = StudyState::Failed;
                into.failure = Some(failure.to_string());
            }
            into.notes.extend(part.report.notes.iter().cloned());
            for figure in &part.report.figures {
                let limit = part.report.limits.get(&figure.name);
                into.figures.insert(figure.name.clone(), self::figure(figure, limit, None));
            }
        }
    }
    if name == REDISTRIBUTION {
        for (part, into) in &mut entry.parts {
            layout_of(run, part, into);
        }
    }
    entry
}

/// Obstacles and violations of one die's layout.
fn layout_of(run: &Run, die: &str, into: &mut PartEntry) {
    if let Some(outcome) = run.output::<Outcome>(REDISTRIBUTION, die) {
        into.obstacles = outcome.certificates.iter().map(obstacle).collect();
    }
    if let Some(found) = run.output::<facedown_rulecheck::Report>(RULE_CHECK, die) {
        into.violations = found.violations.iter().take(LISTED_VIOLATIONS).map(violation).collect();
    }
}

/// A certificate of what cannot be routed, as sentences.
pub fn obstacle(certificate: &Certificate) -> String {
    let end = |mend: &str| {
        let mend = mend.trim_end_matches('.');
        let mut letters = mend.chars();
        letters
            .next()
            .map_or(String::new(), |first| format!(" {}{}.", first.to_uppercase(), letters.as_str()))
    };
    match certificate {
        Certificate::Sector { separating, cut, mend } => format!(
            "Net {separating} joins two pads at the die edge and so splits the die; it cuts off {}.{}",
            names(cut),
            end(mend)
        ),
        Certificate::Cut { cut, demand, capacity, nets, mend } => format!(
            "{demand} nets must pass {cut}, which has room for {capacity}: {}.{}",
            names(nets),
            end(mend)
        ),
        Certificate::Unrouted { nets, mend } => {
            format!("No way was found for {}.{}", names(nets), end(mend))
        }
    }
}

fn names(nets: &[String]) -> String {
    const SHOWN: usize = 12;
    let word = if nets.len() == 1 { "net" } else { "nets" };
    if nets.len() <= SHOWN {
        format!("{word} {}", nets.join(", "))
    } else {
        format!("{word} {} and {} more", nets[..SHOWN].join(", "), nets.len() - SHOWN)
    }
}

fn violation(found: &facedown_rulecheck::Violation) -> ViolationEntry {
    ViolationEntry {
        rule: found.rule.name().into(),
        layer: layer_words(found.layer),
        x_um: found.at.x.um(),
        y_um: found.at.y.um(),
        nets: found.nets.clone(),
        sentence: found.sentence.clone(),
    }
}

fn figure(figure: &Figure, limited_by: Option<&String>, judgement: Option<&Judgement>) -> FigureEntry {
    FigureEntry {
        value: figure.value,
        unit: figure.unit.clone(),
        error: figure.error,
        hand: figure.hand,
        basis: figure.basis.clone(),
        status: match figure.status {
            Status::Solved => "solved".into(),
            Status::Hand => "hand".into(),
        },
        limited_by: limited_by.cloned(),
        outside: figure.outside.clone(),
        between: figure.between,
        spread: None,
        requirement: judgement.map(limit),
        verdict: judgement.map(|j| j.verdict),
        margin: judgement.and_then(|j| j.margin),
    }
}

fn limit(judgement: &Judgement) -> LimitEntry {
    let asked = &judgement.requirement;
    LimitEntry { bound: asked.bound, limit: asked.limit, unit: asked.unit.clone(), built_in: asked.built_in }
}

fn requirement(judgement: &Judgement, run: &Run) -> RequirementEntry {
    let asked = &judgement.requirement;
    let value = crate::requirements::figure_of(run, &asked.study, &asked.figure).map(|f| f.value);
    RequirementEntry {
        study: asked.study.clone(),
        figure: asked.figure.clone(),
        requirement: limit(judgement),
        value: value.filter(|v| v.is_finite()),
        verdict: judgement.verdict,
        margin: judgement.margin,
        sentence: judgement.sentence.clone(),
    }
}

/// A finding as the results file and `check --json` list it.
pub fn finding(finding: &Finding, sources: &Sources) -> FindingEntry {
    let at = finding.place.as_ref().and_then(|p| sources.line_column(p));
    FindingEntry {
        code: finding.code.clone(),
        level: match finding.level {
            Level::Error => "error".into(),
            Level::Warning => "warning".into(),
            Level::Advice => "advice".into(),
        },
        what: finding.what.clone(),
        file: finding.place.as_ref().map(|p| p.file.clone()),
        line: at.map(|(line, _)| line),
        column: at.map(|(_, column)| column),
        allowed: finding.allowed.clone(),
        mend: finding.mend.clone(),
    }
}
