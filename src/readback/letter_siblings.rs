//! What the letters of a batch say of each other: the one whose a, e and r are those of its siblings
//! turned half round is upside down, whatever the face.
//!
//! A letter found only turned in the other words is no proof by itself: in plain faces a turned n is
//! a u, a turned d a p. (A d, a b, a p and a q are one kind there: a kind is one shape, however it
//! lies.) So where no more kinds speak than could be such twins, the network must lean the same way; and
//! letters that are found both as they lie and turned say nothing.
//!
//! To lie as the others do is what is expected, and needs less than to lie otherwise.

use std::collections::BTreeMap;

use super::letter_kinds::Seen;
use super::letter_verdict::against_siblings;
use super::orientation::{Lays, Odds, Orientation, PerOrientation, between, has};
use crate::ids::At;

/// Natural log-odds that a kind adds for a lay in which all siblings with such a letter have it: of
/// the letters of names some 2 in 100 are found turned, and not as they lie, in plain faces.
const A_KIND: f64 = 4.0;

/// What the network may add at most; it is wrong more often than its odds say where it is very sure.
const NETWORK: f64 = 6.0;

/// A word lies otherwise than its siblings if that is this far ahead: one kind and a network that leans
/// the same way, or two. Lower, and rounding of a kind's share begins to decide; of 21,000 words of
/// validation faces that lay right none was held even at 2.
const AHEAD: f64 = 4.5;

/// It lies as they do if that is this far ahead.
const ALIKE: f64 = 2.0;

/// As far ahead in the network's eyes alone, letters of a single sibling are enough for that.
const NETWORK_ALIKE: f64 = 2.0;

/// So many kinds that are each other's turned twins are met in one plain face: n and u; b, d, p and q;
/// m and w, or 6 and 9. Lower, and a word of such letters alone is held where the others lack them. Where
/// the network has no say there is nothing to ask, and the third is left out: short names would stay open.
const TWINS: usize = 3;
const TWINS_UNASKED: usize = 2;

/// A kind speaks for one lay and against another if it is ahead in at least this share of the
/// siblings that have it.
const SPEAKS: f64 = 0.5;

/// In what order lays are thought of where several fit alike: as the others lie, turned half round, in
/// a mirror, both; then those on their side.
const MILDEST_FIRST: [Orientation; 8] = [
    Orientation::UPRIGHT,
    Orientation::HALF_TURNED,
    Orientation::new(0, true),
    Orientation::new(2, true),
    Orientation::new(1, false),
    Orientation::new(3, false),
    Orientation::new(1, true),
    Orientation::new(3, true),
];

/// So many siblings must have letters that speak, and this share of those that speak must agree: a
/// word whose only relative is the one that is turned must not be taken for it.
const AGREE_FROM: usize = 2;
const MOST: f64 = 0.65;

/// Lettering has its letters in one lay, again and again; art has its shapes this way and that. Where of the
/// letters that other words share fewer than this share lie alike, the batch is no lettering, and its
/// letters say nothing. Rows of stars and hooks have at most 0.41.
const CONSISTENT: f64 = 0.5;

/// What is known of one word of a batch.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Word<'a> {
    /// Its letters.
    pub letters: &'a [Seen],
    /// The network's log-odds, where it was asked.
    pub odds: Option<Odds>,
    /// Whether they say how the batch lies.
    pub heard: bool,
}

/// So many others are asked about each word, those nearest in the order of the pockets: more add
/// nothing, and on a fixture of thousands asking all would take minutes.
const ASKED: usize = 100;

/// What the others make of a word.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SiblingVerdict {
    /// How it lies against them: upright where it lies as they do; `None` where its
    /// letters do not tell.
    pub orientation: Option<Orientation>,
    /// What its letters and odds lean to, if there is anything to go by.
    pub leaning: Option<Orientation>,
}

/// For each word, what the others make of it.
pub(crate) fn against(words: &[Word<'_>]) -> Vec<SiblingVerdict> {
    let kinds: Vec<Kinds> = words.iter().map(kinds_of).collect();
    let shared = Shared::of(&kinds);
    (0..words.len())
        .map(|i| {
            let verdict = near(words, &kinds, i).unwrap_or_default();
            if shared.consistent_without(i) {
                verdict
            } else {
                SiblingVerdict::default()
            }
        })
        .collect()
}

/// How many letters words share, by word and in all, and how many of those lie alike.
struct Shared {
    of_word: Vec<[usize; 2]>,
    all: [usize; 2],
}

impl Shared {
    fn of(kinds: &[Kinds]) -> Self {
        let mut of_word = vec![[0, 0]; kinds.len()];
        let mut all = [0, 0];
        let tell = |lays: &Lays| *lays != Lays::MAX;
        for (i, one) in kinds.iter().enumerate() {
            // Those near it, as for the verdicts.
            for (j, other) in kinds.iter().enumerate().skip(i + 1).take(ASKED / 2) {
                let shared = one
                    .iter()
                    .filter_map(|(kind, lays)| Some(between(*lays, *other.get(kind)?)));
                for turns in shared.filter(tell) {
                    let counts = [1, usize::from(has(turns, Orientation::UPRIGHT))];
                    add(&mut all, counts);
                    for w in [i, j] {
                        add(of_word.at_mut(w), counts);
                    }
                }
            }
        }
        Self { of_word, all }
    }

    /// Whether the letters of all words but one mostly lie alike.
    fn consistent_without(&self, i: usize) -> bool {
        let [own, own_alike] = *self.of_word.at(i);
        let [shared, alike] = self.all;
        (alike - own_alike) as f64 >= CONSISTENT * (shared - own) as f64
    }
}

fn add(sum: &mut [usize; 2], counts: [usize; 2]) {
    for (total, count) in sum.iter_mut().zip(counts) {
        *total += count;
    }
}

/// What the words near one make of it.
fn near(words: &[Word<'_>], kinds: &[Kinds], i: usize) -> Option<SiblingVerdict> {
    let own = words.at(i);
    if own.letters.is_empty() {
        return None;
    }
    let last = words.len().saturating_sub(ASKED + 1);
    let from = i.saturating_sub(ASKED / 2).min(last);
    let range = from..words.len().min(from + ASKED + 1);
    let near = words.at(range.clone());
    let others: Vec<Odds> = near
        .iter()
        .enumerate()
        .filter(|(j, w)| *j != i - from && w.heard)
        .filter_map(|(_, w)| w.odds)
        .collect();
    let network = own.odds.and_then(|own| against_siblings(&own, &others));
    one(kinds.at(range), i - from, network.as_ref(), own.heard)
}

/// By kind, the lays in which a word has it.
type Kinds = BTreeMap<usize, Lays>;

fn kinds_of(word: &Word<'_>) -> Kinds {
    let mut out = Kinds::new();
    for seen in word.letters {
        *out.entry(seen.kind).or_default() |= seen.lays;
    }
    out
}

/// What the siblings that have a kind say of it: by sibling, the turns that carry its letter into the
/// word's.
struct Said {
    turns: Vec<(usize, Lays)>,
}

impl Said {
    /// The share of them that say the orientation.
    fn share(&self, k: Orientation) -> f64 {
        let say = self.turns.iter().filter(|(_, t)| has(*t, k)).count();
        say as f64 / self.turns.len().max(1) as f64
    }
}

fn one(words: &[Kinds], i: usize, network: Option<&Odds>, heard: bool) -> Option<SiblingVerdict> {
    let said: Vec<Said> = words
        .at(i)
        .iter()
        .map(|(kind, lays)| Said {
            turns: words
                .iter()
                .enumerate()
                .filter(|(j, _)| *j != i)
                .filter_map(|(j, other)| Some((j, between(*other.get(kind)?, *lays))))
                .collect(),
        })
        .filter(|said| !said.turns.is_empty())
        .collect();
    if said.is_empty() {
        return None;
    }
    let odds = network.copied().unwrap_or_default();
    let odds = PerOrientation(odds.0.map(|v| v.clamp(-NETWORK, NETWORK)));
    let score = |k| A_KIND * said.iter().map(|s| s.share(k)).sum::<f64>() + odds[k];
    let best = MILDEST_FIRST
        .into_iter()
        .reduce(|best, k| if score(k) > score(best) { k } else { best })?;
    // What lies otherwise lies otherwise, whichever way; what lies as the others do lies in no other way.
    let rival = if best == Orientation::UPRIGHT {
        Orientation::ALL
            .into_iter()
            .skip(1)
            .reduce(|most, k| if score(k) > score(most) { k } else { most })?
    } else {
        Orientation::UPRIGHT
    };
    let lead = score(best) - score(rival);
    let speaking = said
        .iter()
        .filter(|s| s.share(best) - s.share(rival) >= SPEAKS)
        .count();
    let leans = network.is_some_and(|n| n[best] > n[rival]);
    let twins = network.map_or(TWINS_UNASKED, |_| TWINS);
    let sides = Sides::of(&said, best);
    let sure = if best == Orientation::UPRIGHT {
        let mut others = odds;
        others[best] = f64::NEG_INFINITY;
        let network_alone = -others.most() >= NETWORK_ALIKE;
        lead >= ALIKE
            && (speaking > 0 || leans)
            && (sides.agree() || (speaking > 0 && network_alone && sides.half()))
    } else {
        lead >= AHEAD && (speaking > twins || leans) && sides.agree() && (heard || speaking > 0)
    };
    Some(SiblingVerdict {
        orientation: sure.then_some(best),
        leaning: Some(best),
    })
}

/// The siblings whose letters speak for one lay or another.
struct Sides {
    speaking: usize,
    /// Those that side with the lay in question.
    with: usize,
}

impl Sides {
    fn of(said: &[Said], best: Orientation) -> Self {
        let mut votes: BTreeMap<usize, PerOrientation<i32>> = BTreeMap::new();
        for (j, turns) in said.iter().flat_map(|s| &s.turns) {
            let votes = votes.entry(*j).or_default();
            for o in Orientation::ALL {
                votes[o] += i32::from(has(*turns, o));
            }
        }
        let speak = |votes: &&PerOrientation<i32>| votes.0.iter().max() != votes.0.iter().min();
        Self {
            speaking: votes.values().filter(speak).count(),
            with: votes
                .values()
                .filter(speak)
                .filter(|votes| Some(&votes[best]) == votes.0.iter().max())
                .count(),
        }
    }

    /// Whether most of them do.
    fn agree(&self) -> bool {
        self.with >= AGREE_FROM && self.with as f64 >= MOST * self.speaking as f64
    }

    fn half(&self) -> bool {
        2 * self.with >= self.speaking
    }
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
                heard: false,
            })
            .collect();
        against(&words)
            .into_iter()
            .map(|told| {
                told.orientation
                    .map(|l| 2 * l.quarters + u8::from(l.mirrored))
            })
            .collect()
    }

    /// A word of these kinds that lies as `lays` says.
    fn word(kinds: std::ops::Range<usize>, lays: Lays) -> Vec<(usize, Lays)> {
        kinds.map(|kind| (kind, lays)).collect()
    }

    #[test]
    fn three_letters_found_turned_in_the_others_are_enough_and_two_could_be_a_u_and_a_p() {
        let sound = word(0..6, AS_IT_LIES);
        for (kinds, expected) in [(3, Some(4)), (2, None)] {
            let odd = word(0..kinds, HALF_TURNED);
            let got = told(&[&sound, &odd, &sound, &sound]);
            assert_eq!(got, [Some(0), expected, Some(0), Some(0)], "{kinds} kinds");
        }
    }

    /// A face whose n is a turned u, d a turned p and m a turned w: of "wup", each letter is another
    /// word's upside down, and the network, asked, says that it lies as the others do, or the other way.
    #[test]
    fn of_twins_the_network_decides() {
        let others = word(0..6, AS_IT_LIES);
        let own = word(0..3, HALF_TURNED);
        let seen = |kinds: &[(usize, Lays)]| -> Vec<Seen> {
            let kinds = kinds.iter();
            kinds.map(|&(kind, lays)| Seen { kind, lays }).collect()
        };
        let (others, own) = (seen(&others), seen(&own));
        let odds = |o| {
            let mut odds = PerOrientation([-9.0; 8]);
            odds[o] = 0.0;
            odds
        };
        let heard = |letters, k| Word {
            letters,
            odds: Some(odds(k)),
            heard: true,
        };
        let (upright, turned) = (Orientation::UPRIGHT, Orientation::HALF_TURNED);
        for (k, expected) in [(upright, None), (turned, Some(turned))] {
            let words = [
                heard(&others, upright),
                heard(&own, k),
                heard(&others, upright),
                heard(&others, upright),
            ];
            let got = against(&words);
            assert_eq!(
                got.get(1).and_then(|t| t.orientation),
                expected,
                "{k:?}: {got:?}"
            );
        }
    }

    /// Hooks and stars that stand this way and that: what three shapes of one row say is chance.
    #[test]
    fn where_shapes_lie_this_way_and_that_letters_say_nothing() {
        let odd = word(0..3, HALF_TURNED);
        let sound = word(0..3, AS_IT_LIES);
        let mirrored: Vec<_> = word(0..3, 1 << 1);
        let aside: Vec<_> = word(0..3, 1 << 2);
        let scattered = told(&[&sound, &odd, &sound, &mirrored, &aside, &sound]);
        assert_eq!(scattered.get(1), Some(&None), "{scattered:?}");
        let lettering = told(&[&sound, &odd, &sound, &sound, &aside, &sound]);
        assert_eq!(lettering.get(1), Some(&Some(4)), "{lettering:?}");
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
