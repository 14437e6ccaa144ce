//! `name-extra`: lettering in the run that is not on the order list.

use super::ordered::{of_words, ordered, place, pocket_name, quoted};
use super::{Info, info};
use crate::finding::Finding;
use crate::matching::Job;
use crate::orders::lookalike;
use crate::remedy::{Remedy, Way, What};

pub(crate) static INFO: Info = info!("name-extra", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let (Some(list), Some(ordered)) = (&job.orders, ordered(job)) else {
        return;
    };
    for found in &ordered.comparison.extra {
        out.push(
            Finding::new(
                &INFO,
                &place(job, &ordered.reading, &found.words),
                format!(
                    "{} is not on the order list{}",
                    quoted(&found.text),
                    lookalike::alone(&found.text, list.orders.iter().map(|o| o.name.as_str()))
                ),
                "replace or delete it if it is left over, or add it to the list if it was ordered",
            )
            .in_pocket(pocket_name(job, found.pocket))
            .remedied(Remedy::choose([Way::new(
                "empty",
                "delete the lettering",
                vec![of_words(&ordered.reading, &found.words, What::Delete)],
            )
            .assuming("it is left over from another run")])),
        );
    }
}
