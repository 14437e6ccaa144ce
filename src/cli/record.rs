//! `record`: what a record says, as text and as a page.

use std::path::PathBuf;

use super::arguments::{ReadRecordArgs, RecordArgs};
use super::{say, screen};
use crate::inspect::{Failure, Options};
use crate::output::{self, Kind};
use crate::paths::Printable as _;
use crate::record::append::append;
use crate::record::{Entry, page, read, summary};
use crate::report::Run;
use crate::typeset::{Ink, Screen};
use crate::wording::counted;

impl RecordArgs {
    /// The line for a run; `None` where nothing is recorded.
    pub(super) fn line(&self, run: &Run) -> Option<Entry> {
        let by = self.by.as_deref();
        self.record.as_ref().map(|_| Entry::of(run, by))
    }

    /// Whether a call that inspects `runs` may record. A file with something in it is judged by its lines
    /// as they are added to; an empty one has none, and must not be what the call reads.
    pub(super) fn ready(&self, runs: &[PathBuf], options: &Options) -> Result<(), Failure> {
        let Some(file) = &self.record else {
            return Ok(());
        };
        let empty = std::fs::metadata(file).is_ok_and(|about| about.len() == 0);
        let judged = if empty { runs } else { &[] };
        let reads: Vec<PathBuf> = judged.iter().flat_map(|run| options.reads(run)).collect();
        output::may_add(file, &reads).map_err(Failure::plain)
    }

    /// Adds a line; what kept it from being added, if anything did.
    pub(super) fn add(&self, entry: &Entry) -> Option<String> {
        let file = self.record.as_ref()?;
        append(file, entry).err().map(|e| e.to_string())
    }
}

/// Most clearances that are told: the last ones fill a screen.
const TOLD: usize = 20;

pub(super) fn record(args: &ReadRecordArgs) -> Result<u8, Failure> {
    let record = read::read(&args.file).map_err(Failure::plain)?;
    let screen = screen();
    say(&match &args.find {
        Some(name) => found(&record, name, &screen),
        None => told(&record, &args.file.printable(), &screen),
    });
    if let Some(file) = &args.output {
        let name = args.file.file_name().unwrap_or_default().to_string_lossy();
        let text = page::page(&record, &name);
        let reads = std::slice::from_ref(&args.file);
        output::write(file, text.as_bytes(), Kind::Markup, reads).map_err(Failure::plain)?;
    }
    Ok(0)
}

fn found(record: &read::Record, name: &str, screen: &Screen) -> String {
    let places = summary::find(record, name);
    if places.is_empty() {
        let text = format!("\"{name}\" is on no blank that was cleared");
        return screen.set("", "  ", &[(Ink::Plain, &text)]);
    }
    let mut out = String::new();
    for (cleared, pockets) in places {
        let entry = cleared.entry;
        let fixture = entry.fixture.as_ref().map_or(String::new(), |f| {
            format!(", fixture \"{}\" {}", f.name, f.code)
        });
        let by = entry
            .by
            .as_ref()
            .map_or(String::new(), |b| format!(", by {b}"));
        let sha = entry.sha256.get(..12).unwrap_or(&entry.sha256);
        let text = format!(
            "\"{name}\" was cleared {} in {}, pocket {}{fixture}{by} (SHA-256 {sha}…)",
            entry.minute(),
            entry.file,
            pockets.join(", ")
        );
        out.push_str(&screen.set("", "  ", &[(Ink::Plain, &text)]));
    }
    out
}

fn told(record: &read::Record, file: &str, screen: &Screen) -> String {
    let mut out = screen.set(
        "",
        "  ",
        &[(Ink::Strong, &format!("{file}: {}", summary::extent(record)))],
    );
    for note in summary::notes(record) {
        out.push_str(&screen.set("  note: ", "        ", &[(Ink::Plain, &note)]));
    }
    let cleared = summary::cleared(record);
    let skipped = cleared.len().saturating_sub(TOLD);
    if !cleared.is_empty() {
        let heading = if skipped > 0 {
            format!("cleared (the last {TOLD} of {})", cleared.len())
        } else {
            "cleared".to_owned()
        };
        out.push('\n');
        out.push_str(&screen.set("", "  ", &[(Ink::Strong, &heading)]));
    }
    for c in cleared.iter().skip(skipped) {
        let blanks = match c.entry.blanks.len() {
            0 => "no blank".to_owned(),
            n => counted(n, "blank", "blanks"),
        };
        let by = c
            .entry
            .by
            .as_ref()
            .map_or(String::new(), |b| format!(", by {b}"));
        let text = format!("{}  {}, {blanks}{by}", c.entry.minute(), c.entry.file);
        out.push_str(&screen.set("  ", "    ", &[(Ink::Plain, &text)]));
    }
    let slips = summary::slips(record);
    if !slips.rules.is_empty() {
        out.push('\n');
        out.push_str(&screen.set("", "  ", &[(Ink::Strong, "slips, by rule and month")]));
        out.push_str(&table(&slips));
    }
    out
}

/// The last months that go beside each other on a narrow screen.
const MONTHS: usize = 6;

fn table(slips: &summary::Slips) -> String {
    let wide = slips.rules.iter().map(|(r, _)| r.len()).max().unwrap_or(0);
    let skipped = slips.months.len().saturating_sub(MONTHS);
    let mut out = format!("  {:wide$}", "");
    for month in slips.months.iter().skip(skipped) {
        out.push_str(&format!("  {month:>7}"));
    }
    out.push_str("      all\n");
    for (rule, row) in &slips.rules {
        out.push_str(&format!("  {rule:wide$}"));
        for count in row.iter().skip(skipped) {
            out.push_str(&format!("  {count:>7}"));
        }
        out.push_str(&format!("  {:>7}\n", row.iter().sum::<usize>()));
    }
    out
}
