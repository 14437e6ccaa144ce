//! Outlines and heights of glyphs, each read from its face once.

use std::collections::HashMap;

use kurbo::{Affine, BezPath, Shape};
use ttf_parser::{Face, GlyphId, OutlineBuilder};
use usvg::fontdb::{Database, ID};

use crate::artwork::fonts::{coloured, with_face};

/// A face at a position on its axes. The values are kept as bits, so that they can be keys.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Stand {
    pub(super) face: ID,
    axes: Vec<([u8; 4], u32)>,
}

impl Stand {
    pub(super) fn new(face: ID, axes: &[([u8; 4], f32)]) -> Self {
        Self {
            face,
            axes: axes
                .iter()
                .map(|(tag, value)| (*tag, value.to_bits()))
                .collect(),
        }
    }
}

/// A glyph in font units, y up.
#[derive(Debug, Clone, Default)]
pub(super) struct Drawn {
    pub(super) path: BezPath,
    /// Painted in colours or as a picture, so that `path` is not what is seen.
    pub(super) coloured: bool,
    pub(super) advance: f64,
    pub(super) units_per_em: f64,
    pub(super) cap_height: f64,
    pub(super) x_height: f64,
}

/// Glyphs read so far.
pub(super) struct Shelf<'a> {
    database: &'a Database,
    drawn: HashMap<(Stand, u16), Drawn>,
}

impl<'a> Shelf<'a> {
    pub(super) fn new(database: &'a Database) -> Self {
        Self {
            database,
            drawn: HashMap::new(),
        }
    }

    /// The glyph; empty if the face can no longer be read, so that the letter is found to have no
    /// ink.
    pub(super) fn glyph(&mut self, stand: &Stand, glyph: u16) -> &Drawn {
        let database = self.database;
        self.drawn.entry((stand.clone(), glyph)).or_insert_with(|| {
            let axes: Vec<_> = stand
                .axes
                .iter()
                .map(|(tag, bits)| (*tag, f32::from_bits(*bits)))
                .collect();
            with_face(database, stand.face, &axes, |face| {
                draw(face, GlyphId(glyph))
            })
            .unwrap_or_default()
        })
    }
}

fn draw(face: &Face<'_>, glyph: GlyphId) -> Drawn {
    let height = |stated: Option<i16>, letter: char| match stated {
        Some(height) if height > 0 => f64::from(height),
        _ => face
            .glyph_index(letter)
            .map(|glyph| outline(face, glyph))
            .filter(|path| !path.elements().is_empty())
            .map_or(0.0, |path| path.bounding_box().y1.max(0.0)),
    };
    let shift = Affine::translate((bearing_shift(face, glyph), 0.0));
    Drawn {
        path: shift * outline(face, glyph),
        coloured: coloured(face, glyph),
        advance: f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)),
        units_per_em: f64::from(face.units_per_em()),
        cap_height: height(face.capital_height(), 'H'),
        x_height: height(face.x_height(), 'x'),
    }
}

/// How far a TrueType outline is moved so that its left edge is where the face's metrics put it.
/// Most faces agree with themselves; rasterisers move the outlines of those that do not (OpenType
/// specification, "glyf" table: phantom points, pp1 = xMin - left side bearing).
fn bearing_shift(face: &Face<'_>, glyph: GlyphId) -> f64 {
    let tables = face.tables();
    let left = tables
        .glyf
        .and_then(|glyf| glyf.bbox(glyph))
        .map(|bounds| bounds.x_min);
    let bearing = tables.hmtx.and_then(|hmtx| hmtx.side_bearing(glyph));
    match (left, bearing) {
        (Some(left), Some(bearing)) => f64::from(bearing) - f64::from(left),
        _ => 0.0,
    }
}

fn outline(face: &Face<'_>, glyph: GlyphId) -> BezPath {
    let mut pen = GlyphPath(BezPath::new());
    // None means that the glyph has no outline, and the path then stays empty.
    let _ = face.outline_glyph(glyph, &mut pen);
    pen.0
}

struct GlyphPath(BezPath);

fn point(x: f32, y: f32) -> (f64, f64) {
    (f64::from(x), f64::from(y))
}

impl OutlineBuilder for GlyphPath {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to(point(x, y));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to(point(x, y));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.0.quad_to(point(x1, y1), point(x, y));
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.0.curve_to(point(x1, y1), point(x2, y2), point(x, y));
    }

    fn close(&mut self) {
        self.0.close_path();
    }
}
