//! A closed curve as a sum of turning arrows: its complex Fourier coefficients.
//!
//! A closed curve walked at even speed is `z(t) = Σ c_k e^{ikt}`, points of the bed taken as complex
//! numbers. Under a similarity the coefficients change in a simple way: a move changes `c_0` only;
//! scale and turn multiply all others by one complex number `s`; another start point multiplies `c_k`
//! by `e^{ikτ}`; a mirror image about the x axis, walked the same way round, conjugates them all. So
//! `|c_k| / |c_1|` is a signature that knows neither place, size, turn nor start, and one correlation
//! over `τ` finds `s` (Zahn and Roskies 1972; Kuhl and Giardina 1982).

use crate::ids::At;
use std::sync::LazyLock;

use kurbo::{Point, Vec2};

/// Points that a curve is sampled at. Letters have few features; twice as many only takes longer.
pub(crate) const SAMPLES: usize = 128;

/// Highest order that is kept, both ways round. Past it lies the sharpness of corners, which
/// flattening and re-saving change.
pub(crate) const ORDERS: usize = 16;

/// Numbers in a [`Spectrum::signature`].
pub(crate) const SIGNATURE: usize = 12;

/// A complex number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Complex {
    /// Real part: to the right.
    pub re: f64,
    /// Imaginary part: to the front.
    pub im: f64,
}

impl Complex {
    /// `a + bi`.
    pub(crate) const fn new(re: f64, im: f64) -> Self {
        Self { re, im }
    }

    fn turn(angle: f64) -> Self {
        // The same bits on every machine, which the standard library does not promise.
        let (sin, cos) = libm::sincos(angle);
        Self::new(cos, sin)
    }

    fn times(self, o: Self) -> Self {
        Self::new(
            self.re * o.re - self.im * o.im,
            self.re * o.im + self.im * o.re,
        )
    }

    fn conj(self) -> Self {
        Self::new(self.re, -self.im)
    }

    fn norm2(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    fn plus(self, o: Self) -> Self {
        Self::new(self.re + o.re, self.im + o.im)
    }
}

/// The coefficients of a closed curve.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spectrum {
    /// `c_0`: the curve's centre.
    pub centre: Point,
    /// `c_1 … c_16`, then `c_-1 … c_-16`.
    pub coefficients: Vec<Complex>,
}

/// `e^{-ikτ}` for every order `k` kept, in the order of the coefficients.
type Turns = [Complex; 2 * ORDERS];

/// The [`Turns`] for `τ` at each sample, from a table: sines were most of the work of reading.
fn turns_back() -> &'static [Turns] {
    static TURNS: LazyLock<Vec<Turns>> = LazyLock::new(|| {
        let step = std::f64::consts::TAU / SAMPLES as f64;
        let circle: Vec<Complex> = (0..SAMPLES)
            .map(|m| Complex::turn(step * m as f64))
            .collect();
        let at = |n: usize, index: usize| {
            let turned = if index < ORDERS {
                SAMPLES - (index + 1) * n % SAMPLES
            } else {
                (index - ORDERS + 1) * n
            };
            *circle.at(turned % SAMPLES)
        };
        (0..SAMPLES)
            .map(|n| std::array::from_fn(|index| at(n, index)))
            .collect()
    });
    &TURNS
}

impl Spectrum {
    /// The spectrum of a ring, walked clockwise on the bed whichever way it is given. `None` for a
    /// ring without extent.
    pub(crate) fn of(ring: &[Point]) -> Option<Self> {
        let samples = resample(ring)?;
        let mut sums = [Complex::default(); 2 * ORDERS];
        for (p, turns) in samples.iter().zip(turns_back()) {
            let z = Complex::new(p.x, p.y);
            for (sum, turn) in sums.iter_mut().zip(turns) {
                *sum = sum.plus(z.times(*turn));
            }
        }
        let share = |c: Complex| Complex::new(c.re / SAMPLES as f64, c.im / SAMPLES as f64);
        let coefficients = sums.map(share).to_vec();
        let sum = samples.iter().fold(Vec2::ZERO, |s, p| s + p.to_vec2());
        Some(Self {
            centre: (sum / SAMPLES as f64).to_point(),
            coefficients,
        })
    }

    /// What does not change with place, size, turn, flip or start point.
    pub(crate) fn signature(&self) -> [f32; SIGNATURE] {
        let mut out = [0.0; SIGNATURE];
        let at = |k: i32| {
            let index = if k > 0 {
                k as usize - 1
            } else {
                ORDERS + (-k) as usize - 1
            };
            self.coefficients.at(index).norm2().sqrt()
        };
        let first = at(1).max(1e-12);
        for (slot, k) in out
            .iter_mut()
            .zip([-1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6, 7])
        {
            *slot = (at(k) / first) as f32;
        }
        out
    }

    fn energy(&self) -> f64 {
        self.coefficients.iter().map(|c| c.norm2()).sum()
    }

    /// Whether the two differ by more than `slack` however one is laid over the other: quick, and most
    /// pairs do.
    ///
    /// No turn can make more of the products than their sizes: `|C| ≤ Σ |a_k| |b_k|`, and what is left
    /// over is `1 − |C|² / (Σ|a|² Σ|b|²)` of the other's square size.
    pub(crate) fn far_from(&self, other: &Self, slack: f64) -> bool {
        let most: f64 = self
            .coefficients
            .iter()
            .zip(&other.coefficients)
            .map(|(a, b)| (a.norm2() * b.norm2()).sqrt())
            .sum();
        // A millionth for the rounding of sums.
        most * most < self.energy() * other.energy() * (1.0 - slack * slack) * (1.0 - 1e-6)
    }

    /// Every way in which `self` can be laid over `other` so that what is left over is at most
    /// `slack` of the other's size (root mean square).
    pub(crate) fn laid_over(&self, other: &Self, slack: f64) -> Vec<Laid> {
        let mut out = Vec::new();
        let (own, theirs) = (self.energy(), other.energy());
        if own <= 0.0 || theirs <= 0.0 {
            return out;
        }
        // What the highest sample of a peak may be below its top.
        let enough = theirs * own * (1.0 - 4.0 * slack * slack).max(0.5);
        if self.far_from(other, slack) {
            return out;
        }
        for mirrored in [false, true] {
            // Correlation C(τ) = Σ conj(a_k) e^{-ikτ} b_k; the best s for a τ is C/Σ|a|², and what it
            // leaves over is Σ|b|² - |C|²/Σ|a|².
            let products: Vec<Complex> = self
                .coefficients
                .iter()
                .zip(&other.coefficients)
                .map(|(a, b)| {
                    if mirrored {
                        a.times(*b)
                    } else {
                        a.conj().times(*b)
                    }
                })
                .collect();
            let step = std::f64::consts::TAU / SAMPLES as f64;
            let values: Vec<f64> = turns_back()
                .iter()
                .map(|turns| {
                    let terms = products.iter().zip(turns).map(|(p, t)| p.times(*t));
                    terms.fold(Complex::default(), Complex::plus).norm2()
                })
                .collect();
            for n in 0..SAMPLES {
                let value = |m: usize| *values.at(m % SAMPLES);
                let (before, here, after) = (value(n + SAMPLES - 1), value(n), value(n + 1));
                if here < before || here < after || here < enough * 0.97 {
                    continue;
                }
                let c = top(&products, n as f64 * step, step);
                let left = (theirs - c.norm2() / own).max(0.0) / theirs;
                if left.sqrt() <= slack {
                    out.push(Laid {
                        scale: Complex::new(c.re / own, c.im / own),
                        mirrored,
                        left: left.sqrt(),
                    });
                }
            }
        }
        out.sort_by(|a, b| a.left.total_cmp(&b.left).then(a.mirrored.cmp(&b.mirrored)));
        out.dedup_by(|a, b| {
            a.mirrored == b.mirrored
                && a.scale.plus(Complex::new(-b.scale.re, -b.scale.im)).norm2()
                    < 1e-6 * b.scale.norm2()
        });
        out
    }
}

/// The correlation `C(τ) = Σ p_k e^{-ikτ}` with its first two derivatives by `τ`.
fn correlation(products: &[Complex], tau: f64) -> [Complex; 3] {
    let (forth, back) = products.split_at(ORDERS.min(products.len()));
    let mut out = [Complex::default(); 3];
    // Powers one from the other: a sine each would be most of the work.
    let step = Complex::turn(-tau);
    for (side, step, sign) in [(forth, step, 1.0), (back, step.conj(), -1.0)] {
        let mut power = step;
        let mut k = sign;
        for p in side {
            let term = p.times(power);
            out[0] = out[0].plus(term);
            // By τ, e^{-ikτ} becomes -ik e^{-ikτ}.
            out[1] = out[1].plus(Complex::new(k * term.im, -k * term.re));
            out[2] = out[2].plus(Complex::new(-k * k * term.re, -k * k * term.im));
            power = power.times(step);
            k += sign;
        }
    }
    out
}

/// Newton steps to the top of a peak: each doubles the digits, and the first is right to some two.
const STEPS: usize = 6;

/// The correlation at the top of a peak of its size near `at`, at most `step` away.
///
/// Newton's method on the derivative of `|C|²`, which is `2 Re(C' conj C)`; the derivative of that is
/// `2 (|C'|² + Re(C'' conj C))`. Where a step does not lead uphill, the best that was met stays.
fn top(products: &[Complex], at: f64, step: f64) -> Complex {
    let mut tau = at;
    let [mut best, mut first, mut second] = correlation(products, tau);
    for _ in 0..STEPS {
        let slope = first.times(best.conj()).re;
        let bend = first.norm2() + second.times(best.conj()).re;
        if bend >= 0.0 {
            break;
        }
        let next = (tau - slope / bend).clamp(at - step, at + step);
        let [c, c1, c2] = correlation(products, next);
        if c.norm2() <= best.norm2() {
            break;
        }
        (tau, best, first, second) = (next, c, c1, c2);
    }
    best
}

/// How one curve lies over another: `z → scale·z` (or of the conjugate, mirrored), centres apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Laid {
    /// Size and turn as one complex number.
    pub scale: Complex,
    /// Whether the curve is mirrored about the x axis first.
    pub mirrored: bool,
    /// What is left over, as a share of the other curve's size.
    pub left: f64,
}

impl Laid {
    /// Where a vector of the first curve's frame points in the other's.
    pub(crate) fn carry(&self, v: Vec2) -> Vec2 {
        let z = Complex::new(v.x, if self.mirrored { -v.y } else { v.y }).times(self.scale);
        Vec2::new(z.re, z.im)
    }

    /// How many times larger the other is.
    pub(crate) fn size(&self) -> f64 {
        self.scale.norm2().sqrt()
    }
}

/// Points at even distances along a ring, clockwise on the bed. `None` without extent.
fn resample(ring: &[Point]) -> Option<Vec<Point>> {
    let mut points: Vec<Point> = ring.to_vec();
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    if points.len() < 3 {
        return None;
    }
    // Positive where y points to the front and the ring runs clockwise.
    if crate::geometry::flatten::signed_area(&points) < 0.0 {
        points.reverse();
    }
    let ends = points.iter().cycle().skip(1);
    let sides: Vec<(Point, Point, f64)> = points
        .iter()
        .zip(ends)
        .map(|(a, b)| (*a, *b, (*b - *a).hypot()))
        .collect();
    let total: f64 = sides.iter().map(|s| s.2).sum();
    if !(total > 0.0 && total.is_finite()) {
        return None;
    }
    let mut out = Vec::with_capacity(SAMPLES);
    let mut along = 0.0;
    let mut next = 0.0;
    for (a, b, length) in sides {
        while out.len() < SAMPLES && next < along + length {
            let t = if length > 0.0 {
                (next - along) / length
            } else {
                0.0
            };
            out.push(a.lerp(b, t));
            next = total * out.len() as f64 / SAMPLES as f64;
        }
        along += length;
    }
    (out.len() == SAMPLES).then_some(out)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use kurbo::Affine;

    use super::*;

    fn flag() -> Vec<Point> {
        // An F: no two ways to lay it over itself.
        [
            (0., 0.),
            (6., 0.),
            (6., 1.),
            (1., 1.),
            (1., 4.),
            (4., 4.),
            (4., 5.),
            (1., 5.),
            (1., 10.),
            (0., 10.),
        ]
        .iter()
        .map(|p| Point::new(p.0, p.1))
        .collect()
    }

    #[test]
    fn a_letter_is_found_turned_scaled_and_mirrored() {
        let a = Spectrum::of(&flag()).unwrap();
        for (turn, scale, mirrored) in [
            (0.0_f64, 1.0, false),
            (180.0, 2.5, false),
            (37.0, 0.3, true),
        ] {
            let flip = if mirrored {
                Affine::new([1., 0., 0., -1., 0., 0.])
            } else {
                Affine::IDENTITY
            };
            let motion = Affine::translate((50.0, -7.0))
                * Affine::rotate(turn.to_radians())
                * Affine::scale(scale)
                * flip;
            let mut moved: Vec<Point> = flag().iter().map(|p| motion * *p).collect();
            moved.rotate_left(4);
            let laid = a.laid_over(&Spectrum::of(&moved).unwrap(), 0.01);
            assert_eq!(laid.len(), 1, "{laid:?}");
            assert_eq!(laid[0].mirrored, mirrored);
            assert!((laid[0].size() - scale).abs() < 1e-3 * scale, "{laid:?}");
            let up = laid[0].carry(Vec2::new(0.0, -1.0));
            let expected = motion * Point::new(0.0, -1.0) - motion * Point::ZERO;
            assert!(
                (up - expected).hypot() < 0.01 * scale,
                "actual {up:?}, expected {expected:?}"
            );
        }
    }

    #[test]
    fn what_looks_the_same_turned_is_found_every_way() {
        let square: Vec<Point> = [(0., 0.), (4., 0.), (4., 1.), (0., 1.)]
            .iter()
            .map(|p| Point::new(p.0, p.1))
            .collect();
        let s = Spectrum::of(&square).unwrap();
        // A bar: as it is, half round, and both mirrored.
        assert_eq!(s.laid_over(&s, 0.01).len(), 4);
    }

    #[test]
    fn another_shape_is_not_taken_for_it() {
        let mut other = flag();
        other[5].x += 1.0;
        other[6].x += 1.0;
        let (a, b) = (
            Spectrum::of(&flag()).unwrap(),
            Spectrum::of(&other).unwrap(),
        );
        assert!(a.laid_over(&b, 0.01).is_empty());
    }
}
