//! Half a batch upside down: words whose shared letters fall into two groups that lie opposite to each
//! other. One of the two lies wrong; the letters do not tell which.
//!
//! Any two words that share a letter say whether they lie alike or opposite. The surest pairs are joined
//! first; what they leave over is then a check on them.

use std::collections::BTreeMap;

use super::letter_kinds::Seen;
use super::orientation::{Lays, Orientation, between, has};
use crate::ids::At;

/// Words looked at: those of a fixture of thousands would take minutes, and add nothing.
const LOOKED_AT: usize = 100;

/// A word is of a group only if so many of its letters, net, say that the other group lies opposite: in
/// plain faces two letters may be others upside down (an n a u, a d a p).
const SPEAKING: usize = 3;

/// The same where there are only two words: nothing else bears them out.
const SPEAKING_OF_TWO: usize = 4;

/// The larger group has at most this share: of more, the others are odd ones out.
const MOST: f64 = 0.65;

/// In what ways two groups may lie opposite: half turned, mirrored, both, on their side to either hand.
const OPPOSITE: [Opposite; 4] = [
    [Orientation::HALF_TURNED; 2],
    [Orientation::new(0, true); 2],
    [Orientation::new(2, true); 2],
    [Orientation::new(1, false), Orientation::new(3, false)],
];

/// A way to lie opposite, and the same seen from the other group.
type Opposite = [Orientation; 2];

type Kinds = BTreeMap<usize, Lays>;

/// By word, which group it is of, if any; and how the second lies as seen from the first.
pub(crate) fn two_groups(words: &[&[Seen]]) -> Option<(Vec<Option<bool>>, Orientation)> {
    let kinds: Vec<Kinds> = words
        .iter()
        .take(LOOKED_AT)
        .map(|letters| {
            let mut out = Kinds::new();
            for seen in *letters {
                *out.entry(seen.kind).or_default() |= seen.lays;
            }
            out
        })
        .collect();
    OPPOSITE
        .into_iter()
        .filter_map(|turns| Some((placed(&kinds, turns)?, turns[0])))
        .max_by_key(|(sides, _)| sides.iter().flatten().count())
        .map(|(mut sides, orientation)| {
            sides.resize(words.len(), None);
            (sides, orientation)
        })
}

/// What one kind of letter says of two words: 1 that they lie alike, -1 opposite, 0 nothing.
fn vote(a: Lays, b: Lays, turns: Opposite) -> i32 {
    let carried = between(a, b);
    let opposite = turns.iter().any(|o| has(carried, *o));
    i32::from(has(carried, Orientation::UPRIGHT)) - i32::from(opposite)
}

/// The words that surely are of one group or the other; `None` where there are no two.
fn placed(kinds: &[Kinds], turns: Opposite) -> Option<Vec<Option<bool>>> {
    let sides = joined(kinds, turns);
    // Of the letters that a word shares with the other group, how many say that it lies opposite, net.
    let speaking = |i: usize| -> i32 {
        let Some(own) = *sides.at(i) else {
            return 0;
        };
        kinds
            .at(i)
            .iter()
            .map(|(kind, lays)| {
                let others = kinds.iter().zip(&sides).filter(|(_, s)| **s == Some(!own));
                let votes = others.filter_map(|(k, _)| Some(vote(*k.get(kind)?, *lays, turns)));
                -votes.sum::<i32>().signum()
            })
            .sum()
    };
    let lettered = kinds.iter().filter(|k| !k.is_empty()).count();
    let least = if lettered == 2 {
        SPEAKING_OF_TWO
    } else {
        SPEAKING
    };
    let sure: Vec<Option<bool>> = sides
        .iter()
        .enumerate()
        .map(|(i, side)| side.filter(|_| usize::try_from(speaking(i)).is_ok_and(|n| n >= least)))
        .collect();
    let count = |side: bool| sure.iter().filter(|s| **s == Some(side)).count();
    let (few, many) = (count(false).min(count(true)), count(false).max(count(true)));
    let enough = few >= 2 || lettered == 2 && few == 1;
    (enough && many as f64 <= MOST * (few + many) as f64).then_some(sure)
}

/// A group for each word, by the pairs that speak most clearly; `None` for a word that none speaks of.
fn joined(kinds: &[Kinds], turns: Opposite) -> Vec<Option<bool>> {
    let mut pairs: Vec<(i32, usize, usize)> = Vec::new();
    for (i, a) in kinds.iter().enumerate() {
        for (j, b) in kinds.iter().enumerate().skip(i + 1) {
            let votes = a
                .iter()
                .filter_map(|(kind, lays)| Some(vote(*lays, *b.get(kind)?, turns)));
            let sum = votes.sum::<i32>();
            if sum != 0 {
                pairs.push((sum, i, j));
            }
        }
    }
    pairs.sort_by_key(|(sum, i, j)| (-sum.abs(), *i, *j));
    // Each word's cluster, and on which of its two sides it is.
    let mut at: Vec<(usize, bool)> = (0..kinds.len()).map(|i| (i, false)).collect();
    for (sum, i, j) in pairs {
        let ((a, own), (b, other)) = (*at.at(i), *at.at(j));
        if a == b {
            continue;
        }
        let swap = (own == other) == (sum < 0);
        for slot in at.iter_mut().filter(|s| s.0 == b) {
            *slot = (a, slot.1 != swap);
        }
    }
    let size = |cluster: usize| at.iter().filter(|s| s.0 == cluster).count();
    let largest = (0..kinds.len()).max_by_key(|c| (size(*c), std::cmp::Reverse(*c)));
    at.iter()
        .map(|(cluster, side)| {
            let own = Some(*cluster) == largest && size(*cluster) > 1;
            own.then_some(*side)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::orientation::alone;
    use super::*;

    const UPRIGHT: Orientation = Orientation::UPRIGHT;
    const HALF_TURNED: Orientation = Orientation::HALF_TURNED;

    /// A word of these kinds that lies so.
    fn word(kinds: std::ops::Range<usize>, orientation: Orientation) -> Vec<Seen> {
        let lays = alone(orientation);
        kinds.map(|kind| Seen::somewhere(kind, lays)).collect()
    }

    fn told(words: &[Vec<Seen>]) -> Option<(Vec<Option<bool>>, Orientation)> {
        two_groups(&words.iter().map(Vec::as_slice).collect::<Vec<_>>())
    }

    #[test]
    fn half_a_batch_that_lies_opposite_is_told_from_the_other_half() {
        for [k, _] in OPPOSITE {
            let words: Vec<Vec<Seen>> = (0..8_usize)
                .map(|n| word(n % 3..n % 3 + 5, if n % 2 == 0 { UPRIGHT } else { k }))
                .collect();
            let (sides, orientation) = told(&words).unwrap_or((Vec::new(), UPRIGHT));
            let first = sides.first().copied().flatten();
            assert!(first.is_some(), "{k:?} {sides:?}");
            for (n, side) in sides.iter().enumerate() {
                assert_eq!(
                    side.map(|s| Some(s) == first),
                    Some(n % 2 == 0),
                    "{k:?} {n}"
                );
            }
            assert_eq!(orientation, k);
        }
    }

    #[test]
    fn a_batch_that_lies_alike_and_one_odd_word_are_no_groups() {
        let alike: Vec<Vec<Seen>> = (0..8).map(|n| word(n % 3..n % 3 + 5, UPRIGHT)).collect();
        assert_eq!(told(&alike), None);
        let mut odd = alike.clone();
        if let Some(one) = odd.get_mut(3) {
            *one = word(0..5, HALF_TURNED);
        }
        assert_eq!(told(&odd), None);
    }

    #[test]
    fn letters_that_are_others_upside_down_make_no_groups() {
        // Words of n, d, p against words of u, p, d, with other letters of their own.
        let twins = |n: usize, k| [word(0..2, k), word(10 + n..12 + n, UPRIGHT)].concat();
        let words: Vec<Vec<Seen>> = (0..8)
            .map(|n| twins(n, if n % 2 == 0 { UPRIGHT } else { HALF_TURNED }))
            .collect();
        assert_eq!(told(&words), None);
        // Nor do two letters of a pair.
        assert_eq!(told(&[word(0..3, UPRIGHT), word(0..3, HALF_TURNED)]), None);
        assert!(told(&[word(0..4, UPRIGHT), word(0..4, HALF_TURNED)]).is_some());
    }
}
