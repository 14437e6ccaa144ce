//! `off-blank`: art that no pocket holds most of, or that lies in two.

use super::{Info, Rule, info, thing};
use crate::artwork::mark::Operation;
use crate::finding::{Finding, Location, Picture};
use crate::matching::Job;
use crate::wording::sentence;

/// See the module's page.
pub struct OffBlank;

static INFO: Info = info!("off-blank", Hold, Blank);

impl Rule for OffBlank {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        for art in job.art.iter().filter(|a| a.pocket.is_none()) {
            // A cut outside the zones is `stray-cut`'s to say.
            if job.operation(art.mark) == Operation::Cut {
                continue;
            }
            let mark = job.mark(art.mark);
            let what = sentence(&thing(mark));
            let names: Vec<&str> = art
                .shares
                .iter()
                .map(|(p, _)| job.pockets[*p].name.as_str())
                .collect();
            let most = art.shares.first().map_or(0.0, |s| s.1);
            let (message, help) = match names.as_slice() {
                [] => (
                    format!(
                        "{what} lies on no blank: no pocket is under it, and the laser would burn the fixture"
                    ),
                    "move it into a pocket's zone, or delete it",
                ),
                [one] => (
                    format!(
                        "{what} lies mostly beside the blanks: only {:.0} % of it is over pocket {one}",
                        100.0 * most
                    ),
                    "move it into the pocket's zone, or delete it",
                ),
                many => (
                    format!(
                        "{what} lies over pockets {} at once",
                        crate::fixture::shorthand::and(many)
                    ),
                    "move it into one pocket's zone, or make it smaller",
                ),
            };
            out.push(
                Finding::new(
                    &INFO,
                    &Location::Mark(&mark.origin, art.bounds()),
                    message,
                    help,
                )
                .in_pocket(names.first().copied())
                .measured("share over one pocket", 100.0 * most, 50.0, "%")
                .drawn(Picture::Hatch(art.ink().to_path())),
            );
        }
    }
}
