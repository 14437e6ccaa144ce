//! The fixture's lines lie elsewhere and the art lies right: that is the one finding, and the art is not
//! blamed for it.

use super::common::tags::{Tags, outlined, outlines, page};
use super::common::{bench, tags};
use jigwarden::tested::finding::Severity;

/// Ways in which a hand, or a program that opens the file, displaces lines.
const MOVES: [&str; 12] = [
    "translate(3 0)",
    "translate(0 -4)",
    "translate(-2 1)",
    "translate(12 0)",
    "rotate(1 70 140)",
    "rotate(3 70 140)",
    "rotate(180 70 134)",
    "rotate(180 70 138)",
    "translate(143 0) scale(-1 1)",
    "translate(0 280) scale(1 -1)",
    "scale(1.02)",
    "scale(.98)",
];

/// The names of the three tags, live or outlined, in a face at hand or in one that nobody has.
fn art(kind: &str) -> String {
    let names = ["Tansy", "Borage", "Linden"];
    match kind {
        "live" => tags::names(names),
        "outlined" => (0..3).map(|n| outlined(n, names[n], 4.0, "")).collect(),
        _ => (0..3)
            .map(|n| outlined(n, names[n], 3.5, "skewX(-9) scale(1.2 1)"))
            .collect(),
    }
}

#[test]
fn art_that_lies_right_is_not_blamed_for_lines_that_do_not() {
    let tags = Tags::new("");
    let mut wrong = Vec::new();
    for kind in ["live", "outlined", "foreign"] {
        let sound = tags.run_of(&page(&(outlines(true) + &art(kind))));
        assert!(
            sound.findings.iter().all(|f| f.severity != Severity::Hold),
            "{kind}: {:?}",
            bench::named(&sound)
        );
        for moved in MOVES {
            for lines in [
                format!("<g transform='{moved}'>{}</g>", outlines(true)),
                format!(
                    "<g transform='scale(2)'><g transform='scale(.5) {moved}'>{}</g></g>",
                    outlines(true)
                ),
            ] {
                let run = tags.run_of(&page(&(lines + &art(kind))));
                let holds: Vec<&str> = run
                    .findings
                    .iter()
                    .filter(|f| f.severity == Severity::Hold)
                    .map(|f| f.rule)
                    .collect();
                let all = |rule: &&str| matches!(*rule, "fixture-shifted" | "pocket-moved");
                if holds.is_empty() || !holds.iter().all(all) {
                    wrong.push(format!("{kind} {moved}: {:?}", bench::named(&run)));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
