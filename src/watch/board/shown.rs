//! What the board tells its page: one JSON text after every change.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use serde::Serialize;

use crate::fixture::lists;
use crate::report::proof::NOT_CHECKED;
use crate::report::{Run, Verdict};
use crate::watch::summary::{Entry, Point, Summary};
use crate::wording::counted;

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
    /// Other pockets that have it too, in words; empty where there are none.
    also: String,
    help: &'a str,
}

/// From this many pockets on, the same thing is told once, as in the report (`report::fold`): else it would
/// leave no room for what is wrong besides.
const MANY: usize = 3;

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

/// The points, each kind once.
fn folded(points: &[Point]) -> Vec<ShownPoint<'_>> {
    let kind = |p: &Point| (p.weight, p.rule, p.help.clone());
    let mut alike: BTreeMap<_, BTreeSet<&str>> = BTreeMap::new();
    for point in points {
        let pockets = alike.entry(kind(point)).or_default();
        pockets.extend(point.pocket.as_deref());
    }
    let mut told = BTreeSet::new();
    let mut out = Vec::new();
    for point in points {
        let pocket = point.pocket.as_deref();
        let many = alike.get(&kind(point)).filter(|all| all.len() >= MANY);
        let mut also = String::new();
        if let (Some(own), Some(all)) = (pocket, many) {
            if !told.insert(kind(point)) {
                continue;
            }
            let names: Vec<&str> = all.iter().copied().filter(|p| *p != own).collect();
            also = format!(
                "and in {}: {}",
                counted(names.len(), "more pocket", "more pockets"),
                lists::pockets(&names, true)
            );
        }
        let alone = pocket.and_then(|p| point.text.strip_prefix(p)?.strip_prefix(": "));
        out.push(ShownPoint {
            weight: point.weight,
            pocket,
            text: alone.unwrap_or(&point.text),
            also,
            help: &point.help,
        });
    }
    out
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
    let mut findings = folded(told.map(|t| t.points.as_slice()).unwrap_or_default());
    let more = findings.len().saturating_sub(POINTS);
    findings.truncate(POINTS);
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
        findings,
        more,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_many_pockets_have_is_told_once() {
        let point = |pocket: &str, rule: &'static str| Point {
            weight: "hold",
            rule,
            pocket: Some(pocket.to_owned()),
            text: format!("{pocket}: is wrong"),
            help: "put it right".to_owned(),
        };
        let points = [
            point("A1", "a"),
            point("A2", "a"),
            point("B1", "b"),
            point("A3", "a"),
            point("B2", "b"),
            point("A4", "a"),
        ];
        let told: Vec<(Option<&str>, String)> = folded(&points)
            .into_iter()
            .map(|p| (p.pocket, format!("{} {}", p.text, p.also)))
            .collect();
        let alone = |pocket| (Some(pocket), "is wrong ".to_owned());
        assert_eq!(
            told,
            [
                (
                    Some("A1"),
                    "is wrong and in 3 more pockets: A2–A4".to_owned()
                ),
                alone("B1"),
                alone("B2"),
            ]
        );
        // Three times in one pocket is not many pockets.
        let one = [point("A1", "a"), point("A1", "a"), point("A1", "a")];
        assert_eq!(folded(&one).len(), 3);
    }
}
