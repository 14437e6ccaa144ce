//! Places the numbers: on the ring of their finding, and apart from each other where there is room.

use kurbo::{Point, Rect, Vec2};

/// How far from the finding's box the middle of its number may stand, in millimetres. Farther away, a
/// number on a full bed could seem to belong to a neighbour.
pub(super) const NEAR: f64 = 3.0;

/// How far the ring stays off the finding's box, in millimetres.
pub(super) const RING: f64 = 2.0;

/// Chooses a place for the number of each box, radius `r`, within `view`. `None` for a box that lies
/// outside it.
pub(super) fn places(boxes: &[Option<Rect>], r: f64, view: Rect) -> Vec<Option<Point>> {
    let mut taken: Vec<Point> = Vec::new();
    boxes
        .iter()
        .map(|b| {
            let rect = (*b)?;
            let best = candidates(rect)
                .into_iter()
                .filter(|p| view.contains(*p))
                .map(|p| (room(p, &taken, r), p))
                // The first of the best, so that numbers stand at the same corner where they can.
                .reduce(|best, next| if next.0 > best.0 + 1e-9 { next } else { best })
                .map(|(_, p)| p)?;
            taken.push(best);
            Some(best)
        })
        .collect()
}

/// How much room there is about `p`, up to what a number needs.
fn room(p: Point, taken: &[Point], r: f64) -> f64 {
    let needs = 2.1 * r;
    taken.iter().map(|t| t.distance(p)).fold(needs, f64::min)
}

/// Places about a box, the best-liked first: its corners, then along its sides.
fn candidates(rect: Rect) -> Vec<Point> {
    // A corner of the ring must itself be near the box.
    let ring = rect.inflate(RING, RING);
    let mut out = vec![
        Point::new(ring.x0, ring.y0),
        Point::new(ring.x1, ring.y0),
        Point::new(ring.x1, ring.y1),
        Point::new(ring.x0, ring.y1),
    ];
    for part in [0.5, 0.25, 0.75, 0.125, 0.375, 0.625, 0.875] {
        let at = Vec2::new(ring.width() * part, ring.height() * part);
        out.push(Point::new(ring.x0 + at.x, ring.y0));
        out.push(Point::new(ring.x1, ring.y0 + at.y));
        out.push(Point::new(ring.x0 + at.x, ring.y1));
        out.push(Point::new(ring.x0, ring.y0 + at.y));
    }
    // Partly out of view: places inside the box still stand on it.
    out.push(rect.center());
    out
}

/// The distance of a point from a box; 0 inside.
pub(super) fn away(p: Point, rect: Rect) -> f64 {
    let nearest = Point::new(
        p.x.clamp(rect.x0, rect.x1.max(rect.x0)),
        p.y.clamp(rect.y0, rect.y1.max(rect.y0)),
    );
    p.distance(nearest)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const VIEW: Rect = Rect::new(-20.0, -20.0, 620.0, 420.0);

    #[test]
    fn a_number_is_never_far_from_its_place() {
        let boxes: Vec<Option<Rect>> = (0..40)
            .map(|i| {
                let x = f64::from(i % 7) * 11.0;
                Some(Rect::new(x, 10.0, x + f64::from(i % 3) * 9.0, 14.0))
            })
            .collect();
        for (b, p) in boxes.iter().zip(places(&boxes, 6.0, VIEW)) {
            let (b, p) = (b.unwrap(), p.unwrap());
            assert!(away(p, b) <= NEAR, "{p:?} {b:?}");
        }
    }

    #[test]
    fn numbers_about_one_place_stand_apart() {
        let boxes = vec![Some(Rect::new(100.0, 100.0, 130.0, 108.0)); 4];
        let found: Vec<Point> = places(&boxes, 5.0, VIEW).into_iter().flatten().collect();
        for (i, a) in found.iter().enumerate() {
            for b in found.iter().skip(i + 1) {
                assert!(a.distance(*b) >= 10.0, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn what_is_out_of_view_has_no_number_there() {
        let boxes = [Some(Rect::new(5000.0, 0.0, 5010.0, 4.0)), None];
        assert_eq!(places(&boxes, 5.0, VIEW), [None, None]);
    }
}
