//! Spreads the parts of one inspection over all cores.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{Builder, available_parallelism};

use crate::abandon;

/// Stack for each further thread. Nothing that is worked on here nests as a file's elements do; what is
/// not used costs no memory.
const STACK: usize = 64 << 20;

/// Calls `work` for each of `items`, several at once, and returns the results in order.
///
/// A panic in `work` is passed on. If no further thread can be started, or the task may use one core
/// only, the work is done on this thread.
pub(crate) fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let some = || {
        let mut done: Vec<(usize, R)> = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            match items.get(index) {
                Some(item) => {
                    abandon::ask();
                    done.push((index, work(item)));
                }
                None => return done,
            }
        }
    };
    let task = abandon::task();
    let others = match &task {
        Some(task) if task.has_one_core() => 0,
        _ => available_parallelism().map_or(1, std::num::NonZero::get) - 1,
    };
    let mut all = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..others.min(items.len().saturating_sub(1)))
            .filter_map(|_| {
                let builder = Builder::new().stack_size(STACK);
                let task = task.clone();
                let work = || abandon::for_task(task, some);
                builder.spawn_scoped(scope, work).ok()
            })
            .collect();
        let mut all = some();
        for thread in threads {
            match thread.join() {
                Ok(done) => all.extend(done),
                Err(panic) => resume_unwind(panic),
            }
        }
        all
    });
    all.sort_by_key(|(index, _)| *index);
    all.into_iter().map(|(_, made)| made).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::panic)]
    use super::*;

    #[test]
    fn what_comes_of_each_is_in_their_order() {
        let items: Vec<u64> = (0..500).collect();
        let slow_first = |i: &u64| {
            if *i < 3 {
                std::thread::sleep(std::time::Duration::from_millis(5));
            }
            i * i
        };
        let squares: Vec<u64> = items.iter().map(|i| i * i).collect();
        assert_eq!(each(&items, slow_first), squares);
        assert!(each(&[] as &[u64], slow_first).is_empty());
    }

    #[test]
    fn a_panic_in_one_of_them_is_not_lost() {
        let items: Vec<u64> = (0..50).collect();
        let caught = std::panic::catch_unwind(|| {
            each(&items, |i| assert!(*i != 20, "as meant"));
        });
        assert!(caught.is_err());
    }
}
