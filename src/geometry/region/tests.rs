#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use super::*;
use kurbo::Shape;

fn square(x: f64, y: f64, side: f64) -> Region {
    Region::from_rect(Rect::new(x, y, x + side, y + side))
}

#[track_caller]
fn near(actual: f64, expected: f64, tolerance: f64, input: &str) {
    assert!(
        (actual - expected).abs() <= tolerance,
        "{input}: actual {actual}, expected {expected} within {tolerance}"
    );
}

#[test]
fn fill_rules_differ_where_they_should() {
    let path = BezPath::from_svg("M0,0H10V10H0Z M2,2H8V8H2Z").unwrap();
    near(
        Region::from_path(&path, false, 0.01).area(),
        100.0,
        1e-6,
        "non-zero",
    );
    near(
        Region::from_path(&path, true, 0.01).area(),
        64.0,
        1e-6,
        "even-odd",
    );
    let hole = BezPath::from_svg("M0,0H10V10H0Z M2,2V8H8V2Z").unwrap();
    near(
        Region::from_path(&hole, false, 0.01).area(),
        64.0,
        1e-6,
        "hole by direction",
    );
    // An open subpath is filled as if closed (SVG 2, 13.4.2).
    let open = BezPath::from_svg("M0,0 L10,0 L10,10").unwrap();
    near(
        Region::from_path(&open, false, 0.01).area(),
        50.0,
        1e-6,
        "open triangle",
    );
}

#[test]
fn booleans_of_two_squares() {
    let (a, b) = (square(0.0, 0.0, 10.0), square(4.0, 4.0, 10.0));
    near(a.intersect(&b).area(), 36.0, 1e-6, "intersect");
    near(a.subtract(&b).area(), 64.0, 1e-6, "subtract");
    near(a.unite(&b).area(), 164.0, 1e-6, "unite");
    let far = square(40.0, 0.0, 1.0);
    assert!(a.intersect(&far).is_empty());
    assert_eq!(a.subtract(&far), a);
    assert_eq!(a.unite(&far).pieces().len(), 2);
    let frame = a.subtract(&square(3.0, 3.0, 2.0));
    assert_eq!((frame.pieces().len(), frame.rings.len()), (1, 2));
    assert!(!frame.contains(Point::new(4.0, 4.0)) && frame.contains(Point::new(1.0, 1.0)));
}

#[test]
fn corners_move_by_less_than_two_millionths_at_600_mm() {
    let p = Point::new(599.123_456_789_1, 387.987_654_321_9);
    let region = Region::union_of([vec![p, p + (1.0 / 3.0, 0.0), p + (0.1, 1.0 / 7.0)]]);
    let off = region.rings[0]
        .iter()
        .map(|q| q.distance(p))
        .fold(f64::MAX, f64::min);
    assert!(off < 2e-6, "moved by {off}: {region:?}");
    // And a crossing: two diagonals of a 600 mm bed.
    let wide = Region::union_of([vec![
        (0.0, 0.0).into(),
        (600.0, 399.7).into(),
        (0.0, 0.1).into(),
    ]]);
    let steep = Region::union_of([vec![
        (600.0, 0.3).into(),
        (0.0, 400.0).into(),
        (0.0, 400.1).into(),
    ]]);
    let cross = wide.intersect(&steep);
    for q in cross.rings.iter().flatten() {
        let off = wide.boundary_distance(*q).max(steep.boundary_distance(*q));
        assert!(
            off < 2e-6 || wide.contains(*q) || steep.contains(*q),
            "{q:?} off by {off}"
        );
    }
    assert!(!cross.is_empty());
}

#[test]
fn shrinking_keeps_outward_corners_sharp_and_every_point_its_distance() {
    let s = square(10.0, 10.0, 20.0).shrunk(2.0, 0.01);
    near(s.area(), 256.0, 1e-4, "square 20 shrunk by 2");
    assert_eq!(s.rings.len(), 1);
    assert_eq!(s.rings[0].len(), 4, "{s:?}");
    // An L has one inward corner: there the result is an arc about the corner.
    let l = Region::from_path(
        &BezPath::from_svg("M0,0H20V10H10V20H0Z").unwrap(),
        false,
        0.01,
    );
    for tolerance in [0.1, 0.01, 0.001] {
        let shrunk = l.shrunk(2.0, tolerance);
        for p in shrunk.rings.iter().flatten() {
            let d = l.boundary_distance(*p);
            assert!(
                d > 2.0 - 2e-6 && d < 2.0 * 2.0_f64.sqrt() + 1e-6,
                "{p:?} is {d} in"
            );
        }
        // Area by hand: two arms less the band, and the arc instead of the sharp inner corner.
        let exact = 6.0 * 16.0 + 6.0 * 10.0 + (4.0 - std::f64::consts::PI);
        let lost = exact - shrunk.area();
        assert!(
            lost > -1e-4 && lost < 4.0 * tolerance,
            "tolerance {tolerance}: lost {lost}"
        );
    }
    assert!(square(0.0, 0.0, 4.0).shrunk(2.0, 0.01).is_empty());
    assert!(square(0.0, 0.0, 4.0).shrunk(9.0, 0.01).is_empty());
}

#[test]
fn growing_follows_its_tolerance() {
    let s = square(0.0, 0.0, 10.0);
    let exact = 100.0 + 4.0 * 30.0 + std::f64::consts::PI * 9.0;
    for tolerance in [0.3, 0.03, 0.003] {
        let grown = s.grown(3.0, tolerance);
        let over = grown.area() - exact;
        assert!(
            over > -1e-4 && over < 2.0 * 3.0 * 3.2 * tolerance,
            "{tolerance}: {over}"
        );
        for p in grown.rings.iter().flatten() {
            let d = s.distance_to(*p);
            assert!(
                d > 3.0 - 2e-6 && d < 3.0 + tolerance + 2e-6,
                "{p:?} is {d} out"
            );
        }
    }
    // A hole that fills up.
    let frame = square(0.0, 0.0, 10.0).subtract(&square(4.0, 4.0, 2.0));
    assert_eq!(frame.grown(1.1, 0.01).rings.len(), 1);
    assert_eq!(frame.grown(0.9, 0.01).rings.len(), 2);
}

#[test]
fn rectangles_inside_are_told_from_those_that_stick_out() {
    let s = square(0.0, 0.0, 10.0);
    assert!(s.contains_rect(Rect::new(0.0, 0.0, 10.0, 10.0)));
    assert!(s.contains_rect(Rect::new(2.0, 2.0, 3.0, 3.0)));
    assert!(!s.contains_rect(Rect::new(2.0, 2.0, 3.0, 10.001)));
    assert!(!s.contains_rect(Rect::new(-5.0, -5.0, 15.0, 15.0)));
    let frame = s.subtract(&square(4.0, 4.0, 2.0));
    assert!(!frame.contains_rect(Rect::new(1.0, 1.0, 9.0, 9.0)));
}

#[test]
fn nearest_points_and_distances() {
    let s = square(0.0, 0.0, 10.0);
    near(s.distance_to(Point::new(13.0, 14.0)), 5.0, 1e-9, "corner");
    near(s.distance_to(Point::new(5.0, 5.0)), 0.0, 0.0, "inside");
    near(
        s.boundary_distance(Point::new(5.0, 4.0)),
        4.0,
        1e-9,
        "inside, to the boundary",
    );
    assert_eq!(Region::default().distance_to(Point::ORIGIN), f64::INFINITY);
}

#[test]
fn what_cannot_be_measured_is_everywhere_or_none_and_never_a_panic() {
    for bad in [f64::NAN, f64::INFINITY, 1e8, -1e300] {
        let mut path = Rect::new(0.0, 0.0, 1.0, 1.0).to_path(0.1);
        path.line_to((bad, 1.0));
        assert_eq!(Region::try_from_path(&path, false, 0.01), None, "{bad}");
        assert_eq!(
            Region::from_path(&path, false, 0.01),
            Region::everywhere(),
            "{bad}"
        );
    }
    let empty = Region::from_path(&BezPath::new(), true, 0.01);
    assert!(empty.is_empty() && empty.bounds().is_none() && empty.area() == 0.0);
    assert!(empty.grown(1.0, 0.01).is_empty() && empty.shrunk(1.0, 0.01).is_empty());
    let largest = Region::everywhere();
    near(largest.area() / 4e14, 1.0, 1e-12, "everywhere");
    assert!(largest.intersect(&square(0.0, 0.0, 1.0)).area() > 0.999_999);
}

#[test]
fn a_region_in_a_mirror_grows_and_shrinks_as_itself() {
    let frame = square(0.0, 0.0, 20.0).subtract(&square(4.0, 4.0, 12.0));
    let mirrored = Region {
        rings: (frame.rings.iter())
            .map(|ring| ring.iter().map(|p| Point::new(-p.x, p.y)).collect())
            .collect(),
    };
    for by in [0.5, 1.5] {
        for (own, other) in [
            (frame.grown(by, 0.01), mirrored.grown(by, 0.01)),
            (frame.shrunk(by, 0.01), mirrored.shrunk(by, 0.01)),
        ] {
            near(own.area() / other.area(), 1.0, 1e-6, "in a mirror");
            assert_eq!(own.rings.len(), other.rings.len());
        }
    }
}

#[test]
fn lengths_that_cannot_be_measured_end_on_the_careful_side() {
    let s = square(0.0, 0.0, 10.0);
    for by in [f64::NAN, f64::INFINITY, 1e9] {
        assert_eq!(s.grown(by, 0.01), Region::everywhere(), "{by}");
        assert!(s.shrunk(by, 0.01).is_empty(), "{by}");
    }
    for tolerance in [0.0, -1.0, f64::NAN] {
        assert!(s.grown(1.0, tolerance).area() > 142.0, "{tolerance}");
        assert!(
            (s.shrunk(1.0, tolerance).area() - 64.0).abs() < 1e-4,
            "{tolerance}"
        );
    }
}

#[test]
fn a_circle_is_as_good_as_its_tolerance() {
    let circle = kurbo::Circle::new((300.0, 200.0), 50.0).to_path(1e-9);
    let exact = std::f64::consts::PI * 2500.0;
    for tolerance in [0.1, 0.01, 0.001] {
        let r = Region::from_path(&circle, false, tolerance);
        let short = exact - r.area();
        assert!(
            short > 0.0 && short < tolerance * 2.0 * 50.0 * 3.15,
            "{tolerance}: short by {short}"
        );
    }
}

#[test]
fn joining_neighbours_first_changes_nothing() {
    // A pen of radius 2 that goes round a circle of radius `r` in short steps, as overlapping strips.
    for r in [0.3, 1.9, 2.1, 30.0] {
        let strips: Vec<Vec<Point>> = (0..120)
            .map(|i| {
                let place = |k: f64| {
                    let (s, c) = (k * std::f64::consts::TAU / 120.0).sin_cos();
                    Point::new(50.0 + r * c, 50.0 + r * s)
                };
                let (from, to) = (place(f64::from(i)), place(f64::from(i) + 1.2));
                let d = (to - from) / from.distance(to);
                let across = kurbo::Vec2::new(-d.y, d.x) * 2.0;
                vec![from - across, to - across, to + across, from + across]
            })
            .collect();
        assert!(super::dense(&strips), "radius {r}");
        let wound: Vec<Vec<Point>> = strips
            .iter()
            .map(|ring| {
                let mut ring = ring.clone();
                if super::signed_area(&ring) < 0.0 {
                    ring.reverse();
                }
                ring
            })
            .collect();
        let at_once = Region::from_rings(wound, false);
        let in_turn = Region::union_of(strips);
        let off = at_once.subtract(&in_turn).area() + in_turn.subtract(&at_once).area();
        assert!(off < 1e-4, "radius {r}: {off} mm² of {}", at_once.area());
    }
}

#[test]
fn what_is_left_out_outside_a_box_changes_nothing_inside() {
    let mut chance = crate::chance::Chance::new(41);
    for round in 0..200 {
        // Rings that wander in and out of the box and round it.
        let ring: Vec<Point> = (0..300)
            .map(|_| Point::new(chance.between(-10.0, 20.0), chance.between(-10.0, 20.0)))
            .collect();
        let whole = Region { rings: vec![ring] };
        let (x, y) = (chance.between(-8.0, 15.0), chance.between(-8.0, 15.0));
        let rect = Rect::new(x, y, x + chance.between(0.1, 5.0), y + 1.0);
        let near = whole.near(Some(rect));
        assert!(near.corners() < whole.corners(), "round {round}");
        let edges = whole.indexed();
        for _ in 0..50 {
            let p = Point::new(
                chance.between(rect.x0, rect.x1),
                chance.between(rect.y0, rect.y1),
            );
            let winds = |r: &Region| r.rings.iter().map(|ring| winding(ring, p)).sum::<i32>();
            assert_eq!(winds(&near), winds(&whole), "round {round} at {p}");
            // An index says the same of a point as going through all edges does.
            assert!(
                (edges.distance_to(p) - whole.distance_to(p)).abs() < 1e-9,
                "{p}"
            );
            assert_eq!(edges.hold(p, 0.1), whole.distance_to(p) <= 0.1, "{p}");
        }
    }
}
