//! The command line: parses the arguments and hands each command to its file.

use std::io::{IsTerminal as _, Write as _};
use std::process::ExitCode;
use std::sync::{Mutex, PoisonError};

use clap::{CommandFactory as _, Parser as _};

use self::arguments::{Cli, Command, ExplainArgs, WatchArgs};
use crate::explain;
use crate::finding::Info;
use crate::inspect::{Failure, on_a_deep_stack};
use crate::paths;
use crate::report::text::Look;
use crate::rules;
use crate::typeset::Screen;
use crate::watch::Watch;
use crate::watch::board::BoardOptions;
use crate::watch::recording::RecordTo;
use crate::watch::screen::{Display, Size};

mod arguments;
mod enrol;
mod files;
mod fill;
mod here;
mod inspect;
mod mend;
mod plan;
mod proof;
mod record;

/// Runs the program.
pub fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        // Bad usage is "could not be inspected"; help and version are done.
        Err(e) if e.use_stderr() => {
            let _ = e.print();
            return ExitCode::from(2);
        }
        Err(e) => {
            keep(e.print());
            return ExitCode::from(told());
        }
    };
    // Any command may read a drawing.
    let outcome = on_a_deep_stack(|| run(cli.command)).unwrap_or_else(|e| {
        Err(Failure::plain(match e {
            None => "this program stumbled: please report it, with the files that it was given"
                .to_owned(),
            Some(e) => format!("no thread to work on: {e}"),
        }))
    });
    let status = outcome.unwrap_or_else(|failure| {
        complain(&failure);
        2
    });
    ExitCode::from(status.max(told()))
}

/// Runs a command, and gives its exit status; a failure is told, and its status is 2.
fn run(command: Option<Command>) -> Result<u8, Failure> {
    match command {
        None => Err(here::here()),
        Some(Command::Plan(args)) => plan::plan(&args),
        Some(Command::Enrol(args)) => enrol::enrol(&args),
        Some(Command::Inspect(args)) => inspect::inspect(&args),
        Some(Command::Watch(args)) => watch(&args),
        Some(Command::Proof(args)) => proof::proof(&args),
        Some(Command::Mend(args)) => mend::mend(&args),
        Some(Command::Fill(args)) => fill::fill(&args),
        Some(Command::Record(args)) => record::record(&args),
        Some(Command::Explain(args)) => explain(&args),
        Some(Command::Completions { shell }) => Ok(completions(shell)),
        Some(Command::Manual { command }) => manual(command.as_deref()),
    }
}

/// The first error of standard output.
static LOST: Mutex<Option<std::io::Error>> = Mutex::new(None);

/// Writes to standard output. What could not be written is remembered for [`told`].
fn say(text: &str) {
    keep(std::io::stdout().write_all(text.as_bytes()));
}

fn keep(written: std::io::Result<()>) {
    if let Err(error) = written {
        LOST.lock()
            .unwrap_or_else(PoisonError::into_inner)
            .get_or_insert(error);
    }
}

/// The status that all that was said leaves: 2 where some of it was lost. A pipe that its reader closed
/// is the reader's business.
fn told() -> u8 {
    keep(std::io::stdout().flush());
    let lost = LOST.lock().unwrap_or_else(PoisonError::into_inner).take();
    match lost {
        Some(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            complain(&Failure::plain(format!(
                "what this command says could not be written ({error}), and is lost: make room for it, and run the command again"
            )));
            2
        }
        _ => 0,
    }
}

fn complain(trouble: &Failure) {
    let mut err = std::io::stderr();
    let _ = writeln!(err, "{}", paths::lines(&trouble.text));
    if !trouble.detail.is_empty() {
        let _ = writeln!(err, "{}", paths::lines(trouble.detail.trim_end()));
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

fn watch(args: &WatchArgs) -> Result<u8, Failure> {
    let options = args.against.options()?;
    let folder = std::slice::from_ref(&args.folder);
    args.record.ready(folder, &options)?;
    let watch = Watch {
        folder: args.folder.clone(),
        options,
        cleared: args.cleared.clone(),
        keep_at_end: args.keep_at_end,
        poll: args.poll,
        bell: args.bell,
        on_hold: args.on_hold.clone(),
        on_clear: args.on_clear.clone(),
        board: args.board.as_ref().map(|address| BoardOptions {
            address: address.clone(),
            beyond: args.board_network,
            names: args.board_name.clone(),
        }),
        record: args.record.record.clone().map(|file| RecordTo {
            file,
            by: args.record.by.clone(),
        }),
    };
    let out = std::io::stdout();
    let size: Option<Size> = out.is_terminal().then_some(|| {
        terminal_size::terminal_size()
            .map(|(terminal_size::Width(w), terminal_size::Height(h))| (w, h))
    });
    let display = Display::new(Box::new(out), screen(), size);
    crate::watch::watch(&watch, display)?;
    Ok(0)
}

fn completions(shell: clap_complete::Shell) -> u8 {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "jigwarden", &mut text);
    say(&String::from_utf8_lossy(&text));
    0
}

fn manual(command: Option<&str>) -> Result<u8, Failure> {
    let mut whole = Cli::command();
    // Names the pages of the commands after the program: jigwarden-watch.
    whole.build();
    let page = match command {
        None => whole,
        Some(name) => whole.find_subcommand(name).cloned().ok_or_else(|| {
            Failure::plain(format!(
                "there is no command {name}: `jigwarden --help` lists them"
            ))
        })?,
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(page)
        .render(&mut text)
        .map_err(|e| Failure::plain(format!("the manual page cannot be made: {e}")))?;
    say(&String::from_utf8_lossy(&text));
    Ok(0)
}

fn explain(args: &ExplainArgs) -> Result<u8, Failure> {
    let (rules, screen) = (registry(), screen());
    say(&match &args.rule {
        None => explain::list(&rules, &screen),
        Some(name) => explain::page(
            explain::find(name, &rules).map_err(Failure::plain)?,
            &screen,
        ),
    });
    Ok(0)
}
