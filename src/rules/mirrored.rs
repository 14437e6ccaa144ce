//! `mirrored`: art mirrored where it should not be, or not where it should.

use super::upside_down::opposed;
use super::{Info, info, lying, thing};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::zones::bearing;
use crate::matching::Job;
use crate::remedy::{Remedy, What};
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("mirrored", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    for found in lying::all(job, |way, pocket| way.mirrored != pocket.settings.mirrored) {
        let way = found.way;
        let what = sentence(&thing(found.mark));
        let from = way.from.words();
        let message = if way.mirrored {
            format!("{what} is mirrored: it reads as in a mirror{from}")
        } else {
            format!(
                "{what} is not mirrored, and this zone is engraved from behind, so it would read as in a mirror{from}"
            )
        };
        let flip = |about| What::Flip {
            about,
            along: way.up,
        };
        let bounds = found.bounds();
        let is = bearing(way.up);
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&found.mark.origin, bounds),
                message,
                found.help(
                    job,
                    "flip it left to right, as you look at it with its tops up",
                ),
            )
            .in_pocket(Some(&found.pocket.name))
            .and_more(found.more())
            .remedied(Remedy::certain(found.ways(job, "flip", &flip)))
            .drawn(Picture::Turn {
                centre: bounds.center(),
                is,
                should: is,
            }),
        );
    }
    let flipped = job.opposed().iter().filter(|o| o.flipped);
    out.extend(flipped.map(|o| opposed(job, o, &INFO, "flip")));
}
