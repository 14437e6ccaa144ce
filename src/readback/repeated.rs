//! What most pockets have at the same place: a frame, marks at the corners, a wreath, a ring of dots.
//!
//! Of such art nothing has to be decided, pocket by pocket: it lies as it does in the others. What stands beside it
//! does not.

use kurbo::{Point, Rect, Vec2};

use super::{OutlinedArt, in_frame};
use crate::abandon;
use crate::geometry::deviation::stays_within;
use crate::geometry::region::Region;
use crate::geometry::shape_match::Patch;
use crate::ids::At;

/// So many pockets have it, at least: names in two may be the same by chance.
const POCKETS: usize = 3;

/// So many in four of all that have art have it, at least. Lower, and of names that begin alike the first letters are
/// taken for it.
const IN_FOUR: usize = 3;

/// How far outlines at the same place may lie apart, in millimetres. Higher, and one that was nudged counts as in place;
/// lower, and one that was traced again does not.
const APART: f64 = 0.1;

/// Areas and lengths of one outline differ by this share, at most, wherever it lies. Higher, and letters are taken for the
/// ornament that a pocket does without.
const DIFFERS: f64 = 0.02;

/// Outlines of one pocket beyond which it is not asked: traced art.
const MOST_OUTLINES: usize = 600;

/// Steps that the comparison of all pockets may take (see [`abandon::spend`]): half a second or so. Without it nothing is
/// repeated, and more stays open.
const MOST_STEPS: usize = 1_500_000;

/// The accuracy of the distance between outlines, in millimetres.
const APART_TOLD: f64 = 0.01;

/// An outline of a pocket.
struct Outline {
    pocket: usize,
    /// The middle of the pocket, in its frame.
    middle: Vec2,
    /// Seen from there.
    shape: Region,
    place: Rect,
    /// Its area, and its length.
    size: [f64; 2],
}

/// What one pocket has of it.
#[derive(Debug, Clone, Default)]
pub(super) struct Repeated {
    /// These outlines, in the frame of the pocket.
    pub outlines: Vec<Region>,
    /// Whether it has some of it at another place, so that it may lie otherwise than in the other pockets.
    pub displaced: bool,
}

/// What most pockets have at the same place, pocket by pocket.
pub(super) fn repeated(art: &[OutlinedArt<'_>]) -> Vec<Repeated> {
    let most = abandon::for_pockets(MOST_STEPS, art.len());
    let nothing = || vec![Repeated::default(); art.len()];
    abandon::within(most, || compared(art)).unwrap_or_else(nothing)
}

fn compared(art: &[OutlinedArt<'_>]) -> Vec<Repeated> {
    let numbered = art.iter().enumerate();
    let outlines: Vec<Vec<Outline>> = numbered.map(|(n, art)| outlines(n, art)).collect();
    let pockets = outlines.iter().filter(|own| !own.is_empty()).count();
    let mut out = vec![Repeated::default(); outlines.len()];
    let mut all: Vec<Outline> = outlines.into_iter().flatten().collect();
    all.sort_by(|a, b| a.place.x0.total_cmp(&b.place.x0));
    let of = |alike: &[&Outline]| {
        let mut of: Vec<usize> = alike.iter().map(|o| o.pocket).collect();
        of.sort_unstable();
        of.dedup();
        of
    };
    let (everywhere, others): (Vec<Vec<&Outline>>, Vec<Vec<&Outline>>) =
        alike(&all).into_iter().partition(|alike| {
            let of = of(alike).len();
            of >= POCKETS && 4 * of >= IN_FOUR * pockets
        });
    for outline in everywhere.iter().flatten() {
        let shape = moved(&outline.shape, outline.middle);
        out.at_mut(outline.pocket).outlines.push(shape);
    }
    let mut missing: Vec<Vec<&Outline>> = vec![Vec::new(); out.len()];
    for alike in &everywhere {
        let of = of(alike);
        let lacks = (0..out.len()).filter(|pocket| of.binary_search(pocket).is_err());
        for pocket in lacks {
            missing.at_mut(pocket).extend(alike.first());
        }
    }
    for (pocket, missing) in missing.iter().enumerate() {
        let own = others.iter().flatten().filter(|own| own.pocket == pocket);
        let like = own.filter(|own| missing.iter().any(|m| m.could_be(own)));
        out.at_mut(pocket).displaced = displaced(missing, &like.copied().collect::<Vec<_>>());
    }
    out
}

/// Whether what a pocket lacks may be these outlines of it, lying otherwise. They do not if they are as far from each
/// other as there, and in the same directions; nor if they are even as a whole.
fn displaced(missing: &[&Outline], like: &[&Outline]) -> bool {
    let Some(first) = like.first() else {
        return false;
    };
    let moved = missing.iter().any(|from| {
        let by = first.place.center() - from.place.center();
        let from = |own: &Outline| {
            let there = |m: &&Outline| same(&moved(&m.shape, by), &own.shape);
            missing.iter().any(there)
        };
        like.iter().all(|own| from(own))
    });
    let together = Region {
        rings: like
            .iter()
            .flat_map(|own| own.shape.rings.clone())
            .collect(),
    };
    let even = || Patch::new(together).is_some_and(|patch| patch.even(Vec2::new(0.0, -1.0)));
    !moved && !even()
}

fn outlines(pocket: usize, art: &OutlinedArt<'_>) -> Vec<Outline> {
    let count: usize = art.ink.iter().map(|ink| ink.rings.len()).sum();
    let middle = in_frame(&art.pocket.region, art.pocket).bounds();
    let Some(middle) = middle.filter(|_| count <= MOST_OUTLINES) else {
        return Vec::new();
    };
    let middle = middle.center().to_vec2();
    outlines_in_frame(art)
        .filter_map(|ring| Outline::new(pocket, middle, moved(&ring, -middle)))
        .collect()
}

/// The outlines of a pocket one by one, in its frame.
fn outlines_in_frame(art: &OutlinedArt<'_>) -> impl Iterator<Item = Region> {
    let inks = art.ink.iter().map(|ink| in_frame(ink, art.pocket));
    inks.flat_map(|ink| one_by_one(ink.rings))
}

fn one_by_one(rings: Vec<Vec<Point>>) -> impl Iterator<Item = Region> {
    rings.into_iter().map(|ring| Region { rings: vec![ring] })
}

fn moved(ring: &Region, by: Vec2) -> Region {
    let points = ring.rings.iter().flatten().map(|p| *p + by);
    Region {
        rings: vec![points.collect()],
    }
}

/// Outlines, sorted by where they begin, with others that are the same.
fn alike(all: &[Outline]) -> Vec<Vec<&Outline>> {
    let mut kinds: Vec<Vec<&Outline>> = Vec::new();
    for own in all {
        // The kinds are sorted as well, by their first.
        let near = kinds.iter_mut().rev().take_while(|kind| {
            let first = kind.first();
            first.is_some_and(|first| own.place.x0 - first.place.x0 <= APART)
        });
        let mut same = near.filter(|kind| {
            kind.first()
                .is_some_and(|first| same(&first.shape, &own.shape))
        });
        match same.next() {
            Some(kind) => kind.push(own),
            None => kinds.push(vec![own]),
        }
    }
    kinds
}

impl Outline {
    fn new(pocket: usize, middle: Vec2, shape: Region) -> Option<Self> {
        let rim = shape.edges().map(|(a, b)| a.distance(b)).sum();
        Some(Self {
            pocket,
            middle,
            place: shape.bounds()?,
            size: [shape.area().abs(), rim],
            shape,
        })
    }

    /// Whether another may be the same shape, however it lies.
    fn could_be(&self, other: &Self) -> bool {
        let mut pairs = self.size.iter().zip(&other.size);
        pairs.all(|(a, b)| (a - b).abs() <= DIFFERS * a.max(*b))
    }
}

/// Whether two outlines are one, but for what files are rounded to. A frame that a name touches has the box of that frame.
fn same(a: &Region, b: &Region) -> bool {
    let place = a.bounds().zip(b.bounds());
    let along = |a: &Region, b: &Region| stays_within(a.edges(), &b.indexed(), APART, APART_TOLD);
    place.is_some_and(|(a, b)| same_place(a, b)) && along(a, b) && along(b, a)
}

/// Whether all outlines of some ink of a pocket are among those that most pockets have.
pub(super) fn all_in(ink: &Region, repeated: &[Region]) -> bool {
    one_by_one(ink.rings.clone()).all(|own| repeated.iter().any(|r| same(r, &own)))
}

/// The ink of a pocket without the marks of which most pockets have all, where it touches them: a name over the line of
/// a frame is one piece with it.
pub(super) fn free(art: &OutlinedArt<'_>, repeated: &[Region]) -> Option<Region> {
    let in_all = |ink: &&Region| all_in(&in_frame(ink, art.pocket), repeated);
    let (frame, own): (Vec<&Region>, Vec<&Region>) = art.ink.iter().partition(in_all);
    if frame.is_empty() || own.is_empty() {
        return None;
    }
    let [frame, own] = [frame, own].map(Region::union_all);
    let touches = !frame.intersect(&own).is_empty();
    touches.then_some(own)
}

/// The outlines of a pocket, in its frame, without those that most pockets have.
pub(super) fn beside(art: &OutlinedArt<'_>, repeated: &[Region]) -> Region {
    let own = outlines_in_frame(art).filter(|ring| !all_in(ring, repeated));
    Region {
        rings: own.flat_map(|ring| ring.rings).collect(),
    }
}

/// What is left of some ink of a pocket without what most pockets have.
pub(super) fn without(ink: &Region, repeated: &[Region]) -> Region {
    if repeated.is_empty() {
        return ink.clone();
    }
    let pieces = ink.pieces().into_iter();
    let own = pieces.filter(|piece| !all_in(piece, repeated));
    Region {
        rings: own.flat_map(|piece| piece.rings).collect(),
    }
}

/// Whether two boxes are the same, as far as it matters here.
fn same_place(a: Rect, b: Rect) -> bool {
    let corners = [a.origin() - b.origin(), Vec2::new(a.x1 - b.x1, a.y1 - b.y1)];
    corners
        .iter()
        .all(|off| off.x.abs() <= APART && off.y.abs() <= APART)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn outline(pocket: usize, x: f64, wide: f64) -> Outline {
        let corners = [(0.0, 0.0), (wide, 0.0), (wide, 2.0), (0.0, 2.0)];
        let ring: Vec<Point> = corners.map(|(dx, y)| Point::new(x + dx, y)).to_vec();
        let shape = Region { rings: vec![ring] };
        Outline::new(pocket, Vec2::ZERO, shape).unwrap()
    }

    #[test]
    fn outlines_of_one_shape_at_one_place_are_alike() {
        let all = [
            outline(0, 1.0, 3.0),
            outline(1, 1.02, 3.0),
            outline(2, 1.05, 4.0),
            outline(3, 1.5, 3.0),
        ];
        let kinds: Vec<Vec<usize>> = alike(&all)
            .iter()
            .map(|kind| kind.iter().map(|o| o.pocket).collect())
            .collect();
        assert_eq!(kinds, [vec![0, 1], vec![2], vec![3]]);
    }

    /// The same box is not the same shape: a triangle, and the same one flipped.
    #[test]
    fn what_is_flipped_in_its_place_is_not_alike() {
        let triangle = |tip: f64| {
            let corners = [(0.0, 2.0), (tip, 0.0), (3.0, 2.0)];
            let rings = vec![corners.map(Point::from).to_vec()];
            Outline::new(0, Vec2::ZERO, Region { rings }).unwrap()
        };
        let [left, also, right] = [1.0, 1.0, 2.0].map(triangle);
        assert!(same(&left.shape, &also.shape));
        assert!(!same(&left.shape, &right.shape));
        assert!(displaced(&[&left], &[&right]));
    }

    #[test]
    fn what_lies_otherwise_than_in_other_pockets_is_displaced() {
        // A square at the left and an oblong at the right of a name.
        let told = |from: [(f64, f64); 2], to: [(f64, f64); 2]| {
            let [a, b] = from.map(|(x, wide)| outline(0, x, wide));
            let [c, d] = to.map(|(x, wide)| outline(1, x, wide));
            displaced(&[&a, &b], &[&c, &d])
        };
        let right = [(-9.0, 2.0), (6.0, 3.0)];
        // Half turned as one, and each moved outwards.
        assert!(told(right, [(7.0, 2.0), (-9.0, 3.0)]));
        assert!(told(right, [(-10.0, 2.0), (7.0, 3.0)]));
        // Moved as one; two of a kind, which are even wherever they are; and done without.
        assert!(!told(right, [(-8.0, 2.0), (7.0, 3.0)]));
        assert!(!told(right, [(-2.0, 2.0), (13.0, 3.0)]));
        let even = [(-9.0, 2.0), (7.0, 2.0)];
        assert!(!told(even, [(-12.0, 2.0), (10.0, 2.0)]));
        let one = outline(0, -9.0, 2.0);
        assert!(!displaced(&[&one], &[]));
        assert!(one.could_be(&outline(1, 7.0, 2.01)) && !one.could_be(&outline(1, 7.0, 3.0)));
    }

    #[test]
    fn what_is_left_beside_it_is_whole_pieces() {
        let square = |x: f64| outline(0, x, 2.0).shape.rings;
        // A square with a hollow that is not repeated, one that is, and one that is nowhere else.
        let hollow = [(0.5, 0.5), (0.5, 1.5), (1.5, 1.5), (1.5, 0.5)];
        let hollow = vec![hollow.map(Point::from).to_vec()];
        let ink = Region {
            rings: [square(0.0), hollow, square(4.0), square(8.0)].concat(),
        };
        let repeated = [0.0, 4.0].map(|x| outline(0, x, 2.0).shape);
        let left = without(&ink, &repeated);
        let mut middles: Vec<f64> = left
            .pieces()
            .iter()
            .filter_map(|p| Some(p.bounds()?.center().x))
            .collect();
        middles.sort_by(f64::total_cmp);
        assert_eq!(middles.len(), 2, "{middles:?}");
        assert!(all_in(&Region { rings: square(4.0) }, &repeated));
        assert!(!all_in(&Region { rings: square(8.0) }, &repeated));
    }

    /// A frame that a name touches has the box of that frame, within and without.
    #[test]
    fn a_name_that_touches_what_is_repeated_is_not_taken_for_it() {
        let ring = |d: &str| {
            let path = kurbo::BezPath::from_svg(d).unwrap();
            Region::from_path(&path, false, 1e-3)
        };
        let frame = ring("M0 0 H24 V24 H0 Z M1 1 V23 H23 V1 Z");
        let repeated: Vec<Region> = one_by_one(frame.rings.clone()).collect();
        assert!(all_in(&frame, &repeated));
        let touched = frame.unite(&ring("M0.5 10 H20 V11 H0.5 Z"));
        let boxes = |ink: &Region| {
            one_by_one(ink.rings.clone())
                .map(|r| r.bounds())
                .collect::<Vec<_>>()
        };
        assert_eq!(boxes(&touched), boxes(&frame));
        assert!(!all_in(&touched, &repeated));
        assert_eq!(without(&touched, &repeated).pieces().len(), 1);
    }
}
