//! A list as a table: rows of cells, each row with its number in the file.

use super::syntax;

/// What a cell is whose formula came to no value.
pub(super) const FAILED: &str = "an error of a formula";

/// What a cell is whose formula nobody has worked out yet.
pub(super) const NO_RESULT: &str = "a formula without a result";

/// One cell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Cell {
    /// Its text.
    pub(super) text: String,
    /// What it really is where the file does not hold its text as people see it: "a date", say.
    pub(super) unlike: Option<&'static str>,
}

impl Cell {
    /// Whether nothing stands in it, and nothing would.
    pub(super) fn blank(&self) -> bool {
        self.unlike.is_none() && self.text.trim().is_empty()
    }

    /// What keeps anybody from knowing its value: not its spelling alone.
    pub(super) fn unknown(&self) -> Option<&'static str> {
        self.unlike
            .filter(|what| [FAILED, NO_RESULT].contains(what))
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            unlike: None,
        }
    }
}

/// One row.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Row {
    /// The line of the file, or the row of the sheet, from 1.
    pub(super) number: u64,
    /// Its cells.
    pub(super) cells: Vec<Cell>,
}

impl Row {
    pub(super) fn text(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", |c| c.text.trim())
    }

    pub(super) fn blank(&self) -> bool {
        self.cells.iter().all(Cell::blank)
    }
}

/// The rows from the header on.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Table {
    /// The header first.
    pub(super) rows: Vec<Row>,
    /// What a row's number counts: "line" or "row".
    pub(super) counted: &'static str,
}

/// The header may stand below a title: it is looked for in so many rows. More, and a name could be
/// taken for it.
const HEADER_WITHIN: usize = 20;

/// Separators in the order in which they are tried.
const SEPARATORS: [u8; 4] = *b",;\t|";

/// The place of the row that has all of `wanted`, if any has.
pub(super) fn header(rows: &[Row], is_header: &dyn Fn(&Row) -> bool) -> Option<usize> {
    rows.iter()
        .filter(|r| !r.blank())
        .take(HEADER_WITHIN)
        .find(|r| is_header(r))
        .and_then(|found| rows.iter().position(|r| r.number == found.number))
}

/// Takes a text apart, by whichever separator makes a header of one of the first rows.
///
/// # Errors
///
/// Quotes that could be read in two ways, rows of other lengths than the header; `Ok(Err)` with the
/// first row as people see it where no separator makes a header.
pub(super) fn separated(
    text: &str,
    is_header: &dyn Fn(&Row) -> bool,
) -> Result<Result<Table, Row>, String> {
    let (text, stated, skipped) = stated_separator(text);
    let mut widest = Row::default();
    let tried: Vec<u8> = stated.map_or_else(|| SEPARATORS.to_vec(), |s| vec![s]);
    for separator in tried {
        let mut rows = rows(text, separator)?;
        for row in &mut rows {
            row.number += skipped;
        }
        if let Some(at) = header(&rows, is_header) {
            syntax::check(text, separator)?;
            let rows = rows.split_off(at);
            check_lengths(&rows)?;
            let counted = "line";
            return Ok(Ok(Table { rows, counted }));
        }
        // What people see as columns is the reading that takes the first row apart most.
        if let Some(first) = rows.into_iter().find(|r| !r.blank())
            && first.cells.len() > widest.cells.len()
        {
            widest = first;
        }
    }
    Ok(Err(widest))
}

/// A first line `sep=;`, which spreadsheets write and read, names the separator.
fn stated_separator(text: &str) -> (&str, Option<u8>, u64) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    match first.trim_end().trim_matches('"').strip_prefix("sep=") {
        Some(one) if one.len() == 1 && one.is_ascii() => (rest, one.bytes().next(), 1),
        _ => (text, None, 0),
    }
}

fn rows(text: &str, separator: u8) -> Result<Vec<Row>, String> {
    let reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    reader
        .into_records()
        .map(|record| {
            let record = record.map_err(|e| format!("the order list is no table: {e}"))?;
            Ok(Row {
                number: record.position().map_or(0, csv::Position::line),
                cells: record.iter().map(Cell::from).collect(),
            })
        })
        .collect()
}

/// A row that is shorter or longer than the header has lost a separator or has one too many: its
/// cells cannot be told apart for certain. Empty cells too many do no harm.
fn check_lengths(rows: &[Row]) -> Result<(), String> {
    let Some(expected) = rows.first().map(|h| h.cells.len()) else {
        return Ok(());
    };
    let odd = rows.iter().find(|r| {
        let full = r.cells.iter().rposition(|c| !c.text.trim().is_empty());
        let last = full.map_or(0, |i| i + 1);
        !r.blank() && (r.cells.len() < expected || last > expected)
    });
    match odd {
        None => Ok(()),
        Some(row) => Err(format!(
            "line {} of the order list and its header differ in the number of fields, {} and {expected}: put quotes around a field that holds the separator",
            row.number,
            row.cells.len()
        )),
    }
}
