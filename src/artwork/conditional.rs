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
            Ok(true) => {}
            Ok(false) => state.gone = Some(state.gone.take().unwrap_or(Hidden::NotChosen)),
            Err(on) => self.report(
                node,
                state,
                format!("whether it is drawn depends on {on}"),
                "keep the one version that is wanted, without its condition, and delete the others",
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
            let chosen = elements::chosen(child);
            if chosen != Ok(false) && !taken {
                // What is not drawing cannot be measured; the branch after it can.
                taken = chosen == Ok(true) || kind(child) != Kind::Foreign;
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
