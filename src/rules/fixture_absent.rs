//! `fixture-absent`: no fixture outline is in the file.

use super::{Info, info};
use crate::finding::{Finding, Location, Severity};
use crate::matching::Job;

pub(crate) static INFO: Info = info!("fixture-absent", Caution, Look);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    if job.has_fixture() || job.shift.is_some() {
        return;
    }
    let required = job.fixture.settings.run.fixture_lines_required;
    let finding = Finding::new(
        &INFO,
        &Location::Nowhere("it is about lines that are not there"),
        "None of the fixture's lines is in the file, so whether the art was drawn over the fixture cannot be seen",
        "copy the fixture drawing's lines into the file, in place and in a paint that is off",
    );
    out.push(if required {
        finding.weighing(Severity::Hold)
    } else {
        finding
    });
}
