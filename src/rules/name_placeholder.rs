//! `name-placeholder`: lettering that must never be sent is still in the run.

use super::ordered::{place, pocket_name, quoted, said, stand_ins};
use super::{Info, Rule, info};
use crate::finding::Finding;
use crate::ids::MarkId;
use crate::matching::Job;
use crate::matching::pocket_text::{PocketText, read_lettering};
use crate::orders::compare::joins;
use crate::remedy::{Change, Remedy, Way, What};

/// See the module's page.
pub(crate) struct NamePlaceholder;

static INFO: Info = info!("name-placeholder", Hold, Blank);

impl Rule for NamePlaceholder {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        if job.fixture.settings.names.placeholders.is_empty() {
            return;
        }
        let reading = read_lettering(job);
        for pocket in said(job, &reading) {
            for run in stand_ins(job, &pocket.lines) {
                let lines = pocket.lines.get(run).unwrap_or_default();
                let words: Vec<usize> = lines.iter().map(|l| l.word).collect();
                let text = joins(lines).into_iter().next().unwrap_or_default();
                out.push(
                    Finding::new(
                        &INFO,
                        &place(job, &reading, &words),
                        format!("{} is a stand-in that must never be sent", quoted(&text)),
                        "set the real name, or delete it if the pocket stays empty",
                    )
                    .in_pocket(pocket_name(job, pocket.pocket))
                    .remedied(Remedy::choose([Way::new(
                        "empty",
                        "delete the stand-in",
                        vec![Change::of(marks(&reading, &words), What::Delete)],
                    )
                    .assuming("the pocket stays empty")])),
                );
            }
        }
    }
}

/// The marks of some words.
fn marks(reading: &PocketText, words: &[usize]) -> Vec<MarkId> {
    words
        .iter()
        .filter_map(|w| reading.words.get(*w))
        .flat_map(|w| w.marks.iter().copied())
        .collect()
}
