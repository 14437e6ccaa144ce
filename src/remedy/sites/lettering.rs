//! Live lettering: what it says, where its lines stand, and how many there are.

use std::collections::BTreeSet;
use std::ops::Range;

use kurbo::{Affine, Point, Rect};
use roxmltree::Node;

use super::{CLONED, ENTITY, Hindrance, Sites};
use crate::artwork::elements::{Kind, kind};
use crate::artwork::mark::Content;
use crate::artwork::resolve::Placed;
use crate::artwork::source::edit::Replacement;
use crate::ids::{At, Id as _, MarkId};
use crate::remedy::path_edit::number;
use crate::remedy::{Change, Edit, tag};
use crate::wording::markup;

impl Sites<'_> {
    /// Moves spans of lettering that are set down by `x` and `y` of their own.
    pub(super) fn reposition(&self, change: &Change, motion: Affine) -> Option<Vec<Edit>> {
        let mut edits = Vec::new();
        for mark in &change.marks {
            let (node, placed, text) = self.span(*mark)?;
            let read = |name| node.attribute(name)?.trim().parse::<f64>().ok();
            let (x, y) = (read("x")?, read("y")?);
            let frame = placed.frame * self.own_transform(text)?;
            let to = (frame.inverse() * motion * frame) * Point::new(x, y);
            for (name, value) in [("x", to.x), ("y", to.y)] {
                let replacement = tag::attribute(self.text, node, name, &number(value))?;
                edits.push(Self::edit(change, node, replacement));
            }
        }
        Some(edits)
    }

    /// Takes such spans out. Not the last of a text: white space before it would no longer be part of the
    /// line above, which would move.
    pub(super) fn without_spans(&self, change: &Change) -> Option<Vec<Edit>> {
        let mut edits = Vec::new();
        for mark in &change.marks {
            let (node, ..) = self.span(*mark)?;
            let placed = ["x", "y"]
                .iter()
                .all(|name| node.attribute(*name).is_some());
            let followed = node.next_siblings().skip(1).any(|n| n.is_element());
            if !placed || !followed || node.attribute("id").is_some() {
                return None;
            }
            edits.push(Self::edit(change, node, Replacement::new(node.range(), "")));
        }
        Some(edits)
    }

    /// The span that makes a mark, if what comes after it in its text is set down anew; and that text.
    fn span(&self, mark: MarkId) -> Option<(Node<'_, '_>, &Placed, Node<'_, '_>)> {
        let node = self.node(&self.artwork.marks[mark].origin.range).ok()?;
        let text = node.ancestors().find(|n| kind(*n) == Kind::Text)?;
        let placed = self.placed.iter().find(|p| p.range == text.range())?;
        let next = node
            .next_siblings()
            .skip(1)
            .find(|n| n.is_element() || n.text().is_some_and(|t| !t.trim().is_empty()));
        let anew = next.is_none_or(|n| n.attribute("x").is_some() && n.attribute("y").is_some());
        let alone = anew && node.parent() == Some(text) && !node.children().any(|n| n.is_element());
        (alone && self.once(&placed.range) && node.tag_name().name() == "tspan")
            .then_some((node, placed, text))
    }

    /// Lets live lettering say something else: the one piece of text in its element.
    pub(super) fn rewrite_lettering(
        &self,
        change: &Change,
        to: &str,
    ) -> Result<Vec<Edit>, Hindrance> {
        let (node, own) = self.only_piece(change)?;
        let replacement = Replacement::new(own, markup(to));
        Ok(vec![Self::edit(change, node, replacement)])
    }

    /// The element whose only piece of text makes the change's marks, and the bytes of that text.
    fn only_piece(&self, change: &Change) -> Result<(Node<'_, '_>, Range<usize>), Hindrance> {
        let marks = change.marks.iter().map(|i| &self.artwork.marks[*i]);
        let mut ranges: Vec<&Range<usize>> = marks.map(|m| &m.origin.range).collect();
        ranges.dedup();
        let [range] = ranges.as_slice() else {
            return Err("it is set in several pieces".to_owned());
        };
        if self.of_element(range).any(|i| !change.marks.contains(&i)) {
            return Err(CLONED.to_owned());
        }
        let node = self.node(range)?;
        let (Some(piece), 1) = (node.first_child(), node.children().count()) else {
            return Err("it is set in several pieces".to_owned());
        };
        let own = piece.range();
        let raw = self.text.at(own.clone());
        let plain = piece.text().is_some_and(|t| raw == t || raw == markup(t));
        if !piece.is_text() || !plain {
            return Err(ENTITY.to_owned());
        }
        let start = own.start + raw.len() - raw.trim_start().len();
        let end = start + raw.trim().len();
        Ok((node, start..end))
    }

    /// The text that marks are pieces of, where it is one line with nothing set on its own: "Ad" and "a".
    pub(super) fn line_of(&self, marks: &BTreeSet<MarkId>) -> Option<&Placed> {
        let mut marks = marks.iter().map(|i| &self.artwork.marks[*i].origin.range);
        let first = self.node(marks.next()?).ok()?;
        let text = first.ancestors().find(|n| kind(*n) == Kind::Text)?;
        let range = text.range();
        let mut pieces = text.descendants().filter(|n| kind(*n) == Kind::TextPart);
        let placed_alone = |n: Node<'_, '_>| {
            n.tag_name().name() != "tspan" || ["x", "y"].iter().any(|a| n.attribute(*a).is_some())
        };
        if pieces.any(placed_alone)
            || !self.once(&range)
            || !marks.all(|m| range.start <= m.start && m.end <= range.end)
            || !self.in_one_word(&range)
        {
            return None;
        }
        self.placed.iter().find(|p| p.range == range)
    }

    /// Whether what a text draws stands together, each piece less than an em from those before it.
    fn in_one_word(&self, text: &Range<usize>) -> bool {
        let placed = self.placed.iter().find(|p| p.range == *text);
        let marks = placed.map_or(0..0, |p| p.marks.clone());
        let mut so_far: Option<Rect> = None;
        marks
            .map(|i| &self.artwork.marks[MarkId::new(i)])
            .all(|mark| {
                let Content::Lettering(lettering) = &mark.content else {
                    return false;
                };
                let em = lettering.letters.iter().map(|l| l.size).fold(0.0, f64::max);
                let boxes = lettering.letters.iter().map(|l| l.bounds);
                let Some(own) = boxes.reduce(|a, b| a.union(b)) else {
                    return true;
                };
                let near = so_far.is_none_or(|b| b.inflate(em, em).overlaps(own));
                so_far = Some(so_far.map_or(own, |b| b.union(own)));
                near
            })
    }

    /// Sets a text of one line on two, where it says nothing of the places of its letters but where it
    /// starts.
    pub(super) fn two_lines(
        &self,
        change: &Change,
        lines: &[(String, Point); 2],
        scale: f64,
    ) -> Result<Vec<Edit>, Hindrance> {
        let pieces = || "it is set in several pieces".to_owned();
        let (node, own) = self.only_piece(change)?;
        let single = |name: &str| {
            let value = node.attribute(name).unwrap_or_default().trim();
            !value.contains([' ', ',', '\t', '\n', '\r'])
        };
        let plain = ["dx", "dy", "rotate", "textLength"].iter();
        let [(first, _), (second, _)] = lines;
        let raw = self.text.at(own.clone());
        let placed = self.placed.iter().find(|p| p.range == node.range());
        let (Some(placed), Some(before), true) = (
            placed,
            self.own_transform(node),
            kind(node) == Kind::Text
                && single("x")
                && single("y")
                && plain
                    .into_iter()
                    .all(|name| node.attribute(*name).is_none())
                && raw == format!("{} {}", markup(first), markup(second)),
        ) else {
            return Err(pieces());
        };
        let frame = (placed.frame * before).inverse();
        let name = self.text.at(node.range().start + 1..);
        let prefix = name.split_once(':').map(|(prefix, _)| prefix);
        let prefix = prefix.filter(|p| p.chars().all(char::is_alphanumeric));
        let tspan = prefix.map_or_else(|| "tspan".to_owned(), |p| format!("{p}:tspan"));
        let size = if scale >= 1.0 {
            String::new()
        } else {
            format!(" font-size=\"{}%\"", number(100.0 * scale))
        };
        let spans = lines.iter().map(|(text, at)| {
            let at = frame * *at;
            let (x, y) = (number(at.x), number(at.y));
            let text = markup(text);
            format!("<{tspan} x=\"{x}\" y=\"{y}\" text-anchor=\"middle\"{size}>{text}</{tspan}>")
        });
        let replacement = Replacement::new(own, spans.collect::<String>());
        Ok(vec![Self::edit(change, node, replacement)])
    }
}
