//! `name-twice`: a name stands in more pockets than were ordered.

use super::ordered::{ordered, place, pocket_name, pocket_names, quoted};
use super::{Info, Rule, info};
use crate::finding::Finding;
use crate::matching::Job;

/// See the module's page.
pub(crate) struct NameTwice;

static INFO: Info = info!("name-twice", Hold, Blank);

impl Rule for NameTwice {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        let Some(ordered) = ordered(job) else { return };
        for twice in &ordered.comparison.twice {
            out.push(
                Finding::new(
                    &INFO,
                    &place(job, &ordered.reading, &twice.surplus.words),
                    format!(
                        "{} stands in {} pockets ({}) and the list asks for {}",
                        quoted(&twice.surplus.text),
                        twice.found.len(),
                        pocket_names(job, &twice.found),
                        twice.asked
                    ),
                    "compare these pockets with the order; set the right name in the one that is wrong",
                )
                .in_pocket(pocket_name(job, twice.surplus.pocket))
                .measured(
                    "times",
                    twice.found.len() as f64,
                    twice.asked as f64,
                    "",
                ),
            );
        }
    }
}
