//! Numbers that look like chance and are the same everywhere: Knuth's 64-bit congruential generator
//! (MMIX; The Art of Computer Programming, volume 2, 3.3.4, constants from memory: any pair of full
//! period would do), upper bits.
#![allow(dead_code, unreachable_pub)]

/// A sequence of numbers.
pub struct Chance(u64);

impl Chance {
    /// The sequence that begins at `state`.
    pub fn new(state: u64) -> Self {
        Self(state)
    }

    /// The sequence of a seed: neighbouring seeds begin far apart.
    pub fn of_seed(seed: u64) -> Self {
        let mut chance = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d);
        chance.step();
        chance
    }

    fn step(&mut self) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        self.0
    }

    /// A whole number below `n`.
    pub fn below(&mut self, n: u64) -> u64 {
        (self.step() >> 33) % n.max(1)
    }

    /// A number from `low` up to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        let unit = (self.step() >> 11) as f64 / (1_u64 << 53) as f64;
        low + unit * (high - low)
    }

    /// A number from `from` to `to` with at most three decimals.
    pub fn number(&mut self, from: f64, to: f64) -> f64 {
        let part = self.below(100_000) as f64 / 100_000.0;
        ((from + (to - from) * part) * 1000.0).round() / 1000.0
    }

    /// One of a list.
    pub fn pick<'a>(&mut self, list: &[&'a str]) -> &'a str {
        list.get(self.below(list.len() as u64) as usize)
            .copied()
            .unwrap_or_default()
    }
}
