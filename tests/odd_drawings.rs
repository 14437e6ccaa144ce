//! Drawings as still other people make them: curves of many nodes, clones, nested pages, other units,
//! frames of four lines, dimension lines, specks, lines that nearly meet or lie twice.

use crate::common::tags::asked;
use crate::common::tags::enrol;
use crate::drafts::{CUT, PAGE, SCORE, ZONE, came_of, is, line, rect, ring};
use jigwarden::tested::enrolling::Enrolled;

/// A pocket of 28 × 90 mm with round corners, its left edge at `x`.
fn tag(x: usize) -> String {
    format!(
        "M{},80h20a4,4 0 0 1 4,4v82a4,4 0 0 1 -4,4h-20a4,4 0 0 1 -4,-4v-82a4,4 0 0 1 4,-4z",
        x + 4
    )
}

const PLACES: [usize; 4] = [20, 55, 90, 125];

fn tags() -> String {
    PLACES.map(|x| line(&tag(x), CUT)).concat()
}

const SIZE: (f64, f64) = (28.0, 90.0);

#[test]
fn ellipses_and_curves_of_many_nodes() {
    let ellipses: String = (0..4)
        .map(|n| {
            format!(
                "<ellipse cx='{}' cy='100' rx='20' ry='35' fill='none' stroke='{CUT}'/>",
                40 + 60 * n
            )
        })
        .collect();
    let came = came_of(&(ellipses + &rect(5.0, 40.0, 260.0, 120.0, CUT)), PAGE);
    is(&came, 4, (40.0, 70.0), 0.0);
    let discs: String = (0..4)
        .map(|n| {
            let points: Vec<String> = (0..200)
                .map(|t| {
                    let (y, x) = (f64::from(t) * std::f64::consts::PI / 100.0).sin_cos();
                    let x = 40.0 + 60.0 * f64::from(n) + 25.0 * x;
                    format!("{x:.3},{:.3}", 100.0 + 25.0 * y)
                })
                .collect();
            line(&format!("M{}Z", points.join("L")), CUT)
        })
        .collect();
    is(&came_of(&discs, PAGE), 4, (50.0, 50.0), 0.0);
}

#[test]
fn transforms_clones_nested_pages_and_clips() {
    let scaled: String = (0..4)
        .map(|n| {
            let at = format!("translate({} 20)", 10 + 18 * n);
            format!(
                "<g transform='{at}'>{}</g>",
                rect(0.0, 0.0, 14.0, 45.0, CUT)
            )
        })
        .collect();
    let scaled = format!("<g transform='translate(10 20) scale(2)'>{scaled}</g>");
    is(&came_of(&scaled, PAGE), 4, SIZE, 0.0);
    let shape = rect(0.0, 0.0, 28.0, 90.0, CUT);
    let clones = PLACES
        .map(|x| format!("<use href='#t' x='{x}' y='80'/>"))
        .concat();
    let symbol = format!("<symbol id='t' overflow='visible'>{shape}</symbol>{clones}");
    is(&came_of(&symbol, PAGE), 4, SIZE, 0.0);
    let nested = format!(
        "<svg x='10' y='5' width='150' height='190' viewBox='0 0 150 190'>{}</svg>",
        tags()
    );
    is(&came_of(&nested, PAGE), 4, SIZE, 0.0);
    let clipped = format!(
        "<clipPath id='k'><rect y='60' width='300' height='140'/></clipPath><g clip-path='url(#k)'>{}</g>",
        tags()
    );
    is(&came_of(&clipped, PAGE), 4, SIZE, 0.0);
}

#[test]
fn pages_in_inches_points_and_centimetres() {
    let row = |x: f64, step: f64, y: f64, w: f64, h: f64| -> String {
        (0..4)
            .map(|n| rect(x + step * f64::from(n), y, w, h, CUT))
            .collect()
    };
    let inches = came_of(
        &row(1.0, 1.4, 2.0, 1.125, 3.5),
        "width='12in' height='8in' viewBox='0 0 12 8'",
    );
    is(&inches, 4, (1.125 * 25.4, 3.5 * 25.4), 0.0);
    assert!(
        inches.draft.contains("margin = \"0.04 in\""),
        "{}",
        inches.draft
    );
    let points = "width='850pt' height='566pt' viewBox='0 0 850 566'";
    let points = came_of(&row(60.0, 100.0, 200.0, 80.0, 260.0), points);
    is(&points, 4, (80.0 / 72.0 * 25.4, 260.0 / 72.0 * 25.4), 0.0);
    let cm = "width='30cm' height='20cm' viewBox='0 0 30 20'";
    is(
        &came_of(&row(2.0, 3.5, 8.0, 2.8, 9.2), cm),
        4,
        (28.0, 92.0),
        0.0,
    );
}

#[test]
fn frames_of_four_lines_dashed_zones_and_crosses() {
    let frame = ["M5 60H170", "M170 60V195", "M170 195H5", "M5 195V60"].map(|d| line(d, CUT));
    let came = came_of(&(frame.concat() + &tags()), PAGE);
    is(&came, 4, SIZE, 0.0);
    let zones = PLACES.map(|x| {
        rect(x as f64 + 3.0, 105.0, 22.0, 60.0, ZONE).replace("/>", " stroke-dasharray='2 1'/>")
    });
    let came = came_of(&(tags() + &zones.concat()), PAGE);
    is(&came, 4, SIZE, 0.0);
    assert!(came.settings.drawn_zones.is_some(), "{}", came.draft);
    let crosses: String = [(6.0, 6.0), (290.0, 6.0), (6.0, 190.0), (290.0, 190.0)]
        .map(|(x, y)| {
            line(&format!("M{} {y}h8M{x} {}v8", x - 4.0, y - 4.0), SCORE) + &ring(x, y, 2.0, SCORE)
        })
        .concat();
    is(&came_of(&(tags() + &crosses), PAGE), 4, SIZE, 0.0);
}

#[test]
fn outlined_labels_dimension_lines_and_specks() {
    let labels = PLACES.map(|x| {
        let (a, b) = (x + 4, x + 12);
        line(&format!("M{a} 190l2 -5l2 5zM{b} 185h3v5h-3z"), SCORE)
    });
    is(&came_of(&(tags() + &labels.concat()), PAGE), 4, SIZE, 0.0);
    let dimension = line(
        "M20 70V60M48 70V60M20 62H48M22 61l-2 1l2 1zM46 61l2 1l-2 1z",
        SCORE,
    );
    let words = format!(
        "<text x='28' y='59' font-size='4' font-family='Ubuntu' font-weight='300' fill='{SCORE}'>28 mm</text>"
    );
    is(
        &came_of(&(tags() + &dimension + &words), PAGE),
        4,
        SIZE,
        0.0,
    );
    let specks: String = (0..9)
        .map(|n| ring(10.0 + 7.0 * f64::from(n), 30.0, 0.05, CUT))
        .collect();
    is(&came_of(&(tags() + &specks), PAGE), 4, SIZE, 0.0);
}

/// What enrolling says of a drawing, refused or not.
fn said(body: &str, head: &str) -> (String, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let drawing = folder.path().join("drawing.svg");
    let text = format!("<svg xmlns='http://www.w3.org/2000/svg' {head}>{body}</svg>");
    std::fs::write(&drawing, text).unwrap();
    let said = match enrol(&drawing, false, &asked()) {
        Ok(Enrolled::Draft { found, .. }) => found.join("\n"),
        Ok(other) => panic!("{other:?}"),
        Err(e) => e.text,
    };
    (said, folder)
}

#[test]
fn lines_that_nearly_meet_are_measured() {
    let open = |gap: f64| {
        PLACES
            .map(|x| line(&format!("M{x},80h28v90h-28v-{}", 90.0 - gap), CUT))
            .concat()
    };
    let (near, _folder) = said(&open(0.05), PAGE);
    assert!(
        near.ends_with(
            "; there are lines whose ends come within 0.05 mm of each other and do not meet"
        ),
        "{near}"
    );
    let (near, _folder) = said(&open(0.3), PAGE);
    assert!(near.contains("within 0.4 mm"), "{near}");
    let (far, _folder) = said(&open(30.0), PAGE);
    assert!(far.ends_with("lines whose ends meet"), "{far}");
}

#[test]
fn what_lies_twice_counts_once_and_is_told() {
    for shift in ["", "transform='translate(0.05 0)'"] {
        let twice = tags() + &format!("<g {shift}>{}</g>", tags());
        let (told, _folder) = said(&twice, PAGE);
        assert!(
            told.contains("4 outlines of 28 × 90 mm") && told.contains("4 lines lie on another"),
            "{told}"
        );
    }
}

#[test]
fn a_page_without_a_size_leaves_the_bed_to_be_asked() {
    for head in ["", "viewBox='0 0 300 200'"] {
        let (told, folder) = said(&tags(), head);
        assert!(told.contains("does not say how large it is"), "{told}");
        let refused = enrol(folder.path(), false, &asked()).unwrap_err();
        // Not "`width` is missing": nobody was asked yet.
        assert!(refused.text.contains("still asks"), "{refused:?}");
        assert!(
            refused
                .detail
                .contains("how long is the bed from left to right"),
            "{refused:?}"
        );
    }
}
