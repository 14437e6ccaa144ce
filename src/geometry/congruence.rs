//! Is one outline the same shape as another, moved, turned or flipped?

use kurbo::{Affine, Point};

use super::contour::Contour;
use super::deviation::within;
use super::edges::Edges;
use super::flatten::{edges, polylines};
use super::similarity::{Kind, Similarity, fit_pairs};
use crate::ids::At;

/// Places along each outline that are compared. Fewer miss small features when guessing the turn;
/// the verdict does not rest on them.
const PLACES: usize = 128;

/// How closely the outlines to be walked follow their curves, in millimetres: the guesses are no
/// better than this, and the verdict does not rest on them.
const STRAIGHT: f64 = 1e-3;

/// Steps of the fine search along the outline, each narrowing it to 0.618.
const NARROWINGS: usize = 32;

/// Rounds of fitting to nearest points.
const ROUNDS: usize = 8;

/// Most guesses verified; a shape with more similar turns than this counts as a circle.
const MOST_GUESSES: usize = 48;

/// The move (and turn, flip and, for [`Kind::Similar`], scale) that lays `a` on `b` so that no point of
/// either is farther than `tolerance` millimetres from the other; `None` if there is none.
///
/// Where several do (a square turns into itself four ways), an unflipped one and then the smallest
/// turn is preferred. The result is verified by the distance between the curves; the guesses come
/// from comparing both outlines at equal shares of their length, at every start and both ways round.
/// `rms` and `worst` are over those places.
pub(crate) fn congruence(
    a: &Contour,
    b: &Contour,
    kind: Kind,
    tolerance: f64,
) -> Option<Similarity> {
    if a.closed != b.closed || (kind == Kind::Rigid && areas_differ(a, b, tolerance)) {
        return None;
    }
    let (from, to) = (Rounds::new(a), Rounds::new(b));
    let index = Edges::new(edges(&to.points, b.closed));
    let places = from.places(0.0, false);
    let mut guesses = Vec::new();
    for mirrored in [false, true] {
        for backwards in [false, true] {
            guesses.extend(turns(&places, &to, kind, mirrored, backwards));
        }
    }
    // Outlines within the tolerance of each other also nearly agree place by place; the places drift by
    // as much as the lengths differ.
    guesses.retain(|g: &Similarity| {
        g.rms <= 4.0 * (tolerance + STRAIGHT) + (from.length * g.scale - to.length).abs()
    });
    // The smallest turn first, unflipped before flipped.
    guesses.sort_by(|p, q| {
        p.mirrored
            .cmp(&q.mirrored)
            .then(p.turn_deg.abs().total_cmp(&q.turn_deg.abs()))
    });
    // A plain move is what a fixture most often suffers.
    let shift = Affine::translate(b.centroid - a.centroid);
    let plain = Similarity {
        scale: 1.0,
        turn_deg: 0.0,
        mirrored: false,
        affine: shift,
        rms: f64::INFINITY,
        worst: f64::INFINITY,
    };
    guesses.truncate(MOST_GUESSES);
    let plain = refined(&places, &index, plain, kind);
    let lies = |fit: &Similarity| {
        a.transformed(fit.affine)
            .is_some_and(|laid| within(&laid, b, tolerance, (tolerance / 10.0).max(1e-6)))
    };
    if plain.rms <= 2.0 * STRAIGHT && lies(&plain) {
        return Some(plain);
    }
    // Where the plain move leaves more, a small turn may explain it; the plain one is then the last
    // resort, not the first.
    guesses
        .into_iter()
        .map(|guess| refined(&places, &index, guess, kind))
        .chain([plain])
        .find(lies)
}

/// Whether the areas alone rule out that the curves lie within `tolerance` of each other: the area
/// between two such curves is at most the band's, length times width and its round ends.
fn areas_differ(a: &Contour, b: &Contour, tolerance: f64) -> bool {
    let band =
        2.0 * tolerance * a.length.max(b.length) + std::f64::consts::PI * tolerance * tolerance;
    a.closed && (a.area - b.area).abs() > band
}

/// Guesses for one way round: the starts at which the outlines fit best.
fn turns(
    places: &[Point],
    to: &Rounds,
    kind: Kind,
    mirrored: bool,
    backwards: bool,
) -> Vec<Similarity> {
    let at = |start: f64| {
        let pairs: Vec<_> = places
            .iter()
            .copied()
            .zip(to.places(start, backwards))
            .collect();
        fit_pairs(&pairs, kind, mirrored)
    };
    if !to.closed {
        return at(0.0).into_iter().collect();
    }
    let step = 1.0 / PLACES as f64;
    let coarse: Vec<f64> = (0..PLACES)
        .map(|k| at(k as f64 * step).map_or(f64::INFINITY, |f| f.rms))
        .collect();
    let least = coarse.iter().copied().fold(f64::INFINITY, f64::min);
    // Half a step off costs up to half a step's length; a true fit cannot look worse than that.
    let worth = least + to.length * step;
    let rms = |k: usize| *coarse.at(k % PLACES);
    (0..PLACES)
        .filter(|&k| rms(k) <= worth && rms(k) <= rms(k + 1) && rms(k) <= rms(k + PLACES - 1))
        .filter_map(|k| {
            at(narrowed(k as f64 * step, step, |s| {
                at(s).map_or(f64::INFINITY, |f| f.rms)
            }))
        })
        .collect()
}

/// Golden-section search for the least of `cost` within a step of `middle`.
fn narrowed(middle: f64, step: f64, cost: impl Fn(f64) -> f64) -> f64 {
    let ratio = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = (middle - step, middle + step);
    let (mut left, mut right) = (high - ratio * (high - low), low + ratio * (high - low));
    let (mut at_left, mut at_right) = (cost(left), cost(right));
    for _ in 0..NARROWINGS {
        if at_left <= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - ratio * (high - low);
            at_left = cost(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + ratio * (high - low);
            at_right = cost(right);
        }
    }
    f64::midpoint(low, high)
}

/// Fits to nearest points for a few rounds (iterated closest point, Besl and `McKay` 1992), as long as
/// that helps.
fn refined(places: &[Point], to: &Edges, guess: Similarity, kind: Kind) -> Similarity {
    let nearest = |fit: &Similarity| -> Vec<(Point, Point)> {
        places
            .iter()
            .filter_map(|&p| Some((p, to.nearest_point(fit.affine * p)?.1)))
            .collect()
    };
    let left_over = |fit: &Similarity, pairs: &[(Point, Point)]| {
        pairs
            .iter()
            .map(|&(p, q)| (fit.affine * p).distance_squared(q))
            .sum::<f64>()
    };
    let mut best = guess;
    let mut pairs = nearest(&best);
    let mut sum = left_over(&best, &pairs);
    for _ in 0..ROUNDS {
        let Some(next) = fit_pairs(&pairs, kind, guess.mirrored) else {
            break;
        };
        let next_pairs = nearest(&next);
        let next_sum = left_over(&next, &next_pairs);
        if next_sum >= sum {
            break;
        }
        (best, pairs, sum) = (next, next_pairs, next_sum);
    }
    let worst = pairs
        .iter()
        .map(|&(p, q)| (best.affine * p).distance(q))
        .fold(0.0, f64::max);
    Similarity {
        rms: (sum / pairs.len().max(1) as f64).sqrt(),
        worst,
        ..best
    }
}

/// An outline that can be walked by share of its length.
struct Rounds {
    points: Vec<Point>,
    closed: bool,
    /// Length from the start to the end of each piece.
    upto: Vec<f64>,
    length: f64,
}

impl Rounds {
    fn new(contour: &Contour) -> Self {
        let points = polylines(&contour.path, STRAIGHT)
            .into_iter()
            .next()
            .unwrap_or_default()
            .points;
        let mut length = 0.0;
        let upto = edges(&points, contour.closed)
            .map(|(a, b)| {
                length += a.distance(b);
                length
            })
            .collect();
        Self {
            points,
            closed: contour.closed,
            upto,
            length,
        }
    }

    /// Places at equal shares of the length: for a closed outline from the share `start` on, all the
    /// way round; for an open one from end to end.
    fn places(&self, start: f64, backwards: bool) -> Vec<Point> {
        let last = if self.closed { PLACES } else { PLACES - 1 } as f64;
        (0..PLACES)
            .map(|i| {
                let share = i as f64 / last;
                let share = if self.closed {
                    start + if backwards { -share } else { share }
                } else if backwards {
                    1.0 - share
                } else {
                    share
                };
                self.at(if self.closed {
                    share.rem_euclid(1.0)
                } else {
                    share
                })
            })
            .collect()
    }

    fn at(&self, share: f64) -> Point {
        let along = share * self.length;
        let i = self
            .upto
            .partition_point(|&l| l < along)
            .min(self.upto.len().saturating_sub(1));
        let (a, b) = (
            *self.points.at(i),
            *self.points.at((i + 1) % self.points.len()),
        );
        let before = if i > 0 { *self.upto.at(i - 1) } else { 0.0 };
        let piece = self.upto.at(i) - before;
        if piece > 0.0 {
            a.lerp(b, ((along - before) / piece).clamp(0.0, 1.0))
        } else {
            a
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::super::contour::contours;
    use super::*;
    use kurbo::BezPath;

    fn only(d: &str) -> Contour {
        contours(&BezPath::from_svg(d).unwrap()).remove(0)
    }

    /// A tag with a hole end, not symmetric in any way.
    const TAG: &str = "M10,0 H24 C30,0 34,6 34,12 V60 Q34,70 20,72 L4,66 V10 C4,4 6,0 10,0 Z";

    #[track_caller]
    fn check(d: &str, by: Affine, kind: Kind, scale: f64, turn: f64, mirrored: bool) {
        let a = only(d);
        let b = a.transformed(by).unwrap();
        // Another start and direction, as an editor may write it.
        let b = contours(&b.path.reverse_subpaths()).remove(0);
        let got = congruence(&a, &b, kind, 0.02).unwrap_or_else(|| panic!("no fit for {d} {by:?}"));
        assert!(
            (got.scale - scale).abs() < 1e-4
                && (got.turn_deg - turn).abs() < 0.01
                && got.mirrored == mirrored,
            "actual {got:?}, expected {scale} {turn} {mirrored}, input {d} {by:?}"
        );
    }

    #[test]
    fn an_uneven_shape_is_found_at_any_turn_and_flip() {
        check(
            TAG,
            Affine::translate((100.0, 3.0)),
            Kind::Rigid,
            1.0,
            0.0,
            false,
        );
        for degrees in [0.5, 3.0, 45.0, 90.0, 137.0, 179.0, -60.0] {
            let turn = Affine::rotate(f64::to_radians(degrees)).then_translate((50.0, 9.0).into());
            check(TAG, turn, Kind::Rigid, 1.0, degrees, false);
            check(
                TAG,
                Affine::FLIP_X.then_rotate(f64::to_radians(degrees)),
                Kind::Rigid,
                1.0,
                degrees,
                true,
            );
            check(
                TAG,
                turn.then_scale(0.75),
                Kind::Similar,
                0.75,
                degrees,
                false,
            );
        }
    }

    #[test]
    fn even_shapes_take_the_smallest_turn_unflipped() {
        let square = "M0,0 H40 V40 H0 Z";
        check(
            square,
            Affine::rotate(100.0_f64.to_radians()),
            Kind::Rigid,
            1.0,
            10.0,
            false,
        );
        check(
            square,
            Affine::FLIP_X.then_rotate(0.1),
            Kind::Rigid,
            1.0,
            0.1_f64.to_degrees(),
            false,
        );
        let oblong = "M0,0 H40 V20 H0 Z";
        check(
            oblong,
            Affine::rotate(std::f64::consts::PI),
            Kind::Rigid,
            1.0,
            0.0,
            false,
        );
        check(
            oblong,
            Affine::rotate(std::f64::consts::FRAC_PI_2),
            Kind::Rigid,
            1.0,
            90.0,
            false,
        );
        let circle = contours(&super::super::arc::ellipse(50.0, 50.0, 12.0, 12.0, 1e-6)).remove(0);
        let other = circle.transformed(Affine::rotate(1.0)).unwrap();
        let got = congruence(&circle, &other, Kind::Rigid, 0.01).unwrap();
        assert!(got.turn_deg.abs() < 1e-3 && !got.mirrored, "{got:?}");
    }

    #[test]
    fn other_shapes_and_sizes_do_not_pass() {
        let tag = only(TAG);
        let bigger = tag.transformed(Affine::scale(1.01)).unwrap();
        assert_eq!(congruence(&tag, &bigger, Kind::Rigid, 0.1), None);
        assert!(congruence(&tag, &bigger, Kind::Similar, 0.1).is_some());
        // The same but for one corner that is 0.5 off.
        let bent = only(&TAG.replace("L4,66", "L4,65.5"));
        assert_eq!(congruence(&tag, &bent, Kind::Rigid, 0.1), None);
        assert!(congruence(&tag, &bent, Kind::Rigid, 0.5).is_some());
        assert_eq!(congruence(&tag, &only("M0,0 L9,9"), Kind::Rigid, 0.1), None);
        assert_eq!(
            congruence(
                &only("M0,0 H40 V20 H0 Z"),
                &only("M0,0 H41 V20 H0 Z"),
                Kind::Similar,
                0.1
            ),
            None
        );
    }

    #[test]
    fn open_lines_fit_from_either_end() {
        check(
            "M0,0 H30 V10",
            Affine::rotate(0.4).then_translate((5.0, 5.0).into()),
            Kind::Rigid,
            1.0,
            0.4_f64.to_degrees(),
            false,
        );
    }
}
