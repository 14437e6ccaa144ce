//! Refuses, before the XML parser starts, what would take it too long or too much memory: nothing
//! could stop it once it runs.

use std::collections::HashMap;
use std::ops::Range;

use memchr::memchr2;
use roxmltree::{Document, NodeId};

use super::failure::Failure;
use crate::artwork::limits::{DEEPEST, MOST_ATTRIBUTES, MOST_EXPANDED, MOST_NODES, MOST_WORK};

/// How many equals signs a file may have: the parser reserves room for as many attributes.
const MOST_EQUALS: usize = 16_000_000;

/// How many entities a file may define. The parser looks each reference up one by one.
const MOST_ENTITIES: usize = 1_000;

type Refusal = (Failure, usize);

/// Refuses a text that the parser could not handle. Text that is not well-formed passes; the parser
/// will report that.
pub(super) fn check(text: &str) -> Result<(), Refusal> {
    let bytes = text.as_bytes();
    let (mut tags, mut equals) = (0_usize, 0_usize);
    for byte in bytes {
        tags += usize::from(*byte == b'<');
        equals += usize::from(*byte == b'=');
    }
    // An element is at most two tags, and every tag at most one text.
    if tags > MOST_NODES as usize * 2 || equals > MOST_EQUALS {
        return Err((Failure::TooManyNodes, 0));
    }
    let mut scan = Scan {
        text,
        entities: HashMap::new(),
    };
    scan.content(0..text.len(), true).map(|_| ())
}

/// Refuses a document that nests deeper than the text alone shows: entities can hold elements.
pub(super) fn check_depth(document: &Document<'_>) -> Result<(), Refusal> {
    // Nodes come in document order, so that a node's parent has been seen before it.
    let mut depths: HashMap<NodeId, usize> = HashMap::new();
    if !document.input_text().contains("<!ENTITY") {
        return Ok(());
    }
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        let above = node
            .parent()
            .and_then(|parent| depths.get(&parent.id()))
            .copied()
            .unwrap_or(0);
        if above + 1 > DEEPEST {
            return Err((Failure::TooDeep, node.range().start));
        }
        depths.insert(node.id(), above + 1);
    }
    Ok(())
}

/// What an entity costs each time that it is used.
#[derive(Clone, Copy, Default)]
struct Cost {
    /// Bytes that it grows to.
    bytes: u64,
    /// Comparisons that its elements take.
    work: u64,
}

struct Scan<'a> {
    text: &'a str,
    entities: HashMap<&'a str, Cost>,
}

impl<'a> Scan<'a> {
    /// Walks over elements and texts, and gives what the entities in them cost.
    fn content(&mut self, range: Range<usize>, outermost: bool) -> Result<Cost, Refusal> {
        let bytes = self.text.as_bytes();
        let mut cost = Cost::default();
        let mut depth = 0_usize;
        // Namespaces in scope, one count for each open element.
        let mut scopes: Vec<u64> = Vec::new();
        let mut at = range.start;
        while at < range.end {
            let rest = self.text.get(at..range.end).unwrap_or("");
            match bytes.get(at) {
                Some(b'<') if rest.starts_with("<!--") => at += past(rest, 4, "-->"),
                Some(b'<') if rest.starts_with("<![CDATA[") => at += past(rest, 9, "]]>"),
                Some(b'<') if rest.starts_with("<?") => at += past(rest, 2, "?>"),
                Some(b'<') if rest.starts_with("<!DOCTYPE") && outermost => {
                    at = self.document_type(at, range.end)?;
                }
                Some(b'<') if rest.starts_with("</") => {
                    depth = depth.saturating_sub(1);
                    scopes.pop();
                    at += past(rest, 2, ">");
                }
                Some(b'<') => {
                    let tag = self.tag(at..range.end, &mut cost)?;
                    let around = scopes.last().copied().unwrap_or(1);
                    let scope = around + tag.namespaces;
                    if tag.namespaces > 0 {
                        cost.work = cost.work.saturating_add(scope * scope);
                    }
                    if !tag.closed {
                        depth += 1;
                        scopes.push(scope);
                        if depth > DEEPEST {
                            return Err((Failure::TooDeep, at));
                        }
                    }
                    at = tag.end;
                }
                Some(b'&') => at = self.reference(at..range.end, &mut cost),
                _ => {
                    // Multi-byte characters hold neither byte, so that stepping over them is safe.
                    let after = rest.as_bytes().get(1..).unwrap_or_default();
                    at += 1 + memchr2(b'<', b'&', after).unwrap_or(after.len());
                }
            }
            if outermost {
                if cost.bytes > MOST_EXPANDED {
                    return Err((Failure::TooMuchExpanded, at.min(self.text.len())));
                }
                if cost.work > MOST_WORK {
                    return Err((Failure::TooMuchWork, at.min(self.text.len())));
                }
            }
        }
        Ok(cost)
    }

    /// Walks over an opening tag.
    fn tag(&mut self, range: Range<usize>, cost: &mut Cost) -> Result<Tag, Refusal> {
        let bytes = self.text.as_bytes();
        let byte = |at: usize| bytes.get(at).copied().filter(|_| at < range.end);
        let (mut attributes, mut namespaces) = (0_usize, 0_u64);
        let mut at = range.start + 1;
        while let Some(b) = byte(at) {
            match b {
                b'>' => break,
                b'"' | b'\'' => {
                    at += 1;
                    while let Some(rest) = bytes.get(at..range.end) {
                        at += memchr2(b, b'&', rest).unwrap_or(rest.len());
                        if byte(at) != Some(b'&') {
                            break;
                        }
                        at = self.reference(at..range.end, cost);
                    }
                    at += 1;
                }
                b'=' => {
                    attributes += 1;
                    if attributes > MOST_ATTRIBUTES {
                        return Err((Failure::TooManyAttributes, range.start));
                    }
                    at += 1;
                }
                b'x' if bytes
                    .get(at..)
                    .is_some_and(|rest| rest.starts_with(b"xmlns")) =>
                {
                    namespaces += 1;
                    at += 5;
                }
                _ => at += 1,
            }
        }
        let compared = attributes as u64 * attributes as u64 / 2;
        cost.work = cost.work.saturating_add(compared);
        let closed = at > 0 && byte(at - 1) == Some(b'/');
        Ok(Tag {
            end: at + 1,
            closed,
            namespaces,
        })
    }

    /// Counts what a reference costs, and steps over it.
    fn reference(&self, range: Range<usize>, cost: &mut Cost) -> usize {
        let rest = self.text.get(range.start + 1..range.end).unwrap_or("");
        if let Some(end) = rest
            .bytes()
            .position(|b| matches!(b, b';' | b'<' | b'&' | b'"' | b'\''))
            && let Some(entity) = rest.get(..end).and_then(|name| self.entities.get(name))
        {
            cost.bytes = cost.bytes.saturating_add(entity.bytes);
            cost.work = cost
                .work
                .saturating_add(entity.work)
                .saturating_add(self.entities.len() as u64);
        }
        range.start + 1
    }

    /// Walks over a document type declaration, and notes the entities that it defines. An entity can
    /// only grow by those before it here; a call forward is caught by the parser, which refuses more
    /// than 255 calls from one reference and more than 10 deep.
    fn document_type(&mut self, start: usize, end: usize) -> Result<usize, Refusal> {
        let bytes = self.text.as_bytes();
        let mut at = start;
        let mut inside = false;
        let mut declared: Vec<(&'a str, Range<usize>)> = Vec::new();
        while at < end {
            let rest = self.text.get(at..end).unwrap_or("");
            match bytes.get(at) {
                Some(b'<') if rest.starts_with("<!--") => at += past(rest, 4, "-->"),
                Some(b'<') if rest.starts_with("<?") => at += past(rest, 2, "?>"),
                Some(b'<') if inside && rest.starts_with("<!ENTITY") => {
                    if declared.len() >= MOST_ENTITIES {
                        return Err((Failure::TooMuchWork, at));
                    }
                    let name = rest.get(8..).unwrap_or("").trim_start();
                    let length = name
                        .find(|c: char| c.is_ascii_whitespace())
                        .unwrap_or(name.len());
                    let name = name.get(..length).unwrap_or("");
                    at += 8;
                    // A value in quotes. For an external entity this is its address, which does no
                    // harm.
                    while let Some(b) = bytes.get(at).filter(|b| **b != b'>') {
                        at += 1;
                        if matches!(b, b'"' | b'\'') {
                            let from = at;
                            at += self.text.get(at..end).map_or(0, |rest| {
                                rest.bytes()
                                    .position(|inner| inner == *b)
                                    .unwrap_or(rest.len())
                            });
                            // The first definition counts: XML 1.0, section 4.2.
                            if declared.iter().all(|(other, _)| *other != name) {
                                declared.push((name, from..at));
                            }
                            at += 1;
                        }
                    }
                }
                Some(quote @ (b'"' | b'\'')) => {
                    let quote = *quote;
                    at += 1;
                    at += rest
                        .bytes()
                        .skip(1)
                        .position(|b| b == quote)
                        .map_or(rest.len(), |n| n + 1);
                }
                Some(b'[') => {
                    inside = true;
                    at += 1;
                }
                Some(b']') => {
                    inside = false;
                    at += 1;
                }
                Some(b'>') if !inside => {
                    at += 1;
                    break;
                }
                _ => at += 1,
            }
        }
        // Entities may call those that come later. Each pass settles one more level of calls, and the
        // parser goes ten levels down.
        for _ in 0..10 {
            let mut changed = false;
            for (name, value) in &declared {
                let mut cost = self.content(value.clone(), false)?;
                cost.bytes = cost.bytes.saturating_add(value.len() as u64);
                let before = self.entities.insert(name, cost).unwrap_or_default();
                changed |= before.bytes != cost.bytes || before.work != cost.work;
            }
            if !changed {
                break;
            }
        }
        Ok(at)
    }
}

struct Tag {
    end: usize,
    closed: bool,
    namespaces: u64,
}

/// How far to go past the next `end`, looked for from `from` on.
fn past(rest: &str, from: usize, end: &str) -> usize {
    rest.get(from..)
        .and_then(|inner| inner.find(end))
        .map_or(rest.len(), |at| from + at + end.len())
}
