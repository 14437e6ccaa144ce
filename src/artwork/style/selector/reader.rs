//! Parses selectors.

use super::{Combinator, Compound, DEEPEST_NESTING, Selector, Test, Value};
use crate::artwork::length::is_space;
use crate::artwork::style::syntax::split;

/// Reads a selector from left to right. Every method gives `None` for what it does not know.
pub(super) struct Reader<'a> {
    pub(super) rest: &'a str,
    pub(super) depth: usize,
}

impl Reader<'_> {
    pub(super) fn selector(mut self) -> Option<Selector> {
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
            // The prefix needs an `@namespace` rule. The few files that have one are reported.
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
            // There is no pointer over a file that is sent to a laser.
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
