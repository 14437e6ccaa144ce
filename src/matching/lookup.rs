//! Lookup of pockets and art by place: a run may have thousands of pockets, and a rule must not
//! compare each mark with each pocket.

use std::collections::HashMap;

use kurbo::{Point, Rect};

use super::art::Art;
use crate::fixture::Pocket;
use crate::geometry::boxes::Boxes;
use crate::ids::{ArtId, Id as _, IdVec, OutlineId, PocketId};

/// Pockets by place and outline, art by pocket.
#[derive(Debug)]
pub(super) struct Lookup {
    pockets: Boxes,
    by_outline: HashMap<OutlineId, PocketId>,
    art: IdVec<PocketId, Vec<ArtId>>,
}

impl Lookup {
    pub(super) fn new(pockets: &IdVec<PocketId, Pocket>, art: &IdVec<ArtId, Art<'_>>) -> Self {
        let mut by_pocket = pockets.each(Vec::new());
        for (index, piece) in art.pairs() {
            if let Some(pocket) = piece.pocket {
                by_pocket[pocket].push(index);
            }
        }
        let mut by_outline = HashMap::new();
        for (index, pocket) in pockets.pairs() {
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
    pub(super) fn pocket_at(
        &self,
        pockets: &IdVec<PocketId, Pocket>,
        at: Point,
    ) -> Option<PocketId> {
        self.pockets
            .touching(Rect::from_points(at, at))
            .into_iter()
            .map(PocketId::new)
            .find(|i| pockets[*i].region.contains(at))
    }

    /// The pocket of a locked outline.
    pub(super) fn of_outline(&self, outline: OutlineId) -> Option<PocketId> {
        self.by_outline.get(&outline).copied()
    }

    /// The art of a pocket, in the order of the run.
    pub(super) fn art_in(&self, pocket: PocketId) -> &[ArtId] {
        &self.art[pocket]
    }
}
