//! What is moved, turned or scaled as one.
//!
//! The letters of an outlined name are pieces by themselves. A letter that is moved alone is torn off its name, and
//! nothing could tell: nobody but the customer knows how the name is spelt and spaced.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use kurbo::Rect;

use super::change;
use crate::geometry::region::Region;
use crate::ids::{MarkId, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::evidence::outlined;
use crate::remedy::{Change, What};

/// Outlines of more corners are taken for their box: it takes long to put them together, and what fits the zone as a
/// box fits it all the more as it is.
const MOST_CORNERS: usize = 20_000;

/// Art farther apart than this, in millimetres, is no one word: what lies in two pockets is farther apart
/// than their margins.
const NEAR: f64 = 3.0;

/// Where a piece of the same word could begin, about a piece of art: half as far off as the piece is small.
pub(super) fn room_about(piece: Rect) -> Rect {
    let near = (piece.height().min(piece.width()) / 2.0).min(NEAR);
    piece.inflate(near, near)
}

/// What a person does to `pieces` as one: `does` tells it of "it".
pub(super) fn as_one(pieces: usize, does: &str) -> String {
    if pieces < 2 {
        return does.to_owned();
    }
    let does = does.replacen("it ", "the group ", 1);
    format!("group these pieces; {does}")
}

/// A piece that is a design by itself, live lettering or a picture; or all outlined pieces of a pocket.
pub(super) struct Design<'j, 'a> {
    pieces: Vec<&'j Art<'a>>,
    ink: Region,
    /// The box of all pieces.
    pub(super) bounds: Rect,
}

impl<'a> Design<'_, 'a> {
    /// What is burnt of it; its box where that is rich.
    pub(super) fn ink(&self) -> &Region {
        &self.ink
    }

    /// Its pieces.
    pub(super) fn pieces(&self) -> &[&Art<'a>] {
        &self.pieces
    }

    /// The same done to all of it.
    pub(super) fn changes(&self, what: &What) -> Vec<Change> {
        change::of_all(&self.pieces, what)
    }

    /// What a person does to all of it: `does` tells it of "it".
    pub(super) fn as_one(&self, does: &str) -> String {
        as_one(self.pieces.len(), does)
    }

    /// The boxes of what else is in its pocket.
    pub(super) fn beside(&self, job: &Job<'_>, pocket: PocketId) -> Vec<Rect> {
        let own: HashSet<MarkId> = self.pieces.iter().map(|a| a.mark).collect();
        let here = change::art_of(job, pocket).into_iter();
        let others = here.filter(|a| !own.contains(&a.mark));
        others.map(|a| a.reach).collect()
    }
}

/// The designs of a run, each put together once.
#[derive(Default)]
pub(super) struct Designs<'j, 'a> {
    outlined: RefCell<HashMap<PocketId, Rc<Design<'j, 'a>>>>,
}

impl<'j, 'a> Designs<'j, 'a> {
    /// The design that a piece is of.
    pub(super) fn of(&self, job: &'j Job<'a>, art: &'j Art<'a>) -> Rc<Design<'j, 'a>> {
        let Some(pocket) = art.pocket.filter(|_| outlined(job, art)) else {
            return Rc::new(design(vec![art]));
        };
        let mut known = self.outlined.borrow_mut();
        let found = known.entry(pocket).or_insert_with(|| {
            let mut all = change::art_of(job, pocket);
            all.retain(|a| outlined(job, a));
            Rc::new(design(all))
        });
        Rc::clone(found)
    }
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
