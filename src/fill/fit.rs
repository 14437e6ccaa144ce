//! How large a block of lettering may be in a zone, and where it lies.

use kurbo::{Affine, Point, Rect, Vec2};

use super::typeset::Block;
use crate::fixture::Pocket;
use crate::fixture::settings::{Bed, Centred};
use crate::geometry::overhang::overhang;
use crate::geometry::region::Region;
use crate::matching::fit::moved;
use crate::matching::text_line::reading_direction;

/// Letters may reach past a zone by less than this, in millimetres, while a size is looked for: a
/// tenth of what an inspection forgives, so that what is set here is never held there.
const PAST: f64 = 0.002;

/// Sizes are rounded down to this, in millimetres.
const STEP: f64 = 0.01;

/// Lettering stays this far, in millimetres, from art that is laid under it: two burns that touch
/// run together (common practice, no source).
const APART: f64 = 0.5;

/// A zone in the frame of somebody who reads its lettering: the reading direction to the right, in
/// millimetres from the point that art is centred on.
pub(super) struct Room {
    zone: Region,
    taken: Region,
    /// From this frame to the bed.
    pub(super) to_bed: Affine,
}

/// A block in its place: size of the em in millimetres, and the middle of its ink in the frame of
/// the room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    pub(super) size: f64,
    pub(super) middle: Point,
}

impl Room {
    /// The room of a pocket on the usable part of the bed; `centre` is where art sits as a whole.
    pub(super) fn of(pocket: &Pocket, centre: Point, bed: &Bed) -> Self {
        let right = reading_direction(pocket.tops, pocket.settings.mirrored);
        let down = -pocket.tops;
        let to_bed = Affine::new([right.x, right.y, down.x, down.y, centre.x, centre.y]);
        Self {
            zone: carried(
                &pocket.zone.intersect(&Region::from_rect(usable(bed))),
                to_bed.inverse(),
            ),
            taken: Region::default(),
            to_bed,
        }
    }

    /// Keeps lettering off `ink`, which is in the frame of this room.
    pub(super) fn take(&mut self, ink: &Region) {
        self.taken = self.taken.unite(&ink.grown(APART, PAST));
    }

    /// The largest size, up to `most`, at which the block fits; zero if it fits at none.
    pub(super) fn largest(&self, block: &Block, most: f64) -> Fit {
        let mut best = self.largest_at(block, most, Point::ORIGIN, &self.zone);
        let Some(taken) = self.taken.bounds() else {
            return best;
        };
        // If the art leaves more room beside it than in the middle: below it, then above it.
        let Some(zone) = self.zone.bounds() else {
            return best;
        };
        for (from, to) in [(taken.y1, zone.y1), (zone.y0, taken.y0)] {
            let mut band = zone;
            (band.y0, band.y1) = (from, to);
            if band.height() > 0.0 {
                let room = self.zone.intersect(&Region::from_rect(band));
                let middle = room.bounds().map_or(Point::ORIGIN, |b| b.center());
                let fit = self.largest_at(block, most, middle, &room);
                if fit.size > best.size {
                    best = fit;
                }
            }
        }
        best
    }

    /// Halving between sizes that fit and that do not; sixteen steps find it to a hundredth of a
    /// millimetre of any size that is engraved.
    fn largest_at(&self, block: &Block, most: f64, middle: Point, zone: &Region) -> Fit {
        let fits = |size: f64| {
            let ink = moved(
                &block.ink,
                Affine::translate(middle.to_vec2())
                    * Affine::scale(size)
                    * Affine::translate(-block.bounds.center().to_vec2()),
            );
            overhang(&ink, zone, PAST).is_none()
                && (self.taken.is_empty() || ink.intersect(&self.taken).is_empty())
        };
        let down = |size: f64| (size / STEP).floor() * STEP;
        let (mut low, mut high) = (0.0, most);
        if fits(down(most)) {
            low = most;
        } else {
            for _ in 0..16 {
                let between = f64::midpoint(low, high);
                if fits(between) {
                    low = between;
                } else {
                    high = between;
                }
            }
        }
        let size = down(low);
        // After rounding down the block should still fit; this is checked.
        let size = if size > 0.0 && fits(size) { size } else { 0.0 };
        Fit { size, middle }
    }
}

/// Where engraving may go on a bed: `run-out` left and right of it is needed for the carriage.
fn usable(bed: &Bed) -> Rect {
    let clear = bed.keep_clear;
    Rect::new(
        clear.left.max(bed.run_out) + PAST,
        clear.back + PAST,
        bed.width - clear.right.max(bed.run_out) - PAST,
        bed.height - clear.front - PAST,
    )
}

/// A region carried by a motion that may flip it.
pub(super) fn carried(region: &Region, motion: Affine) -> Region {
    Region::from_path(&(motion * region.to_path()), false, PAST)
}

/// The point of a pocket's zone that art is centred on.
pub(super) fn centre(pocket: &Pocket) -> Option<Point> {
    let off = match pocket.settings.centred {
        Centred::At(off) => off,
        Centred::Free => Vec2::ZERO,
    };
    Some(pocket.zone.bounds()?.center() + off)
}
