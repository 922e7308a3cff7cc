//! Checks of a design that was read: all findings at once.
//!
//! One file a topic. A check that complains of something absent keeps quiet when the reader could not take over
//! all that was written, so that one misspelt key is one finding and not three.

mod array;
mod balls;
mod bumps;
mod current_tests;
mod dies;
mod form;
mod hazards;
mod history;
mod materials;
mod micrographs;
mod names;
mod nets;
mod pads;
mod planes;
mod planning;
mod power;
mod prices;
mod process;
mod rdl;
mod readings;
mod requirements;
mod residues;
mod sizes;
mod stack;
mod strength;
mod ubm;
mod voids;

use crate::bump_sites::Sites;
use crate::design::Design;
use crate::pads::Pad;
use facedown_diagnostic::{Finding, Place};
use facedown_quantity::{Length, Nm};
use std::rc::Rc;

/// Findings of one kind in one die that are shown one by one; the rest is counted.
const SHOWN: usize = 5;

/// All findings about a design, in the order of the topics.
pub fn check(design: &Design) -> Vec<Finding> {
    let resolved = design.dies.iter().map(|die| Resolved { sites: die.sites(), pads: die.pads() }).collect();
    let mut checker = Checker { design, resolved, findings: Vec::new() };
    names::check(&mut checker);
    sizes::check(&mut checker);
    materials::check(&mut checker);
    dies::check(&mut checker);
    pads::check(&mut checker);
    bumps::check(&mut checker);
    array::check(&mut checker);
    ubm::check(&mut checker);
    rdl::check(&mut checker);
    nets::check(&mut checker);
    planes::check(&mut checker);
    power::check(&mut checker);
    stack::check(&mut checker);
    balls::check(&mut checker);
    form::check(&mut checker);
    voids::check(&mut checker);
    process::check(&mut checker);
    readings::check(&mut checker);
    residues::check(&mut checker);
    micrographs::check(&mut checker);
    planning::check(&mut checker);
    history::check(&mut checker);
    current_tests::check(&mut checker);
    strength::check(&mut checker);
    prices::check(&mut checker);
    requirements::check(&mut checker);
    hazards::check(&mut checker);
    checker.findings
}

/// What follows from a die and is needed by several checks.
struct Resolved {
    sites: Sites,
    pads: Vec<Pad>,
}

struct Checker<'d> {
    design: &'d Design,
    /// Shared, so that a check can hold it while it keeps findings.
    resolved: Rc<[Resolved]>,
    findings: Vec<Finding>,
}

impl Checker<'_> {
    /// Keeps a finding at the value of a path.
    fn at(&mut self, path: &str, finding: Finding) {
        let place = self.design.places.value(path);
        self.place(place, finding);
    }

    /// Keeps a finding at a place.
    fn place(&mut self, place: Option<Place>, finding: Finding) {
        self.findings.push(Finding { place, ..finding });
    }

    /// Keeps a finding about something absent, unless it may only be misspelt.
    fn absent(&mut self, path: &str, finding: Finding) {
        if !self.design.incomplete {
            self.at(path, finding);
        }
    }
}

/// Shows the first few of many findings of one kind, and counts the rest.
struct Many {
    count: usize,
    /// Place of the last one shown, after which the rest is counted.
    last: Option<Place>,
}

impl Many {
    fn new() -> Many {
        Many { count: 0, last: None }
    }

    /// Counts one that is no longer shown; false while there is room to show it.
    fn counted(&mut self) -> bool {
        let full = self.count >= SHOWN;
        self.count += usize::from(full);
        full
    }

    fn push(&mut self, checker: &mut Checker, place: Option<Place>, finding: impl FnOnce() -> Finding) {
        self.count += 1;
        if self.count <= SHOWN {
            let finding = finding();
            self.last = place.clone().or(self.last.take());
            checker.place(place, finding);
        }
    }

    fn close(self, checker: &mut Checker, path: &str, code: &str, what: &str) {
        if self.count > SHOWN {
            let more = self.count - SHOWN;
            let finding = Finding::error(code, format!("and {more} more: {what}"))
                .mend("mend the first ones and check again");
            match self.last {
                Some(place) => checker.place(Some(place), finding),
                None => checker.at(path, finding),
            }
        }
    }
}

/// A length in words, to the nanometre.
fn length(m: f64) -> String {
    Length::from(Nm::round_m(m)).to_string()
}

/// A layout length in words.
fn layout(nm: Nm) -> String {
    Length::from(nm).to_string()
}
