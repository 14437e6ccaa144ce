//! Lettering along an arch is looked at straightened: a letter that leans is known less surely, and of letters that lean
//! apart no two are seen to be the same.
//!
//! An arch is an arc of a circle through the middle of the letters, along x or along y. What is at the angle t about
//! its centre, and at the distance d from it, comes to lie at r t along the line and at d - r across it, r being the
//! radius. Names of one batch are laid along arcs of one radius: that for which the letters' tops in each pocket, and
//! their feet, lie nearest to one height. A name by itself has too few letters to tell it.

use kurbo::{Point, Rect, Vec2};

use super::letter_raster::Axis;
use crate::geometry::region::Region;

/// Radii that are looked for, in millimetres: what fits on a coaster, and what is as good as straight. Each is larger than
/// the one before by this factor.
const RADII: (f64, f64) = (4.0, 60.0);
const STEP: f64 = 1.04;

/// So many pockets tell the radius, and three at least do: two names may lie nearer to an arc by chance.
const MOST_ASKED: usize = 12;
const LEAST_ASKED: usize = 3;

/// More outlines are no name, and fewer say nothing of a line.
const OUTLINES: std::ops::RangeInclusive<usize> = 2..=60;

/// Outlines, hollows and all, beyond which it is traced art: each is compared with each.
const MOST_RINGS: usize = 600;

/// Points of an outline that are looked at, at most.
const POINTS: usize = 24;

/// Along arcs, tops and feet must lie so many times nearer to one height than they do as they are. Lower, and a batch of
/// uneven hands is bent that is straight; higher, and arches of letters with many ascenders are not seen.
const NEARER: f64 = 1.8;

/// How what is along an arch is made straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Arch {
    line: Axis,
    /// Where it is left as it is.
    middle: Point,
    /// One by its radius; above nought where its centre lies towards larger coordinates, and nought where it is straight.
    curvature: f64,
}

/// The radius of the arcs along which the art of most pockets lies, in millimetres; `None` where it is straight.
pub(super) fn radius(pockets: &[Region]) -> Option<f64> {
    let pockets: Vec<Vec<Vec<Point>>> = pockets.iter().map(outlines).collect();
    let mut asked: Vec<&Vec<Vec<Point>>> = pockets
        .iter()
        .filter(|own| OUTLINES.contains(&own.len()))
        .collect();
    let every = asked.len().div_ceil(MOST_ASKED).max(1);
    asked = asked.into_iter().step_by(every).collect();
    if asked.len() < LEAST_ASKED {
        return None;
    }
    let sum = |radius: Option<f64>| -> f64 {
        let best = asked.iter().filter_map(|own| Some(best(own, radius)?.1));
        best.sum()
    };
    let (smallest, largest) = RADII;
    let steps = (largest / smallest).ln() / STEP.ln();
    let radii = (0..=steps as i32).map(|step| smallest * STEP.powi(step));
    let best = radii.map(|radius| (radius, sum(Some(radius))));
    let (radius, uneven) = best.min_by(|a, b| a.1.total_cmp(&b.1))?;
    (NEARER * uneven <= sum(None)).then_some(radius)
}

/// The arc of this radius that some ink lies along; `None` where it lies nearer to a straight line.
pub(super) fn arch(ink: &Region, radius: f64) -> Option<Arch> {
    let own = outlines(ink);
    let (arch, uneven) = best(&own, Some(radius))?;
    let (_, straight) = best(&own, None)?;
    (OUTLINES.contains(&own.len()) && uneven < straight).then_some(arch)
}

/// The outer outlines of some ink, each by some of its points.
fn outlines(ink: &Region) -> Vec<Vec<Point>> {
    let of = |ring: &Vec<Point>| {
        let boxes = ring.iter().map(|p| Rect::from_points(*p, *p));
        boxes.reduce(|a, b| a.union(b))
    };
    if ink.rings.len() > MOST_RINGS {
        return Vec::new();
    }
    let boxes: Vec<Option<Rect>> = ink.rings.iter().map(of).collect();
    let hollow = |own: Rect| {
        let mut others = boxes.iter().flatten();
        others.any(|r| *r != own && r.union(own) == *r)
    };
    let rings = ink.rings.iter().zip(&boxes);
    rings
        .filter(|(_, own)| own.is_some_and(|own| !hollow(own)))
        .map(|(ring, _)| {
            let every = ring.len().div_ceil(POINTS).max(1);
            ring.iter().step_by(every).copied().collect()
        })
        .collect()
}

/// The arc of this radius that outlines lie along best, either way along either line, and how uneven they are along it;
/// without a radius, the straight line.
fn best(outlines: &[Vec<Point>], radius: Option<f64>) -> Option<(Arch, f64)> {
    let boxes = outlines.iter().flatten().map(|p| Rect::from_points(*p, *p));
    let bounds = boxes.reduce(|a, b| a.union(b))?;
    let curvatures = radius.map_or([0.0; 2], |radius| [1.0 / radius, -1.0 / radius]);
    let all = [Axis::Across, Axis::Down].into_iter();
    let arches = all.flat_map(|line| curvatures.map(|c| Arch::of(outlines, bounds, line, c)));
    arches
        .map(|arch| (arch, unevenness(outlines, &arch)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// How far apart tops, and feet, of straightened outlines lie: the sum of their distances from the middle one. What lies
/// further round than a quarter of a circle from the middle is along no such arc: made straight, it would be on its head.
fn unevenness(outlines: &[Vec<Point>], arch: &Arch) -> f64 {
    if !outlines.iter().flatten().all(|p| arch.ahead(*p) > 0.0) {
        return f64::INFINITY;
    }
    let (mut tops, mut feet) = (Vec::new(), Vec::new());
    for outline in outlines {
        let across = outline.iter().map(|p| arch.seen(arch.straight(*p)).1);
        let (top, foot) = across.fold((f64::INFINITY, f64::NEG_INFINITY), |(top, foot), v| {
            (top.min(v), foot.max(v))
        });
        tops.push(top);
        feet.push(foot);
    }
    [tops, feet]
        .into_iter()
        .map(|heights| {
            let middle = middle(heights.clone());
            heights.iter().map(|v| (v - middle).abs()).sum::<f64>()
        })
        .sum()
}

/// The middle one of some numbers.
fn middle(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or_default()
}

impl Arch {
    /// That of such a curvature through the middle of some outlines.
    fn of(outlines: &[Vec<Point>], bounds: Rect, line: Axis, curvature: f64) -> Self {
        let flat = Self {
            line,
            middle: bounds.center(),
            curvature,
        };
        // How far each lies above or below an arc through the middle of the box.
        let off = outlines.iter().map(|outline| {
            let centre = outline.iter().fold(Vec2::ZERO, |sum, p| sum + p.to_vec2());
            let centre = centre / outline.len().max(1) as f64;
            flat.seen(flat.straight(centre.to_point())).1
        });
        let off = middle(off.collect());
        Self {
            middle: flat.put(0.0, off),
            ..flat
        }
    }

    /// A point seen from the middle: along the line, and across it.
    fn seen(&self, p: Point) -> (f64, f64) {
        let v = p - self.middle;
        match self.line {
            Axis::Across => (v.x, v.y),
            Axis::Down => (v.y, v.x),
        }
    }

    /// The point that is seen so.
    fn put(&self, along: f64, across: f64) -> Point {
        self.middle
            + match self.line {
                Axis::Across => Vec2::new(along, across),
                Axis::Down => Vec2::new(across, along),
            }
    }

    /// How far ahead of its centre a point lies, seen towards the middle of the arc.
    fn ahead(&self, p: Point) -> f64 {
        let (_, across) = self.seen(p);
        (self.curvature.recip() - across) * self.curvature.signum()
    }

    fn straight(&self, p: Point) -> Point {
        if self.curvature == 0.0 {
            return p;
        }
        let (along, _) = self.seen(p);
        let radius = 1.0 / self.curvature;
        let ahead = self.ahead(p);
        let far = along.hypot(ahead) * radius.signum();
        self.put(radius.abs() * along.atan2(ahead), radius - far)
    }

    /// What lies along it, made straight.
    pub(super) fn straightened(&self, ink: &Region) -> Region {
        let ring = |ring: &Vec<Point>| ring.iter().map(|p| self.straight(*p)).collect();
        Region {
            rings: ink.rings.iter().map(ring).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// Six letters in a line: stems with a foot, of unlike heights.
    fn name() -> Region {
        let letter = |n: usize| {
            let x = 4.0 * n as f64;
            let top = if n % 3 == 1 { -6.0 } else { -4.0 };
            [
                (0.0, 0.0),
                (0.0, top),
                (1.0, top),
                (1.0, -1.0),
                (3.0, -1.0),
                (3.0, 0.0),
            ]
            .map(|(dx, y)| Point::new(x + dx - 11.5, y))
            .to_vec()
        };
        Region {
            rings: (0..6).map(letter).collect(),
        }
    }

    /// The same along an arc about a centre so far below the feet, or above them.
    fn bent(radius: f64) -> Region {
        let bend = |p: &Point| {
            let (angle, far) = (p.x / radius, radius - p.y);
            Point::new(far * angle.sin(), radius - far * angle.cos())
        };
        Region {
            rings: name()
                .rings
                .iter()
                .map(|ring| ring.iter().map(bend).collect())
                .collect(),
        }
    }

    fn turned(ink: &Region) -> Region {
        Region {
            rings: (ink.rings.iter())
                .map(|ring| ring.iter().map(|p| Point::new(-p.y, p.x)).collect())
                .collect(),
        }
    }

    /// How far apart the feet lie.
    fn uneven(ink: &Region) -> f64 {
        let low = |ring: &Vec<Point>| ring.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
        let feet = || ink.rings.iter().map(low);
        feet().fold(f64::NEG_INFINITY, f64::max) - feet().fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn a_name_along_an_arch_is_made_straight() {
        for radius in [14.0_f64, 25.0, -14.0, -25.0] {
            let ink = bent(radius);
            let all = [bent(radius), turned(&ink), turned(&turned(&ink))];
            // Seen by the middle of the letters, and not by their feet.
            let found = super::radius(&all).unwrap();
            let expected = (radius + 2.5).abs();
            assert!((found - expected).abs() < 3.0, "{radius} {found}");
            let arch = arch(&ink, found).unwrap();
            let (before, after) = (uneven(&ink), uneven(&arch.straightened(&ink)));
            assert!(after < 0.4 * before, "{radius} {arch:?} {before} {after}");
            // On its side it is along y.
            let side = turned(&ink);
            let arch = super::arch(&side, found).unwrap();
            assert_eq!(arch.line, Axis::Down, "{radius}");
        }
    }

    #[test]
    fn what_is_straight_stays_so() {
        let straight = [name(), turned(&name()), name()];
        assert_eq!(radius(&straight), None);
        // Nor is a name over a date, which is as round.
        let dated = || {
            let date = name().rings.into_iter().skip(2).take(2);
            let lower =
                |ring: Vec<Point>| ring.into_iter().map(|p| p + Vec2::new(0.0, 8.0)).collect();
            Region {
                rings: name().rings.into_iter().chain(date.map(lower)).collect(),
            }
        };
        assert_eq!(radius(&[dated(), dated(), dated()]), None);
        // Among others that are along an arch.
        assert_eq!(arch(&name(), 14.0), None);
        assert_eq!(arch(&turned(&name()), 14.0), None);
    }
}
