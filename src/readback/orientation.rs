//! The eight ways in which lettering may lie, a figure for each of them, and sets of them.

use std::ops::{Index, IndexMut};

/// To lie turned and in a mirror takes two slips, and is told only if it is this far ahead of the ways that take one:
/// one word in twenty of those that lie wrong lies wrong twice, at most (an estimate, no source). Lower, and
/// turned names are called mirrored.
pub(super) const TWO_SLIPS: f64 = 3.0;

/// How a word may lie: upright lettering, first mirrored left-right when `mirrored`, then turned
/// clockwise, as seen, by `quarters` quarter turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Orientation {
    /// Clockwise quarter turns, 0 to 3.
    pub quarters: u8,
    /// Whether the lettering is mirrored.
    pub mirrored: bool,
}

impl Orientation {
    /// As lettering is meant to lie.
    pub const UPRIGHT: Self = Self::new(0, false);

    /// Half turned and not mirrored.
    pub const HALF_TURNED: Self = Self::new(2, false);

    /// All eight, in the order in which they are numbered.
    pub const ALL: [Self; 8] = [
        Self::UPRIGHT,
        Self::new(0, true),
        Self::new(1, false),
        Self::new(1, true),
        Self::HALF_TURNED,
        Self::new(2, true),
        Self::new(3, false),
        Self::new(3, true),
    ];

    /// The orientation of so many quarter turns, 0 to 3.
    pub const fn new(quarters: u8, mirrored: bool) -> Self {
        Self { quarters, mirrored }
    }

    fn number(self) -> usize {
        2 * usize::from(self.quarters) + usize::from(self.mirrored)
    }

    /// Whether it takes a turn and a flip: a flip alone is one about the upright, as a rule.
    pub(super) const fn takes_two_slips(self) -> bool {
        self.mirrored && self.quarters > 0
    }

    /// The orientation of what lay as `self` and was then put through `turn`.
    #[must_use]
    pub const fn then(self, turn: Self) -> Self {
        let own = if turn.mirrored {
            4 - self.quarters
        } else {
            self.quarters
        };
        Self::new((turn.quarters + own) % 4, self.mirrored != turn.mirrored)
    }

    /// The turn that [`then`](Self::then) carries `from` into this orientation.
    #[must_use]
    pub const fn seen_from(self, from: Self) -> Self {
        let mirrored = self.mirrored != from.mirrored;
        let own = if mirrored {
            4 - from.quarters
        } else {
            from.quarters
        };
        Self::new((self.quarters + 4 - own) % 4, mirrored)
    }
}

/// A figure for each orientation.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PerOrientation<T>(pub [T; 8]);

impl<T> PerOrientation<T> {
    /// The figure of each orientation.
    pub(crate) fn each(figure: impl Fn(Orientation) -> T) -> Self {
        Self(Orientation::ALL.map(figure))
    }
}

/// Natural log-odds of the eight ways in which a word may lie.
pub(crate) type Odds = PerOrientation<f64>;

#[allow(clippy::indexing_slicing)] // The numbers are those of the array.
impl<T> Index<Orientation> for PerOrientation<T> {
    type Output = T;

    fn index(&self, orientation: Orientation) -> &T {
        &self.0[orientation.number()]
    }
}

#[allow(clippy::indexing_slicing)] // The numbers are those of the array.
impl<T> IndexMut<Orientation> for PerOrientation<T> {
    fn index_mut(&mut self, orientation: Orientation) -> &mut T {
        &mut self.0[orientation.number()]
    }
}

impl Odds {
    /// The largest of the figures.
    pub(crate) fn most(&self) -> f64 {
        self.0.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// The orientation with the largest figure, and how far it is ahead of the next best.
    pub(crate) fn leader(&self) -> (Orientation, f64) {
        let best = Orientation::ALL
            .into_iter()
            .fold(Orientation::UPRIGHT, |best, o| {
                if self[o].total_cmp(&self[best]).is_ge() {
                    o
                } else {
                    best
                }
            });
        let mut others = *self;
        others[best] = f64::NEG_INFINITY;
        (best, self[best] - others.most())
    }

    /// The same, but that a lay of two slips is less likely by that.
    pub(super) fn one_slip_rather_than_two(&self) -> Self {
        Self::each(|o| self[o] - if o.takes_two_slips() { TWO_SLIPS } else { 0.0 })
    }

    /// Each figure with that of `other` added.
    pub(crate) fn add(&mut self, other: &Self) {
        for o in Orientation::ALL {
            self[o] += other[o];
        }
    }
}

/// A set of orientations: bit k stands for `Orientation::ALL[k]`.
pub(crate) type Lays = u8;

/// The set of one orientation.
pub(crate) fn alone(orientation: Orientation) -> Lays {
    1 << orientation.number()
}

/// Whether an orientation is in a set.
pub(crate) fn has(set: Lays, orientation: Orientation) -> bool {
    set & alone(orientation) != 0
}

/// The turns that carry some orientation of `from` into some orientation of `to`.
pub(crate) fn between(from: Lays, to: Lays) -> Lays {
    let mut out = 0;
    for own in Orientation::ALL.into_iter().filter(|o| has(from, *o)) {
        for there in Orientation::ALL.into_iter().filter(|o| has(to, *o)) {
            out |= alone(there.seen_from(own));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_order_is_that_of_the_numbers() {
        let numbers = Orientation::ALL.map(Orientation::number);
        assert_eq!(numbers, [0, 1, 2, 3, 4, 5, 6, 7]);
    }

    #[test]
    fn turns_between_two_orientations_are_those_that_carry_one_into_the_other() {
        for own in Orientation::ALL {
            for turn in Orientation::ALL {
                let there = own.then(turn);
                assert_eq!(there.seen_from(own), turn, "{own:?} {turn:?}");
                assert_eq!(between(alone(own), alone(there)), alone(turn));
            }
        }
        assert_eq!(between(0b0001_0001, 0b0001_0001), 0b0001_0001);
    }

    #[test]
    fn the_leader_is_ahead_of_the_next_best() {
        let mut odds = PerOrientation([-9.0; 8]);
        odds[Orientation::HALF_TURNED] = -1.0;
        odds[Orientation::UPRIGHT] = -3.0;
        assert_eq!(odds.leader(), (Orientation::HALF_TURNED, 2.0));
    }
}
