//! Adds lines to a record so that a crash at any moment costs at most the line that was being
//! written, and two programs that add at once do not mix theirs.

use std::fs::{File, OpenOptions};
use std::io::{self, BufRead as _, BufReader, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::Path;

use super::{Entry, Line, beginning};
use crate::paths::{self, Printable as _};

/// Why a line was not added: one sentence, with the way out.
#[derive(Debug, thiserror::Error)]
pub enum AppendError {
    /// The file is something else.
    #[error("{0} is no record, so nothing is added to it: name another file with --record")]
    Foreign(String),
    /// The file system refuses.
    #[error("{0} cannot be added to ({1}), so this verdict is not recorded")]
    Failed(String, io::Error),
}

/// Adds one line. When this returns, the whole line is on the disk.
///
/// The line is written in one go at the file's end, under a lock, and synced. A line that an earlier
/// crash cut short is ended first, so that it spoils no other.
///
/// # Errors
///
/// A file that is no record, or that cannot be written.
pub fn append(file: &Path, entry: &Entry) -> Result<(), AppendError> {
    let named = || file.printable();
    let failed = |e| AppendError::Failed(named(), e);
    let line = serde_json::to_string(entry).map_err(|e| failed(e.into()))?;
    let new = !file.exists();
    if !new {
        paths::ordinary(file).map_err(failed)?;
    }
    let mut open = OpenOptions::new()
        .append(true)
        .read(true)
        .create(true)
        .open(file)
        .map_err(failed)?;
    // Released when the file is closed, by a crash too.
    open.lock().map_err(failed)?;
    if !is_record(&mut open).map_err(failed)? {
        return Err(AppendError::Foreign(named()));
    }
    let mut bytes = Vec::with_capacity(line.len() + 2);
    if cut_short(&mut open).map_err(failed)? {
        bytes.push(b'\n');
    }
    bytes.extend_from_slice(line.as_bytes());
    bytes.push(b'\n');
    open.write_all(&bytes).map_err(failed)?;
    open.sync_data().map_err(failed)?;
    if new {
        sync_folder(file).map_err(failed)?;
    }
    Ok(())
}

/// Whether the lines are those of a record: the file is empty, or its first whole line is a verdict. Before it
/// may stand lines that a crash cut short, and one may be all there is.
///
/// The lines after the first verdict are not looked at: a shop's record has many, and each verdict is added by
/// itself.
fn is_record(open: &mut File) -> io::Result<bool> {
    open.seek(SeekFrom::Start(0))?;
    let beginning = beginning();
    let mut rest = BufReader::new(open);
    let mut line = Vec::new();
    let mut empty = true;
    loop {
        line.clear();
        // Some other file may be one line of any length: no more of it is read than tells that it is another.
        io::Read::by_ref(&mut rest)
            .take(beginning.len() as u64)
            .read_until(b'\n', &mut line)?;
        if line.is_empty() {
            return Ok(empty);
        }
        empty = false;
        if line.as_slice() == beginning.as_bytes() {
            rest.read_until(b'\n', &mut line)?;
        }
        let ended = line.pop_if(|last| *last == b'\n').is_some();
        match Line::of(&line) {
            Line::CutShort if ended => {}
            Line::Verdict(_) | Line::CutShort => return Ok(true),
            Line::Foreign => return Ok(false),
        }
    }
}

/// Whether the last line has no end.
fn cut_short(open: &mut File) -> io::Result<bool> {
    if open.metadata()?.len() == 0 {
        return Ok(false);
    }
    let mut last = [0];
    open.seek(SeekFrom::End(-1))?;
    open.read_exact(&mut last)?;
    Ok(last != *b"\n")
}

/// A new file is safe only once its folder entry is on the disk.
fn sync_folder(file: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        let folder = match file.parent() {
            Some(p) if !p.as_os_str().is_empty() => p,
            _ => Path::new("."),
        };
        File::open(folder)?.sync_all()?;
    }
    #[cfg(not(unix))]
    let _ = file;
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::record::FORM;
    use crate::record::read::read;

    fn entry(file: &str) -> Entry {
        Entry {
            record: FORM.to_owned(),
            time: "2026-11-27T14:03:00+01:00".to_owned(),
            file: file.to_owned(),
            sha256: String::new(),
            verdict: "clear".to_owned(),
            fixture: None,
            blanks: Vec::new(),
            findings: Vec::new(),
            list: None,
            by: None,
        }
    }

    #[test]
    fn a_line_that_was_cut_short_spoils_no_other() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("record.jsonl");
        append(&file, &entry("a.svg")).unwrap();
        let whole = std::fs::read(&file).unwrap();
        // Every place at which a crash may cut the second line.
        for cut in 0..whole.len() {
            let cut_off = whole.get(..cut).unwrap();
            std::fs::write(&file, [&whole[..], cut_off].concat()).unwrap();
            append(&file, &entry("b.svg")).unwrap();
            let record = read(&file).unwrap();
            let files: Vec<&str> = record.entries.iter().map(|e| e.file.as_str()).collect();
            // All of a line but its end is a whole line.
            let expected: &[&str] = if cut == whole.len() - 1 {
                &["a.svg", "a.svg", "b.svg"]
            } else {
                &["a.svg", "b.svg"]
            };
            assert_eq!(files, expected, "cut at {cut}");
            let torn = usize::from(cut > 0 && cut < whole.len() - 1);
            assert_eq!(record.torn.len(), torn, "cut at {cut}");
            // The first line of a record may be cut short as well.
            std::fs::write(&file, cut_off).unwrap();
            append(&file, &entry("b.svg")).unwrap();
            assert_eq!(read(&file).unwrap().entries.last().unwrap().file, "b.svg");
        }
    }

    #[test]
    fn nothing_is_added_to_another_file() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("run.svg");
        for text in [
            "<svg/>",
            "{\"report\":\"jigwarden/1\",",
            "{\"record\":\"other\",",
        ] {
            std::fs::write(&file, text).unwrap();
            let said = append(&file, &entry("a.svg")).unwrap_err().to_string();
            assert!(said.contains("no record"), "{text}: {said}");
            assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
        }
        let said = append(folder.path(), &entry("a.svg"))
            .unwrap_err()
            .to_string();
        assert!(said.contains("cannot be added to"), "{said}");
    }

    #[test]
    fn many_at_once_do_not_mix() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("record.jsonl");
        std::thread::scope(|scope| {
            for thread in 0..8 {
                let file = &file;
                scope.spawn(move || {
                    for i in 0..25 {
                        append(file, &entry(&format!("{thread}-{i}.svg"))).unwrap();
                    }
                });
            }
        });
        let record = read(&file).unwrap();
        assert_eq!((record.entries.len(), record.torn.len()), (200, 0));
    }
}
