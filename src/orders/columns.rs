//! Finds the columns of a list, and turns its rows into orders.

use super::spelling::{fold, spaced};
use super::table::{Cell, Row, Table};
use super::{Named, Order};
use crate::ids::At;
use crate::ids::PocketId;

/// Most blanks that one row, and a whole list, may ask for: more is another column.
const MOST: u32 = 10_000;

/// Most values of a column that are shown: more would fill the screen.
const SHOWN: usize = 12;

/// Words that head a column of quantities, in the languages that lists are often kept in.
const QUANTITY: &[&str] = &[
    "quantity",
    "qty",
    "count",
    "copies",
    "pieces",
    "pcs",
    "amount",
    "how many",
    "number of",
    "menge",
    "anzahl",
    "stück",
    "stk",
    "quantité",
    "qté",
    "cantidad",
    "quantità",
    "aantal",
    "antal",
    "ilość",
    "množství",
];

/// Words that head a column of pockets.
const POCKET: &[&str] = &[
    "pocket", "place", "position", "slot", "nest", "tasche", "platz", "poche",
];

/// Where the columns of a list are.
pub(super) struct Columns {
    header: Vec<String>,
    names: Vec<usize>,
    pocket: Option<usize>,
    quantity: Option<usize>,
    batch: Option<usize>,
}

/// Columns that the call names, each with the option that names it.
fn wanted(named: &Named) -> impl Iterator<Item = (&str, &'static str)> {
    let names = named.columns.iter().map(|c| (c.as_str(), "--column"));
    let pocket = named
        .pocket_column
        .iter()
        .map(|c| (c.as_str(), "--pocket-column"));
    let quantity = named.quantity.iter().map(|c| (c.as_str(), "--quantity"));
    let batch = named.batch.iter().map(|b| (b.column.as_str(), "--batch"));
    names.chain(pocket).chain(quantity).chain(batch)
}

fn same(header: &str, wanted: &str) -> bool {
    fold(header, false) == fold(wanted, false)
}

/// Whether a row heads every column that the call names.
pub(super) fn has_all(row: &Row, named: &Named) -> bool {
    wanted(named).all(|(name, _)| row.cells.iter().any(|c| same(&c.text, name)))
}

/// What to say of a list whose first row does not head every column that is named.
pub(super) fn lacking(first: &Row, named: &Named) -> String {
    if first.cells.is_empty() {
        return "the order list is empty".to_owned();
    }
    let missing = wanted(named).find(|(name, _)| !first.cells.iter().any(|c| same(&c.text, name)));
    let (name, option) = missing.unwrap_or_default();
    let columns: Vec<String> = first
        .cells
        .iter()
        .map(|c| format!("\"{}\"", c.text.trim()))
        .collect();
    format!(
        "the order list has no column \"{name}\": its columns are {}; name one of them with {option}",
        columns.join(", ")
    )
}

impl Columns {
    /// Looks the columns up in the header, as written first, then whatever their capitals.
    ///
    /// # Errors
    ///
    /// Two columns of one name.
    pub(super) fn find(table: &Table, named: &Named) -> Result<Self, String> {
        let header: Vec<String> = table
            .rows
            .first()
            .map(|h| h.cells.iter().map(|c| spaced(&c.text)).collect())
            .unwrap_or_default();
        let place = |wanted: &str| place(&header, wanted);
        let must = |wanted: &String| {
            place(wanted)?.ok_or_else(|| format!("the order list has no column \"{wanted}\""))
        };
        Ok(Self {
            names: named.columns.iter().map(must).collect::<Result<_, _>>()?,
            pocket: match &named.pocket_column {
                Some(wanted) => Some(must(wanted)?),
                None => place("pocket")?,
            },
            quantity: named.quantity.as_ref().map(must).transpose()?,
            batch: named.batch.as_ref().map(|b| must(&b.column)).transpose()?,
            header,
        })
    }

    /// The orders, and what is worth a look.
    ///
    /// # Errors
    ///
    /// A cell that does not fit its column, or no order at all.
    pub(super) fn orders(
        &self,
        table: &Table,
        named: &Named,
        find: &dyn Fn(&str) -> Option<PocketId>,
    ) -> Result<(Vec<Order>, Vec<String>), String> {
        let mut orders: Vec<Order> = Vec::new();
        let mut uncounted: Vec<String> = Vec::new();
        let mut in_batch = false;
        for row in table.rows.iter().skip(1).filter(|r| !r.blank()) {
            let at = format!("{} {}", table.counted, row.number);
            if let (Some(column), Some(batch)) = (self.batch, &named.batch) {
                if self.names_any(row) {
                    self.known(row, column, &at)?;
                }
                if !same(row.text(column), &batch.value) {
                    continue;
                }
            }
            in_batch = true;
            let parts = self.parts(row, &at)?;
            if parts.is_empty() {
                continue;
            }
            for column in [self.quantity, self.pocket].into_iter().flatten() {
                self.known(row, column, &at)?;
            }
            let count = match self.quantity {
                None => 1,
                Some(column) if row.text(column).is_empty() => {
                    uncounted.push(at.clone());
                    1
                }
                Some(column) => quantity(row.text(column)).ok_or_else(|| {
                    format!(
                        "{at} of the order list has \"{}\" in its column \"{}\", which is no quantity: write a whole number, {MOST} at most",
                        row.text(column),
                        self.called(column)
                    )
                })?,
            };
            let order = Order {
                name: parts.join(" "),
                parts,
                pocket: self.pocket(row, &at, find)?,
                row: at,
            };
            if orders.len() as u64 + u64::from(count) > u64::from(MOST) {
                return Err(format!(
                    "the order list asks for more than {MOST} blanks by {}: name the list of this batch, or correct the quantities",
                    order.row
                ));
            }
            orders.extend((0..count).map(|_| order.clone()));
        }
        if orders.is_empty() {
            return Err(self.nothing(table, named, in_batch));
        }
        let mut notes = self.unused(table, find);
        if let [first, ..] = uncounted.as_slice() {
            notes.push(match uncounted.len() {
                1 => format!("{first} of the order list has no quantity: taken as 1"),
                n => format!("{n} rows of the order list have no quantity, the first is {first}: each taken as 1"),
            });
        }
        Ok((orders, notes))
    }

    fn called(&self, column: usize) -> &str {
        self.header.at(column)
    }

    /// Whether a row has something in a column of names.
    fn names_any(&self, row: &Row) -> bool {
        let mut cells = self.names.iter().filter_map(|c| row.cells.get(*c));
        cells.any(|cell| !cell.blank())
    }

    /// Refuses a cell whose value the file does not hold: taken as empty, it would change the order.
    fn known(&self, row: &Row, column: usize, at: &str) -> Result<(), String> {
        match row.cells.get(column).and_then(Cell::unknown) {
            None => Ok(()),
            Some(what) => Err(format!(
                "{at} of the order list has {what} in its column \"{}\", and its value is not in the file: write the value in its place, or open the list where formulas are worked out and save it again",
                self.called(column)
            )),
        }
    }

    /// What is to stand on the blank, column by column.
    fn parts(&self, row: &Row, at: &str) -> Result<Vec<String>, String> {
        let mut parts = Vec::new();
        for column in &self.names {
            if let Some(what) = row.cells.get(*column).and_then(|c| c.unlike) {
                return Err(format!(
                    "{at} of the order list has {what} in its column \"{}\", and how it is to be spelt is not in the file: turn the column into text, as it is to be burnt",
                    self.called(*column)
                ));
            }
            let text = spaced(row.text(*column));
            if !fold(&text, true).is_empty() {
                parts.push(text);
            }
        }
        Ok(parts)
    }

    fn pocket(
        &self,
        row: &Row,
        at: &str,
        find: &dyn Fn(&str) -> Option<PocketId>,
    ) -> Result<Option<PocketId>, String> {
        let called = self.pocket.map_or("", |c| row.text(c));
        if called.is_empty() {
            return Ok(None);
        }
        find(called).map(Some).ok_or_else(|| {
            format!(
                "{at} of the order list names the pocket \"{called}\", which the fixture does not have: correct it, or name another column with --pocket-column"
            )
        })
    }

    /// Why no row is left.
    fn nothing(&self, table: &Table, named: &Named, in_batch: bool) -> String {
        if let (Some(column), Some(batch), false) = (self.batch, &named.batch, in_batch) {
            let mut there: Vec<String> = Vec::new();
            for row in table.rows.iter().skip(1) {
                let value = format!("\"{}\"", spaced(row.text(column)));
                if value != "\"\"" && !there.contains(&value) {
                    there.push(value);
                }
            }
            let more = if there.len() > SHOWN { ", …" } else { "" };
            there.truncate(SHOWN);
            return format!(
                "no row of the order list has \"{}\" in its column \"{}\": it has {}{more}",
                batch.value,
                self.called(column),
                there.join(", ")
            );
        }
        let columns: Vec<String> = self
            .names
            .iter()
            .map(|c| format!("\"{}\"", self.called(*c)))
            .collect();
        format!(
            "the order list holds no name in its column {}: check that it is this batch's list",
            columns.join(", ")
        )
    }

    /// Columns that look like a quantity or a pocket and are not used.
    fn unused(&self, table: &Table, find: &dyn Fn(&str) -> Option<PocketId>) -> Vec<String> {
        let used = |c: usize| {
            self.names.contains(&c) || [self.pocket, self.quantity, self.batch].contains(&Some(c))
        };
        let mut notes = Vec::new();
        for (column, name) in self.header.iter().enumerate().filter(|(c, _)| !used(*c)) {
            let values: Vec<&str> = table
                .rows
                .iter()
                .skip(1)
                .map(|r| r.text(column))
                .filter(|v| !v.is_empty())
                .collect();
            let pockets = values.len() > 1 && values.iter().all(|v| find(v).is_some());
            if self.pocket.is_none() && (headed(name, POCKET) && !values.is_empty() || pockets) {
                notes.push(format!(
                    "the column \"{name}\" of the order list looks like pockets and is not used: go by it with --pocket-column \"{name}\""
                ));
            } else if self.quantity.is_none()
                && (headed(name, QUANTITY) && values.iter().any(|v| quantity(v).is_some())
                    || counts(&values))
            {
                notes.push(format!(
                    "the column \"{name}\" of the order list looks like a quantity and is not used, so each row is taken as one: go by it with --quantity \"{name}\""
                ));
            }
        }
        notes
    }
}

/// The one column that is called `wanted`.
fn place(header: &[String], wanted: &str) -> Result<Option<usize>, String> {
    let matches = |exact: bool| -> Vec<usize> {
        header
            .iter()
            .enumerate()
            .filter(|(_, h)| fold(h, exact) == fold(wanted, exact))
            .map(|(i, _)| i)
            .collect()
    };
    let found = match matches(true) {
        none if none.is_empty() => matches(false),
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

/// A whole number of blanks: "2", "2.0", "2x".
fn quantity(text: &str) -> Option<u32> {
    let bare = text.trim().trim_matches(['x', 'X', '×']).trim();
    let (whole, rest) = bare.split_once(['.', ',']).unwrap_or((bare, ""));
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    // "1.000" is a thousand in some languages and one in others.
    let zeros = rest.len() <= 2 && rest.bytes().all(|b| b == b'0');
    if whole.is_empty() || !digits(whole) || !zeros {
        return None;
    }
    whole.parse().ok().filter(|n| *n <= MOST)
}

/// Whether a header is one of `words`, or has one of them among its words.
fn headed(name: &str, words: &[&str]) -> bool {
    let plain = fold(name, false);
    let own: Vec<&str> = plain
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .collect();
    words
        .iter()
        .any(|w| own.join(" ") == *w || own.contains(w) || (w.contains(' ') && plain.contains(w)))
}

/// Whether the values look like quantities: small whole numbers, most of them 1, not all.
fn counts(values: &[&str]) -> bool {
    let numbers: Vec<u32> = values.iter().filter_map(|v| quantity(v)).collect();
    let ones = numbers.iter().filter(|n| **n == 1).count();
    values.len() > 2
        && numbers.len() == values.len()
        && numbers.iter().all(|n| *n < 100)
        && 2 * ones > numbers.len()
        && ones < numbers.len()
}
