//! `inspect`: each file said as it is done, in the order asked for.

use std::io::{IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};

use super::arguments::{Drawable, Format, InspectArgs};
use super::files::files;
use super::proof::prove;
use super::{complain, look, plain, registry, say};
use crate::inspect::{Failure, Inspector};
use crate::many;
use crate::report::{Report, Verdict, json, sarif, text};

pub(super) fn inspect(args: &InspectArgs) -> u8 {
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
    let inspector = Inspector::new(args.against.options());
    let (look, rules) = (look(args.every, args.quiet), registry());
    // Said here, where every core has its share, and the source can be let go of.
    let work = |index: usize| {
        let file = files.get(index).map(PathBuf::as_path);
        let (mut run, _) = inspector.inspect(file.unwrap_or(Path::new("")), |_, _| ());
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
        complain(&Failure {
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
            complain(&Failure {
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

/// Inspects one run, reports it and draws its proof.
fn inspect_and_draw(args: &InspectArgs, files: &[PathBuf], into: &Drawable) -> u8 {
    let [file] = files else {
        complain(&plain(format!(
            "--proof draws one run, and {} are named: inspect them one by one",
            files.len()
        )));
        return 2;
    };
    let (mut run, trouble) = prove(file, &args.against.options(), into);
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
