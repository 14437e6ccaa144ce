//! Reads a record, line by line: a line that was cut short is named and costs no other.

use std::path::Path;

use super::{Entry, FORM};
use crate::paths::{self, Printable as _};

/// A record as read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Record {
    /// Its verdicts, in the order in which they were added.
    pub entries: Vec<Entry>,
    /// Numbers of lines, from 1, that are no whole verdict.
    pub torn: Vec<usize>,
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
        match serde_json::from_slice::<Entry>(line) {
            Ok(entry) if entry.record == FORM => record.entries.push(entry),
            _ => record.torn.push(number),
        }
    }
    if record.entries.is_empty() && !record.torn.is_empty() {
        return Err(format!(
            "{} is no record: no line of it is a verdict",
            file.printable()
        ));
    }
    Ok(record)
}
