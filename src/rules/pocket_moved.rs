//! `pocket-moved`: one pocket is off its place by more than `place`.

use kurbo::Affine;

use super::{Info, change, info};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::Pocket;
use crate::geometry::bed_words::offset_words;
use crate::ids::{At, ContourId};
use crate::matching::{Job, OutlineMatch};
use crate::remedy::{Remedy, Way, What};
use crate::units::angle;

pub(crate) static INFO: Info = info!("pocket-moved", Hold, Blank);

/// A turn below this, in degrees, is not worth a word beside the move.
const WORTH_SAYING: f64 = 0.05;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let limit = job.fixture.settings.limits.place;
    let frame = job.shift.as_ref().map_or(Affine::IDENTITY, |s| s.motion);
    for pocket in &job.fixture.pockets {
        let locked = &job.fixture.lock.outlines[pocket.outline];
        let OutlineMatch::Moved {
            contour,
            motion,
            distance,
        } = &job.outlines[pocket.outline]
        else {
            continue;
        };
        let found = &job.contours.all[*contour];
        let mark = job.mark(*found.marks.at(0));
        let belongs = frame * locked.contour.bounds.center();
        let lies = *motion * belongs;
        let c = motion.as_coeffs();
        let turn = c[1].atan2(c[0]).to_degrees();
        let mut message = format!(
            "The pocket's outline lies {}",
            offset_words(lies - belongs, job.shown())
        );
        if (lies - belongs).hypot() < limit / 2.0 {
            "The pocket's outline lies askew".clone_into(&mut message);
        }
        if turn.abs() > WORTH_SAYING {
            message.push_str(&format!(", turned by {}", angle(turn.abs())));
        }
        message.push_str(&format!(
            ": {} off its place, {} allowed",
            job.shown().length(*distance),
            job.shown().length(limit)
        ));
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, found.contour.bounds),
                message,
                "put the outline back in place from the fixture drawing, and look whether the art was placed by it",
            )
            .in_pocket(Some(&pocket.name))
            .remedied(Remedy::certain(ways(job, pocket, *contour, *motion)))
            .measured("off its place", *distance, limit, "mm")
            .drawn(Picture::Ghost { right: locked.contour.path.clone(), from: lies, to: belongs }),
        );
    }
}

/// The outline put back, and the art with it where that lies wrong without.
fn ways(job: &Job<'_>, pocket: &Pocket, contour: ContourId, motion: Affine) -> Vec<Way> {
    let c = motion.as_coeffs();
    let plain = c[1].abs() < 1e-6 && c[2].abs() < 1e-6 && (c[0] - 1.0).abs() < 1e-6;
    let what = if plain {
        What::Move(-motion.translation())
    } else {
        What::Carry(motion.inverse())
    };
    let mut outline = change::of_contour(job, contour, what.clone()).called("the outline");
    if matches!(what, What::Carry(_)) && outline.part.is_none() {
        outline.thing = "the outline";
    }
    let says = outline.words(job.shown());
    let alone = Way::new(
        "outline",
        format!("{says}, and leave the art"),
        vec![outline.clone()],
    );
    let number = job
        .pockets
        .pairs()
        .find(|(_, p)| p.name == pocket.name)
        .map(|(number, _)| number);
    let art = number.map(|n| change::art_of(job, n)).unwrap_or_default();
    let mut changes = vec![outline];
    changes.extend(change::of_all(&art, &what));
    let both = Way::new("both", format!("{says}, and the art with it"), changes);
    vec![alone, both]
}
