//! Against the `geo` crate: areas, centres, distances and curve distances of generated polygons.

use geo::{Area, Centroid, Contains, Distance, Euclidean, HausdorffDistance, LineString, Polygon};
use jigwarden::tested::geometry::contour::{Contour, contours};
use jigwarden::tested::geometry::deviation::{deviation, within};
use jigwarden::tested::geometry::region::Region;
use kurbo::{BezPath, Point};
use proptest::prelude::*;

/// A star-shaped polygon about a centre on a 600 by 400 bed: simple by construction, rarely convex.
fn star() -> impl Strategy<Value = Vec<Point>> {
    let corner = (0.2_f64..1.0, 1.0_f64..40.0);
    (
        prop::collection::vec(corner, 3..24),
        50.0_f64..550.0,
        50.0_f64..350.0,
    )
        .prop_map(|(corners, x, y)| {
            let whole: f64 = corners.iter().map(|c| c.0).sum();
            let mut angle = 0.0;
            corners
                .iter()
                .map(|&(share, radius)| {
                    angle += share / whole * std::f64::consts::TAU;
                    Point::new(x + radius * angle.cos(), y + radius * angle.sin())
                })
                .collect()
        })
}

fn path(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    path.move_to(points[0]);
    for &p in &points[1..] {
        path.line_to(p);
    }
    path.close_path();
    path
}

fn contour(points: &[Point]) -> Contour {
    contours(&path(points)).remove(0)
}

fn theirs(points: &[Point]) -> Polygon {
    Polygon::new(
        LineString::from(points.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>()),
        vec![],
    )
}

/// The outline with a point at least every `step`.
fn dense(points: &[Point], step: f64) -> LineString {
    let mut all = Vec::new();
    for (i, &a) in points.iter().enumerate() {
        let b = points[(i + 1) % points.len()];
        let n = (a.distance(b) / step).ceil().max(1.0) as usize;
        all.extend(
            (0..n)
                .map(|k| a.lerp(b, k as f64 / n as f64))
                .map(|p| (p.x, p.y)),
        );
    }
    all.push(all[0]);
    LineString::from(all)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn area_centroid_and_region_agree(points in star()) {
        let (ours, theirs) = (contour(&points), theirs(&points));
        let area = theirs.unsigned_area();
        prop_assert!((ours.area - area).abs() < 1e-9 * (1.0 + area), "{} {area} {points:?}", ours.area);
        let centre = theirs.centroid().unwrap();
        let off = ours.centroid.distance(Point::new(centre.x(), centre.y()));
        prop_assert!(off < 1e-6, "{:?} {centre:?} {points:?}", ours.centroid);
        let region = Region::from_path(&path(&points), false, 0.01);
        // The region's corners are rounded to a nanometre: the area by at most that times the outline.
        prop_assert!(
            (region.area() - area).abs() < 2e-6 * (1.0 + ours.length),
            "{} {area} {points:?}", region.area()
        );
    }

    #[test]
    fn points_fall_and_lie_as_far_as_theirs(points in star(), x in 0.0..600.0, y in 0.0..400.0) {
        let (region, theirs) = (Region::from_path(&path(&points), false, 0.01), theirs(&points));
        let p = Point::new(x, y);
        let distance = Euclidean.distance(&geo::Point::new(x, y), &theirs);
        let ours = region.distance_to(p);
        prop_assert!((ours - distance).abs() < 2e-6, "{ours} {distance} {p:?} {points:?}");
        if region.boundary_distance(p) > 2e-6 {
            prop_assert_eq!(region.contains(p), theirs.contains(&geo::Point::new(x, y)), "{:?} {:?}", p, points);
        }
    }

    #[test]
    fn curve_distance_lies_between_their_bounds(a in star(), b in star()) {
        let tolerance = 0.02;
        let ours = deviation(&contour(&a), &contour(&b), tolerance).distance;
        // From below: a corner's distance to the other outline, by their measure.
        let outline_b = theirs(&b).exterior().clone();
        let below = a
            .iter()
            .map(|p| Euclidean.distance(&geo::Point::new(p.x, p.y), &outline_b))
            .fold(0.0, f64::max);
        prop_assert!(ours >= below - tolerance, "{ours} {below} {a:?} {b:?}");
        // Both ways: between points at most a step apart their distance is at most half a step off.
        let step = 0.5;
        let between_points = dense(&a, step).hausdorff_distance(&dense(&b, step));
        prop_assert!(
            (ours - between_points).abs() <= step / 2.0 + tolerance,
            "{ours} {between_points} {a:?} {b:?}"
        );
        prop_assert!(within(&contour(&a), &contour(&b), ours + 2.0 * tolerance, tolerance));
        prop_assert!(!within(&contour(&a), &contour(&b), ours - 2.0 * tolerance, tolerance));
    }

    #[test]
    fn parts_add_up(a in star(), b in star()) {
        // |A ∪ B| = |A| + |B| − |A ∩ B| and |A − B| = |A| − |A ∩ B|.
        let (p, q) = (Region::from_path(&path(&a), false, 0.01), Region::from_path(&path(&b), false, 0.01));
        let both = p.intersect(&q).area();
        let slack = 1e-4;
        let united = p.unite(&q).area();
        prop_assert!((united - (p.area() + q.area() - both)).abs() < slack, "{united} {both} {a:?} {b:?}");
        let left = p.subtract(&q).area();
        prop_assert!((left - (p.area() - both)).abs() < slack, "{left} {both} {a:?} {b:?}");
    }

    #[test]
    fn shrinking_leaves_only_points_that_far_in_and_all_that_are_farther(a in star(), by in 0.5..4.0) {
        let region = Region::from_path(&path(&a), false, 0.01);
        let tolerance = 0.01;
        let shrunk = region.shrunk(by, tolerance);
        for p in shrunk.rings.iter().flatten() {
            let depth = region.boundary_distance(*p);
            prop_assert!(depth >= by - 4e-6 && region.contains(*p), "{p:?} {depth} {by} {a:?}");
        }
        // A raster of points well inside must have stayed.
        let bounds = region.bounds().unwrap();
        for i in 0..12 {
            for j in 0..12 {
                let p = Point::new(
                    bounds.x0 + bounds.width() * f64::from(i) / 11.0,
                    bounds.y0 + bounds.height() * f64::from(j) / 11.0,
                );
                if region.contains(p) && region.boundary_distance(p) > by + tolerance + 4e-6 {
                    prop_assert!(shrunk.contains(p), "{p:?} lost, {by} {a:?}");
                }
            }
        }
    }
}
