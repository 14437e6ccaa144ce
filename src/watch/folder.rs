//! The watched folder: which files in it are runs.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::file_stamp::{FileStamp, folder_identity};

/// Endings of artwork files.
const ARTWORK: [&str; 2] = ["svg", "svgz"];

/// How deep sub-folders are followed: far deeper than people sort their work.
const DEEPEST: usize = 32;

/// The watched folder.
#[derive(Debug, Clone)]
pub(crate) struct Folder {
    /// Its full path.
    pub root: PathBuf,
    /// A folder inside it that is no part of it: the cleared folder.
    pub apart: Option<PathBuf>,
}

/// What is in it.
#[derive(Debug, Default)]
pub(crate) struct Listing {
    /// Which folder it is; `None` where it is not there.
    pub identity: Option<(u64, u64)>,
    /// The artwork files by full path.
    pub files: BTreeMap<PathBuf, FileStamp>,
    /// Folders that could not be read, in words.
    pub closed: Vec<String>,
}

impl Folder {
    /// Whether `path` has the name and the place of an artwork file: below the root, not hidden, not
    /// in the cleared folder.
    pub(crate) fn may_hold(&self, path: &Path) -> bool {
        is_artwork(path) && self.within(path)
    }

    /// Whether `path` lies below the root, in no hidden folder, and not in the cleared folder.
    pub(crate) fn within(&self, path: &Path) -> bool {
        let Ok(inside) = path.strip_prefix(&self.root) else {
            return false;
        };
        let hidden = inside
            .components()
            .any(|c| c.as_os_str().to_string_lossy().starts_with('.'));
        !hidden && self.apart.as_ref().is_none_or(|a| !path.starts_with(a))
    }

    /// The name that a run is shown by: its path below the root.
    pub(crate) fn name<'a>(&self, path: &'a Path) -> &'a Path {
        path.strip_prefix(&self.root).unwrap_or(path)
    }

    /// Looks at everything in it. Links to folders are not followed, links to files are.
    pub(crate) fn list(&self) -> Listing {
        let mut listing = Listing {
            identity: folder_identity(&self.root),
            ..Listing::default()
        };
        if listing.identity.is_some() {
            self.below(&self.root, 0, &mut listing);
        }
        listing
    }

    fn below(&self, folder: &Path, depth: usize, listing: &mut Listing) {
        let entries = match std::fs::read_dir(folder) {
            Ok(entries) => entries,
            // One that went away meanwhile is simply gone.
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return,
            Err(e) => {
                listing
                    .closed
                    .push(format!("{} cannot be read: {e}", folder.display()));
                return;
            }
        };
        for entry in entries.flatten() {
            let path = entry.path();
            if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                if depth < DEEPEST && self.within(&path) {
                    self.below(&path, depth + 1, listing);
                }
            } else if self.may_hold(&path)
                && let Some(stamp) = FileStamp::of(&path)
            {
                listing.files.insert(path, stamp);
            }
        }
    }
}

/// Whether the name is that of an artwork file. A name that begins with a dot or ends with `~` is an
/// editor's own copy, not a run.
pub(super) fn is_artwork(path: &Path) -> bool {
    let visible = path
        .file_name()
        .is_some_and(|n| !n.to_string_lossy().starts_with('.'));
    visible
        && path
            .extension()
            .is_some_and(|e| ARTWORK.iter().any(|a| e.eq_ignore_ascii_case(a)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn runs_are_found_below_and_copies_of_editors_are_not() {
        let place = tempfile::tempdir().unwrap();
        let root = place.path().to_path_buf();
        for name in [
            "a.svg",
            "b.SVGZ",
            "deep/er/c.svg",
            ".hidden.svg",
            ".git/d.svg",
            "e.svg~",
            "f.svg.tmp",
            "cleared/a.svg",
        ] {
            let file = root.join(name);
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, "x").unwrap();
        }
        let folder = Folder {
            root: root.clone(),
            apart: Some(root.join("cleared")),
        };
        let found = folder.list();
        let names: Vec<String> = found
            .files
            .keys()
            .map(|p| folder.name(p).to_string_lossy().into_owned())
            .collect();
        assert_eq!(names, ["a.svg", "b.SVGZ", "deep/er/c.svg"]);
        assert!(found.closed.is_empty());
    }

    #[test]
    fn a_folder_that_is_not_there_has_no_identity() {
        let place = tempfile::tempdir().unwrap();
        let folder = Folder {
            root: place.path().join("gone"),
            apart: None,
        };
        let listing = folder.list();
        assert_eq!(listing.identity, None);
        assert!(listing.files.is_empty());
    }
}
