//! `off-centre` for a whole layer that was moved inside its zones, and `[zone] centred`.

use crate::common::tags::{self, BURN, Tags, expect, of};
use jigwarden::tested::finding::Severity;
use jigwarden::tested::inspect::Options;
use jigwarden::tested::report::Verdict::{self, Clear, Hold};

/// Names about the middles of their zones, all moved.
fn moved(list: &[(usize, &str)], dx: f64, dy: f64) -> String {
    let all: String = list
        .iter()
        .map(|(n, name)| tags::lettering(*n, name, 5.0, ""))
        .collect();
    format!("<g transform='translate({dx} {dy})'>{all}</g>")
}

const THREE: [(usize, &str); 3] = [(0, "Ada"), (1, "Noor"), (2, "Peggy")];

fn strict() -> Options {
    Options {
        strict: true,
        ..tags::asked()
    }
}

#[test]
fn a_layer_nudged_or_dragged_is_one_caution_and_holds_when_strict() {
    let tags = Tags::new("");
    for (dx, dy, words, back) in [
        (2.5, 0.0, "2.5 mm to the right", "2.5 mm to the left"),
        (-2.5, 0.0, "2.5 mm to the left", "2.5 mm to the right"),
        (
            0.0,
            20.0,
            "20 mm towards the front",
            "20 mm towards the back",
        ),
        (
            0.0,
            -20.0,
            "20 mm towards the back",
            "20 mm towards the front",
        ),
    ] {
        let art = moved(&THREE, dx, dy);
        let run = tags.run(&art);
        expect(&run, Clear, &["off-centre"]);
        let f = of(&run, "off-centre")[0];
        assert_eq!(f.severity, Severity::Caution);
        let near = |text: &str, words: &str| {
            // Tails move a middle by a few tenths: the direction must be right, the number about.
            let (number, way) = words.split_once(" mm ").unwrap();
            let said = text
                .split(" mm ")
                .next()
                .unwrap()
                .rsplit(' ')
                .next()
                .unwrap();
            let (said, number): (f64, f64) = (said.parse().unwrap(), number.parse().unwrap());
            text.contains(way) && (said - number).abs() < 0.9
        };
        assert!(near(&f.message, words) && near(&f.help, back), "{f:?}");
        assert!(f.message.contains("all 3 pockets"), "{f:?}");
        expect(&tags.run_as(&art, &strict()), Hold, &["off-centre"]);
    }
    expect(
        &tags.run_as(&moved(&THREE, 0.0, 0.0), &strict()),
        Clear,
        &[],
    );
    expect(
        &tags.run_as(&moved(&THREE, 0.6, 0.0), &strict()),
        Clear,
        &[],
    );
}

#[test]
fn the_stated_place_is_the_one_that_counts() {
    let art = |dx: f64, dy: f64| moved(&THREE, dx, dy);
    let high = Tags::new("centred = [\"0 mm\", \"-8 mm\"]");
    expect(&high.run(&art(0.0, -8.0)), Clear, &[]);
    let run = high.run(&art(0.0, 0.0));
    expect(&run, Clear, &["off-centre"]);
    let f = of(&run, "off-centre")[0];
    assert!(f.message.contains("where [zone] centred puts it"), "{f:?}");
    let free = Tags::new("centred = \"free\"");
    expect(&free.run(&art(2.5, 9.0)), Clear, &[]);
    let middle = Tags::new("centred = \"middle\"");
    expect(&middle.run(&art(0.0, 9.0)), Clear, &["off-centre"]);
    // What the help proposes settles it.
    let run = Tags::new("").run(&art(0.0, -8.0));
    let help = of(&run, "off-centre")[0].help.clone();
    let line = help
        .split("[zone] ")
        .nth(1)
        .unwrap()
        .split(" in ")
        .next()
        .unwrap();
    expect(&Tags::new(line).run(&art(0.0, -8.0)), Clear, &[]);
}

#[test]
fn names_that_begin_on_one_line_are_no_layer_that_moved() {
    let tags = Tags::new("");
    let left: String = [(0, "Jo"), (1, "Margaret"), (2, "Ida")]
        .iter()
        .map(|(n, name)| {
            let (x, y) = tags::middle(*n);
            format!(
                "<text x='{}' y='{}' font-family='Ubuntu' font-weight='300' font-size='4' fill='{BURN}'>{name}</text>",
                x - 11.0,
                y + 1.4
            )
        })
        .collect();
    expect(&tags.run_as(&left, &strict()), Verdict::Clear, &[]);
}

#[test]
fn one_pocket_may_be_off_among_many_that_are_off_together() {
    // Four of five dragged: still the layer, and the count says so.
    let more: String = (3..5)
        .map(|n| {
            let x = 20 + 36 * n;
            format!(
                "<rect x='{x}' y='88' width='28' height='92' rx='4' fill='none' stroke='#7b2d8b' stroke-width='0.1'/><path d='M{} 84 l4 0 l-2 -3 z' fill='none' stroke='#0a7d55' stroke-width='0.1'/>",
                x + 12
            )
        })
        .collect();
    let drawing = tags::outlines(false).replace("width='130'", "width='210'") + &more;
    let tags = Tags::drawn(&tags::page(&drawing), "");
    let run = |art: &str| {
        let path = tags.write("run.svg", tags::page(art).as_bytes());
        jigwarden::tested::inspect::inspect(&path, &tags::asked(), |_, _| ()).0
    };
    let four = [(0, "Ada"), (1, "Bo"), (2, "Cy"), (3, "Eve")];
    let found = run(&(moved(&four, 3.0, 0.0) + &moved(&[(4, "Ida")], 0.0, 0.0)));
    let f = of(&found, "off-centre")[0];
    assert!(f.message.contains("4 of 5 pockets"), "{f:?}");
}

/// Moved one by one, names would sit against the edge of their zones.
#[test]
fn names_that_run_out_with_their_layer_come_of_it() {
    let run = Tags::new("").run(&moved(
        &[(0, "Ada"), (1, "Noor"), (2, "Marigold")],
        3.0,
        0.0,
    ));
    assert_eq!(run.verdict, Hold);
    let [layer, name] = run.findings.as_slice() else {
        panic!("{:?}", run.findings);
    };
    assert_eq!(
        (layer.rule, layer.pocket.as_deref(), layer.severity),
        ("off-centre", None, Severity::Hold)
    );
    assert!(
        layer.help.starts_with("move the layer 3 mm to the left"),
        "{}",
        layer.help
    );
    assert!(
        layer.message.contains("past-zone in A3"),
        "{}",
        layer.message
    );
    assert_eq!(
        (name.rule, name.because_of, name.severity),
        ("past-zone", Some(0), Severity::Hold)
    );
}
