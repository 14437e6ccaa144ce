//! Writes what the screen shows, on a thread of its own: a terminal or pipe that nobody reads keeps
//! nothing else waiting.

use std::collections::VecDeque;
use std::io::Write;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// Pieces of text that wait at most. More would fill the memory when nobody reads for days; with
/// fewer, a reader who comes back misses news that the board still shows.
const MOST: usize = 10_000;

/// How long the end waits for the last words to be read. Longer, and a watch whose terminal stands still
/// does not end when it is asked to.
const LAST_WORDS: Duration = Duration::from_secs(1);

/// How often a program in the background looks whether it is in the foreground again.
const LOOK: Duration = Duration::from_millis(200);

/// Where text goes.
#[derive(Debug)]
pub(super) struct Writer(Arc<Shared>);

#[derive(Debug, Default)]
struct Shared {
    waiting: Mutex<Waiting>,
    news: Condvar,
}

#[derive(Debug, Default)]
struct Waiting {
    text: VecDeque<String>,
    /// How many pieces nobody read in time.
    left_out: usize,
    /// The latest painting; an older one that was not written yet is of no use.
    frame: Option<String>,
    writing: bool,
    ended: bool,
    /// Why some text could not be written, the first time.
    lost: Option<String>,
}

impl Waiting {
    fn nothing(&self) -> bool {
        self.text.is_empty() && self.frame.is_none()
    }

    /// Everything, in the order in which it is to be written.
    fn take(&mut self) -> String {
        let mut all = match std::mem::take(&mut self.left_out) {
            0 => String::new(),
            n => format!("NOTE   {n} lines are left out here, because nobody read them\n"),
        };
        all.extend(self.text.drain(..));
        all.push_str(&self.frame.take().unwrap_or_default());
        all
    }
}

impl Writer {
    /// Begins to write to `out`, which may be the terminal that this program was started from.
    pub(super) fn start(mut out: Box<dyn Write + Send>, terminal: bool) -> Self {
        let shared = Arc::new(Shared::default());
        let writer = Self(Arc::clone(&shared));
        std::thread::spawn(move || {
            let mut waiting = shared.lock();
            loop {
                let held_back = terminal && in_the_background();
                if waiting.nothing() || held_back {
                    if waiting.ended {
                        return;
                    }
                    // No news comes when the terminal is given back.
                    let patience = if held_back {
                        LOOK
                    } else {
                        Duration::from_hours(1)
                    };
                    waiting = shared.wait(waiting, patience);
                    continue;
                }
                let text = waiting.take();
                waiting.writing = true;
                drop(waiting);
                // In one write, so that nobody sees half of it. A reader that went away is no reason
                // to stop keeping the cleared folder.
                let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
                waiting = shared.lock();
                if let Err(error) = written
                    && error.kind() != std::io::ErrorKind::BrokenPipe
                {
                    waiting.lost.get_or_insert_with(|| error.to_string());
                }
                waiting.writing = false;
                shared.news.notify_all();
            }
        });
        writer
    }

    /// Text that is written for as long as anybody reads.
    pub(super) fn text(&self, text: String) {
        let mut waiting = self.0.lock();
        if waiting.text.len() >= MOST {
            waiting.text.pop_front();
            waiting.left_out += 1;
        }
        waiting.text.push_back(text);
        self.0.news.notify_all();
    }

    /// A painting, in place of the one before it.
    pub(super) fn frame(&self, frame: String) {
        self.0.lock().frame = Some(frame);
        self.0.news.notify_all();
    }

    /// Writes `text` after everything before it, and waits a while for it to be read. Gives why some text
    /// was lost, a reader that went away left out.
    pub(super) fn finish(&self, text: String) -> Option<String> {
        self.0.lock().frame = None;
        self.text(text);
        let waiting = self.0.lock();
        let (waiting, _) = self
            .0
            .news
            .wait_timeout_while(waiting, LAST_WORDS, |w| w.writing || !w.nothing())
            .unwrap_or_else(PoisonError::into_inner);
        waiting.lost.clone()
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        self.0.lock().ended = true;
        self.0.news.notify_all();
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn wait<'a>(
        &self,
        waiting: MutexGuard<'a, Waiting>,
        patience: Duration,
    ) -> MutexGuard<'a, Waiting> {
        self.news
            .wait_timeout(waiting, patience)
            .unwrap_or_else(PoisonError::into_inner)
            .0
    }
}

/// Whether this program is in the background of its terminal. A terminal that is set to stop programs
/// which write from there (`stty tostop`) would stop the whole program, and on any other the painting
/// would lie over somebody's work.
fn in_the_background() -> bool {
    #[cfg(unix)]
    {
        let out = std::io::stdout();
        rustix::termios::tcgetpgrp(out).is_ok_and(|group| group != rustix::process::getpgrp())
    }
    #[cfg(not(unix))]
    false
}
