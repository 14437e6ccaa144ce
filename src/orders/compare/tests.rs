#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use super::*;
use crate::ids::Id as _;

/// "Ada" for any pocket, "Ada@1" for pocket 1.
fn orders(list: &[&str]) -> Vec<Order> {
    list.iter()
        .enumerate()
        .map(|(i, text)| {
            let (name, pocket) = match text.split_once('@') {
                Some((n, p)) => (n, Some(PocketId::new(p.parse().unwrap()))),
                None => (*text, None),
            };
            Order {
                name: name.replace('+', " "),
                parts: name.split('+').map(str::to_owned).collect(),
                pocket,
                row: format!("line {}", i + 2),
            }
        })
        .collect()
}

/// One pocket a text, lines parted by "/"; a line that starts with "+" continues the one before.
fn said(pockets: &[&str]) -> Vec<Said> {
    let mut word = 0;
    pockets
        .iter()
        .enumerate()
        .map(|(i, text)| Said {
            run: 0,
            pocket: Some(PocketId::new(i)),
            lines: text
                .split('/')
                .filter(|l| !l.is_empty())
                .map(|l| {
                    word += 1;
                    LetteringPiece {
                        text: l.trim_start_matches('+').to_owned(),
                        word: word - 1,
                        tight: l.starts_with('+'),
                        sure: true,
                        placeholder: l == "NAME",
                    }
                })
                .collect(),
        })
        .collect()
}

/// Everything in one line: "missing 0 slip Jhon@2 Letter; extra …".
fn check(list: &[&str], pockets: &[&str], expected: &str) {
    let got = compare(&orders(list), &said(pockets), false);
    let at = |f: &Found| format!("{}@{}", f.text, f.pocket.unwrap().number());
    let mut words: Vec<String> = Vec::new();
    for m in &got.missing {
        words.push(match &m.instead {
            Instead::Nothing => format!("missing {}", m.order),
            Instead::Slip(f, s) => format!("slip {} {} {s:?}", m.order, at(f)),
            Instead::Elsewhere(f) => format!("elsewhere {} {}", m.order, at(f)),
            Instead::Beside(f) => format!("beside {} {}", m.order, f.text),
            Instead::Other(f) => format!("other {} {}", m.order, at(f)),
        });
    }
    words.extend(got.extra.iter().map(|f| format!("extra {}", at(f))));
    words.extend(got.twice.iter().map(|t| {
        format!(
            "twice {} of {} for {}",
            at(&t.surplus),
            t.found.len(),
            t.asked
        )
    }));
    assert_eq!(
        words.join("; "),
        expected,
        "list {list:?}, pockets {pockets:?}"
    );
}

#[test]
fn what_agrees_is_quiet() {
    check(&["Ada", "Bo"], &["Bo", "ADA"], "");
    check(&["Ada", "Ada"], &["Ada", "Ada"], "");
    check(&["Ada@1", "Bo@0"], &["Bo", "Ada"], "");
    check(
        &["Ada Lee", "Bartholomew"],
        &["Ada/Lee", "Bartho-/lomew"],
        "",
    );
    check(&["Ada", "Bo"], &["A/+da", "Bo"], "");
    check(&["Anne-Marie Lee"], &["Anne-/Marie Lee"], "");
    check(&["Ada+1 May", "Bo+2 May"], &["Ada/1 May", "2 May/Bo"], "");
    check(&["Ada+1 May"], &["Ada/2 May"], "slip 0 Ada 2 May@0 Letter");
    check(
        &["Ada", "Bo", "Cy"],
        &["Ada/Hive 7", "Bo/Hive 7", "Hive 7/Cy"],
        "",
    );
}

#[test]
fn slips_are_one_finding_each() {
    check(&["John", "Ada"], &["Ada", "Jhon"], "slip 0 Jhon@1 Letter");
    check(&["Zo\u{eb}"], &["Zoe"], "slip 0 Zoe@0 Accents");
    check(&["Ada Lee"], &["Ada/Lea"], "slip 0 Ada Lea@0 Letter");
    // Of two likely ones the likelier wins, whatever the order.
    check(
        &["Joan", "John"],
        &["J\u{f3}an", "Jon"],
        "slip 0 J\u{f3}an@0 Accents; slip 1 Jon@1 Letter",
    );
    let exact = compare(&orders(&["Ada"]), &said(&["ADA"]), true);
    assert!(matches!(
        exact.missing[0].instead,
        Instead::Slip(_, Slip::Case)
    ));
}

#[test]
fn missing_extra_and_twice() {
    check(&["Ada", "Bo"], &["Ada", ""], "missing 1");
    check(&["Ada"], &["Ada", "Cyril"], "extra Cyril@1");
    check(&["Ada"], &["Ada/Cyril"], "extra Cyril@0");
    check(
        &["Ada", "Bo"],
        &["Ada", "Ada"],
        "missing 1; twice Ada@1 of 2 for 1",
    );
    // A stand-in is another rule's to say.
    check(&["Ada"], &["NAME"], "missing 0");
    // The same leftover in two pockets is no design.
    check(
        &["Ada", "Bo"],
        &["Ada/Olga", "Bo/Olga"],
        "extra Olga@0; extra Olga@1",
    );
}

#[test]
fn a_pocket_on_the_list_counts() {
    check(
        &["Ada@0", "Bo@1"],
        &["Bo", "Ada"],
        "elsewhere 0 Ada@1; elsewhere 1 Bo@0",
    );
    check(&["Ada@0"], &["Peter"], "other 0 Peter@0");
    check(&["John@0", "Ada@1"], &["Jon", "Ada"], "slip 0 Jon@0 Letter");
    check(
        &["Ada@0", "Eva@1"],
        &["Ada", "Ada"],
        "missing 1; twice Ada@1 of 2 for 1",
    );
}

#[test]
fn lettering_that_is_not_sure_fills_nothing() {
    let mut pockets = said(&["Ada"]);
    pockets[0].lines[0].sure = false;
    let got = compare(&orders(&["Ada"]), &pockets, false);
    assert_eq!(got.missing.len(), 1);
    assert!(got.extra.is_empty(), "{got:?}");
}
