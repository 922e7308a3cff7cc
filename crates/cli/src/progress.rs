//! The progress of a run on standard error: a bar on a terminal, plain lines elsewhere.

use crate::terminal;
use facedown_pipeline::Event;
use indicatif::{ProgressBar, ProgressStyle};
use std::sync::Mutex;
use std::time::Duration;

/// Hears the events of a run.
pub struct Progress {
    bar: Option<ProgressBar>,
    /// The last tenth that was told in plain lines, so that a log stays short.
    told: Mutex<i64>,
}

impl Progress {
    /// A bar where standard error is a terminal, lines elsewhere.
    pub fn new() -> Progress {
        let bar = terminal::bars_on_stderr().then(|| {
            let bar = ProgressBar::new(1000);
            let template = if terminal::color_on_stderr() {
                "{prefix} {bar:30.cyan/dim} {percent:>3} %  {wide_msg}"
            } else {
                "{prefix} {bar:30} {percent:>3} %  {wide_msg}"
            };
            if let Ok(style) = ProgressStyle::with_template(template) {
                bar.set_style(style.progress_chars("━━╌"));
            }
            bar.enable_steady_tick(Duration::from_millis(200));
            bar
        });
        Progress { bar, told: Mutex::new(-1) }
    }

    /// Takes the bar away.
    pub fn end(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }

    /// A line that stays: above the bar, or as it is.
    fn line(&self, line: &str) {
        match &self.bar {
            Some(bar) => bar.suspend(|| terminal::say(line)),
            None => terminal::say(line),
        }
    }

    /// Shows one event.
    pub fn hear(&self, event: Event<'_>) {
        match event {
            Event::Started { study, part, .. } => {
                if let Ok(mut told) = self.told.lock() {
                    *told = 0;
                }
                match &self.bar {
                    Some(bar) => {
                        bar.set_prefix(named(study, part));
                        bar.set_position(0);
                        bar.set_message("");
                    }
                    None => terminal::say(&format!("{}: solving", named(study, part))),
                }
            }
            Event::Progress { study, part, share, doing } => self.share(study, part, share, doing),
            Event::Same { study, part, other } => {
                self.line(&format!("{}: as that of {other}", named(study, part)));
            }
            Event::Recalled { study, part } => self.line(&format!("{}: from the cache", named(study, part))),
            Event::Solved { study, part, took } => {
                self.line(&format!("{}: solved in {:.2} s", named(study, part), took.as_secs_f64()));
            }
            Event::Absent { study, reason } => self.line(&format!("{study}: nothing done. {reason}")),
            Event::Failed { study, part, what } => {
                self.line(&format!("{}: failed: {what}", named(study, part)))
            }
            Event::Damaged { study, part } => {
                self.line(&format!(
                    "{}: the cached result was damaged and is solved again",
                    named(study, part)
                ));
            }
            Event::NotKept { what } => self.line(&format!("the result was not kept in the cache: {what}")),
        }
    }

    fn share(&self, study: &str, part: &str, share: f64, doing: &str) {
        match &self.bar {
            Some(bar) => {
                if share.is_finite() {
                    bar.set_position((share.clamp(0.0, 1.0) * 1000.0) as u64);
                }
                bar.set_message(doing.to_owned());
            }
            None => {
                let tenth = if share.is_finite() { (share * 10.0).floor() as i64 } else { return };
                let Ok(mut told) = self.told.lock() else { return };
                if tenth > *told {
                    *told = tenth;
                    terminal::say(&format!("{}: {} %, {doing}", named(study, part), tenth * 10));
                }
            }
        }
    }
}

fn named(study: &str, part: &str) -> String {
    if part.is_empty() { study.to_owned() } else { format!("{study} of {part}") }
}
