//! Proofs for the board, drawn when they are asked for.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use crate::abandon::{self, Task};
use crate::inspect::{self, Options};
use crate::matching::Job;
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
    /// Of runs that were dropped on the page, by the last part of their address.
    dropped: Mutex<Vec<(String, Arc<Drawn>)>>,
    known: Mutex<Vec<Known>>,
}

/// What is drawn of one run.
#[derive(Debug)]
pub(super) struct Drawn {
    /// The proof, a page.
    pub(super) proof: String,
    /// What is taken in at a glance, an SVG drawing.
    pub(super) picture: String,
}

#[derive(Debug)]
struct Known {
    path: PathBuf,
    stamp: Option<FileStamp>,
    inputs: InputDigest,
    drawn: Arc<Drawn>,
}

impl Proofs {
    pub(super) fn new(options: Options) -> Self {
        Self {
            options,
            dropped: Mutex::default(),
            known: Mutex::new(Vec::new()),
        }
    }

    /// What is drawn of a dropped run.
    pub(super) fn dropped(&self, id: &str) -> Option<Arc<Drawn>> {
        let dropped = self.dropped.lock().unwrap_or_else(PoisonError::into_inner);
        let (_, drawn) = dropped.iter().find(|(known, _)| known == id)?;
        Some(Arc::clone(drawn))
    }

    /// Remembers what is drawn of a dropped run, for as long as few others are.
    pub(super) fn keep(&self, id: &str, drawn: Drawn) {
        let mut dropped = self.dropped.lock().unwrap_or_else(PoisonError::into_inner);
        dropped.retain(|(known, _)| known != id);
        if dropped.len() >= KEPT {
            dropped.remove(0);
        }
        dropped.push((id.to_owned(), Arc::new(drawn)));
    }

    /// What is drawn of the file as it is now.
    pub(super) fn of(&self, path: &Path) -> Arc<Drawn> {
        // Held while drawing: several pages wait for one another, not inspections for them.
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        let stamp = FileStamp::of(path);
        let inputs = InputDigest::at(&FixtureSource::of(path, &self.options), &self.options);
        if let Some(same) = known.iter().find(|d| d.path == path)
            && same.stamp == stamp
            && same.inputs == inputs
        {
            return Arc::clone(&same.drawn);
        }
        let options = Options {
            today: Some(inputs.day()),
            ..self.options.clone()
        };
        // A page must not keep the other cores from inspecting.
        let (run, drawn) = abandon::for_task(Some(Task::on_one_core()), || {
            inspect::inspect(path, &options, Drawn::of)
        });
        let drawn = Arc::new(drawn.unwrap_or_else(|| Drawn::unread(&run)));
        known.retain(|d| d.path != path);
        if known.len() >= KEPT {
            known.remove(0);
        }
        if stamp.is_some_and(|s| !s.doubtful()) {
            known.push(Known {
                path: path.to_path_buf(),
                stamp,
                inputs,
                drawn: Arc::clone(&drawn),
            });
        }
        drawn
    }
}

impl Drawn {
    /// What is drawn of an inspection.
    pub(super) fn of(job: &Job<'_>, run: &Run) -> Self {
        Self {
            proof: proof::html(job, run),
            picture: proof::glance(job, run),
        }
    }

    /// In place of a run that could not be read.
    pub(super) fn unread(run: &Run) -> Self {
        let trouble = run.trouble.as_deref().unwrap_or_default();
        Self {
            proof: framed(&format!(
                "<h1>There is no proof</h1><p>{}</p>",
                escape(trouble.lines().next().unwrap_or_default())
            )),
            picture: NO_PICTURE.to_owned(),
        }
    }
}

/// A blank sheet.
const NO_PICTURE: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 40 20\" width=\"1000\" height=\"500\" role=\"img\"><title>There is no picture</title><path d=\"M12 4h12l4 4v8H12z M24 4v4h4 M17 9l6 5M23 9l-6 5\" fill=\"none\" stroke=\"#655e53\" stroke-width=\".6\"/></svg>";

fn framed(body: &str) -> String {
    format!(
        "<!DOCTYPE html><html lang=\"en\"><meta charset=\"utf-8\"><title>proof</title><style>body{{font:28px sans-serif;margin:1em}}</style>{body}</html>"
    )
}
