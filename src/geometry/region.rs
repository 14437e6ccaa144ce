//! Areas of the bed: what ink covers, what a zone allows.
//!
//! Regions are polygons on a grid of 2⁻²⁰ mm, just under a nanometre, the same grid at every size and
//! place: `i_overlay` works in 64-bit integers, so 600 mm (and [`LARGEST`] as well) fit with room to
//! spare. A corner moves by at most half a grid step a coordinate when it is put on the grid, and a
//! crossing found by a boolean operation by about one: below 2 · 10⁻⁶ mm, a thousand times finer
//! than anything a laser does. Parts thinner than 4 · 10⁻⁶ mm are dropped. What counts is the tolerance to which curves were made straight.

use std::borrow::Cow;

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::Overlay;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use kurbo::{BezPath, Point, Rect};

use super::crossing_budget::{crosses_too_often, dense};
use super::edges::{Edge, Edges};
use super::flatten::{LARGEST, edges, measurable, measurable_point, polylines, signed_area};
use super::sweep::{self, Side};
use crate::abandon::{give_up_part, spend};

/// Grid steps in a millimetre.
const GRID: f64 = 1_048_576.0;

/// Rings thinner than this many grid steps on average are left out of every result: they are what
/// rounding makes of two boundaries that lie on each other, and say nothing about the shapes.
const HAIR: f64 = 4.0;

/// Polygons that are joined at once where many lie on each other. Twice as many, and their edges cross
/// each other four times as often; half as many, and there is one more round of joining.
const LOT: usize = 8;

/// Corners of a result that take about as long as one step of work (see [`spend`]); a corner that is put in
/// is a step.
const CORNERS_TO_A_STEP: usize = 4;

/// Regions with no more corners than this are not shortened before an operation: to look costs more.
const FEW: usize = 64;

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
    /// is not a number or beyond [`LARGEST`] are left out: callers check them first. Rings that cross
    /// too often to be worked out (see [`crosses_too_often`]) give the box around them, which covers them all.
    pub fn from_rings(rings: impl IntoIterator<Item = Vec<Point>>, even_odd: bool) -> Self {
        let rings: Vec<_> = rings.into_iter().collect();
        if !crosses_too_often(&rings) {
            return Self::worked_out(&rings, even_odd);
        }
        let measured = rings
            .iter()
            .filter(|r| r.iter().all(|&p| measurable_point(p)));
        let mut points = measured.flatten();
        points.next().map_or_else(Self::default, |&first| {
            let start = Rect::from_points(first, first);
            Self::from_rect(points.fold(start, |r, &p| r.union_pt(p)))
        })
    }

    /// The inside of rings that do not cross too often.
    fn worked_out(rings: &[Vec<Point>], even_odd: bool) -> Self {
        spend(rings.iter().map(Vec::len).sum());
        let on_grid: Vec<_> = rings.iter().filter_map(|ring| to_grid(ring)).collect();
        if on_grid.is_empty() {
            return Self::default();
        }
        let fill = if even_odd {
            FillRule::EvenOdd
        } else {
            FillRule::NonZero
        };
        let shapes = Overlay::<i64>::from_subj(&on_grid).overlay(OverlayRule::Subject, fill);
        Self::from_shapes(&shapes)
    }

    /// The union of polygons, each counted as filled whichever way it runs.
    ///
    /// Polygons that follow each other are joined first, and what comes of them in turn: where many lie
    /// on each other, most of their edges are gone before they could cross all the others. The grid is
    /// the same all along, so nothing is rounded twice.
    pub fn union_of(polygons: impl IntoIterator<Item = Vec<Point>>) -> Self {
        let rings: Vec<Vec<Point>> = polygons
            .into_iter()
            .map(|mut p| {
                if signed_area(&p) < 0.0 {
                    p.reverse();
                }
                p
            })
            .collect();
        if rings.len() <= LOT || !dense(&rings) {
            return Self::from_rings(rings, false);
        }
        let lots = rings.chunks(LOT);
        let lots = lots.map(|lot| Self::from_rings(lot.iter().cloned(), false));
        Self::in_turn(lots, usize::MAX).unwrap_or_default()
    }

    /// The union of regions; many that lie on each other are joined as in [`Region::union_of`].
    pub fn union_all<'r>(regions: impl IntoIterator<Item = &'r Self>) -> Self {
        Self::union_up_to(regions, usize::MAX).unwrap_or_default()
    }

    /// The same, for what need not be known of any ink: `None` where more than `most` edges come of it
    /// on the way. Four thousand lines across each other have twenty million.
    pub(crate) fn union_up_to<'r>(
        regions: impl IntoIterator<Item = &'r Self>,
        most: usize,
    ) -> Option<Self> {
        let regions: Vec<&Self> = regions.into_iter().collect();
        let rings: Vec<Vec<Point>> = (regions.iter()).flat_map(|r| r.rings.clone()).collect();
        if regions.len() <= LOT || !dense(&rings) {
            return Some(Self::from_rings(rings, false));
        }
        Self::in_turn(regions.into_iter().cloned(), most)
    }

    /// Whether this is a mere box though outlines of so many `corners` were put together: what crosses too
    /// often to be worked out is taken as the box around it, which says where the ink is and nothing of
    /// its shape. Of a box that is truly filled by so many outlines the same is said, to be sure.
    pub(crate) fn only_a_box(&self, corners: usize) -> bool {
        /// A box drawn by hand, with rounding and points along its sides, has fewer corners.
        const OF_A_BOX: usize = 100;
        let [ring] = self.rings.as_slice() else {
            return false;
        };
        corners > OF_A_BOX
            && ring.len() == 4
            && edges(ring, true).all(|(a, b)| a.x == b.x || a.y == b.y)
    }

    /// How many edges the boundary has.
    pub(crate) fn corners(&self) -> usize {
        self.rings.iter().map(Vec::len).sum()
    }

    /// The union of neighbours, then of what comes of neighbours, until one is left; `None` where that
    /// has more than `most` edges.
    fn in_turn(parts: impl Iterator<Item = Self>, most: usize) -> Option<Self> {
        let mut parts: Vec<Self> = parts.collect();
        while parts.len() > 1 {
            if parts.iter().map(Self::corners).sum::<usize>() > most {
                return None;
            }
            // Outer rings and holes run opposite ways, so that rings of several parts add up.
            parts = parts
                .chunks(2)
                .map(|few| match few {
                    [one] => one.clone(),
                    _ => Self::from_rings(few.iter().flat_map(|p| p.rings.iter().cloned()), false),
                })
                .collect();
        }
        Some(parts.pop().unwrap_or_default())
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
        match (self.within(other), other.within(self)) {
            (Some(true), _) => self.clone(),
            (_, Some(true)) => other.clone(),
            (Some(false), _) | (_, Some(false)) => Self::default(),
            _ => {
                let (own, theirs) = (self.near(other.bounds()), other.near(self.bounds()));
                own.combine(&theirs, OverlayRule::Intersect)
            }
        }
    }

    /// The part that only this one covers.
    #[must_use]
    pub fn subtract(&self, other: &Self) -> Self {
        if self.apart(other) {
            return self.clone();
        }
        self.combine(&other.near(self.bounds()), OverlayRule::Difference)
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
    /// `tolerance` past it, which a larger one pays with at round corners. [`Region::everywhere`] where
    /// the result cannot be measured (`by` is not a number, or reaches past [`LARGEST`]).
    #[must_use]
    pub fn grown(&self, by: f64, tolerance: f64) -> Self {
        if by <= 0.0 || self.is_empty() {
            return self.clone();
        }
        let own = self.unmirrored();
        own.band(by, tolerance, false)
            .map_or_else(Self::everywhere, |mut band| {
                band.extend(own.rings.iter().cloned());
                if crosses_too_often(&band) {
                    // The box around it would hold what the region widened does not.
                    give_up_part();
                }
                Self::from_rings(band, false)
            })
    }

    /// Shrunk all round by `by`: every point left is at least `by` from the outside, to the grid.
    /// Corners that point outwards stay sharp; at corners that point inwards it may lie up to
    /// `tolerance` further in than it must. Empty where `by` cannot be measured.
    #[must_use]
    pub fn shrunk(&self, by: f64, tolerance: f64) -> Self {
        if by <= 0.0 || self.is_empty() {
            return self.clone();
        }
        self.unmirrored()
            .band(by, tolerance, true)
            .map_or_else(Self::default, |band| {
                self.subtract(&Self::from_rings(band, false))
            })
    }

    /// The same area, with outer rings that run as they should: in a mirror they run the other way round.
    fn unmirrored(&self) -> Cow<'_, Self> {
        let area: f64 = self.rings.iter().map(|ring| signed_area(ring)).sum();
        if area >= 0.0 {
            return Cow::Borrowed(self);
        }
        let back = |ring: &Vec<Point>| ring.iter().rev().copied().collect();
        Cow::Owned(Self {
            rings: self.rings.iter().map(back).collect(),
        })
    }

    /// The boundary drawn with a round pen of radius `by`, inside or outside of it, as overlapping polygons
    /// that all run the same way; `None` where they cannot be measured.
    fn band(&self, by: f64, tolerance: f64, inside: bool) -> Option<Vec<Vec<Point>>> {
        let side = if inside { Side::Right } else { Side::Left };
        let mut band = Vec::new();
        for ring in &self.rings {
            sweep::round(ring, true, by, tolerance, side, &mut band);
        }
        band.iter()
            .flatten()
            .all(|&p| measurable_point(p))
            .then_some(band)
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

    /// A box in the middle that is wholly covered, about as large as possible; `None` if none is
    /// found. It serves to rule out many small things quickly.
    pub fn middle(&self) -> Option<Rect> {
        let whole = self.bounds()?;
        [0.0, 0.02, 0.05, 0.1, 0.2, 0.3]
            .into_iter()
            .map(|by| whole.inflate(-by * whole.width(), -by * whole.height()))
            .find(|middle| self.contains_rect(*middle))
    }

    /// The connected parts, each an outer ring with its holes.
    pub fn pieces(&self) -> Vec<Self> {
        spend(self.corners());
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

    /// Whether no edge of `other` comes near this one's box, and then whether the box lies inside.
    /// This saves most of the work when a detailed outline clips many small marks.
    pub(crate) fn within(&self, other: &Self) -> Option<bool> {
        let own = self.bounds()?.inflate(2.0 / GRID, 2.0 / GRID);
        let free = other.edges().all(|(a, b)| {
            a.x.max(b.x) < own.x0
                || a.x.min(b.x) > own.x1
                || a.y.max(b.y) < own.y0
                || a.y.min(b.y) > own.y1
        });
        free.then(|| other.contains(own.center()))
    }

    /// The same inside `rect`, and with as few corners as may be outside it: where corners that follow
    /// each other all lie left of it, right of it, behind or in front, those between the first and the
    /// last are left out. The short cut lies on that side as well, so no ring winds otherwise round a
    /// point inside. No corner is moved. A boolean operation with a small part of a detailed outline
    /// costs no more than the part that way.
    fn near(&self, rect: Option<Rect>) -> Cow<'_, Self> {
        let Some(rect) = rect.filter(|_| self.corners() > FEW) else {
            return Cow::Borrowed(self);
        };
        // Two grid steps, so that rounding brings nothing of what is left out inside.
        let rect = rect.inflate(2.0 / GRID, 2.0 / GRID);
        let sides = |p: Point| {
            u8::from(p.x < rect.x0)
                | u8::from(p.x > rect.x1) << 1
                | u8::from(p.y < rect.y0) << 2
                | u8::from(p.y > rect.y1) << 3
        };
        let shortened = |ring: &Vec<Point>| {
            let mut out: Vec<Point> = Vec::new();
            // The sides on which all lie since the last but one that was kept.
            let mut common = 0;
            for &p in ring {
                let here = sides(p);
                if common & here != 0 && out.len() > 1 {
                    out.pop();
                    common &= here;
                } else {
                    common = out.last().map_or(0, |&last| sides(last) & here);
                }
                out.push(p);
            }
            (out.len() > 2).then_some(out)
        };
        Cow::Owned(Self {
            rings: self.rings.iter().filter_map(shortened).collect(),
        })
    }

    fn apart(&self, other: &Self) -> bool {
        match (self.bounds(), other.bounds()) {
            (Some(a), Some(b)) => a.x1 < b.x0 || b.x1 < a.x0 || a.y1 < b.y0 || b.y1 < a.y0,
            _ => true,
        }
    }

    /// What a boolean operation made, back from the grid.
    fn from_shapes(shapes: &[Vec<Vec<IntPoint<i64>>>]) -> Self {
        let rings = shapes.iter().flatten();
        let made = Self {
            rings: rings.filter_map(|ring| from_grid(ring)).collect(),
        };
        spend(made.corners() / CORNERS_TO_A_STEP);
        made
    }

    fn combine(&self, other: &Self, rule: OverlayRule) -> Self {
        spend(self.corners() + other.corners());
        let subject: Vec<_> = self.rings.iter().filter_map(|ring| to_grid(ring)).collect();
        let clip: Vec<_> = other
            .rings
            .iter()
            .filter_map(|ring| to_grid(ring))
            .collect();
        let shapes =
            Overlay::<i64>::from_subj_and_clip(&subject, &clip).overlay(rule, FillRule::NonZero);
        Self::from_shapes(&shapes)
    }
}

fn to_grid(ring: &[Point]) -> Option<Vec<IntPoint<i64>>> {
    (ring.len() > 2 && ring.iter().all(|&p| measurable_point(p))).then(|| {
        ring.iter()
            .map(|p| IntPoint::new((p.x * GRID).round() as i64, (p.y * GRID).round() as i64))
            .collect()
    })
}

/// Back from the grid; `None` for a ring thinner than [`HAIR`].
fn from_grid(ring: &[IntPoint<i64>]) -> Option<Vec<Point>> {
    let points: Vec<_> = ring
        .iter()
        .map(|p| Point::new(p.x as f64 / GRID, p.y as f64 / GRID))
        .collect();
    let around: f64 = edges(&points, true).map(|(a, b)| a.distance(b)).sum();
    (2.0 * signed_area(&points).abs() * GRID > HAIR * around).then_some(points)
}

/// How often a ring winds round `p`.
pub(crate) fn winding(ring: &[Point], p: Point) -> i32 {
    edges(ring, true).map(|(a, b)| Edge { a, b }.winds(p)).sum()
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
mod tests;
