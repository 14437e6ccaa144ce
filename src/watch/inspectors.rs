//! Inspectors that are still good: opened fixtures and faces are used again for as long as nothing that
//! they were opened from has changed.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use super::input_digest::{FixtureSource, InputDigest};
use crate::inspect::{Inspector, Options};

/// How long an inspector is used: the machine's own fonts are no part of a [`InputDigest`], so a font that was
/// installed or removed counts after this time at the latest.
const GOOD: Duration = Duration::from_mins(1);

/// Inspectors by what they were opened from.
#[derive(Debug, Default)]
pub(crate) struct Inspectors {
    good: Mutex<Vec<Good>>,
}

/// An inspector with what it was opened from, and when.
#[derive(Debug)]
struct Good {
    place: FixtureSource,
    inputs: InputDigest,
    since: Instant,
    inspector: Arc<Inspector>,
}

impl Inspectors {
    /// The inspector for runs at `place`, opened when everything was as `inputs` has it.
    ///
    /// An inspector opens its fixture with the first run. Should the fixture change in between, that
    /// run sees other inputs after its inspection than before, is not told, and hands the inspector
    /// to [`Inspectors::drop_those_at`].
    pub(crate) fn at(
        &self,
        place: &FixtureSource,
        inputs: &InputDigest,
        options: &Options,
    ) -> Arc<Inspector> {
        let mut good = self.good.lock().unwrap_or_else(PoisonError::into_inner);
        good.retain(|g| g.since.elapsed() < GOOD && (g.place != *place || g.inputs == *inputs));
        if let Some(known) = good.iter().find(|g| g.place == *place) {
            return Arc::clone(&known.inspector);
        }
        let inspector = Arc::new(Inspector::new(Options {
            today: Some(inputs.day()),
            ..options.clone()
        }));
        good.push(Good {
            place: place.clone(),
            inputs: inputs.clone(),
            since: Instant::now(),
            inspector: Arc::clone(&inspector),
        });
        inspector
    }

    /// Forgets the inspectors at `place`: something changed while they were used.
    pub(crate) fn drop_those_at(&self, place: &FixtureSource) {
        let mut good = self.good.lock().unwrap_or_else(PoisonError::into_inner);
        good.retain(|g| g.place != *place);
    }
}
