//! Lettering of a stated length (`textLength`).

use super::runs::{Block, Piece};
use super::script::Script;
use super::{TextProblem, inkless};
use crate::ids::{At, IdVec, OwnerId};

impl Script {
    /// Gives `textLength` to the pieces it is for. usvg stretches piece by piece, so it is right
    /// only where one piece is the whole anchored run.
    pub(super) fn stretch(&self, blocks: &mut [Block]) -> Result<(), TextProblem> {
        if self.owners.iter().all(|owner| owner.length.is_none()) {
            return Ok(());
        }
        let ink = self.ink(blocks);
        for block in blocks {
            let alone: Vec<bool> = (0..block.pieces.len())
                .map(|i| self.alone(&block.pieces, i))
                .collect();
            for (piece, alone) in block.pieces.iter_mut().zip(alone) {
                let mut lengths = self
                    .around(piece.owner)
                    .filter_map(|(_, owner)| owner.length);
                let Some(length) = lengths.next() else {
                    continue;
                };
                let own = piece.text.chars().filter(|c| !inkless(*c)).count();
                let style = &self.owner(piece.owner).style;
                let simple =
                    style.letter_spacing == 0.0 && style.word_spacing == 0.0 && !style.vertical;
                // Every element that states a length around the piece holds nothing else.
                let whole = self
                    .around(piece.owner)
                    .filter(|(_, owner)| owner.length.is_some())
                    .all(|(id, _)| ink[id] == own);
                if !alone
                    || !simple
                    || !whole
                    || block.track.is_some()
                    || lengths.any(|outer| outer != length)
                    || !(piece.dx.is_empty() && piece.dy.is_empty() && piece.rotate.is_empty())
                {
                    return Err(TextProblem::outline(
                        "lettering has a fixed length (`textLength`) over several parts, which readers lay out differently",
                    ));
                }
                piece.stretched = Some(length);
            }
        }
        Ok(())
    }

    /// Whether a piece is an anchored run by itself, and what comes next does not depend on where it
    /// ends. Blank pieces after it do no harm unless they count for centring.
    fn alone(&self, pieces: &[Piece], index: usize) -> bool {
        let piece = pieces.at(index);
        if !piece.starts {
            return false;
        }
        let start = self.owner(piece.owner).style.anchor == "start";
        for next in pieces.iter().skip(index + 1) {
            if next.starts {
                return next.x.is_some();
            }
            if !start || !next.text.chars().all(inkless) {
                return false;
            }
        }
        true
    }

    /// How many characters with ink each owner holds, its inner elements' included.
    fn ink(&self, blocks: &[Block]) -> IdVec<OwnerId, usize> {
        let mut ink = self.owners.each(0);
        for piece in blocks.iter().flat_map(|block| &block.pieces) {
            let count = piece.text.chars().filter(|c| !inkless(*c)).count();
            for (id, _) in self.around(piece.owner) {
                ink[id] += count;
            }
        }
        ink
    }
}
