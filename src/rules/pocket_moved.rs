//! `pocket-moved`: one pocket is off its place by more than `place`.

use kurbo::{Affine, Vec2};

use super::{Info, change, info};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::Pocket;
use crate::geometry::bed_words::offset_words;
use crate::geometry::overhang::overhang;
use crate::ids::{At, ContourId, PocketId};
use crate::matching::fit::{ROUNDING, moved};
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
            .remedied(remedy(job, pocket, *contour, *motion))
            .measured("off its place", *distance, limit, "mm")
            .drawn(Picture::Ghost { right: locked.contour.path.clone(), from: lies, to: belongs }),
        );
    }
}

/// Art that lies this close, in millimetres, to where that of the other pockets lies in theirs is where it
/// belongs, whatever became of the outline: half of what makes it `off-centre`.
const AT_HOME: f64 = 0.5;

/// An outline that was moved by less than this, in millimetres, is put back without asking: even if the art
/// went along, it is no more `off-centre` than is let pass.
const WORTH_ASKING: f64 = 1.0;

/// The outline put back, alone or with the art: that tells which of the two was moved, where it tells.
fn remedy(job: &Job<'_>, pocket: &Pocket, contour: ContourId, motion: Affine) -> Remedy {
    let c = motion.as_coeffs();
    let plain = c[1].abs() < 1e-6 && c[2].abs() < 1e-6 && (c[0] - 1.0).abs() < 1e-6;
    let what = if plain {
        What::Move(-motion.translation())
    } else {
        What::Carry(motion.inverse())
    };
    let outline = change::of_contour(job, contour, what.clone()).called("the outline");
    let says = outline.words(job.shown());
    let is_it = |(_, p): &(PocketId, &Pocket)| p.name == pocket.name;
    let number = job.pockets.pairs().find(is_it).map(|(number, _)| number);
    let art = number.map(|n| change::art_of(job, n)).unwrap_or_default();
    let mut changes = vec![outline.clone()];
    changes.extend(change::of_all(&art, &what));
    let alone = Way::new(
        "outline",
        format!("{says}, and leave the art"),
        vec![outline],
    );
    let both = Way::new("both", format!("{says}, and the art with it"), changes);
    let within = |back: Affine| {
        art.iter()
            .all(|a| overhang(&moved(a.ink(), back), &pocket.zone, ROUNDING).is_none())
    };
    let home = number.map_or(Vec2::ZERO, |n| home(job, n));
    let off = |back: Affine| {
        let place = number.and_then(|n| place(job, n, back));
        place.map_or(0.0, |is| (is - home).hypot())
    };
    let (here, there) = (Affine::IDENTITY, motion.inverse());
    let little = change::middle(pocket)
        .is_some_and(|middle| (there * middle).distance(middle) <= WORTH_ASKING);
    match (within(here), within(there)) {
        (false, true) if off(there) < off(here) => Remedy::certain([both]),
        (stays, _) if off(here) <= AT_HOME || stays && (little || off(here) <= off(there)) => {
            Remedy::certain([alone])
        }
        _ => Remedy::choose([
            alone.assuming("the outline alone was moved"),
            both.assuming("the art was moved with it"),
        ]),
    }
}

/// Where the middle of a pocket's art lies, carried by a motion, from that of its zone: along the head and
/// across it.
fn place(job: &Job<'_>, pocket: PocketId, carried: Affine) -> Option<Vec2> {
    let own = &job.pockets[pocket];
    let bounds = change::art_of(job, pocket).into_iter().map(|a| a.reach);
    let middle = carried * bounds.reduce(|a, b| a.union(b))?.center();
    let off = middle - change::middle(own)?;
    let side = Vec2::new(-own.head.y, own.head.x);
    Some(Vec2::new(off.dot(own.head), off.dot(side)))
}

/// Where art lies in the other pockets: the middle one, along and across. In the middle of the zone where
/// there are too few others to tell.
fn home(job: &Job<'_>, pocket: PocketId) -> Vec2 {
    let others = job.pockets.ids().filter(|p| *p != pocket);
    let places: Vec<Vec2> = others
        .filter_map(|p| place(job, p, Affine::IDENTITY))
        .collect();
    let median = |of: fn(&Vec2) -> f64| {
        let mut all: Vec<f64> = places.iter().map(of).collect();
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied().unwrap_or(0.0)
    };
    if places.len() < TELLING {
        return Vec2::ZERO;
    }
    Vec2::new(median(|p| p.x), median(|p| p.y))
}

/// So many other pockets with art tell where it lies in each.
const TELLING: usize = 3;
