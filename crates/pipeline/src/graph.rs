//! Studies as an explicit graph: what each one reads, in what order they run, and what a run gives.
//!
//! A [`Study`] prepares one input per part of the design (per die, or one for the whole package), solves each input,
//! and reports figures. The graph owns everything else: order, selection, keys, the cache, cancelling, events. A study
//! sees other studies only through [`Upstream`], which hands out what was declared in [`Node::reads`] and nothing
//! more, so that the graph that is drawn is the graph that is used.
//!
//! Parts are solved one after the other in a fixed order (each study is parallel inside), which keeps outputs and
//! events the same from run to run.

use crate::cache::{Cache, Recall};
use crate::key::{Key, NoKey};
use crate::stage::Stage;
use crate::watch::{Control, Event};
use facedown_evidence::Figure;
use serde::{Serialize, de::DeserializeOwned};
use std::any::Any;
use std::collections::{BTreeMap, BTreeSet};
use std::panic::AssertUnwindSafe;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

/// One thing that a study reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reads {
    /// A part of the design file, in words (`dies.pads`).
    Design(&'static str),
    /// The results of another study, by name.
    Study(&'static str),
}

/// What the graph knows of a study.
#[derive(Debug, Clone, Copy)]
pub struct Node {
    /// Name, as in `--only` and in `results.json`.
    pub name: &'static str,
    /// Stage of the life line that it belongs to.
    pub stage: Stage,
    /// Number of the method; raised whenever the same input may give another result.
    pub version: u32,
    /// What it reads.
    pub reads: &'static [Reads],
    /// The study under whose name its figures are reported; its own name, unless it checks another study.
    pub reported_under: &'static str,
}

/// Why a part of a study gave no result.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Failure {
    /// The study could not solve it.
    #[error("{0}")]
    Study(String),
    /// The caller cancelled the run.
    #[error("cancelled")]
    Cancelled,
}

/// How a part's figures join those of the other parts in the study's figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Join {
    /// Added up (counts, total lengths).
    Sum,
    /// The largest is the worst.
    Largest,
    /// The smallest is the worst.
    Smallest,
}

/// What a study reports about one part.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Report {
    /// Figures.
    pub figures: Vec<Figure>,
    /// What limits a figure, by figure name, as a clause that ends a sentence (`set by net miso`).
    pub limits: BTreeMap<String, String>,
    /// Sentences that a reader must see (`die "hub" has pads drawn for bumps, ...`).
    pub notes: Vec<String>,
}

/// What the graph hands a study while it solves: where to tell progress and whether to stop.
pub struct Progress<'a> {
    study: &'a str,
    part: &'a str,
    control: Control<'a>,
    memory: Option<&'a Memory>,
    sides: Option<&'a Sides>,
}

impl Progress<'_> {
    /// What the study left for like inputs of this part, where runs share.
    pub fn left<T: Send + Sync + 'static>(&self) -> Option<Arc<T>> {
        let left = self.memory?.left.lock().unwrap_or_else(PoisonError::into_inner);
        left.get(&(self.study.to_owned(), self.part.to_owned()))?.clone().downcast().ok()
    }

    /// True where something may be left for like inputs of this part.
    pub fn shares(&self) -> bool {
        self.memory.is_some_and(|m| !m.closed.load(Ordering::Acquire))
    }

    /// Leaves something for like inputs of this part, where runs share. Whoever takes it must give the same to the last
    /// bit from run to run, so that it is left before runs go side by side ([`Memory::close`]).
    pub fn leave<T: Send + Sync + 'static>(&self, what: T) {
        if let Some(memory) = self.memory.filter(|_| self.shares()) {
            let mut left = memory.left.lock().unwrap_or_else(PoisonError::into_inner);
            left.insert((self.study.to_owned(), self.part.to_owned()), Arc::new(what));
        }
    }

    /// What the study keeps of this part between runs to both sides of one change; begun by the first to ask.
    pub fn sides<T: Default + Send + Sync + 'static>(&self) -> Option<Arc<T>> {
        let mut kept = self.sides?.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let place = (self.study.to_owned(), self.part.to_owned());
        kept.entry(place).or_insert_with(|| Arc::new(T::default())).clone().downcast().ok()
    }

    /// Tells how far the part is (`share` 0 to 1, NaN where unknown) and what is being done.
    pub fn tell(&self, share: f64, doing: &str) {
        self.control.tell(Event::Progress { study: self.study, part: self.part, share, doing });
    }

    /// True once the caller asked to stop.
    pub fn cancelled(&self) -> bool {
        self.control.cancelled()
    }
}

/// Inputs of a study's parts in a fixed order, or why there is nothing to do.
pub type Inputs<I> = Result<Vec<(String, I)>, Absent>;

/// Why a study has nothing to do in a design.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Absent {
    /// The design does not ask for it; a sentence that says what is missing.
    NotInDesign(String),
    /// The design asks for it but it cannot be prepared; a sentence.
    Impossible(String),
}

/// One study over designs of type `D`.
pub trait Study<D>: Send + Sync {
    /// Exactly what one solve reads, as plain data.
    type Input: Serialize + Send + Sync;
    /// What one solve gives, as plain data.
    type Output: Serialize + DeserializeOwned + Send + Sync + 'static;

    /// Name, stage, version and declared inputs.
    fn node(&self) -> Node;

    /// The input of each part. The names of parts are unique.
    ///
    /// # Errors
    /// [`Absent`] when there is nothing to solve or it cannot be prepared.
    fn inputs(&self, design: &D, upstream: &Upstream<'_>) -> Inputs<Self::Input>;

    /// Solves one part. Prints nothing, reads no file, and looks at [`Progress::cancelled`] now and then.
    ///
    /// # Errors
    /// [`Failure`] when there is no result.
    fn solve(&self, input: &Self::Input, progress: &Progress<'_>) -> Result<Self::Output, Failure>;

    /// Figures and notes of one part.
    fn report(&self, part: &str, input: &Self::Input, output: &Self::Output) -> Report;

    /// How a figure of several parts becomes one.
    fn join(&self, figure: &str) -> Join;
}

/// How far studies go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Depth {
    /// Solvers where a study has one, closed forms beside them.
    #[default]
    Solvers,
    /// Closed forms alone.
    ClosedForms,
    /// Closed forms alone, on coarser grids where they have one, and of several models the one that a value comes from:
    /// for derivatives and searches, where the change counts and not the last percent. Never for figures.
    Changes,
}

/// The results that a study declared to read.
pub struct Upstream<'a> {
    reads: &'a [Reads],
    /// How far the studies of this run go.
    pub depth: Depth,
    done: &'a BTreeMap<&'static str, StudyRun>,
    /// Where the run varies others, the results that it takes over from there.
    bases: &'a [&'a Run],
    /// The study that reads, and where runs that share keep what they have made.
    study: &'static str,
    memory: Option<&'a Memory>,
}

impl<'a> Upstream<'a> {
    /// The solved parts of a declared study with their outputs, in order; empty when it is absent or failed.
    ///
    /// # Errors
    /// When the study was not declared in [`Node::reads`] or has another output type: a mistake in the graph.
    pub fn parts<T: 'static>(&self, study: &'static str) -> Result<Vec<(&'a str, &'a T)>, Absent> {
        if !self.reads.contains(&Reads::Study(study)) {
            return Err(Absent::Impossible(format!(
                "The study reads \"{study}\" without having declared it."
            )));
        }
        let held = self.bases.iter().find_map(|base| base.studies.get(study));
        let Some(run) = self.done.get(study).or(held) else { return Ok(Vec::new()) };
        let mut parts = Vec::new();
        for part in &run.parts {
            if let Ok(output) = &part.output {
                let output = output.downcast_ref::<T>().ok_or_else(|| {
                    Absent::Impossible(format!("The study reads \"{study}\" as another type."))
                })?;
                parts.push((part.name.as_str(), output));
            }
        }
        Ok(parts)
    }

    /// Whether the results of a study are those of the run that is varied, whatever is varied.
    pub fn holds(&self, study: &str) -> bool {
        !self.done.contains_key(study) && self.bases.iter().any(|base| base.studies.contains_key(study))
    }

    /// What a study makes of a long list that variations rarely change (the bumps of a layout): where runs share, it is taken
    /// over from the undisturbed run if that made it from the same list. `what` names it within the study.
    pub fn made_of<T, V>(&self, what: &str, list: &[T], make: impl FnOnce(&[T]) -> V) -> Arc<V>
    where
        T: Clone + PartialEq + Send + Sync + 'static,
        V: Send + Sync + 'static,
    {
        let Some(memory) = self.memory else { return Arc::new(make(list)) };
        let name = (self.study.to_owned(), what.to_owned());
        let found = memory.made.lock().unwrap_or_else(PoisonError::into_inner).get(&name).cloned();
        if let Some(known) = found.and_then(|f| f.downcast::<(Vec<T>, Arc<V>)>().ok())
            && known.0.as_slice() == list
        {
            return Arc::clone(&known.1);
        }
        let made = Arc::new(make(list));
        if !memory.closed.load(Ordering::Acquire) {
            let entry = Arc::new((list.to_vec(), Arc::clone(&made)));
            memory.made.lock().unwrap_or_else(PoisonError::into_inner).insert(name, entry);
        }
        made
    }
}

/// What a solve gave, of whatever type.
type Solved = Arc<dyn Any + Send + Sync>;

/// Where a result came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Whence {
    /// It was solved for this part.
    Solved,
    /// It was there before the run.
    Before,
    /// Another part of the study reads the same: its place among them.
    Part(usize),
}

/// The place of the part that read the same, with its output.
fn part_with(parts: &[Part], key: &Key) -> Option<(usize, Solved)> {
    let at = parts.iter().position(|p| p.key.as_ref() == Some(key))?;
    Some((at, parts.get(at)?.output.as_ref().ok()?.clone()))
}

/// Solves that runs share while they last, by what each read, and what studies left for like inputs.
#[derive(Default)]
pub struct Memory {
    solved: Mutex<BTreeMap<Key, Solved>>,
    left: Mutex<BTreeMap<(String, String), Solved>>,
    /// What studies made of long lists, by study and name, with the lists.
    made: Mutex<BTreeMap<(String, String), Solved>>,
    closed: AtomicBool,
}

impl Memory {
    /// From now on studies leave nothing for like inputs. Called before runs go side by side, so that none depends on which
    /// of them was first.
    pub fn close(&self) {
        self.closed.store(true, Ordering::Release);
    }

    fn known(&self, key: &Key) -> Option<Solved> {
        self.solved.lock().unwrap_or_else(PoisonError::into_inner).get(key).cloned()
    }

    fn keep(&self, key: Key, output: Solved) {
        self.solved.lock().unwrap_or_else(PoisonError::into_inner).insert(key, output);
    }
}

/// What studies keep between the runs to both sides of one change, which go one after the other.
#[derive(Default)]
pub struct Sides {
    kept: Mutex<BTreeMap<(String, String), Solved>>,
}

/// How far a run goes, and what is there already when it begins.
#[derive(Clone, Copy)]
struct How<'a> {
    depth: Depth,
    /// The runs that are varied.
    bases: &'a [&'a Run],
    memory: Option<&'a Memory>,
    sides: Option<&'a Sides>,
}

impl How<'_> {
    /// What reads the same gives the same: another part of the study, and what was known before.
    fn at_hand<T: Send + Sync + 'static>(
        &self,
        study: &str,
        parts: &[Part],
        key: &Key,
    ) -> Option<(Arc<T>, Whence)> {
        let (output, whence) = match part_with(parts, key) {
            Some((at, output)) => (output, Whence::Part(at)),
            None => {
                let before = self.bases.iter().find_map(|base| base.known(study, key));
                (before.or_else(|| self.memory?.known(key))?, Whence::Before)
            }
        };
        Some((output.downcast::<T>().ok()?, whence))
    }
}

/// One solved, recalled or failed part of a study.
pub struct Part {
    /// Name (a die, or empty for the whole package).
    pub name: String,
    /// Its report; empty when it failed.
    pub report: Report,
    output: Result<Solved, Failure>,
    /// Hash of what was read; absent where it could not be formed.
    key: Option<Key>,
}

impl Part {
    /// Why it failed, if it did.
    pub fn failure(&self) -> Option<&Failure> {
        self.output.as_ref().err()
    }
}

/// What became of one study.
pub struct StudyRun {
    /// The study.
    pub node: Node,
    /// Why there was nothing to do, when there was not.
    pub absent: Option<Absent>,
    /// Its parts in order.
    pub parts: Vec<Part>,
    /// Figures of the study, joined over its parts, in the study's own order.
    pub figures: Vec<Figure>,
    /// What limits each figure.
    pub limits: BTreeMap<String, String>,
}

/// What became of a whole run.
pub struct Run {
    studies: BTreeMap<&'static str, StudyRun>,
    order: Vec<&'static str>,
    /// Parts that were solved.
    pub solved: usize,
    /// Parts that were found in the cache, or in a run that is varied.
    pub recalled: usize,
    /// Parts that read the same as another part of their study.
    pub same: usize,
    /// True when the caller cancelled.
    pub cancelled: bool,
}

impl Run {
    /// The studies in the order in which they ran.
    pub fn studies(&self) -> impl Iterator<Item = &StudyRun> {
        self.order.iter().filter_map(|name| self.studies.get(name))
    }

    /// One study by name.
    pub fn study(&self, name: &str) -> Option<&StudyRun> {
        self.studies.get(name)
    }

    /// The output of one part of a study.
    pub fn output<T: 'static>(&self, study: &str, part: &str) -> Option<&T> {
        let part = self.studies.get(study)?.parts.iter().find(|p| p.name == part)?;
        part.output.as_ref().ok()?.downcast_ref()
    }

    /// The output of a part of a study that read the same.
    fn known(&self, study: &str, key: &Key) -> Option<Solved> {
        Some(part_with(&self.studies.get(study)?.parts, key)?.1)
    }

    /// Every failed part: study, part, failure.
    pub fn failures(&self) -> Vec<(&str, &str, String)> {
        let mut failures = Vec::new();
        for run in self.studies() {
            if let Some(Absent::Impossible(what)) = &run.absent {
                failures.push((run.node.name, "", what.clone()));
            }
            for part in &run.parts {
                if let Some(failure) = part.failure() {
                    failures.push((run.node.name, part.name.as_str(), failure.to_string()));
                }
            }
        }
        failures
    }
}

/// What is wrong with a graph or a selection.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GraphError {
    /// Two studies share a name.
    #[error("two studies are named \"{0}\"")]
    Twice(&'static str),
    /// A study reads one that is not there, or that comes later.
    #[error("study \"{study}\" reads \"{reads}\", which does not stand before it")]
    NotBefore {
        /// The reader.
        study: &'static str,
        /// What it reads.
        reads: &'static str,
    },
    /// A selected study does not exist.
    #[error("there is no study \"{0}\"")]
    Unknown(String),
}

/// The studies of one run, in an order in which each stands after all that it reads.
pub struct Graph<D> {
    studies: Vec<Box<dyn AnyStudy<D>>>,
    depth: Depth,
}

impl<D> Default for Graph<D> {
    fn default() -> Self {
        Graph { studies: Vec::new(), depth: Depth::default() }
    }
}

impl<D> Graph<D> {
    /// The same studies, run as far as `depth`.
    pub fn at_depth(self, depth: Depth) -> Graph<D> {
        Graph { depth, ..self }
    }

    /// Adds a study after those that it reads. Since a study can only read what stands before it, the graph has no
    /// cycle by construction.
    ///
    /// # Errors
    /// [`GraphError`] for a name used twice or a study that reads what is not there yet.
    pub fn with<S: Study<D> + 'static>(mut self, study: S) -> Result<Graph<D>, GraphError> {
        let node = study.node();
        if self.nodes().any(|other| other.name == node.name) {
            return Err(GraphError::Twice(node.name));
        }
        for reads in node.reads {
            if let Reads::Study(reads) = reads
                && !self.nodes().any(|other| other.name == *reads)
            {
                return Err(GraphError::NotBefore { study: node.name, reads });
            }
        }
        self.studies.push(Box::new(study));
        Ok(self)
    }

    /// The nodes in their order.
    pub fn nodes(&self) -> impl Iterator<Item = Node> + '_ {
        self.studies.iter().map(|study| study.node_of())
    }

    /// The named studies, those that they read, and those that are reported under them.
    ///
    /// # Errors
    /// [`GraphError::Unknown`] for a name that is not in the graph.
    pub fn select(&self, names: &[String]) -> Result<BTreeSet<&'static str>, GraphError> {
        let nodes: Vec<Node> = self.nodes().collect();
        let mut wanted = BTreeSet::new();
        for name in names {
            let node =
                nodes.iter().find(|n| n.name == name).ok_or_else(|| GraphError::Unknown(name.clone()))?;
            wanted.insert(node.name);
        }
        wanted.extend(nodes.iter().filter(|n| names.iter().any(|w| w == n.reported_under)).map(|n| n.name));
        for node in nodes.iter().rev().filter(|n| n.reads.iter().any(|r| matches!(r, Reads::Study(_)))) {
            if wanted.contains(node.name) {
                wanted.extend(node.reads.iter().filter_map(|r| match r {
                    Reads::Study(name) => Some(*name),
                    Reads::Design(_) => None,
                }));
            }
        }
        Ok(wanted)
    }

    /// Runs the studies (all of them, or the selected ones) on a design.
    pub fn run(
        &self,
        design: &D,
        selected: Option<&BTreeSet<&'static str>>,
        cache: &Cache,
        control: Control<'_>,
    ) -> Run {
        let wanted = |name: &str| selected.is_none_or(|s| s.contains(name));
        self.run_some(
            design,
            &wanted,
            How { depth: self.depth, bases: &[], memory: None, sides: None },
            cache,
            control,
        )
    }

    /// Runs a design that differs from that of `bases` in a quantity that the studies in `held` do not depend on: their
    /// results are taken over from the first that has them, and of the others what one of `bases` has solved for the
    /// same input.
    /// Nothing is cached or told.
    pub fn vary(&self, design: &D, bases: &[&Run], held: &[&str], depth: Depth, control: Control<'_>) -> Run {
        self.vary_some(design, held, How { depth, bases, memory: None, sides: None }, control)
    }

    /// The same, taking over too what another run that shares `memory` has solved; `sides` is shared by the runs to both sides of
    /// one change.
    pub fn vary_sharing(
        &self,
        design: &D,
        bases: &[&Run],
        held: &[&str],
        (depth, memory, sides): (Depth, &Memory, Option<&Sides>),
        control: Control<'_>,
    ) -> Run {
        self.vary_some(design, held, How { depth, bases, memory: Some(memory), sides }, control)
    }

    fn vary_some(&self, design: &D, held: &[&str], how: How<'_>, control: Control<'_>) -> Run {
        let known = |name: &str| how.bases.iter().any(|base| base.studies.contains_key(name));
        let wanted = |name: &str| known(name) && !held.contains(&name);
        self.run_some(design, &wanted, how, &Cache::none(), control)
    }

    fn run_some(
        &self,
        design: &D,
        wanted: &dyn Fn(&str) -> bool,
        how: How<'_>,
        cache: &Cache,
        control: Control<'_>,
    ) -> Run {
        let mut run = Run {
            studies: BTreeMap::new(),
            order: Vec::new(),
            solved: 0,
            recalled: 0,
            same: 0,
            cancelled: false,
        };
        for study in &self.studies {
            let node = study.node_of();
            if !wanted(node.name) {
                continue;
            }
            if control.cancelled() {
                break;
            }
            let blocked = node.reads.iter().find_map(|reads| match reads {
                Reads::Study(name) => run.studies.get(name).filter(|r| broken(r)).map(|_| *name),
                Reads::Design(_) => None,
            });
            let done = match blocked {
                Some(name) => {
                    nothing(node, Absent::Impossible(format!("It reads \"{name}\", which failed.")))
                }
                None => study.run_of(design, &mut run, how, cache, control),
            };
            if let Some(Absent::NotInDesign(reason) | Absent::Impossible(reason)) = &done.absent {
                control.tell(Event::Absent { study: node.name, reason });
            }
            run.order.push(node.name);
            run.studies.insert(node.name, done);
        }
        run.cancelled = control.cancelled();
        run
    }
}

fn broken(run: &StudyRun) -> bool {
    matches!(run.absent, Some(Absent::Impossible(_))) || run.parts.iter().any(|p| p.output.is_err())
}

fn nothing(node: Node, absent: Absent) -> StudyRun {
    StudyRun { node, absent: Some(absent), parts: Vec::new(), figures: Vec::new(), limits: BTreeMap::new() }
}

/// A study with its input and output types forgotten.
trait AnyStudy<D>: Send + Sync {
    fn node_of(&self) -> Node;
    fn run_of(
        &self,
        design: &D,
        run: &mut Run,
        how: How<'_>,
        cache: &Cache,
        control: Control<'_>,
    ) -> StudyRun;
}

impl<D, S: Study<D>> AnyStudy<D> for S {
    fn node_of(&self) -> Node {
        self.node()
    }

    fn run_of(
        &self,
        design: &D,
        run: &mut Run,
        how: How<'_>,
        cache: &Cache,
        control: Control<'_>,
    ) -> StudyRun {
        let node = self.node();
        let upstream = Upstream {
            reads: node.reads,
            depth: how.depth,
            done: &run.studies,
            bases: how.bases,
            study: node.name,
            memory: how.memory,
        };
        let inputs = match self.inputs(design, &upstream) {
            Ok(inputs) => inputs,
            Err(absent) => return nothing(node, absent),
        };
        let mut parts = Vec::new();
        let mut reports = Vec::new();
        for (name, input) in inputs {
            let key = Key::of(node.name, node.version, &input);
            let at_hand = key.as_ref().ok().and_then(|key| how.at_hand::<S::Output>(node.name, &parts, key));
            let output = match at_hand {
                Some(found) => Ok(found),
                None => {
                    let (memory, sides) = (how.memory, how.sides);
                    let progress = Progress { study: node.name, part: &name, control, memory, sides };
                    solve_part(self, node, &input, &key, cache, progress).map(|(output, recalled)| {
                        (Arc::new(output), if recalled { Whence::Before } else { Whence::Solved })
                    })
                }
            };
            let (output, report) = match output {
                Ok((output, whence)) => {
                    match whence {
                        Whence::Before => run.recalled += 1,
                        Whence::Part(at) => {
                            run.same += 1;
                            let other = parts.get(at).map_or("", |p: &Part| p.name.as_str());
                            control.tell(Event::Same { study: node.name, part: &name, other });
                        }
                        Whence::Solved => {
                            run.solved += 1;
                            if let (Some(memory), Ok(key)) = (how.memory, &key) {
                                memory.keep(*key, Arc::clone(&output) as Solved);
                            }
                        }
                    }
                    let report = self.report(&name, &input, &output);
                    reports.push((name.clone(), report.clone()));
                    (Ok(output as Solved), report)
                }
                Err(failure) => {
                    if failure != Failure::Cancelled {
                        let what = failure.to_string();
                        control.tell(Event::Failed { study: node.name, part: &name, what: &what });
                    }
                    (Err(failure), Report::default())
                }
            };
            parts.push(Part { name, report, output, key: key.ok() });
        }
        // A figure of the whole study is only given when every part of it is known.
        let (figures, limits) = if reports.len() == parts.len() {
            joined(&reports, |figure| self.join(figure))
        } else {
            (Vec::new(), BTreeMap::new())
        };
        StudyRun { node, absent: None, parts, figures, limits }
    }
}

fn solve_part<D, S: Study<D>>(
    study: &S,
    node: Node,
    input: &S::Input,
    key: &Result<Key, NoKey>,
    cache: &Cache,
    progress: Progress<'_>,
) -> Result<(S::Output, bool), Failure> {
    let Progress { part, control, .. } = progress;
    if control.cancelled() {
        return Err(Failure::Cancelled);
    }
    let key = key.as_ref().map_err(|e| Failure::Study(e.to_string()))?;
    match cache.recall(key) {
        Recall::Found(output) => {
            control.tell(Event::Recalled { study: node.name, part });
            return Ok((output, true));
        }
        Recall::Damaged => control.tell(Event::Damaged { study: node.name, part }),
        Recall::Unknown => {}
    }
    control.tell(Event::Started { study: node.name, part, stage: node.stage });
    let began = Instant::now();
    // A defect of one study must not take the other studies, or a workbench, down with it. Nothing of the broken solve
    // is looked at afterwards: the input is only read, and there is no output.
    let output = std::panic::catch_unwind(AssertUnwindSafe(|| study.solve(input, &progress)))
        .unwrap_or_else(|cause| {
            Err(Failure::Study(format!("a fault of the program: {}", words_of(&*cause))))
        })?;
    control.tell(Event::Solved { study: node.name, part, took: began.elapsed() });
    if let Err(error) = cache.keep(key, &output) {
        control.tell(Event::NotKept { what: &error.to_string() });
    }
    Ok((output, false))
}

/// What a panic said.
fn words_of(cause: &(dyn Any + Send)) -> &str {
    let text = cause.downcast_ref::<&str>().copied();
    text.or_else(|| cause.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("no word of what went wrong")
}

/// Figures over all parts. With one part they are that part's; with several, a figure is joined by its rule from
/// the parts that have it, errors add up for sums and follow the chosen part otherwise, and so do hand checks.
fn joined(
    reports: &[(String, Report)],
    rule: impl Fn(&str) -> Join,
) -> (Vec<Figure>, BTreeMap<String, String>) {
    let mut figures: Vec<Figure> = Vec::new();
    let mut limits = BTreeMap::new();
    for (part, report) in reports {
        for figure in &report.figures {
            let limit = report.limits.get(&figure.name).map(|limit| {
                if reports.len() > 1 { format!("{limit} of \"{part}\"") } else { limit.clone() }
            });
            let Some(so_far) = figures.iter_mut().find(|f| f.name == figure.name) else {
                figures.push(figure.clone());
                limits.extend(limit.map(|l| (figure.name.clone(), l)));
                continue;
            };
            let worse = match rule(&figure.name) {
                Join::Sum => {
                    so_far.value += figure.value;
                    so_far.error = so_far.error.zip(figure.error).map(|(a, b)| a + b);
                    so_far.hand = so_far.hand.zip(figure.hand).map(|(a, b)| a + b);
                    continue;
                }
                Join::Largest => figure.value > so_far.value,
                Join::Smallest => figure.value < so_far.value,
            };
            if worse {
                *so_far = figure.clone();
                limits.remove(&figure.name);
                limits.extend(limit.map(|l| (figure.name.clone(), l)));
            }
        }
    }
    (figures, limits)
}
