//! What the letters of a batch say of each other: the one whose a, e and r are those of its siblings
//! turned half round is upside down, whatever the face.
//!
//! Two readings of a word are weighed against each other: that it lies as its siblings do, and that it
//! is turned against them. If letters are drawn from what the face has, a kind (one shape, however it
//! lies: a d, a b, a p and a q are one in plain faces) that n siblings have in this orientation comes up
//! in it with a probability in proportion to n + e, where e is the likelihood, before any was seen, that
//! the face has such a letter (the rule of Laplace, as Krichevsky and Trofimov give it in "The performance of universal
//! encoding", 1981: e is a half for each of two letters that are equally likely; from memory). So every
//! kind adds ln (n + e) to the natural log-likelihood of an orientation, and the odds of one against
//! another are the sum of the differences.
//!
//! What e is depends on the letter. An a upside down is no letter: that siblings have it only the other
//! way up tells almost all. An n upside down is a u: of five siblings with an n and none with a u, one
//! learns little. So e is a half times the probability that the sign is a letter in this
//! orientation ([`super::signs`]), more where the batch has its shapes this way and that.
//!
//! To lie as the others do is what is expected, and needs less than to lie otherwise.

use std::collections::BTreeMap;
use std::ops::Range;

use kurbo::Rect;

use super::by_shape::ShapeWord;
use super::letter_kinds::Seen;
use super::letter_verdict::{against_siblings, common, sum};
use super::orientation::{Lays, Odds, Orientation, PerOrientation, TWO_SLIPS, between, has};
use super::rows::Place;
use super::signs::Signs;
use crate::ids::At;
use other_rows::{Together, in_doubt};

mod other_rows;

/// Of the letters of names so many are found turned, and not as they lie, in plain faces, where their
/// signs do not say so: 2 in 100 were. Lower, and a single mistaken sign decides.
const MISTAKEN: f64 = 0.02;

/// What a letter that is surely a letter in an orientation counts there before any was seen.
const UNSEEN: f64 = 0.5;

/// What the network may add at most; it is wrong more often than its odds say where it is very sure.
const NETWORK: f64 = 6.0;

/// A word lies otherwise than its siblings if that is this far ahead: twenty to one. Of 5,760 names and
/// strings in validation faces that lay right, none had more than 1.6; lower than that, and sound pockets
/// are held; higher, and names of few letters stay open.
const AHEAD: f64 = 3.0;

/// It lies as they do if that is this far ahead: a name in fifty may lie wrong, and then one in 400 of
/// those that are said to lie right.
const ALIKE: f64 = 2.0;

/// The same either way for a word whose letters are letters again in the other orientation: of "up" among
/// names with an n and a d and no u or p, in a face that has these as one shape turned, each letter says
/// that it is "dn" upside down. Of 256 such words none came to 5, and one in 20 of all names
/// in ornate faces stays open that needs no more than 3.
const AGAIN: f64 = 5.0;

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

/// What is known of one word of a batch.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Word<'a> {
    /// Its letters.
    pub letters: &'a [Seen],
    /// What its signs are one by one, where they are known: then its letters are those of a script that
    /// can be told.
    pub signs: Option<&'a Signs>,
    /// The network's log-odds, where it was asked.
    pub odds: Option<Odds>,
    /// Whether they say how the batch lies.
    pub heard: bool,
    /// The orientations in which its letters are letters again.
    pub again: Lays,
    /// The rows of its pocket, where those are several.
    pub rows: &'a [Place],
    /// The box of the row that the network was asked about, if that is lettering.
    pub asked: Option<Rect>,
    /// The other rows that are built like words.
    pub other_rows: &'a [ShapeWord],
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
    /// Whether a row of its pocket may lie otherwise than the rest: a date on its head under a name.
    pub rows_in_doubt: bool,
    /// Natural log-odds of each way to lie against them, by letters alone; all nought where those say nothing.
    pub likely: Odds,
}

/// For each word, what the others make of it.
pub(crate) fn against(words: &[Word<'_>]) -> Vec<SiblingVerdict> {
    let kinds: Vec<Kinds> = words.iter().map(kinds_of).collect();
    let shared = Shared::of(&kinds);
    let together = Together::of(words);
    (0..words.len())
        .map(|i| {
            let astray = shared.astray_without(i);
            let told = near(words, &kinds, astray, i).unwrap_or_default();
            let others = about(i, words.len()).filter(|j| *j != i);
            let others: Vec<&Kinds> = others.map(|j| kinds.at(j)).collect();
            let rows_in_doubt = in_doubt(words.at(i), &others, astray, &together);
            SiblingVerdict {
                rows_in_doubt,
                ..told
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
                    .filter_map(|(kind, own)| Some(between(own.lays, other.get(kind)?.lays)));
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

    /// Of the letters that other words share, the share that do not lie alike. Lettering has its letters
    /// in one lay, again and again; art has its shapes this way and that.
    fn astray_without(&self, i: usize) -> f64 {
        let [own, own_alike] = *self.of_word.at(i);
        let [shared, alike] = self.all;
        let (shared, alike) = (shared - own, alike - own_alike);
        (shared - alike) as f64 / shared.max(1) as f64
    }
}

fn add(sum: &mut [usize; 2], counts: [usize; 2]) {
    for (total, count) in sum.iter_mut().zip(counts) {
        *total += count;
    }
}

/// What the words near one make of it.
fn near(words: &[Word<'_>], kinds: &[Kinds], astray: f64, i: usize) -> Option<SiblingVerdict> {
    let own = words.at(i);
    if own.letters.is_empty() {
        return None;
    }
    let range = about(i, words.len());
    let from = range.start;
    let near = words.at(range.clone());
    let others: Vec<Odds> = near
        .iter()
        .enumerate()
        .filter(|(j, w)| *j != i - from && w.heard)
        .filter_map(|(_, w)| w.odds)
        .collect();
    let said = Said::of(kinds.at(range), i - from);
    // One other word is no batch: it may be the one that lies wrong.
    let (base, network) = if others.len() > 1 {
        let network = own.odds.and_then(|own| against_siblings(&own, &others));
        (common(&sum(&others)).0, network)
    } else {
        (Orientation::UPRIGHT, None)
    };
    verdict(&said, &Likely { base, astray }, network.as_ref(), own)
}

/// The words that are asked about one, itself among them.
fn about(i: usize, count: usize) -> Range<usize> {
    let last = count.saturating_sub(ASKED + 1);
    let from = i.saturating_sub(ASKED / 2).min(last);
    from..count.min(from + ASKED + 1)
}

/// A letter of a word: the lays in which the word has its kind, and how surely it is a letter, by
/// orientation of the word.
#[derive(Clone, Copy)]
struct Own {
    lays: Lays,
    reads: Option<Odds>,
}

/// By kind, the letter that a word has of it.
type Kinds = BTreeMap<usize, Own>;

fn kinds_of(word: &Word<'_>) -> Kinds {
    let mut out = Kinds::new();
    for seen in word.letters {
        let reads = word.signs.and_then(|s| s.letter_at(seen.bounds.center()));
        out.entry(seen.kind)
            .and_modify(|own| {
                own.lays |= seen.lays;
                let both = own.reads.zip(reads);
                own.reads = both.map(|(a, b)| PerOrientation::each(|o| a[o].max(b[o])));
            })
            .or_insert(Own {
                lays: seen.lays,
                reads,
            });
    }
    out
}

/// What the siblings that have a kind say of it: by sibling, the turns that carry its letter into the
/// word's.
struct Said {
    own: Own,
    turns: Vec<(usize, Lays)>,
}

impl Said {
    /// All kinds of a word that siblings have.
    fn of(words: &[Kinds], i: usize) -> Vec<Self> {
        let others = || words.iter().enumerate().filter(|(j, _)| *j != i);
        words
            .at(i)
            .iter()
            .map(|(kind, own)| Self {
                own: *own,
                turns: others()
                    .filter_map(|(j, other)| Some((j, between(other.get(kind)?.lays, own.lays))))
                    .collect(),
            })
            .filter(|said| !said.turns.is_empty())
            .collect()
    }

    /// How likely the letter is if its word lies so against its siblings, as natural logarithm, but for
    /// a summand that is the same for all orientations.
    fn likely(&self, turn: Orientation, batch: &Likely) -> f64 {
        let seen = self.turns.iter().filter(|(_, t)| has(*t, turn)).count() as f64;
        // Of what is no lettering nobody knows what it is the other way up.
        let reads = self.own.reads.map_or(1.0, |r| r[batch.base.then(turn)]);
        (seen + MISTAKEN + batch.astray + UNSEEN * reads).ln()
    }
}

/// What a batch says of how likely it is that letters are found turned.
struct Likely {
    /// How its words lie, as far as the network can tell.
    base: Orientation,
    /// The share of its letters that do not lie alike.
    astray: f64,
}

fn verdict(
    said: &[Said],
    batch: &Likely,
    network: Option<&Odds>,
    own: &Word<'_>,
) -> Option<SiblingVerdict> {
    if said.is_empty() {
        return None;
    }
    let upright = Orientation::UPRIGHT;
    let likely = |turn| said.iter().map(|s| s.likely(turn, batch)).sum::<f64>();
    let as_the_others = likely(upright);
    let by_letters = PerOrientation::each(|turn| likely(turn) - as_the_others);
    let odds = PerOrientation::each(|turn| {
        let letters = by_letters[turn];
        let network = network.map_or(0.0, |n| n[turn].clamp(-NETWORK, NETWORK));
        // What the network was not taught, and what are letters both ways, it may bear out and not decide.
        let borne_out = own.heard && !has(own.again, turn);
        let most = if borne_out { NETWORK } else { letters.max(0.0) };
        letters + network.min(most)
    });
    let best = MILDEST_FIRST
        .into_iter()
        .reduce(|best, k| if odds[k] > odds[best] { k } else { best })?;
    let best = with_one_slip(best, &odds, batch.base);
    let sides = Sides::of(said, best);
    let far = |turn, least| if has(own.again, turn) { AGAIN } else { least };
    let sure = if best == upright {
        let mut others = Orientation::ALL.into_iter().filter(|o| *o != upright);
        others.all(|o| -odds[o] >= far(o, ALIKE)) && sides.half()
    } else {
        odds[best] >= far(best, AHEAD) && sides.agree()
    };
    Some(SiblingVerdict {
        orientation: sure.then_some(best),
        leaning: Some(best),
        rows_in_doubt: false,
        likely: by_letters,
    })
}

/// The lay that is told where `best` fits best: that of one slip, where it fits nearly as well as that of two. MAO has
/// letters that are the same in a mirror, and its M lies one way or the other by chance; so is LAU half turned.
/// Slips are counted from lying right, and lays from how the others lie, `base`.
fn with_one_slip(best: Orientation, odds: &Odds, base: Orientation) -> Orientation {
    let takes_two = |o: Orientation| base.then(o).takes_two_slips();
    if !takes_two(best) {
        return best;
    }
    Orientation::ALL
        .into_iter()
        .filter(|o| *o != Orientation::UPRIGHT && !takes_two(*o))
        .filter(|o| odds[best] - odds[*o] < TWO_SLIPS)
        .reduce(|a, b| if odds[b] > odds[a] { b } else { a })
        .unwrap_or(best)
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
        // A frame, or an o, that is the same both ways does not say which of the two it is.
        let upright = Orientation::UPRIGHT;
        let speak = |votes: &&PerOrientation<i32>| {
            let most = votes.0.iter().max();
            let both =
                best != upright && most == Some(&votes[best]) && votes[best] == votes[upright];
            most != votes.0.iter().min() && !both
        };
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
mod tests;
