//! Ink cut into what could be letters: connected parts, each an outer outline with its holes.

use kurbo::{Point, Rect};

use super::spectrum::{SIGNATURE, Spectrum};
use crate::geometry::region::{Region, signed_area};

/// One connected part of ink, or of a glyph.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Its outer outline.
    pub spectrum: Spectrum,
    /// The outline's signature.
    pub signature: [f32; SIGNATURE],
    /// How many holes it has.
    pub holes: usize,
    /// Area of the holes as a share of the outer outline's.
    pub hole_share: f64,
    /// Area of the outer outline.
    pub area: f64,
    /// Its box.
    pub bounds: Rect,
}

/// The pieces of a region, in its own order.
pub fn pieces(region: &Region) -> Vec<Piece> {
    region.pieces().iter().filter_map(piece).collect()
}

fn piece(region: &Region) -> Option<Piece> {
    let areas: Vec<f64> = region.rings.iter().map(|r| signed_area(r).abs()).collect();
    let (outer, area) = areas.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
    let ring: &Vec<Point> = region.rings.get(outer)?;
    let spectrum = Spectrum::of(ring)?;
    let holes: f64 = areas.iter().sum::<f64>() - area;
    Some(Piece {
        signature: spectrum.signature(),
        spectrum,
        holes: region.rings.len() - 1,
        hole_share: holes / area.max(1e-12),
        area: *area,
        bounds: region.bounds()?,
    })
}
