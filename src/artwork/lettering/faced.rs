//! The faces that a text is set in, and what they lack.

use std::collections::{BTreeSet, HashMap};

use ttf_parser::Tag;
use usvg::fontdb::Database;

use super::runs::Block;
use super::script::Script;
use super::{TextProblem, in_colours, inkless};
use crate::artwork::fonts::{Chosen, Faces, coloured, describe, with_face};
use crate::ids::{FontId, IdVec, OwnerId};

/// The faces that a text is set in.
#[derive(Debug, Default)]
pub(super) struct Fonts {
    pub(super) chosen: IdVec<FontId, Chosen>,
    /// For each owner, which of them.
    pub(super) of_owner: IdVec<OwnerId, FontId>,
}

impl Fonts {
    /// Chooses a face for every owner.
    pub(super) fn choose(script: &Script, faces: &Faces) -> Result<Self, TextProblem> {
        let mut fonts = Self::default();
        let mut known = HashMap::new();
        for owner in &script.owners {
            let ask = &owner.style.ask;
            let id = if let Some(id) = known.get(ask) {
                *id
            } else {
                let chosen = faces.choose(ask).ok_or_else(|| {
                    TextProblem::outline("lettering could not be laid out without any face")
                })?;
                let id = fonts.chosen.push(chosen);
                known.insert(ask, id);
                id
            };
            fonts.of_owner.push(id);
        }
        Ok(fonts)
    }

    /// The face of an owner.
    pub(super) fn of(&self, owner: OwnerId) -> &Chosen {
        &self.chosen[self.of_owner[owner]]
    }
}

/// What a face lacks among the characters that are set in it.
#[derive(Debug, Default)]
pub(super) struct Gaps {
    pub(super) missing: BTreeSet<char>,
    coloured: BTreeSet<char>,
}

/// Looks up each character in the face that it is set in.
///
/// Coloured glyphs are refused before layout: usvg would draw them as pictures, and read what they
/// refer to.
pub(super) fn gaps(
    database: &Database,
    script: &Script,
    blocks: &[Block],
    fonts: &Fonts,
) -> Result<IdVec<FontId, Gaps>, TextProblem> {
    let mut used = fonts.chosen.each(BTreeSet::new());
    let mut small_caps = fonts.chosen.each(false);
    for piece in blocks.iter().flat_map(|block| &block.pieces) {
        let font = fonts.of_owner[piece.owner];
        used[font].extend(piece.text.chars().filter(|c| !inkless(*c)));
        small_caps[font] |= script.owner(piece.owner).style.small_caps;
    }
    let mut gaps = IdVec::default();
    for ((chosen, used), small) in fonts.chosen.iter().zip(&used).zip(small_caps) {
        let found = with_face(database, chosen.id, &[], |face| {
            let mut found = Gaps::default();
            for c in used {
                match face.glyph_index(*c) {
                    None => drop(found.missing.insert(*c)),
                    Some(glyph) if coloured(face, glyph) => drop(found.coloured.insert(*c)),
                    Some(_) => {}
                }
            }
            let tag = Tag::from_bytes(b"smcp");
            let has = face
                .tables()
                .gsub
                .is_some_and(|t| t.features.into_iter().any(|f| f.tag == tag));
            (found, has)
        });
        let Some((found, has)) = found else {
            return Err(TextProblem::outline(format!(
                "lettering is set in a face that could not be read (\"{}\")",
                describe(database, chosen.id)
            )));
        };
        if small && !has {
            return Err(TextProblem::outline(
                "lettering asks for small capitals that its face does not hold, so each reader makes up its own",
            ));
        }
        if !found.coloured.is_empty() {
            return Err(in_colours(&found.coloured.iter().collect::<String>()));
        }
        gaps.push(found);
    }
    Ok(gaps)
}
