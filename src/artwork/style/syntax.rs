//! Splits CSS into rules and declarations: the part of CSS Syntax Level 3 that artwork needs.
//!
//! Nothing is dropped here: what does not fit is passed on as broken, with its place. (The tests
//! compare the results with the `simplecss` crate. It is not used here because it silently skips what
//! it does not know, and loses the rest of a block after such a declaration.)

use std::borrow::Cow;
use std::ops::Range;

use crate::artwork::length::is_space;
use crate::ids::At;

/// A statement of a stylesheet. Ranges are bytes of the text that was cut.
#[derive(Debug, PartialEq)]
pub(super) enum Item {
    /// `prelude { block }`.
    Rule {
        prelude: Range<usize>,
        block: Range<usize>,
    },
    /// `@name prelude;` or `@name prelude { block }`.
    At {
        name: String,
        prelude: Range<usize>,
        block: Option<Range<usize>>,
        whole: Range<usize>,
    },
    /// What fits neither.
    Broken(Range<usize>),
}

/// A declaration, or what stands in its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Entry<'a> {
    /// `name: value`.
    Declaration(Declaration<'a>),
    /// `name:` without a value: some readers pass over it, others lose what follows.
    Empty {
        name: Cow<'a, str>,
        range: Range<usize>,
    },
    /// A rule inside a rule.
    Nested(Range<usize>),
    /// What fits neither.
    Broken(Range<usize>),
}

/// A declaration. Names are in lower case, except for custom properties (`--Name`), whose case
/// counts.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Declaration<'a> {
    pub(super) name: Cow<'a, str>,
    /// The value without comments, without white space around it and without `!important`.
    pub(super) value: Cow<'a, str>,
    pub(super) important: bool,
    pub(super) range: Range<usize>,
}

impl Declaration<'_> {
    pub(super) fn into_owned(self) -> Declaration<'static> {
        Declaration {
            name: Cow::Owned(self.name.into_owned()),
            value: Cow::Owned(self.value.into_owned()),
            important: self.important,
            range: self.range,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Space,
    Comment,
    Word,
    /// A string, or an address without quotes: the brackets in it do not count.
    Sealed,
    Open(u8),
    Close(u8),
    Other(u8),
    /// A string, comment or address that does not end as it should.
    Bad,
}

/// The token at `at` and where it ends; `at` must be below the length.
fn token(text: &str, at: usize) -> (Kind, usize) {
    let bytes = text.as_bytes();
    let byte = |i: usize| bytes.get(i).copied();
    let Some(first) = byte(at) else {
        return (Kind::Bad, at + 1);
    };
    match first {
        b if is_space(char::from(b)) => {
            let length = bytes
                .iter()
                .skip(at)
                .take_while(|b| is_space(char::from(**b)))
                .count();
            (Kind::Space, at + length)
        }
        b'/' if byte(at + 1) == Some(b'*') => {
            match text.get(at + 2..).and_then(|rest| rest.find("*/")) {
                Some(length) => (Kind::Comment, at + 2 + length + 2),
                None => (Kind::Bad, text.len()),
            }
        }
        quote @ (b'"' | b'\'') => {
            let mut end = at + 1;
            loop {
                match byte(end) {
                    Some(b) if b == quote => return (Kind::Sealed, end + 1),
                    Some(b'\\') => end += 2,
                    Some(b'\n' | b'\r' | b'\x0c') => return (Kind::Bad, end),
                    Some(_) => end += 1,
                    None => return (Kind::Bad, text.len()),
                }
            }
        }
        b'(' => (Kind::Open(b')'), at + 1),
        b'[' => (Kind::Open(b']'), at + 1),
        b'{' => (Kind::Open(b'}'), at + 1),
        b @ (b')' | b']' | b'}') => (Kind::Close(b), at + 1),
        b if is_word(b) => {
            let mut end = at;
            while let Some(b) = byte(end).filter(|b| is_word(*b)) {
                end += if b == b'\\' { 2 } else { 1 };
            }
            let end = end.min(text.len());
            let word = text.at(at..end);
            if word.eq_ignore_ascii_case("url") && byte(end) == Some(b'(') {
                return address(text, end);
            }
            (Kind::Word, end)
        }
        other => (Kind::Other(other), at + 1),
    }
}

/// The rest of `url(`, whose bracket stands at `open`: without quotes, all to the next bracket is one
/// token, comment signs and all (CSS Syntax 3, section 4.3.6).
fn address(text: &str, open: usize) -> (Kind, usize) {
    let bytes = text.as_bytes();
    let inner = text.at(open + 1..).trim_start_matches(is_space);
    if inner.starts_with(['"', '\'']) {
        return (Kind::Word, open);
    }
    let mut end = open + 1;
    loop {
        match bytes.get(end) {
            Some(b')') => return (Kind::Sealed, end + 1),
            Some(b'\\') => end += 2,
            Some(b'"' | b'\'' | b'(') | None => return (Kind::Bad, end.min(text.len())),
            Some(_) => end += 1,
        }
    }
}

/// Letters, digits, `-`, `_`, escapes and everything beyond ASCII.
fn is_word(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'\\') || byte >= 0x80
}

/// Where a search stopped.
struct Stop {
    at: usize,
    /// What it stopped at; `None` at the end of the text.
    byte: Option<u8>,
    /// Whether every string, comment and bracket on the way was in order.
    sound: bool,
}

/// Goes on to the first of `stops` that is in no bracket, string or comment.
fn seek(text: &str, from: usize, stops: &[u8]) -> Stop {
    let mut at = from;
    let mut open: Vec<u8> = Vec::new();
    let mut sound = true;
    while at < text.len() {
        let (kind, end) = token(text, at);
        match kind {
            Kind::Open(close) => {
                let byte = *text.as_bytes().at(at);
                if open.is_empty() && stops.contains(&byte) {
                    return Stop {
                        at,
                        byte: Some(byte),
                        sound,
                    };
                }
                open.push(close);
            }
            Kind::Close(b) => {
                if open.last() == Some(&b) {
                    open.pop();
                } else if open.is_empty() && stops.contains(&b) {
                    return Stop {
                        at,
                        byte: Some(b),
                        sound,
                    };
                } else {
                    sound = false;
                }
            }
            Kind::Other(b) if open.is_empty() && stops.contains(&b) => {
                return Stop {
                    at,
                    byte: Some(b),
                    sound,
                };
            }
            Kind::Bad => sound = false,
            _ => {}
        }
        at = end;
    }
    Stop {
        at: text.len(),
        byte: None,
        sound: sound && open.is_empty(),
    }
}

/// Skips white space and comments.
fn skip(text: &str, mut at: usize) -> usize {
    while at < text.len() {
        match token(text, at) {
            (Kind::Space | Kind::Comment, end) => at = end,
            _ => break,
        }
    }
    at
}

/// Cuts a stylesheet into its statements.
pub(super) fn items(css: &str) -> Vec<Item> {
    let mut items = Vec::new();
    let mut at = 0;
    loop {
        at = skip(css, at);
        let rest = css.get(at..).unwrap_or("");
        if rest.is_empty() {
            return items;
        }
        // The marks of an HTML comment are no comment in CSS, and count for nothing between rules.
        if let Some(mark) = ["<!--", "-->"]
            .into_iter()
            .find(|mark| rest.starts_with(mark))
        {
            at += mark.len();
            continue;
        }
        let start = at;
        let name = rest.strip_prefix('@').map(|rest| {
            let length = rest.bytes().take_while(|b| is_word(*b)).count();
            rest.at(..length).to_ascii_lowercase()
        });
        let from = start + name.as_ref().map_or(0, |name| name.len() + 1);
        let stops: &[u8] = if name.is_some() { b";{" } else { b"{" };
        let stop = seek(css, from, stops);
        let prelude = from..stop.at;
        let block = if stop.byte == Some(b'{') {
            let end = seek(css, stop.at + 1, b"}");
            at = end.at + 1;
            if end.byte.is_none() {
                // The text ends inside the block. Readers close it silently or lose it.
                items.push(Item::Broken(start..css.len()));
                return items;
            }
            Some(stop.at + 1..end.at)
        } else {
            at = stop.at + 1;
            None
        };
        let whole = start..at.min(css.len());
        items.push(match (name, block) {
            _ if !stop.sound => Item::Broken(whole),
            (Some(name), block) if stop.byte.is_some() || name == "charset" || name == "import" => {
                Item::At {
                    name,
                    prelude,
                    block,
                    whole,
                }
            }
            (None, Some(block)) => Item::Rule { prelude, block },
            _ => Item::Broken(whole),
        });
    }
}

/// Cuts the inside of a block, or a `style` attribute, into declarations.
pub(super) fn declarations(text: &str) -> Vec<Entry<'_>> {
    let mut entries = Vec::new();
    let mut at = 0;
    loop {
        at = skip(text, at);
        let rest = text.get(at..).unwrap_or("");
        if rest.is_empty() {
            return entries;
        }
        if rest.starts_with(';') {
            at += 1;
            continue;
        }
        let start = at;
        let custom = rest.starts_with("--");
        let stop = seek(text, start, if custom { b";" } else { b";{" });
        if stop.byte == Some(b'{') {
            let end = seek(text, stop.at + 1, b"}");
            at = (end.at + 1).min(text.len());
            entries.push(Entry::Nested(start..at));
            continue;
        }
        at = stop.at;
        let range = start..stop.at;
        entries.push(if stop.sound {
            declaration(text, range.clone()).unwrap_or(Entry::Broken(range))
        } else {
            Entry::Broken(range)
        });
    }
}

fn declaration(text: &str, range: Range<usize>) -> Option<Entry<'_>> {
    let piece = text.at(range.clone());
    let name_end = piece.bytes().take_while(|b| is_word(*b)).count();
    let name = piece.at(..name_end);
    let starts_well = name
        .trim_start_matches('-')
        .starts_with(|c: char| !c.is_ascii_digit());
    if name.contains('\\') || !starts_well {
        return None;
    }
    let colon = skip(piece, name_end);
    let value = piece.at(colon..).strip_prefix(':')?;
    let custom = name.starts_with("--");
    let name = if custom || !name.bytes().any(|b| b.is_ascii_uppercase()) {
        Cow::Borrowed(name)
    } else {
        Cow::Owned(name.to_ascii_lowercase())
    };
    let bang = seek(value, 0, b"!");
    let (value, important) = if bang.byte.is_some() {
        let word = without_comments(value.at(bang.at + 1..));
        if !word
            .trim_matches(is_space)
            .eq_ignore_ascii_case("important")
        {
            return None;
        }
        (value.at(..bang.at), true)
    } else {
        (value, false)
    };
    let value = match without_comments(value) {
        Cow::Borrowed(value) => Cow::Borrowed(value.trim_matches(is_space)),
        Cow::Owned(value) => Cow::Owned(value.trim_matches(is_space).to_owned()),
    };
    if value.is_empty() && !custom {
        return Some(Entry::Empty { name, range });
    }
    Some(Entry::Declaration(Declaration {
        name,
        value,
        important,
        range,
    }))
}

/// A text with each comment replaced by a space.
pub(super) fn without_comments(text: &str) -> Cow<'_, str> {
    if !text.contains("/*") {
        return Cow::Borrowed(text);
    }
    let mut clean = String::with_capacity(text.len());
    let mut at = 0;
    while at < text.len() {
        let (kind, end) = token(text, at);
        if kind == Kind::Comment {
            clean.push(' ');
        } else {
            clean.push_str(text.at(at..end));
        }
        at = end;
    }
    Cow::Owned(clean)
}

/// Splits at a sign that is in no bracket, string or comment.
pub(super) fn split(text: &str, sign: u8) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut from = 0;
    loop {
        let stop = seek(text, from, &[sign]);
        parts.push(text.at(from..stop.at));
        if stop.byte.is_none() {
            return parts;
        }
        from = stop.at + 1;
    }
}

/// The first call of a function, `var` say: where it starts, its arguments, and where it ends.
pub(super) fn call<'a>(text: &'a str, function: &str) -> Option<(usize, &'a str, usize)> {
    let mut at = 0;
    while at < text.len() {
        let (kind, end) = token(text, at);
        if kind == Kind::Word
            && text.at(at..end).eq_ignore_ascii_case(function)
            && text.as_bytes().get(end) == Some(&b'(')
        {
            let close = seek(text, end + 1, b")");
            close.byte?;
            return Some((at, text.at(end + 1..close.at), close.at + 1));
        }
        at = end;
    }
    None
}
