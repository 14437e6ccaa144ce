//! From characters to pieces: white space is folded and positions are assigned.
//!
//! Both are done here, in `f64`, because usvg does them in its own way (it drops the space in
//! `Anna<tspan> Bell</tspan>`, for one), and because a flat list of pieces has no nesting that could
//! overflow its stack.

use kurbo::Point;
use unicode_normalization::char::is_combining_mark;

use super::script::{Character, Script, Stretched, Track};
use super::writing::{right_to_left, spaces_out};
use super::{MOST_ON_A_LINE, MOST_WORK, TextProblem, inkless};
use crate::ids::{At, IdVec, OwnerId, TrackId};

/// Most pieces of a curve times letters on it: usvg looks at each piece for each letter.
const MOST_TRACK_WORK: usize = 20_000_000;

/// A character with its place, white space folded.
#[derive(Debug, Clone, Copy)]
struct Placed {
    c: char,
    owner: OwnerId,
    x: Option<f64>,
    y: Option<f64>,
    /// The position is not the first of its list.
    listed: bool,
    dx: f64,
    dy: f64,
    rotate: f64,
}

/// A part of a text that is laid out by itself: its position does not depend on what comes before.
#[derive(Debug)]
pub(super) struct Block {
    /// Added to everything after layout, so that layout happens near the origin: `f32` is 4 mm
    /// coarse at 50 km and 0.004 mm at 50 m.
    pub(super) origin: Point,
    pub(super) track: Option<TrackId>,
    pub(super) pieces: Vec<Piece>,
}

/// Characters of one element that follow each other, with an absolute position at most at the
/// first.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    pub(super) owner: OwnerId,
    pub(super) text: String,
    /// Whether it starts a new anchored run.
    pub(super) starts: bool,
    /// Whether it may be a further letter of a word that is placed letter by letter.
    pub(super) listed: bool,
    /// Relative to the block's origin.
    pub(super) x: Option<f64>,
    pub(super) y: Option<f64>,
    /// One number a character; empty if all are zero.
    pub(super) dx: Vec<f64>,
    pub(super) dy: Vec<f64>,
    pub(super) rotate: Vec<f64>,
    pub(super) stretched: Option<Stretched>,
}

impl Script {
    /// What is to be laid out. Parts that are not displayed are included if `with_dropped` is set.
    pub(super) fn blocks(&self, with_dropped: bool) -> Result<Vec<Block>, TextProblem> {
        let characters = self.folded(with_dropped)?;
        let placed = self.placed(&characters);
        let mut blocks = self.gathered(&placed)?;
        self.stretch(&mut blocks)?;
        self.check_spacing(&blocks)?;
        check_work(&self.tracks, &blocks)?;
        Ok(blocks)
    }

    /// Folds white space as browsers do: a line feed or tab is a space (SVG 2, section 11.7.3; SVG
    /// 1.1 would drop line feeds), one of several is kept, across elements too, and none at either
    /// end of the text.
    fn folded(&self, with_dropped: bool) -> Result<Vec<Character>, TextProblem> {
        let mut kept: Vec<Character> = Vec::new();
        let mut after_space = true;
        let mut last_preserved = false;
        for character in &self.characters {
            let owner = self.owner(character.owner);
            if owner.dropped && !with_dropped {
                continue;
            }
            let mut character = *character;
            if matches!(character.c, '\n' | '\r') && owner.style.breaks {
                return Err(TextProblem::outline(
                    "lettering keeps its line feeds, which only some readers turn into lines",
                ));
            }
            if matches!(character.c, '\n' | '\r' | '\t') {
                character.c = ' ';
            }
            let space = character.c == ' ' && !owner.style.preserve;
            if space && after_space {
                continue;
            }
            after_space = space;
            last_preserved = owner.style.preserve;
            kept.push(character);
        }
        if kept.last().is_some_and(|last| last.c == ' ') && !last_preserved {
            kept.pop();
        }
        Ok(kept)
    }

    /// Assigns the lists of positions to characters: the innermost element that has a number for a
    /// character decides; the last angle of a list goes on to the end of its element (SVG 1.1,
    /// section 10.5).
    fn placed(&self, characters: &[Character]) -> Vec<Placed> {
        let mut spans = self.owners.each(None::<(usize, usize)>);
        for (at, character) in characters.iter().enumerate() {
            for (id, _) in self.around(character.owner) {
                spans[id].get_or_insert((at, at)).1 = at;
            }
        }
        let mut placed: Vec<Placed> = characters
            .iter()
            .map(|&Character { c, owner }| Placed {
                c,
                owner,
                x: None,
                y: None,
                listed: false,
                dx: 0.0,
                dy: 0.0,
                rotate: 0.0,
            })
            .collect();
        for (owner, span) in self.owners.iter().zip(spans) {
            let Some((first, last)) = span else { continue };
            for (i, character) in placed.at_mut(first..=last).iter_mut().enumerate() {
                if let Some(x) = owner.x.get(i) {
                    character.x = Some(*x);
                    character.listed = i > 0;
                }
                if let Some(y) = owner.y.get(i) {
                    character.y = Some(*y);
                    character.listed = i > 0;
                }
                character.dx = owner.dx.get(i).copied().unwrap_or(character.dx);
                character.dy = owner.dy.get(i).copied().unwrap_or(character.dy);
                if let Some(angle) = owner.rotate.get(i).or(owner.rotate.last()) {
                    character.rotate = *angle;
                }
            }
        }
        placed
    }

    /// Gathers characters into pieces, and pieces into blocks.
    fn gathered(&self, placed: &[Placed]) -> Result<Vec<Block>, TextProblem> {
        let mut blocks: Vec<Block> = Vec::new();
        for character in placed {
            let owner = self.owner(character.owner);
            let moved = character.dx != 0.0 || character.dy != 0.0;
            let set = character.x.is_some() || character.y.is_some();
            if is_combining_mark(character.c) && (moved || set) {
                return Err(TextProblem::outline(
                    "lettering places an accent apart from its letter",
                ));
            }
            let full = character.x.is_some() && character.y.is_some();
            let fresh = blocks.last().is_none_or(|block| block.track != owner.track);
            if owner.track.is_some() {
                self.check_on_track(character, fresh)?;
            } else if fresh && !blocks.is_empty() && !full {
                if inkless(character.c) {
                    continue;
                }
                return Err(TextProblem::outline(
                    "lettering goes on after a curve without a place of its own",
                ));
            }
            let anew = fresh || (owner.track.is_none() && full);
            if anew {
                let origin = match owner.track {
                    Some(track) => self.tracks[track]
                        .path
                        .segments()
                        .next()
                        .map_or(Point::ZERO, |s| kurbo::ParamCurve::start(&s)),
                    None => Point::new(character.x.unwrap_or(0.0), character.y.unwrap_or(0.0)),
                };
                blocks.push(Block {
                    origin,
                    track: owner.track,
                    pieces: Vec::new(),
                });
            }
            let Some(block) = blocks.last_mut() else {
                continue;
            };
            let starts = anew || (owner.track.is_none() && set);
            if starts
                || block
                    .pieces
                    .last()
                    .is_none_or(|piece| piece.owner != character.owner)
            {
                let relative = |value: Option<f64>, origin: f64| value.map(|v| v - origin);
                let on_line = owner.track.is_none();
                block.pieces.push(Piece {
                    owner: character.owner,
                    starts,
                    listed: character.listed,
                    x: relative(character.x, block.origin.x).filter(|_| on_line),
                    y: relative(character.y, block.origin.y).filter(|_| on_line),
                    text: String::new(),
                    dx: Vec::new(),
                    dy: Vec::new(),
                    rotate: Vec::new(),
                    stretched: None,
                });
            }
            if let Some(piece) = block.pieces.last_mut() {
                piece.text.push(character.c);
                piece.dx.push(character.dx);
                piece.dy.push(character.dy);
                piece.rotate.push(character.rotate);
            }
        }
        for piece in blocks.iter_mut().flat_map(|block| &mut block.pieces) {
            for list in [&mut piece.dx, &mut piece.dy, &mut piece.rotate] {
                if list.iter().all(|v| *v == 0.0) {
                    list.clear();
                }
            }
        }
        Ok(blocks)
    }

    /// Extra space between letters where not all of them take it, or where they run both ways: readers
    /// differ about where it goes.
    fn check_spacing(&self, blocks: &[Block]) -> Result<(), TextProblem> {
        for piece in blocks.iter().flat_map(|block| &block.pieces) {
            let style = &self.owner(piece.owner).style;
            let any = |test: fn(char) -> bool| piece.text.chars().any(test);
            let joins = any(|c| !spaces_out(c)) && any(spaces_out);
            let both = (style.leftward || any(right_to_left))
                && any(|c| c.is_alphabetic() && !right_to_left(c));
            if style.letter_spacing != 0.0 && (joins || both) {
                return Err(TextProblem::outline(
                    "lettering has `letter-spacing` and letters of two kinds of script, which readers space differently",
                ));
            }
        }
        Ok(())
    }

    /// Positions of letters on a curve that readers treat differently: an absolute x moves along
    /// the curve in some and nothing in others, and usvg loses count when letters go backwards.
    fn check_on_track(&self, character: &Placed, first: bool) -> Result<(), TextProblem> {
        let set =
            character.x.is_some_and(|x| x != 0.0 || !first) || character.y.is_some_and(|_| !first);
        if set {
            return Err(TextProblem::new(
                "lettering on a curve also has a place of its own, which moves it in some readers only",
                "set x of this lettering to 0, or turn it into outlines",
            ));
        }
        let style = &self.owner(character.owner).style;
        let tight = style.letter_spacing < -0.2 * style.size || style.word_spacing < 0.0;
        if character.dx < 0.0 || tight {
            return Err(TextProblem::outline("lettering on a curve runs backwards"));
        }
        Ok(())
    }
}

fn check_work(tracks: &IdVec<TrackId, Track>, blocks: &[Block]) -> Result<(), TextProblem> {
    let long = || {
        TextProblem::new(
            "lettering has too many characters or parts on one line",
            "split this line, or turn the lettering into outlines",
        )
    };
    for block in blocks {
        let (mut characters, mut pieces, mut all) = (0, 0, 0);
        for piece in &block.pieces {
            if piece.starts {
                (characters, pieces) = (0, 0);
            }
            let count = piece.text.chars().count();
            all += count;
            characters += count;
            pieces += 1;
            if characters > MOST_ON_A_LINE || characters * pieces > MOST_WORK {
                return Err(long());
            }
        }
        let segments = block
            .track
            .map_or(0, |track| tracks[track].path.segments().count());
        if segments * all > MOST_TRACK_WORK {
            return Err(long());
        }
    }
    Ok(())
}
