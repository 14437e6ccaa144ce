//! The command line: parses the arguments and hands each command to its file.

use std::io::{IsTerminal as _, Write as _};
use std::process::ExitCode;
use std::sync::{Mutex, PoisonError};

use clap::{CommandFactory as _, Parser as _};

use self::arguments::{Cli, Command, ExplainArgs, WatchArgs};
use crate::explain;
use crate::finding::Info;
use crate::inspect::Failure;
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
        Err(e) => {
            let _ = e.print();
            // Bad usage is "could not be inspected"; help and version are done.
            return ExitCode::from(if e.use_stderr() { 2 } else { 0 });
        }
    };
    let Some(command) = cli.command else {
        return ExitCode::from(here::here());
    };
    let status = match command {
        Command::Plan(args) => plan::plan(&args),
        Command::Enrol(args) => enrol::enrol(&args),
        Command::Inspect(args) => inspect::inspect(&args),
        Command::Watch(args) => watch(&args),
        Command::Proof(args) => proof::proof(&args),
        Command::Mend(args) => mend::mend(&args),
        Command::Fill(args) => fill::fill(&args),
        Command::Record(args) => record::record(&args),
        Command::Explain(args) => explain(&args),
        Command::Completions { shell } => completions(shell),
        Command::Manual { command } => manual(command.as_deref()),
    };
    ExitCode::from(status.max(told()))
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
            complain(&plain(format!(
                "the report could not be written ({error}), and what it said is lost: make room for it, and inspect again"
            )));
            2
        }
        _ => 0,
    }
}

fn complain(trouble: &Failure) {
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

fn watch(args: &WatchArgs) -> u8 {
    let watch = Watch {
        folder: args.folder.clone(),
        options: args.against.options(),
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
        complain(&Failure {
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
        complain(&Failure {
            text: format!("the manual page cannot be made: {e}"),
            detail: String::new(),
        });
        return 2;
    }
    say(&String::from_utf8_lossy(&text));
    0
}

fn plain(text: String) -> Failure {
    Failure {
        text,
        detail: String::new(),
    }
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
                complain(&Failure {
                    text: words,
                    detail: String::new(),
                });
                2
            }
        },
    }
}
