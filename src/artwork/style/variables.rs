//! Custom properties: what `var(--name)` stands for (CSS Custom Properties 1).

use std::borrow::Cow;

use roxmltree::Node;

use super::syntax::{call, split};
use super::{Declared, Sheets, keywords};
use crate::artwork::length::is_space;

/// How deep variables may stand for variables. A circle ends here too.
const DEEPEST: usize = 16;

/// How long a value may grow, in bytes. Variables that double each other would fill the memory.
const LONGEST: usize = 64 * 1024;

/// How many calls of `var()` one value may take. Variables that call each other many times over would
/// take for ever.
const MOST_CALLS: usize = 1_000;

/// Replaces each `var()` whose value is known. The others stay as written.
pub(super) fn substitute<'a>(sheets: &'a Sheets, node: Node<'a, '_>, declared: &mut Declared<'a>) {
    for won in &mut declared.entries {
        if !won.name.starts_with("--")
            && uses(&won.value)
            && let Some(value) = resolve(sheets, node, &won.value, 0, &mut MOST_CALLS.clone())
        {
            // What is not valid once its variables are known is as good as unset (CSS Variables 1,
            // section 3.1).
            won.value =
                keywords::canonical(&won.name, Cow::Owned(value)).unwrap_or(Cow::Borrowed("unset"));
        }
    }
}

/// Whether a value calls `var()`.
pub(super) fn uses(value: &str) -> bool {
    value.contains('(') && call(value, "var").is_some()
}

/// A value with every `var()` replaced, or `None` if one has neither value nor fallback.
fn resolve(
    sheets: &Sheets,
    node: Node<'_, '_>,
    value: &str,
    depth: usize,
    calls: &mut usize,
) -> Option<String> {
    if depth > DEEPEST {
        return None;
    }
    let mut done = String::new();
    let mut rest = value;
    while let Some((start, arguments, end)) = call(rest, "var") {
        *calls = calls.checked_sub(1)?;
        let name = split(arguments, b',').first()?.len();
        let (name, fallback) = arguments.split_at_checked(name)?;
        let name = name.trim_matches(is_space);
        if !name.starts_with("--") || name.len() < 3 {
            return None;
        }
        let replaced = match custom(sheets, node, name, depth + 1, calls) {
            Some(value) => value,
            None => resolve(sheets, node, fallback.strip_prefix(',')?, depth + 1, calls)?,
        };
        done.push_str(rest.get(..start)?);
        done.push_str(replaced.trim_matches(is_space));
        rest = rest.get(end..)?;
        if done.len() > LONGEST {
            return None;
        }
    }
    done.push_str(rest);
    Some(done)
}

/// The value of a custom property on an element: its own, or the nearest parent's.
fn custom(
    sheets: &Sheets,
    node: Node<'_, '_>,
    name: &str,
    depth: usize,
    calls: &mut usize,
) -> Option<String> {
    if !sheets.custom {
        return None;
    }
    let mut at = Some(node);
    while let Some(element) = at {
        let declared = sheets.cascade(element);
        if let Some(value) = declared.get(name) {
            match value.to_ascii_lowercase().as_str() {
                // Custom properties inherit, so that `unset` is `inherit`; and so is `revert`, as there
                // is no user's sheet to go back to.
                "inherit" | "unset" | "revert" => {}
                "initial" => return None,
                _ => return resolve(sheets, element, value, depth, calls),
            }
        }
        at = element.parent_element();
    }
    None
}
