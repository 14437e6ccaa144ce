//! The colours that are drawn somewhere: in a drawing placed as a picture, in a pattern.

use std::sync::Arc;

use roxmltree::Node;

use super::elements::{Kind, kind};
use super::mark::Colour;
use super::state::{PaintValue, State};
use super::style::Sheets;

/// The colours of all that is drawn in a document.
pub(super) fn colours(document: &roxmltree::Document<'_>) -> Arc<[Colour]> {
    let sheets = Sheets::collect(document);
    let state = State::initial(kurbo::Affine::IDENTITY, (1.0, 1.0));
    let mut found = Vec::new();
    collect(document.root_element(), &state, &sheets, &mut found);
    found.sort();
    found.dedup();
    found.into()
}

/// The colours of what is drawn in `node`, definitions included: a clone may draw those.
pub(super) fn collect<'a>(
    node: Node<'a, '_>,
    outer: &State,
    sheets: &'a Sheets,
    found: &mut Vec<Colour>,
) {
    let mut state = outer.clone();
    state.declare(&sheets.computed(node));
    if matches!(kind(node), Kind::Shape | Kind::Text | Kind::Use) {
        for value in [&state.fill, &state.stroke] {
            if let PaintValue::Colour(colour, _) = state.fixed(value) {
                found.push(colour);
            }
        }
    }
    for child in node.children().filter(Node::is_element) {
        collect(child, &state, sheets, found);
    }
}
