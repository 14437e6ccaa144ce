//! The page: its size on the bed, its origin, and the coordinate frame of everything on it.

use kurbo::{Affine, Rect, Vec2};
use roxmltree::Node;
use svgtypes::{Align, AspectRatio, ViewBox};

use super::length::{RootLength, RootUnits, is_space, root_length, sound_numbers};
use super::mark::Page;
use crate::units::{MM_PER_INCH, trimmed};
use crate::wording::short;

/// The bed corner that the fixture is pushed into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stops {
    /// Front left, the default.
    #[default]
    FrontLeft,
    /// Front right.
    FrontRight,
    /// Back left.
    BackLeft,
    /// Back right.
    BackRight,
}

impl Stops {
    /// Every corner.
    pub(crate) const ALL: [Self; 4] = [
        Self::FrontLeft,
        Self::FrontRight,
        Self::BackLeft,
        Self::BackRight,
    ];

    /// The word in settings and lock.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::FrontLeft => "front-left",
            Self::FrontRight => "front-right",
            Self::BackLeft => "back-left",
            Self::BackRight => "back-right",
        }
    }
}

/// How a page lies on the bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placing {
    /// Bed, left to right, in millimetres.
    pub width: f64,
    /// Bed, back to front, in millimetres.
    pub height: f64,
    /// The corner that the fixture, and so the page's corner, is pushed into.
    pub stops: Stops,
    /// The page's back-left corner on the bed, where the settings state it.
    pub page_at: Option<Vec2>,
}

impl Placing {
    /// The back-left corner of a page of `width` × `height` millimetres.
    pub fn corner(&self, width: f64, height: f64) -> Vec2 {
        let right = self.width - width;
        let front = self.height - height;
        let by_stops = match self.stops {
            Stops::BackLeft => Vec2::ZERO,
            Stops::BackRight => Vec2::new(right, 0.0),
            Stops::FrontLeft => Vec2::new(0.0, front),
            Stops::FrontRight => Vec2::new(right, front),
        };
        let smaller = right > SAME_SIZE || front > SAME_SIZE;
        match self.page_at {
            Some(at) if smaller => at,
            _ if right.abs() <= SAME_SIZE && front.abs() <= SAME_SIZE => Vec2::ZERO,
            _ => by_stops,
        }
    }
}

/// A page that differs from the bed by less than this, in millimetres, is the bed: editors round
/// page sizes to a hundredth of a unit. Larger, and the stops corner would silently shift art.
const SAME_SIZE: f64 = 0.02;

/// The page of a file and the way from its user units to the bed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Root {
    /// The page.
    pub page: Page,
    /// From the root's user units to bed millimetres.
    pub frame: Affine,
    /// The viewport in user units, for percentages.
    pub viewport: (f64, f64),
    /// Millimetres to one CSS pixel of this file's root, for lines that do not scale.
    pub pixel: f64,
    /// What cannot be known about the page, each with its remedy.
    pub problems: Vec<(String, String)>,
}

const SIZE_HELP: &str = "in the document's page settings give the page its width and height in mm or in, and save again";

const PX_HELP: &str = "state px-per-inch under [bed] in fixture.toml (96 where the sender takes px as 1/96 in), or give the page its size in mm or in";

/// Reads the root element's size and view box.
pub(crate) fn read(svg: Node<'_, '_>, units: RootUnits, placing: Option<&Placing>) -> Root {
    let mut problems = Vec::new();
    let pixel = MM_PER_INCH / units.per_inch;
    let view_box = svg.attribute("viewBox").and_then(|text| match view_box(text) {
        Some(v) => Some(v),
        None => {
            problems.push((
                format!("the page's viewBox \"{}\" cannot be read, so nothing on it has a known size", short(text)),
                "set the page size anew in the editor and save again".to_owned(),
            ));
            None
        }
    });
    let mut in_px = None;
    let mut side = |name: &str| match svg.attribute(name) {
        None => None,
        Some(text) => match root_length(text, units) {
            RootLength::Mm(mm) if mm > 0.0 && mm < MAX_PAGE => Some(mm),
            RootLength::Px(mm) if mm > 0.0 && mm < MAX_PAGE => {
                in_px = in_px.or(Some(text));
                Some(mm)
            }
            RootLength::Percent(_) => None,
            _ => {
                problems.push((
                    format!(
                        "the page's {name} \"{}\" is no length that can be measured",
                        short(text)
                    ),
                    SIZE_HELP.to_owned(),
                ));
                None
            }
        },
    };
    let (width, height) = (side("width"), side("height"));
    if let Some(text) = in_px {
        problems.push((
            format!(
                "the page's size is in px (\"{}\"), and senders read px either way, as 1/96 in or as 1/{} in",
                short(text),
                trimmed(units.per_inch, 4)
            ),
            PX_HELP.to_owned(),
        ));
    }
    let physical = width.is_some() && height.is_some();
    if !physical && problems.is_empty() {
        problems.push((
            "the page states no size in real lengths, so nothing on it has a known size".to_owned(),
            SIZE_HELP.to_owned(),
        ));
    }
    let guess = view_box.map_or((0.0, 0.0), |v| (v.w * pixel, v.h * pixel));
    let (w, h) = (width.unwrap_or(guess.0), height.unwrap_or(guess.1));
    let inner = match view_box {
        Some(v) => fit(v, aspect(svg, &mut problems), Rect::new(0.0, 0.0, w, h)),
        None => Affine::scale(pixel),
    };
    let corner = placing.map_or(Vec2::ZERO, |p| p.corner(w, h));
    let viewport = view_box.map_or((w / pixel, h / pixel), |v| (v.w, v.h));
    Root {
        page: Page {
            rect: Rect::new(corner.x, corner.y, corner.x + w, corner.y + h),
            origin: inner.translation(),
            scale: inner.as_coeffs()[0],
            physical,
        },
        frame: Affine::translate(corner) * inner,
        viewport,
        pixel,
        problems,
    }
}

/// The widest page, in millimetres: far wider than any bed. It only keeps nonsense out of the
/// arithmetic.
const MAX_PAGE: f64 = 1e6;

fn aspect(svg: Node<'_, '_>, problems: &mut Vec<(String, String)>) -> AspectRatio {
    preserve_aspect_ratio(svg).unwrap_or_else(|text| {
        problems.push((
            format!(
                "the page's preserveAspectRatio \"{}\" cannot be read",
                short(&text)
            ),
            "save the file from the editor again with a plain page size".to_owned(),
        ));
        DEFAULT_ASPECT
    })
}

/// `xMidYMid meet`, the initial value (SVG 2, 8.8).
pub(crate) const DEFAULT_ASPECT: AspectRatio = AspectRatio {
    defer: false,
    align: Align::XMidYMid,
    slice: false,
};

/// An element's `preserveAspectRatio`, or what was written where it cannot be read.
///
/// # Errors
///
/// The text as written, where it cannot be read.
pub(crate) fn preserve_aspect_ratio(node: Node<'_, '_>) -> Result<AspectRatio, String> {
    match node.attribute("preserveAspectRatio") {
        None => Ok(DEFAULT_ASPECT),
        Some(text) => {
            // The library ignores what follows the words that it knows.
            let plain = text
                .bytes()
                .all(|b| b.is_ascii_alphabetic() || is_space(char::from(b)));
            let words = text.split_ascii_whitespace();
            Some(text.trim())
                .filter(|_| plain && words.count() <= 2)
                .and_then(|t| t.parse().ok())
                // `defer` (SVG 1.1) is known to some readers only.
                .filter(|aspect: &AspectRatio| !aspect.defer)
                .ok_or_else(|| text.to_owned())
        }
    }
}

/// Reads a `viewBox`: four numbers and nothing else (SVG 2, 8.6). `None` for any other text, of which
/// some readers take the start and others nothing, and for a size that is not positive.
pub(crate) fn view_box(text: &str) -> Option<ViewBox> {
    let numbers = svgtypes::NumberListParser::from(text)
        .collect::<Result<Vec<f64>, _>>()
        .ok()?;
    let alike = !sound_numbers(text).1 && !text.trim_end_matches(is_space).ends_with(',');
    match *numbers.as_slice() {
        [x, y, w, h] if alike && w > 0.0 && h > 0.0 => Some(ViewBox { x, y, w, h }),
        _ => None,
    }
}

/// From a view box to the viewport it is shown in: SVG 2, 8.2, "computing the equivalent transform
/// of an SVG viewport".
pub(crate) fn fit(view_box: ViewBox, aspect: AspectRatio, viewport: Rect) -> Affine {
    let (mut sx, mut sy) = (
        viewport.width() / view_box.w,
        viewport.height() / view_box.h,
    );
    if aspect.align != Align::None {
        let s = if aspect.slice { sx.max(sy) } else { sx.min(sy) };
        (sx, sy) = (s, s);
    }
    let (fx, fy) = match aspect.align {
        Align::None | Align::XMinYMin => (0.0, 0.0),
        Align::XMidYMin => (0.5, 0.0),
        Align::XMaxYMin => (1.0, 0.0),
        Align::XMinYMid => (0.0, 0.5),
        Align::XMidYMid => (0.5, 0.5),
        Align::XMaxYMid => (1.0, 0.5),
        Align::XMinYMax => (0.0, 1.0),
        Align::XMidYMax => (0.5, 1.0),
        Align::XMaxYMax => (1.0, 1.0),
    };
    let tx = viewport.x0 - view_box.x * sx + fx * (viewport.width() - view_box.w * sx);
    let ty = viewport.y0 - view_box.y * sy + fy * (viewport.height() - view_box.h * sy);
    Affine::new([sx, 0.0, 0.0, sy, tx, ty])
}
