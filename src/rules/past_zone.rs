//! `past-zone`: lettering or art that belongs to a pocket reaches past its zone.

use super::{Info, Rule, info, sentence, thing};
use crate::artwork::mark::Operation;
use crate::finding::{Finding, Picture, Place};
use crate::fixture::Pocket;
use crate::geometry::bed_words::side;
use crate::geometry::overhang::{Overhang, overhang};
use crate::geometry::region::Region;
use crate::seating::Job;
use crate::seating::art::Art;

/// See the module's page.
pub struct PastZone;

static INFO: Info = info!("past-zone", Hold, Blank);

/// Reaching past by less than this, in millimetres, is the rounding of curves: a shop that sets a
/// name flush with its zone is not to be held for the last digit of a file.
const ROUNDING: f64 = 0.02;

impl Rule for PastZone {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        for art in &job.art {
            // A cut past the zone is `stray-cut`'s to say.
            if job.operation(art.mark) == Operation::Cut {
                continue;
            }
            let Some(pocket) = art.pocket.and_then(|p| job.pockets.get(p)) else {
                continue;
            };
            if pocket.zone.contains_rect(art.reach) {
                continue;
            }
            let Some(over) = overhang(art.ink(), &pocket.zone, ROUNDING) else {
                continue;
            };
            let Some(mark) = job.mark(art.mark) else {
                continue;
            };
            let where_to = side(over.at - over.nearest);
            out.push(
                Finding::new(
                    &INFO,
                    &Place::Mark(&mark.origin, art.bounds()),
                    format!(
                        "{} runs {} past the {where_to} of its zone",
                        sentence(&thing(mark)),
                        job.shown().length(over.distance)
                    ),
                    remedy(job, art, pocket, &over),
                )
                .in_pocket(Some(&pocket.name))
                .measured("overhang", over.distance, 0.0, "mm")
                .drawn(Picture::Hatch(over.outside.to_path())),
            );
        }
    }
}

/// Move it if it would fit as it is, make it smaller if not.
fn remedy(job: &Job<'_>, art: &Art<'_>, pocket: &Pocket, over: &Overhang) -> String {
    let scale = largest(art.ink(), &pocket.zone);
    if scale >= 1.0 {
        let back = over.nearest - over.at;
        return format!(
            "it is small enough: move it {}",
            crate::geometry::bed_words::offset_words(back, job.shown())
        );
    }
    // Rounded down: the size named must fit.
    let percent = (100.0 * scale).floor();
    if percent < 1.0 {
        return "it does not fit this zone at any useful size: move it to another pocket, or redraw it".to_owned();
    }
    format!("set it at {percent:.0} % of this size in the middle of the zone, or on two lines")
}

/// The largest size, as a share of the present one, at which `ink` fits the middle of `zone`.
///
/// Halving between sizes that fit and that do not: twelve steps find it to a thousandth.
fn largest(ink: &Region, zone: &Region) -> f64 {
    let (Some(art), Some(room)) = (ink.bounds(), zone.bounds()) else {
        return 0.0;
    };
    let fits = |scale: f64| {
        let motion = kurbo::Affine::translate(room.center().to_vec2())
            * kurbo::Affine::scale(scale)
            * kurbo::Affine::translate(-art.center().to_vec2());
        let moved = Region {
            rings: ink
                .rings
                .iter()
                .map(|ring| ring.iter().map(|p| motion * *p).collect())
                .collect(),
        };
        overhang(&moved, zone, ROUNDING).is_none()
    };
    if fits(1.0) {
        return 1.0;
    }
    let by_box = (room.width() / art.width().max(1e-9)).min(room.height() / art.height().max(1e-9));
    let (mut low, mut high) = (0.0, by_box.min(1.0));
    for _ in 0..12 {
        let middle = f64::midpoint(low, high);
        if fits(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}
