//! `pocket-added`: an extra outline like a pocket.

use super::{Info, change, info};
use crate::finding::{Finding, Location};
use crate::fixture::lock::operation_word;
use crate::ids::At;
use crate::matching::Job;
use crate::remedy::{Remedy, Way, What};

pub(crate) static INFO: Info = info!("pocket-added", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    for index in &job.added {
        let found = &job.contours.all[*index];
        let mark = job.mark(*found.marks.at(0));
        let on = job
            .pocket_at(found.contour.centroid)
            .map(|p| &job.pockets[p]);
        let beside = on.map_or_else(
            || "where the fixture has none".to_owned(),
            |p| format!("over pocket {}", p.name),
        );
        let live = if found.operation.live() {
            format!(", and it is marked \"{}\"", operation_word(found.operation))
        } else {
            String::new()
        };
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, found.contour.bounds),
                format!("There is one more outline like a pocket's, {beside}{live}"),
                "delete the extra outline; if the fixture really has this pocket, enrol it again",
            )
            .in_pocket(on.map(|p| p.name.as_str()))
            .remedied(Remedy::choose([Way::new(
                "delete",
                "delete the extra outline",
                vec![change::of_contour(job, *index, What::Delete)],
            )
            .assuming("the fixture has no such pocket")])),
        );
    }
}
