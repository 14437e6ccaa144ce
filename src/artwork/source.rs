//! A file, read: its bytes unpacked and decoded to UTF-8, with an index of lines.
//!
//! Offsets count bytes of [`Source::text`]: the file after decompression, decoding and removal of
//! its byte order mark. For a plain UTF-8 file without the mark that is the file itself.

mod decode;
pub(crate) mod edit;
mod failure;
mod guard;

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use memchr::memchr_iter;
use roxmltree::{Document, Node, ParsingOptions};
use sha2::{Digest, Sha256};

use super::limits::{LARGEST, MOST_NODES};
use crate::ids::At;
pub(crate) use decode::Doubt;
pub use failure::{Failure, ReadError};

/// The namespace of SVG.
pub(crate) const SVG: &str = "http://www.w3.org/2000/svg";

/// A file as read.
#[derive(Debug, Clone)]
pub struct Source {
    /// The path as given.
    pub path: PathBuf,
    /// The text, decoded, without a byte order mark.
    pub text: String,
    /// SHA-256 of the file's bytes as they are on disk, in small hex digits.
    pub sha256: String,
    /// The encoding that the bytes were in, "UTF-8" say.
    pub encoding: &'static str,
    /// Whether the file was compressed (svgz).
    pub compressed: bool,
    /// What is doubtful about the reading: another reader may see other characters.
    pub doubts: Vec<Doubt>,
    /// Where each line starts.
    lines: Vec<usize>,
}

impl Source {
    /// Reads a file.
    ///
    /// # Errors
    ///
    /// A file that cannot be opened, is too large, or is no text of a drawing.
    pub fn read(path: &Path) -> Result<Self, ReadError> {
        Self::from_bytes(path, Self::bytes_of(path)?)
    }

    /// The bytes of a file that may be read.
    ///
    /// # Errors
    ///
    /// A file that does not exist, is not a regular file, or is too large.
    pub fn bytes_of(path: &Path) -> Result<Vec<u8>, ReadError> {
        let fail = |trouble| ReadError::new(path, trouble);
        // This is checked before opening the file, because opening a pipe blocks until somebody
        // writes to it.
        let about = std::fs::metadata(path).map_err(|error| fail(Failure::from_io(&error)))?;
        if about.is_dir() {
            return Err(fail(Failure::Folder));
        }
        if !about.is_file() {
            return Err(fail(Failure::NotAFile));
        }
        if about.len() > LARGEST {
            return Err(fail(Failure::TooLarge { unpacked: false }));
        }
        let file = File::open(path).map_err(|error| fail(Failure::from_io(&error)))?;
        let mut bytes = Vec::with_capacity(usize::try_from(about.len()).unwrap_or(0));
        // The file may have grown since its size was asked.
        file.take(LARGEST + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| fail(Failure::from_io(&error)))?;
        Ok(bytes)
    }

    /// Reads bytes that are already at hand; `path` is only for messages.
    ///
    /// # Errors
    ///
    /// Bytes that are too many once unpacked, damaged, or no text of a drawing.
    pub fn from_bytes(path: impl Into<PathBuf>, bytes: Vec<u8>) -> Result<Self, ReadError> {
        let path = path.into();
        let fail = |trouble| ReadError::new(&path, trouble);
        if bytes.len() as u64 > LARGEST {
            return Err(fail(Failure::TooLarge { unpacked: false }));
        }
        let sha256 = hex(&Sha256::digest(&bytes));
        let decoded = decode::decode(bytes).map_err(fail)?;
        let source = Self {
            path,
            lines: line_starts(&decoded.text),
            text: decoded.text,
            sha256,
            encoding: decoded.encoding,
            compressed: decoded.compressed,
            doubts: decoded.doubts,
        };
        if let Some(at) = source.text.find('\0') {
            let (line, column) = source.line_column(at);
            return Err(source.trouble(Failure::Nul { line, column }, Some(at)));
        }
        Ok(source)
    }

    /// Line and column of an offset, both counted from 1; the column counts characters. Lines end
    /// with a line feed. An offset beyond the end gives the end; one inside a character, its start.
    pub fn line_column(&self, offset: usize) -> (usize, usize) {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = self.lines.partition_point(|start| *start <= offset);
        // The first line starts at 0.
        let start = *self.lines.at(line - 1);
        (line, self.text.at(start..offset).chars().count() + 1)
    }

    /// The offset of a line and a column, both counted from 1.
    fn offset(&self, line: usize, column: usize) -> usize {
        let start = self
            .lines
            .get(line.saturating_sub(1))
            .copied()
            .unwrap_or(self.text.len());
        let rest = self.text.get(start..).unwrap_or("");
        let within = rest
            .char_indices()
            .nth(column.saturating_sub(1))
            .map_or(rest.len(), |(at, _)| at);
        start + within
    }

    /// Parses the text as XML.
    ///
    /// What would take the parser too long or too much memory is refused before it starts; see
    /// [`super::limits`]. Entities are expanded within [`super::limits::MOST_EXPANDED`]; entities that
    /// live in another file are not fetched, and using one is an error.
    ///
    /// # Errors
    ///
    /// Text that is no well-formed XML, or that is past one of those limits, with its place.
    pub fn xml(&self) -> Result<Document<'_>, ReadError> {
        guard::check(&self.text).map_err(|(trouble, at)| self.trouble(trouble, Some(at)))?;
        let options = ParsingOptions {
            allow_dtd: true,
            nodes_limit: MOST_NODES,
            ..ParsingOptions::default()
        };
        let document = Document::parse_with_options(&self.text, options).map_err(|error| {
            let at = failure::position(&error)
                .map_or(self.text.len(), |(line, column)| self.offset(line, column));
            let (line, column) = self.line_column(at);
            self.trouble(failure::from_xml(&error, line, column), Some(at))
        })?;
        guard::check_depth(&document).map_err(|(trouble, at)| self.trouble(trouble, Some(at)))?;
        Ok(document)
    }

    /// The root element, if it is `svg`: in SVG's namespace, or in none (some exporters leave the
    /// namespace out, and a sender may read the file all the same).
    ///
    /// # Errors
    ///
    /// Another root element.
    pub fn svg_root<'a, 'input>(
        &self,
        document: &'a Document<'input>,
    ) -> Result<Node<'a, 'input>, ReadError> {
        let root = document.root_element();
        let name = root.tag_name();
        if name.name() == "svg" && name.namespace().is_none_or(|ns| ns == SVG) {
            return Ok(root);
        }
        let shown = if name.name() == "svg" {
            "svg of another namespace".to_owned()
        } else {
            crate::wording::cut_to(name.name(), 40)
        };
        Err(self.trouble(Failure::Root(shown), Some(root.range().start)))
    }

    /// The refusal of a drawing whose clones nest past [`super::limits::MAX_DEPTH`].
    pub(super) fn refuse_deep(&self) -> ReadError {
        self.trouble(Failure::ClonesTooDeep, None)
    }

    /// The refusal of a drawing whose clones stand for more than [`super::limits::MAX_ELEMENTS`].
    pub(super) fn refuse_many(&self) -> ReadError {
        self.trouble(Failure::ClonesTooMany, None)
    }

    /// The refusal of a drawing that has more than [`super::limits::MAX_POINTS`].
    pub(super) fn refuse_points(&self) -> ReadError {
        self.trouble(Failure::TooManyPoints, None)
    }

    fn trouble(&self, trouble: Failure, at: Option<usize>) -> ReadError {
        ReadError {
            path: self.path.clone(),
            trouble,
            at,
        }
    }
}

/// Where each line of a text starts.
fn line_starts(text: &str) -> Vec<usize> {
    let ends = memchr_iter(b'\n', text.as_bytes());
    std::iter::once(0).chain(ends.map(|at| at + 1)).collect()
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing into a string cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}
