//! What was worked out once, and need not be again while remedies are tried.
//!
//! A trial inspects the whole file anew, and changes a part of it: the rest burns as it did. What a result
//! depends on is its key, all of it, so that whoever asks gets what working it out would give, and sooner.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use kurbo::Point;
use sha2::{Digest as _, Sha256};

use crate::geometry::region::Region;

/// Results by what they were worked out of. All of a run's trials share one.
#[derive(Debug)]
pub(crate) struct Remembered<V>(Mutex<HashMap<Digest, Arc<V>>>);

type Digest = [u8; 32];

/// What a result depends on, by its SHA-256: what it stands for may be megabytes of outlines.
#[derive(Debug, Clone, Default)]
pub(crate) struct Key(Sha256);

impl Key {
    /// With a number that the result depends on.
    #[must_use]
    pub(crate) fn and(mut self, number: f64) -> Self {
        self.0.update(number.to_bits().to_le_bytes());
        self
    }

    /// With outlines that it depends on.
    #[must_use]
    pub(crate) fn outlines(mut self, rings: &[Vec<Point>]) -> Self {
        self.0.update(rings.len().to_le_bytes());
        for ring in rings {
            self.0.update(ring.len().to_le_bytes());
            for p in ring {
                self.0.update(p.x.to_bits().to_le_bytes());
                self.0.update(p.y.to_bits().to_le_bytes());
            }
        }
        self
    }

    /// With the areas that it depends on.
    #[must_use]
    pub(crate) fn areas<'r>(self, areas: impl IntoIterator<Item = &'r Region>) -> Self {
        (areas.into_iter()).fold(self, |key, area| key.outlines(&area.rings))
    }

    fn digest(self) -> Digest {
        self.0.finalize().into()
    }
}

impl<V> Default for Remembered<V> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<V> Remembered<V> {
    /// What was worked out for this key, or now is.
    pub(crate) fn of(&self, key: Key, work: impl FnOnce() -> V) -> Arc<V> {
        let key = key.digest();
        // Nothing is left half done under the lock, so a thread that gave up does no harm.
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(value) = known().get(&key) {
            return Arc::clone(value);
        }
        let value = Arc::new(work());
        Arc::clone(known().entry(key).or_insert(value))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use kurbo::Rect;

    #[test]
    fn what_depends_on_the_same_is_worked_out_once_and_what_differs_anew() {
        let remembered = Remembered::default();
        let square = Region::from_rect(Rect::new(0.0, 0.0, 1.0, 1.0));
        let other = Region::from_rect(Rect::new(0.0, 0.0, 1.0, 1.0 + 1e-5));
        let key = |region: &Region| Key::default().areas([region]).and(0.2);
        assert_eq!(*remembered.of(key(&square), || 1), 1);
        assert_eq!(*remembered.of(key(&square), || 2), 1);
        assert_eq!(*remembered.of(key(&other), || 3), 3);
        assert_eq!(*remembered.of(key(&square).and(0.2), || 4), 4);
        // Two areas of a ring each are not one area of two.
        let two = Region {
            rings: [square.rings.clone(), other.rings.clone()].concat(),
        };
        let apart = Key::default().areas([&square, &other]);
        assert_ne!(apart.digest(), Key::default().areas([&two]).digest());
    }
}
