//! Which lines run along others?

use std::borrow::Borrow;

use kurbo::{Point, Rect};

use super::boxes::Boxes;
use super::edges::Edge;
use super::flatten::Polyline;
use crate::ids::At;

/// Two pieces run along each other only where their directions differ by less than this: the sine of
/// 15 degrees. Larger, and a line that crosses many others would seem to run along all of them;
/// smaller, and two different ways to cut one curve into pieces would not agree.
const ALONG: f64 = 0.2588;

/// Where one line runs along another.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Retraced {
    /// The line, by number.
    pub line: usize,
    /// The other line.
    pub on: usize,
    /// The stretches, from the line's start in millimetres along it, in order and apart.
    pub runs: Vec<Run>,
}

/// A stretch of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Run {
    /// Where it begins, in millimetres along the line.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// The longest part of it that is straight.
    pub straight: f64,
    /// A point of it.
    pub at: Point,
}

impl Run {
    /// How long it is.
    pub(crate) fn length(&self) -> f64 {
        self.to - self.from
    }
}

impl Retraced {
    /// How much of the line runs along the other.
    pub(crate) fn length(&self) -> f64 {
        self.runs.iter().map(Run::length).sum()
    }
}

/// For each line, which others it runs along, never farther off than `near` millimetres.
///
/// A larger `near` also finds copies that were moved, and takes lines that merely meet at a flat angle
/// for such over a longer stretch. A line is not compared with itself. The work grows with the number of
/// pieces that touch, not with the square of all.
pub(crate) fn retraced(lines: &[impl Borrow<Polyline>], near: f64) -> Vec<Retraced> {
    let mut edges: Vec<(usize, Edge)> = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        edges.extend(
            line.borrow()
                .edges()
                .filter(|(a, b)| a != b)
                .map(|(a, b)| (i, Edge { a, b })),
        );
    }
    let tree = Boxes::new(edges.iter().map(|(_, e)| Rect::from_points(e.a, e.b)));
    let mut out = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        let mut met: std::collections::BTreeMap<usize, Vec<Run>> =
            std::collections::BTreeMap::new();
        let mut start = 0.0;
        for (a, b) in line.borrow().edges().filter(|(a, b)| a != b) {
            let edge = Edge { a, b };
            let length = a.distance(b);
            for k in tree.touching(Rect::from_points(a, b).inflate(near, near)) {
                let (of, other) = edges.at(k);
                if *of != i
                    && let Some((t0, t1)) = beside(&edge, other, near)
                {
                    met.entry(*of).or_default().push(Run {
                        from: start + t0 * length,
                        to: start + t1 * length,
                        straight: (t1 - t0) * length,
                        at: a + (b - a) * f64::midpoint(t0, t1),
                    });
                }
            }
            start += length;
        }
        out.extend(met.into_iter().map(|(on, runs)| Retraced {
            line: i,
            on,
            runs: merged(runs, near),
        }));
    }
    out
}

/// Stretches that touch become one.
fn merged(mut runs: Vec<Run>, gap: f64) -> Vec<Run> {
    runs.sort_by(|a, b| a.from.total_cmp(&b.from).then(a.to.total_cmp(&b.to)));
    let mut out: Vec<Run> = Vec::new();
    for run in runs {
        match out.last_mut() {
            Some(last) if run.from <= last.to + gap => {
                last.to = last.to.max(run.to);
                if run.straight > last.straight {
                    last.straight = run.straight;
                    last.at = run.at;
                }
            }
            _ => out.push(run),
        }
    }
    out
}

/// The part of `edge`, as parameters 0 to 1, that lies within `near` of `other` and runs its way.
///
/// Points within `near` of a piece fill a rectangle with two round ends, which is convex: a straight
/// line meets it in one stretch.
fn beside(edge: &Edge, other: &Edge, near: f64) -> Option<(f64, f64)> {
    let (d, f) = (edge.b - edge.a, other.b - other.a);
    let (length, reach) = (d.hypot(), f.hypot());
    if length == 0.0 || reach == 0.0 || (d.cross(f)).abs() > ALONG * length * reach {
        return None;
    }
    // In the other's frame: x along it, y across.
    let along = f / reach;
    let own = edge.a - other.a;
    let (x, y) = (own.dot(along), along.cross(own));
    let (dx, dy) = (d.dot(along), along.cross(d));
    let mut span: Option<(f64, f64)> = None;
    let mut add = |t: Option<(f64, f64)>| {
        if let Some((a, b)) = t
            .map(|(a, b)| (a.max(0.0), b.min(1.0)))
            .filter(|(a, b)| a < b)
        {
            span = Some(span.map_or((a, b), |(p, q)| (p.min(a), q.max(b))));
        }
    };
    add(slab(y, dy, -near, near)
        .zip(slab(x, dx, 0.0, reach))
        .map(|(p, q)| (p.0.max(q.0), p.1.min(q.1))));
    add(disc(x, y, dx, dy, near));
    add(disc(x - reach, y, dx, dy, near));
    span
}

/// Where `at + t · step` lies between `low` and `high`.
fn slab(at: f64, step: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if step == 0.0 {
        return (low <= at && at <= high).then_some((f64::NEG_INFINITY, f64::INFINITY));
    }
    let (a, b) = ((low - at) / step, (high - at) / step);
    Some((a.min(b), a.max(b)))
}

/// Where the line lies in the disc of radius `r` about the origin.
fn disc(x: f64, y: f64, dx: f64, dy: f64, r: f64) -> Option<(f64, f64)> {
    let a = dx * dx + dy * dy;
    let b = x * dx + y * dy;
    let root = b * b - a * (x * x + y * y - r * r);
    (root >= 0.0 && a > 0.0).then(|| ((-b - root.sqrt()) / a, (-b + root.sqrt()) / a))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;
    use crate::geometry::flatten::polylines;
    use kurbo::BezPath;

    fn lines(paths: &[&str]) -> Vec<Polyline> {
        paths
            .iter()
            .flat_map(|p| polylines(&BezPath::from_svg(p).unwrap(), 0.002))
            .collect()
    }

    fn length(paths: &[&str], near: f64, line: usize, on: usize) -> f64 {
        retraced(&lines(paths), near)
            .iter()
            .filter(|r| r.line == line && r.on == on)
            .map(Retraced::length)
            .sum()
    }

    #[test]
    fn shared_stretches_are_as_long_as_they_are() {
        for (a, b, expected) in [
            ("M0 0H10", "M0 0H10", 10.0),
            ("M0 0H10", "M10 0H0", 10.0),
            ("M0 0H10", "M4 0H20", 6.0),
            ("M0 0H10", "M4 0.2H20", 0.0),
            ("M0 0H10", "M12 0H20", 0.0),
            ("M0 0H10", "M5 -5V5", 0.0),
            ("M0 0H10V10H0Z", "M10 2V8", 6.0),
            ("M0 0H10V10H0Z", "M10 10H0V0H10Z", 40.0),
        ] {
            let got = length(&[a, b], 0.01, 0, 1);
            assert!(
                (got - expected).abs() <= 0.03,
                "actual {got}, expected {expected}, input {a} and {b}"
            );
        }
    }

    #[test]
    fn curves_that_start_elsewhere_or_are_in_two_are_found() {
        let whole = "M10 0 A10 10 0 0 1 -10 0 A10 10 0 0 1 10 0 Z";
        let turned = "M6 8 A10 10 0 0 0 -6 -8 A10 10 0 0 0 6 8 Z";
        let around = 2.0 * std::f64::consts::PI * 10.0;
        // kurbo's arcs are off by 2.7e-4 of the radius: 3 µm here.
        let got = length(&[whole, turned], 0.02, 0, 1);
        assert!((got - around).abs() < 0.05, "{got} of {around}");
        let half = length(&["M10 0 A10 10 0 0 1 -10 0", whole], 0.02, 0, 1);
        assert!((half - around / 2.0).abs() < 0.05, "{half}");
    }

    #[test]
    fn a_line_through_a_hatch_runs_along_none_of_it() {
        let hatch: Vec<String> = (0..100)
            .map(|i| format!("M{0} -5V5", f64::from(i) * 0.1))
            .collect();
        let mut paths = vec!["M0 0H10"];
        paths.extend(hatch.iter().map(String::as_str));
        assert_eq!(
            retraced(&lines(&paths), 0.05)
                .iter()
                .filter(|r| r.line == 0)
                .count(),
            0
        );
    }

    #[test]
    fn touching_circles_share_next_to_nothing() {
        let one = "M5 0 A5 5 0 0 1 -5 0 A5 5 0 0 1 5 0 Z";
        let beside = "M15 0 A5 5 0 0 1 5 0 A5 5 0 0 1 15 0 Z";
        let got = length(&[one, beside], 0.01, 0, 1);
        assert!(got < 1.0, "{got}");
    }
}
