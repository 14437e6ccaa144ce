//! The receipt beside each copy in the cleared folder: what was inspected, and against what.

use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::report::Run;

/// The published form; its number changes when a field is taken away or given another meaning.
const FORM: &str = "jigwarden-receipt/1";

/// A receipt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Receipt {
    /// [`FORM`].
    #[serde(rename = "receipt")]
    form: String,
    /// The run, by its path below the watched folder, with `/` between the parts.
    pub file: String,
    /// SHA-256 of the run's bytes.
    pub sha256: String,
    /// The fixture's name.
    pub fixture: String,
    /// The fixture's code.
    pub code: String,
    /// The program that inspected it, with its version.
    pub tool: String,
    /// SHA-256 over the fixture's files, the fonts and the options that the verdict rests on.
    pub settings: String,
    /// Whether cautions would have held it.
    pub strict: bool,
    /// The findings that waivers excused.
    pub waived: Vec<Excused>,
}

/// A finding that a waiver excused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Excused {
    /// The rule.
    pub rule: String,
    /// The pocket.
    pub pocket: Option<String>,
    /// What was found.
    pub message: String,
    /// Why it is excused.
    pub reason: String,
    /// The last day on which it is.
    pub until: String,
}

impl Receipt {
    /// The receipt of a run that is clear. `settings` is the digest of what the verdict rests on.
    pub(crate) fn of(name: &Path, run: &Run, settings: String, strict: bool) -> Self {
        let fixture = run.fixture.as_ref();
        Self {
            form: FORM.to_owned(),
            file: portable(name),
            sha256: run.sha256.clone(),
            fixture: fixture.map(|f| f.name.clone()).unwrap_or_default(),
            code: fixture.map(|f| f.code.clone()).unwrap_or_default(),
            tool: concat!("jigwarden ", env!("CARGO_PKG_VERSION")).to_owned(),
            settings,
            strict,
            waived: run
                .findings
                .iter()
                .filter_map(|f| {
                    let waived = f.waived.as_ref()?;
                    Some(Excused {
                        rule: f.rule.to_owned(),
                        pocket: f.pocket.clone(),
                        message: f.message.clone(),
                        reason: waived.reason.clone(),
                        until: waived.until.clone(),
                    })
                })
                .collect(),
        }
    }

    /// Reads the receipt of the run called `name`; `None` where the file is none, or another run's.
    pub(super) fn read(path: &Path, name: &Path) -> Option<Self> {
        let bytes = std::fs::read(path).ok()?;
        let receipt: Self = serde_json::from_slice(&bytes).ok()?;
        (receipt.form.starts_with("jigwarden-receipt/") && receipt.file == portable(name))
            .then_some(receipt)
    }

    /// The receipt as JSON, indented, with a line break at the end.
    #[expect(
        clippy::expect_used,
        reason = "serde_json refuses only map keys that are no strings, and there are no maps here"
    )]
    pub(crate) fn text(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("structs of plain values");
        text.push('\n');
        text
    }
}

fn portable(name: &Path) -> String {
    let parts: Vec<_> = name
        .components()
        .map(|c| c.as_os_str().to_string_lossy())
        .collect();
    parts.join("/")
}
