//! Where lines under, over and through letters are drawn, and how high a face is.
//!
//! Browsers draw them a tenth of the letters' size thick, at positions of their own; other readers
//! use the metrics of the face. Both are implemented, and the caller chooses.

use kurbo::BezPath;
use usvg::fontdb::Database;

use super::laid::Stretch;
use super::style::Lines;
use crate::artwork::fonts::{Chosen, with_face};
use crate::artwork::mark::Lay;

/// A browser's line is this thick, in ems (measured with Chromium 148).
const BROWSER_THICKNESS: f64 = 0.1;

/// A browser's underline starts this far below the baseline, in ems.
const BROWSER_GAP: f64 = 0.05;

/// One of the three lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Which {
    Under,
    Over,
    Through,
}

impl Which {
    /// Whether it is among `lines`.
    pub(super) fn of(self, lines: Lines) -> bool {
        match self {
            Self::Under => lines.under,
            Self::Over => lines.over,
            Self::Through => lines.through,
        }
    }
}

/// The measures of a face that lines are placed by, in ems, downwards from the baseline.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct FaceLines {
    /// Ascent, above the baseline.
    ascent: f64,
    /// Half of ascent and descent together: how far browsers raise and lower small letters.
    pub(super) half_height: f64,
    /// Where usvg draws the middle of an underline, which is where the face has its top.
    pub(super) underline: f64,
    underline_thickness: f64,
    /// Top and thickness of a line through the letters.
    strikeout: Option<(f64, f64)>,
}

impl FaceLines {
    /// Reads a face; nothing but zeros where it cannot be read, and then no letter of it can be either.
    ///
    /// The face's own numbers: OpenType specification, tables "post" (underlinePosition is the line's
    /// top), "OS/2" (yStrikeoutPosition, also the top) and "hhea".
    pub(super) fn read(database: &Database, chosen: &Chosen) -> Self {
        with_face(database, chosen.id, &chosen.axes, |face| {
            let em = f64::from(face.units_per_em()).max(1.0);
            let (ascent, descent) = (
                f64::from(face.ascender()) / em,
                f64::from(face.descender()) / em,
            );
            // Where the face says nothing, usvg's own numbers.
            let (underline, underline_thickness) = face.underline_metrics().map_or(
                ((em / 9.0).floor() / em, (em / 12.0).floor() / em),
                |line| {
                    let thickness = match line.thickness {
                        thickness if thickness > 0 => f64::from(thickness),
                        _ => (em / 12.0).floor(),
                    };
                    (-f64::from(line.position) / em, thickness / em)
                },
            );
            Self {
                ascent,
                half_height: (ascent - descent) / 2.0,
                underline,
                underline_thickness,
                strikeout: face
                    .strikeout_metrics()
                    .filter(|line| line.thickness > 0)
                    .map(|line| {
                        (
                            -f64::from(line.position) / em,
                            f64::from(line.thickness) / em,
                        )
                    }),
            }
        })
        .unwrap_or_default()
    }

    /// Top and bottom of a line, in ems below the baseline.
    pub(super) fn band(&self, which: Which, lay: Lay) -> (f64, f64) {
        let about =
            |middle: f64, thickness: f64| (middle - thickness / 2.0, middle + thickness / 2.0);
        match (which, lay) {
            (Which::Under, Lay::Browser) => (BROWSER_GAP, BROWSER_GAP + BROWSER_THICKNESS),
            (Which::Over, Lay::Browser) => (-self.ascent - BROWSER_THICKNESS, -self.ascent),
            (Which::Through, Lay::Browser) => about(-self.ascent / 3.0, BROWSER_THICKNESS),
            (Which::Under, Lay::Other) => {
                (self.underline, self.underline + self.underline_thickness)
            }
            (Which::Over, Lay::Other) => about(-self.ascent, self.underline_thickness),
            (Which::Through, Lay::Other) => match self.strikeout {
                Some((top, thickness)) => (top, top + thickness),
                None => about(-self.ascent / 3.0, self.underline_thickness),
            },
        }
    }
}

/// The rectangles of a line along `stretches`, from `top` to `bottom` below the baseline.
pub(super) fn drawn(stretches: &[Stretch], top: f64, bottom: f64) -> BezPath {
    let mut path = BezPath::new();
    for stretch in stretches {
        let (top, bottom) = (top * stretch.down, bottom * stretch.down);
        path.move_to(stretch.from + top);
        path.line_to(stretch.to + top);
        path.line_to(stretch.to + bottom);
        path.line_to(stretch.from + bottom);
        path.close_path();
    }
    path
}
