//! The indexes of the shop's and the machine's glyphs, kept in the user's cache folder.
//!
//! Building one takes seconds on a machine with many fonts, and the fonts seldom change. The file is
//! named by a digest over every font's bytes and ends in a digest over its own: a stale or damaged
//! one is not found or not believed, and built anew. Whatever goes wrong with the cache, the index
//! is right.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use kurbo::{Point, Rect};
use sha2::{Digest as _, Sha256};
use usvg::fontdb::{Database, Source};

use super::glyphs::{Glyph, Index};
use super::pieces::Piece;
use super::spectrum::{Complex, ORDERS, Spectrum};
use crate::abandon;
use crate::artwork::fonts::Faces;
use crate::paths;

/// The form of cache that this program writes and reads.
const FORM: &[u8] = b"jigwarden-glyphs/4\n";

/// Bytes of a SHA-256.
const DIGEST: usize = 32;

/// Whose faces an index is of. One of each is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Of {
    /// The shop's: what is always at hand, and what lies beside a fixture.
    Shop,
    /// The machine's.
    Machine,
}

impl Of {
    /// What the names of its files begin with.
    fn prefix(self) -> &'static str {
        match self {
            Self::Shop => "shop-glyphs-",
            Self::Machine => "glyphs-",
        }
    }
}

/// The index of `faces`, from the user's cache where it is whole and of these very faces.
pub(crate) fn load_or_build(of: Of, faces: &Faces) -> Index {
    load_or_build_in(folder().as_deref(), of, faces)
}

/// As [`load_or_build`], with the cache in `folder`; without one, nothing is kept.
///
/// The faces of a machine are no part of the file that is inspected: of many, none would be readable the
/// first time if they counted for it.
pub(crate) fn load_or_build_in(folder: Option<&Path>, of: Of, faces: &Faces) -> Index {
    abandon::unlimited(|| {
        let Some(folder) = folder else {
            return Index::build(faces);
        };
        let database = faces.database();
        let path = folder.join(format!("{}{}.bin", of.prefix(), key(&database)));
        if let Some(index) = std::fs::read(&path).ok().and_then(|bytes| decode(&bytes)) {
            return index;
        }
        let index = Index::build(faces);
        // A cache that cannot be written costs time and nothing else.
        let _ = keep(folder, of, &path, &encode(&index));
        index
    })
}

/// The program's folder in the user's cache folder, where each system keeps such files (XDG Base
/// Directory Specification; on macOS "File System Programming Guide", on Windows the known folder
/// `LocalAppData`).
fn folder() -> Option<PathBuf> {
    let absolute = |name: &str| {
        std::env::var_os(name)
            .map(PathBuf::from)
            .filter(|p| p.is_absolute())
    };
    let base = if cfg!(windows) {
        absolute("LOCALAPPDATA")
    } else if cfg!(target_os = "macos") {
        absolute("HOME").map(|h| h.join("Library/Caches"))
    } else {
        absolute("XDG_CACHE_HOME").or_else(|| absolute("HOME").map(|h| h.join(".cache")))
    };
    base.map(|b| b.join("jigwarden"))
}

/// A digest over the bytes of every font and over the form.
fn key(database: &Database) -> String {
    let mut hash = Sha256::new();
    hash.update(FORM);
    let mut seen = BTreeSet::new();
    for face in database.faces() {
        let own = |bytes: &[u8]| Sha256::digest(bytes);
        let digest = match &face.source {
            Source::File(path) | Source::SharedFile(path, _) => {
                if !seen.insert(path.clone()) {
                    continue;
                }
                own(&std::fs::read(path).unwrap_or_default())
            }
            Source::Binary(data) => own(data.as_ref().as_ref()),
        };
        hash.update(digest);
        hash.update(face.index.to_le_bytes());
    }
    // The digest of the digest, so that one function writes hexadecimal.
    crate::fixture::code::digest(&hash.finalize())
}

/// Writes the index, and drops indexes of fonts that are no longer there.
fn keep(folder: &Path, of: Of, path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    std::fs::create_dir_all(folder)?;
    for old in std::fs::read_dir(folder)?.flatten() {
        if old.file_name().to_string_lossy().starts_with(of.prefix()) {
            let _ = std::fs::remove_file(old.path());
        }
    }
    paths::replace(path, bytes)
}

fn encode(index: &Index) -> Vec<u8> {
    let mut out = FORM.to_vec();
    count(&mut out, index.faces.len());
    for face in &index.faces {
        count(&mut out, face.len());
        out.extend_from_slice(face.as_bytes());
    }
    count(&mut out, index.glyphs.len());
    for glyph in &index.glyphs {
        count(&mut out, glyph.face);
        count(&mut out, glyph.text.len());
        out.extend_from_slice(glyph.text.as_bytes());
        numbers(&mut out, &[glyph.advance]);
        count(&mut out, glyph.others.len());
        for piece in std::iter::once(&glyph.main).chain(&glyph.others) {
            count(&mut out, piece.holes);
            let b = piece.bounds;
            let c = piece.spectrum.centre;
            numbers(
                &mut out,
                &[
                    piece.hole_share,
                    piece.area,
                    b.x0,
                    b.y0,
                    b.x1,
                    b.y1,
                    c.x,
                    c.y,
                ],
            );
            for coefficient in &piece.spectrum.coefficients {
                numbers(&mut out, &[coefficient.re, coefficient.im]);
            }
        }
    }
    let digest = Sha256::digest(&out);
    out.extend_from_slice(&digest);
    out
}

fn count(out: &mut Vec<u8>, value: usize) {
    out.extend_from_slice(&(value as u32).to_le_bytes());
}

fn numbers(out: &mut Vec<u8>, values: &[f64]) {
    for value in values {
        out.extend_from_slice(&value.to_le_bytes());
    }
}

/// Reads what [`encode`] wrote; `None` for anything else.
fn decode(bytes: &[u8]) -> Option<Index> {
    let (body, digest) = bytes.split_at_checked(bytes.len().checked_sub(DIGEST)?)?;
    if Sha256::digest(body).as_slice() != digest {
        return None;
    }
    let mut rest = Rest(body.strip_prefix(FORM)?);
    let mut index = Index::default();
    for _ in 0..rest.count()? {
        let length = rest.count()?;
        index
            .faces
            .push(String::from_utf8(rest.take(length)?.to_vec()).ok()?);
    }
    for _ in 0..rest.count()? {
        let face = rest.count()?;
        let length = rest.count()?;
        let text = String::from_utf8(rest.take(length)?.to_vec()).ok()?;
        let advance = rest.number()?;
        let others = rest.count()?;
        let main = rest.piece()?;
        let others = (0..others)
            .map(|_| rest.piece())
            .collect::<Option<Vec<_>>>()?;
        index.glyphs.push(Glyph {
            face,
            text,
            main,
            others,
            advance,
        });
    }
    rest.0.is_empty().then_some(index)
}

/// What is still to be read.
struct Rest<'a>(&'a [u8]);

impl<'a> Rest<'a> {
    fn take(&mut self, length: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(length)?;
        self.0 = rest;
        Some(taken)
    }

    fn count(&mut self) -> Option<usize> {
        let bytes = self.take(4)?.try_into().ok()?;
        Some(u32::from_le_bytes(bytes) as usize)
    }

    fn number(&mut self) -> Option<f64> {
        let bytes = self.take(8)?.try_into().ok()?;
        Some(f64::from_le_bytes(bytes))
    }

    fn piece(&mut self) -> Option<Piece> {
        let holes = self.count()?;
        let (hole_share, area) = (self.number()?, self.number()?);
        let bounds = Rect::new(
            self.number()?,
            self.number()?,
            self.number()?,
            self.number()?,
        );
        let centre = Point::new(self.number()?, self.number()?);
        let coefficients = (0..2 * ORDERS)
            .map(|_| Some(Complex::new(self.number()?, self.number()?)))
            .collect::<Option<Vec<_>>>()?;
        let spectrum = Spectrum {
            centre,
            coefficients,
        };
        Some(Piece {
            signature: spectrum.signature(),
            spectrum,
            holes,
            hole_share,
            area,
            bounds,
            rough: 0.0,
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;

    fn same(a: &Index, b: &Index) {
        assert_eq!(encode(a), encode(b));
    }

    /// A machine with many faces would leave no steps for the file.
    #[test]
    fn building_an_index_takes_no_steps_of_the_inspection() {
        let faces = Faces::new(Vec::new(), false);
        let built = abandon::within(1, || load_or_build_in(None, Of::Machine, &faces));
        assert!(built.is_some_and(|index| !index.glyphs.is_empty()));
    }

    #[test]
    fn a_stale_or_damaged_cache_is_built_anew() {
        let folder = tempfile::tempdir().unwrap();
        let faces = Faces::new(Vec::new(), false);
        let built = load_or_build_in(Some(folder.path()), Of::Machine, &faces);
        assert!(!built.glyphs.is_empty());
        same(
            &load_or_build_in(Some(folder.path()), Of::Machine, &faces),
            &built,
        );
        let file = std::fs::read_dir(folder.path())
            .unwrap()
            .next()
            .unwrap()
            .unwrap()
            .path();
        let whole = std::fs::read(&file).unwrap();
        for damage in [0, FORM.len() + 9, whole.len() / 2, whole.len() - 1] {
            let mut bytes = whole.clone();
            bytes[damage] ^= 1;
            assert!(
                decode(&bytes).is_none(),
                "byte {damage} changed and was believed"
            );
            std::fs::write(&file, &bytes).unwrap();
            same(
                &load_or_build_in(Some(folder.path()), Of::Machine, &faces),
                &built,
            );
            assert_eq!(
                std::fs::read(&file).unwrap(),
                whole,
                "the damaged cache was not replaced"
            );
        }
        std::fs::write(&file, &whole[..whole.len() / 3]).unwrap();
        same(
            &load_or_build_in(Some(folder.path()), Of::Machine, &faces),
            &built,
        );
        std::fs::write(&file, b"").unwrap();
        same(
            &load_or_build_in(Some(folder.path()), Of::Machine, &faces),
            &built,
        );
    }

    #[test]
    fn what_was_written_is_read_back() {
        let built = Index::build(&Faces::new(Vec::new(), false));
        same(&decode(&encode(&built)).unwrap(), &built);
    }
}
