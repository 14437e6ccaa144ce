//! Order lists kept in spreadsheet files: read by the row and the column, as people see them.
//!
//! The files are written by tests/lists/make.py, with independent libraries.

use std::path::PathBuf;
use std::sync::Arc;

use crate::common::sheet::{ods, ods_rows, xlsx, xlsx_rows};

use jigwarden::tested::ids::{Id as _, PocketId};
use jigwarden::tested::orders::{Batch, Named, read};

fn named(file: &str, columns: &[&str]) -> Named {
    Named {
        file: PathBuf::from(env!("CARGO_MANIFEST_DIR"))
            .join("tests/lists")
            .join(file),
        columns: columns.iter().map(|c| (*c).to_owned()).collect(),
        quantity: Some("Qty".to_owned()),
        ..Named::default()
    }
}

fn find(name: &str) -> Option<PocketId> {
    ["A1", "A2", "A3"]
        .iter()
        .position(|p| *p == name)
        .map(PocketId::new)
}

#[test]
fn a_sheet_reads_as_it_shows() {
    for file in ["week.xlsx", "week.ods"] {
        let list = read(&named(file, &["Name"]), &find).unwrap();
        let orders: Vec<(&str, Option<PocketId>, &str)> = list
            .orders
            .iter()
            .map(|o| (o.name.as_str(), o.pocket, o.row.as_str()))
            .collect();
        assert_eq!(
            orders,
            [
                ("Zo\u{eb} M\u{fc}ller", Some(PocketId::new(0)), "row 4"),
                ("Isolde", None, "row 5"),
                ("Isolde", None, "row 5"),
                ("7", None, "row 6"),
                ("\u{141}ukasz", Some(PocketId::new(2)), "row 8"),
            ],
            "{file}"
        );
        assert_eq!(list.notes.len(), 1, "{file} {:?}", list.notes);
        assert!(list.notes[0].contains("row 8"), "{file} {:?}", list.notes);
        assert_eq!((list.file.as_str(), list.sha256.len()), (file, 64));
    }
}

#[test]
fn a_date_is_not_spelt_by_guess() {
    for file in ["week.xlsx", "week.ods"] {
        let said = read(&named(file, &["Name", "Delivery"]), &find)
            .unwrap_err()
            .to_string();
        assert!(
            said.contains("row 4") && said.contains("a date") && said.contains("\"Delivery\""),
            "{file}: {said}"
        );
        // A batch of it is chosen all the same, by the date as ISO 8601 writes it.
        let batch = |value: &str| Named {
            batch: Some(Batch {
                column: "Delivery".to_owned(),
                value: value.to_owned(),
            }),
            ..named(file, &["Name"])
        };
        let list = read(&batch("2026-05-13"), &find).unwrap();
        assert_eq!(list.orders.len(), 1, "{file} {list:?}");
        assert!(read(&batch("2026-05-14"), &find).is_err());
    }
}

#[test]
fn the_sheet_with_the_columns_is_found_or_named() {
    let wanted = |sheet: &str| Named {
        sheet: Some(sheet.to_owned()),
        ..named("week.xlsx", &["Name"])
    };
    let hidden = read(&wanted("Week 22"), &find).unwrap();
    assert_eq!(hidden.orders.len(), 1);
    let none = read(&wanted("Week 24"), &find).unwrap_err().to_string();
    assert!(
        none.contains("\"About\", \"Week 23\", \"Week 22\""),
        "{none}"
    );
    let lacking = read(&wanted("About"), &find).unwrap_err().to_string();
    assert!(lacking.contains("\"Not the list\""), "{lacking}");
}

/// Reads a list that is at hand.
fn at_hand(file: &str, bytes: Vec<u8>, named: Named) -> Result<Vec<String>, String> {
    let named = Named {
        file: PathBuf::from(file),
        bytes: Some(Arc::from(bytes)),
        ..named
    };
    match read(&named, &find) {
        Ok(list) => Ok(list.orders.into_iter().map(|o| o.name).collect()),
        Err(e) => Err(e.to_string()),
    }
}

#[test]
fn a_formula_without_a_result_is_no_empty_cell() {
    let name = || Named {
        quantity: None,
        ..named("", &["Name"])
    };
    let batch = |value: &str| Named {
        batch: Some(Batch {
            column: "Week".to_owned(),
            value: value.to_owned(),
        }),
        ..name()
    };
    let counted = || Named {
        quantity: Some("Qty".to_owned()),
        ..name()
    };
    let xlsx_file = |cell: &str, at: usize| {
        let mut row = ["Isolde", "23", "1", "A2"];
        row[at] = cell;
        let header: &[&str] = &["Name", "Week", "Qty", "Pocket"];
        xlsx(&xlsx_rows(&[header, &["Ada", "23", "1", "A1"], &row]))
    };
    let ods_file = |cell: &str, at: usize| {
        let mut row = ["Isolde", "23", "1", "A2"];
        row[at] = cell;
        let header: &[&str] = &["Name", "Week", "Qty", "Pocket"];
        ods(&ods_rows(&[header, &["Ada", "23", "1", "A1"], &row]))
    };
    let of_ods = "<table:table-cell table:formula='of:=[.H3]'/>";
    let files = |at: usize| {
        [
            ("a.xlsx", xlsx_file("t='str'<f>H3</f>", at)),
            ("a.xlsx", xlsx_file("<f>H3</f>", at)),
            ("a.xlsx", xlsx_file("<f>H3</f><v></v>", at)),
            (
                "a.xlsx",
                xlsx_file("<f t='shared' ref='A3:A9' si='0'>H3</f>", at),
            ),
            ("a.ods", ods_file(of_ods, at)),
            (
                "a.ods",
                ods_file(
                    "<table:table-cell table:formula='of:=[.H3]' office:value-type='float'/>",
                    at,
                ),
            ),
        ]
    };
    for (at, column, asked) in [
        (0, "Name", name()),
        (1, "Week", batch("23")),
        (2, "Qty", counted()),
        (3, "Pocket", name()),
    ] {
        for (n, (file, bytes)) in files(at).into_iter().enumerate() {
            let said = at_hand(file, bytes, asked.clone()).unwrap_err();
            assert!(
                said.contains("row 3") && said.contains("a formula without a result"),
                "{column} {file} {n}: {said}"
            );
            assert!(said.contains(&format!("\"{column}\"")), "{file}: {said}");
        }
    }
    // The last row, and one with nothing else in it.
    for (file, bytes) in [
        (
            "a.xlsx",
            xlsx(&xlsx_rows(&[&["Name"], &["Ada"], &["<f>H3</f>"]])),
        ),
        ("a.ods", ods(&ods_rows(&[&["Name"], &["Ada"], &[of_ods]]))),
    ] {
        let said = at_hand(file, bytes, name()).unwrap_err();
        assert!(
            said.contains("row 3") && said.contains("how it is to be spelt"),
            "{said}"
        );
    }
    // An error in the column of batches: whose batch it is, nobody knows.
    let said = at_hand("a.xlsx", xlsx_file("t='e'<v>#N/A</v>", 1), batch("23")).unwrap_err();
    assert!(
        said.contains("row 3") && said.contains("\"Week\""),
        "{said}"
    );
}

#[test]
fn a_formula_with_a_result_is_what_it_comes_to() {
    let name = || Named {
        quantity: None,
        ..named("", &["Name"])
    };
    let rows = |rows: &[&[&str]]| xlsx(&xlsx_rows(rows));
    let shown = |cell: &str| rows(&[&["Name", "Price"], &["Ada", "<f>H2</f>"], &[cell, "1"]]);
    for (cell, expected) in [
        ("t='str'<f>H3</f><v>Isolde</v>", &["Ada", "Isolde"][..]),
        ("<f>H3</f><v>7</v>", &["Ada", "7"]),
        // A formula that comes to nothing: the row is left free on purpose.
        ("t='str'<f>IF(H3=0,\"\",H3)</f><v></v>", &["Ada"]),
    ] {
        assert_eq!(
            at_hand("a.xlsx", shown(cell), name()).unwrap(),
            expected,
            "{cell}"
        );
    }
    let cell = "<table:table-cell table:formula='of:=[.H3]' office:value-type='string' office:string-value=''/>";
    let bytes = ods(&ods_rows(&[&["Name"], &["Ada"], &[cell]]));
    assert_eq!(at_hand("a.ods", bytes, name()).unwrap(), ["Ada"]);
}

/// A cell that stands by itself in the farthest corner would take memory for all that lies between.
#[test]
fn a_sheet_that_reaches_too_far_is_refused_before_it_fills_the_memory() {
    let list = xlsx_rows(&[&["Name"], &["Ada"]]);
    let asked = || Named {
        quantity: None,
        ..named("", &["Name"])
    };
    for stray in ["<v>1</v>", "<f>A2</f>"] {
        let far = format!("{list}<row r='1048576'><c r='XFD1048576'>{stray}</c></row>");
        let said = at_hand("a.xlsx", xlsx(&far), asked()).unwrap_err();
        assert!(said.contains("1048576 rows and 16384 columns"), "{said}");
    }
    // Far below, in one column: a list may be long.
    let below =
        format!("{list}<row r='900000'><c r='A900000' t='inlineStr'><is><t>Bo</t></is></c></row>");
    assert!(at_hand("a.xlsx", xlsx(&below), asked()).is_ok());
}
