//! Are two areas the same one?

use kurbo::{Point, Rect};

use super::region::Region;

/// The accuracy with which areas are widened for the comparison, in millimetres.
const ROUND: f64 = 2e-3;

/// Whether no point of either area is farther than `by` from the other.
pub(crate) fn equal(a: &Region, b: &Region, by: f64) -> bool {
    let (Some(p), Some(q)) = (a.bounds(), b.bounds()) else {
        return false;
    };
    // An exact copy. Without this, each pair of a hundred copies of a detailed outline would take a
    // second.
    if a.rings == b.rings {
        return true;
    }
    let sides = [p.x0 - q.x0, p.y0 - q.y0, p.x1 - q.x1, p.y1 - q.y1];
    sides.iter().all(|d| d.abs() <= by + ROUND) && inside(a, b, by) && inside(b, a, by)
}

/// Whether `whole` has a separate part that equals `part` within `by`.
pub(crate) fn contains_equal(whole: &Region, part: &Region, by: f64) -> bool {
    let Some(p) = part.bounds() else { return false };
    // A ring that is not inside another is a part by itself.
    if whole.rings.len() == 1 && whole.rings == part.rings {
        return true;
    }
    // An equal part has the same bounding box. This test is cheap, and most areas fail it.
    let sides = |q: Rect| [p.x0 - q.x0, p.y0 - q.y0, p.x1 - q.x1, p.y1 - q.y1];
    let near = |q: Rect| sides(q).iter().all(|d| d.abs() <= by + ROUND);
    let close = |ring: &Vec<Point>| {
        let first = ring.first().copied().unwrap_or_default();
        let start = Rect::from_points(first, first);
        near(ring.iter().fold(start, |r, p| r.union_pt(*p)))
    };
    whole.rings.iter().any(close) && whole.pieces().iter().any(|w| equal(w, part, by))
}

fn inside(a: &Region, b: &Region, by: f64) -> bool {
    a.subtract(&b.grown(by, ROUND)).is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Circle, Shape as _};

    fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
        Region::from_rect(Rect::new(x0, y0, x1, y1))
    }

    #[test]
    fn a_copy_a_little_aside_is_a_twin_as_far_as_asked() {
        let a = rect(0.0, 0.0, 10.0, 4.0);
        for (by, expected) in [(0.0, true), (0.04, true), (0.06, false)] {
            let b = rect(by, 0.0, 10.0 + by, 4.0);
            assert_eq!(equal(&a, &b, 0.05), expected, "moved by {by}");
        }
    }

    #[test]
    fn the_same_box_is_not_the_same_area() {
        let square = rect(-2.0, -2.0, 2.0, 2.0);
        let disc = Region::from_path(&Circle::new((0.0, 0.0), 2.0).to_path(1e-3), false, 1e-3);
        let ring = square.subtract(&rect(-1.0, -1.0, 1.0, 1.0));
        assert!(!equal(&square, &disc, 0.05));
        assert!(!equal(&square, &ring, 0.05));
        assert!(!equal(&ring, &square, 0.05));
    }

    #[test]
    fn a_part_finds_its_twin_in_a_whole() {
        let mut whole = rect(0.0, 0.0, 1.0, 1.0);
        whole.rings.extend(rect(3.0, 0.0, 4.0, 1.0).rings);
        assert!(contains_equal(&whole, &rect(3.01, 0.0, 4.01, 1.0), 0.05));
        assert!(!contains_equal(&whole, &rect(3.0, 0.0, 4.0, 2.0), 0.05));
    }
}
