//! Reads a record, line by line: one that is no whole verdict is named and costs no other.

use std::path::Path;

use super::{Entry, Line};
use crate::paths::{self, Printable as _};

/// A record as read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Record {
    /// Its verdicts, in the order in which they were added.
    pub entries: Vec<Entry>,
    /// Numbers of lines, from 1, that begin as a verdict and were cut short.
    pub torn: Vec<usize>,
    /// Numbers of lines, from 1, that this program did not write.
    pub foreign: Vec<usize>,
}

/// Reads the record in `file`.
///
/// # Errors
///
/// A file that cannot be read, or that holds no line of a record; one sentence.
pub fn read(file: &Path) -> Result<Record, String> {
    let bytes = paths::read(file)
        .map_err(|e| format!("the record {} cannot be read: {e}", file.printable()))?;
    let mut record = Record::default();
    for (line, number) in bytes.split(|b| *b == b'\n').zip(1..) {
        if line.is_empty() {
            continue;
        }
        match Line::of(line) {
            Line::Verdict(entry) => record.entries.push(*entry),
            Line::CutShort => record.torn.push(number),
            Line::Foreign => record.foreign.push(number),
        }
    }
    if record.entries.is_empty() && !record.foreign.is_empty() {
        return Err(format!(
            "{} is no record: no line of it is a verdict",
            file.printable()
        ));
    }
    Ok(record)
}
