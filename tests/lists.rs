//! Order lists kept in spreadsheet files: read by the row and the column, as people see them.
//!
//! The files are written by tests/lists/make.py, with independent libraries.

use std::path::PathBuf;

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
