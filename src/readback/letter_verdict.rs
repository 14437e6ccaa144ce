//! When the odds of [`Model::judge`](super::letter_shape::Model::judge) are good enough to say
//! how a word lies: by itself, or against the other words of the same lettering.
//!
//! The figures were read off faces that the model had not learnt from, and then counted on others
//! again: `tests/training/REPORT.md`.

use super::letter_shape::Orientation;

/// Natural log-odds at which a word is said to lie upright or half turned, nothing else being
/// thought possible.
pub(crate) const HALF_TURN: f64 = 3.4;
/// Natural log-odds, against the next best, at which one of all eight lays is named.
pub(crate) const ANY_LAY: f64 = 4.3;
/// Siblings judge one of their number only if their summed log-odds put one lay this far ahead of
/// the next best.
pub(crate) const LEAD: f64 = 8.0;
/// A word is the odd one out when it puts another lay this far ahead of its siblings', times the
/// trust that its face deserves.
pub(crate) const PROTEST: f64 = 5.9;
/// What a sibling's log-odds count at most when a face's trust is worked out: a word that is told beyond
/// doubt is no sign that others are told badly. Higher, and capitals, half of them alike in a mirror and
/// the others not at all, make a face look uncertain; much lower, and a face that is looks certain.
const BEYOND_DOUBT: f64 = 12.0;
/// Added to the variance of the siblings' log-odds, which a dozen words do not tell well.
const UNSURE: f64 = 4.0;

/// Places of the upright and the half-turned lay in [`Orientation::ALL`].
const UPRIGHT_AND_HALF_TURNED: [usize; 2] = [0, 4];

/// Whether a word that cannot be mirrored, and whose line is known, lies half turned;
/// `None` when its shapes do not tell.
#[must_use]
pub(crate) fn half_turned(odds: &[f64; 8]) -> Option<bool> {
    let [upright, turned] = UPRIGHT_AND_HALF_TURNED.map(|k| odds.get(k).copied());
    let ahead = turned? - upright?;
    (ahead.abs() >= HALF_TURN).then_some(ahead > 0.0)
}

/// How a word lies; `None` when its shapes do not tell.
#[must_use]
pub(crate) fn orientation(odds: &[f64; 8]) -> Option<Orientation> {
    let (best, ahead) = leader(odds)?;
    if ahead >= ANY_LAY {
        Orientation::ALL.get(best).copied()
    } else {
        None
    }
}

/// For each word of a batch in one face, by what lay it differs from the others: `Some` for the
/// odd ones out, `None` for those that lie as the others do, or that cannot be judged.
///
/// The others' sum says how the lettering lies, right or wrong: in a face that the model misreads,
/// all words are misread alike, and still only the odd one differs.
#[must_use]
pub(crate) fn odd_ones_out(words: &[[f64; 8]]) -> Vec<Option<Orientation>> {
    (0..words.len()).map(|i| odd_one(words, i)).collect()
}

/// How a word's siblings lie by the sum of their odds, as far as they are of one mind: the lay that
/// they lean to, and the same again where it is far enough ahead.
///
/// What a word says by itself against them is wrong about once in a thousand words, which is one
/// sound pocket in every eighty batches of twelve: against siblings of one mind only
/// [`odd_ones_out`] and the letters count.
#[must_use]
pub(crate) fn common(siblings: &[f64; 8]) -> Option<(Orientation, Option<Orientation>)> {
    let (base, lead) = leader(siblings)?;
    let orientation = Orientation::ALL.get(base).copied()?;
    Some((orientation, Some(orientation).filter(|_| lead >= LEAD)))
}

/// The summed log-odds of words.
#[must_use]
pub(crate) fn sum(words: &[[f64; 8]]) -> [f64; 8] {
    let mut sum = [0.0; 8];
    for odds in words {
        add(&mut sum, odds);
    }
    sum
}

fn add(sum: &mut [f64; 8], odds: &[f64; 8]) {
    for (total, v) in sum.iter_mut().zip(odds) {
        *total += v;
    }
}

/// The summed log-odds of all words but one.
fn sum_but(words: &[[f64; 8]], i: usize) -> [f64; 8] {
    let mut sum = [0.0; 8];
    for (_, odds) in words.iter().enumerate().filter(|&(j, _)| j != i) {
        add(&mut sum, odds);
    }
    sum
}

fn odd_one(words: &[[f64; 8]], i: usize) -> Option<Orientation> {
    let own = words.get(i)?;
    let siblings = || {
        words
            .iter()
            .enumerate()
            .filter(|&(j, _)| j != i)
            .map(|(_, odds)| odds)
    };
    let (base, lead) = leader(&sum_but(words, i))?;
    let (best, _) = leader(own)?;
    let protest = own.get(best)? - own.get(base)?;
    let doubts: Vec<f64> = siblings()
        .filter_map(|odds| Some(odds.get(base)? - odds.get(best)?))
        .collect();
    if lead >= LEAD && protest * trust(&doubts) >= PROTEST {
        let (base, best) = (Orientation::ALL.get(base)?, Orientation::ALL.get(best)?);
        Orientation::ALL
            .into_iter()
            .find(|turn| base.then(*turn) == *best)
    } else {
        None
    }
}

/// How far one word of a batch is ahead in each lay of how its siblings lie, as natural log-odds
/// that are trusted as far as the face deserves; seen from the siblings, so that the first of
/// [`Orientation::ALL`] is to lie as they do. `None` where the siblings are not of one mind.
#[must_use]
pub(crate) fn against_siblings(own: &[f64; 8], siblings: &[[f64; 8]]) -> Option<[f64; 8]> {
    let (base, lead) = leader(&sum(siblings))?;
    if lead < LEAD {
        return None;
    }
    let common = Orientation::ALL.get(base)?;
    let mut out = [0.0; 8];
    for (turn, slot) in Orientation::ALL.into_iter().zip(&mut out) {
        let there = common.then(turn);
        let k = Orientation::ALL.iter().position(|l| *l == there)?;
        if k == base {
            continue;
        }
        let doubts: Vec<f64> = siblings
            .iter()
            .filter_map(|odds| Some(odds.get(base)? - odds.get(k)?))
            .collect();
        *slot = (own.get(k)? - own.get(base)?) * trust(&doubts);
    }
    Some(out)
}

impl Orientation {
    /// The lay of what lay as `self` and was then put through `turn`.
    #[must_use]
    pub const fn then(self, turn: Self) -> Self {
        let own = if turn.mirrored {
            4 - self.quarters
        } else {
            self.quarters
        };
        Self {
            quarters: (turn.quarters + own) % 4,
            mirrored: self.mirrored != turn.mirrored,
        }
    }
}

/// The best of `odds`, and how far it is ahead of the next best.
fn leader(odds: &[f64; 8]) -> Option<(usize, f64)> {
    let (best, _) = odds.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
    Some((best, ahead(odds, best)?))
}

/// How far state `k` is ahead of the best of the others; negative when it is not.
fn ahead(odds: &[f64; 8], k: usize) -> Option<f64> {
    let others = odds
        .iter()
        .enumerate()
        .filter(|&(j, _)| j != k)
        .map(|(_, &v)| v);
    Some(odds.get(k)? - others.fold(f64::NEG_INFINITY, f64::max))
}

/// What a protest is worth in a face, 0 to 1, by how the siblings' log-odds of the common lay
/// against the protested one scatter.
///
/// If they are normal with mean m and variance v, and would be with -m and v for words that lie in
/// the protested way, then a word with log-odds -p speaks for that way by 2 m p / v.
fn trust(log_odds: &[f64]) -> f64 {
    let count = log_odds.len() as f64;
    let counted = || log_odds.iter().map(|v| v.min(BEYOND_DOUBT));
    let mean = counted().sum::<f64>() / count;
    let variance = counted().map(|v| (v - mean).powi(2)).sum::<f64>() / count;
    // Of no siblings the mean is no number, and neither is the trust: it then passes no test.
    (2.0 * mean / (variance + UNSURE)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The odds of a word that surely lies as `Orientation::ALL[k]`.
    fn sure(k: usize) -> [f64; 8] {
        let mut odds = [-12.0; 8];
        if let Some(own) = odds.get_mut(k) {
            *own = 0.0;
        }
        odds
    }

    #[test]
    fn the_turned_one_is_named_and_no_other() {
        for base in 0..8 {
            for (own, turn) in
                (0..8).flat_map(|own| Orientation::ALL.into_iter().map(move |t| (own, t)))
            {
                let mut words = vec![sure(base); 12];
                if let Some(word) = words.get_mut(5) {
                    *word = sure(own);
                }
                let odd = odd_ones_out(&words);
                assert!(odd.iter().enumerate().all(|(i, o)| i == 5 || o.is_none()));
                let found = odd.get(5).copied().flatten();
                assert_eq!(found.is_some(), own != base);
                let named = |turn: Orientation| Orientation::ALL.get(base).map(|l| l.then(turn));
                if found == Some(turn) {
                    assert_eq!(named(turn).as_ref(), Orientation::ALL.get(own));
                }
            }
        }
    }

    #[test]
    fn siblings_of_one_mind_say_so() {
        let upright = Orientation::ALL.first().copied();
        let told = |words: &[usize]| {
            let odds: Vec<[f64; 8]> = words.iter().map(|k| sure(*k)).collect();
            common(&sum(&odds)).and_then(|(_, orientation)| orientation)
        };
        assert_eq!(told(&[0, 0, 4]), upright);
        // One against one is not: their sums cancel.
        assert_eq!(told(&[4, 2]), None);
        // Nobody is of one mind with nobody.
        assert_eq!(told(&[]), None);
    }

    #[test]
    fn undecided_words_are_no_odd_ones_and_judge_none() {
        let flat = [-(8.0_f64.ln()); 8];
        let mut words = vec![sure(0); 11];
        words.push(flat);
        assert!(odd_ones_out(&words).iter().all(Option::is_none));
        let mut words = vec![flat; 11];
        words.push(sure(4));
        assert!(odd_ones_out(&words).iter().all(Option::is_none));
        assert_eq!((half_turned(&flat), orientation(&flat)), (None, None));
        assert_eq!(
            (half_turned(&sure(4)), orientation(&sure(5))),
            (Some(true), Orientation::ALL.get(5).copied())
        );
    }

    #[test]
    fn a_sibling_told_beyond_doubt_takes_no_trust_away() {
        let even = [9.0; 11];
        let mut uneven = even;
        if let Some(one) = uneven.first_mut() {
            *one = 60.0;
        }
        assert!(trust(&uneven) >= trust(&even) - 0.1, "{}", trust(&uneven));
        // One told the other way does.
        if let Some(one) = uneven.first_mut() {
            *one = -20.0;
        }
        assert!(trust(&uneven) < 0.5, "{}", trust(&uneven));
    }
}
