//! Verdicts for the record, on a thread of their own: a slow disk must not hold up the cleared folder.

use std::path::PathBuf;
use std::sync::mpsc::{self, Sender};
use std::thread::JoinHandle;

use super::Message;
use crate::record::Entry;
use crate::record::append::append;
use crate::report::Run;

/// Where verdicts are recorded.
#[derive(Debug, Clone)]
pub(crate) struct RecordTo {
    /// `--record`.
    pub file: PathBuf,
    /// `--by`.
    pub by: Option<String>,
}

/// The thread; when it is dropped, what it was given is on the disk.
#[derive(Debug)]
pub(crate) struct Recording {
    by: Option<String>,
    lines: Option<Sender<Entry>>,
    thread: Option<JoinHandle<()>>,
}

impl Recording {
    /// Starts the thread; what cannot be recorded is told as a notice.
    pub(crate) fn start(to: RecordTo, notices: Sender<Message>) -> Self {
        let (lines, from) = mpsc::channel::<Entry>();
        let thread = std::thread::spawn(move || {
            for entry in from {
                if let Err(e) = append(&to.file, &entry) {
                    // Whoever would hear it may have ended already.
                    let _ = notices.send(Message::Notice(e.to_string()));
                }
            }
        });
        Self {
            by: to.by,
            lines: Some(lines),
            thread: Some(thread),
        }
    }

    /// Records a verdict, as of now.
    pub(crate) fn add(&self, run: &Run) {
        if let Some(lines) = &self.lines {
            // The thread ends only after this sender is gone.
            let _ = lines.send(Entry::of(run, self.by.as_deref()));
        }
    }
}

impl Drop for Recording {
    fn drop(&mut self) {
        self.lines = None;
        if let Some(thread) = self.thread.take() {
            // A panic in it was told by the thread itself.
            let _ = thread.join();
        }
    }
}
