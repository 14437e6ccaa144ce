//! `written-over`: names on names are held, and what is laid on each other on purpose is not.

use super::common::dialects::dialects;
use super::common::run::{Name, RunFile};
use super::common::tags::{BURN, SCORE, Tags, lettering, middle, names, of, outlined};
use super::common::{asked, fixture, inspect_bytes};
use jigwarden::tested::finding::Severity;
use jigwarden::tested::report::{Run, Verdict};

/// Lettering about the middle of A1's zone, `dx` and `dy` off it.
fn live(text: &str, size: f64, dx: f64, dy: f64) -> String {
    lettering(0, text, size, &format!("translate({dx} {dy})"))
}

/// The same, outlined.
fn drawn(text: &str, size: f64, dx: f64, dy: f64) -> String {
    outlined(0, text, size, &format!("translate({dx} {dy})"))
}

/// Outlined in a face that nobody has: a face at hand, made wider and slanted.
fn foreign(text: &str, size: f64, dx: f64, dy: f64) -> String {
    outlined(
        0,
        text,
        size,
        &format!("translate({dx} {dy}) skewX(-9) scale(1.2 1)"),
    )
}

/// Each letter in its own element, `tight` of its advance from the one before.
fn joined(text: &str, size: f64, tight: f64) -> String {
    let count = text.chars().count() as f64;
    text.chars()
        .enumerate()
        .map(|(i, c)| {
            let at = (i as f64 - (count - 1.0) / 2.0) * size * tight;
            outlined(0, &c.to_string(), size, &format!("translate({at} 0)"))
        })
        .collect()
}

/// Text round a circle, along its back and along its front, and more in the middle.
fn badge(back: &str, front: &str, inside: &str) -> String {
    let (x, y) = middle(0);
    let arc = |id: &str, from: f64, sweep: u8, text: &str| {
        format!(
            "<path id='{id}' fill='none' stroke='none' d='M{} {y}A{r} {r} 0 0 {sweep} {} {y}'/><text font-family='Ubuntu' font-weight='300' font-size='3' text-anchor='middle' fill='{BURN}'><textPath xlink:href='#{id}' startOffset='50%'>{text}</textPath></text>",
            x - from,
            x + from,
            r = from.abs()
        )
    };
    format!(
        "{}{}{}",
        arc("back", 8.0, 1, back),
        arc("front", 9.5, 0, front),
        live(inside, 4.0, 0.0, 0.0)
    )
}

fn sound() -> Vec<(&'static str, String)> {
    let mut all: Vec<(&'static str, String)> = Vec::new();
    for (dy, size) in [(4.0, 3.0), (4.5, 3.5), (5.0, 4.0), (6.0, 4.0)] {
        all.push((
            "date under name",
            live("Peggy", 5.0, 0.0, 0.0) + &live("14 May", size, 0.0, dy),
        ));
        all.push((
            "outlined date under name",
            drawn("Peggy", 5.0, 0.0, 0.0) + &drawn("14 May", size, 0.0, dy),
        ));
        all.push((
            "outlined date under a live name",
            live("Jolly", 5.0, 0.0, 0.0) + &drawn("Lot 27", size, 0.0, dy),
        ));
        all.push((
            "in a face that nobody has",
            foreign("Peggy", 4.5, 0.0, 0.0) + &foreign("Lot 27", size, 0.0, dy),
        ));
    }
    for by in [0.25, 0.5, 1.0] {
        all.push((
            "shadow",
            live("Oskar", 6.0, by, by) + &live("Oskar", 6.0, 0.0, 0.0),
        ));
        all.push((
            "outlined shadow",
            drawn("Oskar", 6.0, by, by) + &drawn("Oskar", 6.0, 0.0, 0.0),
        ));
        all.push((
            "foreign shadow",
            foreign("Oskar", 5.0, by, by) + &foreign("Oskar", 5.0, 0.0, 0.0),
        ));
    }
    let round = |art: String| {
        art.replace(
            &format!("fill='{BURN}'"),
            &format!("fill='none' stroke='{SCORE}' stroke-width='0.3'"),
        )
    };
    all.push((
        "line round live letters",
        live("Oskar", 6.0, 0.0, 0.0) + &round(live("Oskar", 6.0, 0.0, 0.0)),
    ));
    all.push((
        "line round outlined letters",
        drawn("Oskar", 6.0, 0.0, 0.0)
            + &round(drawn("Oskar", 6.0, 0.0, 0.0)).replace("'0.3'", "'60'"),
    ));
    all.push((
        "line round live, drawn outlined",
        live("Oskar", 6.0, 0.0, 0.0)
            + &round(drawn("Oskar", 6.0, 0.0, 0.0)).replace("'0.3'", "'60'"),
    ));
    for (a, b, by) in [("A", "M", 1.5), ("J", "K", 1.8), ("B", "O", 2.0)] {
        all.push((
            "monogram",
            live(a, 12.0, -by, 0.0) + &live(b, 12.0, by, 0.0),
        ));
        all.push((
            "outlined monogram",
            drawn(a, 12.0, -by, 0.0) + &drawn(b, 12.0, by, 0.0),
        ));
    }
    for (initial, name) in [("S", "Sorrel"), ("B", "Borage"), ("25", "years on")] {
        all.push((
            "an initial behind a name",
            live(initial, 18.0, 0.0, 0.0) + &live(name, 4.0, 0.0, 0.0),
        ));
    }
    for (back, front, inside) in [
        ("At the Weir", "since long ago", "Ida"),
        ("Osier Lane", "number nine", "Jo"),
        ("Mallow", "Linden", "Tansy"),
    ] {
        all.push(("round a badge", badge(back, front, inside)));
    }
    for tight in [0.5, 0.42, 0.38] {
        all.push(("letters that overlap", joined("Tansy", 5.0, tight)));
    }
    // As in script, where a letter lies on the last one by most of its own width.
    for (word, tight) in [("mai", 0.27), ("thi", 0.24), ("ARNETTE", 0.27)] {
        all.push(("letters of one word", joined(word, 5.0, tight)));
    }
    all.push((
        "three lines",
        live("Anna", 4.0, 0.0, -4.2) + &live("and", 4.0, 0.0, 0.0) + &live("Ben", 4.0, 0.0, 4.2),
    ));
    all.push((
        "side by side",
        live("Anna", 4.0, -5.5, 0.0) + &live("Ben", 4.0, 5.5, 0.0),
    ));
    let (x, y) = middle(0);
    all.push((
        "a flourish below",
        live("Peggy", 5.0, 0.0, 0.0)
            + &format!(
                "<path fill='none' stroke='{BURN}' stroke-width='0.4' d='M{} {}q8 -3 10 1t10 -1'/>",
                x - 10.0,
                y + 3.0
            ),
    ));
    all.push(("a frame", live("Peggy", 5.0, 0.0, 0.0) + &format!("<rect x='{}' y='{}' width='20' height='10' fill='none' stroke='{BURN}' stroke-width='0.4'/>", x - 10.0, y - 5.0)));
    all
}

fn overwritten() -> Vec<(&'static str, String)> {
    let mut all: Vec<(&'static str, String)> = Vec::new();
    let pairs = [
        ("Anna", "Oskar"),
        ("Tansy", "Borage"),
        ("Ben", "Linden"),
        ("Gwen", "Dave"),
        ("14 May", "Sorrel"),
        ("Lot 27", "Lot 28"),
    ];
    let places = [(0.0, 0.0), (2.0, 1.0), (-3.0, -0.6)];
    for (old, new) in pairs {
        for (dx, dy) in places {
            all.push((
                "live on live",
                live(old, 5.0, dx, dy) + &live(new, 5.0, 0.0, 0.0),
            ));
            all.push((
                "outlined on outlined",
                drawn(old, 5.0, dx, dy) + &drawn(new, 5.0, 0.0, 0.0),
            ));
            all.push((
                "live on outlined",
                drawn(old, 5.0, dx, dy) + &live(new, 5.0, 0.0, 0.0),
            ));
            all.push((
                "outlined on live",
                live(old, 5.0, dx, dy) + &drawn(new, 5.0, 0.0, 0.0),
            ));
            all.push((
                "in a face that nobody has",
                foreign(old, 4.6, dx, dy) + &foreign(new, 4.6, 0.0, 0.0),
            ));
        }
        all.push((
            "in another size",
            live(old, 7.0, 0.0, 0.0) + &live(new, 4.0, 0.0, 0.0),
        ));
    }
    for (old, new) in [("A", "B"), ("7", "4"), ("Bo", "Al"), ("Ty", "Ro")] {
        all.push((
            "initials, or short names",
            live(old, 8.0, 0.0, 0.0) + &live(new, 8.0, 0.0, 0.0),
        ));
        all.push((
            "outlined initials, or short names",
            drawn(old, 8.0, 0.3, 0.2) + &drawn(new, 8.0, 0.0, 0.0),
        ));
    }
    all.push((
        "a letter on a name",
        live("B", 5.0, 0.0, 0.0) + &live("Oskar", 5.0, 0.0, 0.0),
    ));
    for (word, tight) in [("Alma", 0.3), ("Milo", 0.25)] {
        all.push((
            "a large name, of which two letters make a row",
            joined(word, 8.0, tight) + &drawn("Ida", 2.4, -2.0, -2.0),
        ));
    }
    for draw in [live, drawn, foreign] {
        all.push((
            "a copy pasted beside the first",
            draw("Oskar", 5.0, 2.6, 2.6) + &draw("Oskar", 5.0, 0.0, 0.0),
        ));
    }
    all
}

fn told(run: &Run) -> Vec<String> {
    run.findings
        .iter()
        .map(|f| {
            format!(
                "{} {}: {}",
                f.rule,
                f.pocket.as_deref().unwrap_or("-"),
                f.message
            )
        })
        .collect()
}

#[test]
fn what_is_laid_on_each_other_on_purpose_is_clear() {
    let tags = Tags::new("");
    let designs = sound();
    assert!(designs.len() >= 40, "{}", designs.len());
    let mut wrong = Vec::new();
    for (what, art) in &designs {
        let run = tags
            .run(&(art.clone() + &lettering(1, "Ida", 5.0, "") + &lettering(2, "Rue", 5.0, "")));
        if run.verdict != Verdict::Clear || !of(&run, "written-over").is_empty() {
            wrong.push(format!("{what}: {:?} {:?}\n{art}", told(&run), run.trouble));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {}: {wrong:#?}",
        wrong.len(),
        designs.len()
    );
}

#[test]
fn a_name_on_a_name_is_held() {
    let tags = Tags::new("");
    let designs = overwritten();
    assert!(designs.len() >= 40, "{}", designs.len());
    let mut wrong = Vec::new();
    for (what, art) in &designs {
        let run = tags
            .run(&(art.clone() + &lettering(1, "Ida", 5.0, "") + &lettering(2, "Rue", 5.0, "")));
        let found = of(&run, "written-over");
        let held = matches!(found.as_slice(), [one] if one.severity == Severity::Hold && one.pocket.as_deref() == Some("A1"));
        if !held {
            wrong.push(format!("{what}: {:?} {:?}\n{art}", told(&run), run.trouble));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {}: {wrong:#?}",
        wrong.len(),
        designs.len()
    );
}

/// Two initials on one spot in every pocket may be a design of two letters: a person must look.
#[test]
fn initials_on_one_spot_everywhere_ask_for_a_look() {
    let tags = Tags::new("");
    let pair = |n: usize, text: [&str; 2]| {
        lettering(n, text[0], 8.0, "") + &lettering(n, text[1], 8.0, "")
    };
    let everywhere = pair(0, ["A", "B"]) + &pair(1, ["C", "K"]) + &pair(2, ["E", "P"]);
    for art in [everywhere, pair(0, ["A", "B"])] {
        let run = tags.run(&art);
        let found = of(&run, "written-over");
        assert!(!found.is_empty(), "{:?}", told(&run));
        assert!(
            found.iter().all(|f| f.severity == Severity::Caution),
            "{:?}",
            told(&run)
        );
    }
}

/// The words of a message are those of the file, with their spaces.
#[test]
fn a_name_of_two_words_is_called_as_it_is_written() {
    let run = Tags::new("").run(&(live("Ada", 8.0, 0.0, 0.0) + &live("Old Moss", 8.0, 0.0, 1.0)));
    let message = &of(&run, "written-over")[0].message;
    assert!(message.contains("\"Old Moss\""), "{message}");
}

#[test]
fn every_dialect_tells_a_forgotten_name_from_a_date() {
    let asked = asked(&fixture("hive-tags"));
    let add = |text: &'static str, dy: f64, size: f64| {
        let mut run = RunFile::clear();
        let own = run.name("B2").clone();
        run.names.push(Name {
            text,
            y: own.y + dy,
            size,
            ..own
        });
        run
    };
    for (run, rules) in [
        (add("Sage", 0.4, 5.0), vec!["written-over B2"]),
        (add("14 May", 5.5, 5.0), vec![]),
    ] {
        for (file, name, bytes) in dialects(&run) {
            let is = inspect_bytes(&bytes, file, &asked);
            let found: Vec<String> = is
                .findings
                .iter()
                .filter(|f| f.severity != Severity::Note)
                .map(|f| format!("{} {}", f.rule, f.pocket.as_deref().unwrap_or("-")))
                .collect();
            assert_eq!(found, rules, "{name}: {:?} {:?}", told(&is), is.trouble);
        }
    }
}

#[test]
fn art_that_covers_letters_asks_for_a_look() {
    let tags = Tags::new("");
    let (x, y) = middle(0);
    let shape = |w: f64| {
        format!(
            "<path fill='{BURN}' d='M{} {}h{w}v3h-{w}z'/>",
            x - w / 2.0,
            y - 1.5
        )
    };
    let rest = lettering(1, "Ida", 5.0, "") + &lettering(2, "Rue", 5.0, "");
    // Over the letters or under them, a broad bar burns most of them twice; a short one does not.
    for art in [
        shape(12.0) + &live("Oskar", 5.0, 0.0, 0.0),
        live("Oskar", 5.0, 0.0, 0.0) + &shape(12.0),
    ] {
        let run = tags.run(&(art + &rest));
        let found = of(&run, "written-over");
        assert!(
            matches!(found.as_slice(), [one] if one.severity == Severity::Caution),
            "{:?}",
            told(&run)
        );
    }
    let run = tags.run(&(shape(1.0) + &live("Oskar", 5.0, 0.0, 0.0) + &rest));
    assert!(of(&run, "written-over").is_empty(), "{:?}", told(&run));
    // Plain names are no art.
    assert!(of(&tags.run(&names(["Anna", "Ben", "Cleo"])), "written-over").is_empty());
}

#[test]
fn a_name_on_a_name_is_held_however_much_art_lies_beside() {
    let tags = Tags::new("");
    let (x, y) = middle(0);
    let specks = |count: usize| -> Vec<String> {
        (0..count)
            .map(|i| {
                let (column, row) = (i % 50, i / 50);
                let at = (x - 8.0 + 0.32 * column as f64, y + 8.0 + 0.4 * row as f64);
                format!("M{} {}h.2v.2h-.2z", at.0, at.1)
            })
            .collect()
    };
    let apart = |count| -> String {
        let one = |d: &String| format!("<path fill='{BURN}' d='{d}'/>");
        specks(count).iter().map(one).collect()
    };
    let joined = |count| format!("<path fill='{BURN}' d='{}'/>", specks(count).concat());
    for beside in [apart(450), joined(450), apart(1_200)] {
        for (under, over) in [
            (live("Oskar", 5.0, 0.0, 0.0), live("Ingrid", 5.0, 0.0, 0.0)),
            (drawn("Oskar", 5.0, 0.0, 0.0), live("Ingrid", 5.0, 0.0, 0.0)),
            (
                drawn("Oskar", 5.0, 0.0, 0.0),
                drawn("Ingrid", 5.0, 0.0, 0.0),
            ),
        ] {
            let run = tags.run(&(under + &beside + &over));
            assert!(!of(&run, "written-over").is_empty(), "{:?}", told(&run));
            let run = tags.run(&(over + &beside));
            assert!(of(&run, "written-over").is_empty(), "{:?}", told(&run));
        }
    }
    // Of more outlines than are read back, those about live lettering are still looked at.
    for beside in [apart(2_100), joined(2_100)] {
        let both = drawn("Oskar", 5.0, 0.0, 0.0) + &beside + &live("Ingrid", 5.0, 0.0, 0.0);
        let run = tags.run(&both);
        assert!(!of(&run, "written-over").is_empty(), "{:?}", told(&run));
    }
}

/// Outlines of which nothing says that they are letters: what `foreign` draws of two letters, or of few kinds.
#[test]
fn rows_of_outlines_on_each_other_that_may_be_names_ask_for_a_look() {
    let tags = Tags::new("");
    let rest = lettering(1, "Ida", 5.0, "") + &lettering(2, "Rue", 5.0, "");
    for (old, new) in [
        ("Ulla", "Jo"),
        ("Illi", "Al"),
        ("Jo", "Wendel"),
        ("illil", "Tilde"),
    ] {
        for (dx, dy) in [(0.0, 0.0), (0.8, 0.5)] {
            for art in [
                foreign(old, 4.6, dx, dy) + &foreign(new, 4.6, 0.0, 0.0),
                foreign(new, 4.6, 0.0, 0.0) + &foreign(old, 4.6, dx, dy),
            ] {
                let run = tags.run(&(art.clone() + &rest));
                let found = of(&run, "written-over");
                assert!(
                    matches!(found.as_slice(), [one] if one.pocket.as_deref() == Some("A1")),
                    "{old} {new}: {:?}\n{art}",
                    told(&run)
                );
            }
        }
    }
    // A pattern under a name, small or of one shape, is none; nor is a line round each letter.
    let (x, y) = middle(0);
    let dots = |w: f64, h: f64, step: f64| -> String {
        let place = |i: usize| {
            (
                x - 9.0 + step * (i % 10) as f64,
                y - 3.0 + 2.0 * (i / 10) as f64,
            )
        };
        let dot = |i: usize| {
            let (x, y) = place(i);
            format!("M{x} {y}h{w}v{h}h-{w}z")
        };
        format!(
            "<path fill='{SCORE}' d='{}'/>",
            (0..40).map(dot).collect::<String>()
        )
    };
    for ground in [dots(0.5, 0.5, 1.8), dots(1.4, 1.7, 1.8)] {
        let run = tags.run(&(ground + &foreign("Wendel", 4.6, 0.0, 0.0) + &rest));
        assert!(of(&run, "written-over").is_empty(), "{:?}", told(&run));
    }
}

/// Lines round letters that are set so near that the lines cross.
#[test]
fn lines_round_letters_that_cross_each_other_are_no_other_name() {
    let tags = Tags::new("");
    for tight in [0.5, 0.42] {
        let name = joined("Tansy", 6.0, tight);
        let round = name.replace(
            &format!("fill='{BURN}'"),
            &format!("fill='none' stroke='{SCORE}' stroke-width='60'"),
        );
        let run = tags.run(&(name + &round));
        assert!(
            of(&run, "written-over").is_empty(),
            "{tight}: {:?}",
            told(&run)
        );
    }
}

/// Names on each other in a pocket of more outlines than are searched are not found, and that is said.
#[test]
fn a_pocket_that_is_too_rich_to_be_searched_is_named() {
    let tags = Tags::new("");
    let (x, y) = middle(0);
    let speck = |i: usize| {
        let at = (
            x - 8.0 + 0.32 * (i % 50) as f64,
            y + 8.0 + 0.3 * (i / 50) as f64,
        );
        format!("M{} {}h.2v.2h-.2z", at.0, at.1)
    };
    let specks: String = (0..2_100).map(speck).collect();
    let rich = format!("<path fill='{BURN}' d='{specks}'/>");
    let names = drawn("Oskar", 5.0, 0.0, 0.0) + &drawn("Ingrid", 5.0, 0.0, 0.0);
    let run = tags.run(&(names + &rich + &lettering(1, "Ida", 5.0, "")));
    let found = of(&run, "written-over");
    assert!(
        matches!(found.as_slice(), [one] if one.severity == Severity::Caution
            && one.pocket.as_deref() == Some("A1")
            && one.message.contains("was not searched for names on each other")),
        "{:?}",
        told(&run)
    );
}
