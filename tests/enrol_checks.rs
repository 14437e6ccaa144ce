//! `enrol` checks the fixture's drawing before it is cut.

use crate::common::tags;

use crate::common::tags::enrol;
use jigwarden::tested::enrolling::Enrolled;
use jigwarden::tested::report::Run;
use tags::{CUT, SCORE, Tags, asked, brief, outlines, page};

/// What enrolment says of a drawing: whether it was locked, and the findings.
fn said(drawing: &str, settings: impl Fn(String) -> String) -> (bool, Option<Run>) {
    let tags = Tags::unlocked(drawing, "");
    tags.write("fixture.toml", settings(Tags::settings("")).as_bytes());
    let lock = tags.folder.path().join("fixture.lock.json");
    match enrol(tags.folder.path(), false, &asked()).unwrap() {
        Enrolled::Locked { cautions, .. } => {
            assert!(lock.exists());
            (true, cautions.map(|r| *r))
        }
        Enrolled::Held(run) => {
            assert!(!lock.exists());
            (false, Some(*run))
        }
        other @ Enrolled::Draft { .. } => panic!("{other:?}"),
    }
}

#[track_caller]
fn check(
    drawing: &str,
    locked: bool,
    expected: &[&str],
) -> Vec<jigwarden::tested::finding::Finding> {
    check_with(drawing, |s| s, locked, expected)
}

#[track_caller]
fn check_with(
    drawing: &str,
    settings: impl Fn(String) -> String,
    locked: bool,
    expected: &[&str],
) -> Vec<jigwarden::tested::finding::Finding> {
    let (got, run) = said(&page(drawing), settings);
    let findings = run.as_ref().map(|r| r.findings.clone()).unwrap_or_default();
    let words: Vec<String> = findings
        .iter()
        .map(|f| format!("{}: {}", f.rule, f.message))
        .collect();
    assert_eq!(
        (got, run.as_ref().map(brief).unwrap_or_default()),
        (locked, expected.iter().map(|e| (*e).to_owned()).collect()),
        "{words:#?}"
    );
    findings
}

fn cut(d: &str) -> String {
    format!("<path d='{d}' fill='none' stroke='{CUT}' stroke-width='0.1'/>")
}

#[test]
fn a_sound_drawing_is_locked_without_a_word() {
    check(&outlines(false), true, &[]);
    // In pieces that meet, and with fill and stroke on one element.
    let pieces = cut("M160 88 H188 V180") + &cut("M188 180 H160 V88");
    check(
        &(outlines(false)
            + &pieces
            + &format!("<path d='M172 84 l4 0 l-2 -3 z' fill='none' stroke='{SCORE}'/>")),
        true,
        &[],
    );
}

#[test]
fn a_cut_that_does_not_close_holds() {
    let found = check(
        &(outlines(false) + &cut("M200 50 h20 v20 h-20 v-19.6")),
        false,
        &["open-cut"],
    );
    let m = found[0].measured.as_ref().unwrap();
    assert!((m.value - 0.4).abs() < 1e-3, "{m:?}");
    // The same line closed is a pocket, and needs no more than its own mark.
    check(
        &(outlines(false)
            + &cut("M200 50 h28 v92 h-28 z")
            + &format!("<path d='M212 46 l4 0 l-2 -3 z' fill='none' stroke='{SCORE}'/>")),
        true,
        &[],
    );
}

#[test]
fn a_line_on_another_holds_wholly_or_in_part() {
    let twin =
        "<rect x='20.02' y='88' width='28' height='92' rx='4' fill='none' stroke='#7b2d8b'/>";
    let (locked, run) = said(&page(&(outlines(false) + twin)), |s| s);
    // One outline drawn twice, and no word of two pockets that overlap.
    assert!(!locked);
    assert_eq!(brief(&run.unwrap()), ["cut-twice"]);
    // An opening that shares 30 mm of A3's right edge.
    let shared = cut("M120 100 h10 v30 h-10 z");
    let (locked, run) = said(&page(&(outlines(false) + &shared)), |s| s);
    let run = run.unwrap();
    let twice: Vec<_> = run
        .findings
        .iter()
        .filter(|f| f.rule == "cut-twice")
        .collect();
    assert!(!locked && twice.len() == 1, "{run:?}");
    let m = twice[0].measured.as_ref().unwrap();
    assert!((m.value - 30.0).abs() < 1.0, "{m:?}");
    // Lines that cross touch each other for no length.
    let crossing = cut("M100 60 v20 h3 v-20 z");
    let (_, run) = said(&page(&(outlines(false) + &crossing)), |s| s);
    assert!(run.is_none_or(|r| r.findings.iter().all(|f| f.rule != "cut-twice")));
}

#[test]
fn weak_webs_are_cautions_and_overlaps_hold() {
    let moved = |x: f64| outlines(false).replace("<rect x='56' ", &format!("<rect x='{x}' "));
    let found = check(&moved(50.5), true, &["web-too-thin A1"]);
    let m = found[0].measured.as_ref().unwrap();
    assert!((m.value - 2.5).abs() < 0.01 && m.limit == 3.0, "{m:?}");
    assert!(
        found[0].message.contains("pocket A2"),
        "{}",
        found[0].message
    );
    check(&moved(51.2), true, &[]);
    let found = check(&moved(46.0), false, &["web-too-thin A1"]);
    assert!(
        found[0].message.contains("overlaps pocket A2"),
        "{}",
        found[0].message
    );
    // Against the sheet's edge.
    let narrow = outlines(false).replace(
        "<rect x='5' y='70' width='130'",
        "<rect x='18' y='70' width='117'",
    );
    let found = check(&narrow, true, &["web-too-thin A1"]);
    assert!(
        found[0].message.contains("the sheet's edge"),
        "{}",
        found[0].message
    );
}

#[test]
fn blanks_are_compared_with_the_measured_inside() {
    let sized = |w: &'static str, l: &'static str| {
        move |s: String| {
            s.replace(
                "[\"28 mm\", \"92 mm\"]",
                &format!("[\"{w} mm\", \"{l} mm\"]"),
            )
        }
    };
    let three = [
        "blank-does-not-fit A1",
        "blank-does-not-fit A2",
        "blank-does-not-fit A3",
    ];
    check_with(&outlines(false), sized("27.3", "91.4"), true, &[]);
    let found = check_with(&outlines(false), sized("28.5", "92"), true, &three);
    assert!(
        found[0].message.contains("0.5 mm too large to go in"),
        "{}",
        found[0].message
    );
    let found = check_with(&outlines(false), sized("28", "90"), true, &three);
    let m = found[0].measured.as_ref().unwrap();
    assert!((m.value - 2.0).abs() < 0.01 && m.limit == 1.0, "{m:?}");
    let found = check_with(
        &outlines(false),
        |s| sized("92", "28")(s).replace("body = \"64", "body = \"20"),
        true,
        &three,
    );
    assert!(found[0].help.contains("exchanged"), "{}", found[0].help);
    // A thumb notch in both long sides makes the box wider and the fit no looser.
    let notched = outlines(false).replace(
        "<rect x='92' y='88' width='28' height='92' rx='4' ",
        "<path d='M92 88 h28 v38 a8 8 0 0 1 0 16 v38 h-28 v-38 a8 8 0 0 1 0 -16 z' ",
    );
    check_with(&notched, sized("28", "92"), true, &[]);
}

#[test]
fn an_even_pocket_needs_a_mark() {
    let first = "<path d='M32 84 l4 0 l-2 -3 z'";
    let without = |with: &str| outlines(false).replace(first, with);
    // Nothing near: the arrow of A2 does not count for A1.
    check(
        &without("<path d='M280 20 l4 0 l-2 -3 z'"),
        true,
        &["no-loading-mark A1"],
    );
    // Two marks that swap places with a half turn show nothing.
    check(
        &without("<path d='M32 84 l4 0 l-2 -3 z M32 184 l4 0 l-2 3 z'"),
        true,
        &["no-loading-mark A1"],
    );
    // A mark inside, off the middle, shows it.
    check(&without("<path d='M32 100 l4 0 l-2 -3 z'"), true, &[]);
    // A pocket that is not even needs none.
    let uneven = without("<path d='M280 20 l4 0 l-2 -3 z'").replace(
        "<rect x='20' y='88' width='28' height='92' rx='4' ",
        "<path d='M20 88 h14 l14 14 v78 h-28 z' ",
    );
    check(&uneven, true, &[]);
}

#[test]
fn lines_beyond_the_bed_hold() {
    let sheet = outlines(false).replace("<rect x='5' y='70'", "<rect x='-2' y='70'");
    let found = check(&sheet, false, &["outside-bed"]);
    assert!(
        found[0].message.contains("2 mm past the left edge"),
        "{}",
        found[0].message
    );
}

#[test]
fn waivers_excuse_at_enrolment_and_are_not_called_unused_in_runs() {
    let waiver = "[[waiver]]\nrule = \"no-loading-mark\"\npocket = \"A1\"\nreason = \"the hole shows it\"\nuntil = \"2999-01-01\"";
    let drawing = page(&outlines(false).replace("M32 84 l4", "M280 20 l4"));
    let tags = Tags::unlocked(&drawing, waiver);
    match enrol(tags.folder.path(), false, &asked()).unwrap() {
        Enrolled::Locked { cautions, .. } => {
            assert!(
                cautions
                    .unwrap()
                    .findings
                    .iter()
                    .all(|f| f.waived.is_some())
            );
        }
        other => panic!("{other:?}"),
    }
    let path = tags.write(
        "run.svg",
        page(&tags::names(["Ada", "Bo", "Cy"])).as_bytes(),
    );
    let run = jigwarden::tested::inspect::inspect(&path, &asked(), |_, _| ()).0;
    assert_eq!(brief(&run), ["fixture-absent"]);
}
