//! Proofs for the board, drawn when they are asked for.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use crate::abandon::{self, Task};
use crate::inspect::{self, Options};
use crate::report::{Run, proof};
use crate::watch::file_stamp::FileStamp;
use crate::watch::input_digest::{FixtureSource, InputDigest};
use crate::wording::escape;

/// What a proof may load: its own styles and the pictures inside it. It holds words and shapes from
/// artwork that nobody has looked at yet, so it runs no script and reaches nothing.
pub(super) const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'; sandbox";

/// How many proofs are remembered: every page that is open asks for the same few.
const KEPT: usize = 8;

/// Draws proofs, one at a time.
#[derive(Debug)]
pub(super) struct Proofs {
    options: Options,
    drawn: Mutex<Vec<Drawn>>,
}

#[derive(Debug)]
struct Drawn {
    path: PathBuf,
    stamp: Option<FileStamp>,
    inputs: InputDigest,
    page: String,
}

impl Proofs {
    pub(super) fn new(options: Options) -> Self {
        Self {
            options,
            drawn: Mutex::new(Vec::new()),
        }
    }

    /// The proof of the file as it is now.
    pub(super) fn of(&self, path: &Path) -> String {
        // Held while drawing: several pages wait for one another, not inspections for them.
        let mut drawn = self.drawn.lock().unwrap_or_else(PoisonError::into_inner);
        let stamp = FileStamp::of(path);
        let inputs = InputDigest::at(&FixtureSource::of(path, &self.options), &self.options);
        if let Some(known) = drawn.iter().find(|d| d.path == path)
            && known.stamp == stamp
            && known.inputs == inputs
        {
            return known.page.clone();
        }
        let options = Options {
            today: Some(inputs.day()),
            ..self.options.clone()
        };
        // A page must not keep the other cores from inspecting.
        let (run, page) = abandon::for_task(Some(Task::on_one_core()), || {
            inspect::inspect(path, &options, proof::html)
        });
        let page = page.unwrap_or_else(|| unread(&run));
        drawn.retain(|d| d.path != path);
        if drawn.len() >= KEPT {
            drawn.remove(0);
        }
        if stamp.is_some_and(|s| !s.doubtful()) {
            drawn.push(Drawn {
                path: path.to_path_buf(),
                stamp,
                inputs,
                page: page.clone(),
            });
        }
        page
    }
}

/// In place of the proof of a run that could not be read.
fn unread(run: &Run) -> String {
    let trouble = run.trouble.as_deref().unwrap_or_default();
    framed(&format!(
        "<h1>There is no proof</h1><p>{}</p>",
        escape(trouble.lines().next().unwrap_or_default())
    ))
}

fn framed(body: &str) -> String {
    format!(
        "<!DOCTYPE html><html lang=\"en\"><meta charset=\"utf-8\"><title>proof</title><style>body{{font:28px sans-serif;margin:1em}}</style>{body}</html>"
    )
}
