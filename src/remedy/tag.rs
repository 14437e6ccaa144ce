//! Attributes and declarations of one element, set by changing nothing but them.

use roxmltree::Node;

use crate::artwork::source::edit::Replacement;
use crate::artwork::style;
use crate::ids::At;

/// Sets an attribute that has no namespace: its value is replaced, or it is put in after the name of
/// the element. `value` holds no sign that XML would have to escape. `None` where the bytes of the
/// element are not its own, as inside an entity.
pub(super) fn attribute(
    text: &str,
    node: Node<'_, '_>,
    name: &str,
    value: &str,
) -> Option<Replacement> {
    let there = node
        .attributes()
        .find(|a| a.namespace().is_none() && a.name() == name);
    if let Some(there) = there {
        return Some(Replacement::new(there.range_value(), value));
    }
    let at = after_name(text, node)?;
    Some(Replacement::new(at..at, format!(" {name}=\"{value}\"")))
}

/// Puts `before` in front of the value of an attribute, or sets it to that.
pub(super) fn prefixed(
    text: &str,
    node: Node<'_, '_>,
    name: &str,
    before: &str,
) -> Option<Replacement> {
    let there = node
        .attributes()
        .find(|a| a.namespace().is_none() && a.name() == name)
        .filter(|a| !matches!(a.value().trim(), "" | "none"));
    match there {
        Some(there) => {
            let at = there.range_value().start;
            Some(Replacement::new(at..at, format!("{before} ")))
        }
        None => attribute(text, node, name, before),
    }
}

/// Sets a declaration of the element's `style`.
pub(super) fn declaration(
    text: &str,
    node: Node<'_, '_>,
    name: &str,
    value: &str,
    important: bool,
) -> Option<Replacement> {
    let said = |important: bool| {
        let mark = if important { " !important" } else { "" };
        format!("{name}:{value}{mark}")
    };
    let Some(there) = node
        .attributes()
        .find(|a| a.namespace().is_none() && a.name() == "style")
    else {
        return attribute(text, node, "style", &said(important));
    };
    let range = there.range_value();
    let raw = text.at(range.clone());
    // Where the value is written with references, places in it are not places in the file.
    if raw == there.value()
        && let Some(own) = style::declaration_range(raw, name)
    {
        let important = important || raw.at(own.clone()).contains('!');
        let (start, end) = (range.start + own.start, range.start + own.end);
        return Some(Replacement::new(start..end, said(important)));
    }
    let open = !raw.trim_end().ends_with(';') && !raw.trim().is_empty();
    let between = if open { ";" } else { "" };
    Some(Replacement::new(
        range.end..range.end,
        format!("{between}{}", said(important)),
    ))
}

/// The place after an element's name in its start tag.
pub(super) fn after_name(text: &str, node: Node<'_, '_>) -> Option<usize> {
    let start = node.range().start;
    let tag = text.at(start..).strip_prefix('<')?;
    let end = tag.find(|c: char| c.is_ascii_whitespace() || matches!(c, '/' | '>'))?;
    let name = tag.at(..end);
    let local = name.rsplit(':').next()?;
    (local == node.tag_name().name()).then_some(start + 1 + name.len())
}
