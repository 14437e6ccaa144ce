//! A closed curve as a sum of turning arrows: its complex Fourier coefficients.
//!
//! A closed curve walked at even speed is `z(t) = Σ c_k e^{ikt}`, points of the bed taken as complex
//! numbers. Under a similarity the coefficients change in a simple way: a move changes `c_0` only;
//! scale and turn multiply all others by one complex number `s`; another start point multiplies
//! `c_k` by `e^{ikτ}`; a mirror image about the x axis, walked the same way round, conjugates them
//! all. So `|c_k| / |c_1|` is a signature that knows neither place, size, turn nor start, and one
//! correlation over `τ` finds `s` (Zahn and Roskies 1972; Kuhl and Giardina 1982; from memory).

use std::sync::LazyLock;

use kurbo::{Point, Vec2};

/// Points that a curve is sampled at. Letters have few features; twice as many only takes longer.
pub const SAMPLES: usize = 128;

/// Highest order that is kept, both ways round. Past it lies the sharpness of corners, which
/// flattening and re-saving change.
pub const ORDERS: usize = 16;

/// Numbers in a [`Spectrum::signature`].
pub const SIGNATURE: usize = 12;

/// A complex number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Complex {
    /// Real part: to the right.
    pub re: f64,
    /// Imaginary part: to the front.
    pub im: f64,
}

impl Complex {
    /// `a + bi`.
    pub const fn new(re: f64, im: f64) -> Self {
        Self { re, im }
    }

    fn turn(angle: f64) -> Self {
        Self::new(angle.cos(), angle.sin())
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
pub struct Spectrum {
    /// `c_0`: the curve's centre.
    pub centre: Point,
    /// `c_1 … c_16`, then `c_-1 … c_-16`.
    pub coefficients: Vec<Complex>,
}

/// The order of each coefficient.
fn order(index: usize) -> f64 {
    if index < ORDERS {
        index as f64 + 1.0
    } else {
        -((index - ORDERS) as f64 + 1.0)
    }
}

/// `e^{-ikτ}` for the order `k` of a coefficient and `τ` at sample `n`, from a table: sines were most
/// of the work of reading.
fn turn_back(index: usize, n: usize) -> Complex {
    static TURNS: LazyLock<Vec<Complex>> = LazyLock::new(|| {
        let step = std::f64::consts::TAU / SAMPLES as f64;
        (0..SAMPLES)
            .map(|m| Complex::turn(step * m as f64))
            .collect()
    });
    let turned = if index < ORDERS {
        SAMPLES - (index + 1) * n % SAMPLES
    } else {
        (index - ORDERS + 1) * n
    };
    TURNS.get(turned % SAMPLES).copied().unwrap_or_default()
}

impl Spectrum {
    /// The spectrum of a ring, walked clockwise on the bed whichever way it is given. `None` for a
    /// ring without extent.
    pub fn of(ring: &[Point]) -> Option<Self> {
        let samples = resample(ring)?;
        let coefficients = (0..2 * ORDERS)
            .map(|index| {
                let mut sum = Complex::default();
                for (n, p) in samples.iter().enumerate() {
                    sum = sum.plus(Complex::new(p.x, p.y).times(turn_back(index, n)));
                }
                Complex::new(sum.re / SAMPLES as f64, sum.im / SAMPLES as f64)
            })
            .collect();
        let sum = samples.iter().fold(Vec2::ZERO, |s, p| s + p.to_vec2());
        Some(Self {
            centre: (sum / SAMPLES as f64).to_point(),
            coefficients,
        })
    }

    /// What does not change with place, size, turn, flip or start point.
    pub fn signature(&self) -> [f32; SIGNATURE] {
        let mut out = [0.0; SIGNATURE];
        let at = |k: i32| {
            let index = if k > 0 {
                k as usize - 1
            } else {
                ORDERS + (-k) as usize - 1
            };
            self.coefficients
                .get(index)
                .map_or(0.0, |c| c.norm2().sqrt())
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

    /// Every way in which `self` can be laid over `other` so that what is left over is at most
    /// `slack` of the other's size (root mean square).
    pub fn laid_over(&self, other: &Self, slack: f64) -> Vec<Laid> {
        let mut out = Vec::new();
        let (own, theirs) = (self.energy(), other.energy());
        if own <= 0.0 || theirs <= 0.0 {
            return out;
        }
        let enough = theirs * own * (1.0 - 4.0 * slack * slack).max(0.5);
        // No turn can make more of the products than their sizes, and most pairs fail by those alone.
        let most: f64 = self
            .coefficients
            .iter()
            .zip(&other.coefficients)
            .map(|(a, b)| (a.norm2() * b.norm2()).sqrt())
            .sum();
        // A millionth for the rounding of sums.
        if most * most < enough * 0.97 * (1.0 - 1e-6) {
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
            let correlate = |tau: f64| {
                products
                    .iter()
                    .enumerate()
                    .fold(Complex::default(), |s, (i, p)| {
                        s.plus(p.times(Complex::turn(-order(i) * tau)))
                    })
            };
            let step = std::f64::consts::TAU / SAMPLES as f64;
            let values: Vec<f64> = (0..SAMPLES)
                .map(|n| {
                    products
                        .iter()
                        .enumerate()
                        .fold(Complex::default(), |s, (i, p)| {
                            s.plus(p.times(turn_back(i, n)))
                        })
                        .norm2()
                })
                .collect();
            for n in 0..SAMPLES {
                let value = |m: usize| values.get(m % SAMPLES).copied().unwrap_or(0.0);
                let (before, here, after) = (value(n + SAMPLES - 1), value(n), value(n + 1));
                if here < before || here < after || here < enough * 0.97 {
                    continue;
                }
                let tau = peak(n as f64 * step, step, &correlate);
                let c = correlate(tau);
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

/// The top of a peak near `at`: golden-section search over one step each way.
fn peak(at: f64, step: f64, correlate: &impl Fn(f64) -> Complex) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut low, mut high) = (at - step, at + step);
    for _ in 0..24 {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        if correlate(a).norm2() > correlate(b).norm2() {
            high = b;
        } else {
            low = a;
        }
    }
    f64::midpoint(low, high)
}

/// How one curve lies over another: `z → scale·z` (or of the conjugate, mirrored), centres apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    /// Size and turn as one complex number.
    pub scale: Complex,
    /// Whether the curve is mirrored about the x axis first.
    pub mirrored: bool,
    /// What is left over, as a share of the other curve's size.
    pub left: f64,
}

impl Laid {
    /// Where a vector of the first curve's frame points in the other's.
    pub fn carry(&self, v: Vec2) -> Vec2 {
        let z = Complex::new(v.x, if self.mirrored { -v.y } else { v.y }).times(self.scale);
        Vec2::new(z.re, z.im)
    }

    /// How many times larger the other is.
    pub fn size(&self) -> f64 {
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
    if crate::geometry::region::signed_area(&points) < 0.0 {
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
