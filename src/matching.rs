//! Matching: each mark of a run is a fixture outline, art in a pocket, or unassigned.

pub(crate) mod art;
pub(crate) mod company;
pub(crate) mod contours;
pub(crate) mod evidence;
pub(crate) mod fit;
mod frames;
mod hatching;
pub(crate) mod job;
mod lookup;
mod outlined;
pub(crate) mod outlined_art;
pub(crate) mod pocket_text;
pub(crate) mod reference;
pub(crate) mod shape_evidence;
pub(crate) mod shift;
mod siblings;
pub(crate) mod strings;
pub(crate) mod text_line;
pub(crate) mod way_up;

use kurbo::{Affine, Point, Vec2};

use crate::artwork::mark::{Artwork, Mark, Operation};
use crate::fixture::enrol;
use crate::fixture::lock::OutlineKind;
use crate::fixture::{Fixture, Pocket};
use crate::geometry::contour::Contour;
use crate::geometry::deviation::deviation;
use crate::geometry::region::Region;
use crate::ids::{ArtId, At, ContourId, IdVec, MarkId, OutlineId, PocketId};
use crate::units::Shown;

use self::art::Art;
use self::contours::Contours;
pub use self::job::Job;
use self::lookup::Lookup;
use self::shift::Shift;

/// A run matched with its fixture.
#[derive(Debug)]
pub struct Matched<'a> {
    /// What the file holds.
    pub artwork: &'a Artwork,
    /// What it is inspected against.
    pub fixture: &'a Fixture,
    /// What the sender does with each mark of the artwork.
    pub operations: IdVec<MarkId, Operation>,
    /// The contours of the run that could be fixture outlines.
    pub contours: Contours,
    /// Where each locked outline was found.
    pub outlines: IdVec<OutlineId, OutlineMatch>,
    /// The one displacement that the fixture outlines share, if they do.
    pub shift: Option<Shift>,
    /// Contours that no locked outline claims and that look like a pocket's.
    pub added: Vec<ContourId>,
    /// Art: what would be burnt and is no fixture outline.
    pub art: IdVec<ArtId, Art<'a>>,
    /// The pockets as the art is judged by: where they are, or, where it went along with a shift that
    /// is already held, where the file shows them.
    pub pockets: IdVec<PocketId, Pocket>,
    /// Whether each pocket holds a blank.
    pub loaded: IdVec<PocketId, bool>,
    /// What lies where.
    lookup: Lookup,
}

/// Where a locked outline was found in a run.
#[derive(Debug, Clone, PartialEq)]
pub enum OutlineMatch {
    /// Where it belongs (under the shift, if there is one). All copies, by contour.
    InPlace(Vec<ContourId>),
    /// The same shape somewhere else.
    Moved {
        /// The contour.
        contour: ContourId,
        /// From where it belongs to where it lies.
        motion: Affine,
        /// Largest distance between the two curves, in millimetres.
        distance: f64,
    },
    /// Another size or shape at its place.
    Reshaped {
        /// The contour.
        contour: ContourId,
        /// Largest distance between the two curves, in millimetres.
        distance: f64,
    },
    /// Not there.
    Missing,
}

impl OutlineMatch {
    /// The contours that stand for the outline.
    pub fn found(&self) -> &[ContourId] {
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
    /// The pockets that hold a blank; `None` means all do.
    pub loaded: Option<Vec<PocketId>>,
    /// Whether art is judged by the pockets where a shifted file shows them. False where the shift
    /// is waived: then only the real place counts.
    pub follow_shift: bool,
}

/// How finely curves are compared, in millimetres: a fiftieth of the usual `place` limit. With a
/// larger value, an outline near the limit may be judged wrongly; a smaller one only takes longer.
pub(crate) const COMPARING: f64 = 0.002;

/// Pairs the marks of a run with the fixture.
pub fn match_artwork<'a>(
    artwork: &'a Artwork,
    fixture: &'a Fixture,
    how: &MatchOptions,
) -> Matched<'a> {
    let settings = &fixture.settings;
    let operations: IdVec<MarkId, Operation> = artwork
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
    let (mut outlines, mut added) = pair(fixture, &contours, in_place, frame, place);
    let fixture_contours: Vec<ContourId> = outlines
        .iter()
        .flat_map(|s| s.found().iter().copied())
        .chain(added.iter().copied())
        .collect();
    let collect = |pockets: &IdVec<PocketId, Pocket>| {
        art::collect(artwork, &operations, &contours, &fixture_contours, pockets)
    };
    let mut pockets = fixture.pockets.clone();
    let mut art = collect(&pockets);
    let mut idle = false;
    if let Some(shift) = &mut shift
        && how.follow_shift
    {
        let displaced: IdVec<PocketId, Pocket> = pockets.iter().map(|p| moved(p, frame)).collect();
        let there = collect(&displaced);
        shift.company = company::judge(
            &artwork.marks,
            &operations,
            (&art, &pockets),
            (&there, &displaced),
        );
        if !shift.company.stayed() {
            (pockets, art) = (displaced, there);
        } else if !any_sent(&outlines, &contours) {
            // Nobody sends these lines, and the art lies right without them.
            let in_place = contours.in_place(&fixture.lock, Affine::IDENTITY, place);
            (outlines, added) = pair(fixture, &contours, in_place, Affine::IDENTITY, place);
            idle = true;
        }
    }
    let shift = shift.filter(|_| !idle);
    let mut loaded = pockets.each(how.loaded.is_none());
    for pocket in how.loaded.iter().flatten() {
        loaded[*pocket] = true;
    }
    Matched {
        lookup: Lookup::new(&pockets, &art),
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
    }
}

/// Whether some of the fixture's lines that were found would be sent.
fn any_sent(outlines: &IdVec<OutlineId, OutlineMatch>, contours: &Contours) -> bool {
    let mut found = outlines.iter().flat_map(OutlineMatch::found);
    found.any(|c| !contours.all[*c].unsent)
}

/// Whether at least half of the fixture's outlines were found: hidden or not, this is its drawing then,
/// and no left-over of it.
fn most_found(outlines: &IdVec<OutlineId, OutlineMatch>) -> bool {
    let found = outlines.iter().filter(|s| **s != OutlineMatch::Missing);
    2 * found.count() >= outlines.len()
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
/// that one reshaped. With a smaller share, a neighbour could be taken for it; with a larger one, an
/// outline with an edge dragged far would be reported as one missing and one added.
const SAME_PLACE: f64 = 0.5;

/// Finds the outlines that are not in place among the contours that are left.
fn pair(
    fixture: &Fixture,
    contours: &Contours,
    in_place: IdVec<OutlineId, Vec<ContourId>>,
    frame: Affine,
    place: f64,
) -> (IdVec<OutlineId, OutlineMatch>, Vec<ContourId>) {
    let lock = &fixture.lock;
    let mut taken = contours.all.each(false);
    for index in in_place.iter().flatten() {
        taken[*index] = true;
    }
    let mut matches: IdVec<OutlineId, OutlineMatch> = in_place
        .into_iter()
        .map(|found| {
            if found.is_empty() {
                OutlineMatch::Missing
            } else {
                OutlineMatch::InPlace(found)
            }
        })
        .collect();
    let missing: Vec<OutlineId> = matches
        .pairs()
        .filter(|(_, s)| **s == OutlineMatch::Missing)
        .map(|(i, _)| i)
        .collect();
    let free =
        |taken: &IdVec<ContourId, bool>, i: ContourId| !taken[i] && contours.could_be_fixture(i);
    // What would not be sent is no fault where it lies elsewhere, unless it is the drawing of the
    // fixture that the art was laid over.
    let drawing = most_found(&matches);
    let counts = |i: &ContourId| drawing || !contours.all[*i].unsent;
    let left: Vec<ContourId> = (contours.all.ids())
        .filter(|i| free(&taken, *i) && counts(i))
        .collect();

    // The same shape elsewhere: the nearest pairs first, so that each finds its own.
    let mut pairs = Vec::new();
    for &outline in &missing {
        let belongs = contours::carried(&lock.outlines[outline].contour, frame);
        for &index in &left {
            let found = &contours.all[index].contour;
            if found.closed != belongs.closed || !contours::alike(&belongs, found, place) {
                continue;
            }
            let away = (found.centroid - belongs.centroid).hypot();
            pairs.push((away, outline, index));
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    for (_, outline, index) in pairs {
        if matches[outline] != OutlineMatch::Missing || !free(&taken, index) {
            continue;
        }
        let found = &contours.all[index];
        let belongs = contours::carried(&lock.outlines[outline].contour, frame);
        let Some(motion) = contours::rigid(&belongs, &found.contour, place) else {
            continue;
        };
        let distance = deviation(&belongs, &found.contour, COMPARING).distance;
        matches[outline] = OutlineMatch::Moved {
            contour: index,
            motion,
            distance,
        };
        taken[index] = true;
    }

    // Another shape at the same place, where the fixture is in the file at all.
    if matches.iter().any(|s| *s != OutlineMatch::Missing) {
        for &outline in &missing {
            let locked = &lock.outlines[outline];
            if matches[outline] != OutlineMatch::Missing || !locked.contour.closed {
                continue;
            }
            let belongs = contours::carried(&locked.contour, frame);
            let best = left
                .iter()
                .copied()
                .filter(|i| free(&taken, *i))
                .map(|i| (shared(&belongs, &contours.all[i].contour), i))
                .filter(|(s, _)| *s >= SAME_PLACE)
                .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
            if let Some((_, index)) = best {
                let distance =
                    deviation(&belongs, &contours.all[index].contour, COMPARING).distance;
                matches[outline] = OutlineMatch::Reshaped {
                    contour: index,
                    distance,
                };
                taken[index] = true;
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
        // A copy that would not be sent does not count as an extra pocket.
        .filter(|i| any && free(&taken, *i) && !contours.all[*i].unsent)
        .filter(|i| {
            let found = &contours.all[*i].contour;
            found.closed
                && contours::distinct(&pockets).any(|p| {
                    contours::alike(p, found, LIKE_A_POCKET)
                        && contours::rigid(p, found, LIKE_A_POCKET).is_some()
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

impl<'a> Matched<'a> {
    /// The unit that messages use.
    pub fn shown(&self) -> Shown {
        self.fixture.settings.bed.shown
    }

    /// A mark by number.
    pub fn mark(&self, index: MarkId) -> &Mark {
        &self.artwork.marks[index]
    }

    /// What the sender does with a mark.
    pub fn operation(&self, index: MarkId) -> Operation {
        self.operations[index]
    }

    /// The pocket of a locked outline.
    pub fn pocket_of(&self, outline: OutlineId) -> Option<&Pocket> {
        Some(&self.pockets[self.lookup.of_outline(outline)?])
    }

    /// The pocket that covers a point, by number.
    pub fn pocket_at(&self, at: Point) -> Option<PocketId> {
        self.lookup.pocket_at(&self.pockets, at)
    }

    /// The name of the pocket that covers a point.
    pub fn name_at(&self, at: Point) -> Option<&str> {
        Some(&self.pockets[self.pocket_at(at)?].name)
    }

    /// The art of a pocket, as numbers in [`Matched::art`], in the order of the run.
    pub fn art_in(&self, pocket: PocketId) -> &[ArtId] {
        self.lookup.art_in(pocket)
    }

    /// The pieces of art that a mark is, or was taken apart into.
    pub fn art_of(&self, mark: MarkId) -> &[Art<'a>] {
        // Art is collected mark by mark.
        let all = self.art.as_slice();
        let from = all.partition_point(|a| a.mark < mark);
        let to = all.partition_point(|a| a.mark <= mark);
        all.at(from..to)
    }

    /// The pocket of the first piece of art that a mark is.
    pub fn pocket_of_mark(&self, mark: MarkId) -> Option<&Pocket> {
        let first = self.art_of(mark).first()?;
        Some(&self.pockets[first.pocket?])
    }

    /// Whether any outline of the fixture is in the file.
    pub fn has_fixture(&self) -> bool {
        self.outlines.iter().any(|s| *s != OutlineMatch::Missing)
    }

    /// Whether an outline that is not found is missed: some would be sent, or most are there.
    pub fn misses_outlines(&self) -> bool {
        any_sent(&self.outlines, &self.contours) || most_found(&self.outlines)
    }

    /// Marks that would be run, with their numbers.
    pub fn live(&self) -> impl Iterator<Item = (MarkId, &Mark, Operation)> {
        self.artwork
            .marks
            .pairs()
            .map(|(i, m)| (i, m, self.operation(i)))
            .filter(|(_, _, o)| o.live())
    }
}
