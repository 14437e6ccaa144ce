//! What an element inherits: paint, line, lettering, visibility, clip, layers, and its frame.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use kurbo::{Affine, Cap, Join};
use roxmltree::NodeId;

use super::colour::{self, ColourRead};
use super::length::{LengthContext, is_space, length, number};
use super::mark::{Colour, Hidden, Layer, Paint};
use super::style::Declared;
use super::transform;
use crate::geometry::region::Region;

/// The state in which an element is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// From the element's user units to bed millimetres.
    pub ctm: Affine,
    /// Nearest viewport in user units, for percentages.
    pub viewport: (f64, f64),
    /// `color`, with its alpha.
    pub color: (Colour, f64),
    /// `fill`.
    pub fill: PaintValue,
    /// `stroke`.
    pub stroke: PaintValue,
    /// `fill-opacity`.
    pub fill_opacity: f64,
    /// `stroke-opacity`.
    pub stroke_opacity: f64,
    /// `fill-rule: evenodd`.
    pub fill_even_odd: bool,
    /// `clip-rule: evenodd`.
    pub clip_even_odd: bool,
    /// `stroke-width` and the rest of the line, in user units.
    pub line: LineValues,
    /// Product of the `opacity` of the element and all around it.
    pub opacity: f64,
    /// Set from the element that is not displayed or not chosen downwards.
    pub gone: Option<Hidden>,
    /// `visibility` other than visible.
    pub invisible: bool,
    /// The markers on the start, the middle, the end of lines.
    pub markers: [Marker; 3],
    /// Fill and stroke of the line that carries the marker that is drawn.
    pub context: Option<Arc<(PaintValue, PaintValue)>>,
    /// What clip paths leave, on the bed.
    pub clip: Option<Arc<Region>>,
    /// Layers around the element, outermost first.
    pub layers: Arc<Vec<Layer>>,
    /// The `use` elements that brought it here, outermost first.
    pub uses: Arc<Vec<Range<usize>>>,
    /// Properties of lettering as computed; lengths in user units.
    pub font: Arc<BTreeMap<String, String>>,
    /// `font-size` in user units.
    pub font_size: f64,
    /// Elements around a text that draw lines under, over or through it, outermost first: each with
    /// the state that paints them.
    pub decorators: Arc<Vec<(NodeId, Arc<State>)>>,
}

/// A `fill` or `stroke` before the current colour is looked up.
#[derive(Debug, Clone, PartialEq)]
pub enum PaintValue {
    /// `none`.
    None,
    /// `currentColor`.
    Current,
    /// A colour with its alpha.
    Colour(Colour, f64),
    /// A gradient or pattern by id, and what is painted if there is none.
    Server(String, Option<Box<PaintValue>>),
    /// Something else, as written.
    Unread(String),
}

/// What a line carries on its corners.
#[derive(Debug, Clone, PartialEq)]
pub enum Marker {
    /// `none`.
    None,
    /// A marker of this file.
    Id(Arc<str>),
    /// Something else.
    Unread,
}

/// How lines are drawn, in user units.
#[derive(Debug, Clone, PartialEq)]
pub struct LineValues {
    /// `stroke-width`.
    pub width: f64,
    /// `stroke-linecap`.
    pub cap: Cap,
    /// `stroke-linejoin`.
    pub join: Join,
    /// `stroke-miterlimit`.
    pub miter_limit: f64,
    /// `stroke-dasharray`.
    pub dashes: Vec<f64>,
    /// `stroke-dashoffset`.
    pub dash_offset: f64,
}

/// The paint servers that every reader knows.
const COMMON_SERVERS: [&str; 3] = ["linearGradient", "radialGradient", "pattern"];

/// Some exporters write "none" where one of these is not set. It is not a valid value there, so every
/// reader ignores it.
const NEVER_NONE: [&str; 5] = [
    "font-size",
    "font-family",
    "font-weight",
    "text-anchor",
    "stroke-width",
];

/// Properties of lettering that are handed to the layout as written.
const LETTERING: &[&str] = &[
    "font-family",
    "font-weight",
    "font-style",
    "font-stretch",
    "font-variant",
    "font-kerning",
    "font-variation-settings",
    "font-optical-sizing",
    "kerning",
    "text-anchor",
    "writing-mode",
    "direction",
    "unicode-bidi",
    "text-rendering",
    "white-space",
    "dominant-baseline",
    "glyph-orientation-vertical",
    "glyph-orientation-horizontal",
    "inline-size",
    "shape-inside",
    "shape-subtract",
    "baseline-shift",
    "alignment-baseline",
    "textLength",
    "text-transform",
    "font-size-adjust",
    "font-feature-settings",
    "font-variant-numeric",
    "font-variant-east-asian",
    "font-variant-alternates",
    "font-variant-position",
    "font-variant-emoji",
    "font-variant-caps",
    "font-variant-ligatures",
    "text-orientation",
    "text-decoration-style",
    "text-decoration-thickness",
    "text-underline-offset",
    "text-underline-position",
    "text-shadow",
    "text-emphasis",
    "text-emphasis-style",
    "initial-letter",
    "font-width",
    "white-space-collapse",
];

/// The CSS `medium` font size in pixels: what browsers take, and usvg's default is 12. SVG 2 leaves
/// it to the reader, so lettering without any size is measured at this size and reported as not
/// proven.
pub(crate) const MEDIUM: f64 = 16.0;

impl State {
    /// The initial values (SVG 2, property index) in the frame `ctm`.
    pub fn initial(ctm: Affine, viewport: (f64, f64)) -> Self {
        Self {
            ctm,
            viewport,
            color: (Colour { r: 0, g: 0, b: 0 }, 1.0),
            fill: PaintValue::Colour(Colour { r: 0, g: 0, b: 0 }, 1.0),
            stroke: PaintValue::None,
            fill_opacity: 1.0,
            stroke_opacity: 1.0,
            fill_even_odd: false,
            clip_even_odd: false,
            line: LineValues {
                width: 1.0,
                cap: Cap::Butt,
                join: Join::Miter,
                miter_limit: 4.0,
                dashes: Vec::new(),
                dash_offset: 0.0,
            },
            opacity: 1.0,
            gone: None,
            invisible: false,
            markers: [const { Marker::None }; 3],
            context: None,
            clip: None,
            layers: Arc::default(),
            uses: Arc::default(),
            font: Arc::default(),
            font_size: MEDIUM,
            decorators: Arc::default(),
        }
    }

    /// Whether a property ends in the state of what is inside the element, where it may be overruled.
    pub fn inherits(name: &str) -> bool {
        ["fill", "stroke", "marker-"]
            .iter()
            .any(|start| name.starts_with(start))
            || LETTERING.contains(&name)
            || matches!(
                name,
                "color"
                    | "opacity"
                    | "clip-rule"
                    | "visibility"
                    | "display"
                    | "font-size"
                    | "letter-spacing"
                    | "word-spacing"
            )
    }

    /// Removes the properties of lettering that are not inherited.
    pub fn own_font(&mut self) {
        const OWN: [&str; 3] = ["text-decoration", "baseline-shift", "alignment-baseline"];
        if OWN.iter().any(|name| self.font.contains_key(*name)) {
            let font = Arc::make_mut(&mut self.font);
            for name in OWN {
                font.remove(name);
            }
        }
    }

    /// Notes that an element around a text draws lines along it: they are not inherited, and are in
    /// that element's paint all the same (CSS Text Decoration 3, section 2).
    pub fn decorate(&mut self, node: NodeId) {
        if self
            .font
            .get("text-decoration")
            .is_some_and(|lines| lines != "none")
        {
            let by = Arc::new(self.clone());
            Arc::make_mut(&mut self.decorators).push((node, by));
        }
    }

    /// This state with the paints of another: what a line along a text is drawn in.
    #[must_use]
    pub fn painted_as(&self, other: &State) -> State {
        State {
            color: other.color,
            fill: other.fill.clone(),
            stroke: other.stroke.clone(),
            fill_opacity: other.fill_opacity,
            stroke_opacity: other.stroke_opacity,
            line: other.line.clone(),
            ..self.clone()
        }
    }

    /// Why marks drawn in this state do not show.
    pub fn hidden(&self) -> Option<Hidden> {
        self.gone
            .clone()
            .or(self.invisible.then_some(Hidden::Invisible))
    }

    /// Lengths in this state: `percent_of` is what 100 % stands for.
    pub fn lengths(&self, percent_of: f64) -> LengthContext {
        LengthContext {
            font_size: Some(self.font_size),
            whole: Some(percent_of),
            ..LengthContext::default()
        }
    }

    /// The diagonal that percentages of widths without a direction refer to (SVG 2, 8.9).
    pub fn diagonal(&self) -> f64 {
        (self.viewport.0.hypot(self.viewport.1)) / std::f64::consts::SQRT_2
    }

    /// The paint as it is drawn in this state, and its alpha. `server_kind` finds the element name
    /// behind an id.
    pub fn painted(
        &self,
        value: &PaintValue,
        server_kind: impl Fn(&str) -> Option<String>,
    ) -> (Paint, f64) {
        match value {
            PaintValue::None => (Paint::None, 1.0),
            PaintValue::Current => (Paint::Colour(self.color.0), self.color.1),
            PaintValue::Colour(c, a) => (Paint::Colour(*c), *a),
            PaintValue::Server(id, instead) => match (server_kind(id), instead) {
                // Of the others browsers know none, and take what is to be painted instead.
                (Some(kind), Some(_)) if !COMMON_SERVERS.contains(&kind.as_str()) => {
                    (Paint::Unread(format!("url(#{id})")), 1.0)
                }
                (Some(kind), _) => (
                    Paint::Server {
                        kind,
                        id: id.clone(),
                    },
                    1.0,
                ),
                (None, Some(instead)) => self.painted(instead, server_kind),
                (None, None) => (Paint::Unread(format!("url(#{id})")), 1.0),
            },
            PaintValue::Unread(text) => (Paint::Unread(text.clone()), 1.0),
        }
    }

    /// A paint as it is written, that of the line that carries a marker included.
    fn paint(&self, value: &str) -> PaintValue {
        let context = self.context.as_deref();
        match (value, context) {
            ("context-fill", Some((fill, _))) => fill.clone(),
            ("context-stroke", Some((_, stroke))) => stroke.clone(),
            _ => paint_value(value),
        }
    }

    /// A paint that does not depend on where it is used.
    pub fn fixed(&self, value: &PaintValue) -> PaintValue {
        match value {
            PaintValue::Current => PaintValue::Colour(self.color.0, self.color.1),
            PaintValue::Server(id, Some(instead)) => {
                PaintValue::Server(id.clone(), Some(Box::new(self.fixed(instead))))
            }
            other => other.clone(),
        }
    }

    /// Takes over what an element declares. Returns the declarations that were not understood, as
    /// property and value.
    ///
    /// The frame, the clip and the layers are the walk's business.
    pub fn declare(&mut self, declared: &Declared<'_>) -> Vec<(String, String)> {
        let mut unread = Vec::new();
        // `font-size` and `color` come first: the others are measured by them.
        for pass in [true, false] {
            for (name, value, _) in declared.iter() {
                if (name == "font-size" || name == "color") == pass && !self.set(name, value) {
                    unread.push((name.to_owned(), value.to_owned()));
                }
            }
        }
        unread
    }

    /// Sets one property; false where its value is not understood.
    fn set(&mut self, name: &str, value: &str) -> bool {
        if matches!(value, "inherit" | "unset" | "revert") {
            // These properties are inherited anyway. `opacity` and `display` are not: `inherit` has
            // no effect on `display`, and is not understood on `opacity`.
            return name != "opacity" || value != "inherit";
        }
        if value == "revert-layer" {
            return false;
        }
        if value == "none" && NEVER_NONE.contains(&name) {
            return true;
        }
        let initial = value == "initial";
        match name {
            "color" => match colour::colour(value) {
                Some(c) => self.color = c,
                None if initial => self.color = (Colour { r: 0, g: 0, b: 0 }, 1.0),
                None if value.eq_ignore_ascii_case("currentcolor") => {}
                None => return false,
            },
            "fill" => self.fill = self.paint(if initial { "black" } else { value }),
            "stroke" => self.stroke = self.paint(if initial { "none" } else { value }),
            "fill-opacity" => return put(&mut self.fill_opacity, opacity(value, initial)),
            "stroke-opacity" => return put(&mut self.stroke_opacity, opacity(value, initial)),
            "opacity" => match opacity(value, initial) {
                Some(o) => self.opacity *= o,
                None => return false,
            },
            "fill-rule" => return put(&mut self.fill_even_odd, even_odd(value, initial)),
            "clip-rule" => return put(&mut self.clip_even_odd, even_odd(value, initial)),
            "visibility" => match value {
                "visible" | "initial" => self.invisible = false,
                "hidden" | "collapse" => self.invisible = true,
                _ => return false,
            },
            "display" if value == "none" && self.gone.is_none() => {
                self.gone = Some(Hidden::NotDisplayed);
            }
            // A shape is not displayed then, a group's children are (CSS Display 3, appendix B); few
            // readers know it.
            "display" if value == "contents" => return false,
            "font-size" => match self.font_size_of(value) {
                Some(size) => self.font_size = size,
                None => return false,
            },
            "letter-spacing" | "word-spacing" => {
                let computed = match value {
                    "normal" | "initial" => Some(0.0),
                    _ => length(value, &self.lengths(self.font_size)).ok(),
                };
                let Some(computed) = computed else {
                    return false;
                };
                Arc::make_mut(&mut self.font).insert(name.to_owned(), format!("{computed}"));
            }
            "text-decoration" | "text-decoration-line" => {
                Arc::make_mut(&mut self.font)
                    .insert("text-decoration".to_owned(), value.to_owned());
            }
            // These stand for what the element around has.
            "dominant-baseline" if matches!(value, "no-change" | "reset-size") => {}
            "marker-start" => self.markers[0] = marker(value),
            "marker-mid" => self.markers[1] = marker(value),
            "marker-end" => self.markers[2] = marker(value),
            _ if name.starts_with("stroke-") => return self.set_line(name, value, initial),
            _ if LETTERING.contains(&name) => {
                Arc::make_mut(&mut self.font).insert(name.to_owned(), value.to_owned());
            }
            _ => {}
        }
        true
    }

    fn set_line(&mut self, name: &str, value: &str, initial: bool) -> bool {
        let context = self.lengths(self.diagonal());
        let line = &mut self.line;
        match name {
            "stroke-width" if initial => line.width = 1.0,
            "stroke-width" => {
                return put(
                    &mut line.width,
                    length(value, &context).ok().filter(|w| *w >= 0.0),
                );
            }
            "stroke-linecap" => match value {
                "butt" | "initial" => line.cap = Cap::Butt,
                "round" => line.cap = Cap::Round,
                "square" => line.cap = Cap::Square,
                _ => return false,
            },
            "stroke-linejoin" => match value {
                "miter" | "initial" => line.join = Join::Miter,
                "round" => line.join = Join::Round,
                "bevel" => line.join = Join::Bevel,
                // "miter-clip" and "arcs": readers that do not know them draw a miter.
                _ => return false,
            },
            "stroke-miterlimit" if initial => line.miter_limit = 4.0,
            "stroke-miterlimit" => {
                let read = number(value).filter(|m| *m >= 1.0);
                // A browser leaves out what it cannot read, and keeps what the element around has.
                line.miter_limit = read.unwrap_or(line.miter_limit.max(4.0));
                return read.is_some();
            }
            "stroke-dasharray" => match dashes(value, &context) {
                Some(dashes) => line.dashes = dashes,
                None => return false,
            },
            "stroke-dashoffset" if initial => line.dash_offset = 0.0,
            "stroke-dashoffset" => return put(&mut line.dash_offset, length(value, &context).ok()),
            _ => {}
        }
        true
    }

    /// Computed `font-size` (CSS Fonts 4, 2.5). The named sizes are left out on purpose but for
    /// `medium`: their pixels differ from reader to reader.
    fn font_size_of(&self, value: &str) -> Option<f64> {
        match value {
            "medium" | "initial" => Some(MEDIUM),
            "smaller" | "larger" | "xx-small" | "x-small" | "small" | "large" | "x-large"
            | "xx-large" => None,
            _ => length(value, &self.lengths(self.font_size))
                .ok()
                .filter(|s| *s >= 0.0),
        }
    }
}

fn put<T>(slot: &mut T, value: Option<T>) -> bool {
    match value {
        Some(v) => {
            *slot = v;
            true
        }
        None => false,
    }
}

fn marker(value: &str) -> Marker {
    match value {
        "none" | "initial" => Marker::None,
        _ => match colour::local_url(value) {
            Some((id, "")) => Marker::Id(id.into()),
            _ => Marker::Unread,
        },
    }
}

fn paint_value(value: &str) -> PaintValue {
    read_value(colour::paint(value), value)
}

fn read_value(read: ColourRead, value: &str) -> PaintValue {
    match read {
        ColourRead::None => PaintValue::None,
        ColourRead::Current => PaintValue::Current,
        ColourRead::Colour { colour, alpha } => PaintValue::Colour(colour, alpha),
        ColourRead::Server { id, fallback } => {
            let instead = fallback.map(|read| Box::new(read_value(*read, value)));
            PaintValue::Server(id, instead)
        }
        ColourRead::ContextFill | ColourRead::ContextStroke => PaintValue::Unread(value.to_owned()),
        ColourRead::Unread(text) => PaintValue::Unread(text),
    }
}

fn opacity(value: &str, initial: bool) -> Option<f64> {
    if initial {
        return Some(1.0);
    }
    let read = match value.strip_suffix('%') {
        Some(percent) => number(percent).filter(|_| !percent.ends_with(is_space))? / 100.0,
        None => number(value)?,
    };
    Some(read.clamp(0.0, 1.0))
}

fn even_odd(value: &str, initial: bool) -> Option<bool> {
    match value {
        "evenodd" => Some(true),
        "nonzero" => Some(false),
        _ => initial.then_some(false),
    }
}

/// A dash pattern; `none`, an odd count (doubled, as SVG 2 says) and all zeros included.
fn dashes(value: &str, context: &LengthContext) -> Option<Vec<f64>> {
    if value == "none" || value == "initial" {
        return Some(Vec::new());
    }
    if !transform::commas_between(value) {
        return None;
    }
    let mut list = Vec::new();
    for part in value
        .split([',', ' ', '\t', '\n', '\r'])
        .filter(|p| !p.is_empty())
    {
        let dash = length(part, context).ok().filter(|d| *d >= 0.0)?;
        list.push(dash);
    }
    if list.iter().sum::<f64>() <= 0.0 {
        return Some(Vec::new());
    }
    if list.len() % 2 == 1 {
        list.extend_from_within(..);
    }
    Some(list)
}
