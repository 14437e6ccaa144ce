//! Gives up work that nobody waits for any more, or that is more than a file may ask for.
//!
//! A task is shared by the threads that work on it. Between parts of their work they say how much they
//! do ([`spend`]) and ask whether it is still wanted ([`ask`]); if it is not, or if a limit is crossed,
//! they unwind to whoever started the task or set the limit. Nothing is stopped from outside, so a part
//! that takes long without asking runs to its end.
//!
//! Work is counted in steps and not in time, so that a file gets the same answer on every machine. A step
//! is an edge put through a boolean operation, which takes some third of a microsecond, or as much other
//! work as takes about as long.

use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// A task, shared by everybody who works on it or waits for it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Task {
    given_up: Arc<AtomicBool>,
    one_core: bool,
    /// The limits that its work counts towards, the narrowest last.
    limits: Vec<Arc<Limit>>,
}

/// How many steps some work may take, and how many it has taken.
#[derive(Debug)]
pub(crate) struct Limit {
    most: AtomicUsize,
    taken: AtomicUsize,
}

/// What a thread unwinds with when it has crossed a limit.
struct TooMuch(Arc<Limit>);

/// What a thread unwinds with when its task was given up.
struct GivenUp;

thread_local! {
    static TASK: RefCell<Option<Task>> = const { RefCell::new(None) };
}

impl Task {
    /// A task that uses one core only.
    pub(crate) fn on_one_core() -> Self {
        Self {
            one_core: true,
            ..Self::default()
        }
    }

    /// Whether it uses one core only.
    pub(crate) fn has_one_core(&self) -> bool {
        self.one_core
    }

    /// Tells its threads that nobody waits for it any more.
    pub(crate) fn give_up(&self) {
        self.given_up.store(true, Ordering::Relaxed);
    }

    /// Whether it was given up. Its result may then be incomplete.
    pub(crate) fn is_given_up(&self) -> bool {
        self.given_up.load(Ordering::Relaxed)
    }

    /// Whether both are the same task.
    pub(crate) fn is(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.given_up, &other.given_up)
    }
}

/// Does `work` for `task` on this thread.
pub(crate) fn for_task<T>(task: Option<Task>, work: impl FnOnce() -> T) -> T {
    let before = TASK.replace(task);
    let made = work();
    TASK.set(before);
    made
}

/// The task that this thread works for.
pub(crate) fn task() -> Option<Task> {
    TASK.with_borrow(Clone::clone)
}

/// Returns if the work of this thread is still wanted; otherwise unwinds the thread.
pub(crate) fn ask() {
    if TASK.with_borrow(|task| task.as_ref().is_some_and(Task::is_given_up)) {
        // Without the message of a panic: nothing went wrong.
        resume_unwind(Box::new(GivenUp));
    }
}

/// How many steps something may take on a fixture of so many pockets, if `steps` are enough for one
/// pocket that is full of traced art, and each pocket may have a name besides.
pub(crate) fn for_pockets(steps: usize, pockets: usize) -> usize {
    steps.saturating_add(pockets.saturating_mul(OF_A_POCKET))
}

/// Steps for each pocket: a name as outlines takes some thousands.
const OF_A_POCKET: usize = 20_000;

/// Counts `steps` of work, and asks whether it is still wanted. Unwinds if that is too much.
pub(crate) fn spend(steps: usize) {
    ask();
    let crossed = TASK.with_borrow(|task| {
        let limits = task.iter().flat_map(|task| &task.limits);
        let mut crossed = None;
        for limit in limits {
            let taken = limit.taken.fetch_add(steps, Ordering::Relaxed);
            if taken.saturating_add(steps) > limit.most.load(Ordering::Relaxed) {
                crossed = crossed.or_else(|| Some(Arc::clone(limit)));
            }
        }
        crossed
    });
    if let Some(limit) = crossed {
        resume_unwind(Box::new(TooMuch(limit)));
    }
}

/// Gives up the part of the whole that this thread works at, as if it had crossed its limit: what comes would
/// be worth nothing. Returns where there is no limit.
pub(crate) fn give_up_part() {
    let narrowest = TASK.with_borrow(|task| task.as_ref()?.limits.last().cloned());
    if let Some(limit) = narrowest {
        resume_unwind(Box::new(TooMuch(limit)));
    }
}

impl Limit {
    /// A limit of so many steps, of which none is taken.
    pub(crate) fn of(steps: usize) -> Arc<Self> {
        Arc::new(Self {
            most: AtomicUsize::new(steps),
            taken: AtomicUsize::new(0),
        })
    }

    /// Does `work` under this limit and no other: it is a whole. `None` where the limit is crossed, or was
    /// before.
    pub(crate) fn whole<T>(self: &Arc<Self>, work: impl FnOnce() -> T) -> Option<T> {
        let mut task = task().unwrap_or_default();
        task.limits = vec![Arc::clone(self)];
        self.caught(task, work)
    }

    /// How many million steps it allows, for a message.
    pub(crate) fn millions(&self) -> usize {
        self.most.load(Ordering::Relaxed) / 1_000_000
    }

    fn caught<T>(self: &Arc<Self>, task: Task, work: impl FnOnce() -> T) -> Option<T> {
        let before = self::task();
        // What is half done is dropped with the work, or is a cell that was not filled.
        let done = catch_unwind(AssertUnwindSafe(|| for_task(Some(task), work)));
        let thrown = match done {
            Ok(done) => return Some(done),
            Err(thrown) => thrown,
        };
        TASK.set(before);
        match thrown.downcast::<TooMuch>() {
            Ok(crossed) if Arc::ptr_eq(&crossed.0, self) => None,
            Ok(outer) => resume_unwind(outer),
            Err(other) => resume_unwind(other),
        }
    }
}

/// Allows the whole that this thread works for so many steps more.
pub(crate) fn allow(steps: usize) {
    TASK.with_borrow(|task| {
        let whole = task.as_ref().and_then(|task| task.limits.first());
        whole.map(|limit| limit.most.fetch_add(steps, Ordering::Relaxed))
    });
}

/// Steps that the whole has taken that this thread works for.
pub(crate) fn taken() -> usize {
    TASK.with_borrow(|task| {
        let whole = task.as_ref().and_then(|task| task.limits.first());
        whole.map_or(0, |limit| limit.taken.load(Ordering::Relaxed))
    })
}

/// Does `work`, a part of a whole that may take so many steps; `None` if it would take more.
pub(crate) fn within<T>(steps: usize, work: impl FnOnce() -> T) -> Option<T> {
    let limit = Limit::of(steps);
    let mut task = task().unwrap_or_default();
    task.limits.push(Arc::clone(&limit));
    limit.caught(task, work)
}

/// Does `work` whose result several parts use, and which of them asks first is chance: it counts for the
/// whole and for no part.
pub(crate) fn shared<T>(work: impl FnOnce() -> T) -> T {
    let own = task().map(|mut task| {
        task.limits.truncate(1);
        task
    });
    for_task(own, work)
}

/// Does `work` that is not part of an inspection, with no limit.
pub(crate) fn unlimited<T>(work: impl FnOnce() -> T) -> T {
    let own = task().map(|mut task| {
        task.limits.clear();
        task
    });
    for_task(own, work)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_ends_at_the_limit_that_it_crosses() {
        let done = within(10, || {
            spend(4);
            let inner = within(5, || {
                spend(5);
                spend(1);
            });
            assert!(inner.is_none());
            "done"
        });
        assert_eq!(done, Some("done"));
        assert!(within(10, || within(100, || spend(11))).is_none());
        let gave_up = within(10, || within(5, give_up_part).is_none());
        assert_eq!(gave_up, Some(true), "the narrowest, and no other");
        give_up_part();
        let whole = Limit::of(10);
        let part = || within(2, || shared(|| spend(9)));
        assert_eq!(whole.whole(part), Some(Some(())));
        assert_eq!(whole.whole(part), None);
        assert_eq!(whole.whole(|| unlimited(|| spend(99))), Some(()));
        spend(usize::MAX);
    }

    #[test]
    fn only_work_for_the_task_ends() {
        let task = Task::default();
        let (asked, after) = (AtomicBool::new(false), AtomicBool::new(false));
        std::thread::scope(|scope| {
            let given_up = scope.spawn(|| {
                for_task(Some(task.clone()), || {
                    ask();
                    asked.store(true, Ordering::Relaxed);
                    task.give_up();
                    ask();
                    after.store(true, Ordering::Relaxed);
                });
            });
            assert!(given_up.join().is_err());
        });
        assert!(asked.into_inner());
        assert!(!after.into_inner());
        ask();
        for_task(Some(Task::default()), ask);
    }
}
