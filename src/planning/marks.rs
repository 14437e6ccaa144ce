//! Marks that are scored on the sheet: which end of a blank goes where, and which edges touch the
//! stops.

use kurbo::{Affine, BezPath, Point, Rect, Vec2};

use super::Head;
use crate::artwork::transform;
use crate::fixture::settings::Stops;

/// Gap between an opening and its loading mark, in millimetres. With a smaller gap the cut may burn
/// the mark away; with a larger one it does not seem to belong to the opening.
pub(super) const GAP: f64 = 1.2;

/// Gap between a loading mark and the next opening, in millimetres: as much as to its own, and the mark
/// would belong to neither.
pub(super) const GAP_BEYOND: f64 = 2.2;

/// A loading mark's size towards the head, in millimetres: seen from a standing height.
const DEEP: f64 = 2.5;

/// A loading mark's size across, in millimetres.
const WIDE: f64 = 5.0;

/// How far a loading mark reaches past its opening, in millimetres.
pub(super) const REACH: f64 = GAP + DEEP;

/// Depth of the strip along the stops' edges that the stop marks and the label stand in, in
/// millimetres.
pub(super) const STRIP: f64 = 5.0;

/// From the corner at the stops to the middle of a stop mark, along the edge, in millimetres.
const FROM_CORNER: f64 = 12.0;

/// How far from the corner at the stops the label may begin, in millimetres.
pub(super) const PAST_STOP_MARK: f64 = FROM_CORNER + 10.0;

/// The loading mark of an opening of `bounds` (head to the back, about the origin): an arrowhead past
/// the head end, pointing the way the head does.
pub(crate) fn loading(bounds: Rect) -> BezPath {
    let foot = bounds.y0 - GAP;
    let mut path = BezPath::new();
    path.move_to((-WIDE / 2.0, foot));
    path.line_to((0.0, foot - DEEP));
    path.line_to((WIDE / 2.0, foot));
    path
}

/// Turns what is drawn with its head to the back.
pub(crate) fn turned(path: &BezPath, head: Head) -> BezPath {
    transform::rotate(head.degrees()) * path.clone()
}

/// The marks on the sheet's two edges that touch the stops: a bar along the edge with an arrowhead
/// that pushes against it. `clear` is the border that nothing may be burnt in.
pub(crate) fn stops(sheet: Rect, corner: Stops, clear: f64) -> Vec<BezPath> {
    // Drawn for an edge at the back, about the middle of the mark, then turned to its edge.
    let mut mark = BezPath::new();
    mark.move_to((-5.0, 0.0));
    mark.line_to((5.0, 0.0));
    mark.move_to((-3.0, 3.2));
    mark.line_to((0.0, 0.8));
    mark.line_to((3.0, 3.2));
    let (front, right) = edges(corner);
    let x = if right {
        sheet.x1 - clear - FROM_CORNER
    } else {
        sheet.x0 + clear + FROM_CORNER
    };
    let y = if front {
        sheet.y1 - clear - FROM_CORNER
    } else {
        sheet.y0 + clear + FROM_CORNER
    };
    // Half a millimetre in: a line on the sheet's very edge would not show.
    let inside = clear + 0.5;
    let places = if front {
        (180.0, Point::new(x, sheet.y1 - inside))
    } else {
        (0.0, Point::new(x, sheet.y0 + inside))
    };
    let sides = if right {
        (90.0, Point::new(sheet.x1 - inside, y))
    } else {
        (270.0, Point::new(sheet.x0 + inside, y))
    };
    [places, sides]
        .into_iter()
        .map(|(degrees, at)| {
            Affine::translate(at.to_vec2()) * transform::rotate(degrees) * mark.clone()
        })
        .collect()
}

/// Whether the stops are at the front, and whether they are at the right.
pub(super) fn edges(stops: Stops) -> (bool, bool) {
    match stops {
        Stops::FrontLeft => (true, false),
        Stops::FrontRight => (true, true),
        Stops::BackLeft => (false, false),
        Stops::BackRight => (false, true),
    }
}

/// From the stops into the bed, as signs along x and y.
pub(super) fn outwards(stops: Stops) -> Vec2 {
    let (front, right) = edges(stops);
    Vec2::new(
        if right { -1.0 } else { 1.0 },
        if front { -1.0 } else { 1.0 },
    )
}
