//! Basic shapes and path data as curves, in the element's own user units.
//!
//! SVG 2 chapters 9 (paths) and 10 (basic shapes). Nothing is dropped in silence: what cannot be
//! read comes back as a [`ShapeError`] with whatever was read before it.

use kurbo::{BezPath, Point};
use svgtypes::{PathParser, PathSegment, PointsParser};

use super::length;
use crate::geometry::arc;

/// The outline of an element, in its own user units.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shape {
    /// The curves that could be read.
    pub path: BezPath,
    /// Why the rest could not be read.
    pub error: Option<ShapeError>,
}

/// What is wrong with an element's geometry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ShapeError {
    /// Path data stops making sense.
    PathData,
    /// A list of points stops making sense.
    Points,
    /// An arc so large that its place cannot be worked out.
    Arc,
    /// A length that cannot be read, or that means different things to different readers.
    Length {
        /// The attribute.
        name: &'static str,
        /// What was written.
        value: String,
    },
}

impl std::fmt::Display for ShapeError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::PathData => write!(f, "its path data breaks off in the middle"),
            Self::Points => write!(f, "its list of points breaks off in the middle"),
            Self::Arc => write!(f, "it has an arc larger than anything on a bed"),
            Self::Length { name, value } => write!(f, "its {name} \"{value}\" is not a length"),
        }
    }
}

/// Path data (`d`) as curves. `tolerance` is how far an arc may be off, in user units.
pub fn path_data(d: &str, tolerance: f64) -> Shape {
    let mut pen = PathBuilder::new(tolerance);
    let (sound, broken) = length::sound_numbers(d);
    for segment in PathParser::from(sound) {
        match segment {
            Ok(segment) => {
                if !pen.draw(segment) {
                    return Shape {
                        path: BezPath::new(),
                        error: Some(ShapeError::Arc),
                    };
                }
            }
            Err(_) => {
                return Shape {
                    path: pen.path,
                    error: Some(ShapeError::PathData),
                };
            }
        }
    }
    Shape {
        path: pen.path,
        error: broken.then_some(ShapeError::PathData),
    }
}

/// Whether some moveto is followed by no drawing: a subpath that is only its start, which has a corner
/// for a marker and no outline.
pub(crate) fn lone_moveto(d: &str) -> bool {
    let moves: Vec<bool> = PathParser::from(d)
        .map_while(Result::ok)
        .map(|s| matches!(s, PathSegment::MoveTo { .. }))
        .collect();
    moves.last() == Some(&true) || moves.windows(2).any(|two| two == [true, true])
}

/// A `polyline` (or, closed, a `polygon`).
pub(crate) fn points(text: &str, close: bool) -> Shape {
    let mut path = BezPath::new();
    for (x, y) in PointsParser::from(text) {
        if path.elements().is_empty() {
            path.move_to((x, y));
        } else {
            path.line_to((x, y));
        }
    }
    if close && !path.elements().is_empty() {
        path.close_path();
    }
    let error = (!whole_list(text)).then_some(ShapeError::Points);
    Shape { path, error }
}

/// A `rect`. Missing radii are `None`: one stands for the other, and none means square corners (SVG
/// 2, 10.2). A negative size is an error. Without width or height readers draw nothing, but a sender
/// may run the remaining line; the outline is that line.
pub(crate) fn rect(
    x: f64,
    y: f64,
    w: f64,
    h: f64,
    rx: Option<f64>,
    ry: Option<f64>,
    tolerance: f64,
) -> Shape {
    if let Some(error) = negative(&[("width", w), ("height", h)]) {
        return error;
    }
    if w == 0.0 && h == 0.0 {
        return Shape::default();
    }
    if w == 0.0 || h == 0.0 {
        return points(&format!("{x},{y} {},{}", x + w, y + h), true);
    }
    let (rx, ry) = (rx.filter(|r| *r >= 0.0), ry.filter(|r| *r >= 0.0));
    let (rx, ry) = (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
    let path = arc::rounded_rect(x, y, w, h, rx.min(w / 2.0), ry.min(h / 2.0), tolerance);
    Shape { path, error: None }
}

/// A `circle` or `ellipse`.
pub(crate) fn ellipse(cx: f64, cy: f64, rx: f64, ry: f64, tolerance: f64) -> Shape {
    if let Some(error) = negative(&[("rx", rx), ("ry", ry)]) {
        return error;
    }
    if rx == 0.0 && ry == 0.0 {
        return Shape::default();
    }
    if rx == 0.0 || ry == 0.0 {
        let ends = format!("{},{} {},{}", cx - rx, cy - ry, cx + rx, cy + ry);
        return points(&ends, true);
    }
    Shape {
        path: arc::ellipse(cx, cy, rx, ry, tolerance),
        error: None,
    }
}

fn negative(sizes: &[(&'static str, f64)]) -> Option<Shape> {
    sizes
        .iter()
        .find(|(_, v)| *v < 0.0)
        .map(|(name, value)| Shape {
            path: BezPath::new(),
            error: Some(ShapeError::Length {
                name,
                value: format!("{value}"),
            }),
        })
}

/// Whether a list of points is made of an even count of numbers and nothing else.
///
/// The parser stops at the first thing it cannot read without saying so.
fn whole_list(text: &str) -> bool {
    if length::sound_numbers(text).1 {
        return false;
    }
    let mut count = 0_usize;
    for number in svgtypes::NumberListParser::from(text) {
        if number.is_err() {
            return false;
        }
        count += 1;
    }
    count.is_multiple_of(2)
}

/// Walks through path data and keeps what the next command needs to know.
struct PathBuilder {
    path: BezPath,
    tolerance: f64,
    at: Point,
    start: Point,
    /// Last control point of a cubic, for `S`.
    cubic: Option<Point>,
    /// Last control point of a quadratic, for `T`.
    quadratic: Option<Point>,
    /// Whether a subpath is open: after `Z` the next drawing command opens a new one.
    open: bool,
    /// Whether the command before was a moveto: a closepath then closes a subpath without length.
    moved: bool,
}

impl PathBuilder {
    fn new(tolerance: f64) -> Self {
        Self {
            path: BezPath::new(),
            tolerance,
            at: Point::ZERO,
            start: Point::ZERO,
            cubic: None,
            quadratic: None,
            open: false,
            moved: false,
        }
    }

    fn point(&self, abs: bool, x: f64, y: f64) -> Point {
        if abs {
            Point::new(x, y)
        } else {
            Point::new(self.at.x + x, self.at.y + y)
        }
    }

    fn begin(&mut self) {
        if !self.open {
            self.path.move_to(self.at);
            self.start = self.at;
            self.open = true;
        }
    }

    fn line(&mut self, to: Point) {
        self.begin();
        self.path.line_to(to);
        self.finish(to, None, None);
    }

    fn finish(&mut self, to: Point, cubic: Option<Point>, quadratic: Option<Point>) {
        self.at = to;
        self.cubic = cubic;
        self.quadratic = quadratic;
    }

    fn curve(&mut self, c1: Point, c2: Point, to: Point) {
        self.begin();
        self.path.curve_to(c1, c2, to);
        self.finish(to, Some(c2), None);
    }

    fn quad(&mut self, c: Point, to: Point) {
        self.begin();
        self.path.quad_to(c, to);
        self.finish(to, None, Some(c));
    }

    /// The last control point mirrored about the current point, or the current point itself.
    fn reflected(&self, control: Option<Point>) -> Point {
        control.map_or(self.at, |c| {
            Point::new(2.0 * self.at.x - c.x, 2.0 * self.at.y - c.y)
        })
    }

    /// False where an arc cannot be measured.
    fn draw(&mut self, segment: PathSegment) -> bool {
        let moved = std::mem::replace(
            &mut self.moved,
            matches!(segment, PathSegment::MoveTo { .. }),
        );
        match segment {
            PathSegment::MoveTo { abs, x, y } => {
                let to = self.point(abs, x, y);
                self.finish(to, None, None);
                self.open = false;
                self.start = to;
            }
            PathSegment::LineTo { abs, x, y } => {
                let to = self.point(abs, x, y);
                self.line(to);
            }
            PathSegment::HorizontalLineTo { abs, x } => {
                let x = if abs { x } else { self.at.x + x };
                self.line(Point::new(x, self.at.y));
            }
            PathSegment::VerticalLineTo { abs, y } => {
                let y = if abs { y } else { self.at.y + y };
                self.line(Point::new(self.at.x, y));
            }
            PathSegment::CurveTo {
                abs,
                x1,
                y1,
                x2,
                y2,
                x,
                y,
            } => {
                let (c1, c2) = (self.point(abs, x1, y1), self.point(abs, x2, y2));
                let to = self.point(abs, x, y);
                self.curve(c1, c2, to);
            }
            PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => {
                let (c1, c2) = (self.reflected(self.cubic), self.point(abs, x2, y2));
                let to = self.point(abs, x, y);
                self.curve(c1, c2, to);
            }
            PathSegment::Quadratic { abs, x1, y1, x, y } => {
                let (c, to) = (self.point(abs, x1, y1), self.point(abs, x, y));
                self.quad(c, to);
            }
            PathSegment::SmoothQuadratic { abs, x, y } => {
                let (c, to) = (self.reflected(self.quadratic), self.point(abs, x, y));
                self.quad(c, to);
            }
            PathSegment::EllipticalArc {
                abs,
                rx,
                ry,
                x_axis_rotation,
                large_arc,
                sweep,
                x,
                y,
            } => {
                let to = self.point(abs, x, y);
                self.begin();
                let from = self.at;
                if from == to {
                    // The arc is left out (SVG 2, 9.5.1), and what is left is a line without length.
                    self.line(to);
                    return true;
                }
                let largest = LARGEST_RADIUS * self.tolerance;
                if rx.abs().max(ry.abs()) > largest {
                    let flat = rx.abs().min(ry.abs()) > largest
                        && !large_arc
                        && from.distance(to) <= LONGEST_FLAT * self.tolerance;
                    if flat {
                        self.line(to);
                    }
                    return flat;
                }
                arc::arc_to(
                    &mut self.path,
                    from,
                    rx,
                    ry,
                    x_axis_rotation,
                    large_arc,
                    sweep,
                    to,
                    self.tolerance,
                );
                self.finish(to, None, None);
            }
            PathSegment::ClosePath { .. } => {
                // A subpath of nothing but its start has a dot's ink under a round or square cap
                // (SVG 2, 9.3.3 and 13.5.4).
                if moved {
                    self.begin();
                }
                if self.open {
                    self.path.close_path();
                }
                let start = self.start;
                self.finish(start, None, None);
                self.open = false;
            }
        }
        true
    }
}

/// Radii beyond this many tolerances (a hundred kilometres at a tolerance of 1e-4 mm) lose the
/// digits that place their arcs.
const LARGEST_RADIUS: f64 = 1e12;

/// An arc of such a radius is a straight line where its ends are this many tolerances apart or
/// nearer: the chord c of a circle of radius r is off it by c²/8r, here an eighth of the tolerance.
/// Exporters write such arcs for lines that are as good as straight.
const LONGEST_FLAT: f64 = 1e6;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use kurbo::{ParamCurve, Shape as _};

    use super::*;

    fn bounds(d: &str) -> kurbo::Rect {
        let shape = path_data(d, 1e-3);
        assert_eq!(shape.error, None, "{d}");
        shape.path.bounding_box()
    }

    #[test]
    fn every_command_draws_the_same_square_absolute_and_relative() {
        let square = kurbo::Rect::new(10.0, 20.0, 40.0, 50.0);
        for d in [
            "M10 20 L40 20 L40 50 L10 50 Z",
            "m10 20 l30 0 l0 30 l-30 0 z",
            "M10 20 H40 V50 H10 Z",
            "m10,20 h30 v30 h-30z",
            "M10 20 40 20 40 50 10 50z",
            "M10,20C20,20 30,20 40,20L40,30C40,35 40,35 40,40S40 45 40 50L10 50z",
            "M10 20 Q25 20 40 20 L40 50 T 10 50 z",
        ] {
            assert_eq!(bounds(d), square, "{d}");
        }
    }

    #[test]
    fn a_trailing_moveto_does_not_widen_the_box() {
        assert_eq!(
            bounds("M0 0 H10 V10 Z M500 500"),
            kurbo::Rect::new(0.0, 0.0, 10.0, 10.0)
        );
    }

    #[test]
    fn after_a_closepath_drawing_goes_on_from_the_start() {
        let shape = path_data("M10 10 h5 v5 z l-4 -4", 1e-3);
        let last = shape.path.segments().last().unwrap();
        assert_eq!(
            (last.start(), last.end()),
            (Point::new(10.0, 10.0), Point::new(6.0, 6.0))
        );
    }

    #[test]
    fn an_arc_beyond_measure_says_so_and_a_flat_one_is_a_line() {
        for d in [
            "M35 50 A 1e38 1e38 0 1 1 45 50 z",
            "M35 50 A 1e38 1 0 0 1 45 50",
            "M35 50 A 1e14 1e14 0 1 1 45 50 z",
            "M0 0 A 1e38 1e38 0 0 1 1e37 50",
        ] {
            let shape = path_data(d, 1e-4);
            assert_eq!(shape.error, Some(ShapeError::Arc), "{d}");
            assert!(shape.path.elements().is_empty(), "{d}");
        }
        assert_eq!(
            path_data("M35 50 A 1e12 1e12 0 0 1 45 50", 1e-4),
            path_data("M35 50 L 45 50", 1e-4)
        );
    }

    #[test]
    fn broken_data_keeps_what_came_before_and_says_so() {
        let shape = path_data("M0 0 L10 0 L10 X", 1e-3);
        assert_eq!(shape.error, Some(ShapeError::PathData));
        assert_eq!(shape.path.bounding_box().width(), 10.0);
        assert_eq!(points("0,0 10,0 10", true).error, Some(ShapeError::Points));
        assert_eq!(points("0,0 10,0 ten", true).error, Some(ShapeError::Points));
        assert_eq!(points(" 0,0 10,0, 10-5 ", true).error, None);
    }
}
