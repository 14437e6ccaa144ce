//! `no-loading-mark`: a pocket symmetric under a half turn, with nothing to show which way round.

use kurbo::Affine;

use super::Drawing;
use crate::finding::Finding;
use crate::finding::Info;
use crate::fixture::lock::OutlineKind;
use crate::geometry::contour::Contour;
use crate::geometry::deviation::within;
use crate::geometry::edges::Edges;
use crate::matching::COMPARING;
use crate::rules::info;

pub(crate) static INFO: Info = info!("no-loading-mark", Caution, Blank);

/// A mark this near to a pocket, in millimetres, is read as belonging to it (common practice, no
/// source).
const NEAR: f64 = 15.0;

pub(super) fn check(drawing: &Drawing<'_>, out: &mut Vec<Finding>) {
    let place = drawing.settings.limits.place;
    let marks: Vec<&Contour> = drawing
        .lock
        .outlines
        .iter()
        .filter(|o| o.kind == OutlineKind::Mark)
        .map(|o| &o.contour)
        .collect();
    let edges: Vec<Edges> = drawing
        .pockets
        .iter()
        .map(|p| Edges::new(p.contour.edges()))
        .collect();
    for (pocket, own_edges) in drawing.pockets.iter().zip(&edges) {
        let turn = Affine::rotate_about(std::f64::consts::PI, pocket.contour.bounds.center());
        let even = |a: &Contour, b: &Contour| {
            a.transformed(turn)
                .is_some_and(|t| within(&t, b, place, COMPARING))
        };
        if !even(pocket.contour, pocket.contour) {
            continue;
        }
        let own: Vec<&&Contour> = marks
            .iter()
            .filter(|m| {
                let gap = apart(m, pocket.contour, own_edges);
                gap <= NEAR
                    && drawing
                        .pockets
                        .iter()
                        .zip(&edges)
                        .all(|(other, edges)| apart(m, other.contour, edges) >= gap)
            })
            .collect();
        // A mark with its twin across the pocket shows both ways round.
        let shows = own.iter().any(|m| !own.iter().any(|n| even(m, n)));
        if shows {
            continue;
        }
        out.push(
            Finding::new(
                &INFO,
                &drawing.place_of(pocket.contour),
                "The pocket looks the same after a half turn, and no mark shows which way round the blank goes",
                "add a small mark at the head end, on the sheet, in a scored or engraved paint",
            )
            .in_pocket(Some(pocket.name)),
        );
    }
}

/// How far a mark's middle lies from a pocket; beyond [`NEAR`] from its box, which is quick.
fn apart(mark: &Contour, pocket: &Contour, edges: &Edges) -> f64 {
    let (c, b) = (mark.bounds.center(), pocket.bounds);
    let dx = (b.x0 - c.x).max(c.x - b.x1).max(0.0);
    let dy = (b.y0 - c.y).max(c.y - b.y1).max(0.0);
    let rough = dx.hypot(dy);
    if rough > NEAR {
        rough
    } else if pocket.contains(c) {
        0.0
    } else {
        edges.nearest_point(c).map_or(rough, |(away, _)| away)
    }
}
