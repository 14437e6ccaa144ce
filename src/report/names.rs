//! Where every order stands, over several runs: which run holds whom.

use serde::Serialize;

use super::text::Look;
use crate::ids::{At, Id as _, PocketId};
use crate::orders::together::Together;
use crate::paths::exact;
use crate::typeset::Ink;

#[derive(Serialize)]
struct JsonNames<'a> {
    list: &'a str,
    sha256: &'a str,
    orders: Vec<JsonOrder<'a>>,
}

#[derive(Serialize)]
struct JsonOrder<'a> {
    name: &'a str,
    row: &'a str,
    /// `null` where no run holds it as it was ordered.
    file: Option<String>,
    pocket: Option<&'a str>,
}

/// The table as JSON, indented.
#[expect(
    clippy::expect_used,
    reason = "serde_json refuses only map keys that are no strings, and there are no maps here"
)]
pub(crate) fn json(together: &Together) -> String {
    let orders = together
        .table()
        .into_iter()
        .map(|(order, found)| {
            let order = together.list.orders.at(order);
            let run = found.map(|f| together.runs.at(f.run));
            let pocket = found.and_then(|f| Some(run?.pockets.at(f.pocket?.number())));
            JsonOrder {
                name: &order.name,
                row: &order.row,
                file: run.map(|r| exact(&r.file)),
                pocket: pocket.map(String::as_str),
            }
        })
        .collect();
    let names = JsonNames {
        list: &together.list.file,
        sha256: &together.list.sha256,
        orders,
    };
    serde_json::to_string_pretty(&names).expect("structs of plain values")
}

/// The table in words, a run a paragraph.
pub(crate) fn text(together: &Together, look: &Look) -> String {
    if look.quiet {
        return String::new();
    }
    let screen = look.screen();
    let table = together.table();
    let held = table.iter().filter(|(_, f)| f.is_some()).count();
    let heading = format!(
        "{}: {held} of {} held as ordered",
        together.list.file,
        crate::wording::counted(table.len(), "name", "names")
    );
    let mut out = String::from("\n");
    out.push_str(&screen.set("", "  ", &[(Ink::Strong, &heading)]));
    for (index, run) in together.runs.iter().enumerate() {
        let mut here: Vec<(PocketId, &str)> = table
            .iter()
            .filter_map(|(order, found)| {
                let found = found.filter(|f| f.run == index)?;
                let name = together.list.orders.at(*order).name.as_str();
                Some((found.pocket?, name))
            })
            .collect();
        here.sort_unstable();
        let names: Vec<String> = here
            .iter()
            .map(|(pocket, name)| format!("{} {name}", run.pockets.at(pocket.number())))
            .collect();
        let names = if run.sha256.is_empty() {
            "could not be read".to_owned()
        } else if names.is_empty() {
            "none".to_owned()
        } else {
            names.join(", ")
        };
        let file = format!("{}: ", run.name());
        out.push_str(&screen.set("  ", "    ", &[(Ink::Strong, &file), (Ink::Plain, &names)]));
    }
    out
}
