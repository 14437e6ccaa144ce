//! The gate: a folder that holds a byte-for-byte copy of each run that is clear now, and of no other.
//!
//! What keeps it so, whenever the program or the machine stops:
//!
//! - A copy comes from the very bytes that were inspected, is written under a hidden temporary name
//!   that no sender opens, is brought to the disk, read back and compared, and only then renamed to
//!   its own name. A rename shows the whole file or none of it.
//! - A receipt stands beside each copy. It arrives before the copy and leaves after it: so a copy without
//!   a receipt can only be somebody else's file.
//! - A copy is taken out before its run is inspected anew.
//! - At the start nothing in the folder is vouched for: every copy of an earlier watcher is taken out
//!   and comes back when its run is inspected and clear.
//! - Files that have no receipt are somebody else's: they are named, and never touched or overwritten.
//!
//! Copies keep the sub-folders of their runs, so that two runs of one name do not meet.

mod receipt;

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::{OsStr, OsString};
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use tempfile::{Builder, NamedTempFile};

pub use receipt::{Excused, Receipt};

use super::file_stamp::FileStamp;
use crate::fixture::code::digest;

/// What temporary names begin and end with. The ending keeps senders and file pickers from taking
/// one for artwork.
const BEGIN: &str = ".jigwarden-";
const END: &str = ".part";

/// What a receipt's name ends with, after the whole name of its run.
pub const SLIP: &str = ".receipt.json";

/// The cleared folder, kept by this program alone.
#[derive(Debug)]
pub struct ClearedFolder {
    folder: PathBuf,
    kept: BTreeMap<PathBuf, Option<FileStamp>>,
    named: BTreeSet<PathBuf>,
    /// Changed since the folder was last brought to the disk.
    loose: bool,
    /// Held for as long as the gate is kept: two keepers would undo each other's work.
    _lock: Option<File>,
}

/// Why the gate cannot be kept, in words ready to be shown.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct GateError(String);

/// A copy that is written and waits to be shown.
#[derive(Debug)]
pub struct Ready {
    name: PathBuf,
    copy: NamedTempFile,
    receipt: NamedTempFile,
}

/// What a look into the folder found.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Audit {
    /// Runs whose copy was changed or taken away by somebody else.
    pub upset: Vec<PathBuf>,
    /// What was found, in words.
    pub said: Vec<String>,
}

impl ClearedFolder {
    /// Takes the folder over: makes it where it is not there, clears away what an interrupted watcher
    /// left, and takes out every copy. The words are for people.
    ///
    /// # Errors
    ///
    /// A folder that cannot be made, locked, read or emptied.
    pub fn open(folder: &Path) -> Result<(Self, Vec<String>), GateError> {
        let fail = |what: &str, e: &dyn std::fmt::Display| {
            GateError(format!(
                "the cleared folder {} {what}: {e}",
                folder.display()
            ))
        };
        fs::create_dir_all(folder).map_err(|e| fail("cannot be made", &e))?;
        let lock = lock(folder).map_err(|()| {
            GateError(format!(
                "the cleared folder {} is kept by another watcher: end that one, or name another folder",
                folder.display()
            ))
        })?;
        let mut gate = Self {
            folder: folder.to_path_buf(),
            kept: BTreeMap::new(),
            named: BTreeSet::new(),
            loose: true,
            _lock: lock,
        };
        let said = gate
            .reconcile()
            .map_err(|e| fail("cannot be put in order", &e))?;
        gate.to_disk();
        Ok((gate, said))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// How many runs lie in it.
    pub fn len(&self) -> usize {
        self.kept.len()
    }

    /// Whether no run lies in it.
    pub fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    /// Takes out whatever an earlier watcher left.
    fn reconcile(&mut self) -> io::Result<Vec<String>> {
        let mut said = Vec::new();
        for name in files(&self.folder)? {
            let path = self.folder.join(&name);
            if is_temporary(&name) {
                remove(&path)?;
            } else if let Some(run) = of_receipt(&name) {
                // A receipt goes with its copy, below; here only one that has none left.
                if !present(&self.folder.join(&run)) && Receipt::read(&path, &run).is_some() {
                    remove(&path)?;
                }
            } else if let Some(receipt) = Receipt::read(&self.beside(&name), &name) {
                if fs::read(&path).is_ok_and(|bytes| digest(&bytes) == receipt.sha256) {
                    remove(&path)?;
                } else {
                    said.push(set_aside(&path, &name)?);
                }
                remove(&self.beside(&name))?;
            }
            self.prune(&name);
        }
        said.extend(self.strangers());
        Ok(said)
    }

    /// Files that this program did not put there and has not named yet, in words.
    fn strangers(&mut self) -> Vec<String> {
        let mut said = Vec::new();
        for name in files(&self.folder).unwrap_or_default() {
            let own = self.kept.contains_key(&name)
                || of_receipt(&name).is_some_and(|run| self.kept.contains_key(&run))
                || is_temporary(&name);
            if !own && self.named.insert(name.clone()) {
                said.push(format!(
                    "{} in the cleared folder was not put there by this program: it is left alone, and nothing is said about it",
                    name.display()
                ));
            }
        }
        said
    }

    fn beside(&self, name: &Path) -> PathBuf {
        self.folder.join(receipt_name(name))
    }

    /// Takes the run called `name` out. True if it was there.
    ///
    /// # Errors
    ///
    /// The system does not let the copy be removed: it is still there.
    pub fn withdraw(&mut self, name: &Path) -> Result<bool, GateError> {
        if !self.kept.contains_key(name) {
            return Ok(false);
        }
        // The copy first: a receipt without a copy clears nothing.
        remove(&self.folder.join(name)).map_err(|e| {
            GateError(format!(
                "{} is no longer clear and cannot be taken out of the cleared folder ({e}): do not send it",
                name.display()
            ))
        })?;
        self.kept.remove(name);
        self.loose = true;
        // A receipt that stays is taken out at the next start.
        let _ = remove(&self.beside(name));
        self.prune(name);
        Ok(true)
    }

    /// Removes the sub-folders of `name` that are empty now.
    fn prune(&self, name: &Path) {
        for folder in name.ancestors().skip(1) {
            if folder.as_os_str().is_empty() || fs::remove_dir(self.folder.join(folder)).is_err() {
                return;
            }
        }
    }

    /// Shows a copy. The caller has made sure that the run is still what was inspected.
    ///
    /// # Errors
    ///
    /// The system does not let it be put in place, or somebody else's file is there.
    pub fn admit(&mut self, ready: Ready) -> Result<(), GateError> {
        let Ready {
            name,
            copy,
            receipt,
        } = ready;
        self.withdraw(&name)?;
        let fail = |e: &io::Error| {
            GateError(format!(
                "{} is clear and cannot be put into the cleared folder: {e}",
                name.display()
            ))
        };
        let path = self.folder.join(&name);
        let beside = self.beside(&name);
        self.real_folder(&name).map_err(|e| fail(&e))?;
        let taken = |path: &Path| {
            GateError(format!(
                "{} is clear and not in the cleared folder, because a file that was not put there by this program has its name: move {} away, then save the run again",
                name.display(),
                path.display()
            ))
        };
        if present(&path) {
            return Err(taken(&path));
        }
        if present(&beside) {
            // One of ours that could not be removed, or somebody else's.
            if Receipt::read(&beside, &name).is_none() {
                return Err(taken(&beside));
            }
            remove(&beside).map_err(|e| fail(&e))?;
        }
        receipt
            .persist_noclobber(&beside)
            .map_err(|e| fail(&e.error))?;
        if let Err(e) = copy.persist_noclobber(&path) {
            let _ = remove(&beside);
            return Err(fail(&e.error));
        }
        self.named.remove(&name);
        self.kept.insert(name, FileStamp::of(&path));
        self.loose = true;
        Ok(())
    }

    /// Makes the sub-folders of `name`; a link in their place would lead out of the folder.
    fn real_folder(&self, name: &Path) -> io::Result<()> {
        let mut folder = self.folder.clone();
        fs::create_dir_all(&folder)?;
        for part in name.parent().into_iter().flat_map(Path::components) {
            folder.push(part);
            match fs::symlink_metadata(&folder) {
                Ok(about) if about.is_dir() => {}
                Ok(_) => {
                    return Err(io::Error::other(format!(
                        "{} is no folder",
                        folder.display()
                    )));
                }
                Err(_) => fs::create_dir(&folder)?,
            }
        }
        Ok(())
    }

    /// Looks whether every copy is still as it was put there, and names new strangers. A copy that
    /// somebody changed is moved aside at once.
    pub fn audit(&mut self) -> Audit {
        let mut audit = Audit::default();
        let kept: Vec<(PathBuf, Option<FileStamp>)> =
            self.kept.iter().map(|(n, s)| (n.clone(), *s)).collect();
        for (name, stamp) in kept {
            let path = self.folder.join(&name);
            let now = FileStamp::of(&path);
            if now.is_some() && now == stamp {
                continue;
            }
            self.kept.remove(&name);
            self.loose = true;
            if present(&path) {
                match set_aside(&path, &name) {
                    Ok(words) => audit.said.push(words),
                    Err(e) => audit.said.push(format!(
                        "{} in the cleared folder was changed by somebody and cannot be moved aside ({e}): do not send it",
                        name.display()
                    )),
                }
            } else {
                audit.said.push(format!(
                    "{} was taken out of the cleared folder by somebody; it is put back if it is still clear",
                    name.display()
                ));
            }
            let _ = remove(&self.beside(&name));
            audit.upset.push(name);
        }
        audit.said.extend(self.strangers());
        audit
    }

    /// Brings what changed in the folder to the disk, so that a power cut does not bring a copy back.
    pub fn to_disk(&mut self) {
        if std::mem::take(&mut self.loose) {
            // Not every system can do this to a folder; the start of the next watcher takes all
            // copies out in any case.
            if let Ok(folder) = File::open(&self.folder) {
                let _ = folder.sync_all();
            }
        }
    }

    /// Takes out every copy.
    pub fn empty(&mut self) -> Vec<GateError> {
        let names: Vec<PathBuf> = self.kept.keys().cloned().collect();
        let troubles = names
            .iter()
            .filter_map(|name| self.withdraw(name).err())
            .collect();
        self.to_disk();
        troubles
    }
}

/// Writes a copy of `bytes` and its receipt under temporary names in `folder`.
///
/// # Errors
///
/// The folder cannot be written, or what was read back is not what was written.
pub fn prepare(folder: &Path, name: &Path, bytes: &[u8], receipt: &Receipt) -> io::Result<Ready> {
    fs::create_dir_all(folder)?;
    let copy = written(folder, bytes)?;
    if digest(&fs::read(copy.path())?) != receipt.sha256 {
        return Err(io::Error::other(
            "the copy differs from what was inspected; is the disk in order?",
        ));
    }
    Ok(Ready {
        name: name.to_path_buf(),
        copy,
        receipt: written(folder, receipt.text().as_bytes())?,
    })
}

fn written(folder: &Path, bytes: &[u8]) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(BEGIN).suffix(END);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // As any new file: less what the user's mask takes away.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// Takes the lock of a folder: on the folder itself, so that no file is left in it. `None` where the
/// system cannot lock a folder.
fn lock(folder: &Path) -> Result<Option<File>, ()> {
    let Ok(file) = File::open(folder) else {
        return Ok(None);
    };
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(fs::TryLockError::WouldBlock) => Err(()),
        Err(fs::TryLockError::Error(_)) => Ok(None),
    }
}

/// Every file below `folder`, by name; links are not followed.
fn files(folder: &Path) -> io::Result<Vec<PathBuf>> {
    fn below(folder: &Path, inside: &Path, found: &mut Vec<PathBuf>) -> io::Result<()> {
        for entry in fs::read_dir(folder.join(inside))? {
            let entry = entry?;
            let name = inside.join(entry.file_name());
            if entry.file_type()?.is_dir() {
                below(folder, &name, found)?;
            } else {
                found.push(name);
            }
        }
        Ok(())
    }
    let mut found = Vec::new();
    below(folder, Path::new(""), &mut found)?;
    found.sort();
    Ok(found)
}

fn is_temporary(name: &Path) -> bool {
    name.file_name()
        .map(OsStr::to_string_lossy)
        .is_some_and(|n| n.starts_with(BEGIN) && n.ends_with(END))
}

fn receipt_name(name: &Path) -> PathBuf {
    let mut whole: OsString = name.as_os_str().to_owned();
    whole.push(SLIP);
    PathBuf::from(whole)
}

/// The run that a receipt of this name would be for.
fn of_receipt(name: &Path) -> Option<PathBuf> {
    name.to_str()?.strip_suffix(SLIP).map(PathBuf::from)
}

fn present(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok()
}

fn remove(path: &Path) -> io::Result<()> {
    match fs::remove_file(path) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => Err(e),
        _ => Ok(()),
    }
}

/// Moves a copy that somebody changed out of the sender's way: it may be their work, so it is not
/// deleted.
fn set_aside(path: &Path, name: &Path) -> io::Result<String> {
    let mut number = 0_u32;
    let aside = loop {
        let mut whole = path.as_os_str().to_owned();
        whole.push(match number {
            0 => ".changed".to_owned(),
            n => format!(".changed{n}"),
        });
        let aside = PathBuf::from(whole);
        if !present(&aside) {
            break aside;
        }
        number += 1;
    };
    fs::rename(path, &aside)?;
    Ok(format!(
        "{} in the cleared folder was changed by somebody: it is moved aside to {}",
        name.display(),
        aside.file_name().unwrap_or_default().display()
    ))
}

#[cfg(test)]
mod tests;
