//! Curves to straight pieces, to a proven accuracy.
//!
//! The number of pieces comes from the second derivative, so the accuracy is proven rather than
//! estimated, and only sums, products and square roots are used, so the points are the same on
//! every machine.

use kurbo::{BezPath, ParamCurve, PathEl, PathSeg, Point, Vec2};

use crate::ids::At;

/// Coordinates beyond this, in millimetres, are refused: ten kilometres is no bed, and distances
/// between such points lose the micrometres that matter here.
pub(crate) const LARGEST: f64 = 1e7;

/// Most pieces one curve is cut into. Reached only by curves hundreds of metres long.
const MOST_PIECES: f64 = 65_536.0;

/// A subpath as straight pieces.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Polyline {
    /// Points in order; the first is not repeated at the end of a closed one.
    pub points: Vec<Point>,
    /// Whether the last point joins the first.
    pub closed: bool,
}

impl Polyline {
    /// The straight pieces, the closing one included.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        edges(&self.points, self.closed)
    }
}

/// The straight pieces between `points`, the one from last to first included if `closed`.
pub(crate) fn edges(points: &[Point], closed: bool) -> impl Iterator<Item = (Point, Point)> + '_ {
    let closing = match (points.last(), points.first()) {
        (Some(&last), Some(&first)) if closed && points.len() > 1 => Some((last, first)),
        _ => None,
    };
    points
        .iter()
        .zip(points.iter().skip(1))
        .map(|(&a, &b)| (a, b))
        .chain(closing)
}

/// Twice-summed triangles about the first point: positive for a ring that runs clockwise on the bed.
///
/// Taken about a point of the ring, not the origin, so that a small ring far out keeps its digits.
pub(crate) fn signed_area(ring: &[Point]) -> f64 {
    let Some(&o) = ring.first() else { return 0.0 };
    0.5 * edges(ring, true)
        .map(|(a, b)| (a - o).cross(b - o))
        .sum::<f64>()
}

/// Whether every coordinate is a number within [`LARGEST`].
pub(crate) fn measurable(path: &BezPath) -> bool {
    path.elements().iter().all(|el| match *el {
        PathEl::MoveTo(p) | PathEl::LineTo(p) => measurable_point(p),
        PathEl::QuadTo(p, q) => measurable_point(p) && measurable_point(q),
        PathEl::CurveTo(p, q, r) => {
            measurable_point(p) && measurable_point(q) && measurable_point(r)
        }
        PathEl::ClosePath => true,
    })
}

/// Whether both coordinates are numbers within [`LARGEST`].
pub(crate) fn measurable_point(p: Point) -> bool {
    p.x.abs() <= LARGEST && p.y.abs() <= LARGEST
}

/// How many equal steps of the parameter keep every chord within `tolerance` of the curve.
///
/// A chord over a step h is within h²/8 · max|B″| of the curve (the error of linear interpolation,
/// any textbook on numerical analysis); |B″| of a Bézier curve is at most the largest second
/// difference of its control points times n(n−1).
pub(crate) fn steps(seg: &PathSeg, tolerance: f64) -> usize {
    let bend = match *seg {
        PathSeg::Line(_) => return 1,
        PathSeg::Quad(q) => 2.0 * second_difference(q.p0, q.p1, q.p2),
        PathSeg::Cubic(c) => {
            6.0 * second_difference(c.p0, c.p1, c.p2).max(second_difference(c.p1, c.p2, c.p3))
        }
    };
    let n = (bend / (8.0 * tolerance)).sqrt().ceil();
    // Not a number (tolerance 0 on a straight curve) ends as 1 here.
    n.clamp(1.0, MOST_PIECES).max(1.0) as usize
}

fn second_difference(a: Point, b: Point, c: Point) -> f64 {
    (a.to_vec2() - 2.0 * b.to_vec2() + c.to_vec2()).hypot()
}

/// The direction in which a segment starts (not normalised), from the first control point that
/// differs from the start; zero for a segment without length.
pub(crate) fn direction_at_start(seg: &PathSeg) -> Vec2 {
    let (p0, others) = match *seg {
        PathSeg::Line(l) => (l.p0, [l.p1, l.p1, l.p1]),
        PathSeg::Quad(q) => (q.p0, [q.p1, q.p2, q.p2]),
        PathSeg::Cubic(c) => (c.p0, [c.p1, c.p2, c.p3]),
    };
    others
        .into_iter()
        .map(|p| p - p0)
        .find(|v| v.hypot2() > 0.0)
        .unwrap_or(Vec2::ZERO)
}

/// Points after the start of `seg`, its end exactly included, no chord more than `tolerance` off.
pub(crate) fn points_after_start(seg: &PathSeg, tolerance: f64, mut each: impl FnMut(Point)) {
    let n = steps(seg, tolerance);
    for i in 1..n {
        each(seg.eval(i as f64 / n as f64));
    }
    each(seg.end());
}

/// Every subpath as straight pieces, each within `tolerance` of its curve.
///
/// Repeated points are left out; a subpath of one place keeps one point. A larger tolerance gives
/// fewer points and cuts corners off curves by that much.
pub fn polylines(path: &BezPath, tolerance: f64) -> Vec<Polyline> {
    subpaths(path)
        .into_iter()
        .map(|sub| {
            let mut points = vec![sub.start];
            for seg in &sub.segments {
                points_after_start(seg, tolerance, |p| {
                    if points.last() != Some(&p) {
                        points.push(p);
                    }
                });
            }
            if sub.closed && points.len() > 1 && points.last() == points.first() {
                points.pop();
            }
            Polyline {
                points,
                closed: sub.closed,
            }
        })
        .collect()
}

/// One subpath as segments.
#[derive(Debug, Clone)]
pub(crate) struct Subpath {
    /// Where it starts.
    pub start: Point,
    /// Its segments with length, the closing one included.
    pub segments: Vec<PathSeg>,
    /// Whether a closepath ends it.
    pub closed: bool,
    /// Whether anything follows the moveto, be it without length: such a subpath draws a dot under
    /// a round or square cap, a lone moveto does not (SVG 2, section 13.5.4 and path data, 9.3.3).
    pub drawn: bool,
}

/// Splits a path into its subpaths. A line after a closepath starts a new subpath at the old start,
/// as in SVG 2, section 9.3.4.
pub(crate) fn subpaths(path: &BezPath) -> Vec<Subpath> {
    let mut all: Vec<Subpath> = Vec::new();
    let mut open: Option<Subpath> = None;
    let mut start = Point::ORIGIN;
    let mut at = Point::ORIGIN;
    let fresh = |p| Subpath {
        start: p,
        segments: Vec::new(),
        closed: false,
        drawn: false,
    };
    for el in path.elements() {
        let seg = match *el {
            PathEl::MoveTo(p) => {
                all.extend(open.take());
                open = Some(fresh(p));
                (start, at) = (p, p);
                continue;
            }
            PathEl::ClosePath => {
                let mut sub = open.take().unwrap_or_else(|| fresh(start));
                if at != start {
                    sub.segments
                        .push(PathSeg::Line(kurbo::Line::new(at, start)));
                }
                sub.closed = true;
                sub.drawn = true;
                all.push(sub);
                at = start;
                continue;
            }
            PathEl::LineTo(p) => PathSeg::Line(kurbo::Line::new(at, p)),
            PathEl::QuadTo(p, q) => PathSeg::Quad(kurbo::QuadBez::new(at, p, q)),
            PathEl::CurveTo(p, q, r) => PathSeg::Cubic(kurbo::CubicBez::new(at, p, q, r)),
        };
        let sub = open.get_or_insert_with(|| fresh(start));
        sub.drawn = true;
        if direction_at_start(&seg) != Vec2::ZERO {
            sub.segments.push(seg);
        }
        at = seg.end();
    }
    all.extend(open);
    all
}

/// A ring with fewer corners, nowhere farther than `tolerance` from it (Douglas and Peucker 1973).
pub(crate) fn simpler(ring: &[Point], tolerance: f64) -> Vec<Point> {
    let (Some(first), true) = (ring.first(), ring.len() > 4) else {
        return ring.to_vec();
    };
    // From one corner to the one farthest from it and back.
    let far = (0..ring.len())
        .max_by(|a, b| {
            let from = |i: &usize| ring.at(*i).distance_squared(*first);
            from(a).total_cmp(&from(b))
        })
        .unwrap_or(0);
    let mut keep = vec![false; ring.len() + 1];
    let at = |i: usize| *ring.at(i % ring.len());
    let mut open = vec![(0, far), (far, ring.len())];
    for i in [0, far] {
        *keep.at_mut(i) = true;
    }
    while let Some((from, to)) = open.pop() {
        let chord = super::edges::Edge {
            a: at(from),
            b: at(to),
        };
        let worst = (from + 1..to)
            .map(|i| (i, chord.distance(at(i))))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|w| w.1 > tolerance);
        if let Some((i, _)) = worst {
            *keep.at_mut(i) = true;
            open.extend([(from, i), (i, to)]);
        }
    }
    let out: Vec<Point> = ring
        .iter()
        .zip(&keep)
        .filter(|(_, k)| **k)
        .map(|(p, _)| *p)
        .collect();
    // A core no larger than the tolerance must not vanish.
    if out.len() < 3 { ring.to_vec() } else { out }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::edges::Edges;

    #[test]
    fn a_simplified_ring_stays_within_its_tolerance() {
        let ring: Vec<Point> = (0..2000)
            .map(|i| {
                let t = f64::from(i) * std::f64::consts::TAU / 2000.0;
                Point::new(10.0 * t.cos(), 10.0 * t.sin())
            })
            .collect();
        let fewer = simpler(&ring, 0.01);
        assert!(fewer.len() < 200, "{}", fewer.len());
        let index = Edges::new(edges(&fewer, true));
        for p in &ring {
            let away = index.nearest_point(*p).map(|(away, _)| away);
            assert!(away.is_some_and(|a| a <= 0.01), "{p:?} is {away:?} away");
        }
    }
}
