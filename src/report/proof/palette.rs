//! Colours and line styles. No meaning hangs on a colour alone: each has its own hatch, dash or
//! shape, and every pair keeps its contrast in grey.

/// What is drawn on.
pub(super) const PAPER: &str = "#fbf7ee";
/// Words, frames, numbers.
pub(super) const INK: &str = "#2b2620";
/// The fixture's sheet.
pub(super) const SHEET: &str = "#ebdcbe";
/// A blank in its pocket.
pub(super) const BLANK: &str = "#fffdf8";
/// What is burnt.
pub(super) const BURNT: &str = "#38281a";
/// As it should be: zones, ghosts, arrows to the right place.
pub(super) const RIGHT: &str = "#0a5f5a";
/// Too much, in the way, ringed.
pub(super) const WRONG: &str = "#8f4a00";
/// What does not matter now.
pub(super) const GREY: &str = "#655e53";

/// Faces for words: whatever the machine uses for its own; where a picture is made without a
/// machine's faces, the one that is part of this program.
pub(super) const FACES: &str = "system-ui, 'Noto Sans', Ubuntu, sans-serif";
