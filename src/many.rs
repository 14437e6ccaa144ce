//! Many files in one call, on all cores. Results are reported in the order of the files, each as soon
//! as it and all before it are done.
//!
//! Memory does not grow with the number of files: only what is still to be reported is kept of a
//! finished file, and no worker runs far ahead of the slowest.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::sync::{Condvar, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How many files each worker may be ahead of the next one to be reported. With fewer, one slow file
/// leaves the other cores idle; with more, more results wait in memory.
const AHEAD: usize = 64;

/// How often a signal is looked for and the progress is told.
const BEAT: Duration = Duration::from_millis(200);

/// How far a call has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Progress {
    /// Files that are done.
    pub done: usize,
    /// Files in all.
    pub all: usize,
    /// Since the start.
    pub taken: Duration,
}

impl Progress {
    /// The time that is left if the rest goes as the files so far; `None` before the first.
    pub(crate) fn left(&self) -> Option<Duration> {
        (self.done > 0).then(|| {
            let rest = self.all.saturating_sub(self.done) as f64 / self.done as f64;
            self.taken.mul_f64(rest)
        })
    }

    /// "120 of 8000 files, 2 min left".
    pub(crate) fn words(&self) -> String {
        let left = self.left().map_or_else(String::new, |left| {
            let seconds = left.as_secs_f64().ceil() as u64;
            if seconds < 100 {
                format!(", {seconds} s left")
            } else {
                format!(", {} min left", seconds.div_ceil(60))
            }
        });
        format!("{} of {} files{left}", self.done, self.all)
    }
}

/// Receives what happens during the call.
pub(crate) trait Listener<T> {
    /// The result of the next file, in the order of the files.
    fn next(&mut self, made: T);

    /// Called regularly with the progress so far.
    fn beat(&mut self, progress: Progress);
}

/// Calls `work` for each number below `count`, on all cores, and passes the results to `listener` in
/// order. Once `stop` is set, no further one is started. Returns how many were reported.
pub(crate) fn each<T: Send>(
    count: usize,
    stop: &AtomicBool,
    work: impl Fn(usize) -> T + Sync,
    listener: &mut impl Listener<T>,
) -> usize {
    let start = Instant::now();
    let workers = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let (begun, told) = (AtomicUsize::new(0), Mutex::new(0_usize));
    let more = Condvar::new();
    let (send, receive) = mpsc::channel::<(usize, T)>();
    std::thread::scope(|scope| {
        for _ in 0..workers.min(count) {
            let send = send.clone();
            let (begun, told, more, work) = (&begun, &told, &more, &work);
            scope.spawn(move || {
                loop {
                    let next = begun.fetch_add(1, Ordering::Relaxed);
                    if next >= count {
                        return;
                    }
                    let mut at = told.lock().unwrap_or_else(PoisonError::into_inner);
                    while next >= *at + AHEAD * workers && !stop.load(Ordering::Relaxed) {
                        at = more
                            .wait_timeout(at, BEAT)
                            .unwrap_or_else(PoisonError::into_inner)
                            .0;
                    }
                    drop(at);
                    if stop.load(Ordering::Relaxed) || send.send((next, work(next))).is_err() {
                        return;
                    }
                }
            });
        }
        drop(send);
        let mut waiting: BTreeMap<usize, T> = BTreeMap::new();
        let (mut next, mut done) = (0, 0);
        let mut beat = Instant::now();
        loop {
            match receive.recv_timeout(BEAT) {
                Ok((index, made)) => {
                    done += 1;
                    waiting.insert(index, made);
                    while let Some(made) = waiting.remove(&next) {
                        listener.next(made);
                        next += 1;
                    }
                    *told.lock().unwrap_or_else(PoisonError::into_inner) = next;
                    more.notify_all();
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
            if beat.elapsed() >= BEAT {
                beat = Instant::now();
                listener.beat(Progress {
                    done,
                    all: count,
                    taken: start.elapsed(),
                });
            }
        }
        next
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Default)]
    struct Heard {
        made: Vec<usize>,
        stop: Option<(usize, std::sync::Arc<AtomicBool>)>,
    }

    impl Listener<usize> for Heard {
        fn next(&mut self, made: usize) {
            self.made.push(made);
            if let Some((at, flag)) = &self.stop
                && self.made.len() == *at
            {
                flag.store(true, Ordering::Relaxed);
            }
        }

        fn beat(&mut self, _: Progress) {}
    }

    #[test]
    fn all_are_told_in_order_whichever_is_slow() {
        let mut heard = Heard::default();
        let work = |i: usize| {
            if i.is_multiple_of(50) {
                std::thread::sleep(Duration::from_millis(3));
            }
            i
        };
        let told = each(500, &AtomicBool::new(false), work, &mut heard);
        assert_eq!(told, 500);
        assert_eq!(heard.made, (0..500).collect::<Vec<_>>());
        assert_eq!(each(0, &AtomicBool::new(false), work, &mut heard), 0);
    }

    #[test]
    fn nothing_is_begun_after_a_stop() {
        let flag = std::sync::Arc::new(AtomicBool::new(false));
        let mut heard = Heard {
            stop: Some((10, std::sync::Arc::clone(&flag))),
            ..Heard::default()
        };
        let slow = |i: usize| {
            std::thread::sleep(Duration::from_millis(1));
            i
        };
        let told = each(100_000, &flag, slow, &mut heard);
        assert_eq!(heard.made, (0..told).collect::<Vec<_>>());
        assert!((10..2_000).contains(&told), "{told}");
    }

    #[test]
    fn the_time_left_follows_from_the_time_taken() {
        let at = |done| Progress {
            done,
            all: 8_000,
            taken: Duration::from_mins(1),
        };
        assert_eq!(at(0).words(), "0 of 8000 files");
        assert_eq!(at(2_000).words(), "2000 of 8000 files, 3 min left");
        assert_eq!(at(4_000).words(), "4000 of 8000 files, 60 s left");
    }
}
