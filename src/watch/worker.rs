//! The inspections, on as many threads as the machine has processors.

use std::collections::VecDeque;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use super::Message;
use super::cleared_folder::{self, Ready, Receipt};
use super::file_stamp::FileStamp;
use super::input_digest::{FixtureSource, InputDigest};
use super::inspectors::Inspectors;
use crate::artwork::limits::LARGEST;
use crate::inspect::{self, Inspector, Options};
use crate::report::{Run, Verdict};

/// A run to be inspected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// The file.
    pub path: PathBuf,
    /// Its path below the watched folder.
    pub name: PathBuf,
    /// Which of its saves this is.
    pub generation: u64,
}

/// What came of an order.
#[derive(Debug)]
pub struct Done {
    /// The order.
    pub order: Order,
    /// `None`: the file, or what its verdict rests on, changed while it was inspected.
    pub inspected: Option<Inspected>,
}

/// An inspection during which nothing changed.
#[derive(Debug)]
pub struct Inspected {
    /// What was found.
    pub run: Run,
    /// The state of the file that was inspected.
    pub stamp: FileStamp,
    /// What the verdict rests on.
    pub basis: InputDigest,
    /// For a clear run, where there is a gate: the copy, ready to be shown; or why there is none.
    pub ready: Option<Result<Ready, String>>,
}

/// The threads.
pub struct Workers {
    queue: Arc<Queue>,
}

impl fmt::Debug for Workers {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Workers").finish_non_exhaustive()
    }
}

#[derive(Default)]
struct Queue {
    waiting: Mutex<(VecDeque<Order>, bool)>,
    more: Condvar,
}

impl Queue {
    fn lock(&self) -> MutexGuard<'_, (VecDeque<Order>, bool)> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next order; `None` at the end.
    fn next(&self) -> Option<Order> {
        let mut waiting = self.lock();
        loop {
            if waiting.1 {
                return None;
            }
            if let Some(order) = waiting.0.pop_front() {
                return Some(order);
            }
            waiting = self
                .more
                .wait(waiting)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }
}

impl Workers {
    /// Starts the threads. `cleared` is the folder in which copies are made ready.
    pub fn start(options: &Options, cleared: Option<&Path>, to: &Sender<Message>) -> Self {
        let queue = Arc::new(Queue::default());
        let inspectors = Arc::new(Inspectors::default());
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        for _ in 0..threads {
            let (queue, options, to) = (Arc::clone(&queue), options.clone(), to.clone());
            let inspectors = Arc::clone(&inspectors);
            let cleared = cleared.map(Path::to_path_buf);
            std::thread::spawn(move || {
                while let Some(order) = queue.next() {
                    let inspected = carry_out(&order, &options, &inspectors, cleared.as_deref());
                    let done = Done { order, inspected };
                    if to.send(Message::Done(Box::new(done))).is_err() {
                        return;
                    }
                }
            });
        }
        Self { queue }
    }

    /// Takes an order, in place of an earlier one for the same file. One that somebody waits for
    /// goes first.
    pub fn order(&self, order: Order, at_once: bool) {
        let mut waiting = self.queue.lock();
        waiting.0.retain(|o| o.path != order.path);
        if at_once {
            waiting.0.push_front(order);
        } else {
            waiting.0.push_back(order);
        }
        drop(waiting);
        self.queue.more.notify_one();
    }
}

impl Drop for Workers {
    fn drop(&mut self) {
        self.queue.lock().1 = true;
        self.queue.more.notify_all();
    }
}

/// Inspects one file. What is published later is this one reading of it.
fn carry_out(
    order: &Order,
    options: &Options,
    inspectors: &Inspectors,
    cleared: Option<&Path>,
) -> Option<Inspected> {
    let place = FixtureSource::of(&order.path, options);
    let basis = InputDigest::at(&place, options);
    let stamp = FileStamp::of(&order.path)?;
    let inspector = inspectors.at(&place, &basis, options);
    let read = if stamp.length() > LARGEST {
        None
    } else {
        std::fs::read(&order.path).ok()
    };
    let (run, ready) = match read {
        Some(bytes) => {
            let kept = cleared.is_some().then(|| bytes.clone());
            let (run, _) = inspector.inspect_bytes(&order.path, bytes, |_, _| ());
            let ready = cleared
                .zip(kept)
                .filter(|_| run.verdict == Verdict::Clear)
                .map(|(folder, bytes)| {
                    let receipt =
                        Receipt::of(&order.name, &run, basis.digest(options), options.strict);
                    cleared_folder::prepare(folder, &order.name, &bytes, &receipt)
                        .map_err(|e| e.to_string())
                });
            (run, ready)
        }
        // It is refused; the inspection finds the words.
        None => refused(&order.path, &inspector),
    };
    // The verdict counts only if nothing moved under it.
    let same = FixtureSource::of(&order.path, options) == place
        && InputDigest::at(&place, options) == basis;
    if !same {
        inspectors.drop_those_at(&place);
    }
    (same && FileStamp::of(&order.path) == Some(stamp)).then_some(Inspected {
        run,
        stamp,
        basis,
        ready,
    })
}

/// A file that could not be read a moment ago. Should it be readable now, it is not taken as clear:
/// there are no bytes of it to keep.
fn refused(path: &Path, inspector: &Inspector) -> (Run, Option<Result<Ready, String>>) {
    let (run, _) = inspector.inspect(path, |_, _| ());
    if run.verdict == Verdict::Unread {
        return (run, None);
    }
    let trouble = inspect::Failure {
        text: format!(
            "{} could not be read a moment ago: save it again",
            path.display()
        ),
        detail: String::new(),
    };
    (inspect::unread(path, &trouble, run.sha256), None)
}
