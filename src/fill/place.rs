//! Run files and load maps put in place: all of them, or none.

use std::path::{Path, PathBuf};

use super::{FillOptions, Filled, Ready, Written};
use crate::fixture;
use crate::inspect::Failure;
use crate::output;
use crate::paths::{self, Printable as _};

/// Writes everything, or nothing: every target is looked at first.
pub(super) fn put_in_place(
    ready: Vec<Ready>,
    options: &FillOptions,
    place: &Path,
    stem: &str,
    filled: &mut Filled,
) -> Result<(), Failure> {
    let folder: &Path = &options.folder;
    let mut reads = fixture::files(place);
    reads.push(options.list.file.clone());
    let refused = |e: output::Refused| Failure::plain(&e);
    for one in &ready {
        for file in [&one.file, &one.load_map] {
            output::may_write(file, &reads).map_err(refused)?;
        }
    }
    if !ready.is_empty() {
        std::fs::create_dir_all(folder)
            .map_err(|e| Failure::plain(format!("{} cannot be made: {e}", folder.printable())))?;
    }
    for one in ready {
        for (file, bytes) in [(&one.file, &one.bytes), (&one.load_map, &one.map)] {
            output::write_as_is(file, bytes, &reads).map_err(refused)?;
        }
        filled.written.push(Written {
            file: one.file,
            pockets: one.pockets,
            run: one.run,
        });
    }
    if options.only.is_empty() {
        let now: Vec<PathBuf> = filled.written.iter().map(|w| w.file.clone()).collect();
        for name in left_over(folder, stem, &now) {
            filled.notes.push(format!(
                "{name} is left from an earlier call and holds none of these orders now: delete it, so that it is not sent again"
            ));
        }
    }
    Ok(())
}

/// Run files in `folder` that an earlier call wrote for this list and that are not among `now`.
fn left_over(folder: &Path, stem: &str, now: &[PathBuf]) -> Vec<String> {
    let mut left: Vec<String> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .map(|e| e.path())
        .filter(|p| !now.contains(p) && p.extension().is_some_and(|e| e == "svg"))
        .filter(|p| paths::read(p).is_ok_and(|bytes| output::ours(&bytes)))
        .filter_map(|p| Some(p.file_name()?.to_str()?.to_owned()))
        .filter(|name| {
            let rest = name.strip_prefix(stem).and_then(|r| r.strip_prefix('-'));
            rest.is_some_and(|r| r.starts_with(|c: char| c.is_ascii_digit()))
        })
        .collect();
    left.sort();
    left
}
