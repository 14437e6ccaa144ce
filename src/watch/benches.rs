//! Benches that are still good: opened fixtures and faces are used again for as long as nothing that
//! they were opened from has changed.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use super::basis::{Basis, Place};
use crate::inspect::{Asked, Bench};

/// How long a bench is used: the machine's own fonts are no part of a [`Basis`], so a font that was
/// installed or removed counts after this time at the latest.
const GOOD: Duration = Duration::from_mins(1);

/// Benches by what they were opened from.
#[derive(Debug, Default)]
pub struct Benches {
    good: Mutex<Vec<Good>>,
}

/// A bench with what it was opened from, and when.
#[derive(Debug)]
struct Good {
    place: Place,
    basis: Basis,
    since: Instant,
    bench: Arc<Bench>,
}

impl Benches {
    /// The bench for runs at `place`, opened when everything was as `basis` has it.
    ///
    /// A bench opens its fixture with the first run. Should the fixture change in between, that run
    /// sees another basis after its inspection than before, is not told, and hands the bench to
    /// [`Benches::drop_those_at`].
    pub fn at(&self, place: &Place, basis: &Basis, asked: &Asked) -> Arc<Bench> {
        let mut good = self.good.lock().unwrap_or_else(PoisonError::into_inner);
        good.retain(|g| g.since.elapsed() < GOOD && (g.place != *place || g.basis == *basis));
        if let Some(known) = good.iter().find(|g| g.place == *place) {
            return Arc::clone(&known.bench);
        }
        let bench = Arc::new(Bench::new(Asked {
            today: Some(basis.day()),
            ..asked.clone()
        }));
        good.push(Good {
            place: place.clone(),
            basis: basis.clone(),
            since: Instant::now(),
            bench: Arc::clone(&bench),
        });
        bench
    }

    /// Forgets the benches at `place`: something changed while they were used.
    pub fn drop_those_at(&self, place: &Place) {
        let mut good = self.good.lock().unwrap_or_else(PoisonError::into_inner);
        good.retain(|g| g.place != *place);
    }
}
