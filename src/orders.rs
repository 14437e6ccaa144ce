//! The order list: whose names this batch is to carry.
//!
//! A list is a table with a header: CSV as RFC 4180 describes it, or a spreadsheet file. Accepted
//! beyond RFC 4180: semicolons, tabs or bars in place of commas (whichever makes the wanted columns
//! appear in the header), any of the usual line ends and encodings, a title above the header, and
//! rows with nothing in them, which are skipped. Everything else is refused, since a list that is
//! read wrongly would clear the wrong names.

mod columns;
pub(crate) mod compare;
pub(crate) mod lookalike;
mod sheet;
pub(crate) mod spelling;
mod syntax;
mod table;
mod text;
pub(crate) mod together;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use self::columns::Columns;
use crate::ids::PocketId;
use crate::paths::{self, Printable as _};

/// Where the order list is, as asked for on the command line.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Named {
    /// `--names`.
    pub file: PathBuf,
    /// The list itself, where it is at hand: `file` is then only its name.
    pub bytes: Option<Arc<[u8]>>,
    /// `--column`, as often as it is given: what stands on one blank, from top to bottom.
    pub columns: Vec<String>,
    /// `--pocket-column`; without it a column called "pocket" is taken, if there is one.
    pub pocket_column: Option<String>,
    /// `--quantity`: the column that says how many of each.
    pub quantity: Option<String>,
    /// `--batch`: only rows that have this value in this column.
    pub batch: Option<Batch>,
    /// `--sheet`: of a spreadsheet file.
    pub sheet: Option<String>,
    /// `--encoding`: of a text file.
    pub encoding: Option<String>,
}

/// `--batch COLUMN=VALUE`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Batch {
    /// The column.
    pub column: String,
    /// The value.
    pub value: String,
}

/// An order list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OrderList {
    /// The orders, in the order of the rows; a row that asks for two is two orders.
    pub orders: Vec<Order>,
    /// What a person should know about how the list was read.
    pub notes: Vec<String>,
    /// The list's file name, without its folders.
    pub file: String,
    /// SHA-256 of the file, hexadecimal.
    pub sha256: String,
}

/// One blank that a row of the order list asks for.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Order {
    /// What is to stand on it, all its columns, as written.
    pub name: String,
    /// The same, column by column; empty cells are left out.
    pub parts: Vec<String>,
    /// The pocket it is meant for, by its place in [`crate::fixture::Fixture::pockets`].
    pub pocket: Option<PocketId>,
    /// "line 3" of a text, "row 3" of a sheet: where the row starts.
    pub row: String,
}

/// Why an order list cannot be used. Each text names the file and the way out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}: {}", .file.printable(), .what.printable())]
pub struct OrdersError {
    /// The list.
    pub file: PathBuf,
    /// What is wrong, and what to do.
    pub what: String,
}

/// Largest list that is read, in bytes: far more names than any bed holds.
const LARGEST: u64 = 16 << 20;

const TOO_LARGE: &str =
    "the order list is over 16 MB, which no batch is: name the list of this batch";

/// Reads an order list. `find` says which pocket a name of a pocket means.
///
/// # Errors
///
/// A list that cannot be read, is not a table, lacks a column, has an unknown pocket or an invalid
/// quantity, or holds no name.
pub fn read(
    named: &Named,
    find: &dyn Fn(&str) -> Option<PocketId>,
) -> Result<OrderList, OrdersError> {
    let failed = |what: String| OrdersError {
        file: named.file.clone(),
        what,
    };
    let read;
    let bytes = match &named.bytes {
        Some(bytes) if bytes.len() as u64 > LARGEST => return Err(failed(TOO_LARGE.to_owned())),
        Some(bytes) => bytes,
        None => {
            read = bytes(&named.file).map_err(failed)?;
            read.as_slice()
        }
    };
    let mut list = parse(bytes, named, find).map_err(failed)?;
    list.file = named
        .file
        .file_name()
        .map(|n| n.to_string_lossy().into_owned())
        .unwrap_or_default();
    list.sha256 = crate::fixture::code::digest(bytes);
    Ok(list)
}

fn bytes(file: &Path) -> Result<Vec<u8>, String> {
    let unread = |e: std::io::Error| format!("the order list cannot be read ({e}): check its path");
    let size = paths::ordinary(file).map_err(unread)?.len();
    if size > LARGEST {
        return Err(TOO_LARGE.to_owned());
    }
    std::fs::read(file).map_err(unread)
}

fn parse(
    bytes: &[u8],
    named: &Named,
    find: &dyn Fn(&str) -> Option<PocketId>,
) -> Result<OrderList, String> {
    let is_header = |row: &table::Row| columns::has_all(row, named);
    let mut note = None;
    let found = if sheet::is_one(bytes) {
        sheet::read(bytes, named.sheet.as_deref(), &is_header)?
    } else {
        let decoded = text::decode(bytes, named.encoding.as_deref())?;
        note = decoded.note;
        table::separated(&decoded.text, &is_header)?
    };
    let table = found.map_err(|first| columns::lacking(&first, named))?;
    let columns = Columns::find(&table, named)?;
    let (orders, mut notes) = columns.orders(&table, named, find)?;
    notes.splice(0..0, note);
    Ok(OrderList {
        orders,
        notes,
        ..OrderList::default()
    })
}

#[cfg(test)]
mod tests;
