//! A piece of lettering as it is read: what it says, where it stands and which way it runs.

use kurbo::{Point, Rect, Vec2};

use crate::ids::{MarkId, PocketId};

/// A piece of lettering in a pocket, or beside all of them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Words {
    /// The pocket it lies in.
    pub pocket: Option<PocketId>,
    /// What it says.
    pub text: String,
    /// The marks it is made of, by number in the artwork.
    pub marks: Vec<MarkId>,
    /// Its ink's box on the bed.
    pub bounds: Rect,
    /// Whether it is read for certain. What is not must be named, never taken as right.
    pub sure: bool,
    /// Unit vector to where its tops point.
    pub up: Vec2,
    /// Whether it reads as in a mirror.
    pub mirrored: bool,
    /// Where it starts on its baseline, on the bed.
    pub foot: Point,
    /// Size of its letters (the em), in millimetres.
    pub size: f64,
}

/// Unit vector in which a piece of lettering is read.
pub(crate) fn reading_direction(up: Vec2, mirrored: bool) -> Vec2 {
    // With tops at the back, (0, -1), people read to the right, (1, 0).
    let right = Vec2::new(-up.y, up.x);
    if mirrored { -right } else { right }
}
