#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use super::*;
use crate::ids::Id as _;

fn named(columns: &[&str]) -> Named {
    Named {
        file: PathBuf::from("orders.csv"),
        columns: columns.iter().map(|c| (*c).to_owned()).collect(),
        ..Named::default()
    }
}

fn find(name: &str) -> Option<PocketId> {
    ["A1", "A2"]
        .iter()
        .position(|p| *p == name)
        .map(PocketId::new)
}

fn list(text: &str, named: &Named) -> Result<OrderList, String> {
    parse(text.as_bytes(), named, &find)
}

fn names(text: &str) -> Vec<String> {
    let list = list(text, &named(&["Name"])).unwrap();
    list.orders.into_iter().map(|o| o.name).collect()
}

fn refused(bytes: &[u8]) -> String {
    parse(bytes, &named(&["Name"]), &find).unwrap_err()
}

#[test]
fn tables_of_the_usual_kinds_read_alike() {
    for text in [
        "Name,Size\nAda,S\n\"Bo, of Ely\",M\n",
        "Name,Size\r\nAda,S\r\n\"Bo, of Ely\",M",
        "Size;Name\rS;Ada\r;\rM;Bo, of Ely\r",
        "Size\tName\nS\t Ada\u{a0}\n\t\n\nM\t\"Bo,  of Ely\"\n",
        "\u{feff}NAME\nAda\n\"Bo, of Ely\"\n",
        "Name|Size\nAda|S\nBo, of Ely|M\n",
        "sep=;\nName;Size\nAda;S\nBo, of Ely;M\n",
        "Orders of week 23\n\nName;Size\nAda;S\nBo, of Ely;M;;\n",
        ";;;\n;Name;Size;\n;Ada;S;\n;Bo, of Ely;M;\n",
    ] {
        assert_eq!(names(text), ["Ada", "Bo, of Ely"], "{text:?}");
    }
    assert_eq!(
        names("Name\n\"Ann \"\"Nan\"\" Lee\"\n"),
        ["Ann \"Nan\" Lee"]
    );
    assert_eq!(names("Name\n\"Ada\nLovelace\"\n"), ["Ada Lovelace"]);
}

#[test]
fn pockets_are_read_where_a_column_gives_them() {
    let got = list("POCKET,Name\nA2,Ada\n,Bo\n", &named(&["Name"])).unwrap();
    assert_eq!(got.orders[0].pocket, Some(PocketId::new(1)));
    assert_eq!(got.orders[1].pocket, None);
    assert_eq!(got.orders[0].row, "line 2");
    assert_eq!(got.orders[1].row, "line 3");
    let wrong = list("Pocket,Name\nC9,Ada\n", &named(&["Name"])).unwrap_err();
    assert!(
        wrong.contains("line 2") && wrong.contains("\"C9\""),
        "{wrong}"
    );
    let other = Named {
        pocket_column: Some("slot".to_owned()),
        ..named(&["Name"])
    };
    let got = list("Slot,Name,pocket\nA1,Ada,x\n", &other).unwrap();
    assert_eq!(got.orders[0].pocket, Some(PocketId::new(0)));
    let none = list("Name\nAda\n", &other).unwrap_err();
    assert!(none.contains("--pocket-column"), "{none}");
}

#[test]
fn a_quantity_asks_for_as_many_blanks() {
    let counted = Named {
        quantity: Some("Qty".to_owned()),
        ..named(&["Name"])
    };
    let got = list(
        "Name,Qty\nIsolde,2\nTristan,1\nMarke,0\nKurwenal,\nBrangäne,2.0\nMelot,x3\n",
        &counted,
    )
    .unwrap();
    let of = |name: &str| got.orders.iter().filter(|o| o.name == name).count();
    assert_eq!(
        [
            "Isolde",
            "Tristan",
            "Marke",
            "Kurwenal",
            "Brangäne",
            "Melot"
        ]
        .map(of),
        [2, 1, 0, 1, 2, 3]
    );
    assert_eq!(got.notes.len(), 1, "{:?}", got.notes);
    assert!(got.notes[0].contains("line 5"), "{:?}", got.notes);
    for wrong in ["two", "-1", "1.5", "1.000", "20000", "1e3"] {
        let said = list(&format!("Name;Qty\nAda;1\nIsolde;{wrong}\n"), &counted).unwrap_err();
        assert!(said.contains("line 3") && said.contains(wrong), "{said}");
    }
    let many = list("Name,Qty\nAda,9999\nBo,9999\n", &counted).unwrap_err();
    assert!(many.contains("10000"), "{many}");
}

#[test]
fn a_batch_is_part_of_a_list() {
    let batch = |value: &str| Named {
        batch: Some(Batch {
            column: "week".to_owned(),
            value: value.to_owned(),
        }),
        ..named(&["Name"])
    };
    let text = "Week,Name\n23,Ada\n24,Bo\n23,Cy\n,Di\n";
    let got = list(text, &batch("23")).unwrap();
    let names: Vec<&str> = got.orders.iter().map(|o| o.name.as_str()).collect();
    assert_eq!(names, ["Ada", "Cy"]);
    let none = list(text, &batch("25")).unwrap_err();
    assert!(none.contains("\"23\", \"24\""), "{none}");
}

#[test]
fn several_columns_are_several_lines() {
    let got = list(
        "Date,Name\n12 May,Ada\n,Bo\n13 May,\n",
        &named(&["Name", "Date"]),
    )
    .unwrap();
    assert_eq!(got.orders[0].parts, ["Ada", "12 May"]);
    assert_eq!(got.orders[0].name, "Ada 12 May");
    assert_eq!(got.orders[1].parts, ["Bo"]);
    assert_eq!(got.orders[2].parts, ["13 May"]);
}

#[test]
fn columns_that_look_useful_and_are_not_used_are_mentioned() {
    for (text, word) in [
        (
            "Name,Quantity\nAda,2\nBo,1\n",
            Some("--quantity \"Quantity\""),
        ),
        ("Name,Anzahl (Stk.)\nAda,2\nBo,1\n", Some("--quantity")),
        ("Name,n\nAda,1\nBo,1\nCy,2\n", Some("--quantity \"n\"")),
        (
            "Name,Where\nAda,A1\nBo,A2\n",
            Some("--pocket-column \"Where\""),
        ),
        (
            "Name,Slot\nAda,17\nBo,18\n",
            Some("--pocket-column \"Slot\""),
        ),
        ("Name,Order\nAda,1001\nBo,1002\nCy,1003\n", None),
        ("Name,No.\nAda,1\nBo,2\nCy,3\n", None),
        ("Name,Amount\nAda,12.50\nBo,8.95\n", None),
        ("Name,Pocket\nAda,A1\nBo,A2\n", None),
    ] {
        let notes = list(text, &named(&["Name"])).unwrap().notes;
        match word {
            Some(word) => assert!(
                notes.len() == 1 && notes[0].contains(word),
                "{text:?} {notes:?}"
            ),
            None => assert!(notes.is_empty(), "{text:?} {notes:?}"),
        }
    }
}

#[test]
fn thousands_of_rows_are_read() {
    let rows: String = (0..8_000).map(|i| format!("Name {i};x\n")).collect();
    assert_eq!(names(&format!("Name;Size\n{rows}")).len(), 8_000);
}

#[test]
fn a_missing_column_lists_those_that_are_there() {
    let said = refused(b"Who;Size\nAda;S\n");
    assert!(said.contains("\"Who\", \"Size\""), "{said}");
    let twice = refused(b"Name,Name\nAda,Bo\n");
    assert!(twice.contains("2 columns called"), "{twice}");
    assert_eq!(names("name,Name\nAda,Bo\n"), ["Bo"]);
}

#[test]
fn what_could_be_read_wrongly_is_refused() {
    for (bytes, word) in [
        (&b"Name\nA\0da\n"[..], "zero bytes"),
        (&b""[..], "empty"),
        (&b"Name\n\n"[..], "no name"),
        (&b"Name,Size\nAda\n"[..], "number of fields, 1 and 2"),
        (&b"Name,Size\nAda,S,x\n"[..], "number of fields, 3 and 2"),
        (&b"Name\n\"Ada\nBo\nCy\n"[..], "line 2"),
        (&b"Name\n\"Ada\"x\n"[..], "line 2"),
        (&b"Name\nAda\nB\"o\n"[..], "line 3"),
        (&b"PK\x03\x04abc"[..], "spreadsheet"),
        (&b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1abc"[..], "spreadsheet"),
    ] {
        let said = refused(bytes);
        assert!(
            said.contains(word),
            "actual {said}, expected {word}, input {bytes:?}"
        );
    }
}
