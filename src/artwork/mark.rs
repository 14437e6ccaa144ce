//! A mark: one thing the sender would act on.

use std::hash::{Hash, Hasher};
use std::sync::{Arc, OnceLock};

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape as _, Vec2};

pub(crate) use super::origin::{Layer, Origin};
use super::unproven::{Census, Unproven};
use crate::geometry::region::Region;
use crate::geometry::stroke::LineStyle;
use crate::geometry::sweep::unit;
use crate::ids::{IdVec, MarkId};

/// Everything a file holds, measured in bed millimetres.
#[derive(Debug, Default)]
pub struct Artwork {
    /// The page of the file.
    pub page: Page,
    /// Marks in document order: a later mark lies over an earlier one.
    pub marks: IdVec<MarkId, Mark>,
    /// What was met and could not be resolved.
    pub unproven: Vec<Unproven>,
    /// How every element that could make a mark was accounted for.
    pub census: Census,
    /// Lettering that readers lay out in different ways; the marks lie as in one of them.
    pub disputed: Vec<Disputed>,
    /// What was measured in another way than the file says, in sentences: each once a file.
    pub remarks: Vec<String>,
}

/// Lettering that readers lay out in different ways.
#[derive(Debug, Clone, PartialEq)]
pub struct Disputed {
    /// What they differ about: a property, or a few words.
    pub what: &'static str,
    /// The text.
    pub origin: Origin,
}

/// Which of the two ways of laying out disputed lettering is measured.
///
/// Each feature that readers are known to differ about has two lays, chosen as the two extremes: if
/// both are in place, anything between them is too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Lay {
    /// As a browser engine lays it out; measured with Chromium 148, see `tests/ci/browser_text.sh`.
    #[default]
    Browser,
    /// As other readers lay it out.
    Other,
}

/// The page of a file, as it lies on the bed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Page {
    /// The page's rectangle on the bed, in millimetres.
    pub rect: Rect,
    /// Where the drawing's own origin (0, 0) lies, measured from the page's back-left corner, in
    /// millimetres. It reveals a cropped page when no fixture outline is left in the file.
    pub origin: Vec2,
    /// Millimetres to one unit of the drawing.
    pub scale: f64,
    /// False where the file states no physical size; the rectangle is then a guess that only
    /// serves to draw the proof.
    pub physical: bool,
}

/// One thing the sender would act on.
///
/// An element with both a fill and a stroke makes two marks.
#[derive(Debug)]
pub struct Mark {
    /// What the mark is.
    pub content: Content,
    /// Whether the inside, the line or the picture is what is burnt.
    pub role: Role,
    /// The curves in bed millimetres: the filled outline, the line's centre, or a picture's frame.
    pub path: BezPath,
    /// The paint that decides the operation.
    pub paint: Paint,
    /// Why the mark is not displayed, if the file switches it off.
    pub hidden: Option<Hidden>,
    /// Product of every opacity that applies, 0 to 1.
    pub opacity: f64,
    /// The part that is left by clip paths, if there are any; `None` means unclipped.
    pub clip: Option<Arc<Region>>,
    /// Colours drawn inside its picture or pattern, which a reader that takes it apart acts on.
    pub within: Arc<[Colour]>,
    /// Where the mark came from.
    pub origin: Origin,
    /// What is burnt, computed once on demand; see [`Mark::ink`].
    pub(crate) ink: OnceLock<Arc<Inked>>,
}

/// Everything that says what a mark burns and covers. Marks of which it is equal burn and cover the same.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Drawn<'m> {
    path: &'m BezPath,
    role: &'m Role,
    paint: &'m Paint,
    clip: Option<&'m Region>,
    opacity: f64,
    hidden: Option<&'m Hidden>,
}

impl<'m> Drawn<'m> {
    pub(crate) fn of(mark: &'m Mark) -> Self {
        Self {
            path: &mark.path,
            role: &mark.role,
            paint: &mark.paint,
            clip: mark.clip.as_deref(),
            opacity: mark.opacity,
            hidden: mark.hidden.as_ref(),
        }
    }

    /// Whether both cover the same, in whatever paint. The clip counts by where it is kept.
    pub(super) fn covers_as(self, other: Self) -> bool {
        let clip = |drawn: Self| drawn.clip.map(std::ptr::from_ref);
        self.role == other.role && clip(self) == clip(other) && self.bits().eq(other.bits())
    }

    /// The coordinates of the path, bit by bit; a `NaN` ends each element.
    fn bits(self) -> impl Iterator<Item = u64> + 'm {
        let points = |el: &PathEl| match *el {
            PathEl::MoveTo(p) => [Some(p), None, None, None],
            PathEl::LineTo(p) => [None, Some(p), None, None],
            PathEl::QuadTo(p, q) => [None, Some(p), Some(q), None],
            PathEl::CurveTo(p, q, r) => [None, Some(p), Some(q), Some(r)],
            PathEl::ClosePath => [None; 4],
        };
        let coordinates = |p: Option<Point>| {
            p.map_or([f64::NAN, f64::NAN], |p| [p.x, p.y])
                .map(f64::to_bits)
        };
        let elements = self.path.elements().iter();
        elements.flat_map(points).flat_map(coordinates)
    }
}

impl Hash for Drawn<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        for bits in self.bits() {
            state.write_u64(bits);
        }
    }
}

impl PartialEq for Drawn<'_> {
    fn eq(&self, other: &Self) -> bool {
        // Of pictures the pixels count as well, and they are not compared.
        let same = *self.role != Role::Picture
            && self.paint == other.paint
            && self.hidden == other.hidden
            && self.opacity.to_bits() == other.opacity.to_bits()
            && self.covers_as(*other);
        same || std::ptr::eq(self.path, other.path)
    }
}

impl Eq for Drawn<'_> {}

/// What a mark burns.
#[derive(Debug)]
pub(crate) struct Inked {
    /// The area.
    pub(crate) region: Region,
    /// Whether nothing is drawn, clip or not, and the area is that of a line without width.
    pub(crate) stands_in: bool,
    /// Whether the outline crosses itself too often, and the area is the box around it.
    pub(crate) only_a_box: bool,
}

/// What a mark is made of.
#[derive(Debug)]
pub enum Content {
    /// A path or a basic shape.
    Shape,
    /// Live lettering.
    Lettering(Box<Lettering>),
    /// A picture made of pixels (or a nested drawing shown as one).
    Picture(Box<Picture>),
}

/// Which part of the geometry is burnt.
#[derive(Debug, Clone, PartialEq)]
pub enum Role {
    /// The inside.
    Fill {
        /// True for the even-odd rule, false for non-zero.
        even_odd: bool,
    },
    /// The line.
    Stroke(Box<LineStyle>),
    /// The pixels.
    Picture,
}

/// Paint of a fill or a stroke.
#[derive(Debug, Clone, PartialEq)]
pub enum Paint {
    /// `none`: nothing to burn.
    None,
    /// A plain colour. Its alpha is part of [`Mark::opacity`].
    Colour(Colour),
    /// A gradient or pattern, by its id in the file.
    Server {
        /// "linearGradient", "radialGradient" or "pattern".
        kind: String,
        /// The id it was called by.
        id: String,
    },
    /// The picture's own pixels.
    Pixels,
    /// A paint this program could not read, as written.
    Unread(String),
}

/// An sRGB colour, eight bits a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Colour {
    /// Red.
    pub r: u8,
    /// Green.
    pub g: u8,
    /// Blue.
    pub b: u8,
}

impl std::fmt::Display for Colour {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.r, self.g, self.b)
    }
}

/// What the sender does with a mark. The order is from the most to the least harmful.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Operation {
    /// Cut through.
    Cut,
    /// Burn a line into the surface.
    Score,
    /// Burn an area into the surface.
    Engrave,
    /// No operation claims the paint: held under `paint-unknown`, and treated as live.
    Unknown,
    /// Not run.
    Off,
}

impl Operation {
    /// Whether the sender would run it.
    pub fn live(self) -> bool {
        self != Self::Off
    }
}

/// Why a mark does not show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Hidden {
    /// `display: none` on the element or around it.
    NotDisplayed,
    /// `visibility: hidden` or `collapse`.
    Invisible,
    /// A branch of `switch` that was not taken, or a failed `systemLanguage` or similar.
    NotChosen,
}

/// Live lettering: one chunk of text that is anchored together.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lettering {
    /// The characters as they follow each other, white space folded.
    pub text: String,
    /// The letters that leave ink, in reading order.
    pub letters: Vec<Letter>,
    /// Faces that the file asks for and that are not at hand.
    pub missing: Vec<MissingFace>,
    /// The faces that it was laid out in, in words: "Ubuntu light".
    pub faces: Vec<String>,
}

/// One laid-out glyph (a cluster of characters).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Letter {
    /// The characters it stands for.
    pub text: String,
    /// Its ink outline's box in bed millimetres.
    pub bounds: Rect,
    /// Unit vector from the letter's foot to its top, on the bed.
    pub up: Vec2,
    /// Unit vector along its baseline, from its left to its right, on the bed. It is at right angles to
    /// `up` unless a transform slants the letter.
    pub along: Vec2,
    /// Whether it is mirrored.
    pub mirrored: bool,
    /// Size of the em on the bed, in millimetres, along `up`.
    pub size: f64,
    /// Height of a capital on the bed, in millimetres; 0 where the face does not say.
    pub cap_height: f64,
    /// Height of a small x on the bed, in millimetres; 0 where the face does not say.
    pub x_height: f64,
    /// Where its baseline starts, on the bed.
    pub foot: Point,
    /// Its outline in bed millimetres.
    pub path: BezPath,
}

/// A face that a file asks for and that is not at hand.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct MissingFace {
    /// The family as written.
    pub family: String,
    /// What was asked of it, such as "bold italic"; empty for a plain face.
    pub style: String,
    /// What would be drawn in its place, if anything.
    pub instead: Option<String>,
    /// The characters concerned, where the face is there but lacks them.
    pub characters: String,
}

/// A picture as placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Size in pixels, where it could be decoded.
    pub pixels: Option<(u32, u32)>,
    /// From the picture's unit square (0..1 to the right, 0..1 downwards) to the bed.
    pub placed: Affine,
    /// The part of the unit square that holds ink (not transparent, not white).
    pub inked: Option<Rect>,
    /// Whether all of it is opaque.
    pub opaque: bool,
    /// Colours of what is drawn in it, where it is a drawing.
    pub colours: Arc<[Colour]>,
}

impl Picture {
    /// Unit vector from the picture's foot to its top, on the bed.
    pub fn up(&self) -> Vec2 {
        let c = self.placed.as_coeffs();
        unit(Vec2::new(-c[2], -c[3])).unwrap_or_default()
    }

    /// Unit vector from the picture's left to its right, on the bed; at right angles to `up` unless a
    /// transform slants it.
    pub fn along(&self) -> Vec2 {
        let c = self.placed.as_coeffs();
        unit(Vec2::new(c[0], c[1])).unwrap_or_default()
    }

    /// Its edge on the bed, blank parts included.
    pub fn frame(&self) -> BezPath {
        self.placed * Rect::new(0.0, 0.0, 1.0, 1.0).to_path(1e-3)
    }

    /// Whether it is mirrored.
    pub fn mirrored(&self) -> bool {
        self.placed.determinant() < 0.0
    }

    /// Dots per inch on the bed, the coarser of the two directions.
    pub fn resolution(&self) -> Option<f64> {
        let (w, h) = self.pixels?;
        let c = self.placed.as_coeffs();
        let across = Vec2::new(c[0], c[1]).hypot();
        let down = Vec2::new(c[2], c[3]).hypot();
        (across > 0.0 && down > 0.0)
            .then(|| (f64::from(w) / across).min(f64::from(h) / down) * crate::units::MM_PER_INCH)
    }
}
