//! Fixtures lie side by side, never inside one another: a file below a fixture's folder is a run to
//! be inspected, not a drawing to be enrolled.

use std::path::Path;

use crate::fixture::{self, lock};
use crate::inspect::Failure;
use crate::paths::Printable as _;

/// Refuses a drawing or folder below a fixture that is enrolled already.
///
/// # Errors
///
/// Which fixture it lies below, and what was probably meant.
pub(super) fn no_fixture_above(place: &Path) -> Result<(), Failure> {
    let Ok(absolute) = std::path::absolute(place) else {
        return Ok(());
    };
    // A fixture's own folder, settings and drawing are its own business.
    let own = if place.is_dir() {
        Some(absolute.as_path())
    } else {
        absolute.parent()
    };
    let Some(own) = own.filter(|f| !f.join(fixture::SETTINGS).is_file()) else {
        return Ok(());
    };
    let above = own
        .ancestors()
        .skip(1)
        .find(|f| f.join(fixture::SETTINGS).is_file() && f.join(lock::FILE).is_file());
    let Some(above) = above else { return Ok(()) };
    let shown = above
        .strip_prefix(std::env::current_dir().unwrap_or_default())
        .ok()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(above)
        .printable();
    let what = if place.is_dir() {
        "the folder"
    } else {
        "the file"
    };
    Err(Failure::plain(format!(
        "{what} {} lies below the fixture in {shown}, which is enrolled already, so nothing was done: a run of that fixture is inspected (`jigwarden inspect {}`); a new fixture needs a folder beside it",
        place.printable(),
        place.printable()
    )))
}
