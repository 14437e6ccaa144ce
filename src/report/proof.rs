//! The proof: a drawing of the bed as the operator stands at it, with everything that was found.
//!
//! Findings have the numbers of the report: their place in [`Run::findings`], from 1. Nothing in a
//! proof needs a script, the network or a machine's fonts; every word that comes from a file is
//! escaped.

pub mod figures;
mod glance;
mod key;
mod labels;
mod layout;
mod load_map;
mod overview;
mod page;
mod palette;
mod parts;
mod pen;
mod room;
mod rule_page;
mod save;
mod scene;
mod sheet;
mod signs;

use std::sync::Arc;

pub(crate) use self::save::Form;

use crate::finding::Severity;
use crate::matching::Job;
use crate::report::{FixtureName, Run, Subject, Verdict};
use crate::wording::counted;

/// What cannot be told from a file.
fn not_checked(run: &Run) -> &'static str {
    match run.subject {
        Subject::Run => NOT_CHECKED,
        Subject::Drawing => {
            "Not checked: the sheet and its thickness, the width that the beam burns away, focus, power, extraction, fire watch, \
     and whether a real blank goes in: cut one pocket and try it. The machine's manual and local rules come first."
        }
    }
}

/// What a clear verdict on a run says nothing of.
pub(crate) const NOT_CHECKED: &str = "Not checked: stock, focus, power, extraction, fire watch, whether the fixture is seated, \
     and whether each blank lies the right way round. The machine's manual and local rules come first.";

/// Why there is no picture.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ProofError {
    /// The drawing could not be read back to be turned into pixels.
    #[error("the proof cannot be turned into a picture: {0}")]
    Drawing(String),
    /// The picture would be too large, or empty.
    #[error("a picture {width} pixels wide and {height} high cannot be made: {why}")]
    Size {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
        /// What is wrong with it.
        why: &'static str,
    },
}

/// The proof as one SVG drawing that stands alone.
pub fn svg(job: &Job<'_>, run: &Run) -> String {
    sheet::draw(job, run)
}

/// The proof as one HTML file that stands alone.
pub fn html(job: &Job<'_>, run: &Run) -> String {
    page::write(job, run)
}

/// The run at a glance, as one SVG drawing that stands alone: its first finding, or all of the bed.
pub(crate) fn glance(job: &Job<'_>, run: &Run) -> String {
    glance::draw(job, run)
}

/// The load map as one HTML file that stands alone: which pocket gets a blank, and what is burnt on it.
pub(crate) fn load_map(job: &Job<'_>, run: &Run) -> String {
    page::map_page(job, run)
}

/// Widest and highest picture, in pixels; more takes gigabytes.
const MAX_SIDE: u32 = 16_000;

/// The proof as a PNG, `width` pixels wide, lettered with the face that is part of this program.
///
/// # Errors
///
/// A size of nothing or of more than 16 000 pixels.
pub fn png(job: &Job<'_>, run: &Run, width: u32) -> Result<Vec<u8>, ProofError> {
    let text = svg(job, run);
    let mut options = usvg::Options {
        font_family: "Ubuntu".to_owned(),
        ..usvg::Options::default()
    };
    let mut faces = usvg::fontdb::Database::new();
    faces.load_font_source(usvg::fontdb::Source::Binary(Arc::new(
        epaint_default_fonts::UBUNTU_LIGHT,
    )));
    faces.set_sans_serif_family("Ubuntu");
    options.fontdb = Arc::new(faces);
    let tree =
        usvg::Tree::from_str(&text, &options).map_err(|e| ProofError::Drawing(e.to_string()))?;
    let scale = f64::from(width) / f64::from(tree.size().width());
    let height = (f64::from(tree.size().height()) * scale).ceil();
    let bad = |why| ProofError::Size {
        width,
        height: height as u32,
        why,
    };
    if width > MAX_SIDE || height > f64::from(MAX_SIDE) {
        return Err(bad("it is larger than 16000 pixels"));
    }
    let mut map =
        resvg::tiny_skia::Pixmap::new(width, height as u32).ok_or_else(|| bad("it is empty"))?;
    let scale = scale as f32;
    resvg::render(
        &tree,
        resvg::tiny_skia::Transform::from_scale(scale, scale),
        &mut map.as_mut(),
    );
    map.encode_png()
        .map_err(|e| ProofError::Drawing(e.to_string()))
}

/// The verdict, and what it means for the person at the machine.
fn verdict_words(run: &Run) -> &'static str {
    match (run.verdict, run.subject) {
        (Verdict::Clear, Subject::Run) => "CLEAR: nothing found that holds this file",
        (Verdict::Clear, Subject::Drawing) => {
            "CLEAR: nothing found that holds this fixture drawing"
        }
        (Verdict::Hold, Subject::Run) => "HOLD: do not send this file",
        (Verdict::Hold, Subject::Drawing) => "HOLD: do not cut this fixture yet",
        (Verdict::Unread, _) => "UNREAD: this file could not be inspected",
    }
}

/// "fixture "Hive tags", code 7K3-Q9F".
fn fixture_line(run: &Run) -> String {
    run.fixture.as_ref().map_or_else(String::new, |f| {
        format!("fixture \"{}\"{}", f.name, code(f))
    })
}

/// ", code 7K3-Q9F"; nothing where the drawing was not enrolled.
fn code(fixture: &FixtureName) -> String {
    if fixture.code.is_empty() {
        ", not enrolled".to_owned()
    } else {
        format!(", code {}", fixture.code)
    }
}

/// "2 holds, 1 caution, 3 excused by a waiver".
fn tally(run: &Run) -> String {
    let count = |s: Severity| {
        run.told()
            .iter()
            .filter(|f| f.severity == s && f.waived.is_none())
            .count()
    };
    let excused = run.told().iter().filter(|f| f.waived.is_some()).count();
    let mut parts = Vec::new();
    for (n, one, many) in [
        (count(Severity::Hold), "hold", "holds"),
        (count(Severity::Caution), "caution", "cautions"),
        (count(Severity::Note), "note", "notes"),
        (excused, "excused by a waiver", "excused by waivers"),
    ] {
        if n > 0 {
            parts.push(counted(n, one, many));
        }
    }
    if parts.is_empty() {
        "nothing found".to_owned()
    } else {
        parts.join(", ")
    }
}

/// The file's name without its folders.
fn file_name(run: &Run) -> String {
    std::path::Path::new(&run.file)
        .file_name()
        .map_or_else(|| run.file.clone(), |n| n.to_string_lossy().into_owned())
}

fn title(run: &Run) -> String {
    format!(
        "{}: proof of {}",
        run.verdict.word().to_uppercase(),
        file_name(run)
    )
}

/// The drawing in words.
fn description(run: &Run) -> String {
    let ringed = match run.told().iter().filter(|f| f.bed.is_some()).count() {
        0 => String::new(),
        n => format!("; {n} of them ringed and numbered on the bed as in the list"),
    };
    format!(
        "The bed of the laser seen from the front, with the fixture in place{}. {}{ringed}.",
        match run.subject {
            Subject::Run => " and what would be burnt",
            Subject::Drawing => " as its drawing has it",
        },
        tally(run)
    )
}
