//! `jigwarden plan`: from measurements with a ruler to a fixture that enrols without any remark.

use std::path::Path;
use std::process::{Command, Output};

use crate::common::tags::asked;
use crate::common::tags::enrol;
use jigwarden::tested::enrolling::Enrolled;
use jigwarden::tested::fixture::Fixture;
use jigwarden::tested::fixture::lock::OutlineKind;
use jigwarden::tested::geometry::region::Region;
use kurbo::{Rect, Shape as _};

fn plan(folder: &Path, words: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .arg("plan")
        .args(words.split_whitespace())
        .arg("-o")
        .arg(folder)
        .output()
        .unwrap()
}

/// Plans, enrols without a word, and opens the fixture.
#[track_caller]
fn planned(words: &str) -> (tempfile::TempDir, Fixture, String) {
    let top = tempfile::tempdir().unwrap();
    let folder = top.path().join("tags");
    let done = plan(&folder, words);
    let said = String::from_utf8(done.stdout).unwrap();
    assert_eq!(
        done.status.code(),
        Some(0),
        "{words}\n{said}{}",
        String::from_utf8_lossy(&done.stderr)
    );
    match enrol(&folder, false, &asked()).unwrap() {
        Enrolled::Locked { cautions: None, .. } => {}
        other => panic!("{words}: {other:#?}"),
    }
    let fixture = Fixture::open(&folder, &[]).unwrap();
    assert!(said.contains(&fixture.lock.code), "{said}");
    (top, fixture, said)
}

fn pockets(fixture: &Fixture) -> Vec<Rect> {
    fixture
        .pockets
        .iter()
        .map(|p| p.region.bounds().unwrap())
        .collect()
}

/// The smallest gap between two boxes that lie side by side or one behind the other.
fn smallest_gap(boxes: &[Rect]) -> f64 {
    let mut least = f64::INFINITY;
    for (n, a) in boxes.iter().enumerate() {
        for b in &boxes[n + 1..] {
            let dx = (b.x0 - a.x1).max(a.x0 - b.x1);
            let dy = (b.y0 - a.y1).max(a.y0 - b.y1);
            least = least.min(dx.max(dy));
        }
    }
    least
}

/// Check values, common practice without a source: a keychain blank of 1.19 × 4.6 in with its ring, its
/// body 2.63 in, on a bed of 19.2 × 10.98 in, stops front-left, board 1/8 in.
#[test]
fn the_keychain_blanks_of_the_check_values() {
    let (_top, fixture, said) = planned(
        "--size 1.19in 4.6in --body 2.63in --bed 19.2in 10.98in --stops front-left --board 0.125in",
    );
    // Two rows of 4.6 in and their webs are 9.6 of 10.98 in; a column takes 30.5 mm and a web of 3.3:
    // fourteen are 470.1 of 487.7 mm, fifteen would be 503.9.
    assert_eq!(fixture.pockets.len(), 28, "{said}");
    assert!(said.contains("2 rows and 14 columns"), "{said}");
    assert!(smallest_gap(&pockets(&fixture)) >= 3.175, "{said}");
    for pocket in &fixture.pockets {
        let (all, zone) = (
            pocket.region.bounds().unwrap(),
            pocket.zone.bounds().unwrap(),
        );
        // The opening: blank, 0.2 mm all round, less half of 0.15 mm on each side.
        assert!((all.width() - (1.19 * 25.4 + 0.25)).abs() < 1e-3, "{all:?}");
        assert!((all.height() - (4.6 * 25.4 + 0.25)).abs() < 1e-3, "{all:?}");
        // The zone ends below the ring, where the body ends, by the margin.
        let ring_begins = all.y1 - 2.63 * 25.4;
        assert!((zone.y0 - (ring_begins + 2.0)).abs() < 0.01, "{zone:?}");
        assert!((zone.y1 - (all.y1 - 2.0)).abs() < 0.01, "{zone:?}");
    }
    let a1 = pockets(&fixture)[0];
    assert!(a1.x0 < 10.0 && a1.y1 > 278.892 - 10.0, "{a1:?}");
}

#[test]
fn every_layout_head_and_corner_enrols_without_a_word() {
    for layout in ["rows", "alternating", "staggered"] {
        for (n, head) in ["back", "front", "left", "right"].iter().enumerate() {
            let stops = ["front-left", "front-right", "back-left", "back-right"][n];
            let words = format!(
                "--size 28mm 60mm --body 40mm --corner 4mm --bed 300mm 200mm --layout {layout} --head {head} --stops {stops} --keep-clear 4mm --run-out 8mm --tops head-left"
            );
            let (_top, fixture, said) = planned(&words);
            let boxes = pockets(&fixture);
            assert!(boxes.len() >= 6, "{words}: {said}");
            assert!(smallest_gap(&boxes) >= 3.0, "{words}");
            // All that is burnt keeps clear of the border, and every zone has its travel.
            let inner = Rect::new(4.0, 4.0, 296.0, 196.0).inflate(0.01, 0.01);
            for outline in &fixture.lock.outlines {
                let b = outline.contour.bounds;
                assert!(inner.contains_rect(b), "{words}: {b:?}");
            }
            for pocket in &fixture.pockets {
                let z = pocket.zone.bounds().unwrap();
                assert!(z.x0 >= 7.99 && z.x1 <= 292.01, "{words}: {z:?}");
            }
            // A1 is nearest the stops.
            let corner = |r: &Rect| {
                let c = r.center();
                let x = if stops.ends_with("left") {
                    c.x
                } else {
                    300.0 - c.x
                };
                let y = if stops.starts_with("front") {
                    200.0 - c.y
                } else {
                    c.y
                };
                x + y
            };
            let least = boxes.iter().map(corner).fold(f64::INFINITY, f64::min);
            assert!(corner(&boxes[0]) <= least + 1e-6, "{words}");
        }
    }
}

#[test]
fn discs_lie_closer_staggered_where_the_bed_allows_it() {
    let most = |layout: &str| {
        let words = format!("--round 30mm --bed 305mm 300mm --layout {layout}");
        planned(&words).1.pockets.len()
    };
    let (rows, staggered) = (most("rows"), most("staggered"));
    assert!(staggered > rows, "{staggered} {rows}");
}

#[test]
fn an_outline_nests_with_its_neighbour_turned_round() {
    let top = tempfile::tempdir().unwrap();
    let blank = top.path().join("blank.svg");
    // A wide body and a narrow neck with a ring, its hole inside.
    std::fs::write(
        &blank,
        "<svg xmlns='http://www.w3.org/2000/svg' width='60mm' height='100mm' viewBox='0 0 60 100'><path d='M10 53 H24 V5 H36 V53 H50 V95 H10 Z' fill='none' stroke='#123456'/><circle cx='30' cy='11' r='3' fill='none' stroke='#123456'/></svg>",
    )
    .unwrap();
    let words = |layout: &str| {
        format!(
            "--outline {} --body 42mm --bed 300mm 130mm --layout {layout}",
            blank.display()
        )
    };
    let (_a, rows, _) = planned(&words("rows"));
    let (_b, turned, said) = planned(&words("alternating"));
    assert!(turned.pockets.len() > rows.pockets.len(), "{said}");
    let (w, l) = rows.settings.common.size.unwrap();
    assert!(
        (w - 40.0).abs() < 1e-3 && (l - 90.0).abs() < 1e-3,
        "{w} {l}"
    );
    // Every other one lies the other way round, and its zone with it.
    for (n, pocket) in turned.pockets.iter().enumerate() {
        let zone = pocket.zone.bounds().unwrap();
        let all = pocket.region.bounds().unwrap();
        let to_the_front = zone.center().y > all.center().y;
        assert_eq!(to_the_front, n % 2 == 0, "{}", pocket.name);
    }
}

#[test]
fn webs_are_widened_where_as_many_fit_and_named_where_not() {
    let (_top, fixture, said) =
        planned("--size 28mm 92mm --body 64mm --bed 600mm 400mm --count 12 --web 1mm");
    assert!(said.contains("widened from 1 mm to 3 mm"), "{said}");
    assert!(smallest_gap(&pockets(&fixture)) >= 3.0);
    let top = tempfile::tempdir().unwrap();
    let done = plan(
        &top.path().join("x"),
        "--size 28mm 92mm --body 64mm --bed 300mm 200mm --web 1mm",
    );
    let said = String::from_utf8(done.stdout).unwrap();
    assert!(
        said.contains("webs are 1 mm, as asked") && said.contains("[web-too-thin]"),
        "{said}"
    );
    // A thicker board needs more.
    let (_top, fixture, _) = planned("--size 28mm 92mm --body 64mm --bed 600mm 400mm --board 6mm");
    assert!(smallest_gap(&pockets(&fixture)) >= 6.0);
}

#[test]
fn the_label_carries_the_code_and_is_no_part_of_it() {
    let (top, fixture, _) = planned("--size 28mm 92mm --body 64mm --bed 300mm 200mm --name Drükk");
    let file = top.path().join("tags/fixture.svg");
    let text = std::fs::read_to_string(&file).unwrap();
    let marks = |f: &Fixture| {
        f.lock
            .outlines
            .iter()
            .filter(|o| o.kind == OutlineKind::Mark)
            .count()
    };
    let start = text.find("  <g id=\"label\"").unwrap();
    let end = start + text[start..].find("</g>\n").unwrap() + 5;
    std::fs::write(&file, format!("{}{}", &text[..start], &text[end..])).unwrap();
    enrol(&top.path().join("tags"), true, &asked()).unwrap();
    let without = Fixture::open(&top.path().join("tags"), &[]).unwrap();
    assert_eq!(without.lock.code, fixture.lock.code);
    assert!(marks(&without) < marks(&fixture), "the label is locked");
    // Strokes stay on the sheet and off the openings.
    let openings: Vec<Region> = fixture.pockets.iter().map(|p| p.region.clone()).collect();
    for outline in fixture
        .lock
        .outlines
        .iter()
        .filter(|o| o.kind == OutlineKind::Mark)
    {
        let b = outline.contour.path.bounding_box().inflate(0.2, 0.2);
        let b = Region::from_rect(b);
        assert!(
            openings.iter().all(|o| o.intersect(&b).is_empty()),
            "{outline:?}"
        );
    }
    // A name that has no strokes leaves the code, and says so.
    let (_top, _, said) = planned("--size 28mm 92mm --body 64mm --bed 300mm 200mm --name Жар");
    assert!(
        said.contains("the code alone") && said.contains("Ж"),
        "{said}"
    );
}

#[test]
fn what_cannot_be_is_said_in_a_sentence() {
    let top = tempfile::tempdir().unwrap();
    let bed = "--bed 300mm 200mm";
    for (words, says) in [
        (
            format!("--size 28mm 92mm {bed} --count 400"),
            "400 blanks are wanted and",
        ),
        (
            format!("--size 280mm 192mm {bed} --head right --count 2"),
            "not one blank fits",
        ),
        (
            format!("--size 28mm 92mm {bed} --body 93mm"),
            "measured from the tail",
        ),
        (
            format!("--size 28mm 92mm {bed} --margin 14mm"),
            "leaves nothing",
        ),
        (
            format!("--size 28mm 92mm {bed} --relief 9mm --corner 2mm"),
            "corners",
        ),
        (format!("--round 28mm {bed} --relief 1mm"), "square corners"),
        (
            format!("--size 28mm 92mm {bed} --sheet 400mm 100mm"),
            "larger than the bed",
        ),
        (format!("--size 28 92mm {bed}"), "number with its unit"),
        (format!("--outline nowhere.svg {bed}"), "nowhere.svg"),
        (bed.to_owned(), "--size"),
    ] {
        let folder = top.path().join("tags");
        let done = plan(&folder, &words);
        let said = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(2), "{words}: {done:?}");
        assert!(said.contains(says), "{words}: {said}");
        assert!(!folder.exists(), "{words}");
    }
    // Nothing is written over.
    let folder = top.path().join("tags");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(folder.join("fixture.toml"), "mine").unwrap();
    let done = plan(&folder, &format!("--size 28mm 92mm {bed}"));
    assert_eq!(done.status.code(), Some(2));
    assert_eq!(
        std::fs::read_to_string(folder.join("fixture.toml")).unwrap(),
        "mine"
    );
    assert!(!folder.join("fixture.svg").exists());
}

#[test]
fn the_same_words_give_the_same_files() {
    let words = "--size 28mm 92mm --body 64mm --bed 300mm 200mm --layout alternating --relief 1mm";
    let read = |top: &tempfile::TempDir| {
        ["fixture.svg", "fixture.toml"]
            .map(|f| std::fs::read(top.path().join("tags").join(f)).unwrap())
    };
    assert_eq!(read(&planned(words).0), read(&planned(words).0));
}

/// Whoever has the drawing alone is not led astray by its guides: the openings are the pockets.
#[test]
fn the_planned_drawing_alone_is_drafted_rightly() {
    for words in [
        "--size 28mm 60mm --body 40mm --bed 300mm 200mm",
        "--size 28mm 60mm --bed 300mm 200mm --layout alternating",
        "--round 60mm --bed 300mm 200mm --layout staggered",
    ] {
        let (top, fixture, _) = planned(words);
        let folder = top.path().join("tags");
        std::fs::remove_file(folder.join("fixture.toml")).unwrap();
        let drafted = enrol(&folder.join("fixture.svg"), false, &asked()).unwrap();
        let Enrolled::Draft { found, .. } = drafted else {
            panic!("{words}: {drafted:?}");
        };
        let said = found.join("\n");
        let pockets = format!("{} outlines of ", fixture.pockets.len());
        let right = found.iter().any(|line| {
            line.starts_with(&pockets)
                && line.contains("#7b2d8b, around nothing else: probably the pocket")
        });
        assert!(right, "{words}\n{said}");
    }
}

/// The sheet's edge is a guide, since board is sawn to size before: the picture shows it all the same.
#[test]
fn the_proof_of_a_planned_fixture_shows_the_board() {
    let (top, _, said) = planned("--size 28mm 60mm --body 40mm --bed 300mm 200mm --count 4");
    assert!(
        said.contains("its edge is a guide and is not cut"),
        "{said}"
    );
    let folder = top.path().join("tags");
    let proof = folder.join("proof.svg");
    let done = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args([
            "enrol".as_ref(),
            folder.as_os_str(),
            "--proof".as_ref(),
            proof.as_os_str(),
        ])
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    let drawn = std::fs::read_to_string(proof).unwrap();
    assert!(drawn.contains("<path id=\"sheet\""), "{drawn}");
    assert!(drawn.contains("<use href=\"#sheet\" fill="), "{drawn}");
}

#[test]
fn fractions_of_an_inch_are_measures() {
    let (_top, fixture, said) = planned(
        "--size 1-3/16in 4-5/8in --body 2-5/8in --bed 19-1/5in 10.98in --board 1/8in --count 2",
    );
    let first = pockets(&fixture)[0];
    assert!(
        (first.width() - (1.1875 * 25.4 + 0.25)).abs() < 1e-3,
        "{said}"
    );
    assert!(
        (first.height() - (4.625 * 25.4 + 0.25)).abs() < 1e-3,
        "{said}"
    );
}

/// Windows gives a program a megabyte of stack, and a file may nest deeper than that holds.
#[cfg(unix)]
#[test]
fn a_blank_that_is_nested_deeply_is_read_on_any_stack() {
    let top = tempfile::tempdir().unwrap();
    let (open, close) = ("<g>".repeat(990), "</g>".repeat(990));
    let drawing = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='50mm' height='80mm' viewBox='0 0 50 80'><defs><g id='a'>{open}<rect x='5' y='5' width='20' height='60' fill='none' stroke='#000'/>{close}</g></defs>{open}<use href='#a'/>{close}</svg>"
    );
    std::fs::write(top.path().join("blank.svg"), drawing).unwrap();
    let done = Command::new("sh")
        .arg("-c")
        .arg("ulimit -s 1024 && exec \"$0\" plan --outline blank.svg --bed 600mm 400mm -o tags")
        .arg(env!("CARGO_BIN_EXE_jigwarden"))
        .current_dir(top.path())
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(0), "{done:?}");
}

#[test]
fn the_burn_width_opens_the_pocket_for_its_blank() {
    // The beam's middle runs inside the blank's own line, and the opening is the blank and its clearance.
    for words in [
        "--size 28mm 92mm --clearance 0.1mm --burn 0.3mm --bed 600mm 400mm --count 2",
        "--size 28mm 92mm --clearance 0mm --burn 0.4mm --bed 600mm 400mm --count 2",
        "--size 1.1in 3.6in --clearance 0.004in --burn 0.02in --bed 24in 16in --count 2",
        "--round 30mm --clearance 0.05mm --burn 0.5mm --bed 600mm 400mm --count 3",
    ] {
        planned(words);
    }
    // A burn width that leaves the blank no room, and one that leaves too much.
    for (burn, said) in [("0.05 mm", "too large to go in"), ("1.6 mm", "of play")] {
        let top = tempfile::tempdir().unwrap();
        let folder = top.path().join("tags");
        let words = "--size 28mm 92mm --clearance 0.1mm --burn 0.3mm --bed 600mm 400mm --count 2";
        assert_eq!(plan(&folder, words).status.code(), Some(0));
        let settings = folder.join("fixture.toml");
        let text = std::fs::read_to_string(&settings).unwrap();
        let edited = text.replace(
            "burn-width = \"0.3 mm\"",
            &format!("burn-width = \"{burn}\""),
        );
        assert_ne!(text, edited);
        std::fs::write(&settings, edited).unwrap();
        let out = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
            .args(["enrol", "."])
            .current_dir(&folder)
            .output()
            .unwrap();
        let text = String::from_utf8_lossy(&out.stdout).into_owned();
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            text.contains(said) && text.contains("blank-does-not-fit"),
            "{text}"
        );
        assert!(text.contains(&format!("burn width of {burn}")), "{text}");
    }
}
