//! Closed lines that go round the art of a pocket: a frame round a name, or the edge of its blank.
//!
//! A letter drawn as a line along its outline is seen as that letter, filled. A frame drawn as a line is not: filled, it
//! would cover the name that stands in it.

use kurbo::{Point, Rect};

use crate::geometry::shape_match::is_solid;
use crate::ids::At;

/// A letter goes round one or two hollows of its own, and a frame round so many outlines.
const OUTLINES: usize = 3;

/// What stands in a frame has this share of the box of all art that does not go round other art, at least, where it
/// is outlines alone: a letter of many bits goes round its own.
const MOST: f64 = 0.4;

/// A line whose box is that of some other art, to so many millimetres, is drawn along its edge, and goes round nothing
/// but what is hollow in it.
const EDGE: f64 = 0.1;

/// Comparisons beyond which nothing is looked for: traced pictures.
const MOST_COMPARED: usize = 4_000_000;

/// Which of a pocket's closed lines go round other art; `others` are the boxes of what is no closed line.
pub(super) fn go_round(closed: &[Vec<Point>], others: &[Rect]) -> Vec<bool> {
    let mut round = vec![false; closed.len()];
    if closed.len() * (closed.len() + others.len()) > MOST_COMPARED {
        return round;
    }
    let boxes: Vec<Rect> = closed
        .iter()
        .map(|ring| around(ring).unwrap_or(Rect::ZERO))
        .collect();
    let mut largest_first: Vec<usize> = (0..closed.len()).collect();
    largest_first.sort_by(|a, b| boxes.at(*b).area().total_cmp(&boxes.at(*a).area()));
    let all = |some: &mut dyn Iterator<Item = Rect>| some.reduce(|a, b| a.union(b));
    for own in largest_first {
        let frame = *boxes.at(own);
        let within = |r: &Rect| frame.union(*r) == frame;
        let outlines: Vec<Rect> = (0..closed.len())
            .filter(|i| *i != own && !round.at(*i))
            .map(|i| *boxes.at(i))
            .collect();
        let rest = all(&mut outlines.iter().chain(others).copied());
        let held = outlines.iter().filter(|r| within(r)).count();
        let inside = all(&mut outlines.iter().copied().filter(within));
        let most = || {
            let shares = inside.zip(rest);
            shares.is_some_and(|(inside, rest)| inside.area() >= MOST * rest.area())
        };
        let edge = |r: &Rect| {
            let sides = [
                r.x0 - frame.x0,
                r.y0 - frame.y0,
                r.x1 - frame.x1,
                r.y1 - frame.y1,
            ];
            sides.iter().all(|by| by.abs() <= EDGE)
        };
        let holds =
            others.iter().any(within) && !others.iter().any(edge) || held >= OUTLINES && most();
        *round.at_mut(own) = holds && is_solid(closed.at(own));
    }
    round
}

/// The box around some points.
pub(super) fn around(points: &[Point]) -> Option<Rect> {
    let boxes = points.iter().map(|p| Rect::from_points(*p, *p));
    boxes.reduce(|a, b| a.union(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn oblong(x: f64, y: f64, wide: f64, high: f64) -> Vec<Point> {
        let corners = [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)];
        corners.map(|(dx, dy)| Point::new(x + dx, y + dy)).to_vec()
    }

    /// Four letters, one with a hollow.
    fn name() -> Vec<Vec<Point>> {
        let letter = |n: f64| oblong(4.0 * n, 0.0, 3.0, 6.0);
        let hollow = oblong(1.0, 2.0, 1.0, 2.0);
        vec![letter(0.0), hollow, letter(1.0), letter(2.0), letter(3.0)]
    }

    #[test]
    fn a_line_round_outlines_is_a_frame_and_a_letter_round_its_hollows_is_none() {
        assert_eq!(go_round(&name(), &[]), [false; 5]);
        let frame = oblong(-2.0, -2.0, 19.0, 10.0);
        let framed = [name(), vec![frame.clone()]].concat();
        assert_eq!(
            go_round(&framed, &[]),
            [false, false, false, false, false, true]
        );
        // Two lines, one in the other, with a date under them.
        let double = [
            framed,
            vec![oblong(-3.0, -3.0, 21.0, 12.0), oblong(4.0, 12.0, 2.0, 3.0)],
        ]
        .concat();
        let round = go_round(&double, &[]);
        assert_eq!(
            round,
            [false, false, false, false, false, true, true, false]
        );
        // Round a name that is filled, or of open lines, however few.
        let filled = [Rect::new(0.0, 0.0, 9.0, 6.0)];
        assert_eq!(go_round(&[frame], &filled), [true]);
        // Lines along the edges of filled letters.
        let filled: Vec<Rect> = name().iter().filter_map(|ring| around(ring)).collect();
        assert_eq!(go_round(&name(), &filled), [false; 5]);
    }

    /// The outline of a joined word is no frame, whatever is hollow in it.
    #[test]
    fn the_outline_of_a_joined_word_goes_round_nothing() {
        // A comb: four stems on a thin line, with a hollow in each.
        let mut comb: Vec<Point> = Vec::new();
        for n in 0..4 {
            let x = 6.0 * f64::from(n);
            comb.extend(
                [(0.0, 6.0), (0.0, 0.0), (3.0, 0.0), (3.0, 6.0)]
                    .map(|(dx, y)| Point::new(x + dx, y)),
            );
        }
        comb.extend([Point::new(21.0, 7.0), Point::new(0.0, 7.0)]);
        let hollows = (0..4).map(|n| oblong(6.0 * f64::from(n) + 1.0, 2.0, 1.0, 2.0));
        let all: Vec<Vec<Point>> = [comb].into_iter().chain(hollows).collect();
        assert_eq!(go_round(&all, &[]), [false; 5]);
    }
}
