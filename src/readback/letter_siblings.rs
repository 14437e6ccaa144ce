//! What the letters of a batch say of each other: the one whose a, e and r are those of its siblings
//! turned half round is upside down, whatever the face.
//!
//! A letter found only turned in the other words is no proof by itself: in plain faces a turned n is
//! a u, a turned d a p, a turned 6 a 9. All of those are few kinds of letters (a kind is one shape,
//! however it lies), so several kinds must say the same, and letters that are found both as they lie
//! and turned say nothing. The network's odds count as so much more evidence where it has any.

use std::collections::BTreeMap;

use super::letter_kinds::{Lays, Seen, between};
use super::letter_shape::Lay;
use super::letter_verdict::against_siblings;

/// Natural log-odds that a kind adds for a lay in which all siblings with such a letter have it: of
/// the letters of names some 2 in 100 are found turned, and not as they lie, in plain faces.
const A_KIND: f64 = 4.0;

/// What the network may add at most; it is wrong more often than its odds say where it is very sure.
const NETWORK: f64 = 6.0;

/// A lay is named if it is this far ahead of all others: three kinds, or two and a network that
/// leans the same way.
const AHEAD: f64 = 10.0;

/// So many siblings must have letters that speak, and this share of those that speak must agree: a
/// word whose only relative is the one that is turned must not be taken for it.
const AGREE_FROM: usize = 2;
const MOST: f64 = 0.65;

/// What is known of one word of a batch.
#[derive(Debug, Clone, Copy, Default)]
pub struct Word<'a> {
    /// Its letters.
    pub letters: &'a [Seen],
    /// The network's log-odds, where it was asked.
    pub odds: Option<[f64; 8]>,
}

/// So many others are asked about each word, those nearest in the order of the pockets: more add
/// nothing, and on a fixture of thousands asking all would take minutes.
const ASKED: usize = 100;

/// For each word, how it lies against the others: the first of [`Lay::ALL`] where it lies as they do;
/// `None` where its letters do not tell.
pub fn against(words: &[Word<'_>]) -> Vec<Option<Lay>> {
    let kinds: Vec<BTreeMap<usize, Lays>> = words.iter().map(kinds_of).collect();
    (0..words.len())
        .map(|i| {
            if words.get(i)?.letters.is_empty() {
                return None;
            }
            let last = words.len().saturating_sub(ASKED + 1);
            let from = i.saturating_sub(ASKED / 2).min(last);
            let near = from..words.len().min(from + ASKED + 1);
            let others = words.get(near.clone())?;
            let odds: Vec<[f64; 8]> = others.iter().filter_map(|w| w.odds).collect();
            let place = others
                .iter()
                .take(i - from)
                .filter(|w| w.odds.is_some())
                .count();
            let network = words
                .get(i)?
                .odds
                .and_then(|_| against_siblings(&odds, place))
                .unwrap_or_default();
            one(kinds.get(near)?, i - from, &network)
        })
        .collect()
}

/// The lays in which a word has each of its kinds.
fn kinds_of(word: &Word<'_>) -> BTreeMap<usize, Lays> {
    let mut out = BTreeMap::new();
    for seen in word.letters {
        *out.entry(seen.kind).or_default() |= seen.lays;
    }
    out
}

fn has(set: Lays, k: usize) -> bool {
    (set >> k) & 1 == 1
}

fn one(words: &[BTreeMap<usize, Lays>], i: usize, network: &[f64; 8]) -> Option<Lay> {
    let own = words.get(i)?;
    // By kind, what each sibling that has it says.
    let said: Vec<Vec<(usize, Lays)>> = own
        .iter()
        .map(|(kind, lays)| {
            words
                .iter()
                .enumerate()
                .filter(|(j, _)| *j != i)
                .filter_map(|(j, other)| Some((j, between(*other.get(kind)?, *lays))))
                .collect()
        })
        .collect();
    let mut score = network.map(|v| v.clamp(-NETWORK, NETWORK));
    for kind in said.iter().filter(|kind| !kind.is_empty()) {
        for (k, total) in score.iter_mut().enumerate() {
            let for_it = kind.iter().filter(|(_, turns)| has(*turns, k)).count();
            *total += A_KIND * for_it as f64 / kind.len() as f64;
        }
    }
    let (best, most) = score
        .iter()
        .copied()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let next = score
        .iter()
        .enumerate()
        .filter(|(k, _)| *k != best)
        .map(|(_, v)| *v)
        .fold(f64::NEG_INFINITY, f64::max);
    if most - next < AHEAD {
        return None;
    }
    // Which siblings side with it: against lying as they do, or, where that is the best, against the
    // lay that the sibling would rather see.
    let mut sides: BTreeMap<usize, [i32; 8]> = BTreeMap::new();
    for (j, turns) in said.iter().flatten() {
        for (k, votes) in sides.entry(*j).or_default().iter_mut().enumerate() {
            *votes += i32::from(has(*turns, k));
        }
    }
    let speak = |votes: &&[i32; 8]| votes.iter().max() != votes.iter().min();
    let speaking = sides.values().filter(speak).count();
    let agree = sides
        .values()
        .filter(speak)
        .filter(|votes| votes.get(best) == votes.iter().max())
        .count();
    (agree >= AGREE_FROM && agree as f64 >= MOST * speaking as f64)
        .then(|| Lay::ALL.get(best).copied())
        .flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    const AS_IT_LIES: Lays = 1;
    const HALF_TURNED: Lays = 1 << 4;
    /// As an o or an x.
    const EITHER: Lays = AS_IT_LIES | HALF_TURNED;

    fn told(words: &[&[(usize, Lays)]]) -> Vec<Option<u8>> {
        let letters: Vec<Vec<Seen>> = words
            .iter()
            .map(|word| {
                word.iter()
                    .map(|&(kind, lays)| Seen { kind, lays })
                    .collect()
            })
            .collect();
        let words: Vec<Word<'_>> = letters
            .iter()
            .map(|letters| Word {
                letters,
                odds: None,
            })
            .collect();
        against(&words)
            .into_iter()
            .map(|lay| lay.map(|l| 2 * l.quarters + u8::from(l.mirrored)))
            .collect()
    }

    /// A word of these kinds that lies as `lays` says.
    fn word(kinds: std::ops::Range<usize>, lays: Lays) -> Vec<(usize, Lays)> {
        kinds.map(|kind| (kind, lays)).collect()
    }

    #[test]
    fn three_letters_found_turned_in_the_others_are_enough_and_two_are_not() {
        let sound = word(0..6, AS_IT_LIES);
        for (kinds, expected) in [(3, Some(4)), (2, None)] {
            let odd = word(0..kinds, HALF_TURNED);
            let got = told(&[&sound, &odd, &sound, &sound]);
            assert_eq!(got, [Some(0), expected, Some(0), Some(0)], "{kinds} kinds");
        }
    }

    #[test]
    fn letters_that_look_alike_turned_say_nothing() {
        let sound = word(0..6, EITHER);
        assert_eq!(told(&[&sound, &sound, &sound]), [None, None, None]);
    }

    #[test]
    fn letters_found_both_ways_in_one_word_say_nothing() {
        // Each sibling has both an n and a u of a plain face, and so on.
        let both: Vec<(usize, Lays)> = [word(0..4, AS_IT_LIES), word(0..4, HALF_TURNED)].concat();
        let one = word(0..4, HALF_TURNED);
        assert_eq!(told(&[&both, &one, &both]).get(1), Some(&None));
    }

    #[test]
    fn siblings_that_are_split_judge_none() {
        let (up, down) = (word(0..6, AS_IT_LIES), word(0..6, HALF_TURNED));
        assert!(told(&[&up, &up, &down, &down]).iter().all(Option::is_none));
        // Nor does one alone judge another.
        assert!(told(&[&up, &down]).iter().all(Option::is_none));
    }

    #[test]
    fn a_word_that_only_the_turned_one_knows_is_not_taken_for_it() {
        let (up, down) = (word(0..6, AS_IT_LIES), word(0..9, HALF_TURNED));
        let stranger = word(6..9, AS_IT_LIES);
        let got = told(&[&up, &up, &down, &stranger]);
        assert_eq!(got.get(2..), Some([Some(4), None].as_slice()));
    }
}
