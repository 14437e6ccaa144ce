//! `not-proven`: anything in the file that could reach the sender and could not be checked.

use super::{Info, Rule, info};
use crate::finding::{Finding, Place};
use crate::seating::Job;

/// See the module's page.
pub struct NotProven;

static INFO: Info = info!("not-proven", Hold, Blank);

impl Rule for NotProven {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        for unproven in &job.artwork.unproven {
            let place = match unproven.bed {
                Some(bed) => Place::Mark(&unproven.origin, bed),
                None => Place::File(&unproven.origin),
            };
            out.push(Finding::new(
                &INFO,
                &place,
                super::sentence(&unproven.what),
                unproven.help.as_str(),
            ));
        }
    }
}
