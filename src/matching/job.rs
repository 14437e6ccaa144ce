//! A job: what was matched, what was read back from its ink, and what it is compared with.

use std::ops::Deref;
use std::sync::{Arc, OnceLock};

use super::Matched;
use super::art::Art;
use super::evidence::{Opposed, WayUp};
use super::reference::Reference;
use super::way_up::{self, Ways};
use crate::artwork::mark::Mark;
use crate::fixture::Pocket;
use crate::geometry::boxes::Boxes;
use crate::ids::{ArtId, Id as _, IdVec, MarkId, PocketId};
use crate::orders::OrderList;
use crate::orders::together::Together;
use crate::readback::Reading;

/// Everything a rule may look at. It is complete when it exists, and never changes.
///
/// What was matched is seen through it: `job.art` is [`Matched::art`].
#[derive(Debug)]
pub struct Job<'a> {
    matched: Matched<'a>,
    /// Outlined lettering that was read back, by pocket.
    pub read: IdVec<PocketId, Reading>,
    /// The order list, if one is given.
    pub orders: Option<OrderList>,
    /// The runs that are compared with the list together, and which of them this is.
    pub together: Option<(Arc<Together>, usize)>,
    /// Art known to be the right way up, as `[zone] reference` names it.
    pub references: Vec<Reference>,
    on_demand: OnDemand,
}

/// What a run is compared with.
#[derive(Debug, Default)]
pub struct Compared {
    /// The order list, if one is given.
    pub orders: Option<OrderList>,
    /// The runs that are compared with the list together, and which of them this is.
    pub together: Option<(Arc<Together>, usize)>,
}

/// Results that several rules need and that take a while. They are computed when first needed, which
/// for some files is never. The parts of a job never change, so the result does not depend on when
/// that is.
#[derive(Debug, Default)]
struct OnDemand {
    ways: OnceLock<Ways>,
    alone: OnceLock<IdVec<MarkId, bool>>,
}

impl<'a> Job<'a> {
    /// Puts a job together. `read` is what was read back in each pocket of `matched`.
    pub fn new(
        matched: Matched<'a>,
        read: IdVec<PocketId, Reading>,
        references: Vec<Reference>,
        compared: Compared,
    ) -> Self {
        Self {
            matched,
            read,
            orders: compared.orders,
            together: compared.together,
            references,
            on_demand: OnDemand::default(),
        }
    }

    /// A job without order list and without reading back, to be shown and not judged.
    pub fn shown_only(matched: Matched<'a>) -> Self {
        let read = matched.pockets.iter().map(|_| Reading::default()).collect();
        Self::new(matched, read, Vec::new(), Compared::default())
    }

    /// Which way up each piece of [`Matched::art`] is, as far as anything decides it.
    pub fn ways_up(&self) -> &IdVec<ArtId, Option<WayUp>> {
        &self.ways().of_art
    }

    /// Groups of pockets that lie opposite to each other, so that one of them is wrong.
    pub fn opposed(&self) -> &[Opposed] {
        &self.ways().opposed
    }

    fn ways(&self) -> &Ways {
        self.on_demand.ways.get_or_init(|| way_up::decide(self))
    }

    /// Whether the boxes show that a mark touches no other. Nothing covers it then, and it is no copy
    /// of another mark. The test is quick, and most marks of traced art pass it.
    pub fn alone(&self, mark: MarkId) -> bool {
        let alone = self.on_demand.alone.get_or_init(|| {
            let marks = &self.artwork.marks;
            let (mut boxes, mut owners) = (Vec::new(), Vec::new());
            for (index, mark) in marks.pairs() {
                mark.extents(|extent| {
                    boxes.push(extent);
                    owners.push(index.number() as u32);
                });
            }
            let mut alone = marks.each(true);
            for (owner, apart) in owners.iter().zip(Boxes::new(boxes).alone(&owners)) {
                if !apart {
                    alone[MarkId::new(*owner as usize)] = false;
                }
            }
            alone
        });
        alone[mark]
    }

    /// The art whose way up is decided and that lies in a pocket, with that pocket and the mark.
    pub fn art_by_way_up(&self) -> impl Iterator<Item = (&Art<'a>, &WayUp, &Pocket, &Mark)> {
        self.art
            .iter()
            .zip(self.ways_up())
            .filter_map(|(art, way)| {
                let pocket = &self.pockets[art.pocket?];
                Some((art, way.as_ref()?, pocket, self.mark(art.mark)))
            })
    }
}

impl<'a> Deref for Job<'a> {
    type Target = Matched<'a>;

    fn deref(&self) -> &Matched<'a> {
        &self.matched
    }
}
