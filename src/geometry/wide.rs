//! Where are outlines not surely wide?
//!
//! A quick look before [`super::fineness`] takes ink apart, which costs a hundred times as much. It
//! goes along the outline in short steps and lays a disc of the asked width against the inside at each
//! step. Where the disc is free of every outline, the ink holds it there; where every step is near
//! such a disc, nothing of the outline sticks out of the discs far enough to count as a narrow part.
//! A corner counts as near up to an angle that [`super::fineness`] calls a tip and lets pass.
//!
//! The answer is one-sided: "wide" is certain, the other answer only means that the outline must be
//! looked at more closely.

use std::cell::Cell;

use kurbo::{Point, Rect, Vec2};

use super::flatten::edges;
use super::region::Region;
use crate::ids::At;

/// What is looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wanted {
    /// Radius of the discs that must be free of outlines, in millimetres.
    pub radius: f64,
    /// Where the discs' centres lie, from the outline, in millimetres; a little more than `radius`, so
    /// that a curve's own neighbouring pieces do not count as in the way.
    pub inset: f64,
    /// How far a point of the outline may be from the nearest centre, in millimetres.
    pub near: f64,
}

/// Steps along the outline for each `near`. Fewer, and corners are not told from narrow parts.
const STEPS: f64 = 4.0;

/// Most steps along all outlines: with more, the slow method is as quick.
const MOST_STEPS: f64 = 4e6;

/// Most cells of the grid, and entries in it: some tens of megabytes.
const MOST_CELLS: f64 = 1e6;
const MOST_ENTRIES: usize = 6_000_000;

/// How many steps back and forth along the outline a centre is looked for.
const NEIGHBOURS: usize = 6;

/// So many steps apart discs are asked for first; at most [`NEIGHBOURS`], or one would be taken that is none
/// of a station's own.
const SERVES: usize = 4;

/// For each ring of `ink`, the places where it is not surely wide: at most a step apart all along a
/// narrow part, none where the ring is wide all along. `None` where there is too much to look at.
pub(crate) fn doubtful(ink: &Region, wanted: &Wanted) -> Option<Vec<Vec<Point>>> {
    let step = wanted.near / STEPS;
    let around: f64 = ink.edges().map(|(a, b)| a.distance(b)).sum();
    let corners = ink.rings.iter().map(Vec::len).sum::<usize>() as f64;
    if !(step > 0.0 && around / step + corners <= MOST_STEPS) {
        return None;
    }
    let grid = Grid::new(ink, 2.0 * wanted.radius)?;
    let rings = ink.rings.iter();
    Some(rings.map(|r| along(r, wanted, step, &grid)).collect())
}

/// A place on an outline, and the middle of a disc against it.
struct Station {
    at: Point,
    /// None where a disc against a corner would lie too far from it.
    centre: Option<Point>,
    /// Whether the disc is free, once that was asked.
    free: Cell<Option<bool>>,
}

impl Station {
    fn new(at: Point, centre: Option<Point>) -> Self {
        let free = Cell::new(None);
        Self { at, centre, free }
    }

    /// The middle of its disc, if that is free.
    fn free(&self, grid: &Grid, wanted: &Wanted) -> Option<Point> {
        let centre = self.centre?;
        let free = self.free.get().unwrap_or_else(|| {
            let free = grid.free(centre, wanted);
            self.free.set(Some(free));
            free
        });
        free.then_some(centre)
    }
}

fn along(ring: &[Point], wanted: &Wanted, step: f64, grid: &Grid) -> Vec<Point> {
    let mut stations: Vec<Station> = Vec::new();
    let sides: Vec<(Point, Point, Vec2, f64)> = edges(ring, true)
        .filter_map(|(a, b)| {
            let length = a.distance(b);
            (length > 0.0).then(|| (a, b, (b - a) / length, length))
        })
        .collect();
    let Some(mut before) = sides.last().map(|s| s.2) else {
        return ring.to_vec();
    };
    for (a, b, along, length) in &sides {
        stations.push(Station::new(*a, centre_at(*a, before, *along, wanted)));
        before = *along;
        let parts = (length / step).ceil().max(1.0);
        let inwards = Vec2::new(-along.y, along.x) * wanted.inset;
        for i in 1..parts as usize {
            let p = a.lerp(*b, i as f64 / parts);
            stations.push(Station::new(p, Some(p + inwards)));
        }
    }
    // Between two stations nothing is farther than half a step from the nearer.
    let near = wanted.near - step / 2.0;
    let count = stations.len();
    let wide = |i: usize, station: &Station| {
        let serves = |j: usize| {
            let centre = stations.at(j % count).free(grid, wanted);
            centre.is_some_and(|c| c.distance(station.at) <= near)
        };
        // One disc mostly serves several stations: the same ones are asked first.
        let first = i - i % SERVES;
        serves(first)
            || serves(first + SERVES)
            || (0..=NEIGHBOURS.min(count)).any(|by| serves(i + by) || serves(i + count - by))
    };
    let stations = stations.iter().enumerate();
    stations
        .filter(|(i, station)| !wide(*i, station))
        .map(|(_, station)| station.at)
        .collect()
}

/// The middle of a disc against a corner, on its bisector.
fn centre_at(at: Point, before: Vec2, after: Vec2, wanted: &Wanted) -> Option<Point> {
    let sum = before + after;
    let length = sum.hypot();
    if length < 1e-3 {
        return None;
    }
    let inwards = Vec2::new(-sum.y, sum.x) / length;
    // Half the outer angle turns the bisector from both sides' normals.
    let lean = length / 2.0;
    let far = if before.cross(after) > 0.0 {
        wanted.inset / lean
    } else {
        wanted.inset
    };
    (far <= wanted.near).then(|| at + inwards * far)
}

/// A straight piece of outline, with what a distance takes worked out.
#[derive(Clone, Copy)]
struct Side {
    a: Point,
    b: Point,
    along: Vec2,
    /// One over the square of its length; 0 where it has none.
    per: f64,
}

impl Side {
    fn new(a: Point, b: Point) -> Self {
        let along = b - a;
        let square = along.hypot2();
        let per = if square > 0.0 { square.recip() } else { 0.0 };
        Self { a, b, along, per }
    }
}

/// Outlines by place: the pieces in each cell of a square grid, one list after another.
struct Grid {
    whole: Rect,
    size: f64,
    columns: usize,
    rows: usize,
    /// Where each cell's list starts.
    starts: Vec<u32>,
    pieces: Vec<u32>,
    edges: Vec<Side>,
}

impl Grid {
    fn new(ink: &Region, size: f64) -> Option<Self> {
        let whole = ink.bounds()?.inflate(size, size);
        let size = size.max((whole.area() / MOST_CELLS).sqrt());
        let columns = (whole.width() / size).ceil().max(1.0);
        let rows = (whole.height() / size).ceil().max(1.0);
        let cells = columns * rows;
        if !cells.is_finite() || cells > 4.0 * MOST_CELLS {
            return None;
        }
        let mut grid = Self {
            whole,
            size,
            columns: columns as usize,
            rows: rows as usize,
            starts: Vec::new(),
            pieces: Vec::new(),
            edges: ink.edges().map(|(a, b)| Side::new(a, b)).collect(),
        };
        let mut counts = vec![0_u32; grid.columns * grid.rows + 1];
        let mut entries = 0_usize;
        for edge in &grid.edges {
            grid.cells_of(*edge, |cell| {
                entries += 1;
                *counts.at_mut(cell + 1) += 1;
            });
            if entries > MOST_ENTRIES {
                return None;
            }
        }
        let mut sum = 0;
        for n in &mut counts {
            sum += *n;
            *n = sum;
        }
        let mut next = counts.clone();
        let mut pieces = vec![0_u32; entries];
        for (number, edge) in grid.edges.iter().enumerate() {
            grid.cells_of(*edge, |cell| {
                let at = next.at_mut(cell);
                *pieces.at_mut(*at as usize) = number as u32;
                *at += 1;
            });
        }
        (grid.starts, grid.pieces) = (counts, pieces);
        Some(grid)
    }

    fn column(&self, x: f64) -> usize {
        (((x - self.whole.x0) / self.size).max(0.0) as usize).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.whole.y0) / self.size).max(0.0) as usize).min(self.rows - 1)
    }

    /// The cells that a piece runs through, row by row.
    fn cells_of(&self, edge: Side, mut take: impl FnMut(usize)) {
        let (low, high) = if edge.a.y <= edge.b.y {
            (edge.a, edge.b)
        } else {
            (edge.b, edge.a)
        };
        let (first, last) = (self.row(low.y), self.row(high.y));
        // Rounding must not leave out a cell that is only just touched.
        let ease = 1e-6 * self.size;
        for row in first..=last {
            let (from, to) = if first == last {
                (low.x, high.x)
            } else {
                let at = |y: f64| {
                    let t = ((y - low.y) / (high.y - low.y)).clamp(0.0, 1.0);
                    low.x + (high.x - low.x) * t
                };
                let top = self.whole.y0 + row as f64 * self.size;
                let steep = ease * ((high.x - low.x) / (high.y - low.y)).abs();
                let (p, q) = (at(top), at(top + self.size));
                (p.min(q) - steep, p.max(q) + steep)
            };
            let (from, to) = (from.min(to) - ease, from.max(to) + ease);
            for column in self.column(from)..=self.column(to) {
                take(row * self.columns + column);
            }
        }
    }

    /// Whether a disc about `centre` lies in the ink, free of every outline.
    fn free(&self, centre: Point, wanted: &Wanted) -> bool {
        let reach = wanted.inset;
        // Squares: the quick look is asked at every step of every outline.
        let (radius, rim) = (wanted.radius * wanted.radius, (reach - 1e-9).powi(2));
        let (left, right) = (self.column(centre.x - reach), self.column(centre.x + reach));
        for row in self.row(centre.y - reach)..=self.row(centre.y + reach) {
            let cells = row * self.columns;
            // The lists of neighbouring cells follow each other.
            let from = *self.starts.at(cells + left);
            let to = *self.starts.at(cells + right + 1);
            for number in self.pieces.at(from as usize..to as usize) {
                let side = self.edges.at(*number as usize);
                let off = centre - side.a;
                let part = (off.dot(side.along) * side.per).clamp(0.0, 1.0);
                let square = (off - side.along * part).hypot2();
                // An outline between the place and its centre, a film's other side, has the centre on
                // its outer side.
                if square < radius || square < rim && side.along.cross(off) <= 0.0 {
                    return false;
                }
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use kurbo::BezPath;

    const WANTED: Wanted = Wanted {
        radius: 0.097,
        inset: 0.099,
        near: 0.19,
    };

    fn rings(path: &str) -> Vec<bool> {
        let path = BezPath::from_svg(path).unwrap();
        let doubtful = doubtful(&Region::from_path(&path, false, 1e-3), &WANTED).unwrap();
        doubtful.iter().map(Vec::is_empty).collect()
    }

    #[test]
    fn wide_shapes_are_known_at_once() {
        for path in [
            "M0 0h10v5h-10z",
            "M0 0h10v0.2h-10z",
            "M0 0h5v5h-5z M1 1v3h3v-3z",
            "M0 0C1 -2 3 -2 4 0S3 3 2 3S-1 2 0 0z",
            "M0 0L4 4L0 8L-4 4z",
        ] {
            assert!(rings(path).iter().all(|w| *w), "{path}: {:?}", rings(path));
        }
    }

    #[test]
    fn nothing_narrow_is_called_wide() {
        for path in [
            "M0 0h10v0.19h-10z",
            "M0 0h0.15v0.15h-0.15z",
            // A film a thousandth thick.
            "M0 0h10v0.001h-10z",
            // A whisker, a bridge, and a dot near a block.
            "M0 0h5v5h-5z M5 2h0.4v0.1h-0.4z",
            "M0 0h2v2h-2z M2 1h1v0.1h-1z M3 0h2v2h-2z",
            "M0 0h5v5h-5z M5.05 2h0.1v0.1h-0.1z",
            // A ring whose wall is too thin.
            "M0 0h5v5h-5z M0.1 0.1v4.8h4.8v-4.8z",
        ] {
            assert!(rings(path).iter().any(|w| !*w), "{path}: {:?}", rings(path));
        }
    }
}
