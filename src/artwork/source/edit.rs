//! Changes to a file's text, and the file's bytes with the changes made: every other byte stays as it
//! is.

use std::io::Write as _;
use std::ops::Range;

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};

use super::{Source, decode};

/// A stretch of [`Source::text`] and what stands in its place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Replacement {
    /// Bytes of the text. Empty where something is put in.
    pub start: usize,
    /// Where they end.
    pub end: usize,
    /// What stands there afterwards.
    pub text: String,
}

impl Replacement {
    /// `text` in the place of `range`.
    pub fn new(range: Range<usize>, text: impl Into<String>) -> Self {
        Self {
            start: range.start,
            end: range.end,
            text: text.into(),
        }
    }

    /// The bytes that it is about.
    pub fn range(&self) -> Range<usize> {
        self.start..self.end
    }
}

/// Why a change cannot be written into a file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// Two changes are about the same bytes.
    #[error("two changes are about the same place of the file")]
    Overlap,
    /// The bytes cannot be made again from the text.
    #[error(
        "the file is in an encoding ({0}) that this program cannot write back byte for byte: save it as UTF-8"
    )]
    Encoding(&'static str),
    /// Compression failed.
    #[error("the changed file cannot be compressed again: {0}")]
    Compression(String),
}

/// Puts changes in the order of the text.
///
/// # Errors
///
/// Two that are about the same bytes, or a place outside the text.
pub(crate) fn in_order(text: &str, changes: &[Replacement]) -> Result<Vec<Replacement>, EditError> {
    let mut sorted = changes.to_vec();
    sorted.sort();
    sorted.dedup();
    let mut last = 0;
    for change in &sorted {
        if change.start < last || text.get(change.range()).is_none() {
            return Err(EditError::Overlap);
        }
        last = change.end;
    }
    Ok(sorted)
}

/// A text with changes made.
///
/// # Errors
///
/// As [`in_order`].
pub(crate) fn changed_text(text: &str, changes: &[Replacement]) -> Result<String, EditError> {
    let mut out = String::with_capacity(text.len() + 64 * changes.len());
    let mut from = 0;
    for change in in_order(text, changes)? {
        out.push_str(text.get(from..change.start).ok_or(EditError::Overlap)?);
        out.push_str(&change.text);
        from = change.end;
    }
    out.push_str(text.get(from..).ok_or(EditError::Overlap)?);
    Ok(out)
}

impl Source {
    /// This file with changes made to its text, as it would be read again.
    ///
    /// # Errors
    ///
    /// As [`in_order`].
    pub fn changed(&self, changes: &[Replacement]) -> Result<Self, EditError> {
        let text = changed_text(&self.text, changes)?;
        Ok(Self {
            lines: super::line_starts(&text),
            text,
            ..self.clone()
        })
    }

    /// The bytes of the file, which were `original`, with changes made to its text. Encoding, byte
    /// order mark, line ends and everything that is not changed stay byte for byte; in a compressed
    /// file, the same is true of what it unpacks to. Without a change the result is `original`.
    ///
    /// # Errors
    ///
    /// As [`in_order`], and an encoding that cannot be written back.
    pub fn changed_bytes(
        &self,
        original: &[u8],
        changes: &[Replacement],
    ) -> Result<Vec<u8>, EditError> {
        if changes.is_empty() {
            return Ok(original.to_vec());
        }
        let encoding = Encoding::for_label(self.encoding.as_bytes())
            .ok_or(EditError::Encoding(self.encoding))?;
        let unpacked;
        let bytes = if self.compressed {
            unpacked =
                decode::unpack(original).map_err(|e| EditError::Compression(format!("{e:?}")))?;
            &unpacked
        } else {
            original
        };
        let mark = byte_order_mark(bytes, encoding);
        let mut out = bytes.get(..mark).unwrap_or_default().to_vec();
        // Unchanged parts are taken from the file itself, after checking that they are what the text
        // says.
        let mut at = mark;
        let mut from = 0;
        let mut keep = |out: &mut Vec<u8>, text: &str| {
            let same = encode(text, encoding);
            let end = at + same.len();
            let held = bytes.get(at..end).filter(|b| *b == same.as_slice());
            out.extend_from_slice(held.ok_or(EditError::Encoding(self.encoding))?);
            at = end;
            Ok(())
        };
        for change in in_order(&self.text, changes)? {
            let kept = self
                .text
                .get(from..change.start)
                .ok_or(EditError::Overlap)?;
            keep(&mut out, kept)?;
            let mut gone = Vec::new();
            keep(
                &mut gone,
                self.text.get(change.range()).ok_or(EditError::Overlap)?,
            )?;
            out.extend_from_slice(&encode(&change.text, encoding));
            from = change.end;
        }
        keep(&mut out, self.text.get(from..).ok_or(EditError::Overlap)?)?;
        if at != bytes.len() {
            return Err(EditError::Encoding(self.encoding));
        }
        if !self.compressed {
            return Ok(out);
        }
        let failed = |e: std::io::Error| EditError::Compression(e.to_string());
        let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
        packer.write_all(&out).map_err(failed)?;
        packer.finish().map_err(failed)
    }
}

/// The length of the byte order mark.
fn byte_order_mark(bytes: &[u8], encoding: &'static Encoding) -> usize {
    match Encoding::for_bom(bytes) {
        Some((found, length)) if found == encoding => length,
        _ => 0,
    }
}

/// A text in an encoding. What the encoding lacks becomes a numeric character reference.
fn encode(text: &str, encoding: &'static Encoding) -> Vec<u8> {
    if encoding == UTF_8 {
        return text.as_bytes().to_vec();
    }
    // The library does not write UTF-16.
    if encoding == UTF_16LE {
        return text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    }
    if encoding == UTF_16BE {
        return text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    }
    encoding.encode(text).0.into_owned()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const TEXT: &str = "<?xml version=\"1.0\"?>\r\n<svg id=\"Björk\">\r\n<g/>\r\n</svg>";

    fn written(text: &str) -> Vec<(&'static str, Vec<u8>)> {
        let wide = |order: fn(u16) -> [u8; 2]| {
            format!("\u{feff}{text}")
                .encode_utf16()
                .flat_map(order)
                .collect::<Vec<u8>>()
        };
        let declared = text.replace("?>", " encoding=\"iso-8859-1\"?>");
        let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
        packer.write_all(text.as_bytes()).unwrap();
        vec![
            ("plain", text.as_bytes().to_vec()),
            ("marked", format!("\u{feff}{text}").into_bytes()),
            ("wide, little end first", wide(u16::to_le_bytes)),
            ("wide, big end first", wide(u16::to_be_bytes)),
            (
                "one byte each",
                encoding_rs::WINDOWS_1252.encode(&declared).0.into_owned(),
            ),
            ("compressed", packer.finish().unwrap()),
        ]
    }

    #[test]
    fn only_the_changed_bytes_change_in_every_encoding() {
        for (how, bytes) in written(TEXT) {
            let source = Source::from_bytes("run.svg", bytes.clone()).unwrap();
            assert_eq!(source.changed_bytes(&bytes, &[]).unwrap(), bytes, "{how}");
            let at = source.text.find("<g/>").unwrap() + 2;
            let change = Replacement::new(at..at, " id=\"ö\"");
            let changed = source
                .changed_bytes(&bytes, std::slice::from_ref(&change))
                .unwrap();
            let read = Source::from_bytes("run.svg", changed).unwrap();
            let wanted = source.text.replace("<g/>", "<g id=\"ö\"/>");
            assert_eq!(read.text, wanted, "{how}");
            assert_eq!(
                (read.encoding, read.compressed),
                (source.encoding, source.compressed),
                "{how}"
            );
            assert_eq!(source.changed(&[change]).unwrap().text, wanted, "{how}");
        }
    }

    #[test]
    fn what_an_encoding_lacks_is_written_as_a_reference() {
        let (_, bytes) = written(TEXT).swap_remove(4);
        let source = Source::from_bytes("run.svg", bytes.clone()).unwrap();
        let at = source.text.find("<g/>").unwrap() + 2;
        let changed = source
            .changed_bytes(&bytes, &[Replacement::new(at..at, " id=\"Ω\"")])
            .unwrap();
        let read = Source::from_bytes("run.svg", changed).unwrap();
        assert!(read.text.contains("<g id=\"&#937;\"/>"), "{}", read.text);
    }

    #[test]
    fn two_changes_of_one_place_are_refused() {
        let source = Source::from_bytes("run.svg", TEXT.as_bytes().to_vec()).unwrap();
        let changes = [Replacement::new(3..9, "a"), Replacement::new(8..10, "b")];
        assert_eq!(source.changed(&changes).unwrap_err(), EditError::Overlap);
        let outside = [Replacement::new(0..9999, "a")];
        assert_eq!(source.changed(&outside).unwrap_err(), EditError::Overlap);
    }
}
