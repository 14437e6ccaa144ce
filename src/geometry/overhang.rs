//! How far does ink reach past a zone?

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use kurbo::{Point, Rect};

use super::deviation::farthest;
use super::edges::Edges;
use super::region::Region;
use crate::ids::At;

/// Most squares looked at inside the part that is outside. Past it the reported distance is the
/// largest that is still possible: too much, never too little.
const MOST_SQUARES: usize = 50_000;

/// The part of ink outside a zone.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Overhang {
    /// How far the ink reaches past the zone: the largest distance of any ink point from it, in
    /// millimetres. Infinite if the zone is empty.
    pub distance: f64,
    /// The ink point farthest out.
    pub at: Point,
    /// The zone's nearest point to it; `at` itself if the zone is empty.
    pub nearest: Point,
    /// All ink outside the zone.
    pub outside: Region,
}

/// The part of `ink` outside `zone`; `None` if all ink lies in the zone or within `tolerance` of it.
///
/// Around a convex zone the distance is exact. Otherwise it is at most `tolerance` millimetres off: a
/// larger tolerance is faster and lets that much more pass.
pub(crate) fn overhang(ink: &Region, zone: &Region, tolerance: f64) -> Option<Overhang> {
    let bounds = ink.bounds()?;
    if zone.contains_rect(bounds) {
        return None;
    }
    let outside = ink.subtract(zone);
    let first = *outside.rings.first()?.first()?;
    let index = zone.indexed();
    let accuracy = tolerance / 2.0;
    let Some(rim) = farthest(outside.edges(), &index, 0.0, accuracy) else {
        return Some(Overhang {
            distance: f64::INFINITY,
            at: first,
            nearest: first,
            outside,
        });
    };
    let (mut distance, mut at, mut nearest) = (rim.distance, rim.at, rim.nearest);
    // Distance to a convex zone is largest at a corner of the ink. Otherwise ink may lie over a notch
    // or a hole of the zone, and its farthest point in the middle of it.
    if !convex(zone) {
        let inner = deepest(&outside, &index, distance, accuracy);
        if inner.distance > distance {
            (distance, at, nearest) = (inner.distance, inner.at, inner.nearest);
        }
    }
    (distance > tolerance).then_some(Overhang {
        distance,
        at,
        nearest,
        outside,
    })
}

/// Whether the zone is one ring that always turns the same way, to the grid.
fn convex(zone: &Region) -> bool {
    let [ring] = zone.rings.as_slice() else {
        return false;
    };
    let n = ring.len();
    let at = |i: usize| *ring.at(i % n);
    (0..n).all(|i| {
        let (a, b, c) = (at(i), at(i + 1), at(i + 2));
        let (u, v) = (b - a, c - b);
        u.cross(v) >= -2e-6 * (u.hypot() + v.hypot())
    })
}

/// The point of `outside`, inner points included, farthest from the zone's boundary.
///
/// Squares are split while they could hide a point farther off than the best known; a square none of
/// which is in `outside` is dropped.
fn deepest(
    outside: &Region,
    zone: &Edges,
    known: f64,
    accuracy: f64,
) -> super::deviation::Farthest {
    let mut best = super::deviation::Farthest {
        distance: known,
        at: Point::ORIGIN,
        nearest: Point::ORIGIN,
    };
    let own = outside.indexed();
    let look = |centre: Point, half: f64, best: &mut super::deviation::Farthest| {
        let (distance, nearest) = zone.nearest_point(centre)?;
        let reach = half * std::f64::consts::SQRT_2;
        let bound = distance + reach;
        if bound <= best.distance + accuracy {
            return None;
        }
        let inside = outside.contains(centre);
        if !inside && own.nearest_point(centre)?.0 > reach {
            return None;
        }
        if inside && distance > best.distance {
            *best = super::deviation::Farthest {
                distance,
                at: centre,
                nearest,
            };
        }
        Some(Square {
            bound,
            centre,
            half,
        })
    };
    let mut queue = BinaryHeap::new();
    for piece in outside.pieces() {
        let bounds = piece.bounds().unwrap_or(Rect::ZERO);
        let half = bounds.width().max(bounds.height()) / 2.0;
        queue.extend(look(bounds.center(), half, &mut best));
    }
    let mut looked = 0;
    while let Some(square) = queue.pop() {
        if square.bound <= best.distance + accuracy {
            break;
        }
        looked += 1;
        if looked > MOST_SQUARES {
            best.distance = square.bound;
            if let Some((_, nearest)) = zone.nearest_point(square.centre) {
                (best.at, best.nearest) = (square.centre, nearest);
            }
            break;
        }
        let half = square.half / 2.0;
        for (dx, dy) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let centre = square.centre + kurbo::Vec2::new(dx * half, dy * half);
            queue.extend(look(centre, half, &mut best));
        }
    }
    best
}

/// A square with the largest distance it could hide.
struct Square {
    bound: f64,
    centre: Point,
    half: f64,
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound
            .total_cmp(&other.bound)
            .then(self.centre.x.total_cmp(&other.centre.x))
            .then(self.centre.y.total_cmp(&other.centre.y))
    }
}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Square {}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use kurbo::BezPath;

    fn region(d: &str) -> Region {
        Region::from_path(&BezPath::from_svg(d).unwrap(), true, 0.001)
    }

    #[track_caller]
    fn check(ink: &str, zone: &str, expected: f64, tolerance: f64) -> Overhang {
        let got = overhang(&region(ink), &region(zone), tolerance).unwrap();
        assert!(
            (got.distance - expected).abs() <= tolerance,
            "actual {got:?}, expected {expected} within {tolerance}; ink {ink}, zone {zone}"
        );
        assert!((got.at.distance(got.nearest) - got.distance).abs() < tolerance);
        got
    }

    #[test]
    fn ink_in_the_zone_is_no_overhang() {
        let zone = region("M0,0H30V20H0Z");
        for ink in ["M1,1H29V19H1Z", "M0,0H30V20H0Z", "M0,0H30.0009V20H0Z"] {
            assert_eq!(overhang(&region(ink), &zone, 0.001), None, "{ink}");
        }
        assert_eq!(overhang(&Region::default(), &zone, 0.001), None);
    }

    #[test]
    fn sides_and_corners_of_a_convex_zone_are_exact() {
        let got = check("M20,5H32.4V9H20Z", "M0,0H30V20H0Z", 2.4, 1e-5);
        assert_eq!(got.nearest.x, 30.0);
        assert!((got.outside.area() - 2.4 * 4.0).abs() < 1e-4);
        check("M25,15H33V24H25Z", "M0,0H30V20H0Z", 5.0, 1e-5);
        check("M50,5H60V9H50Z", "M0,0H30V20H0Z", 30.0, 1e-5);
    }

    #[test]
    fn ink_over_a_hole_or_a_notch_is_deepest_in_the_middle() {
        // A hole 10 wide: the ink covers all, and its middle is 5 from the zone.
        let frame = "M0,0H30V30H0Z M10,10H20V20H10Z";
        let got = check("M2,2H28V28H2Z", frame, 5.0, 0.001);
        assert!(got.at.distance(Point::new(15.0, 15.0)) < 0.05, "{got:?}");
        // A slot of even width: every point along its middle is as deep.
        let slot = "M0,0H60V30H0Z M10,10H50V20H10Z";
        for tolerance in [0.1, 0.01] {
            check("M2,2H58V28H2Z", slot, 5.0, tolerance);
        }
        // A V-shaped notch from the back: 10 wide, 10 deep. At the open end the middle is
        // 5 · cos(atan(1/2)) from either side.
        let notch = "M0,0H10L15,10L20,0H30V30H0Z";
        check("M2,0H28V28H2Z", notch, 5.0 * 2.0 / 5.0_f64.sqrt(), 0.001);
    }

    #[test]
    fn an_empty_zone_is_infinitely_far() {
        let got = overhang(&region("M0,0H1V1H0Z"), &Region::default(), 0.01).unwrap();
        assert_eq!(got.distance, f64::INFINITY);
        assert!((got.outside.area() - 1.0).abs() < 1e-5);
    }
}
