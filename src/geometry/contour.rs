//! Contours: single curves of a drawing, whatever elements they came from.

use std::cmp::Ordering;

use kurbo::{
    Affine, BezPath, Line, ParamCurve, ParamCurveArclen, ParamCurveArea, ParamCurveExtrema,
    ParamCurveMoments, PathEl, PathSeg, Point, Rect, Vec2,
};
use rstar::RTree;
use rstar::primitives::GeomWithData;

use super::flatten::{edges, measurable, points_after_start, subpaths};
use super::region::winding;
use crate::ids::At;

/// How closely [`Contour::flat`] follows the curve, in millimetres. A coarser one would let a pocket
/// pass for its neighbour in shape; a finer one costs memory on every outline of a large file.
pub(crate) const FLAT: f64 = 0.005;

/// A curve whose end comes back to its start within this many millimetres is closed: half a
/// hundredth is far below a laser's beam, and editors round coordinates to about that.
pub(crate) const JOINED: f64 = 0.005;

/// Coordinates of the canonical form are rounded to this part of a millimetre: 1e-4 mm.
const CANONICAL: f64 = 10_000.0;

/// How far a length may be off, in millimetres; lengths only serve to discard and to describe.
const LENGTH_ACCURACY: f64 = 1e-6;

/// One curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// The curve: one subpath in bed millimetres, ended by a closepath if `closed`.
    pub path: BezPath,
    /// Whether the end joins the start.
    pub closed: bool,
    /// Length along the curve.
    pub length: f64,
    /// The enclosed area in square millimetres, positive; 0 for an open curve. A curve that crosses
    /// itself counts each part as often as it is wound round, direction included.
    pub area: f64,
    /// The centre of the area if closed, of the line if open (or without area).
    pub centroid: Point,
    /// The tight box, from the curve's true extremes and not its control points.
    pub bounds: Rect,
    /// The curve as straight pieces within [`FLAT`]; the first point is not repeated at the end.
    pub flat: Vec<Point>,
}

impl Contour {
    /// Measures one subpath. `None` if it has no length, or coordinates that cannot be measured
    /// (see [`super::flatten::measurable`]); the reader refuses those earlier.
    fn new(start: Point, mut segments: Vec<PathSeg>, mut closed: bool) -> Option<Self> {
        let end = segments.last()?.end();
        if !closed && end.distance(start) <= JOINED && segments.len() > 1 {
            closed = true;
        } else if !closed && end.distance(start) <= JOINED {
            // One segment that returns: a loop, unless it is a speck of a line.
            closed = !matches!(segments.first(), Some(PathSeg::Line(_)));
        }
        if closed && end != start {
            segments.push(PathSeg::Line(Line::new(end, start)));
        }
        let mut path = BezPath::new();
        path.move_to(start);
        for seg in &segments {
            path.push(seg.as_path_el());
        }
        if closed {
            path.close_path();
        }
        if !measurable(&path) {
            return None;
        }
        let mut flat = vec![start];
        for seg in &segments {
            points_after_start(seg, FLAT, |p| {
                if flat.last() != Some(&p) {
                    flat.push(p);
                }
            });
        }
        if closed && flat.len() > 1 && flat.last() == flat.first() {
            flat.pop();
        }
        let length: f64 = segments.iter().map(length_of).sum();
        if length <= 0.0 {
            return None;
        }
        let bounds = segments
            .iter()
            .map(ParamCurveExtrema::bounding_box)
            .reduce(|a, b| a.union(b))
            .unwrap_or_default();
        let (area, centroid) = area_and_centre(&path, &segments, closed, &flat, bounds.center());
        Some(Self {
            path,
            closed,
            length,
            area,
            centroid,
            bounds,
            flat,
        })
    }

    /// The straight pieces of [`Contour::flat`], the closing one included.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        edges(&self.flat, self.closed)
    }

    /// Whether `p` lies inside by the non-zero rule, to [`FLAT`]; an open curve is taken as closed.
    pub fn contains(&self, p: Point) -> bool {
        self.bounds.inflate(FLAT, FLAT).contains(p) && winding(&self.flat, p) != 0
    }

    /// The contour moved, turned or scaled; `None` if nothing measurable is left of it.
    pub fn transformed(&self, by: Affine) -> Option<Self> {
        let sub = subpaths(&(by * self.path.clone())).into_iter().next()?;
        Self::new(sub.start, sub.segments, sub.closed)
    }

    /// The curve in a form that does not depend on where it starts or which way it runs.
    ///
    /// Coordinates are rounded to 1e-4 mm and pieces without length dropped. A closed curve starts at
    /// the smallest corner (x, then y) and runs clockwise on the bed; an open one starts at its
    /// smaller end. Where that leaves a choice (a corner passed twice, no area), the smallest sequence
    /// of coordinates wins. Corners that only split a straight line stay: an editor that adds some
    /// has changed the drawing.
    pub fn canonical(&self) -> BezPath {
        let forward: Vec<PathSeg> = subpaths(&self.path)
            .into_iter()
            .flat_map(|sub| sub.segments)
            .map(rounded)
            .filter(|seg| *seg != PathSeg::Line(Line::new(seg.start(), seg.start())))
            .collect();
        let backward: Vec<PathSeg> = forward.iter().rev().map(PathSeg::reverse).collect();
        let mut choices: Vec<Vec<PathSeg>> = Vec::new();
        if self.closed {
            let turn = forward
                .iter()
                .map(|s| signed_area_about(s, self.bounds.center()))
                .sum::<f64>();
            let directions: &[&Vec<PathSeg>] = match turn.partial_cmp(&0.0) {
                Some(Ordering::Greater) => &[&forward],
                Some(Ordering::Less) => &[&backward],
                _ => &[&forward, &backward],
            };
            for list in directions {
                let Some(first) = list.iter().map(PathSeg::start).min_by(by_place) else {
                    continue;
                };
                for (i, _) in list.iter().enumerate().filter(|(_, s)| s.start() == first) {
                    let mut turned = (*list).clone();
                    turned.rotate_left(i);
                    choices.push(turned);
                }
            }
        } else {
            choices.extend([forward, backward]);
        }
        let best = choices
            .into_iter()
            .min_by(|a, b| by_sequence(a, b))
            .unwrap_or_default();
        let mut path = BezPath::new();
        if let Some(first) = best.first() {
            path.move_to(first.start());
        }
        for seg in &best {
            path.push(seg.as_path_el());
        }
        if self.closed {
            path.close_path();
        }
        path
    }
}

/// Splits a path into its curves.
///
/// A subpath that comes back to its start within [`JOINED`] is closed even without a closepath. Lone
/// movetos and subpaths without length are left out: they have no place to compare.
pub fn contours(path: &BezPath) -> Vec<Contour> {
    subpaths(path)
        .into_iter()
        .filter_map(|sub| Contour::new(sub.start, sub.segments, sub.closed))
        .collect()
}

/// Chains open contours end to end, so that a pocket exploded into lines and arcs is one again.
///
/// Two ends join where exactly they lie within `gap` millimetres of each other and no third end
/// does: at a junction of three nothing says which two belong together. A larger gap joins more
/// and risks joining what was meant apart. Each result comes with the indices of the inputs it is
/// made of, in order along the curve; results are in the order of their first input.
pub(crate) fn join_open(all: Vec<Contour>, gap: f64) -> Vec<(Contour, Vec<usize>)> {
    let partner = partners(&all, gap);
    // Every contour ends up in exactly one chain, which takes it out of here.
    let mut rest: Vec<Option<Contour>> = all.into_iter().map(Some).collect();
    let mut joined = Vec::new();
    for i in 0..rest.len() {
        if rest.at(i).is_none() {
            continue;
        }
        // Walk back from this contour's start to the chain's beginning, or round to itself.
        let mut from = End { of: i, last: false };
        while let Some(before) = *partner.at(from.index()) {
            if before.other().of == i {
                break;
            }
            from = before.other();
        }
        // Then forwards, entering each contour by `from`.
        let mut chain = vec![from];
        let mut entered = from;
        while let Some(next) = *partner.at(entered.other().index()) {
            if next.of == from.of {
                break;
            }
            chain.push(next);
            entered = next;
        }
        let inputs: Vec<usize> = chain.iter().map(|end| end.of).collect();
        joined.extend(linked(&mut rest, &chain, gap).map(|contour| (contour, inputs)));
    }
    joined.sort_by_key(|(_, inputs)| inputs.iter().min().copied());
    joined
}

/// One end of an open contour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct End {
    of: usize,
    last: bool,
}

impl End {
    fn other(self) -> Self {
        Self {
            last: !self.last,
            ..self
        }
    }

    fn index(self) -> usize {
        self.of * 2 + usize::from(self.last)
    }
}

/// For each end (two a contour) the one other end that lies within `gap`.
fn partners(all: &[Contour], gap: f64) -> Vec<Option<End>> {
    let ends: Vec<_> = all
        .iter()
        .enumerate()
        .filter(|(_, c)| !c.closed)
        .flat_map(|(of, c)| [(c.flat.first(), false), (c.flat.last(), true)].map(|e| (of, e)))
        .filter_map(|(of, (p, last))| p.map(|p| GeomWithData::new([p.x, p.y], End { of, last })))
        .collect();
    let tree = RTree::bulk_load(ends.clone());
    let mut partner = vec![None; all.len() * 2];
    for end in &ends {
        let mut near = tree
            .locate_within_distance(*end.geom(), gap * gap)
            .filter(|other| other.data != end.data);
        if let (Some(only), None) = (near.next(), near.next()) {
            *partner.at_mut(end.data.index()) = Some(only.data);
        }
    }
    // Both must see each other alone: the near end may itself have a third one on its far side.
    partner
        .iter()
        .enumerate()
        .map(|(i, mine)| mine.filter(|m| partner.at(m.index()).is_some_and(|b| b.index() == i)))
        .collect()
}

fn linked(rest: &mut [Option<Contour>], chain: &[End], gap: f64) -> Option<Contour> {
    let mut take = |of: usize| match rest.at_mut(of).take() {
        Some(contour) => contour,
        None => unreachable!("contour {of} is in two chains"),
    };
    if let [only] = chain {
        let contour = take(only.of);
        let ends = contour.flat.first().zip(contour.flat.last());
        let around = ends.is_some_and(|(a, b)| a.distance(*b) <= gap);
        if contour.closed || !around {
            return Some(contour);
        }
        let sub = subpaths(&contour.path).into_iter().next()?;
        let closed = sub.segments.len() > 1;
        return Contour::new(sub.start, sub.segments, closed);
    }
    let mut segments: Vec<PathSeg> = Vec::new();
    for end in chain {
        let mut own: Vec<PathSeg> = subpaths(&take(end.of).path)
            .into_iter()
            .flat_map(|sub| sub.segments)
            .collect();
        if end.last {
            own = own.iter().rev().map(PathSeg::reverse).collect();
        }
        if let (Some(last), Some(first)) = (segments.last(), own.first())
            && last.end() != first.start()
        {
            segments.push(PathSeg::Line(Line::new(last.end(), first.start())));
        }
        segments.extend(own);
    }
    let start = segments.first()?.start();
    let closed = segments.len() > 1 && segments.last()?.end().distance(start) <= gap;
    Contour::new(start, segments, closed)
}

fn length_of(seg: &PathSeg) -> f64 {
    match seg {
        PathSeg::Line(l) => l.p0.distance(l.p1),
        // Through cubics: the closed form for quadratics takes a logarithm, which differs between
        // machines in the last digit.
        PathSeg::Quad(q) => q.raise().arclen(LENGTH_ACCURACY),
        PathSeg::Cubic(c) => c.arclen(LENGTH_ACCURACY),
    }
}

/// The signed area between a segment and `origin`; summed round a closed curve it is the area,
/// positive for clockwise on the bed.
fn signed_area_about(seg: &PathSeg, origin: Point) -> f64 {
    (Affine::translate(-origin.to_vec2()) * *seg).signed_area()
}

/// Area and centre, taken about `origin` so that a small curve far out keeps its digits.
fn area_and_centre(
    path: &BezPath,
    segments: &[PathSeg],
    closed: bool,
    flat: &[Point],
    origin: Point,
) -> (f64, Point) {
    if closed {
        let area: f64 = segments.iter().map(|s| signed_area_about(s, origin)).sum();
        let moments = (Affine::translate(-origin.to_vec2()) * path.clone()).moments();
        let centre = origin + Vec2::new(moments.moment_x, moments.moment_y) / area;
        // A line there and back has no area to have a centre.
        if area.abs() > 1e-9 && centre.is_finite() {
            return (area.abs(), centre);
        }
    }
    let (mut sum, mut length) = (Vec2::ZERO, 0.0);
    for (a, b) in edges(flat, closed) {
        let l = a.distance(b);
        sum += (a.midpoint(b) - origin) * l;
        length += l;
    }
    (
        0.0,
        if length > 0.0 {
            origin + sum / length
        } else {
            origin
        },
    )
}

fn rounded(seg: PathSeg) -> PathSeg {
    // Adding zero turns -0 into 0, which is written otherwise.
    let r = |p: Point| {
        Point::new(
            (p.x * CANONICAL).round() / CANONICAL + 0.0,
            (p.y * CANONICAL).round() / CANONICAL + 0.0,
        )
    };
    match seg {
        PathSeg::Line(l) => PathSeg::Line(Line::new(r(l.p0), r(l.p1))),
        PathSeg::Quad(q) => PathSeg::Quad(kurbo::QuadBez::new(r(q.p0), r(q.p1), r(q.p2))),
        PathSeg::Cubic(c) => {
            PathSeg::Cubic(kurbo::CubicBez::new(r(c.p0), r(c.p1), r(c.p2), r(c.p3)))
        }
    }
}

fn by_place(a: &Point, b: &Point) -> Ordering {
    a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
}

fn by_sequence(a: &[PathSeg], b: &[PathSeg]) -> Ordering {
    let numbers = |list: &[PathSeg]| -> Vec<Point> {
        list.iter()
            .flat_map(|seg| match seg.as_path_el() {
                PathEl::QuadTo(p, q) => vec![seg.start(), p, q],
                PathEl::CurveTo(p, q, r) => vec![seg.start(), p, q, r],
                _ => vec![seg.start(), seg.end()],
            })
            .collect()
    };
    let (a, b) = (numbers(a), numbers(b));
    a.iter()
        .zip(&b)
        .map(|(p, q)| by_place(p, q))
        .find(|o| o.is_ne())
        .unwrap_or_else(|| a.len().cmp(&b.len()))
}

#[cfg(test)]
mod tests;
