//! `use`, `symbol` and nested `svg`: content drawn in a frame of its own, or drawn again elsewhere.

use std::sync::Arc;

use kurbo::{Affine, Rect};
use roxmltree::Node;

use super::census::Outcome;
use super::elements::{self, Kind, kind};
use super::length::{LengthContext, length};
use super::page;
use super::resolve::Walk;
use super::source::ReadError;
use super::state::State;
use super::style::Cloned;
use super::transform;
use crate::wording::short;

const UNLIKE: &str = "it repeats something that is styled by what stands around the original, and readers differ in whether the clone gets that style";

const REPLACE: &str = "replace the clone by the object itself";

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// `use`: the target drawn here, in the frame and style of the `use`.
    pub(super) fn instance(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        let reference = elements::href(node).unwrap_or_default();
        let target = match reference.trim().strip_prefix('#') {
            Some(id) => self.find(node, state, id),
            None => None,
        };
        let Some(target) = target else {
            let what = if reference.trim().is_empty() || reference.trim().starts_with('#') {
                format!(
                    "it repeats \"{}\", which is not in this file",
                    short(reference)
                )
            } else {
                format!("it shows a part of another file, \"{}\"", short(reference))
            };
            self.refuse(
                node,
                state,
                what,
                "embed the object itself in the drawing, or delete it",
            );
            return Ok(());
        };
        if self.chain.contains(&target) || node.ancestors().any(|a| a == target) {
            self.refuse(
                node,
                state,
                "it repeats itself inside itself",
                "delete the clone and draw the object",
            );
            return Ok(());
        }
        let (Some(x), Some(y)) = (
            self.measure(node, state, "x", state.viewport.0, 0.0),
            self.measure(node, state, "y", state.viewport.1, 0.0),
        ) else {
            self.note(node, state, Outcome::Unproven);
            return Ok(());
        };
        self.note(node, state, Outcome::Part);
        let mut inner = state.clone();
        inner.ctm *= Affine::translate((x, y));
        Arc::make_mut(&mut inner.uses).push(node.range());
        self.chain.push(target);
        self.clones.push(Cloned { target, user: node });
        if !self.styled_alike(&self.clones, &inner) {
            self.report(node, state, UNLIKE, REPLACE);
        }
        let done = match kind(target) {
            Kind::Definition if target.tag_name().name() == "symbol" => {
                self.symbol(node, target, &inner, depth)
            }
            Kind::Viewport => {
                let mut own = inner.clone();
                self.choose(target, &mut own);
                if self.declare(target, &mut own)
                    && let Some(state) = self.viewport(target, &own, Some(node))
                {
                    self.children(target, &state, depth + 1)
                } else {
                    Ok(())
                }
            }
            _ => {
                for name in ["width", "height"] {
                    let size = self.measure(node, state, name, 0.0, 0.0);
                    if let Some(size) = size.filter(|size| *size < 0.0) {
                        self.negative(node, state, name, size);
                    }
                }
                self.element(target, &inner, depth + 1)
            }
        };
        self.clones.pop();
        self.chain.pop();
        done
    }

    /// Whether the innermost of `clones` looks the same where selectors see the clone, as in browser
    /// engines, and where they see the original in its place, as in other readers. `state` is what its
    /// `use` hands down.
    pub(super) fn styled_alike(&self, clones: &[Cloned<'a, 'i>], state: &State) -> bool {
        let top = clones.last().filter(|_| self.sheets.tells_clones_apart());
        top.is_none_or(|clone| self.alike(clone.target, clones, state, state))
    }

    /// The same of an element in it, with the states around it in either reading.
    fn alike(
        &self,
        node: Node<'a, 'i>,
        clones: &[Cloned<'a, 'i>],
        there: &State,
        here: &State,
    ) -> bool {
        let original = self.sheets.computed(node);
        let clone = self.sheets.cloned(node, clones);
        let (mut there, mut here) = (there.clone(), here.clone());
        for (state, declared) in [(&mut there, &original), (&mut here, &clone)] {
            state.own_font();
            state.declare(declared);
        }
        if there.gone.is_some() && here.gone.is_some() {
            return true;
        }
        original.agrees(&clone, |name| !State::inherits(name))
            && self.sheets.same_variables(node, clones)
            && (!kind(node).could_mark() || there == here)
            && node
                .children()
                .filter(Node::is_element)
                .all(|child| self.alike(child, clones, &there, &here))
    }

    /// Whether an element states a transform that changes anything.
    fn moves(&self, node: Node<'a, 'i>) -> bool {
        let declared = self.sheets.computed(node);
        transform::declared(&declared).is_ok_and(|motion| motion.matrix != Affine::IDENTITY)
    }

    /// Reports a size below nought: an error by SVG 1.1, and no value by SVG 2.
    pub(super) fn negative(&mut self, node: Node<'a, 'i>, state: &State, name: &str, size: f64) {
        self.report(
            node,
            state,
            format!("it has a negative {name} ({size}), which readers take differently or refuse"),
            "set the size anew in the editor, or delete it",
        );
    }

    fn symbol(
        &mut self,
        user: Node<'a, 'i>,
        symbol: Node<'a, 'i>,
        inner: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        let mut own = inner.clone();
        if !self.declare(symbol, &mut own) {
            return Ok(());
        }
        if refers(symbol) {
            self.report(
                user,
                inner,
                "it repeats a symbol with a refX or refY, which some readers place by and some do not",
                REPLACE,
            );
        }
        let placed = |name: &str| symbol.attribute(name).is_some_and(|v| !nought(v));
        if placed("x") || placed("y") || self.moves(symbol) {
            self.report(
                user,
                inner,
                "it repeats a symbol with a transform or a place of its own, which some readers follow and some do not",
                REPLACE,
            );
        }
        match self.viewport(symbol, &own, Some(user)) {
            Some(state) => self.children(symbol, &state, depth + 1),
            None => Ok(()),
        }
    }

    /// The frame inside a nested `svg` or a `symbol`; `None` where nothing inside is drawn or the
    /// frame cannot be known (then it was reported). `user` is the `use` that may state the size.
    pub(super) fn viewport(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        user: Option<Node<'a, 'i>>,
    ) -> Option<State> {
        let (vw, vh) = state.viewport;
        let by = |name: &str| match user {
            Some(user) if user.attribute(name).is_some() => user,
            _ => node,
        };
        let width = self.measure(by("width"), state, "width", vw, vw)?;
        let height = self.measure(by("height"), state, "height", vh, vh)?;
        let x = self.measure(node, state, "x", vw, 0.0)?;
        let y = self.measure(node, state, "y", vh, 0.0)?;
        let draws = node
            .descendants()
            .any(|n| n.is_element() && kind(n).could_mark());
        if kind(node) == Kind::Viewport && draws && self.moves(node) {
            self.report(
                node,
                state,
                "it is a nested drawing with a transform, which some readers follow and some do not",
                "ungroup the nested drawing",
            );
        }
        for (name, size) in [("width", width), ("height", height)] {
            if size < 0.0 {
                if draws {
                    self.negative(by(name), state, name, size);
                }
                self.give_up(node, state);
                return None;
            }
        }
        // By the standard nothing is drawn then (SVG 2, 8.6). An engine was seen to draw without a
        // scale what overflow lets show; a sender may run the rest too.
        let empty = width == 0.0 || height == 0.0;
        let frame = Rect::new(x, y, x + width, y + height);
        let mut inner = state.clone();
        let Ok(aspect) = page::preserve_aspect_ratio(node) else {
            self.report(
                node,
                state,
                "its preserveAspectRatio cannot be read",
                "ungroup the nested drawing",
            );
            self.give_up(node, state);
            return None;
        };
        match node.attribute("viewBox").map(page::view_box) {
            None => {
                inner.ctm *= Affine::translate((x, y));
                inner.viewport = (width, height);
            }
            Some(Some(view_box)) if empty => {
                inner.ctm *= Affine::translate((x, y));
                inner.viewport = (view_box.w, view_box.h);
            }
            Some(Some(view_box)) => {
                inner.ctm *= page::fit(view_box, aspect, frame);
                inner.viewport = (view_box.w, view_box.h);
            }
            Some(None) => {
                self.report(
                    node,
                    state,
                    "its viewBox cannot be read, so the place of what is in it is not known",
                    "ungroup the nested drawing",
                );
                self.give_up(node, state);
                return None;
            }
        }
        let declared = self.sheets.computed(node);
        match declared.get("overflow") {
            // Content that would scroll in a browser is not clipped; nor is it under the initial
            // value, although a reader's own stylesheet sets `hidden` for a nested drawing.
            Some("visible" | "auto" | "initial" | "unset") => {
                if empty && draws {
                    self.report(
                        node,
                        state,
                        "its width or height is 0, at which some readers draw all that is in it and others nothing",
                        "ungroup the nested drawing, or delete it",
                    );
                }
            }
            None | Some("hidden" | "clip" | "scroll") => {
                Self::clip_to(&mut inner, state.ctm, frame);
            }
            Some(other) => {
                let what = format!(
                    "its overflow \"{}\" is read differently, so readers may cut what is in it or not",
                    short(other)
                );
                self.report(node, state, what, "ungroup the nested drawing");
            }
        }
        Some(inner)
    }
}

/// Whether a length is nought in any unit.
fn nought(text: &str) -> bool {
    let lengths = LengthContext {
        whole: Some(1.0),
        ..LengthContext::default()
    };
    length(text, &lengths) == Ok(0.0)
}

/// Whether a symbol's own reference point (SVG 2, 5.5) moves it.
fn refers(symbol: Node<'_, '_>) -> bool {
    let corner = match symbol.attribute("viewBox").map(page::view_box) {
        None => true,
        Some(view_box) => view_box.is_some_and(|v| v.x == 0.0 && v.y == 0.0),
    };
    ["refX", "refY"]
        .iter()
        .filter_map(|name| symbol.attribute(*name))
        .any(|value| !(corner && nought(value)))
}
