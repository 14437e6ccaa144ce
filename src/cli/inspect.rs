//! `inspect`: each file said as it is done, in the order asked for.

use crate::ids::At;
use std::collections::HashSet;
use std::io::{IsTerminal as _, Write as _};
use std::path::PathBuf;
use std::sync::Arc;

use super::arguments::{Drawable, Format, InspectArgs, RecordArgs};
use super::files::files;
use super::proof::prove;
use super::{complain, look, registry, say};
use crate::inspect::together::compare_together;
use crate::inspect::{Failure, Inspector, Options};
use crate::many;
use crate::record::Entry;
use crate::report::{Report, Verdict, json, names, sarif, text};

pub(super) fn inspect(args: &InspectArgs) -> Result<u8, Failure> {
    let files = files(&args.runs)?;
    let options = args.against.options()?;
    args.record.ready(&files, &options)?;
    if let Some(into) = &args.proof {
        return inspect_and_draw(args, &files, into, &options);
    }
    let stop = crate::watch::signals(files.len() == 1)?;
    let inspector = Inspector::new(options);
    let together = compare_together(&inspector, &files)?.map(Arc::new);
    let inspector = inspector.with(|o| o.together.clone_from(&together));
    let (look, rules) = (look(args.every, args.quiet), registry());
    // Said here, where every core has its share, and the source can be let go of.
    let work = |index: usize| {
        let (mut run, _) = inspector.inspect(files.at(index), |_, _| ());
        let trouble = run.trouble.clone();
        let entry = args.record.line(&run);
        let said = match args.format {
            Format::Text => {
                // It is told on standard error, and not twice on one screen.
                run.trouble = None;
                Said::Text(text::one(&run, &look, index == 0))
            }
            Format::Json => Said::Text(json::one(&run, index == 0)),
            Format::Sarif => Said::Part(sarif::part(&run, index, &rules)),
        };
        (said, run.verdict, trouble, entry)
    };
    let mut teller = Teller {
        record: &args.record,
        counts: text::Counts::default(),
        exit: 0,
        parts: Vec::new(),
        complained: HashSet::new(),
        progress: std::io::stderr().is_terminal() && files.len() > 1,
        shown: false,
    };
    if args.format == Format::Json {
        say(json::OPENING);
    }
    let told = many::each(files.len(), &stop, work, &mut teller);
    teller.wipe();
    match args.format {
        Format::Text => {
            let names = together.as_ref().map(|t| names::text(t, &look));
            say(&names.unwrap_or_default());
            say(&text::closing(&teller.counts, &look));
        }
        Format::Json => {
            let names = together.as_ref().map(|t| ("names", names::json(t)));
            say(&json::closing(told == 0, names.as_slice()));
        }
        Format::Sarif => say(&sarif::log(std::mem::take(&mut teller.parts), &rules)),
    }
    if told < files.len() {
        return Err(Failure::plain(format!(
            "stopped: {told} of {} files are inspected, and nothing is known of the others",
            files.len()
        )));
    }
    Ok(teller.exit)
}

/// What came of one file: what is said, and its line for the record.
type Made = (Said, Verdict, Option<String>, Option<Entry>);

/// What is said of one file.
enum Said {
    Text(String),
    Part(sarif::Part),
}

/// Tells what came of each file, and how far the call has come.
struct Teller<'a> {
    record: &'a RecordArgs,
    counts: text::Counts,
    exit: u8,
    parts: Vec<sarif::Part>,
    /// What was complained of: a mistake in the settings keeps every file from being inspected, and is
    /// told once.
    complained: HashSet<String>,
    /// Whether progress is shown at all: to people only, and never between the lines of a report.
    progress: bool,
    /// Whether a line of progress is on the screen.
    shown: bool,
}

impl Teller<'_> {
    fn wipe(&mut self) {
        if std::mem::take(&mut self.shown) {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
    }
}

impl many::Listener<Made> for Teller<'_> {
    fn next(&mut self, (said, verdict, trouble, entry): Made) {
        self.wipe();
        self.counts.add(verdict);
        self.exit = self.exit.max(verdict.exit());
        match said {
            Said::Text(text) => say(&text),
            Said::Part(part) => self.parts.push(part),
        }
        if let Some(text) = trouble
            && self.complained.insert(text.clone())
        {
            complain(&Failure::plain(text));
        }
        if let Some(entry) = entry
            && let Some(text) = self.record.add(&entry)
        {
            complain(&Failure::plain(text));
            self.exit = 2;
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
fn inspect_and_draw(
    args: &InspectArgs,
    files: &[PathBuf],
    into: &Drawable,
    options: &Options,
) -> Result<u8, Failure> {
    let [file] = files else {
        return Err(Failure::plain(format!(
            "--proof draws one run, and {} are named: inspect them one by one",
            files.len()
        )));
    };
    let (mut run, trouble) = prove(file, options, into);
    let unread = run.trouble.clone();
    if args.format == Format::Text {
        run.trouble = None;
    }
    let entry = args.record.line(&run);
    let report = Report { runs: vec![run] };
    say(&match args.format {
        Format::Text => text::render(&report, &look(args.every, args.quiet)),
        Format::Json => json::render(&report),
        Format::Sarif => sarif::render(&report, &registry()),
    });
    let unrecorded = entry.and_then(|entry| args.record.add(&entry));
    let failed = trouble.is_some() || unrecorded.is_some();
    for text in unread.into_iter().chain(trouble).chain(unrecorded) {
        complain(&Failure::plain(text));
    }
    Ok(report.exit().max(if failed { 2 } else { 0 }))
}
