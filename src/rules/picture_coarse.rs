//! `picture-coarse`: a picture has too few dots per inch at the size it is placed.

use super::{Info, info};
use crate::artwork::mark::Content;
use crate::finding::{Finding, Location};
use crate::matching::Job;

pub(crate) static INFO: Info = info!("picture-coarse", Caution, Look);

/// Coarser than the limit by less than this share is the rounding of a file: 199.9 dots are 200.
const ROUNDING: f64 = 1e-3;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let limit = job.fixture.settings.limits.coarsest_picture;
    for (_, mark, _) in job.live() {
        let Content::Picture(picture) = &mark.content else {
            continue;
        };
        let Some(dots) = picture
            .resolution()
            .filter(|d| *d < limit * (1.0 - ROUNDING))
        else {
            continue;
        };
        // A picture without any ink leaves nothing to be coarse.
        let Some(bed) = mark.ink().bounds() else {
            continue;
        };
        let at = bed.center();
        let pocket = job.name_at(at);
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, bed),
                format!("A picture has {dots:.0} dots per inch at this size, fewer than the {limit:.0} that your settings ask for"),
                format!(
                    "place the original picture at its full size, or this one at {:.0} % of its size here",
                    (100.0 * dots / limit).floor()
                ),
            )
            .in_pocket(pocket)
            .measured("resolution", dots, limit, "dpi"),
        );
    }
}
