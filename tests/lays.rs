//! Lettering that readers lay out differently: held only where one of the lays is a fault, and said.

use super::common::tags::{BURN, Tags, brief, lettering, middle, of};
use jigwarden::tested::report::{Run, Verdict};

/// A line of lettering in A1 with attributes of its own, names in the other pockets.
fn run_of(attributes: &str, content: &str, defs: &str) -> Run {
    let (x, y) = middle(0);
    let art = format!(
        "{defs}<text x='{x}' y='{y}' font-family='Ubuntu' font-weight='300' font-size='5' fill='{BURN}' {attributes}>{content}</text>"
    );
    Tags::new("").run(&(art + &lettering(1, "Ida", 5.0, "") + &lettering(2, "Rue", 5.0, "")))
}

fn said(run: &Run) -> String {
    let findings: Vec<&str> = run.findings.iter().map(|f| f.message.as_str()).collect();
    format!("{findings:?} {:?} {:?}", run.notes, run.trouble)
}

/// Fits its zone in either lay.
fn clear(attributes: &str, content: &str) {
    let run = run_of(attributes, content, "");
    assert_eq!(
        run.verdict,
        Verdict::Clear,
        "{attributes} {content}: {}",
        said(&run)
    );
    assert!(
        run.notes.iter().any(|n| n.contains("readers lay out")),
        "{attributes} {content}: {}",
        said(&run)
    );
}

/// Past its zone in one lay at least, and no more said than that.
fn held(attributes: &str, content: &str) {
    let run = run_of(attributes, content, "");
    assert_eq!(
        run.verdict,
        Verdict::Hold,
        "{attributes} {content}: {}",
        said(&run)
    );
    let past = of(&run, "past-zone");
    assert!(
        matches!(past.as_slice(), [one] if one.message.contains("as some readers lay it out")),
        "{attributes} {content}: {:?} {}",
        brief(&run),
        said(&run)
    );
}

#[test]
fn both_lays_fit_and_that_readers_differ_is_said() {
    clear("text-anchor='middle' letter-spacing='1'", "Anna");
    clear("text-anchor='end' letter-spacing='1'", "Ann");
    clear(
        "text-anchor='middle'",
        "Ann<tspan baseline-shift='super' font-size='3'>st</tspan>",
    );
    clear("text-anchor='middle' baseline-shift='2'", "Anna");
    clear("text-anchor='middle' baseline-shift='sub'", "Anna");
    clear(
        "text-anchor='middle'",
        "Ann<tspan alignment-baseline='hanging'>a</tspan>",
    );
    clear("text-anchor='middle' text-decoration='underline'", "Anna");
    clear("text-anchor='middle' word-spacing='-12'", "Ann Lee");
    clear(
        "text-anchor='middle' dominant-baseline='middle'",
        "An<tspan dominant-baseline='auto'>na</tspan>",
    );
}

#[test]
fn one_lay_past_the_zone_holds_and_says_so() {
    // Half a millimetre of room, and the space after the last letter takes three.
    held("text-anchor='middle' letter-spacing='6' dx='0.6'", "OOO");
    held("text-anchor='middle' letter-spacing='6' dx='-2.4'", "OOO");
    held(
        "text-anchor='middle' dy='-27'",
        "Ann<tspan baseline-shift='super'>a</tspan>",
    );
    held("text-anchor='middle' dy='-25' baseline-shift='4'", "Anna");
    held(
        "text-anchor='middle' dy='29.4' text-decoration='underline'",
        "Anna",
    );
}

#[test]
fn dominant_baselines_that_change_nothing_change_nothing() {
    for value in ["no-change", "use-script", "auto", "alphabetic"] {
        let run = run_of(
            &format!("text-anchor='middle' dominant-baseline='{value}'"),
            "Anna",
            "",
        );
        assert_eq!(
            (run.verdict, run.findings.len()),
            (Verdict::Clear, 0),
            "{value}: {}",
            said(&run)
        );
    }
    // Inside a group that has one, it stays the group's.
    let (x, y) = middle(0);
    let lay = |value: &str| {
        let art = format!(
            "<g dominant-baseline='hanging'><text x='{x}' y='{}' {value} font-family='Ubuntu' font-weight='300' font-size='5' fill='{BURN}' text-anchor='middle'>Anna</text></g>",
            y + 26.5
        );
        Tags::new("")
            .run(&art)
            .findings
            .iter()
            .filter(|f| f.rule == "past-zone")
            .count()
    };
    assert_eq!(
        (
            lay(""),
            lay("dominant-baseline='no-change'"),
            lay("dominant-baseline='auto'")
        ),
        (1, 1, 0)
    );
}

#[test]
fn lines_along_letters_are_in_the_paint_of_whoever_draws_them() {
    let (x, y) = middle(0);
    let text = |outer: &str, own: &str| {
        format!(
            "<g {outer}><text x='{x}' y='{y}' font-family='Ubuntu' font-weight='300' font-size='5' text-anchor='middle' {own}>Anna</text></g>"
        )
    };
    let count = |art: &str| {
        let run = Tags::new("").run(art);
        of(&run, "paint-unknown").len()
    };
    let burn = format!("fill='{BURN}'");
    // The group's paint is unlisted, the letters' is not: the line is the group's.
    assert_eq!(
        count(&text("fill='#123456' text-decoration='underline'", &burn)),
        1
    );
    assert_eq!(
        count(&text(
            "fill='#123456' style='text-decoration: line-through'",
            &burn
        )),
        1
    );
    assert_eq!(count(&text("fill='#123456'", &burn)), 0);
    assert_eq!(
        count(&text(&format!("{burn} text-decoration='overline'"), &burn)),
        0
    );
    // An inner line does not take the outer one away.
    assert_eq!(
        count(&text(
            "fill='#123456' text-decoration='underline'",
            &format!("{burn} text-decoration='overline'")
        )),
        1
    );
    // What shifts or aligns a group's lettering is not inherited.
    let run = Tags::new("").run(&text(
        "baseline-shift='20' alignment-baseline='hanging'",
        &burn,
    ));
    assert_eq!(
        (run.verdict, run.notes.len()),
        (Verdict::Clear, 0),
        "{}",
        said(&run)
    );
}
