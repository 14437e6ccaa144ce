//! `fixture-still-cut`: anything locked (outline or loading mark) in any operation but `off`.

use super::{Info, Rule, info};
use crate::finding::{Finding, Location};
use crate::fixture::lock::{OutlineKind, operation_word};
use crate::matching::Job;

/// See the module's page.
pub struct FixtureStillCut;

static INFO: Info = info!("fixture-still-cut", Hold, Fixture);

impl Rule for FixtureStillCut {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        for (index, locked) in job.fixture.lock.outlines.pairs() {
            let live = job.outlines[index]
                .found()
                .iter()
                .map(|i| &job.contours.all[*i])
                .filter(|f| f.operation.live())
                .min_by_key(|f| f.operation);
            let Some(found) = live else { continue };
            let mark = found
                .marks
                .iter()
                .find(|m| job.operation(**m) == found.operation);
            let Some(mark) = mark.map(|m| job.mark(*m)) else {
                continue;
            };
            let what = match locked.kind {
                OutlineKind::Pocket => "The pocket's outline",
                OutlineKind::Edge => "The sheet's edge",
                OutlineKind::Mark => "A line that belongs to the fixture",
            };
            let doing = match found.operation {
                crate::artwork::mark::Operation::Unknown => {
                    "in a paint that no operation claims".to_owned()
                }
                other => format!("marked \"{}\"", operation_word(other)),
            };
            out.push(
                Finding::new(
                    &INFO,
                    &Location::Mark(&mark.origin, found.contour.bounds),
                    format!("{what} is still {doing}: the laser would run along it and damage the fixture"),
                    "give the fixture's lines a paint that is off, or take them out of the file before sending",
                )
                .in_pocket(job.pocket_of(index).map(|p| p.name.as_str())),
            );
        }
    }
}
