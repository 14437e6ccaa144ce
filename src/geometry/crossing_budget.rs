//! Whether outlines cross too often to be worked out.
//!
//! A union costs time and memory by the number of crossings, which can be the square of the number of
//! edges: a scribble of twenty thousand strokes has a hundred million.

use kurbo::{Point, Rect};

use super::boxes::Boxes;
use super::flatten::edges;
use crate::abandon::spend;
use crate::ids::At;

/// Outlines with fewer edges than this never cross too often: they have a million crossings at worst.
const FEW: usize = 1_500;

/// Pairs of edges whose boxes may meet. Time and memory grow in proportion: this many take a
/// second or two, and half a gigabyte, if most of them cross.
const MOST_MEETINGS: usize = 3_000_000;

/// Meetings that take about as long as one step of work (see [`spend`]).
const MEETINGS_TO_A_STEP: usize = 8;

/// Cells along each side of the grid that is tried first, for few edges and for many: letters of a long
/// text have a hundred edges to a cell of the coarse one.
const CELLS: (usize, usize) = (256, 1_024);

/// From so many edges on there are many.
const MANY_EDGES: usize = 10_000;

/// Whether so many edges of `rings` lie on each other that a union would take too long.
pub(crate) fn crosses_too_often(rings: &[Vec<Point>]) -> bool {
    let count: usize = rings.iter().map(Vec::len).sum();
    if count < FEW {
        return false;
    }
    let boxes = boxes(rings);
    // The grid is quick and never counts too few. Only if it counts many are they counted one by one.
    let meetings = coarse(&boxes);
    if meetings > MOST_MEETINGS && exact(&boxes) {
        return true;
    }
    spend(meetings.min(MOST_MEETINGS) / MEETINGS_TO_A_STEP);
    false
}

/// From this many meetings per edge on, joining neighbours first saves time.
const MANY: usize = 16;

/// Whether so many edges lie on each other that joining neighbouring rings first saves time. It may
/// also say so of edges that are only near each other; nothing but time depends on it.
pub(crate) fn dense(rings: &[Vec<Point>]) -> bool {
    let boxes = boxes(rings);
    coarse(&boxes) > MANY * boxes.len()
}

fn boxes(rings: &[Vec<Point>]) -> Vec<Rect> {
    rings
        .iter()
        .flat_map(|ring| edges(ring, true))
        .map(|(a, b)| Rect::from_points(a, b))
        .collect()
}

fn coarse(boxes: &[Rect]) -> usize {
    let Some(whole) = boxes.iter().copied().reduce(|a, b| a.union(b)) else {
        return 0;
    };
    let cells = if boxes.len() < MANY_EDGES {
        CELLS.0
    } else {
        CELLS.1
    };
    let cell = |value: f64, from: f64, size: f64| {
        let at = if size > 0.0 {
            (value - from) / size * cells as f64
        } else {
            0.0
        };
        (at.max(0.0) as usize).min(cells - 1)
    };
    let mut held = vec![0_u32; cells * cells];
    let mut meetings = 0_usize;
    for b in boxes {
        let columns = cell(b.x0, whole.x0, whole.width())..=cell(b.x1, whole.x0, whole.width());
        let rows = cell(b.y0, whole.y0, whole.height())..=cell(b.y1, whole.y0, whole.height());
        for row in rows {
            for column in columns.clone() {
                let n = held.at_mut(row * cells + column);
                meetings = meetings.saturating_add(*n as usize);
                *n += 1;
            }
        }
        if meetings > MOST_MEETINGS {
            break;
        }
    }
    meetings
}

fn exact(boxes: &[Rect]) -> bool {
    let tree = Boxes::new(boxes.iter().copied());
    // Each pair is met twice, and each box itself.
    let mut left = 2 * MOST_MEETINGS + boxes.len();
    boxes.iter().any(|b| {
        let met = tree.count(*b, left);
        left -= met;
        left == 0
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers from 0 to 1 that are the same every time.
    fn numbers(seed: u64) -> impl FnMut() -> f64 {
        let mut chance = crate::chance::Chance::new(seed);
        move || chance.between(0.0, 1.0)
    }

    #[test]
    fn a_scribble_is_a_crowd_and_a_fine_outline_is_none() {
        let mut number = numbers(7);
        let scribble: Vec<_> = (0..20_000)
            .map(|_| Point::new(20.0 * number(), 20.0 * number()))
            .collect();
        assert!(crosses_too_often(&[scribble]));
        let circle = |radius: f64| -> Vec<Point> {
            (0..200_000)
                .map(|i| {
                    Point::new(0.0, radius) + radius * kurbo::Vec2::from_angle(f64::from(i) * 3e-5)
                })
                .collect()
        };
        assert!(!crosses_too_often(&[circle(10.0)]));
        // All of it in one cell of the grid, far from something else.
        let far = vec![
            Point::new(1e4, 1e4),
            Point::new(1e4, 1e4 + 1.0),
            Point::new(1e4 + 1.0, 1e4),
        ];
        assert!(!crosses_too_often(&[circle(0.01), far]));
    }
}
