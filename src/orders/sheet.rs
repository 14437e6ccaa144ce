//! A list kept in a spreadsheet file.

use std::io::Cursor;

use calamine::{
    Data, DataRef, Range, Reader as _, SheetVisible, Sheets, Xlsx, XlsxError,
    open_workbook_auto_from_rs,
};

use super::table::{Cell, FAILED, NO_RESULT, Row, Table, header};

/// Whether the bytes are a spreadsheet file: a ZIP archive (.xlsx, .ods) or a compound file (.xls).
pub(super) fn is_one(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")
}

/// So many cells a sheet may reach over, the empty ones between the others counted, as each takes memory: some
/// hundreds of megabytes. Much less, and a long list with a stray cell below it is refused.
const MOST_CELLS: u64 = 4_000_000;

/// The first and the last row and column of some cells.
type Corners = Option<((u32, u32), (u32, u32))>;

/// The one sheet that has the header; `wanted` is the sheet that the person names.
///
/// # Errors
///
/// A file that cannot be read or reaches too far, a named sheet that is not there, several sheets with the header;
/// `Ok(Err)` with the first row of the first sheet where none has the header.
pub(super) fn read(
    bytes: &[u8],
    wanted: Option<&str>,
    is_header: &dyn Fn(&Row) -> bool,
) -> Result<Result<Table, Row>, String> {
    let unread = |e: calamine::Error| {
        format!(
            "the order list cannot be read as a spreadsheet ({e}): save it again as .xlsx, .ods or CSV"
        )
    };
    let mut book = open_workbook_auto_from_rs(Cursor::new(bytes)).map_err(unread)?;
    let sheets: Vec<String> = book
        .sheets_metadata()
        .iter()
        .filter(|s| wanted.map_or(s.visible == SheetVisible::Visible, |w| s.name == w))
        .map(|s| s.name.clone())
        .collect();
    if let (Some(wanted), []) = (wanted, sheets.as_slice()) {
        return Err(format!(
            "the order list has no sheet \"{wanted}\": its sheets are {}",
            quoted(&book.sheet_names())
        ));
    }
    let mut found: Option<(String, Table)> = None;
    let mut first: Option<Row> = None;
    for name in sheets {
        // Before the library takes memory for what lies between the cells.
        if let Sheets::Xlsx(book) = &mut book {
            bounded(reach(book, &name).map_err(|e| unread(e.into()))?, &name)?;
        }
        let values = book.worksheet_range(&name).map_err(unread)?;
        let formulas = book.worksheet_formula(&name).map_err(unread)?;
        let corners = around(corners(&values), corners(&formulas));
        bounded(corners, &name)?;
        let mut rows = rows(&values, &formulas, corners);
        let Some(at) = header(&rows, is_header) else {
            first = first.or_else(|| rows.into_iter().find(|r| !r.blank()));
            continue;
        };
        if let Some((other, _)) = &found {
            return Err(format!(
                "two sheets of the order list have these columns, \"{other}\" and \"{name}\": say which with --sheet"
            ));
        }
        let rows = rows.split_off(at);
        let counted = "row";
        found = Some((name, Table { rows, counted }));
    }
    Ok(match found {
        Some((_, table)) => Ok(table),
        None => Err(first.unwrap_or_default()),
    })
}

/// How far the cells of a sheet reach that hold a value or a formula.
fn reach(book: &mut Xlsx<Cursor<&[u8]>>, name: &str) -> Result<Corners, XlsxError> {
    let mut reach = None;
    let mut values = book.worksheet_cells_reader(name)?;
    while let Some(cell) = values.next_cell()? {
        if *cell.get_value() != DataRef::Empty {
            let at = cell.get_position();
            reach = around(reach, Some((at, at)));
        }
    }
    drop(values);
    let mut formulas = book.worksheet_cells_reader(name)?;
    while let Some(formula) = formulas.next_formula()? {
        let at = formula.get_position();
        reach = around(reach, Some((at, at)));
    }
    Ok(reach)
}

fn corners<T: calamine::CellType>(range: &Range<T>) -> Corners {
    range.start().zip(range.end())
}

/// The corners of both.
fn around(one: Corners, other: Corners) -> Corners {
    match (one, other) {
        (Some((a, b)), Some((c, d))) => {
            Some(((a.0.min(c.0), a.1.min(c.1)), (b.0.max(d.0), b.1.max(d.1))))
        }
        (one, other) => one.or(other),
    }
}

fn bounded(corners: Corners, name: &str) -> Result<(), String> {
    let Some((first, last)) = corners else {
        return Ok(());
    };
    let (rows, columns) = (last.0 - first.0, last.1 - first.1);
    if (u64::from(rows) + 1) * (u64::from(columns) + 1) <= MOST_CELLS {
        return Ok(());
    }
    Err(format!(
        "the sheet \"{name}\" of the order list reaches over {} rows and {} columns, which is too far: delete what stands by itself far below or beside the list, or save it as CSV",
        u64::from(rows) + 1,
        u64::from(columns) + 1
    ))
}

/// Every row from the first cell that holds anything to the last. A formula stands beside its result, and
/// files that a script wrote may have it alone.
fn rows(values: &Range<Data>, formulas: &Range<String>, corners: Corners) -> Vec<Row> {
    let Some(((top, left), (bottom, right))) = corners else {
        return Vec::new();
    };
    let at = |place| match (values.get_value(place), formulas.get_value(place)) {
        (None | Some(Data::Empty), Some(formula)) if !formula.is_empty() => Cell {
            text: String::new(),
            unlike: Some(NO_RESULT),
        },
        (value, _) => value.map(cell).unwrap_or_default(),
    };
    (top..=bottom)
        .map(|row| Row {
            number: u64::from(row) + 1,
            cells: (left..=right).map(|column| at((row, column))).collect(),
        })
        .collect()
}

fn quoted(names: &[String]) -> String {
    let quoted: Vec<String> = names.iter().map(|n| format!("\"{n}\"")).collect();
    quoted.join(", ")
}

/// A cell as text. A whole number has no decimals, as it shows unless somebody formats it.
fn cell(data: &Data) -> Cell {
    let unlike = |text: String, what| Cell {
        text,
        unlike: Some(what),
    };
    match data {
        Data::Empty => Cell::default(),
        Data::String(text) => Cell::from(text.as_str()),
        Data::Int(number) => Cell::from(number.to_string().as_str()),
        Data::Float(number) => Cell::from(number.to_string().as_str()),
        Data::Bool(truth) => unlike(truth.to_string(), "a yes or no"),
        Data::DateTime(date) => {
            let (year, month, day, ..) = date.to_ymd_hms_milli();
            unlike(format!("{year:04}-{month:02}-{day:02}"), "a date or time")
        }
        Data::DateTimeIso(date) => unlike(date.clone(), "a date or time"),
        Data::DurationIso(time) => unlike(time.clone(), "a time"),
        Data::Error(error) => unlike(error.to_string(), FAILED),
    }
}
