//! Whether the rows of a pocket lie as its name does: the date under it, a second name.
//!
//! Letters that lie alike say nothing where all of them lie wrong. So what the network and the signs say of the rows that
//! stand at the same place in their pockets is added, and must say that these lie upright. Rows at another place say nothing of
//! them: surnames that surely lie right would outweigh dates that lie on their heads.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use kurbo::Rect;

use super::{Kinds, MISTAKEN, UNSEEN, Word};
use crate::ids::At;
use crate::readback::by_shape::{ShapeWord, different};
use crate::readback::letter_kinds::Seen;
use crate::readback::letter_verdict::sum;
use crate::readback::orientation::{Lays, Odds, Orientation, between, has};
use crate::readback::rows::Place;

/// A piece of more than this share of its row's box is most of it, and what the rest says is not enough: letters that
/// were joined by a line under them, but for one. Lower, and a wide letter leaves a short row in doubt.
const MOST_OF_A_ROW: f64 = 0.5;

/// Of the other words that speak of a row, no more than this share may say that it lies otherwise; and of all that the rows at one
/// place say, in natural log-odds before what is next best, no more than this share. Higher, and dates of which half lie wrong
/// pass under names that lie right; lower, and a 6 among 9s leaves a date in doubt, and old-style digits leave all.
const DIVIDED: f64 = 0.34;

/// Rows at one place lie right as a whole where that is so far before all else, in natural log-odds.
/// Of 115 batches whose dates lay wrong under names that lay right none came to more than 0.5, and of 41 with eleven right
/// dates in twelve none to less than 4.4. Lower, and dates that lie wrong in every pocket pass; higher, and those in ornate
/// faces stay open.
const TOGETHER: f64 = 3.0;

/// How many rows that may lie wrong a row has over it, or under it: a date is the last row, under one name or under two.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    FromTop(usize),
    FromFoot(usize),
}

/// The places at which rows lie right as a whole, as the network and their signs see them. Where nothing at a place is built
/// like a word, nothing says so.
pub(super) struct Together(BTreeSet<Rank>);

impl Together {
    pub(super) fn of(words: &[Word<'_>]) -> Self {
        let mut at: BTreeMap<Rank, Vec<&ShapeWord>> = BTreeMap::new();
        for word in words {
            for row in word.other_rows {
                for rank in ranks(word.rows, row.bounds) {
                    at.entry(rank).or_default().push(row);
                }
            }
        }
        let right = |rows: &[&ShapeWord]| {
            let different = different(rows.iter().copied()).into_iter();
            let odds: Vec<Odds> = different.map(ShapeWord::network_and_signs).collect();
            let (lies, ahead) = sum(&odds).leader();
            let leaders = odds.iter().map(Odds::leader);
            let otherwise = leaders.clone().filter(|(o, _)| *o != Orientation::UPRIGHT);
            let all: f64 = leaders.map(|(_, ahead)| ahead).sum();
            let otherwise: f64 = otherwise.map(|(_, ahead)| ahead).sum();
            lies == Orientation::UPRIGHT && ahead >= TOGETHER && otherwise <= DIVIDED * all
        };
        let right = at.into_iter().filter(|(_, rows)| right(rows));
        Self(right.map(|(rank, _)| rank).collect())
    }

    fn lies_right(&self, rows: &[Place], row: Rect) -> bool {
        ranks(rows, row).iter().all(|rank| self.0.contains(rank))
    }
}

/// The two ranks of a row among those of its pocket. Rows follow each other along the line on which their middles lie
/// farthest apart.
fn ranks(rows: &[Place], row: Rect) -> [Rank; 2] {
    let middles = || {
        let may_lie_wrong = rows.iter().filter(|r| !r.even());
        may_lie_wrong.map(|r| r.bounds.center())
    };
    let all = middles().fold(Rect::from_points(row.center(), row.center()), |all, p| {
        all.union_pt(p)
    });
    let down = all.height() >= all.width();
    let before = middles().filter(|p| {
        let own = row.center();
        if down { p.y < own.y } else { p.x < own.x }
    });
    let before = before.count();
    let after = middles().count().saturating_sub(before + 1);
    [Rank::FromTop(before), Rank::FromFoot(after)]
}

/// Whether the letters of some row, heard by themselves, do not say that it lies as others do, or those are divided about
/// it. What leaves a row as it is cannot be wrong with it; the one that the network is asked about must only not say otherwise.
pub(super) fn in_doubt(
    word: &Word<'_>,
    others: &[&Kinds],
    astray: f64,
    together: &Together,
) -> bool {
    let mut may_lie_wrong = word.rows.iter().enumerate().filter(|(_, row)| !row.even());
    may_lie_wrong.any(|(number, row)| {
        let heard = Heard::of(word, number, others, astray);
        let otherwise = |o: &Orientation| !has(row.same, *o);
        let mut otherwise = Orientation::ALL.into_iter().filter(otherwise);
        let upright = heard.likely[Orientation::UPRIGHT];
        let own = word.other_rows.iter().find(|w| w.bounds == row.bounds);
        match own.and_then(ShapeWord::lies) {
            Some(lies) if lies != Orientation::UPRIGHT => true,
            None if word.asked != Some(row.bounds) => {
                let doubted = |o| upright <= heard.likely[o] || heard.divided(o);
                heard.too_little
                    || !together.lies_right(word.rows, row.bounds)
                    || otherwise.any(doubted)
            }
            _ => otherwise.any(|o| upright < heard.likely[o]),
        }
    })
}

/// What the letters of others say of a row.
struct Heard {
    /// The likelihood of its letters, by how it lies against the others, as natural logarithm but for a summand that is the
    /// same for all.
    likely: Odds,
    /// By other word, the turns that carry its letters into those of the row.
    by_other: Vec<Vec<Lays>>,
    /// Whether most of the row is like nothing in the others.
    too_little: bool,
}

impl Heard {
    fn of(word: &Word<'_>, number: usize, others: &[&Kinds], astray: f64) -> Self {
        let mut out = Self {
            likely: Odds::default(),
            by_other: vec![Vec::new(); others.len()],
            too_little: false,
        };
        let most = MOST_OF_A_ROW * word.rows.at(number).bounds.area();
        let of_row = |s: &&Seen| Place::of(word.rows, s.bounds) == Some(number);
        for seen in word.letters.iter().filter(of_row) {
            let turns = |kinds: &&Kinds| Some(between(kinds.get(&seen.kind)?.lays, seen.lays));
            let said: Vec<Option<Lays>> = others.iter().map(turns).collect();
            let heard = said.iter().flatten().count();
            out.too_little |= heard == 0 && seen.bounds.area() > most;
            for turn in Orientation::ALL {
                let count = said.iter().flatten().filter(|t| has(**t, turn)).count();
                out.likely[turn] += (count as f64 + MISTAKEN + astray + UNSEEN).ln();
            }
            for (all, said) in out.by_other.iter_mut().zip(said) {
                all.extend(said);
            }
        }
        out
    }

    /// Whether too many of the others that tell an orientation from upright are for it.
    fn divided(&self, orientation: Orientation) -> bool {
        let votes = self.by_other.iter().map(|turns| {
            let fit = |o| turns.iter().filter(|t| has(**t, o)).count();
            fit(Orientation::UPRIGHT).cmp(&fit(orientation))
        });
        let votes: Vec<Ordering> = votes.filter(|vote| vote.is_ne()).collect();
        let against = votes.iter().filter(|vote| vote.is_lt()).count();
        against as f64 > DIVIDED * votes.len() as f64
    }
}
