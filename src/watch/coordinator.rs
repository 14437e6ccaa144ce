//! The coordinator: knows the state of every run, and alone touches the cleared folder.

mod runs;

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

use super::Message;
use super::board::Board;
use super::calls::Calls;
use super::cleared_folder::ClearedFolder;
use super::file_stamp::FileStamp;
use super::folder::{Folder, Listing};
use super::input_digest::{FixtureSource, InputDigest};
use super::recording::Recording;
use super::saves::{Events, News, Sweeper};
use super::screen::Display;
use super::summary::Entry;
use super::worker::{Done, Order, Workers};
use crate::inspect::{Failure, Options};
use crate::paths::{self, Printable as _};

/// How long a file must rest before it is read. Editors that write in several steps pause for less;
/// a longer wait is felt at every save, a shorter one costs inspections of half a file (which never
/// pass: they only cost time).
const REST: Duration = Duration::from_millis(40);

/// How long after a save "cannot be read" is not told: a file that is still being copied looks just
/// like a broken one.
const GRACE: Duration = Duration::from_secs(1);

/// How often a screen or board is painted at most.
const PAINT: Duration = Duration::from_millis(50);

/// How soon a signal is noticed.
const SIGNAL: Duration = Duration::from_millis(150);

/// Everything the coordinator has in hand.
#[derive(Debug)]
pub(crate) struct Coordinator {
    /// The watched folder.
    pub folder: Folder,
    /// What inspections go by.
    pub options: Options,
    /// Whether the folder is looked through instead of listening to events.
    pub polls: bool,
    /// Whether a hold rings.
    pub bell: bool,
    /// Whether the cleared folder keeps its copies at the end.
    pub keep_at_end: bool,
    /// The cleared folder.
    pub cleared: Option<ClearedFolder>,
    /// The board.
    pub board: Option<Board>,
    /// The record.
    pub recording: Option<Recording>,
    /// The system's events.
    pub events: Option<Events>,
    /// The sweep.
    pub sweeper: Sweeper,
    /// The inspections.
    pub workers: Workers,
    /// The commands.
    pub calls: Calls,
    /// The screen.
    pub display: Display,
    /// Where messages to the coordinator go.
    pub to: Sender<Message>,
    /// What it knows.
    pub state: RunStates,
}

/// What the coordinator knows.
#[derive(Debug, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a fact of its own: begun, advised, overflow, dirty"
)]
pub(crate) struct RunStates {
    runs: BTreeMap<PathBuf, Tracked>,
    /// When a resting file is to be looked at.
    resting: BTreeMap<PathBuf, Instant>,
    inputs: BTreeMap<FixtureSource, InputDigest>,
    /// Inspections that ended and have not been dealt with. News of saves goes first, since it takes
    /// runs out of the cleared folder.
    ended: VecDeque<Done>,
    /// Runs that could not be taken out of the cleared folder; tried again with every sweep.
    stuck: BTreeSet<PathBuf>,
    saves: u64,
    generation: u64,
    /// When the inputs are to be looked at.
    check_inputs_at: Option<Instant>,
    /// Which folder the watched one is; `None` while it is not there.
    identity: Option<(u64, u64)>,
    begun: bool,
    /// Saves that only the sweep noticed.
    missed: usize,
    advised: bool,
    /// The system lost events, and says so itself.
    overflow: bool,
    closed: Vec<String>,
    dirty: bool,
    painted: Option<Instant>,
    /// Why the watch must end: the thread that failed.
    failed: Option<String>,
}

/// A run as it is kept track of.
#[derive(Debug)]
struct Tracked {
    stamp: FileStamp,
    place: FixtureSource,
    generation: u64,
    /// When its last change was noticed.
    changed: Instant,
    /// Whether it was there before the watch began: its first verdict is no change.
    old: bool,
    /// Whether another change could have left the same stamp.
    doubtful: bool,
    /// Whether it is to be inspected although nobody has just saved it.
    backlog: bool,
    entry: Entry,
}

/// What signals ask for.
#[derive(Debug, Clone, Default)]
pub(crate) struct Signals {
    /// To end.
    pub stop: Arc<AtomicBool>,
    /// To stand still until it is told to go on, as Ctrl-Z does.
    pub pause: Arc<AtomicBool>,
}

impl Coordinator {
    /// Keeps watch until a signal ends it.
    ///
    /// # Errors
    ///
    /// What failed, in words.
    pub(crate) fn run(
        &mut self,
        from: &Receiver<Message>,
        signals: &Signals,
        notices: Vec<String>,
    ) -> Result<(), String> {
        let listing = self.folder.list();
        self.display.begin(&self.folder.root, listing.files.len());
        for words in notices {
            self.notice(&words);
        }
        self.swept(listing);
        while !signals.stop.load(Ordering::Relaxed) {
            if signals.pause.swap(false, Ordering::Relaxed) {
                self.pause();
            }
            if let Some(board) = &self.board {
                board.turn();
            }
            let wait = self.wait();
            match from.recv_timeout(wait) {
                Ok(message) => self.take(message),
                Err(RecvTimeoutError::Timeout) => {}
                // Cannot be: the coordinator holds a sender itself.
                Err(RecvTimeoutError::Disconnected) => break,
            }
            while let Ok(message) = from.try_recv() {
                self.take(message);
            }
            if let Some(what) = self.state.failed.take() {
                return Err(what);
            }
            self.workers.sort_out();
            self.rested();
            if let Some(done) = self.state.ended.pop_front() {
                self.ended(done);
            }
            if self
                .state
                .check_inputs_at
                .is_some_and(|at| at <= Instant::now())
            {
                self.check_inputs();
            }
            self.paint();
        }
        Ok(())
    }

    /// Stands still until it is told to go on. Nobody guards the cleared folder meanwhile, so it is
    /// emptied, and every run is inspected anew after that.
    fn pause(&mut self) {
        let kept: Vec<PathBuf> = self.state.runs.keys().cloned().collect();
        self.withdraw_all(&kept);
        self.display.leave();
        #[cfg(unix)]
        let _ = signal_hook::low_level::emulate_default_handler(signal_hook::consts::SIGTSTP);
        self.display.enter();
        self.notice("the watch stood still and goes on: every run is inspected anew");
        for path in kept {
            self.touched(&path, true);
        }
        self.sweeper.soon();
    }

    /// How long nothing is to be done.
    fn wait(&self) -> Duration {
        if !self.state.ended.is_empty() {
            return Duration::ZERO;
        }
        let paint = self
            .state
            .dirty
            .then(|| self.state.painted.map_or_else(Instant::now, |p| p + PAINT));
        let resting = self.state.resting.values().min().copied();
        [paint, resting, self.state.check_inputs_at]
            .into_iter()
            .flatten()
            .min()
            .map_or(SIGNAL, |at| at.saturating_duration_since(Instant::now()))
            .min(SIGNAL)
    }

    fn take(&mut self, message: Message) {
        match message {
            Message::News(news) => {
                for piece in news {
                    self.heard(&piece);
                }
            }
            Message::Overflow => {
                self.state.overflow = true;
                self.sweeper.soon();
            }
            Message::Swept(listing) => self.swept(listing),
            Message::Done(done) => self.state.ended.push_back(*done),
            Message::Notice(words) => self.notice(&words),
            Message::Failed(what) => self.state.failed = Some(what),
        }
    }

    /// Something happened to a path.
    fn heard(&mut self, news: &News) {
        let path = &news.path;
        if self.state.runs.contains_key(path) || self.folder.may_hold(path) {
            self.touched(path, news.saved);
            return;
        }
        if !self.folder.within(path)
            && path.starts_with(&self.folder.root)
            && path != &self.folder.root
        {
            // Hidden, or in the cleared folder: the sweep audits that.
            return;
        }
        // A folder that was renamed or removed takes its runs along.
        let inside: Vec<PathBuf> = self
            .state
            .runs
            .range(path.clone()..)
            .map(|(p, _)| p)
            .take_while(|p| p.starts_with(path))
            .cloned()
            .collect();
        let gone: Vec<PathBuf> = inside.iter().filter(|p| !p.exists()).cloned().collect();
        self.withdraw_all(&gone);
        for run in inside {
            self.touched(&run, false);
        }
        if path.is_dir() || !path.exists() {
            self.sweeper.soon();
        }
        self.state
            .check_inputs_at
            .get_or_insert_with(|| Instant::now() + REST / 2);
    }

    /// What the folder holds, compared with what is known.
    fn swept(&mut self, listing: Listing) {
        self.folder_there(&listing);
        let first = !self.state.begun;
        let overflow = std::mem::take(&mut self.state.overflow);
        let mut files: Vec<(PathBuf, FileStamp)> = listing.files.into_iter().collect();
        // The oldest first: the newest is shown on top.
        files.sort_by_key(|(_, stamp)| stamp.modified());
        let mut seen = BTreeSet::new();
        for (path, stamp) in files {
            let known = self.state.runs.get(&path).map(|r| r.stamp);
            if known != Some(stamp) && self.touched(&path, false) {
                // A file that is new here may have been moved in with its folder.
                let late = stamp.age().is_some_and(|age| age > GRACE / 2);
                self.state.missed += usize::from(known.is_some() && late && !overflow);
            }
            seen.insert(path);
        }
        let absent: Vec<PathBuf> = self
            .state
            .runs
            .keys()
            .filter(|p| !seen.contains(*p))
            .cloned()
            .collect();
        self.withdraw_all(&absent);
        for path in absent {
            self.touched(&path, false);
        }
        self.state.begun = true;
        self.second_looks();
        self.advise();
        for words in &listing.closed {
            if !self.state.closed.contains(words) {
                self.notice(words);
            }
        }
        self.state.closed = listing.closed;
        if !first {
            // Waivers end at midnight, and fixtures may lie where no event comes from.
            self.check_inputs();
        }
        self.audit();
    }

    /// The watched folder itself: gone, back, or another one under its name.
    fn folder_there(&mut self, listing: &Listing) {
        if self.state.begun && listing.identity != self.state.identity {
            match (self.state.identity, listing.identity) {
                (_, None) => {
                    self.notice(&format!(
                        "the folder {} is gone: nothing is clear until it is back",
                        self.folder.root.printable()
                    ));
                    self.events = None;
                }
                (before, Some(_)) => {
                    if before.is_none() {
                        self.notice(&format!(
                            "the folder {} is back",
                            self.folder.root.printable()
                        ));
                    }
                    self.listen_anew();
                }
            }
        }
        self.state.identity = listing.identity;
    }

    fn listen_anew(&mut self) {
        self.events = None;
        if self.polls {
            return;
        }
        match Events::start(&self.folder, self.to.clone()) {
            Ok(mut events) => {
                for inputs in self.state.inputs.values() {
                    events.also(inputs.folders());
                }
                self.events = Some(events);
                // What was saved before the events began.
                self.sweeper.soon();
            }
            Err(why) => self.notice(&format!("the system gives no events ({why})")),
        }
    }

    /// Files changed so shortly before they were read that their stamp proves nothing are read once
    /// more, when it does.
    fn second_looks(&mut self) {
        let due: Vec<PathBuf> = self
            .state
            .runs
            .iter()
            .filter(|(_, r)| r.doubtful && !r.entry.working && !r.stamp.doubtful())
            .map(|(p, _)| p.clone())
            .collect();
        for path in due {
            let digest = paths::read(&path)
                .ok()
                .map(|b| crate::fixture::code::digest(&b));
            let Some(run) = self.state.runs.get_mut(&path) else {
                continue;
            };
            run.doubtful = false;
            let told = run.entry.told.as_ref().map(|t| t.sha256.clone());
            // A file that cannot be read has no digest and stays as it is.
            if digest.is_some() && told.is_some_and(|t| !t.is_empty() && Some(t) != digest) {
                self.touched(&path, true);
            }
        }
    }

    /// Two saves without events are no coincidence.
    fn advise(&mut self) {
        if self.events.is_some() && self.state.missed >= 2 && !self.state.advised {
            self.state.advised = true;
            self.notice(
                "saves in this folder come without events, as on many network folders: they are noticed within two seconds; start with --poll 0.5 to notice them sooner",
            );
        }
    }

    /// Looks after the cleared folder itself.
    fn audit(&mut self) {
        for name in std::mem::take(&mut self.state.stuck) {
            self.withdraw(&name);
        }
        let Some(cleared) = &mut self.cleared else {
            return;
        };
        let audit = cleared.audit();
        for words in audit.said {
            self.notice(&words);
        }
        for name in audit.upset {
            let path = self.folder.root.join(name);
            self.touched(&path, true);
        }
        // What is clear and could not be put there: the disk may have room again.
        for (path, run) in &self.state.runs {
            if run.entry.barred.is_some() && !run.entry.working {
                self.workers.order_once(Order {
                    path: path.clone(),
                    name: self.folder.name(path).to_path_buf(),
                    generation: run.generation,
                    backlog: true,
                });
            }
        }
    }

    /// Checks whether anything that verdicts rest on has changed. Runs that rest on it leave the
    /// cleared folder and are inspected again.
    fn check_inputs(&mut self) {
        self.state.check_inputs_at = None;
        let mut fresh: BTreeMap<FixtureSource, InputDigest> = BTreeMap::new();
        // All runs of a folder have one place.
        let mut places: BTreeMap<PathBuf, FixtureSource> = BTreeMap::new();
        let mut moved = Vec::new();
        for (path, run) in &self.state.runs {
            let parent = path.parent().unwrap_or(Path::new("")).to_path_buf();
            let place = places
                .entry(parent)
                .or_insert_with(|| FixtureSource::of(path, &self.options))
                .clone();
            let inputs = fresh
                .entry(place.clone())
                .or_insert_with(|| InputDigest::at(&place, &self.options));
            if place != run.place || self.state.inputs.get(&place) != Some(inputs) {
                moved.push((path.clone(), place));
            }
        }
        self.state.inputs = fresh;
        if let Some(events) = &mut self.events {
            for inputs in self.state.inputs.values() {
                events.also(inputs.folders());
            }
        }
        let paths: Vec<PathBuf> = moved.iter().map(|(p, _)| p.clone()).collect();
        self.withdraw_all(&paths);
        for (path, place) in moved {
            if self.is_material(&path, &place) {
                self.forget(&path);
            } else {
                self.inspect_anew(&path, place);
            }
        }
    }

    /// Whether the file is a fixture's drawing or reference, and no run.
    fn is_material(&self, path: &Path, place: &FixtureSource) -> bool {
        self.state.inputs.get(place).is_some_and(|b| b.holds(path))
    }

    fn notice(&mut self, words: &str) {
        self.display.notice(words);
        if let Some(board) = &self.board {
            board.notice(words);
        }
        self.state.dirty = true;
    }

    fn paint(&mut self) {
        let due = self.state.painted.is_none_or(|p| p.elapsed() >= PAINT);
        if !due || !(self.state.dirty || self.display.resized()) {
            return;
        }
        self.state.dirty = false;
        self.state.painted = Some(Instant::now());
        let mut entries: Vec<(&Path, &Entry)> = self
            .state
            .runs
            .iter()
            .map(|(p, r)| (p.as_path(), &r.entry))
            .collect();
        entries.sort_by_key(|(_, e)| std::cmp::Reverse(e.saved));
        let cleared = self.cleared.as_ref().map(ClearedFolder::len);
        self.display.paint(&entries, cleared);
        if let Some(board) = &self.board {
            board.show(&entries);
        }
    }

    /// Ends the watch. Unless it ended in good order and is asked to keep the copies, the cleared folder
    /// is emptied: nobody guards it any more.
    ///
    /// # Errors
    ///
    /// What failed, and copies that cannot be taken out.
    pub(crate) fn end(mut self, ended: Result<(), String>) -> Result<(), Failure> {
        let mut trouble = Vec::new();
        let mut words = None;
        let keep = self.keep_at_end && ended.is_ok();
        if let Err(what) = ended {
            trouble.push(format!(
                "{what} failed, so the watch has ended{}: start it again, and please report what happened",
                if self.cleared.is_some() { " and the cleared folder is emptied" } else { "" }
            ));
        }
        if let Some(cleared) = &mut self.cleared {
            if !keep {
                trouble.extend(cleared.empty().iter().map(ToString::to_string));
            } else if !cleared.is_empty() {
                words = Some(format!(
                    "the cleared folder is no longer kept: its {} cleared, whatever is saved from now on",
                    match cleared.len() {
                        1 => "one run stays as it was".to_owned(),
                        n => format!("{n} runs stay as they were"),
                    }
                ));
            }
        }
        if let Some(error) = self.display.end(words.as_deref()) {
            trouble.push(format!(
                "what this command says could not be written ({error}), and verdicts are lost"
            ));
        }
        if trouble.is_empty() {
            return Ok(());
        }
        Err(Failure::plain(trouble.join("\n")))
    }
}

#[cfg(test)]
mod tests;
