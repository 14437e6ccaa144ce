//! How wide is a contour, measured straight across at many places?

use std::ops::Range;

use kurbo::Point;

use super::contour::Contour;

/// The lengths of `count` chords at even distances over the part `over` of the contour's box, 0 to 1.
/// The chords run along x and follow each other along y if `upright`, otherwise the other way round. A
/// chord reaches from the first crossing with the contour to the last; it is 0 if there is none.
pub(crate) fn chords(contour: &Contour, upright: bool, over: Range<f64>, count: u32) -> Vec<f64> {
    let b = contour.bounds;
    let (low, high) = if upright { (b.y0, b.y1) } else { (b.x0, b.x1) };
    let part = |p: Point| if upright { (p.y, p.x) } else { (p.x, p.y) };
    (0..count)
        .map(|k| {
            let step = (f64::from(k) + 0.5) / f64::from(count);
            let at = low + (over.start + (over.end - over.start) * step) * (high - low);
            let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
            for (p, q) in contour.edges() {
                let ((s, u), (t, v)) = (part(p), part(q));
                if (s <= at) == (t <= at) {
                    continue;
                }
                let hit = u + (v - u) * (at - s) / (t - s);
                from = from.min(hit);
                to = to.max(hit);
            }
            (to - from).max(0.0)
        })
        .collect()
}
