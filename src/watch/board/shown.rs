//! What the board tells its page: one JSON text after every change.

use std::path::Path;

use serde::Serialize;

use crate::report::proof::NOT_CHECKED;
use crate::report::{Run, Verdict};
use crate::watch::summary::{Entry, Point, Summary};

/// Runs that the page lists; more are counted. Nobody reads so many from two metres, and each change
/// sends the list anew.
const LISTED: usize = 200;

/// Findings of a run that the page lists.
const POINTS: usize = 4;

#[derive(Serialize)]
pub(super) struct Shown<'a> {
    tool: &'static str,
    epoch: u64,
    hold: usize,
    unread: usize,
    clear: usize,
    working: usize,
    more: usize,
    notices: &'a [String],
    /// What a clear verdict says nothing of.
    not_checked: &'static str,
    runs: Vec<ShownRun<'a>>,
}

#[derive(Serialize)]
struct ShownRun<'a> {
    id: String,
    name: &'a str,
    working: bool,
    verdict: Option<&'static str>,
    sha256: &'a str,
    fixture: Option<String>,
    excused: usize,
    rests_on: Option<&'a str>,
    barred: Option<&'a str>,
    findings: Vec<ShownPoint<'a>>,
    more: usize,
}

#[derive(Serialize)]
struct ShownPoint<'a> {
    weight: &'static str,
    pocket: Option<&'a str>,
    /// What is wrong, without the pocket.
    text: &'a str,
    help: &'a str,
}

impl<'a> Shown<'a> {
    /// The runs, newest first.
    pub(super) fn of(epoch: u64, entries: &'a [(&Path, &Entry)], notices: &'a [String]) -> Self {
        let count = |verdict| {
            let told = |e: &Entry| e.told.as_ref().is_some_and(|t| t.verdict == verdict);
            entries.iter().filter(|(_, e)| told(e)).count()
        };
        Self {
            tool: env!("CARGO_PKG_VERSION"),
            epoch,
            hold: count(Verdict::Hold),
            unread: count(Verdict::Unread),
            clear: count(Verdict::Clear),
            working: entries.iter().filter(|(_, e)| e.working).count(),
            more: entries.len().saturating_sub(LISTED),
            notices,
            not_checked: NOT_CHECKED,
            runs: entries.iter().take(LISTED).map(|(_, e)| shown(e)).collect(),
        }
    }
}

/// What the page is told of a run that was dropped on it.
///
/// # Errors
///
/// None that can be met: it is strings and numbers only.
pub(super) fn dropped(id: &str, run: &Run) -> serde_json::Result<String> {
    let entry = Entry {
        name: run.file.clone(),
        saved: 0,
        working: false,
        told: Some(Summary::of(run)),
        barred: None,
    };
    serde_json::to_string(&ShownRun {
        id: id.to_owned(),
        ..shown(&entry)
    })
}

impl<'a> ShownPoint<'a> {
    fn of(point: &'a Point) -> Self {
        let pocket = point.pocket.as_deref();
        let alone = pocket.and_then(|p| point.text.strip_prefix(p)?.strip_prefix(": "));
        Self {
            weight: point.weight,
            pocket,
            text: alone.unwrap_or(&point.text),
            help: &point.help,
        }
    }
}

/// What a run is called in an address: nothing of its name, which may hold anything.
pub(super) fn id(name: &str) -> String {
    id_of(name.as_bytes())
}

/// Likewise, of a dropped run with all that was chosen for it.
pub(super) fn id_of(bytes: &[u8]) -> String {
    let mut digest = crate::fixture::code::digest(bytes);
    digest.truncate(16);
    digest
}

fn shown(entry: &Entry) -> ShownRun<'_> {
    let told = entry.told.as_ref();
    let points = told.map(|t| t.points.as_slice()).unwrap_or_default();
    ShownRun {
        id: id(&entry.name),
        name: &entry.name,
        working: entry.working,
        verdict: told.map(|t| t.verdict.word()),
        sha256: told.map(|t| t.sha256.as_str()).unwrap_or_default(),
        fixture: told
            .and_then(|t| t.fixture.as_ref())
            .map(|(name, code)| format!("{name} {code}")),
        excused: told.map_or(0, |t| t.excused),
        rests_on: told.and_then(|t| t.rests_on.as_deref()),
        barred: entry.barred.as_deref(),
        findings: points.iter().take(POINTS).map(ShownPoint::of).collect(),
        more: points.len().saturating_sub(POINTS),
    }
}
