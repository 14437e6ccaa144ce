//! Ink cut out around the places of it that are in doubt, so that a few narrow parts of a large drawing are
//! measured without the rest of it.

use std::collections::BTreeSet;

use kurbo::{Point, Rect};

use super::region::Region;

/// A piece of ink that is measured by itself.
pub(super) struct Window {
    pub(super) ink: Region,
    /// The places in it that may be narrow; where none are known, all of it may.
    places: Vec<Point>,
}

impl Window {
    /// Whether a narrow part is of the ink, and not of where it was cut. Every part that counts has a
    /// doubtful place within `near` of it (see [`super::wide`]); a cut is several times as far away.
    pub(super) fn shows(&self, narrow: Rect, near: f64) -> bool {
        let around = narrow.inflate(near, near);
        self.places.is_empty() || self.places.iter().any(|p| around.contains(*p))
    }
}

/// Most windows, and the largest share of the ink's box that they may take. To cut out each costs a look at every
/// corner; beyond this it is quicker to measure the whole.
const MOST_WINDOWS: usize = 64;
const LARGEST_SHARE: f64 = 0.5;

/// The ink around its doubtful places, each piece in a box of its own; all of it as one where that would
/// save nothing. What lies farther from them than `margin` has no say in what is narrow there.
pub(super) fn windows(ink: &Region, places: Vec<Point>, margin: f64) -> Vec<Window> {
    let apart = boxes_around(&places, margin);
    let area: f64 = apart.iter().map(Rect::area).sum();
    let whole = ink.bounds().map_or(0.0, |b| b.area());
    if apart.is_empty() || apart.len() > MOST_WINDOWS || area > LARGEST_SHARE * whole {
        let ink = ink.clone();
        return vec![Window { ink, places }];
    }
    let cut = |rect: &Rect| Window {
        ink: ink.intersect(&Region::from_rect(*rect)),
        places: (places.iter().filter(|p| rect.contains(**p)).copied()).collect(),
    };
    apart.iter().map(cut).collect()
}

/// Boxes that reach `margin` beyond each of the places, joined until none touch each other; none where
/// there would be far too many.
fn boxes_around(places: &[Point], margin: f64) -> Vec<Rect> {
    let cell = |v: f64| (v / margin).floor() as i64;
    let cells: BTreeSet<(i64, i64)> = places.iter().map(|p| (cell(p.x), cell(p.y))).collect();
    let mut apart: Vec<Rect> = Vec::new();
    if cells.len() > 8 * MOST_WINDOWS {
        return apart;
    }
    for (x, y) in cells {
        let corner = Point::new(x as f64 * margin, y as f64 * margin);
        let mut joined = Rect::from_origin_size(corner, (margin, margin)).inflate(margin, margin);
        // What it is joined with may make it reach others that it did not.
        while let Some(i) = apart.iter().position(|other| other.overlaps(joined)) {
            joined = joined.union(apart.swap_remove(i));
        }
        apart.push(joined);
    }
    apart
}
