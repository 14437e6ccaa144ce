//! The record: one line of JSON for each verdict, so that a shop can tell what was cleared when and
//! which slips occur most.
//!
//! A record is a text of lines, each whole in itself. Lines are only ever added: see [`append`].

pub(crate) mod append;
pub(crate) mod page;
pub(crate) mod read;
pub mod summary;

use serde::{Deserialize, Serialize};

use crate::report::Run;

/// The form of a line, and how every line begins.
pub const FORM: &str = "jigwarden/1";

/// What a line of a file is to a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Line {
    /// A verdict.
    Verdict(Box<Entry>),
    /// The beginning of a verdict, as a crash leaves it.
    CutShort,
    /// Nothing that this program wrote.
    Foreign,
}

impl Line {
    /// What a line is, given without its end.
    pub(crate) fn of(line: &[u8]) -> Self {
        match serde_json::from_slice::<Entry>(line) {
            Ok(entry) if entry.record == FORM => Self::Verdict(Box::new(entry)),
            Err(e) if e.is_eof() && begins(line) => Self::CutShort,
            _ => Self::Foreign,
        }
    }
}

/// Whether a line begins as every line of a record does, as far as it goes.
fn begins(line: &[u8]) -> bool {
    let beginning = beginning();
    line.starts_with(beginning.as_bytes()) || beginning.as_bytes().starts_with(line)
}

/// How every line of a record begins.
fn beginning() -> String {
    format!("{{\"record\":\"{FORM}\",")
}

/// One verdict.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// [`FORM`].
    pub record: String,
    /// When: RFC 3339, local time with its offset.
    pub time: String,
    /// The run file as named in the call.
    pub file: String,
    /// SHA-256 of its bytes; empty where they could not be read.
    pub sha256: String,
    /// "clear", "hold" or "unread".
    pub verdict: String,
    /// The fixture it was inspected against.
    pub fixture: Option<Fixture>,
    /// What each pocket gets, where it gets anything.
    pub blanks: Vec<Blank>,
    /// What was found.
    pub findings: Vec<Found>,
    /// The order list that it was compared with.
    pub list: Option<List>,
    /// Who, as `--by` says.
    pub by: Option<String>,
}

/// A fixture in a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fixture {
    /// Its name.
    pub name: String,
    /// Its code.
    pub code: String,
}

/// What one pocket gets.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Blank {
    /// The pocket.
    pub pocket: String,
    /// What is burnt on the blank in it: words, or "(picture)" and the like.
    pub burnt: String,
}

/// A finding in a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Found {
    /// The rule.
    pub rule: String,
    /// "hold", "caution" or "note".
    pub severity: String,
    /// The pocket.
    pub pocket: Option<String>,
    /// The sentence.
    pub message: String,
    /// The waiver that excuses it.
    pub waived: Option<Waived>,
}

/// A waiver in a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Waived {
    /// Why.
    pub reason: String,
    /// The last day.
    pub until: String,
}

/// An order list in a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct List {
    /// Its file name.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
}

impl Entry {
    /// The line for a run, as of now.
    pub fn of(run: &Run, by: Option<&str>) -> Self {
        let list = run.rests_on.as_ref().and_then(|r| r.names.as_ref());
        Self {
            record: FORM.to_owned(),
            time: now(),
            file: run.file.clone(),
            sha256: run.sha256.clone(),
            verdict: run.verdict.word().to_owned(),
            fixture: run.fixture.as_ref().map(|f| Fixture {
                name: f.name.clone(),
                code: f.code.clone(),
            }),
            blanks: run
                .blanks
                .iter()
                .map(|b| Blank {
                    pocket: b.pocket.clone(),
                    burnt: b.burnt.clone(),
                })
                .collect(),
            findings: run
                .findings
                .iter()
                .map(|f| Found {
                    rule: f.rule.to_owned(),
                    severity: f.severity.word().to_owned(),
                    pocket: f.pocket.clone(),
                    message: f.message.clone(),
                    waived: f.waived.as_ref().map(|w| Waived {
                        reason: w.reason.clone(),
                        until: w.until.clone(),
                    }),
                })
                .collect(),
            list: list.map(|l| List {
                file: l.file.clone(),
                sha256: l.sha256.clone(),
            }),
            by: by.map(str::to_owned),
        }
    }

    /// "2026-11-27 14:03" of its time.
    pub fn minute(&self) -> String {
        self.time.get(..16).unwrap_or(&self.time).replace('T', " ")
    }

    /// "2026-11" of its time.
    pub fn month(&self) -> &str {
        self.time.get(..7).unwrap_or("")
    }
}

/// The time it is, local, to the second, with its offset from UTC (RFC 3339, section 5.6).
fn now() -> String {
    jiff::ZonedDateTime::now()
        .strftime("%Y-%m-%dT%H:%M:%S%:z")
        .to_string()
}
