//! `cut-twice`: a cut line on the fixture drawing that lies on another.

use kurbo::{Point, Rect};

use super::{CutLine, Drawing};
use crate::finding::Finding;
use crate::finding::Info;
use crate::geometry::boxes::Boxes;
use crate::geometry::edges::Edges;
use crate::ids::At;
use crate::rules::info;

pub(crate) static INFO: Info = info!("cut-twice", Hold, Fixture);

/// Lines that run together for less than this, in millimetres, cross or touch. Two lines that cross
/// at three degrees are within a tenth of a millimetre of each other for as long.
const TOGETHER: f64 = 4.0;

/// Places along a line that are compared, in millimetres apart.
const STEP: f64 = 0.25;

pub(super) fn check(drawing: &Drawing<'_>, out: &mut Vec<Finding>) {
    let place = drawing.settings.limits.place;
    let tree = Boxes::new(drawing.cuts.iter().map(|c| c.contour.bounds));
    let indexed: Vec<Edges> = drawing
        .cuts
        .iter()
        .map(|c| Edges::new(c.contour.edges()))
        .collect();
    for (i, a) in drawing.cuts.iter().enumerate() {
        for j in tree.touching(a.contour.bounds.inflate(place, place)) {
            let b = drawing.cuts.at(j);
            if j <= i || same_element(drawing, a, b) {
                continue;
            }
            // The shorter line is walked: a piece that lies on a long line lies on it all along.
            let (walked, on) = if a.contour.length <= b.contour.length {
                (a, indexed.at(j))
            } else {
                (b, indexed.at(i))
            };
            let Some((length, at)) = together(walked, on, place) else {
                continue;
            };
            if length < TOGETHER.min(0.9 * walked.contour.length) {
                continue;
            }
            out.push(
                Finding::new(
                    &INFO,
                    &drawing.place(b.mark, at),
                    format!(
                        "A cut line lies on another for {}, nowhere more than {} from it: the sheet would be cut there twice",
                        drawing.shown().length(length),
                        drawing.shown().length(place)
                    ),
                    "delete one of the two, or leave a strip between them",
                )
                .measured("along", length, 0.0, "mm"),
            );
        }
    }
}

/// An element with a fill and a stroke in cut paints draws its outline once.
fn same_element(drawing: &Drawing<'_>, a: &CutLine, b: &CutLine) -> bool {
    let origin = |c: &CutLine| &drawing.artwork.marks[c.mark].origin;
    let (p, q) = (origin(a), origin(b));
    a.filled != b.filled && p.range == q.range && p.uses == q.uses
}

/// The longest stretch on which `line` stays within `place` of the other, and its box.
fn together(line: &CutLine, other: &Edges, place: f64) -> Option<(f64, Rect)> {
    let mut best: Option<(f64, Rect)> = None;
    let mut run: Option<(f64, Rect)> = None;
    let mut first: Option<(f64, Rect)> = None;
    let mut whole = true;
    let mut step = |a: Point, b: Point| {
        let near = other
            .nearest_point(a.midpoint(b))
            .is_some_and(|(d, _)| d <= place);
        if near {
            let here = Rect::from_points(a, b);
            let (length, bounds) = run.map_or((0.0, here), |(l, r)| (l, r.union(here)));
            run = Some((length + a.distance(b), bounds));
        } else {
            if whole {
                first = run;
            }
            whole = false;
            run = None;
        }
        if run.map(|r| r.0) > best.map(|r| r.0) {
            best = run;
        }
    };
    for (a, b) in line.contour.edges() {
        let parts = (a.distance(b) / STEP).ceil().max(1.0);
        for k in 0..parts as u32 {
            let at = |k: f64| a.lerp(b, k / parts);
            step(at(f64::from(k)), at(f64::from(k) + 1.0));
        }
    }
    // A stretch over the start of a closed line is one.
    if let (true, Some((a, r)), Some((b, s))) = (line.contour.closed && !whole, run, first)
        && best.is_none_or(|(most, _)| a + b > most)
    {
        best = Some((a + b, r.union(s)));
    }
    best
}
