//! The blank, with its head to the back and the middle of its box at the origin.

use kurbo::{Affine, BezPath, Rect, RoundedRect, Shape as _};

use crate::artwork::mark::Artwork;
use crate::fixture::enrol::outline;
use crate::geometry::contour::Contour;

/// Curves are drawn to this, in millimetres: a tenth of what a bench laser repeats to.
pub(super) const DRAWN: f64 = 1e-3;

/// What a person knows of the blank's shape.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Blank {
    /// A rectangle, its corners rounded by a radius or square.
    Rectangle {
        /// Across.
        across: f64,
        /// From head to tail, ring included.
        along: f64,
        /// Radius of the corners; zero for square ones.
        corner: f64,
    },
    /// A disc.
    Round {
        /// Its diameter.
        across: f64,
    },
    /// A drawn outline, its head to the back of the page it was drawn on.
    Outline(BezPath),
}

impl Blank {
    /// The outline that a drawing of the blank holds: its largest closed contour.
    ///
    /// # Errors
    ///
    /// A drawing without a page size, without a closed outline, or with things that could not be read.
    pub(crate) fn of(artwork: &Artwork) -> Result<Self, String> {
        if let Some(first) = artwork.unproven.first() {
            return Err(format!(
                "the drawing of the blank cannot be measured: {}",
                first.what
            ));
        }
        let largest = artwork
            .marks
            .iter()
            .filter(|m| m.hidden.is_none())
            .flat_map(outline)
            .filter(|c: &Contour| c.closed)
            .max_by(|a, b| a.area.total_cmp(&b.area))
            .ok_or("the drawing of the blank has no closed outline: draw its outer edge as one closed line, its head to the back of the page")?;
        let middle = largest.bounds.center().to_vec2();
        Ok(Self::Outline(Affine::translate(-middle) * largest.path))
    }

    /// Its size, across and along.
    pub(crate) fn size(&self) -> (f64, f64) {
        match self {
            Self::Rectangle { across, along, .. } => (*across, *along),
            Self::Round { across } => (*across, *across),
            Self::Outline(path) => {
                let b = path.bounding_box();
                (b.width(), b.height())
            }
        }
    }
}

/// A rectangle about the origin.
pub(super) fn rectangle(width: f64, height: f64, corner: f64) -> BezPath {
    let rect = Rect::new(-width / 2.0, -height / 2.0, width / 2.0, height / 2.0);
    if corner > 0.0 {
        RoundedRect::from_rect(rect, corner).to_path(DRAWN)
    } else {
        rect.to_path(DRAWN)
    }
}
