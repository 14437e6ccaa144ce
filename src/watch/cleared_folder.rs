//! The cleared folder: it holds a byte-for-byte copy of each run that is clear now, and of no other.
//!
//! What keeps it so, whenever the program or the machine stops:
//!
//! - A copy comes from the very bytes that were inspected, is written under a hidden temporary name
//!   that no sender opens, is brought to the disk, read back and compared, and only then renamed to
//!   its own name. A rename shows the whole file or none of it.
//! - A receipt stands beside each copy. It arrives before the copy and leaves after it: so an artwork
//!   file that no receipt vouches for is somebody else's, or can no longer be told from it. It is moved
//!   aside to a name that no sender opens.
//! - A copy is taken out before its run is inspected anew. Where many go at once, the whole folder is
//!   renamed for the time that it takes: they all leave in one step.
//! - At the start nothing in the folder is vouched for: every copy of an earlier watcher is taken out
//!   and comes back when its run is inspected and clear.
//! - Other files of other people are named, and never touched or overwritten.
//!
//! Copies keep the sub-folders of their runs, so that two runs of one name do not meet.

mod disk;
mod receipt;

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

pub(crate) use self::disk::prepare;
use self::disk::{Syncer, files, of_receipt, present, receipt_name, remove, set_aside};
pub(crate) use self::receipt::Receipt;
use super::file_stamp::FileStamp;
use super::folder::is_artwork;
use crate::fixture::code::digest;

/// From how many copies on they leave by renaming the folder. Fewer are quicker taken out one by one,
/// and the folder stays where it is.
const MANY: usize = 16;

/// The cleared folder, kept by this program alone.
#[derive(Debug)]
pub(crate) struct ClearedFolder {
    folder: PathBuf,
    kept: BTreeMap<PathBuf, Kept>,
    /// Files of others that people were told of.
    named: BTreeSet<PathBuf>,
    syncer: Syncer,
    /// Held for as long as the folder is kept: two watchers would undo each other's work.
    _lock: Option<File>,
}

/// A copy that lies in the folder.
#[derive(Debug)]
struct Kept {
    receipt: Receipt,
    copy_stamp: Option<FileStamp>,
    receipt_stamp: Option<FileStamp>,
}

/// Why the folder cannot be kept, in words ready to be shown.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub(crate) struct ClearedError(String);

/// A copy that is written and waits to be shown.
#[derive(Debug)]
pub(crate) struct Ready {
    name: PathBuf,
    receipt: Receipt,
    copy_file: NamedTempFile,
    receipt_file: NamedTempFile,
}

/// What an audit of the folder found.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Audit {
    /// Runs whose copy or receipt was changed or taken away by somebody else.
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
    /// The folder cannot be made or read, another watcher keeps it, or a copy cannot be taken out.
    pub(crate) fn open(folder: &Path) -> Result<(Self, Vec<String>), ClearedError> {
        let fail = |what: &str, e: &dyn std::fmt::Display| {
            ClearedError(format!(
                "the cleared folder {} {what}: {e}",
                folder.display()
            ))
        };
        if let Some(parent) = folder.parent() {
            fs::create_dir_all(parent).map_err(|e| fail("cannot be made", &e))?;
        }
        // Before anything is touched: a watch that is refused leaves no trace.
        let lock = disk::lock(folder).map_err(|()| {
            ClearedError(format!(
                "the cleared folder {} is kept by another watcher: end that one, or name another folder",
                folder.display()
            ))
        })?;
        let mut cleared = Self {
            folder: folder.to_path_buf(),
            kept: BTreeMap::new(),
            named: BTreeSet::new(),
            syncer: Syncer::start(folder),
            _lock: lock,
        };
        let said = cleared
            .take_over()
            .map_err(|e| fail("cannot be put in order", &e))?;
        Ok((cleared, said))
    }

    /// The folder.
    pub(crate) fn folder(&self) -> &Path {
        &self.folder
    }

    /// How many runs lie in it.
    pub(crate) fn len(&self) -> usize {
        self.kept.len()
    }

    /// Whether no run lies in it.
    pub(crate) fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    /// Whether the run called `name` lies in it.
    pub(crate) fn keeps(&self, name: &Path) -> bool {
        self.kept.contains_key(name)
    }

    /// Takes out whatever an earlier watcher left.
    fn take_over(&mut self) -> io::Result<Vec<String>> {
        let mut said = Vec::new();
        fs::create_dir_all(&self.folder)?;
        let away = disk::away(&self.folder);
        if present(&away) {
            // Left by a watcher that ended while the folder was renamed.
            disk::clear_out(&away, &mut said)?;
            if fs::rename(&away, &self.folder).is_err() {
                said.push(format!(
                    "{} holds what others had put into the cleared folder: move it where it belongs, and delete that folder",
                    away.display()
                ));
            }
        }
        disk::meanwhile_away(&self.folder, |place| disk::clear_out(place, &mut said))?;
        said.extend(self.strangers());
        self.syncer.sync_now();
        Ok(said)
    }

    /// Files that this program did not put there, in words. Artwork is moved aside: a sender would take
    /// it for cleared.
    fn strangers(&mut self) -> Vec<String> {
        let mut said = Vec::new();
        for name in files(&self.folder).unwrap_or_default() {
            let own = self.kept.contains_key(&name)
                || of_receipt(&name).is_some_and(|run| self.kept.contains_key(&run))
                || disk::is_temporary(&name);
            if own {
                continue;
            }
            if is_artwork(&name) {
                said.push(match set_aside(&self.folder, &name) {
                    Ok(aside) => format!(
                        "{} in the cleared folder has no receipt, so nothing says that it is clear: it is moved aside to {}",
                        name.display(),
                        aside.display()
                    ),
                    Err(e) => format!(
                        "{} in the cleared folder has no receipt and cannot be moved aside ({e}): do not send it",
                        name.display()
                    ),
                });
            } else if !disk::is_aside(&name) && self.named.insert(name.clone()) {
                said.push(format!(
                    "{} in the cleared folder was not put there by this program: it is left alone, and nothing is said about it",
                    name.display()
                ));
            }
        }
        said
    }

    /// Takes the run called `name` out. True if it was there.
    ///
    /// # Errors
    ///
    /// The copy cannot be removed. It is still kept track of.
    pub(crate) fn withdraw(&mut self, name: &Path) -> Result<bool, ClearedError> {
        if !self.kept.contains_key(name) {
            return Ok(false);
        }
        // The copy first: a receipt without a copy clears nothing.
        remove(&self.folder.join(name)).map_err(|e| stays(name, &e))?;
        self.kept.remove(name);
        // A receipt that stays is taken out at the next start.
        let _ = remove(&self.folder.join(receipt_name(name)));
        disk::prune(&self.folder, name);
        self.syncer.soon();
        Ok(true)
    }

    /// Takes all of these runs out, in one step where they are many. What could not be taken out is
    /// named, and still kept track of.
    pub(crate) fn withdraw_all(&mut self, names: &[PathBuf]) -> Vec<(PathBuf, ClearedError)> {
        let names: Vec<&PathBuf> = names.iter().filter(|n| self.keeps(n)).collect();
        if names.len() < MANY {
            return names
                .into_iter()
                .filter_map(|name| Some((name.clone(), self.withdraw(name).err()?)))
                .collect();
        }
        let mut stay = Vec::new();
        let kept = &mut self.kept;
        let back = disk::meanwhile_away(&self.folder, |place| {
            // All copies before any receipt: where the folder cannot be renamed they are in the way.
            for name in &names {
                match remove(&place.join(name)) {
                    Ok(()) => drop(kept.remove(*name)),
                    Err(e) => stay.push(((*name).clone(), stays(name, &e))),
                }
            }
            for name in names.iter().filter(|n| !kept.contains_key(**n)) {
                let _ = remove(&place.join(receipt_name(name)));
                disk::prune(place, name);
            }
            Ok(())
        });
        if let Err(e) = back {
            // The next audit misses the copies that are still clear, and has them put there again.
            stay.push((
                PathBuf::new(),
                ClearedError(format!(
                        "the cleared folder {} was renamed and cannot be renamed back ({e}): what others had put there lies in {}",
                    self.folder.display(),
                    disk::away(&self.folder).display()
                )),
            ));
        }
        self.syncer.soon();
        stay
    }

    /// Takes out every copy.
    pub(crate) fn empty(&mut self) -> Vec<ClearedError> {
        let names: Vec<PathBuf> = self.kept.keys().cloned().collect();
        let stay = self.withdraw_all(&names);
        self.syncer.sync_now();
        stay.into_iter().map(|(_, why)| why).collect()
    }

    /// Shows a copy. The caller has made sure that the run is still what was inspected. What had its
    /// name and was not put there by this program is moved aside; the words say so.
    ///
    /// # Errors
    ///
    /// The copy cannot be put there.
    pub(crate) fn admit(&mut self, ready: Ready) -> Result<Vec<String>, ClearedError> {
        let Ready {
            name,
            receipt,
            copy_file,
            receipt_file,
        } = ready;
        self.withdraw(&name)?;
        let fail = |e: &io::Error| {
            ClearedError(format!(
                "{} is clear and cannot be put into the cleared folder: {e}",
                name.display()
            ))
        };
        let mut said = Vec::new();
        disk::real_folder(&self.folder, &name).map_err(|e| fail(&e))?;
        let receipt_name = receipt_name(&name);
        for taken in [&name, &receipt_name] {
            let path = self.folder.join(taken);
            if !present(&path) {
                continue;
            }
            if taken == &receipt_name && Receipt::read(&path, &name).is_some() {
                // One of ours that could not be removed.
                remove(&path).map_err(|e| fail(&e))?;
                continue;
            }
            let aside = set_aside(&self.folder, taken).map_err(|e| fail(&e))?;
            said.push(format!(
                "{} in the cleared folder was not put there by this program: it is moved aside to {}",
                taken.display(),
                aside.display()
            ));
        }
        let path = self.folder.join(&name);
        let beside = self.folder.join(&receipt_name);
        receipt_file
            .persist_noclobber(&beside)
            .map_err(|e| fail(&e.error))?;
        if let Err(e) = copy_file.persist_noclobber(&path) {
            let _ = remove(&beside);
            return Err(fail(&e.error));
        }
        self.kept.insert(
            name,
            Kept {
                receipt,
                copy_stamp: FileStamp::of(&path),
                receipt_stamp: FileStamp::of(&beside),
            },
        );
        self.syncer.soon();
        Ok(said)
    }

    /// Looks whether every copy and receipt is still as it was put there, and looks for files of
    /// others. What somebody changed is moved aside at once; a folder that was deleted is made again.
    pub(crate) fn audit(&mut self) -> Audit {
        let mut audit = Audit::default();
        let folder = self.folder.clone();
        let gone = !folder.is_dir();
        if gone {
            // Should it fail, admitting says so.
            let _ = fs::create_dir_all(&folder);
        }
        let mut upset = Vec::new();
        for (name, kept) in &mut self.kept {
            let copy = still(&folder.join(name), &mut kept.copy_stamp, |path| {
                fs::read(path).is_ok_and(|bytes| digest(&bytes) == kept.receipt.sha256)
            });
            let receipt = still(
                &folder.join(receipt_name(name)),
                &mut kept.receipt_stamp,
                |path| Receipt::read(path, name).as_ref() == Some(&kept.receipt),
            );
            if copy != State::Same || receipt != State::Same {
                upset.push((name.clone(), copy, receipt));
            }
        }
        for (name, copy, receipt) in upset {
            let run = name.display().to_string();
            let the_receipt = format!("the receipt of {run}");
            for (file, what, state, told) in [
                (name.clone(), run, copy, gone),
                (
                    receipt_name(&name),
                    the_receipt,
                    receipt,
                    copy == State::Gone,
                ),
            ] {
                match state {
                    State::Same => {
                        if let Err(e) = remove(&folder.join(&file)) {
                            audit.said.push(stays(&name, &e).to_string());
                        }
                    }
                    State::Gone if told => {}
                    State::Gone => audit.said.push(format!(
                        "{what} was taken out of the cleared folder by somebody; the run is put back if it is still clear"
                    )),
                    State::Changed => audit.said.push(match set_aside(&folder, &file) {
                        Ok(aside) => format!(
                            "{what} in the cleared folder was changed by somebody: it is moved aside to {}",
                            aside.display()
                        ),
                        Err(e) => format!(
                            "{what} in the cleared folder was changed by somebody and cannot be moved aside ({e}): do not send it"
                        ),
                    }),
                }
            }
            self.kept.remove(&name);
            audit.upset.push(name);
        }
        if gone {
            audit.said.push(format!(
                "the cleared folder {} was deleted by somebody; it is made again, with what is still clear",
                folder.display()
            ));
        }
        audit.said.extend(self.strangers());
        if !audit.upset.is_empty() {
            self.syncer.soon();
        }
        audit
    }
}

/// How a file that was put there is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Same,
    Changed,
    Gone,
}

/// How the file at `path` is found. One that was touched, or given another name beside, and holds what
/// it held (as `holds` says) is the same, and `stamp` becomes its new one.
fn still(path: &Path, stamp: &mut Option<FileStamp>, holds: impl Fn(&Path) -> bool) -> State {
    match fs::symlink_metadata(path) {
        Err(_) => return State::Gone,
        // A link, say: what it leads to can change without a trace here.
        Ok(about) if !about.is_file() => return State::Changed,
        Ok(_) => {}
    }
    let now = FileStamp::of(path);
    if now.is_some() && now == *stamp {
        return State::Same;
    }
    if holds(path) {
        *stamp = now;
        return State::Same;
    }
    State::Changed
}

fn stays(name: &Path, why: &io::Error) -> ClearedError {
    ClearedError(format!(
        "{} is no longer clear and cannot be taken out of the cleared folder ({why}): do not send it",
        name.display()
    ))
}

#[cfg(test)]
mod tests;
