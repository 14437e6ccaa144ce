//! `clip-path` as an area of the bed.

use std::collections::HashMap;
use std::sync::Arc;

use kurbo::{Affine, Rect, Shape as _};
use roxmltree::{Node, NodeId};

use super::census::Outcome;
use super::drawing::outline;
use super::elements::{self, Kind, kind};
use super::resolve::Walk;
use super::state::State;
use super::style::{Cloned, Declared};
use super::transform;
use crate::geometry::region::Region;
use crate::wording::short;

/// How far a clip's edge may be off, in millimetres: it cuts ink, so it is as fine as ink is.
const CLIP_TOLERANCE: f64 = 1e-3;

/// The longest chain of clip paths that clip each other. Real drawings have two or three.
const MAX_CHAIN: usize = 32;

/// The most points of outlines that working out a file's clip paths may take: clips of clips
/// multiply, and so do areas under many transforms.
const MAX_WORK: usize = 5_000_000;

/// Points of clips that marks may be cut by in one file, each mark counted: half a minute's work at
/// worst.
const MAX_CUTS: usize = 20_000_000;

/// Areas of clip paths that were worked out, and what that took.
///
/// A clip path is called by many elements, and is the same area wherever the frame is the same.
#[derive(Debug, Default)]
pub(super) struct Clips {
    known: HashMap<(NodeId, [u64; 8]), Arc<Region>>,
    work: usize,
    cuts: usize,
}

impl Clips {
    /// Counts one more mark that `clip` cuts; false past the limit.
    pub(super) fn cut(&mut self, clip: &Region) -> bool {
        self.cuts = self.cuts.saturating_add(points(clip));
        self.cuts <= MAX_CUTS
    }

    /// Counts `more` points of work; false past the limit.
    fn spend(&mut self, more: usize) -> bool {
        self.work = self.work.saturating_add(more);
        self.work <= MAX_WORK
    }
}

fn points(region: &Region) -> usize {
    region.rings.iter().map(Vec::len).sum()
}

pub(super) const TOO_MUCH: &str =
    "it is clipped by clips too many or too detailed to be worked out";

pub(super) const REMEDY: &str =
    "release the clip, or cut the art to the clip's outline and delete the clip";

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// The state in the frame of `state` with the style of what stands around `target`, which is
    /// neither hidden nor cut there.
    pub(super) fn style_around(&self, target: Node<'a, 'i>, state: &State) -> State {
        let mut inner = State::initial(state.ctm, state.viewport);
        let around: Vec<_> = target
            .ancestors()
            .skip(1)
            .filter(Node::is_element)
            .collect();
        for ancestor in around.into_iter().rev() {
            let declared = self.sheets.computed(ancestor);
            inner.declare(&declared);
        }
        inner.gone = None;
        inner.opacity = 1.0;
        inner.uses = Arc::clone(&state.uses);
        inner
    }

    /// Cuts `state`'s clip by the `clip-path` written on `node`.
    pub(super) fn clip(&mut self, node: Node<'a, 'i>, state: &mut State, value: &str) {
        match self.clip_area(node, state, value, &mut Vec::new()) {
            Ok(region) => {
                state.clip = Some(match &state.clip {
                    Some(outer) => Arc::new(outer.intersect(&region)),
                    None => region,
                });
            }
            Err(what) => self.report(node, state, what, REMEDY),
        }
    }

    /// The area that `value`, a `clip-path` on `node`, leaves.
    fn clip_area(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        value: &str,
        chain: &mut Vec<Node<'a, 'i>>,
    ) -> Result<Arc<Region>, String> {
        let id = value
            .trim()
            .strip_prefix("url(")
            .and_then(|v| v.strip_suffix(')'))
            .map(|v| v.trim().trim_matches(['"', '\'']))
            .and_then(|v| v.strip_prefix('#'));
        let Some(id) = id else {
            return Err(format!(
                "it is clipped by \"{}\", which few readers follow",
                short(value)
            ));
        };
        let target = self
            .find(node, state, id)
            .filter(|t| t.tag_name().name() == "clipPath");
        let Some(target) = target else {
            return Err(format!(
                "it is clipped by \"{}\", which is not in this file",
                short(id)
            ));
        };
        if chain.is_empty() && frame_of_its_own(node) {
            return Err(
                "it is clipped, and readers differ in whether its x, y or viewBox moves the clip"
                    .to_owned(),
            );
        }
        if chain.contains(&target) || chain.len() >= MAX_CHAIN {
            return Err("its clip is clipped by itself".to_owned());
        }
        let own_box = target.attribute("clipPathUnits") == Some("objectBoundingBox");
        let c = state.ctm.as_coeffs();
        let (vw, vh) = state.viewport;
        let key = (
            target.id(),
            [c[0], c[1], c[2], c[3], c[4], c[5], vw, vh].map(f64::to_bits),
        );
        if let Some(known) = self.clips.known.get(&key).filter(|_| !own_box) {
            return Ok(Arc::clone(known));
        }
        chain.push(target);
        let region = self.clip_path(node, state, target, chain);
        chain.pop();
        let region = Arc::new(region?);
        if !own_box {
            self.clips.known.insert(key, Arc::clone(&region));
        }
        Ok(region)
    }

    fn clip_path(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        target: Node<'a, 'i>,
        chain: &mut Vec<Node<'a, 'i>>,
    ) -> Result<Region, String> {
        // The style is inherited from what is around the clip path; the frame is that of the clipped
        // element.
        let mut inner = self.style_around(target, state);
        let declared = self.sheets.computed(target);
        inner.declare(&declared);
        if inner.gone.is_some() {
            return Err(
                "its clip is not displayed, and readers differ in what that leaves".to_owned(),
            );
        }
        // The transform moves the clip in the user's units; what is in it may be drawn in the box of
        // what is clipped (SVG 2, 14.3.5 with CSS Masking 1, section 5.1).
        inner.ctm *= clip_motion(&declared)?;
        if target.attribute("clipPathUnits") == Some("objectBoundingBox") {
            let Some(frame) = object_box(node, state) else {
                return Err(
                    "its clip is sized by a group's own box, which this program does not measure"
                        .to_owned(),
                );
            };
            inner.ctm *= Affine::new([frame.width(), 0.0, 0.0, frame.height(), frame.x0, frame.y0]);
            // A percentage refers to the box by the standard and to the page in some readers, so no
            // length is read here.
            inner.viewport = (f64::NAN, f64::NAN);
        }
        let mut area = Region::default();
        for child in target.children().filter(Node::is_element) {
            if let Some(part) = self.clip_part(child, &inner, chain)? {
                if !self.clips.spend(points(&part) + points(&area)) {
                    return Err(TOO_MUCH.to_owned());
                }
                area = area.unite(&part);
            }
        }
        if let Some(value) = declared.get("clip-path").filter(|v| *v != "none") {
            // The clip's own clip is not moved with it: both clip what refers to the first.
            let own = self.clip_area(node, state, value, chain)?;
            area = area.intersect(&own);
        }
        Ok(area)
    }

    /// The area of one child of a clip path; `None` where it adds nothing.
    fn clip_part(
        &mut self,
        child: Node<'a, 'i>,
        outer: &State,
        chain: &mut Vec<Node<'a, 'i>>,
    ) -> Result<Option<Region>, String> {
        let what = kind(child);
        if matches!(what, Kind::Describing | Kind::Private | Kind::Definition) {
            return Ok(None);
        }
        if elements::chosen(child) != Ok(true) {
            return Err(
                "its clip holds a part under a condition, which some readers leave out".to_owned(),
            );
        }
        let mut state = outer.clone();
        let declared = self.sheets.computed(child);
        state.declare(&declared);
        state.ctm *= clip_motion(&declared)?;
        if state.hidden().is_some() {
            self.note(child, &state, Outcome::Part);
            return Ok(None);
        }
        let area = match what {
            Kind::Shape => {
                let shape = outline(child, &state);
                if let Some(error) = shape.error {
                    return Err(format!("its clip cannot be measured: {error}"));
                }
                Region::from_path(
                    &(state.ctm * shape.path),
                    state.clip_even_odd,
                    CLIP_TOLERANCE,
                )
            }
            Kind::Text => self.clip_text(child, &state)?,
            Kind::Use => {
                let target = elements::href(child).and_then(|h| h.trim().strip_prefix('#'));
                let target = target.and_then(|id| self.find(child, &state, id));
                let Some(target) = target.filter(|t| matches!(kind(*t), Kind::Shape | Kind::Text))
                else {
                    return Err(
                        "its clip repeats something that is not in this file or no outline"
                            .to_owned(),
                    );
                };
                if chain.contains(&target) {
                    return Err("its clip is clipped by itself".to_owned());
                }
                let x = self
                    .measure(child, &state, "x", state.viewport.0, 0.0)
                    .unwrap_or(f64::NAN);
                let y = self
                    .measure(child, &state, "y", state.viewport.1, 0.0)
                    .unwrap_or(f64::NAN);
                if !x.is_finite() || !y.is_finite() {
                    return Err("its clip cannot be measured".to_owned());
                }
                state.ctm *= Affine::translate((x, y));
                let clone = Cloned {
                    target,
                    user: child,
                };
                if !self.styled_alike(&[clone], &state) {
                    return Err("its clip repeats something that is styled by what stands around the original, and readers differ in whether the clone gets that style".to_owned());
                }
                chain.push(target);
                let part = self.clip_part(target, &state, chain);
                chain.pop();
                part?.unwrap_or_default()
            }
            _ => return Err(format!("its clip holds a \"{}\"", child.tag_name().name())),
        };
        self.note(child, &state, Outcome::Part);
        match declared.get("clip-path").filter(|v| *v != "none") {
            Some(value) => {
                let own = self.clip_area(child, &state, value, chain)?;
                Ok(Some(area.intersect(&own)))
            }
            None => Ok(Some(area)),
        }
    }

    fn clip_text(&mut self, node: Node<'a, 'i>, state: &State) -> Result<Region, String> {
        let states = self.text_states(node, state);
        let chunks = self.lay_out(node, &states).map_err(|p| p.what)?.chunks;
        if chunks.iter().any(|c| !c.lettering.missing.is_empty()) {
            return Err("its clip is lettering in a face that is not at hand".to_owned());
        }
        let mut area = Region::default();
        for chunk in chunks {
            area = area.unite(&Region::from_path(&chunk.path, false, CLIP_TOLERANCE));
        }
        for (part, _) in states.iter().skip(1) {
            self.note(*part, state, Outcome::Part);
        }
        Ok(area)
    }
}

/// Whether an element is placed by more than its transform: a clone by `x` and `y`, a nested drawing
/// by its `viewBox` too.
fn frame_of_its_own(node: Node<'_, '_>) -> bool {
    let nought = |text: &str| super::length::number(text) == Some(0.0);
    let placed = |name: &str| node.attribute(name).is_some_and(|v| !nought(v));
    match kind(node) {
        Kind::Use => placed("x") || placed("y"),
        Kind::Viewport => placed("x") || placed("y") || node.has_attribute("viewBox"),
        _ => false,
    }
}

/// How a clip, or a part of one, is moved.
fn clip_motion(declared: &Declared<'_>) -> Result<Affine, String> {
    let motion = transform::declared(declared)
        .map_err(|text| format!("the transform of its clip, \"{text}\", cannot be read"))?;
    if motion.elsewhere {
        return Err("its clip is turned about a transform-origin, which some readers follow and some do not".to_owned());
    }
    Ok(motion.matrix)
}

/// The box of an element in its own user units, stroke left out (SVG 2, 8.10).
fn object_box(node: Node<'_, '_>, state: &State) -> Option<Rect> {
    if kind(node) != Kind::Shape {
        return None;
    }
    let shape = outline(node, state);
    (shape.error.is_none() && !shape.path.elements().is_empty()).then(|| shape.path.bounding_box())
}
