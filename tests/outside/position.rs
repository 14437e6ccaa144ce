//! Against the convention for positional tolerances of ISO 1101 (from memory): the tolerance zone of a
//! hole's axis is a circle whose *diameter* is the tolerance, so a hole off by (dx, dy) is reported as
//! 2·√(dx² + dy²). Our distance is plain, half of that: a limit `place = "0.1 mm"` is a zone of 0.2 mm
//! diameter.

use jigwarden::tested::geometry::arc::ellipse;
use jigwarden::tested::geometry::contour::{Contour, contours};
use jigwarden::tested::geometry::deviation::deviation;

fn hole(x: f64, y: f64, r: f64) -> Contour {
    contours(&ellipse(x, y, r, r, 1e-7)).remove(0)
}

#[test]
fn our_distance_is_half_the_diametral_deviation() {
    for (dx, dy) in [(0.03_f64, 0.04_f64), (0.1, 0.0), (-0.25, 0.6), (1.2, -0.5)] {
        let diametral = 2.0 * (dx * dx + dy * dy).sqrt();
        for tolerance in [0.01, 0.001, 0.0001] {
            let (a, b) = (hole(120.0, 80.0, 4.0), hole(120.0 + dx, 80.0 + dy, 4.0));
            let got = deviation(&a, &b, tolerance).distance;
            assert!(
                (2.0 * got - diametral).abs() <= 2.0 * tolerance,
                "tolerance {tolerance}: actual {}, expected {diametral}, input {dx} {dy}",
                2.0 * got
            );
        }
    }
}

#[test]
fn a_larger_hole_in_the_right_place_is_off_by_the_change_of_radius() {
    let got = deviation(&hole(50.0, 50.0, 4.0), &hole(50.0, 50.0, 4.15), 0.001);
    assert!(
        (got.distance - 0.15).abs() <= 0.001,
        "actual {got:?}, expected 0.15"
    );
}
