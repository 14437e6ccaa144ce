//! Which glyphs draw which characters, and whether every character is drawn.

use unicode_normalization::char::is_combining_mark;

use super::laid::Shaped;
use super::runs::Piece;
use super::usvg_bridge::LEFTWARD;
use super::writing::right_to_left;
use super::{TextProblem, ignorable, inkless};

/// Characters that are drawn together, and which of the piece's glyphs draw them.
pub(super) struct Cluster<'a> {
    pub(super) text: String,
    pub(super) glyphs: Vec<&'a Shaped>,
}

/// Groups glyphs that draw the same characters. usvg gives the characters to the last glyph of a
/// cluster in text that runs to the right, and to the first in text that runs to the left.
pub(super) fn clusters<'a>(glyphs: &'a [Shaped], text: &str) -> Vec<Cluster<'a>> {
    let mut clusters: Vec<Cluster<'a>> = Vec::new();
    let mut waiting: Vec<&Shaped> = Vec::new();
    for glyph in glyphs {
        if glyph.text.starts_with(LEFTWARD) && !text.contains(LEFTWARD) {
            continue;
        }
        if glyph.text.is_empty() {
            match clusters
                .last_mut()
                .filter(|last| waiting.is_empty() && leftward(&last.text))
            {
                Some(last) => last.glyphs.push(glyph),
                None => waiting.push(glyph),
            }
            continue;
        }
        let mut glyphs = std::mem::take(&mut waiting);
        glyphs.push(glyph);
        clusters.push(Cluster {
            text: glyph.text.clone(),
            glyphs,
        });
    }
    if let Some(last) = clusters.last_mut() {
        last.glyphs.append(&mut waiting);
    }
    let backwards: String = clusters.iter().rev().map(|c| c.text.as_str()).collect();
    if leftward(text) && backwards == text {
        clusters.reverse();
    }
    clusters
}

/// Whether the text starts with a letter of a script that runs to the left.
fn leftward(text: &str) -> bool {
    text.chars()
        .find(|c| c.is_alphabetic())
        .is_some_and(right_to_left)
}

/// Every character that should leave ink is in one of the clusters, and nothing else is.
pub(super) fn account(
    piece: &Piece,
    clusters: &[Cluster<'_>],
    on_track: bool,
) -> Result<(), TextProblem> {
    let ink = |text: &mut dyn Iterator<Item = char>| {
        let mut ink: Vec<char> = text.filter(|c| !inkless(*c)).collect();
        ink.sort_unstable();
        ink
    };
    let asked = ink(&mut piece.text.chars());
    let given = ink(&mut clusters.iter().flat_map(|c| c.text.chars()));
    if asked != given {
        let lost = asked.len().saturating_sub(given.len());
        return Err(if on_track && lost > 0 {
            TextProblem::new(
                format!("lettering runs past the end of its curve by {lost} of its characters"),
                "make the curve longer or the lettering smaller",
            )
        } else {
            TextProblem::outline(
                "lettering has letters that are joined over a change of style, or that could not be laid out",
            )
        });
    }
    let moved = |list: &[f64]| list.iter().skip(1).any(|v| *v != 0.0);
    if moved(&piece.dx) || moved(&piece.dy) {
        let counts = |c: char| !ignorable(c) && !is_combining_mark(c);
        let joined = |c: &Cluster<'_>| c.text.chars().filter(|c| counts(*c)).count() > 1;
        if clusters.iter().any(joined) {
            return Err(TextProblem::outline(
                "lettering moves a part of letters that are drawn as one",
            ));
        }
    }
    Ok(())
}
