//! The order list: whose names this batch is to carry.
//!
//! A list is a table as RFC 4180 describes it: a header line, then one row an order. Accepted
//! beyond that: semicolons or tabs in place of commas (whichever makes the wanted column appear in
//! the header), any of the usual line ends, a byte order mark, and rows with nothing in them, which
//! are skipped. Text is UTF-8. Everything else is refused: a list that is read wrongly would clear
//! the wrong names.

pub mod compare;
pub mod spelling;
mod syntax;

use std::path::{Path, PathBuf};

use crate::ids::PocketId;

/// Where the order list is, as asked for on the command line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// `--names`.
    pub file: PathBuf,
    /// `--column`.
    pub column: String,
    /// `--pocket-column`; without it a column called "pocket" is taken, if there is one.
    pub pocket_column: Option<String>,
}

/// An order list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OrderList {
    /// The orders, in the order of the rows.
    pub orders: Vec<Order>,
}

/// One row of an order list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// The name as written.
    pub name: String,
    /// The pocket it is meant for, by its place in [`crate::fixture::Fixture::pockets`].
    pub pocket: Option<PocketId>,
    /// The line of the file that the row starts on, from 1.
    pub line: u64,
}

/// Why an order list cannot be used. Each text names the file and the way out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}: {what}", .file.display())]
pub struct OrdersError {
    /// The list.
    pub file: PathBuf,
    /// What is wrong, and what to do.
    pub what: String,
}

/// Largest list that is read, in bytes: far more names than any bed holds.
const LARGEST: u64 = 16 << 20;

/// Separators in the order in which they are tried.
const SEPARATORS: [u8; 3] = *b",;\t";

/// Reads an order list. `find` says which pocket a name of a pocket means.
///
/// # Errors
///
/// A list that cannot be read, is not UTF-8, is no table, lacks the column, names a pocket that is
/// not there, or holds no name.
pub fn read(
    named: &Named,
    find: &dyn Fn(&str) -> Option<PocketId>,
) -> Result<OrderList, OrdersError> {
    let failed = |what: String| OrdersError {
        file: named.file.clone(),
        what,
    };
    let bytes = bytes(&named.file).map_err(failed)?;
    let text = decode(&bytes).map_err(failed)?;
    parse(text, named, find).map_err(failed)
}

fn bytes(file: &Path) -> Result<Vec<u8>, String> {
    let unread = |e: std::io::Error| {
        format!("the order list cannot be read ({e}): check the path after --names")
    };
    let size = std::fs::metadata(file).map_err(unread)?.len();
    if size > LARGEST {
        return Err(
            "the order list is over 16 MB, which no batch is: name the list of this batch"
                .to_owned(),
        );
    }
    std::fs::read(file).map_err(unread)
}

/// The text of the list, without its byte order mark.
fn decode(bytes: &[u8]) -> Result<&str, String> {
    let resave = "save it again as CSV in UTF-8";
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return Err(format!("the order list is UTF-16, not UTF-8: {resave}"));
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        return Err(format!(
            "the order list is a spreadsheet file, not a CSV file: {resave}"
        ));
    }
    let text = std::str::from_utf8(bytes).map_err(|e| {
        let before = bytes.get(..e.valid_up_to()).unwrap_or_default();
        let line = 1 + before.iter().filter(|b| **b == b'\n').count();
        format!(
            "line {line} of the order list is not UTF-8, so letters with accents in it cannot be read for certain: {resave}"
        )
    })?;
    if text.contains('\0') {
        return Err(format!(
            "the order list holds zero bytes, so it is no plain text: {resave}"
        ));
    }
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

fn parse(
    text: &str,
    named: &Named,
    find: &dyn Fn(&str) -> Option<PocketId>,
) -> Result<OrderList, String> {
    let mut first: Option<Vec<String>> = None;
    for separator in SEPARATORS {
        let header = header(text, separator)?;
        if header.iter().any(|h| same_column(h, &named.column)) {
            return rows(text, separator, &header, named, find);
        }
        // What people see as columns is the reading that takes the header apart most.
        if first.as_ref().is_none_or(|f| f.len() < header.len()) {
            first = Some(header);
        }
    }
    let columns: Vec<String> = first
        .unwrap_or_default()
        .iter()
        .map(|c| format!("\"{}\"", c.trim()))
        .collect();
    Err(format!(
        "the order list has no column \"{}\": its columns are {}; name one of them with --column",
        named.column,
        columns.join(", ")
    ))
}

fn reader(text: &str, separator: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .from_reader(text.as_bytes())
}

fn header(text: &str, separator: u8) -> Result<Vec<String>, String> {
    match csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes())
        .into_records()
        .next()
    {
        Some(Ok(record)) => Ok(record.iter().map(str::to_owned).collect()),
        Some(Err(e)) => Err(format!("the order list is no table: {e}")),
        None => Err("the order list is empty".to_owned()),
    }
}

fn same_column(header: &str, wanted: &str) -> bool {
    spelling::fold(header, false) == spelling::fold(wanted, false)
}

/// The one column that is called `wanted`: as written first, then whatever its capitals.
fn column(header: &[String], wanted: &str) -> Result<Option<usize>, String> {
    let exact = |h: &String| spelling::fold(h, true) == spelling::fold(wanted, true);
    let matches = |test: &dyn Fn(&String) -> bool| -> Vec<usize> {
        (0..header.len())
            .filter(|i| header.get(*i).is_some_and(test))
            .collect()
    };
    let found = match matches(&exact) {
        none if none.is_empty() => matches(&|h| same_column(h, wanted)),
        some => some,
    };
    match found.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some(*one)),
        many => Err(format!(
            "the order list has {} columns called \"{wanted}\": give each its own name",
            many.len()
        )),
    }
}

fn rows(
    text: &str,
    separator: u8,
    header: &[String],
    named: &Named,
    find: &dyn Fn(&str) -> Option<PocketId>,
) -> Result<OrderList, String> {
    syntax::check(text, separator)?;
    let Some(name_column) = column(header, &named.column)? else {
        return Err(format!("the order list has no column \"{}\"", named.column));
    };
    let pocket_column = match &named.pocket_column {
        Some(wanted) => Some(column(header, wanted)?.ok_or_else(|| {
            format!("the order list has no column \"{wanted}\": correct --pocket-column")
        })?),
        None => column(header, "pocket")?,
    };
    let mut orders = Vec::new();
    for record in reader(text, separator).into_records().skip(1) {
        let record = record.map_err(|e| match e.kind() {
            csv::ErrorKind::UnequalLengths { pos, expected_len, len } => format!(
                "line {} of the order list and its header differ in the number of fields, {len} and {expected_len}: put quotes around a field that holds the separator",
                pos.as_ref().map_or(0, csv::Position::line)
            ),
            _ => format!("the order list is no table: {e}"),
        })?;
        let line = record.position().map_or(0, csv::Position::line);
        let name = record.get(name_column).unwrap_or_default();
        if spelling::fold(name, true).is_empty() {
            continue;
        }
        let pocket = match pocket_column.and_then(|c| record.get(c)).map(str::trim) {
            None | Some("") => None,
            Some(called) => Some(find(called).ok_or_else(|| {
                format!(
                    "line {line} of the order list names the pocket \"{called}\", which the fixture does not have: correct it, or name another column with --pocket-column"
                )
            })?),
        };
        orders.push(Order {
            name: spelling::spaced(name),
            pocket,
            line,
        });
    }
    if orders.is_empty() {
        return Err(format!(
            "the order list holds no name in its column \"{}\": check that it is this batch's list",
            named.column
        ));
    }
    Ok(OrderList { orders })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;
    use crate::ids::Id as _;

    fn named(column: &str) -> Named {
        Named {
            file: PathBuf::from("orders.csv"),
            column: column.to_owned(),
            pocket_column: None,
        }
    }

    fn find(name: &str) -> Option<PocketId> {
        ["A1", "A2"]
            .iter()
            .position(|p| *p == name)
            .map(PocketId::new)
    }

    fn names(text: &str) -> Vec<String> {
        let list = parse(text, &named("Name"), &find).unwrap();
        list.orders.into_iter().map(|o| o.name).collect()
    }

    fn refused(bytes: &[u8]) -> String {
        decode(bytes)
            .and_then(|t| parse(t, &named("Name"), &find))
            .unwrap_err()
    }

    #[test]
    fn tables_of_the_usual_kinds_read_alike() {
        for text in [
            "Name,Size\nAda,S\n\"Bo, of Ely\",M\n",
            "Name,Size\r\nAda,S\r\n\"Bo, of Ely\",M",
            "Size;Name\rS;Ada\r;\rM;Bo, of Ely\r",
            "Size\tName\nS\t Ada\u{a0}\n\t\n\nM\t\"Bo,  of Ely\"\n",
            "\u{feff}NAME\nAda\n\"Bo, of Ely\"\n",
        ] {
            let text = decode(text.as_bytes()).unwrap();
            assert_eq!(names(text), ["Ada", "Bo, of Ely"], "{text:?}");
        }
        assert_eq!(
            names("Name\n\"Ann \"\"Nan\"\" Lee\"\n"),
            ["Ann \"Nan\" Lee"]
        );
    }

    #[test]
    fn pockets_are_read_where_a_column_gives_them() {
        let list = parse("POCKET,Name\nA2,Ada\n,Bo\n", &named("Name"), &find).unwrap();
        assert_eq!(list.orders[0].pocket, Some(PocketId::new(1)));
        assert_eq!(list.orders[1].pocket, None);
        assert_eq!((list.orders[0].line, list.orders[1].line), (2, 3));
        let wrong = parse("Pocket,Name\nC9,Ada\n", &named("Name"), &find).unwrap_err();
        assert!(
            wrong.contains("line 2") && wrong.contains("\"C9\""),
            "{wrong}"
        );
        let mut other = named("Name");
        other.pocket_column = Some("slot".to_owned());
        let list = parse("Slot,Name,pocket\nA1,Ada,x\n", &other, &find).unwrap();
        assert_eq!(list.orders[0].pocket, Some(PocketId::new(0)));
        let none = parse("Name\nAda\n", &other, &find).unwrap_err();
        assert!(none.contains("--pocket-column"), "{none}");
    }

    #[test]
    fn a_missing_column_lists_those_that_are_there() {
        let said = refused(b"Who;Size\nAda;S\n");
        assert!(said.contains("\"Who\", \"Size\""), "{said}");
        let twice = refused(b"Name,Name\nAda,Bo\n");
        assert!(twice.contains("2 columns called"), "{twice}");
        assert_eq!(
            parse("name,Name\nAda,Bo\n", &named("Name"), &find)
                .unwrap()
                .orders[0]
                .name,
            "Bo"
        );
    }

    #[test]
    fn what_could_be_read_wrongly_is_refused() {
        for (bytes, word) in [
            (&b"Name\nZo\xeb\n"[..], "line 2"),
            (&b"\xff\xfeN\0a\0"[..], "UTF-16"),
            (&b"PK\x03\x04abc"[..], "spreadsheet"),
            (&b"Name\nA\0da\n"[..], "zero bytes"),
            (&b""[..], "empty"),
            (&b"Name\n\n"[..], "no name"),
            (&b"Name,Size\nAda\n"[..], "number of fields, 1 and 2"),
            (&b"Name\n\"Ada\nBo\nCy\n"[..], "line 2"),
            (&b"Name\n\"Ada\"x\n"[..], "line 2"),
            (&b"Name\nAda\nB\"o\n"[..], "line 3"),
        ] {
            let said = refused(bytes);
            assert!(
                said.contains(word),
                "actual {said}, expected {word}, input {bytes:?}"
            );
        }
    }
}
