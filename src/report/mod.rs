//! Reports about the inspected files: one renderer per file.

pub(crate) mod excerpt;
pub(crate) mod fold;
pub(crate) mod json;
pub(crate) mod lines;
pub(crate) mod names;
pub(crate) mod order;
pub(crate) mod proof;
pub(crate) mod rests_on;
pub(crate) mod sarif;
pub(crate) mod text;

use std::sync::Arc;

use crate::finding::{Finding, Severity};
use crate::ids::At;

/// What was found in all the files of one call, in the order they were named.
#[derive(Debug, Clone, Default)]
pub struct Report {
    /// One entry a file.
    pub runs: Vec<Run>,
}

/// What was found in one file.
#[derive(Debug, Clone)]
pub struct Run {
    /// What the file is.
    pub subject: Subject,
    /// The file as named on the command line; a byte that is no text as `\x…`.
    pub file: String,
    /// The name with its bytes as `%…`, where it is no text.
    pub uri: Option<String>,
    /// SHA-256 of the file's bytes, hexadecimal; empty where they could not be read.
    pub sha256: String,
    /// May it be sent?
    pub verdict: Verdict,
    /// The fixture it was inspected against.
    pub fixture: Option<FixtureName>,
    /// Findings, worst first; waived ones among them.
    pub findings: Vec<Finding>,
    /// What it was compared with; `None` for a drawing, and for a run that could not be inspected.
    pub rests_on: Option<rests_on::RestsOn>,
    /// What is burnt on which blank.
    pub blanks: Vec<rests_on::Blank>,
    /// Remarks that are no findings.
    pub notes: Vec<String>,
    /// The decoded text of the file, for excerpts.
    pub text: Arc<str>,
    /// Why it could not be inspected, where the verdict is [`Verdict::Unread`].
    pub trouble: Option<String>,
    /// The unit that lengths are shown in.
    pub shown: crate::units::Shown,
}

impl Run {
    /// The findings that people are told of: those that come of another one stand at the end of the
    /// list and are counted in its sentence.
    pub fn told(&self) -> &[Finding] {
        let folded = self
            .findings
            .iter()
            .rev()
            .take_while(|f| f.because_of.is_some());
        let told = self.findings.len() - folded.count();
        self.findings.at(..told)
    }

    /// What a clear verdict was compared with, in one line: said wherever the verdict is.
    pub(crate) fn clear_rests_on(&self) -> Option<String> {
        let rests_on = self.rests_on.as_ref()?;
        (self.verdict == Verdict::Clear).then(|| rests_on.sentence())
    }
}

/// What a file is inspected as, which decides the wording of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Subject {
    /// Artwork that is to be sent.
    #[default]
    Run,
    /// The drawing from which a fixture is to be cut.
    Drawing,
}

/// The fixture as named in reports.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FixtureName {
    /// Its name.
    pub name: String,
    /// Its short code.
    pub code: String,
}

/// May the file be sent?
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Nothing holds it.
    Clear,
    /// It must not be sent.
    Hold,
    /// It could not be inspected.
    Unread,
}

impl Verdict {
    /// The word in reports.
    pub fn word(self) -> &'static str {
        match self {
            Self::Clear => "clear",
            Self::Hold => "hold",
            Self::Unread => "unread",
        }
    }

    /// The exit status it asks for; of several files the highest wins.
    pub fn exit(self) -> u8 {
        match self {
            Self::Clear => 0,
            Self::Hold => 1,
            Self::Unread => 2,
        }
    }

    /// The verdict that unwaived `findings` lead to. Under `strict`, cautions hold too.
    pub fn of(findings: &[Finding], strict: bool) -> Self {
        let holds = findings
            .iter()
            .filter(|f| f.waived.is_none())
            .any(|f| f.severity == Severity::Hold || (strict && f.severity == Severity::Caution));
        if holds { Self::Hold } else { Self::Clear }
    }
}

impl Report {
    /// The exit status of the whole call.
    pub fn exit(&self) -> u8 {
        self.runs
            .iter()
            .map(|r| r.verdict.exit())
            .max()
            .unwrap_or(0)
    }
}
