//! Outlined lettering in a face that is not at hand, judged by the shapes of its letters.
//!
//! The network ([`super::letter_shape`]) was taught on lettering and nothing else; shown a bee it
//! would answer too. So only ink that is built like a word is judged: at least three parts in a row,
//! of comparable height, not all the same shape. And an answer counts only where the odds are as good
//! as the measured thresholds ask ([`super::letter_verdict`]); silence says nothing.

use std::sync::LazyLock;

use kurbo::{Point, Rect};

use super::Reading;
use super::letter_groups::two_groups;
use super::letter_raster::{Axis, LetterShape, Ring, letters};
use super::letter_shape::Model;
use super::letter_siblings::{SiblingVerdict, Word, against};
use super::letter_verdict::{common, half_turned, odd_ones_out, orientation, sum};
use super::orientation::{Lays, Odds, Orientation, alone};
use super::pieces::{Piece, pieces};
use super::signs::Signs;
use super::twins::all_have_twins;
use crate::geometry::region::Region;

/// A word of outlined art, as far as its shapes tell how it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeWord {
    /// Natural log-odds of the eight ways it may lie.
    pub odds: Odds,
    /// Its box on the bed.
    pub bounds: Rect,
    /// How many parts in a row it has: letters, mostly.
    pub letters: usize,
    /// Whether it is built like a word. What is not is only heard among its siblings, and only with
    /// letters that it shares with them.
    pub built: bool,
    /// What its signs are, one by one.
    pub signs: Option<Signs>,
    /// Whether it may be a word of another script, seen in a mirror.
    pub twin: bool,
}

/// The trained weights; see `tests/training/`.
static MODEL: LazyLock<Option<Model>> =
    LazyLock::new(|| Model::from_bytes(include_bytes!("letter_shape.weights")));

/// Fewest parts in a row for a word to be looked at.
const FEWEST: usize = 3;

/// Fewest for it to be judged by itself: shorter ones were not measured, and are only heard among
/// their siblings.
const FEWEST_ALONE: usize = 4;

/// Most parts in a row: longer lines are traced art, or take long and add nothing.
const MOST: usize = 40;

/// How many times higher the highest part may be than the middle one: a capital over small letters
/// is about 1.5 times as high, one with an accent twice (common practice, no source).
const HEIGHTS: f64 = 2.6;

/// A word is at least this many times as long as high.
const LONG: f64 = 1.3;

/// So many pockets must hold what is built like a word for the rest to be taken for one too.
pub(super) const WORDS_ENOUGH: usize = 3;

/// What is to be a word among words is at least this many times as long as high: "il" in a narrow face.
const LONG_AMONG_WORDS: f64 = 0.6;

/// Different shapes that a word must have: four equal leaves are a garland. One of three letters may
/// have two (Eve).
const DIFFERENT: usize = 3;

/// Looks at the ink of one pocket; `None` where it is not built like a word.
pub fn look(ink: &Region) -> Option<ShapeWord> {
    look_at(ink, &pieces(ink), &[], &Region::default())
}

/// As [`look`], with the pieces of the ink already at hand, and its letters as they were drawn, and the
/// subpaths of those: of script that is joined, they show that it is a word.
pub(super) fn look_at(
    ink: &Region,
    parts: &[Piece],
    drawn: &[Piece],
    subpaths: &Region,
) -> Option<ShapeWord> {
    let bounds = ink.bounds()?;
    let line = if bounds.width() >= bounds.height() {
        Axis::Across
    } else {
        Axis::Down
    };
    let (long, high) = extent(bounds, line);
    let word = letters(&rings(ink), line);
    let (parts, count) = if word.len() < FEWEST && drawn.len() > word.len() {
        (drawn, drawn.len())
    } else {
        (parts, word.len())
    };
    if !(FEWEST..=MOST).contains(&count) || long < LONG * high || !like_letters(parts, line) {
        return None;
    }
    let judged = judge(&word, bounds, count, true)?;
    if drawn.len() <= word.len() {
        return Some(judged);
    }
    // Letters that touch are one sign of the ink, and signs of their own as they were drawn.
    let apart = letters(&rings(subpaths), line);
    Some(ShapeWord {
        signs: Signs::of(&apart),
        twin: all_have_twins(&apart),
        ..judged
    })
}

/// As [`look`], for ink that is not built like a word in a batch of others that are: script whose
/// letters are joined, a short name in a narrow face, letters of many bits.
pub(super) fn look_among_words(ink: &Region) -> Option<ShapeWord> {
    let bounds = ink.bounds()?;
    let (long, high) = extent(bounds, Axis::Across);
    // Its line is not told by its box; names of a batch mostly lie along their zones.
    if long < LONG_AMONG_WORDS * high {
        return None;
    }
    let word = letters(&rings(ink), Axis::Across);
    if word.len() > MOST {
        return None;
    }
    judge(&word, bounds, word.len(), false)
}

fn judge(word: &[LetterShape], bounds: Rect, letters: usize, built: bool) -> Option<ShapeWord> {
    let odds = MODEL.as_ref()?.judge(word);
    odds.0.iter().all(|o| o.is_finite()).then_some(ShapeWord {
        odds,
        bounds,
        letters,
        built,
        signs: Signs::of(word),
        twin: all_have_twins(word),
    })
}

fn rings(ink: &Region) -> Vec<Ring> {
    ink.rings
        .iter()
        .map(|ring| ring.iter().map(|p: &Point| [p.x, p.y]).collect())
        .collect()
}

/// Length along a line, and height across it.
fn extent(bounds: Rect, line: Axis) -> (f64, f64) {
    match line {
        Axis::Across => (bounds.width(), bounds.height()),
        Axis::Down => (bounds.height(), bounds.width()),
    }
}

/// Whether parts have the heights and the variety of letters.
fn like_letters(parts: &[Piece], line: Axis) -> bool {
    let height = |p: &Piece| {
        if line == Axis::Across {
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
    *highest <= HEIGHTS * middle && kinds.len() >= DIFFERENT.min(parts.len() - 1)
}

impl ShapeWord {
    /// How the word lies by itself, if its shapes tell: among all eight ways, or, where it can only
    /// lie upright or half turned on its line, between those two.
    pub fn lies(&self) -> Option<Orientation> {
        if !self.built || self.letters < FEWEST_ALONE {
            return None;
        }
        let told = orientation(&self.odds).or_else(|| {
            let of_two = if half_turned(&self.odds)? {
                Orientation::HALF_TURNED
            } else {
                UPRIGHT
            };
            // Only where no other way is more likely than the better of the two.
            (self.odds[of_two] >= self.odds.most()).then_some(of_two)
        });
        // The network answers whatever it is shown: the word's signs must bear it out.
        told.filter(|l| self.signs.as_ref().is_some_and(|s| s.bear_out(*l)))
    }

    /// Whether all its letters are letters again in another orientation, so that it says nothing of itself.
    fn reads_again(&self, turn: Orientation) -> bool {
        self.signs
            .as_ref()
            .is_some_and(|s| s.read_both(UPRIGHT, turn))
    }

    /// The orientations in which it reads again, or may: all where its letters cannot be told apart.
    fn again(&self) -> Lays {
        if self.signs.is_none() {
            return Lays::MAX;
        }
        let others = Orientation::ALL.into_iter().filter(|l| *l != UPRIGHT);
        others
            .filter(|l| self.reads_again(*l))
            .fold(0, |all, l| all | alone(l))
    }

    /// Whether it is Latin lettering, as far as its letters can be told apart.
    fn lettering(&self) -> bool {
        self.signs.as_ref().is_some_and(Signs::lettering)
    }
}

/// What the other words of a batch make of one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BySiblings {
    /// How it lies as against them by its letters.
    pub letters: SiblingVerdict,
    /// How it lies as against them by the network's odds, where it is the odd one out.
    pub odd: Option<Orientation>,
    /// How they lie, where their odds are of one mind.
    pub common: Option<Orientation>,
    /// How they lie if they must be of one mind.
    pub leaning: Option<Orientation>,
    /// Whether most words of the batch are of letters that the network does not know.
    pub strange: bool,
    /// Where the batch is of two minds: on which side the word is, and how the second side lies as seen
    /// from the first.
    pub side: Option<(bool, Orientation)>,
}

impl BySiblings {
    /// How a word lies, itself and its siblings heard.
    ///
    /// Letters that are known from the siblings are the better witness: they decide whether it lies
    /// as the siblings do. Where they do not tell, the network's odds are compared, and against
    /// siblings of one mind a word's own odds are not enough.
    ///
    /// A pocket of several rows lies right only if each of them does.
    pub fn lies(self, word: Option<&ShapeWord>) -> Option<Orientation> {
        let whole = |lies: &Orientation| *lies != UPRIGHT || !self.letters.rows_in_doubt;
        self.longest_row(word).filter(whole)
    }

    fn longest_row(self, word: Option<&ShapeWord>) -> Option<Orientation> {
        // What lies this way and that is no lettering, and a word that the network knows among those that
        // it does not is known by chance.
        // Where the others are Latin words that stand upright, so is one that could be another script's.
        let twin = |lies: &Orientation| {
            word.is_some_and(|w| w.twin)
                && (lies.mirrored || *lies == UPRIGHT && self.common != Some(UPRIGHT))
        };
        let own = word
            .and_then(ShapeWord::lies)
            .filter(|lies| !self.strange && !twin(lies));
        match self.letters.orientation {
            Some(UPRIGHT) => match self.common {
                Some(UPRIGHT) => own.is_none_or(|o| o == UPRIGHT).then_some(UPRIGHT),
                Some(common) => own.filter(|o| *o == common),
                None => own.filter(|o| Some(*o) == self.leaning),
            },
            Some(turn) if twin(&turn) => None,
            // All others lie wrong, and say so themselves.
            Some(turn) if self.common.is_some_and(|c| c.then(turn) == UPRIGHT) => own,
            // Of two groups of which one is wrong the letters do not tell which.
            Some(_) if self.side.is_some() => own,
            Some(turn) => Some(turn),
            // The odds alone: not against what the letters lean to, be it ever so little. A turned word
            // was told as lying right by its odds while three of its letters said otherwise.
            None => self
                .odd
                .filter(|_| !self.strange)
                .filter(|odd| self.letters.leaning.is_none_or(|l| l == *odd))
                .filter(|odd| !twin(odd) && word.is_some_and(|w| !w.reads_again(*odd)))
                .or_else(|| {
                    if self.leaning.is_none() {
                        return own;
                    }
                    // Words of one batch lie one way.
                    let doubted = self.letters.leaning.is_some_and(|l| l != UPRIGHT);
                    own.filter(|o| self.common == Some(*o) && !doubted)
                }),
        }
    }
}

const UPRIGHT: Orientation = Orientation::UPRIGHT;

/// Words of one batch against each other: what the network makes of each, and its letters.
pub fn by_siblings(readings: &[Reading]) -> Vec<BySiblings> {
    // How the batch lies is told by what is built like words.
    let built: Vec<Option<Odds>> = readings
        .iter()
        .map(|r| r.shapes.as_ref().filter(|w| w.built && w.lettering()))
        .map(|w| w.map(|w| w.odds))
        .collect();
    let odds: Vec<Odds> = built.iter().copied().flatten().collect();
    let mut odd = odd_ones_out(&odds).into_iter();
    let words = || readings.iter().filter_map(|r| r.shapes.as_ref());
    let built_like_words = words().filter(|w| w.built).count();
    // A word that is ornate, or has a letter that is not known, is lettering where most others are.
    let lettering = 2 * odds.len() > built_like_words;
    let batch: Vec<Word<'_>> = readings
        .iter()
        .zip(&built)
        .map(|(reading, built)| {
            let word = reading.shapes.as_ref();
            Word {
                letters: &reading.letters,
                signs: word.and_then(|w| w.signs.as_ref()).filter(|_| lettering),
                odds: word.filter(|w| lettering || w.lettering()).map(|w| w.odds),
                heard: built.is_some(),
                again: word.map_or(Lays::MAX, ShapeWord::again),
                rows: &reading.rows,
                asked: word.map(|w| w.bounds),
            }
        })
        .collect();
    let all = sum(&odds);
    // Of lettering, most words tell something by themselves; of rows of shapes, a few by chance.
    let told = words().filter(|w| w.lies().is_some()).count();
    let strange = 2 * told < built_like_words;
    let groups = two_groups(&batch.iter().map(|w| w.letters).collect::<Vec<_>>());
    let sides: Vec<Option<(bool, Orientation)>> = match groups {
        Some((sides, turn)) => sides.into_iter().map(|s| Some((s?, turn))).collect(),
        None => vec![None; batch.len()],
    };
    against(&batch)
        .into_iter()
        .zip(&built)
        .zip(sides)
        .map(|((letters, own), side)| {
            let mut others = all;
            for o in Orientation::ALL {
                others[o] -= own.unwrap_or_default()[o];
            }
            let asked = odds.len() - usize::from(own.is_some());
            // One other word is no batch: each would be the odd one out of the other.
            let (leaning, common) = (asked > 1).then(|| common(&others)).unzip();
            BySiblings {
                letters,
                odd: own.and_then(|_| odd.next().flatten()).filter(|_| asked > 1),
                common: common.flatten(),
                leaning,
                strange,
                side,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use kurbo::{Affine, Shape as _};

    use super::super::orientation::PerOrientation;
    use super::*;

    const HALF_TURNED: Orientation = Orientation::HALF_TURNED;

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

    #[test]
    fn what_is_not_built_like_a_word_is_looked_at_among_words() {
        // Two narrow letters that touch: higher than long, and one part.
        let d = "M0 0 V-9 H1 V-4 H3 V0 Z M2.8 0 V-2 H4 V-9 H5 V0 Z";
        let path = kurbo::BezPath::from_svg(d).unwrap();
        let ink = Region::from_path(&path, false, 1e-3);
        assert_eq!(look(&ink), None);
        let seen = look_among_words(&ink);
        assert!(seen.as_ref().is_none_or(|w| !w.built), "{seen:?}");
        let long =
            kurbo::BezPath::from_svg("M0 0 V-9 H1 V-4 H3 V0 Z M2.8 0 V-2 H6 V-9 H7 V0 Z").unwrap();
        let seen = look_among_words(&Region::from_path(&long, false, 1e-3)).unwrap();
        assert!(!seen.built && seen.lies().is_none(), "{seen:?}");
    }

    /// Of rows of shapes the network knows one, upside down, by chance.
    #[test]
    fn what_looks_like_a_word_among_what_does_not_decides_nothing() {
        let word = |k: Orientation, sure: f64| {
            let mut odds = PerOrientation([-sure; 8]);
            odds[k] = 0.0;
            Reading {
                shapes: Some(ShapeWord {
                    odds,
                    bounds: Rect::new(0.0, 0.0, 9.0, 3.0),
                    letters: 5,
                    built: true,
                    signs: Some(Signs::surely(k)),
                    twin: false,
                }),
                ..Reading::default()
            }
        };
        let told = |readings: &[Reading]| {
            let first = by_siblings(readings).into_iter().next().unwrap();
            first.lies(readings.first().unwrap().shapes.as_ref())
        };
        let half = Some(HALF_TURNED);
        let odd = || word(HALF_TURNED, 9.0);
        assert_eq!(told(&[odd()]), half);
        // All of one batch lie so.
        assert_eq!(told(&[odd(), odd(), odd(), odd()]), half);
        assert_eq!(
            told(&[
                odd(),
                word(UPRIGHT, 2.0),
                word(Orientation::new(0, true), 2.0),
                word(HALF_TURNED, 2.0)
            ]),
            None
        );
        // And among rows that are built like words and of no letters.
        let mut hooks = word(UPRIGHT, 9.0);
        hooks.shapes.as_mut().unwrap().signs = Some(Signs::of_no_letters());
        assert_eq!(told(&[odd(), hooks.clone(), hooks]), None);
    }

    #[test]
    fn where_two_groups_lie_opposite_their_letters_blame_neither() {
        use super::super::letter_kinds::Seen;
        let word = |lays| Reading {
            letters: (0..8).map(|kind| Seen::somewhere(kind, lays)).collect(),
            ..Reading::default()
        };
        let words = |turned: usize| -> Vec<Option<Orientation>> {
            let readings: Vec<Reading> = (0..10)
                .map(|n| word(alone(if n < turned { HALF_TURNED } else { UPRIGHT })))
                .collect();
            let told = by_siblings(&readings);
            told.iter().take(turned).map(|t| t.lies(None)).collect()
        };
        assert_eq!(words(4), [None; 4]);
        assert_eq!(words(1), [Some(HALF_TURNED)]);
    }

    #[test]
    fn ink_among_words_is_only_judged_with_letters_that_it_shares() {
        use super::super::letter_kinds::Seen;
        let odds = |k: Orientation| {
            let mut odds = PerOrientation([-9.0; 8]);
            odds[k] = 0.0;
            odds
        };
        let reading = |k: Orientation, built: bool, letters: Vec<Seen>| Reading {
            shapes: Some(ShapeWord {
                odds: odds(k),
                bounds: Rect::new(0.0, 0.0, 9.0, 3.0),
                letters: 4,
                built,
                signs: Some(Signs::surely(k)),
                twin: false,
            }),
            letters,
            ..Reading::default()
        };
        let upright = |kind: usize| Seen::somewhere(kind, 1);
        let words = || (0..4).map(|_| reading(UPRIGHT, true, vec![upright(0), upright(1)]));
        let told = |odd: Reading| {
            let readings: Vec<Reading> = words().chain([odd]).collect();
            let told = by_siblings(&readings);
            told.last()
                .copied()
                .unwrap()
                .lies(readings.last().unwrap().shapes.as_ref())
        };
        let half = Some(HALF_TURNED);
        let turned = |kind: usize| Seen::somewhere(kind, 1 << 4);
        // A joined name with an a that all others have, upside down, as it looks to the network.
        assert_eq!(told(reading(HALF_TURNED, false, vec![turned(0)])), half);
        // An ornament that the network takes for lettering upside down.
        assert_eq!(told(reading(HALF_TURNED, false, vec![upright(7)])), None);
        assert_eq!(told(reading(HALF_TURNED, false, Vec::new())), None);
        // The same, built like a word.
        assert_eq!(told(reading(HALF_TURNED, true, vec![upright(7)])), half);
    }
}
