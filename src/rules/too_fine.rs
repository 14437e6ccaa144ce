//! `too-fine`: a stroke or part of a shape is narrower than the finest limit.

use std::cell::OnceCell;
use std::collections::BTreeMap;

use super::{Info, info, thing};
use crate::abandon;
use crate::artwork::mark::{Content, Operation};
use crate::cores;
use crate::finding::{Finding, Location, Picture, Severity};
use crate::geometry::boxes::Boxes;
use crate::geometry::edges::Edges;
use crate::geometry::fineness::{Narrow, narrower};
use crate::geometry::region::Region;
use crate::ids::{At, MarkId, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::remembered::Key;
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("too-fine", Caution, Look);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    // Ink that lies together is burnt together: a thin line on the edge of a wide shape is part of
    // that shape. Cut and score lines are followed, and as wide as the beam.
    let mut by_pocket: BTreeMap<Option<PocketId>, Vec<&Art<'_>>> = BTreeMap::new();
    for art in &job.art {
        let drawn = !matches!(job.mark(art.mark).content, Content::Picture(_));
        if drawn && job.operation(art.mark) == Operation::Engrave {
            by_pocket.entry(art.pocket).or_default().push(art);
        }
    }
    let traced = by_pocket.values().filter(|a| a.len() > TRACED).count();
    let each = (SAMPLED / traced.max(1)).max(FEWEST);
    let most = Most {
        pieces: each,
        corners: (CORNERS / by_pocket.len().max(1)).max(FEWEST_CORNERS),
        steps: (STEPS / by_pocket.len().max(1)).max(FEWEST_STEPS),
    };
    let by_pocket: Vec<_> = by_pocket.into_iter().collect();
    let found = cores::each(&by_pocket, |(pocket, all)| {
        in_pocket(job, *pocket, all, most)
    });
    out.extend(found.into_iter().flatten());
}

/// How much is measured in one pocket.
#[derive(Debug, Clone, Copy)]
struct Most {
    /// Pieces of traced art.
    pieces: usize,
    /// Corners of outlines that are not surely wide.
    corners: usize,
    /// Steps of work (see [`abandon::spend`]).
    steps: usize,
}

/// What is too fine in one pocket, or in none.
fn in_pocket<'j>(
    job: &'j Job<'_>,
    pocket: Option<PocketId>,
    all: &[&'j Art<'j>],
    most: Most,
) -> Vec<Finding> {
    let limit = job.fixture.settings.limits.finest;
    let mut out = Vec::new();
    let sample = (all.len() > TRACED).then(|| Sample::of(all, most.pieces));
    let arts = sample.as_ref().map_or(all, |s| s.arts.as_slice());
    // Of what crosses too often only the box is known, which is wide.
    let known: Vec<&Region> = (arts.iter())
        .filter(|a| !job.mark(a.mark).shape_unknown())
        .map(|a| a.ink())
        .collect();
    let given: usize = known.iter().map(|ink| ink.corners()).sum();
    let measure = || {
        let ink = match known.as_slice() {
            [one] => Some((*one).clone()),
            all => Region::union_up_to(all.iter().copied(), given.max(MOST_CORNERS)),
        };
        ink.filter(|ink| !ink.only_a_box(given))
            .map(|ink| narrower(&ink, limit, most.corners))
    };
    let key = Key::default().and(limit).and(most.corners as f64);
    let key = key.and(most.steps as f64).areas(known.iter().copied());
    let measured = (job.known.fine).of(key, || abandon::within(most.steps, measure).flatten());
    let measured = measured.as_ref().as_ref();
    let all_measured = known.len() == arts.len() && measured.is_some_and(|m| m.left_out == 0);
    let boxes = Boxes::new(arts.iter().map(|a| a.reach));
    let name = pocket.map(|p| job.pockets[p].name.as_str());
    // The narrowest part of each mark.
    let mut worst: BTreeMap<MarkId, &Narrow> = BTreeMap::new();
    let nearness: Vec<OnceCell<Edges>> = arts.iter().map(|_| OnceCell::new()).collect();
    for narrow in measured.iter().flat_map(|m| &m.narrow) {
        if sample.as_ref().is_some_and(|s| s.cut_off(narrow)) {
            continue;
        }
        let mark = whose(arts, &boxes, &nearness, narrow);
        match worst.get_mut(&mark) {
            Some(w) if w.width <= narrow.width => {}
            Some(w) => *w = narrow,
            None => {
                worst.insert(mark, narrow);
            }
        }
    }
    if let (true, Some(first)) = (worst.is_empty(), arts.first()) {
        let said = match &sample {
            _ if !all_measured => Some(too_many_corners(job, first)),
            Some(sample) => Some(not_all(job, all, sample, first)),
            None => None,
        };
        out.extend(said.map(|finding| finding.in_pocket(name)));
    }
    for (mark, narrow) in worst {
        let mark = job.mark(mark);
        let shown = job.shown();
        out.push(
                    Finding::new(
                        &INFO,
                        &Location::Mark(&mark.origin, narrow.bounds),
                        format!(
                            "{} is only about {} wide at its finest, less than the {} that your settings ask for",
                            sentence(&thing(mark)),
                            shown.length(narrow.width),
                            shown.length(limit)
                        ),
                        "make it heavier or larger, or have the limit changed if a trial piece comes out well",
                    )
                    .in_pocket(name)
                    .measured("width", narrow.width, limit, "mm")
                    .drawn(Picture::Hatch(narrow.part.to_path())),
                );
    }
    out
}

/// So many corners of outlines are measured in a run, shared among the pockets that have art, and at least
/// so many in each of them: a name has some hundreds, of which every letter counts once.
const CORNERS: usize = 40_000;
const FEWEST_CORNERS: usize = 4_000;

/// Steps that a run may take, shared, and at least in each of them: a second or so.
const STEPS: usize = 1_000_000;
const FEWEST_STEPS: usize = 500_000;

/// Corners that the art of a pocket may come to while it is put together: lines across each other have
/// millions.
const MOST_CORNERS: usize = 400_000;

/// Says that some of the art has an outline too detailed to be measured, and that the rest was wide enough.
fn too_many_corners(job: &Job<'_>, first: &Art<'_>) -> Finding {
    let mark = job.mark(first.mark);
    Finding::new(
        &INFO,
        &Location::Mark(&mark.origin, first.bounds()),
        "The outlines have too many corners, or cross too often, to measure them all: those that were measured are wide enough, and the others were not measured",
        "look whether its finest lines come out on a trial piece",
    )
    .weighing(Severity::Note)
}

/// More pieces of art than this in one pocket are traced art. To measure all of it would take minutes.
const TRACED: usize = 1_000;

/// So many pieces of traced art are measured in a run, shared among the pockets that have some.
const SAMPLED: usize = 400;

/// At least so many in each of them.
const FEWEST: usize = 8;

/// A patch of traced art that is measured for the whole.
struct Sample<'j> {
    arts: Vec<&'j Art<'j>>,
    /// The rest, by place.
    others: Boxes,
}

impl<'j> Sample<'j> {
    /// The pieces nearest to the back: neighbours, since ink that lies together is burnt together.
    fn of(all: &[&'j Art<'j>], count: usize) -> Self {
        let mut order: Vec<&Art<'_>> = all.to_vec();
        order.sort_by(|a, b| a.reach.y0.total_cmp(&b.reach.y0).then(a.mark.cmp(&b.mark)));
        let others = order.split_off(count.min(order.len()));
        Self {
            arts: order,
            others: Boxes::new(others.iter().map(|a| a.reach)),
        }
    }

    /// Whether a part may only be narrow because what lies beside it was left out.
    fn cut_off(&self, narrow: &Narrow) -> bool {
        !self
            .others
            .touching(narrow.bounds.inflate(0.01, 0.01))
            .is_empty()
    }
}

/// Says that no more than a sample was measured, and that it was wide enough.
fn not_all(job: &Job<'_>, all: &[&Art<'_>], sample: &Sample<'_>, first: &Art<'_>) -> Finding {
    let mark = job.mark(first.mark);
    Finding::new(
            &INFO,
            &Location::Mark(&mark.origin, first.bounds()),
            format!(
                "The art is made of {} pieces, too many to measure them all: the {} at the back are wide enough, and the others were not measured",
                all.len(),
                sample.arts.len()
            ),
            "look whether its finest lines come out on a trial piece",
        )
        .weighing(Severity::Note)
}

/// The mark that a narrow part is of: the one whose ink is nearest to it. `edges` are indexed when they
/// are asked for.
fn whose(arts: &[&Art<'_>], boxes: &Boxes, edges: &[OnceCell<Edges>], narrow: &Narrow) -> MarkId {
    let near = boxes.touching(narrow.bounds.inflate(0.01, 0.01));
    if let [only] = near.as_slice() {
        return arts.at(*only).mark;
    }
    let distance = |i: usize| {
        let indexed = edges.at(i).get_or_init(|| arts.at(i).ink().indexed());
        (indexed.distance_to(narrow.at), arts.at(i).mark)
    };
    near.into_iter()
        .map(distance)
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
        .map_or(arts.at(0).mark, |(_, mark)| mark)
}
