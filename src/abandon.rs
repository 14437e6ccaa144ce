//! Gives up work that nobody waits for any more.
//!
//! A task is shared by the threads that work on it. Between parts of their work they ask whether it
//! is still wanted ([`ask`]); if it is not, they unwind to whoever started it. Nothing is stopped
//! from outside, so a part that takes long without asking runs to its end.

use std::cell::RefCell;
use std::panic::resume_unwind;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A task, shared by everybody who works on it or waits for it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Task {
    given_up: Arc<AtomicBool>,
    one_core: bool,
}

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

#[cfg(test)]
mod tests {
    use super::*;

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
