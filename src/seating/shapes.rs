//! Outlined lettering whose face is not at hand, as far as the shapes of its letters tell.

use kurbo::Vec2;

use super::Job;
use super::way_up::{Evidence, WayUp, outlined};
use crate::fixture::Pocket;
use crate::readback::letter_shape::Lay;

/// Art in pockets whose outlined ink reads as a word by its shapes.
///
/// A word is judged by itself where its shapes tell; else by its siblings, where it is the odd one
/// out among them.
pub(super) fn look(job: &Job<'_>) -> Vec<(usize, WayUp)> {
    let mut out = Vec::new();
    for (index, art) in job.art.iter().enumerate() {
        let Some(which) = art.pocket.filter(|_| outlined(job, art)) else {
            continue;
        };
        let (Some(pocket), Some(reading)) = (job.pockets.get(which), job.read.get(which)) else {
            continue;
        };
        if let Some(lay) = reading.siblings.lies(reading.shapes.as_ref()) {
            out.push((index, way(lay, pocket)));
        }
    }
    out
}

/// A lay told in the pocket's own frame (see [`crate::readback::in_frame`]), on the bed.
fn way(lay: Lay, pocket: &Pocket) -> WayUp {
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
    let up = (0..lay.quarters % 4).fold(tops, |v, _| quarter(v));
    WayUp {
        up,
        mirrored: lay.mirrored != pocket.settings.mirrored,
        from: Evidence::Shapes,
        bend: 0.0,
    }
}
