//! How a word looks beside others of its batch: for one whose letters cannot be told apart, as they are joined,
//! welded or hatched, or are too few.
//!
//! Words of one batch are mostly of one face. Laid as they are, a word has strokes of their slant and weight, and
//! what letters it shares with them. So it is laid upright from each way in which it may lie, and cut into patches
//! about as wide as a letter. Each patch is looked for in the grey pictures of words that are told, laid upright: at
//! whatever size and height, but at the same for all patches of a word, as a word is set in one size on one line.
//! A patch is as like a place as the coefficient of correlation of their cells says, −1 to 1.
//!
//! That is a witness of its own beside the network, which never saw the face: over 645 words of validation runs the
//! best of four ways was the right one in 92 of 100. It is heard where nothing else tells, with all else that is known
//! ([`super::witnesses`]).

use std::cell::LazyCell;
use std::sync::Arc;

use kurbo::Point;

use super::by_shape::ShapeWord;
use super::letter_raster::{Ring, Strip, grey};
use super::orientation::{Odds, Orientation, PerOrientation};
use crate::abandon;
use crate::geometry::region::Region;
use crate::remembered::{Key, Remembered};

/// Rows of a word's picture. More, and hatched letters show their lines; fewer, and letters run together.
const ROWS: usize = 14;

/// Columns of a patch: a letter is half as wide as its word is high, or a little more.
const WIDE: usize = 8;

/// Columns from one patch to the next, and of how many patches one is looked for at every size and height.
const APART: usize = 3;
const SOME: usize = 3;

/// Sizes against each other: an octave and a sixth either way, in sixths of one. "mane" is half as high as "Lily".
const SIZES: std::ops::RangeInclusive<i32> = -7..=7;
const OCTAVE: f64 = 6.0;

/// What differs less from its mean, as the root of the sum over all cells, is taken to differ by so much: a patch
/// with hardly any ink is like everything.
const FLAT: f32 = 1.0;

/// A word that is longer, for its height, is not looked at: its picture would be large.
const LONGEST: f64 = 20.0;

/// What lies so is at least this many times as long as high.
const SHORTEST: f64 = 0.6;

/// So many others are looked at, and of each patch the likeness in so many counts. With one, a word is like another by
/// chance; with more, a letter that two of them have does not count.
const OTHERS: usize = 6;
const BEST: usize = 2;

/// Fewer others are not enough: a sound word was most like three, in a mirror, by chance.
const FEWEST: usize = 4;

/// What likeness adds to the natural log-odds of an orientation, for a coefficient that is greater by one: 80 fit
/// the validation runs best, and words that are most alike by chance want less.
pub(super) const WEIGHT: f64 = 50.0;

/// A word that is so much more like the others in one orientation than in any other is lettering of theirs, and lies so. Of
/// 7,000 names in faces not learnt from that lay right none was more like them otherwise by this, and 78 in 100 are as
/// they lie; of 632 rows of shapes among names none came to it in any orientation (hooks to 0.099), and of 163 names that read
/// two ways and lay wrong none otherwise than it lay (0.09). Lower, and hooks are lettering; higher, and hatched names stay open.
const SURELY: f64 = 0.1;

/// By orientation of a word, how like each of its patches is to some place of another, 0 to 1.
pub(crate) type ByWay = PerOrientation<Vec<f32>>;

/// A word that lies as is said.
pub(super) type Laid<'a> = (&'a Region, Orientation);

/// How a word lies that looks like others of its batch so, and much less like them in any other way.
pub(super) fn surely(looks: &Odds) -> Option<Orientation> {
    let (best, ahead) = looks.leader();
    (ahead >= SURELY).then_some(best)
}

/// How like a word is to those `told` that are nearest in the order of the pockets, if it lies in each of the
/// orientations: the mean coefficient of correlation, 0 to 1, and −∞ for lying across its line. `None` where too few
/// are told.
pub(super) fn near(
    i: usize,
    word: &ShapeWord,
    told: &[Option<Laid<'_>>],
    known: &Remembered<ByWay>,
) -> Option<Odds> {
    let mut others: Vec<(usize, Laid<'_>)> = told
        .iter()
        .enumerate()
        .filter_map(|(j, laid)| Some((i.abs_diff(j), (*laid)?)))
        .collect();
    others.sort_by_key(|(apart, _)| *apart);
    let others: Vec<Laid<'_>> = others.into_iter().map(|(_, l)| l).take(OTHERS).collect();
    if others.len() < FEWEST {
        return None;
    }
    let key = |(ink, lies): &Laid<'_>| {
        let turned = f64::from(lies.quarters) + if lies.mirrored { 4.0 } else { 0.0 };
        Key::default().areas([&word.ink, *ink]).and(turned)
    };
    let ways = LazyCell::new(|| Orientation::ALL.map(|o| patches(&upright(&word.ink, o))));
    let each: Vec<Arc<ByWay>> = others
        .iter()
        .map(|other| known.of(key(other), || in_one(&ways, other)))
        .collect();
    Some(PerOrientation::each(|o| {
        mean_of_best(each.iter().map(|found| &found[o]))
    }))
}

/// How like each patch of a word, laid upright from each way in which it may lie, is to some place of another word: at
/// the size and height at which they are most like places together.
fn in_one(ways: &[Vec<Vec<f32>>; 8], (other, lies): &Laid<'_>) -> ByWay {
    abandon::ask();
    let rings = upright(other, *lies);
    let mut best: [(f32, Vec<f32>); 8] = Default::default();
    for size in SIZES {
        for row in places(&rings, size) {
            for (patches, best) in ways.iter().zip(&mut best) {
                let some = patches.iter().step_by(SOME);
                let all: f32 = some.map(|p| nearest(p, row.iter().step_by(2))).sum();
                if all > best.0 {
                    let each = patches.iter().map(|p| nearest(p, row.iter()));
                    *best = (all, each.collect());
                }
            }
        }
    }
    PerOrientation(best.map(|(_, each)| each))
}

/// Outlines laid upright that lie as `lies` says.
fn upright(ink: &Region, lies: Orientation) -> Vec<Ring> {
    let turn = Orientation::UPRIGHT.seen_from(lies);
    let side = if turn.mirrored { -1.0 } else { 1.0 };
    let laid = |p: &Point| {
        let quarter = |[x, y]: [f64; 2]| [-y, x];
        (0..turn.quarters).fold([side * p.x, p.y], |p, _| quarter(p))
    };
    let rings = ink.rings.iter();
    rings.map(|ring| ring.iter().map(laid).collect()).collect()
}

/// Cells of one patch, less their mean, to a sum of squares of one; `None` where there is hardly any ink.
fn even(cells: &[f32]) -> Option<Vec<f32>> {
    let mean = cells.iter().sum::<f32>() / cells.len() as f32;
    let cells: Vec<f32> = cells.iter().map(|c| c - mean).collect();
    let size = cells.iter().map(|c| c * c).sum::<f32>().sqrt();
    (size > FLAT).then(|| cells.iter().map(|c| c / size).collect())
}

/// The patch whose upper left cell is at this column and row, if the picture holds all of it.
fn cut(picture: &Strip, column: usize, row: usize) -> Option<Vec<f32>> {
    let rows = picture.cells.chunks(picture.width).skip(row).take(ROWS);
    let cells: Vec<f32> = rows
        .filter_map(|cells| cells.get(column..column + WIDE))
        .flatten()
        .copied()
        .collect();
    if cells.len() < ROWS * WIDE {
        return None;
    }
    even(&cells)
}

/// The patches of a word; none where it lies across its line.
fn patches(rings: &[Ring]) -> Vec<Vec<f32>> {
    let Some(picture) = grey(rings, ROWS, [0, WIDE / 2], SHORTEST..LONGEST) else {
        return Vec::new();
    };
    let columns = (0..picture.width).step_by(APART);
    columns.filter_map(|c| cut(&picture, c, 0)).collect()
}

/// The places of a word at one size, row by row.
fn places(rings: &[Ring], size: i32) -> Vec<Vec<Vec<f32>>> {
    let rows = (ROWS as f64 * (f64::from(size) / OCTAVE).exp2()).round() as usize;
    let Some(picture) = grey(rings, rows, [ROWS / 2, WIDE / 2], SHORTEST..LONGEST) else {
        return Vec::new();
    };
    let columns = || 0..=picture.width.saturating_sub(WIDE);
    (0..=rows)
        .map(|row| columns().filter_map(|c| cut(&picture, c, row)).collect())
        .collect()
}

/// How like a patch is to the place that is most like it, 0 where none is.
fn nearest<'r>(patch: &[f32], places: impl Iterator<Item = &'r Vec<f32>>) -> f32 {
    places
        .map(|place| product(patch, place))
        .fold(0.0, f32::max)
}

/// The sum of products, in lanes that a processor adds at once.
fn product(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0.0_f32; 8];
    for (a, b) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    sums.iter().sum()
}

/// Over all patches, the mean of their likeness in the others that are most like them; −∞ where there are none.
fn mean_of_best<'f>(found: impl Iterator<Item = &'f Vec<f32>>) -> f64 {
    let found: Vec<&Vec<f32>> = found.collect();
    let count = found.iter().map(|f| f.len()).max().unwrap_or_default();
    let best = |patch: usize| {
        let mut each: Vec<f32> = found.iter().filter_map(|f| f.get(patch).copied()).collect();
        each.sort_by(|a, b| b.total_cmp(a));
        each.iter().take(BEST).sum::<f32>() / BEST as f32
    };
    if count == 0 {
        return f64::NEG_INFINITY;
    }
    f64::from((0..count).map(best).sum::<f32>()) / count as f64
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use kurbo::{Affine, BezPath};

    use super::*;

    const UPRIGHT: Orientation = Orientation::UPRIGHT;

    /// Letters in one piece, joined by a bar that runs on: nothing tells them apart.
    fn joined(letters: &[&str]) -> BezPath {
        let mut all = BezPath::from_svg(&format!("M0 -1H{}V0H0Z", 8 * letters.len())).unwrap();
        for (n, letter) in letters.iter().enumerate() {
            let letter = BezPath::from_svg(letter).unwrap();
            all.extend(Affine::translate((8.0 * n as f64, 0.0)) * letter);
        }
        all
    }

    const F: &str = "M0 0V-10H6V-8H2V-6H5V-4H2V0Z";
    const L: &str = "M0 0V-10H2V-2H6V0Z";
    const R: &str = "M0 0V-10H6V-5H4L6 0H4L2 -5V0Z";
    const T: &str = "M2 0V-8H0V-10H6V-8H4V0Z";

    /// The motion that lays upright lettering as `lies` says.
    fn motion(lies: Orientation) -> Affine {
        let flip = Affine::scale_non_uniform(if lies.mirrored { -1.0 } else { 1.0 }, 1.0);
        Affine::rotate(std::f64::consts::FRAC_PI_2 * f64::from(lies.quarters)) * flip
    }

    fn ink(path: &BezPath, by: Affine) -> Region {
        Region::from_path(&(by * path.clone()), false, 1e-3)
    }

    fn alike(word: &Region, others: &[Laid<'_>]) -> Odds {
        let ways = Orientation::ALL.map(|o| patches(&upright(word, o)));
        let each: Vec<ByWay> = others.iter().map(|other| in_one(&ways, other)).collect();
        PerOrientation::each(|o| mean_of_best(each.iter().map(|found| &found[o])))
    }

    #[test]
    fn a_joined_word_is_most_like_others_of_its_face_as_it_lies() {
        let others = [[F, L, R, T, L], [T, R, F, L, F], [L, F, T, R, R]].map(|w| joined(&w));
        let word = joined(&[R, F, L, T]);
        for lies in Orientation::ALL {
            // Whatever size they have, and whichever way the others are known to lie.
            let inks: Vec<(Region, Orientation)> = others
                .iter()
                .zip([UPRIGHT, Orientation::HALF_TURNED, Orientation::new(1, true)])
                .map(|(w, o)| (ink(w, motion(o)), o))
                .collect();
            let laid: Vec<Laid<'_>> = inks.iter().map(|(ink, o)| (ink, *o)).collect();
            let alike = alike(&ink(&word, motion(lies) * Affine::scale(0.6)), &laid);
            assert_eq!(alike.leader().0, lies, "{alike:?}");
        }
    }

    #[test]
    fn three_that_are_told_are_too_few() {
        let word = ShapeWord {
            odds: Odds::default(),
            known: 0.0,
            bounds: kurbo::Rect::ZERO,
            letters: 4,
            built: true,
            signs: None,
            twin: false,
            ink: ink(&joined(&[R, F, L, T]), Affine::IDENTITY),
        };
        let told = vec![Some((&word.ink, UPRIGHT)); 4];
        let near = |told: &[Option<Laid<'_>>]| near(0, &word, told, &Remembered::default());
        assert!(near(&told).is_some());
        assert!(near(told.split_at(1).1).is_none());
    }
}
