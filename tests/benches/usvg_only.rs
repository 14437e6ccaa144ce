//! The measure that `inspect` is held against: a program that lets usvg parse a file, with the same
//! faces, and does nothing else. Faces are read on the first lettering, as they are by `inspect`.
#![allow(missing_docs)]

use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;

use usvg::fontdb::Source;

fn main() -> ExitCode {
    let Some(file) = std::env::args_os().nth(1).map(PathBuf::from) else {
        return ExitCode::from(2);
    };
    let Ok(bytes) = std::fs::read(file) else {
        return ExitCode::from(2);
    };
    let lettering = bytes.windows(5).any(|w| w == b"<text");
    let mut options = usvg::Options::default();
    if lettering {
        let faces = options.fontdb_mut();
        faces.load_system_fonts();
        for face in [
            epaint_default_fonts::UBUNTU_LIGHT,
            epaint_default_fonts::HACK_REGULAR,
        ] {
            faces.load_font_source(Source::Binary(Arc::new(face)));
        }
    }
    match usvg::Tree::from_data(&bytes, &options) {
        Ok(tree) => ExitCode::from(u8::from(tree.root().children().is_empty())),
        Err(_) => ExitCode::from(2),
    }
}
