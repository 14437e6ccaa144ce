//! `pocket-missing`: some fixture outlines are there and this one is not.

use super::{Info, change, info};
use crate::finding::{Finding, Location, Picture};
use crate::matching::{Job, OutlineMatch};
use crate::remedy::{Remedy, Way};

pub(crate) static INFO: Info = info!("pocket-missing", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    if !job.misses_outlines() {
        return;
    }
    for pocket in &job.fixture.pockets {
        let outline = &job.fixture.lock.outlines[pocket.outline];
        if job.outlines[pocket.outline] != OutlineMatch::Missing {
            continue;
        }
        let centre = outline.contour.bounds.center();
        out.push(
            Finding::new(
                &INFO,
                &Location::Bed(outline.contour.bounds),
                "The pocket's outline is not in the file, though others are",
                "copy the outline from the fixture drawing back in place, or start from the drawing again",
            )
            .in_pocket(Some(&pocket.name))
            .remedied(Remedy::certain(change::drawn(job, outline).map(|c| {
                Way::new(
                    "outline",
                    "put the outline back in place from the fixture drawing",
                    vec![c],
                )
            })))
            .drawn(Picture::Ghost { right: outline.contour.path.clone(), from: centre, to: centre }),
        );
    }
}
