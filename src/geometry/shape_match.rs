//! Which turns, flips and scales lay one patch of ink on another?
//!
//! Unlike [`super::congruence`], which compares single curves, this compares whole areas, so that a
//! word of many letters or a crest of many parts is one thing. The guesses come from the complex
//! moments of the areas (Flusser, "On the independence of rotation moment invariants", Pattern
//! Recognition 33, 2000): a turn by an angle a multiplies the moment c(p,q) by exp(i (p − q) a). The
//! verdict is how far the outlines are apart once one is laid on the other.

use std::cell::OnceCell;

use kurbo::{Affine, Point, Rect, Vec2};

use super::deviation::stays_within;
use super::edges::Edges;
use super::flatten::{signed_area, simpler};
use super::region::Region;

/// A motion that lays one patch on another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Motion {
    /// From the first patch to the second.
    pub affine: Affine,
    /// Turn in degrees, clockwise on the bed, above -180 up to 180; after the flip if there is one.
    pub turn: f64,
    /// Whether left and right are swapped before the turn.
    pub mirrored: bool,
}

/// A patch of ink with what is measured of it once.
#[derive(Debug, Clone)]
pub(crate) struct Patch {
    ink: Region,
    /// The ink with few corners, to rule out quickly what is far from alike.
    rough: Region,
    /// How much area may differ between the two.
    roughness: f64,
    area: f64,
    rim: f64,
    centre: Point,
    /// How far the ink reaches from its centre.
    radius: f64,
    /// The corners of its convex hull.
    hull: Vec<Point>,
    /// How far it reaches from its centre in each of [`DIRECTIONS`].
    reach: [f64; DIRECTIONS],
    /// Moments c(2,0), c(2,1), c(3,0), c(4,0), in units of the patch's own size.
    moments: [(f64, f64); 4],
    /// The same in powers of millimetres.
    unscaled: [(f64, f64); 4],
    /// The outlines, indexed once they are asked for.
    edges: OnceCell<Edges>,
}

/// The turns by which the moments above repeat.
const FOLDS: [f64; 4] = [2.0, 1.0, 3.0, 4.0];

/// The degree p + q of each: what is far out weighs by that power of its distance.
const DEGREES: [i32; 4] = [2, 3, 3, 4];

/// A moment weaker than this, on a patch of unit area, says nothing about a turn: it may be rounding.
/// With a larger value, nearly symmetric shapes would not be told apart.
const WEAK: f64 = 2e-4;

/// How much of the area may differ. This is a quick first test; the distance of the outlines decides.
const AREA_SLACK: f64 = 0.02;

/// How far edges may lie apart, in millimetres, on top of that: files are rounded to a hundredth.
const EDGE_SLACK: f64 = 0.015;

/// How far the outlines of one shape may lie apart, as a share of its radius, and in millimetres at
/// most. With a larger value, a disc with a name cut out of it would match a plain disc; with a
/// smaller one, the same art saved with rounding or traced again would not match.
const APART: f64 = 0.01;
const APART_AT_MOST: f64 = 0.1;

/// The accuracy of that distance, in millimetres.
const APART_TOLD: f64 = 0.01;

/// Of the most that [`EDGE_SLACK`] may do to a moment, all edges being off to one side, what it does: edges are
/// off to either side. Lower, and thin frames that were traced again are taken for others; higher, and each word
/// is compared at length with each other.
const TO_AND_FRO: f64 = 0.05;

/// A moment of one patch, and of another.
type Moments<'a> = (&'a (f64, f64), &'a (f64, f64));

/// In so many directions the reach of two patches is compared, quickly. With fewer, more pairs that are not
/// alike take the long way.
const DIRECTIONS: usize = 32;

/// Turns that are always tried, in radians: those that people turn art by.
const QUARTERS: [f64; 4] = [
    0.0,
    std::f64::consts::PI,
    std::f64::consts::FRAC_PI_2,
    -std::f64::consts::FRAC_PI_2,
];

/// Guesses closer than this, in radians, count as one.
const SAME_TURN: f64 = 0.01;

/// Pieces of outline up to which parts are joined to look again: traced art is drawn in one piece, and to
/// join a hundred thousand pieces takes minutes.
const JOINED_UP_TO: usize = 5_000;

impl Patch {
    /// Measures a patch; `None` where it has no area.
    pub(crate) fn new(ink: Region) -> Option<Self> {
        let area = ink.area();
        if area <= 0.0 {
            return None;
        }
        let origin = ink.bounds()?.center();
        let first = sum(&ink, origin, |z| z);
        let centre = origin + Vec2::new(first.0, first.1) / area;
        let unit = area.sqrt();
        let moments = [
            sum(&ink, centre, |z| mul(z, z)),
            sum(&ink, centre, |z| mul(mul(z, z), (z.0, -z.1))),
            sum(&ink, centre, |z| mul(mul(z, z), z)),
            sum(&ink, centre, |z| mul(mul(z, z), mul(z, z))),
        ];
        let mut scaled = moments;
        for (m, degree) in scaled.iter_mut().zip(DEGREES) {
            let by = unit.powi(degree + 2);
            *m = (m.0 / by, m.1 / by);
        }
        let away = ink.rings.iter().flatten().map(|p| p.distance(centre));
        let radius = away.fold(0.0, f64::max);
        let hull = hull(ink.rings.iter().flatten().copied().collect());
        let reach = reaches(&hull, centre);
        let rim: f64 = ink.edges().map(|(a, b)| a.distance(b)).sum();
        // Rough enough to make about as much difference as is allowed.
        let tolerance = (AREA_SLACK * area / rim.max(1e-9)).max(EDGE_SLACK) / 2.0;
        let rough = Region::from_rings(ink.rings.iter().map(|r| simpler(r, tolerance)), false);
        Some(Self {
            ink,
            rough,
            // Both are within the tolerance of the other's outline, on either side of it.
            roughness: 2.0 * tolerance * rim,
            area,
            rim,
            centre,
            radius,
            hull,
            reach,
            moments: scaled,
            unscaled: moments,
            edges: OnceCell::new(),
        })
    }

    /// The ink.
    pub(crate) fn ink(&self) -> &Region {
        &self.ink
    }

    fn edges(&self) -> &Edges {
        self.edges.get_or_init(|| self.ink.indexed())
    }

    /// Whether it is the same upside down and in a mirror, as far as anybody can see: a half turn about
    /// its centre and a flip across the line through it along `tops` both leave it as it is.
    pub(crate) fn even(&self, tops: Vec2) -> bool {
        let half = std::f64::consts::PI;
        // A flip across a line at an angle is one of left and right, turned by twice what it is off.
        let flip = wrapped(2.0 * tops.y.atan2(tops.x) + half);
        self.fits(self, half, false) && self.fits(self, flip, true)
    }

    /// Whether this patch lies on the other once it is flipped left to right, if `mirrored`, and then
    /// turned by `turn`, in radians clockwise on the bed, both about the centres.
    pub(crate) fn fits(&self, other: &Self, turn: f64, mirrored: bool) -> bool {
        self.laid(other, turn, mirrored).is_some()
    }

    /// What lays this patch on the other, flipped and turned so; `None` where nothing does.
    ///
    /// Centres of gravity are the better guide but for thin frames: of a line that is a hundredth of a
    /// millimetre wider on one side, the centre lies a tenth off, and the middle of its box does not.
    fn laid(&self, other: &Self, turn: f64, mirrored: bool) -> Option<Affine> {
        let by_centre = self.carried(other, turn, mirrored);
        let by_box = || {
            let off = middle(&other.hull)? - middle(&through(&self.hull, by_centre))?;
            Some(Affine::translate(off) * by_centre)
        };
        let lies = |affine: &Affine| {
            self.could_lie(other, turn, mirrored, *affine) && self.lies(other, *affine)
        };
        Some(by_centre)
            .filter(lies)
            .or_else(|| by_box().filter(lies))
    }

    fn carried(&self, other: &Self, turn: f64, mirrored: bool) -> Affine {
        let flip = if mirrored {
            Affine::FLIP_X
        } else {
            Affine::IDENTITY
        };
        Affine::translate(other.centre.to_vec2())
            * Affine::rotate(turn)
            * flip
            * Affine::translate(-self.centre.to_vec2())
    }

    /// Whether the two could be one shape at one size: quick, and only ever wrong in saying yes.
    pub(crate) fn alike(&self, other: &Self) -> bool {
        let slack = self.slack(other);
        let radius = self.radius.max(other.radius);
        let unit = self.area.min(other.area).sqrt();
        let rounded = TO_AND_FRO * EDGE_SLACK * (self.rim + other.rim);
        // Slivers far from the centre change the moments; those of allowed size change them by less
        // than a tenth, but for thin art, whose own area is little.
        let near = |((a, b), degree): (Moments<'_>, i32)| {
            let (a, b) = (a.0.hypot(a.1), b.0.hypot(b.1));
            let by_rounding = rounded * radius.powi(degree) / unit.powi(degree + 2);
            (a - b).abs() <= 0.1 * a.max(b) + 0.01 + by_rounding
        };
        (self.area - other.area).abs() <= slack
            && self
                .moments
                .iter()
                .zip(&other.moments)
                .zip(DEGREES)
                .take(2)
                .all(near)
    }

    /// Every motion that lays this patch on the other at the same size, flips included; unflipped
    /// ones first, then by the size of the turn. One that is even has several.
    pub(crate) fn motions(&self, other: &Self) -> Vec<Motion> {
        let mut out = Vec::new();
        if !self.alike(other) {
            return out;
        }
        for mirrored in [false, true] {
            for turn in self.turns(other, mirrored) {
                out.extend(self.laid(other, turn, mirrored).map(|affine| Motion {
                    affine,
                    turn: turn.to_degrees(),
                    mirrored,
                }));
            }
        }
        out.sort_by(|a, b| {
            a.mirrored
                .cmp(&b.mirrored)
                .then(a.turn.abs().total_cmp(&b.turn.abs()))
        });
        out
    }

    /// Turns that carry some moment of this patch into the other's, and the quarters, in radians.
    fn turns(&self, other: &Self, mirrored: bool) -> Vec<f64> {
        let mut out = QUARTERS.to_vec();
        for ((a, b), fold) in self.moments.iter().zip(&other.moments).zip(FOLDS) {
            let a = if mirrored { flipped(*a, fold) } else { *a };
            if a.0.hypot(a.1) < WEAK || b.0.hypot(b.1) < WEAK {
                continue;
            }
            let between = b.1.atan2(b.0) - a.1.atan2(a.0);
            for k in 0..fold as u32 {
                let turn = wrapped((between + std::f64::consts::TAU * f64::from(k)) / fold);
                if !out.iter().any(|t| wrapped(t - turn).abs() < SAME_TURN) {
                    out.push(turn);
                }
            }
        }
        out
    }

    /// How much area may differ where this patch lies on the other.
    fn slack(&self, other: &Self) -> f64 {
        AREA_SLACK * self.area + EDGE_SLACK * (self.rim + other.rim)
    }

    /// Whether `affine`, a turn after a flip, could lay this patch on the other: quick, and only ever
    /// wrong in saying yes.
    ///
    /// Where two areas within a radius R differ by an area D, their moments of degree d differ by at
    /// most D R^d.
    fn could_lie(&self, other: &Self, turn: f64, mirrored: bool, affine: Affine) -> bool {
        // A hundredth more, for the grid that areas are taken on.
        let slack = 1.01 * self.slack(other);
        let radius = self.radius.max(other.radius);
        let pairs = self.unscaled.iter().zip(&other.unscaled);
        pairs
            .zip(FOLDS.iter().zip(DEGREES))
            .all(|((a, b), (fold, degree))| {
                let a = if mirrored { flipped(*a, *fold) } else { *a };
                let (sin, cos) = (fold * turn).sin_cos();
                let turned = mul(a, (cos, sin));
                (turned.0 - b.0).hypot(turned.1 - b.1) <= slack * radius.powi(degree)
            })
            && self.reaches_as(other, affine)
    }

    /// Whether this patch, moved, reaches as far as the other in every direction: outlines that follow each
    /// other do, so this, too, is only ever wrong in saying yes.
    fn reaches_as(&self, other: &Self, affine: Affine) -> bool {
        // What is joined is grown, by up to a quarter more than it should be.
        let limit = self.apart() + APART_TOLD + EDGE_SLACK / 2.0;
        let own = reaches(&through(&self.hull, affine), other.centre);
        own.iter()
            .zip(&other.reach)
            .all(|(a, b)| (a - b).abs() <= limit)
    }

    /// How far the outlines of the same shape may lie apart.
    fn apart(&self) -> f64 {
        EDGE_SLACK + (APART * self.radius).min(APART_AT_MOST)
    }

    /// Whether `affine` lays this patch on the other but for slivers.
    fn lies(&self, other: &Self, affine: Affine) -> bool {
        let slack = self.slack(other);
        let differs = |a: &Region, b: &Region| {
            let shared = moved(a, affine).intersect(b).area();
            a.area() + b.area() - 2.0 * shared
        };
        differs(&self.rough, &other.rough) <= slack + self.roughness + other.roughness
            && differs(&self.ink, &other.ink) <= slack
            && self.follows(other, affine)
    }

    /// Whether the outlines lie on each other once this patch is moved. Areas do not tell: a small name
    /// cut out of a disc, or a hole beside its middle, is next to no area.
    fn follows(&self, other: &Self, affine: Affine) -> bool {
        let limit = self.apart();
        let near = |a: &Region, b: &Edges| stays_within(a.edges(), b, limit, APART_TOLD);
        let carried = moved(&self.ink, affine);
        if near(&carried, other.edges()) && near(&moved(&other.ink, affine.inverse()), self.edges())
        {
            return true;
        }
        let follow = |a: &Region, b: &Region| near(a, &b.indexed()) && near(b, &a.indexed());
        // Parts that were drawn side by side are one shape, whatever hair rounding leaves between them.
        let joined = |ink: &Region| ink.grown(EDGE_SLACK, EDGE_SLACK / 4.0);
        self.ink.edges().nth(JOINED_UP_TO).is_none()
            && follow(&joined(&carried), &joined(&other.ink))
    }
}

/// The corners of the convex hull, by Andrew's monotone chain ("Another efficient algorithm for convex hulls
/// in two dimensions", Information Processing Letters 9, 1979).
fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let chain = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for p in points {
            while let [.., a, b] = chain.as_slice()
                && (*b - *a).cross(p - *b) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain
    };
    let mut out = chain(&mut points.iter().copied());
    out.extend(chain(&mut points.iter().rev().copied()));
    out
}

/// A frame or a plate has this share of the area of its convex hull, at least: a heart has 0.9, a bone 0.7 or so. The
/// outline of a joined word, which goes round what is hollow in its letters, has two thirds at most. Lower, and such a
/// word is a frame.
const SOLID: f64 = 0.7;

/// Whether a ring has nearly the area of its convex hull, as the outline of a frame or a plate has, and of no joined word.
pub(crate) fn is_solid(ring: &[Point]) -> bool {
    signed_area(ring).abs() >= SOLID * signed_area(&hull(ring.to_vec())).abs()
}

/// How far points reach from `centre` in each of [`DIRECTIONS`].
fn reaches(points: &[Point], centre: Point) -> [f64; DIRECTIONS] {
    std::array::from_fn(|k| {
        let way = Vec2::from_angle(std::f64::consts::TAU * k as f64 / DIRECTIONS as f64);
        let along = points.iter().map(|p| (*p - centre).dot(way));
        along.fold(f64::NEG_INFINITY, f64::max)
    })
}

fn through(points: &[Point], affine: Affine) -> Vec<Point> {
    points.iter().map(|p| affine * *p).collect()
}

/// The middle of the box of points.
fn middle(points: &[Point]) -> Option<Point> {
    let boxes = points.iter().map(|p| Rect::from_points(*p, *p));
    boxes.reduce(|a, b| a.union(b)).map(|r| r.center())
}

fn moved(ink: &Region, affine: Affine) -> Region {
    let mut moved = Region {
        rings: ink
            .rings
            .iter()
            .map(|ring| ring.iter().map(|p| affine * *p).collect())
            .collect(),
    };
    if affine.determinant() < 0.0 {
        for ring in &mut moved.rings {
            ring.reverse();
        }
    }
    moved
}

/// A moment once left and right are swapped, which turns z into minus its conjugate; `fold` is p − q.
fn flipped(moment: (f64, f64), fold: f64) -> (f64, f64) {
    if fold == 1.0 || fold == 3.0 {
        (-moment.0, moment.1)
    } else {
        (moment.0, -moment.1)
    }
}

fn wrapped(turn: f64) -> f64 {
    let t = turn.rem_euclid(std::f64::consts::TAU);
    if t > std::f64::consts::PI {
        t - std::f64::consts::TAU
    } else {
        t
    }
}

fn mul(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
}

/// Weights and places of a rule that integrates polynomials up to the fourth degree over a triangle
/// exactly (Dunavant, "High degree efficient symmetrical Gaussian quadrature rules for the triangle",
/// 1985); a test below checks the values.
const RULE: [(f64, f64); 2] = [
    (0.223_381_589_678_011, 0.445_948_490_915_965),
    (0.109_951_743_655_322, 0.091_576_213_509_771),
];

/// The integral of `f` over the ink, places taken as complex numbers about `origin`.
fn sum(ink: &Region, origin: Point, f: impl Fn((f64, f64)) -> (f64, f64)) -> (f64, f64) {
    let mut total = (0.0, 0.0);
    for (a, b) in ink.edges() {
        let (a, b) = (a - origin, b - origin);
        let area = a.cross(b) / 2.0;
        for (weight, at) in RULE {
            let rest = 1.0 - 2.0 * at;
            // The third corner of every triangle is the origin.
            for (u, v) in [(at, at), (at, rest), (rest, at)] {
                let p = a * u + b * v;
                let value = f((p.x, p.y));
                total.0 += area * weight * value.0;
                total.1 += area * weight * value.1;
            }
        }
    }
    total
}

#[cfg(test)]
mod tests;
