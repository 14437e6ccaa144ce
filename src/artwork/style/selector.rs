//! Selectors: which elements a rule is about. Selectors Level 4, as far as artwork uses it.

mod reader;

use std::collections::HashMap;

use roxmltree::{Node, NodeId};

use super::syntax::{split, without_comments};
use crate::artwork::length::is_space;
use crate::ids::At;
use reader::Reader;

/// How deep `:not()`, `:is()` and `:where()` may stand in each other. Reading and matching call
/// themselves once a level.
const DEEPEST_NESTING: usize = 8;

/// A selector, without the commas.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Selector {
    /// From left to right; the combinator of the first is not used.
    steps: Vec<(Combinator, Compound)>,
    /// Ids; classes and their like; types. Compared in that order (Selectors 4, section 17).
    pub(super) specificity: [u32; 3],
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Combinator {
    Descendant,
    Child,
    Next,
    Later,
}

#[derive(Debug, Clone, PartialEq, Default)]
struct Compound {
    tag: Option<String>,
    tests: Vec<Test>,
}

#[derive(Debug, Clone, PartialEq)]
enum Test {
    Id(String),
    Class(String),
    Attribute {
        name: String,
        any_namespace: bool,
        test: Value,
        any_case: bool,
    },
    Root,
    Empty,
    Nth {
        step: i64,
        start: i64,
        from_end: bool,
        of_type: bool,
    },
    Only {
        of_type: bool,
    },
    Not(Vec<Selector>),
    Any(Vec<Selector>),
    /// States and parts that a static drawing never has: `:hover`, `::selection`.
    Never,
}

#[derive(Debug, Clone, PartialEq)]
enum Value {
    Exists,
    Is(String),
    Word(String),
    Dashed(String),
    Starts(String),
    Ends(String),
    Holds(String),
}

/// Where an element stands among its siblings, each count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct SiblingPosition {
    child: u32,
    from_end: u32,
    of_type: u32,
    of_type_from_end: u32,
}

/// Places of all elements by the number of their node, where a selector asks for them. Counting anew
/// for each element would take the square of the siblings' number.
#[derive(Debug, Default)]
pub(super) struct Places(Vec<SiblingPosition>);

impl Places {
    pub(super) fn count(document: &roxmltree::Document<'_>) -> Self {
        let nodes = document
            .descendants()
            .map(|node| node.id().get_usize() + 1)
            .max()
            .unwrap_or(0);
        let mut places = vec![SiblingPosition::default(); nodes];
        for parent in document.descendants().filter(Node::has_children) {
            let mut children: Vec<_> = parent.children().filter(Node::is_element).collect();
            for from_end in [false, true] {
                let mut types: HashMap<_, u32> = HashMap::new();
                for (position, child) in (1..).zip(&children) {
                    let name = (child.tag_name().namespace(), child.tag_name().name());
                    let of_type = types.entry(name).or_default();
                    *of_type += 1;
                    let place = places.at_mut(child.id().get_usize());
                    if from_end {
                        (place.from_end, place.of_type_from_end) = (position, *of_type);
                    } else {
                        (place.child, place.of_type) = (position, *of_type);
                    }
                }
                children.reverse();
            }
        }
        Self(places)
    }

    fn of(&self, node: Node<'_, '_>) -> SiblingPosition {
        self.0
            .get(node.id().get_usize())
            .copied()
            .unwrap_or_default()
    }
}

/// What stands around an element as selectors see it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tree<'p> {
    places: &'p Places,
    /// The top of the clone that a `use` makes, which has neither parent nor siblings there (SVG 2,
    /// 5.6.3). Without one it is the document.
    top: Option<NodeId>,
}

impl<'p> Tree<'p> {
    pub(super) fn document(places: &'p Places) -> Self {
        Self { places, top: None }
    }

    pub(super) fn clone_of(target: Node<'_, '_>, places: &'p Places) -> Self {
        let top = Some(target.id());
        Self { places, top }
    }

    fn parent<'a, 'i>(self, node: Node<'a, 'i>) -> Option<Node<'a, 'i>> {
        node.parent_element()
            .filter(|_| self.top != Some(node.id()))
    }

    fn previous<'a, 'i>(self, node: Node<'a, 'i>) -> Option<Node<'a, 'i>> {
        node.prev_sibling_element()
            .filter(|_| self.top != Some(node.id()))
    }

    fn place(self, node: Node<'_, '_>) -> SiblingPosition {
        if self.top == Some(node.id()) {
            return SiblingPosition {
                child: 1,
                from_end: 1,
                of_type: 1,
                of_type_from_end: 1,
            };
        }
        self.places.of(node)
    }
}

/// What a rule is looked up by: the most selective condition of its last step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Key {
    Id(String),
    Class(String),
    Tag(String),
    Any,
}

/// How a match failed; it tells how far back another try makes sense, so that a chain of steps is
/// never tried in every combination.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    Matches,
    /// Another sibling or ancestor may do.
    FailsHere,
    /// No earlier sibling will do; an ancestor may.
    FailsAmongSiblings,
    /// Nothing further up will do.
    Fails,
}

impl Selector {
    /// Reads a selector list. Each selector that cannot be read is handed back as written.
    pub(super) fn list(text: &str) -> Vec<Result<Self, String>> {
        Self::list_at(text, 0)
    }

    fn list_at(text: &str, depth: usize) -> Vec<Result<Self, String>> {
        split(text, b',')
            .into_iter()
            .map(|one| {
                let clean = without_comments(one);
                Reader {
                    rest: clean.trim_matches(is_space),
                    depth,
                }
                .selector()
                .ok_or_else(|| one.trim_matches(is_space).to_owned())
            })
            .collect()
    }

    /// Whether matching needs [`Places`].
    pub(super) fn counts(&self) -> bool {
        self.any(&|test| matches!(test, Test::Nth { .. } | Test::Only { .. }))
    }

    /// Whether it looks at all earlier siblings.
    pub(super) fn looks_back(&self) -> bool {
        self.steps
            .iter()
            .any(|(combinator, _)| *combinator == Combinator::Later)
            || self.any(&|test| match test {
                Test::Not(list) | Test::Any(list) => list.iter().any(Self::looks_back),
                _ => false,
            })
    }

    /// Whether it looks at anything but the element itself.
    pub(super) fn looks_around(&self) -> bool {
        self.steps.len() > 1
            || self.counts()
            || self.any(&|test| match test {
                Test::Not(list) | Test::Any(list) => list.iter().any(Self::looks_around),
                _ => false,
            })
    }

    fn any(&self, found: &dyn Fn(&Test) -> bool) -> bool {
        self.steps
            .iter()
            .flat_map(|(_, compound)| &compound.tests)
            .any(|test| {
                found(test)
                    || match test {
                        Test::Not(list) | Test::Any(list) => list.iter().any(|s| s.any(found)),
                        _ => false,
                    }
            })
    }

    /// What to look it up by.
    pub(super) fn key(&self) -> Key {
        let Some((_, last)) = self.steps.last() else {
            return Key::Any;
        };
        let id = last.tests.iter().find_map(|test| match test {
            Test::Id(id) => Some(Key::Id(id.clone())),
            _ => None,
        });
        let class = || {
            last.tests.iter().find_map(|test| match test {
                Test::Class(class) => Some(Key::Class(class.clone())),
                _ => None,
            })
        };
        id.or_else(class)
            .or_else(|| last.tag.clone().map(Key::Tag))
            .unwrap_or(Key::Any)
    }

    /// Whether it is about this element.
    pub(super) fn matches(&self, node: Node<'_, '_>, tree: Tree<'_>) -> bool {
        self.attempt(self.steps.len(), node, tree) == Outcome::Matches
    }

    /// Matches the first `steps` steps, the last of them against `node`.
    fn attempt(&self, steps: usize, node: Node<'_, '_>, tree: Tree<'_>) -> Outcome {
        let Some((combinator, compound)) = steps.checked_sub(1).and_then(|i| self.steps.get(i))
        else {
            return Outcome::Fails;
        };
        if !compound.matches(node, tree) {
            return Outcome::FailsHere;
        }
        let before = steps - 1;
        if before == 0 {
            return Outcome::Matches;
        }
        match combinator {
            Combinator::Descendant => {
                let mut above = tree.parent(node);
                while let Some(ancestor) = above {
                    match self.attempt(before, ancestor, tree) {
                        end @ (Outcome::Matches | Outcome::Fails) => return end,
                        Outcome::FailsHere | Outcome::FailsAmongSiblings => {}
                    }
                    above = tree.parent(ancestor);
                }
                Outcome::Fails
            }
            Combinator::Child => match tree.parent(node) {
                None => Outcome::Fails,
                Some(parent) => match self.attempt(before, parent, tree) {
                    end @ (Outcome::Matches | Outcome::Fails) => end,
                    Outcome::FailsHere | Outcome::FailsAmongSiblings => Outcome::FailsAmongSiblings,
                },
            },
            Combinator::Next => match tree.previous(node) {
                None => Outcome::FailsAmongSiblings,
                Some(previous) => self.attempt(before, previous, tree),
            },
            Combinator::Later => {
                let mut earlier = tree.previous(node);
                while let Some(sibling) = earlier {
                    match self.attempt(before, sibling, tree) {
                        Outcome::FailsHere => {}
                        end => return end,
                    }
                    earlier = tree.previous(sibling);
                }
                Outcome::FailsAmongSiblings
            }
        }
    }
}

impl Compound {
    fn matches(&self, node: Node<'_, '_>, tree: Tree<'_>) -> bool {
        self.tag
            .as_ref()
            .is_none_or(|tag| node.tag_name().name() == tag)
            && self.tests.iter().all(|test| test.holds(node, tree))
    }
}

impl Test {
    fn holds(&self, node: Node<'_, '_>, tree: Tree<'_>) -> bool {
        match self {
            Self::Id(id) => node.attribute("id") == Some(id),
            Self::Class(class) => node
                .attribute("class")
                .is_some_and(|classes| classes.split(is_space).any(|one| one == class)),
            Self::Attribute {
                name,
                any_namespace,
                test,
                any_case,
            } => node
                .attributes()
                .filter(|attribute| *any_namespace || attribute.namespace().is_none())
                .filter(|attribute| attribute.name() == name)
                .any(|attribute| {
                    if *any_case {
                        test.fits(&attribute.value().to_ascii_lowercase())
                    } else {
                        test.fits(attribute.value())
                    }
                }),
            Self::Root => node.parent().is_some_and(|parent| parent.is_root()),
            Self::Empty => !node.children().any(|child| {
                child.is_element()
                    || child
                        .text()
                        .is_some_and(|t| child.is_text() && !t.is_empty())
            }),
            Self::Nth {
                step,
                start,
                from_end,
                of_type,
            } => {
                let place = tree.place(node);
                let position = i64::from(match (from_end, of_type) {
                    (false, false) => place.child,
                    (true, false) => place.from_end,
                    (false, true) => place.of_type,
                    (true, true) => place.of_type_from_end,
                });
                let beyond = position - start;
                if *step == 0 {
                    beyond == 0
                } else {
                    beyond % step == 0 && beyond / step >= 0
                }
            }
            Self::Only { of_type } => {
                let place = tree.place(node);
                if *of_type {
                    place.of_type == 1 && place.of_type_from_end == 1
                } else {
                    place.child == 1 && place.from_end == 1
                }
            }
            Self::Not(list) => !list.iter().any(|selector| selector.matches(node, tree)),
            Self::Any(list) => list.iter().any(|selector| selector.matches(node, tree)),
            Self::Never => false,
        }
    }
}

impl Value {
    fn fits(&self, value: &str) -> bool {
        match self {
            Self::Exists => true,
            Self::Is(want) => value == want,
            // An empty text is in nothing: Selectors 4, section 6.2.
            Self::Word(want) => !want.is_empty() && value.split(is_space).any(|word| word == want),
            Self::Dashed(want) => value
                .strip_prefix(want.as_str())
                .is_some_and(|rest| rest.is_empty() || rest.starts_with('-')),
            Self::Starts(want) => !want.is_empty() && value.starts_with(want.as_str()),
            Self::Ends(want) => !want.is_empty() && value.ends_with(want.as_str()),
            Self::Holds(want) => !want.is_empty() && value.contains(want.as_str()),
        }
    }
}
