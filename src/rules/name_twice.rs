//! `name-twice`: a name stands in more pockets than were ordered.

use super::ordered::{Ordered, of_words, ordered, place, pocket_name, pocket_names, quoted};
use super::{Info, info};
use crate::finding::Finding;
use crate::matching::Job;
use crate::orders::compare::Twice;
use crate::remedy::{Remedy, Way, What};

pub(crate) static INFO: Info = info!("name-twice", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
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
            .remedied(one_fewer(job, &ordered, twice))
            .measured("times", twice.found.len() as f64, twice.asked as f64, ""),
        );
    }
}

/// One of the pockets of this run is emptied: which, only the order can tell.
fn one_fewer(job: &Job<'_>, ordered: &Ordered, twice: &Twice) -> Remedy {
    let here = (twice.found.iter()).filter(|f| f.run == twice.surplus.run);
    Remedy::choose(here.filter_map(|found| {
        let pocket = pocket_name(job, found.pocket)?;
        let gone = of_words(&ordered.reading, &found.words, What::Delete);
        let says = format!("delete the lettering in {pocket}");
        let way = Way::new(pocket.to_owned(), says, vec![gone]);
        Some(way.assuming(format!("the one in {pocket} is too many")))
    }))
}
