//! Which of many boxes lie somewhere: an R-tree behind plain words.

use kurbo::{Point, Rect};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Boxes that can be asked by place.
#[derive(Debug)]
pub struct Boxes {
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
}

impl Boxes {
    /// Boxes, numbered in the order given.
    pub fn new(boxes: impl IntoIterator<Item = Rect>) -> Self {
        let entries = boxes
            .into_iter()
            .enumerate()
            .map(|(i, r)| GeomWithData::new(Rectangle::from_corners([r.x0, r.y0], [r.x1, r.y1]), i))
            .collect();
        Self {
            tree: RTree::bulk_load(entries),
        }
    }

    /// The boxes that touch `rect`, in numbering order.
    pub fn touching(&self, rect: Rect) -> Vec<usize> {
        let mut found: Vec<usize> = self
            .tree
            .locate_in_envelope_intersecting(envelope(rect))
            .map(|e| e.data)
            .collect();
        found.sort_unstable();
        found
    }

    /// Whether two boxes or more touch `rect`.
    pub fn several(&self, rect: Rect) -> bool {
        self.tree
            .locate_in_envelope_intersecting(envelope(rect))
            .nth(1)
            .is_some()
    }

    /// Whether a box for which `wanted` says so touches `rect`.
    pub fn any_touching(&self, rect: Rect, wanted: impl Fn(usize) -> bool) -> bool {
        self.tree
            .locate_in_envelope_intersecting(envelope(rect))
            .any(|e| wanted(e.data))
    }

    /// The boxes that lie wholly in `rect`, in numbering order.
    pub fn within(&self, rect: Rect) -> Vec<usize> {
        let mut found: Vec<usize> = self
            .tree
            .locate_in_envelope(envelope(rect))
            .map(|e| e.data)
            .collect();
        found.sort_unstable();
        found
    }

    /// Boxes from the nearest to the farthest of `point`.
    pub fn nearest(&self, point: Point) -> impl Iterator<Item = usize> + '_ {
        self.tree
            .nearest_neighbor_iter([point.x, point.y])
            .map(|e| e.data)
    }
}

fn envelope(r: Rect) -> AABB<[f64; 2]> {
    AABB::from_corners([r.x0, r.y0], [r.x1, r.y1])
}
