//! Single subpaths of path data, changed where they stand.

use std::ops::Range;

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape as _};

use crate::artwork::resolve::ARC_TOLERANCE;
use crate::artwork::shapes;
use crate::ids::At;
use crate::remedy::Part;

/// Boxes that differ by less than this, in millimetres, are one. Larger, and a line close inside another would
/// be taken for it.
const SAME_BOX: f64 = 0.01;

/// The subpaths of some path data: their bytes, and their curves.
#[derive(Debug)]
pub(super) struct Subpaths<'d> {
    data: &'d str,
    parts: Vec<(Range<usize>, BezPath)>,
}

impl<'d> Subpaths<'d> {
    /// Takes path data apart at its movetos. `None` where that is not how it is made up: a subpath may
    /// start after a closepath without one.
    pub(super) fn new(data: &'d str) -> Option<Self> {
        let starts: Vec<usize> = data
            .bytes()
            .enumerate()
            .filter(|(_, b)| matches!(b, b'M' | b'm'))
            .map(|(at, _)| at)
            .collect();
        let shape = shapes::path_data(data, ARC_TOLERANCE);
        let mut curves: Vec<BezPath> = Vec::new();
        for element in shape.path.elements() {
            match element {
                PathEl::MoveTo(_) => curves.push(BezPath::from_vec(vec![*element])),
                _ => curves.last_mut()?.push(*element),
            }
        }
        if shape.error.is_some() || curves.len() != starts.len() {
            return None;
        }
        let ends = starts.iter().skip(1).copied().chain([data.len()]);
        let parts = starts.iter().copied().zip(ends).zip(curves);
        Some(Self {
            data,
            parts: parts.map(|((from, to), curve)| (from..to, curve)).collect(),
        })
    }

    /// Those that are meant by a part of the bed, as `frame` takes them there.
    pub(super) fn within(&self, part: Part, frame: Affine) -> Vec<usize> {
        // The boxes are computed in two ways, which differ in the last digits.
        let (inner, room) = (part.bounds.inset(-SAME_BOX), part.bounds.inset(SAME_BOX));
        let boxes = self
            .parts
            .iter()
            .map(|(_, c)| (frame * c.clone()).bounding_box());
        let inside = boxes
            .enumerate()
            .filter(|(_, own)| room.union(*own) == room);
        // A contour in one piece has the box itself, and what lies inside it is another contour.
        let fills = |own: &Rect| own.union(inner) == *own;
        let (whole, less): (Vec<_>, Vec<_>) = inside.partition(|(_, own)| fills(own));
        let meant = if part.contour && !whole.is_empty() {
            whole
        } else {
            [whole, less].concat()
        };
        let mut meant: Vec<usize> = meant.into_iter().map(|(i, _)| i).collect();
        meant.sort_unstable();
        meant
    }

    /// The data with some subpaths carried by a motion of its own coordinates.
    pub(super) fn carried(&self, which: &[usize], motion: Affine) -> String {
        self.rewritten(which, |curve| Some(motion * curve.clone()))
    }

    /// The data without some subpaths.
    pub(super) fn without(&self, which: &[usize]) -> String {
        self.rewritten(which, |_| None)
    }

    /// The data with one curve in the place of some subpaths.
    pub(super) fn replaced(&self, which: &[usize], by: &BezPath) -> String {
        let mut left = Some(by.clone());
        self.rewritten(which, |_| left.take())
    }

    fn rewritten(
        &self,
        which: &[usize],
        mut to: impl FnMut(&BezPath) -> Option<BezPath>,
    ) -> String {
        let mut out = String::new();
        // Whether the current point before a subpath differs from the one in the file.
        let mut disturbed = false;
        for (i, (range, curve)) in self.parts.iter().enumerate() {
            if which.contains(&i) {
                if let Some(curve) = to(curve) {
                    out.push_str(&data(&curve));
                    out.push(' ');
                }
                disturbed = true;
                continue;
            }
            let own = self.data.at(range.clone());
            match (disturbed, own.strip_prefix('m'), curve.elements().first()) {
                (true, Some(rest), Some(PathEl::MoveTo(start))) => {
                    out.push_str(&absolute(*start, rest));
                }
                _ => out.push_str(own),
            }
            disturbed = false;
        }
        out.trim_end().to_owned()
    }
}

/// A relative moveto as an absolute one, its further coordinates as the relative lines that they are.
fn absolute(start: Point, rest: &str) -> String {
    let after = skip_number(skip_number(rest));
    let goes_on = after
        .trim_start_matches(BETWEEN)
        .starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.'));
    let line = if goes_on { "l" } else { "" };
    format!("M{} {}{line}{after}", number(start.x), number(start.y))
}

/// What may stand between two numbers (SVG 2, 9.3.9, `comma_wsp`).
const BETWEEN: [char; 6] = [' ', '\t', '\r', '\n', '\u{c}', ','];

/// What is left after the first number of a list (SVG 2, 9.3.9, `number`).
fn skip_number(text: &str) -> &str {
    let text = text.trim_start_matches(BETWEEN);
    let digits = |t: &'_ str| t.len() - t.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let mut end = usize::from(text.starts_with(['-', '+']));
    let rest = |end: usize| text.get(end..).unwrap_or_default();
    end += digits(rest(end));
    if rest(end).starts_with('.') {
        end += 1;
        end += digits(rest(end));
    }
    if rest(end).starts_with(['e', 'E']) {
        let sign = usize::from(rest(end + 1).starts_with(['-', '+']));
        end += 1 + sign + digits(rest(end + 1 + sign));
    }
    rest(end)
}

/// A curve as path data.
pub(super) fn data(curve: &BezPath) -> String {
    let point = |p: &Point| format!("{} {}", number(p.x), number(p.y));
    let mut parts = Vec::new();
    for element in curve.elements() {
        parts.push(match element {
            PathEl::MoveTo(p) => format!("M{}", point(p)),
            PathEl::LineTo(p) => format!("L{}", point(p)),
            PathEl::QuadTo(a, p) => format!("Q{} {}", point(a), point(p)),
            PathEl::CurveTo(a, b, p) => format!("C{} {} {}", point(a), point(b), point(p)),
            PathEl::ClosePath => "Z".to_owned(),
        });
    }
    parts.join(" ")
}

/// A coordinate: a millionth of a unit is under a tenth of a micrometre even where the unit is an
/// inch.
pub(super) fn number(value: f64) -> String {
    crate::units::trimmed(value, 6)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;

    fn boxes(data: &str) -> Vec<Rect> {
        let path = shapes::path_data(data, ARC_TOLERANCE).path;
        let mut all = Vec::new();
        for element in path.elements() {
            match element {
                PathEl::MoveTo(p) => all.push(Rect::from_points(*p, *p)),
                PathEl::LineTo(p) => {
                    let last = all.last_mut().unwrap();
                    *last = last.union_pt(*p);
                }
                _ => {}
            }
        }
        all
    }

    #[test]
    fn what_follows_a_changed_subpath_stays_where_it_was() {
        let data = "m1,1 4 0 0,4zm10 0h4v4z m 10 0 4-1 0 4z";
        let parts = Subpaths::new(data).unwrap();
        assert_eq!(parts.parts.len(), 3);
        let before = boxes(data);
        let second = parts.within(part(10.0, 0.0, 16.0, 6.0), Affine::IDENTITY);
        assert_eq!(second, [1]);
        let gone = boxes(&parts.without(&second));
        assert_eq!(gone, [before[0], before[2]], "{}", parts.without(&second));
        let moved = parts.carried(&second, Affine::translate((0.0, 5.0)));
        let now = boxes(&moved);
        assert_eq!((now[0], now[2]), (before[0], before[2]), "{moved}");
        assert_eq!(now[1].y0, before[1].y0 + 5.0, "{moved}");
    }

    fn part(x0: f64, y0: f64, x1: f64, y1: f64) -> Part {
        let bounds = Rect::new(x0, y0, x1, y1);
        Part {
            bounds,
            contour: false,
        }
    }

    #[test]
    fn a_contour_is_meant_without_what_lies_inside_it() {
        let parts = Subpaths::new("M0 0h9v9h-9zM3 3h3v3h-3z").unwrap();
        let all = part(0.0, 0.0, 9.0, 9.0);
        let contour = Part {
            contour: true,
            ..all
        };
        assert_eq!(parts.within(all, Affine::IDENTITY), [0, 1]);
        assert_eq!(parts.within(contour, Affine::IDENTITY), [0]);
    }

    #[test]
    fn data_that_starts_a_subpath_without_a_moveto_is_left_alone() {
        assert!(Subpaths::new("M0 0h4v4zh9v9z").is_none());
    }
}
