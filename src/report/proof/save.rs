//! Into which file a proof goes, and in which form.

use std::path::Path;

use super::{ProofError, html, png, svg};
use crate::matching::Job;
use crate::report::Run;

/// The forms of a proof.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
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
    pub fn of(file: &Path) -> Option<Self> {
        let ending = file.extension()?.to_str()?.to_ascii_lowercase();
        match ending.as_str() {
            "html" | "htm" => Some(Self::Html),
            "svg" => Some(Self::Svg),
            "png" => Some(Self::Png),
            _ => None,
        }
    }

    /// The proof in this form.
    ///
    /// # Errors
    ///
    /// A picture that cannot be made.
    pub fn draw(self, job: &Job<'_>, run: &Run) -> Result<Vec<u8>, ProofError> {
        match self {
            Self::Html => Ok(html(job, run).into_bytes()),
            Self::Svg => Ok(svg(job, run).into_bytes()),
            Self::Png => png(job, run, PNG_WIDTH),
        }
    }
}

/// Writes beside and renames, so that a crash leaves the old file or the new one.
///
/// # Errors
///
/// Whatever the folder refuses.
pub fn save(file: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let folder = match file.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let mut beside = tempfile::NamedTempFile::new_in(folder)?;
    std::io::Write::write_all(&mut beside, bytes)?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // A scratch file is its owner's alone; a proof is there to be looked at.
        std::fs::set_permissions(beside.path(), std::fs::Permissions::from_mode(0o644))?;
    }
    beside.persist(file).map_err(|e| e.error)?;
    Ok(())
}
