//! What the styles of single elements hold that some reader may take differently.

use std::ops::Range;

use kurbo::Affine;
use roxmltree::{Document, Node};

use super::{Audit, Kind};
use crate::artwork::length::number;
use crate::artwork::style::properties::{
    animates, early_name, expand, is_geometry, is_geometry_of, is_inert, moves, needs_unit,
};
use crate::artwork::style::syntax::{Declaration, Entry, declarations};
use crate::artwork::style::variables::{Customs, uses};
use crate::artwork::style::{Block, StyleProblem, Written, is_presentation_attribute};
use crate::artwork::transform;
use crate::ids::At;
use crate::wording::cut_to;

/// How many parents may be asked for the values of variables in all: some seconds.
const MOST_PARENTS: usize = 5_000_000;

/// From offsets in a piece of CSS to offsets in the source.
#[derive(Clone)]
pub(super) struct CssSpan {
    /// Where the piece starts, if it stands in the source letter by letter.
    pub(super) start: Option<usize>,
    pub(super) whole: Range<usize>,
}

impl CssSpan {
    pub(super) fn of(&self, range: &Range<usize>) -> Range<usize> {
        match self.start {
            Some(start) => start + range.start..start + range.end,
            None => self.whole.clone(),
        }
    }

    pub(super) fn inside(&self, offset: usize) -> Self {
        Self {
            start: self.start.map(|start| start + offset),
            whole: self.whole.clone(),
        }
    }
}

impl Block {
    /// Whether it makes no difference which elements it applies to.
    pub(super) fn is_inert(&self) -> bool {
        self.problems.is_empty() && self.declarations.iter().all(|d| is_inert(&d.name))
    }
}

pub(super) fn problem(
    kind: Kind,
    what: impl Into<String>,
    help: &str,
    range: Range<usize>,
) -> StyleProblem {
    StyleProblem {
        kind,
        what: what.into(),
        help: help.to_owned(),
        range,
        count: 1,
        harmless: false,
    }
}

/// The opening tag of an element, roughly: an element may hold the whole file.
fn opening(node: Node<'_, '_>) -> Range<usize> {
    let whole = node.range();
    let end = node
        .first_child()
        .map_or(whole.end, |child| child.range().start);
    whole.start..end.max(whole.start)
}

pub(super) fn excerpt(css: &str, range: &Range<usize>) -> String {
    cut_to(css.at(range.clone()).trim(), 30)
}

fn attribute_place(document: &Document<'_>, attribute: roxmltree::Attribute<'_, '_>) -> CssSpan {
    let range = attribute.range_value();
    let exact = document.input_text().at(range.clone()) == attribute.value();
    CssSpan {
        start: exact.then_some(range.start),
        whole: attribute.range(),
    }
}

/// Reads the inside of a rule or a `style` attribute.
pub(super) fn block(inside: &str, place: &CssSpan, range: Range<usize>) -> Block {
    let mut block = Block {
        range,
        ..Block::default()
    };
    for entry in declarations(inside) {
        match entry {
            Entry::Declaration(declaration) => {
                let name = &declaration.name;
                block.customs |= name.starts_with("--");
                block.watched |= !is_inert(name)
                    && (is_geometry(name)
                        || matches!(name.as_ref(), "font" | "all" | "transform")
                        || moves(name)
                        || animates(name)
                        || needs_unit(name)
                        || early_name(name).is_some());
                let mut long = Vec::new();
                expand(declaration, &mut long);
                block
                    .declarations
                    .extend(long.into_iter().map(Declaration::into_owned));
            }
            Entry::Empty { name, .. } if is_inert(&name) => {}
            Entry::Empty { name, range } => block.problems.push(problem(
                Kind::Broken,
                format!(
                    "{} is declared without a value, after which some readers lose what follows",
                    cut_to(&name, 40)
                ),
                "drop the declaration",
                place.of(&range),
            )),
            Entry::Nested(range) => block.problems.push(problem(
                Kind::Rule,
                format!(
                    "a rule stands inside a rule at \"{}\", which only some readers apply",
                    excerpt(inside, &range)
                ),
                "write it as a rule of its own",
                place.of(&range),
            )),
            Entry::Broken(range) => block.problems.push(problem(
                Kind::Broken,
                format!("a style is broken at \"{}\"", excerpt(inside, &range)),
                "put the declaration right or drop it",
                place.of(&range),
            )),
        }
    }
    block
}

/// How often a value calls `var()`, about.
fn calls_of(value: &str) -> usize {
    let count = value.matches("var(").count();
    count.max(usize::from(uses(value)))
}

/// How often the values that are not for other variables call `var()`.
fn calls_in(block: &Block) -> usize {
    let values = block
        .declarations
        .iter()
        .filter(|d| !d.name.starts_with("--"));
    values.map(|d| calls_of(&d.value)).sum()
}

/// How far the numbers of two transforms that are the same may be apart: they are rounded otherwise.
const SAME_TRANSFORM: f64 = 1e-6;

/// Whether an element's `transform` in CSS does something else than the one in its attribute.
fn contradicts(css: &str, attribute: Option<&str>) -> bool {
    let read = |text: &str, css: bool| match text {
        "none" => Some(Affine::IDENTITY),
        _ => transform::parse(text, css),
    };
    attribute.is_some_and(|text| {
        let both = read(text.trim(), false).zip(read(css, true));
        both.is_none_or(|(one, other)| {
            let numbers = one.as_coeffs().into_iter().zip(other.as_coeffs());
            numbers
                .into_iter()
                .any(|(a, b)| (a - b).abs() > SAME_TRANSFORM)
        })
    })
}

impl Audit<'_, '_> {
    /// Looks at the styles of one element.
    pub(super) fn element(&mut self, node: Node<'_, '_>) {
        let mut found = Vec::new();
        let mut watched = false;
        let mut calls = 0;
        for rule in self.sheets.matching(node, self.sheets.tree(&[])) {
            found.extend(rule.declarations.problems.iter().cloned());
            watched |= rule.declarations.watched;
            calls += calls_in(&rule.declarations);
        }
        if let Some(attribute) = node.attribute_node("style") {
            let block = block(
                attribute.value(),
                &attribute_place(self.document, attribute),
                attribute.range(),
            );
            watched |= block.watched;
            calls += calls_in(&block);
            found.extend(block.problems);
        }
        for attribute in node.attributes() {
            if attribute.namespace().is_some() {
                continue;
            }
            if is_presentation_attribute(attribute.name()) {
                calls += calls_of(attribute.value());
            }
            if matches!(attribute.name(), "font" | "marker") {
                found.push(problem(
                    Kind::Rule,
                    format!(
                        "\"{}\" is given as an attribute, which only some readers take",
                        attribute.name()
                    ),
                    "use the single properties in its place",
                    attribute.range(),
                ));
            }
        }
        if calls > 0 {
            self.parents_asked += node.ancestors().count() * calls;
            // From here on variables stay unresolved, and are reported for it.
            if self.parents_asked > MOST_PARENTS {
                self.sheets.customs = Customs::default();
            }
        }
        if watched || calls > 0 {
            self.declared(node, &mut found);
        }
        for problem in found {
            self.add(problem);
        }
    }

    /// Looks at the values that win on an element, where a rule or its style has something to watch.
    fn declared(&self, node: Node<'_, '_>, found: &mut Vec<StyleProblem>) {
        let element = node.tag_name().name();
        let declared = self.sheets.computed(node);
        let range = || {
            node.attribute_node("style")
                .map_or_else(|| opening(node), |style| style.range())
        };
        for (name, value, written) in declared.iter() {
            if uses(value) {
                found.push(problem(
                    Kind::Variable,
                    format!(
                        "the {name} of a {element} element is \"{}\", which does not resolve",
                        cut_to(value, 40)
                    ),
                    "write the value itself",
                    range(),
                ));
            }
            if written == Written::Attribute {
                continue;
            }
            let shown = cut_to(value, 40);
            if is_geometry_of(name, element) && node.attribute(name).map(str::trim) != Some(value) {
                found.push(problem(
                    Kind::Geometry,
                    format!("the {name} of a {element} element is set by CSS to \"{shown}\", which only some readers apply"),
                    "set it as an attribute",
                    range(),
                ));
            } else if name == "transform" && contradicts(value, node.attribute(name)) {
                found.push(problem(
                    Kind::Geometry,
                    format!("{name} is set by CSS to \"{shown}\" on a {element} element that has another as an attribute, which some readers take in its place"),
                    "keep one of the two",
                    range(),
                ));
            } else if moves(name) && value != "none" {
                found.push(problem(
                    Kind::Geometry,
                    format!("{name} is set by CSS to \"{shown}\" on a {element} element, which only some readers apply"),
                    "move the element itself",
                    range(),
                ));
            } else if animates(name) && value != "none" {
                found.push(problem(
                    Kind::Animation,
                    format!("a {element} element is animated by CSS"),
                    "take the animation out",
                    range(),
                ));
            } else if needs_unit(name)
                && self.sized.matters(node)
                && number(value).is_some_and(|value| value != 0.0)
            {
                found.push(problem(
                    Kind::Geometry,
                    format!("{name} is set by CSS to \"{shown}\" without a unit, which some readers drop and some take for px"),
                    "write the unit",
                    range(),
                ));
            } else if name == "all" {
                found.push(problem(
                    Kind::Rule,
                    format!("a {element} element sets all its properties at once to \"{shown}\", which only some readers apply"),
                    "set the single properties",
                    range(),
                ));
            } else if name == "font" {
                found.push(problem(
                    Kind::Broken,
                    format!("the font \"{shown}\" cannot be read"),
                    "use font-family, font-size and their like in its place",
                    range(),
                ));
            } else if let Some(early) = early_name(name)
                && declared.get(early) != Some(value)
                && value != "none"
            {
                found.push(problem(
                    Kind::Rule,
                    format!("{name} is set to \"{shown}\" on a {element} element, which only some readers apply"),
                    "use the property without the prefix, or none",
                    range(),
                ));
            }
        }
    }
}
