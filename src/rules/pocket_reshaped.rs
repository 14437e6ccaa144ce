//! `pocket-reshaped`: a pocket's outline is another size or shape.

use super::{Info, change, info};
use crate::finding::{Finding, Location, Picture};
use crate::ids::At;
use crate::matching::{Job, OutlineMatch};
use crate::remedy::{Remedy, Way, What};

pub(crate) static INFO: Info = info!("pocket-reshaped", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let limit = job.fixture.settings.limits.place;
    let shown = job.shown();
    for pocket in &job.fixture.pockets {
        let locked = &job.fixture.lock.outlines[pocket.outline];
        let OutlineMatch::Reshaped { contour, distance } = &job.outlines[pocket.outline] else {
            continue;
        };
        let found = &job.contours.all[*contour];
        let mark = job.mark(*found.marks.at(0));
        let (is, was) = (found.contour.bounds, locked.contour.bounds);
        let resized = (is.width() - was.width())
            .abs()
            .max((is.height() - was.height()).abs())
            > limit;
        let message = if resized {
            format!(
                "The pocket's outline is {}, and the pocket is {}: {} off, {} allowed",
                shown.size(is.width(), is.height()),
                shown.size(was.width(), was.height()),
                shown.length(*distance),
                shown.length(limit)
            )
        } else {
            format!(
                "The pocket's outline has another shape than the pocket: {} off, {} allowed",
                shown.length(*distance),
                shown.length(limit)
            )
        };
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, is),
                message,
                "delete the outline and copy it in place from the fixture drawing; then look whether the art was placed by it",
            )
            .in_pocket(Some(&pocket.name))
            .remedied(Remedy::certain(
                [Way::new(
                    "outline",
                    "put the enrolled outline in its place, from the fixture drawing",
                    vec![change::of_contour(job, *contour, What::Outline(locked.contour.path.clone()))],
                )],
            ))
            .measured("off its shape", *distance, limit, "mm")
            // Not moved: no arrow.
            .drawn(Picture::Ghost { right: locked.contour.path.clone(), from: was.center(), to: was.center() }),
        );
    }
}
