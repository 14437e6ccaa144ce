//! The files in and beside the cleared folder: names, renames, the lock.

use std::ffi::{OsStr, OsString};
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, SyncSender};

use tempfile::{Builder, NamedTempFile};

use super::{Ready, Receipt};
use crate::fixture::code::digest;

/// What temporary names begin and end with. The ending keeps senders and file pickers from taking
/// one for artwork.
const BEGIN: &str = ".jigwarden-";
const END: &str = ".part";

/// What a receipt's name ends with, after the whole name of its run.
const RECEIPT: &str = ".receipt.json";

/// What the name of a file ends with that was moved out of the sender's way. It may be somebody's
/// work, so it is not deleted.
const ASIDE: &str = ".not-cleared";

/// Writes a copy of `bytes` and its receipt under temporary names in `folder`.
///
/// # Errors
///
/// The folder cannot be written, or what was read back is not what was written.
pub(crate) fn prepare(
    folder: &Path,
    name: &Path,
    bytes: &[u8],
    receipt: Receipt,
) -> io::Result<Ready> {
    let copy_file = written(folder, bytes)?;
    if digest(&fs::read(copy_file.path())?) != receipt.sha256 {
        return Err(io::Error::other(
            "the copy differs from what was inspected; is the disk in order?",
        ));
    }
    Ok(Ready {
        name: name.to_path_buf(),
        copy_file,
        receipt_file: written(folder, receipt.text().as_bytes())?,
        receipt,
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

/// Brings what changed in the folder to the disk, so that a power cut does not bring a copy back. On a
/// thread of its own: a disk may take seconds, and a withdrawal must not wait for it.
#[derive(Debug)]
pub(super) struct Syncer {
    folder: PathBuf,
    ask: SyncSender<()>,
}

impl Syncer {
    pub(super) fn start(folder: &Path) -> Self {
        let (ask, asked) = mpsc::sync_channel(1);
        let place = folder.to_path_buf();
        std::thread::spawn(move || {
            while asked.recv().is_ok() {
                sync(&place);
            }
        });
        Self {
            folder: folder.to_path_buf(),
            ask,
        }
    }

    /// Soon. Should it be asked for already, once is enough.
    pub(super) fn soon(&self) {
        let _ = self.ask.try_send(());
    }

    pub(super) fn sync_now(&self) {
        sync(&self.folder);
    }
}

/// Not every system can do this to a folder; the start of the next watcher takes all copies out in any
/// case.
fn sync(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// A hidden name beside the folder.
fn beside(folder: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(".");
    name.push(folder.file_name().unwrap_or(OsStr::new("cleared")));
    name.push(ending);
    folder.with_file_name(name)
}

/// What the folder is called while many copies are taken out of it.
pub(super) fn away(folder: &Path) -> PathBuf {
    beside(folder, ".jigwarden-away")
}

/// Takes the lock of a folder: on a file beside it, which stays when the folder is deleted or renamed.
/// Where none can be made, on the folder itself: who cannot write there cannot delete the folder either.
/// `None` where the system cannot lock.
pub(super) fn lock(folder: &Path) -> Result<Option<File>, ()> {
    let file = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(beside(folder, ".jigwarden-lock"))
        .or_else(|_| {
            fs::create_dir_all(folder)?;
            File::open(folder)
        });
    let Ok(file) = file else {
        return Ok(None);
    };
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(fs::TryLockError::WouldBlock) => Err(()),
        Err(fs::TryLockError::Error(_)) => Ok(None),
    }
}

/// Renames the folder for as long as `work` on it takes, so that nobody finds any copy in it. Where it
/// cannot be renamed (the root of a disk, say), `work` is done where it is.
///
/// # Errors
///
/// What `work` gives: then the folder stays away, for copies may be left in it. Or why it cannot be
/// renamed back.
pub(super) fn meanwhile_away(
    folder: &Path,
    work: impl FnOnce(&Path) -> io::Result<()>,
) -> io::Result<()> {
    let away = away(folder);
    if present(&away) || fs::rename(folder, &away).is_err() {
        return work(folder);
    }
    work(&away)?;
    fs::rename(&away, folder)
}

/// Takes out of `place` every copy that a receipt vouches for, and what else this program left there.
pub(super) fn clear_out(place: &Path, said: &mut Vec<String>) -> io::Result<()> {
    for name in files(place)? {
        let path = place.join(&name);
        let beside = place.join(receipt_name(&name));
        if is_temporary(&name) {
            remove(&path)?;
        } else if let Some(run) = of_receipt(&name) {
            // A receipt goes with its copy, below; here only one that has none left.
            if !present(&place.join(&run)) && Receipt::read(&path, &run).is_some() {
                remove(&path)?;
            }
        } else if let Some(receipt) = Receipt::read(&beside, &name) {
            if fs::read(&path).is_ok_and(|bytes| digest(&bytes) == receipt.sha256) {
                remove(&path)?;
            } else {
                let aside = set_aside(place, &name)?;
                said.push(format!(
                    "{} in the cleared folder was changed by somebody: it is moved aside to {}",
                    name.display(),
                    aside.display()
                ));
            }
            remove(&beside)?;
        }
        prune(place, &name);
    }
    Ok(())
}

/// Removes the sub-folders of `name` that are empty now.
pub(super) fn prune(place: &Path, name: &Path) {
    for folder in name.ancestors().skip(1) {
        if folder.as_os_str().is_empty() || fs::remove_dir(place.join(folder)).is_err() {
            return;
        }
    }
}

/// Makes the sub-folders of `name`; a link in their place would lead out of the folder.
pub(super) fn real_folder(place: &Path, name: &Path) -> io::Result<()> {
    let mut folder = place.to_path_buf();
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

/// Every file below `folder`, by name; links are not followed.
pub(super) fn files(folder: &Path) -> io::Result<Vec<PathBuf>> {
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

pub(super) fn is_temporary(name: &Path) -> bool {
    name.file_name()
        .map(OsStr::to_string_lossy)
        .is_some_and(|n| n.starts_with(BEGIN) && n.ends_with(END))
}

/// Whether this program moved the file aside.
pub(super) fn is_aside(name: &Path) -> bool {
    name.to_string_lossy().ends_with(ASIDE)
}

/// What the receipt of the run called `name` is called.
pub(super) fn receipt_name(name: &Path) -> PathBuf {
    let mut whole: OsString = name.as_os_str().to_owned();
    whole.push(RECEIPT);
    PathBuf::from(whole)
}

/// The run that a receipt of this name would be for.
pub(super) fn of_receipt(name: &Path) -> Option<PathBuf> {
    name.to_str()?.strip_suffix(RECEIPT).map(PathBuf::from)
}

pub(super) fn present(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok()
}

pub(super) fn remove(path: &Path) -> io::Result<()> {
    match fs::remove_file(path) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => Err(e),
        _ => Ok(()),
    }
}

/// Moves a file out of the sender's way; the name that it has now.
pub(super) fn set_aside(place: &Path, name: &Path) -> io::Result<PathBuf> {
    let mut number = 1_u32;
    let aside = loop {
        let mut whole = name.as_os_str().to_owned();
        if number > 1 {
            whole.push(format!(".{number}"));
        }
        whole.push(ASIDE);
        let aside = PathBuf::from(whole);
        if !present(&place.join(&aside)) {
            break aside;
        }
        number += 1;
    };
    fs::rename(place.join(name), place.join(&aside))?;
    Ok(aside)
}
