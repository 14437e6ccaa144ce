//! Parts of marks: subpaths of path data, changed where they stand.

use std::collections::BTreeMap;

use kurbo::Affine;

use super::super::path_edit::Subpaths;
use super::{CLONED, ENTANGLED, Hindrance, Sites, key};
use crate::artwork::source::edit::Replacement;
use crate::remedy::{Change, Edit, Part, What};

impl Sites<'_> {
    /// Does the same to parts of several marks; all those of one path in one edit.
    pub(super) fn parts(&self, group: &[&Change]) -> Result<Vec<Edit>, Hindrance> {
        let mut paths: BTreeMap<(usize, usize), (&Change, Vec<Part>)> = BTreeMap::new();
        for change in group {
            for mark in change.marks.iter().map(|i| &self.artwork.marks[*i]) {
                let own = paths.entry(key(&mark.origin.range));
                let (_, parts) = own.or_insert((change, Vec::new()));
                parts.extend(change.part);
            }
        }
        paths
            .into_iter()
            .map(|((start, end), (change, parts))| {
                let range = start..end;
                if !self.once(&range) {
                    return Err(CLONED.to_owned());
                }
                let node = self.node(&range)?;
                let placed = self.placed.iter().find(|p| p.range == range);
                let data = node
                    .attributes()
                    .find(|a| a.namespace().is_none() && a.name() == "d")
                    .filter(|a| self.text.get(a.range_value()) == Some(a.value()));
                let (Some(data), Some(placed), Some(own)) =
                    (data, placed, self.own_transform(node))
                else {
                    return Err(ENTANGLED.to_owned());
                };
                let frame = placed.frame * own;
                let all = Subpaths::new(data.value()).ok_or_else(|| ENTANGLED.to_owned())?;
                let mut which = Vec::new();
                for part in parts {
                    let found = all.within(part, frame);
                    if found.is_empty() {
                        return Err(ENTANGLED.to_owned());
                    }
                    which.extend(found);
                }
                let to = changed(&change.what, change.motion(), &all, &which, frame)
                    .ok_or_else(|| ENTANGLED.to_owned())?;
                Ok(Self::edit(
                    change,
                    node,
                    Replacement::new(data.range_value(), to),
                ))
            })
            .collect()
    }
}

/// The path data with some of its subpaths changed; `None` for what cannot be done to a part.
fn changed(
    what: &What,
    motion: Option<Affine>,
    all: &Subpaths<'_>,
    which: &[usize],
    frame: Affine,
) -> Option<String> {
    match what {
        What::Delete => Some(all.without(which)),
        What::Outline(path) => Some(all.replaced(which, &(frame.inverse() * path.clone()))),
        _ => motion.map(|m| all.carried(which, frame.inverse() * m * frame)),
    }
}
