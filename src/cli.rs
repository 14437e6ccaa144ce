//! The command line: arguments only. What they ask for is done elsewhere.

use std::io::{IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;

use clap::{Args, CommandFactory as _, Parser, Subcommand, ValueEnum};

use crate::enrolling::{self, Enrolled};
use crate::explain;
use crate::fixture;
use crate::inspect::{self, Asked, Bench, Trouble};
use crate::many;
use crate::orders::Named;
use crate::report::proof::{self, Form};
use crate::report::text::Look;
use crate::report::{Report, Run, Verdict, json, sarif, text};
use crate::rules::{self, Info};
use crate::typeset::Screen;
use crate::watch::Watch;
use crate::watch::board::BoardOptions;
use crate::watch::screen::{Display, Size};

/// Inspects laser-engraving artwork against the fixture it will be burnt in, before it is sent.
#[derive(Debug, Parser)]
#[command(name = "jigwarden", version, about, long_about = None, after_help = AFTER)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

const AFTER: &str = "Exit status: 0 clear (or done), 1 hold, 2 could not be inspected; of several files the highest.\n\
A clear verdict says nothing about stock, focus, power, extraction, fire watch, or whether the fixture is seated: the machine's manual, local rules and trained people come first.";

#[derive(Debug, Subcommand)]
enum Command {
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
struct EnrolArgs {
    /// A drawing without settings, or the folder of a fixture.
    place: PathBuf,
    /// Write over a lock that differs, and say what changed.
    #[arg(long)]
    renew: bool,
    /// A folder of fonts to measure lettering with.
    #[arg(long, value_name = "FOLDER")]
    fonts: Vec<PathBuf>,
}

/// What an inspection goes by; shared by every command that inspects.
#[derive(Debug, Args)]
struct Against {
    /// The fixture on the bed: its folder or its fixture.toml.
    #[arg(long, value_name = "FOLDER", conflicts_with = "fixtures")]
    fixture: Option<PathBuf>,
    /// A folder of fixtures: the one whose outlines are in the file is taken.
    #[arg(long, value_name = "FOLDER")]
    fixtures: Option<PathBuf>,
    /// Pockets that hold a blank, such as A1-A7,B2; all by default.
    #[arg(long, value_name = "POCKETS")]
    loaded: Option<String>,
    /// The order list of this batch (CSV): every name on it must be in the run, and no other.
    #[arg(long, value_name = "FILE.csv", requires = "column")]
    names: Option<PathBuf>,
    /// The column of the order list that holds the names.
    #[arg(long, value_name = "NAME", requires = "names")]
    column: Option<String>,
    /// The column that says which pocket a name is for, where it is not called "pocket".
    #[arg(long, value_name = "NAME", requires = "names")]
    pocket_column: Option<String>,
    /// Cautions hold too.
    #[arg(long)]
    strict: bool,
    /// A folder of fonts to measure lettering with.
    #[arg(long, value_name = "FOLDER")]
    fonts: Vec<PathBuf>,
}

impl Against {
    fn asked(&self) -> Asked {
        Asked {
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
struct InspectArgs {
    /// Run files, or folders of them.
    #[arg(required = true, value_name = "RUN")]
    runs: Vec<PathBuf>,
    #[command(flatten)]
    against: Against,
    /// How to report.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Tell every finding in full instead of folding those of one kind.
    #[arg(long)]
    every: bool,
    /// The verdicts alone.
    #[arg(long, short)]
    quiet: bool,
    /// Draw the proof as well, into a file that ends in .html, .svg or .png; of one run only.
    #[arg(long, value_name = "FILE", value_parser = drawable)]
    proof: Option<Drawable>,
}

#[derive(Debug, Args)]
struct ProofArgs {
    /// The run file.
    run: PathBuf,
    /// Where the proof goes; the ending, .html, .svg or .png, says what it is.
    #[arg(long, short, value_name = "FILE", value_parser = drawable)]
    output: Drawable,
    #[command(flatten)]
    against: Against,
}

/// A file that a proof can be drawn into.
#[derive(Debug, Clone)]
struct Drawable {
    file: PathBuf,
    form: Form,
}

fn drawable(file: &str) -> Result<Drawable, String> {
    let file = PathBuf::from(file);
    match Form::of(&file) {
        Some(form) => Ok(Drawable { file, form }),
        None => Err("a proof ends in .html, .svg or .png".to_owned()),
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people.
    Text,
    /// For scripts.
    Json,
    /// For code review tools: SARIF 2.1.0.
    Sarif,
}

#[derive(Debug, Args)]
struct WatchArgs {
    /// The folder that runs are saved in; its sub-folders belong to it.
    folder: PathBuf,
    #[command(flatten)]
    against: Against,
    /// Keep in this folder a copy of each run that is clear now, and of no other.
    #[arg(long, value_name = "FOLDER")]
    cleared: Option<PathBuf>,
    /// Empty the cleared folder when the watch ends.
    #[arg(long, requires = "cleared")]
    empty_at_end: bool,
    /// Look at every file this often instead of listening for saves: for network folders.
    #[arg(long, value_name = "SECONDS", num_args = 0..=1, default_missing_value = "0.5", value_parser = seconds)]
    poll: Option<Duration>,
    /// Ring the terminal's bell when a run comes to hold.
    #[arg(long)]
    bell: bool,
    /// Run this program when a run comes to hold, with the file and the verdict as arguments.
    #[arg(
        long,
        value_name = "PROGRAM",
        long_help = "Run this program when a run comes to hold, or can no longer be read. It gets the file and the verdict (hold, unread) as its two arguments and as JIGWARDEN_FILE and JIGWARDEN_VERDICT, and what was found first as JIGWARDEN_FINDING. It is the path of a program and takes no arguments of its own; no shell reads it."
    )]
    on_hold: Option<PathBuf>,
    /// Run this program when a run comes to be clear, likewise.
    #[arg(long, value_name = "PROGRAM")]
    on_clear: Option<PathBuf>,
    /// Show the runs and their proofs in a browser at this port or address, such as 8420.
    #[arg(long, value_name = "ADDRESS")]
    board: Option<String>,
    /// Let the board answer to other machines.
    #[arg(long, requires = "board")]
    board_network: bool,
    /// A further name that the board is reached by.
    #[arg(long, value_name = "NAME", requires = "board")]
    board_name: Vec<String>,
}

/// A time in seconds. Less than a tenth would keep the disk busy; more than an hour is a slip.
fn seconds(text: &str) -> Result<Duration, String> {
    match text.parse::<f64>() {
        Ok(s) if (0.1..=3600.0).contains(&s) => Ok(Duration::from_secs_f64(s)),
        _ => Err("give seconds, from 0.1 to 3600".to_owned()),
    }
}

#[derive(Debug, Args)]
struct ExplainArgs {
    /// The rule's name.
    rule: Option<String>,
}

/// Runs the program.
pub fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(e) => {
            let _ = e.print();
            // Bad usage is "could not be inspected"; help and version are done.
            return ExitCode::from(if e.use_stderr() { 2 } else { 0 });
        }
    };
    ExitCode::from(match cli.command {
        Command::Enrol(args) => enrol(&args),
        Command::Inspect(args) => inspect(&args),
        Command::Watch(args) => watch(&args),
        Command::Proof(args) => proof(&args),
        Command::Explain(args) => explain(&args),
        Command::Completions { shell } => completions(shell),
        Command::Manual { command } => manual(command.as_deref()),
    })
}

/// Writes to standard output; a closed pipe is the reader's business.
fn say(text: &str) {
    let _ = std::io::stdout().write_all(text.as_bytes());
}

fn complain(trouble: &Trouble) {
    let mut err = std::io::stderr();
    let _ = writeln!(err, "{}", trouble.text);
    if !trouble.detail.is_empty() {
        let _ = writeln!(err, "{}", trouble.detail.trim_end());
    }
}

fn screen() -> Screen {
    let out = std::io::stdout();
    let terminal = out.is_terminal();
    let width = std::env::var("COLUMNS")
        .ok()
        .and_then(|c| c.parse().ok())
        .unwrap_or(100);
    Screen {
        width,
        unicode: !terminal || speaks_utf8(),
        colour: terminal && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()),
    }
}

/// Whether the terminal's locale is UTF-8: the first of the three variables that is set decides
/// (POSIX.1-2017, 8.2).
fn speaks_utf8() -> bool {
    ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .filter_map(|name| std::env::var(name).ok())
        .find(|v| !v.is_empty())
        .is_none_or(|v| {
            let v = v.to_ascii_lowercase();
            v.contains("utf-8") || v.contains("utf8")
        })
}

fn look(every: bool, quiet: bool) -> Look {
    let screen = screen();
    Look {
        width: screen.width,
        unicode: screen.unicode,
        colour: screen.colour,
        every,
        quiet,
        excerpts: true,
    }
}

fn registry() -> Vec<Info> {
    rules::all().copied().collect()
}

fn enrol(args: &EnrolArgs) -> u8 {
    let asked = Asked {
        fonts: args.fonts.clone(),
        machine_fonts: true,
        ..Asked::default()
    };
    match enrolling::enrol(&args.place, args.renew, &asked) {
        Err(trouble) => {
            complain(&trouble);
            2
        }
        Ok(Enrolled::Draft {
            path,
            found,
            confirm,
        }) => {
            let mut out = format!("draft written: {}\n", path.display());
            for line in found {
                out.push_str(&format!("  {line}\n"));
            }
            out.push_str(&format!(
                "{confirm} lines in it are marked \"confirm\": read them against the fixture itself, put them right, then run `jigwarden enrol {}`\n",
                path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")).display()
            ));
            say(&out);
            0
        }
        Ok(Enrolled::Locked {
            path,
            fixture,
            said,
            written,
            cautions,
        }) => {
            let mut out = format!(
                "{}: \"{}\" {}\n",
                if written {
                    "enrolled"
                } else {
                    "already enrolled, nothing changed"
                },
                fixture.name,
                fixture.code
            );
            for line in said {
                out.push_str(&format!("  {line}\n"));
            }
            out.push_str(&format!("  lock: {}\n", path.display()));
            if let Some(run) = cautions {
                out.push('\n');
                let report = Report { runs: vec![*run] };
                out.push_str(&text::render(&report, &look(false, false)));
            }
            say(&out);
            0
        }
        Ok(Enrolled::Held(run)) => {
            let report = Report { runs: vec![*run] };
            say(&text::render(&report, &look(false, false)));
            report.exit()
        }
    }
}

/// Endings of artwork files that a folder is searched for.
const ARTWORK: [&str; 2] = ["svg", "svgz"];

/// The files that are named, folders opened, in a fixed order.
fn files(named: &[PathBuf]) -> Result<Vec<PathBuf>, Trouble> {
    let mut files = Vec::new();
    for path in named {
        if !path.is_dir() {
            files.push(path.clone());
            continue;
        }
        let before = files.len();
        below(path, &mut files).map_err(|e| Trouble {
            text: format!("the folder {} cannot be read: {e}", path.display()),
            detail: String::new(),
        })?;
        if files.len() == before {
            return Err(Trouble {
                text: format!(
                    "{} is a folder with no artwork file (.svg, .svgz) in it",
                    path.display()
                ),
                detail: String::new(),
            });
        }
    }
    Ok(files)
}

fn below(folder: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    let mut here: Vec<PathBuf> = std::fs::read_dir(folder)?
        .map(|e| e.map(|e| e.path()))
        .collect::<Result<_, _>>()?;
    here.sort();
    let drawing = fixture::drawing_in(folder);
    for path in here {
        if path.is_dir() {
            below(&path, files)?;
        } else if drawing.as_ref() == Some(&path) {
            // The fixture's own drawing is cut once, and is no run.
        } else if path
            .extension()
            .is_some_and(|e| ARTWORK.iter().any(|a| e.eq_ignore_ascii_case(a)))
        {
            files.push(path);
        }
    }
    Ok(())
}

fn inspect(args: &InspectArgs) -> u8 {
    let files = match files(&args.runs) {
        Ok(files) => files,
        Err(trouble) => {
            complain(&trouble);
            return 2;
        }
    };
    if let Some(into) = &args.proof {
        return inspect_and_draw(args, &files, into);
    }
    let stop = match crate::watch::signals() {
        Ok(stop) => stop,
        Err(trouble) => {
            complain(&trouble);
            return 2;
        }
    };
    let bench = Bench::new(args.against.asked());
    let (look, rules) = (look(args.every, args.quiet), registry());
    // Said here, where every core has its share, and the source can be let go of.
    let work = |index: usize| {
        let file = files.get(index).map(PathBuf::as_path);
        let (mut run, _) = bench.inspect(file.unwrap_or(Path::new("")), |_, _| ());
        let trouble = run.trouble.clone();
        let said = match args.format {
            Format::Text => {
                // It is told on standard error, and not twice on one screen.
                run.trouble = None;
                Said::Text(text::one(&run, &look, index == 0))
            }
            Format::Json => Said::Text(json::one(&run, index == 0)),
            Format::Sarif => Said::Part(sarif::part(&run, index, &rules)),
        };
        (said, run.verdict, trouble)
    };
    let mut teller = Teller {
        counts: text::Counts::default(),
        exit: 0,
        parts: Vec::new(),
        progress: std::io::stderr().is_terminal() && files.len() > 1,
        shown: false,
    };
    if args.format == Format::Json {
        say(json::OPENING);
    }
    let told = many::each(files.len(), &stop, work, &mut teller);
    teller.wipe();
    match args.format {
        Format::Text => say(&text::closing(&teller.counts, &look)),
        Format::Json => say(json::closing(told == 0)),
        Format::Sarif => say(&sarif::log(std::mem::take(&mut teller.parts), &rules)),
    }
    if told < files.len() {
        complain(&Trouble {
            text: format!(
                "stopped: {told} of {} files are inspected, and nothing is known of the others",
                files.len()
            ),
            detail: String::new(),
        });
        return 2;
    }
    teller.exit
}

/// What is said of one file.
enum Said {
    Text(String),
    Part(sarif::Part),
}

/// Tells what came of each file, and how far the call has come.
struct Teller {
    counts: text::Counts,
    exit: u8,
    parts: Vec<sarif::Part>,
    /// Whether progress is shown at all: to people only, and never between the lines of a report.
    progress: bool,
    /// Whether a line of progress is on the screen.
    shown: bool,
}

impl Teller {
    fn wipe(&mut self) {
        if std::mem::take(&mut self.shown) {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
    }
}

impl many::Listener<(Said, Verdict, Option<String>)> for Teller {
    fn next(&mut self, (said, verdict, trouble): (Said, Verdict, Option<String>)) {
        self.wipe();
        self.counts.add(verdict);
        self.exit = self.exit.max(verdict.exit());
        match said {
            Said::Text(text) => say(&text),
            Said::Part(part) => self.parts.push(part),
        }
        if let Some(text) = trouble {
            complain(&Trouble {
                text,
                detail: String::new(),
            });
        }
    }

    fn beat(&mut self, progress: many::Progress) {
        if self.progress {
            self.wipe();
            let _ = write!(std::io::stderr(), "{}", progress.words());
            self.shown = true;
        }
    }
}

fn watch(args: &WatchArgs) -> u8 {
    let watch = Watch {
        folder: args.folder.clone(),
        asked: args.against.asked(),
        cleared: args.cleared.clone(),
        empty_at_end: args.empty_at_end,
        poll: args.poll,
        bell: args.bell,
        on_hold: args.on_hold.clone(),
        on_clear: args.on_clear.clone(),
        board: args.board.as_ref().map(|address| BoardOptions {
            address: address.clone(),
            beyond: args.board_network,
            names: args.board_name.clone(),
        }),
    };
    let out = std::io::stdout();
    let size: Option<Size> = out.is_terminal().then_some(|| {
        terminal_size::terminal_size()
            .map(|(terminal_size::Width(w), terminal_size::Height(h))| (w, h))
    });
    let display = Display::new(Box::new(out), screen(), size);
    match crate::watch::watch(&watch, display) {
        Ok(()) => 0,
        Err(trouble) => {
            complain(&trouble);
            2
        }
    }
}

fn completions(shell: clap_complete::Shell) -> u8 {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "jigwarden", &mut text);
    say(&String::from_utf8_lossy(&text));
    0
}

fn manual(command: Option<&str>) -> u8 {
    let mut whole = Cli::command();
    // Names the pages of the commands after the program: jigwarden-watch.
    whole.build();
    let page = match command {
        None => Some(whole),
        Some(name) => whole.find_subcommand(name).cloned(),
    };
    let Some(page) = page else {
        complain(&Trouble {
            text: format!(
                "there is no command {}: `jigwarden --help` lists them",
                command.unwrap_or_default()
            ),
            detail: String::new(),
        });
        return 2;
    };
    let mut text = Vec::new();
    if let Err(e) = clap_mangen::Man::new(page).render(&mut text) {
        complain(&Trouble {
            text: format!("the manual page cannot be made: {e}"),
            detail: String::new(),
        });
        return 2;
    }
    say(&String::from_utf8_lossy(&text));
    0
}

/// Inspects one run, reports it and draws its proof.
fn inspect_and_draw(args: &InspectArgs, files: &[PathBuf], into: &Drawable) -> u8 {
    let [file] = files else {
        complain(&plain(format!(
            "--proof draws one run, and {} are named: inspect them one by one",
            files.len()
        )));
        return 2;
    };
    let (mut run, trouble) = prove(file, &args.against.asked(), into);
    let troubles: Vec<String> = run.trouble.iter().cloned().chain(trouble.clone()).collect();
    if args.format == Format::Text {
        run.trouble = None;
    }
    let report = Report { runs: vec![run] };
    say(&match args.format {
        Format::Text => text::render(&report, &look(args.every, args.quiet)),
        Format::Json => json::render(&report),
        Format::Sarif => sarif::render(&report, &registry()),
    });
    for text in troubles {
        complain(&plain(text));
    }
    report.exit().max(if trouble.is_some() { 2 } else { 0 })
}

fn plain(text: String) -> Trouble {
    Trouble {
        text,
        detail: String::new(),
    }
}

/// Inspects a run and draws its proof; what kept the proof from being written, if anything did. Of
/// a run that could not be inspected there is nothing to draw, and no file is touched.
fn prove(run: &Path, asked: &Asked, into: &Drawable) -> (Run, Option<String>) {
    let file = into.file.display();
    let (run, drawn) = inspect::inspect(run, asked, |job, run| into.form.draw(job, run));
    let trouble = match drawn {
        None => Some(format!(
            "no proof is drawn of a file that could not be inspected: {file} was not written"
        )),
        Some(Err(e)) => Some(format!("{file}: {e}")),
        Some(Ok(bytes)) => proof::save(&into.file, &bytes)
            .err()
            .map(|e| format!("{file} cannot be written: {e}")),
    };
    (run, trouble)
}

fn proof(args: &ProofArgs) -> u8 {
    let (run, trouble) = prove(&args.run, &args.against.asked(), &args.output);
    let held_up = trouble.is_some();
    for text in run.trouble.iter().cloned().chain(trouble) {
        complain(&plain(text));
    }
    if held_up {
        return 2;
    }
    let found = match run.findings.len() {
        0 => "nothing found".to_owned(),
        1 => "1 finding".to_owned(),
        n => format!("{n} findings"),
    };
    say(&format!(
        "{}: {} ({found})\n",
        run.verdict.word().to_uppercase(),
        args.output.file.display()
    ));
    run.verdict.exit()
}

fn explain(args: &ExplainArgs) -> u8 {
    let rules = registry();
    match &args.rule {
        None => {
            say(&explain::list(&rules, &screen()));
            0
        }
        Some(name) => match explain::find(name, &rules) {
            Ok(rule) => {
                say(&explain::page(rule, &screen()));
                0
            }
            Err(words) => {
                complain(&Trouble {
                    text: words,
                    detail: String::new(),
                });
                2
            }
        },
    }
}
