//! `mirrored`: art mirrored where it should not be, or not where it should.

use kurbo::Vec2;

use super::upside_down::opposed;
use super::{Info, change, info, thing};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::zones::bearing;
use crate::matching::Job;
use crate::matching::art::Art;
use crate::remedy::{Remedy, Way, What};
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("mirrored", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    for (art, way, pocket, mark) in job.art_by_way_up() {
        if way.mirrored == pocket.settings.mirrored {
            continue;
        }
        let what = sentence(&thing(mark));
        let from = way.from.words();
        let message = if way.mirrored {
            format!("{what} is mirrored: it reads as in a mirror{from}")
        } else {
            format!(
                "{what} is not mirrored, and this zone is engraved from behind, so it would read as in a mirror{from}"
            )
        };
        let centre = art.bounds().center();
        let is = bearing(way.up);
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, art.bounds()),
                message,
                "flip it left to right, as you look at it with its tops up",
            )
            .in_pocket(Some(&pocket.name))
            .remedied(Remedy::certain(flips(job, art, way.up)))
            .drawn(Picture::Turn {
                centre,
                is,
                should: is,
            }),
        );
    }
    let flipped = job.opposed().iter().filter(|o| o.flipped);
    out.extend(flipped.map(|o| opposed(job, o, &INFO, "flip")));
}

/// The piece flipped by itself, or the art of the pocket as one where that leaves another fault.
fn flips(job: &Job<'_>, art: &Art<'_>, along: Vec2) -> Vec<Way> {
    let flip = |about| What::Flip { about, along };
    let mut ways = vec![Way::worded(
        "flip",
        vec![change::of_art(art, flip(art.bounds().center()))],
        job.shown(),
    )];
    let together = art
        .pocket
        .map(|p| change::art_of(job, p))
        .unwrap_or_default();
    let bounds = together
        .iter()
        .map(|a| a.bounds())
        .reduce(|a, b| a.union(b));
    if let Some(bounds) = bounds.filter(|_| together.len() > 1) {
        let changes = change::of_all(&together, &flip(bounds.center()));
        let says = "flip all of the pocket's art left to right, as you look at it with its tops up";
        ways.push(Way::new("flip", says, changes));
    }
    ways
}
