//! Where anchored lettering lies along its line: readers do this in two ways.
//!
//! Browsers count the space after the last letter of a spaced line, so that such a line, when
//! centred, lies half a space further to the left. They also take the sum of its steps as the length
//! of a line whose words run backwards. usvg and others do neither. Measured with Chromium 148.

use std::collections::BTreeSet;

use kurbo::{Affine, Point, Vec2};

use super::glyphs::Shelf;
use super::laid::{Laid, Shaped};
use super::runs::{Block, Piece};
use super::script::Script;
use super::usvg_bridge::longer;
use super::writing::{right_to_left, spaces_out};
use crate::artwork::mark::Lay;
use crate::ids::At;

/// What readers differ about where a line is spaced.
const SPACED: &str = "the spacing of lettering that is centred or ends at its place";

/// What they differ about where it runs backwards.
const BACKWARDS: &str = "spacing so tight that words run backwards";

/// A move smaller than this, in user units, counts as none.
const NOTHING: f64 = 1e-6;

/// Moves what usvg laid out to where the chosen lay puts it, and notes what readers differ about.
pub(super) fn settle(
    script: &Script,
    blocks: &[Block],
    laid: &mut [Option<Laid>],
    shelf: &mut Shelf<'_>,
    disputed: &mut BTreeSet<&'static str>,
) {
    let mut first = 0;
    for block in blocks {
        let count = block.pieces.len();
        if block.track.is_some() {
            let counted = counted_on_curve(script, block) * share(script, &block.pieces);
            if counted.abs() > NOTHING {
                disputed.insert(SPACED);
            }
        } else {
            let laid = laid.at_mut(first..first + count);
            settle_block(script, block, laid, shelf, disputed);
        }
        first += count;
    }
}

fn settle_block(
    script: &Script,
    block: &Block,
    laid: &mut [Option<Laid>],
    shelf: &mut Shelf<'_>,
    disputed: &mut BTreeSet<&'static str>,
) {
    // How much longer the runs so far are than in usvg's layout: a run without a position continues
    // after them.
    let mut carried = 0.0;
    let mut from = 0;
    while from < block.pieces.len() {
        let next = block
            .pieces
            .iter()
            .skip(from + 1)
            .position(|piece| piece.starts)
            .map_or(block.pieces.len(), |p| from + 1 + p);
        let (pieces, own) = (block.pieces.at(from..next), laid.at_mut(from..next));
        let begins = if pieces.first().is_some_and(|piece| piece.x.is_none()) && from > 0 {
            carried
        } else {
            0.0
        };
        let trailing = trailing(script, pieces, own);
        let share = share(script, pieces);
        let by = match backwards(script, pieces, own, share, shelf) {
            Some(by) => {
                disputed.insert(BACKWARDS);
                by
            }
            None => {
                if (trailing * share).abs() > NOTHING {
                    disputed.insert(SPACED);
                }
                -trailing * share
            }
        };
        carried = begins + by + trailing;
        if script.lay == Lay::Browser {
            let along = if script.vertical() {
                Vec2::new(0.0, 1.0)
            } else {
                Vec2::new(1.0, 0.0)
            };
            for laid in own.iter_mut().flatten() {
                shift(laid, (begins + by) * along);
            }
            // An underline continues under the space after the last letter.
            if let Some(last) = own
                .last_mut()
                .and_then(Option::as_mut)
                .and_then(|laid| laid.stretches.last_mut())
            {
                last.to += trailing * along;
            }
        }
        from = next;
    }
}

/// How much further along its curve a block starts in the chosen lay than in usvg's layout.
pub(super) fn on_curve(script: &Script, block: &Block) -> f64 {
    let pieces = &block.pieces;
    let signs: f64 = pieces
        .iter()
        .map(|piece| longer(&script.owner(piece.owner).style, piece))
        .sum();
    let counted = match script.lay {
        Lay::Browser => counted_on_curve(script, block),
        Lay::Other => 0.0,
    };
    (signs - counted) * share(script, pieces)
}

/// The part of the length of lettering along a curve that browsers count and usvg does not: the space
/// after the last letter, and all moves but the first.
fn counted_on_curve(script: &Script, block: &Block) -> f64 {
    let moves: f64 = block.pieces.iter().flat_map(|piece| &piece.dx).sum();
    let first = block.pieces.first().and_then(|piece| piece.dx.first());
    spacing_after(script, block.pieces.last()) + moves - first.copied().unwrap_or(0.0)
}

/// The share of a run's length that lies before its anchor.
fn share(script: &Script, pieces: &[Piece]) -> f64 {
    let anchor = pieces
        .first()
        .map_or("start", |piece| script.owner(piece.owner).style.anchor);
    match anchor {
        "middle" => 0.5,
        "end" => 1.0,
        _ => 0.0,
    }
}

/// The space after the rightmost letter of a run, which is not always the last one in reading order.
fn trailing(script: &Script, pieces: &[Piece], laid: &[Option<Laid>]) -> f64 {
    let turned = pieces.iter().any(|p| p.text.chars().any(right_to_left));
    if !turned {
        return spacing_after(script, pieces.last());
    }
    let place = |glyph: &Shaped| (glyph.placed * Point::ZERO).x;
    let rightmost = pieces
        .iter()
        .zip(laid)
        .filter_map(|(piece, laid)| Some((piece, laid.as_ref()?)))
        .flat_map(|(piece, laid)| laid.glyphs.iter().map(move |glyph| (piece, glyph)))
        .filter(|(_, glyph)| !glyph.text.is_empty())
        .max_by(|a, b| place(a.1).total_cmp(&place(b.1)));
    rightmost.map_or(0.0, |(piece, glyph)| {
        if glyph.text.chars().all(spaces_out) {
            script.owner(piece.owner).style.letter_spacing
        } else {
            0.0
        }
    })
}

fn spacing_after(script: &Script, last: Option<&Piece>) -> f64 {
    last.filter(|piece| piece.stretched.is_none() && piece.text.ends_with(spaces_out))
        .map_or(0.0, |piece| script.owner(piece.owner).style.letter_spacing)
}

/// How far to move a run that has a backward step so that its length is the sum of its steps; `None`
/// for any other run.
fn backwards(
    script: &Script,
    pieces: &[Piece],
    laid: &[Option<Laid>],
    share: f64,
    shelf: &mut Shelf<'_>,
) -> Option<f64> {
    let tight = |piece: &Piece| {
        let style = &script.owner(piece.owner).style;
        style.word_spacing < 0.0 && !style.vertical && !style.leftward
    };
    let plain = |piece: &Piece| {
        piece.dx.is_empty() && piece.stretched.is_none() && !piece.text.chars().any(right_to_left)
    };
    if !pieces.iter().any(tight) || !pieces.iter().all(plain) {
        return None;
    }
    let start = pieces.first()?.x?;
    let glyphs: Vec<&Shaped> = laid.iter().flatten().flat_map(|l| &l.glyphs).collect();
    let at = |glyph: &Shaped| (glyph.placed * Point::ZERO).x;
    let (first, last) = (at(glyphs.first()?), at(glyphs.last()?));
    let back = glyphs.iter().any(|glyph| at(glyph) < first - NOTHING);
    let last_glyph = glyphs.last()?;
    let unit = last_glyph.placed.as_coeffs()[0];
    let drawn = shelf.glyph(&last_glyph.stand, last_glyph.glyph);
    let advance = unit * drawn.advance + spacing_after(script, pieces.last());
    let length = last + advance - first;
    // usvg takes the leftmost letter and the rightmost for the line's ends.
    let reach = glyphs.iter().map(|glyph| at(glyph)).fold(first, f64::max);
    let longer = reach > last + NOTHING;
    (back || longer).then(|| start - share * length.max(0.0) - first)
}

/// Moves all of a piece.
fn shift(laid: &mut Laid, by: Vec2) {
    if by.hypot() <= NOTHING {
        return;
    }
    for glyph in &mut laid.glyphs {
        glyph.placed = Affine::translate(by) * glyph.placed;
    }
    for stretch in &mut laid.stretches {
        stretch.from += by;
        stretch.to += by;
    }
}
