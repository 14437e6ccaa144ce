//! The artwork files that the words of a call name.

use std::path::{Path, PathBuf};

use crate::fixture;
use crate::inspect::Failure;

/// Endings of artwork files that a folder is searched for.
const ARTWORK: [&str; 2] = ["svg", "svgz"];

/// The files that are named, folders opened, in a fixed order.
pub(super) fn files(named: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for path in named {
        if !path.is_dir() {
            files.push(path.clone());
            continue;
        }
        let before = files.len();
        below(path, &mut files).map_err(|e| Failure {
            text: format!("the folder {} cannot be read: {e}", path.display()),
            detail: String::new(),
        })?;
        if files.len() == before {
            return Err(Failure {
                text: format!(
                    "{} is a folder with no artwork file (.svg, .svgz) in it",
                    path.display()
                ),
                detail: String::new(),
            });
        }
    }
    Ok(files)
}

fn below(folder: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    let mut here: Vec<PathBuf> = std::fs::read_dir(folder)?
        .map(|e| e.map(|e| e.path()))
        .collect::<Result<_, _>>()?;
    here.sort();
    let drawing = fixture::drawing_in(folder);
    for path in here {
        if path.is_dir() {
            below(&path, files)?;
        } else if drawing.as_ref() == Some(&path) {
            // The fixture's own drawing is cut once, and is no run.
        } else if path
            .extension()
            .is_some_and(|e| ARTWORK.iter().any(|a| e.eq_ignore_ascii_case(a)))
        {
            files.push(path);
        }
    }
    Ok(())
}
