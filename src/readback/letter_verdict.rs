//! When the odds of [`Model::judge`](super::letter_shape::Model::judge) are good enough to say
//! how a word lies: by itself, or against the other words of the same lettering.
//!
//! The figures were read off faces that the model had not learnt from, and then counted on others
//! again: `tests/training/REPORT.md`.

use super::orientation::{Odds, Orientation};
use crate::ids::At;

/// Natural log-odds at which a word is said to lie upright or half turned, nothing else being
/// thought possible.
pub(crate) const HALF_TURN: f64 = 3.8;
/// Natural log-odds, against the next best, at which one of all eight lays is named.
pub(crate) const ANY_LAY: f64 = 4.1;
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

/// Whether a word that cannot be mirrored, and whose line is known, lies half turned;
/// `None` when its shapes do not tell.
#[must_use]
pub(crate) fn half_turned(odds: &Odds) -> Option<bool> {
    let ahead = odds[Orientation::HALF_TURNED] - odds[Orientation::UPRIGHT];
    (ahead.abs() >= HALF_TURN).then_some(ahead > 0.0)
}

/// How a word lies; `None` when its shapes do not tell.
#[must_use]
pub(crate) fn orientation(odds: &Odds) -> Option<Orientation> {
    let (best, ahead) = odds.leader();
    (ahead >= ANY_LAY).then_some(best)
}

/// For each word of a batch in one face, by what lay it differs from the others: `Some` for the
/// odd ones out, `None` for those that lie as the others do, or that cannot be judged.
///
/// The others' sum says how the lettering lies, right or wrong: in a face that the model misreads,
/// all words are misread alike, and still only the odd one differs.
#[must_use]
pub(crate) fn odd_ones_out(words: &[Odds]) -> Vec<Option<Orientation>> {
    (0..words.len()).map(|i| odd_one(words, i)).collect()
}

/// How a word's siblings lie by the sum of their odds, as far as they are of one mind: the lay that
/// they lean to, and the same again where it is far enough ahead.
///
/// What a word says by itself against them is wrong about once in a thousand words, which is one
/// sound pocket in every eighty batches of twelve: against siblings of one mind only
/// [`odd_ones_out`] and the letters count.
#[must_use]
pub(crate) fn common(siblings: &Odds) -> (Orientation, Option<Orientation>) {
    let (base, lead) = siblings.leader();
    (base, (lead >= LEAD).then_some(base))
}

/// The summed log-odds of words.
#[must_use]
pub(crate) fn sum<'a>(words: impl IntoIterator<Item = &'a Odds>) -> Odds {
    let mut sum = Odds::default();
    for odds in words {
        sum.add(odds);
    }
    sum
}

fn odd_one(words: &[Odds], i: usize) -> Option<Orientation> {
    let siblings: Vec<Odds> = words
        .at(..i)
        .iter()
        .chain(words.at(i + 1..))
        .copied()
        .collect();
    odd_against(words.at(i), &siblings)
}

/// By what lay a word differs from its siblings, where it is the odd one out.
#[must_use]
pub(crate) fn odd_against(own: &Odds, siblings: &[Odds]) -> Option<Orientation> {
    let (base, lead) = sum(siblings).leader();
    let (best, _) = own.leader();
    let protest = own[best] - own[base];
    let doubts: Vec<f64> = siblings
        .iter()
        .map(|odds| odds[base] - odds[best])
        .collect();
    (lead >= LEAD && protest * trust(&doubts) >= PROTEST).then(|| best.seen_from(base))
}

/// How far one word of a batch is ahead in each orientation of how its siblings lie, as natural log-odds
/// that are trusted as far as the face deserves; seen from the siblings, so that upright is to lie as they
/// do. `None` where the siblings are not of one mind.
#[must_use]
pub(crate) fn against_siblings(own: &Odds, siblings: &[Odds]) -> Option<Odds> {
    let (base, lead) = sum(siblings).leader();
    if lead < LEAD {
        return None;
    }
    let mut out = Odds::default();
    for there in Orientation::ALL.into_iter().filter(|o| *o != base) {
        let doubts: Vec<f64> = siblings
            .iter()
            .map(|odds| odds[base] - odds[there])
            .collect();
        out[there.seen_from(base)] = (own[there] - own[base]) * trust(&doubts);
    }
    Some(out)
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
    use super::super::orientation::PerOrientation;
    use super::*;

    const UPRIGHT: Orientation = Orientation::UPRIGHT;
    const HALF_TURNED: Orientation = Orientation::HALF_TURNED;

    /// The odds of a word that surely lies so.
    fn sure(orientation: Orientation) -> Odds {
        let mut odds = PerOrientation([-12.0; 8]);
        odds[orientation] = 0.0;
        odds
    }

    #[test]
    fn the_turned_one_is_named_and_no_other() {
        for base in Orientation::ALL {
            for turn in Orientation::ALL {
                let mut words = vec![sure(base); 12];
                *words.at_mut(5) = sure(base.then(turn));
                let odd = odd_ones_out(&words);
                assert!(odd.iter().enumerate().all(|(i, o)| i == 5 || o.is_none()));
                assert_eq!(*odd.at(5), (turn != UPRIGHT).then_some(turn));
            }
        }
    }

    #[test]
    fn siblings_of_one_mind_say_so() {
        let told = |words: &[Orientation]| {
            let odds: Vec<Odds> = words.iter().map(|o| sure(*o)).collect();
            common(&sum(&odds)).1
        };
        assert_eq!(told(&[UPRIGHT, UPRIGHT, HALF_TURNED]), Some(UPRIGHT));
        // One against one is not: their sums cancel.
        assert_eq!(told(&[HALF_TURNED, Orientation::new(1, false)]), None);
        // Nobody is of one mind with nobody.
        assert_eq!(told(&[]), None);
    }

    #[test]
    fn undecided_words_are_no_odd_ones_and_judge_none() {
        let flat = PerOrientation([-(8.0_f64.ln()); 8]);
        let mut words = vec![sure(UPRIGHT); 11];
        words.push(flat);
        assert!(odd_ones_out(&words).iter().all(Option::is_none));
        let mut words = vec![flat; 11];
        words.push(sure(HALF_TURNED));
        assert!(odd_ones_out(&words).iter().all(Option::is_none));
        assert_eq!((half_turned(&flat), orientation(&flat)), (None, None));
        let both = Orientation::new(2, true);
        assert_eq!(half_turned(&sure(HALF_TURNED)), Some(true));
        assert_eq!(orientation(&sure(both)), Some(both));
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
