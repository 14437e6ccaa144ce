//! What rules have in common when they say what is to be changed.

use kurbo::{Affine, PathEl, Point, Rect, Vec2};

use crate::artwork::mark::Operation;
use crate::fixture::Pocket;
use crate::fixture::lock::Outline;
use crate::geometry::overhang::overhang;
use crate::geometry::region::Region;
use crate::ids::{ContourId, MarkId, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::fit::{ROUNDING, moved};
use crate::remedy::{Change, Part, What};

/// The change of a contour of the run: of its marks, or of that part of a mark of many contours.
pub(super) fn of_contour(job: &Job<'_>, contour: ContourId, what: What) -> Change {
    let found = &job.contours.all[contour];
    let many = found.marks.iter().map(|m| job.mark(*m)).any(|m| {
        let starts = |e: &&PathEl| matches!(e, PathEl::MoveTo(_));
        m.path.elements().iter().filter(starts).count() > 1
    });
    let part = many.then_some(Part {
        bounds: found.contour.bounds,
        contour: true,
    });
    Change::of(found.marks.clone(), what).within(part)
}

/// The change of a piece of art: of its mark, or of its part of a mark over several pockets.
pub(super) fn of_art(art: &Art<'_>, what: What) -> Change {
    Change::of(vec![art.mark], what).within(art.is_part().then(|| part(art.bounds())))
}

/// What lies in a box.
pub(super) fn part(bounds: Rect) -> Part {
    Part {
        bounds,
        contour: false,
    }
}

/// The change of several pieces of art together.
pub(super) fn of_all(arts: &[&Art<'_>], what: &What) -> Vec<Change> {
    let (parts, whole): (Vec<&&Art<'_>>, Vec<&&Art<'_>>) = arts.iter().partition(|a| a.is_part());
    let marks: Vec<MarkId> = whole.iter().map(|a| a.mark).collect();
    let mut changes = Vec::new();
    if !marks.is_empty() {
        changes.push(Change::of(marks, what.clone()));
    }
    changes.extend(parts.into_iter().map(|a| of_art(a, what.clone())));
    changes
}

/// The art of a pocket.
pub(super) fn art_of<'j, 'a>(job: &'j Job<'a>, pocket: PocketId) -> Vec<&'j Art<'a>> {
    job.art_in(pocket).iter().map(|i| &job.art[*i]).collect()
}

/// The way into the zone: the smallest move after which `ink` is within it.
///
/// A push along the worst overhang may leave another one: it is repeated, and eight pushes are enough
/// for a corner.
pub(super) fn way_in(ink: &Region, zone: &Region) -> Option<Vec2> {
    let mut by = Vec2::ZERO;
    for _ in 0..8 {
        let there = moved(ink, Affine::translate(by));
        let Some(over) = overhang(&there, zone, ROUNDING) else {
            return Some(by);
        };
        let push = over.nearest - over.at;
        // A hair further, so that the last digit of a file does not decide.
        by += push + push.normalize() * CLEARANCE;
    }
    None
}

/// How far inside its zone art is put, in millimetres: less, and the rounding of a file could hold it
/// again; more would show.
const CLEARANCE: f64 = 0.01;

/// The nearest move after which `ink` is within the zone and on none of the `others`; `None` where
/// there is no such place.
pub(super) fn free_place(ink: &Region, zone: &Region, others: &[Rect]) -> Option<Vec2> {
    let (own, room) = (ink.bounds()?, zone.bounds()?);
    let start = way_in(ink, zone)?;
    let free = |by: Vec2| {
        let there = own + by;
        !others.iter().any(|o| overlap(*o, there) > overlap(*o, own))
    };
    if free(start) {
        return Some(start);
    }
    // Outwards in steps of a fiftieth of the zone: finer steps find nothing that a person would see.
    let step = (room.width().max(room.height()) / 50.0).max(0.05);
    let mut places: Vec<Vec2> = Vec::new();
    for i in -50..=50_i32 {
        for j in -50..=50_i32 {
            places.push(start + Vec2::new(f64::from(i), f64::from(j)) * step);
        }
    }
    places.sort_by(|a, b| a.hypot2().total_cmp(&b.hypot2()));
    places.into_iter().find(|by| {
        let there = own + *by;
        free(*by)
            && room.union(there).area() <= room.area() * (1.0 + 1e-9) + 0.1
            && overhang(&moved(ink, Affine::translate(*by)), zone, ROUNDING).is_none()
    })
}

/// How much of two boxes is shared, in square millimetres.
pub(super) fn overlap(a: Rect, b: Rect) -> f64 {
    let both = a.intersect(b);
    both.width().max(0.0) * both.height().max(0.0)
}

/// The middle of a pocket's zone.
pub(super) fn middle(pocket: &Pocket) -> Option<Point> {
    pocket.zone.bounds().map(|b| b.center())
}

/// Draws a locked outline that is not in the file, in a paint that is off.
pub(super) fn drawn(job: &Job<'_>, outline: &Outline) -> Option<Change> {
    let paint = job.fixture.settings.first_paint(Operation::Off)?;
    let path = outline.contour.path.clone();
    Some(Change::of(Vec::new(), What::Draw { path, paint }).called("the outline"))
}

/// The page as it was enrolled. The drawing comes to lie where its outlines belong; without outlines,
/// at the enrolled origin in the size that it has, if the page tells a size.
pub(super) fn enrolled_page(job: &Job<'_>) -> Option<Change> {
    let (page, enrolled) = (&job.artwork.page, &job.fixture.lock.page);
    if page.scale <= 0.0 || !page.physical && !job.has_fixture() {
        return None;
    }
    let now =
        Affine::translate(page.rect.origin().to_vec2() + page.origin) * Affine::scale(page.scale);
    let frame = match &job.shift {
        Some(shift) => shift.motion.inverse() * now,
        None if job.has_fixture() => now,
        None => {
            Affine::translate(enrolled.rect.origin().to_vec2() + enrolled.origin)
                * Affine::scale(page.scale)
        }
    };
    let page = enrolled.rect;
    Some(Change::of(Vec::new(), What::Page { page, frame }).called("the page"))
}
