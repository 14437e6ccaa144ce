//! The words of the command line.

use std::path::PathBuf;
use std::time::Duration;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::inspect::Options;
use crate::orders::Named;
use crate::report::proof::Form;

/// Inspects laser-engraving artwork against the fixture it will be burnt in, before it is sent.
#[derive(Debug, Parser)]
#[command(name = "jigwarden", version, about, long_about = None, after_help = AFTER)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub(super) command: Command,
}

const AFTER: &str = "Exit status: 0 clear (or done), 1 hold, 2 could not be inspected; of several files the highest.\n\
A clear verdict says nothing about stock, focus, power, extraction, fire watch, or whether the fixture is seated: the machine's manual, local rules and trained people come first.";

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Measure a fixture: a drawing gives a draft of its settings, a folder its lock.
    Enrol(EnrolArgs),
    /// Inspect run files, or every artwork file in a folder.
    Inspect(InspectArgs),
    /// Inspect a folder's files on every save, and keep a folder of those that are clear.
    Watch(WatchArgs),
    /// Draw the bed with every finding on it: a page (.html), a drawing (.svg) or a picture (.png).
    Proof(ProofArgs),
    /// Show what a rule means and how to put things right, or list the rules.
    Explain(ExplainArgs),
    /// Print the completions for a shell.
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Print the manual page, to be read by `man -l -`.
    Manual {
        /// The page of one command.
        command: Option<String>,
    },
}

#[derive(Debug, Args)]
pub(super) struct EnrolArgs {
    /// A drawing without settings, or the folder of a fixture.
    pub(super) place: PathBuf,
    /// Write over a lock that differs, and say what changed.
    #[arg(long)]
    pub(super) renew: bool,
    /// Draw the fixture with what was found in its drawing, into a file that ends in .html, .svg or
    /// .png.
    #[arg(long, value_name = "FILE", value_parser = drawable)]
    pub(super) proof: Option<Drawable>,
    /// A folder of fonts to measure lettering with.
    #[arg(long, value_name = "FOLDER")]
    pub(super) fonts: Vec<PathBuf>,
}

/// What an inspection goes by; shared by every command that inspects.
#[derive(Debug, Args)]
pub(super) struct Against {
    /// The fixture on the bed: its folder or its fixture.toml.
    #[arg(long, value_name = "FOLDER", conflicts_with = "fixtures")]
    pub(super) fixture: Option<PathBuf>,
    /// A folder of fixtures: the one whose outlines are in the file is taken.
    #[arg(long, value_name = "FOLDER")]
    pub(super) fixtures: Option<PathBuf>,
    /// Pockets that hold a blank, such as A1-A7,B2; all by default.
    #[arg(long, value_name = "POCKETS")]
    pub(super) loaded: Option<String>,
    /// The order list of this batch (CSV): every name on it must be in the run, and no other.
    #[arg(long, value_name = "FILE.csv", requires = "column")]
    pub(super) names: Option<PathBuf>,
    /// The column of the order list that holds the names.
    #[arg(long, value_name = "NAME", requires = "names")]
    pub(super) column: Option<String>,
    /// The column that says which pocket a name is for, where it is not called "pocket".
    #[arg(long, value_name = "NAME", requires = "names")]
    pub(super) pocket_column: Option<String>,
    /// Cautions hold too.
    #[arg(long)]
    pub(super) strict: bool,
    /// A folder of fonts to measure lettering with.
    #[arg(long, value_name = "FOLDER")]
    pub(super) fonts: Vec<PathBuf>,
}

impl Against {
    pub(super) fn options(&self) -> Options {
        Options {
            fixture: self.fixture.clone(),
            fixtures: self.fixtures.clone(),
            loaded: self.loaded.clone(),
            names: self
                .names
                .clone()
                .zip(self.column.clone())
                .map(|(file, column)| Named {
                    file,
                    column,
                    pocket_column: self.pocket_column.clone(),
                }),
            strict: self.strict,
            fonts: self.fonts.clone(),
            machine_fonts: true,
            today: None,
        }
    }
}

#[derive(Debug, Args)]
pub(super) struct InspectArgs {
    /// Run files, or folders of them.
    #[arg(required = true, value_name = "RUN")]
    pub(super) runs: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) against: Against,
    /// How to report.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
    /// Tell every finding in full instead of folding those of one kind.
    #[arg(long)]
    pub(super) every: bool,
    /// The verdicts alone.
    #[arg(long, short)]
    pub(super) quiet: bool,
    /// Draw the proof as well, into a file that ends in .html, .svg or .png; of one run only.
    #[arg(long, value_name = "FILE", value_parser = drawable)]
    pub(super) proof: Option<Drawable>,
}

#[derive(Debug, Args)]
pub(super) struct ProofArgs {
    /// The run file.
    pub(super) run: PathBuf,
    /// Where the proof goes; the ending, .html, .svg or .png, says what it is.
    #[arg(long, short, value_name = "FILE", value_parser = drawable)]
    pub(super) output: Drawable,
    #[command(flatten)]
    pub(super) against: Against,
}

/// A file that a proof can be drawn into.
#[derive(Debug, Clone)]
pub(super) struct Drawable {
    pub(super) file: PathBuf,
    pub(super) form: Form,
}

pub(super) fn drawable(file: &str) -> Result<Drawable, String> {
    let file = PathBuf::from(file);
    match Form::of(&file) {
        Some(form) => Ok(Drawable { file, form }),
        None => Err("a proof ends in .html, .svg or .png".to_owned()),
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// For people.
    Text,
    /// For scripts.
    Json,
    /// For code review tools: SARIF 2.1.0.
    Sarif,
}

#[derive(Debug, Args)]
pub(super) struct WatchArgs {
    /// The folder that runs are saved in; its sub-folders belong to it.
    pub(super) folder: PathBuf,
    #[command(flatten)]
    pub(super) against: Against,
    /// Keep in this folder a copy of each run that is clear now, and of no other.
    #[arg(long, value_name = "FOLDER")]
    pub(super) cleared: Option<PathBuf>,
    /// Empty the cleared folder when the watch ends.
    #[arg(long, requires = "cleared")]
    pub(super) empty_at_end: bool,
    /// Look at every file this often instead of listening for saves: for network folders.
    #[arg(long, value_name = "SECONDS", num_args = 0..=1, default_missing_value = "0.5", value_parser = seconds)]
    pub(super) poll: Option<Duration>,
    /// Ring the terminal's bell when a run comes to hold.
    #[arg(long)]
    pub(super) bell: bool,
    /// Run this program when a run comes to hold, with the file and the verdict as arguments.
    #[arg(
        long,
        value_name = "PROGRAM",
        long_help = "Run this program when a run comes to hold, or can no longer be read. It gets the file and the verdict (hold, unread) as its two arguments and as JIGWARDEN_FILE and JIGWARDEN_VERDICT, and what was found first as JIGWARDEN_FINDING. It is the path of a program and takes no arguments of its own; no shell reads it."
    )]
    pub(super) on_hold: Option<PathBuf>,
    /// Run this program when a run comes to be clear, likewise.
    #[arg(long, value_name = "PROGRAM")]
    pub(super) on_clear: Option<PathBuf>,
    /// Show the runs and their proofs in a browser at this port or address, such as 8420.
    #[arg(long, value_name = "ADDRESS")]
    pub(super) board: Option<String>,
    /// Let the board answer to other machines.
    #[arg(long, requires = "board")]
    pub(super) board_network: bool,
    /// A further name that the board is reached by.
    #[arg(long, value_name = "NAME", requires = "board")]
    pub(super) board_name: Vec<String>,
}

/// A time in seconds. Less than a tenth would keep the disk busy; more than an hour is a slip.
pub(super) fn seconds(text: &str) -> Result<Duration, String> {
    match text.parse::<f64>() {
        Ok(s) if (0.1..=3600.0).contains(&s) => Ok(Duration::from_secs_f64(s)),
        _ => Err("give seconds, from 0.1 to 3600".to_owned()),
    }
}

#[derive(Debug, Args)]
pub(super) struct ExplainArgs {
    /// The rule's name.
    pub(super) rule: Option<String>,
}
