#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use super::*;

fn only(d: &str) -> Contour {
    let mut all = contours(&BezPath::from_svg(d).unwrap());
    assert_eq!(all.len(), 1, "{d}: {all:?}");
    all.remove(0)
}

#[track_caller]
fn near(actual: f64, expected: f64, input: &str) {
    assert!(
        (actual - expected).abs() < 1e-6,
        "{input}: actual {actual}, expected {expected}"
    );
}

#[test]
fn a_rectangle_is_measured() {
    let c = only("M10,20 h30 v40 h-30 z");
    near(c.length, 140.0, "length");
    near(c.area, 1200.0, "area");
    near(c.centroid.distance(Point::new(25.0, 40.0)), 0.0, "centroid");
    assert_eq!(c.bounds, Rect::new(10.0, 20.0, 40.0, 60.0));
    assert_eq!(c.flat.len(), 4);
    assert!(c.contains(Point::new(11.0, 59.0)) && !c.contains(Point::new(41.0, 59.0)));
}

#[test]
fn bounds_are_those_of_the_curve_and_not_of_its_control_points() {
    // y of the quadratic (0,0) (5,10) (10,0) is 20 t (1-t): at most 5, where the control box says 10.
    let q = only("M0,0 Q5,10 10,0");
    near(q.bounds.y1, 5.0, "quadratic");
    // y of the cubic (0,0) (0,10) (10,10) (10,0) is 30 t (1-t): at most 7.5.
    let c = only("M0,0 C0,10 10,10 10,0");
    near(c.bounds.y1, 7.5, "cubic");
}

#[test]
fn closing_by_place_and_by_command() {
    assert!(only("M0,0 L10,0 L10,10 L0,0.004").closed);
    assert!(!only("M0,0 L10,0 L10,10 L0,0.006").closed);
    assert!(only("M0,0 L10,0 L10,10 Z").closed);
    assert!(only("M0,0 C10,0 10,10 0,0").closed);
    assert!(!only("M0,0 L0.004,0").closed);
    assert!(contours(&BezPath::from_svg("M5,5 M7,7 Z M1,1 L1,1").unwrap()).is_empty());
    let two = contours(&BezPath::from_svg("M0,0 h4 v4 z l-3,0").unwrap());
    assert_eq!(
        two.iter().map(|c| c.closed).collect::<Vec<_>>(),
        [true, false]
    );
}

#[test]
fn open_and_flat_curves_have_the_centre_of_their_line() {
    let open = only("M0,0 L10,0 L10,10");
    near(open.area, 0.0, "area");
    near(
        open.centroid.distance(Point::new(7.5, 2.5)),
        0.0,
        "centroid",
    );
    let flat = only("M0,0 L10,0 Z");
    assert!(flat.closed);
    near(
        flat.centroid.distance(Point::new(5.0, 0.0)),
        0.0,
        "there and back",
    );
}

#[test]
fn the_canonical_form_forgets_start_and_direction() {
    let a = only("M10,0 h10 l3,7 C20,20 10,20 0,7 z").canonical();
    let turned = only("M23,7 C20,20 10,20 0,7 L10,0 L20,0 z").canonical();
    let back = only("M20,0 L10,0 L0,7 C10,20 20,20 23,7 z").canonical();
    let implicit = only("M20,0.00001 L10,0 L0,7 C10,20 20,20 23,7 L20,0").canonical();
    assert_eq!(a.to_svg(), turned.to_svg());
    assert_eq!(a.to_svg(), back.to_svg());
    assert_eq!(a.to_svg(), implicit.to_svg());
    // Starts at the smallest x and runs clockwise as seen on the bed: over the back to the right.
    assert_eq!(a.elements()[0], PathEl::MoveTo(Point::new(0.0, 7.0)));
    assert_eq!(a.elements()[1], PathEl::LineTo(Point::new(10.0, 0.0)));
    let open = only("M5,5 L1,9 L0,3").canonical();
    assert_eq!(open.to_svg(), only("M0,3 L1,9 L5,5").canonical().to_svg());
    // A figure of eight passes its crossing twice and has no area to give a direction.
    let eight = only("M0,0 L4,4 L4,0 L0,4 Z");
    let other = only("M4,0 L4,4 L0,0 L0,4 Z");
    assert_eq!(eight.canonical().to_svg(), other.canonical().to_svg());
    assert_ne!(
        a.to_svg(),
        only("M10,0 h10 l3,7 C20,20 10,20 0,7.001 z")
            .canonical()
            .to_svg()
    );
}

#[test]
fn an_exploded_pocket_is_joined_again() {
    let whole = only("M10,0 H30 A10,10 0 0 1 30,20 H10 A10,10 0 0 1 10,0 Z");
    let parts = contours(
        &BezPath::from_svg(
            "M30,20 H10 M10,0 H30 M30,0 A10,10 0 0 1 30,20 M10,0 A10,10 0 0 0 10,20",
        )
        .unwrap(),
    );
    let joined = join_open(parts, 0.01);
    assert_eq!(joined.len(), 1, "{joined:?}");
    let (c, from) = &joined[0];
    assert!(c.closed);
    let mut sorted = from.clone();
    sorted.sort_unstable();
    assert_eq!(sorted, [0, 1, 2, 3]);
    near(c.area, whole.area, "area");
}

#[test]
fn ends_that_meet_in_threes_or_not_at_all_stay_apart() {
    let t = contours(&BezPath::from_svg("M0,0 L5,0 M10,0 L5,0 M5,0 L5,5").unwrap());
    assert_eq!(join_open(t, 0.01).len(), 3);
    let apart = contours(&BezPath::from_svg("M0,0 L5,0 M5.02,0 L9,0").unwrap());
    assert_eq!(join_open(apart.clone(), 0.01).len(), 2);
    let joined = join_open(apart, 0.03);
    assert_eq!(joined.len(), 1);
    assert!(!joined[0].0.closed);
    // Closed ones pass through, and an open one may close on itself.
    let mixed = contours(&BezPath::from_svg("M0,0 h4 v4 z M20,0 L30,0 L30,9 L20,0.02").unwrap());
    let joined = join_open(mixed, 0.05);
    assert_eq!(
        joined
            .iter()
            .map(|(c, i)| (c.closed, i.clone()))
            .collect::<Vec<_>>(),
        [(true, vec![0]), (true, vec![1])]
    );
    // Two arcs that meet at both ends.
    let ring = contours(&BezPath::from_svg("M0,0 C0,5 8,5 8,0 M8,0 C8,-5 0,-5 0,0").unwrap());
    let joined = join_open(ring, 0.01);
    assert_eq!(joined.len(), 1);
    assert!(joined[0].0.closed);
}

#[test]
fn moving_far_away_keeps_the_digits() {
    let c = only("M1,1 C1,5 6,5 6,1 z");
    let far = c.transformed(Affine::translate((1e6, -1e6))).unwrap();
    near(far.area, c.area, "area at 1 km");
    near(
        far.centroid.distance(c.centroid + Vec2::new(1e6, -1e6)),
        0.0,
        "centroid at 1 km",
    );
    assert!(c.transformed(Affine::scale(0.0)).is_none());
    assert!(c.transformed(Affine::scale(1e9)).is_none());
}
