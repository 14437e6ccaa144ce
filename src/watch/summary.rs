//! What is shown of a run: on the screen and on the board.

use crate::finding::Severity;
use crate::report::{Run, Verdict};

/// A run as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Entry {
    /// Its path below the watched folder.
    pub name: String,
    /// When it was last saved, as a count of all saves: the newest has the highest.
    pub saved: u64,
    /// Whether a verdict on its last save is still to come.
    pub working: bool,
    /// The last verdict; `None` before the first.
    pub told: Option<Summary>,
    /// Why it is not in the cleared folder although it is clear.
    pub barred: Option<String>,
}

/// A verdict as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Summary {
    /// The verdict.
    pub verdict: Verdict,
    /// SHA-256 of what was inspected.
    pub sha256: String,
    /// The fixture's name and code.
    pub fixture: Option<(String, String)>,
    /// The findings that are not excused, worst first.
    pub points: Vec<Point>,
    /// How many findings are excused by waivers.
    pub excused: usize,
    /// What a clear verdict was compared with.
    pub rests_on: Option<String>,
}

/// A finding as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Point {
    /// "hold", "caution", "note"; "unread" for the reason why nothing could be inspected.
    pub weight: &'static str,
    /// The rule; empty for that reason.
    pub rule: &'static str,
    /// The pocket, if it has one.
    pub pocket: Option<String>,
    /// "A3: …".
    pub text: String,
    /// What to do.
    pub help: String,
}

impl Summary {
    /// What is told of an inspection.
    pub(crate) fn of(run: &Run) -> Self {
        let trouble = run.trouble.as_deref().map(|text| Point {
            weight: "unread",
            rule: "",
            pocket: None,
            // The rest is an excerpt: `inspect` shows it.
            text: text.lines().next().unwrap_or_default().to_owned(),
            help: String::new(),
        });
        let found = run.findings.iter().filter(|f| f.waived.is_none());
        let points = found.map(|f| Point {
            weight: f.severity.word(),
            rule: f.rule,
            pocket: f.pocket.clone(),
            text: match &f.pocket {
                Some(pocket) => format!("{pocket}: {}", f.sentence()),
                None => f.sentence(),
            },
            help: f.help.clone(),
        });
        Self {
            verdict: run.verdict,
            sha256: run.sha256.clone(),
            fixture: run
                .fixture
                .as_ref()
                .map(|f| (f.name.clone(), f.code.clone())),
            points: trouble.into_iter().chain(points).collect(),
            excused: run.findings.iter().filter(|f| f.waived.is_some()).count(),
            rests_on: run.clear_rests_on(),
        }
    }

    /// The points that speak against sending, or all where none does; notes are left out of a line.
    pub(crate) fn first(&self) -> Option<&Point> {
        self.points
            .iter()
            .find(|p| p.weight != Severity::Note.word())
    }
}
