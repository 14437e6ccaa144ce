#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use super::*;
use kurbo::{Cap, Join};
use std::f64::consts::PI;

fn pen(width: f64, cap: Cap, join: Join) -> LineStyle {
    LineStyle {
        width,
        cap,
        join,
        miter_limit: 4.0,
        dashes: Vec::new(),
        dash_offset: 0.0,
        pen: Affine::IDENTITY,
    }
}

fn ink(d: &str, line: &LineStyle, tolerance: f64) -> Region {
    ink_of_line(&BezPath::from_svg(d).unwrap(), line, tolerance)
}

#[track_caller]
fn near(actual: f64, expected: f64, within: f64, input: &str) {
    assert!(
        (actual - expected).abs() <= within,
        "{input}: actual {actual}, expected {expected} within {within}"
    );
}

#[test]
fn caps_and_joins_have_the_areas_worked_out_by_hand() {
    let corner = "M0,0 H10 V10";
    // Two arms of 10 × 2, less the square they share, plus what the join adds outside.
    let arms = 40.0 - 1.0;
    for (join, extra) in [
        (Join::Bevel, 0.5),
        (Join::Miter, 1.0),
        (Join::Round, PI / 4.0),
    ] {
        let area = ink(corner, &pen(2.0, Cap::Butt, join), 0.001).area();
        near(area, arms + extra, 0.01, &format!("{join:?}"));
    }
    for (cap, extra) in [(Cap::Butt, 0.0), (Cap::Square, 4.0), (Cap::Round, PI)] {
        let area = ink("M0,0 H10", &pen(2.0, cap, Join::Miter), 0.001).area();
        near(area, 20.0 + extra, 0.01, &format!("{cap:?}"));
    }
    // Closed: a frame with joins on every corner and no caps.
    let frame = ink(
        "M0,0 H10 V10 H0 Z",
        &pen(2.0, Cap::Square, Join::Miter),
        0.001,
    )
    .area();
    near(frame, 144.0 - 64.0, 1e-4, "frame");
}

#[test]
fn a_miter_past_its_limit_is_a_bevel() {
    // A corner of 28.955 degrees has a miter of 4 line widths: SVG 2, 13.5.5, 1/sin(θ/2).
    let spike = |degrees: f64| {
        let (s, c) = libm::sincos(degrees.to_radians());
        ink(
            &format!("M0,0 L100,0 L{},{}", 100.0 - 100.0 * c, 100.0 * s),
            &pen(1.0, Cap::Butt, Join::Miter),
            0.001,
        )
    };
    let (sharp, blunt) = (spike(28.9).bounds().unwrap(), spike(29.0).bounds().unwrap());
    assert!(sharp.x1 < 100.6, "{sharp:?}");
    near(
        blunt.x1,
        100.0 + 0.5 / libm::tan(14.5_f64.to_radians()),
        1e-3,
        "miter tip",
    );
}

#[test]
fn lines_without_length_draw_dots_and_lone_movetos_nothing() {
    for (d, cap, area) in [
        ("M5,5 L5,5", Cap::Round, PI),
        ("M5,5 Z", Cap::Square, 4.0),
        ("M5,5 L5,5", Cap::Butt, 0.0),
        ("M5,5", Cap::Round, 0.0),
    ] {
        near(
            ink(d, &pen(2.0, cap, Join::Miter), 0.001).area(),
            area,
            0.01,
            d,
        );
    }
}

#[test]
fn dashes_follow_the_pattern_round_corners_and_over_the_seam() {
    let mut line = pen(1.0, Cap::Butt, Join::Miter);
    line.dashes = vec![3.0, 1.0];
    let r = ink("M0,0 H10", &line, 0.01);
    near(r.area(), 8.0, 1e-4, "3 1 over 10: 3 + 3 + 2");
    assert_eq!(r.pieces().len(), 3);
    line.dash_offset = 3.5;
    near(
        ink("M0,0 H10", &line, 0.01).area(),
        3.0 + 3.0 + 1.5,
        1e-4,
        "offset into the gap",
    );
    line.dash_offset = -1.0;
    near(
        ink("M0,0 H10", &line, 0.01).area(),
        3.0 + 3.0 + 1.0,
        1e-4,
        "negative offset",
    );
    // Odd lists are repeated: 2 on, 1 off, 3 on, 2 off, 1 on, 3 off.
    line.dashes = vec![2.0, 1.0, 3.0];
    line.dash_offset = 0.0;
    near(ink("M0,0 H12", &line, 0.01).area(), 6.0, 1e-4, "odd list");
    // A closed square of 40 with 6 on, 6 off from its first corner: the fourth dash starts at 36,
    // runs into the first and keeps its corner: 6+6+6 and 4 joined to the first.
    line.dashes = vec![6.0, 6.0];
    let r = ink("M0,0 H10 V10 H0 Z", &line, 0.01);
    assert_eq!(r.pieces().len(), 3, "{r:?}");
    // A dash longer than the line leaves it closed, corners and all.
    line.dashes = vec![500.0, 1.0];
    assert_eq!(
        ink("M0,0 H10 V10 H0 Z", &line, 0.01),
        ink("M0,0 H10 V10 H0 Z", &pen(1.0, Cap::Butt, Join::Miter), 0.01)
    );
    // Dots by empty dashes with round caps.
    line.dashes = vec![0.0, 2.0];
    line.cap = Cap::Round;
    let dots = ink("M0,0 H10", &line, 0.001);
    assert_eq!(
        dots.pieces().len(),
        5,
        "at 0, 2, 4, 6 and 8; at 10 the line has ended"
    );
    // Nonsense is solid.
    for bad in [
        vec![0.0, 0.0],
        vec![-1.0, 2.0],
        vec![f64::NAN, 1.0],
        vec![1e-9, 1e-9],
    ] {
        line.dashes = bad;
        assert_eq!(
            ink("M0,0 H10", &line, 0.01).pieces().len(),
            1,
            "{:?}",
            line.dashes
        );
    }
}

#[test]
fn the_pen_may_be_squashed_turned_or_mirrored() {
    let mut line = pen(1.0, Cap::Butt, Join::Miter);
    line.pen = Affine::new([4.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
    near(
        ink("M0,0 V10", &line, 0.01).area(),
        40.0,
        1e-4,
        "across the stretch",
    );
    near(
        ink("M0,0 H10", &line, 0.01).area(),
        10.0,
        1e-4,
        "along the stretch",
    );
    line.pen = Affine::new([0.0, -2.0, -2.0, 0.0, 9.0, 9.0]);
    near(ink("M0,0 H10", &line, 0.01).area(), 20.0, 1e-4, "mirrored");
    line.cap = Cap::Round;
    line.pen = Affine::new([4.0, 0.0, 0.0, 1.0, 3.0, 0.0]);
    let dot = ink("M5,5 L5,5", &line, 0.001);
    near(dot.area(), PI, 0.02, "an ellipse of 2 by 0.5");
    near(dot.bounds().unwrap().width(), 4.0, 0.01, "its width");
    for singular in [
        Affine::scale(0.0),
        Affine::new([1.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    ] {
        line.pen = singular;
        assert!(ink("M0,0 H10", &line, 0.01).is_empty(), "{singular:?}");
    }
}

#[test]
fn nothing_measurable_is_everywhere_and_no_width_is_nothing() {
    let mut line = pen(f64::NAN, Cap::Butt, Join::Miter);
    assert_eq!(ink("M0,0 H10", &line, 0.01), Region::everywhere());
    line.width = 0.0;
    assert!(ink("M0,0 H10", &line, 0.01).is_empty());
    line.width = -1.0;
    assert!(ink("M0,0 H10", &line, 0.01).is_empty());
    line.width = 1.0;
    assert_eq!(ink("M0,0 H1e9", &line, 0.01), Region::everywhere());
    line.width = 1e9;
    assert_eq!(ink("M0,0 H10", &line, 0.01), Region::everywhere());
}

#[test]
fn curves_are_as_good_as_the_tolerance() {
    // A ring of radius 10 and width 4.
    let circle = "M10,0 C10,5.5228474983 5.5228474983,10 0,10 -5.5228474983,10 -10,5.5228474983 -10,0 \
                  -10,-5.5228474983 -5.5228474983,-10 0,-10 5.5228474983,-10 10,-5.5228474983 10,0 Z";
    for tolerance in [0.1, 0.01, 0.001] {
        let ring = ink(circle, &pen(4.0, Cap::Butt, Join::Miter), tolerance);
        // The four cubics are up to 2.7e-4 of the radius off a circle.
        let slack = tolerance + 0.003;
        for p in ring.rings.iter().flatten() {
            let r = p.to_vec2().hypot();
            let off = (r - 12.0).abs().min((r - 8.0).abs());
            assert!(off <= slack, "{tolerance}: {p:?} at {r}");
        }
    }
    // A bend tighter than the pen: no hole, and every point of the rim a pen's radius away.
    let line = pen(6.0, Cap::Round, Join::Round);
    let tight = ink("M0,0 C10,0 10,2 0,2", &line, 0.01);
    assert_eq!(tight.rings.len(), 1, "{tight:?}");
    let centre =
        crate::geometry::contour::contours(&BezPath::from_svg("M0,0 C10,0 10,2 0,2").unwrap());
    let index = crate::geometry::edges::Edges::new(centre[0].edges());
    for p in tight.rings.iter().flatten() {
        let (d, _) = index.nearest_point(*p).unwrap();
        assert!((d - 3.0).abs() < 0.02, "{p:?} is {d} from the line");
    }
}

#[test]
fn caps_stand_square_to_the_curve_and_not_to_its_first_chord() {
    // Quarter bend, wide pen: the butt cap of the end lies on y = 0 exactly.
    let r = ink(
        "M0,10 C5.5,10 10,5.5 10,0",
        &pen(8.0, Cap::Butt, Join::Miter),
        0.02,
    );
    let b = r.bounds().unwrap();
    assert!(b.y0 > -0.021 && b.x0 > -0.021, "{b:?}");
    near(b.x1, 14.0, 0.021, "outer rim");
}

/// A circle of thousands of short lines was put together corner by corner, each of which overlaps a dozen others.
#[test]
fn a_curve_of_short_lines_takes_little_more_work_than_their_number() {
    let corners = 4_000;
    let circle: String = (0..corners)
        .map(|n| {
            let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(n) / f64::from(corners));
            format!(
                "{}{} {}",
                if n == 0 { 'M' } else { 'L' },
                20.0 * c,
                20.0 * s
            )
        })
        .collect();
    for join in [Join::Round, Join::Miter, Join::Bevel] {
        let line = pen(0.25, Cap::Butt, join);
        let taken = crate::abandon::within(100_000, || ink(&format!("{circle}Z"), &line, 0.002));
        let area = taken.map(|ink| ink.area());
        near(
            area.unwrap_or(0.0),
            std::f64::consts::TAU * 20.0 * 0.25,
            0.3,
            &format!("{join:?}"),
        );
    }
}
