//! Whole commands: exit status, standard output, standard error.
//!
//! Each test has a folder and a cache of its own. Paths into that folder are written as `[folder]` in snapshots, and
//! times as `[time]`.

mod check;
mod compare;
mod demos;
mod export;
mod help;
mod kill;
mod new;
mod results;
mod ring;
mod run;
mod scene;
mod tables;
