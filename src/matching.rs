//! Matching: each mark of a run is a fixture outline, art in a pocket, or unassigned.

pub mod art;
pub mod company;
pub mod contours;
pub mod evidence;
pub mod fit;
mod lookup;
mod outlined;
pub mod outlined_art;
pub mod pocket_text;
pub mod reference;
pub mod shape_evidence;
pub mod shift;
mod siblings;
pub mod strings;
pub mod text_line;
pub mod way_up;

use std::sync::OnceLock;

use kurbo::{Affine, Point, Vec2};

use crate::artwork::mark::{Artwork, Mark, Operation};
use crate::fixture::enrol;
use crate::fixture::lock::OutlineKind;
use crate::fixture::{Fixture, Pocket};
use crate::geometry::boxes::Boxes;
use crate::geometry::contour::Contour;
use crate::geometry::deviation::deviation;
use crate::geometry::region::Region;
use crate::units::Shown;

use self::art::Art;
use self::contours::Contours;
use self::evidence::{Opposed, WayUp};
use self::lookup::Lookup;
use self::reference::Reference;
use self::shift::Shift;
use self::way_up::Ways;

/// Everything a rule may look at.
#[derive(Debug)]
pub struct Job<'a> {
    /// What the file holds.
    pub artwork: &'a Artwork,
    /// What it is inspected against.
    pub fixture: &'a Fixture,
    /// What the sender does with each mark of the artwork.
    pub operations: Vec<Operation>,
    /// The contours of the run that could be fixture outlines.
    pub contours: Contours,
    /// Where each locked outline was found.
    pub outlines: Vec<OutlineMatch>,
    /// The one displacement that the fixture outlines share, if they do.
    pub shift: Option<Shift>,
    /// Contours that no locked outline claims and that look like a pocket's.
    pub added: Vec<usize>,
    /// Art: what would be burnt and is no fixture outline.
    pub art: Vec<Art<'a>>,
    /// The pockets as the art is judged by: where they are, or, where it went along with a shift that
    /// is already held, where the file shows them.
    pub pockets: Vec<Pocket>,
    /// Whether each pocket holds a blank.
    pub loaded: Vec<bool>,
    /// The order list, if one is given; set after matching.
    pub orders: Option<crate::orders::OrderList>,
    /// The runs that are compared with the list together, and which of them this is.
    pub together: Option<(std::sync::Arc<crate::orders::together::Together>, usize)>,
    /// Art known to be the right way up, as `[zone] reference` names it; set after matching.
    pub references: Vec<Reference>,
    /// See [`Job::ways_up`].
    ways: OnceLock<Ways>,
    /// Pockets and art by place.
    places: OnceLock<Lookup>,
    /// See [`Job::alone`].
    alone: OnceLock<Vec<bool>>,
    /// Outlined lettering that was read back, by pocket; filled in by the pipeline.
    pub read: Vec<crate::readback::Reading>,
}

/// Where a locked outline was found in a run.
#[derive(Debug, Clone, PartialEq)]
pub enum OutlineMatch {
    /// Where it belongs (under the shift, if there is one). All copies, by contour.
    InPlace(Vec<usize>),
    /// The same shape somewhere else.
    Moved {
        /// The contour.
        contour: usize,
        /// From where it belongs to where it lies.
        motion: Affine,
        /// Largest distance between the two curves, in millimetres.
        distance: f64,
    },
    /// Another size or shape at its place.
    Reshaped {
        /// The contour.
        contour: usize,
        /// Largest distance between the two curves, in millimetres.
        distance: f64,
    },
    /// Not there.
    Missing,
}

impl OutlineMatch {
    /// The contours that stand for the outline.
    pub fn found(&self) -> &[usize] {
        match self {
            Self::InPlace(all) => all,
            Self::Moved { contour, .. } | Self::Reshaped { contour, .. } => {
                std::slice::from_ref(contour)
            }
            Self::Missing => &[],
        }
    }
}

/// How matching is to be done.
#[derive(Debug, Clone)]
pub struct MatchOptions {
    /// Whether each pocket holds a blank; empty means all do.
    pub loaded: Vec<bool>,
    /// Whether art is judged by the pockets where a shifted file shows them. False where the shift
    /// is waived: then only the real place counts.
    pub follow_shift: bool,
}

/// How finely curves are compared, in millimetres: a fiftieth of the usual `place` limit. Coarser,
/// and an outline near the limit falls on the wrong side; finer only takes longer.
pub const COMPARING: f64 = 0.002;

/// Pairs the marks of a run with the fixture.
pub fn match_artwork<'a>(
    artwork: &'a Artwork,
    fixture: &'a Fixture,
    how: &MatchOptions,
) -> Job<'a> {
    let settings = &fixture.settings;
    let operations: Vec<Operation> = artwork
        .marks
        .iter()
        .map(|m| enrol::operation(m, settings))
        .collect();
    let contours = Contours::collect(artwork, settings, &operations, &fixture.lock);
    let place = settings.limits.place;
    let in_place = contours.in_place(&fixture.lock, Affine::IDENTITY, place);
    let mut shift = shift::find(&fixture.lock, &contours, &in_place, place);
    let frame = shift.as_ref().map_or(Affine::IDENTITY, |s| s.motion);
    let in_place = if shift.is_some() {
        contours.in_place(&fixture.lock, frame, place)
    } else {
        in_place
    };
    let (outlines, added) = pair(fixture, &contours, in_place, frame, place);
    let fixture_contours: Vec<usize> = outlines
        .iter()
        .flat_map(|s| s.found().iter().copied())
        .chain(added.iter().copied())
        .collect();
    let collect = |pockets: &[Pocket]| {
        art::collect(artwork, &operations, &contours, &fixture_contours, pockets)
    };
    let mut pockets = fixture.pockets.clone();
    let mut art = collect(&pockets);
    if let Some(shift) = &mut shift
        && how.follow_shift
    {
        let displaced: Vec<Pocket> = pockets.iter().map(|p| moved(p, frame)).collect();
        let there = collect(&displaced);
        shift.company = company::judge(
            &artwork.marks,
            &operations,
            (&art, &pockets),
            (&there, &displaced),
        );
        if !shift.company.stayed() {
            (pockets, art) = (displaced, there);
        }
    }
    let loaded = if how.loaded.is_empty() {
        vec![true; pockets.len()]
    } else {
        how.loaded.clone()
    };
    Job {
        artwork,
        fixture,
        operations,
        contours,
        outlines,
        shift,
        added,
        art,
        pockets,
        loaded,
        orders: None,
        together: None,
        references: Vec::new(),
        ways: OnceLock::new(),
        places: OnceLock::new(),
        alone: OnceLock::new(),
        read: Vec::new(),
    }
}

/// A pocket carried to where a shifted file shows it.
fn moved(pocket: &Pocket, motion: Affine) -> Pocket {
    let turn = |v: Vec2| {
        let c = motion.as_coeffs();
        let turned = Vec2::new(c[0] * v.x + c[2] * v.y, c[1] * v.x + c[3] * v.y);
        if turned.hypot() > 0.0 {
            turned.normalize()
        } else {
            v
        }
    };
    let carry = |region: &Region| {
        Region::from_path(
            &(motion * region.to_path()),
            false,
            crate::fixture::zones::ZONE_TOLERANCE,
        )
    };
    Pocket {
        region: carry(&pocket.region),
        zone: carry(&pocket.zone),
        head: turn(pocket.head),
        tops: turn(pocket.tops),
        ..pocket.clone()
    }
}

/// An outline whose box shares at least this much with a locked one's (intersection over union) is
/// that one reshaped. Lower, and a neighbour could be taken for it; higher, and an edge dragged far
/// would read as one missing and one added.
const SAME_PLACE: f64 = 0.5;

/// Finds the outlines that are not in place among the contours that are left.
fn pair(
    fixture: &Fixture,
    contours: &Contours,
    in_place: Vec<Vec<usize>>,
    frame: Affine,
    place: f64,
) -> (Vec<OutlineMatch>, Vec<usize>) {
    let lock = &fixture.lock;
    let mut taken = vec![false; contours.all.len()];
    for index in in_place.iter().flatten() {
        if let Some(t) = taken.get_mut(*index) {
            *t = true;
        }
    }
    let mut matches: Vec<OutlineMatch> = in_place
        .into_iter()
        .map(|found| {
            if found.is_empty() {
                OutlineMatch::Missing
            } else {
                OutlineMatch::InPlace(found)
            }
        })
        .collect();
    let missing: Vec<usize> = matches
        .iter()
        .enumerate()
        .filter(|(_, s)| **s == OutlineMatch::Missing)
        .map(|(i, _)| i)
        .collect();
    let free = |taken: &[bool], i: usize| {
        !taken.get(i).copied().unwrap_or(true) && contours.could_be_fixture(i)
    };
    let left: Vec<usize> = (0..contours.all.len())
        .filter(|i| free(&taken, *i))
        .collect();

    // The same shape elsewhere: the nearest pairs first, so that each finds its own.
    let mut pairs = Vec::new();
    for &outline in &missing {
        let Some(locked) = lock.outlines.get(outline) else {
            continue;
        };
        let belongs = contours::carried(&locked.contour, frame);
        for &index in &left {
            let Some(found) = contours.all.get(index).map(|c| &c.contour) else {
                continue;
            };
            if found.closed != belongs.closed || !contours::alike(&belongs, found, place) {
                continue;
            }
            let away = (found.centroid - belongs.centroid).hypot();
            pairs.push((away, outline, index));
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    for (_, outline, index) in pairs {
        if matches.get(outline) != Some(&OutlineMatch::Missing) || !free(&taken, index) {
            continue;
        }
        let (Some(locked), Some(found)) = (lock.outlines.get(outline), contours.all.get(index))
        else {
            continue;
        };
        let belongs = contours::carried(&locked.contour, frame);
        let Some(motion) = contours::rigid(&belongs, &found.contour, place) else {
            continue;
        };
        let distance = deviation(&belongs, &found.contour, COMPARING).distance;
        if let (Some(outcome), Some(t)) = (matches.get_mut(outline), taken.get_mut(index)) {
            *outcome = OutlineMatch::Moved {
                contour: index,
                motion,
                distance,
            };
            *t = true;
        }
    }

    // Another shape at the same place, where the fixture is in the file at all.
    if matches.iter().any(|s| *s != OutlineMatch::Missing) {
        for &outline in &missing {
            if matches.get(outline) != Some(&OutlineMatch::Missing) {
                continue;
            }
            let Some(locked) = lock.outlines.get(outline).filter(|o| o.contour.closed) else {
                continue;
            };
            let belongs = contours::carried(&locked.contour, frame);
            let best = left
                .iter()
                .copied()
                .filter(|i| free(&taken, *i))
                .filter_map(|i| {
                    contours
                        .all
                        .get(i)
                        .map(|c| (shared(&belongs, &c.contour), i))
                })
                .filter(|(s, _)| *s >= SAME_PLACE)
                .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
            if let Some((_, index)) = best
                && let (Some(found), Some(outcome), Some(t)) = (
                    contours.all.get(index),
                    matches.get_mut(outline),
                    taken.get_mut(index),
                )
            {
                let distance = deviation(&belongs, &found.contour, COMPARING).distance;
                *outcome = OutlineMatch::Reshaped {
                    contour: index,
                    distance,
                };
                *t = true;
            }
        }
    }

    let pockets: Vec<Contour> = lock
        .outlines
        .iter()
        .filter(|o| o.kind == OutlineKind::Pocket)
        .map(|o| contours::carried(&o.contour, frame))
        .collect();
    let any = matches.iter().any(|s| *s != OutlineMatch::Missing);
    let added = left
        .into_iter()
        .filter(|i| any && free(&taken, *i))
        .filter(|i| {
            contours.all.get(*i).is_some_and(|c| {
                c.contour.closed
                    && contours::distinct(&pockets).any(|p| {
                        contours::alike(p, &c.contour, LIKE_A_POCKET)
                            && contours::rigid(p, &c.contour, LIKE_A_POCKET).is_some()
                    })
            })
        })
        .collect();
    (matches, added)
}

/// How closely an extra outline must follow a pocket's, in millimetres, to be called one. A guide
/// line inside the pocket is farther off than this; a copy of the pocket is not.
const LIKE_A_POCKET: f64 = 0.3;

/// Shared part of two boxes: intersection over union.
fn shared(a: &Contour, b: &Contour) -> f64 {
    if !b.closed {
        return 0.0;
    }
    let both = a.bounds.intersect(b.bounds);
    if both.width() <= 0.0 || both.height() <= 0.0 {
        return 0.0;
    }
    both.area() / (a.bounds.area() + b.bounds.area() - both.area())
}

impl<'a> Job<'a> {
    /// The unit that messages use.
    pub fn shown(&self) -> Shown {
        self.fixture.settings.bed.shown
    }

    /// A mark by number.
    pub fn mark(&self, index: usize) -> Option<&Mark> {
        self.artwork.marks.get(index)
    }

    /// What the sender does with a mark.
    pub fn operation(&self, index: usize) -> Operation {
        // A mark without an entry cannot be; if it could, it would be treated as live.
        self.operations
            .get(index)
            .copied()
            .unwrap_or(Operation::Unknown)
    }

    /// The pocket of a locked outline.
    pub fn pocket_of(&self, outline: usize) -> Option<&Pocket> {
        self.pockets.get(self.places().of_outline(outline)?)
    }

    /// The pocket that covers a point, by number.
    pub fn pocket_at(&self, at: Point) -> Option<usize> {
        self.places().pocket_at(&self.pockets, at)
    }

    /// The name of the pocket that covers a point.
    pub fn name_at(&self, at: Point) -> Option<&str> {
        let pocket = self.pockets.get(self.pocket_at(at)?)?;
        Some(&pocket.name)
    }

    /// The art of a pocket, as numbers in [`Job::art`], in the order of the run.
    pub fn art_in(&self, pocket: usize) -> &[usize] {
        self.places().art_in(pocket)
    }

    /// The pieces of art that a mark is, or was taken apart into.
    pub fn art_of(&self, mark: usize) -> &[Art<'a>] {
        // Art is collected mark by mark.
        let from = self.art.partition_point(|a| a.mark < mark);
        let to = self.art.partition_point(|a| a.mark <= mark);
        self.art.get(from..to).unwrap_or_default()
    }

    /// The pocket of the first piece of art that a mark is.
    pub fn pocket_of_mark(&self, mark: usize) -> Option<&Pocket> {
        let first = self.art_of(mark).first()?;
        self.pockets.get(first.pocket?)
    }

    fn places(&self) -> &Lookup {
        self.places
            .get_or_init(|| Lookup::new(&self.pockets, &self.art))
    }

    /// Whether any outline of the fixture is in the file.
    pub fn has_fixture(&self) -> bool {
        self.outlines.iter().any(|s| *s != OutlineMatch::Missing)
    }

    /// Which way up each piece of [`Job::art`] is, as far as anything decides it. Worked out once,
    /// on demand: orders and references must be set by then.
    pub fn ways_up(&self) -> &[Option<WayUp>] {
        &self.ways().of_art
    }

    /// Groups of pockets that lie opposite to each other, so that one of them is wrong.
    pub fn opposed(&self) -> &[Opposed] {
        &self.ways().opposed
    }

    fn ways(&self) -> &Ways {
        self.ways.get_or_init(|| way_up::decide(self))
    }

    /// Whether a mark surely touches no other mark, by their boxes: quick, and then nothing covers it,
    /// and it lies on no copy. Of traced art nearly all marks are.
    pub fn alone(&self, mark: usize) -> bool {
        let alone = self.alone.get_or_init(|| {
            let marks = &self.artwork.marks;
            let (mut boxes, mut owners) = (Vec::new(), Vec::new());
            for (index, mark) in marks.iter().enumerate() {
                mark.extents(|extent| {
                    boxes.push(extent);
                    owners.push(index as u32);
                });
            }
            let mut alone = vec![true; marks.len()];
            for (owner, apart) in owners.iter().zip(Boxes::new(boxes).alone(&owners)) {
                if !apart && let Some(a) = alone.get_mut(*owner as usize) {
                    *a = false;
                }
            }
            alone
        });
        alone.get(mark).copied().unwrap_or(false)
    }

    /// The art whose way up is decided and that lies in a pocket, with that pocket and the mark.
    pub fn art_by_way_up(&self) -> impl Iterator<Item = (&Art<'a>, &WayUp, &Pocket, &Mark)> {
        self.art
            .iter()
            .zip(self.ways_up())
            .filter_map(|(art, way)| {
                let pocket = self.pockets.get(art.pocket?)?;
                Some((art, way.as_ref()?, pocket, self.mark(art.mark)?))
            })
    }

    /// Marks that would be run, with their numbers.
    pub fn live(&self) -> impl Iterator<Item = (usize, &Mark, Operation)> {
        self.artwork
            .marks
            .iter()
            .enumerate()
            .map(|(i, m)| (i, m, self.operation(i)))
            .filter(|(_, _, o)| o.live())
    }
}
