//! `name-placeholder`: lettering that must never be sent is still in the run.

use super::ordered::{of_words, place, pocket_name, quoted, said, stand_ins};
use super::{Info, info};
use crate::finding::Finding;
use crate::ids::At;
use crate::matching::Job;
use crate::matching::pocket_text::read_lettering;
use crate::orders::compare::joins;
use crate::remedy::{Remedy, Way, What};

pub(crate) static INFO: Info = info!("name-placeholder", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    if job.fixture.settings.names.placeholders.is_empty() {
        return;
    }
    let reading = read_lettering(job);
    for pocket in said(job, &reading) {
        for run in stand_ins(job, &pocket.lines) {
            let lines = pocket.lines.at(run);
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
                    vec![of_words(&reading, &words, What::Delete)],
                )
                .assuming("the pocket stays empty")])),
            );
        }
    }
}
