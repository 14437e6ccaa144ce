//! The index of the machine's glyphs, kept in the user's cache folder.

use crate::artwork::fonts::Faces;

use super::glyphs::Index;

/// The index of `faces`, from the cache where it is whole and of these very faces.
pub fn load_or_build(faces: &Faces) -> Index {
    Index::build(faces)
}
