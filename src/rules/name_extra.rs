//! `name-extra`: lettering in the run that is not on the order list.

use super::ordered::{ordered, place, pocket_name, quoted};
use super::{Info, Rule, info};
use crate::finding::Finding;
use crate::matching::Job;

/// See the module's page.
pub(crate) struct NameExtra;

static INFO: Info = info!("name-extra", Hold, Blank);

impl Rule for NameExtra {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        let Some(ordered) = ordered(job) else { return };
        for found in &ordered.comparison.extra {
            out.push(
                Finding::new(
                    &INFO,
                    &place(job, &ordered.reading, &found.words),
                    format!("{} is not on the order list", quoted(&found.text)),
                    "replace or delete it if it is left over, or add it to the list if it was ordered",
                )
                .in_pocket(pocket_name(job, found.pocket)),
            );
        }
    }
}
