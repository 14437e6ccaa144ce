//! Outlined lettering in a face that is at hand is read back: the words, which way up, mirrored.

use epaint_default_fonts::{HACK_REGULAR, UBUNTU_LIGHT};
use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::geometry::flatten::polylines;
use jigwarden::tested::geometry::region::Region;
use jigwarden::tested::readback::{Reader, Reading, by_shape};
use kurbo::{Affine, BezPath, Point, Vec2};

use crate::common::outline::outlined;

fn read(reader: &Reader, path: &BezPath) -> Reading {
    reader.read(&Region::from_path(path, false, 0.002), &[], false)
}

fn reader() -> Reader {
    Reader::new(&Faces::new(Vec::new(), false), false)
}

const NAMES: [&str; 24] = [
    "Ada",
    "Bartholomew",
    "Cyrus",
    "Dolores",
    "Emil",
    "Fjodor",
    "Gwendolyn",
    "Hal",
    "Iris",
    "Jacqueline",
    "Kit",
    "Louise",
    "MARGARET",
    "NIKOLAUS",
    "Olga",
    "Patricia",
    "Quentin",
    "RUTH",
    "Stephanie",
    "Thomas",
    "Zoë",
    "Märta",
    "Františka",
    "1984",
];

#[test]
fn words_are_read_whichever_way_they_lie() {
    let reader = reader();
    let mut wrong = Vec::new();
    let mut count = 0;
    for font in [UBUNTU_LIGHT, HACK_REGULAR] {
        for (n, word) in NAMES.iter().enumerate() {
            let turn = [0.0_f64, 180.0, 90.0, -12.0][n % 4];
            let flip = if n % 5 == 4 {
                Affine::scale_non_uniform(-1.0, 1.0)
            } else {
                Affine::IDENTITY
            };
            let motion =
                Affine::translate((120.0, 80.0)) * Affine::rotate(turn.to_radians()) * flip;
            let reading = read(&reader, &outlined(font, word, 7.0, motion));
            count += 1;
            let c = motion.as_coeffs();
            let up = -Vec2::new(c[2], c[3]);
            let good = reading.words.first().is_some_and(|w| {
                w.text == *word && w.decided && w.up.dot(up) > 0.999 && w.mirrored == (n % 5 == 4)
            });
            if !good {
                wrong.push(format!(
                    "{word} turned {turn}, mirrored {}: {reading:?}",
                    n % 5 == 4
                ));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {count}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn words_that_read_the_same_turned_are_undecidable() {
    let reader = reader();
    for word in ["OIO", "IOI", "OO"] {
        let reading = read(
            &reader,
            &outlined(UBUNTU_LIGHT, word, 7.0, Affine::IDENTITY),
        );
        let first = reading
            .words
            .first()
            .unwrap_or_else(|| panic!("{word}: nothing read"));
        assert!(!first.decided, "{word}: {first:?}");
    }
}

/// In most faces N, S and X are not quite the same turned half round. Then the outlines decide; if
/// they do not, nothing is guessed.
#[test]
fn words_that_nearly_read_the_same_turned_are_never_read_wrongly() {
    let reader = reader();
    for font in [UBUNTU_LIGHT, HACK_REGULAR] {
        for word in ["NOON", "SIS", "XOX", "nun", "pod", "dop", "bq", "69"] {
            for turn in [0.0_f64, 180.0] {
                let motion = Affine::rotate(turn.to_radians());
                let reading = read(&reader, &outlined(font, word, 7.0, motion));
                let up = if turn == 0.0 { -1.0 } else { 1.0 };
                for w in reading.words.iter().filter(|w| w.decided) {
                    assert!(w.up.y * up > 0.99, "{word} at {turn}: {w:?}");
                }
            }
        }
    }
}

/// Letters that touch are one piece of ink; the subpaths they were drawn as still tell them apart.
#[test]
fn letters_that_touch_are_read_as_they_were_drawn() {
    let face = ttf_parser::Face::parse(UBUNTU_LIGHT, 0).unwrap();
    let em = f64::from(face.units_per_em());
    let reader = reader();
    for (word, mirrored) in [
        ("Gwendolyn", false),
        ("Bartholomew", true),
        ("MARGARET", false),
    ] {
        let flip = Affine::scale_non_uniform(if mirrored { -1.0 } else { 1.0 }, 1.0);
        let mut path = BezPath::new();
        let mut at = 0.0;
        for c in word.chars() {
            let letter = outlined(
                UBUNTU_LIGHT,
                &c.to_string(),
                7.0,
                flip * Affine::translate((at, 0.0)),
            );
            path.extend(letter.elements().iter().copied());
            let advance = face
                .glyph_hor_advance(face.glyph_index(c).unwrap())
                .unwrap();
            // Closer than the face has them, so that most overlap their neighbours a little.
            at += 7.0 * (f64::from(advance) / em - 0.15);
        }
        let ink = Region::from_path(&path, false, 0.002);
        let drawn: Vec<Vec<Point>> = polylines(&path, 0.002)
            .into_iter()
            .map(|line| line.points)
            .collect();
        assert!(ink.pieces().len() < word.len(), "{word}: nothing touches");
        let reading = reader.read(&ink, &drawn, false);
        let first = &reading.words[0];
        assert_eq!(first.text, word);
        assert_eq!(first.mirrored, mirrored);
        assert!(first.decided && first.up.dot(Vec2::new(0.0, -1.0)) > 0.999);
        // Drawn twice, the same rings are not the ink: nothing is read twice.
        let twice: Vec<_> = drawn.iter().chain(&drawn).cloned().collect();
        let reading = reader.read(&ink, &twice, false);
        assert_ne!(reading.words.first().map(|w| w.text.as_str()), Some(word));
    }
}

#[test]
fn a_ligature_spells_its_letters() {
    let reading = read(
        &reader(),
        &outlined(UBUNTU_LIGHT, "Jose\u{fb01}na", 7.0, Affine::IDENTITY),
    );
    assert_eq!(reading.words[0].text, "Josefina");
    assert_eq!(reading.words[0].letters, 8);
}

#[test]
fn what_is_no_lettering_is_not_read() {
    let mut star = BezPath::new();
    for n in 0..10 {
        let r = if n % 2 == 0 { 6.0 } else { 2.5 };
        let a = f64::from(n) * std::f64::consts::PI / 5.0;
        let p = Point::new(20.0 + r * a.sin(), 20.0 - r * a.cos());
        if n == 0 {
            star.move_to(p);
        } else {
            star.line_to(p);
        }
    }
    star.close_path();
    assert_eq!(read(&reader(), &star).words, Vec::new());
}

/// The face is not looked for here: the shapes alone must tell, or be silent.
#[test]
fn shapes_of_letters_tell_which_way_up_or_nothing() {
    let words = [
        "Bartholomew",
        "Gwendolyn",
        "Patricia",
        "Thomas",
        "MARGARET",
        "Frederik",
    ];
    let mut told = 0;
    let mut all = 0;
    for (font, word) in words
        .iter()
        .enumerate()
        .map(|(n, w)| ([UBUNTU_LIGHT, HACK_REGULAR][n % 2], w))
    {
        for (turn, mirrored) in [(0.0_f64, false), (180.0, false), (0.0, true)] {
            let flip = Affine::scale_non_uniform(if mirrored { -1.0 } else { 1.0 }, 1.0);
            let path = outlined(font, word, 7.0, Affine::rotate(turn.to_radians()) * flip);
            let seen = by_shape::look(&Region::from_path(&path, false, 0.002)).unwrap();
            all += 1;
            if let Some(lay) = seen.lies() {
                told += 1;
                let expected = ((turn / 90.0) as u8, mirrored);
                assert_eq!((lay.quarters, lay.mirrored), expected, "{word}: {seen:?}");
            }
        }
    }
    assert!(told * 10 >= all * 8, "only {told} of {all} told");
}
