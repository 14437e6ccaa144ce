//! Where a byte of the source lies: line, column, and how many characters come before it.

use crate::ids::At;

/// How many bytes lie between two running totals. A larger distance saves memory and makes lookups
/// slower: each one counts at most this many bytes, twice.
const STEP: usize = 4096;

/// An index over a source, made once a file: minified files put a megabyte on one line, and counting
/// from its start for every finding would take minutes.
#[derive(Debug)]
pub(crate) struct Lines<'a> {
    text: &'a str,
    /// Byte at which each line starts. A line ends with `\n`, as in every editor; a lone `\r` ends
    /// none, which is also what SARIF assumes by default.
    starts: Vec<usize>,
    /// Totals before byte `STEP * index`.
    totals: Vec<Count>,
}

/// A number of characters in two ways of counting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Count {
    /// Unicode characters.
    pub chars: usize,
    /// UTF-16 code units.
    pub units16: usize,
}

/// Where a byte lies. Lines and columns count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Spot {
    /// The line.
    pub line: usize,
    /// The column in characters.
    pub column: usize,
    /// The column in UTF-16 code units.
    pub column16: usize,
}

impl<'a> Lines<'a> {
    /// Indexes `text`.
    pub(crate) fn new(text: &'a str) -> Self {
        let newlines = text
            .bytes()
            .enumerate()
            .filter(|(_, b)| *b == b'\n')
            .map(|(i, _)| i + 1);
        let mut total = Count::default();
        let mut totals = vec![total];
        for block in text.as_bytes().chunks(STEP) {
            total = total.plus(count(block));
            totals.push(total);
        }
        Self {
            text,
            starts: std::iter::once(0).chain(newlines).collect(),
            totals,
        }
    }

    /// The source.
    pub(crate) fn text(&self) -> &'a str {
        self.text
    }

    /// Where byte `offset` lies; an offset past the end is the end.
    pub(crate) fn spot(&self, offset: usize) -> Spot {
        let offset = offset.min(self.text.len());
        let line = self.starts.partition_point(|s| *s <= offset);
        // The first line starts at 0.
        let start = *self.starts.at(line - 1);
        let here = self.before(offset);
        let there = self.before(start);
        Spot {
            line,
            column: here.chars - there.chars + 1,
            column16: here.units16 - there.units16 + 1,
        }
    }

    /// How many characters come before byte `offset`.
    pub(crate) fn before(&self, offset: usize) -> Count {
        let offset = offset.min(self.text.len());
        let block = offset / STEP;
        let rest = self.text.as_bytes().at(block * STEP..offset);
        self.totals.at(block).plus(count(rest))
    }

    /// The bytes of line `line` (from 1) without its line break, `None` past the last line.
    pub(crate) fn line(&self, line: usize) -> Option<std::ops::Range<usize>> {
        let start = *self.starts.get(line.checked_sub(1)?)?;
        let end = self
            .starts
            .get(line)
            .map_or(self.text.len(), |next| next - 1);
        let end = if self.text.at(start..end).ends_with('\r') {
            end - 1
        } else {
            end
        };
        Some(start..end)
    }
}

impl Count {
    fn plus(self, other: Self) -> Self {
        Self {
            chars: self.chars + other.chars,
            units16: self.units16 + other.units16,
        }
    }
}

/// Counts the characters that begin in `bytes`, which may start or end inside one.
fn count(bytes: &[u8]) -> Count {
    let chars = bytes.iter().filter(|b| **b & 0xc0 != 0x80).count();
    // Only characters of four bytes take two code units.
    let long = bytes.iter().filter(|b| **b >= 0xf0).count();
    Count {
        chars,
        units16: chars + long,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;

    fn slow(text: &str, offset: usize) -> Spot {
        let head = &text[..offset];
        let last = head.rsplit('\n').next().unwrap();
        Spot {
            line: head.matches('\n').count() + 1,
            column: last.chars().count() + 1,
            column16: last.encode_utf16().count() + 1,
        }
    }

    #[test]
    fn agrees_with_plain_counting() {
        let text = format!("é𝒜b\r\n\n{}\nlast 🪡 line", "x𝒜ü\t".repeat(3000));
        let lines = Lines::new(&text);
        for (offset, _) in text.char_indices().step_by(7) {
            assert_eq!(lines.spot(offset), slow(&text, offset), "byte {offset}");
        }
        assert_eq!(lines.spot(text.len()), slow(&text, text.len()));
        assert_eq!(lines.spot(usize::MAX), slow(&text, text.len()));
    }

    #[test]
    fn lines_come_without_their_breaks() {
        let text = "one\r\ntwo\n\nfour";
        let lines = Lines::new(text);
        let all: Vec<&str> = (1..=4).map(|n| &text[lines.line(n).unwrap()]).collect();
        assert_eq!(all, ["one", "two", "", "four"]);
        assert_eq!(lines.line(0), None);
        assert_eq!(lines.line(5), None);
    }
}
