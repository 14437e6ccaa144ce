//! How far apart are two curves?
//!
//! The two-sided Hausdorff distance between the curves, to a stated accuracy. Comparing corners
//! alone would miss an edge that moved between them, so the search goes over whole pieces: a piece is
//! split while it could hide a point farther off than the farthest known, and dropped when it
//! provably cannot.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use kurbo::Point;

use super::contour::{Contour, FLAT};
use super::edges::{Edge, Edges};
use super::flatten::{edges, polylines};
use crate::abandon::spend;
use crate::ids::At;

/// How far two curves are apart.
///
/// The distance is plain: how far a point of one is from the nearest point of the other. The
/// tolerance zone of position on a drawing (ISO 1101:2017) is stated as a diameter, which is twice
/// that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deviation {
    /// The largest distance of a point of either curve from the other curve.
    pub distance: f64,
    /// Where it is, on the first curve.
    pub at: Point,
    /// The place on the second curve that belongs to it.
    pub to: Point,
}

/// The largest distance between `a` and `b`, never more than `tolerance` (millimetres) off.
///
/// Half of the tolerance goes into making curves straight, half into the search; a larger one is
/// faster. Infinite where a curve has no points.
pub fn deviation(a: &Contour, b: &Contour, tolerance: f64) -> Deviation {
    let (a, b) = (
        Flat::new(a, tolerance).indexed(),
        Flat::new(b, tolerance).indexed(),
    );
    let accuracy = tolerance / 2.0;
    let there = farthest(a.list(), &b.index, 0.0, accuracy);
    let least = there.map_or(0.0, |f| f.distance);
    // The other way only matters where it is farther.
    let back = farthest(b.list(), &a.index, least, accuracy);
    match (there, back) {
        (_, Some(back)) if back.distance > least => Deviation {
            distance: back.distance,
            at: back.nearest,
            to: back.at,
        },
        (Some(there), _) => Deviation {
            distance: there.distance,
            at: there.at,
            to: there.nearest,
        },
        _ => Deviation {
            distance: f64::INFINITY,
            at: Point::ORIGIN,
            to: Point::ORIGIN,
        },
    }
}

/// Whether no point of either curve is farther than `limit` from the other.
///
/// Yes for a deviation up to `limit − tolerance`, no from `limit + tolerance` on, either between.
pub fn within(a: &Contour, b: &Contour, limit: f64, tolerance: f64) -> bool {
    // Every side of the boxes is touched by its curve, so boxes are never farther apart than curves.
    let sides = [
        a.bounds.x0 - b.bounds.x0,
        a.bounds.x1 - b.bounds.x1,
        a.bounds.y0 - b.bounds.y0,
        a.bounds.y1 - b.bounds.y1,
    ];
    if sides.iter().any(|d| d.abs() > limit + tolerance) {
        return false;
    }
    let (a, b) = (Flat::new(a, tolerance), Flat::new(b, tolerance));
    // A run's fixture lines are copies as a rule: corner by corner they lie on the fixture's.
    if a.follows(&b, limit) {
        return true;
    }
    let (a, b) = (a.indexed(), b.indexed());
    let accuracy = tolerance / 2.0;
    stays_within(a.list(), &b.index, limit, accuracy)
        && stays_within(b.list(), &a.index, limit, accuracy)
}

/// The point of a set of pieces that is farthest from another set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Farthest {
    /// How far.
    pub distance: f64,
    /// The point.
    pub at: Point,
    /// The nearest point of the other set.
    pub nearest: Point,
}

/// The point on `from` farthest from `to`, to `accuracy`: no point is farther by more than that.
/// `None` if either is empty. Points nearer than `least` do not matter: where all are, the result is
/// one of them.
pub(crate) fn farthest(
    from: impl Iterator<Item = (Point, Point)>,
    to: &Edges,
    least: f64,
    accuracy: f64,
) -> Option<Farthest> {
    let mut search = Search { to, best: None };
    let mut queue: BinaryHeap<Span> = from.filter_map(|(a, b)| search.span(a, b)).collect();
    // Below a millionth of a millimetre sums of this size are noise.
    let accuracy = accuracy.max(1e-7);
    while let Some(span) = queue.pop() {
        let known = search.best.map_or(0.0, |f| f.distance).max(least);
        if span.bound <= known + accuracy {
            break;
        }
        let middle = span.a.midpoint(span.b);
        queue.extend(search.span(span.a, middle));
        queue.extend(search.span(middle, span.b));
    }
    search.best
}

/// Whether every point on `from` is within `limit` of `to`, give or take `accuracy`; true if `from` is
/// empty, false if only `to` is.
pub(crate) fn stays_within(
    from: impl Iterator<Item = (Point, Point)>,
    to: &Edges,
    limit: f64,
    accuracy: f64,
) -> bool {
    let mut search = Search { to, best: None };
    let accuracy = accuracy.max(1e-7);
    // Distance changes no faster than place: about a point that lies nearer than it must, all is within.
    let (mut known, mut ease) = (Point::ORIGIN, f64::NEG_INFINITY);
    for (a, b) in from {
        if a.distance(known) <= ease && b.distance(known) <= ease {
            continue;
        }
        spend(1);
        let Some((distance, _)) = to.nearest_point(a) else {
            return false;
        };
        if distance > limit {
            return false;
        }
        (known, ease) = (a, limit + accuracy - distance);
        if b.distance(known) <= ease {
            continue;
        }
        let mut stack = vec![(a, b)];
        while let Some((a, b)) = stack.pop() {
            let Some(span) = search.span(a, b) else {
                return false;
            };
            if search.best.is_some_and(|f| f.distance > limit) {
                return false;
            }
            if span.bound > limit + accuracy {
                let middle = a.midpoint(b);
                stack.push((a, middle));
                stack.push((middle, b));
            }
        }
    }
    true
}

struct Search<'a> {
    to: &'a Edges,
    best: Option<Farthest>,
}

impl Search<'_> {
    /// Measures both ends of a piece and bounds what lies between.
    ///
    /// Two bounds hold, and the smaller is taken. Distance changes no faster than place, so nothing
    /// between is farther than (d0 + d1 + length) / 2. And the distance to one fixed piece is convex
    /// along a line, so nothing between is farther than the worse end is from that piece, which
    /// settles an edge moved in parallel at once.
    fn span(&mut self, a: Point, b: Point) -> Option<Span> {
        // Two searches of an index.
        spend(2);
        let (near_a, near_b) = (self.to.nearest(a)?, self.to.nearest(b)?);
        let (d0, d1) = (self.measure(a, near_a), self.measure(b, near_b));
        let lipschitz = (d0 + d1 + a.distance(b)) / 2.0;
        let by_first = d0.max(near_a.distance(b));
        let by_second = d1.max(near_b.distance(a));
        Some(Span {
            a,
            b,
            bound: lipschitz.min(by_first).min(by_second),
        })
    }

    fn measure(&mut self, at: Point, near: Edge) -> f64 {
        let nearest = near.nearest(at);
        let distance = nearest.distance(at);
        if self.best.is_none_or(|best| distance > best.distance) {
            self.best = Some(Farthest {
                distance,
                at,
                nearest,
            });
        }
        distance
    }
}

/// A piece with the largest distance it could hide.
struct Span {
    a: Point,
    b: Point,
    bound: f64,
}

impl Ord for Span {
    fn cmp(&self, other: &Self) -> Ordering {
        // Ties are broken by position, so that the same curves give the same point.
        self.bound
            .total_cmp(&other.bound)
            .then(self.a.x.total_cmp(&other.a.x))
            .then(self.a.y.total_cmp(&other.a.y))
            .then(self.b.x.total_cmp(&other.b.x))
            .then(self.b.y.total_cmp(&other.b.y))
    }
}

impl PartialOrd for Span {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Span {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Span {}

/// A contour made straight for one comparison, indexed.
struct Straight {
    flat: Flat,
    index: Edges,
}

impl Straight {
    fn list(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        edges(&self.flat.points, self.flat.closed)
    }
}

/// A curve made straight.
struct Flat {
    points: Vec<Point>,
    closed: bool,
}

impl Flat {
    /// A quarter of the tolerance for each of the two curves.
    fn new(contour: &Contour, tolerance: f64) -> Self {
        let points = if FLAT <= tolerance / 4.0 {
            contour.flat.clone()
        } else {
            let tolerance = (tolerance / 4.0).max(1e-6);
            polylines(&contour.path, tolerance)
                .into_iter()
                .next()
                .unwrap_or_default()
                .points
        };
        Self {
            points,
            closed: contour.closed,
        }
    }

    fn indexed(self) -> Straight {
        let index = Edges::new(edges(&self.points, self.closed));
        Straight { flat: self, index }
    }

    /// Whether both have as many corners, and each lies within `limit` of its partner in order, from
    /// some corner on, one way round or the other. Pieces between such corners lie within it too.
    fn follows(&self, other: &Self, limit: f64) -> bool {
        let (own, count) = (&self.points, other.points.len());
        if own.len() != count || count == 0 || self.closed != other.closed {
            return false;
        }
        let near = |p: &Point, i: usize| p.distance(*other.points.at(i % count)) <= limit;
        let first = own.at(0);
        let starts: Vec<usize> = if self.closed {
            // The nearest is the partner of a copy; where it is not, the slow way decides.
            let away = |i: &usize| other.points.at(*i).distance_squared(*first);
            (0..count)
                .min_by(|a, b| away(a).total_cmp(&away(b)))
                .into_iter()
                .collect()
        } else {
            vec![0, count - 1]
        };
        starts.into_iter().any(|start| {
            // Open curves are followed from end to end.
            let on = self.closed || start == 0;
            let back = self.closed || start + 1 == count;
            on && own.iter().enumerate().all(|(i, p)| near(p, start + i))
                || back
                    && own
                        .iter()
                        .enumerate()
                        .all(|(i, p)| near(p, start + count - i))
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::super::contour::contours;
    use super::*;
    use kurbo::{Affine, BezPath};

    fn only(d: &str) -> Contour {
        contours(&BezPath::from_svg(d).unwrap()).remove(0)
    }

    #[track_caller]
    fn check(a: &str, b: &str, expected: f64, tolerance: f64) -> Deviation {
        let (a, b) = (only(a), only(b));
        let got = deviation(&a, &b, tolerance);
        assert!(
            (got.distance - expected).abs() <= tolerance,
            "actual {got:?}, expected {expected} within {tolerance}, input {a:?} {b:?}"
        );
        assert!(
            (got.at.distance(got.to) - got.distance).abs() < 1e-9,
            "{got:?}"
        );
        let back = deviation(&b, &a, tolerance).distance;
        assert!(
            (back - got.distance).abs() <= 2.0 * tolerance,
            "there {got:?}, back {back}"
        );
        assert!(
            within(&a, &b, expected + 2.0 * tolerance, tolerance),
            "{expected}"
        );
        assert!(
            expected < 3.0 * tolerance || !within(&a, &b, expected - 2.0 * tolerance, tolerance)
        );
        got
    }

    #[test]
    fn an_edge_that_moved_between_corners_is_seen() {
        // The edge from (10,0) to (10,10) bulges to x = 13 at its middle: corners agree.
        let bulge = "M0,0 H10 C14,2 14,8 10,10 H0 Z";
        let got = check("M0,0 H10 V10 H0 Z", bulge, 3.0, 0.001);
        assert!(
            (got.at.x - 10.0).abs() < 0.01 && (got.to.x - 13.0).abs() < 0.01,
            "{got:?}"
        );
    }

    #[test]
    fn moves_are_measured_whatever_the_start_and_direction() {
        check(
            "M0,0 H30 V20 H0 Z",
            "M30.3,20.4 V0.4 H0.3 V20.4 Z",
            0.5,
            0.001,
        );
        check("M0,0 H30 V20 H0 Z", "M0,20 H30 V0 H0 Z", 0.0, 0.001);
        check("M0,0 H30 V20 H0 Z", "M1,0 H30 V20 H1 Z", 1.0, 0.001);
        check("M0,0 L10,0", "M0,0 L5,3 L10,0", 3.0, 0.001);
        // Open against closed: the missing side is 2.5 away at most, half of it.
        check("M0,0 H5 V5 H0 Z", "M0,0 H5 V5 H0", 2.5, 0.001);
        // A small square inside a large one: the farthest is the large one's corner.
        check(
            "M0,0 H100 V100 H0 Z",
            "M45,45 h10 v10 h-10 Z",
            45.0 * 2.0_f64.sqrt(),
            0.01,
        );
    }

    #[test]
    fn the_error_follows_the_tolerance() {
        let circle = |r: f64| contours(&super::super::arc::ellipse(0.0, 0.0, r, r, 1e-9)).remove(0);
        let (a, b) = (
            circle(20.0),
            circle(20.1)
                .transformed(Affine::translate((0.3, 0.4)))
                .unwrap(),
        );
        for tolerance in [0.1, 0.01, 0.001, 0.0001] {
            let got = deviation(&a, &b, tolerance).distance;
            assert!(
                (got - 0.6).abs() <= tolerance,
                "tolerance {tolerance}: {got}, expected 0.6"
            );
        }
    }

    #[test]
    fn boxes_discard_without_a_search() {
        let a = only("M0,0 H10 V10 H0 Z");
        let b = only("M0,0 H10 V10.5 H0 Z");
        assert!(!within(&a, &b, 0.4, 0.01));
        assert!(within(&a, &b, 0.52, 0.01));
    }
}
