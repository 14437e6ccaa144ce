//! Lettering: from a `text` element to outlines on the bed.
//!
//! ```text
//! text element ─ script ─▶ characters and what is said about them
//! characters ─ runs ─▶ pieces (white space folded, positions in f64)
//! pieces ─ usvg bridge ─▶ glyphs (a small document laid out by usvg near the origin)
//! glyphs ─ place ─▶ chunks (outlines in bed millimetres, letter by letter)
//! ```
//!
//! usvg does the shaping and the advance along a line or a curve, and nothing else. What it does
//! differently from browsers, or drops silently, is done here: white space, lists of positions,
//! nesting, the choice of a face, what is not displayed. Where readers are known to lay a text out in
//! two ways, the one asked for ([`Lay`]) is used and the difference is named in [`Set::disputed`].
//! Where they do it in more ways, or in unknown ways, the text is refused as a [`TextProblem`].
//! Finally, every character that should leave ink is looked for among the letters that were laid out.

mod anchor;
mod clusters;
mod faced;
mod glyphs;
mod laid;
mod line_metrics;
mod place;
mod runs;
mod script;
mod stretch;
mod style;
#[cfg(test)]
mod tests;
mod usvg_bridge;
mod writing;

use std::collections::BTreeSet;

use kurbo::{Affine, BezPath, Size};
use roxmltree::{Node, NodeId};

use super::fonts::Faces;
use super::mark::{Lay, Lettering};

/// Deepest nesting inside a `text` element: the walk is recursive. A text that nests deeper is
/// reported.
pub(crate) const DEEPEST: usize = 100;
/// Most characters in one `text` element. Layout time grows with it.
pub(crate) const MOST_CHARACTERS: usize = 50_000;
/// Most characters that are anchored together: usvg's time grows with their square.
pub(crate) const MOST_ON_A_LINE: usize = 5_000;
/// Most characters times differently styled pieces of one line: usvg shapes the whole line anew
/// for each piece.
pub(crate) const MOST_WORK: usize = 2_000_000;
/// Largest coordinate, in user units and on the bed. Beyond it `f32` layout and curve lengths
/// break down, and no bed is that large.
pub(crate) const FARTHEST: f64 = 1e7;

/// One instance of a `text` element and what the caller knows about it.
pub(crate) struct TextInput<'r, 'a, 'i> {
    /// The `text` element.
    pub node: Node<'a, 'i>,
    /// Computed properties of the `text` element and of each element in it, as name and value.
    ///
    /// Inherited ones (`font-family`, `font-size`, `font-weight`, `font-style`, `font-stretch`,
    /// `letter-spacing`, `word-spacing`, `text-anchor`, `writing-mode`, `direction`,
    /// `white-space`, `dominant-baseline`, `kerning`, every `font-…` …) resolved through all
    /// ancestors; lengths in user units; `font-weight` as a number or `normal`/`bold`; the `font`
    /// shorthand split up. Not inherited ones (`baseline-shift`, `alignment-baseline`,
    /// `text-decoration`, `display`, `unicode-bidi`, `inline-size`, `shape-inside` …) as the
    /// element's own. Without `font-size`, 16 is taken. Names that have nothing to do with text are ignored.
    pub style: &'r dyn Fn(Node<'a, 'i>) -> Vec<(String, String)>,
    /// The curve that a `textPath` element refers to, in user units of the `text` element: any shape,
    /// its own `transform` applied, arcs as true as the caller likes. A target that is missing,
    /// external or has a `pathLength` is to be refused.
    pub track: &'r dyn Fn(Node<'a, 'i>) -> Result<BezPath, TextProblem>,
    /// From the `text` element's user space to bed millimetres.
    pub ctm: Affine,
    /// Size of the nearest viewport in user units, for percentages in positions.
    pub viewport: Size,
    /// Families that the file itself declares with `@font-face`.
    pub declared: &'r [String],
    /// Elements around the `text` that draw lines along it, outermost first, with the value of
    /// their `text-decoration`.
    pub around: &'r [(NodeId, &'r str)],
    /// Which way to lay out what readers lay out differently.
    pub lay: Lay,
}

/// What a `text` element comes to.
#[derive(Debug, Clone, Default)]
pub(crate) struct Set {
    /// Its letters.
    pub chunks: Vec<Chunk>,
    /// What in it readers lay out differently.
    pub disputed: BTreeSet<&'static str>,
}

/// Why a `text` element could not be laid out so that every reader would agree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct TextProblem {
    /// What the problem is: one sentence without a full stop.
    pub what: String,
    /// How to solve it.
    pub help: String,
}

impl TextProblem {
    /// A problem.
    pub(crate) fn new(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            help: help.into(),
        }
    }

    /// A problem that is solved by turning the lettering into outlines.
    pub(super) fn outline(what: impl Into<String>) -> Self {
        Self::new(
            what,
            "turn this lettering into outlines, or set it without that",
        )
    }
}

/// Letters that follow each other in one style on one line.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Chunk {
    /// The letters. Empty, with a filled `path`, for a line that an outer element paints.
    pub lettering: Lettering,
    /// All outlines of the chunk and its decoration lines in bed millimetres, non-zero rule.
    pub path: BezPath,
    /// The element whose style paints it: the innermost one around the letters, or the one that
    /// declares the line along them, which may be an element around the text.
    pub node: NodeId,
    /// Number of the line it is on, from 0. A line starts where the text starts and at each
    /// absolute position, save where letters of one element are placed one by one and still follow
    /// each other closely.
    pub line: usize,
    /// Whether white space stands between it and the chunk before it on its line.
    pub spaced: bool,
    /// Whether `display: none` stands between it and a `text` element that is itself displayed.
    ///
    /// Such letters take no room among the shown ones. To find where they would be, the text is laid
    /// out a second time with everything shown.
    pub dropped: bool,
}

/// Lays out one `text` element.
///
/// Shown chunks come first, in document order, then those that are not displayed. Text without
/// ink gives no chunk. Missing faces and characters are in the chunks' lettering, which is then
/// drawn with what is at hand.
///
/// # Errors
///
/// A text that cannot be laid out, or that no bed holds: the caller names it.
pub(crate) fn lay_out(input: &TextInput<'_, '_, '_>, faces: &Faces) -> Result<Set, TextProblem> {
    if !input.ctm.is_finite() {
        return Err(TextProblem::new(
            "lettering is transformed by numbers that are not finite",
            "remove the transform, or type the lettering anew",
        ));
    }
    let script = script::read(input)?;
    let mut set = Set::default();
    let shown = script.blocks(false)?;
    place::place(input, faces, &script, &shown, false, &mut set)?;
    if script.any_dropped() {
        let all = script.blocks(true)?;
        place::place(input, faces, &script, &all, true, &mut set)?;
    }
    if !set.chunks.is_empty() {
        set.disputed.extend(&script.disputed);
    }
    Ok(set)
}

fn in_colours(characters: &str) -> TextProblem {
    TextProblem::new(
        format!(
            "lettering holds \"{characters}\", which its face draws as a picture and not as outlines"
        ),
        "set these characters in a face of plain outlines, or draw them",
    )
}

/// Whether a character never leaves ink of its own: white space, a default ignorable code point
/// (Unicode 14.0, `DerivedCoreProperties.txt`, `Default_Ignorable_Code_Point`), or the blank Braille
/// cell.
fn inkless(c: char) -> bool {
    c.is_whitespace() || ignorable(c) || c == '\u{2800}'
}

fn ignorable(c: char) -> bool {
    matches!(c,
        '\u{AD}' | '\u{34F}' | '\u{61C}' | '\u{115F}'..='\u{1160}' | '\u{17B4}'..='\u{17B5}'
        | '\u{180B}'..='\u{180F}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{3164}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' | '\u{FFA0}'
        | '\u{FFF0}'..='\u{FFF8}' | '\u{1BCA0}'..='\u{1BCA3}' | '\u{1D173}'..='\u{1D17A}'
        | '\u{E0000}'..='\u{E0FFF}')
}
