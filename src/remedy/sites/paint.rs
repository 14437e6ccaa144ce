//! Paint, set where it is written now.

use std::collections::BTreeSet;

use roxmltree::Node;

use super::{CLONED, ENTITY, Hindrance, Sites, key};
use crate::artwork::elements;
use crate::artwork::mark::{Colour, Mark, Role};
use crate::artwork::style::Written;
use crate::ids::{Id as _, MarkId};
use crate::remedy::{Change, Edit, tag};

impl Sites<'_> {
    pub(super) fn paint(&self, change: &Change, paint: Colour) -> Result<Vec<Edit>, Hindrance> {
        let chosen: BTreeSet<MarkId> = change.marks.iter().copied().collect();
        let stroke = |role: &Role| matches!(role, Role::Stroke(_));
        let mut edits = Vec::new();
        let mut seen = BTreeSet::new();
        for index in &change.marks {
            let mark = &self.artwork.marks[*index];
            let line = stroke(&mark.role);
            let name = if line { "stroke" } else { "fill" };
            let meant =
                |i: MarkId| stroke(&self.artwork.marks[i].role) != line || chosen.contains(&i);
            let node = if self.of_element(&mark.origin.range).all(meant) {
                self.node(&mark.origin.range)?
            } else {
                self.clone_of(mark, name, meant)?
            };
            if !seen.insert((key(&node.range()), line)) {
                continue;
            }
            let declared = self.sheets.computed(node);
            let (value, text) = (paint.to_string(), self.text);
            #[expect(
                clippy::match_same_arms,
                reason = "each arm is a place where the paint may stand"
            )]
            let replacement = match declared.source(name) {
                Some(Written::Inline) => tag::declaration(text, node, name, &value, false),
                Some(Written::Sheet) => tag::declaration(text, node, name, &value, true),
                Some(Written::Attribute) => tag::attribute(text, node, name, &value),
                None if node.attribute("style").is_some() => {
                    tag::declaration(text, node, name, &value, false)
                }
                None => tag::attribute(text, node, name, &value),
            };
            edits.push(Self::edit(
                change,
                node,
                replacement.ok_or_else(|| ENTITY.to_owned())?,
            ));
        }
        Ok(edits)
    }

    /// The clone that brings a mark, if what it brings takes its paint from it.
    fn clone_of(
        &self,
        mark: &Mark,
        name: &str,
        meant: impl Fn(MarkId) -> bool,
    ) -> Result<Node<'_, '_>, Hindrance> {
        let cloned = || CLONED.to_owned();
        let range = mark.origin.uses.last().ok_or_else(cloned)?;
        let user = self.node(range)?;
        let placed = self.placed.iter().find(|p| p.range == *range);
        let brought = placed.ok_or_else(cloned)?.marks.clone();
        let target = elements::href(user).map(|href| href.trim_start_matches('#'));
        let mut within = Vec::new();
        for node in self.node(&mark.origin.range)?.ancestors() {
            within.push(node);
            if node.attribute("id").is_some_and(|id| Some(id) == target) {
                let own = |n: &Node<'_, '_>| self.sheets.computed(*n).source(name).is_none();
                let all = brought.clone().all(|i| meant(MarkId::new(i)));
                return if all && self.once(range) && within.iter().all(own) {
                    Ok(user)
                } else {
                    Err(cloned())
                };
            }
        }
        Err(cloned())
    }
}
