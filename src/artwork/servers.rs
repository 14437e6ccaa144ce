//! Gradients and patterns: which of them amount to one colour, and which colours they contain.

use std::sync::Arc;

use kurbo::{BezPath, Shape as _};
use roxmltree::Node;

use super::colour;
use super::elements;
use super::length::{LengthContext, is_space, length, number};
use super::mark::{Colour, Paint};
use super::palette;
use super::resolve::Walk;
use super::state::{PaintValue, State};

/// Gradients and patterns that take their content from one another; real drawings have chains of two
/// or three.
const MAX_CHAIN: usize = 16;

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// A paint as it is drawn on the outline `path`, and its alpha.
    pub(super) fn painted(
        &self,
        state: &State,
        value: &PaintValue,
        path: &BezPath,
    ) -> (Paint, f64) {
        let (paint, alpha) = state.painted(value, |id| self.server(id));
        if let Paint::Server { id, .. } = &paint
            && let Some((colour, alpha)) = self.one_colour(id, state, path)
        {
            return (Paint::Colour(colour), alpha);
        }
        (paint, alpha)
    }

    /// The element name of a paint server.
    fn server(&self, id: &str) -> Option<String> {
        let (node, _) = self.ids.get(id)?;
        let name = node.tag_name().name();
        matches!(
            name,
            "linearGradient"
                | "radialGradient"
                | "pattern"
                | "meshgradient"
                | "meshGradient"
                | "hatch"
                | "solidcolor"
                | "solidColor"
        )
        .then(|| name.to_owned())
    }

    /// The elements that a server takes its content from, itself first. None where an id stands twice.
    fn templates(&self, id: &str) -> Vec<Node<'a, 'i>> {
        let mut all: Vec<Node<'a, 'i>> = Vec::new();
        let mut next = Some(id);
        while let Some((node, twice)) = next.and_then(|id| self.ids.get(id)) {
            if *twice || all.contains(node) || all.len() > MAX_CHAIN {
                return Vec::new();
            }
            all.push(*node);
            next = elements::href(*node).and_then(|h| h.trim().strip_prefix('#'));
        }
        all
    }

    /// The colour of a gradient whose stops are all alike, and its alpha (SVG 2, 14.2).
    fn one_colour(&self, id: &str, state: &State, path: &BezPath) -> Option<(Colour, f64)> {
        let templates = self.templates(id);
        let gradient = |n: &Node<'_, '_>| n.tag_name().name().ends_with("Gradient");
        if templates.is_empty() || !templates.iter().all(gradient) {
            return None;
        }
        let stated = |name: &str| templates.iter().find_map(|n| n.attribute(name));
        if stated("gradientUnits") != Some("userSpaceOnUse") {
            // In the box of an outline without width or height no gradient is drawn (SVG 2, 8.10).
            let own = (state.ctm.inverse() * path.clone()).bounding_box();
            if !(own.width() > FLAT && own.height() > FLAT) {
                return None;
            }
        }
        let stops = templates.iter().find_map(|n| {
            let stops: Vec<_> = n
                .children()
                .filter(|c| c.tag_name().name() == "stop")
                .collect();
            (!stops.is_empty()).then_some(stops)
        })?;
        let colours: Option<Vec<_>> = stops.iter().map(|stop| self.stop(*stop)).collect();
        let colours = colours?;
        let first = *colours.first()?;
        colours.iter().all(|c| *c == first).then_some(first)
    }

    fn stop(&self, stop: Node<'a, 'i>) -> Option<(Colour, f64)> {
        let declared = self.sheets.computed(stop);
        let (colour, own) = match declared.get("stop-color") {
            None => (Colour { r: 0, g: 0, b: 0 }, 1.0),
            Some(value) => colour::colour(value)?,
        };
        let more = match declared.get("stop-opacity") {
            None => 1.0,
            Some(value) => match value.strip_suffix('%') {
                Some(percent) if !percent.ends_with(is_space) => number(percent)? / 100.0,
                _ => number(value)?,
            },
        };
        Some((colour, own * more.clamp(0.0, 1.0)))
    }

    /// The colours that are drawn inside a pattern.
    pub(super) fn pattern_colours(&mut self, id: &str) -> Arc<[Colour]> {
        if let Some(known) = self.patterns.get(id) {
            return Arc::clone(known);
        }
        let mut found = Vec::new();
        for node in self.templates(id) {
            palette::collect(node, &self.style_around_page(node), self.sheets, &mut found);
        }
        found.sort();
        found.dedup();
        let found: Arc<[Colour]> = found.into();
        self.patterns.insert(id.to_owned(), Arc::clone(&found));
        found
    }

    /// The sizes of a pattern that are below nought.
    pub(super) fn negative_sizes(&self, id: &str) -> Vec<(&'static str, f64)> {
        let lengths = LengthContext {
            whole: Some(1.0),
            ..LengthContext::default()
        };
        let templates = self.templates(id);
        let size = |name: &'static str| {
            let stated = templates.iter().find_map(|n| n.attribute(name))?;
            let size = length(stated, &lengths).ok()?;
            (size < 0.0).then_some((name, size))
        };
        ["width", "height"].into_iter().filter_map(size).collect()
    }

    fn style_around_page(&self, node: Node<'a, 'i>) -> State {
        self.style_around(node, &State::initial(kurbo::Affine::IDENTITY, (1.0, 1.0)))
    }
}

/// A box that is narrower than this, in user units, has no width.
const FLAT: f64 = 1e-9;
