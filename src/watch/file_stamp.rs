//! Tells one state of a file from another without reading it.

use std::path::Path;
use std::time::{Duration, SystemTime};

/// Size, times and identity of a file.
///
/// On Unix the time of the last change of the file's entry is part of it: a program that writes new
/// contents and sets the old date back is noticed too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct FileStamp {
    length: u64,
    modified: Option<SystemTime>,
    identity: Identity,
}

/// Which file it is (device and number), and when its entry last changed (seconds, nanoseconds).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Identity {
    file: (u64, u64),
    changed: (i64, i64),
}

/// How coarse the clock of a file system may be: FAT counts modification in steps of two seconds.
/// Two states of equal size within one step have the same stamp; see [`FileStamp::doubtful`].
const COARSEST: Duration = Duration::from_millis(2500);

impl FileStamp {
    /// The stamp of an ordinary file, links followed; `None` where there is none.
    pub(crate) fn of(path: &Path) -> Option<Self> {
        let about = std::fs::metadata(path).ok()?;
        about.is_file().then(|| Self {
            length: about.len(),
            modified: about.modified().ok(),
            identity: identity(&about),
        })
    }

    /// When the file was last changed, as it says itself.
    pub(crate) fn modified(&self) -> Option<SystemTime> {
        self.modified
    }

    /// Its size in bytes.
    pub(crate) fn length(&self) -> u64 {
        self.length
    }

    /// Whether the file was changed so shortly before now that another change might leave the same
    /// stamp: then only its contents can tell.
    pub(crate) fn doubtful(&self) -> bool {
        self.age().is_none_or(|age| age < COARSEST)
    }

    /// How long ago the file was last changed; `None` where that is unknown or lies ahead. It grows
    /// from call to call: to put files in order, take [`FileStamp::modified`].
    pub(crate) fn age(&self) -> Option<Duration> {
        SystemTime::now().duration_since(self.modified?).ok()
    }
}

/// The identity of a folder: another one under the same name has another.
pub(crate) fn folder_identity(path: &Path) -> Option<(u64, u64)> {
    let about = std::fs::metadata(path).ok()?;
    about.is_dir().then(|| identity(&about).file)
}

#[cfg(unix)]
fn identity(about: &std::fs::Metadata) -> Identity {
    use std::os::unix::fs::MetadataExt as _;
    Identity {
        file: (about.dev(), about.ino()),
        changed: (about.ctime(), about.ctime_nsec()),
    }
}

#[cfg(not(unix))]
fn identity(_: &std::fs::Metadata) -> Identity {
    Identity::default()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn equal_contents_written_anew_have_another_stamp() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.svg");
        std::fs::write(&file, "one").unwrap();
        let first = FileStamp::of(&file).unwrap();
        assert_eq!(FileStamp::of(&file), Some(first));
        // Beyond the step of the kernel's clock.
        std::thread::sleep(Duration::from_millis(20));
        std::fs::write(&file, "two").unwrap();
        assert_ne!(FileStamp::of(&file), Some(first));
    }

    #[test]
    fn a_fresh_file_is_doubtful_and_an_old_one_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.svg");
        std::fs::write(&file, "one").unwrap();
        assert!(FileStamp::of(&file).unwrap().doubtful());
        let old = SystemTime::now() - Duration::from_mins(1);
        std::fs::File::options()
            .write(true)
            .open(&file)
            .unwrap()
            .set_modified(old)
            .unwrap();
        assert!(!FileStamp::of(&file).unwrap().doubtful());
    }

    #[test]
    fn a_folder_has_no_stamp() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(FileStamp::of(folder.path()), None);
        assert!(folder_identity(folder.path()).is_some());
    }
}
