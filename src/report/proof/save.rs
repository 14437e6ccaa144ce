//! In which form a proof is drawn.

use std::path::Path;

use super::{ProofError, html, png, svg};
use crate::matching::Job;
use crate::output::Kind;
use crate::report::Run;

/// The forms of a proof.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// A page that stands alone.
    Html,
    /// One drawing.
    Svg,
    /// One picture.
    Png,
}

/// Pixels across a PNG: on A4 this is about two hundred dots to the inch.
const PNG_WIDTH: u32 = 1600;

impl Form {
    /// The form that a file's ending asks for.
    pub(crate) fn of(file: &Path) -> Option<Self> {
        let ending = file.extension()?.to_str()?.to_ascii_lowercase();
        match ending.as_str() {
            "html" | "htm" => Some(Self::Html),
            "svg" => Some(Self::Svg),
            "png" => Some(Self::Png),
            _ => None,
        }
    }

    /// How a file of this form carries the mark of this program.
    pub(crate) fn kind(self) -> Kind {
        match self {
            Self::Html | Self::Svg => Kind::Markup,
            Self::Png => Kind::Png,
        }
    }

    /// The proof in this form.
    ///
    /// # Errors
    ///
    /// A picture that cannot be made.
    pub(crate) fn draw(self, job: &Job<'_>, run: &Run) -> Result<Vec<u8>, ProofError> {
        match self {
            Self::Html => Ok(html(job, run).into_bytes()),
            Self::Svg => Ok(svg(job, run).into_bytes()),
            Self::Png => png(job, run, PNG_WIDTH),
        }
    }
}
