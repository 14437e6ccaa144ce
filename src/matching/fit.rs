//! At what size would art fit its zone, on one line or on two?

use kurbo::{Affine, BezPath, Point, Vec2};

use super::art::Art;
use super::evidence::between;
use super::pocket_text::spaced_letters;
use super::text_line::reading_direction;
use crate::artwork::mark::{Letter, Lettering, Mark};
use crate::geometry::bed_words::side;
use crate::geometry::overhang::overhang;
use crate::geometry::region::Region;

/// Reaching past by less than this, in millimetres, is the rounding of curves: a name set flush with
/// its zone must not be held for the last digit of a file.
pub(crate) const ROUNDING: f64 = 0.02;

/// From one baseline to the next, in ems: CSS 2.1, section 10.8.1, suggests 1.0 to 1.2 for a normal
/// line height; the larger needs more room, so that what is suggested fits.
const LINE: f64 = 1.2;

/// Lettering whose letters lean apart by more than this, in degrees, is along a curve, and is not
/// broken into lines.
const STRAIGHT: f64 = 1.0;

/// Lettering broken into two lines.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TwoLines {
    /// What stands on the first line.
    pub first: String,
    /// What stands on the second.
    pub second: String,
    /// The largest size that fits, as a share of the present one; 1 at most.
    pub scale: f64,
    /// The middles of their baselines, set in the present size where the text stands.
    pub baselines: [Point; 2],
    /// The middle of their ink, set so.
    pub middle: Point,
}

/// The largest size, as a share of the present one and 1 at most, at which `ink` fits in the middle
/// of `zone`; 0 where nothing fits.
///
/// Halving between sizes that fit and that do not: twelve steps find it to a thousandth.
pub(crate) fn largest(ink: &Region, zone: &Region) -> f64 {
    let (Some(art), Some(room)) = (ink.bounds(), zone.bounds()) else {
        return 0.0;
    };
    let fits = |scale: f64| {
        let motion = Affine::translate(room.center().to_vec2())
            * Affine::scale(scale)
            * Affine::translate(-art.center().to_vec2());
        overhang(&moved(ink, motion), zone, ROUNDING).is_none()
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

/// A region carried by a motion without a flip.
pub(crate) fn moved(region: &Region, motion: Affine) -> Region {
    Region {
        rings: region
            .rings
            .iter()
            .map(|ring| ring.iter().map(|p| motion * *p).collect())
            .collect(),
    }
}

/// The letters of a piece of art that reach past one side of `zone` (as [`side`] calls it), in reading
/// order, each with its place among all of them. Of a name that is too long for its zone, those at the
/// other end are past another side.
pub(crate) fn letters_past<'a>(
    mark: &Mark,
    lettering: &'a Lettering,
    art: &Art<'_>,
    zone: &Region,
    past: &str,
) -> Vec<(usize, &'a Letter)> {
    let edges = zone.indexed();
    let beyond = |p: &Point| {
        edges
            .nearest_point(*p)
            .is_some_and(|(away, nearest)| away > ROUNDING && side(*p - nearest) == past)
    };
    spaced_letters(lettering, art)
        .into_iter()
        .enumerate()
        .filter(|(_, (_, l))| {
            overhang(&mark.ink_of(&l.path), zone, ROUNDING)
                .is_some_and(|over| over.outside.rings.iter().flatten().any(beyond))
        })
        .map(|(i, (_, l))| (i, l))
        .collect()
}

/// The break at a space that leaves the largest lettering; `None` without a space, and for lettering
/// along a curve.
pub(crate) fn two_lines(
    mark: &Mark,
    lettering: &Lettering,
    art: &Art<'_>,
    zone: &Region,
) -> Option<TwoLines> {
    let letters = spaced_letters(lettering, art);
    let (_, lead) = letters.first()?;
    if letters
        .iter()
        .any(|(_, l)| between(lead.up, l.up).abs() > STRAIGHT || l.mirrored != lead.mirrored)
    {
        return None;
    }
    let across = reading_direction(lead.up, lead.mirrored);
    let size = letters.iter().map(|(_, l)| l.size).fold(0.0, f64::max);
    let mut best: Option<TwoLines> = None;
    for (at, _) in letters.iter().enumerate().filter(|(i, l)| *i > 0 && l.0) {
        let (first, second) = letters.split_at(at);
        let (above, below) = (ink(mark, first), ink(mark, second));
        let middles = (middle(&above, across)?, middle(&below, across)?);
        let shift = lead.up * (-LINE * size) + across * (middles.0 - middles.1);
        let mut both = above;
        both.rings
            .extend(moved(&below, Affine::translate(shift)).rings);
        let scale = largest(&both, zone);
        if best.as_ref().is_none_or(|b| scale > b.scale) {
            // Both lines are one below the other: the middle of one is that of the other.
            let along = middles.0 - lead.foot.to_vec2().dot(across);
            let baseline = lead.foot + across * along;
            best = Some(TwoLines {
                first: text(first),
                second: text(second),
                scale,
                baselines: [baseline, baseline - lead.up * (LINE * size)],
                middle: both.bounds()?.center(),
            });
        }
    }
    best
}

fn ink(mark: &Mark, letters: &[(bool, &Letter)]) -> Region {
    let mut path = BezPath::new();
    for (_, letter) in letters {
        path.extend(letter.path.elements().iter().copied());
    }
    mark.ink_of(&path)
}

/// Where the middle of some ink lies in a direction.
fn middle(ink: &Region, across: Vec2) -> Option<f64> {
    let along = |p: &Point| p.to_vec2().dot(across);
    let mut all = ink.rings.iter().flatten().map(along);
    let first = all.next()?;
    let (low, high) = all.fold((first, first), |(l, h), v| (l.min(v), h.max(v)));
    Some(f64::midpoint(low, high))
}

fn text(letters: &[(bool, &Letter)]) -> String {
    let mut out = String::new();
    for (space, letter) in letters {
        if *space && !out.is_empty() {
            out.push(' ');
        }
        out.push_str(&letter.text);
    }
    out
}
