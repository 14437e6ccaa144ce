//! `pocket-unloaded`: art in a pocket that holds no blank.

use super::{Info, change, info, thing};
use crate::finding::{Finding, Location};
use crate::matching::Job;
use crate::remedy::{Remedy, Way, What};
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("pocket-unloaded", Hold, Fixture);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    for art in &job.art {
        // Art over several pockets counts for each of them.
        for (index, _) in &art.shares {
            let mark = job.mark(art.mark);
            if job.loaded[*index] {
                continue;
            }
            out.push(
                Finding::new(
                    &INFO,
                    &Location::Mark(&mark.origin, art.bounds()),
                    format!(
                        "{} lies in a pocket that holds no blank",
                        sentence(&thing(mark))
                    ),
                    "put a blank in the pocket and name it as loaded, or delete the art",
                )
                .in_pocket(Some(&job.pockets[*index].name))
                .remedied(Remedy::choose([Way::new(
                    "empty",
                    "delete the art",
                    vec![change::of_art(art, What::Delete)],
                )
                .assuming("the pocket stays empty")])),
            );
        }
    }
}
