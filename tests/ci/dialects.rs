//! Writes the runs of the dialect tests out as files, for other programs to save again.
//!
//! ```text
//! cargo run --example dialects -- FOLDER
//! ```
//!
//! `FOLDER/list.json` says of each file its dialect and what is wrong with it.
#![allow(dead_code, missing_docs, unreachable_pub)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

#[path = "../common/dialects.rs"]
mod dialects;
#[path = "../common/run.rs"]
mod run;

use std::path::PathBuf;

fn main() {
    let folder = PathBuf::from(
        std::env::args()
            .nth(1)
            .expect("name the folder to write to"),
    );
    std::fs::create_dir_all(&folder).unwrap();
    let mut list = Vec::new();
    for (name, run, faults) in dialects::runs() {
        for (number, (file, dialect, bytes)) in dialects::dialects(&run).into_iter().enumerate() {
            let ending = file.rsplit('.').next().unwrap_or("svg");
            let file = format!("{name}-{number:02}.{ending}");
            std::fs::write(folder.join(&file), bytes).unwrap();
            list.push(serde_json::json!({ "file": file, "dialect": dialect, "faults": faults }));
        }
    }
    let text = serde_json::to_string_pretty(&list).unwrap();
    std::fs::write(folder.join("list.json"), text).unwrap();
}
