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

/// See [`fit`].
pub(crate) fn fit_pairs(
    pairs: &[(Point, Point)],
    kind: Kind,
    mirrored: bool,
) -> Option<Similarity> {
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
        let got = fit(&points(), &moved(by), Kind::Similar, mirrored).unwrap();
        assert!(
            (got.scale - scale).abs() < 1e-12
                && (got.turn_deg - turn).abs() < 1e-10
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
        assert_eq!(got.affine * Point::ORIGIN, Point::new(3.0, 4.0));
    }
}
