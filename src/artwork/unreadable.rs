//! Elements that cannot be resolved: each is reported with a remedy.

use roxmltree::Node;

use super::census::Outcome;
use super::elements::{self, Kind, kind};
use super::mark::Hidden;
use super::resolve::Walk;
use super::state::State;

/// What to say of a script or an animation.
pub(super) fn acting(node: Node<'_, '_>) -> (String, &'static str) {
    if kind(node) == Kind::Script {
        return (
            "it is a script, which may change the drawing when it is opened".to_owned(),
            "save the file without scripts (as a plain drawing)",
        );
    }
    (
        format!(
            "it is an animation ({}), and readers differ in which moment they show",
            node.tag_name().name()
        ),
        "remove the animation and keep the drawing as it should be burnt",
    )
}

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// A part of a text outside any `text` element: by the standard it is not drawn, but some reader
    /// may draw it.
    pub(super) fn stray_text(&mut self, node: Node<'a, 'i>, state: &State) {
        let own = &mut state.clone();
        own.declare(&self.sheets.computed(node));
        let state: &State = own;
        if elements::wordless(node) || state.gone == Some(Hidden::NotChosen) {
            self.note(node, state, Outcome::Inert);
            return;
        }
        self.report(
            node,
            state,
            "it is lettering outside any text object, which most readers leave out",
            "type the lettering anew, or delete it",
        );
        self.give_up(node, state);
    }

    /// Counts an element as one that draws nothing, with all that is in it.
    fn give_up_inert(&mut self, node: Node<'a, 'i>, state: &State) {
        for below in node
            .descendants()
            .filter(|n| n.is_element() && kind(*n).could_mark())
        {
            self.note(below, state, Outcome::Inert);
        }
    }

    pub(super) fn unreadable(&mut self, node: Node<'a, 'i>, state: &State, what: Kind) {
        let name = node.tag_name().name();
        let own = &mut state.clone();
        own.declare(&self.sheets.computed(node));
        let state: &State = own;
        // A frame for text with no text in it.
        if what == Kind::Foreign && name.starts_with("flow") && elements::wordless(node) {
            self.give_up_inert(node, state);
            return;
        }
        // The other branch of a `switch`, which no reader of plain SVG takes.
        let never = elements::chosen(node) == Ok(false) || state.gone == Some(Hidden::NotChosen);
        if what == Kind::Foreign && never {
            self.note(node, state, Outcome::Inert);
            return;
        }
        let (what, help) = match what {
            Kind::Script | Kind::Animation => acting(node),
            Kind::Foreign if name.starts_with("flow") => (
                "it is text that flows in a frame, which readers lay out differently or leave out"
                    .to_owned(),
                "turn it into plain lettering or into outlines",
            ),
            Kind::Foreign => (
                format!("it is a \"{name}\", which holds something other than drawing"),
                "delete it, or turn what it shows into plain outlines or a picture",
            ),
            _ => (
                format!("it is a \"{name}\", an element that is not known here"),
                "expand it to plain outlines, or delete it",
            ),
        };
        self.refuse(node, state, what, help);
    }
}
