//! The faces that a text is set in, and what they lack.

use std::collections::{BTreeSet, HashMap};

use ttf_parser::Tag;
use usvg::fontdb::Database;

use super::runs::Block;
use super::script::Script;
use super::{TextProblem, in_colours, inkless};
use crate::artwork::fonts::{Chosen, Faces, coloured, describe, with_face};

/// The faces that a text is set in.
#[derive(Debug, Default)]
pub(super) struct Fonts {
    pub(super) chosen: Vec<Chosen>,
    /// For each owner, which of them.
    pub(super) of_owner: Vec<usize>,
}

impl Fonts {
    /// Chooses a face for every owner.
    pub(super) fn choose(script: &Script, faces: &Faces) -> Result<Self, TextProblem> {
        let mut fonts = Self::default();
        let mut known = HashMap::new();
        for owner in &script.owners {
            let ask = &owner.style.ask;
            let index = if let Some(index) = known.get(ask) {
                *index
            } else {
                let chosen = faces.choose(ask).ok_or_else(|| {
                    TextProblem::outline("lettering could not be laid out without any face")
                })?;
                known.insert(ask, fonts.chosen.len());
                fonts.chosen.push(chosen);
                fonts.chosen.len() - 1
            };
            fonts.of_owner.push(index);
        }
        Ok(fonts)
    }

    /// The face of an owner.
    pub(super) fn of(&self, owner: usize) -> Option<&Chosen> {
        self.chosen.get(*self.of_owner.get(owner)?)
    }
}

/// What a face lacks among the characters that are set in it.
#[derive(Debug, Default)]
pub(super) struct Gaps {
    pub(super) missing: BTreeSet<char>,
    coloured: BTreeSet<char>,
}

/// Looks up every character in the face that it is set in.
///
/// Coloured glyphs are refused before layout: usvg would draw them as pictures, and read what they
/// refer to.
pub(super) fn gaps(
    database: &Database,
    script: &Script,
    blocks: &[Block],
    fonts: &Fonts,
) -> Result<Vec<Gaps>, TextProblem> {
    let mut used: Vec<BTreeSet<char>> = vec![BTreeSet::new(); fonts.chosen.len()];
    let mut small_caps = vec![false; fonts.chosen.len()];
    for piece in blocks.iter().flat_map(|block| &block.pieces) {
        let font = fonts.of_owner.get(piece.owner).copied().unwrap_or_default();
        if let Some(used) = used.get_mut(font) {
            used.extend(piece.text.chars().filter(|c| !inkless(*c)));
        }
        let small = script
            .owners
            .get(piece.owner)
            .is_some_and(|owner| owner.style.small_caps);
        if let Some(slot) = small_caps.get_mut(font) {
            *slot |= small;
        }
    }
    let mut gaps = Vec::new();
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
