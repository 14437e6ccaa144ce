//! Styles: what an element's attributes, its `style` attribute and the file's stylesheets specify
//! together.
//!
//! The cascade is done here and not by a library, because libraries for drawing ignore what they do
//! not know. Here everything that another reader may take differently becomes a [`StyleProblem`]:
//! at-rules, unknown selectors, broken declarations, geometry in a stylesheet.
//!
//! Order, weakest first (CSS Cascade 4, section 6; SVG 2, section 6.6): presentation attributes,
//! sheets by specificity and place, `style`, `!important` in sheets, `!important` in `style`.
//!
//! What a value inherits is not decided here: [`Sheets::computed`] gives what is declared for the
//! element itself. The one exception is `var()`, whose values are looked up through the parents.

mod audit;
mod keywords;
mod properties;
mod selector;
mod syntax;
mod variables;

use std::borrow::Cow;
use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use roxmltree::{Document, Node};

use super::length::is_space;
use crate::ids::At;
pub(crate) use properties::is_presentation_attribute;
use selector::{Key, Places, Selector, Tree};
use syntax::{Declaration, Entry};
use variables::Customs;

/// A family, or several, with one space between words and in small letters: readers tell them apart by
/// neither (CSS Fonts 4, section 2.1).
pub(super) fn family(value: &str) -> String {
    let words: Vec<&str> = value.split_whitespace().collect();
    words.join(" ").to_ascii_lowercase()
}

/// Something about the file's styles that some reader may take differently.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StyleProblem {
    /// What kind of thing it is.
    pub kind: StyleProblemKind,
    /// What the problem is: one sentence without a full stop.
    pub what: String,
    /// What to do about it.
    pub help: String,
    /// Bytes of the source: the rule or declaration, or the whole `style` element or attribute
    /// where an entity or an escape stands in the way.
    pub range: Range<usize>,
    /// In how many places it was found; `range` is the first.
    pub count: usize,
    /// True if it makes no difference to what any reader burns, so that it need not hold.
    pub harmless: bool,
}

/// Kinds of [`StyleProblem`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum StyleProblemKind {
    /// A rule that only some readers apply: an at-rule, an unknown selector, a sheet for one medium.
    Rule,
    /// A stylesheet that lives in another file.
    External,
    /// `@font-face`.
    FontFace,
    /// A change with time.
    Animation,
    /// Geometry, movement or a unitless length in CSS, which only some readers take from there.
    Geometry,
    /// A `var()` that does not resolve.
    Variable,
    /// Broken syntax, which readers recover from in different ways.
    Broken,
}

/// Where a value was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Written {
    /// In an attribute of its own.
    Attribute,
    /// In a stylesheet.
    Sheet,
    /// In the `style` attribute.
    Inline,
}

/// The stylesheets of a file, ready to be asked.
#[derive(Debug, Default)]
pub struct Sheets {
    /// What some reader may take differently, in the order of the file.
    pub problems: Vec<StyleProblem>,
    /// Families that the file's `@font-face` rules bring, as [`family`] has them; `None` for one that
    /// cannot be told.
    pub faces: Vec<Option<String>>,
    rules: Vec<Rule>,
    index: Index,
    places: Places,
    /// Whether any rule looks at more than the element that it is about.
    looks_around: bool,
    /// The custom properties that the elements declare.
    customs: Customs,
}

/// A rule with one selector. A list of selectors makes several rules.
#[derive(Debug)]
struct Rule {
    selector: Selector,
    declarations: Arc<Block>,
    /// Place among all rules.
    order: usize,
}

/// The declarations of a rule.
#[derive(Debug, Default)]
struct Block {
    declarations: Vec<Declaration<'static>>,
    /// What is wrong with it, which matters if the rule applies to anything.
    problems: Vec<StyleProblem>,
    /// Whether the audit must look at the elements it applies to.
    watched: bool,
    /// Whether it declares a custom property.
    customs: bool,
    /// Where it stands in the source.
    range: Range<usize>,
}

/// Rules, indexed by the most selective thing that they ask for.
#[derive(Debug, Default)]
struct Index {
    ids: HashMap<String, Vec<usize>>,
    classes: HashMap<String, Vec<usize>>,
    tags: HashMap<String, Vec<usize>>,
    any: Vec<usize>,
}

impl Index {
    fn add(&mut self, key: Key, rule: usize) {
        match key {
            Key::Id(id) => self.ids.entry(id).or_default().push(rule),
            Key::Class(class) => self.classes.entry(class).or_default().push(rule),
            Key::Tag(tag) => self.tags.entry(tag).or_default().push(rule),
            Key::Any => self.any.push(rule),
        }
    }

    /// The rules that may be about an element.
    fn candidates(&self, node: Node<'_, '_>) -> impl Iterator<Item = usize> {
        let id = node.attribute("id").and_then(|id| self.ids.get(id));
        let tag = self.tags.get(node.tag_name().name());
        let classes = node
            .attribute("class")
            .filter(|_| !self.classes.is_empty())
            .unwrap_or("");
        let classes = classes
            .split(is_space)
            .filter_map(|class| self.classes.get(class));
        [id, tag, Some(&self.any)]
            .into_iter()
            .flatten()
            .chain(classes)
            .flatten()
            .copied()
    }
}

/// What is declared for one element: for each property the value that wins.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Declared<'a> {
    entries: Vec<Won<'a>>,
    /// Where each name stands, once there are many.
    places: HashMap<Cow<'a, str>, usize>,
}

/// From how many properties on they are looked up by their names' places. Each lookup among fewer is
/// faster without; among tens of thousands the square of their number would take minutes.
const MANY: usize = 64;

#[derive(Debug, Clone, PartialEq)]
struct Won<'a> {
    name: Cow<'a, str>,
    value: Cow<'a, str>,
    written: Written,
    rank: Rank,
}

/// What decides between two values: importance and origin, then specificity, then order.
type Rank = (u8, [u32; 3], usize);

impl Declared<'_> {
    /// The value of a property, as written: `inherit` and its like included. `None` where nothing is
    /// declared.
    pub fn get(&self, property: &str) -> Option<&str> {
        self.find(property).map(|won| won.value.as_ref())
    }

    /// Where the value of a property was written.
    pub fn source(&self, property: &str) -> Option<Written> {
        self.find(property).map(|won| won.written)
    }

    /// The value of a property where a stylesheet or `style` gives it, and no attribute.
    pub fn css_value(&self, property: &str) -> Option<&str> {
        self.find(property)
            .filter(|won| won.written != Written::Attribute)
            .map(|won| won.value.as_ref())
    }

    /// Every property with its value, in no order that means anything, the same each time.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str, Written)> {
        self.entries
            .iter()
            .map(|won| (won.name.as_ref(), won.value.as_ref(), won.written))
    }

    /// Whether another declares the same, of the properties that `counts` is true for and that can
    /// matter.
    pub(super) fn agrees(&self, other: &Declared<'_>, counts: impl Fn(&str) -> bool) -> bool {
        let told = |one: &Declared<'_>, by: &Declared<'_>| {
            one.iter()
                .filter(|(name, ..)| counts(name) && !properties::is_inert(name))
                .all(|(name, value, _)| by.get(name) == Some(value))
        };
        told(self, other) && told(other, self)
    }

    fn find(&self, property: &str) -> Option<&Won<'_>> {
        self.place(property).map(|at| self.entries.at(at))
    }

    fn place(&self, property: &str) -> Option<usize> {
        if self.places.is_empty() {
            self.entries.iter().position(|won| won.name == property)
        } else {
            self.places.get(property).copied()
        }
    }
}

impl<'a> Declared<'a> {
    /// Notes the places of what was added since, where there are many.
    fn remember_places(&mut self) {
        if self.entries.len() < MANY {
            return;
        }
        for (at, won) in self.entries.iter().enumerate().skip(self.places.len()) {
            self.places.insert(won.name.clone(), at);
        }
    }

    /// Drops values that `keep` is false for.
    fn retain(&mut self, keep: impl Fn(&Won<'_>) -> bool) {
        self.entries.retain(keep);
        self.places.clear();
        self.remember_places();
    }

    /// Adds a value, unless CSS ignores it or another one outranks it.
    fn put(&mut self, name: Cow<'a, str>, value: Cow<'a, str>, written: Written, rank: Rank) {
        let Some(value) = keywords::canonical(&name, value) else {
            return;
        };
        let won = Won {
            name,
            value,
            written,
            rank,
        };
        match self.place(&won.name).map(|at| self.entries.at_mut(at)) {
            Some(other) if other.rank > won.rank => {}
            Some(other) => *other = won,
            None => {
                self.entries.push(won);
                let count = self.entries.len();
                let unplaced = if count < MANY {
                    count
                } else {
                    self.places.len()
                };
                for (at, won) in self.entries.iter().enumerate().skip(unplaced) {
                    self.places.insert(won.name.clone(), at);
                }
            }
        }
    }
}

/// A clone that is being drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cloned<'a, 'i> {
    /// What is drawn again.
    pub(super) target: Node<'a, 'i>,
    /// The `use` that draws it.
    pub(super) user: Node<'a, 'i>,
}

impl Sheets {
    /// Gathers the stylesheets of a document and looks through every style in it.
    ///
    /// Never fails: what cannot be read is in [`Sheets::problems`].
    pub fn collect(document: &Document<'_>) -> Self {
        audit::collect(document)
    }

    /// What is declared for an element: presentation attributes, sheets and `style` together. Nothing
    /// is inherited here, but for the values of `var()`.
    ///
    /// A `var()` that does not resolve is left as written, so that no reader of the value can take it
    /// for something else.
    pub fn computed<'a>(&'a self, node: Node<'a, '_>) -> Declared<'a> {
        self.resolved(node, &[])
    }

    /// What is declared for a clone of an element (SVG 2, 5.6.3): selectors see no more than the clone,
    /// and variables come from around the `use`. Some readers style a clone as its original stands.
    pub(super) fn cloned<'a, 'i>(
        &'a self,
        node: Node<'a, 'i>,
        clones: &[Cloned<'a, 'i>],
    ) -> Declared<'a> {
        self.resolved(node, clones)
    }

    /// Whether a clone may have another style than its original.
    pub(super) fn tells_clones_apart(&self) -> bool {
        self.looks_around || !self.customs.is_empty()
    }

    /// Whether a clone of an element declares the same variables as the original.
    pub(super) fn same_variables(&self, node: Node<'_, '_>, clones: &[Cloned<'_, '_>]) -> bool {
        self.customs.is_empty()
            || self.customs(node, self.tree(&[])) == self.customs(node, self.tree(clones))
    }

    fn tree(&self, clones: &[Cloned<'_, '_>]) -> Tree<'_> {
        match clones.last() {
            None => Tree::document(&self.places),
            Some(clone) => Tree::clone_of(clone.target, &self.places),
        }
    }

    fn resolved<'a>(&'a self, node: Node<'a, '_>, clones: &[Cloned<'_, '_>]) -> Declared<'a> {
        let mut declared = self.cascade(node, self.tree(clones), false);
        variables::substitute(&self.customs, node, clones, &mut declared);
        declared.retain(|won| !keywords::resets(&won.name, &won.value));
        declared
    }

    /// The custom properties that an element declares, `var()` as written.
    fn customs<'a>(&'a self, node: Node<'a, '_>, tree: Tree<'a>) -> Declared<'a> {
        let inline = node.attribute("style").is_some_and(|s| s.contains("--"));
        let mut rules = self.matching(node, tree);
        if inline || rules.any(|rule| rule.declarations.customs) {
            self.cascade(node, tree, true)
        } else {
            Declared::default()
        }
    }

    /// What is declared, `var()` as written: custom properties, or all others.
    fn cascade<'a>(&'a self, node: Node<'a, '_>, tree: Tree<'a>, custom: bool) -> Declared<'a> {
        let wanted = |name: &str| name.starts_with("--") == custom;
        let mut declared = Declared::default();
        for attribute in node.attributes().filter(|_| !custom) {
            if attribute.namespace().is_none() && is_presentation_attribute(attribute.name()) {
                let (name, value) = (attribute.name(), attribute.value());
                let value = value.trim_matches(is_space);
                declared.put(
                    name.into(),
                    value.into(),
                    Written::Attribute,
                    (0, [0; 3], 0),
                );
            }
        }
        for rule in self.matching(node, tree) {
            let declarations = &rule.declarations.declarations;
            for declaration in declarations.iter().filter(|d| wanted(&d.name)) {
                let level = if declaration.important { 3 } else { 1 };
                declared.put(
                    declaration.name.as_ref().into(),
                    declaration.value.as_ref().into(),
                    Written::Sheet,
                    (level, rule.selector.specificity, rule.order),
                );
            }
        }
        if let Some(style) = node.attribute("style") {
            for declaration in inline(style).into_iter().filter(|d| wanted(&d.name)) {
                let level = if declaration.important { 4 } else { 2 };
                declared.put(
                    declaration.name,
                    declaration.value,
                    Written::Inline,
                    (level, [0; 3], 0),
                );
            }
        }
        declared
    }

    /// The rules that apply to an element. Where the order matters, the rank has it.
    fn matching<'s>(
        &'s self,
        node: Node<'s, '_>,
        tree: Tree<'s>,
    ) -> impl Iterator<Item = &'s Rule> {
        self.index
            .candidates(node)
            .map(|rule| self.rules.at(rule))
            .filter(move |rule| rule.selector.matches(node, tree))
    }
}

/// Where the last declaration of `name` stands in a `style` attribute.
pub(crate) fn declaration_range(style: &str, name: &str) -> Option<Range<usize>> {
    syntax::declarations(style)
        .into_iter()
        .filter_map(|entry| match entry {
            Entry::Declaration(d) if d.name == name => Some(d.range),
            _ => None,
        })
        .next_back()
}

/// The declarations of a `style` attribute, shorthands written out.
fn inline(style: &str) -> Vec<Declaration<'_>> {
    let mut declarations = Vec::new();
    for entry in syntax::declarations(style) {
        if let Entry::Declaration(declaration) = entry {
            properties::expand(declaration, &mut declarations);
        }
    }
    declarations
}
