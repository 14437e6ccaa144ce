//! The inspections, on as many threads as the machine has processors.
//!
//! A file that takes longer than `QUICK` while others wait is given up and goes to another lane, whose
//! threads work on one core each and are half as many as there are cores: so a small file finds a free
//! core however many large ones are being inspected.

use std::collections::BTreeSet;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use super::cleared_folder::{self, Ready, Receipt};
use super::file_stamp::FileStamp;
use super::input_digest::{FixtureSource, InputDigest};
use super::inspectors::Inspectors;
use super::{Message, start_thread};
use crate::abandon::{self, Task};
use crate::artwork::limits::LARGEST;
use crate::inspect::{self, Inspector, Options};
use crate::paths::{self, Printable as _};
use crate::report::{Run, Verdict};

/// How long a file may take among the quick ones. Longer, and small files wait that long behind the
/// first large ones; shorter, and more files are begun twice and are inspected on one core.
const QUICK: Duration = Duration::from_millis(500);

/// A run to be inspected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Order {
    /// The file.
    pub path: PathBuf,
    /// Its path below the watched folder.
    pub name: PathBuf,
    /// Which of its saves this is.
    pub generation: u64,
    /// Whether nobody has just saved it: what somebody saved goes first.
    pub backlog: bool,
}

/// The result of an order.
#[derive(Debug)]
pub(crate) struct Done {
    /// The order.
    pub order: Order,
    /// `None`: the file, or what its verdict rests on, changed while it was inspected.
    pub inspected: Option<Inspected>,
}

/// An inspection during which nothing changed.
#[derive(Debug)]
pub(crate) struct Inspected {
    /// What was found.
    pub run: Run,
    /// The state of the file that was inspected.
    pub stamp: FileStamp,
    /// What the verdict rests on.
    pub inputs: InputDigest,
    /// For a clear run, if there is a cleared folder: the copy, ready to be put there, or why there
    /// is none.
    pub ready: Option<Result<Ready, String>>,
}

/// The threads.
pub(crate) struct Workers {
    shop: Arc<Shop>,
}

impl fmt::Debug for Workers {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Workers").finish_non_exhaustive()
    }
}

/// What the threads share.
struct Shop {
    orders: Mutex<Orders>,
    more: Condvar,
    options: Options,
    inspectors: Inspectors,
    cleared: Option<PathBuf>,
    to: Sender<Message>,
    cores: usize,
}

/// What is to be inspected and what is being inspected.
#[derive(Default)]
struct Orders {
    waiting: Vec<Order>,
    running: Vec<Running>,
    /// Files that took longer than [`QUICK`] when they were last inspected.
    slow: BTreeSet<PathBuf>,
    ended: bool,
}

struct Running {
    order: Order,
    task: Task,
    since: Instant,
    /// Whether another thread has taken the place of the one that works on it.
    replaced: bool,
}

impl Orders {
    /// The next order of a lane: saves before the backlog, each in the order of their coming.
    fn next(&mut self, slow_lane: bool) -> Option<(Order, Task)> {
        let of_lane = |o: &Order| self.slow.contains(&o.path) == slow_lane;
        let saved = self.waiting.iter().position(|o| of_lane(o) && !o.backlog);
        let at = saved.or_else(|| self.waiting.iter().position(of_lane))?;
        let order = self.waiting.remove(at);
        let task = if slow_lane {
            Task::on_one_core()
        } else {
            Task::default()
        };
        self.running.push(Running {
            order: order.clone(),
            task: task.clone(),
            since: Instant::now(),
            replaced: false,
        });
        Some((order, task))
    }

    /// The inspection for `task` ended. Whether its thread is still wanted.
    fn ended(&mut self, task: &Task) -> bool {
        let Some(at) = self.running.iter().position(|r| r.task.is(task)) else {
            return true;
        };
        let run = self.running.swap_remove(at);
        if task.has_one_core() && !task.is_given_up() && run.since.elapsed() < QUICK {
            self.slow.remove(&run.order.path);
        }
        !run.replaced
    }

    /// How many further threads the quick lane needs: one for each that is still at something that is
    /// given up, for a part of it may take long. No more than `most` of those, as each takes memory.
    fn replace(&mut self, most: usize) -> usize {
        let quick = |r: &&mut Running| !r.task.has_one_core();
        let at_nothing = self.running.iter_mut().filter(quick);
        let mut fresh = 0;
        for (n, run) in at_nothing.filter(|r| r.task.is_given_up()).enumerate() {
            if n < most && !run.replaced {
                run.replaced = true;
                fresh += 1;
            }
        }
        fresh
    }

    /// Gives up whatever was ordered for this file.
    fn give_up(&mut self, path: &Path) {
        self.waiting.retain(|o| o.path != path);
        for run in self.running.iter().filter(|r| r.order.path == path) {
            run.task.give_up();
        }
    }

    fn knows(&self, order: &Order) -> bool {
        let running = self.running.iter();
        self.waiting.contains(order)
            || running
                .filter(|r| !r.task.is_given_up())
                .any(|r| r.order == *order)
    }

    /// Sends to the other lane what takes too long among the quick ones, if others wait for them.
    fn sort_out(&mut self) {
        if !self.waiting.iter().any(|o| !self.slow.contains(&o.path)) {
            return;
        }
        for run in &self.running {
            let quick = !run.task.has_one_core() && !run.task.is_given_up();
            if quick && run.since.elapsed() > QUICK {
                run.task.give_up();
                self.slow.insert(run.order.path.clone());
                self.waiting.push(run.order.clone());
            }
        }
    }
}

impl Shop {
    fn lock(&self) -> MutexGuard<'_, Orders> {
        self.orders.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next order of a lane; `None` at the end.
    fn next(&self, slow_lane: bool) -> Option<(Order, Task)> {
        let mut orders = self.lock();
        loop {
            if orders.ended {
                return None;
            }
            if let Some(next) = orders.next(slow_lane) {
                return Some(next);
            }
            orders = self
                .more
                .wait(orders)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Does what may give inspections up, and starts threads in the place of those that are at them.
    fn replacing(self: &Arc<Self>, change: impl FnOnce(&mut Orders)) {
        let mut orders = self.lock();
        change(&mut orders);
        let fresh = orders.replace(self.cores);
        drop(orders);
        for _ in 0..fresh {
            self.start_one(false);
        }
    }

    fn start_one(self: &Arc<Self>, slow_lane: bool) {
        let shop = Arc::clone(self);
        start_thread("an inspection", &self.to, move || {
            while let Some((order, task)) = shop.next(slow_lane) {
                let inspected = abandon::for_task(Some(task.clone()), || {
                    carry_out(
                        &order,
                        &shop.options,
                        &shop.inspectors,
                        shop.cleared.as_deref(),
                    )
                });
                let wanted = shop.lock().ended(&task);
                // Its result may be incomplete.
                if !task.is_given_up() {
                    let done = Done { order, inspected };
                    if shop.to.send(Message::Done(Box::new(done))).is_err() {
                        return;
                    }
                }
                if !wanted {
                    return;
                }
            }
        });
    }
}

impl Workers {
    /// Starts the threads. `cleared` is the folder in which copies are made ready.
    pub(crate) fn start(options: &Options, cleared: Option<&Path>, to: &Sender<Message>) -> Self {
        let shop = Arc::new(Shop {
            orders: Mutex::default(),
            more: Condvar::new(),
            options: options.clone(),
            inspectors: Inspectors::default(),
            cleared: cleared.map(Path::to_path_buf),
            to: to.clone(),
            cores: std::thread::available_parallelism().map_or(1, usize::from),
        });
        for _ in 0..shop.cores {
            shop.start_one(false);
        }
        for _ in 0..shop.cores.div_ceil(2) {
            shop.start_one(true);
        }
        Self { shop }
    }

    /// Takes an order, in place of an earlier one for the same file.
    pub(crate) fn order(&self, order: Order) {
        self.shop.replacing(|orders| {
            orders.give_up(&order.path);
            orders.waiting.push(order);
            orders.sort_out();
        });
        self.shop.more.notify_all();
    }

    /// Takes an order that may have been given before and is not carried out yet.
    pub(crate) fn order_once(&self, order: Order) {
        let known = self.shop.lock().knows(&order);
        if !known {
            self.order(order);
        }
    }

    /// Gives up whatever was ordered for this file: its bytes are no longer what they were.
    pub(crate) fn give_up(&self, path: &Path) {
        self.shop.replacing(|orders| orders.give_up(path));
    }

    /// To be called every now and then: sees to it that large files do not keep small ones waiting.
    pub(crate) fn sort_out(&self) {
        self.shop.replacing(Orders::sort_out);
        self.shop.more.notify_all();
    }
}

impl Drop for Workers {
    fn drop(&mut self) {
        let mut orders = self.shop.lock();
        orders.ended = true;
        for run in &orders.running {
            run.task.give_up();
        }
        drop(orders);
        self.shop.more.notify_all();
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
    let inputs = InputDigest::at(&place, options);
    let stamp = FileStamp::of(&order.path)?;
    let inspector = inspectors.at(&place, &inputs, options);
    let read = if stamp.length() > LARGEST {
        None
    } else {
        paths::read(&order.path).ok()
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
                        Receipt::of(&order.name, &run, inputs.digest(options), options.strict);
                    cleared_folder::prepare(folder, &order.name, &bytes, receipt)
                        .map_err(|e| e.to_string())
                });
            (run, ready)
        }
        // It is refused; the inspection finds the words.
        None => refused(&order.path, &inspector),
    };
    // The verdict counts only if nothing moved under it.
    let same = FixtureSource::of(&order.path, options) == place
        && InputDigest::at(&place, options) == inputs;
    if !same {
        inspectors.drop_those_at(&place);
    }
    (same && FileStamp::of(&order.path) == Some(stamp)).then_some(Inspected {
        run,
        stamp,
        inputs,
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
    let trouble = inspect::Failure::plain(format!(
        "{} could not be read a moment ago: save it again",
        path.printable()
    ));
    (inspect::unread(path, &trouble, run.sha256), None)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn order(path: &str, backlog: bool) -> Order {
        Order {
            path: PathBuf::from(path),
            name: PathBuf::from(path),
            generation: 1,
            backlog,
        }
    }

    fn orders(waiting: &[Order]) -> Orders {
        Orders {
            waiting: waiting.to_vec(),
            ..Orders::default()
        }
    }

    #[test]
    fn what_somebody_saved_goes_before_the_backlog() {
        let mut orders = orders(&[
            order("a", true),
            order("b", true),
            order("c", false),
            order("d", false),
        ]);
        let mut next = || orders.next(false).unwrap().0.path;
        assert_eq!(
            [next(), next(), next(), next()],
            ["c", "d", "a", "b"].map(PathBuf::from)
        );
    }

    #[test]
    fn a_file_that_takes_long_goes_to_the_other_lane_and_is_known_there() {
        let mut orders = orders(&[order("large", false), order("small", false)]);
        let (_, first) = orders.next(false).unwrap();
        orders.sort_out();
        assert!(!first.is_given_up());
        orders.running.first_mut().unwrap().since = Instant::now().checked_sub(QUICK * 2).unwrap();
        orders.sort_out();
        assert!(first.is_given_up());
        // Another thread takes over at once, however long the first goes on; once.
        assert_eq!([orders.replace(2), orders.replace(2)], [1, 0]);
        assert!(!orders.ended(&first));
        assert_eq!(orders.next(false).unwrap().0, order("small", false));
        assert!(orders.next(false).is_none());
        let (again, second) = orders.next(true).unwrap();
        assert_eq!(again, order("large", false));
        assert!(second.has_one_core());
        // It was quick this time: next time it is among the quick ones.
        assert!(orders.ended(&second));
        orders.waiting.push(order("large", false));
        let (_, alone) = orders.next(false).unwrap();
        // While nobody waits it may take as long as it likes.
        for run in &mut orders.running {
            run.since = Instant::now().checked_sub(QUICK * 2).unwrap();
        }
        orders.sort_out();
        assert!(!alone.is_given_up());
    }

    #[test]
    fn what_is_saved_again_or_deleted_is_given_up() {
        let mut orders = orders(&[order("a", false), order("b", false)]);
        let (_, task) = orders.next(false).unwrap();
        orders.give_up(Path::new("a"));
        assert!(task.is_given_up());
        assert!(!orders.knows(&order("a", false)));
        orders.give_up(Path::new("b"));
        assert!(orders.next(false).is_none());
    }
}
