//! Straight pieces with an index: which is nearest?

use kurbo::Point;
use rstar::{AABB, PointDistance, RTree, RTreeObject};

/// One straight piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// Start.
    pub a: Point,
    /// End.
    pub b: Point,
}

impl Edge {
    /// The nearest point of the piece.
    pub fn nearest(&self, p: Point) -> Point {
        let along = self.b - self.a;
        let length2 = along.hypot2();
        if length2 == 0.0 {
            return self.a;
        }
        let t = ((p - self.a).dot(along) / length2).clamp(0.0, 1.0);
        // The far end exactly, not a rounded sum.
        if t == 1.0 { self.b } else { self.a + along * t }
    }

    /// What the piece adds to the number of times that its ring winds round `p`: a ray to the right
    /// crosses it upwards or downwards, or not.
    pub(crate) fn winds(&self, p: Point) -> i32 {
        let (a, b) = (self.a, self.b);
        let side = || (b - a).cross(p - a);
        if a.y <= p.y && b.y > p.y && side() > 0.0 {
            1
        } else if a.y > p.y && b.y <= p.y && side() < 0.0 {
            -1
        } else {
            0
        }
    }

    /// The distance to the piece.
    pub fn distance(&self, p: Point) -> f64 {
        self.nearest(p).distance(p)
    }
}

impl RTreeObject for Edge {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners([self.a.x, self.a.y], [self.b.x, self.b.y])
    }
}

impl PointDistance for Edge {
    fn distance_2(&self, point: &[f64; 2]) -> f64 {
        let p = Point::new(point[0], point[1]);
        self.nearest(p).distance_squared(p)
    }
}

/// Straight pieces, indexed.
#[derive(Debug, Clone)]
pub struct Edges {
    tree: RTree<Edge>,
}

impl Edges {
    /// Indexes pieces. Those with a coordinate that is not a number are left out, as nothing can be
    /// said about them.
    pub fn new(edges: impl Iterator<Item = (Point, Point)>) -> Self {
        let list = edges
            .filter(|(a, b)| a.is_finite() && b.is_finite())
            .map(|(a, b)| Edge { a, b })
            .collect();
        Self {
            tree: RTree::bulk_load(list),
        }
    }

    /// How often closed rings of these pieces wind round `p`; see [`super::region::Region::contains`].
    fn winding(&self, p: Point) -> i32 {
        // Those that a ray to the right may cross.
        let ray = AABB::from_corners([p.x, p.y], [f64::MAX, p.y]);
        let crossed = self.tree.locate_in_envelope_intersecting(ray);
        crossed.map(|edge| edge.winds(p)).sum()
    }

    /// Whether `p` is inside closed rings of these pieces or at most `by` millimetres from them.
    pub fn hold(&self, p: Point, by: f64) -> bool {
        self.nearest_point(p).is_some_and(|(d, _)| d <= by) || self.winding(p) != 0
    }

    /// The distance from `p` to what closed rings of these pieces hold: 0 inside, infinite if there is
    /// nothing.
    pub fn distance_to(&self, p: Point) -> f64 {
        if self.winding(p) != 0 {
            return 0.0;
        }
        self.nearest_point(p).map_or(f64::INFINITY, |(d, _)| d)
    }

    /// The piece nearest to `p`; `None` if there is none.
    pub fn nearest(&self, p: Point) -> Option<Edge> {
        self.tree.nearest_neighbor([p.x, p.y]).copied()
    }

    /// The nearest point on any piece and its distance; `None` if there is no piece.
    pub fn nearest_point(&self, p: Point) -> Option<(f64, Point)> {
        let q = self.nearest(p)?.nearest(p);
        Some((q.distance(p), q))
    }
}
