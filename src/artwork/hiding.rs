//! What is switched off for certain, and what would show or act all the same.
//!
//! Under `display: none` nothing is drawn, whatever an element inside says of itself. `visibility`
//! is inherited, and what is inside may be visible again (SVG 2, 11.7).

use roxmltree::Node;

use super::elements::{self, Kind, kind};
use super::mark::{Content, Mark};
use super::resolve::Walk;
use super::state::State;
use super::style::family;

/// What an animation may change that makes hidden things show.
const SHOWING: [&str; 6] = [
    "display",
    "visibility",
    "class",
    "style",
    "href",
    "xlink:href",
];

/// Filter effects that make nothing of nothing. Any other may flood the place of an element that is
/// invisible (Filter Effects 1, section 9): a browser engine was seen to paint what a filter with
/// `feFlood`, `feColorMatrix` or `feComponentTransfer` made of an invisible shape.
const NOTHING_OF_NOTHING: [&str; 9] = [
    "feBlend",
    "feDisplacementMap",
    "feDropShadow",
    "feGaussianBlur",
    "feMerge",
    "feMergeNode",
    "feMorphology",
    "feOffset",
    "feTile",
];

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// Whether an element in `state` is hidden together with everything inside it. A script acts even
    /// there.
    pub(super) fn hides(&self, node: Node<'a, 'i>, state: &State) -> bool {
        match kind(node) {
            Kind::Script => false,
            Kind::Animation => self.animates_unsent(node),
            _ => state.gone.is_some() || state.invisible && !self.may_show(node),
        }
    }

    /// Whether something inside an invisible element is visible by itself.
    fn may_show(&self, node: Node<'a, 'i>) -> bool {
        let shows = |n: Node<'a, 'i>| self.visible(n) == Some(true);
        node.descendants().filter(Node::is_element).any(|inside| {
            let repeats = kind(inside) == Kind::Use;
            inside != node && shows(inside) || repeats && self.target_may_show(inside)
        })
    }

    fn target_may_show(&self, user: Node<'a, 'i>) -> bool {
        let reference = elements::href(user).unwrap_or_default().trim();
        match reference.strip_prefix('#').map(|id| self.ids.get(id)) {
            Some(Some((target, _))) => target
                .descendants()
                .filter(Node::is_element)
                .any(|n| kind(n) == Kind::Use || self.visible(n) == Some(true)),
            Some(None) => false,
            None => !reference.is_empty(),
        }
    }

    /// What an element says of its own visibility.
    fn visible(&self, node: Node<'a, 'i>) -> Option<bool> {
        match self.sheets.computed(node).get("visibility")? {
            "hidden" | "collapse" => Some(false),
            "inherit" | "unset" => None,
            _ => Some(true),
        }
    }

    /// Whether an element is hidden where it stands, and nothing draws it elsewhere.
    pub(super) fn switched_off(&self, node: Node<'a, 'i>) -> bool {
        let mut visible = None;
        for above in node.ancestors().filter(Node::is_element) {
            let called = |id| self.called.contains(id);
            if kind(above) == Kind::Definition || above.attribute("id").is_some_and(called) {
                return false;
            }
            let page = above.parent_element().is_none();
            if !page && self.sheets.computed(above).get("display") == Some("none") {
                return true;
            }
            visible = visible.or_else(|| self.visible(above));
        }
        visible == Some(false) && !self.may_show(node)
    }

    /// Whether an animation changes something that is not drawn, and cannot make it show.
    pub(super) fn animates_unsent(&self, animation: Node<'a, 'i>) -> bool {
        let what = animation.attribute("attributeName").unwrap_or_default();
        let shows = SHOWING.iter().any(|s| s.eq_ignore_ascii_case(what.trim()));
        let Some(around) = animation.parent_element() else {
            return false;
        };
        let own = elements::href(animation).is_none_or(|target| {
            let id = target.trim().strip_prefix('#');
            let found = id.and_then(|id| self.ids.get(id));
            // Of two elements with one id, readers take the first.
            found.is_some_and(|(first, twice)| *first == around && !twice)
        });
        own && !shows && self.switched_off(around)
    }

    /// Whether all lettering met so far is switched off, what could not be laid out too.
    pub(super) fn shows_no_lettering(&self) -> bool {
        let lettering = |m: &Mark| matches!(m.content, Content::Lettering(_));
        let refused = |e: &str| matches!(e, "text" | "tspan" | "textPath");
        let marks = || self.out.marks.iter().filter(|m| lettering(m));
        marks().all(|m| m.hidden.is_some())
            && (self.out.unproven.iter()).all(|u| u.hidden || !refused(&u.origin.element))
            && marks().next().is_some()
    }

    /// Whether an element for which `counts` holds names a face that the file brings itself, or may: a
    /// name can be written with escapes.
    pub(super) fn names_own_face(
        &self,
        page: Node<'a, 'i>,
        counts: impl Fn(Node<'a, 'i>) -> bool,
    ) -> bool {
        let brought = |value: &str| {
            let value = family(value);
            let named = |face: &Option<String>| face.as_ref().is_none_or(|f| value.contains(f));
            value.contains('\\') || self.sheets.faces.iter().any(named)
        };
        page.descendants().filter(Node::is_element).any(|node| {
            let declared = self.sheets.computed(node);
            let values = ["font-family", "font"].map(|name| declared.get(name));
            values.into_iter().flatten().any(brought) && counts(node)
        })
    }

    /// Whether the value of `filter` may paint where its element is invisible.
    pub(super) fn floods(&self, value: &str) -> bool {
        value.split("url(").skip(1).any(|part| {
            let reference = part.split(')').next().unwrap_or_default();
            let reference = reference.trim().trim_matches(['"', '\'']);
            let Some(id) = reference.strip_prefix('#') else {
                return true;
            };
            self.ids.get(id).is_some_and(|(filter, _)| {
                elements::href(*filter).is_some()
                    || filter
                        .children()
                        .filter(Node::is_element)
                        .filter(|n| kind(*n) != Kind::Animation)
                        .any(|n| !NOTHING_OF_NOTHING.contains(&n.tag_name().name()))
            })
        })
    }
}
