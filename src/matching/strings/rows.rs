//! The outer outlines of a pocket's art, and those of them that stand in rows like letters.

use kurbo::{BezPath, Point, Rect};

use super::{LetterString, MOST_OUTLINES, body};
use crate::artwork::ink::INK_TOLERANCE;
use crate::artwork::mark::Mark;
use crate::fixture::Pocket;
use crate::geometry::flatten::polylines;
use crate::geometry::region::{Region, winding};
use crate::ids::{At, MarkId};
use crate::matching::art::Art;
use crate::readback::in_frame;

/// An outline lower than this share of its neighbour is its dot or accent.
const DOT: f64 = 0.4;

/// The next letter of a string overlaps the last by no more than this share of the narrower one. Script
/// overlaps by up to a third (common practice, no source); letters of another string by any share.
const NEXT: f64 = 0.45;

/// The next letter is no farther away than this many heights of the taller one: a space and a half.
const APART: f64 = 1.0;

/// A letter hangs below the baseline of its string by no more than the rest of this share of its height.
const HANGS: f64 = 0.4;

/// An outer outline with its holes.
#[derive(Debug, Clone)]
pub(super) struct Outline {
    mark: MarkId,
    /// As drawn on the bed.
    on_bed: Rect,
    /// In the pocket's frame, y to the front.
    bounds: Rect,
    /// In the pocket's frame, the outer one first.
    rings: Vec<Vec<Point>>,
}

/// The outer outlines of shapes, in the order of the file, up to one more than are looked at. Where
/// places are given, those that touch one of them.
pub(super) fn outlines_near(
    shapes: &[(&Art<'_>, &Mark)],
    places: Option<&[Rect]>,
    pocket: &Pocket,
) -> Vec<Outline> {
    let near = |bounds: Rect| places.is_none_or(|all| all.iter().any(|p| p.overlaps(bounds)));
    let mut out = Vec::new();
    for (art, mark) in shapes.iter().filter(|(art, _)| near(art.reach)) {
        if out.len() > MOST_OUTLINES {
            break;
        }
        out.extend(outlines_of(&mark.path, art, pocket, near));
    }
    out
}

/// The outer outlines of one piece of art, in the order of the file, whose boxes are `wanted`.
fn outlines_of(
    path: &BezPath,
    art: &Art<'_>,
    pocket: &Pocket,
    wanted: impl Fn(Rect) -> bool,
) -> Vec<Outline> {
    // The ink of a whole mark need not be known: its outlines are all in it.
    let within = if art.is_part() {
        art.bounds()
    } else {
        art.reach
    };
    let frame = within.inflate(INK_TOLERANCE, INK_TOLERANCE);
    let drawn: Vec<Vec<Point>> = polylines(path, INK_TOLERANCE)
        .into_iter()
        .map(|line| line.points)
        .filter(|ring| ring.len() >= 3 && ring.iter().all(|p| frame.contains(*p)))
        .filter(|ring| wanted(box_of(ring)))
        .take(MOST_OUTLINES + 1)
        .collect();
    let seen = in_frame(
        &Region {
            rings: drawn.clone(),
        },
        pocket,
    )
    .rings;
    let boxes: Vec<Rect> = seen.iter().map(|ring| box_of(ring)).collect();
    let within = |inner: usize, outer: usize| {
        let (o, i) = (boxes.at(outer), boxes.at(inner));
        let around = |p: &Point| winding(seen.at(outer), *p) != 0;
        o != i && o.contains_rect(*i) && seen.at(inner).iter().all(around)
    };
    let count = seen.len();
    let around: Vec<Vec<usize>> = (0..count)
        .map(|i| (0..count).filter(|o| within(i, *o)).collect())
        .collect();
    let mut out = Vec::new();
    for (index, outside) in around.iter().enumerate() {
        if outside.len() % 2 == 1 {
            continue;
        }
        let holes = around
            .iter()
            .zip(&seen)
            .filter(|(o, _)| o.len() == outside.len() + 1 && o.contains(&index))
            .map(|(_, hole)| hole.clone());
        out.push(Outline {
            mark: art.mark,
            on_bed: box_of(drawn.at(index)),
            bounds: *boxes.at(index),
            rings: std::iter::once(seen.at(index).clone())
                .chain(holes)
                .collect(),
        });
    }
    out
}

pub(super) fn box_of(ring: &[Point]) -> Rect {
    let mut points = ring.iter();
    let first = points.next().copied().unwrap_or_default();
    points.fold(Rect::from_points(first, first), |r, p| r.union_pt(*p))
}

/// Length of what two spans share; negative where they are apart.
fn shared(a: (f64, f64), b: (f64, f64)) -> f64 {
    a.1.min(b.1) - a.0.max(b.0)
}

/// Outlines that stand beside each other one after the other, as letters are drawn.
pub(super) fn rows(outlines: Vec<Outline>) -> Vec<LetterString> {
    let mut out = Vec::new();
    let mut row: Vec<Outline> = Vec::new();
    let mut forward = 0.0;
    for next in outlines {
        if let Some(letter) = row.iter_mut().rev().find(|l| dotted(l, &next)) {
            letter.bounds = letter.bounds.union(next.bounds);
            letter.on_bed = letter.on_bed.union(next.on_bed);
            letter.rings.extend(next.rings);
            continue;
        }
        let way = row.last().and_then(|last| follows(last, &next, &row));
        match way {
            Some(way) if forward == 0.0 || forward == way => {
                forward = way;
                row.push(next);
            }
            _ => {
                out.extend(string(&std::mem::replace(&mut row, vec![next])));
                forward = 0.0;
            }
        }
    }
    out.extend(string(&row));
    out
}

/// Whether one of two outlines is the dot or accent of the other.
fn dotted(a: &Outline, b: &Outline) -> bool {
    let (small, large) = if a.bounds.height() < b.bounds.height() {
        (a.bounds, b.bounds)
    } else {
        (b.bounds, a.bounds)
    };
    let beside = shared((small.x0, small.x1), (large.x0, large.x1));
    let above = shared((small.y0, small.y1), (large.y0, large.y1));
    small.height() < DOT * large.height()
        && beside > 0.5 * small.width()
        && above <= 0.0
        && above > -large.height()
}

/// Whether `next` stands beside `last`, and which way; not where it lies on any letter of the row.
fn follows(last: &Outline, next: &Outline, row: &[Outline]) -> Option<f64> {
    let (a, b) = (last.bounds, next.bounds);
    let taller = a.height().max(b.height());
    let across = shared((a.x0, a.x1), (b.x0, b.x1));
    let level = shared((a.y0, a.y1), (b.y0, b.y1));
    let on_another = row.iter().any(|letter| {
        let both = letter.bounds.intersect(b);
        both.width() > 0.0
            && both.height() > 0.0
            && both.area() > NEXT * letter.bounds.area().min(b.area())
    });
    let beside = across <= NEXT * a.width().min(b.width())
        && across >= -APART * taller
        && level > 0.0
        && !on_another;
    beside.then(|| (b.center().x - a.center().x).signum())
}

/// A row as a string, if it is long enough to be one.
fn string(row: &[Outline]) -> Option<LetterString> {
    if row.is_empty() {
        return None;
    }
    // Most letters stand on the baseline; on a curve each stands on its own.
    let mut feet: Vec<f64> = row.iter().map(|l| l.bounds.y1).collect();
    feet.sort_by(f64::total_cmp);
    let foot = *feet.at(feet.len() / 2);
    let (letters, rings) = row
        .iter()
        .filter_map(|l| {
            let b = l.bounds;
            let low = if (b.y0 + HANGS * b.height()..b.y1).contains(&foot) {
                foot
            } else {
                b.y1
            };
            Some((body(Rect::new(b.x0, b.y0, b.x1, low))?, l.rings.clone()))
        })
        .unzip();
    let bounds = row.iter().map(|l| l.on_bed).reduce(|a, b| a.union(b))?;
    let mut marks: Vec<MarkId> = row.iter().map(|l| l.mark).collect();
    marks.dedup();
    Some(LetterString {
        text: None,
        marks,
        letters,
        bounds,
        rings,
    })
}
