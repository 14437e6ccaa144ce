//! Lettering past its zone: which letters, which side, how far, and the size that fits.

use crate::common::tags;

use jigwarden::tested::finding::Finding;
use jigwarden::tested::mend::{Wanted, mend};
use jigwarden::tested::report::Verdict;
use tags::{BURN, Tags, lettering, middle, of};

/// The one `past-zone` finding of a run with this art, if any. The zone is 24 mm wide and 60 long.
fn past(tags: &Tags, art: &str) -> Option<Finding> {
    let run = tags.run(art);
    let found = of(&run, "past-zone");
    assert!(found.len() < 2, "{run:?}");
    found.first().map(|f| (*f).clone())
}

/// The number before " %" that follows `after`.
fn percent(help: &str, after: &str) -> f64 {
    let rest = help.split_once(after).unwrap().1;
    let (before, _) = rest.split_once(" %").unwrap();
    before
        .rsplit(|c: char| !c.is_ascii_digit())
        .next()
        .unwrap()
        .parse()
        .unwrap()
}

#[test]
fn the_size_named_fits_and_a_little_more_does_not() {
    let tags = Tags::new("");
    for (name, size) in [("Bartholomew", 6.0), ("Gwendolyn", 9.0), ("Jy", 40.0)] {
        let f = past(&tags, &lettering(1, name, size, "")).unwrap();
        assert!(!f.help.contains("two lines"), "{}", f.help);
        let share = percent(&f.help, "set it at ") / 100.0;
        // In the middle of the zone means the middle of its ink.
        let centred = |scale: f64| {
            let b = f.bed.unwrap();
            let (cx, cy) = (b.center().x, b.center().y);
            let (x, y) = middle(1);
            let move_by = format!("translate({} {})", (x - cx) * scale, (y - cy) * scale);
            lettering(1, name, size, &format!("{move_by} scale({scale})"))
        };
        assert_eq!(past(&tags, &centred(share)), None, "{name} {}", f.help);
        let more = past(&tags, &centred(share + 0.02));
        assert!(more.is_some(), "{name} {}", f.help);
    }
}

#[test]
fn sides_and_letters_are_named() {
    let tags = Tags::new("");
    // Started in the middle of the zone: only the end of the word is past.
    let f = past(&tags, &lettering(1, "Barbara", 6.0, "translate(6 0)")).unwrap();
    assert!(f.message.starts_with("\"Barbara\" runs "), "{}", f.message);
    assert!(
        f.message.contains("past the right edge of its zone"),
        "{}",
        f.message
    );
    assert!(f.message.ends_with("(its letters \"ra\")"), "{}", f.message);
    assert!(
        f.help.contains("small enough: move it") && f.help.contains("to the left"),
        "{}",
        f.help
    );
    let m = f.measured.unwrap();
    assert!(m.value > 1.0 && m.value < 6.0, "{m:?}");

    // The tail of a y, the accent of an É.
    let low = past(&tags, &lettering(1, "Amy", 6.0, "translate(0 27.5)")).unwrap();
    assert!(
        low.message.contains("front edge") && low.message.ends_with("(its letter \"y\")"),
        "{}",
        low.message
    );
    let high = past(&tags, &lettering(1, "\u{c9}mil", 6.0, "translate(0 -27.6)")).unwrap();
    assert!(
        high.message.contains("back edge") && high.message.contains("\"\u{c9}\""),
        "{}",
        high.message
    );
    // Without the accent the same place is in order.
    assert_eq!(
        past(&tags, &lettering(1, "Emma", 6.0, "translate(0 -27.6)")),
        None
    );
}

/// The letters that a finding names, and the side it names.
fn named(f: &Finding) -> (String, String) {
    let side = f.message.split_once("past the ").unwrap().1;
    let side = side.split_once(" edge").unwrap().0.to_owned();
    let letters = f.message.split('"').skip(3).step_by(2).collect();
    (side, letters)
}

/// Of a name too long for its zone, the letters named are those on the side that is named, however
/// the name lies.
#[test]
fn the_letters_named_are_those_on_the_side_that_is_named() {
    let tags = Tags::new("");
    for (more, ends) in [
        ("translate(1 0)", [("left", "B"), ("right", "w")]),
        ("translate(-1 0)", [("left", "B"), ("right", "w")]),
        (
            "translate(1 0) rotate(180)",
            [("left", "w"), ("right", "B")],
        ),
        (
            "translate(-1 0) rotate(180)",
            [("left", "w"), ("right", "B")],
        ),
        (
            "translate(1 0) scale(-1 1)",
            [("left", "w"), ("right", "B")],
        ),
        (
            "translate(-1 0) scale(-1 1)",
            [("left", "w"), ("right", "B")],
        ),
        (
            "translate(0 1) rotate(90) scale(2.3)",
            [("back", "B"), ("front", "w")],
        ),
        (
            "translate(0 -1) rotate(-90) scale(2.3)",
            [("back", "w"), ("front", "B")],
        ),
    ] {
        let f = past(&tags, &lettering(1, "Bartholomew", 6.0, more)).unwrap();
        let (side, letters) = named(&f);
        let (_, end) = ends.iter().find(|(s, _)| *s == side).unwrap();
        let (_, other) = ends.iter().find(|(s, _)| *s != side).unwrap();
        assert!(letters.contains(end), "{more}: {}", f.message);
        assert!(!letters.contains(other), "{more}: {}", f.message);
    }
}

#[test]
fn the_width_of_the_line_counts() {
    let tags = Tags::new("");
    let (x, y) = middle(1);
    let with = |stroke: f64| {
        format!(
            "<text x='{}' y='{y}' font-family='Ubuntu' font-weight='300' font-size='6' fill='none' stroke='{BURN}' stroke-width='{stroke}'>Hal</text>",
            x - 12.4
        )
    };
    assert_eq!(past(&tags, &with(0.1)), None);
    let f = past(&tags, &with(2.0)).unwrap();
    assert!(
        f.message.contains("left edge") && f.message.contains("\"H\""),
        "{}",
        f.message
    );
}

#[test]
fn two_lines_are_suggested_where_they_leave_it_larger() {
    let tags = Tags::new("[lettering]\nsmallest = \"2 mm\"");
    let f = past(&tags, &lettering(1, "Ann Maria Fox", 6.0, "")).unwrap();
    assert!(
        f.help
            .contains("or on two lines, \"Ann\" and \"Maria Fox\"")
            || f.help
                .contains("or on two lines, \"Ann Maria\" and \"Fox\""),
        "{}",
        f.help
    );
    let one = percent(&f.help, "set it at ");
    let rest = f.help.split_once("two lines").unwrap().1;
    let two = if rest.contains("present size") {
        100.0
    } else {
        percent(rest, " at ")
    };
    assert!(two > one, "{}", f.help);
    // As suggested, with the line height of the suggestion.
    let words: Vec<&str> = rest.split('"').collect();
    let size = 6.0 * two / 100.0;
    let art = lettering(1, words[1], size, &format!("translate(0 {})", -0.6 * size))
        + &lettering(1, words[3], size, &format!("translate(0 {})", 0.6 * size));
    assert_eq!(past(&tags, &art), None, "{}", f.help);
    // Along the blank there is length, and height is short: a break would only make it smaller.
    let along = Tags::new("tops = \"head-left\"");
    let long = past(&along, &lettering(1, "Ann Fox", 20.0, "rotate(-90)")).unwrap();
    assert!(!long.help.contains("two lines"), "{}", long.help);
}

#[test]
fn a_name_that_would_be_too_small_on_one_line_is_set_on_two() {
    let mend_run = |tags: &Tags, art: &str| {
        let body = tags::outlines(true) + art;
        let path = tags.write("run.svg", tags::page(&body).as_bytes());
        mend(&path, &tags::asked(), &Wanted::default()).unwrap()
    };
    let rest = lettering(0, "Ida", 5.0, "") + &lettering(2, "Rue", 5.0, "");
    let tags = Tags::new("");
    // Started at its left, in the middle and at its right; in a group that is turned and scaled, under a
    // style, in a half turn of the zone, and with a sign that XML must escape.
    let (x, y) = middle(1);
    let face = "font-family='Ubuntu' font-weight='300'";
    let whole = lettering(1, "Ann Maria Fox", 6.0, "");
    for art in [
        whole.clone(),
        lettering(1, "Ann Maria Fox", 6.0, "translate(-19 0)").replace("'middle'", "'start'"),
        lettering(1, "Ann Maria Fox", 6.0, "translate(19 0)").replace("'middle'", "'end'"),
        format!(
            "<g transform='rotate(30) scale(.5)'><g transform='scale(2) rotate(-30)'>{}</g></g>",
            whole.replace("font-size='6'", "style='font-size:6px;letter-spacing:.1px'")
        ),
        whole.replace("Fox", "F&amp;x"),
        format!(
            "<text x='{x}' y='{y}' {face} font-size='6' text-anchor='middle' fill='{BURN}'>Ann Maria Fox</text>"
        ),
    ] {
        let is = mend_run(&tags, &(art.clone() + &rest));
        assert_eq!(
            is.after.verdict,
            Verdict::Clear,
            "{art}\n{:?}",
            is.after.findings
        );
        assert!(is.after.findings.is_empty(), "{:?}", is.after.findings);
        assert!(
            is.done[0].says.starts_with("set it on two lines, \"Ann"),
            "{:?}",
            is.done
        );
        assert_eq!(is.text.matches("<tspan").count(), 2, "{}", is.text);
        assert!(is.text.contains(&rest), "{}", is.text);
    }
    // On one line it would keep to `[lettering]`, and be smaller than letters may be.
    let fine = Tags::new("[lettering]\nsmallest = \"2 mm\"");
    let small = whole.replace("Ann Maria Fox", "ann marian fox");
    let is = mend_run(&fine, &(small + &rest));
    assert!(is.after.findings.is_empty(), "{:?}", is.after.findings);
    assert_eq!(is.text.matches("<tspan").count(), 2, "{}", is.text);
    // Where letters are placed one by one, or one line is all that is allowed, it is left.
    let placed = whole.replace("<text y", "<text dx='0 .1' y");
    let one_line = Tags::new("[lettering]\nlines = 1");
    for (tags, art) in [(&tags, &placed), (&one_line, &whole)] {
        let is = mend_run(tags, &(art.clone() + &rest));
        assert!(!is.text.contains("<tspan"), "{}", is.text);
    }
    let said = &of(&mend_run(&one_line, &(whole + &rest)).before, "past-zone")[0]
        .help
        .clone();
    assert!(!said.contains("two lines"), "{said}");
}
