//! `pocket-bare`: a loaded pocket with no art while others have some.

use super::{Info, info};
use crate::finding::{Finding, Location};
use crate::matching::Job;

pub(crate) static INFO: Info = info!("pocket-bare", Caution, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let mut with_art = job.pockets.each(false);
    for (index, _) in job.art.iter().flat_map(|a| &a.shares) {
        with_art[*index] = true;
    }
    // Lettering that could not be laid out has no place yet; it is held as `font-missing`, and
    // the pocket it is for would be called bare wrongly.
    if !with_art.iter().any(|has| *has) || job.artwork.marks.iter().any(unplaced) {
        return;
    }
    for (index, pocket) in job.pockets.pairs() {
        if with_art[index] || !job.loaded[index] {
            continue;
        }
        let Some(bounds) = pocket.region.bounds() else {
            continue;
        };
        out.push(
            Finding::new(
                &INFO,
                &Location::Bed(bounds),
                "The pocket holds a blank and has no art, while others have some",
                "add its art, or leave the pocket empty and name the loaded ones",
            )
            .in_pocket(Some(&pocket.name)),
        );
    }
}

fn unplaced(mark: &crate::artwork::mark::Mark) -> bool {
    matches!(mark.content, crate::artwork::mark::Content::Lettering(_))
        && mark.path.elements().is_empty()
}
