//! The words of the command line.

use std::path::PathBuf;
use std::time::Duration;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::inspect::{Failure, Options};
use crate::mend::Choice;
use crate::orders::{Batch, Named};
use crate::paths::Printable as _;
use crate::report::proof::Form;

/// Inspects laser-engraving artwork against the fixture it will be burnt in, before it is sent.
#[derive(Debug, Parser)]
#[command(name = "jigwarden", version, about, long_about = None, after_help = AFTER)]
pub(super) struct Cli {
    /// Without one, what lies in this folder is told, and what to do next.
    #[command(subcommand)]
    pub(super) command: Option<Command>,
}

const AFTER: &str = "Exit status: 0 clear (or done), 1 hold, 2 could not be inspected; of several files the highest.\n\
A clear verdict says nothing about stock, focus, power, extraction, fire watch, or whether the fixture is seated: the machine's manual, local rules and trained people come first.";

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Draw a fixture from the blank's measures, with its settings.
    Plan(Box<super::plan::PlanArgs>),
    /// Measure a fixture: a drawing gives a draft of its settings, a folder its lock.
    Enrol(EnrolArgs),
    /// Inspect run files, or every artwork file in a folder.
    Inspect(InspectArgs),
    /// Inspect a folder's files on every save, and keep a folder of those that are clear.
    Watch(WatchArgs),
    /// Draw the bed with every finding on it: a page (.html), a drawing (.svg) or a picture (.png).
    Proof(ProofArgs),
    /// Write a repaired copy of a run: only the bytes that a remedy names are changed.
    Mend(MendArgs),
    /// Write run files from an order list, each inspected and clear, with its load map.
    Fill(FillArgs),
    /// Show what was cleared when, where an order went, and which slips occur most.
    Record(ReadRecordArgs),
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
    /// Take the guesses of a new draft instead of asking; what cannot be guessed stays open.
    #[arg(long)]
    pub(super) yes: bool,
    /// Draw the fixture with what was found in its drawing, into a file that ends in .html, .svg or
    /// .png.
    #[arg(long, value_name = "FILE", value_parser = drawable)]
    pub(super) proof: Option<Drawable>,
    /// A folder of fonts to measure lettering with.
    #[arg(long, value_name = "FOLDER", value_parser = folder_of_fonts)]
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
    /// The order list of this batch (CSV, .xlsx or .ods): every name on it must be in the run, and no
    /// other.
    #[arg(long, value_name = "FILE", requires = "column")]
    pub(super) names: Option<PathBuf>,
    #[command(flatten)]
    pub(super) list: ListArgs,
    /// Cautions hold too.
    #[arg(long)]
    pub(super) strict: bool,
    /// A folder of fonts to measure lettering with.
    #[arg(long, value_name = "FOLDER", value_parser = folder_of_fonts)]
    pub(super) fonts: Vec<PathBuf>,
}

/// How the order list is to be read.
#[derive(Debug, Args)]
pub(super) struct ListArgs {
    /// The column of the order list that holds the names; several for several lines on one blank.
    #[arg(long, value_name = "NAME")]
    pub(super) column: Vec<String>,
    /// The column that says which pocket a name is for, where it is not called "pocket".
    #[arg(long, value_name = "NAME", requires = "column")]
    pub(super) pocket_column: Option<String>,
    /// The column that says how many of each are ordered; without it each row is one.
    #[arg(long, value_name = "COLUMN", requires = "column")]
    pub(super) quantity: Option<String>,
    /// Only the rows that have this value in this column.
    #[arg(long, value_name = "COLUMN=VALUE", value_parser = batch, requires = "column")]
    pub(super) batch: Option<Batch>,
    /// The sheet of a spreadsheet file, where several have these columns.
    #[arg(long, value_name = "NAME", requires = "column")]
    pub(super) sheet: Option<String>,
    /// The encoding of a CSV file that is not UTF-8, such as windows-1252.
    #[arg(long, value_name = "NAME", requires = "column")]
    pub(super) encoding: Option<String>,
}

impl ListArgs {
    pub(super) fn of(&self, file: PathBuf) -> Named {
        Named {
            file,
            bytes: None,
            columns: self.column.clone(),
            pocket_column: self.pocket_column.clone(),
            quantity: self.quantity.clone(),
            batch: self.batch.clone(),
            sheet: self.sheet.clone(),
            encoding: self.encoding.clone(),
        }
    }
}

fn batch(text: &str) -> Result<Batch, String> {
    match text.split_once('=') {
        Some((column, value)) if !column.trim().is_empty() && !value.trim().is_empty() => {
            Ok(Batch {
                column: column.trim().to_owned(),
                value: value.trim().to_owned(),
            })
        }
        _ => Err("write the column, =, and the value, such as Week=23".to_owned()),
    }
}

impl Against {
    /// # Errors
    ///
    /// A column without a list: the names would not be compared, and nothing would say so.
    pub(super) fn options(&self) -> Result<Options, Failure> {
        if let (None, Some(column)) = (&self.names, self.list.column.first()) {
            return Err(Failure::plain(format!(
                "--column {} is a column of an order list, and the call names no list: name it with --names",
                column.printable()
            )));
        }
        Ok(Options {
            fixture: self.fixture.clone(),
            fixtures: self.fixtures.clone(),
            loaded: self.loaded.clone(),
            names: self.names.clone().map(|file| self.list.of(file)),
            strict: self.strict,
            fonts: self.fonts.clone(),
            machine_fonts: true,
            ..Options::default()
        })
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
    #[command(flatten)]
    pub(super) record: RecordArgs,
}

/// Where verdicts are recorded.
#[derive(Debug, Args)]
pub(super) struct RecordArgs {
    /// Add a line for each verdict to this record.
    #[arg(long, value_name = "FILE")]
    pub(super) record: Option<PathBuf>,
    /// Who inspects, for the record.
    #[arg(long, value_name = "WHO", requires = "record")]
    pub(super) by: Option<String>,
}

#[derive(Debug, Args)]
pub(super) struct ReadRecordArgs {
    /// The record.
    pub(super) file: PathBuf,
    /// Say when this name was cleared, and in which file.
    #[arg(long, value_name = "NAME")]
    pub(super) find: Option<String>,
    /// Write a page with a plot of the slips.
    #[arg(long, short, value_name = "FILE.html")]
    pub(super) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct FillArgs {
    /// The order list (CSV, .xlsx or .ods).
    pub(super) orders: PathBuf,
    #[command(flatten)]
    pub(super) list: ListArgs,
    /// The folder that run files and load maps go into.
    #[arg(long, short, value_name = "FOLDER", requires = "column")]
    pub(super) output: PathBuf,
    /// Write outlines instead of live lettering.
    #[arg(long)]
    pub(super) outlines: bool,
    /// How to report.
    #[arg(long, value_enum, default_value_t = FillFormat::Text)]
    pub(super) format: FillFormat,
    /// Burn this pocket or name again, and nothing else; 2:A3 is pocket A3 of the second run.
    #[arg(long, value_name = "POCKET|NAME")]
    pub(super) only: Vec<String>,
    /// The fixture on the bed: its folder or its fixture.toml; the nearest to FOLDER by default.
    #[arg(long, value_name = "FOLDER")]
    pub(super) fixture: Option<PathBuf>,
    /// Pockets that hold a blank, such as A1-A7,B2; all by default.
    #[arg(long, value_name = "POCKETS")]
    pub(super) loaded: Option<String>,
    /// No run may have cautions either.
    #[arg(long)]
    pub(super) strict: bool,
    /// A folder of fonts.
    #[arg(long, value_name = "FOLDER", value_parser = folder_of_fonts)]
    pub(super) fonts: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) record: RecordArgs,
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

#[derive(Debug, Args)]
pub(super) struct MendArgs {
    /// The run file. It is never written to.
    pub(super) run: PathBuf,
    /// Where the repaired copy goes.
    #[arg(long, short, value_name = "FILE", required_unless_present = "dry_run")]
    pub(super) output: Option<PathBuf>,
    /// Mend only what these rules find.
    #[arg(long, value_name = "RULE", value_delimiter = ',')]
    pub(super) only: Vec<String>,
    /// Mend only what is found in this pocket.
    #[arg(long, value_name = "POCKET")]
    pub(super) pocket: Option<String>,
    /// Choose, where a person must decide: RULE=CHOICE, or RULE@POCKET=CHOICE for one pocket. Without it
    /// the choices are listed.
    #[arg(long, value_name = "RULE=CHOICE")]
    pub(super) choose: Vec<Choice>,
    /// Show what would change as a unified diff, and write nothing.
    #[arg(long)]
    pub(super) dry_run: bool,
    #[command(flatten)]
    pub(super) against: Against,
}

/// A folder that is there: a mistyped one would be read as an empty one.
fn folder_of_fonts(folder: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(folder);
    if path.is_dir() {
        Ok(path)
    } else {
        Err("there is no such folder".to_owned())
    }
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

/// How `fill` reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum FillFormat {
    /// For people.
    Text,
    /// For scripts: the runs that were written as `inspect` reports them, and what could not be set.
    Json,
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
    /// Leave the copies in the cleared folder when the watch ends; else it is emptied.
    #[arg(long, requires = "cleared")]
    pub(super) keep_at_end: bool,
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
    /// Show the runs and their proofs in a browser at this port or address, such as 8420. A run that is
    /// dropped on the page is inspected too, in memory.
    #[arg(long, value_name = "ADDRESS")]
    pub(super) board: Option<String>,
    /// Let the board answer to other machines.
    #[arg(long, requires = "board")]
    pub(super) board_network: bool,
    /// A further name that the board is reached by.
    #[arg(long, value_name = "NAME", requires = "board")]
    pub(super) board_name: Vec<String>,
    #[command(flatten)]
    pub(super) record: RecordArgs,
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
