//! A job: what was matched, what was read back from its ink, and what it is compared with.

use std::cmp::Ordering;
use std::ops::Deref;
use std::sync::{Arc, OnceLock};

use super::Matched;
use super::art::Art;
use super::evidence::{Opposed, WayUp};
use super::reference::Reference;
use super::way_up::{self, Ways};
use crate::abandon;
use crate::artwork::mark::{Mark, Origin};
use crate::fixture::Pocket;
use crate::geometry::boxes::Boxes;
use crate::geometry::fineness::Measured;
use crate::geometry::shape_match::Motion;
use crate::ids::{ArtId, At as _, Id as _, IdVec, MarkId, PocketId};
use crate::orders::OrderList;
use crate::orders::together::Together;
use crate::readback::likeness::ByWay;
use crate::readback::{Reading, Taken};
use crate::remembered::Remembered;

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
    /// What is known of ink from a run that is much the same.
    pub(crate) known: Arc<Known>,
    on_demand: OnDemand,
}

/// What a run and the trials of its remedies have worked out of their ink.
#[derive(Debug, Default)]
pub(crate) struct Known {
    /// How it reads.
    pub(crate) read: Remembered<Taken>,
    /// How like some of it looks to other words.
    pub(crate) alike: Remembered<ByWay>,
    /// How some of it lies on some other.
    pub(crate) motions: Remembered<Vec<Motion>>,
    /// What of it is too narrow; `None` where that takes too long.
    pub(crate) fine: Remembered<Option<Measured>>,
}

/// What a run is compared with.
#[derive(Debug, Default)]
pub(crate) struct Compared {
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
    by_element: OnceLock<Vec<MarkId>>,
}

/// What of the file a mark was drawn by: its element, and the clones that brought it here.
fn drawn_by(mark: &Mark) -> (usize, usize, impl Iterator<Item = (usize, usize)>) {
    let Origin { range, uses, .. } = &mark.origin;
    (
        range.start,
        range.end,
        uses.iter().map(|u| (u.start, u.end)),
    )
}

impl<'a> Job<'a> {
    /// Puts a job together. `read` is what was read back in each pocket of `matched`.
    pub(crate) fn new(
        matched: Matched<'a>,
        read: IdVec<PocketId, Reading>,
        references: Vec<Reference>,
        compared: Compared,
        known: Arc<Known>,
    ) -> Self {
        Self {
            matched,
            read,
            orders: compared.orders,
            together: compared.together,
            references,
            known,
            on_demand: OnDemand::default(),
        }
    }

    /// A job without order list and without reading back, to be shown and not judged.
    pub fn shown_only(matched: Matched<'a>) -> Self {
        let read = matched.pockets.iter().map(|_| Reading::default()).collect();
        Self::new(
            matched,
            read,
            Vec::new(),
            Compared::default(),
            Arc::default(),
        )
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
        let decide = || abandon::shared(|| way_up::decide(self));
        self.on_demand.ways.get_or_init(decide)
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

    /// The marks that the element of a mark makes, clones of the element included.
    pub fn of_element(&self, mark: &Mark) -> &[MarkId] {
        let element = |m: &Mark| (m.origin.range.start, m.origin.range.end);
        self.among(self.by_element(), |other| {
            element(other).cmp(&element(mark))
        })
    }

    /// The marks that the element of a mark makes in one place: its fill and its line, say.
    pub fn drawn_with(&self, mark: &Mark) -> &[MarkId] {
        self.among(self.of_element(mark), |other| {
            drawn_by(other).2.cmp(drawn_by(mark).2)
        })
    }

    /// Those of marks in order that are neither before nor after the wanted ones.
    fn among<'m>(&self, all: &'m [MarkId], is: impl Fn(&Mark) -> Ordering) -> &'m [MarkId] {
        let from = all.partition_point(|m| is(self.mark(*m)) == Ordering::Less);
        let to = all.partition_point(|m| is(self.mark(*m)) != Ordering::Greater);
        all.at(from..to)
    }

    /// Every mark, sorted by what it was drawn by.
    fn by_element(&self) -> &[MarkId] {
        self.on_demand.by_element.get_or_init(|| {
            let mut all: Vec<MarkId> = self.artwork.marks.ids().collect();
            all.sort_by(|a, b| {
                let (a, b) = (drawn_by(self.mark(*a)), drawn_by(self.mark(*b)));
                (a.0, a.1).cmp(&(b.0, b.1)).then_with(|| a.2.cmp(b.2))
            });
            all
        })
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
