//! The same mark twice is held however the copy is written; art that only touches is not.

use crate::common::bench;

use bench::{Bench, name, others, png};
use jigwarden::tested::inspect::Options;
use jigwarden::tested::mend::{Wanted, mend};
use jigwarden::tested::report::Verdict;

const CUTS: &str = "[run]\ncuts = \"inside-zone\"\n";

fn line(d: &str, paint: &str) -> String {
    format!("<path d='{d}' fill='none' stroke='{paint}' stroke-width='0.2'/>")
}

fn cut(d: &str) -> String {
    line(d, "#7b2d8b")
}

fn score(d: &str) -> String {
    line(d, "#0a7d55")
}

fn engraved(d: &str) -> String {
    line(d, "#1b1b1b")
}

fn fill(d: &str) -> String {
    format!("<path d='{d}' fill='#1b1b1b'/>")
}

/// What `doubled` says, where everything lies in A1.
fn said(bench: &Bench, art: &str) -> Vec<String> {
    bench
        .of("doubled", &format!("{art}{}", others(&[1])))
        .into_iter()
        .map(|f| {
            assert_eq!(f.pocket.as_deref(), Some("A1"), "{art}");
            f.message
        })
        .collect()
}

const SQUARE: &str = "M30 90h20v20h-20z";
const ROUND: &str = "M50 100a10 10 0 0 1 -20 0a10 10 0 0 1 20 0z";

#[test]
fn copies_are_found_however_they_are_written() {
    let bench = Bench::with(CUTS);
    for art in [
        cut(SQUARE) + &cut(SQUARE),
        // Another direction, start and split.
        cut(SQUARE) + &cut("M50 110v-20h-20v20z"),
        cut(SQUARE) + &cut("M30 90h20v20") + &cut("M50 110h-20v-20"),
        cut("M30 90h20v20h-20v-20") + &cut(SQUARE),
        cut(ROUND) + &cut("M40 110a10 10 0 0 0 0 -20a10 10 0 0 0 0 20z"),
        // Moved by less than half of `place`.
        cut(SQUARE) + &cut("M30.04 90h20v20h-20z"),
        cut(SQUARE) + "<rect x='30' y='90' width='20' height='20' fill='none' stroke='#7b2d8b'/>",
        cut(SQUARE)
            + "<g transform='translate(30 90) scale(2)'><path d='M0 0h10v10h-10z' fill='none' stroke='#7b2d8b'/></g>",
        // Twice in one path, and twice by clone.
        cut(&format!("{SQUARE}{SQUARE}")),
        "<g id='s'>".to_owned() + &score(SQUARE) + "</g><use href='#s'/>",
        score("M30 90h20") + &score("M50 90h-20"),
        engraved("M30 90h20") + &engraved("M50 90h-20"),
        // Small ones.
        score("M40 100a.3 .3 0 0 1 -.6 0a.3 .3 0 0 1 .6 0z")
            + &score("M40 100a.3 .3 0 0 1 -.6 0a.3 .3 0 0 1 .6 0z"),
        // Fills.
        fill(SQUARE) + &fill("M50 110v-20h-20v20z"),
        fill(SQUARE) + &fill(&format!("M30 115h5v5h-5z{SQUARE}")),
        name("Ada", 40.0, 100.0, "") + &name("Ada", 40.0, 100.0, ""),
        name("Ada", 40.0, 100.0, "id='first'") + "<use href='#first'/>",
    ] {
        assert_eq!(said(&bench, &art).len(), 1, "{art}");
    }
}

#[test]
fn shared_stretches_of_cut_and_score_lines_are_measured() {
    let bench = Bench::with(CUTS);
    for (art, words) in [
        (cut(SQUARE) + &cut("M50 95h5v10h-5z"), "in part, for 10 mm"),
        (cut(SQUARE) + &cut("M50 108v8h4v-8z"), "in part, for 2 mm"),
        (
            score("M25 100h20") + &score("M40 100h15"),
            "in part, for 5 mm",
        ),
        // A part of a whole lies on it all along.
        (cut(SQUARE) + &cut("M35 90h10"), "all along, for 10 mm"),
    ] {
        let said = said(&bench, &art);
        assert!(
            said.len() == 1 && said[0].contains(words),
            "{said:?} lacks {words}\n{art}"
        );
    }
}

#[test]
fn what_only_touches_is_clear() {
    let bench = Bench::with(CUTS);
    let hatch: String = (0..40)
        .map(|i| engraved(&format!("M30 {}h20", 90.0 + 0.25 * f64::from(i))))
        .collect();
    let fine: String = (0..40)
        .map(|i| score(&format!("M30 {}h20", 90.0 + 0.1 * f64::from(i))))
        .collect();
    let crossed: String = (0..80)
        .map(|i| score(&format!("M{} 88v22", 30.0 + 0.2 * f64::from(i))))
        .collect();
    for art in [
        hatch.clone(),
        fine,
        crossed + &score("M30 100h16"),
        // Side by side, corner to corner, crossing, and circles that touch.
        cut("M30 90h10v10h-10z") + &cut("M40.2 90h10v10h-10z"),
        cut("M30 90h10v10h-10z") + &cut("M40 100h10v10h-10z"),
        cut("M30 90l20 20") + &cut("M50 90l-20 20"),
        cut("M40 100a5 5 0 0 1 -10 0a5 5 0 0 1 10 0z")
            + &cut("M50 100a5 5 0 0 1 -10 0a5 5 0 0 1 10 0z"),
        // Lines that go on where another ends.
        cut("M30 90h10") + &cut("M40 90h10"),
        // Neighbours of a drawing that share an edge, engraved.
        engraved("M30 90h10v10h-10z") + &engraved("M40 90h10v10h-10z"),
        // A shape with its outline, in one element and in two.
        format!("<path d='{SQUARE}' fill='#1b1b1b' stroke='#1b1b1b' stroke-width='0.4'/>"),
        fill(SQUARE) + &score(SQUARE),
        // Two operations on one place are two wishes.
        score(SQUARE) + &cut(SQUARE),
        // One copy is off.
        cut(SQUARE) + &line(SQUARE, "#9aa0a6"),
        // Overlapping, not the same.
        fill(SQUARE) + &fill("M30 90h20v21h-20z"),
        // A ring and a disc that fills it share their outer edge, and are two things.
        fill("M30 90h20v20h-20zM35 95v10h10v-10z") + &fill(SQUARE),
        // Lettering with a line, and the same word elsewhere.
        name("Ada", 40.0, 100.0, "stroke='#1b1b1b' stroke-width='0.3'"),
        name("Ada", 40.0, 100.0, "") + &name("Ada", 40.0, 100.3, ""),
    ] {
        let found = said(&bench, &art);
        assert!(found.is_empty(), "{found:?}\n{art}");
    }
}

#[test]
fn a_picture_placed_twice_is_doubled() {
    let bench = Bench::new();
    let image = |x: f64| {
        let data = png(&image::RgbImage::from_pixel(300, 150, image::Rgb([0, 0, 0])).into());
        format!("<image x='{x}' y='90' width='20' height='10' href='{data}'/>")
    };
    assert_eq!(said(&bench, &(image(30.0) + &image(30.01))).len(), 1);
    assert_eq!(said(&bench, &(image(30.0) + &image(30.5))).len(), 0);
}

#[test]
fn full_colour_art_may_lie_shape_on_shape() {
    let bench = Bench::with("other = \"engrave\"\n");
    let art = format!(
        "<path d='{SQUARE}' fill='#c05010'/><path d='{SQUARE}' fill='#e0a040' opacity='0.5'/>"
    );
    assert!(said(&bench, &art).is_empty());
    assert_eq!(said(&bench, &(fill(SQUARE) + &fill(SQUARE))).len(), 1);
}

/// What `mend` leaves of art in A1, where the copy is clear.
fn mended(art: &str) -> Option<String> {
    let folder = Bench::with(CUTS).into_folder();
    let path = folder.path().join("run.svg");
    let body = format!("{}<g>{art}</g>{}", bench::off_outlines(), others(&[1]));
    std::fs::write(&path, bench::page(&body)).unwrap();
    let is = mend(&path, &Options::default(), &Wanted::default()).unwrap();
    let start = is.text.find("<g>").unwrap() + "<g>".len();
    let end = start + is.text[start..].find("</g>").unwrap();
    (is.after.verdict == Verdict::Clear).then(|| is.text[start..end].to_owned())
}

#[test]
fn of_two_widths_the_wider_stays() {
    let wide = engraved("M30 90h20").replace("'0.2'", "'1.2'");
    let thin = engraved("M30 90h20");
    for art in [wide.clone() + &thin, thin.clone() + &wide] {
        assert_eq!(mended(&art).as_deref(), Some(wide.as_str()), "{art}");
    }
}

/// Deleted with its element, a double would take with it what is there once.
#[test]
fn of_lines_in_one_path_none_is_lost() {
    for art in [
        engraved("M30 90h20M30 90h20"),
        score("M30 90h20M50 90h-20"),
        cut("M30 90h20M30 100h20") + &cut("M30 90h20M30 110h20"),
        score("M30 90h20M30 110h8") + &score("M30 90h20M42 110h8"),
    ] {
        assert_eq!(mended(&art), None, "{art}");
    }
}

#[test]
fn what_lies_on_a_longer_line_is_deleted_and_a_line_that_reaches_past_is_not() {
    let whole = cut(SQUARE);
    let part = cut("M35 90h10");
    for art in [whole.clone() + &part, part.clone() + &whole] {
        assert_eq!(mended(&art).as_deref(), Some(whole.as_str()), "{art}");
    }
    // Wider than what it lies on, with a filled inside, one of two lines of its path, or past its end.
    let wide = engraved("M34 100h8").replace("'0.2'", "'1.2'");
    for art in [
        engraved("M30 100h20") + &wide,
        score("M30 100h20") + "<path d='M34 100h8v4z' fill='#1b1b1b' stroke='#0a7d55'/>",
        score("M30 100h20") + &score("M34 100h8M34 104h8"),
        score("M30 100h20") + &score("M44 100h8"),
    ] {
        assert_eq!(mended(&art), None, "{art}");
    }
}
