//! Ink cut into what could be letters: connected parts, each an outer outline with its holes.

use kurbo::{Point, Rect};

use super::spectrum::{SIGNATURE, Spectrum};
use crate::geometry::flatten::signed_area;
use crate::geometry::region::Region;
use crate::ids::At;

/// One connected part of ink, or of a glyph.
#[derive(Debug, Clone)]
pub(crate) struct Piece {
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
    /// How rough its outline is: the distance of the lines that fill it, as a share of the root of its area. Nought where
    /// none do.
    pub rough: f64,
}

/// The pieces of a region, in its own order.
pub(crate) fn pieces(region: &Region) -> Vec<Piece> {
    region.pieces().iter().filter_map(piece).collect()
}

/// Most rings that [`as_drawn`] sorts: it compares each with each.
const MOST_RINGS: usize = 600;

/// How much more ink letters that overlap may have one by one than together, as a share. Script
/// that runs on overlaps by a few hundredths; what is drawn twice has twice as much.
const OVERLAP: f64 = 0.2;

/// How much less they may have: rounding.
const ROUNDING: f64 = 0.01;

/// The pieces as they were drawn, before touching ones became one: `rings` are the subpaths of what
/// `ink` is the union of. Rings inside an even number of others are outer outlines, the rest holes.
///
/// Empty where the rings together are not that ink: something clips it, or is drawn twice.
pub(crate) fn as_drawn(rings: &[Vec<Point>], ink: &Region) -> Vec<Piece> {
    if rings.len() > MOST_RINGS {
        return Vec::new();
    }
    let all: Vec<Region> = rings
        .iter()
        .filter(|ring| ring.len() >= 3 && signed_area(ring) != 0.0)
        .map(|ring| Region {
            rings: vec![ring.clone()],
        })
        .collect();
    let boxes: Vec<Option<Rect>> = all.iter().map(Region::bounds).collect();
    let within = |inner: usize, outer: usize| {
        let (Some(small), Some(large)) = (boxes.at(inner), boxes.at(outer)) else {
            return false;
        };
        let mut points = all.at(inner).rings.iter().flatten();
        inner != outer
            && large.union(*small) == *large
            && points.all(|p| all.at(outer).contains(*p))
    };
    let around: Vec<Vec<usize>> = (0..all.len())
        .map(|i| (0..all.len()).filter(|o| within(i, *o)).collect())
        .collect();
    let ring = |i: usize| all.at(i).rings.at(0);
    let area = |i: &usize| signed_area(ring(*i)).abs();
    let mut shapes = all.clone();
    for (hole, outside) in around.iter().enumerate().filter(|(_, o)| o.len() % 2 == 1) {
        let nearest = outside.iter().min_by(|a, b| area(a).total_cmp(&area(b)));
        if let Some(nearest) = nearest {
            shapes.at_mut(*nearest).rings.push(ring(hole).clone());
        }
    }
    let out: Vec<Piece> = shapes
        .iter()
        .zip(&around)
        .filter(|(_, outside)| outside.len() % 2 == 0)
        .filter_map(|(shape, _)| piece(shape))
        .collect();
    let drawn: f64 = out.iter().map(|p| p.area * (1.0 - p.hole_share)).sum();
    let share = drawn / ink.area().max(1e-12);
    if (1.0 - ROUNDING..=1.0 + OVERLAP).contains(&share) {
        out
    } else {
        Vec::new()
    }
}

/// A region of one piece, measured; `None` where it has no area.
pub(crate) fn piece(region: &Region) -> Option<Piece> {
    let areas: Vec<f64> = region.rings.iter().map(|r| signed_area(r).abs()).collect();
    let (outer, area) = areas.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
    let spectrum = Spectrum::of(region.rings.at(outer))?;
    let holes: f64 = areas.iter().sum::<f64>() - area;
    Some(Piece {
        signature: spectrum.signature(),
        spectrum,
        holes: region.rings.len() - 1,
        hole_share: holes / area.max(1e-12),
        area: *area,
        bounds: region.bounds()?,
        rough: 0.0,
    })
}
