//! What a mark burns, from the file to the bed: every expected number is worked out by hand from the
//! shapes of SVG 2, 13.4 (strokes) and CSS Masking 1, 5 (clips).

use crate::common::bench;

use std::f64::consts::PI;

use bench::read;
use kurbo::Rect;

/// Ink is told to about this, in millimetres and square millimetres of these small shapes.
const WITHIN: f64 = 0.02;

/// Area and box of all the ink of a drawing, whose unit is a millimetre.
fn ink(art: &str) -> (f64, Rect) {
    let artwork = read(art);
    let doubts: Vec<_> = artwork.unproven.iter().map(|u| &u.what).collect();
    assert!(doubts.is_empty(), "{doubts:?}\n{art}");
    let area = artwork.marks.iter().map(|m| m.ink().area()).sum();
    let bounds = artwork
        .marks
        .iter()
        .filter_map(|m| m.ink().bounds())
        .reduce(|a, b| a.union(b));
    (area, bounds.unwrap_or_default())
}

fn check(art: &str, area: f64, bounds: (f64, f64, f64, f64)) {
    let (got, frame) = ink(art);
    let wanted = [bounds.0, bounds.1, bounds.2, bounds.3];
    let is = [frame.x0, frame.y0, frame.x1, frame.y1];
    assert!(
        is.iter().zip(&wanted).all(|(a, b)| (a - b).abs() <= WITHIN),
        "box {frame:?}, expected {wanted:?}\n{art}"
    );
    assert!(
        (got - area).abs() <= WITHIN * area.max(1.0),
        "area {got}, expected {area}\n{art}"
    );
}

fn line(d: &str, more: &str) -> String {
    format!("<path d='{d}' fill='none' stroke='#1b1b1b' stroke-width='2' {more}/>")
}

#[test]
fn ends_and_corners_reach_as_far_as_they_are_drawn() {
    let straight = "M20 20h10";
    check(&line(straight, ""), 20.0, (20.0, 19.0, 30.0, 21.0));
    check(
        &line(straight, "stroke-linecap='square'"),
        24.0,
        (19.0, 19.0, 31.0, 21.0),
    );
    check(
        &line(straight, "style='stroke-linecap:round'"),
        20.0 + PI,
        (19.0, 19.0, 31.0, 21.0),
    );
    // A right angle, its legs 10 long: the corner adds a square of 1 (miter), its half (bevel), or a
    // quarter of a disc (round) to two legs that share a square of 1.
    let angle = "M20 20h10v10";
    let legs = 39.0;
    check(&line(angle, ""), legs + 1.0, (20.0, 19.0, 31.0, 30.0));
    check(
        &line(angle, "stroke-linejoin='bevel'"),
        legs + 0.5,
        (20.0, 19.0, 31.0, 30.0),
    );
    check(
        &line(angle, "stroke-linejoin='round'"),
        legs + PI / 4.0,
        (20.0, 19.0, 31.0, 30.0),
    );
    // The miter of a right angle is √2 widths long: a limit below that bevels it.
    check(
        &line(angle, "stroke-miterlimit='1.4'"),
        legs + 0.5,
        (20.0, 19.0, 31.0, 30.0),
    );
    check(
        &line(angle, "stroke-miterlimit='1.42'"),
        legs + 1.0,
        (20.0, 19.0, 31.0, 30.0),
    );
    // A sharp one: the tip stands w / (2 sin(θ/2)) beyond the corner, here with sin(θ/2) = 1/√17, and
    // the miter is √17 = 4.12 widths long: drawn with a limit of 5, cut off by the initial 4.
    let sharp = "M20 20l8 2l-8 2";
    let tip = 28.0 + 17f64.sqrt();
    let (_, frame) = ink(&line(sharp, "stroke-miterlimit='5'"));
    assert!((frame.x1 - tip).abs() <= WITHIN, "{frame:?}");
    let (_, frame) = ink(&line(sharp, ""));
    assert!(frame.x1 < 28.5, "{frame:?}");
}

#[test]
fn dashes_leave_gaps() {
    let long = "M20 20h30";
    // 4 on, 2 off: five whole dashes in 30.
    check(
        &line(long, "stroke-dasharray='4 2'"),
        40.0,
        (20.0, 19.0, 48.0, 21.0),
    );
    // An odd list is taken twice: 5 on 5 off.
    check(
        &line(long, "stroke-dasharray='5'"),
        30.0,
        (20.0, 19.0, 45.0, 21.0),
    );
    // The pattern begins 3 in: 1 on, 2 off, 4 on …
    check(
        &line(long, "stroke-dasharray='4,2' stroke-dashoffset='3'"),
        (1.0 + 4.0 * 4.0 + 3.0) * 2.0,
        (20.0, 19.0, 50.0, 21.0),
    );
}

#[test]
fn the_pen_is_scaled_with_the_drawing_unless_it_says_not_to() {
    // Twice as wide as high: a pen of 2 is 4 across and 2 down.
    let stretched =
        |d: &str, more: &str| format!("<g transform='scale(2 1)'>{}</g>", line(d, more));
    check(&stretched("M10 20h10", ""), 40.0, (20.0, 19.0, 40.0, 21.0));
    check(&stretched("M10 20v10", ""), 40.0, (18.0, 20.0, 22.0, 30.0));
    let fixed = "vector-effect='non-scaling-stroke'";
    // As wide as on the screen: 2 CSS px of a page whose unit is a millimetre, 2 × 25.4/96 mm.
    let px = 2.0 * 25.4 / 96.0;
    check(
        &stretched("M10 20v10", fixed),
        10.0 * px,
        (20.0 - px / 2.0, 20.0, 20.0 + px / 2.0, 30.0),
    );
}

#[test]
fn rules_of_filling_differ_where_an_outline_runs_round_twice() {
    // A square of 10 around one of 4, both clockwise.
    let d = "M20 20h10v10h-10zM23 23h4v4h-4z";
    let fill = |rule: &str| format!("<path d='{d}' fill='#1b1b1b' {rule}/>");
    check(&fill(""), 100.0, (20.0, 20.0, 30.0, 30.0));
    check(&fill("fill-rule='evenodd'"), 84.0, (20.0, 20.0, 30.0, 30.0));
}

#[test]
fn only_what_a_clip_leaves_is_ink() {
    let square = "<rect x='20' y='20' width='10' height='10' fill='#1b1b1b' clip-path='url(#c)'/>";
    let clipped = |clip: &str| format!("<defs>{clip}</defs>{square}");
    // The left half; by the element's own box; a disc of radius 3.
    check(
        &clipped("<clipPath id='c'><rect x='15' y='0' width='10' height='90'/></clipPath>"),
        50.0,
        (20.0, 20.0, 25.0, 30.0),
    );
    check(
        &clipped(
            "<clipPath id='c' clipPathUnits='objectBoundingBox'><rect x='.5' y='.2' width='.5' height='.6'/></clipPath>",
        ),
        30.0,
        (25.0, 22.0, 30.0, 28.0),
    );
    check(
        &clipped("<clipPath id='c'><circle cx='25' cy='25' r='3'/></clipPath>"),
        9.0 * PI,
        (22.0, 22.0, 28.0, 28.0),
    );
    // Two shapes in one clip add up; a clip of the clip takes from it; its own rule of filling counts.
    check(
        &clipped(
            "<clipPath id='c'><rect x='20' y='20' width='2' height='10'/><rect x='28' y='20' width='2' height='10'/></clipPath>",
        ),
        40.0,
        (20.0, 20.0, 30.0, 30.0),
    );
    check(
        &clipped(
            "<clipPath id='d'><rect x='20' y='20' width='10' height='5'/></clipPath><clipPath id='c' clip-path='url(#d)'><rect x='15' y='0' width='10' height='90'/></clipPath>",
        ),
        25.0,
        (20.0, 20.0, 25.0, 25.0),
    );
    check(
        &clipped(
            "<clipPath id='c'><path clip-rule='evenodd' d='M20 20h10v10h-10zM23 23h4v4h-4z'/></clipPath>",
        ),
        84.0,
        (20.0, 20.0, 30.0, 30.0),
    );
    // On a group, and on a group within; the frame is that of the group.
    check(
        "<clipPath id='c'><rect x='0' y='0' width='5' height='90'/></clipPath><clipPath id='d'><rect width='90' height='4'/></clipPath><g transform='translate(20 20)' clip-path='url(#c)'><g clip-path='url(#d)'><rect width='10' height='10' fill='#1b1b1b'/></g></g>",
        20.0,
        (20.0, 20.0, 25.0, 24.0),
    );
    // The line of a mark is cut as its inside is.
    check(
        &format!(
            "<clipPath id='c'><rect x='20' y='0' width='4' height='90'/></clipPath>{}",
            line("M10 20h40", "clip-path='url(#c)'")
        ),
        8.0,
        (20.0, 19.0, 24.0, 21.0),
    );
    // An empty clip leaves nothing.
    let (area, _) = ink(&clipped("<clipPath id='c'/>"));
    assert!(area == 0.0, "{area}");
}

#[test]
fn a_clone_is_inked_where_it_is_shown() {
    check(
        "<defs><g id='a'><rect width='4' height='2' fill='#1b1b1b'/></g></defs><use href='#a' x='20' y='20'/><use href='#a' transform='translate(40 20) rotate(90)'/>",
        16.0,
        (20.0, 20.0, 40.0, 24.0),
    );
    // A symbol's own page, doubled in size and cut at its edge.
    check(
        "<symbol id='s' viewBox='0 0 5 5'><rect width='10' height='2' fill='#1b1b1b'/></symbol><use href='#s' x='20' y='20' width='10' height='10'/>",
        40.0,
        (20.0, 20.0, 30.0, 24.0),
    );
}

/// The boxes that a mark says it shows in.
fn extents(mark: &jigwarden::tested::artwork::mark::Mark) -> Vec<Rect> {
    let mut boxes = Vec::new();
    mark.extents(|b| boxes.push(b));
    boxes
}

#[test]
fn the_boxes_along_a_line_hold_all_of_its_ink() {
    let zigzag: String = (0..400)
        .map(|i| format!("L{} {}", 20 + i % 40, 20 + i * i % 90))
        .collect();
    let shapes = [
        "M20 20h10v10",
        "M20 20 60 21 20 22z",
        "M20 20c30 0 30 40 0 40s30 20 60 0q-9 30 -40 9",
        "M20 20zM60 60h0",
        "M20 20h40v40h-40zM30 30h20v20h-20z",
        &format!("M20 20{zigzag}"),
    ];
    let ways = [
        "",
        "stroke-linecap='square' stroke-miterlimit='40'",
        "stroke-linecap='round' stroke-linejoin='round' stroke-dasharray='1 2'",
        "transform='translate(9 9) skewX(40) scale(2 0.5)' stroke-miterlimit='9'",
    ];
    for (d, more) in shapes.iter().flat_map(|d| ways.map(|more| (d, more))) {
        let artwork = read(&line(d, more));
        for mark in &artwork.marks {
            let boxes = extents(mark);
            assert!(boxes.len() < 70, "{}", boxes.len());
            for (a, b) in mark.ink().edges() {
                for p in [a, a.midpoint(b), b] {
                    assert!(
                        boxes.iter().any(|r| r.contains(p)),
                        "{p:?} of \"{d}\" {more} is in none of {boxes:?}"
                    );
                }
            }
        }
    }
}

#[test]
fn a_frame_does_not_reach_over_what_is_inside_it() {
    let artwork = read(&line("M20 20h40v40h-40z", ""));
    // A corner may reach out by the limit of a miter, four times half the width: on both sides.
    let inside = Rect::new(24.5, 24.5, 55.5, 55.5);
    let mark = &artwork.marks.as_slice()[0];
    let clear = |r: &Rect| r.intersect(inside).is_zero_area();
    assert!(extents(mark).iter().all(clear), "{:?}", extents(mark));
    assert!(!clear(&mark.reach().unwrap()));
}
