//! `stray-cut`: any other cut where the run allows none, or outside the zone.

use super::{Info, change, info};
use crate::artwork::mark::Operation;
use crate::finding::{Finding, Location, Picture};
use crate::geometry::overhang::overhang;
use crate::matching::Job;
use crate::matching::art::Art;
use crate::remedy::{Remedy, Way, What};

pub(crate) static INFO: Info = info!("stray-cut", Hold, Fixture);

/// How far a cut may reach past its zone before it counts, in millimetres: the rounding of curves.
const ROUNDING: f64 = 0.005;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let inside_allowed = job.fixture.settings.run.cuts_inside_zone;
    for art in job
        .art
        .iter()
        .filter(|a| job.operation(a.mark) == Operation::Cut)
    {
        let mark = job.mark(art.mark);
        let pocket = pocket_under(job, art);
        let place = Location::Mark(&mark.origin, art.bounds());
        let finding = if inside_allowed {
            match art.pocket.map(|p| &job.pockets[p]) {
                Some(p) => match overhang(art.ink(), &p.zone, ROUNDING) {
                    None => continue,
                    Some(over) => Finding::new(
                        &INFO,
                        &place,
                        format!(
                            "A cut reaches {} past the zone",
                            job.shown().length(over.distance)
                        ),
                        "move or shrink the cut so that it stays within the zone",
                    )
                    .measured("overhang", over.distance, 0.0, "mm")
                    .drawn(Picture::Hatch(over.outside.to_path())),
                },
                None => Finding::new(
                    &INFO,
                    &place,
                    "A cut lies outside every zone and would go into the fixture",
                    "delete it, or move it into a zone",
                ),
            }
        } else {
            Finding::new(
                &INFO,
                &place,
                "A line is marked \"cut\", and this fixture's runs cut nothing",
                "give it the paint of the operation that is meant, or delete it",
            )
            .remedied(Remedy::choose(ways(job, art)))
        };
        out.push(finding.in_pocket(pocket));
    }
}

/// Deleted, or engraved: which was meant only a person knows.
fn ways(job: &Job<'_>, art: &Art<'_>) -> Vec<Way> {
    let listed = &job.fixture.settings.paints.listed;
    let engrave = listed
        .iter()
        .find(|(_, o)| **o == Operation::Engrave)
        .filter(|_| !art.is_part())
        .map(|(paint, _)| {
            let change = change::of_art(art, What::Paint(*paint));
            Way::worded("engrave", vec![change], job.shown()).assuming("it is to be engraved")
        });
    let delete = Way::new(
        "delete",
        "delete it",
        vec![change::of_art(art, What::Delete)],
    )
    .assuming("it is there by mistake");
    engrave.into_iter().chain([delete]).collect()
}

/// The pocket that holds most of it, for the message.
fn pocket_under<'j>(job: &'j Job<'_>, art: &Art<'_>) -> Option<&'j str> {
    let (most, _) = art.shares.first()?;
    Some(&job.pockets[*most].name)
}
