//! `text` elements: collects their styles, has them laid out, and turns the chunks into marks.

use std::collections::HashMap;

use kurbo::{BezPath, Size};
use roxmltree::{Node, NodeId};

use super::census::Outcome;
use super::drawing::{Drawn, outline};
use super::elements::{self, Kind, kind};
use super::lettering::{self, Set, TextInput, TextProblem};
use super::mark::{Content, Disputed, Lettering, Paint, Role};
use super::resolve::Walk;
use super::state::State;
use super::transform;
use crate::ids::At as _;

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// Live lettering.
    pub(super) fn text(&mut self, node: Node<'a, 'i>, state: &State) {
        let states = self.text_states(node, state);
        let lined = states
            .iter()
            .any(|(_, s)| s.font.contains_key("text-decoration"));
        if elements::wordless(node) && !lined {
            for (part, _) in &states {
                self.note(*part, state, Outcome::Inert);
            }
            return;
        }
        match self.lay_out(node, &states) {
            Err(problem) => {
                self.report(node, state, problem.what, problem.help);
                for (part, _) in &states {
                    self.note(
                        *part,
                        state,
                        if *part == node {
                            Outcome::Unproven
                        } else {
                            Outcome::Part
                        },
                    );
                }
            }
            Ok(set) => {
                for what in set.disputed {
                    self.out.disputed.push(Disputed {
                        what,
                        origin: Self::origin(node, state),
                    });
                }
                let chunks = set.chunks;
                let none = chunks.is_empty();
                let by_node: HashMap<NodeId, &(Node<'_, '_>, State)> =
                    states.iter().map(|own| (own.0.id(), own)).collect();
                for chunk in chunks {
                    let outer = state.decorators.iter().find(|(id, _)| *id == chunk.node);
                    let outer = outer.filter(|_| !by_node.contains_key(&chunk.node));
                    if let Some((_, by)) = outer {
                        let own = state.painted_as(by);
                        self.chunk(node, &own, chunk.lettering, chunk.path);
                    } else {
                        let (at, own) = by_node.at(&chunk.node);
                        self.chunk(*at, own, chunk.lettering, chunk.path);
                    }
                }
                for (part, _) in &states {
                    let outcome = match (*part == node, none) {
                        (true, true) => Outcome::Inert,
                        (true, false) => Outcome::Mark,
                        (false, _) => Outcome::Part,
                    };
                    self.note(*part, state, outcome);
                }
            }
        }
    }

    /// Lays out a `text` whose elements' states are known.
    pub(super) fn lay_out(
        &self,
        node: Node<'a, 'i>,
        states: &[(Node<'a, 'i>, State)],
    ) -> Result<Set, TextProblem> {
        let Some((_, state)) = states.first() else {
            return Ok(Set::default());
        };
        let by_node: HashMap<NodeId, &State> = states.iter().map(|(n, s)| (n.id(), s)).collect();
        let style = |n: Node<'_, '_>| {
            by_node
                .get(&n.id())
                .map(|s| text_style(s))
                .unwrap_or_default()
        };
        let track = |n: Node<'_, '_>| self.track(n, state);
        let around: Vec<(NodeId, &str)> = state
            .decorators
            .iter()
            .map(|(id, by)| {
                (
                    *id,
                    by.font.get("text-decoration").map_or("", String::as_str),
                )
            })
            .collect();
        let input = TextInput {
            node,
            style: &style,
            track: &track,
            ctm: state.ctm,
            viewport: Size::new(state.viewport.0, state.viewport.1),
            // `@font-face` is reported as such, whatever uses it.
            declared: &[],
            around: &around,
            lay: self.lay,
        };
        lettering::lay_out(&input, self.faces)
    }

    /// The curve that a `textPath` follows, in the text's user units.
    fn track(&self, node: Node<'_, '_>, state: &State) -> Result<BezPath, TextProblem> {
        let refused = |what: &str| Err(TextProblem::new(what, "turn the lettering into outlines"));
        let target = elements::href(node)
            .and_then(|h| h.trim().strip_prefix('#'))
            .and_then(|id| self.ids.get(id))
            .filter(|(n, twice)| !*twice && kind(*n) == Kind::Shape);
        let Some((target, _)) = target else {
            return refused("it is lettering along a curve that is not in this file");
        };
        if target.tag_name().name() != "path" {
            // SVG 2, 11.8.1, lets any shape carry letters; engines draw them along a path only.
            return refused(
                "it follows a shape that is no path, along which many readers draw no letter",
            );
        }
        if target.attribute("pathLength").is_some() {
            return refused(
                "it is lettering along a curve with a length of its own (pathLength), which readers measure differently",
            );
        }
        let declared = self.sheets.computed(*target);
        let Ok(motion) = transform::declared(&declared) else {
            return refused("it is lettering along a curve whose transform cannot be read");
        };
        if motion.elsewhere {
            return refused(
                "it is lettering along a curve that is turned about a transform-origin, which some readers follow and some do not",
            );
        }
        let shape = outline(*target, state);
        if shape.error.is_some() || shape.path.elements().is_empty() {
            return refused("it is lettering along a curve that cannot be measured");
        }
        Ok(motion.matrix * shape.path)
    }

    fn chunk(&mut self, node: Node<'a, 'i>, state: &State, lettering: Lettering, path: BezPath) {
        let content = Content::Lettering(Box::new(lettering));
        if path.elements().is_empty() {
            // Nothing could be laid out, so the missing face is reported.
            self.add(
                node,
                state,
                content,
                Role::Fill { even_odd: false },
                path,
                Paint::None,
                1.0,
            );
            return;
        }
        self.marks(
            node,
            state,
            Drawn {
                path,
                content,
                fills: true,
            },
        );
    }

    /// The state of a `text` and of every element in it.
    pub(super) fn text_states(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
    ) -> Vec<(Node<'a, 'i>, State)> {
        let mut states = vec![(node, state.clone())];
        let mut next = 0;
        while let Some((parent, of_parent)) = states.get(next).cloned() {
            next += 1;
            for child in parent
                .children()
                .filter(roxmltree::Node::is_element)
                // Scripts and animations are no part of the text: they are reported as what they are.
                .filter(|c| !matches!(kind(*c), Kind::Private | Kind::Script | Kind::Animation))
            {
                let mut own = of_parent.clone();
                self.declare(child, &mut own);
                states.push((child, own));
            }
        }
        states
    }
}

/// The properties of lettering in `state`, as the layout wants them.
fn text_style(state: &State) -> Vec<(String, String)> {
    let mut style: Vec<_> = state
        .font
        .iter()
        .map(|(k, v)| (k.clone(), v.clone()))
        .collect();
    style.push(("font-size".to_owned(), format!("{}", state.font_size)));
    if state.gone.is_some() {
        style.push(("display".to_owned(), "none".to_owned()));
    }
    style
}
