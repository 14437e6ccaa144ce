//! `watch`: saves → pipeline → cleared folder, screen and board.
//!
//! ```text
//! events ─┐                                              ┌─▶ cleared folder
//! sweep ──┴▶ coordinator ─ settles ─▶ workers ─▶ coordinator ─▶ screen, board, commands
//! ```
//!
//! One thread, the coordinator, knows the state of every run and alone touches the cleared folder;
//! all others send it messages. Events make it quick and the sweep makes it reliable: a save whose
//! event is lost is found by the next sweep. Nothing waits for a screen, a page or a disk. If any
//! thread fails, the cleared folder is emptied and the watch ends.
//!
//! Limits: between a save and its event the cleared folder still holds the copy of the save before
//! (a few milliseconds where events work, the time between sweeps where they do not). No event tells of
//! writes through a link, through another name of the file, or through a mapping of it into memory, nor
//! of any in folders beyond the number that the system gives events for: the sweep notices those. Pages
//! that stay mapped may be written again within half a minute without a trace in the file's times; that
//! is noticed with the next change that leaves one. A file that is
//! written without a pause shows no verdict until it rests. The machine's own fonts are read anew every
//! minute, but a change of them alone starts no inspection. A watch that is killed outright leaves its
//! copies where they are; the next one takes them out before anything else.

pub(crate) mod board;
pub(crate) mod calls;
pub(crate) mod cleared_folder;
pub(crate) mod coordinator;
pub(crate) mod file_stamp;
pub(crate) mod folder;
pub(crate) mod input_digest;
pub(crate) mod inspectors;
pub(crate) mod recording;
pub(crate) mod saves;
pub(crate) mod screen;
pub(crate) mod summary;
pub(crate) mod worker;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::mpsc::{self, Sender};
use std::time::Duration;

use self::board::{Board, BoardOptions};
use self::calls::Calls;
use self::cleared_folder::ClearedFolder;
use self::coordinator::{Coordinator, Signals};
use self::folder::{Folder, Listing};
use self::recording::{RecordTo, Recording};
use self::saves::{Events, News, Sweeper};
use self::screen::Display;
use self::worker::{Done, Workers};
use crate::inspect::{Failure, Options};
use crate::paths::Printable as _;

/// What `watch` is asked to do.
#[derive(Debug, Clone, Default)]
pub(crate) struct Watch {
    /// The folder.
    pub folder: PathBuf,
    /// What inspections go by.
    pub options: Options,
    /// `--cleared`.
    pub cleared: Option<PathBuf>,
    /// `--keep-at-end`: the cleared folder keeps its copies when the watch ends.
    pub keep_at_end: bool,
    /// `--poll`: look at every file this often, and listen to no events.
    pub poll: Option<Duration>,
    /// `--bell`.
    pub bell: bool,
    /// `--on-hold`.
    pub on_hold: Option<PathBuf>,
    /// `--on-clear`.
    pub on_clear: Option<PathBuf>,
    /// `--board`.
    pub board: Option<BoardOptions>,
    /// `--record` and `--by`.
    pub record: Option<RecordTo>,
}

/// Messages to the coordinator.
#[derive(Debug)]
pub(crate) enum Message {
    /// Paths that something happened to.
    News(Vec<News>),
    /// Events were lost.
    Overflow,
    /// What a sweep found.
    Swept(Listing),
    /// An inspection ended.
    Done(Box<Done>),
    /// Words for people.
    Notice(String),
    /// This thread has failed.
    Failed(String),
}

/// Starts a thread of the watch. If it fails, it tells the coordinator, which would otherwise wait
/// for it for ever.
fn start_thread(name: &'static str, to: &Sender<Message>, work: impl FnOnce() + Send + 'static) {
    let supervisor = to.clone();
    let supervised = move || {
        if catch_unwind(AssertUnwindSafe(work)).is_err() {
            let _ = supervisor.send(Message::Failed(name.to_owned()));
        }
    };
    if let Err(e) = std::thread::Builder::new()
        .name(name.to_owned())
        .spawn(supervised)
    {
        let _ = to.send(Message::Failed(format!("{name} has no thread ({e}), and")));
    }
}

/// Watches until a signal ends it (interrupt, quit, terminate, hang-up).
///
/// # Errors
///
/// What stands in the way of beginning: no such folder, a cleared folder that cannot be kept, a board
/// whose address is taken. What ended the watch if no signal did, and copies that could not be taken out
/// at the end.
pub(crate) fn watch(options: &Watch, display: Display) -> Result<(), Failure> {
    let folder = place(options)?;
    never_files(options)?;
    let signals = Signals {
        stop: signals(false)?,
        ..Signals::default()
    };
    #[cfg(unix)]
    {
        use signal_hook::consts::{SIGQUIT, SIGTSTP};
        for (signal, flag) in [(SIGQUIT, &signals.stop), (SIGTSTP, &signals.pause)] {
            signal_hook::flag::register(signal, Arc::clone(flag)).map_err(|e| no_signals(&e))?;
        }
    }
    let (to, from) = mpsc::channel();
    let mut notices = Vec::new();
    let cleared = match &options.cleared {
        None => None,
        Some(cleared) => {
            // By its full path, as it is told apart from runs by it.
            let folder = full(cleared)?;
            let (cleared, said) = ClearedFolder::open(&folder).map_err(Failure::plain)?;
            notices.extend(said);
            Some(cleared)
        }
    };
    let board = match &options.board {
        None => None,
        Some(wanted) => {
            let board = Board::start(wanted, &folder.root, &options.options, &to)
                .map_err(Failure::plain)?;
            notices.push(format!("the board is at {}", board.address()));
            Some(board)
        }
    };
    let mut events = None;
    if options.poll.is_none() {
        match Events::start(&folder, to.clone()) {
            Ok(listening) => events = Some(listening),
            Err(why) => notices.push(format!(
                "the system gives no events for this folder ({why}): it is looked through every two seconds; --poll sets another time"
            )),
        }
    }
    let mut coordinator = Coordinator {
        workers: Workers::start(
            &options.options,
            cleared.as_ref().map(ClearedFolder::folder),
            &to,
        ),
        sweeper: Sweeper::start(folder.clone(), options.poll, to.clone()),
        calls: Calls::start(
            options.on_hold.clone(),
            options.on_clear.clone(),
            to.clone(),
        ),
        recording: options
            .record
            .clone()
            .map(|record| Recording::start(record, to.clone())),
        to,
        folder,
        options: options.options.clone(),
        polls: options.poll.is_some(),
        bell: options.bell,
        keep_at_end: options.keep_at_end,
        cleared,
        board,
        events,
        display,
        state: coordinator::RunStates::default(),
    };
    let ended = catch_unwind(AssertUnwindSafe(|| {
        coordinator.run(&from, &signals, notices)
    }))
    .unwrap_or_else(|_| Err("the coordinator".to_owned()));
    coordinator.end(ended)
}

/// The folder by its full path, and the cleared folder where it lies inside.
fn place(options: &Watch) -> Result<Folder, Failure> {
    let root = options
        .folder
        .canonicalize()
        .ok()
        .filter(|p| p.is_dir())
        .ok_or_else(|| {
            Failure::plain(format!(
                "{} is no folder: name the folder that runs are saved in",
                options.folder.printable()
            ))
        })?;
    let apart = options.cleared.as_deref().map(full).transpose()?;
    if apart.as_ref().is_some_and(|a| root.starts_with(a)) {
        return Err(Failure::plain(format!(
            "the cleared folder {} would hold the watched folder itself: name another, beside or inside it",
            apart.unwrap_or_default().printable()
        )));
    }
    Ok(Folder { root, apart })
}

/// Refuses what never becomes a file or a folder: a pipe or a device. What is not there yet is waited for.
fn never_files(options: &Watch) -> Result<(), Failure> {
    let inspects = &options.options;
    let named = [
        inspects.fixture.as_ref(),
        inspects.fixtures.as_ref(),
        inspects.names.as_ref().map(|n| &n.file),
        options.record.as_ref().map(|r| &r.file),
        options.on_hold.as_ref(),
        options.on_clear.as_ref(),
    ];
    for path in named.into_iter().flatten() {
        if std::fs::metadata(path).is_ok_and(|about| !about.is_file() && !about.is_dir()) {
            return Err(Failure::plain(format!(
                "{} is neither a file nor a folder, and the watch would wait for it in vain: name an ordinary one",
                path.printable()
            )));
        }
    }
    Ok(())
}

/// The full path of a folder that may not be there yet, links resolved as far as it is there.
fn full(path: &Path) -> Result<PathBuf, Failure> {
    let fail =
        |e: std::io::Error| Failure::plain(format!("{} is no usable path: {e}", path.printable()));
    let absolute = std::path::absolute(path).map_err(fail)?;
    let there = absolute.ancestors().find(|p| p.exists());
    let Some(there) = there else {
        return Ok(absolute);
    };
    let rest = absolute.strip_prefix(there).unwrap_or(Path::new(""));
    let real = there.canonicalize().map_err(fail)?;
    Ok(if rest.as_os_str().is_empty() {
        real
    } else {
        real.join(rest)
    })
}

/// A flag that the signals raise which ask a program to end. A second one ends it at once; so does the
/// first one where `at_once` is set.
pub(crate) fn signals(at_once: bool) -> Result<Arc<AtomicBool>, Failure> {
    use signal_hook::consts::{SIGINT, SIGTERM};

    let stop = Arc::new(AtomicBool::new(false));
    let mut wanted = vec![SIGINT, SIGTERM];
    #[cfg(unix)]
    wanted.push(signal_hook::consts::SIGHUP);
    for signal in wanted.drain(..) {
        let ends = if at_once {
            Arc::new(AtomicBool::new(true))
        } else {
            Arc::clone(&stop)
        };
        // In this order: the first signal finds the flag down, raises it, and does nothing else.
        signal_hook::flag::register_conditional_shutdown(signal, 2, ends)
            .and_then(|_| signal_hook::flag::register(signal, Arc::clone(&stop)))
            .map_err(|e| no_signals(&e))?;
    }
    Ok(stop)
}

fn no_signals(why: &std::io::Error) -> Failure {
    Failure::plain(format!("signals cannot be received: {why}"))
}
