//! Markers: drawings placed on the vertices of a line, mostly arrow heads (SVG 2, 13.6).
//!
//! A marker is placed as the standard says wherever readers agree. Where they do not, for example on
//! lines with pieces of no length, it is reported.

use std::sync::Arc;

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Vec2};
use roxmltree::Node;

use super::elements::kind;
use super::length::number;
use super::page;
use super::resolve::Walk;
use super::shapes;
use super::source::ReadError;
use super::state::{Marker, State};
use super::transform;

const EXPAND: &str = "expand the markers to plain outlines";

/// A corner of a line, in the line's user units.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Corner {
    at: Point,
    /// The direction of the line there, in degrees.
    angle: f64,
}

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// Draws the markers that the line `path`, in user units, carries.
    pub(super) fn markers(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        path: &BezPath,
        depth: usize,
    ) -> Result<(), ReadError> {
        if state.markers.iter().all(|m| *m == Marker::None) {
            return Ok(());
        }
        let corners = corners(path).filter(|_| !disputed(node, state));
        let Some(corners) = corners else {
            self.report(
                node,
                state,
                "it carries arrow heads or other markers on a line whose corners readers work out differently",
                EXPAND,
            );
            return Ok(());
        };
        let last = corners.len().saturating_sub(1);
        for (which, marker) in state.markers.iter().enumerate() {
            let here: Vec<Corner> = match which {
                0 => corners.first().copied().into_iter().collect(),
                1 => corners.get(1..last).unwrap_or_default().to_vec(),
                _ => corners.last().copied().into_iter().collect(),
            };
            self.marker(node, state, marker, which == 0, &here, depth)?;
        }
        Ok(())
    }

    /// Draws one marker on each of `corners`.
    fn marker(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        marker: &Marker,
        start: bool,
        corners: &[Corner],
        depth: usize,
    ) -> Result<(), ReadError> {
        let id = match marker {
            Marker::None => return Ok(()),
            Marker::Id(id) => Some(id.as_ref()),
            Marker::Unread => None,
        };
        let target = id.and_then(|id| self.find(node, state, id));
        let Some(target) = target.filter(|t| t.tag_name().name() == "marker") else {
            self.report(
                node,
                state,
                "it carries a marker that is not in this file",
                "embed the marker in the drawing, or take it off the line",
            );
            return Ok(());
        };
        if self.chain.contains(&target) {
            self.report(
                node,
                state,
                "it carries a marker that carries itself",
                EXPAND,
            );
            return Ok(());
        }
        let Some((inner, frame)) = self.marker_state(node, state, target) else {
            self.report(
                node,
                state,
                "it carries arrow heads or other markers that readers draw differently",
                EXPAND,
            );
            return Ok(());
        };
        let Some(frame) = frame else {
            return Ok(());
        };
        let turn = target.attribute("orient").unwrap_or("0");
        self.chain.push(target);
        for corner in corners {
            let angle = match (turn, start) {
                ("auto", _) | ("auto-start-reverse", false) => corner.angle,
                ("auto-start-reverse", true) => corner.angle + 180.0,
                _ => number(turn).unwrap_or_default(),
            };
            let place = state.ctm
                * Affine::translate(corner.at.to_vec2())
                * transform::rotate(angle)
                * frame.about;
            let mut own = inner.clone();
            own.ctm = place * frame.fit;
            if frame.cut {
                Self::clip_to(&mut own, place, frame.box_);
            }
            self.children(target, &own, depth + 1)?;
        }
        self.chain.pop();
        Ok(())
    }

    /// The state in which a marker is drawn, except for its place, and the frame within it: no frame
    /// if nothing is drawn, `None` if readers differ about it.
    fn marker_state(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        target: Node<'a, 'i>,
    ) -> Option<(State, Option<Frame>)> {
        // The style is inherited from what is around the marker; visibility and clip come from the
        // line that carries it.
        let mut inner = self.style_around(target, state);
        let declared = self.sheets.computed(target);
        let unread = !inner.declare(&declared).is_empty();
        let own = ["opacity", "clip-path", "mask", "filter", "transform"];
        let changed = own
            .iter()
            .any(|name| declared.get(name).is_some_and(|v| v != "none" && v != "1"));
        if unread || changed {
            return None;
        }
        inner.gone = state.hidden();
        inner.opacity = state.opacity;
        inner.clip.clone_from(&state.clip);
        inner.layers = Arc::clone(&state.layers);
        Arc::make_mut(&mut inner.uses).push(node.range());
        inner.context = Some(Arc::new((
            state.fixed(&state.fill),
            state.fixed(&state.stroke),
        )));
        let units = target.attribute("markerUnits").unwrap_or("strokeWidth");
        let wide = match units {
            "userSpaceOnUse" => 1.0,
            // A line whose width does not scale has two widths to choose from.
            "strokeWidth" if self.sheets.computed(node).get("vector-effect").is_none() => {
                state.line.width
            }
            _ => return None,
        };
        let orient = target.attribute("orient").unwrap_or("0");
        if !matches!(orient, "auto" | "auto-start-reverse") && number(orient).is_none() {
            return None;
        }
        let (vw, vh) = state.viewport;
        let size = |name: &str, of: f64, missing: f64| match target.attribute(name) {
            None => Some(missing),
            Some(text) => super::length::length(text, &state.lengths(of)).ok(),
        };
        let (w, h) = (
            size("markerWidth", vw, 3.0)?,
            size("markerHeight", vh, 3.0)?,
        );
        if w < 0.0 || h < 0.0 {
            return None;
        }
        let draws = target
            .descendants()
            .any(|n| n.is_element() && kind(n).could_mark());
        if wide <= 0.0 || !draws {
            return Some((inner, None));
        }
        let view_box = match target.attribute("viewBox") {
            None => None,
            Some(text) => Some(page::view_box(text)?),
        };
        let box_ = Rect::new(0.0, 0.0, w, h);
        let aspect = page::preserve_aspect_ratio(target).ok()?;
        let fit = view_box
            .filter(|_| w > 0.0 && h > 0.0)
            .map_or(Affine::IDENTITY, |v| page::fit(v, aspect, box_));
        inner.viewport = view_box.map_or((w, h), |v| (v.w, v.h));
        let (iw, ih) = inner.viewport;
        let reference = Point::new(size("refX", iw, 0.0)?, size("refY", ih, 0.0)?);
        let cut = match declared.get("overflow") {
            Some("visible" | "auto") => false,
            None | Some("hidden" | "clip" | "scroll") => true,
            Some(_) => return None,
        };
        // Without a size some readers draw, unscaled, what is not cut off, and others nothing.
        let empty = w == 0.0 || h == 0.0;
        if empty && !cut {
            return None;
        }
        let about = Affine::scale(wide) * Affine::translate(-(fit * reference).to_vec2());
        let frame = Frame {
            about,
            fit,
            box_,
            cut,
        };
        Some((inner, Some(frame)))
    }
}

/// How a marker lies relative to its vertex.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Frame {
    /// From the marker's box to the line's user units about the corner.
    about: Affine,
    /// From what is drawn to the marker's box.
    fit: Affine,
    box_: Rect,
    /// Whether what reaches out of the box is cut off.
    cut: bool,
}

/// Whether readers count the vertices of a line differently.
fn disputed(node: Node<'_, '_>, state: &State) -> bool {
    let data = node.attribute("d").unwrap_or_default();
    let [_, between, _] = &state.markers;
    // Some readers split an arc into several pieces with vertices of their own.
    let arcs = *between != Marker::None && data.contains(['a', 'A']);
    arcs || shapes::lone_moveto(data)
}

/// The corners of a line and its direction at each (SVG 2, 13.6.3); `None` where a piece has no
/// length, so that its direction is a matter of rules that readers follow differently.
fn corners(path: &BezPath) -> Option<Vec<Corner>> {
    // In and out at each corner, and where the subpath of each began.
    let mut all: Vec<(Point, Option<Vec2>, Option<Vec2>)> = Vec::new();
    let (mut first, mut at) = (0, Point::ZERO);
    let mut closed = true;
    for element in path.elements() {
        let (leaves, arrives, end) = match *element {
            PathEl::MoveTo(p) => {
                first = all.len();
                all.push((p, None, None));
                (at, closed) = (p, false);
                continue;
            }
            PathEl::LineTo(p) => (p - at, p - at, p),
            PathEl::QuadTo(a, p) => (towards(at, &[a, p]), towards(p, &[a, at]) * -1.0, p),
            PathEl::CurveTo(a, b, p) => {
                (towards(at, &[a, b, p]), towards(p, &[b, a, at]) * -1.0, p)
            }
            PathEl::ClosePath => {
                let start = all.get(first)?.0;
                let end = start - at;
                if end.hypot() == 0.0 {
                    return None;
                }
                all.last_mut()?.2 = Some(end);
                let out = all.get(first)?.2?;
                all.get_mut(first)?.1 = Some(end);
                all.push((start, Some(end), Some(out)));
                (at, closed) = (start, true);
                continue;
            }
        };
        if closed || leaves.hypot() == 0.0 || arrives.hypot() == 0.0 {
            return None;
        }
        all.last_mut()?.2 = Some(leaves);
        all.push((end, Some(arrives), None));
        at = end;
    }
    let degrees = |v: Vec2| libm::atan2(v.y, v.x).to_degrees();
    Some(
        all.into_iter()
            .map(|(at, before, after)| Corner {
                at,
                angle: match (before, after) {
                    (Some(a), Some(b)) => halfway(degrees(a), degrees(b)),
                    (Some(a), None) => degrees(a),
                    (None, Some(b)) => degrees(b),
                    (None, None) => 0.0,
                },
            })
            .collect(),
    )
}

/// The direction from a point to the first of others that is not on it.
fn towards(from: Point, others: &[Point]) -> Vec2 {
    others
        .iter()
        .map(|p| *p - from)
        .find(|v| v.hypot2() > 0.0)
        .unwrap_or(Vec2::ZERO)
}

/// The angle halfway between two, the short way round.
fn halfway(a: f64, b: f64) -> f64 {
    let a = if (a - b).abs() > 180.0 { a + 360.0 } else { a };
    f64::midpoint(a, b)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn angles(d: &str) -> Option<Vec<f64>> {
        let path = shapes::path_data(d, 1e-3).path;
        Some(corners(&path)?.iter().map(|c| c.angle.round()).collect())
    }

    #[test]
    fn a_corner_points_halfway_between_its_pieces() {
        assert_eq!(angles("M0 0h9v9"), Some(vec![0.0, 45.0, 90.0]));
        assert_eq!(
            angles("M0 0h9v9h-9z"),
            Some(vec![-45.0, 45.0, 135.0, 225.0, -45.0])
        );
        assert_eq!(angles("M0 0q9 0 9 9"), Some(vec![0.0, 90.0]));
    }

    #[test]
    fn a_piece_without_length_has_no_direction() {
        assert_eq!(angles("M0 0h9h0v9"), None);
        assert_eq!(angles("M0 0h9v9h-9v-9z"), None, "the closing piece is one");
        assert_eq!(angles("M0 0z"), None);
    }
}
