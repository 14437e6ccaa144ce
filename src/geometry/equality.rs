//! Are two areas the same one?

use std::collections::HashMap;
use std::hash::{Hash, Hasher};

use kurbo::{Point, Rect};

use super::region::Region;

/// The accuracy with which areas are widened for the comparison, in millimetres.
const ROUND: f64 = 2e-3;

/// Outlines that are the same only where every coordinate is, bit by bit.
struct Exactly<'p>(bool, &'p [Vec<Point>]);

impl Hash for Exactly<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.hash(state);
        for ring in self.1 {
            state.write_usize(ring.len());
            for p in ring {
                state.write_u64(p.x.to_bits());
                state.write_u64(p.y.to_bits());
            }
        }
    }
}

impl PartialEq for Exactly<'_> {
    fn eq(&self, other: &Self) -> bool {
        let bits = |p: &Point| (p.x.to_bits(), p.y.to_bits());
        let points = |rings: &[Vec<Point>]| rings.iter().map(Vec::len).collect::<Vec<_>>();
        self.0 == other.0
            && points(self.1) == points(other.1)
            && (self.1.iter().flatten().map(bits)).eq(other.1.iter().flatten().map(bits))
    }
}

impl Eq for Exactly<'_> {}

/// For each of some outlines the number of the first that is exactly the same: its own, where none
/// before it is. Each comes with whether it is closed.
pub(crate) fn first_alike<'p>(
    all: impl IntoIterator<Item = (bool, &'p [Vec<Point>])>,
) -> Vec<usize> {
    let mut firsts: HashMap<Exactly<'_>, usize> = HashMap::new();
    all.into_iter()
        .enumerate()
        .map(|(i, (closed, rings))| *firsts.entry(Exactly(closed, rings)).or_insert(i))
        .collect()
}

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
    sides.iter().all(|d| d.abs() <= by + ROUND)
        && !strays(a, b, by)
        && !strays(b, a, by)
        && inside(a, b, by)
        && inside(b, a, by)
}

/// Whether one of a few corners of `a` lies too far from `b`, by more than what `b` is widened by may be
/// off and than what a difference leaves out. Most areas that only have their box in common are told
/// apart by this, for a hundredth of the time.
fn strays(a: &Region, b: &Region, by: f64) -> bool {
    const LOOKS: usize = 8;
    const ROUNDING: f64 = 1e-2;
    let corners = a.rings.iter().flatten();
    let step = corners.clone().count().div_ceil(LOOKS).max(1);
    let too_far = by + ROUND + ROUNDING;
    corners.step_by(step).any(|p| b.distance_to(*p) > too_far)
}

/// Whether `whole` has a separate part that equals `part`, which is one, within `by`.
pub(crate) fn contains_equal(whole: &Region, part: &Region, by: f64) -> bool {
    let Some(bounds) = part.bounds() else {
        return false;
    };
    if whole.rings == part.rings {
        return true;
    }
    may_contain_equal(whole, bounds, by) && whole.pieces().iter().any(|w| equal(w, part, by))
}

/// Whether `whole` may have a part that equals one with these bounds within `by`: an equal part has an outer
/// ring with the same box. This test is cheap, and most areas fail it.
pub(crate) fn may_contain_equal(whole: &Region, bounds: Rect, by: f64) -> bool {
    let p = bounds;
    let sides = |q: Rect| [p.x0 - q.x0, p.y0 - q.y0, p.x1 - q.x1, p.y1 - q.y1];
    let near = |q: Rect| sides(q).iter().all(|d| d.abs() <= by + ROUND);
    let close = |ring: &Vec<Point>| {
        let first = ring.first().copied().unwrap_or_default();
        let start = Rect::from_points(first, first);
        near(ring.iter().fold(start, |r, p| r.union_pt(*p)))
    };
    whole.rings.iter().any(close)
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
