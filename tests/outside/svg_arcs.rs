//! Against SVG 2, appendix "Implementation notes", "Elliptical arc implementation notes" (equation
//! numbers as in SVG 1.1, F.6), and the specification's own path examples. The equations are from
//! memory; the examples' numbers are worked out by hand here.

use jigwarden::tested::geometry::arc::{arc_to, centre_form};
use jigwarden::tested::geometry::contour::contours;
use kurbo::{BezPath, ParamCurve, Point, Vec2};
use proptest::prelude::*;
use std::f64::consts::PI;

/// (F.6.3): a point of the ellipse by its angle.
fn on_ellipse(centre: Point, r: Vec2, phi: f64, theta: f64) -> Point {
    centre
        + Vec2::new(
            phi.cos() * r.x * theta.cos() - phi.sin() * r.y * theta.sin(),
            phi.sin() * r.x * theta.cos() + phi.cos() * r.y * theta.sin(),
        )
}

proptest! {
    #[test]
    fn there_and_back_between_both_forms(
        cx in -300.0..300.0, cy in -300.0..300.0,
        rx in 0.5..200.0, ry in 0.5..200.0,
        degrees in -400.0..400.0,
        start in -PI..PI, turn in 0.05_f64..6.2, sweep: bool,
    ) {
        // F.6.4, centre to ends, then F.6.5 back.
        let (phi, turn) = (f64::to_radians(degrees), if sweep { turn } else { -turn });
        let (centre, radii) = (Point::new(cx, cy), Vec2::new(rx, ry));
        let from = on_ellipse(centre, radii, phi, start);
        let to = on_ellipse(centre, radii, phi, start + turn);
        let large = turn.abs() > PI;
        // Near half a turn the two centres fall together and rounding may take either.
        prop_assume!((turn.abs() - PI).abs() > 0.01);
        let got = centre_form(from, rx, ry, degrees, large, sweep, to).unwrap();
        prop_assert!(got.centre.distance(centre) < 1e-6 * (rx + ry), "{got:?} {centre:?}");
        prop_assert!((got.turn - turn).abs() < 1e-6, "{got:?} {turn}");
        prop_assert!((got.radii - radii).hypot() < 1e-6 * (rx + ry), "{got:?}");
    }

    #[test]
    fn what_is_drawn_lies_on_the_ellipse(
        rx in 0.5..200.0, ry in 0.5..200.0, degrees in -180.0..180.0,
        x in -300.0..300.0, y in 1.0..300.0,
        large: bool, sweep: bool, exponent in 1..6_i32,
    ) {
        let tolerance = 10.0_f64.powi(-exponent);
        let to = Point::new(x, y);
        let mut path = BezPath::new();
        arc_to(&mut path, Point::ORIGIN, rx, ry, degrees, large, sweep, to, tolerance);
        let arc = centre_form(Point::ORIGIN, rx, ry, degrees, large, sweep, to).unwrap();
        // (F.6.6): radii are kept, or both scaled by the same factor of at least 1.
        let factor = arc.radii.x / rx;
        prop_assert!((arc.radii.y / ry - factor).abs() < 1e-9 && factor >= 1.0, "{arc:?}");
        let (sin, cos) = arc.rotation.sin_cos();
        for seg in path.segments() {
            for i in 0..=16 {
                let v = seg.eval(f64::from(i) / 16.0) - arc.centre;
                // On the unit circle of the ellipse's own frame; off by at most tolerance / larger
                // radius there.
                let u = Vec2::new(
                    (cos * v.x + sin * v.y) / arc.radii.x,
                    (cos * v.y - sin * v.x) / arc.radii.y,
                );
                let off = (u.hypot() - 1.0).abs() * arc.radii.x.max(arc.radii.y);
                prop_assert!(off <= tolerance + 1e-9 * arc.radii.hypot(), "{off} {tolerance} {arc:?}");
            }
        }
        prop_assert_eq!(path.segments().last().unwrap().end(), to);
    }
}

/// SVG 2, 9.3.8, figure "arcs01": a pie with a quarter missing and the quarter, radius 150.
#[test]
fn the_pie_of_the_specification() {
    let pie = |from: (f64, f64), centre: (f64, f64), to: (f64, f64), large| {
        let mut path = BezPath::new();
        path.move_to(centre);
        path.line_to(from);
        arc_to(
            &mut path,
            from.into(),
            150.0,
            150.0,
            0.0,
            large,
            false,
            to.into(),
            0.001,
        );
        path.close_path();
        contours(&path).remove(0)
    };
    // M300,200 h-150 a150,150 0 1,0 150,-150 z
    let large = pie((150.0, 200.0), (300.0, 200.0), (300.0, 50.0), true);
    // M275,175 v-150 a150,150 0 0,0 -150,150 z
    let small = pie((275.0, 25.0), (275.0, 175.0), (125.0, 175.0), false);
    let disc = PI * 150.0 * 150.0;
    assert!(
        (large.area - 0.75 * disc).abs() < 1.0,
        "actual {}, expected {}",
        large.area,
        0.75 * disc
    );
    assert!(
        (small.area - 0.25 * disc).abs() < 1.0,
        "actual {}, expected {}",
        small.area,
        0.25 * disc
    );
    // Tight to the arc: three quarters reach 150 to the left, the front and the right.
    let b = large.bounds;
    for (actual, expected) in [(b.x0, 150.0), (b.x1, 450.0), (b.y0, 50.0), (b.y1, 350.0)] {
        assert!(
            (actual - expected).abs() < 0.002,
            "actual {b:?}, expected {expected}"
        );
    }
}

/// The same section: `l 50,-25 a25,25 -30 0,1 50,-25` joins points √(50² + 25²) = 55.9 apart with radii
/// of 25, which are therefore scaled up to half of that.
#[test]
fn radii_too_small_are_scaled_to_half_the_chord() {
    let (from, to) = (Point::new(650.0, 325.0), Point::new(700.0, 300.0));
    let arc = centre_form(from, 25.0, 25.0, -30.0, false, true, to).unwrap();
    let half = 3125.0_f64.sqrt() / 2.0;
    assert!(
        (arc.radii.x - half).abs() < 1e-12 && (arc.radii.y - half).abs() < 1e-12,
        "{arc:?}"
    );
    assert!(arc.centre.distance(from.midpoint(to)) < 1e-6, "{arc:?}");
    assert!((arc.turn - PI).abs() < 1e-6, "{arc:?}");
}

/// Extremes of curves whose control points lie outside, worked out by hand.
#[test]
fn boxes_are_tight() {
    // y = t (1 − t) (90 − 150 t); y' = 90 − 480 t + 450 t² = 0 at t = (480 ± √68400) / 900.
    let cubic = contours(&BezPath::from_svg("M0,0 C0,30 10,-20 10,0").unwrap()).remove(0);
    assert!(
        (cubic.bounds.y1 - 9.850_58).abs() < 1e-4,
        "actual {:?}, expected 9.85058",
        cubic.bounds
    );
    assert!(
        (cubic.bounds.y0 + 4.872_80).abs() < 1e-4,
        "actual {:?}, expected -4.87280",
        cubic.bounds
    );
    // x = 2 t (1 − t) 12 + 4 t²; x' = 24 − 40 t = 0 at t = 0.6: 7.2. The control box says 12.
    let quad = contours(&BezPath::from_svg("M0,0 Q12,5 4,0").unwrap()).remove(0);
    assert!(
        (quad.bounds.x1 - 7.2).abs() < 1e-9,
        "actual {:?}, expected 7.2",
        quad.bounds
    );
}
