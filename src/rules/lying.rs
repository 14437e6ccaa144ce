//! Art of a pocket that lies wrong as one: what `upside-down`, `mirrored` and `tilted` have in common.
//!
//! Letters of a name that was outlined are one slip, and are put right as one. Each turned about its own middle, they
//! would stand upright in the wrong order, and nothing could tell.

use std::collections::HashSet;

use kurbo::{Affine, Point, Rect, Vec2};

use super::change;
use super::design::as_one;
use crate::artwork::mark::Mark;
use crate::fixture::Pocket;
use crate::geometry::bed_words::offset_words;
use crate::ids::{ArtId, IdVec, MarkId, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::evidence::{WayUp, between};
use crate::remedy::{Change, Way, What};

/// Pieces whose tops point apart by less than this, in degrees, lie alike. More, and names that lean by a little each
/// way would be turned as one; less, and the letters of one name would come apart by the rounding of their outlines.
const ALIKE: f64 = 1.0;

/// A move of less than this, in millimetres, is none.
const NO_MOVE: f64 = 0.005;

/// Pieces of one pocket that lie alike, and not as they should.
pub(super) struct Lying<'j, 'a> {
    /// The pieces, in the order of the file; never empty.
    pieces: Vec<&'j Art<'a>>,
    /// The mark of the first.
    pub mark: &'j Mark,
    /// How the first of them lies.
    pub way: WayUp,
    /// Their pocket.
    pub pocket: &'j Pocket,
    which: PocketId,
}

/// All art that lies `wrong`, by pocket and by how it lies.
pub(super) fn all<'j, 'a>(
    job: &'j Job<'a>,
    wrong: impl Fn(&WayUp, &Pocket) -> bool,
) -> Vec<Lying<'j, 'a>> {
    let mut found: IdVec<PocketId, Vec<Lying<'j, 'a>>> =
        job.pockets.iter().map(|_| Vec::new()).collect();
    for (art, way, pocket, mark) in job
        .art_by_way_up()
        .filter(|(_, way, pocket, _)| wrong(way, pocket))
    {
        let Some(which) = art.pocket else { continue };
        let alike = |group: &&mut Lying<'_, '_>| {
            group.way.mirrored == way.mirrored && between(group.way.up, way.up).abs() < ALIKE
        };
        match found[which].iter_mut().find(alike) {
            Some(group) => group.pieces.push(art),
            None => found[which].push(Lying {
                pieces: vec![art],
                mark,
                way: *way,
                pocket,
                which,
            }),
        }
    }
    found.into_iter().flatten().collect()
}

impl<'a> Lying<'_, 'a> {
    /// The box of all pieces, for the ring on the proof.
    pub(super) fn bounds(&self) -> Rect {
        bounds(&self.pieces)
    }

    /// How many pieces lie so beside the first.
    pub(super) fn more(&self) -> usize {
        self.pieces.len() - 1
    }

    /// What a person does to all pieces as one: `does` tells it of "it".
    pub(super) fn help(&self, job: &Job<'_>, does: &str) -> String {
        as_one(job, &self.pieces, does)
    }

    /// The ways to put them right by a motion about a point, with all in the pocket of which nothing tells that it lies
    /// otherwise: a letter that was not read belongs to its name. In place, and moved into the zone.
    pub(super) fn ways(
        &self,
        job: &Job<'a>,
        name: &'static str,
        what: &dyn Fn(Point) -> What,
    ) -> Vec<Way> {
        let own: HashSet<MarkId> = self.pieces.iter().map(|a| a.mark).collect();
        let here = job.art_in(self.which);
        let goes = |i: &&ArtId| job.ways_up()[**i].is_none() || own.contains(&job.art[**i].mark);
        let pieces: Vec<&Art<'a>> = here.iter().filter(goes).map(|i| &job.art[*i]).collect();
        let all = pieces.len() == here.len() && pieces.len() > self.pieces.len();
        let says = |does: Change| {
            if all {
                does.called("all of the pocket's art").words(job.shown())
            } else {
                as_one(job, &pieces, &does.words(job.shown()))
            }
        };
        self.together(job, &pieces, name, what, &says)
    }

    /// A motion of `pieces` together: about their middle, then as far as it takes to lie in the zone; about the
    /// middle of the zone; and about their middle, then into the middle of the zone.
    fn together(
        &self,
        job: &Job<'a>,
        pieces: &[&Art<'a>],
        name: &'static str,
        what: &dyn Fn(Point) -> What,
        says: &dyn Fn(Change) -> String,
    ) -> Vec<Way> {
        let before = bounds(pieces);
        let own = what(before.center());
        let words = says(Change::of(Vec::new(), own.clone()));
        let mut ways = vec![Way::new(name, words.as_str(), change::of_all(pieces, &own))];
        let (Some(motion), Some(zone)) = (
            Change::of(Vec::new(), own).motion(),
            self.pocket.zone.bounds(),
        ) else {
            return ways;
        };
        let after = motion.transform_rect_bbox(before);
        let into = Vec2::new(
            into(after.x0, after.x1, zone.x0, zone.x1),
            into(after.y0, after.y1, zone.y0, zone.y1),
        );
        let moved = |by: Vec2| {
            let says = format!("{words}, and move it {}", offset_words(by, job.shown()));
            Way::new(
                name,
                says,
                change::of_all(pieces, &What::Carry(Affine::translate(by) * motion)),
            )
        };
        let middle = zone.center() - after.center();
        if into.hypot() > NO_MOVE {
            ways.push(moved(into));
        }
        if (zone.center() - before.center()).hypot() > NO_MOVE {
            let says = words.replace("its own middle", "the middle of its zone");
            ways.push(Way::new(
                name,
                says,
                change::of_all(pieces, &what(zone.center())),
            ));
        }
        if into.hypot() > NO_MOVE && (middle - into).hypot() > NO_MOVE {
            ways.push(moved(middle));
        }
        ways
    }
}

fn bounds(pieces: &[&Art<'_>]) -> Rect {
    let all = pieces.iter().map(|a| a.bounds());
    all.reduce(|a, b| a.union(b)).unwrap_or_default()
}

/// The shortest move that brings from..to into room..end; to its middle where it is too long.
fn into(from: f64, to: f64, room: f64, end: f64) -> f64 {
    if to - from > end - room {
        (room + end - from - to) / 2.0
    } else {
        (room - from).max(0.0) + (end - to).min(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_into_the_zone_is_the_shortest_and_to_its_middle_where_there_is_no_room() {
        for ((from, to), by) in [
            ((2.0, 5.0), 0.0),
            ((-3.0, 4.0), 3.0),
            ((6.0, 12.0), -2.0),
            ((0.0, 10.0), 0.0),
            ((-4.0, 8.0), 3.0),
        ] {
            assert_eq!(into(from, to, 0.0, 10.0), by, "{from} to {to}");
        }
    }
}
