//! Where the limits lie, and that each cause gets its own sentence: pockets moved a little and a
//! little more, everything moved, pages cropped, units mistaken; names turned in every way that a
//! file can turn them.

use crate::common;

use std::collections::BTreeSet;

use common::run::{self, Motion, RunFile, n};
use common::{asked, fixture, inspect_bytes, inspect_text, of, only, short, weighty};
use jigwarden::tested::report::{Run, Verdict};

fn hive_tags(svg: &str) -> Run {
    inspect_text(svg, "hive-tags")
}

/// The middle of A3.
const MIDDLE: (f64, f64) = (94.0, 342.0);

/// The turn about its middle that carries a tag's far corner by `mm`. The farthest point of the
/// outline lies where the tail's corner is rounded.
fn turn_by(mm: f64) -> Motion {
    let far = run::tag(run::corner(run::index("A3")))
        .iter()
        .filter_map(|s| match *s {
            run::Step::Move(x, y) | run::Step::Line(x, y) => {
                Some((x - MIDDLE.0).hypot(y - MIDDLE.1))
            }
            _ => None,
        })
        .fold(0.0, f64::max);
    Motion::turn((mm / far).to_degrees(), MIDDLE)
}

#[test]
fn a_pocket_moved_by_more_than_the_limit_holds_and_by_less_does_not() {
    let diagonal = |mm: f64| Motion::by(mm / 2f64.sqrt(), -mm / 2f64.sqrt());
    for (way, motion) in [
        ("to the right", Motion::by(0.15, 0.0)),
        ("to the left", Motion::by(-0.15, 0.0)),
        ("towards the back", Motion::by(0.0, -0.15)),
        ("towards the front", Motion::by(0.0, 0.15)),
        ("across", diagonal(0.15)),
        ("turned", turn_by(0.2)),
        ("turned back", turn_by(-0.2)),
    ] {
        let mut run = RunFile::clear();
        run.move_pocket("A3", motion);
        let is = hive_tags(&run.svg());
        let finding = only(&is);
        assert_eq!(finding.rule, "pocket-moved", "{way}");
        assert_eq!(finding.pocket.as_deref(), Some("A3"), "{way}");
        if !way.starts_with("turned") {
            let measured = finding.measured.as_ref().unwrap();
            assert!((measured.value - 0.15).abs() < 0.003, "{way}: {measured:?}");
        }
        if way.contains("to") {
            assert!(finding.message.contains(way), "{way}: {}", finding.message);
        }
    }
    for (way, motion) in [
        ("x", Motion::by(0.05, 0.0)),
        ("y", Motion::by(0.0, -0.05)),
        ("both", diagonal(0.05)),
        ("turned", turn_by(0.05)),
    ] {
        let mut run = RunFile::clear();
        run.move_pocket("A3", motion);
        let is = hive_tags(&run.svg());
        assert_eq!(weighty(&is), [], "{way}");
        assert_eq!(is.verdict, Verdict::Clear);
    }
}

#[test]
fn the_limit_is_where_the_settings_say() {
    for (limit, holds) in [("0.04 mm", true), ("0.06 mm", false)] {
        let folder = tempfile::tempdir().unwrap();
        for file in ["fixture.svg", "fixture.lock.json"] {
            std::fs::copy(fixture("hive-tags").join(file), folder.path().join(file)).unwrap();
        }
        let settings = std::fs::read_to_string(fixture("hive-tags").join("fixture.toml"))
            .unwrap()
            .replace("place = \"0.1 mm\"", &format!("place = \"{limit}\""));
        std::fs::write(folder.path().join("fixture.toml"), settings).unwrap();
        let mut run = RunFile::clear();
        run.move_pocket("A3", Motion::by(0.05, 0.0));
        let is = inspect_bytes(run.svg().as_bytes(), "run.svg", &asked(folder.path()));
        assert_eq!(
            is.verdict == Verdict::Hold,
            holds,
            "{limit}: {:?}",
            is.findings
        );
    }
}

/// What is said of the fixture as a whole, for each way of going wrong.
fn causes() -> Vec<(&'static str, String)> {
    let clear = RunFile::clear();
    let mut one = clear.clone();
    one.move_pocket("A3", Motion::by(0.15, 0.0));
    let mut resized = clear.clone();
    resized.pockets[2] = Some(
        Motion {
            scale: 1.01,
            about: MIDDLE,
            ..Motion::NONE
        }
        .shape(&run::tag(run::corner(2))),
    );
    // Cropped to the pockets; the sheet's edge was not in the file.
    let mut bare = clear.clone();
    (bare.edge, bare.arrow) = (None, None);
    let cropped = bare.on_page("width=\"208mm\" height=\"192mm\" viewBox=\"8 196 208 192\"");
    // Saved by a program that counts 72 units to the inch, sizes without a unit.
    let k = 72.0 / 25.4;
    let points = clear.moved(Motion::scale(k)).on_page(&format!(
        "width=\"{}\" height=\"{}\" viewBox=\"0 0 {0} {1}\"",
        n(600.0 * k),
        n(400.0 * k)
    ));
    // Placed on a page of the right size, at the wrong scale.
    let placed = |factor: f64| clear.moved(Motion::scale(factor)).svg();
    let flipped = clear
        .svg()
        .replace("<g ", "<g transform=\"matrix(-1 0 0 1 224 0)\" ");
    vec![
        ("one pocket", one.svg()),
        ("one pocket resized", resized.svg()),
        ("dragged", clear.moved(Motion::by(0.4, 0.0)).svg()),
        (
            "turned",
            clear.moved(Motion::turn(0.5, (112.0, 292.0))).svg(),
        ),
        (
            "half round",
            clear.moved(Motion::turn(180.0, (112.0, 292.0))).svg(),
        ),
        ("flipped", flipped),
        ("cropped", cropped),
        ("72 for 96", points),
        ("90 for 96", placed(0.9375)),
        ("in as mm", placed(1.0 / 25.4)),
        ("mm as in", placed(25.4)),
        ("shrunk", placed(0.97)),
    ]
}

#[test]
fn every_cause_gets_its_own_sentence() {
    let mut seen = BTreeSet::new();
    for (cause, svg) in causes() {
        let is = hive_tags(&svg);
        assert_eq!(is.verdict, Verdict::Hold, "{cause}");
        let (rule, words): (&str, &[&str]) = match cause {
            "one pocket" => ("pocket-moved", &["0.15 mm to the right", "0.1 mm allowed"]),
            "one pocket resized" => ("pocket-reshaped", &["28.28 × 92.92 mm"]),
            "dragged" => (
                "fixture-shifted",
                &["0.4 mm to the right", "dragged together"],
            ),
            "turned" => (
                "fixture-shifted",
                &["turned 0.5° clockwise", "turned together"],
            ),
            "half round" => ("fixture-shifted", &["turned half round"]),
            "flipped" => ("fixture-shifted", &["mirrored", "flipped together"]),
            "cropped" => (
                "fixture-shifted",
                &[
                    "8 mm to the left",
                    "12 mm towards the front",
                    "page was most likely cropped",
                ],
            ),
            "72 for 96" => (
                "fixture-shifted",
                &["75 %", "72 units to the inch", "read at 96"],
            ),
            "90 for 96" => (
                "fixture-shifted",
                &["93.75 %", "90 units to the inch", "read at 96"],
            ),
            "in as mm" => (
                "fixture-shifted",
                &["3.94 %", "inches were read as millimetres"],
            ),
            "mm as in" => (
                "fixture-shifted",
                &["2540 %", "millimetres were read as inches"],
            ),
            "shrunk" => ("fixture-shifted", &["97 %", "scaled as a whole"]),
            _ => panic!("{cause}"),
        };
        let finding = of(&is, rule);
        for word in words {
            assert!(
                finding.message.contains(word),
                "{cause}: {}",
                finding.message
            );
        }
        assert!(!finding.message.ends_with('.'), "{cause}");
        if cause != "flipped" {
            assert!(
                !finding.message.contains("mirrored"),
                "{cause}: {}",
                finding.message
            );
        }
        // The sentence without its numbers is told by no other cause.
        let plain: String = finding
            .message
            .chars()
            .filter(|c| !c.is_ascii_digit() && *c != '.')
            .collect();
        assert!(
            seen.insert((plain, finding.help.clone())),
            "{cause}: {}",
            finding.message
        );
        if rule == "fixture-shifted" {
            let others: Vec<_> = weighty(&is)
                .into_iter()
                .filter(|(r, _)| r.starts_with("pocket-"))
                .collect();
            assert_eq!(others, [], "{cause}: a shared move is told once");
        }
        let page = matches!(cause, "cropped" | "72 for 96");
        assert_eq!(
            weighty(&is).contains(&short("page-changed", "")),
            page,
            "{cause}"
        );
    }
}

#[test]
fn all_pockets_moved_but_the_edge_is_still_one_move() {
    // Someone dragged the pockets and the names, and left the sheet where it was.
    let mut run = RunFile::clear().moved(Motion::by(0.0, -2.0));
    let still = RunFile::clear();
    run.edge = still.edge;
    run.arrow = still.arrow;
    let is = hive_tags(&run.svg());
    let shifted = of(&is, "fixture-shifted");
    assert!(
        shifted
            .message
            .starts_with("12 of the fixture's 14 lines lie 2 mm towards the back"),
        "{}",
        shifted.message
    );
    assert_eq!(is.verdict, Verdict::Hold);
}

#[test]
fn a_move_by_one_pitch_is_no_move_in_place() {
    // Eleven of twelve pockets lie on a neighbour's place: the sheet's edge and the arrow tell.
    let is = hive_tags(&RunFile::clear().moved(Motion::by(36.0, 0.0)).svg());
    let finding = of(&is, "fixture-shifted");
    assert!(
        finding.message.contains("36 mm to the right"),
        "{}",
        finding.message
    );
    assert!(
        finding.message.contains("pockets repeat"),
        "{}",
        finding.message
    );
}

/// A2's name turned half round, in every way that a file can say it.
fn half_round() -> Vec<(&'static str, String)> {
    let (x, y) = (58.0, 356.25);
    let name = "<text x=\"58\" y=\"358\" font-size=\"5\">Clover</text>";
    let around = |attributes: &str| format!("<g {attributes}>{name}</g>");
    vec![
        (
            "transform",
            name.replace("<text", &format!("<text transform=\"rotate(180 {x} {y})\"")),
        ),
        (
            "matrix",
            name.replace(
                "<text",
                &format!("<text transform=\"matrix(-1 0 0 -1 {} {})\"", 2.0 * x, 2.0 * y),
            ),
        ),
        (
            "two flips",
            around(&format!(
                "transform=\"translate({} 0) scale(-1 1)\"><g transform=\"translate(0 {}) scale(1 -1)\"",
                2.0 * x,
                2.0 * y
            ))
            .replace("</g>", "</g></g>"),
        ),
        ("group", around(&format!("transform=\"rotate(-180,{x},{y})\""))),
        (
            "style",
            around(&format!("style=\"transform:translate({}px,{}px) rotate(.5turn)\"", 2.0 * x, 2.0 * y)),
        ),
        (
            "rotate list",
            // Each letter turned about its foot; positions run from right to left.
            "<text x=\"66 63 60 57 54 51\" y=\"354.5\" rotate=\"180 180 180 180 180 180\" text-anchor=\"start\" font-size=\"5\">Clover</text>".to_owned(),
        ),
        (
            "rotate once",
            "<text x=\"66 63 60 57 54 51\" y=\"354.5\" rotate=\"180\" text-anchor=\"start\" font-size=\"5\">Clover</text>".to_owned(),
        ),
        (
            "path",
            "<path id=\"line\" d=\"M70 355H46\" fill=\"none\" stroke=\"none\"/><text font-size=\"5\"><textPath href=\"#line\" startOffset=\"50%\">Clover</textPath></text>".to_owned(),
        ),
    ]
}

fn with_a2(element: &str) -> String {
    let run = RunFile::clear();
    run.svg().replace(
        "<text x=\"58\" y=\"358\" font-size=\"5\">Clover</text>",
        element,
    )
}

#[test]
fn a_name_turned_half_round_holds_however_it_was_turned() {
    for (how, element) in half_round() {
        let is = hive_tags(&with_a2(&element));
        assert_eq!(
            weighty(&is),
            [short("upside-down", "A2")],
            "{how}: {:#?}",
            is.findings
        );
        let finding = only(&is);
        assert_eq!(
            finding.message,
            "\"Clover\" is upside down: its tops point towards the front and should point towards the back",
            "{how}"
        );
        let turn = finding.measured.as_ref().unwrap().value;
        assert!((turn - 180.0).abs() < 0.01, "{how}: {turn}");
    }
}

#[test]
fn one_letter_turned_half_round_is_enough() {
    let is = hive_tags(&with_a2(
        "<text x=\"58\" y=\"358\" rotate=\"0 0 180 0 0 0\" font-size=\"5\">Clover</text>",
    ));
    assert_eq!(of(&is, "upside-down").pocket.as_deref(), Some("A2"));
}

#[test]
fn with_the_heads_to_the_front_the_same_name_is_clear() {
    let folder = tempfile::tempdir().unwrap();
    let examples = fixture("hive-tags");
    // The whole fixture turned on the bed: heads to the front.
    let mut plain = RunFile::clear();
    plain.arrow = None;
    let drawing = plain
        .moved(Motion::turn(180.0, (112.0, 292.0)))
        .svg()
        .replace(run::OFF, run::CUT);
    let drawing = format!("{}</svg>", drawing.split("<g font-family").next().unwrap());
    std::fs::write(folder.path().join("fixture.svg"), drawing).unwrap();
    let settings = std::fs::read_to_string(examples.join("fixture.toml"))
        .unwrap()
        .replace("head = \"back\"", "head = \"front\"");
    std::fs::write(folder.path().join("fixture.toml"), settings).unwrap();
    crate::common::tags::enrol(folder.path(), false, &asked(folder.path())).unwrap();

    let turned = RunFile::clear().moved(Motion::turn(180.0, (112.0, 292.0)));
    let is = inspect_bytes(turned.svg().as_bytes(), "run.svg", &asked(folder.path()));
    assert_eq!(weighty(&is), []);

    let mut upright = turned;
    upright.names[1].turn = 0.0;
    let is = inspect_bytes(upright.svg().as_bytes(), "run.svg", &asked(folder.path()));
    // A2 lies where B5 is now, counted from the stops.
    assert_eq!(weighty(&is), [short("upside-down", "B5")]);
    assert!(only(&is).message.contains("should point towards the front"));
}

#[test]
fn a_name_turned_a_quarter_lies_on_its_side() {
    for (turn, words) in [(90.0, "point to the right"), (-90.0, "point to the left")] {
        let mut run = RunFile::clear();
        run.name("A4").turn = turn;
        let is = hive_tags(&run.svg());
        let finding = only(&is);
        assert_eq!(
            (finding.rule, finding.pocket.as_deref()),
            ("upside-down", Some("A4"))
        );
        assert!(
            finding.message.contains("lies on its side"),
            "{}",
            finding.message
        );
        assert!(finding.message.contains(words), "{}", finding.message);
    }
}

#[test]
fn a_name_a_little_askew_is_not_upside_down() {
    for turn in [0.5, -44.0, 44.0] {
        let mut run = RunFile::clear();
        let name = run.name("A4");
        (name.turn, name.text) = (turn, "Ivy");
        let is = hive_tags(&run.svg());
        assert!(
            is.findings.iter().all(|f| f.rule != "upside-down"),
            "{turn}"
        );
    }
    for turn in [46.0, -46.0] {
        let mut run = RunFile::clear();
        let name = run.name("A4");
        (name.turn, name.text) = (turn, "Ivy");
        assert_eq!(
            of(&hive_tags(&run.svg()), "upside-down").pocket.as_deref(),
            Some("A4")
        );
    }
}

#[test]
fn a_sheet_that_is_nearly_its_own_mirror_image_is_not_called_flipped() {
    // The rows of fobs mirror each other to 0.005 in; at a twenty-fifth of the size only the arrow,
    // a third of a millimetre wide, tells which way round they lie.
    let clear =
        std::fs::read_to_string(fixture("brass-fobs").join("clear").join("rooms.svg")).unwrap();
    let shrunk = clear
        .replacen(
            '>',
            &format!("><g transform=\"scale({})\">", n(1.0 / 25.4)),
            1,
        )
        .replace("</svg>", "</g></svg>");
    let is = inspect_text(&shrunk, "brass-fobs");
    let finding = of(&is, "fixture-shifted");
    assert!(
        finding
            .message
            .starts_with("All of the fixture's lines are 3.94 % of their size"),
        "{}",
        finding.message
    );
    assert!(finding.message.contains("inches were read as millimetres"));
}
