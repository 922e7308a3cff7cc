//! The command line: commands, options, and the help with an example each.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

const EXIT_STATUS: &str = "\
Exit status:
  0    all requirements that could be judged are met
  1    a requirement is short, or a published check fails
  2    the command line, the design or the output folder is no good
  3    a study failed
  130  interrupted

Files and environment:
  FACEDOWN_CACHE  folder for cached results (else the user's folder for caches)
  NO_COLOR        no colour when set and not empty

Example:
  facedown new buoy --example tidewatch && facedown run buoy/design.toml";

/// Flip-chip package engineering: from wire-bond pads to a routed bump array, with the evidence.
#[derive(Debug, Parser)]
#[command(name = "facedown", version, after_help = EXIT_STATUS, disable_help_subcommand = true, max_term_width = 100)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a worked example design with its tables.
    #[command(after_help = "Example:\n  facedown new buoy --example tidewatch")]
    New(New),
    /// Read a design and report everything that is wrong or doubtful in it.
    #[command(after_help = "\
Exit status: 0 without errors (warnings and advice do not count), 2 with errors.

Example:
  facedown check buoy/design.toml")]
    Check(Check),
    /// Run the studies of a design and write results, pictures and layout files.
    #[command(after_help = "\
The outputs replace those of the run before as one set, or not at all: a run that is stopped at any moment leaves the
old set whole. Files that you lay into the folder stay there. Results of studies are kept in a cache, so that a second
run solves only what changed.

Exit status: 0 all judged requirements are met, 1 one is short, 2 bad input, 3 a study failed, 130 interrupted.

Example:
  facedown run buoy/design.toml --out results/buoy")]
    Run(Run),
    /// Set a design side by side as bare die, with ring, with lid, and in its variants.
    #[command(after_help = "\
Forms that the design file does not give are of usual sizes, marked with a star. The layout is the same in all forms.

Exit status: 0 the design as it is meets all that could be judged, 1 it does not, 2 bad input, 3 a study failed.

Example:
  facedown compare buoy/design.toml")]
    Compare(Compare),
    /// Run the published checks on this machine and show them as a table.
    #[command(after_help = "\
Exit status: 0 when every check passes, 1 when one fails.

Example:
  facedown verify --json | head")]
    Verify(Verify),
    /// Show the materials, or one material's properties with their sources.
    #[command(after_help = "Example:\n  facedown materials silicon")]
    Materials(Materials),
    /// Write the routed layout of a design in one format.
    #[command(after_help = "\
The layout is taken from the cache when the design was run before. The names of the files written are printed.

Example:
  facedown export buoy/design.toml --format gdsii --out masks")]
    Export(Export),
    /// Write the completion script of a shell to standard output.
    #[command(
        after_help = "Example:\n  facedown completions bash > ~/.local/share/bash-completion/completions/facedown"
    )]
    Completions(Completions),
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct New {
    /// Folder to write; it must not exist or be empty.
    pub dir: PathBuf,
    /// Name of the example.
    #[arg(long, value_name = "NAME")]
    pub example: String,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct Check {
    /// Design file.
    pub file: PathBuf,
    /// Write the findings as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `run`.
#[derive(Debug, Args)]
pub struct Run {
    /// Design file.
    pub file: PathBuf,
    /// Run only these studies and what they read.
    #[arg(long, value_name = "STUDY", value_delimiter = ',')]
    pub only: Vec<String>,
    /// Folder for the outputs; by default a folder of the design's name in `out`.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Solve everything anew and keep nothing in the cache.
    #[arg(long)]
    pub no_cache: bool,
    /// Closed forms alone, for a first look: nothing is solved in space.
    #[arg(long)]
    pub closed_forms: bool,
    /// Write every fill as this many numbered frames, with an index of their times.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(2..=1000), conflicts_with = "closed_forms")]
    pub fill_frames: Option<u16>,
    /// Write results.json to standard output instead of the summary.
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub struct Compare {
    /// Design file.
    pub file: PathBuf,
    /// Write the table as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub struct Verify {
    /// Write the rows as a JSON array.
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `materials`.
#[derive(Debug, Args)]
pub struct Materials {
    /// Material to show; all are listed without one.
    pub name: Option<String>,
    /// Write JSON.
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `export`.
#[derive(Debug, Args)]
pub struct Export {
    /// Design file.
    pub file: PathBuf,
    /// Format to write.
    #[arg(long, value_enum)]
    pub format: Format,
    /// Side that the die is seen from [default: up for layouts and tables, down for pictures].
    #[arg(long, value_enum)]
    pub face: Option<Face>,
    /// Write only this die.
    #[arg(long, value_name = "NAME")]
    pub die: Option<String>,
    /// Folder for the files.
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub out: PathBuf,
    /// Solve everything anew and keep nothing in the cache.
    #[arg(long)]
    pub no_cache: bool,
}

/// Arguments of `completions`.
#[derive(Debug, Args)]
pub struct Completions {
    /// Shell.
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// Formats of `export`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// GDSII stream, one file a die.
    Gdsii,
    /// DXF drawing, one file a die.
    Dxf,
    /// Gerber X2, one file a layer.
    Gerber,
    /// CSV tables of pads, bumps, assignment and net lengths.
    Csv,
    /// SVG plan view.
    Svg,
}

/// Sides of a die.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Face {
    /// Seen on the pads, as the die is drawn.
    Up,
    /// Seen from above through the die, mirrored, as it sits in the package.
    Down,
}
