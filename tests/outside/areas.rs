//! Against theorems about areas, and against `kurbo`'s own stroking.
//!
//! Steiner (1840): a convex region of area A and perimeter P, widened by r all round, has the area
//! A + P r + π r². Pappus (and Guldin), in the plane: the band of width w along a smooth closed line
//! of length L that nowhere bends tighter than w/2 has the area L w.

use jigwarden::tested::geometry::arc::{ellipse, rounded_rect};
use jigwarden::tested::geometry::contour::contours;
use jigwarden::tested::geometry::edges::Edges;
use jigwarden::tested::geometry::flatten;
use jigwarden::tested::geometry::region::Region;
use jigwarden::tested::geometry::stroke::LineStyle;
use jigwarden::tested::geometry::stroke::ink_of_line;
use kurbo::{Affine, BezPath, Cap, Join, Point, Stroke, StrokeOpts};
use proptest::prelude::*;
use std::f64::consts::PI;

fn line(width: f64, cap: Cap, join: Join) -> LineStyle {
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

#[test]
fn steiner() {
    let shapes = [
        (
            "rectangle",
            rounded_rect(10.0, 10.0, 40.0, 25.0, 0.0, 0.0, 1e-6),
        ),
        (
            "round rectangle",
            rounded_rect(10.0, 10.0, 40.0, 25.0, 8.0, 5.0, 1e-6),
        ),
        ("ellipse", ellipse(100.0, 100.0, 30.0, 12.0, 1e-6)),
        (
            "triangle",
            BezPath::from_svg("M0,0 L50,4 L20,30 Z").unwrap(),
        ),
    ];
    for (name, path) in shapes {
        let contour = contours(&path).remove(0);
        for r in [0.5, 2.0, 20.0] {
            let expected = contour.area + contour.length * r + PI * r * r;
            let mut last = f64::INFINITY;
            for tolerance in [0.05, 0.005, 0.000_5] {
                let grown = Region::from_path(&path, false, tolerance).grown(r, tolerance);
                let off = (grown.area() - expected).abs();
                let allowed = 2.0 * tolerance * (contour.length + 2.0 * PI * r) + 1e-4;
                assert!(
                    off <= allowed,
                    "{name} by {r} at {tolerance}: off {off}, expected {expected}"
                );
                assert!(
                    off <= last + 1e-4,
                    "{name} by {r}: a finer tolerance made it worse, {off} > {last}"
                );
                last = off;
            }
        }
    }
}

#[test]
fn pappus() {
    let paths = [
        ("circle", ellipse(50.0, 50.0, 20.0, 20.0, 1e-7)),
        ("ellipse", ellipse(50.0, 50.0, 20.0, 9.0, 1e-7)),
        (
            "round rectangle",
            rounded_rect(0.0, 0.0, 60.0, 30.0, 6.0, 6.0, 1e-7),
        ),
    ];
    for (name, path) in paths {
        let length = contours(&path)[0].length;
        for width in [0.2, 1.0, 6.0] {
            for tolerance in [0.02, 0.002, 0.000_2] {
                let area =
                    ink_of_line(&path, &line(width, Cap::Butt, Join::Miter), tolerance).area();
                let expected = length * width;
                let allowed = 2.0 * tolerance * length + 1e-4;
                assert!(
                    (area - expected).abs() <= allowed,
                    "{name}, width {width}, tolerance {tolerance}: actual {area}, expected {expected}"
                );
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// By definition (a disc swept along a line): every rim point of a round line is the pen's radius
    /// from the centre-line, loops, bends tighter than the pen and doublings-back included.
    #[test]
    fn rims_are_a_radius_away(
        points in prop::collection::vec((0.0..30.0, 0.0..30.0), 3..12),
        width in 0.05..12.0_f64,
        closed: bool,
        exponent in 1..4_i32,
    ) {
        let mut path = BezPath::new();
        path.move_to(Point::from(points[0]));
        for chunk in points[1..].chunks(3) {
            match *chunk {
                [a, b, c] => path.curve_to(Point::from(a), Point::from(b), Point::from(c)),
                [a, b] => path.quad_to(Point::from(a), Point::from(b)),
                [a] => path.line_to(Point::from(a)),
                _ => {}
            }
        }
        if closed {
            path.close_path();
        }
        let tolerance = 10.0_f64.powi(-exponent);
        let ink = ink_of_line(&path, &line(width, Cap::Round, Join::Round), tolerance);
        let centre_line = contours(&path).remove(0);
        let fine: Vec<_> = flatten::polylines(&centre_line.path, 1e-5).remove(0).edges().collect();
        let index = Edges::new(fine.iter().copied());
        for p in ink.rings.iter().flatten() {
            let (d, _) = index.nearest_point(*p).unwrap();
            prop_assert!(
                (d - width / 2.0).abs() <= tolerance + 2e-5,
                "{p:?} is {d} from the line, not {}; {path:?}", width / 2.0
            );
        }
        // And the centre-line itself is covered.
        for &(a, _) in fine.iter().step_by(7) {
            prop_assert!(ink.contains(a), "{a:?} bare; {path:?} {width}");
        }
    }

    /// Two ways of widening the same line: ours as a union of pieces, kurbo's by parallel curves.
    /// Bends here are wider than the pen; where they are not, kurbo's own notes claim less.
    #[test]
    fn kurbo_widens_alike(
        corners in prop::collection::vec((0.0..200.0, 0.0..120.0), 2..7),
        width in 0.2..3.0_f64,
        cap in prop::sample::select(vec![Cap::Butt, Cap::Square, Cap::Round]),
        join in prop::sample::select(vec![Join::Bevel, Join::Miter, Join::Round]),
    ) {
        let mut path = BezPath::new();
        path.move_to(Point::from(corners[0]));
        corners[1..].iter().for_each(|&p| path.line_to(Point::from(p)));
        let tolerance = 0.002;
        let ours = ink_of_line(&path, &line(width, cap, join), tolerance);
        let style = Stroke::new(width).with_caps(cap).with_join(join).with_miter_limit(4.0);
        let outline = kurbo::stroke(path.elements().iter().copied(), &style, &StrokeOpts::default(), 1e-4);
        let theirs = Region::from_path(&outline, false, 1e-4);
        let apart = ours.subtract(&theirs).area() + theirs.subtract(&ours).area();
        let around: f64 = path.segments().map(|s| kurbo::ParamCurveArclen::arclen(&s, 1e-6)).sum();
        // Round parts may differ by the tolerance along them, straight ones not at all.
        let allowed = 0.01 * (corners.len() as f64 + 1.0) * width + 1e-5 * around;
        prop_assert!(apart <= allowed, "apart {apart}, allowed {allowed}, {corners:?} {width} {cap:?} {join:?}");
    }
}
