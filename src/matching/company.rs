//! When the fixture's lines are displaced: was the art moved with them, or did it stay?
//!
//! Only the art can tell whether somebody dragged the lines alone or everything together. It is
//! measured in the enrolled pockets and in the displaced ones: in which of them does it lie within its
//! zones, with its tops up, and in the middle?

use kurbo::{Rect, Vec2};

use super::art::Art;
use super::evidence::between;
use super::fit::ROUNDING;
use crate::artwork::mark::{Content, Mark, Operation};
use crate::fixture::Pocket;
use crate::geometry::overhang::overhang;
use crate::ids::{ArtId, At, IdVec, MarkId, PocketId};

/// Where art is, once the fixture's lines are displaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Company {
    /// It fits the enrolled pockets and not the displaced ones: the lines alone were moved.
    Stayed,
    /// It fits the displaced pockets and not the enrolled ones, or there is none: everything was moved
    /// together.
    Went,
    /// It fits both or neither, and rather the enrolled ones.
    LikelyStayed,
    /// It fits both or neither, and rather the displaced ones.
    #[default]
    LikelyWent,
}

impl Company {
    /// Whether art is to be judged by the enrolled pockets.
    pub fn stayed(self) -> bool {
        matches!(self, Self::Stayed | Self::LikelyStayed)
    }

    /// Whether the art leaves no doubt.
    pub fn is_certain(self) -> bool {
        matches!(self, Self::Stayed | Self::Went)
    }
}

/// Art whose middle lies this close to its zone's, in millimetres, is centred there. Wider, and a drag
/// of half a millimetre would not show; narrower, and the tails of letters would decide.
const CENTRED: f64 = 0.3;

/// So many pockets must be centred one way, and at most a quarter of them the other way, before that
/// alone tells what happened.
const TELLING: usize = 3;

/// How well art fits one set of pockets.
#[derive(Debug, Default)]
struct Fit {
    /// Pieces of art.
    all: usize,
    /// Those within their zones, the right way up as far as they say it themselves.
    within: usize,
    /// Pockets whose art is centred across and along the head.
    centred: [usize; 2],
}

/// Compares the two. `enrolled` and `displaced` are the art as the pockets of either hold it.
pub(super) fn judge(
    marks: &IdVec<MarkId, Mark>,
    operations: &IdVec<MarkId, Operation>,
    enrolled: (&IdVec<ArtId, Art<'_>>, &IdVec<PocketId, Pocket>),
    displaced: (&IdVec<ArtId, Art<'_>>, &IdVec<PocketId, Pocket>),
) -> Company {
    let stay = fit(marks, operations, enrolled);
    let go = fit(marks, operations, displaced);
    if stay.all == 0 && go.all == 0 {
        return Company::Went;
    }
    // A piece that lies in no pocket of one set may be in several of the other: shares are compared.
    let share = |f: &Fit| f.within as f64 / f.all.max(1) as f64;
    if share(&stay) == 1.0 && share(&go) < 1.0 {
        return Company::Stayed;
    }
    if share(&go) == 1.0 && share(&stay) < 1.0 {
        return Company::Went;
    }
    let centred = |a: &Fit, b: &Fit| {
        let tells = |axis: usize| {
            let (a, b) = (*a.centred.at(axis), *b.centred.at(axis));
            a >= TELLING && 4 * b <= a
        };
        tells(0) || tells(1)
    };
    match (centred(&stay, &go), centred(&go, &stay)) {
        (true, false) if share(&stay) >= share(&go) => return Company::Stayed,
        (false, true) if share(&go) >= share(&stay) => return Company::Went,
        _ => {}
    }
    let weight = |f: &Fit| (share(f), *f.centred.at(0) + *f.centred.at(1));
    if weight(&stay) > weight(&go) {
        Company::LikelyStayed
    } else {
        Company::LikelyWent
    }
}

fn fit(
    marks: &IdVec<MarkId, Mark>,
    operations: &IdVec<MarkId, Operation>,
    (art, pockets): (&IdVec<ArtId, Art<'_>>, &IdVec<PocketId, Pocket>),
) -> Fit {
    let mut fit = Fit::default();
    let mut boxes: IdVec<PocketId, Option<Rect>> = pockets.each(None);
    for piece in art {
        if operations[piece.mark] == Operation::Cut {
            continue;
        }
        fit.all += 1;
        let Some(number) = piece.pocket else {
            continue;
        };
        let pocket = &pockets[number];
        let slot = &mut boxes[number];
        *slot = Some(slot.map_or(piece.reach, |r: Rect| r.union(piece.reach)));
        let inside = pocket.zone.contains_rect(piece.reach)
            || overhang(piece.ink(), &pocket.zone, ROUNDING).is_none();
        let upright = says_up(&marks[piece.mark]).is_none_or(|(up, mirrored)| {
            between(pocket.tops, up).abs() <= 45.0 && mirrored == pocket.settings.mirrored
        });
        fit.within += usize::from(inside && upright);
    }
    for (pocket, own) in pockets.iter().zip(&boxes) {
        let (Some(own), Some(zone)) = (own, pocket.zone.bounds()) else {
            continue;
        };
        let off = own.center() - zone.center();
        let side = Vec2::new(-pocket.head.y, pocket.head.x);
        for (count, axis) in fit.centred.iter_mut().zip([side, pocket.head]) {
            *count += usize::from(off.dot(axis).abs() <= CENTRED);
        }
    }
    fit
}

/// Where a mark has its top and whether it is mirrored, where it says so itself.
fn says_up(mark: &Mark) -> Option<(Vec2, bool)> {
    let (up, mirrored) = match &mark.content {
        Content::Lettering(l) => {
            let up = l.letters.iter().fold(Vec2::ZERO, |s, l| s + l.up);
            (up, l.letters.iter().any(|l| l.mirrored))
        }
        Content::Picture(p) => (p.up(), p.mirrored()),
        Content::Shape => return None,
    };
    (up.hypot() > 0.5).then(|| (up.normalize(), mirrored))
}
