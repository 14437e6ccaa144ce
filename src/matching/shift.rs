//! The one displacement that all fixture outlines share: a move, a turn, a scale, a flip.
//!
//! A displacement is *explained* by a similarity, never excused by it. A hypothesis comes from two
//! outlines and two contours that could be them; it is judged by how many locked outlines find
//! their contour under it, and it must explain more of them than "nothing moved" does. On a grid of
//! equal pockets a move by one pitch leaves most pockets on another's place: there the sheet's edge
//! or a loading mark decides, and the finding says that the grid repeats.

use kurbo::{Affine, Point, Vec2};

use super::company::Company;
use super::contours::{Contours, carried};
use crate::fixture::lock::{Lock, Outline, OutlineKind};
use crate::geometry::similarity::{Kind, Similarity, fit};
use crate::ids::{ContourId, IdVec, OutlineId};

/// A displacement that the fixture outlines share.
#[derive(Debug, Clone, PartialEq)]
pub struct Shift {
    /// From where the outlines belong to where they lie.
    pub motion: Affine,
    /// Size as drawn over size as enrolled.
    pub scale: f64,
    /// Turn, degrees clockwise, in (-180, 180].
    pub turn: f64,
    /// Whether it is a mirror image.
    pub mirrored: bool,
    /// Where the middle of the pockets belongs.
    pub middle: Point,
    /// How that middle moved.
    pub move_by: Vec2,
    /// How far the worst outline is from its place, in millimetres.
    pub worst: f64,
    /// How many locked outlines it explains.
    pub explains: usize,
    /// How many pockets of them also find an outline where they belong: the grid repeats.
    pub also_in_place: usize,
    /// Whether the art went along.
    pub company: Company,
}

/// How many outlines judge a hypothesis at first; only the best few are judged by all. More only take
/// longer on fixtures with thousands of pockets.
const JURY: usize = 48;

/// Hypotheses that are tried at most. Two outlines of a fixture of `n` equal pockets give `n²`
/// pairings; those whose scales disagree fall out at once.
const TRIES: usize = 400_000;

/// Two scales, measured from sizes and from distances, must agree to this share.
const SCALES_AGREE: f64 = 0.01;

/// Looks for a displacement that explains more outlines than lie in place.
pub(crate) fn find(
    lock: &Lock,
    contours: &Contours,
    in_place: &IdVec<OutlineId, Vec<ContourId>>,
    place: f64,
) -> Option<Shift> {
    let resting = in_place.iter().filter(|found| !found.is_empty()).count();
    if resting == lock.outlines.len() || lock.outlines.len() < 2 || contours.all.is_empty() {
        return None;
    }
    let candidates = candidates(lock, contours);
    let jury = jury(lock);
    // Unequal outlines, the sheet's edge say, tell a move best; but they may be the ones that
    // someone left where they were while the pockets were dragged.
    let all: Vec<OutlineId> = lock.outlines.ids().collect();
    let unassigned: Vec<OutlineId> = all
        .iter()
        .copied()
        .filter(|i| in_place[*i].is_empty())
        .collect();
    let mut best: Option<Hypothesis> = None;
    for among in [&all, &unassigned] {
        if let Some(anchors) = anchors(lock, &candidates, among) {
            try_pairs(
                lock,
                contours,
                &candidates,
                anchors,
                &jury,
                place,
                &mut best,
            );
        }
    }
    let rough = best?.motion;
    let refined = refine(lock, contours, rough, place)?;
    let shift = judge(lock, contours, in_place, &refined, place);
    let still = Affine::IDENTITY;
    let same = lock.outlines.iter().all(|o| {
        let c = o.contour.centroid;
        (shift.motion * c - still * c).hypot() <= place
    });
    (shift.explains >= 2 && shift.explains > resting && !same).then_some(shift)
}

/// A displacement that two outlines and two contours suggest.
struct Hypothesis {
    votes: usize,
    motion: Affine,
}

impl Hypothesis {
    /// Of two that explain equally many, the simpler one is preferred: no flip, and the smaller turn.
    fn beats(&self, other: &Self) -> bool {
        let odd = |motion: &Affine| {
            let c = motion.as_coeffs();
            let turn = c[1].atan2(c[0]).to_degrees().abs();
            (motion.determinant() < 0.0, (turn * 100.0).round() as i64)
        };
        self.votes > other.votes
            || (self.votes == other.votes && odd(&self.motion) < odd(&other.motion))
    }
}

/// Every displacement that carries the two anchors onto two contours, each judged by the jury.
fn try_pairs(
    lock: &Lock,
    contours: &Contours,
    candidates: &IdVec<OutlineId, Vec<ContourId>>,
    (first, second): (OutlineId, OutlineId),
    jury: &[OutlineId],
    place: f64,
    best: &mut Option<Hypothesis>,
) {
    let (a, b) = (centre(lock, first), centre(lock, second));
    let whole = size(&lock.outlines[first].contour);
    let span = b - a;
    let second = &candidates[second];
    let pairs = candidates[first]
        .iter()
        .flat_map(|i| second.iter().map(move |j| (*i, *j)));
    for (i, j) in pairs.take(TRIES).filter(|(i, j)| i != j) {
        let (p, q) = (&contours.all[i], &contours.all[j]);
        let to = q.contour.centroid - p.contour.centroid;
        let scale = to.hypot() / span.hypot();
        let by_size = size(&p.contour) / whole;
        if (scale / by_size - 1.0).abs() > SCALES_AGREE {
            continue;
        }
        let loose = reach(place, scale);
        for mirrored in [false, true] {
            let motion = from_two(a, span, p.contour.centroid, to, mirrored);
            let votes = jury
                .iter()
                .map(|k| &lock.outlines[*k])
                .filter(|o| lands(o, contours, motion, scale, loose))
                .count();
            let hypothesis = Hypothesis { votes, motion };
            if best.as_ref().is_none_or(|b| hypothesis.beats(b)) {
                *best = Some(hypothesis);
            }
        }
    }
}

/// For each locked outline, the contours that could be it at some scale.
fn candidates(lock: &Lock, contours: &Contours) -> IdVec<OutlineId, Vec<ContourId>> {
    let forms: IdVec<ContourId, (bool, f64)> = contours
        .all
        .iter()
        .map(|f| (f.contour.closed, form(&f.contour)))
        .collect();
    lock.outlines
        .iter()
        .map(|o| {
            let own = form(&o.contour);
            forms
                .pairs()
                .filter(|(i, (closed, f))| {
                    *closed == o.contour.closed
                        && (f / own - 1.0).abs() < 0.02
                        && contours.could_be_fixture(*i)
                })
                .map(|(i, _)| i)
                .collect()
        })
        .collect()
}

/// A number for a shape that does not change with place, turn, flip or size: length squared over
/// area (4π for a circle). For open lines, length over span.
fn form(c: &crate::geometry::contour::Contour) -> f64 {
    if c.closed && c.area > 0.0 {
        c.length * c.length / c.area
    } else {
        let (w, h) = (c.bounds.width(), c.bounds.height());
        1.0 + c.length / w.hypot(h).max(1e-9)
    }
}

/// How large a contour is, whatever way it lies.
fn size(c: &crate::geometry::contour::Contour) -> f64 {
    c.length
}

/// The two outlines to pair: the one with the fewest candidates, and of the others with few the one
/// farthest from it.
fn anchors(
    lock: &Lock,
    candidates: &IdVec<OutlineId, Vec<ContourId>>,
    among: &[OutlineId],
) -> Option<(OutlineId, OutlineId)> {
    let count = |i: OutlineId| candidates[i].len();
    let there: Vec<OutlineId> = among.iter().copied().filter(|i| count(*i) > 0).collect();
    let first = there.iter().copied().min_by_key(|i| (count(*i), *i))?;
    let from = centre(lock, first);
    let away = |i: OutlineId| (centre(lock, i) - from).hypot();
    let second = there
        .iter()
        .copied()
        .filter(|i| *i != first && away(*i) > 1.0)
        .min_by(|a, b| {
            count(*a)
                .cmp(&count(*b))
                .then(away(*b).total_cmp(&away(*a)))
                .then(a.cmp(b))
        })?;
    Some((first, second))
}

fn centre(lock: &Lock, index: OutlineId) -> Point {
    lock.outlines[index].contour.centroid
}

/// A few outlines spread evenly over the lock.
fn jury(lock: &Lock) -> Vec<OutlineId> {
    let step = lock.outlines.len().div_ceil(JURY).max(1);
    lock.outlines.ids().step_by(step).collect()
}

/// The similarity that carries `a` to `p` and the span from `a` along with it.
fn from_two(a: Point, span: Vec2, p: Point, to: Vec2, mirrored: bool) -> Affine {
    // As complex numbers: to = m · span, or m · conj(span) for a mirror image.
    let s = if mirrored {
        Vec2::new(span.x, -span.y)
    } else {
        span
    };
    let d = s.hypot2();
    let (re, im) = ((to.x * s.x + to.y * s.y) / d, (to.y * s.x - to.x * s.y) / d);
    let flip = if mirrored {
        Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, 0.0])
    } else {
        Affine::IDENTITY
    };
    Affine::translate(p.to_vec2())
        * Affine::new([re, im, -im, re, 0.0, 0.0])
        * flip
        * Affine::translate(-a.to_vec2())
}

/// How far a contour's centre may be from where the hypothesis puts it, in millimetres. It shrinks
/// with the drawing: on a sheet drawn at a twenty-fifth of its size half a millimetre is a pocket's
/// width, and a flip would look as good as none.
fn reach(place: f64, scale: f64) -> f64 {
    (5.0 * place).max(0.5) * scale
}

/// Whether some contour of the right size lies where the hypothesis puts the outline.
fn lands(outline: &Outline, contours: &Contours, motion: Affine, scale: f64, loose: f64) -> bool {
    hit(outline, contours, motion, scale, loose).is_some()
}

fn hit(
    outline: &Outline,
    contours: &Contours,
    motion: Affine,
    scale: f64,
    loose: f64,
) -> Option<ContourId> {
    let at = motion * outline.contour.bounds.center();
    let to = motion * outline.contour.centroid;
    contours
        .around(at, loose + 1.5 * scale)
        .into_iter()
        .filter(|i| contours.could_be_fixture(*i))
        .map(|i| (i, &contours.all[i].contour))
        .filter(|(_, c)| c.closed == outline.contour.closed)
        .filter(|(_, c)| (size(c) / (scale * size(&outline.contour)) - 1.0).abs() < SCALES_AGREE)
        .map(|(i, c)| ((c.centroid - to).hypot(), i))
        .filter(|(d, _)| *d <= loose)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, i)| i)
}

/// Least squares over all outlines that the hypothesis explains.
fn refine(lock: &Lock, contours: &Contours, rough: Affine, place: f64) -> Option<Similarity> {
    let scale = rough.determinant().abs().sqrt();
    let mirrored = rough.determinant() < 0.0;
    let (mut from, mut to) = (Vec::new(), Vec::new());
    for outline in &lock.outlines {
        if let Some(found) = hit(outline, contours, rough, scale, reach(place, scale)) {
            from.push(outline.contour.centroid);
            to.push(contours.all[found].contour.centroid);
        }
    }
    let refined = fit(&from, &to, Kind::Similar, mirrored)?;
    // Files are rounded: a scale this near to 1 is a move.
    if (refined.scale - 1.0).abs() < 1e-4 {
        fit(&from, &to, Kind::Rigid, mirrored)
    } else {
        Some(refined)
    }
}

fn judge(
    lock: &Lock,
    contours: &Contours,
    in_place: &IdVec<OutlineId, Vec<ContourId>>,
    fitted: &Similarity,
    place: f64,
) -> Shift {
    let mut shift = Shift {
        motion: fitted.affine,
        scale: fitted.scale,
        turn: fitted.turn_deg,
        mirrored: fitted.mirrored,
        middle: Point::ORIGIN,
        move_by: Vec2::ZERO,
        worst: 0.0,
        explains: 0,
        also_in_place: 0,
        company: Company::default(),
    };
    // Pockets come first in the lock: their middle is what the operator looks at.
    let centres: Vec<Point> = lock
        .outlines
        .iter()
        .filter(|o| o.kind == OutlineKind::Pocket)
        .map(|o| o.contour.centroid)
        .collect();
    if !centres.is_empty() {
        let sum = centres.iter().fold(Vec2::ZERO, |s, c| s + c.to_vec2());
        shift.middle = (sum / centres.len() as f64).to_point();
        shift.move_by = fitted.affine * shift.middle - shift.middle;
    }
    for (outline, resting) in lock.outlines.iter().zip(in_place) {
        let belongs = carried(&outline.contour, fitted.affine);
        if contours
            .on(&belongs, place * fitted.scale.max(1.0))
            .is_empty()
        {
            continue;
        }
        shift.explains += 1;
        shift.also_in_place +=
            usize::from(outline.kind == OutlineKind::Pocket && !resting.is_empty());
        for p in &outline.contour.flat {
            shift.worst = shift.worst.max((fitted.affine * *p - *p).hypot());
        }
    }
    shift
}
