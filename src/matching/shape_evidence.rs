//! Outlined lettering in a face that is not available, judged by the shapes of its letters.

use kurbo::Vec2;

use super::Job;
use super::evidence::{Evidence, Opposed, WayUp, outlined};
use crate::fixture::Pocket;
use crate::ids::{ArtId, PocketId};
use crate::readback::orientation::Orientation;

/// Art in pockets whose outlined ink reads as a word by its shapes.
///
/// The letters it shares with other pockets come first, then its own shapes; see
/// [`crate::readback::shape_batch::BySiblings::lies`].
pub(super) fn look(job: &Job<'_>) -> Vec<(ArtId, WayUp)> {
    let mut out = Vec::new();
    for (index, art) in job.art.pairs() {
        let Some(which) = art.pocket.filter(|_| outlined(job, art)) else {
            continue;
        };
        let (pocket, reading) = (&job.pockets[which], &job.read[which]);
        if let Some(orientation) = reading.siblings.lies(reading.shapes.as_ref()) {
            let from = if reading.siblings.letters.orientation == Some(orientation)
                || reading.siblings.by_side.is_some()
            {
                Evidence::Letters
            } else {
                Evidence::Shapes
            };
            out.push((index, way(orientation, pocket, from)));
        }
    }
    out
}

/// The two groups of a batch whose letters lie opposite to each other, if there are such.
pub(super) fn opposed(job: &Job<'_>) -> Option<Opposed> {
    let side = |pocket: PocketId| job.read[pocket].siblings.side;
    let of = |second: bool| -> Vec<PocketId> {
        job.pockets
            .ids()
            .filter(|p| side(*p).is_some_and(|(s, _)| s == second))
            .collect()
    };
    // Which of them lies wrong is known, and said pocket by pocket.
    if job.read.iter().any(|r| r.siblings.by_side.is_some()) {
        return None;
    }
    let groups = [of(false), of(true)];
    let [_, second] = &groups;
    let first = *second.first()?;
    let (_, turn) = side(first)?;
    let outlined_in = |group: &Vec<PocketId>| -> Vec<ArtId> {
        let all = group.iter().flat_map(|p| job.art_in(*p));
        all.copied()
            .filter(|i| outlined(job, &job.art[*i]))
            .collect()
    };
    let compared = groups.each_ref().map(outlined_in);
    let [_, second] = &compared;
    let art = *second.first()?;
    Some(Opposed {
        art,
        groups,
        compared,
        turn: 90.0 * f64::from(turn.quarters),
        flipped: turn.mirrored,
        from: Evidence::Letters,
    })
}

/// A lay told in the pocket's own frame (see [`crate::readback::in_frame`]), on the bed.
fn way(orientation: Orientation, pocket: &Pocket, from: Evidence) -> WayUp {
    let tops = pocket.tops;
    // A quarter turn clockwise on a bed whose y points to the front; seen through a flipped frame it
    // is one anticlockwise.
    let quarter = |v: Vec2| {
        if pocket.settings.mirrored {
            Vec2::new(v.y, -v.x)
        } else {
            Vec2::new(-v.y, v.x)
        }
    };
    let up = (0..orientation.quarters % 4).fold(tops, |v, _| quarter(v));
    WayUp {
        up,
        mirrored: orientation.mirrored != pocket.settings.mirrored,
        from,
        bend: 0.0,
    }
}
