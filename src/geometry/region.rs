//! Areas of the bed: what ink covers, what a zone allows.
//!
//! Regions are polygons on a grid of 2⁻²⁰ mm, just under a nanometre, the same grid at every size and
//! place: `i_overlay` works in 64-bit integers, so 600 mm (and [`LARGEST`] as well) fit with room to
//! spare. A corner moves by at most half a grid step a coordinate when it is put on the grid, and a
//! crossing found by a boolean operation by about one: below 2 · 10⁻⁶ mm, a thousand times finer
//! than anything a laser does. Parts thinner than 4 · 10⁻⁶ mm are dropped. What counts is the tolerance to which curves were made straight.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::Overlay;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use kurbo::{BezPath, Point, Rect};

use super::edges::{Edge, Edges};
use super::flatten::{LARGEST, edges, measurable, measurable_point, polylines};
use super::sweep;

/// Grid steps in a millimetre.
const GRID: f64 = 1_048_576.0;

/// Rings thinner than this many grid steps on average are left out of every result: they are what
/// rounding makes of two boundaries that lie on each other, and say nothing about the shapes.
const HAIR: f64 = 4.0;

/// A set of closed rings, filled by the non-zero rule.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Region {
    /// Closed rings; outer boundaries run one way (clockwise on the bed), holes the other.
    pub rings: Vec<Vec<Point>>,
}

impl Region {
    /// The inside of `path`, every subpath closed, curves made straight to `tolerance` millimetres.
    ///
    /// A path that cannot be measured (see [`Region::try_from_path`]) gives [`Region::everywhere`]:
    /// ink that cannot be measured is taken to be all over the bed, so that no rule clears it. The
    /// reader refuses such coordinates before they come here.
    pub fn from_path(path: &BezPath, even_odd: bool, tolerance: f64) -> Self {
        Self::try_from_path(path, even_odd, tolerance).unwrap_or_else(Self::everywhere)
    }

    /// As [`Region::from_path`]; `None` where a coordinate is not a number or beyond [`LARGEST`].
    pub fn try_from_path(path: &BezPath, even_odd: bool, tolerance: f64) -> Option<Self> {
        measurable(path).then(|| {
            let rings = polylines(path, tolerance)
                .into_iter()
                .map(|line| line.points);
            Self::from_rings(rings, even_odd)
        })
    }

    /// The inside of rings in any order and direction, crossing or not. Rings with a coordinate that
    /// is not a number or beyond [`LARGEST`] are left out.
    pub fn from_rings(rings: impl IntoIterator<Item = Vec<Point>>, even_odd: bool) -> Self {
        let on_grid: Vec<_> = rings
            .into_iter()
            .filter_map(|ring| to_grid(&ring))
            .collect();
        if on_grid.is_empty() {
            return Self::default();
        }
        let fill = if even_odd {
            FillRule::EvenOdd
        } else {
            FillRule::NonZero
        };
        let shapes = Overlay::<i64>::from_subj(&on_grid).overlay(OverlayRule::Subject, fill);
        Self {
            rings: shapes
                .iter()
                .flatten()
                .filter_map(|ring| from_grid(ring))
                .collect(),
        }
    }

    /// The union of polygons, each counted as filled whichever way it runs.
    pub fn union_of(polygons: impl IntoIterator<Item = Vec<Point>>) -> Self {
        Self::from_rings(
            polygons.into_iter().map(|mut p| {
                if signed_area(&p) < 0.0 {
                    p.reverse();
                }
                p
            }),
            false,
        )
    }

    /// A rectangle. Empty if it has no area.
    pub fn from_rect(rect: Rect) -> Self {
        let r = rect.abs();
        Self::from_rings(
            [vec![
                Point::new(r.x0, r.y0),
                Point::new(r.x1, r.y0),
                Point::new(r.x1, r.y1),
                Point::new(r.x0, r.y1),
            ]],
            false,
        )
    }

    /// Everything that can be measured: the square of [`LARGEST`] about the origin.
    pub fn everywhere() -> Self {
        Self::from_rect(Rect::new(-LARGEST, -LARGEST, LARGEST, LARGEST))
    }

    /// Whether nothing is covered.
    pub fn is_empty(&self) -> bool {
        self.rings.is_empty()
    }

    /// The box around it, `None` if it is empty.
    pub fn bounds(&self) -> Option<Rect> {
        let mut points = self.rings.iter().flatten();
        let first = *points.next()?;
        Some(points.fold(Rect::from_points(first, first), |r, &p| r.union_pt(p)))
    }

    /// The area in square millimetres, holes taken off.
    pub fn area(&self) -> f64 {
        self.rings
            .iter()
            .map(|ring| signed_area(ring))
            .sum::<f64>()
            .max(0.0)
    }

    /// The part that both cover.
    #[must_use]
    pub fn intersect(&self, other: &Self) -> Self {
        if self.apart(other) {
            return Self::default();
        }
        self.combine(other, OverlayRule::Intersect)
    }

    /// The part that only this one covers.
    #[must_use]
    pub fn subtract(&self, other: &Self) -> Self {
        if self.apart(other) {
            return self.clone();
        }
        self.combine(other, OverlayRule::Difference)
    }

    /// The part that either covers.
    #[must_use]
    pub fn unite(&self, other: &Self) -> Self {
        if self.apart(other) {
            return Self {
                rings: self.rings.iter().chain(&other.rings).cloned().collect(),
            };
        }
        self.combine(other, OverlayRule::Union)
    }

    /// Widened all round by a disc of radius `by`. Never short of the true shape, and at most
    /// `tolerance` past it, which a larger one pays with at round corners.
    #[must_use]
    pub fn grown(&self, by: f64, tolerance: f64) -> Self {
        if by <= 0.0 {
            return self.clone();
        }
        let band = self.band(by, tolerance);
        Self::from_rings(self.rings.iter().cloned().chain(band), false)
    }

    /// Shrunk all round by `by`: every point left is at least `by` from the outside, to the grid.
    /// Corners that point outwards stay sharp; at corners that point inwards it may lie up to
    /// `tolerance` further in than it must.
    #[must_use]
    pub fn shrunk(&self, by: f64, tolerance: f64) -> Self {
        if by <= 0.0 {
            return self.clone();
        }
        self.subtract(&Self::from_rings(self.band(by, tolerance), false))
    }

    /// The boundary drawn with a round pen of radius `by`, as overlapping polygons that all run the
    /// same way.
    fn band(&self, by: f64, tolerance: f64) -> Vec<Vec<Point>> {
        let mut band = Vec::new();
        for ring in &self.rings {
            sweep::round(ring, true, by, tolerance, &mut band);
        }
        band
    }

    /// Whether `p` is covered. A point on the boundary may fall either way.
    pub fn contains(&self, p: Point) -> bool {
        self.rings.iter().map(|ring| winding(ring, p)).sum::<i32>() != 0
    }

    /// Whether the whole rectangle is covered; touching the boundary from inside is covered.
    pub fn contains_rect(&self, rect: Rect) -> bool {
        let rect = rect.abs();
        // Two grid steps: an edge along the rectangle's side must not count as cutting into it.
        let by = (2.0 / GRID)
            .min(rect.width() / 4.0)
            .min(rect.height() / 4.0);
        let inner = Rect::new(rect.x0 + by, rect.y0 + by, rect.x1 - by, rect.y1 - by);
        self.contains(inner.center()) && !self.edges().any(|(a, b)| enters(Edge { a, b }, inner))
    }

    /// The connected parts, each an outer ring with its holes.
    pub fn pieces(&self) -> Vec<Self> {
        let on_grid: Vec<_> = self.rings.iter().filter_map(|ring| to_grid(ring)).collect();
        if on_grid.is_empty() {
            return Vec::new();
        }
        Overlay::<i64>::from_subj(&on_grid)
            .overlay(OverlayRule::Subject, FillRule::NonZero)
            .iter()
            .map(|shape| Self {
                rings: shape.iter().filter_map(|ring| from_grid(ring)).collect(),
            })
            .collect()
    }

    /// The distance from `p`: 0 inside, infinite if the region is empty.
    pub fn distance_to(&self, p: Point) -> f64 {
        if self.contains(p) {
            0.0
        } else {
            self.boundary_distance(p)
        }
    }

    /// The distance from `p` to the boundary, from inside or outside; infinite if the region is empty.
    pub fn boundary_distance(&self, p: Point) -> f64 {
        self.nearest_on_boundary(p)
            .map_or(f64::INFINITY, |q| q.distance(p))
    }

    /// The nearest point that is covered, `p` itself if it is; `None` if the region is empty.
    pub fn nearest(&self, p: Point) -> Option<Point> {
        if self.contains(p) {
            Some(p)
        } else {
            self.nearest_on_boundary(p)
        }
    }

    fn nearest_on_boundary(&self, p: Point) -> Option<Point> {
        self.edges()
            .map(|(a, b)| Edge { a, b }.nearest(p))
            .min_by(|q, r| q.distance_squared(p).total_cmp(&r.distance_squared(p)))
    }

    /// The boundary as straight pieces.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.rings.iter().flat_map(|ring| edges(ring, true))
    }

    /// The boundary as an index, for many questions about one region.
    pub fn indexed(&self) -> Edges {
        Edges::new(self.edges())
    }

    /// The rings as a path, to be filled by the non-zero rule.
    pub fn to_path(&self) -> BezPath {
        let mut path = BezPath::new();
        for ring in &self.rings {
            let mut points = ring.iter();
            if let Some(&first) = points.next() {
                path.move_to(first);
                points.for_each(|&p| path.line_to(p));
                path.close_path();
            }
        }
        path
    }

    fn apart(&self, other: &Self) -> bool {
        match (self.bounds(), other.bounds()) {
            (Some(a), Some(b)) => a.x1 < b.x0 || b.x1 < a.x0 || a.y1 < b.y0 || b.y1 < a.y0,
            _ => true,
        }
    }

    fn combine(&self, other: &Self, rule: OverlayRule) -> Self {
        let subject: Vec<_> = self.rings.iter().filter_map(|ring| to_grid(ring)).collect();
        let clip: Vec<_> = other
            .rings
            .iter()
            .filter_map(|ring| to_grid(ring))
            .collect();
        let shapes =
            Overlay::<i64>::from_subj_and_clip(&subject, &clip).overlay(rule, FillRule::NonZero);
        Self {
            rings: shapes
                .iter()
                .flatten()
                .filter_map(|ring| from_grid(ring))
                .collect(),
        }
    }
}

fn to_grid(ring: &[Point]) -> Option<Vec<IntPoint<i64>>> {
    (ring.len() > 2 && ring.iter().all(|&p| measurable_point(p))).then(|| {
        ring.iter()
            .map(|p| IntPoint::new((p.x * GRID).round() as i64, (p.y * GRID).round() as i64))
            .collect()
    })
}

/// Back from the grid; `None` for a hair.
fn from_grid(ring: &[IntPoint<i64>]) -> Option<Vec<Point>> {
    let points: Vec<_> = ring
        .iter()
        .map(|p| Point::new(p.x as f64 / GRID, p.y as f64 / GRID))
        .collect();
    let around: f64 = edges(&points, true).map(|(a, b)| a.distance(b)).sum();
    (2.0 * signed_area(&points).abs() * GRID > HAIR * around).then_some(points)
}

/// Twice-summed triangles about the first point: positive for a ring that runs clockwise on the bed.
///
/// Taken about a point of the ring, not the origin, so that a small ring far out keeps its digits.
pub fn signed_area(ring: &[Point]) -> f64 {
    let Some(&o) = ring.first() else { return 0.0 };
    0.5 * edges(ring, true)
        .map(|(a, b)| (a - o).cross(b - o))
        .sum::<f64>()
}

/// How often a ring winds round `p`.
pub fn winding(ring: &[Point], p: Point) -> i32 {
    edges(ring, true)
        .map(|(a, b)| {
            let side = || (b - a).cross(p - a);
            if a.y <= p.y && b.y > p.y && side() > 0.0 {
                1
            } else if a.y > p.y && b.y <= p.y && side() < 0.0 {
                -1
            } else {
                0
            }
        })
        .sum()
}

/// Whether a piece reaches into the open rectangle, by clipping it to the four sides (Liang and
/// Barsky 1984).
fn enters(edge: Edge, rect: Rect) -> bool {
    let d = edge.b - edge.a;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (step, room) in [
        (-d.x, edge.a.x - rect.x0),
        (d.x, rect.x1 - edge.a.x),
        (-d.y, edge.a.y - rect.y0),
        (d.y, rect.y1 - edge.a.y),
    ] {
        if step == 0.0 {
            if room <= 0.0 {
                return false;
            }
        } else if step < 0.0 {
            from = from.max(room / step);
        } else {
            to = to.min(room / step);
        }
    }
    from < to
}

#[cfg(test)]
mod tests {
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
        assert_eq!(s.nearest(Point::new(5.0, -3.0)), Some(Point::new(5.0, 0.0)));
        assert_eq!(Region::default().nearest(Point::ORIGIN), None);
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
}
