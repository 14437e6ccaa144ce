//! What lies where, looked up in one step: a run may have thousands of pockets, and a rule that asks
//! them one by one for each mark would take their product.

use std::collections::HashMap;

use kurbo::{Point, Rect};

use super::art::Art;
use crate::fixture::Pocket;
use crate::geometry::boxes::Boxes;

/// Pockets by place and outline, art by pocket.
#[derive(Debug)]
pub(super) struct Lookup {
    pockets: Boxes,
    by_outline: HashMap<usize, usize>,
    art: Vec<Vec<usize>>,
}

impl Lookup {
    pub(super) fn new(pockets: &[Pocket], art: &[Art<'_>]) -> Self {
        let mut by_pocket = vec![Vec::new(); pockets.len()];
        for (index, piece) in art.iter().enumerate() {
            if let Some(here) = piece.pocket.and_then(|p| by_pocket.get_mut(p)) {
                here.push(index);
            }
        }
        let mut by_outline = HashMap::new();
        for (index, pocket) in pockets.iter().enumerate() {
            by_outline.entry(pocket.outline).or_insert(index);
        }
        Self {
            pockets: Boxes::new(
                pockets
                    .iter()
                    .map(|p| p.region.bounds().unwrap_or(Rect::ZERO)),
            ),
            by_outline,
            art: by_pocket,
        }
    }

    /// The first pocket of `pockets` that covers a point.
    pub(super) fn pocket_at(&self, pockets: &[Pocket], at: Point) -> Option<usize> {
        self.pockets
            .touching(Rect::from_points(at, at))
            .into_iter()
            .find(|i| pockets.get(*i).is_some_and(|p| p.region.contains(at)))
    }

    /// The pocket of a locked outline.
    pub(super) fn of_outline(&self, outline: usize) -> Option<usize> {
        self.by_outline.get(&outline).copied()
    }

    /// The art of a pocket, in the order of the run.
    pub(super) fn art_in(&self, pocket: usize) -> &[usize] {
        self.art.get(pocket).map(Vec::as_slice).unwrap_or_default()
    }
}
