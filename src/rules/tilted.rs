//! `tilted`: art off square by more than `tilt`.

use super::upside_down::{ASKEW_UP_TO, turns};
use super::{Info, info, thing};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::zones::bearing;
use crate::matching::Job;
use crate::matching::evidence::between;
use crate::remedy::Remedy;
use crate::units::angle;
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("tilted", Caution, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let limit = job.fixture.settings.limits.tilt;
    for (art, way, pocket, mark) in job.art_by_way_up() {
        let turned = between(pocket.tops, way.up);
        // Lettering along a curve leans as the curve does; its middle depends on the letters.
        let within = turned.abs() <= limit || turned.abs() > ASKEW_UP_TO;
        if within || way.bend > 0.0 {
            continue;
        }
        let (leans, back) = if turned > 0.0 {
            ("clockwise", "anticlockwise")
        } else {
            ("anticlockwise", "clockwise")
        };
        let centre = art.bounds().center();
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, art.bounds()),
                format!(
                    "{} leans {} {leans}, and {} is allowed{}",
                    sentence(&thing(mark)),
                    angle(turned.abs()),
                    angle(limit),
                    way.from.words()
                ),
                format!(
                    "turn it {} {back} about its own middle, or leave it if it is meant so",
                    angle(turned.abs())
                ),
            )
            .in_pocket(Some(&pocket.name))
            .remedied(Remedy::choose(
                turns(job, art, -turned)
                    .into_iter()
                    .map(|way| way.assuming("it is not meant to lean")),
            ))
            .measured("turn", turned.abs(), limit, "deg")
            .drawn(Picture::Turn {
                centre,
                is: bearing(way.up),
                should: bearing(pocket.tops),
            }),
        );
    }
}
