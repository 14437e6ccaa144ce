//! Letters that are filled with lines: a laser that has no fill of its own is given parallel strokes instead.
//!
//! What a person sees is the letter that the lines fill. So lines that lie side by side at an even distance are
//! taken for as wide as that distance, and make one shape; where they cross, those of either direction do.

use std::collections::BTreeSet;

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Vec2};

use crate::artwork::ink::INK_TOLERANCE;
use crate::geometry::flatten::polylines;
use crate::geometry::region::Region;
use crate::geometry::stroke::{LineStyle, ink_of_line};
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

/// The strokes of a hairline that rises as it runs are at most so many times as far apart as they are long. A line that
/// is t thick, measured across the strokes, shows t / d of each distance d of theirs: so this is d / t - 1 at most, a
/// hairline of a third of the distance. More, and the ends of two letters are joined.
const HAIRLINE: f64 = 2.0;

/// What has fewer lines is what is left of a hairline that the lines miss: a bar that says nothing. Farther from all
/// letters than [`WIDEST`] it is a figure of its own.
const LINES: f64 = 2.5;

/// What leads from one line to the next is at most so many of their distances long. Lower, and the edges of letters are
/// drawn twice, which changes little; higher, and a small figure beside a name is not seen.
const LEADS: f64 = 3.0;

/// A straight piece of a line.
type Stroke = (Point, Point);

/// The straight pieces of the lines of a stroked path that do not close.
pub(super) fn strokes(path: &BezPath) -> Vec<Stroke> {
    let open = polylines(path, INK_TOLERANCE)
        .into_iter()
        .filter(|line| !line.closed);
    let pieces = |points: Vec<Point>| -> Vec<Stroke> {
        let next = points.iter().copied().skip(1);
        points.iter().copied().zip(next).collect()
    };
    open.flat_map(|line| pieces(line.points))
        .filter(|(a, b)| a != b)
        .collect()
}

/// What lines fill.
#[derive(Debug)]
pub(super) struct Filled {
    /// The shape.
    pub ink: Region,
    /// How far apart the lines are, in millimetres.
    pub apart: f64,
}

/// The shape that lines fill, if they fill one: side by side, or crossed.
pub(super) fn filled(strokes: &[Stroke]) -> Option<Filled> {
    let ways = ways(strokes)?;
    let filled: Option<Vec<Filled>> = ways.iter().map(Way::filled).collect();
    let filled = filled?;
    let apart = filled.iter().map(|f| f.apart).fold(0.0, f64::max);
    let beyond = beyond(strokes, &ways, apart);
    let ink = Region::union_all(filled.iter().map(|f| &f.ink).chain([&beyond]));
    Some(Filled { ink, apart })
}

/// The lines of one direction.
struct Way {
    /// Their direction, as a unit vector.
    along: Vec2,
    /// The length of their strokes together, in millimetres.
    length: f64,
    lines: Vec<Line>,
}

/// The directions that most of the length of all strokes lies in: one, or two that cross.
fn ways(strokes: &[Stroke]) -> Option<Vec<Way>> {
    let most = MOST * length(strokes);
    let (one, others) = Way::of(strokes)?;
    if one.length >= most {
        return Some(vec![one]);
    }
    let (other, _) = Way::of(&others)?;
    let crossed =
        one.length + other.length >= most && one.lines.len().min(other.lines.len()) >= FEWEST;
    crossed.then(|| vec![one, other])
}

fn length(strokes: &[Stroke]) -> f64 {
    strokes.iter().map(|(a, b)| a.distance(*b)).sum()
}

impl Way {
    /// The strokes in the direction of most of their length, and the others; `None` if they are few.
    fn of(strokes: &[Stroke]) -> Option<(Self, Vec<Stroke>)> {
        let along = direction(strokes)?;
        let (parallel, others): (Vec<Stroke>, Vec<Stroke>) =
            strokes.iter().partition(|s| is_along(s, along));
        let way = Self {
            along,
            length: length(&parallel),
            lines: lines(&parallel, along),
        };
        (parallel.len() >= FEWEST).then_some((way, others))
    }

    /// What the lines fill that lie side by side.
    fn filled(&self) -> Option<Filled> {
        let Self { along, lines, .. } = self;
        let across = Vec2::new(-along.y, along.x);
        let apart = distance(lines)?;
        let at = |u: f64, v: f64| (*along * u + across * v).to_point();
        let between = |(low, a): (f64, Run), (high, b): (f64, Run)| {
            vec![at(a.0, low), at(a.1, low), at(b.1, high), at(b.0, high)]
        };
        let pairs = lines.iter().zip(lines.iter().skip(1));
        let links: Vec<Vec<(usize, usize)>> = pairs
            .map(|(one, other)| {
                let next = other.height - one.height <= NEXT * apart;
                if next { one.links(other) } else { Vec::new() }
            })
            .collect();
        let mut shapes: Vec<Vec<Point>> = Vec::new();
        for ((one, other), links) in lines.iter().zip(lines.iter().skip(1)).zip(&links) {
            for (a, b) in links {
                let (a, b) = (*one.runs.at(*a), *other.runs.at(*b));
                shapes.push(between((one.height, a), (other.height, b)));
            }
        }
        // Beyond the last line the letter goes on for half the distance, on average.
        for (number, line) in lines.iter().enumerate() {
            let before = number.checked_sub(1).and_then(|n| links.get(n));
            let (before, after) = (
                before.into_iter().flatten(),
                links.get(number).into_iter().flatten(),
            );
            let (before, after): (BTreeSet<usize>, BTreeSet<usize>) =
                (before.map(|l| l.1).collect(), after.map(|l| l.0).collect());
            for (i, run) in line.runs.iter().enumerate() {
                for (linked, by) in [(&before, -apart / 2.0), (&after, apart / 2.0)] {
                    if !linked.contains(&i) {
                        shapes.push(between((line.height, *run), (line.height + by, *run)));
                    }
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
        let pieces = Region::union_of(shapes).pieces();
        let (letters, few): (Vec<Region>, Vec<Region>) = pieces
            .into_iter()
            .partition(|piece| high(piece) >= LINES * apart);
        let boxes: Vec<Rect> = letters.iter().filter_map(Region::bounds).collect();
        let beside = |piece: &Region| {
            let near = |own: Rect| {
                boxes
                    .iter()
                    .any(|b| b.inflate(WIDEST, WIDEST).overlaps(own))
            };
            piece.bounds().is_some_and(near)
        };
        let apart_from_letters = few.into_iter().filter(|piece| !beside(piece));
        let rings = letters
            .into_iter()
            .chain(apart_from_letters)
            .flat_map(|p| p.rings);
        let ink = Region {
            rings: rings.collect(),
        };
        Some(Filled { ink, apart })
    }
}

/// What strokes burn that neither fill anything nor lead from one line to the next, as wide as the lines are apart: a
/// figure drawn beside a name that is filled.
fn beyond(strokes: &[Stroke], ways: &[Way], apart: f64) -> Region {
    let fills = |s: &Stroke| ways.iter().any(|way| is_along(s, way.along));
    let goes_on = |a: &Stroke, b: &Stroke| a.1 == b.0 && fills(a) == fills(b);
    let chains = strokes
        .chunk_by(goes_on)
        .filter(|chain| length(chain) > LEADS * apart && !chain.iter().any(fills));
    let mut path = BezPath::new();
    for chain in chains {
        path.extend(chain.first().map(|(from, _)| PathEl::MoveTo(*from)));
        path.extend(chain.iter().map(|(_, to)| PathEl::LineTo(*to)));
    }
    let line = LineStyle {
        width: apart,
        cap: kurbo::Cap::Round,
        join: kurbo::Join::Round,
        miter_limit: 4.0,
        dashes: Vec::new(),
        dash_offset: 0.0,
        pen: Affine::IDENTITY,
    };
    ink_of_line(&path, &line, INK_TOLERANCE)
}

/// From where to where a stroke goes along its line.
type Run = (f64, f64);

/// The strokes at one height, in order; what overlaps is one.
struct Line {
    height: f64,
    runs: Vec<Run>,
}

impl Line {
    /// Which strokes go on in which of the next line: those that lie beside each other; and where a stroke has none beside
    /// it, the nearest that has none either. A hairline that is thinner than the lines are apart shows as such.
    fn links(&self, next: &Self) -> Vec<(usize, usize)> {
        let beside = |(from, to): &Run| {
            let first = next.runs.partition_point(|r| r.1 <= *from);
            first..next.runs.partition_point(|r| r.0 < *to)
        };
        let runs = || self.runs.iter().enumerate();
        let mut links: Vec<(usize, usize)> = runs()
            .flat_map(|(i, run)| beside(run).map(move |j| (i, j)))
            .collect();
        let ends: Vec<bool> = {
            let mut ends = vec![true; next.runs.len()];
            for (_, j) in &links {
                *ends.at_mut(*j) = false;
            }
            ends
        };
        for (i, run) in runs().filter(|(_, run)| beside(run).is_empty()) {
            let after = beside(run).start;
            let nearest = (after.saturating_sub(1)..=after)
                .filter(|j| ends.get(*j) == Some(&true))
                .filter_map(|j| Some((j, apart(*run, *next.runs.get(j)?)?)))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            links.extend(nearest.map(|(j, _)| (i, j)));
        }
        links
    }
}

/// How far apart two strokes of neighbouring lines are that may be one hairline.
fn apart(a: Run, b: Run) -> Option<f64> {
    let gap = (b.0 - a.1).max(a.0 - b.1);
    (gap <= HAIRLINE * (a.1 - a.0).min(b.1 - b.0)).then_some(gap)
}

/// Strokes as lines, by height.
fn lines(parallel: &[Stroke], along: Vec2) -> Vec<Line> {
    let across = Vec2::new(-along.y, along.x);
    let mut all: Vec<(f64, Run)> = parallel
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
        Some(filled(&strokes(&BezPath::from_svg(d).unwrap()))?.ink)
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

    /// Of a hairline that rises slowly each line shows a piece, and the next goes on beyond a gap.
    #[test]
    fn pieces_of_a_hairline_are_one() {
        let hairline = |gap: f64| -> String {
            let step = |n: u32| (0.3 * f64::from(n), 0.5 + (0.4 + gap) * f64::from(n));
            let pieces = (0..15).map(step);
            pieces.map(|(y, x)| format!("M{x} {y}h.4")).collect()
        };
        let bar: String = (15..25)
            .map(|n| format!("M0 {}h20", 0.3 * f64::from(n)))
            .collect();
        let pieces = |gap| of(&(hairline(gap) + &bar)).unwrap().pieces().len();
        assert_eq!(pieces(-0.1), 1);
        assert_eq!(pieces(0.6), 1);
        // Farther apart they are specks of their own.
        assert!(pieces(1.0) > 8);
    }

    /// A figure of open lines beside what is filled stays to be seen, and so does one of few lines far from it.
    #[test]
    fn what_does_not_fill_is_not_lost() {
        let bar = lines(|_| 4.0);
        let bounds = |more: &str| of(&(bar.clone() + more)).unwrap().bounds().unwrap();
        let twig = bounds("M2 14V10M2 10L0 13M2 10L4 13");
        assert!(twig.y1 > 14.0, "{twig:?}");
        let curve = bounds("M8 0Q12 4 8 8");
        assert!(curve.x1 > 10.0, "{curve:?}");
        assert!(bounds("M0 12H4").y1 > 12.0);
        // What leads from one line to the next is no figure.
        let edge = bounds("M4 .15L4.2 .45");
        assert!(edge.x1 < 4.1, "{edge:?}");
    }

    /// Lines that close, a frame or an outline round the filling, are no part of it.
    #[test]
    fn lines_that_close_are_left_out() {
        let path = BezPath::from_svg(&(lines(|_| 4.0) + "M-1 -1H9V9H-1Z")).unwrap();
        assert_eq!(strokes(&path).len(), 30);
    }

    #[test]
    fn lines_that_cross_are_the_shape_that_they_fill() {
        let across: String = (0..30)
            .map(|n| format!("M{0} 0V9 ", 0.15 + 0.3 * f64::from(n)))
            .collect();
        let found = of(&(lines(|_| 9.0) + &across)).unwrap();
        assert_eq!((found.pieces().len(), found.rings.len()), (1, 1));
        assert!((found.area() - 81.0).abs() < 1.0, "{}", found.area());
        // A fence: eleven posts, however even, are no filling.
        let posts: String = (0..11)
            .map(|n| format!("M{0} 0V9", 0.3 * f64::from(n)))
            .collect();
        assert!(of(&(lines(|_| 3.0) + &posts)).is_none());
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
