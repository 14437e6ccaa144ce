//! Outlined lettering: the way up that its letters show.

use super::*;

#[test]
fn outlined_lettering_in_a_face_at_hand_says_its_way() {
    let tags = Tags::new("");
    let three = |transform: &str| {
        outlined(0, "Margaret", 5.0, "")
            + &outlined(1, "Jacob", 5.0, transform)
            + &outlined(2, "Stefan", 5.0, "")
    };
    expect(&tags.run(&three("")), Clear, &[]);
    for (transform, rule) in [
        ("rotate(180)", "upside-down"),
        ("rotate(90)", "upside-down"),
        ("scale(-1 1)", "mirrored"),
    ] {
        let run = tags.run(&three(transform));
        let found = of(&run, rule);
        // Letter by letter they are marks of their own; said once.
        assert_eq!((run.verdict, found.len()), (Hold, 1), "{transform} {run:?}");
        assert_eq!(found[0].pocket.as_deref(), Some("A2"));
        assert!(
            found[0].message.contains("read back"),
            "{}",
            found[0].message
        );
    }
}

#[test]
fn two_letters_of_a_face_at_hand_among_unread_ones_are_chance() {
    let tags = Tags::new("");
    // An unseen face whose l is the mirrored J of one that is at hand: "alle", with nothing amiss.
    let beside = |n: usize| {
        let (x, y) = tags::middle(n);
        let foot = |at: f64, d: &str| {
            format!(
                "<path transform='translate({} {y}) scale(.6)' d='{d}' fill='{BURN}'/>",
                x + at
            )
        };
        foot(-6.0, "M0 3 v-3 h3 v-1.6 h-3 v-1.4 h4 v6 z")
            + &foot(3.4, "M0 3 v-6 h4 v1 h-3 v1.4 h2 v1 h-2 v1.6 h3 v1 z")
    };
    let run = tags.run(&(outlined(0, "JJ", 5.0, "scale(-1 1)") + &beside(0)));
    let held: Vec<_> = run
        .findings
        .iter()
        .filter(|f| ["upside-down", "mirrored", "tilted"].contains(&f.rule))
        .collect();
    assert!(held.is_empty(), "{held:?}");
    // By themselves they may be a hook and its like; where the run has more of the face, they are a word.
    let alone = tags.run(&outlined(0, "JJ", 5.0, "scale(-1 1)"));
    expect(
        &alone,
        Clear,
        &["way-up-unknown A1", "pocket-bare A2", "pocket-bare A3"],
    );
    let more = outlined(0, "JJ", 5.0, "scale(-1 1)") + &outlined(1, "Stefan", 5.0, "");
    let run = tags.run(&more);
    assert_eq!(of(&run, "mirrored").len(), 1, "{run:?}");
    assert_eq!(of(&run, "mirrored")[0].pocket.as_deref(), Some("A1"));
}

#[test]
fn the_name_whose_letters_are_its_siblings_turned_is_found() {
    let tags = Tags::new("");
    for (transform, rule) in [
        ("rotate(180)", "upside-down"),
        ("rotate(180) scale(.7)", "upside-down"),
        ("scale(-1 1)", "mirrored"),
    ] {
        for (names, odd) in [
            (["near", "karel", "tekla"], 1),
            (["rae", "katre", "aren"], 0),
            (["arnel", "karel", "era"], 2),
        ] {
            let draw = |n: usize| {
                let transform = if n == odd { transform } else { "" };
                spelt(n, names[n], transform)
            };
            let run = tags.run(&(draw(0) + &draw(1) + &draw(2)));
            let pocket = ["A1", "A2", "A3"][odd];
            let found = of(&run, rule);
            assert_eq!(found.len(), 1, "{transform} {names:?} {run:?}");
            assert_eq!(found[0].pocket.as_deref(), Some(pocket));
            assert!(found[0].message.contains("same letters"), "{:?}", found[0]);
            assert_eq!(
                run.findings
                    .iter()
                    .filter(|f| ["upside-down", "mirrored"].contains(&f.rule))
                    .count(),
                1,
                "{transform} {names:?} {run:?}"
            );
        }
    }
}

#[test]
fn a_letter_that_is_another_one_turned_is_not_upside_down() {
    let tags = Tags::new("");
    for names in [
        ["nera", "nelta", "ural"],
        ["ned", "kanter", "lup"],
        ["lund", "tend", "paul"],
        ["uplup", "ndal", "dent"],
    ] {
        let run =
            tags.run(&(spelt(0, names[0], "") + &spelt(1, names[1], "") + &spelt(2, names[2], "")));
        let held: Vec<_> = run
            .findings
            .iter()
            .filter(|f| ["upside-down", "mirrored", "tilted"].contains(&f.rule))
            .collect();
        assert!(held.is_empty(), "{names:?} {held:?}");
    }
}

/// In a mirror И is N and Я is R, and the other letters of these names are themselves: nobody can tell which
/// of two scripts it is.
#[test]
fn letters_that_are_those_of_another_script_in_a_mirror_are_no_evidence() {
    let tags = Tags::new("");
    // A face that nobody has: wider than the one at hand.
    let wide =
        |n: usize, text: &str, flip: &str| outlined(n, text, 5.0, &format!("scale(1.25 1) {flip}"));
    let held = |run: &jigwarden::tested::report::Run| -> Vec<_> {
        let wrong = ["upside-down", "mirrored"];
        let all = run.findings.iter().filter(|f| wrong.contains(&f.rule));
        all.map(|f| (f.rule, f.pocket.clone())).collect()
    };
    for name in ["НИНА", "ЯНА", "ИННА"] {
        for flip in ["", "scale(-1 1)"] {
            let run = tags.run(&wide(0, name, flip));
            assert_eq!(held(&run), [], "{name} {flip}");
            assert_eq!(of(&run, "way-up-unknown").len(), 1, "{name} {flip} {run:?}");
        }
        let among = wide(0, name, "") + &wide(1, "Margaret", "") + &wide(2, "Stefan", "");
        let run = tags.run(&among);
        assert_eq!(held(&run), [], "{name} {run:?}");
    }
}

/// A face that nobody has: wider than the one at hand. `put` is done to all that the pocket holds.
fn unseen(n: usize, text: &str, put: &str, at: f64, size: f64) -> String {
    outlined(
        n,
        text,
        size,
        &format!("{put} translate(0 {at}) scale(1.25 1)"),
    )
}

/// Shapes drawn as lines.
fn line_of(shapes: &str) -> String {
    format!("<g fill='none' stroke='{BURN}' stroke-width='.3'>{shapes}</g>")
}

/// A frame round a name, and a date under it, do not keep the name from being judged; a date on its head under a
/// name that lies right is not passed over.
#[test]
fn a_name_in_a_frame_or_over_a_date_is_judged_row_by_row() {
    let tags = Tags::new("");
    let names = ["near", "karel", "tekla"];
    let dates = ["1974", "1947", "2734"];
    // A band, a line, a dashed one, two lines, a shield that has an up.
    let frames = [
        format!(
            "<path d='M-9 -3 h18 v6 h-18 z m.3 .3 v5.4 h17.4 v-5.4 z' fill='{BURN}' fill-rule='evenodd'/>"
        ),
        line_of("<rect x='-9' y='-3' width='18' height='6' rx='1'/>"),
        line_of("<rect x='-9' y='-3' width='18' height='6' stroke-dasharray='1 .5'/>"),
        line_of(
            "<rect x='-9' y='-3' width='18' height='6'/><rect x='-8.5' y='-2.5' width='17' height='5'/>",
        ),
        line_of("<path d='M-9 -3 H9 V2 L0 6 L-9 2 Z'/>"),
    ];
    let frame = |n: usize, kind: usize| {
        let (x, y) = tags::middle(n);
        format!("<g transform='translate({x} {y})'>{}</g>", frames[kind])
    };
    let held = |run: &jigwarden::tested::report::Run| -> Vec<_> {
        let wrong = ["upside-down", "mirrored"];
        let all = run.findings.iter().filter(|f| wrong.contains(&f.rule));
        all.map(|f| (f.rule, f.pocket.clone().unwrap_or_default()))
            .collect()
    };
    for (put, rule) in [("rotate(180)", "upside-down"), ("scale(-1 1)", "mirrored")] {
        for kind in 0..frames.len() {
            let framed = |odd: Option<usize>| -> String {
                let one = |n: usize| {
                    let put = if Some(n) == odd { put } else { "" };
                    unseen(n, names[n], put, 0.0, 3.0) + &frame(n, kind)
                };
                (0..3).map(one).collect()
            };
            let run = tags.run(&framed(Some(1)));
            assert_eq!(held(&run), [(rule, "A2".to_owned())], "{kind} {run:?}");
            let sound = tags.run(&framed(None));
            assert_eq!(held(&sound), [], "{kind} {sound:?}");
            assert!(of(&sound, "way-up-unknown").is_empty(), "{kind} {sound:?}");
        }

        let dated = |odd: Option<usize>, all: bool| -> String {
            let one = |n: usize| {
                let turned = |it: bool| if Some(n) == odd && it { put } else { "" };
                let (name, date) = (turned(all), turned(true));
                // Under the name, whichever way the date itself is put.
                let at = if all || !date.starts_with("rotate") {
                    2.0
                } else {
                    -2.0
                };
                unseen(n, names[n], name, -1.0, 3.0) + &unseen(n, dates[n], date, at, 2.0)
            };
            (0..3).map(one).collect()
        };
        let run = tags.run(&dated(Some(1), true));
        assert_eq!(held(&run), [(rule, "A2".to_owned())], "{run:?}");
        assert_eq!(held(&tags.run(&dated(None, true))), []);
        let run = tags.run(&dated(Some(1), false));
        let named = of(&run, "way-up-unknown").iter().any(|f| {
            let all = format!("{:?} {}", f.pocket, f.message);
            all.contains("A2") || all.contains("A1–A3")
        });
        assert!(named || !held(&run).is_empty(), "{put} {run:?}");
    }
}
