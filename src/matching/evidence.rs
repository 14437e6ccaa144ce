//! What is known about which way up a piece of art is: the common type of all kinds of evidence.

use kurbo::Vec2;

use super::Job;
use super::art::Art;
use crate::artwork::mark::{Content, Operation};
use crate::ids::{ArtId, PocketId};

/// Where a piece of art has its top, and how that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayUp {
    /// Unit vector from its foot to its top, on the bed.
    pub up: Vec2,
    /// Whether it reads as in a mirror, with its tops up.
    pub mirrored: bool,
    /// How it is known.
    pub from: Evidence,
    /// How far single letters lean from `up` at most, in degrees: lettering along a curve.
    pub bend: f64,
}

/// How the way up is known, from the surest to the least sure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Evidence {
    /// Live lettering: the file says it.
    Lettering,
    /// A picture: its pixels have an up.
    Picture,
    /// Outlined letters that were matched with a face at hand.
    ReadBack,
    /// Art that matches `[zone] reference`.
    Reference,
    /// The same art in other pockets, which agree with each other.
    Siblings,
    /// The same letters in other pockets, which agree with each other.
    Letters,
    /// The shape of outlined letters whose face is not at hand.
    Shapes,
}

/// Shapes smaller than this, in millimetres, are specks: it does not matter which way up they are.
pub(super) const SPECK: f64 = 1.0;

/// Ways up that are turned apart by less than this, in degrees, are one: below the usual `tilt`.
const ONE_WAY: f64 = 1.0;

impl WayUp {
    /// Whether what lies so lies as what has this way up.
    pub(crate) fn lies_as(&self, other: &Self) -> bool {
        self.mirrored == other.mirrored && between(self.up, other.up).abs() < ONE_WAY
    }
}

impl Evidence {
    /// What a message adds, so that people know what the judgement rests on; empty where the file
    /// itself says it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Lettering | Self::Picture => "",
            Self::ReadBack => ", going by the letters read back from its outlines",
            Self::Reference => ", going by the reference",
            Self::Siblings => ", going by the same art in the other pockets",
            Self::Letters => ", going by the same letters in the other pockets",
            Self::Shapes => ", going by the shapes of its letters",
        }
    }
}

/// Two groups of pockets whose art lies opposite to each other: one of them is wrong, and nothing tells
/// which.
#[derive(Debug, Clone, PartialEq)]
pub struct Opposed {
    /// A piece of art of the second group, to be shown.
    pub art: ArtId,
    /// The pockets of either; none is empty.
    pub groups: [Vec<PocketId>; 2],
    /// The art of either that was compared.
    pub compared: [Vec<ArtId>; 2],
    /// By how much the one is turned against the other, in degrees, 0 to 180.
    pub turn: f64,
    /// Whether one is the other's mirror image.
    pub flipped: bool,
    /// How it is known.
    pub from: Evidence,
}

/// The turn from one direction to another, degrees clockwise, in (-180, 180].
pub(crate) fn between(from: Vec2, to: Vec2) -> f64 {
    let turn = from.cross(to).atan2(from.dot(to)).to_degrees();
    if turn <= -180.0 { turn + 360.0 } else { turn }
}

/// A direction turned by degrees clockwise.
pub(crate) fn turned(v: Vec2, degrees: f64) -> Vec2 {
    let (sin, cos) = crate::artwork::transform::sin_cos(degrees);
    Vec2::new(v.x * cos - v.y * sin, v.x * sin + v.y * cos)
}

/// Whether art is outlined and would be burnt into a pocket: what nothing in the file gives an up.
pub(crate) fn outlined(job: &Job<'_>, art: &Art<'_>) -> bool {
    art.pocket.is_some()
        && !matches!(job.operation(art.mark), Operation::Cut | Operation::Off)
        && matches!(job.mark(art.mark).content, Content::Shape)
}
