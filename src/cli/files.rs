//! The artwork files that the words of a call name.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use crate::fixture;
use crate::inspect::Failure;
use crate::paths::Printable as _;

/// Endings of artwork files that a folder is searched for.
const ARTWORK: [&str; 2] = ["svg", "svgz"];

/// The files that are named, folders opened, in a fixed order.
pub(super) fn files(named: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    let mut seen = Seen::default();
    for path in named {
        if !path.is_dir() {
            seen.first_time(path);
            files.push(path.clone());
            continue;
        }
        let before = files.len();
        below(path, &mut seen, &mut files).map_err(|e| {
            Failure::plain(format!(
                "the folder {} cannot be read: {e}",
                path.printable()
            ))
        })?;
        if files.len() == before {
            return Err(Failure::plain(format!(
                "{} is a folder with no artwork file (.svg, .svgz) in it",
                path.printable()
            )));
        }
    }
    Ok(files)
}

/// Whether a file's name ends as artwork does.
pub(super) fn artwork(path: &Path) -> bool {
    path.extension()
        .is_some_and(|e| ARTWORK.iter().any(|a| e.eq_ignore_ascii_case(a)))
}

/// Files and folders that were met, by where they really are: links may lead back to them.
#[derive(Default)]
struct Seen(HashSet<PathBuf>);

impl Seen {
    /// Notes a path, and whether what it leads to is new. What leads nowhere is always new, so that it
    /// is said.
    fn first_time(&mut self, path: &Path) -> bool {
        std::fs::canonicalize(path).map_or(true, |real| self.0.insert(real))
    }
}

fn below(folder: &Path, seen: &mut Seen, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    if !seen.first_time(folder) {
        return Ok(());
    }
    let mut here: Vec<PathBuf> = std::fs::read_dir(folder)?
        .map(|e| e.map(|e| e.path()))
        .collect::<Result<_, _>>()?;
    here.sort();
    let drawing = fixture::drawing_in(folder);
    for path in here {
        if path.is_dir() {
            below(&path, seen, files)?;
        } else if drawing.as_ref() == Some(&path) {
            // The fixture's own drawing is cut once, and is no run.
        } else if artwork(&path) && seen.first_time(&path) {
            files.push(path);
        }
    }
    Ok(())
}
