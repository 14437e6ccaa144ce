//! Gathers the stylesheets of a document, and finds everything in its styles that some reader may
//! take differently.

mod elements;

use std::collections::{HashMap, HashSet};
use std::ops::Range;
use std::sync::Arc;

use memchr::{memchr2_iter, memmem};
use roxmltree::{Document, Node, NodeId, NodeType};

use super::selector::{Places, Selector, Tree};
use super::syntax::{Entry, Item, declarations, items};
use super::variables::Customs;
use super::{Index, Rule, Sheets, StyleProblem, StyleProblemKind as Kind};
use crate::artwork::source::SVG;
use crate::ids::At;
use crate::wording::cut_to;
use elements::{CssSpan, block, excerpt, problem};

/// How many matches of a rule against an element are tried in all: some seconds. A hundred thousand
/// elements with a class each take as many tries, and each declaration of a rule takes another.
const MOST_TRIES: usize = 50_000_000;

/// How many siblings `~` may look back over, times the rules that do.
const MOST_SIBLINGS: usize = 5_000;

/// How deep at-rules may stand in each other before they are reported without a look inside.
const DEEPEST_AT_RULES: usize = 8;

/// At-rules that contain rules and apply them conditionally.
const GROUPS: [&str; 6] = [
    "media",
    "supports",
    "layer",
    "container",
    "scope",
    "starting-style",
];

const XHTML: &str = "http://www.w3.org/1999/xhtml";

pub(super) fn collect(document: &Document<'_>) -> Sheets {
    let mut audit = Audit {
        document,
        sheets: Sheets::default(),
        met: HashMap::new(),
        at_rules: Vec::new(),
        parents_asked: 0,
        lettering: document
            .descendants()
            .any(|node| is_svg(node) && node.tag_name().name() == "text"),
        sized: sized(document),
    };
    let mut titles: Vec<&str> = Vec::new();
    for node in document.descendants() {
        if node.is_pi() && node.pi().is_some_and(|pi| pi.target == "xml-stylesheet") {
            audit.report(
                Kind::External,
                "the file takes a stylesheet from another file",
                "put the styles into the file itself",
                node.range(),
            );
        }
        let html = node.tag_name().namespace() == Some(XHTML);
        if node.has_tag_name("link") || (html && node.tag_name().name() == "link") {
            audit.report(
                Kind::External,
                "the file links to a stylesheet in another file",
                "put the styles into the file itself",
                node.range(),
            );
        }
        if node.is_element() && node.tag_name().name() == "style" && (html || is_svg(node)) {
            if let Some(title) = node.attribute("title").filter(|title| !title.is_empty()) {
                titles.push(title);
                if titles.iter().any(|other| *other != title) {
                    audit.report(
                        Kind::Rule,
                        "the file holds stylesheets to choose between by title",
                        "keep one of them",
                        node.range(),
                    );
                }
            }
            audit.style_element(node);
        }
    }
    audit.finish()
}

/// Whether an element is of SVG, or of no namespace in a file that declares none.
fn is_svg(node: Node<'_, '_>) -> bool {
    node.is_element() && node.tag_name().namespace().is_none_or(|ns| ns == SVG)
}

/// Where the size of letters makes a difference.
///
/// Editors write `font-size` on every shape they draw. It says nothing there, unless something is
/// measured in ems.
enum Sized {
    /// Somewhere a length is in ems or the like: anywhere.
    Everywhere,
    /// On these: lettering, and what lettering inherits from.
    On(HashSet<NodeId>),
}

impl Sized {
    fn matters(&self, node: Node<'_, '_>) -> bool {
        match self {
            Self::Everywhere => true,
            // A clone hands its style down to what it repeats.
            Self::On(nodes) => node.tag_name().name() == "use" || nodes.contains(&node.id()),
        }
    }
}

fn sized(document: &Document<'_>) -> Sized {
    if in_ems(document.input_text()) {
        return Sized::Everywhere;
    }
    let mut nodes = HashSet::new();
    // What stands around or inside lettering. Flowed lettering is reported as such, whatever its size.
    let lettering = |n: &Node<'_, '_>| {
        is_svg(*n) && matches!(n.tag_name().name(), "text" | "tspan" | "textPath" | "tref")
    };
    for node in document.descendants().filter(lettering) {
        for around in node.ancestors() {
            if !nodes.insert(around.id()) {
                break;
            }
        }
        // Elements of any other name inside lettering.
        if node.tag_name().name() == "text" {
            nodes.extend(node.descendants().map(|n| n.id()));
        }
    }
    Sized::On(nodes)
}

/// Whether anything in the text looks like a length in ems. It may find too many, never too few: an
/// entity could hide one, so entities count too.
fn in_ems(text: &str) -> bool {
    let bytes = text.as_bytes();
    let at = |i: usize| bytes.get(i).map(u8::to_ascii_lowercase);
    let back = |i: usize, by: usize| i.checked_sub(by).and_then(at);
    let number = |b: Option<u8>| b.is_some_and(|b| b.is_ascii_digit() || b == b'.');
    memchr2_iter(b'm', b'M', bytes).any(|m| {
        let ems = back(m, 1) == Some(b'e')
            && (number(back(m, 2)) || back(m, 2) == Some(b'r') && number(back(m, 3)));
        // The letters of an embedded picture go on with a letter, a digit, "+" or "/".
        ems && at(m + 1).is_none_or(|b| !b.is_ascii_alphanumeric() && !b"+/_".contains(&b))
    }) || memmem::find_iter(bytes, b"<!").any(|i| {
        bytes
            .get(i..i + 8)
            .is_some_and(|word| word.eq_ignore_ascii_case(b"<!entity"))
    })
}

/// An at-rule whose inside must be held against the elements.
struct Pending {
    name: String,
    css: String,
    range: Range<usize>,
}

struct Audit<'a, 'input> {
    document: &'a Document<'input>,
    sheets: Sheets,
    /// Where in the list a problem stands that has been met before.
    met: HashMap<(Kind, String), usize>,
    at_rules: Vec<Pending>,
    /// How many parents have been asked for the values of variables.
    parents_asked: usize,
    /// Whether there is any lettering, for which a font could matter.
    lettering: bool,
    /// The elements whose size of letters matters to something that is drawn.
    sized: Sized,
}

impl Audit<'_, '_> {
    fn report(&mut self, kind: Kind, what: impl Into<String>, help: &str, range: Range<usize>) {
        self.add(problem(kind, what, help, range));
    }

    fn add(&mut self, problem: StyleProblem) {
        let key = (problem.kind, problem.what.clone());
        if let Some(at) = self.met.get(&key) {
            self.sheets.problems.at_mut(*at).count += 1;
            return;
        }
        self.met.insert(key, self.sheets.problems.len());
        self.sheets.problems.push(problem);
    }

    fn style_element(&mut self, node: Node<'_, '_>) {
        let whole = node.range();
        let kind = node.attribute("type").map(str::trim).unwrap_or_default();
        let essence = kind.split(';').next().unwrap_or_default().trim();
        if !essence.is_empty() && !essence.eq_ignore_ascii_case("text/css") {
            self.report(
                Kind::Rule,
                format!("a stylesheet is written in \"{}\"", cut_to(kind, 40)),
                "convert it to plain CSS, or to attributes",
                whole,
            );
            return;
        }
        let media = node.attribute("media").map(str::trim).unwrap_or_default();
        if !media.is_empty() && !media.eq_ignore_ascii_case("all") {
            self.report(
                Kind::Rule,
                format!(
                    "a stylesheet is for the medium \"{}\" only",
                    cut_to(media, 40)
                ),
                "drop the sheet, or its media attribute",
                whole.clone(),
            );
        }
        let texts: Vec<_> = node.children().filter(Node::is_text).collect();
        for child in node.children() {
            let hidden = child.node_type() == NodeType::Comment
                && child.text().is_some_and(|text| text.contains(['{', '@']));
            if hidden {
                self.report(
                    Kind::Rule,
                    "a stylesheet stands in an XML comment, which some readers read all the same",
                    "take the comment signs away, or the sheet",
                    child.range(),
                );
            } else if child.is_element() {
                self.report(
                    Kind::Broken,
                    "a stylesheet holds an element",
                    "take the element out",
                    child.range(),
                );
            }
        }
        let css: String = texts.iter().filter_map(Node::text).collect();
        let start = match texts.as_slice() {
            // A text node's range takes the marks of a CDATA section with it.
            [text] => self
                .document
                .input_text()
                .get(text.range())
                .and_then(|raw| raw.find(css.as_str()))
                .map(|at| text.range().start + at),
            _ => None,
        };
        self.sheet(&css, &CssSpan { start, whole });
    }

    fn sheet(&mut self, css: &str, place: &CssSpan) {
        for item in items(css) {
            match item {
                Item::Rule { prelude, block } => {
                    let range = place.of(&(prelude.start..(block.end + 1).min(css.len())));
                    let selectors = css.at(prelude);
                    let inside = css.at(block.clone());
                    self.rule(selectors, inside, &place.inside(block.start), range);
                }
                Item::At {
                    name,
                    prelude,
                    block,
                    whole,
                } => {
                    let range = place.of(&whole);
                    let prelude = css.at(prelude);
                    self.at_rule(&name, prelude, block.map(|block| css.at(block)), range);
                }
                Item::Broken(range) => self.report(
                    Kind::Broken,
                    format!("a stylesheet is broken at \"{}\"", excerpt(css, &range)),
                    "put the rule right or drop it",
                    place.of(&range),
                ),
            }
        }
    }

    fn rule(&mut self, selectors: &str, inside: &str, place: &CssSpan, range: Range<usize>) {
        let block = block(inside, place, range.clone());
        let inert = block.is_inert();
        let block = Arc::new(block);
        for selector in Selector::list(selectors) {
            match selector {
                Ok(selector) => {
                    let order = self.sheets.rules.len();
                    self.sheets.index.add(selector.key(), order);
                    self.sheets.rules.push(Rule {
                        selector,
                        declarations: Arc::clone(&block),
                        order,
                    });
                }
                Err(_) if inert => {}
                Err(written) => self.report(
                    Kind::Rule,
                    format!(
                        "a stylesheet picks elements by \"{}\", which is not understood",
                        cut_to(&written, 40)
                    ),
                    "pick them by class or id, or use attributes",
                    range.clone(),
                ),
            }
        }
    }

    fn at_rule(&mut self, name: &str, prelude: &str, block: Option<&str>, range: Range<usize>) {
        let shown = cut_to(name, 40);
        match (name, block) {
            (
                "charset"
                | "page"
                | "counter-style"
                | "font-palette-values"
                | "font-feature-values",
                _,
            )
            | ("layer", None) => {}
            ("namespace", _)
                if prelude.contains(SVG)
                    || !prelude.trim_start().starts_with(['"', '\'', 'u', 'U']) => {}
            ("import", _) => self.report(
                Kind::External,
                "a stylesheet imports another file",
                "put the styles into the file itself",
                range,
            ),
            ("font-face", _) => {
                let mut problem = problem(
                    Kind::FontFace,
                    "the file brings or fetches a font of its own by @font-face",
                    "convert the lettering to outlines, or install the font",
                    range,
                );
                problem.harmless = !self.lettering;
                self.sheets.faces.push(brought(block.unwrap_or("")));
                self.add(problem);
            }
            (name, _) if name.ends_with("keyframes") => {
                // It changes nothing by itself: an element that uses it is reported as animated.
                let mut problem = problem(
                    Kind::Animation,
                    "a stylesheet describes an animation",
                    "take the animation out",
                    range,
                );
                problem.harmless = true;
                self.add(problem);
            }
            (name, Some(block)) if GROUPS.contains(&name) => {
                self.at_rules.push(Pending {
                    name: shown,
                    css: block.to_owned(),
                    range,
                });
            }
            _ => self.report(
                Kind::Rule,
                format!("a stylesheet holds an @{shown} rule, which only some readers apply"),
                "write the rule without it, or use attributes",
                range,
            ),
        }
    }

    fn finish(mut self) -> Sheets {
        let document = self.document;
        let elements: Vec<_> = document
            .root()
            .descendants()
            .filter(|node| is_svg(*node))
            .collect();
        if self.sheets.rules.iter().any(|rule| rule.selector.counts()) {
            self.sheets.places = Places::count(document);
        }
        self.limit(&elements);
        let mut rules = self.sheets.rules.iter();
        self.sheets.looks_around = rules.any(|rule| rule.selector.looks_around());
        let mut tries = MOST_TRIES;
        for pending in std::mem::take(&mut self.at_rules) {
            if matters(&pending.css, &elements, &mut tries, 0) {
                self.report(
                    Kind::Rule,
                    format!(
                        "a stylesheet holds an @{} rule, which only some readers apply",
                        pending.name
                    ),
                    "write the rule without it, or use attributes",
                    pending.range,
                );
            }
        }
        // Past a limit variables stay unresolved, and are reported for it.
        self.sheets.customs = Customs::gather(&self.sheets, &elements).unwrap_or_default();
        for element in elements {
            self.element(element);
        }
        let mut problems = std::mem::take(&mut self.sheets.problems);
        problems.sort_by_key(|problem| (problem.range.start, problem.range.end));
        self.sheets.problems = problems;
        self.sheets
    }

    /// Drops all rules where holding them against the elements would take too long.
    fn limit(&mut self, elements: &[Node<'_, '_>]) {
        let sheets = &self.sheets;
        if sheets.rules.is_empty() {
            return;
        }
        let tries: usize = elements
            .iter()
            .flat_map(|node| sheets.index.candidates(*node))
            .map(|rule| &sheets.rules.at(rule).declarations.declarations)
            .map(|declarations| 1 + declarations.len())
            .sum();
        let looking_back = sheets
            .rules
            .iter()
            .filter(|rule| rule.selector.looks_back())
            .count();
        let siblings = || {
            let parents = elements
                .iter()
                .map(|node| node.children().filter(Node::is_element).count());
            parents.max().unwrap_or(0)
        };
        let long = looking_back > 0 && siblings().saturating_mul(looking_back) > MOST_SIBLINGS;
        if tries > MOST_TRIES || long {
            let range = sheets
                .rules
                .first()
                .map_or(0..0, |rule| rule.declarations.range.clone());
            self.sheets.rules.clear();
            self.sheets.index = Index::default();
            self.report(
                Kind::Rule,
                "the stylesheets take too long to be held against the elements, and are not applied",
                "export with attributes in place of stylesheets",
                range,
            );
        }
    }
}

/// The family that an `@font-face` brings, in small letters; `None` where it cannot be told.
fn brought(block: &str) -> Option<String> {
    let face = declarations(block)
        .into_iter()
        .find_map(|entry| match entry {
            Entry::Declaration(d) if d.name == "font-family" => Some(d.value.into_owned()),
            _ => None,
        })?;
    let face = super::family(face.trim_matches(['"', '\'']));
    (!face.is_empty() && !face.contains(['\\', '('])).then_some(face)
}

/// Whether the inside of an at-rule could change anything: a rule in it that is not inert is about an
/// element, or cannot be read. `tries` is how many matches may still be tried.
fn matters(css: &str, elements: &[Node<'_, '_>], tries: &mut usize, depth: usize) -> bool {
    if depth > DEEPEST_AT_RULES {
        return true;
    }
    let whole = CssSpan {
        start: None,
        whole: 0..0,
    };
    items(css).into_iter().any(|item| match item {
        Item::Rule {
            prelude,
            block: inside,
        } => {
            let block = block(css.at(inside), &whole, 0..0);
            if block.is_inert() {
                return false;
            }
            Selector::list(css.at(prelude)).into_iter().any(|selector| {
                let Some(left) = tries.checked_sub(elements.len()) else {
                    return true;
                };
                *tries = left;
                match selector {
                    // Counting siblings would take long here. Such a selector inside an at-rule is
                    // rare, so it is reported without being tried.
                    Ok(selector) if selector.counts() || selector.looks_back() => true,
                    Ok(selector) => {
                        let (places, found) = (Places::default(), elements.iter());
                        let tree = Tree::document(&places);
                        found.copied().any(|node| selector.matches(node, tree))
                    }
                    Err(_) => true,
                }
            })
        }
        Item::At {
            name,
            block: Some(inside),
            ..
        } if GROUPS.contains(&name.as_str()) => matters(css.at(inside), elements, tries, depth + 1),
        Item::At { .. } | Item::Broken(_) => true,
    })
}
