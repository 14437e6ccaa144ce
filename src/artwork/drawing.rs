//! Elements that draw: shapes, lettering and pictures become marks.

use std::sync::{Arc, OnceLock};

use kurbo::{Affine, BezPath, Rect, Shape as _};
use roxmltree::Node;

use super::census::Outcome;
use super::clipping;
use super::mark::{Colour, Content, Mark, Paint, Picture, Role};
use super::page;
use super::resolve::{ARC_TOLERANCE, MAX_COORDINATE, Walk};
use super::shapes::{self, Shape, ShapeError};
use super::source::ReadError;
use super::state::{PaintValue, State};
use crate::geometry::stroke::LineStyle;

const RESHAPE: &str = "draw the object anew, or expand it to plain outlines";

/// An outline that is about to become one mark or two.
pub(super) struct Drawn {
    pub(super) path: BezPath,
    pub(super) content: Content,
    /// Whether a fill has any area to cover.
    pub(super) fills: bool,
}

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// A path or basic shape.
    pub(super) fn shape(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        let shape = outline(node, state);
        if let Some(error) = &shape.error {
            self.refuse(
                node,
                state,
                format!("it cannot be measured: {error}"),
                RESHAPE,
            );
            if *error != ShapeError::PathData && *error != ShapeError::Points {
                return Ok(());
            }
        }
        let name = node.tag_name().name();
        let line =
            matches!(name, "path" | "line" | "polyline" | "polygon").then(|| shape.path.clone());
        self.outlined(node, state, shape.path);
        match line {
            Some(path) => self.markers(node, state, &path, depth),
            None => Ok(()),
        }
    }

    /// Makes the marks of an outline in user units.
    fn outlined(&mut self, node: Node<'a, 'i>, state: &State, mut path: BezPath) {
        let still = without_length(&path);
        // A single point has no area and, under a butt cap, no line. A sender may still run a line
        // that states an end point.
        let drawn = still && state.line.cap != kurbo::Cap::Butt && state.stroke != PaintValue::None;
        let goes =
            |e: &kurbo::PathEl| !matches!(e, kurbo::PathEl::MoveTo(_) | kurbo::PathEl::ClosePath);
        if !drawn && !path.elements().iter().any(goes)
            || path
                .elements()
                .iter()
                .all(|e| matches!(e, kurbo::PathEl::MoveTo(_)))
        {
            self.note(node, state, Outcome::Inert);
            return;
        }
        let fills =
            node.tag_name().name() != "line" && !(still && state.stroke != PaintValue::None);
        path.apply_affine(state.ctm);
        self.marks(
            node,
            state,
            Drawn {
                path,
                content: Content::Shape,
                fills,
            },
        );
    }

    /// Makes the marks of an outline: one for the fill, one for the line, or one without paint.
    pub(super) fn marks(&mut self, node: Node<'a, 'i>, state: &State, drawn: Drawn) {
        if !within_reach(&drawn.path) {
            self.refuse(
                node,
                state,
                "its coordinates are beyond anything that could lie on a bed",
                "find the object (select all, and look far outside the page), and delete it",
            );
            return;
        }
        if state.ctm.determinant() == 0.0 {
            let flat = drawn.path.bounding_box();
            if flat.width() > 0.0 || flat.height() > 0.0 {
                self.refuse(
                    node,
                    state,
                    "its transform squeezes it to a line, and readers differ in what they draw",
                    RESHAPE,
                );
            } else {
                self.note(node, state, Outcome::Inert);
            }
            return;
        }
        let (fill, fill_alpha) = self.painted(state, &state.fill, &drawn.path);
        let (stroke, stroke_alpha) = self.painted(state, &state.stroke, &drawn.path);
        let stroked = stroke != Paint::None;
        // Many programs write a line without `fill="none"`, which leaves the initial black, or the
        // fill of a group, on a shape that encloses nothing. Any other fill was intended and stays.
        let unmeant = stroked
            && fill != Paint::None
            && straight(&drawn.path)
            && (fill == Paint::Colour(BLACK) || fill == stroke || !self.fills_itself(node));
        let fill = if drawn.fills && !unmeant {
            fill
        } else {
            Paint::None
        };
        let Drawn { path, content, .. } = drawn;
        let again = stroked.then(|| (path.clone(), copy(&content)));
        if fill != Paint::None || !stroked {
            let role = Role::Fill {
                even_odd: state.fill_even_odd && matches!(content, Content::Shape),
            };
            self.add(
                node,
                state,
                content,
                role,
                path,
                fill,
                fill_alpha * state.fill_opacity,
            );
        }
        if let Some((path, content)) = again {
            let role = Role::Stroke(Box::new(self.line(node, state)));
            self.add(
                node,
                state,
                content,
                role,
                path,
                stroke,
                stroke_alpha * state.stroke_opacity,
            );
        }
        self.note(node, state, Outcome::Mark);
    }

    #[allow(
        clippy::too_many_arguments,
        reason = "the parts of one mark, named where they are made"
    )]
    pub(super) fn add(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        content: Content,
        role: Role,
        path: BezPath,
        paint: Paint,
        alpha: f64,
    ) {
        let mut state = state;
        let unclipped;
        if let Some(clip) = &state.clip
            && !self.clips.cut(clip)
        {
            // It is reported and then measured unclipped, which is never less than what is burnt.
            self.report(node, state, clipping::TOO_MUCH, clipping::REMEDY);
            unclipped = State {
                clip: None,
                ..state.clone()
            };
            state = &unclipped;
        }
        let within = match (&content, &paint) {
            (Content::Picture(picture), _) => Arc::clone(&picture.colours),
            (_, Paint::Server { kind, id }) if kind == "pattern" || kind == "hatch" => {
                for (name, size) in self.negative_sizes(id) {
                    self.negative(node, state, name, size);
                }
                self.pattern_colours(id)
            }
            _ => Arc::default(),
        };
        let mark = Mark {
            content,
            role,
            path,
            paint,
            hidden: state.hidden(),
            opacity: (state.opacity * alpha).clamp(0.0, 1.0),
            clip: state.clip.clone(),
            within,
            origin: Self::origin(node, state),
            ink: OnceLock::new(),
        };
        self.push(mark);
    }

    /// Whether an element states a fill of its own.
    fn fills_itself(&self, node: Node<'a, 'i>) -> bool {
        let declared = self.sheets.computed(node);
        declared
            .get("fill")
            .is_some_and(|v| !matches!(v, "inherit" | "unset"))
    }

    /// The line as it is drawn on the bed.
    fn line(&mut self, node: Node<'a, 'i>, state: &State) -> LineStyle {
        if !state.line.dashes.is_empty() && node.attribute("pathLength").is_some() {
            self.report(
                node,
                state,
                "its dashes are measured by a length of its own (pathLength), which readers follow differently",
                RESHAPE,
            );
        }
        let declared = self.sheets.computed(node);
        let pen = match declared.get("vector-effect").map(str::trim) {
            // The width is in the page's pixels, whatever scale the shape is under (SVG 2, 8.13).
            Some("non-scaling-stroke") => Affine::scale(self.pixel),
            None | Some("none") => state.ctm,
            Some(other) => {
                let other = crate::wording::short(other);
                self.report(
                    node,
                    state,
                    format!("its vector-effect \"{other}\" is followed by few readers"),
                    RESHAPE,
                );
                state.ctm
            }
        };
        let values = &state.line;
        LineStyle {
            width: values.width,
            cap: values.cap,
            join: values.join,
            miter_limit: values.miter_limit,
            dashes: values.dashes.clone(),
            dash_offset: values.dash_offset,
            pen,
        }
    }

    /// A picture.
    pub(super) fn image(&mut self, node: Node<'a, 'i>, state: &State) {
        let (vw, vh) = state.viewport;
        let decoded = self.pictures.decode(node);
        let sized = (
            self.measure(node, state, "width", vw, f64::NAN),
            self.measure(node, state, "height", vh, f64::NAN),
            self.measure(node, state, "x", vw, 0.0),
            self.measure(node, state, "y", vh, 0.0),
        );
        let decoded = match decoded {
            Ok(d) => d,
            Err(problem) => {
                self.refuse(node, state, problem.what, problem.help);
                // What is in it is not known, and where it lies mostly is.
                if let (Some(w), Some(h), Some(x), Some(y)) = sized
                    && let Some(refused) = self.out.unproven.last_mut()
                {
                    let frame = state.ctm.transform_rect_bbox(Rect::new(x, y, x + w, y + h));
                    refused.bed = within_reach(&frame.to_path(1e-3)).then_some(frame);
                }
                return;
            }
        };
        let (pw, ph) = decoded.size;
        let (Some(w), Some(h), Some(x), Some(y)) = sized else {
            self.note(node, state, Outcome::Unproven);
            return;
        };
        for (name, size) in [("width", w), ("height", h)] {
            if size < 0.0 {
                self.negative(node, state, name, size);
                self.note(node, state, Outcome::Unproven);
                return;
            }
        }
        // A missing side follows the other in the picture's own proportion (SVG 2, 12.3).
        let (w, h) = match (w.is_nan(), h.is_nan()) {
            (true, true) => (pw, ph),
            (true, false) => (h * pw / ph, h),
            (false, true) => (w, w * ph / pw),
            (false, false) => (w, h),
        };
        if !(w > 0.0 && h > 0.0) {
            self.note(node, state, Outcome::Inert);
            return;
        }
        let Ok(aspect) = page::preserve_aspect_ratio(node) else {
            self.refuse(
                node,
                state,
                "its preserveAspectRatio cannot be read, so its size is not known",
                "place the picture anew",
            );
            return;
        };
        if !decoded.sized && aspect != page::DEFAULT_ASPECT {
            self.refuse(
                node,
                state,
                "the drawing placed as a picture states no size, so that readers fit it to its frame differently",
                "ungroup it into the drawing, or flatten it to a picture",
            );
            return;
        }
        let frame = Rect::new(x, y, x + w, y + h);
        let own = svgtypes::ViewBox {
            x: 0.0,
            y: 0.0,
            w: pw,
            h: ph,
        };
        let placed = state.ctm * page::fit(own, aspect, frame) * Affine::scale_non_uniform(pw, ph);
        let mut state = state.clone();
        if aspect.slice && aspect.align != svgtypes::Align::None {
            let outer = state.ctm;
            Self::clip_to(&mut state, outer, frame);
        }
        let inked = decoded.inked.unwrap_or(Rect::ZERO);
        let path = placed * inked.to_path(1e-3);
        if !within_reach(&path) || state.ctm.determinant() == 0.0 {
            self.refuse(
                node,
                &state,
                "its place is beyond anything that could lie on a bed",
                "place the picture anew, or delete it",
            );
            return;
        }
        let picture = Picture {
            pixels: decoded.pixels,
            placed,
            inked: decoded.inked,
            opaque: decoded.opaque,
            colours: decoded.colours,
        };
        let content = Content::Picture(Box::new(picture));
        self.add(
            node,
            &state,
            content,
            Role::Picture,
            path,
            Paint::Pixels,
            1.0,
        );
        self.note(node, &state, Outcome::Mark);
    }

    /// Clips what follows to a rectangle of the frame `ctm`.
    pub(super) fn clip_to(state: &mut State, ctm: Affine, frame: Rect) {
        let region =
            crate::geometry::region::Region::from_path(&(ctm * frame.to_path(1e-3)), false, 1e-3);
        state.clip = Some(Arc::new(match &state.clip {
            Some(outer) => outer.intersect(&region),
            None => region,
        }));
    }
}

/// The initial `fill`.
const BLACK: Colour = Colour { r: 0, g: 0, b: 0 };

/// Whether every subpath is a single point.
fn without_length(path: &BezPath) -> bool {
    let mut start = kurbo::Point::ORIGIN;
    path.elements().iter().all(|element| match *element {
        kurbo::PathEl::MoveTo(p) => {
            start = p;
            true
        }
        kurbo::PathEl::LineTo(p) => p == start,
        kurbo::PathEl::QuadTo(a, p) => a == start && p == start,
        kurbo::PathEl::CurveTo(a, b, p) => a == start && b == start && p == start,
        kurbo::PathEl::ClosePath => true,
    })
}

/// How far off a straight line, in millimetres, a path may be and enclose nothing.
const STRAIGHT: f64 = 1e-6;

/// Whether every subpath lies on one straight line, and so has no area to fill.
fn straight(path: &BezPath) -> bool {
    let mut on_line = true;
    let mut start = kurbo::Point::ORIGIN;
    let mut far = kurbo::Vec2::ZERO;
    let mut look = |p: kurbo::Point, start: kurbo::Point, far: &mut kurbo::Vec2| {
        let d = p - start;
        if far.hypot() <= STRAIGHT {
            *far = d;
        } else if far.cross(d).abs() > STRAIGHT * far.hypot() {
            on_line = false;
        }
    };
    for element in path.elements() {
        match *element {
            kurbo::PathEl::MoveTo(p) => {
                start = p;
                far = kurbo::Vec2::ZERO;
            }
            kurbo::PathEl::LineTo(p) => look(p, start, &mut far),
            kurbo::PathEl::QuadTo(a, p) => {
                look(a, start, &mut far);
                look(p, start, &mut far);
            }
            kurbo::PathEl::CurveTo(a, b, p) => {
                for p in [a, b, p] {
                    look(p, start, &mut far);
                }
            }
            kurbo::PathEl::ClosePath => {}
        }
    }
    on_line
}

/// The outline of a shape in its user units.
pub(super) fn outline(node: Node<'_, '_>, state: &State) -> Shape {
    let scale = scale_of(state.ctm);
    let tolerance = if scale > 0.0 {
        ARC_TOLERANCE / scale
    } else {
        ARC_TOLERANCE
    };
    let (vw, vh) = state.viewport;
    let diagonal = state.diagonal();
    let bad = std::cell::RefCell::new(None);
    let length = |name: &'static str, of: f64| -> Option<f64> {
        let text = node.attribute(name)?;
        match super::length::length(text, &state.lengths(of)) {
            Ok(v) => Some(v),
            Err(_) => {
                *bad.borrow_mut() = Some(ShapeError::Length {
                    name,
                    value: crate::wording::short(text),
                });
                None
            }
        }
    };
    let x = |name| length(name, vw).unwrap_or(0.0);
    let y = |name| length(name, vh).unwrap_or(0.0);
    let mut shape = match node.tag_name().name() {
        "path" => shapes::path_data(node.attribute("d").unwrap_or_default(), tolerance),
        "polyline" => shapes::points(node.attribute("points").unwrap_or_default(), false),
        "polygon" => shapes::points(node.attribute("points").unwrap_or_default(), true),
        "line" => {
            let mut path = BezPath::new();
            path.move_to((x("x1"), y("y1")));
            path.line_to((x("x2"), y("y2")));
            Shape { path, error: None }
        }
        "rect" => {
            let (w, h) = (x("width"), y("height"));
            let (rx, ry) = (length("rx", vw), length("ry", vh));
            shapes::rect(x("x"), y("y"), w, h, rx, ry, tolerance)
        }
        "circle" => {
            let r = length("r", diagonal).unwrap_or(0.0);
            shapes::ellipse(x("cx"), y("cy"), r, r, tolerance)
        }
        _ => {
            let (rx, ry) = (length("rx", vw), length("ry", vh));
            let (rx, ry) = (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
            shapes::ellipse(x("cx"), y("cy"), rx, ry, tolerance)
        }
    };
    if let Some(error) = bad.into_inner() {
        shape = Shape {
            path: BezPath::new(),
            error: Some(error),
        };
    }
    shape
}

/// What the second mark of an element holds: the same lettering, in its own box.
fn copy(content: &Content) -> Content {
    match content {
        Content::Shape => Content::Shape,
        Content::Lettering(l) => Content::Lettering(l.clone()),
        Content::Picture(p) => Content::Picture(p.clone()),
    }
}

/// The larger of the two scales of a transform: how many millimetres a user unit is, at most.
pub(super) fn scale_of(ctm: Affine) -> f64 {
    let c = ctm.as_coeffs();
    c[0].hypot(c[1]).max(c[2].hypot(c[3]))
}

/// Whether every coordinate is a number that could lie on a bed.
pub(super) fn within_reach(path: &BezPath) -> bool {
    let fine = |p: kurbo::Point| p.x.abs() < MAX_COORDINATE && p.y.abs() < MAX_COORDINATE;
    path.elements().iter().all(|e| match *e {
        kurbo::PathEl::MoveTo(p) | kurbo::PathEl::LineTo(p) => fine(p),
        kurbo::PathEl::QuadTo(a, b) => fine(a) && fine(b),
        kurbo::PathEl::CurveTo(a, b, c) => fine(a) && fine(b) && fine(c),
        kurbo::PathEl::ClosePath => true,
    })
}
