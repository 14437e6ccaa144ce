//! Custom properties: what `var(--name)` stands for (CSS Custom Properties 1).

use std::borrow::Cow;
use std::collections::HashMap;

use roxmltree::{Node, NodeId};

use super::syntax::{call, split};
use super::{Cloned, Declared, Sheets, keywords};
use crate::artwork::length::is_space;

/// How deep variables may stand for variables whose values are not known yet. A circle ends here too.
const DEEPEST: usize = 16;

/// How long a value may grow, in bytes. Variables that double each other would fill the memory.
const LONGEST: usize = 64 * 1024;

/// How many calls of `var()` one value may take. Variables that call each other many times over would
/// take for ever.
const MOST_CALLS: usize = 1_000;

/// How many calls of `var()` the variables of a file may take together: some seconds.
const MOST_CALLS_IN_ALL: usize = 2_000_000;

/// How many bytes the variables of a file may take, names and values. More would fill the memory; far
/// less would leave sheets unread that give every element some dozens.
const MOST_BYTES: usize = 64 * 1024 * 1024;

/// What a variable takes beside its name and its value, about.
const ENTRY: usize = 100;

/// The custom properties of a file.
#[derive(Debug, Default)]
pub(super) struct Customs(HashMap<NodeId, HashMap<String, Custom>>);

/// What an element says of a custom property.
#[derive(Debug, Clone, PartialEq)]
enum Custom {
    /// As written, with calls that are not resolved, and may not.
    Written(String),
    Resolved(String),
    /// `initial`: no value, whatever is inherited.
    Initial,
}

impl Customs {
    /// Gathers them, each resolved once where it is declared: what is inherited is the resolved value.
    /// `None` past a limit.
    pub(super) fn gather(sheets: &Sheets, elements: &[Node<'_, '_>]) -> Option<Self> {
        let mut customs = Self::default();
        let (mut bytes, mut calls) = (0, 0);
        for node in elements {
            let declared = sheets.customs(*node, sheets.tree(&[]));
            let mut names = Vec::new();
            let mut own = HashMap::new();
            for (name, value, _) in declared.iter() {
                bytes += ENTRY + name.len() + value.len();
                let custom = match value.to_ascii_lowercase().as_str() {
                    // Custom properties inherit, so that `unset` is `inherit`; and so is `revert`, as
                    // there is no user's sheet to go back to.
                    "inherit" | "unset" | "revert" => continue,
                    "initial" => Custom::Initial,
                    _ if !uses(value) => Custom::Resolved(value.to_owned()),
                    _ => {
                        names.push(name.to_owned());
                        Custom::Written(value.to_owned())
                    }
                };
                own.insert(name.to_owned(), custom);
            }
            if own.is_empty() {
                continue;
            }
            customs.0.insert(node.id(), own);
            for name in names {
                let mut left = MOST_CALLS;
                if let Some(value) = customs.value(*node, &[], &name, 0, &mut left) {
                    bytes += value.len();
                    let own = customs.0.entry(node.id()).or_default();
                    own.insert(name, Custom::Resolved(value));
                }
                calls += MOST_CALLS - left;
                if bytes > MOST_BYTES || calls > MOST_CALLS_IN_ALL {
                    return None;
                }
            }
            if bytes > MOST_BYTES {
                return None;
            }
        }
        Some(customs)
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The value of a custom property on an element: its own, or the nearest parent's. What surrounds
    /// the top of a clone is its `use`.
    fn value(
        &self,
        node: Node<'_, '_>,
        clones: &[Cloned<'_, '_>],
        name: &str,
        depth: usize,
        calls: &mut usize,
    ) -> Option<String> {
        let (mut node, mut clones) = (node, clones);
        loop {
            match self.0.get(&node.id()).and_then(|own| own.get(name)) {
                None => {}
                Some(Custom::Initial) => return None,
                Some(Custom::Resolved(value)) => return Some(value.clone()),
                Some(Custom::Written(value)) => {
                    return self.resolve(node, clones, value, depth, calls);
                }
            }
            match clones.split_last() {
                Some((clone, outer)) if clone.target.id() == node.id() => {
                    (node, clones) = (clone.user, outer);
                }
                _ => node = node.parent_element()?,
            }
        }
    }

    /// A value with every `var()` replaced, or `None` if one has neither value nor fallback.
    fn resolve(
        &self,
        node: Node<'_, '_>,
        clones: &[Cloned<'_, '_>],
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
            let replaced = match self.value(node, clones, name, depth + 1, calls) {
                Some(value) => value,
                None => {
                    self.resolve(node, clones, fallback.strip_prefix(',')?, depth + 1, calls)?
                }
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
}

/// Replaces each `var()` whose value is known. The others stay as written.
pub(super) fn substitute<'a>(
    customs: &Customs,
    node: Node<'a, '_>,
    clones: &[Cloned<'_, '_>],
    declared: &mut Declared<'a>,
) {
    for won in &mut declared.entries {
        if uses(&won.value)
            && let Some(value) =
                customs.resolve(node, clones, &won.value, 0, &mut MOST_CALLS.clone())
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
