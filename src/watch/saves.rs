//! Where news of saves comes from: the system's events, and a sweep through the folder that notices
//! what the events did not tell.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

use notify::event::{AccessKind, AccessMode, ModifyKind};
use notify::{Config, EventKind, RecommendedWatcher, RecursiveMode, Watcher as _};

use super::folder::Folder;
use super::{Message, start_thread};

/// Time between sweeps where events are at work: the longest that a save can go unnoticed if its
/// event is lost.
const SWEEP: Duration = Duration::from_secs(2);

/// The least time between two sweeps: a sweep that is asked for by every one of a thousand saves must
/// not keep the disk busy.
const PAUSE: Duration = Duration::from_millis(250);

/// The system's events.
#[derive(Debug)]
pub(crate) struct Events {
    watcher: RecommendedWatcher,
    root: PathBuf,
    also: BTreeSet<PathBuf>,
}

/// News of one path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct News {
    /// The path.
    pub path: PathBuf,
    /// Whether contents or name may have changed; false: only its entry (permissions, times).
    pub saved: bool,
}

impl Events {
    /// Begins to listen below the root of `folder`.
    ///
    /// # Errors
    ///
    /// The system's words, where it gives no events.
    pub(crate) fn start(folder: &Folder, to: Sender<Message>) -> Result<Self, String> {
        let config = Config::default().with_follow_symlinks(false);
        let mut watcher = RecommendedWatcher::new(
            move |event: notify::Result<notify::Event>| {
                // The receiver is gone only when the program ends.
                let _ = to.send(match event {
                    Ok(event) if event.need_rescan() => Message::Overflow,
                    Ok(event) => match saved(event.kind) {
                        None => return,
                        Some(saved) => Message::News(
                            event
                                .paths
                                .into_iter()
                                .map(|path| News { path, saved })
                                .collect(),
                        ),
                    },
                    Err(_) => Message::Overflow,
                });
            },
            config,
        )
        .map_err(|e| e.to_string())?;
        watcher
            .watch(&folder.root, RecursiveMode::Recursive)
            .map_err(|e| e.to_string())?;
        Ok(Self {
            watcher,
            root: folder.root.clone(),
            also: BTreeSet::new(),
        })
    }

    /// Listens in `folders` too, not in the folders within them: where fixtures, fonts and order
    /// lists lie. One that cannot be listened in is left to the sweep.
    pub(crate) fn also<'a>(&mut self, folders: impl Iterator<Item = &'a Path>) {
        for folder in folders {
            // A relative fixture has its folder named by an empty path.
            let folder = if folder.as_os_str().is_empty() {
                Path::new(".")
            } else {
                folder
            };
            let below = std::path::absolute(folder).is_ok_and(|f| f.starts_with(&self.root));
            if !below && !self.also.contains(folder) && folder.is_dir() {
                let _ = self.watcher.watch(folder, RecursiveMode::NonRecursive);
                self.also.insert(folder.to_path_buf());
            }
        }
    }
}

/// What kind of news an event is; `None` where nothing changed.
fn saved(kind: EventKind) -> Option<bool> {
    match kind {
        // Reading is no change; the end of writing is.
        EventKind::Access(AccessKind::Close(AccessMode::Write)) => Some(true),
        EventKind::Access(_) => None,
        EventKind::Modify(ModifyKind::Metadata(_)) => Some(false),
        _ => Some(true),
    }
}

/// Asks for sweeps.
#[derive(Debug)]
pub(crate) struct Sweeper {
    ask: Sender<()>,
}

impl Sweeper {
    /// Begins to sweep: every `every` (where events are at work: seldom), and when asked. The
    /// thread ends with the value or with the receiver.
    pub(crate) fn start(folder: Folder, every: Option<Duration>, to: Sender<Message>) -> Self {
        let (ask, asked) = mpsc::channel();
        let every = every.unwrap_or(SWEEP);
        let supervisor = to.clone();
        start_thread("the sweep", &supervisor, move || {
            sweep(&folder, every, &asked, &to);
        });
        Self { ask }
    }

    /// Asks for a sweep soon.
    pub(crate) fn soon(&self) {
        let _ = self.ask.send(());
    }
}

fn sweep(folder: &Folder, every: Duration, asked: &Receiver<()>, to: &Sender<Message>) {
    let mut last: Option<Instant> = None;
    loop {
        match asked.recv_timeout(every) {
            Err(RecvTimeoutError::Disconnected) => return,
            Ok(()) => {
                let rest = last.map_or(Duration::ZERO, |l| PAUSE.saturating_sub(l.elapsed()));
                std::thread::sleep(rest.min(every));
                while asked.try_recv().is_ok() {}
            }
            Err(RecvTimeoutError::Timeout) => {}
        }
        if to.send(Message::Swept(folder.list())).is_err() {
            return;
        }
        last = Some(Instant::now());
    }
}
