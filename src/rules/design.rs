//! What is moved, turned or scaled as one.
//!
//! The letters of an outlined name are pieces by themselves, and so are those of a live one that was spread by hand. A
//! letter that is moved alone is torn off its name, and nothing could tell: nobody but the customer knows how the name
//! is spelt and spaced.

use std::cell::OnceCell;
use std::collections::{HashMap, HashSet};

use kurbo::Rect;

use super::change;
use crate::abandon;
use crate::artwork::mark::Content;
use crate::geometry::region::Region;
use crate::ids::{At as _, MarkId, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::evidence::outlined;
use crate::matching::pocket_text::{follows, read_lettering};
use crate::matching::text_line::Words;
use crate::remedy::{Change, What};

/// Outlines of more corners are taken for their box: it takes long to put them together, and what fits the zone as a
/// box fits it all the more as it is.
const MOST_CORNERS: usize = 3_000;

/// Steps that the remedies of all designs may take in a rule (see [`abandon::spend`]): a third of what the rule may.
const MOST_STEPS: usize = 1_000_000;

/// Art farther apart than this, in millimetres, is no one word: what lies in two pockets is farther apart
/// than their margins.
const NEAR: f64 = 3.0;

/// Where a piece of the same word could begin, about a piece of art: half as far off as the piece is small.
pub(super) fn room_about(piece: Rect) -> Rect {
    let near = (piece.height().min(piece.width()) / 2.0).min(NEAR);
    piece.inflate(near, near)
}

/// Live lettering on one line that begins within so many of its sizes of where the last one ends was set as one: a
/// space, or letters that were spread by hand.
const ON_ONE_LINE: f64 = 1.0;

/// What a person does to `pieces` as one: `does` tells it of "it".
pub(super) fn as_one(job: &Job<'_>, pieces: &[&Art<'_>], does: &str) -> String {
    if one_element(job, pieces) {
        return does.to_owned();
    }
    let does = does.replacen("it ", "the group ", 1);
    format!("group it with what belongs to it; {does}")
}

/// Whether pieces are drawn by one element: its fill and its line are two marks.
pub(super) fn one_element(job: &Job<'_>, pieces: &[&Art<'_>]) -> bool {
    let mut drawn_by = pieces.iter().map(|a| &job.mark(a.mark).origin);
    let first = drawn_by.next();
    drawn_by.all(|o| first.is_some_and(|f| f.range == o.range && f.uses == o.uses))
}

/// A picture; live lettering that stands on one line; or all outlined pieces of a pocket.
pub(super) struct Design<'j, 'a> {
    /// Its pieces, in the order of the file; never empty.
    pub(super) pieces: Vec<&'j Art<'a>>,
    /// What is burnt of it; its box where that is rich.
    pub(super) ink: Region,
    /// The box of all pieces.
    pub(super) bounds: Rect,
}

impl Design<'_, '_> {
    /// The same done to all of it.
    pub(super) fn changes(&self, what: &What) -> Vec<Change> {
        change::of_all(&self.pieces, what)
    }

    /// The boxes of what else is in its pocket.
    pub(super) fn beside(&self, job: &Job<'_>, pocket: PocketId) -> Vec<Rect> {
        let own: HashSet<MarkId> = self.pieces.iter().map(|a| a.mark).collect();
        let here = change::art_of(job, pocket).into_iter();
        let others = here.filter(|a| !own.contains(&a.mark));
        others.map(|a| a.reach).collect()
    }
}

/// What a design is known by: all outlined pieces of a pocket are one.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Key {
    Outlined,
    Line(usize),
    Alone(MarkId),
}

/// What a rule makes of each design of a run, worked out once.
pub(super) struct Designs<'j, 'a, T> {
    job: &'j Job<'a>,
    /// The lines of live lettering, once they are asked for.
    lines: OnceCell<Vec<Vec<MarkId>>>,
    known: HashMap<(PocketId, Key), Option<T>>,
}

impl<'j, 'a, T: Clone> Designs<'j, 'a, T> {
    pub(super) fn new(job: &'j Job<'a>) -> Self {
        Self {
            job,
            lines: OnceCell::new(),
            known: HashMap::new(),
        }
    }

    /// What is made of the design that a piece in a pocket is of; `None` where that takes too long, or a rule would
    /// lose what it found over how to put it right.
    pub(super) fn made(
        &mut self,
        pocket: PocketId,
        art: &'j Art<'a>,
        make: impl FnOnce(&Design<'j, 'a>) -> T,
    ) -> Option<T> {
        let key = self.key(art);
        if let Some(known) = self.known.get(&(pocket, key)) {
            return known.clone();
        }
        let pockets = self.job.pockets.len().max(1);
        let each = abandon::for_pockets(MOST_STEPS, pockets) / pockets;
        let pieces = self.pieces(pocket, art, key);
        let made = abandon::within(each, || make(&design(pieces)));
        self.known.insert((pocket, key), made.clone());
        made
    }

    fn lines(&self) -> &[Vec<MarkId>] {
        self.lines.get_or_init(|| lines(self.job))
    }

    fn key(&self, art: &Art<'_>) -> Key {
        if outlined(self.job, art) {
            return Key::Outlined;
        }
        let line = match self.job.mark(art.mark).content {
            Content::Lettering(_) => self.lines().iter().position(|l| l.contains(&art.mark)),
            _ => None,
        };
        line.map_or(Key::Alone(art.mark), Key::Line)
    }

    fn pieces(&self, pocket: PocketId, art: &'j Art<'a>, key: Key) -> Vec<&'j Art<'a>> {
        let mut here = change::art_of(self.job, pocket);
        match key {
            Key::Outlined => here.retain(|a| outlined(self.job, a)),
            Key::Line(n) => here.retain(|a| self.lines().at(n).contains(&a.mark)),
            Key::Alone(_) => return vec![art],
        }
        here
    }
}

/// The marks of live lettering, line by line.
fn lines(job: &Job<'_>) -> Vec<Vec<MarkId>> {
    let live = |m: &MarkId| matches!(job.mark(*m).content, Content::Lettering(_));
    let mut words = read_lettering(job).words;
    words.retain(|w| w.marks.iter().all(live));
    let mut lines: Vec<Vec<MarkId>> = Vec::new();
    let mut last: Option<&Words> = None;
    for word in &words {
        let on = |last: &Words| last.pocket == word.pocket && follows(last, word, ON_ONE_LINE);
        match lines.last_mut().filter(|_| last.is_some_and(on)) {
            Some(line) => line.extend(&word.marks),
            None => lines.push(word.marks.clone()),
        }
        last = Some(word);
    }
    lines
}

fn design<'j, 'a>(pieces: Vec<&'j Art<'a>>) -> Design<'j, 'a> {
    let boxes = pieces.iter().map(|a| a.bounds());
    let bounds = boxes.reduce(|a, b| a.union(b)).unwrap_or_default();
    let corners: usize = pieces.iter().map(|a| a.ink().corners()).sum();
    let ink = match pieces.as_slice() {
        [one] => one.ink().clone(),
        _ if corners > MOST_CORNERS => Region::from_rect(bounds),
        _ => Region::union_all(pieces.iter().map(|a| a.ink())),
    };
    Design {
        pieces,
        ink,
        bounds,
    }
}
