//! Letters that are filled with lines: a laser that has no fill of its own is given parallel strokes instead.
//!
//! What a person sees is the letter that the lines fill. So lines that lie side by side at an even distance are
//! taken for as wide as that distance, and make one shape.

use kurbo::{BezPath, Point, Vec2};

use crate::artwork::ink::INK_TOLERANCE;
use crate::geometry::flatten::polylines;
use crate::geometry::region::Region;
use crate::ids::At;

/// Fewer lines are no filling. Letters of a single-line face have a dozen strokes that are parallel, at most,
/// and those lie at no even distance.
const FEWEST: usize = 12;

/// Lines whose directions differ by less than this, in degrees, are parallel.
const PARALLEL: f64 = 1.0;

/// The share of the length of all lines that the parallel ones have; the rest leads from one to the next.
const MOST: f64 = 0.7;

/// The share of the distances between lines that are the usual one, to a tenth.
const EVEN: f64 = 0.6;

/// Lines farther apart, in millimetres, are stripes to be seen.
const WIDEST: f64 = 1.0;

/// Lines nearer than this, in millimetres, are one: files are rounded to a thousandth.
const SAME: f64 = 0.004;

/// A line up to so many of these distances away is the next one: of two words above each other, none is.
const NEXT: f64 = 1.5;

/// What has fewer lines is what is left of a hairline that the lines miss: a bar that says nothing.
const LINES: f64 = 2.5;

/// A straight piece of a line.
type Stroke = (Point, Point);

/// The straight pieces of a stroked path of which none closes; none where one does.
pub(super) fn strokes(path: &BezPath) -> Vec<Stroke> {
    let lines = polylines(path, INK_TOLERANCE);
    if lines.iter().any(|line| line.closed) {
        return Vec::new();
    }
    let pairs = |points: &[Point]| -> Vec<Stroke> {
        points
            .iter()
            .copied()
            .zip(points.iter().skip(1).copied())
            .collect()
    };
    lines
        .iter()
        .flat_map(|line| pairs(&line.points))
        .filter(|(a, b)| a != b)
        .collect()
}

/// The shape that lines fill, if they fill one.
pub(super) fn filled(strokes: &[Stroke]) -> Option<Region> {
    if strokes.len() < FEWEST {
        return None;
    }
    let along = direction(strokes)?;
    let across = Vec2::new(-along.y, along.x);
    let parallel: Vec<&Stroke> = strokes.iter().filter(|s| is_along(s, along)).collect();
    let length =
        |all: &mut dyn Iterator<Item = &Stroke>| -> f64 { all.map(|(a, b)| a.distance(*b)).sum() };
    let share = length(&mut parallel.iter().copied()) / length(&mut strokes.iter());
    if parallel.len() < FEWEST || share < MOST {
        return None;
    }
    let lines = lines(&parallel, along, across);
    let apart = distance(&lines)?;
    let at = |u: f64, v: f64| (along * u + across * v).to_point();
    let mut shapes: Vec<Vec<Point>> = Vec::new();
    let pairs = lines.iter().zip(lines.iter().skip(1));
    let next = |to: &Line, from: &Line| to.height - from.height <= NEXT * apart;
    for (one, other) in pairs.filter(|(a, b)| next(b, a)) {
        let (low, high) = (one.height, other.height);
        for a in &one.runs {
            for b in other.beside(*a) {
                shapes.push(vec![
                    at(a.0, low),
                    at(a.1, low),
                    at(b.1, high),
                    at(b.0, high),
                ]);
            }
        }
    }
    // Beyond the last line the letter goes on for half the distance, on average.
    for (number, line) in lines.iter().enumerate() {
        let beside = [
            (
                number.checked_sub(1).and_then(|n| lines.get(n)),
                -apart / 2.0,
            ),
            (lines.get(number + 1), apart / 2.0),
        ];
        for (run, (other, by)) in line.runs.iter().flat_map(|r| beside.map(|side| (*r, side))) {
            let near = other.filter(|o| (o.height - line.height).abs() <= NEXT * apart);
            if near.is_none_or(|o| o.beside(run).is_empty()) {
                let (low, high) = (line.height, line.height + by);
                shapes.push(vec![
                    at(run.0, low),
                    at(run.1, low),
                    at(run.1, high),
                    at(run.0, high),
                ]);
            }
        }
    }
    let high = |piece: &Region| {
        let heights = piece
            .rings
            .iter()
            .flatten()
            .map(|p| p.to_vec2().dot(across));
        let reach = |(low, high): (f64, f64), v: f64| (low.min(v), high.max(v));
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), reach);
        high - low
    };
    let mut pieces = Region::union_of(shapes).pieces();
    pieces.retain(|piece| high(piece) >= LINES * apart);
    Some(Region {
        rings: pieces.into_iter().flat_map(|p| p.rings).collect(),
    })
}

/// The strokes at one height, each from where to where, in order; what overlaps is one.
struct Line {
    height: f64,
    runs: Vec<(f64, f64)>,
}

impl Line {
    /// The strokes that lie beside one of another line.
    fn beside(&self, (from, to): (f64, f64)) -> &[(f64, f64)] {
        let first = self.runs.partition_point(|r| r.1 <= from);
        let last = self.runs.partition_point(|r| r.0 < to);
        self.runs.get(first..last).unwrap_or_default()
    }
}

/// Strokes as lines, by height.
fn lines(parallel: &[&Stroke], along: Vec2, across: Vec2) -> Vec<Line> {
    let mut all: Vec<(f64, (f64, f64))> = parallel
        .iter()
        .map(|(a, b)| {
            let (a, b) = (a.to_vec2(), b.to_vec2());
            let (from, to) = (a.dot(along), b.dot(along));
            (((a + b) / 2.0).dot(across), (from.min(to), from.max(to)))
        })
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out: Vec<Line> = Vec::new();
    for (height, run) in all {
        match out.last_mut().filter(|l| height - l.height < SAME) {
            Some(line) => line.runs.push(run),
            None => out.push(Line {
                height,
                runs: vec![run],
            }),
        }
    }
    for line in &mut out {
        line.runs.sort_by(|a, b| a.0.total_cmp(&b.0));
        line.runs.dedup_by(|next, run| {
            let one = next.0 < run.1;
            if one {
                run.1 = run.1.max(next.1);
            }
            one
        });
    }
    out
}

/// The direction that has the most length, as a unit vector.
fn direction(strokes: &[Stroke]) -> Option<Vec2> {
    let mut bins = vec![(0.0, Vec2::ZERO); 180];
    for (a, b) in strokes {
        let way = *b - *a;
        // Either way along a line is one direction.
        let way = if (way.y, way.x) < (0.0, 0.0) {
            -way
        } else {
            way
        };
        let degrees = way.y.atan2(way.x).to_degrees().rem_euclid(180.0);
        let bin = bins.at_mut((degrees as usize).min(179));
        bin.0 += way.hypot();
        bin.1 += way;
    }
    let (_, most) = bins.into_iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    (most.hypot() > 0.0).then(|| most.normalize())
}

fn is_along((a, b): &Stroke, along: Vec2) -> bool {
    let way = *b - *a;
    way.cross(along).abs() <= way.hypot() * PARALLEL.to_radians()
}

/// The usual distance between lines, if it is even.
fn distance(lines: &[Line]) -> Option<f64> {
    let pairs = lines.iter().zip(lines.iter().skip(1));
    let mut gaps: Vec<f64> = pairs.map(|(a, b)| b.height - a.height).collect();
    gaps.sort_by(f64::total_cmp);
    let usual = *gaps.get(gaps.len() / 2)?;
    let even = gaps
        .iter()
        .filter(|g| (*g - usual).abs() <= 0.1 * usual)
        .count();
    (usual <= WIDEST && even as f64 >= EVEN * gaps.len() as f64).then_some(usual)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn of(d: &str) -> Option<Region> {
        filled(&strokes(&BezPath::from_svg(d).unwrap()))
    }

    /// Lines every 0.3 mm, from the left to what `to` says for each height.
    fn lines(to: impl Fn(f64) -> f64) -> String {
        (0..30)
            .map(|n| 0.15 + 0.3 * f64::from(n))
            .map(|y| format!("M0 {y} L{} {y} ", to(y)))
            .collect()
    }

    #[test]
    fn lines_side_by_side_are_the_shape_that_they_fill() {
        let found = of(&lines(|_| 4.0)).unwrap();
        assert_eq!(found.pieces().len(), 1);
        assert!((found.area() - 36.0).abs() < 0.5, "{}", found.area());
        // Drawn to and fro in one line.
        let fro: String = (0..30)
            .map(|n| {
                let y = 0.3 * f64::from(n);
                let (a, b) = if n % 2 == 0 { (0, 4) } else { (4, 0) };
                format!("{}{a} {y} L{b} {y} ", if n == 0 { "M" } else { "L" })
            })
            .collect();
        assert_eq!(of(&fro).unwrap().pieces().len(), 1);
    }

    #[test]
    fn letters_of_single_lines_are_not_filled() {
        let e = "M0 0 V9 M0 0 H5 M0 4 H4 M0 9 H5";
        let word: String = (0..4)
            .map(|n| format!("M{0} 0 V9 M{0} 0 h5 M{0} 4 h4 M{0} 9 h5 ", 7 * n))
            .collect();
        assert!(of(e).is_none());
        assert!(of(&word).is_none());
        // Closed outlines are none either.
        assert!(strokes(&BezPath::from_svg("M0 0H9V9H0Z").unwrap()).is_empty());
    }
}
