//! The order of the house: every room takes only from rooms below it, and files go round in no circle.
//!
//! The order is the table of rooms in DEVELOPERS.md, from the top down to the ground.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

#[path = "house/source.rs"]
mod source;

use std::path::Path;

#[test]
fn show() {
    let files = source::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"));
    for (name, f) in &files {
        for i in &f.imports {
            println!(
                "{} {}:{} {}",
                name.join("::"),
                f.path.display(),
                i.line,
                i.to.join("::")
            );
        }
    }
}
