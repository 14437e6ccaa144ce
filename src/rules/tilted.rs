//! `tilted`: art off square by more than `tilt`.

use kurbo::Vec2;

use super::upside_down::ASKEW_UP_TO;
use super::{Info, info, lying, thing};
use crate::artwork::mark::Content;
use crate::finding::{Finding, Location, Picture};
use crate::fixture::Pocket;
use crate::fixture::zones::bearing;
use crate::matching::Job;
use crate::matching::evidence::{WayUp, between};
use crate::remedy::{Remedy, What};
use crate::units::angle;
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("tilted", Caution, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let limit = job.fixture.settings.limits.tilt;
    // Lettering along a curve leans as the curve does; its middle depends on the letters.
    let leans = |way: &WayUp, pocket: &Pocket| {
        let turned = between(pocket.tops, way.up).abs();
        turned > limit && turned <= ASKEW_UP_TO && way.bend <= 0.0
    };
    for found in lying::all(job, leans) {
        let way = found.way;
        let turned = between(found.pocket.tops, way.up);
        let (leans, back) = if turned > 0.0 {
            ("clockwise", "anticlockwise")
        } else {
            ("anticlockwise", "clockwise")
        };
        let bounds = found.bounds();
        let turn = |about| What::Turn {
            about,
            degrees: -turned,
        };
        // A turn would level the baseline of slanted lettering or put its letters upright, and not both.
        let (does, ways) = if slanted(&found.mark.content, limit) {
            let does = "take the slant out of it, or leave it if it is meant so";
            (does.to_owned(), Vec::new())
        } else {
            let does = format!(
                "turn it {} {back} about its own middle, or leave it if it is meant so",
                angle(turned.abs())
            );
            (does, found.ways(job, "turn", &turn))
        };
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&found.mark.origin, bounds),
                format!(
                    "{} leans {} {leans}, and {} is allowed{}",
                    sentence(&thing(found.mark)),
                    angle(turned.abs()),
                    angle(limit),
                    way.from.words()
                ),
                found.help(job, &does),
            )
            .in_pocket(Some(&found.pocket.name))
            .and_more(found.more())
            .remedied(Remedy::choose(
                ways.into_iter()
                    .map(|way| way.assuming("it is not meant to lean")),
            ))
            .measured("turn", turned.abs(), limit, "deg")
            .drawn(Picture::Turn {
                centre: bounds.center(),
                is: bearing(way.up),
                should: bearing(found.pocket.tops),
            }),
        );
    }
}

/// Whether lettering or a picture is slanted against its own foot by more than so many degrees.
fn slanted(content: &Content, limit: f64) -> bool {
    let most = limit.to_radians().sin();
    let slants = |along: Vec2, up: Vec2| along.dot(up).abs() > most;
    match content {
        Content::Lettering(l) => l.letters.iter().any(|l| slants(l.along, l.up)),
        Content::Picture(p) => slants(p.along(), p.up()),
        Content::Shape => false,
    }
}
