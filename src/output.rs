//! Which files this program may write, and how it writes them.
//!
//! One place decides, for every command: a file that exists is written over only if this program
//! wrote it, it has not been changed since, and the call does not read it. So a slip never costs
//! anybody their artwork.
//!
//! A file that is written carries a [`Kind::mark`]: words and the SHA-256 of all the rest. Artwork
//! that began as such a file and was edited since no longer matches its mark and is left alone.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use crate::fixture::code::digest;
use crate::paths::{self, Printable as _};

/// What stands before the digest in every mark.
const MARK: &str = "written by jigwarden, and not changed while the rest has the SHA-256 ";

/// Digits of a SHA-256.
const DIGITS: usize = 64;

/// The keyword of the text chunk that marks a PNG (PNG third edition, 11.3.3: "Software").
const PNG_KEY: &[u8] = b"tEXtSoftware\0";

/// How a form of file carries its mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// XML and HTML: a comment after the end.
    Markup,
    /// PNG: a text chunk before the end.
    Png,
}

/// Why a file may not be written: one sentence, with the way out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum Refused {
    /// It is read by this call.
    #[error(
        "{0} is read by this call, and nothing is written over what is read: name another file"
    )]
    Input(String),
    /// It belongs to a fixture.
    #[error("{0} belongs to a fixture, and nothing is written over a fixture: name another file")]
    Fixture(String),
    /// It was not written by this program, or was changed since.
    #[error(
        "{0} exists already, and this program did not write it as it is now: name another file, or move that one away"
    )]
    Foreign(String),
    /// It is no plain file.
    #[error("{0} is no plain file, so nothing is written to it: name another file")]
    NotAFile(String),
    /// It cannot be looked at.
    #[error("{0} cannot be looked at ({1}), so nothing is written to it: name another file")]
    Unseen(String, String),
    /// The folder does not take it.
    #[error("{0} cannot be written: {1}")]
    Failed(String, String),
}

/// Whether `target` may be written by a call that reads `inputs`.
///
/// # Errors
///
/// Why not.
pub(crate) fn may_write(target: &Path, inputs: &[PathBuf]) -> Result<(), Refused> {
    may_add(target, inputs)?;
    let named = target.printable();
    let about = match std::fs::metadata(target) {
        Ok(about) => about,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(Refused::Unseen(named, e.to_string())),
    };
    if !about.is_file() {
        return Err(Refused::NotAFile(named));
    }
    match std::fs::read(target) {
        Ok(bytes) if ours(&bytes) => Ok(()),
        Ok(_) => Err(Refused::Foreign(named)),
        Err(e) => Err(Refused::Unseen(named, e.to_string())),
    }
}

/// Whether a call that reads `inputs` may add to `target`, as far as names tell. Whose the lines are that
/// stand in it, the caller must know.
///
/// # Errors
///
/// Why not.
pub(crate) fn may_add(target: &Path, inputs: &[PathBuf]) -> Result<(), Refused> {
    if of_a_fixture(target) {
        return Err(Refused::Fixture(target.printable()));
    }
    // The same file may go by another name: a link, or a longer path.
    let same = |other: &PathBuf| paths::same(target, other).unwrap_or(false);
    if inputs.iter().any(same) {
        return Err(Refused::Input(target.printable()));
    }
    Ok(())
}

/// Writes `bytes`, marked as this program's, if that is allowed: see [`may_write`].
///
/// # Errors
///
/// Why it may not be written, or why writing failed.
pub(crate) fn write(
    target: &Path,
    bytes: &[u8],
    kind: Kind,
    inputs: &[PathBuf],
) -> Result<(), Refused> {
    write_as_is(target, &kind.mark(bytes), inputs)
}

/// Writes `bytes` as they are: marked already, or to be left without a mark.
///
/// # Errors
///
/// As [`write()`].
pub(crate) fn write_as_is(target: &Path, bytes: &[u8], inputs: &[PathBuf]) -> Result<(), Refused> {
    may_write(target, inputs)?;
    paths::replace(target, bytes).map_err(|e| Refused::Failed(target.printable(), e.to_string()))
}

/// Whether a path is, or would be, the settings, the lock or the drawing of a fixture in its folder.
fn of_a_fixture(target: &Path) -> bool {
    use crate::fixture::{SETTINGS, drawing_in, lock};
    let name = target.file_name().unwrap_or_default();
    if name == SETTINGS || name == lock::FILE {
        return true;
    }
    let folder = match target.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    drawing_in(folder)
        .is_some_and(|drawing| paths::same(target, &drawing).unwrap_or_else(|_| drawing == target))
}

impl Kind {
    /// `bytes` with the mark of this program.
    pub(crate) fn mark(self, bytes: &[u8]) -> Vec<u8> {
        let said = format!("{MARK}{}", digest(bytes));
        match self {
            Self::Markup => [bytes, format!("<!-- {said} -->\n").as_bytes()].concat(),
            Self::Png => {
                // Before IEND, which is the last twelve bytes of every PNG.
                let (body, end) = bytes.split_at(bytes.len().saturating_sub(12));
                let mut chunk = PNG_KEY.to_vec();
                chunk.extend_from_slice(said.as_bytes());
                let mut sum = flate2::Crc::new();
                sum.update(&chunk);
                let length = (chunk.len() - 4) as u32;
                [
                    body,
                    &length.to_be_bytes(),
                    &chunk,
                    &sum.sum().to_be_bytes(),
                    end,
                ]
                .concat()
            }
        }
    }
}

/// The mark of this program for a text that is not in UTF-8 or is compressed, where the mark has to
/// go through the same hands: to be put after `text`.
pub(crate) fn mark_after(text: &str) -> String {
    format!("<!-- {MARK}{} -->", digest(text.as_bytes()))
}

/// Whether this program wrote a file with these bytes, and nobody changed it since.
pub(crate) fn ours(bytes: &[u8]) -> bool {
    if bytes.starts_with(b"\x89PNG") {
        return png_ours(bytes);
    }
    let Some(text) = text_of(bytes) else {
        return false;
    };
    let Some(start) = text.rfind(&format!("<!-- {MARK}")) else {
        return false;
    };
    let (rest, mark) = text.split_at(start);
    mark.trim_end() == mark_after(rest.trim_start_matches('\u{feff}'))
}

fn png_ours(bytes: &[u8]) -> bool {
    let mut pattern = PNG_KEY.to_vec();
    pattern.extend_from_slice(MARK.as_bytes());
    let Some(key) = memchr::memmem::rfind(bytes, &pattern) else {
        return false;
    };
    // The chunk: four bytes of length before its name, four of checksum after its words.
    let (start, end) = (key.saturating_sub(4), key + pattern.len() + DIGITS + 4);
    let (Some(before), Some(said), Some(after)) = (
        bytes.get(..start),
        bytes.get(key + pattern.len()..key + pattern.len() + DIGITS),
        bytes.get(end..),
    ) else {
        return false;
    };
    digest(&[before, after].concat()).as_bytes() == said
}

/// The text of a file: unpacked, and decoded where it is not in UTF-8.
fn text_of(bytes: &[u8]) -> Option<String> {
    let mut unpacked = Vec::new();
    let bytes = if bytes.starts_with(&[0x1f, 0x8b]) {
        flate2::read::MultiGzDecoder::new(bytes)
            .take(crate::artwork::limits::LARGEST)
            .read_to_end(&mut unpacked)
            .ok()?;
        &unpacked
    } else {
        bytes
    };
    match String::from_utf8(bytes.to_vec()) {
        // A text in UTF-16 can be valid UTF-8 with a NUL after every letter.
        Ok(text) if !text.contains('\0') => Some(text),
        _ => crate::artwork::source::Source::from_bytes("", bytes.to_vec())
            .ok()
            .map(|s| s.text),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::io::Write as _;

    use super::*;

    fn png() -> Vec<u8> {
        let mut bytes = Vec::new();
        image::RgbImage::new(2, 2)
            .write_to(
                &mut std::io::Cursor::new(&mut bytes),
                image::ImageFormat::Png,
            )
            .unwrap();
        bytes
    }

    #[test]
    fn a_marked_file_is_known_again_until_it_is_changed() {
        for (kind, bytes) in [(Kind::Markup, b"<svg/>\n".to_vec()), (Kind::Png, png())] {
            let marked = kind.mark(&bytes);
            assert!(ours(&marked), "{kind:?}");
            assert!(!ours(&bytes), "{kind:?} without a mark");
            for at in [1, 5, marked.len() / 2] {
                let mut changed = marked.clone();
                let byte = changed.get_mut(at).unwrap();
                *byte = byte.wrapping_add(1);
                assert!(!ours(&changed), "{kind:?} changed at {at}");
            }
        }
        let drawn_on = [&Kind::Markup.mark(b"<svg/>")[..], b"<!-- mine -->"].concat();
        assert!(!ours(&drawn_on), "something was added");
    }

    #[test]
    fn a_marked_picture_is_still_a_picture() {
        let marked = Kind::Png.mark(&png());
        assert_eq!(image::load_from_memory(&marked).unwrap().width(), 2);
    }

    #[test]
    fn a_mark_is_found_through_compression_and_encodings() {
        let text = "<?xml version=\"1.0\"?><svg/>";
        let marked = format!("{text}{}", mark_after(text));
        let wide: Vec<u8> = format!("\u{feff}{marked}")
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
        packed.write_all(marked.as_bytes()).unwrap();
        for bytes in [marked.clone().into_bytes(), wide, packed.finish().unwrap()] {
            assert!(ours(&bytes));
        }
    }

    #[test]
    fn nothing_is_written_over_what_this_program_did_not_write() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let (run, out) = (at("run.svg"), at("out.svg"));
        std::fs::write(&run, "<svg/>").unwrap();
        let write = |to: &Path| write(to, b"<svg/>", Kind::Markup, std::slice::from_ref(&run));
        assert!(matches!(write(&run), Err(Refused::Input(_))));
        // A hard link is the same file under another name.
        std::fs::hard_link(&run, at("link.svg")).unwrap();
        assert!(matches!(write(&at("link.svg")), Err(Refused::Input(_))));
        write(&out).unwrap();
        write(&out).unwrap();
        std::fs::write(&out, "<svg>art</svg>").unwrap();
        assert!(matches!(write(&out), Err(Refused::Foreign(_))));
        std::fs::write(at("empty.svg"), "").unwrap();
        assert!(matches!(write(&at("empty.svg")), Err(Refused::Foreign(_))));
        assert!(matches!(write(folder.path()), Err(Refused::NotAFile(_))));
        for name in ["fixture.toml", "fixture.lock.json"] {
            assert!(
                matches!(write(&at(name)), Err(Refused::Fixture(_))),
                "{name}"
            );
        }
        // A drawing of a fixture, even one that this program wrote.
        std::fs::write(
            at("fixture.toml"),
            "[fixture]\ndrawing = \"plan.svg\"\n[bed]\nwidth = \"200 mm\"\nheight = \"100 mm\"\n[paints]\ncut = [\"#f00\"]\n",
        )
        .unwrap();
        std::fs::write(at("plan.svg"), Kind::Markup.mark(b"<svg/>")).unwrap();
        assert!(matches!(write(&at("plan.svg")), Err(Refused::Fixture(_))));
        assert_eq!(std::fs::read(&run).unwrap(), b"<svg/>");
    }
}
