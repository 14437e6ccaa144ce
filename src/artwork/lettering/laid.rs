//! A piece of lettering after layout.

use kurbo::{Affine, Point, Vec2};

use super::glyphs::Stand;

/// One piece as laid out, relative to its block's origin.
#[derive(Debug, Default)]
pub(super) struct Laid {
    /// In visual order.
    pub(super) glyphs: Vec<Shaped>,
    /// The baselines of underlines and the like, if there are any.
    pub(super) stretches: Vec<Stretch>,
}

/// A stretch of a baseline that lines run along, in user units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    pub(super) from: Point,
    pub(super) to: Point,
    /// Unit vector from the letters' tops to their feet.
    pub(super) down: Vec2,
}

/// A glyph in its place.
#[derive(Debug)]
pub(super) struct Shaped {
    pub(super) stand: Stand,
    pub(super) glyph: u16,
    /// From font units, y up, to user units.
    pub(super) placed: Affine,
    /// The characters it stands for; empty for further glyphs of a cluster.
    pub(super) text: String,
}
