//! Which parts of some ink are narrower than a given width?
//!
//! By a morphological opening (Serra, "Image Analysis and Mathematical Morphology", 1982): the ink is
//! shrunk by half the width and grown again. What does not come back could not hold a disc of that
//! width anywhere. That takes the tips off sharp corners too, so a part that did not come back is
//! judged by how it hangs on the rest:
//!
//! * not at all: the whole piece is too narrow;
//! * at two or more places: a neck, too narrow if it is longer than the width;
//! * at one place narrower than the width: a bar such as a thin serif, too narrow if it sticks out by
//!   the width or more;
//! * at one place as wide as the width: a tip, which tapers; too narrow only where it goes on for
//!   three times the width, which takes a corner sharper than about 16 degrees.

use std::borrow::Cow;
use std::collections::HashMap;

use kurbo::{Point, Rect, Vec2};

use super::boxes::Boxes;
use super::deviation::farthest;
use super::edges::Edges;
use super::flatten::{edges, simpler};
use super::region::Region;
use super::wide::{Wanted, doubtful};
use super::windows::windows;
use crate::ids::At;

/// How much narrower than the limit a part must be to count, in millimetres on each side, so that a
/// line of exactly that width is not found because of rounding.
const SLACK: f64 = 0.005;

/// How much farther the ink is grown again than it was shrunk, in millimetres: films along straight
/// edges, which are rounding, come back that way.
const FILM: f64 = 0.005;

/// The accuracy of round corners, in millimetres.
const ROUND: f64 = 2e-3;

/// A part hangs on the rest along edges that are farther than this from the ink's own boundary, in
/// millimetres.
const OFF_BOUNDARY: f64 = 5e-4;

/// A part that hangs on the rest by less than this share of the width is a bar, not a tip: a tip long
/// enough to count hangs on it by more than nine tenths.
const BAR: f64 = 0.8;

/// How far a bar sticks out, as a multiple of the width, to count.
const BAR_LENGTH: f64 = 1.0;

/// How far the middle of a neck is from its ends, as a multiple of the width, to count.
const NECK_REACH: f64 = 0.5;

/// How far a tip goes on, as a multiple of the width, to count.
const TIP_LENGTH: f64 = 3.0;

/// How far ink is measured around a doubtful place, as a multiple of the width: as far as the longest
/// tip that is told from a corner, and one more. Less, and a part would be taken for longer or shorter.
const WINDOW: f64 = TIP_LENGTH + 1.0;

/// Loose specks smaller than this share of the width are crumbs of clipping and tracing.
const CRUMB: f64 = 0.25;

/// A part that is too narrow.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Narrow {
    /// About how wide it is, in millimetres: the width of a bar of its area and outline.
    pub width: f64,
    /// Where it is.
    pub bounds: Rect,
    /// A point of its boundary.
    pub at: Point,
    /// The part itself.
    pub part: Region,
}

/// How much the shrunk ink's outline may move when its crumbs of corners are put together before it
/// is grown again, in millimetres: a tenth of [`FILM`]. Every corner is widened by a polygon of its
/// own, and where shrinking left ten of them in a hundredth of a millimetre, their union takes ten
/// times as long for nothing.
const CRUMBLED: f64 = 5e-4;

/// Outlines whose corners lie closer than this on average, in millimetres, are followed with fewer:
/// each test at one corner would look at all others within a width, thousands of them in vain.
const DENSE: f64 = 1e-3;

/// How far fewer corners may be off, in millimetres: far below [`SLACK`].
const THINNED: f64 = 2e-4;

/// The ink with fewer corners, where it has far more than its width asks for.
fn thinned(ink: &Region) -> Option<Region> {
    let dense = |ring: &Vec<Point>| {
        let around: f64 = edges(ring, true).map(|(a, b)| a.distance(b)).sum();
        around < DENSE * ring.len() as f64
    };
    ink.rings.iter().any(dense).then(|| {
        let rings = ink.rings.iter().map(|ring| {
            if dense(ring) {
                simpler(ring, THINNED)
            } else {
                ring.clone()
            }
        });
        Region::from_rings(rings, false)
    })
}

/// The parts of `ink` narrower than `width` millimetres, as the module says.
///
/// A part counts from about a hundredth of a millimetre below `width` on. Outlines that are surely
/// wide all along are passed over; of others, that lie apart from any other, what is near the places in doubt is
/// measured. Corners of
/// outlines beyond `most` are counted and not measured: some twenty thousand take a second.
pub(crate) fn narrower(ink: &Region, width: f64, most: usize) -> Measured {
    let slack = SLACK.min(width / 8.0);
    let radius = width / 2.0 - slack;
    if radius <= 0.0 {
        return Measured::default();
    }
    let film = FILM.min(width / 8.0);
    // The discs are a little larger than what ink is shrunk by, whose rounding takes up to `ROUND`
    // more; and a part counts only where it sticks out by half the width at least.
    let wanted = Wanted {
        radius: radius + 1.1 * ROUND.min(slack / 2.0),
        inset: width / 2.0 - slack / 5.0,
        near: radius + film + NECK_REACH * width - ROUND,
    };
    let thinned = thinned(ink);
    let ink = thinned.as_ref().unwrap_or(ink);
    let doubtful = doubtful(ink, &wanted);
    let mut out = Measured::default();
    let mut known: HashMap<Vec<usize>, Vec<Known>> = HashMap::new();
    for group in groups(ink, film + slack) {
        let places = doubtful.as_ref().map(|rings| {
            let rings = group.iter().flat_map(|i| rings.at(*i));
            rings.copied().collect::<Vec<Point>>()
        });
        if places.as_ref().is_some_and(Vec::is_empty) {
            continue;
        }
        let part = Region {
            rings: group.iter().map(|i| ink.rings.at(*i).clone()).collect(),
        };
        let alike = known
            .entry(part.rings.iter().map(Vec::len).collect())
            .or_default();
        if let Some((known, by)) = alike.iter().find_map(|k| Some((k, k.away(&part)?))) {
            out.narrow.extend(known.narrow.iter().map(|n| n.moved(by)));
            continue;
        }
        let windows = windows(&part, places.unwrap_or_default(), WINDOW * width);
        let corners = windows.iter().map(|w| w.ink.corners()).sum::<usize>();
        if out.corners + corners > most {
            out.left_out += corners;
        } else {
            out.corners += corners;
            let parts = windows.iter().flat_map(|window| {
                let mut parts = narrow_parts(&window.ink, width, radius, film);
                parts.retain(|n| window.shows(n.bounds, wanted.near));
                parts
            });
            let narrow: Vec<Narrow> = parts.collect();
            out.narrow.extend(narrow.iter().cloned());
            alike.push(Known { part, narrow });
        }
    }
    out
}

/// What came of measuring some ink.
#[derive(Debug, Default)]
pub(crate) struct Measured {
    /// The parts that are too narrow.
    pub narrow: Vec<Narrow>,
    /// Corners of outlines that were too many to measure.
    pub left_out: usize,
    /// Corners that were measured.
    corners: usize,
}

/// A group of outlines that was measured.
struct Known {
    part: Region,
    narrow: Vec<Narrow>,
}

/// How far outlines may differ, in millimetres, beside their place: by what rounding makes of an outline
/// in another place, which is below 10⁻⁵.
const SAME: f64 = 1e-5;

impl Known {
    /// How far `other` lies from it, if it is the same at another place: the letters of a text mostly are
    /// the same as one before. What is narrow does not depend on the place.
    fn away(&self, other: &Region) -> Option<Vec2> {
        let (own, theirs) = (&self.part.rings, &other.rings);
        let by = *theirs.first()?.first()? - *own.first()?.first()?;
        let pairs = own.iter().flatten().zip(theirs.iter().flatten());
        pairs
            .into_iter()
            .all(|(p, q)| (*p + by - *q).hypot() <= SAME)
            .then_some(by)
    }
}

impl Narrow {
    fn moved(&self, by: Vec2) -> Self {
        let rings = self.part.rings.iter();
        Self {
            width: self.width,
            bounds: self.bounds + by,
            at: self.at + by,
            part: Region {
                rings: rings
                    .map(|ring| ring.iter().map(|p| *p + by).collect())
                    .collect(),
            },
        }
    }
}

/// Rings that belong together or may touch when widened by `by`, as far as their boxes tell; each
/// group in the rings' order, the groups in the order of their first.
fn groups(ink: &Region, by: f64) -> Vec<Vec<usize>> {
    let boxes: Vec<Rect> = ink
        .rings
        .iter()
        .map(|ring| bounds_of(ring).inflate(by, by))
        .collect();
    let tree = Boxes::new(boxes.iter().copied());
    let mut seen = vec![false; boxes.len()];
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for first in 0..boxes.len() {
        if *seen.at(first) {
            continue;
        }
        let mut group = Vec::new();
        let mut open = vec![first];
        while let Some(ring) = open.pop() {
            if std::mem::replace(seen.at_mut(ring), true) {
                continue;
            }
            group.push(ring);
            let near = tree.touching(*boxes.at(ring)).into_iter();
            open.extend(near.filter(|i| !seen.at(*i)));
        }
        group.sort_unstable();
        groups.push(group);
    }
    groups
}

fn bounds_of(ring: &[Point]) -> Rect {
    let mut points = ring.iter();
    points.next().map_or(Rect::ZERO, |&first| {
        points.fold(Rect::from_points(first, first), |r, p| r.union_pt(*p))
    })
}

/// The pieces of `ink` that could hold a disc of some diameter, by their boxes. Of the others shrinking by its
/// radius leaves nothing: a disc is connected, so it lies in one piece or in none. Fine print is all such
/// pieces, and to widen each of its corners by more than a letter is high takes seconds.
fn wide_enough(ink: &Region, diameter: f64) -> Cow<'_, Region> {
    let small = |b: Rect| b.width().min(b.height()) < diameter;
    if !ink.rings.iter().any(|ring| small(bounds_of(ring))) {
        return Cow::Borrowed(ink);
    }
    let large = |piece: &Region| piece.bounds().is_some_and(|b| !small(b));
    let pieces = ink.pieces().into_iter().filter(large);
    Cow::Owned(Region {
        rings: pieces.flat_map(|piece| piece.rings).collect(),
    })
}

fn narrow_parts(ink: &Region, width: f64, radius: f64, film: f64) -> Vec<Narrow> {
    let shrunk = Region {
        rings: wide_enough(ink, 2.0 * radius)
            .shrunk(radius, ROUND)
            .rings
            .iter()
            .map(|ring| simpler(ring, CRUMBLED.min(film / 4.0)))
            .collect(),
    };
    let core = shrunk.grown(radius + film, ROUND);
    let rest = ink.subtract(&core);
    if rest.is_empty() {
        return Vec::new();
    }
    let judge = Judge {
        boundary: ink.indexed(),
        core: core.indexed(),
        width,
    };
    rest.pieces()
        .into_iter()
        .filter_map(|part| judge.narrow(part))
        .collect()
}

struct Judge {
    boundary: Edges,
    core: Edges,
    width: f64,
}

impl Judge {
    fn narrow(&self, part: Region) -> Option<Narrow> {
        let bounds = part.bounds()?;
        let at = *part.rings.first()?.first()?;
        let hangs = self.hangs(&part);
        let reach = farthest(part.edges(), &self.core, 0.0, ROUND).map_or(0.0, |f| f.distance);
        let (a, p) = (part.area(), hangs.free);
        // A bar of width w and length l: area w·l, and free outline 2(l + w), 2l + w or 2l, as it
        // hangs on nothing, on one end or on both.
        let (counts, width) = match hangs.by.as_slice() {
            [] => (
                bounds.width().max(bounds.height()) >= CRUMB * self.width,
                (p - (p * p - 16.0 * a).max(0.0).sqrt()) / 4.0,
            ),
            [by] => {
                let length = if *by < BAR * self.width {
                    BAR_LENGTH
                } else {
                    TIP_LENGTH
                };
                (
                    reach >= length * self.width,
                    (p - (p * p - 8.0 * a).max(0.0).sqrt()) / 2.0,
                )
            }
            _ => (reach >= NECK_REACH * self.width, 2.0 * a / p.max(1e-9)),
        };
        counts.then_some(Narrow {
            width,
            bounds,
            at,
            part,
        })
    }

    /// Where a part hangs on the rest of the ink, and how long its outline is elsewhere.
    fn hangs(&self, part: &Region) -> Hangs {
        let mut hangs = Hangs {
            by: Vec::new(),
            free: 0.0,
        };
        for ring in &part.rings {
            let edges: Vec<(Point, Point, bool)> = super::flatten::edges(ring, true)
                .map(|(a, b)| {
                    let middle = a.midpoint(b);
                    let off = self
                        .boundary
                        .nearest_point(middle)
                        .is_none_or(|(d, _)| d > OFF_BOUNDARY);
                    (a, b, off)
                })
                .collect();
            hangs.free += edges
                .iter()
                .filter(|e| !e.2)
                .map(|(a, b, _)| a.distance(*b))
                .sum::<f64>();
            // Start where a free stretch does, so that no stretch is cut in two by the ring's seam.
            let Some(start) = edges.iter().position(|e| !e.2) else {
                // Hung on all round: a film that rounding left.
                hangs.by.push(self.width);
                continue;
            };
            let mut from: Option<Point> = None;
            for (a, _, off) in edges.iter().cycle().skip(start).take(edges.len() + 1) {
                match (from, off) {
                    (None, true) => from = Some(*a),
                    (Some(f), false) => {
                        hangs.by.push(f.distance(*a));
                        from = None;
                    }
                    _ => {}
                }
            }
        }
        hangs
    }
}

struct Hangs {
    /// How wide each place is where the part hangs on the rest.
    by: Vec<f64>,
    /// Length of the outline elsewhere.
    free: f64,
}

#[cfg(test)]
mod tests;
