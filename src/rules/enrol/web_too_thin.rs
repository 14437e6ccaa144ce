//! `web-too-thin`: a strip of sheet between openings that is weak, or none at all.

use kurbo::{Point, Rect};

use super::{Drawing, Opening};
use crate::finding::Info;
use crate::finding::{Finding, Picture, Severity};
use crate::fixture::lock::{Outline, OutlineKind};
use crate::fixture::zones::ZONE_TOLERANCE;
use crate::geometry::boxes::Boxes;
use crate::geometry::contour::Contour;
use crate::geometry::deviation::within;
use crate::geometry::edges::Edges;
use crate::geometry::region::Region;
use crate::ids::{Id as _, OutlineId};
use crate::matching::COMPARING;
use crate::rules::info;

pub(crate) static INFO: Info = info!("web-too-thin", Caution, Fixture);

/// A web narrower than this, in millimetres, is weak: about the thickness of the usual sheet
/// (common practice, no source).
pub(crate) const WEAK: f64 = 3.0;

/// Openings that share more area than this, in square millimetres, overlap; less is rounding.
const SHARED: f64 = 0.01;

pub(super) fn check(drawing: &Drawing<'_>, out: &mut Vec<Finding>) {
    let outlines = &drawing.lock.outlines;
    let tree = Boxes::new(outlines.iter().map(|o| o.contour.bounds));
    for pocket in &drawing.pockets {
        let around = pocket.contour.bounds.inflate(WEAK, WEAK);
        for index in tree.touching(around).into_iter().map(OutlineId::new) {
            let other = &outlines[index];
            let again = other.kind == OutlineKind::Pocket && index <= pocket.outline;
            if other.kind == OutlineKind::Mark || again {
                continue;
            }
            out.extend(between(drawing, pocket, other));
        }
    }
}

fn between(drawing: &Drawing<'_>, pocket: &Opening<'_>, other: &Outline) -> Option<Finding> {
    let place = drawing.settings.limits.place;
    // One outline drawn twice is `cut-twice`'s to say: no two pockets are meant.
    if within(pocket.contour, &other.contour, place, COMPARING) {
        return None;
    }
    let neighbour = match other.kind {
        OutlineKind::Edge => "the sheet's edge".to_owned(),
        _ => drawing
            .pockets
            .iter()
            .find(|p| std::ptr::eq(p.contour, &raw const other.contour))
            .map_or("another opening".to_owned(), |p| {
                format!("pocket {}", p.name)
            }),
    };
    let area = |c: &Contour| Region::from_path(&c.path, false, ZONE_TOLERANCE);
    let (own, its) = (area(pocket.contour), area(&other.contour));
    let wrong = match other.kind {
        OutlineKind::Edge => own.subtract(&its),
        _ => own.intersect(&its),
    };
    if wrong.area() > SHARED {
        let at = wrong.bounds().unwrap_or(pocket.contour.bounds);
        let message = if other.kind == OutlineKind::Edge {
            "The pocket reaches past the sheet's edge".to_owned()
        } else {
            format!("The pocket overlaps {neighbour}, so that no sheet is left between them")
        };
        return Some(
            Finding::new(
                &INFO,
                &with_box(drawing, pocket, at),
                message,
                "move the pockets apart, or draw one opening where one is meant",
            )
            .weighing(Severity::Hold)
            .in_pocket(Some(pocket.name))
            .measured("web", 0.0, WEAK, "mm")
            .drawn(Picture::Hatch(wrong.to_path())),
        );
    }
    let (width, a, b) = nearest(pocket.contour, &other.contour)?;
    // Lines that lie on each other are `cut-twice`'s to say.
    if width >= WEAK || width <= place {
        return None;
    }
    let shown = drawing.shown();
    Some(
        Finding::new(
            &INFO,
            &with_box(drawing, pocket, Rect::from_points(a, b)),
            format!(
                "The web between this pocket and {neighbour} is {} wide, and less than {} is weak",
                shown.length(width),
                shown.length(WEAK)
            ),
            "move them further apart, or leave out a pocket",
        )
        .in_pocket(Some(pocket.name))
        .measured("web", width, WEAK, "mm"),
    )
}

fn with_box<'a>(
    drawing: &'a Drawing<'_>,
    pocket: &Opening<'_>,
    at: Rect,
) -> crate::finding::Location<'a> {
    match drawing.place_of(pocket.contour) {
        crate::finding::Location::Mark(origin, _) => crate::finding::Location::Mark(origin, at),
        _ => crate::finding::Location::Bed(at),
    }
}

/// The smallest distance between two curves that do not cross, and where. Between straight pieces
/// it is always taken at an end of one of them.
fn nearest(a: &Contour, b: &Contour) -> Option<(f64, Point, Point)> {
    let from = |a: &Contour, b: &Contour| {
        let edges = Edges::new(b.edges());
        a.flat
            .iter()
            .filter_map(|p| edges.nearest_point(*p).map(|(d, q)| (d, *p, q)))
            .min_by(|p, q| p.0.total_cmp(&q.0))
    };
    [from(a, b), from(b, a)]
        .into_iter()
        .flatten()
        .min_by(|p, q| p.0.total_cmp(&q.0))
}
