//! No settings yet: measures the drawing and drafts them.

use std::path::Path;

use super::{Enrolled, look, write};
use crate::artwork::length::RootUnits;
use crate::artwork::resolve::{ReadOptions, resolve};
use crate::artwork::source::Source;
use crate::fixture::draft;
use crate::fixture::{self, parse};
use crate::inspect::{self, Failure, Options};
use crate::paths::Printable as _;

/// Writes the draft beside the drawing.
///
/// # Errors
///
/// A drawing that cannot be read or has no closed outline, or settings that are there already.
pub(super) fn draft(path: &Path, options: &Options) -> Result<Enrolled, Failure> {
    let source = Source::read(path).map_err(|e| inspect::unreadable(&e))?;
    let beside = path.parent().map(Path::to_path_buf).unwrap_or_default();
    let settings = beside.join(fixture::SETTINGS);
    if settings.exists() {
        return Err(already(path, &beside, &settings));
    }
    let faces = inspect::faces(&beside, options);
    let reading = ReadOptions {
        units: RootUnits::CSS,
        placing: None,
        faces: &faces,
    };
    let artwork = resolve(&source, &reading).map_err(|e| inspect::unreadable(&e))?;
    let name = path
        .file_name()
        .map(|n| n.to_string_lossy().into_owned())
        .unwrap_or_default();
    let found = look::look(&source, &artwork, name);
    if found.groups.is_empty() {
        let nearly = look::nearly_closed(&artwork).map_or_else(String::new, |gap| {
            format!(
                "; there are lines whose ends come within {} of each other and do not meet",
                found.shown.length(gap)
            )
        });
        return Err(Failure::plain(format!(
            "no closed outline found in {}, so it has no pocket and no draft was written: draw each pocket as one closed line, or as lines whose ends meet{nearly}",
            path.printable()
        )));
    }
    let text = draft::draft(&found);
    write(&settings, &text)?;
    Ok(Enrolled::Draft {
        path: settings,
        found: draft::in_words(&found),
        confirm: draft::unconfirmed(&text).len(),
    })
}

/// Settings lie beside the drawing: what was probably meant.
fn already(path: &Path, beside: &Path, settings: &Path) -> Failure {
    let here = if beside.as_os_str().is_empty() {
        ".".to_owned()
    } else {
        beside.printable()
    };
    let own = parse::read(settings, &crate::rules::names())
        .ok()
        .is_none_or(|s| path.file_name().is_some_and(|n| n == s.drawing.as_str()));
    if own {
        Failure::plain(format!(
            "{} is already there and is not written over: run `jigwarden enrol {here}` to measure the drawing by it, or move it away for a new draft",
            settings.printable(),
        ))
    } else {
        Failure::plain(format!(
            "{} is not the drawing of the fixture in {here}, so nothing was done: a run is inspected (`jigwarden inspect {}`); a new fixture needs a folder of its own",
            path.printable(),
            path.printable()
        ))
    }
}
