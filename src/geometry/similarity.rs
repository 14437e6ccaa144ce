//! Which move, turn, scale or flip takes one set of points to another?
//!
//! Umeyama, "Least-squares estimation of transformation parameters between two point patterns" (IEEE
//! PAMI 13, 1991), in the closed form that two dimensions allow: with points as complex numbers
//! about their centres, the best turn and scale are one complex quotient.

use kurbo::{Affine, Point, Vec2};

/// What a fit may do besides moving and turning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Move and turn only.
    Rigid,
    /// Move, turn and scale.
    Similar,
}

/// A move, turn, scale and flip, with how well it fits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Similarity {
    /// Scale, positive; 1 for a rigid fit.
    pub scale: f64,
    /// Turn in degrees, clockwise on the bed, above −180 up to 180; after the flip if there is one.
    pub turn_deg: f64,
    /// Whether left and right are swapped before the turn.
    pub mirrored: bool,
    /// The whole as a matrix, from the first points to the second.
    pub affine: Affine,
    /// Root mean square of what is left over, in millimetres.
    pub rms: f64,
    /// The largest of what is left over, in millimetres.
    pub worst: f64,
}

impl Similarity {
    /// Where the fit moves `p`, as a move.
    pub fn shift_at(&self, p: Point) -> Vec2 {
        self.affine * p - p
    }
}

/// A fit that leaves strays aside.
#[derive(Debug, Clone, PartialEq)]
pub struct Robust {
    /// The fit through the pairs that agree.
    pub fit: Similarity,
    /// Indices of the pairs that agree, ascending.
    pub inliers: Vec<usize>,
}

/// A mirrored fit must be better than a plain one by this many millimetres (root mean square) to be
/// preferred: points in a line fit both ways equally, and rounding must not decide.
const MIRROR_MARGIN: f64 = 1e-6;

/// Most pairs of pairs tried by [`robust_fit`]; past it they are thinned out evenly.
const MOST_TRIES: usize = 20_000;

/// The least-squares fit from `from` to `to`, pair by pair, mirrored or not as told.
///
/// `None` where the lists differ in length or are empty, where a coordinate is not a number, or
/// where the points leave the scale open (all in one place, for [`Kind::Similar`]). Points in one place
/// leave the turn open; a rigid fit then does not turn.
pub fn fit(from: &[Point], to: &[Point], kind: Kind, mirrored: bool) -> Option<Similarity> {
    let pairs: Vec<(Point, Point)> = from.iter().copied().zip(to.iter().copied()).collect();
    (from.len() == to.len())
        .then(|| fit_pairs(&pairs, kind, mirrored))
        .flatten()
}

/// The better of the two fits, plain and mirrored; plain where they are alike.
pub fn best_fit(from: &[Point], to: &[Point], kind: Kind) -> Option<Similarity> {
    let plain = fit(from, to, kind, false);
    let flipped = fit(from, to, kind, true);
    match (plain, flipped) {
        (Some(p), Some(m)) if m.rms + MIRROR_MARGIN < p.rms => Some(m),
        (None, other) => other,
        (plain, _) => plain,
    }
}

/// The fit that most pairs agree on to `inlier` millimetres, strays left out.
///
/// Every two pairs (and every single one as a plain move) propose a fit, plain and mirrored; the
/// proposal with the most pairs within `inlier` wins, the plain one and then the smaller remainder
/// at equal numbers. It is then fitted to its pairs until they stay the same. Nothing is drawn by
/// chance: the same pairs give the same fit. `None` without pairs that can be fitted.
pub fn robust_fit(pairs: &[(Point, Point)], kind: Kind, inlier: f64) -> Option<Robust> {
    let n = pairs.len();
    let moves = pairs.iter().map(|&(p, q)| Affine::translate(q - p));
    let twos = (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j)));
    let stride = (n * n.saturating_sub(1) / 2).div_ceil(MOST_TRIES).max(1);
    let from_twos = [false, true].into_iter().flat_map(|mirrored| {
        twos.clone().step_by(stride).filter_map(move |(i, j)| {
            let two = [*pairs.get(i)?, *pairs.get(j)?];
            // Two pairs leave a rigid fit a remainder; far apart ones are not worth the count.
            fit_pairs(&two, kind, mirrored)
                .filter(|f| f.worst <= inlier)
                .map(|f| (f.affine, mirrored))
        })
    });
    let mut best: Option<(usize, f64, Affine, bool)> = None;
    for (affine, mirrored) in moves.map(|m| (m, false)).chain(from_twos) {
        let (mut count, mut sum) = (0, 0.0);
        for &(p, q) in pairs {
            let off = (affine * p).distance(q);
            if off <= inlier {
                count += 1;
                sum += off * off;
            }
        }
        let better = best
            .as_ref()
            .is_none_or(|&(c, s, _, m)| count > c || (count == c && m == mirrored && sum < s));
        if better && count > 0 {
            best = Some((count, sum, affine, mirrored));
        }
    }
    let (_, _, affine, mirrored) = best?;
    let close = |affine: Affine| -> Vec<usize> {
        pairs
            .iter()
            .enumerate()
            .filter(|(_, (p, q))| (affine * *p).distance(*q) <= inlier)
            .map(|(i, _)| i)
            .collect()
    };
    let mut inliers = close(affine);
    let mut result = refit(pairs, &inliers, kind, mirrored)?;
    // Three rounds settle all but oddly balanced cases, and every round's result is a valid one.
    for _ in 0..3 {
        let again = close(result.affine);
        if again == inliers || again.len() < inliers.len() {
            break;
        }
        inliers = again;
        result = refit(pairs, &inliers, kind, mirrored)?;
    }
    Some(Robust {
        fit: result,
        inliers,
    })
}

fn refit(
    pairs: &[(Point, Point)],
    which: &[usize],
    kind: Kind,
    mirrored: bool,
) -> Option<Similarity> {
    let chosen: Vec<_> = which
        .iter()
        .filter_map(|&i| pairs.get(i).copied())
        .collect();
    // A single pair fixes no scale: it is a move.
    let kind = if chosen.len() < 2 { Kind::Rigid } else { kind };
    fit_pairs(&chosen, kind, mirrored)
}

/// See [`fit`].
pub fn fit_pairs(pairs: &[(Point, Point)], kind: Kind, mirrored: bool) -> Option<Similarity> {
    if pairs.is_empty() {
        return None;
    }
    let n = pairs.len() as f64;
    let mean = |pick: fn(&(Point, Point)) -> Point| {
        (pairs
            .iter()
            .map(|pair| pick(pair).to_vec2())
            .fold(Vec2::ZERO, |a, b| a + b)
            / n)
            .to_point()
    };
    let (centre, goal) = (mean(|p| p.0), mean(|p| p.1));
    // Sum of goal · conj(from), with `from` flipped left to right first if mirrored.
    let (mut re, mut im, mut spread) = (0.0, 0.0, 0.0);
    for &(p, q) in pairs {
        let (x, y) = (flip(p - centre, mirrored), q - goal);
        re += x.dot(y);
        im += x.cross(y);
        spread += x.hypot2();
    }
    let strength = (re * re + im * im).sqrt();
    if !strength.is_finite() || !spread.is_finite() {
        return None;
    }
    let (cos, sin) = if strength > 0.0 {
        (re / strength, im / strength)
    } else {
        (1.0, 0.0)
    };
    let scale = match kind {
        Kind::Rigid => 1.0,
        Kind::Similar if spread > 0.0 && strength > 0.0 => strength / spread,
        Kind::Similar => return None,
    };
    let side = if mirrored { -scale } else { scale };
    let linear = Affine::new([side * cos, side * sin, -scale * sin, scale * cos, 0.0, 0.0]);
    let affine = linear.then_translate(goal - linear * centre);
    let (mut sum, mut worst) = (0.0, 0.0_f64);
    for &(p, q) in pairs {
        let off = (affine * p - q).hypot2();
        sum += off;
        worst = worst.max(off);
    }
    let turn_deg = libm::atan2(sin, cos).to_degrees();
    let turn_deg = if turn_deg <= -180.0 { 180.0 } else { turn_deg };
    Some(Similarity {
        scale,
        turn_deg,
        mirrored,
        affine,
        rms: (sum / n).sqrt(),
        worst: worst.sqrt(),
    })
}

fn flip(v: Vec2, mirrored: bool) -> Vec2 {
    if mirrored { Vec2::new(-v.x, v.y) } else { v }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;

    fn points() -> Vec<Point> {
        [
            (3.0, 4.0),
            (50.0, 7.0),
            (44.0, 90.0),
            (-8.0, 61.0),
            (20.0, 20.0),
        ]
        .map(Point::from)
        .to_vec()
    }

    fn moved(by: Affine) -> Vec<Point> {
        points().into_iter().map(|p| by * p).collect()
    }

    #[track_caller]
    fn check(by: Affine, scale: f64, turn: f64, mirrored: bool) {
        let got = best_fit(&points(), &moved(by), Kind::Similar).unwrap();
        assert!(
            (got.scale - scale).abs() < 1e-12
                && (got.turn_deg - turn).abs() < 1e-10
                && got.mirrored == mirrored
                && got.worst < 1e-10,
            "actual {got:?}, expected {scale} {turn} {mirrored}, input {by:?}"
        );
    }

    #[test]
    fn exact_moves_are_found_exactly() {
        check(Affine::IDENTITY, 1.0, 0.0, false);
        check(Affine::translate((5.0, -3.0)), 1.0, 0.0, false);
        // Clockwise on the bed: what points to the right turns towards the front.
        check(Affine::rotate(30.0_f64.to_radians()), 1.0, 30.0, false);
        check(Affine::rotate(std::f64::consts::PI), 1.0, 180.0, false);
        check(
            Affine::scale(0.75).then_translate((1.0, 2.0).into()),
            0.75,
            0.0,
            false,
        );
        check(Affine::FLIP_X, 1.0, 0.0, true);
        check(Affine::FLIP_Y, 1.0, 180.0, true);
        check(
            Affine::FLIP_X.then_rotate(-0.5).then_scale(2.0),
            2.0,
            (-0.5_f64).to_degrees(),
            true,
        );
    }

    #[test]
    fn a_rigid_fit_does_not_scale_and_says_what_is_left() {
        let got = fit(&points(), &moved(Affine::scale(1.01)), Kind::Rigid, false).unwrap();
        assert_eq!(got.scale, 1.0);
        assert!(
            got.worst > 0.4 && got.worst < 0.6 && got.rms < got.worst,
            "{got:?}"
        );
        assert!(got.turn_deg.abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_fitted_is_none() {
        let one = [Point::new(1.0, 2.0)];
        assert!(fit(&[], &[], Kind::Rigid, false).is_none());
        assert!(fit(&one, &points(), Kind::Rigid, false).is_none());
        assert!(fit(&one, &one, Kind::Similar, false).is_none());
        assert!(fit(&[one[0]; 3], &[one[0]; 3], Kind::Similar, true).is_none());
        assert!(fit(&[Point::new(f64::NAN, 0.0)], &one, Kind::Rigid, false).is_none());
        let got = fit(&one, &[Point::new(4.0, 6.0)], Kind::Rigid, false).unwrap();
        assert_eq!(got.shift_at(Point::ORIGIN), Vec2::new(3.0, 4.0));
    }

    #[test]
    fn points_in_a_line_are_not_called_mirrored() {
        let line: Vec<_> = (0..5)
            .map(|i| Point::new(f64::from(i) * 31.7, 12.3))
            .collect();
        let to: Vec<_> = line.iter().map(|&p| Affine::rotate(0.3) * p).collect();
        let got = best_fit(&line, &to, Kind::Similar).unwrap();
        assert!(
            !got.mirrored && (got.turn_deg - 0.3_f64.to_degrees()).abs() < 1e-9,
            "{got:?}"
        );
    }

    #[test]
    fn strays_do_not_pull_the_fit() {
        let grid: Vec<Point> = (0..12)
            .map(|i| Point::new(f64::from(i % 4) * 40.0, f64::from(i / 4) * 100.0))
            .collect();
        for by in [
            Affine::translate((2.0, -1.0)),
            Affine::rotate_about(0.02, (60.0, 100.0)),
            Affine::scale(0.9375),
            Affine::FLIP_X.then_translate((120.0, 0.0).into()),
        ] {
            let mut pairs: Vec<_> = grid.iter().map(|&p| (p, by * p)).collect();
            pairs[2].1 += Vec2::new(7.0, 0.0);
            pairs[9].1 += Vec2::new(-3.0, 4.0);
            let got = robust_fit(&pairs, Kind::Similar, 0.1).unwrap();
            assert_eq!(
                got.inliers,
                [0, 1, 3, 4, 5, 6, 7, 8, 10, 11],
                "{by:?} {got:?}"
            );
            assert!(got.fit.worst < 1e-9, "{by:?} {got:?}");
            assert_eq!(got.fit.mirrored, by.determinant() < 0.0);
        }
        assert!(robust_fit(&[], Kind::Rigid, 0.1).is_none());
        let one = robust_fit(&[(Point::ORIGIN, Point::new(1.0, 0.0))], Kind::Similar, 0.1).unwrap();
        assert_eq!(one.inliers, [0]);
    }
}
