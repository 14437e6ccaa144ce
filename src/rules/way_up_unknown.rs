//! `way-up-unknown`: outlined art whose direction nothing decides.

use super::{Info, info};
use crate::finding::{Finding, Location, Source};
use crate::fixture::shorthand::list;
use crate::matching::Job;
use crate::matching::way_up::undecided;

pub(crate) static INFO: Info = info!("way-up-unknown", Caution, Blank);

/// Once a file: a shop that outlines all its lettering would read it once a pocket otherwise.
pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let open = undecided(job);
    let places = open.iter().map(|open| {
        let origin = &job.mark(job.art[open.piece].mark).origin;
        (origin, open.bounds)
    });
    let mut places = places.collect::<Vec<_>>().into_iter();
    let Some((origin, bed)) = places.next() else {
        return;
    };
    let pockets: Vec<_> = open.iter().map(|open| &job.pockets[open.pocket]).collect();
    let names: Vec<String> = pockets.iter().map(|p| p.name.clone()).collect();
    let referenced = pockets.iter().any(|p| p.settings.reference.is_some());
    let one = names.len() == 1;
    out.push(
        Finding::new(
            &INFO,
            &Location::Mark(origin, bed),
            format!(
                "Nothing decides which way up the outlined art{} is{}",
                // One pocket is named before the message.
                if one {
                    String::new()
                } else {
                    format!(" in pockets {}", list(&names))
                },
                if referenced {
                    ": it does not match the reference"
                } else {
                    ""
                }
            ),
            "keep the lettering live in the file you send, put its font in the fixture's fonts folder, or save one piece that is the right way up and name it under [zone] reference; else see for yourself that it is the right way up",
        )
        .in_pocket(if one { names.first().map(String::as_str) } else { None })
        .also(places.map(|(origin, bed)| (Source::from(origin), bed)))
        .measured("pockets", names.len() as f64, 0.0, ""),
    );
}
