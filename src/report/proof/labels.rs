//! What stands on a drawing about its findings and pockets, once it has its place.

use kurbo::{Point, Rect};

use super::room::Spot;
use crate::finding::Finding;

/// How far a ring stays off its finding's box, in millimetres.
pub(super) const RING: f64 = 2.0;

/// Half the height of a number's plate, in thin lines.
pub(super) const BADGE: f64 = 7.8;

/// Height of a rule's name beside its number, in thin lines.
pub(super) const RULE: f64 = 10.0;

/// Height of the words of a measure, in thin lines.
pub(super) const MEASURE: f64 = 12.0;

/// Length of the arrow towards what lies beyond a drawing, in thin lines.
pub(super) const ARROW: f64 = 18.0;

/// Words on a drawing.
pub(super) struct Words<'a> {
    /// Their middle.
    pub(super) at: Point,
    /// Their height, in thin lines.
    pub(super) size: f64,
    pub(super) text: &'a str,
}

/// What stands on a drawing about a finding.
pub(super) struct Sign<'a> {
    /// Its number in the report.
    pub(super) number: usize,
    /// What was found.
    pub(super) finding: &'a Finding,
    /// Its number's place; none where it lies beyond the drawing, or has no place.
    pub(super) badge: Option<Spot>,
    /// Whether the name of the rule stands beside the number.
    pub(super) named: bool,
    /// Whether only its ring and its number are drawn: a note beside what holds.
    pub(super) quiet: bool,
    /// Where it is told that it lies beyond the drawing.
    pub(super) beyond: Option<Spot>,
    /// How far something is to be moved.
    pub(super) measure: Option<Measure>,
}

/// An arrow with the distance in words.
pub(super) struct Measure {
    pub(super) from: Point,
    pub(super) to: Point,
    pub(super) words: String,
    /// The plate behind the words, and behind the arrow where that is enlarged.
    pub(super) spot: Spot,
    /// The middle of the words.
    pub(super) at: Point,
}

/// The corners of a box.
pub(super) fn corners(r: Rect) -> [Point; 4] {
    [(r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1)].map(Point::from)
}

/// Half the width of a number's plate: a disc for one digit; each more makes it longer, or it would stand
/// out of it.
pub(super) fn plate_half(number: usize, unit: f64) -> f64 {
    BADGE * unit * (0.65 + 0.35 * number.to_string().len() as f64)
}

/// What is said of a finding beyond a drawing.
pub(super) fn beyond_words(number: usize, f: &Finding) -> String {
    format!("{number} ({}, beyond this drawing)", f.severity.word())
}
