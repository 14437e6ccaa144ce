//! Conditional processing: which branch is drawn (SVG 2, 5.8).

use roxmltree::Node;

use super::elements::{self, Kind, kind};
use super::mark::Hidden;
use super::resolve::Walk;
use super::source::ReadError;
use super::state::State;

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// Conditional processing (SVG 2, 5.8): what is not chosen is resolved and marked as such.
    pub(super) fn choose(&mut self, node: Node<'a, 'i>, state: &mut State) {
        match elements::chosen(node) {
            Some(true) => {}
            Some(false) => state.gone = Some(state.gone.take().unwrap_or(Hidden::NotChosen)),
            None => self.report(
                node,
                state,
                "whether it is drawn depends on the language the reader is set to",
                "keep the one version that is wanted and delete the others",
            ),
        }
    }

    /// `switch`: the first child whose conditions hold is drawn, the rest is not.
    pub(super) fn switch(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        let mut taken = false;
        for child in node.children().filter(Node::is_element) {
            if matches!(
                kind(child),
                Kind::Describing | Kind::Private | Kind::Definition
            ) {
                continue;
            }
            let holds = elements::chosen(child) != Some(false);
            if holds && !taken {
                taken = true;
                self.element(child, state, depth)?;
            } else {
                let mut not = state.clone();
                not.gone = Some(not.gone.take().unwrap_or(Hidden::NotChosen));
                self.element(child, &not, depth)?;
            }
        }
        Ok(())
    }
}
