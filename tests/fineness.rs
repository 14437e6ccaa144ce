//! What is too fine, too small or too coarse for the bench asks for a look; ordinary art does not.

use crate::common::bench;

use bench::{Bench, others, png};

const LOOKS: [&str; 3] = ["too-fine", "letter-too-small", "picture-coarse"];

fn looks(bench: &Bench, art: &str) -> Vec<(String, f64)> {
    let run = bench.run(&format!("{art}{}", others(&[1])));
    run.findings
        .iter()
        .filter(|f| LOOKS.contains(&f.rule))
        .map(|f| {
            assert_eq!(f.pocket.as_deref(), Some("A1"), "{art}");
            (f.rule.to_owned(), f.measured.as_ref().unwrap().value)
        })
        .collect()
}

fn text(what: &str, family: &str, weight: u16, size: f64) -> String {
    format!(
        "<text x='40' y='100' font-family='{family}' font-weight='{weight}' font-size='{size}' text-anchor='middle' fill='#1b1b1b'>{what}</text>"
    )
}

#[test]
fn ordinary_lettering_is_clear_at_five_millimetres() {
    let bench = Bench::new();
    for (family, weight) in [("Ubuntu", 300), ("Hack", 400)] {
        for what in [
            "AVWMNZ", "Kxyvwz", "@&amp;%#", "1247", "aegst", "Ørñç", "*!?:;,.",
        ] {
            // At 7 mm to the em a capital is about 5 mm high.
            let found = looks(&bench, &text(what, family, weight, 7.0));
            assert_eq!(found, [], "{what} in {family}");
        }
    }
}

#[test]
fn lines_and_shapes_below_the_limit_are_measured() {
    let bench = Bench::new();
    for (art, expected) in [
        (
            "<path d='M30 100h20' fill='none' stroke='#1b1b1b' stroke-width='0.12'/>",
            0.12,
        ),
        // As it lies on the bed, whatever the scale.
        (
            "<g transform='scale(0.1)'><path d='M300 1000h200' fill='none' stroke='#1b1b1b' stroke-width='1.2'/></g>",
            0.12,
        ),
        ("<path d='M30 100h20v.1h-20z' fill='#1b1b1b'/>", 0.1),
        // One direction only is squeezed.
        (
            "<path transform='scale(1 0.1)' d='M30 1000h20' fill='none' stroke='#1b1b1b' stroke-width='1'/>",
            0.1,
        ),
        (
            "<path d='M30 90h8v8h-8zM38 94h3v.1h-3zM41 90h8v8h-8z' fill='#1b1b1b'/>",
            0.1,
        ),
    ] {
        let found = looks(&bench, art);
        assert_eq!(found.len(), 1, "{found:?} {art}");
        assert!(
            found[0].0 == "too-fine" && (found[0].1 - expected).abs() < 0.02,
            "{found:?} {art}"
        );
    }
}

#[test]
fn what_is_wide_enough_or_followed_by_the_beam_is_clear() {
    let bench = Bench::with("[run]\ncuts = \"inside-zone\"\n");
    for art in [
        "<path d='M30 100h20' fill='none' stroke='#1b1b1b' stroke-width='0.2'/>",
        "<path d='M30 100h20' fill='none' stroke='#0a7d55' stroke-width='0.01'/>",
        "<path d='M30 100h20' fill='none' stroke='#7b2d8b' stroke-width='0.01'/>",
        // A fine line around a shape only makes it heavier.
        "<circle cx='40' cy='100' r='5' fill='#1b1b1b' stroke='#1b1b1b' stroke-width='0.05'/>",
        // A thin shape made heavier by its own line.
        "<path d='M30 100h20v.1h-20z' fill='#1b1b1b' stroke='#1b1b1b' stroke-width='0.15'/>",
        // Two halves that lie side by side are one wide shape.
        "<path d='M30 100h20v.12h-20z' fill='#1b1b1b'/><path d='M30 100.12h20v.12h-20z' fill='#1b1b1b'/>",
        "<path d='M40 90l2 7h7l-6 4 3 8-6-5-6 5 3-8-6-4h7z' fill='#1b1b1b'/>",
    ] {
        assert_eq!(looks(&bench, art), [], "{art}");
    }
}

#[test]
fn small_letters_are_measured_by_their_kind() {
    let bench = Bench::new();
    let heights = |what: &str, size: f64| -> Vec<f64> {
        looks(&bench, &text(what, "Ubuntu", 300, size))
            .into_iter()
            .filter(|(rule, _)| rule == "letter-too-small")
            .map(|(_, value)| value)
            .collect()
    };
    // The face's own numbers: capitals 693 and small letters 520 of 1000.
    for (what, size, expected) in [
        ("ADA", 2.5, Some(2.5 * 0.693)),
        ("Ada", 2.5, Some(2.5 * 0.693)),
        ("2031", 2.5, Some(2.5 * 0.693)),
        ("ada", 3.5, Some(3.5 * 0.52)),
        ("Ada", 3.5, None),
        ("ada", 4.0, None),
        ("- . -", 2.0, None),
    ] {
        let got = heights(what, size);
        match expected {
            None => assert!(got.is_empty(), "{what} {size}: {got:?}"),
            Some(e) => assert!(
                got.len() == 1 && (got[0] - e).abs() < 0.03,
                "{what} {size}: {got:?}, expected {e}"
            ),
        }
    }
    // As it lies on the bed: turned and scaled.
    let art = format!(
        "<g transform='rotate(90 40 100) translate(40 100) scale(0.3) translate(-40 -100)'>{}</g>",
        text("ADA", "Ubuntu", 300, 8.0)
    );
    let found = looks(&bench, &art);
    let small = found.iter().find(|f| f.0 == "letter-too-small").unwrap();
    assert!((small.1 - 2.4 * 0.693).abs() < 0.03, "{small:?}");
}

#[test]
fn a_picture_is_as_coarse_as_it_is_placed() {
    let bench = Bench::new();
    let image = |width: f64, height: f64| {
        let data = png(&image::RgbImage::from_pixel(200, 100, image::Rgb([20, 20, 20])).into());
        format!(
            "<image x='24' y='80' width='{width}' height='{height}' preserveAspectRatio='none' href='{data}'/>"
        )
    };
    // 200 dots over an inch are 200 to the inch.
    assert_eq!(looks(&bench, &image(25.4, 12.7)), []);
    for (w, h, dots) in [(30.0, 15.0, 169.33), (20.0, 20.0, 127.0)] {
        let found = looks(&bench, &image(w, h));
        assert_eq!(found.len(), 1);
        assert!(
            found[0].0 == "picture-coarse" && (found[0].1 - dots).abs() < 0.1,
            "{found:?}"
        );
    }
}
