//! What was met and could not be resolved, and the count of everything else.

use kurbo::Rect;

use super::origin::Origin;

/// Something in the file that could reach the sender and that could not be checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Unproven {
    /// What it is and why it cannot be checked: one sentence without a full stop.
    pub what: String,
    /// What to do in the editor so that it can be.
    pub help: String,
    /// Where it stands in the file.
    pub origin: Origin,
    /// Whether the file switches it off.
    pub hidden: bool,
    /// Where it lies on the bed, if that much is known.
    pub bed: Option<Rect>,
}

/// How the elements that could make a mark were accounted for.
///
/// `candidates = marks + parts + inert + unproven` always; a test walks real files and checks it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Census {
    /// Elements met that could make a mark, each `use` instance counted anew.
    pub candidates: usize,
    /// Those that became a mark (or two).
    pub marks: usize,
    /// Those that are part of a mark: `tspan`, `textPath`, contents of a clip path that was applied.
    pub parts: usize,
    /// Those that rightly make none: unused definitions, zero-size shapes, empty paths.
    pub inert: usize,
    /// Those that were reported as unproven.
    pub unproven: usize,
}
