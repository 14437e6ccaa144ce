//! Finds room for labels: numbers, measures and names, none on another, on a ring, or on lettering.
//!
//! A label comes with its places, the best-liked first, and gets the first that is free. Where none is, it
//! gets the one where it covers least: a number that covers something is still better than none.

use kurbo::{Point, Rect, Vec2};

/// What is taken on a drawing.
#[derive(Debug)]
pub(super) struct Room {
    /// Where labels may stand.
    view: Rect,
    taken: Vec<Rect>,
}

/// A place for a label.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    /// The box that the label takes.
    pub(super) plate: Rect,
    /// The point of its thing that a line leads to, where the label does not stand beside it.
    pub(super) leads_to: Option<Point>,
}

/// What a line that crosses something costs, in shares of a covered label: a crossed name can still be
/// read. With a larger cost, labels would rather cover each other's edges.
const CROSSED: f64 = 0.02;

/// Less of a label than this is covered by rounding.
const NOTHING: f64 = 1e-6;

impl Room {
    pub(super) fn new(view: Rect) -> Self {
        Self {
            view,
            taken: Vec::new(),
        }
    }

    /// Keeps labels off a box.
    pub(super) fn take(&mut self, r: Rect) {
        if touches(r, self.view) {
            self.taken.push(r);
        }
    }

    /// Keeps labels off the edge of a box.
    pub(super) fn take_frame(&mut self, r: Rect, width: f64) {
        let (outer, inner) = (
            r.inflate(width / 2.0, width / 2.0),
            r.inflate(-width / 2.0, -width / 2.0),
        );
        for side in [
            Rect::new(outer.x0, outer.y0, outer.x1, inner.y0),
            Rect::new(outer.x0, inner.y1, outer.x1, outer.y1),
            Rect::new(outer.x0, outer.y0, inner.x0, outer.y1),
            Rect::new(inner.x1, outer.y0, outer.x1, outer.y1),
        ] {
            self.take(side);
        }
    }

    /// Keeps labels off a line.
    pub(super) fn take_line(&mut self, from: Point, to: Point, width: f64) {
        for p in along(from, to, width) {
            self.take(Rect::from_center_size(p, (width, width)));
        }
    }

    /// Takes the first free of the places, else the one where least is covered; nothing where all lie out
    /// of view.
    pub(super) fn put(&mut self, places: impl IntoIterator<Item = Spot>) -> Option<Spot> {
        let (_, spot) = self.best(places)?;
        Some(self.taken_by(spot))
    }

    /// Takes the first free of the places; nothing where none is.
    pub(super) fn put_free(&mut self, places: impl IntoIterator<Item = Spot>) -> Option<Spot> {
        let (_, spot) = self.best(places).filter(|(cost, _)| *cost < NOTHING)?;
        Some(self.taken_by(spot))
    }

    fn best(&self, places: impl IntoIterator<Item = Spot>) -> Option<(f64, Spot)> {
        let mut best: Option<(f64, Spot)> = None;
        for spot in places {
            if !self.view.contains_rect(spot.plate) {
                continue;
            }
            let cost = self.cost(&spot);
            if best
                .as_ref()
                .is_none_or(|(least, _)| cost < least - NOTHING)
            {
                best = Some((cost, spot));
            }
            if cost < NOTHING {
                break;
            }
        }
        best
    }

    fn taken_by(&mut self, spot: Spot) -> Spot {
        self.taken.push(spot.plate);
        if let Some((from, to)) = spot.leader() {
            self.take_line(from, to, 0.1 * spot.plate.height());
        }
        spot
    }

    /// How much is covered: 1 where all of the label lies on something.
    fn cost(&self, spot: &Spot) -> f64 {
        let covered = |r: &Rect| {
            let both = r.intersect(spot.plate);
            both.width().max(0.0) * both.height().max(0.0)
                / spot.plate.area().max(f64::MIN_POSITIVE)
        };
        let covers: f64 = self.taken.iter().map(covered).sum();
        let Some((from, to)) = spot.leader() else {
            return covers;
        };
        let line: Vec<Point> = along(from, to, 0.25 * spot.plate.height()).collect();
        let crossed = |r: &&Rect| line.iter().any(|p| r.contains(*p));
        covers + CROSSED * self.taken.iter().filter(crossed).count() as f64
    }
}

impl Spot {
    /// A label about `middle`.
    pub(super) fn at(middle: Point, size: (f64, f64)) -> Self {
        Self {
            plate: Rect::from_center_size(middle, size),
            leads_to: None,
        }
    }

    /// The line from the edge of the label to its thing, short of touching it.
    pub(super) fn leader(&self) -> Option<(Point, Point)> {
        let to = self.leads_to?;
        let from = nearest(self.plate, to);
        let way = to - from;
        (way.hypot() > 0.0).then_some((from, to))
    }
}

/// Places about a box, the best-liked first: beside its corners, beside its sides, within its corners
/// where it is large, then farther and farther off, with a line that leads to it. Places beside it stand
/// `gap` away.
pub(super) fn about(thing: Rect, size: (f64, f64), gap: f64) -> Vec<Spot> {
    let half = Vec2::new(size.0, size.1) / 2.0;
    let ring = |off: f64| thing.inflate(half.x + gap + off, half.y + gap + off);
    let around = |round: Rect, by: Vec2| {
        let mut spots = corners(round, by, size);
        spots.extend(sides(round, size));
        spots
    };
    // Flush with the sides of the box, or about its middle where it is smaller than the label.
    let flush = |off: f64| {
        let most = Vec2::new(thing.width(), thing.height()) / 2.0;
        half + Vec2::new(half.x.min(most.x), half.y.min(most.y)) + Vec2::new(gap + off, gap + off)
    };
    let mut out = around(ring(0.0), flush(0.0));
    if thing.width() > 4.0 * size.0 && thing.height() > 4.0 * size.1 {
        let inner = thing.inflate(-half.x - gap, -half.y - gap);
        out.extend(corners(inner, Vec2::ZERO, size));
    }
    for step in [0.7, 1.4, 2.5, 4.0, 6.0, 9.0] {
        let off = step * size.1;
        for spot in around(ring(off), flush(off)) {
            out.push(Spot {
                leads_to: Some(nearest(thing.inflate(gap, gap), spot.plate.center())),
                ..spot
            });
        }
    }
    out
}

/// Places on `round`, `by` from its corners: behind and in front of what it goes round, then beside it.
fn corners(round: Rect, by: Vec2, size: (f64, f64)) -> Vec<Spot> {
    let (left, right) = (round.x0 + by.x, round.x1 - by.x);
    let (back, front) = (round.y0 + by.y, round.y1 - by.y);
    let at = [
        (left, round.y0),
        (right, round.y0),
        (right, round.y1),
        (left, round.y1),
        (round.x0, back),
        (round.x1, back),
        (round.x1, front),
        (round.x0, front),
    ];
    at.map(|p| Spot::at(p.into(), size)).into()
}

fn sides(r: Rect, size: (f64, f64)) -> Vec<Spot> {
    let mut out = Vec::new();
    for part in [0.5, 0.25, 0.75, 0.125, 0.375, 0.625, 0.875] {
        let at = Vec2::new(r.width() * part, r.height() * part);
        for p in [
            (r.x0 + at.x, r.y0),
            (r.x1, r.y0 + at.y),
            (r.x0 + at.x, r.y1),
            (r.x0, r.y0 + at.y),
        ] {
            out.push(Spot::at(p.into(), size));
        }
    }
    out
}

/// The point of a box that is nearest to `p`.
fn nearest(r: Rect, p: Point) -> Point {
    Point::new(
        p.x.clamp(r.x0, r.x1.max(r.x0)),
        p.y.clamp(r.y0, r.y1.max(r.y0)),
    )
}

/// Points along a line, `step` apart.
fn along(from: Point, to: Point, step: f64) -> impl Iterator<Item = Point> {
    const MOST: f64 = 400.0;
    let steps = ((to - from).hypot() / step).ceil().clamp(1.0, MOST);
    (0..=steps as u32).map(move |i| from.lerp(to, f64::from(i) / steps))
}

fn touches(a: Rect, b: Rect) -> bool {
    a.x0 <= b.x1 && a.x1 >= b.x0 && a.y0 <= b.y1 && a.y1 >= b.y0
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const VIEW: Rect = Rect::new(-20.0, -20.0, 620.0, 420.0);
    const SIZE: (f64, f64) = (10.0, 10.0);

    fn free(a: Rect, b: Rect) -> bool {
        let both = a.intersect(b);
        both.width() < 1e-6 || both.height() < 1e-6
    }

    #[test]
    fn numbers_of_one_place_stand_apart_and_off_their_ring() {
        let ring = Rect::new(100.0, 100.0, 130.0, 108.0);
        let mut room = Room::new(VIEW);
        room.take_frame(ring, 2.0);
        let found: Vec<Spot> = (0..24)
            .map(|_| room.put(about(ring, SIZE, 2.0)).unwrap())
            .collect();
        for (i, a) in found.iter().enumerate() {
            assert!(free(a.plate, ring.inflate(1.0, 1.0)), "{a:?}");
            for b in found.iter().skip(i + 1) {
                assert!(free(a.plate, b.plate), "{a:?} {b:?}");
            }
        }
        assert_eq!(found.first().unwrap().leads_to, None);
        assert!(found.last().unwrap().leads_to.is_some());
    }

    #[test]
    fn a_label_makes_way_for_what_is_there() {
        let ring = Rect::new(100.0, 100.0, 130.0, 108.0);
        let mut room = Room::new(VIEW);
        let first = room.put(about(ring, SIZE, 2.0)).unwrap();
        let mut room = Room::new(VIEW);
        room.take(first.plate);
        let second = room.put(about(ring, SIZE, 2.0)).unwrap();
        assert!(free(first.plate, second.plate), "{first:?} {second:?}");
    }

    #[test]
    fn where_nothing_is_free_least_is_covered() {
        let mut room = Room::new(VIEW);
        room.take(VIEW);
        let whole = Spot::at(Point::new(50.0, 50.0), SIZE);
        room.take(Rect::new(40.0, 40.0, 80.0, 80.0));
        let half = Spot::at(Point::new(85.0, 50.0), SIZE);
        assert_eq!(room.put([whole, half]), Some(half));
    }

    #[test]
    fn what_is_out_of_view_has_no_label_there() {
        let far = Rect::new(5000.0, 0.0, 5010.0, 4.0);
        assert_eq!(Room::new(VIEW).put(about(far, SIZE, 2.0)), None);
    }
}
