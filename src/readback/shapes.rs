//! Outlined lettering in a face that is not at hand, judged by the shapes of its letters.
//!
//! The network ([`super::letter_shape`]) was taught on lettering and nothing else; shown a bee it
//! would answer too. So only ink that is built like a word is judged: at least four parts in a row,
//! of comparable height, not all the same shape. And an answer counts only where the odds are as good
//! as the measured thresholds ask ([`super::letter_verdict`]); silence says nothing.

use std::sync::LazyLock;

use kurbo::{Point, Rect};

use super::letter_raster::{Line, Ring, letters};
use super::letter_shape::{Lay, Model};
use super::letter_verdict::{common, half_turned, lay, odd_ones_out};
use super::pieces::{Piece, pieces};
use crate::geometry::region::Region;

/// A word of outlined art, as far as its shapes tell how it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeWord {
    /// Natural log-odds of the eight ways it may lie, in the order of [`Lay::ALL`].
    pub odds: [f64; 8],
    /// Its box on the bed.
    pub bounds: Rect,
    /// How many parts in a row it has: letters, mostly.
    pub letters: usize,
}

/// The trained weights; see `tests/training/`.
static MODEL: LazyLock<Option<Model>> =
    LazyLock::new(|| Model::from_bytes(include_bytes!("letter_shape.weights")));

/// Fewest parts in a row: shorter words were not measured.
const FEWEST: usize = 4;

/// Most parts in a row: longer lines are traced art, or take long and add nothing.
const MOST: usize = 40;

/// How many times higher the highest part may be than the middle one: a capital over small letters
/// is about 1.5 times as high, one with an accent twice (common practice, no source).
const HEIGHTS: f64 = 2.6;

/// A word is at least this many times as long as high.
const LONG: f64 = 1.3;

/// Different shapes that a word must have: four equal leaves are a garland.
const DIFFERENT: usize = 3;

/// Looks at the ink of one pocket; `None` where it is not built like a word.
pub fn look(ink: &Region) -> Option<ShapeWord> {
    let parts = pieces(ink);
    let bounds = ink.bounds()?;
    let rings: Vec<Ring> = ink
        .rings
        .iter()
        .map(|ring| ring.iter().map(|p: &Point| [p.x, p.y]).collect())
        .collect();
    let line = if bounds.width() >= bounds.height() {
        Line::Across
    } else {
        Line::Down
    };
    let (long, high) = match line {
        Line::Across => (bounds.width(), bounds.height()),
        Line::Down => (bounds.height(), bounds.width()),
    };
    let word = letters(&rings, line);
    if !(FEWEST..=MOST).contains(&word.len()) || long < LONG * high || !like_letters(&parts, line) {
        return None;
    }
    let odds = MODEL.as_ref()?.judge(&word);
    odds.iter().all(|o| o.is_finite()).then_some(ShapeWord {
        odds,
        bounds,
        letters: word.len(),
    })
}

/// Whether parts have the heights and the variety of letters.
fn like_letters(parts: &[Piece], line: Line) -> bool {
    let height = |p: &Piece| {
        if line == Line::Across {
            p.bounds.height()
        } else {
            p.bounds.width()
        }
    };
    let mut heights: Vec<f64> = parts.iter().map(height).collect();
    heights.sort_by(f64::total_cmp);
    let (Some(middle), Some(highest)) = (heights.get(heights.len() / 2), heights.last()) else {
        return false;
    };
    let mut kinds: Vec<&Piece> = Vec::new();
    for part in parts {
        let known = kinds.iter().any(|k| {
            k.holes == part.holes
                && k.signature
                    .iter()
                    .zip(&part.signature)
                    .all(|(a, b)| (a - b).abs() < 0.03)
        });
        if !known {
            kinds.push(part);
        }
    }
    *highest <= HEIGHTS * middle && kinds.len() >= DIFFERENT
}

impl ShapeWord {
    /// How the word lies by itself, if its shapes tell: among all eight ways, or, where it can only
    /// lie upright or half turned on its line, between those two.
    pub fn lies(&self) -> Option<Lay> {
        lay(&self.odds).or_else(|| {
            let turned = half_turned(&self.odds)?;
            let best = self.odds.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let of_two = if turned {
                self.odds.get(4)
            } else {
                self.odds.first()
            }
            .copied()?;
            // Only where no other way is more likely than the better of the two.
            (of_two >= best).then_some(Lay {
                quarters: if turned { 2 } else { 0 },
                mirrored: false,
            })
        })
    }
}

/// What the other words of a batch make of one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BySiblings {
    /// How it lies as against them, where it is the odd one out.
    pub odd: Option<Lay>,
    /// How they lie, where they are of one mind.
    pub common: Option<Lay>,
}

impl ShapeWord {
    /// How the word lies, its siblings heard: against siblings of one mind its own word is not enough.
    pub fn lies_among(&self, siblings: BySiblings) -> Option<Lay> {
        siblings.odd.or_else(|| {
            self.lies()
                .filter(|own| siblings.common.is_none_or(|c| c == *own))
        })
    }
}

/// Words of one batch against each other.
pub fn by_siblings(words: &[Option<ShapeWord>]) -> Vec<BySiblings> {
    let mut out = vec![BySiblings::default(); words.len()];
    let judged: Vec<(usize, [f64; 8])> = words
        .iter()
        .enumerate()
        .filter_map(|(i, w)| w.as_ref().map(|w| (i, w.odds)))
        .collect();
    let odds: Vec<[f64; 8]> = judged.iter().map(|(_, o)| *o).collect();
    let verdicts = odd_ones_out(&odds).into_iter().zip(common(&odds));
    for ((index, _), (odd, common)) in judged.iter().zip(verdicts) {
        if let Some(slot) = out.get_mut(*index) {
            *slot = BySiblings { odd, common };
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use kurbo::{Affine, Shape as _};

    use super::*;

    #[test]
    fn the_weights_are_whole() {
        assert!(MODEL.is_some());
    }

    #[test]
    fn a_row_of_equal_leaves_is_no_word() {
        let mut ink = Region::default();
        for n in 0..6 {
            let leaf = Affine::translate((f64::from(n) * 6.0, 0.0))
                * kurbo::Ellipse::new((0.0, 0.0), (2.0, 4.0), 0.3).to_path(1e-3);
            ink = ink.unite(&Region::from_path(&leaf, false, 1e-3));
        }
        assert_eq!(look(&ink), None);
    }
}
