//! Which way up: live lettering, pictures, referenced art, siblings; and what nothing decides.

use crate::common::tags;

use jigwarden::tested::report::Verdict::{Clear, Hold, Unread};
use tags::{BURN, Tags, expect, lettering, names, of, outlined, page};

mod beside;
mod hatched;
mod knocked_out;
mod opposed;
mod outlined;
mod put_right;
mod rich;

/// What a run is told of how its art lies: rule and pocket.
fn said_to_lie(run: &jigwarden::tested::report::Run) -> Vec<String> {
    let rules = ["upside-down", "mirrored", "tilted"];
    let said = run.findings.iter().filter(|f| rules.contains(&f.rule));
    said.map(|f| format!("{} {}", f.rule, f.pocket.as_deref().unwrap_or("-")))
        .collect()
}

/// Of three names, the one that `put` turns or flips is told, and no other.
fn the_one_that_lies_wrong_is_told(three: impl Fn(&str) -> String) {
    let tags = Tags::new("");
    assert!(said_to_lie(&tags.run(&three(""))).is_empty());
    for (put, expected) in [
        ("rotate(180)", "upside-down A2"),
        ("scale(-1 1)", "mirrored A2"),
    ] {
        let run = tags.run(&three(put));
        let is = (run.verdict, said_to_lie(&run));
        assert_eq!(is, (Hold, vec![expected.to_owned()]), "{put} {run:?}");
    }
}

/// A flag about the middle of a tag: uneven under every turn and flip.
fn flag(n: usize, transform: &str) -> String {
    let (x, y) = tags::middle(n);
    format!(
        "<path transform='translate({x} {y}) {transform}' d='M-5 -6 h8 v5 h-6 v7 h-2 z' fill='{BURN}'/>"
    )
}

/// A crest of two even parts that only together have an up: a ring above a bar.
fn crest(n: usize, transform: &str) -> String {
    let (x, y) = tags::middle(n);
    format!(
        "<g transform='translate({x} {y}) {transform}' fill='{BURN}'><circle cx='0' cy='-4' r='3'/><rect x='-1' y='2' width='6' height='2'/></g>"
    )
}

const PIXELS: &str = "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAGQAAABkCAAAAABVicqIAAAAN0lEQVR42u3NMQEAAAgDoOW0fxBXwVsoQAIAALwzZxKJRCKRSCQSiUQikUgkEolEIpFIJBKJpBbles61C/JvdwAAAABJRU5ErkJggg==";

/// A slant by a transform leaves the letters upright and the baseline sloping, or the other way round.
#[test]
fn lettering_that_a_transform_slants_is_tilted_and_no_turn_is_offered() {
    let tags = Tags::new("");
    for (slant, way) in [
        ("skewY(5)", "leans 5° clockwise"),
        ("skewY(-5)", "leans 5° anticlockwise"),
        ("skewX(5)", "leans 5° anticlockwise"),
        ("rotate(5) skewX(5)", "leans 5° clockwise"),
    ] {
        let art = names(["Ada", "", "Cyd"]) + &lettering(1, "Bob", 4.0, slant);
        let run = tags.run(&art);
        expect(&run, Clear, &["tilted A2"]);
        let f = &run.findings[0];
        assert!(f.message.contains(way), "{slant}: {}", f.message);
        assert!(f.help.contains("take the slant out of it"), "{}", f.help);
        let remedy = &f.remedy;
        assert!(remedy.ways.is_empty() && remedy.choices.is_empty());
    }
    let art = names(["Ada", "", "Cyd"]) + &lettering(1, "Bob", 4.0, "skewY(0.8)");
    expect(&tags.run(&art), Clear, &[]);
}

/// A line under letters, or over them, has no way up to be wrong, and leans by no number of degrees.
#[test]
fn lines_of_lettering_have_no_way_up() {
    let tags = Tags::new("");
    for lines in ["underline", "underline overline", "line-through"] {
        let art = format!(
            "<g fill='{}' style='text-decoration:{lines}'>{}</g>",
            tags::SCORE,
            lettering(0, "Ada", 5.0, "")
        );
        let run = tags.run(&(art + &lettering(1, "Ben", 5.0, "") + &lettering(2, "Cleo", 5.0, "")));
        expect(&run, Clear, &[]);
        assert!(
            run.findings.iter().all(|f| !f.message.contains("NaN")),
            "{lines}: {run:?}"
        );
    }
}

#[test]
fn live_lettering_says_its_way() {
    let tags = Tags::new("");
    expect(&tags.run(&names(["Ada", "Bo", "Cy"])), Clear, &[]);
    for (transform, rule) in [
        ("rotate(180)", "upside-down A2"),
        ("rotate(90)", "upside-down A2"),
        ("rotate(60)", "upside-down A2"),
        ("scale(-1 1)", "mirrored A2"),
    ] {
        let art = lettering(0, "Ada", 5.0, "")
            + &lettering(1, "Bob", 5.0, transform)
            + &lettering(2, "Cyd", 5.0, "");
        expect(&tags.run(&art), Hold, &[rule]);
    }
    // Flipped top to bottom it is both.
    let art = names(["Ada", "", "Cyd"]) + &lettering(1, "Bob", 5.0, "scale(1 -1)");
    expect(&tags.run(&art), Hold, &["upside-down A2", "mirrored A2"]);
}

#[test]
fn a_small_turn_is_tilted_and_measured() {
    let tags = Tags::new("");
    for (degrees, way) in [
        (1.2, "clockwise"),
        (-3.5, "anticlockwise"),
        (44.0, "clockwise"),
    ] {
        let art =
            names(["Ada", "", "Cyd"]) + &lettering(1, "Bob", 4.0, &format!("rotate({degrees})"));
        let run = tags.run(&art);
        expect(&run, Clear, &["tilted A2"]);
        let f = &run.findings[0];
        let m = f.measured.as_ref().unwrap();
        assert!(
            (m.value - f64::abs(degrees)).abs() < 0.01 && m.limit == 1.0,
            "actual {m:?}, expected {degrees}"
        );
        assert!(f.message.contains(&format!(" {way},")), "{}", f.message);
    }
    let art = names(["Ada", "", "Cyd"]) + &lettering(1, "Bob", 5.0, "rotate(0.8)");
    expect(&tags.run(&art), Clear, &[]);
}

#[test]
fn lettering_along_a_curve_is_judged_by_its_middle() {
    let tags = Tags::new("");
    let arc = |turn: &str| {
        format!(
            "<defs><path id='c' d='M-10 0 A10 10 0 0 1 10 0'/></defs><g transform='translate(70.6 150) {turn}'><text font-family='Ubuntu' font-weight='300' font-size='3.6' fill='{BURN}'><textPath href='#c'>Bartholomew</textPath></text></g>"
        )
    };
    let others = names(["Ada", "", "Cyd"]);
    expect(&tags.run(&(arc("") + &others)), Clear, &[]);
    let run = tags.run(&(arc("rotate(180)") + &others));
    assert_eq!(of(&run, "upside-down").len(), 1, "{run:?}");
}

#[test]
fn one_letter_turned_by_hand_is_found() {
    let tags = Tags::new("");
    let art = names(["Ada", "", "Cyd"])
        + &lettering(1, "Bob", 5.0, "").replace("<text ", "<text rotate='0 180 0' ");
    let run = tags.run(&art);
    assert_eq!(of(&run, "upside-down").len(), 1, "{run:?}");
}

#[test]
fn pictures_have_an_up_and_a_side() {
    let tags = Tags::new("");
    let picture = |transform: &str| {
        format!(
            "<image transform='translate(70 148) {transform}' x='-5' y='-5' width='10' height='10' href='{PIXELS}'/>"
        )
    };
    for (transform, rule) in [
        ("", None),
        ("rotate(180)", Some("upside-down")),
        ("rotate(3)", Some("tilted")),
        ("skewX(3)", Some("tilted")),
        ("skewY(3)", Some("tilted")),
        ("scale(-1 1)", Some("mirrored")),
    ] {
        let run = tags.run(&(picture(transform) + &names(["Ada", "", "Cyd"])));
        let said: Vec<&str> = run
            .findings
            .iter()
            .map(|f| f.rule)
            .filter(|r| ["upside-down", "tilted", "mirrored", "way-up-unknown"].contains(r))
            .collect();
        assert_eq!(said, Vec::from_iter(rule), "{transform} {run:?}");
    }
}

#[test]
fn clear_stock_is_engraved_from_behind() {
    let tags = Tags::new("mirrored = true");
    let behind = |n: usize, name: &str| lettering(n, name, 5.0, "scale(-1 1)");
    let art = behind(0, "Ada") + &behind(1, "Bob") + &behind(2, "Cyd");
    expect(&tags.run(&art), Clear, &[]);
    let art = behind(0, "Ada") + &lettering(1, "Bob", 5.0, "") + &behind(2, "Cyd");
    let run = tags.run(&art);
    expect(&run, Hold, &["mirrored A2"]);
    assert!(run.findings[0].message.contains("is not mirrored"));
}

#[test]
fn outlined_art_that_nothing_decides_is_named_once() {
    let tags = Tags::new("centred = \"free\"");
    let run = tags.run(&(0..3).map(|n| flag(n, "")).collect::<String>());
    expect(&run, Clear, &["way-up-unknown"]);
    assert!(
        run.findings[0].message.contains("A1–A3"),
        "{}",
        run.findings[0].message
    );
    // Even shapes have no way up: a ring, with a bar through its middle.
    let even: String = (0..3)
        .map(|n| {
            let (x, y) = tags::middle(n);
            format!("<circle cx='{x}' cy='{y}' r='4' fill='{BURN}'/><path d='M{} {y} h12' stroke='{BURN}' stroke-width='0.4' fill='none'/>", x - 6.0)
        })
        .collect();
    expect(&tags.run(&even), Clear, &[]);
}

/// Lettering of a face that is not at hand: that of the program, stretched.
fn unseen(n: usize, text: &str, transform: &str) -> String {
    outlined(n, text, 7.0, &format!("{transform} scale(0.8 1)"))
}

fn at_hand(n: usize, text: &str, transform: &str) -> String {
    outlined(n, text, 5.0, transform)
}

#[test]
fn what_reads_again_turned_or_mirrored_decides_nothing_by_itself() {
    let tags = Tags::new("");
    let behind = Tags::new("mirrored = true");
    let count = |run: &jigwarden::tested::report::Run, rules: &[&str]| -> usize {
        rules.iter().map(|r| of(run, r).len()).sum()
    };
    let held = ["upside-down", "mirrored", "tilted"];
    for text in ["1961", "0690", "SOS", "NOON", "pod"] {
        for turn in ["", "rotate(180)"] {
            let run = tags.run(&unseen(0, text, turn));
            assert_eq!(count(&run, &held), 0, "{text} {turn} {run:?}");
            assert_eq!(count(&run, &["way-up-unknown"]), 1, "{text} {turn} {run:?}");
        }
        // A face at hand may tell by a hundredth of a millimetre, but never wrongly.
        let run = tags.run(&at_hand(0, text, ""));
        assert_eq!(count(&run, &held), 0, "{text} {run:?}");
    }
    for text in ["TOM", "MIA", "AVA", "OTTO"] {
        for (tags, right, wrong) in [(&tags, "", "scale(-1 1)"), (&behind, "scale(-1 1)", "")] {
            for draw in [unseen as fn(usize, &str, &str) -> String, at_hand] {
                let run = tags.run(&draw(0, text, right));
                assert_eq!(count(&run, &held), 0, "{text} {right} {run:?}");
                let run = tags.run(&draw(0, text, wrong));
                let said = count(&run, &["mirrored", "way-up-unknown"]);
                assert!(said > 0, "passed over: {text} {wrong} {run:?}");
            }
        }
    }
    // One is the other upside down: two table numbers.
    for (a, b) in [("6", "9"), ("16", "91"), ("66", "99"), ("M", "W")] {
        let run = tags.run(&(unseen(0, a, "") + &unseen(1, b, "")));
        assert_eq!(count(&run, &held), 0, "{a} {b} {run:?}");
    }
}

#[test]
fn of_a_name_that_is_another_in_a_mirror_the_order_list_decides() {
    let tags = Tags::new("");
    let run = |text: &str, transform: &str, list: &str| {
        tags.against(list.as_bytes(), &at_hand(0, text, transform))
    };
    let list = "Name,Pocket\nTOM,A1\n";
    let sound = run("TOM", "", list);
    assert!(of(&sound, "way-up-unknown").is_empty(), "{sound:?}");
    assert!(of(&sound, "mirrored").is_empty(), "{sound:?}");
    let mirrored = run("TOM", "scale(-1 1)", list);
    assert_eq!(of(&mirrored, "mirrored").len(), 1, "{mirrored:?}");
    // Where both are ordered, or it is its own mirror image, nothing decides.
    for (text, list) in [("TOM", "Name\nTOM\nMOT\n"), ("AVA", "Name\nAVA\n")] {
        let open = run(text, "", list);
        assert_eq!(of(&open, "way-up-unknown").len(), 1, "{text} {open:?}");
    }
}

/// Shapes about the middle of a tag, all of one paint.
fn shapes(n: usize, transform: &str, inner: &str) -> String {
    let (x, y) = tags::middle(n);
    format!("<g transform='translate({x} {y}) {transform}' fill='{BURN}'>{inner}</g>")
}

#[test]
fn a_pocket_s_art_is_judged_as_a_whole_and_none_that_could_lie_wrong_is_passed_over() {
    let tags = Tags::new("");
    let disc = "M-9 0 a9 9 0 1 0 18 0 a9 9 0 1 0 -18 0 z";
    let holed = format!("<path fill-rule='evenodd' d='{disc} M3 -0.5 v1 h-1.6 v-1 z'/>");
    let named = format!(
        "<path fill-rule='evenodd' d='{disc} M-3 1 v-2 h0.4 v0.8 h0.6 v0.3 h-0.6 v0.9 z M1 1 v-2 h0.4 v1.7 h0.6 v0.3 z'/>"
    );
    for (what, art) in [
        (
            "a cross of two bars",
            "<rect x='-1' y='-9' width='2' height='18'/><rect x='-5' y='-5' width='10' height='2'/>",
        ),
        (
            "a balloon",
            "<ellipse cx='0' cy='-4' rx='4' ry='5'/><rect x='-0.2' y='1' width='0.4' height='9'/>",
        ),
        (
            "a tree of discs",
            "<circle cx='0' cy='-6' r='2'/><circle cx='0' cy='-2' r='3'/><circle cx='0' cy='4' r='4'/>",
        ),
        (
            "a ring with a speck over it",
            "<circle cx='0' cy='0' r='4'/><circle cx='0' cy='-6' r='0.4'/>",
        ),
        (
            "specks in a triangle",
            "<circle cx='0' cy='-3' r='0.4'/><circle cx='-2' cy='0' r='0.4'/><circle cx='2' cy='0' r='0.4'/>",
        ),
        ("a hole beside the middle of a disc", holed.as_str()),
        ("a name cut out of a disc", named.as_str()),
        (
            "what only a mirror changes",
            "<path d='M-4 -6 h5 v5 h3 v7 h-5 v-5 h-3 z'/>",
        ),
    ] {
        let run = tags.run(&(0..3).map(|n| shapes(n, "", art)).collect::<String>());
        let open = of(&run, "way-up-unknown");
        assert_eq!(open.len(), 1, "{what} {run:?}");
        assert!(
            open[0].message.contains("A1–A3"),
            "{what} {}",
            open[0].message
        );
        assert_eq!(run.verdict, Clear, "{what} {run:?}");
    }
    // One on its head is told by the others.
    let cross =
        "<rect x='-1' y='-9' width='2' height='18'/><rect x='-5' y='-5' width='10' height='2'/>";
    let run = tags
        .run(&(shapes(0, "", cross) + &shapes(1, "rotate(180)", cross) + &shapes(2, "", cross)));
    assert_eq!(
        of(&run, "upside-down")[0].pocket.as_deref(),
        Some("A2"),
        "{run:?}"
    );
}

#[test]
fn a_turn_that_a_shape_s_own_evenness_hides_is_no_evidence() {
    let star = |points: u32, inner: f64| {
        let corners = (0..2 * points).map(|k| {
            let a = std::f64::consts::PI * f64::from(k) / f64::from(points);
            let r = if k % 2 == 0 { 6.0 } else { 6.0 * inner };
            format!("{:.4} {:.4}", r * a.sin(), -r * a.cos())
        });
        format!("<path d='M{}z'/>", corners.collect::<Vec<_>>().join(" L"))
    };
    let ring = "<path fill-rule='evenodd' d='M-6 0 a6 6 0 1 0 12 0 a6 6 0 1 0 -12 0 z M-5 0 a5 5 0 1 0 10 0 a5 5 0 1 0 -10 0 z'/>";
    let dots =
        "<circle cx='-5' cy='0' r='1'/><circle cx='0' cy='0' r='1'/><circle cx='5' cy='0' r='1'/>";
    for head in ["front", "200 deg", "left"] {
        let tags = Tags::new(&format!("[[pocket]]\nnames = [\"A2\"]\nhead = \"{head}\""));
        for art in [
            "<circle cx='0' cy='0' r='5'/>".to_owned(),
            ring.to_owned(),
            dots.to_owned(),
            star(6, 0.5),
            star(8, 0.5),
            star(3, 1.0),
            star(4, 1.0),
            star(10, 0.8),
        ] {
            let run = tags.run(
                &(shapes(0, "", &art)
                    + &shapes(1, "translate(0 -28)", &art)
                    + &shapes(2, "", &art)),
            );
            let held = of(&run, "upside-down");
            // A row of dots, and a star of four or six points, may lie on its side or askew.
            let on_its_side = held.iter().all(|f| f.message.contains("on its side"));
            assert!(
                held.is_empty() || on_its_side && head == "left",
                "{head} {art} {run:?}"
            );
            assert_eq!(of(&run, "mirrored").len(), 0, "{head} {art} {run:?}");
        }
    }
}

#[test]
fn the_one_that_is_turned_against_its_siblings_is_found() {
    let tags = Tags::new("");
    for (transform, rule) in [
        ("rotate(180)", "upside-down"),
        ("rotate(90)", "upside-down"),
        ("rotate(5)", "tilted"),
        ("scale(-1 1)", "mirrored"),
    ] {
        let run = tags.run(&(flag(0, "") + &flag(1, transform) + &flag(2, "")));
        let found = of(&run, rule);
        assert_eq!(found.len(), 1, "{transform} {run:?}");
        assert_eq!(found[0].pocket.as_deref(), Some("A2"));
        assert!(
            found[0].message.contains("in the other pockets"),
            "{}",
            found[0].message
        );
        // The others are still not proven to be right.
        assert!(
            of(&run, "way-up-unknown")[0].message.contains("A1, A3"),
            "{run:?}"
        );
    }
}

#[test]
fn siblings_are_compared_as_their_pockets_lie() {
    let tags = Tags::new("[[pocket]]\nnames = [\"A2\"]\nhead = \"front\"");
    let run = tags.run(&(flag(0, "") + &flag(1, "translate(0 -28) rotate(180)") + &flag(2, "")));
    assert!(of(&run, "upside-down").is_empty(), "{run:?}");
    let run = tags.run(&(flag(0, "") + &flag(1, "translate(0 -28)") + &flag(2, "")));
    assert_eq!(of(&run, "upside-down").len(), 1, "{run:?}");
}

#[test]
fn referenced_art_is_found_at_any_size_and_turn() {
    let reference = |tags: &Tags, art: &str| {
        tags.write("crest.svg", page(art).as_bytes());
    };
    for (one, shape) in [(true, "flag"), (false, "crest")] {
        let draw = |n: usize, transform: &str| {
            if one {
                flag(n, transform)
            } else {
                crest(n, transform)
            }
        };
        let tags = Tags::new("reference = \"crest.svg\"\ncentred = \"free\"");
        reference(&tags, &draw(0, "scale(2.5)"));
        let all = draw(0, "") + &draw(1, "scale(1.3)") + &draw(2, "");
        expect(&tags.run(&all), Clear, &[]);
        for (transform, rule, verdict) in [
            ("rotate(180)", "upside-down A2", Hold),
            ("rotate(-90)", "upside-down A2", Hold),
            ("rotate(2)", "tilted A2", Clear),
            ("scale(-1 1)", "mirrored A2", Hold),
        ] {
            let run = tags.run(&(draw(0, "") + &draw(1, transform) + &draw(2, "")));
            let mine: Vec<String> = tags::brief(&run)
                .into_iter()
                .filter(|r| !r.starts_with("off-centre"))
                .collect();
            assert_eq!(
                (run.verdict, mine),
                (verdict, vec![rule.to_owned()]),
                "{shape} {transform} {run:?}"
            );
            assert!(run.findings[0].message.contains("by the reference"));
        }
        // All of them: siblings would agree, the reference does not.
        let run = tags.run(&(0..3).map(|n| draw(n, "rotate(180)")).collect::<String>());
        assert_eq!(of(&run, "upside-down").len(), 3, "{shape} {run:?}");
        // A name beside it is still nobody's to judge.
        let run = tags.run(
            &(draw(0, "") + &draw(1, "") + &draw(2, "") + &flag(0, "translate(0 18) scale(.6 .9)")),
        );
        assert_eq!(of(&run, "way-up-unknown").len(), 1, "{shape} {run:?}");
    }
}

#[test]
fn a_reference_that_cannot_be_used_is_trouble() {
    let tags = Tags::new("reference = \"crest.svg\"");
    let run = tags.run(&names(["Ada", "Bo", "Cy"]));
    expect(&run, Unread, &[]);
    assert!(run.trouble.unwrap().contains("crest.svg"));
    tags.write("crest.svg", page("").as_bytes());
    let run = tags.run(&names(["Ada", "Bo", "Cy"]));
    expect(&run, Unread, &[]);
    assert!(run.trouble.unwrap().contains("no outlines"));
}

#[test]
fn art_off_centre_is_noted_only_beside_centred_siblings() {
    let disc = |n: usize, dx: f64| {
        let (x, y) = tags::middle(n);
        format!("<circle cx='{}' cy='{y}' r='5' fill='{BURN}'/>", x + dx)
    };
    // Three tags give two siblings, which set no standard.
    let tags = Tags::new("");
    expect(
        &tags.run(&(disc(0, 0.0) + &disc(1, 3.0) + &disc(2, 0.0))),
        Clear,
        &[],
    );
    let wide = tags::outlines(false).replace("width='130'", "width='170'")
        + "<rect x='128' y='88' width='28' height='92' rx='4' fill='none' stroke='#7b2d8b' stroke-width='0.1'/><path d='M140 84 l4 0 l-2 -3 z' fill='none' stroke='#0a7d55' stroke-width='0.1'/>";
    let tags = Tags::drawn(&page(&wide), "");
    let run = |dx: f64| {
        let art = disc(0, 0.0) + &disc(1, dx) + &disc(2, 0.2) + &disc(3, 0.0);
        let path = tags.write("run.svg", page(&art).as_bytes());
        jigwarden::tested::inspect::inspect(&path, &tags::asked(), |_, _| ()).0
    };
    let far = run(3.0);
    expect(&far, Clear, &["fixture-absent", "off-centre A2"]);
    let f = of(&far, "off-centre")[0];
    assert!(
        f.message.contains("3 mm to the right") && f.help.contains("3 mm to the left"),
        "{f:?}"
    );
    expect(&run(0.8), Clear, &["fixture-absent"]);
}

/// A row of four arrows, each turned by so many quarters.
fn arrows(n: usize, turns: [i32; 4]) -> String {
    let arrow = |(at, turn): (f64, i32)| {
        format!(
            "<path transform='translate({at} 0) rotate({})' d='M-2 -.5 H0 V-1.5 L2 0 L0 1.5 V.5 H-2 Z'/>",
            turn * 90
        )
    };
    let row: String = [-7.5, -2.5, 2.5, 7.5]
        .into_iter()
        .zip(turns)
        .map(arrow)
        .collect();
    shapes(n, "", &row)
}

/// Rows of one shape are patterns: of three different ones, one may well be another turned.
#[test]
fn a_pattern_that_is_another_pattern_turned_is_chance() {
    let tags = Tags::new("");
    let (right, left) = (arrows(0, [0, 0, 1, 0]), arrows(1, [2, 3, 2, 2]));
    let run = tags.run(&(right.clone() + &left + &arrows(2, [1, 1, 3, 0])));
    assert_eq!(run.verdict, Clear, "{run:?}");
    assert!(of(&run, "way-up-unknown").len() == 1, "{run:?}");
    // Where all pockets have the row, the turned one is wrong.
    let run = tags.run(&(right + &left + &arrows(2, [0, 0, 1, 0])));
    assert_eq!(run.verdict, Hold, "{run:?}");
}

/// Letters of an invented face, each a path of its own: a u is an n turned half round, and a p a d.
fn spelt(n: usize, word: &str, transform: &str) -> String {
    let (x, y) = tags::middle(n);
    let letters: String = word
        .chars()
        .enumerate()
        .map(|(place, c)| {
            let d = match c {
                'n' => "M0 0 v-6 h4 v6 h-1.2 v-4.8 h-1.6 v4.8 z",
                'u' => "M4 -6 v6 h-4 v-6 h1.2 v4.8 h1.6 v-4.8 z",
                'd' => "M0 0 v-4 h2.8 v-4 h1.2 v8 z",
                'p' => "M4 -6 v4 h-2.8 v4 h-1.2 v-8 z",
                'r' => "M0 0 v-6 h4 v1.2 h-2.8 v4.8 z",
                'e' => "M0 0 v-6 h4 v1 h-3 v1.4 h2 v1 h-2 v1.6 h3 v1 z",
                'a' => "M0 0 v-3 h3 v-1.6 h-3 v-1.4 h4 v6 z",
                'k' => "M0 0 v-8 h1.4 v3.6 h2.6 v1.4 h-2.6 v3 z",
                't' => "M0 0 v-8 h1.2 v2 h2.4 v1.2 h-2.4 v4.8 z",
                'l' => "M0 0 v-8 h1.2 v6.8 h2 v1.2 z",
                other => panic!("no {other}"),
            };
            let at = 5.0 * place as f64 - 2.5 * word.len() as f64;
            format!("<path transform='translate({at} 3)' d='{d}' fill='{BURN}'/>")
        })
        .collect();
    format!("<g transform='translate({x} {y}) {transform} scale(.8)'>{letters}</g>")
}
