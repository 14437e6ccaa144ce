//! Compares lettering with the order list: what is there, what is missing, what is there too often.
//!
//! Every order is paired with at most one piece of lettering, in steps from the surest to the least
//! sure: the same name in its own pocket; the same name where the list gives no pocket; the same
//! name in a wrong pocket; a likely slip. What is left on either side is missing or extra.

use std::collections::{BTreeMap, BTreeSet};

use super::Order;
use super::spelling::{Slip, Spelling};
use crate::ids::At;
use crate::ids::PocketId;

/// The lettering of one pocket, lines in reading order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Said {
    /// Which of the runs that are compared with the list together.
    pub run: usize,
    /// The pocket; `None` for lettering that lies in none.
    pub pocket: Option<PocketId>,
    /// Its lines.
    pub lines: Vec<LetteringPiece>,
}

/// One piece of lettering.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LetteringPiece {
    /// What it says.
    pub text: String,
    /// Whoever asks may find it again by this number.
    pub word: usize,
    /// Whether it continues the one before on the same line without a space.
    pub tight: bool,
    /// Whether it was read for certain; only such lettering can fill an order.
    pub sure: bool,
    /// Whether it is a stand-in, which another rule reports.
    pub placeholder: bool,
}

/// Lettering that was taken together as one text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The text.
    pub text: String,
    /// Its run.
    pub run: usize,
    /// Its pocket.
    pub pocket: Option<PocketId>,
    /// The pieces it is made of.
    pub words: Vec<usize>,
}

/// An order that no lettering fills as it should.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// Which order.
    pub order: usize,
    /// What there is instead.
    pub instead: Instead,
}

/// What there is in place of an ordered name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Instead {
    /// Nothing like it.
    Nothing,
    /// A likely slip of it.
    Slip(Found, Slip),
    /// The name itself, in another pocket than the list gives.
    Elsewhere(Found),
    /// The name itself, beside all pockets.
    Beside(Found),
    /// Other lettering, in the pocket that the list gives.
    Other(Found),
}

/// A name that stands in more pockets than were ordered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Twice {
    /// All of them.
    pub found: Vec<Found>,
    /// The last that no order asks for.
    pub surplus: Found,
    /// How many were ordered.
    pub asked: usize,
}

/// What a comparison comes to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Comparison {
    /// Orders that are not filled.
    pub missing: Vec<Missing>,
    /// Lettering that no order asks for.
    pub extra: Vec<Found>,
    /// Names that stand too often.
    pub twice: Vec<Twice>,
    /// Orders that stand as they should, each with its lettering.
    pub filled: Vec<(usize, Found)>,
}

/// Lettering that is the same in all pockets, at least this many, is part of the design and no name.
/// With fewer, two forgotten copies of one name would count as design.
const DESIGN_FROM: usize = 3;

/// A name with its further columns is looked for on up to this many lines.
const MOST_LINES: usize = 6;

/// Compares the lettering of a run with the orders: who is missing, extra or there twice.
pub(crate) fn compare(orders: &[Order], said: &[Said], exact_case: bool) -> Comparison {
    let wanted: Vec<Spelling> = orders.iter().map(|o| Spelling::new(&o.name)).collect();
    let keys = keys(orders, &wanted, exact_case);
    let mut free: Vec<Vec<bool>> = said
        .iter()
        .map(|s| s.lines.iter().map(|l| l.sure && !l.placeholder).collect())
        .collect();
    let mut found = Vec::new();
    for (pocket, free) in said.iter().zip(&mut free) {
        found.extend(names_in(pocket, free, &keys, exact_case));
    }
    let mut out = Comparison::default();
    let mut open = fill(orders, &wanted, found, exact_case, &mut out);
    slips(orders, &wanted, said, &mut free, &mut open, &mut out);
    others(orders, said, &mut free, &mut open, &mut out);
    out.missing.extend(open.into_iter().map(|order| Missing {
        order,
        instead: Instead::Nothing,
    }));
    out.missing.sort_by_key(|m| m.order);
    out.extra = extras(said, &free, exact_case);
    out
}

/// Columns of an order may stand on a blank in any order, of up to so many columns: there are six
/// orders of three, and twenty-four of four.
const ANY_ORDER: usize = 3;

/// Every text that fills an order, each with the text that stands for all of its order.
fn keys(orders: &[Order], wanted: &[Spelling], exact_case: bool) -> BTreeMap<String, String> {
    let mut keys: BTreeMap<String, String> = BTreeMap::new();
    for (order, name) in orders.iter().zip(wanted) {
        let own = name.key(exact_case);
        if (2..=ANY_ORDER).contains(&order.parts.len()) {
            for text in arrangements(&order.parts) {
                let key = Spelling::new(&text).key(exact_case).to_owned();
                keys.entry(key).or_insert_with(|| own.to_owned());
            }
        }
    }
    // A name as it is written wins over another's columns in another order.
    for name in wanted {
        let own = name.key(exact_case).to_owned();
        keys.insert(own.clone(), own);
    }
    // As capitals write it, where they write it otherwise: STRAUSS is an ordered Strauß too.
    if !exact_case {
        let capitals: Vec<(String, String)> = keys
            .iter()
            .map(|(key, own)| (key.to_uppercase(), own.clone()))
            .collect();
        for (key, own) in capitals {
            keys.entry(key).or_insert(own);
        }
    }
    keys
}

/// The parts in every order, joined.
fn arrangements(parts: &[String]) -> Vec<String> {
    let mut out = vec![String::new()];
    let mut used = vec![Vec::new()];
    for _ in parts {
        let (mut longer, mut with) = (Vec::new(), Vec::new());
        for (text, taken) in out.iter().zip(&used) {
            for (i, part) in parts.iter().enumerate().filter(|(i, _)| !taken.contains(i)) {
                longer.push(format!("{text} {part}").trim_start().to_owned());
                with.push(taken.iter().copied().chain([i]).collect::<Vec<usize>>());
            }
        }
        (out, used) = (longer, with);
    }
    out
}

/// The texts that a run of lines may stand for: joined as they stand, with spaces, and with the
/// hyphens at line ends taken out, or kept ("Anne-", "Marie").
pub(crate) fn joins(lines: &[LetteringPiece]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for way in 0..4 {
        let mut text = String::new();
        for (i, line) in lines.iter().enumerate() {
            match (i, way) {
                (0, _) => {}
                (_, 0) if line.tight => {}
                (_, 2) if text.ends_with(['-', '\u{2010}']) => {
                    text.pop();
                }
                (_, 3) if text.ends_with(['-', '\u{2010}']) => {}
                _ => text.push(' '),
            }
            text.push_str(line.text.trim());
        }
        if !out.contains(&text) {
            out.push(text);
        }
    }
    out
}

/// Runs of free neighbouring lines, the longest first.
fn runs(free: &[bool]) -> Vec<std::ops::Range<usize>> {
    let mut out = Vec::new();
    for length in (1..=MOST_LINES.min(free.len())).rev() {
        for start in 0..=free.len() - length {
            let run = start..start + length;
            if !free.at(run.clone()).contains(&false) {
                out.push(run);
            }
        }
    }
    out
}

fn found(said: &Said, run: &std::ops::Range<usize>, text: String) -> Found {
    Found {
        text,
        run: said.run,
        pocket: said.pocket,
        words: said.lines.at(run.clone()).iter().map(|l| l.word).collect(),
    }
}

fn take(free: &mut [bool], run: &std::ops::Range<usize>) {
    free.at_mut(run.clone()).fill(false);
}

/// The names of the list that stand in a pocket, each once, and takes their lines.
fn names_in(
    said: &Said,
    free: &mut [bool],
    keys: &BTreeMap<String, String>,
    exact_case: bool,
) -> Vec<(String, Found)> {
    let mut out: Vec<(String, Found)> = Vec::new();
    for run in runs(free) {
        if free.at(run.clone()).contains(&false) {
            continue;
        }
        let lines = said.lines.at(run.clone());
        let name = joins(lines).into_iter().find_map(|text| {
            let spelt = Spelling::new(&text);
            let in_capitals = || keys.get(&spelt.capitals().filter(|_| !exact_case)?);
            let key = keys.get(spelt.key(exact_case)).or_else(in_capitals)?;
            Some((key.clone(), text))
        });
        let Some((key, text)) = name else { continue };
        take(free, &run);
        // The same name twice on one blank is one piece all the same.
        if !out.iter().any(|(k, _)| *k == key) {
            out.push((key, found(said, &run, text)));
        }
    }
    out
}

/// Pairs orders with names that agree; returns the orders that are left open.
fn fill(
    orders: &[Order],
    wanted: &[Spelling],
    found: Vec<(String, Found)>,
    exact_case: bool,
    out: &mut Comparison,
) -> Vec<usize> {
    let mut by_key: BTreeMap<String, Vec<(Found, bool)>> = BTreeMap::new();
    for (key, f) in found {
        by_key.entry(key).or_default().push((f, false));
    }
    let mut open: Vec<usize> = (0..orders.len()).collect();
    let mut round = |open: &mut Vec<usize>,
                     out: &mut Comparison,
                     test: &dyn Fn(&Order, &Found) -> bool,
                     instead: Option<fn(Found) -> Instead>| {
        open.retain(|index| {
            let (order, name) = (orders.at(*index), wanted.at(*index));
            let hit = by_key
                .get_mut(name.key(exact_case))
                .and_then(|all| all.iter_mut().find(|(f, taken)| !taken && test(order, f)));
            match hit {
                None => true,
                Some((f, taken)) => {
                    *taken = true;
                    match instead {
                        Some(instead) => out.missing.push(Missing {
                            order: *index,
                            instead: instead(f.clone()),
                        }),
                        None => out.filled.push((*index, f.clone())),
                    }
                    false
                }
            }
        });
    };
    let own = |o: &Order, f: &Found| o.pocket.is_some() && o.pocket == f.pocket;
    let any = |o: &Order, f: &Found| o.pocket.is_none() && f.pocket.is_some();
    round(&mut open, out, &own, None);
    round(&mut open, out, &any, None);
    round(
        &mut open,
        out,
        &|_, f| f.pocket.is_some(),
        Some(Instead::Elsewhere),
    );
    round(
        &mut open,
        out,
        &|_, f| f.pocket.is_none(),
        Some(Instead::Beside),
    );
    for (key, all) in by_key {
        let in_pockets: Vec<Found> = all
            .iter()
            .filter(|(f, _)| f.pocket.is_some())
            .map(|(f, _)| f.clone())
            .collect();
        let surplus = all
            .iter()
            .rev()
            .find(|(f, taken)| !taken && f.pocket.is_some());
        if let Some((surplus, _)) = surplus {
            out.twice.push(Twice {
                found: in_pockets,
                surplus: surplus.clone(),
                asked: wanted.iter().filter(|w| w.key(exact_case) == key).count(),
            });
        }
    }
    open
}

/// Pairs open orders with lettering that is likely a slip of them, the likeliest first.
fn slips(
    orders: &[Order],
    wanted: &[Spelling],
    said: &[Said],
    free: &mut [Vec<bool>],
    open: &mut Vec<usize>,
    out: &mut Comparison,
) {
    let mut likely = Vec::new();
    for (which, (pocket, free)) in said.iter().zip(free.iter()).enumerate() {
        if pocket.pocket.is_none() {
            continue;
        }
        for run in runs(free) {
            let lines = pocket.lines.at(run.clone());
            for text in joins(lines) {
                let spelt = Spelling::new(&text);
                for index in open.iter().copied() {
                    if let Some(slip) = spelt.slip(wanted.at(index)) {
                        let order = orders.at(index);
                        let away = order.pocket.is_some() && order.pocket != pocket.pocket;
                        likely.push((slip, away, index, which, run.clone(), text.clone()));
                    }
                }
            }
        }
    }
    likely.sort_by(|a, b| {
        (a.0, a.1, a.2, a.3, a.4.start, a.4.end).cmp(&(b.0, b.1, b.2, b.3, b.4.start, b.4.end))
    });
    for (slip, _, index, which, run, text) in likely {
        let (pocket, free) = (said.at(which), free.at_mut(which));
        if free.at(run.clone()).contains(&false) || !open.contains(&index) {
            continue;
        }
        take(free, &run);
        open.retain(|i| *i != index);
        out.missing.push(Missing {
            order: index,
            instead: Instead::Slip(found(pocket, &run, text), slip),
        });
    }
}

/// Where the list gives a pocket and other lettering stands there: one thing to say, not two.
fn others(
    orders: &[Order],
    said: &[Said],
    free: &mut [Vec<bool>],
    open: &mut Vec<usize>,
    out: &mut Comparison,
) {
    open.retain(|index| {
        let Some(own) = orders.at(*index).pocket else {
            return true;
        };
        for (pocket, free) in said.iter().zip(free.iter_mut()) {
            let run = runs(free).into_iter().next();
            if let Some(run) = run.filter(|_| pocket.pocket == Some(own)) {
                let lines = pocket.lines.at(run.clone());
                let text = joins(lines).into_iter().next().unwrap_or_default();
                take(free, &run);
                out.missing.push(Missing {
                    order: *index,
                    instead: Instead::Other(found(pocket, &run, text)),
                });
                return false;
            }
        }
        true
    });
}

/// What stands in every pocket of a run, and so is part of the design.
struct Design {
    exact_case: bool,
    /// Lettered pockets of each run.
    pockets: BTreeMap<usize, usize>,
    /// In how many pockets of a run a text stands.
    seen: BTreeMap<(usize, String), usize>,
    /// Texts that stand in all of enough pockets of some run.
    known: BTreeSet<String>,
}

impl Design {
    fn of(said: &[Said], exact_case: bool) -> Self {
        let mut design = Self {
            exact_case,
            pockets: BTreeMap::new(),
            seen: BTreeMap::new(),
            known: BTreeSet::new(),
        };
        for pocket in said
            .iter()
            .filter(|s| s.pocket.is_some() && !s.lines.is_empty())
        {
            *design.pockets.entry(pocket.run).or_default() += 1;
            let own: BTreeSet<String> = pocket.lines.iter().map(|l| design.key(l)).collect();
            for text in own {
                *design.seen.entry((pocket.run, text)).or_default() += 1;
            }
        }
        for ((run, text), times) in &design.seen {
            if design.pockets.get(run) == Some(times) && *times >= DESIGN_FROM {
                design.known.insert(text.clone());
            }
        }
        design
    }

    fn key(&self, line: &LetteringPiece) -> String {
        Spelling::new(&line.text).key(self.exact_case).to_owned()
    }

    fn is(&self, run: usize, line: &LetteringPiece) -> bool {
        let key = self.key(line);
        // The last run of a batch may be short.
        self.known.contains(&key) && self.seen.get(&(run, key)) == self.pockets.get(&run)
    }
}

/// Lettering that is left over, without what is the same in every pocket.
fn extras(said: &[Said], free: &[Vec<bool>], exact_case: bool) -> Vec<Found> {
    let design = Design::of(said, exact_case);
    let mut out = Vec::new();
    for (pocket, free) in said.iter().zip(free) {
        if pocket.pocket.is_none() {
            continue;
        }
        for (i, (line, free)) in pocket.lines.iter().zip(free).enumerate() {
            if *free && !design.is(pocket.run, line) && !line.text.trim().is_empty() {
                out.push(found(pocket, &(i..i + 1), line.text.trim().to_owned()));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests;
