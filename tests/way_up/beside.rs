//! Names with what a template puts into every pocket, and names along an arch.

use kurbo::{Affine, BezPath, PathEl, Point, Shape as _, Vec2};

use super::*;
use crate::common::outline::outlined;
use jigwarden::tested::geometry::region::Region;

const THREE: [&str; 3] = ["Margaret", "Marietta", "Gretamar"];

/// A name in a face that is not at hand, about the origin.
fn name(n: usize) -> BezPath {
    unseen(THREE[n], 3.5)
}

/// A word in the program's own face stretched, which nobody has.
fn unseen(text: &str, size: f64) -> BezPath {
    let hack = epaint_default_fonts::HACK_REGULAR;
    let word = outlined(hack, text, size, Affine::IDENTITY);
    let about = word.bounding_box().center();
    let stretched = Affine::scale_non_uniform(1.0, 1.3);
    stretched * Affine::translate(-about.to_vec2()) * word
}

fn drawn(n: usize, art: &BezPath, transform: &str) -> String {
    let (x, y) = tags::middle(n);
    let d = art.to_svg();
    format!("<path transform='translate({x} {y}) {transform}' d='{d}' fill='{BURN}'/>")
}

/// Three names, each together with this; the second is put through a motion as a whole, or its ornament alone is.
fn with(ornament: &str, whole: &str, alone: &str) -> String {
    let ornament = BezPath::from_svg(ornament).unwrap();
    let pocket = |n: usize| {
        let (whole, alone) = if n == 1 { (whole, alone) } else { ("", "") };
        drawn(n, &name(n), whole) + &drawn(n, &ornament, &format!("{whole} {alone}"))
    };
    (0..3).map(pocket).collect()
}

/// Marks at four corners, of which none is even by itself.
const CORNERS: &str = "M-10 -5 h3 v0.5 h-2.5 v2.5 h-0.5 z M10 -5 v3 h-0.5 v-2.5 h-2.5 v-0.5 z \
    M10 5 h-3 v-0.5 h2.5 v-2.5 h0.5 z M-10 5 v-3 h0.5 v2.5 h2.5 v0.5 z";

/// Four dots at either side, and a larger one at the left.
const DOTS: &str = "M-9 -3 h1 v1 h-1 z M-9 -1 h1 v1 h-1 z M-9 1 h1 v1 h-1 z M-9.5 3 h1.5 v1.5 h-1.5 z \
    M8 -3 h1 v1 h-1 z M8 -1 h1 v1 h-1 z M8 1 h1 v1 h-1 z M8 3 h1 v1 h-1 z";

/// A ring about a name, with a gap at its foot.
const GAP: &str = "M-3 9.5 A10 10 0 1 1 3 9.5 L2.9 9 A9.5 9.5 0 1 0 -2.9 9 z";

/// An arrow to the right, which is the same half turned and in a mirror.
const ARROW: &str = "M-10 -0.5 h2 v-1 l1.5 1.5 l-1.5 1.5 v-1 h-2 z";

#[test]
fn what_every_pocket_has_leaves_no_name_undecided() {
    let tags = Tags::new("");
    for ornament in [CORNERS, DOTS, GAP] {
        expect(&tags.run(&with(ornament, "", "")), Clear, &[]);
        the_one_that_lies_wrong_is_told(|put| with(ornament, put, ""));
    }
}

#[test]
fn an_ornament_that_lies_wrong_beside_a_name_that_lies_right_is_not_passed_over() {
    for put in ["rotate(180)", "scale(-1 1)"] {
        let run = Tags::new("").run(&with(ARROW, "", put));
        assert_eq!(said_to_lie(&run), ["upside-down A2"], "{put} {run:?}");
    }
}

/// Of a batch of which most was turned or flipped, hearts and all, those that were not lie right.
#[test]
fn an_ornament_that_lies_as_its_name_is_not_blamed_for_most_that_lie_wrong() {
    let heart = BezPath::from_svg("M0 -4 L2 -7 L1 -8 L0 -7.4 L-1 -8 L-2 -7 z").unwrap();
    for (put, rule) in [
        ("rotate(180)", "upside-down"),
        ("rotate(90)", "upside-down"),
        ("scale(-1 1)", "mirrored"),
    ] {
        let pocket = |(n, name): (usize, &str)| {
            let put = if n < 2 { put } else { "" };
            lettering(n, name, 3.0, put) + &drawn(n, &heart, put)
        };
        let art: String = ["Ada", "Bob", "Cyd"]
            .into_iter()
            .enumerate()
            .map(pocket)
            .collect();
        let run = Tags::new("").run(&art);
        let expected = ["A1", "A2"].map(|pocket| format!("{rule} {pocket}"));
        assert_eq!(said_to_lie(&run), expected, "{put} {run:?}");
    }
}

/// Dots of letters are drawn as they come.
#[test]
fn a_speck_that_is_turned_against_others_is_no_finding() {
    let dots = |size: f64| -> String {
        let dot = Affine::scale(size) * BezPath::from_svg("M0 -15 L0.5 -14 L-0.5 -14 z").unwrap();
        let pocket = |n: usize| {
            drawn(
                n,
                &dot,
                if n == 1 {
                    "scale(1 -1) translate(0 -4)"
                } else {
                    ""
                },
            )
        };
        (0..3).map(pocket).collect()
    };
    let run = |size: f64| Tags::new("").run(&(names(["Ada", "Bob", "Cyd"]) + &dots(size)));
    assert!(said_to_lie(&run(0.8)).is_empty());
    assert_eq!(said_to_lie(&run(1.2)), ["upside-down A2"]);
}

/// The same word, but that a stroke joins its letters: the outline of all of it.
fn joined(text: &str) -> BezPath {
    let hack = epaint_default_fonts::HACK_REGULAR;
    let stretched = Affine::scale_non_uniform(1.0, 1.3);
    let mut all = BezPath::from_svg("M0.5 -0.3 H7 V-0.1 H0.5 z").unwrap();
    for (n, letter) in text.char_indices() {
        let letter = outlined(hack, &letter.to_string(), 2.5, Affine::IDENTITY);
        all.extend(Affine::translate((1.25 * n as f64, 0.0)) * stretched * letter);
    }
    let ink = Region::from_path(&all, false, 0.01);
    assert_eq!(ink.pieces().len(), 1, "{text}");
    let rings = ink.rings.iter().map(|ring| {
        let points: Vec<String> = ring.iter().map(|p| format!("{} {}", p.x, p.y)).collect();
        format!("M{} Z", points.join(" L"))
    });
    let word = BezPath::from_svg(&rings.collect::<String>()).unwrap();
    Affine::translate(-word.bounding_box().center().to_vec2()) * word
}

/// A word that every pocket has says nothing against itself: the network must say that it lies right.
#[test]
fn a_word_that_lies_wrong_under_every_name_is_not_passed_over() {
    for word in [unseen("Bergen", 2.5), joined("Bergen")] {
        let run = |put: Affine| {
            let [over, under] = [-3.3, 3.7].map(|y| Affine::translate((0.0, y)));
            let pocket =
                |n: usize| drawn(n, &(over * name(n)), "") + &drawn(n, &(under * put * &word), "");
            Tags::new("").run(&(0..3).map(pocket).collect::<String>())
        };
        expect(&run(Affine::IDENTITY), Clear, &[]);
        for put in [Affine::rotate(std::f64::consts::PI), Affine::FLIP_X] {
            let run = run(put);
            assert_eq!(of(&run, "way-up-unknown").len(), 1, "{run:?}");
        }
    }
}

/// An arrow alone may be half turned as well: what is said of it must not be another thing than of its name.
#[test]
fn art_that_is_even_in_some_way_lies_as_the_letters_beside_it() {
    the_one_that_lies_wrong_is_told(|put| with(ARROW, put, ""));
}

/// A name over the line of a frame, which is one piece with its first letter.
#[test]
fn a_name_over_the_line_of_a_frame_that_all_have_is_seen_without_it() {
    let frame = BezPath::from_svg("M-11 -6 H11 V6 H-11 z M-10.5 -5.5 V5.5 H10.5 V-5.5 z").unwrap();
    let framed = |n: usize, put: &str| {
        let name = name(n);
        let touching = Vec2::new(-10.8 - name.bounding_box().x0, 0.0);
        drawn(n, &(Affine::translate(touching) * name), put) + &drawn(n, &frame, put)
    };
    let three = |put: &str| framed(0, "") + &framed(1, put) + &framed(2, "");
    expect(&Tags::new("").run(&three("")), Clear, &[]);
    the_one_that_lies_wrong_is_told(three);
}

/// A name along an arc of so many millimetres about a centre below it, letters and all.
fn arched(n: usize, radius: f64) -> BezPath {
    let bend = |p: Point| {
        let (far, angle) = (radius - p.y, p.x / radius);
        Point::new(far * angle.sin(), radius - far * angle.cos())
    };
    let mut out = BezPath::new();
    kurbo::flatten(name(n), 0.01, |el| {
        out.push(match el {
            PathEl::MoveTo(p) => PathEl::MoveTo(bend(p)),
            PathEl::LineTo(p) => PathEl::LineTo(bend(p)),
            other => other,
        });
    });
    out
}

#[test]
fn of_names_along_an_arch_the_one_that_lies_wrong_is_told() {
    for radius in [9.0, 14.0] {
        let three = |put: &str| {
            drawn(0, &arched(0, radius), "")
                + &drawn(1, &arched(1, radius), put)
                + &drawn(2, &arched(2, radius), "")
        };
        expect(&Tags::new("").run(&three("")), Clear, &[]);
        the_one_that_lies_wrong_is_told(three);
    }
}

/// A face at hand is read, and what goes round the name it reads is no part of it.
#[test]
fn what_goes_round_a_name_that_was_read_may_lie_otherwise() {
    let hack = epaint_default_fonts::HACK_REGULAR;
    let pocket = |n: usize, put: &str| {
        let word = outlined(hack, THREE[n], 3.5, Affine::IDENTITY);
        let about = word.bounding_box().center();
        let word = Affine::translate(-about.to_vec2()) * word;
        drawn(n, &word, "") + &drawn(n, &BezPath::from_svg(DOTS).unwrap(), put)
    };
    for (put, expected) in [
        ("rotate(180)", "upside-down A2"),
        ("scale(-1 1)", "mirrored A2"),
    ] {
        let run = Tags::new("").run(&(pocket(0, "") + &pocket(1, put) + &pocket(2, "")));
        assert_eq!(said_to_lie(&run), [expected], "{run:?}");
    }
}

/// All of a pocket in one path: another word of it may lie wrong.
#[test]
fn what_shares_a_path_with_a_name_that_was_read_may_lie_otherwise() {
    let centred = |text: &str, size: f64| {
        let word = outlined(
            epaint_default_fonts::HACK_REGULAR,
            text,
            size,
            Affine::IDENTITY,
        );
        Affine::translate(-word.bounding_box().center().to_vec2()) * word
    };
    let three = |beside: &BezPath, put: Affine, below: f64| -> String {
        let pocket = |n: usize| {
            let put = if n == 1 { put } else { Affine::IDENTITY };
            let mut all = centred(THREE[n], 3.5);
            all.extend(Affine::translate((0.0, below)) * put * beside);
            drawn(n, &all, "")
        };
        (0..3).map(pocket).collect()
    };
    let word = centred("Bergen", 2.5);
    let said = |turn: f64| {
        let put = Affine::rotate(turn.to_radians());
        said_to_lie(&Tags::new("").run(&three(&word, put, 5.0)))
    };
    assert!(said(0.0).is_empty());
    assert_eq!(said(180.0), ["upside-down A2"]);
    assert_eq!(said(20.0), ["tilted A2"]);
}

/// An emblem that no other pocket has, in one path with its name: nothing says how it lies.
#[test]
fn an_emblem_in_one_path_with_a_name_that_was_read_is_listed() {
    let emblems = [
        "M-3 0 h6 l-3 -3 z",
        "M-3 0 h5 v-3 h-2 z",
        "M-2 0 h4 l2 -3 h-3 z",
    ];
    let pocket = |n: usize| {
        let word = outlined(
            epaint_default_fonts::HACK_REGULAR,
            THREE[n],
            3.5,
            Affine::IDENTITY,
        );
        let mut all = Affine::translate(-word.bounding_box().center().to_vec2()) * word;
        all.extend(Affine::translate((0.0, 9.0)) * BezPath::from_svg(emblems[n]).unwrap());
        drawn(n, &all, "")
    };
    let run = Tags::new("").run(&(0..3).map(pocket).collect::<String>());
    assert_eq!(of(&run, "way-up-unknown").len(), 1, "{run:?}");
}
