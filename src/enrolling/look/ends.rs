//! Which end of each pocket is the head, and how much of the blank is its body.

use std::collections::BTreeMap;

use kurbo::{Rect, Vec2};

use super::{Shape, members, names, word};
use crate::fixture::draft::{Found, Part};
use crate::geometry::chords::chords;
use crate::geometry::contour::Contour;
use crate::ids::At;

/// A hole this far off the middle, as a share of the pocket's length, shows the head.
const OFF_MIDDLE: f64 = 0.15;

/// The narrow end of a pocket is narrower than the other by this share at least.
const NARROWER: f64 = 0.15;

/// The body is where a pocket has at least this share of its full width.
const BODY: f64 = 0.85;

/// Between a hole and the part that may be engraved, in millimetres (common practice, no source).
const PAST_HOLE: f64 = 1.0;

/// A mark this near to a pocket, in millimetres, belongs to it: as in `no-loading-mark`.
const NEAR: f64 = 15.0;

/// Pockets longer than wide by less than this share have no length to speak of.
const EVEN: f64 = 1.15;

/// Chords that a pocket is measured by.
const CHORDS: u32 = 60;

/// What shows the head of one pocket.
struct End {
    head: Vec2,
    why: Why,
    /// From the tail to where the body ends.
    body: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Why {
    Hole,
    Narrow,
    Mark,
}

impl Why {
    fn words(self) -> &'static str {
        match self {
            Self::Hole => "the hole is there",
            Self::Narrow => "the narrow end is there",
            Self::Mark => "a mark lies there",
        }
    }
}

/// Adds the head, the body and the pockets that lie the other way.
pub(super) fn of_pockets(
    found: &mut Found,
    shapes: &[Shape],
    around: &[Vec<usize>],
    pocket: usize,
    marks: &[Rect],
) {
    let pockets: Vec<(usize, &Shape)> = members(shapes, pocket).collect();
    let small: Vec<Rect> = shapes
        .iter()
        .filter(|s| found.groups.at(s.group).part == Part::Other)
        .map(|s| s.contour.bounds)
        .chain(marks.iter().copied())
        .collect();
    let boxes: Vec<Rect> = pockets.iter().map(|(_, s)| s.contour.bounds).collect();
    let ends: Vec<Option<End>> = pockets
        .iter()
        .map(|(index, shape)| {
            let holes = shapes.iter().zip(around).filter(|(s, a)| {
                a.first() == Some(index) && found.groups.at(s.group).part == Part::Hole
            });
            let holes: Vec<Rect> = holes.map(|(s, _)| s.contour.bounds).collect();
            by_hole(&shape.contour, &holes)
                .or_else(|| by_shape(&shape.contour))
                .or_else(|| by_mark(shape.contour.bounds, &small, &boxes))
        })
        .collect();
    let even = boxes
        .first()
        .is_some_and(|b| b.width().max(b.height()) < EVEN * b.width().min(b.height()));
    found.even = even;
    let mut votes: BTreeMap<&str, usize> = BTreeMap::new();
    for end in ends.iter().flatten() {
        *votes.entry(word(end.head)).or_default() += 1;
    }
    let Some((most, _)) = votes.iter().max_by_key(|(_, n)| **n) else {
        return;
    };
    let most = *most;
    let why = ends
        .iter()
        .flatten()
        .find(|e| word(e.head) == most)
        .map(|e| e.why.words());
    found.head = why.map(|why| (most, why));
    // The least body of all leaves no ring in any zone.
    found.body = ends
        .iter()
        .flatten()
        .filter_map(|e| e.body)
        .min_by(f64::total_cmp);
    let mut turned: BTreeMap<&'static str, Vec<String>> = BTreeMap::new();
    for (index, name) in names(&boxes) {
        if let Some(end) = ends.at(index) {
            let head = word(end.head);
            if head != most {
                turned.entry(head).or_default().push(name);
            }
        }
    }
    found.turned = turned.into_iter().collect();
}

/// The head is where the hole is.
fn by_hole(pocket: &Contour, holes: &[Rect]) -> Option<End> {
    let b = pocket.bounds;
    let hole = holes
        .iter()
        .max_by(|a, c| off(**a, b).hypot().total_cmp(&off(**c, b).hypot()))?;
    let away = off(*hole, b);
    let head = axis(away, b)?;
    let length = extent(b, head);
    let along = away.dot(head);
    if along < OFF_MIDDLE * length {
        return None;
    }
    // From the tail's end to the near side of the hole.
    let body = length / 2.0 + along - extent(*hole, head) / 2.0 - PAST_HOLE;
    Some(End {
        head,
        why: Why::Hole,
        body: (body > 0.0).then_some(body),
    })
}

/// The head is the narrow end, where one is.
fn by_shape(pocket: &Contour) -> Option<End> {
    let b = pocket.bounds;
    if b.width().max(b.height()) < EVEN * b.width().min(b.height()) {
        return None;
    }
    let upright = b.height() >= b.width();
    let length = b.width().max(b.height());
    let widths = chords(pocket, upright, 0.0..1.0, CHORDS);
    let fullest = widths.iter().copied().fold(0.0, f64::max);
    let third = widths.len() / 3;
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len().max(1) as f64;
    let (first, last) = (
        mean(widths.at(..third)),
        mean(widths.at(widths.len() - third..)),
    );
    if (first - last).abs() < NARROWER * fullest {
        return None;
    }
    let low = first < last;
    let head = match (upright, low) {
        (true, true) => Vec2::new(0.0, -1.0),
        (true, false) => Vec2::new(0.0, 1.0),
        (false, true) => Vec2::new(-1.0, 0.0),
        (false, false) => Vec2::new(1.0, 0.0),
    };
    // From the tail on: where the full width ends for good.
    let wide = |w: &&f64| **w >= BODY * fullest;
    let narrow = if low {
        widths.iter().take_while(|w| !wide(w)).count()
    } else {
        widths.iter().rev().take_while(|w| !wide(w)).count()
    };
    let body = length * (1.0 - narrow as f64 / widths.len().max(1) as f64);
    Some(End {
        head,
        why: Why::Narrow,
        body: Some(body),
    })
}

/// The head is where a mark lies outside the pocket, before one of its ends.
fn by_mark(pocket: Rect, marks: &[Rect], pockets: &[Rect]) -> Option<End> {
    let mut best: Option<(f64, Vec2)> = None;
    for mark in marks {
        let c = mark.center();
        if pockets.iter().any(|p| p.contains(c)) {
            continue;
        }
        let away = off(*mark, pocket);
        let (dx, dy) = (
            away.x.abs() - pocket.width() / 2.0,
            away.y.abs() - pocket.height() / 2.0,
        );
        let (gap, head) = match (dx > 0.0, dy > 0.0) {
            (false, true) => (dy, Vec2::new(0.0, away.y.signum())),
            (true, false) => (dx, Vec2::new(away.x.signum(), 0.0)),
            _ => continue,
        };
        let lies_along = extent(pocket, head) * EVEN >= pocket.width().max(pocket.height());
        if gap <= NEAR && lies_along && best.is_none_or(|(b, _)| gap < b) {
            best = Some((gap, head));
        }
    }
    best.map(|(_, head)| End {
        head,
        why: Why::Mark,
        body: None,
    })
}

/// From the middle of a pocket to the middle of something.
fn off(thing: Rect, pocket: Rect) -> Vec2 {
    thing.center() - pocket.center()
}

/// The end of the long axis that `away` points to; of an even pocket, the nearer axis.
fn axis(away: Vec2, b: Rect) -> Option<Vec2> {
    let upright = if b.width().max(b.height()) < EVEN * b.width().min(b.height()) {
        away.y.abs() >= away.x.abs()
    } else {
        b.height() >= b.width()
    };
    let along = if upright {
        Vec2::new(0.0, away.y)
    } else {
        Vec2::new(away.x, 0.0)
    };
    (along.hypot() > 0.0).then(|| along.normalize())
}

fn extent(b: Rect, axis: Vec2) -> f64 {
    if axis.x == 0.0 { b.height() } else { b.width() }
}
