//! Selectors: which elements a rule is about. Selectors Level 4, as far as artwork uses it.

use std::collections::HashMap;

use roxmltree::Node;

use super::syntax::{split, without_comments};
use crate::artwork::length::is_space;

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
    /// States that a file at rest is not in, and parts that it has none of: `:hover`, `::selection`.
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
pub(super) struct Place {
    child: u32,
    from_end: u32,
    of_type: u32,
    of_type_from_end: u32,
}

/// Places of all elements by the number of their node, where a selector asks for them. Counting anew
/// for each element would take the square of the siblings' number.
#[derive(Debug, Default)]
pub(super) struct Places(Vec<Place>);

impl Places {
    pub(super) fn count(document: &roxmltree::Document<'_>) -> Self {
        let nodes = document
            .descendants()
            .map(|node| node.id().get_usize() + 1)
            .max()
            .unwrap_or(0);
        let mut places = vec![Place::default(); nodes];
        for parent in document.descendants().filter(Node::has_children) {
            let mut children: Vec<_> = parent.children().filter(Node::is_element).collect();
            for from_end in [false, true] {
                let mut types: HashMap<_, u32> = HashMap::new();
                for (position, child) in (1..).zip(&children) {
                    let name = (child.tag_name().namespace(), child.tag_name().name());
                    let of_type = types.entry(name).or_default();
                    *of_type += 1;
                    let Some(place) = places.get_mut(child.id().get_usize()) else {
                        continue;
                    };
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

    fn of(&self, node: Node<'_, '_>) -> Place {
        self.0
            .get(node.id().get_usize())
            .copied()
            .unwrap_or_default()
    }
}

/// What a rule can be looked up by: the rarest thing that its last step demands.
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
    pub(super) fn matches(&self, node: Node<'_, '_>, places: &Places) -> bool {
        self.attempt(self.steps.len(), node, places) == Outcome::Matches
    }

    /// Matches the first `steps` steps, the last of them against `node`.
    fn attempt(&self, steps: usize, node: Node<'_, '_>, places: &Places) -> Outcome {
        let Some((combinator, compound)) = steps.checked_sub(1).and_then(|i| self.steps.get(i))
        else {
            return Outcome::Fails;
        };
        if !compound.matches(node, places) {
            return Outcome::FailsHere;
        }
        let before = steps - 1;
        if before == 0 {
            return Outcome::Matches;
        }
        match combinator {
            Combinator::Descendant => {
                let mut above = node.parent_element();
                while let Some(ancestor) = above {
                    match self.attempt(before, ancestor, places) {
                        end @ (Outcome::Matches | Outcome::Fails) => return end,
                        Outcome::FailsHere | Outcome::FailsAmongSiblings => {}
                    }
                    above = ancestor.parent_element();
                }
                Outcome::Fails
            }
            Combinator::Child => match node.parent_element() {
                None => Outcome::Fails,
                Some(parent) => match self.attempt(before, parent, places) {
                    end @ (Outcome::Matches | Outcome::Fails) => end,
                    Outcome::FailsHere | Outcome::FailsAmongSiblings => Outcome::FailsAmongSiblings,
                },
            },
            Combinator::Next => match node.prev_sibling_element() {
                None => Outcome::FailsAmongSiblings,
                Some(previous) => self.attempt(before, previous, places),
            },
            Combinator::Later => {
                let mut earlier = node.prev_sibling_element();
                while let Some(sibling) = earlier {
                    match self.attempt(before, sibling, places) {
                        Outcome::FailsHere => {}
                        end => return end,
                    }
                    earlier = sibling.prev_sibling_element();
                }
                Outcome::FailsAmongSiblings
            }
        }
    }
}

impl Compound {
    fn matches(&self, node: Node<'_, '_>, places: &Places) -> bool {
        self.tag
            .as_ref()
            .is_none_or(|tag| node.tag_name().name() == tag)
            && self.tests.iter().all(|test| test.holds(node, places))
    }
}

impl Test {
    fn holds(&self, node: Node<'_, '_>, places: &Places) -> bool {
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
                let place = places.of(node);
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
                let place = places.of(node);
                if *of_type {
                    place.of_type == 1 && place.of_type_from_end == 1
                } else {
                    place.child == 1 && place.from_end == 1
                }
            }
            Self::Not(list) => !list.iter().any(|selector| selector.matches(node, places)),
            Self::Any(list) => list.iter().any(|selector| selector.matches(node, places)),
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

/// Reads a selector from left to right. Every method gives `None` for what it does not know.
struct Reader<'a> {
    rest: &'a str,
    depth: usize,
}

impl Reader<'_> {
    fn selector(mut self) -> Option<Selector> {
        if self.depth > DEEPEST_NESTING {
            return None;
        }
        let mut steps = Vec::new();
        let mut specificity = [0; 3];
        let mut combinator = Combinator::Descendant;
        loop {
            steps.push((combinator, self.compound(&mut specificity)?));
            if self.rest.is_empty() {
                return Some(Selector { steps, specificity });
            }
            combinator = self.combinator()?;
        }
    }

    fn combinator(&mut self) -> Option<Combinator> {
        let after = self.rest.trim_start_matches(is_space);
        let combinator = match after.chars().next()? {
            '>' => Combinator::Child,
            '+' => Combinator::Next,
            '~' => Combinator::Later,
            _ if after.len() < self.rest.len() => {
                self.rest = after;
                return Some(Combinator::Descendant);
            }
            _ => return None,
        };
        self.rest = after.get(1..)?.trim_start_matches(is_space);
        Some(combinator)
    }

    fn compound(&mut self, specificity: &mut [u32; 3]) -> Option<Compound> {
        let [ids, classes, types] = specificity;
        let before = self.rest.len();
        let mut compound = Compound::default();
        if self.eat("*|*") || self.eat("*") {
            if self.rest.starts_with('|') {
                self.eat("|");
                compound.tag = Some(self.name()?);
                *types += 1;
            }
        } else if let Some(name) = self.name() {
            // A prefix is declared by `@namespace`; the few files that do it are left to a person.
            if self.rest.starts_with('|') {
                return None;
            }
            compound.tag = Some(name);
            *types += 1;
        }
        loop {
            let test = match self.rest.chars().next() {
                Some('#') => {
                    self.eat("#");
                    *ids += 1;
                    Test::Id(self.name()?)
                }
                Some('.') => {
                    self.eat(".");
                    *classes += 1;
                    Test::Class(self.name()?)
                }
                Some('[') => {
                    *classes += 1;
                    self.attribute()?
                }
                Some(':') => {
                    let (test, [a, b, c]) = self.pseudo()?;
                    *ids += a;
                    *classes += b;
                    *types += c;
                    test
                }
                _ => break,
            };
            compound.tests.push(test);
        }
        (self.rest.len() < before).then_some(compound)
    }

    fn attribute(&mut self) -> Option<Test> {
        let (inside, rest) = self
            .rest
            .strip_prefix('[')?
            .split_at_checked(closing(self.rest, ']')? - 1)?;
        self.rest = rest.strip_prefix(']')?;
        let mut inner = Reader {
            rest: inside.trim_matches(is_space),
            depth: self.depth,
        };
        let any_namespace = inner.eat("*|");
        let name = inner.name()?;
        inner.space();
        if inner.rest.is_empty() {
            return Some(Test::Attribute {
                name,
                any_namespace,
                test: Value::Exists,
                any_case: false,
            });
        }
        let sign = ["~=", "|=", "^=", "$=", "*=", "="]
            .into_iter()
            .find(|sign| inner.eat(sign))?;
        inner.space();
        let value = match inner.rest.chars().next()? {
            '"' | '\'' => inner.string()?,
            _ => inner.name()?,
        };
        inner.space();
        let any_case = match inner.rest {
            "" | "s" | "S" => false,
            "i" | "I" => true,
            _ => return None,
        };
        let value = if any_case {
            value.to_ascii_lowercase()
        } else {
            value
        };
        let test = match sign {
            "~=" => Value::Word(value),
            "|=" => Value::Dashed(value),
            "^=" => Value::Starts(value),
            "$=" => Value::Ends(value),
            "*=" => Value::Holds(value),
            _ => Value::Is(value),
        };
        Some(Test::Attribute {
            name,
            any_namespace,
            test,
            any_case,
        })
    }

    /// A pseudo-class or pseudo-element, and what it adds to the specificity.
    fn pseudo(&mut self) -> Option<(Test, [u32; 3])> {
        let element = self.eat("::");
        if !element {
            self.eat(":");
        }
        let name = self.name()?.to_ascii_lowercase();
        if self.rest.starts_with('(') {
            let end = closing(self.rest, ')')?;
            let inside = self.rest.get(1..end)?.trim_matches(is_space);
            self.rest = self.rest.get(end + 1..)?;
            return if element {
                None
            } else {
                self.function(&name, inside)
            };
        }
        let nth = |from_end, of_type| Test::Nth {
            step: 0,
            start: 1,
            from_end,
            of_type,
        };
        let test = match (element, name.as_str()) {
            (false, "root") => Test::Root,
            (false, "empty") => Test::Empty,
            (false, "first-child") => nth(false, false),
            (false, "last-child") => nth(true, false),
            (false, "first-of-type") => nth(false, true),
            (false, "last-of-type") => nth(true, true),
            (false, "only-child") => Test::Only { of_type: false },
            (false, "only-of-type") => Test::Only { of_type: true },
            // Nobody points at a file that is sent to a laser.
            (
                false,
                "hover" | "active" | "focus" | "focus-visible" | "focus-within" | "visited"
                | "target",
            ) => Test::Never,
            // SVG has no boxes to put these into.
            (_, "before" | "after") => return Some((Test::Never, [0, 0, 1])),
            (true, "selection" | "marker" | "placeholder" | "backdrop") => {
                return Some((Test::Never, [0, 0, 1]));
            }
            _ => return None,
        };
        Some((test, [0, 1, 0]))
    }

    fn function(&self, name: &str, inside: &str) -> Option<(Test, [u32; 3])> {
        if let Some((from_end, of_type)) = match name {
            "nth-child" => Some((false, false)),
            "nth-last-child" => Some((true, false)),
            "nth-of-type" => Some((false, true)),
            "nth-last-of-type" => Some((true, true)),
            _ => None,
        } {
            let (step, start) = steps_of(inside)?;
            return Some((
                Test::Nth {
                    step,
                    start,
                    from_end,
                    of_type,
                },
                [0, 1, 0],
            ));
        }
        if !matches!(name, "not" | "is" | "where" | "matches") || self.depth >= DEEPEST_NESTING {
            return None;
        }
        let list: Vec<Selector> = Selector::list_at(inside, self.depth + 1)
            .into_iter()
            .collect::<Result<_, _>>()
            .ok()?;
        let heaviest = list.iter().map(|selector| selector.specificity).max()?;
        Some(match name {
            "not" => (Test::Not(list), heaviest),
            "where" => (Test::Any(list), [0; 3]),
            _ => (Test::Any(list), heaviest),
        })
    }

    fn eat(&mut self, text: &str) -> bool {
        let after = self.rest.strip_prefix(text);
        self.rest = after.unwrap_or(self.rest);
        after.is_some()
    }

    fn space(&mut self) {
        self.rest = self.rest.trim_start_matches(is_space);
    }

    /// An identifier, its escapes resolved (CSS Syntax 3, section 4.3.7).
    fn name(&mut self) -> Option<String> {
        let mut name = String::new();
        let mut rest = self.rest;
        while let Some(c) = rest.chars().next() {
            if c == '\\' {
                let (c, after) = escape(rest.get(1..)?)?;
                name.push(c);
                rest = after;
            } else if c.is_ascii_alphanumeric() || c == '-' || c == '_' || !c.is_ascii() {
                if name.is_empty() && c.is_ascii_digit() {
                    return None;
                }
                name.push(c);
                rest = rest.get(c.len_utf8()..)?;
            } else {
                break;
            }
        }
        let second = name.chars().nth(1);
        if name.is_empty()
            || name == "-"
            || (name.starts_with('-') && second.is_some_and(|c| c.is_ascii_digit()))
        {
            return None;
        }
        self.rest = rest;
        Some(name)
    }

    fn string(&mut self) -> Option<String> {
        let quote = self.rest.chars().next()?;
        let mut text = String::new();
        let mut rest = self.rest.get(1..)?;
        loop {
            let c = rest.chars().next()?;
            rest = rest.get(c.len_utf8()..)?;
            match c {
                '\\' => {
                    let (c, after) = escape(rest)?;
                    text.push(c);
                    rest = after;
                }
                c if c == quote => break,
                c => text.push(c),
            }
        }
        self.rest = rest;
        Some(text)
    }
}

/// The character that stands behind a backslash, and the rest.
fn escape(text: &str) -> Option<(char, &str)> {
    let digits = text
        .bytes()
        .take(6)
        .take_while(u8::is_ascii_hexdigit)
        .count();
    if digits == 0 {
        let c = text
            .chars()
            .next()
            .filter(|c| !matches!(c, '\n' | '\r' | '\x0c'))?;
        return Some((c, text.get(c.len_utf8()..)?));
    }
    let (code, rest) = text.split_at_checked(digits)?;
    let c = char::from_u32(u32::from_str_radix(code, 16).ok()?).filter(|c| *c != '\0')?;
    // One white space ends the number and belongs to it.
    let rest = rest
        .strip_prefix("\r\n")
        .or_else(|| rest.strip_prefix(is_space))
        .unwrap_or(rest);
    Some((c, rest))
}

/// Where the bracket that opens a text is closed.
fn closing(text: &str, close: char) -> Option<usize> {
    let inside = text.get(1..)?;
    let length = split(inside, u8::try_from(close).ok()?).first()?.len();
    inside
        .get(length..)?
        .starts_with(close)
        .then_some(length + 1)
}

/// `odd`, `even`, `3`, `2n+1`, `-n + 3` (CSS Syntax 3, section 6): every `step`, from `start` on.
fn steps_of(text: &str) -> Option<(i64, i64)> {
    let text = text.to_ascii_lowercase();
    match text.as_str() {
        "odd" => return Some((2, 1)),
        "even" => return Some((2, 0)),
        _ => {}
    }
    // Counts beyond a million siblings are no artwork, and keep the arithmetic from overflowing.
    let small = |number: &str| -> Option<i64> {
        let signless = number.strip_prefix(['+', '-']).unwrap_or(number);
        if signless.is_empty() || !signless.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        number
            .parse()
            .ok()
            .filter(|number: &i64| number.abs() <= 1_000_000)
    };
    let Some((step, start)) = text.split_once('n') else {
        return Some((0, small(&text)?));
    };
    let step = match step {
        "" | "+" => 1,
        "-" => -1,
        number => small(number)?,
    };
    let start: String = start.split(is_space).collect();
    let start = match start.as_str() {
        "" => 0,
        signed if signed.starts_with(['+', '-']) => small(signed)?,
        _ => return None,
    };
    Some((step, start))
}
