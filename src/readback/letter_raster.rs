//! A word's outlines as the small grey picture that the lettering model reads.
//!
//! The same sums are made in `tests/training/raster.py` and `words.py`, where the model learnt:
//! change neither without the other, or the weights no longer fit.

/// A closed ring: its points in order, the last joined to the first; millimetres, y down.
pub(crate) type Ring = Vec<[f64; 2]>;

/// The rings of one letter: outer outlines, holes, and the dots and accents over or under them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LetterShape {
    /// Closed rings in millimetres, y down, filled by the non-zero rule.
    pub rings: Vec<Ring>,
}

/// The direction in which a word runs, either way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Axis {
    /// Along x.
    Across,
    /// Along y.
    Down,
}

/// Rows of the picture.
pub(super) const HEIGHT: usize = 24;
/// Rows that the word's box fills; the rest is margin, half above and half below.
const INK: f64 = 22.0;
/// Cells that the longer side of a single sign fills, in a square of `HEIGHT`.
const SIGN_INK: f64 = 20.0;
/// Blank columns on either side, at least.
const MARGIN: f64 = 4.0;
/// Columns that the word's box may fill: a longer word is squeezed to it.
const WIDEST: f64 = 480.0;
/// The picture's width is a multiple of this, so that halving it twice loses no column.
const STEP: usize = 8;
/// Scan lines in a row of the picture.
const SUB: usize = 4;
/// Two rings belong to one letter when their extents along the line share at least this part of
/// the smaller one. Joined script overlaps less, an accent or a hole more.
const SHARED: f64 = 0.5;

/// A grey picture: rows of `width` coverages, each 0 to 1; those that the networks see have `HEIGHT`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Strip {
    pub(super) width: usize,
    pub(super) cells: Vec<f32>,
}

impl Strip {
    fn blank() -> Self {
        Self {
            width: STEP,
            cells: vec![0.0; HEIGHT * STEP],
        }
    }

    /// The picture seen in a mirror that stands upright: left and right change places.
    pub(super) fn mirrored(&self) -> Self {
        let cells = self
            .cells
            .chunks(self.width)
            .flat_map(|row| row.iter().rev())
            .copied()
            .collect();
        Self {
            width: self.width,
            cells,
        }
    }

    /// The picture turned half round.
    pub(super) fn half_turned(&self) -> Self {
        Self {
            width: self.width,
            cells: self.cells.iter().rev().copied().collect(),
        }
    }
}

/// Sorts `rings` into letters, in order of their middles along `line` (towards +x or +y).
///
/// The rule is the same whichever way the word lies: rings whose extents along the line overlap by
/// half of the smaller extent belong together. Rings of fewer than three points, or with a
/// coordinate that is not finite, are left out.
#[must_use]
pub(crate) fn letters(rings: &[Ring], line: Axis) -> Vec<LetterShape> {
    let mut spans: Vec<(f64, f64, Vec<Ring>)> = rings
        .iter()
        .filter(|ring| ring.len() >= 3 && ring.iter().flatten().all(|v| v.is_finite()))
        .map(|ring| {
            let along = ring
                .iter()
                .map(|&[x, y]| if line == Axis::Across { x } else { y });
            let (low, high) = extent(along);
            (low, high, vec![ring.clone()])
        })
        .collect();
    // Wide rings first, so that dots and holes find the ring they belong to; a letter's extent
    // grows as rings join it, hence the repetition until nothing joins any more.
    loop {
        spans.sort_by(|a, b| {
            (b.1 - b.0)
                .total_cmp(&(a.1 - a.0))
                .then(a.0.total_cmp(&b.0))
        });
        let before = spans.len();
        let mut joined: Vec<(f64, f64, Vec<Ring>)> = Vec::with_capacity(before);
        for (low, high, own) in spans {
            let home = joined
                .iter_mut()
                .find(|(a, b, _)| high.min(*b) - low.max(*a) >= SHARED * (high - low).min(*b - *a));
            match home {
                Some((a, b, all)) => {
                    *a = a.min(low);
                    *b = b.max(high);
                    all.extend(own);
                }
                None => joined.push((low, high, own)),
            }
        }
        spans = joined;
        if spans.len() == before {
            break;
        }
    }
    spans.sort_by(|a, b| (a.0 + a.1).total_cmp(&(b.0 + b.1)));
    spans
        .into_iter()
        .map(|(_, _, rings)| LetterShape { rings })
        .collect()
}

/// The word put through the turn with this cosine and sine; and the same turned back by a quarter
/// (anticlockwise as seen).
pub(super) fn two_strips(word: &[LetterShape], [cos, sin]: [f64; 2]) -> (Strip, Strip) {
    let rings = || {
        word.iter()
            .flat_map(|letter| &letter.rings)
            .filter(|ring| ring.len() >= 3)
    };
    let tilt = |&[x, y]: &[f64; 2]| [x * cos - y * sin, x * sin + y * cos];
    let lying: Vec<Ring> = rings()
        .map(|ring| ring.iter().map(tilt).collect())
        .collect();
    let standing: Vec<Ring> = lying
        .iter()
        .map(|ring| ring.iter().map(|&[x, y]| [y, -x]).collect())
        .collect();
    (strip(&lying), strip(&standing))
}

/// A single sign as it lies, and the same turned back by a quarter (anticlockwise as seen): each fitted
/// into a square picture, its longer side `SIGN_INK` cells.
pub(super) fn two_squares(sign: &LetterShape) -> (Strip, Strip) {
    let standing: Vec<Ring> = sign
        .rings
        .iter()
        .map(|ring| ring.iter().map(|&[x, y]| [y, -x]).collect())
        .collect();
    (square(&sign.rings), square(&standing))
}

fn square(rings: &[Ring]) -> Strip {
    let blank = || Strip {
        width: HEIGHT,
        cells: vec![0.0; HEIGHT * HEIGHT],
    };
    let points = || rings.iter().flatten();
    if !points().flatten().all(|v| v.is_finite()) {
        return blank();
    }
    let (x0, x1) = extent(points().map(|p| p[0]));
    let (y0, y1) = extent(points().map(|p| p[1]));
    let scale = SIGN_INK / (x1 - x0).max(y1 - y0);
    if !(scale > 0.0 && scale.is_finite()) {
        return blank();
    }
    let half = HEIGHT as f64 / 2.0;
    let placed: Vec<Ring> = rings
        .iter()
        .map(|ring| {
            let place = |&[x, y]: &[f64; 2]| {
                [
                    (x - f64::midpoint(x0, x1)) * scale + half,
                    (y - f64::midpoint(y0, y1)) * scale + half,
                ]
            };
            ring.iter().map(place).collect()
        })
        .collect();
    Strip {
        width: HEIGHT,
        cells: coverage(&placed, HEIGHT, HEIGHT),
    }
}

/// The picture of a word that runs along x: its box is `INK` rows high and centred.
fn strip(rings: &[Ring]) -> Strip {
    let points = || rings.iter().flatten();
    if !points().flatten().all(|v| v.is_finite()) {
        return Strip::blank();
    }
    let (x0, x1) = extent(points().map(|p| p[0]));
    let (y0, y1) = extent(points().map(|p| p[1]));
    let (wide, high) = (x1 - x0, y1 - y0);
    if !(wide > 0.0 && high > 0.0 && wide.is_finite() && high.is_finite()) {
        return Strip::blank();
    }
    let scale_y = INK / high;
    let scale_x = scale_y.min(WIDEST / wide);
    let steps = ((wide * scale_x + 2.0 * MARGIN) / STEP as f64).ceil();
    if !(scale_y.is_finite() && steps >= 1.0) {
        return Strip::blank();
    }
    // At most (WIDEST + 2 MARGIN) / STEP steps, rounded up.
    let width = STEP * index(steps, 64);
    let (cx, cy) = (f64::midpoint(x0, x1), f64::midpoint(y0, y1));
    let placed: Vec<Ring> = rings
        .iter()
        .map(|ring| {
            let place = |&[x, y]: &[f64; 2]| {
                [
                    (x - cx) * scale_x + width as f64 / 2.0,
                    (y - cy) * scale_y + HEIGHT as f64 / 2.0,
                ]
            };
            ring.iter().map(place).collect()
        })
        .collect();
    Strip {
        width,
        cells: coverage(&placed, width, HEIGHT),
    }
}

/// The picture of what runs along x, its box so many `rows` high, with margins `above` and below, and `beside` it on
/// either side, in cells; `None` where it has no extent, or is not as many times as long as high as is asked.
pub(super) fn grey(
    rings: &[Ring],
    rows: usize,
    [above, beside]: [usize; 2],
    long: std::ops::Range<f64>,
) -> Option<Strip> {
    let points = || rings.iter().flatten();
    let (x0, x1) = extent(points().map(|p| p[0]));
    let (y0, y1) = extent(points().map(|p| p[1]));
    if !long.contains(&((x1 - x0) / (y1 - y0))) {
        return None;
    }
    let scale = rows as f64 / (y1 - y0);
    let width = index(((x1 - x0) * scale).ceil(), rows * index(long.end, 100)) + 2 * beside;
    let place = |p: &[f64; 2]| {
        let [x, y] = [(p[0] - x0) * scale, (p[1] - y0) * scale];
        [x + beside as f64, y + above as f64]
    };
    let placed: Vec<Ring> = rings
        .iter()
        .map(|ring| ring.iter().map(place).collect())
        .collect();
    Some(Strip {
        width,
        cells: coverage(&placed, width, rows + 2 * above),
    })
}

/// The part of each cell that `rings`, in cells, cover by the non-zero rule: exact along each of
/// `SUB` scan lines in a row.
fn coverage(rings: &[Ring], width: usize, rows: usize) -> Vec<f32> {
    let count = rows * SUB;
    let sub = SUB as f64;
    let mut crossings: Vec<Vec<(f64, i32)>> = vec![Vec::new(); count];
    for ring in rings {
        for (from, to) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            let (up, down, wind) = if from[1] <= to[1] {
                (from, to, 1)
            } else {
                (to, from, -1)
            };
            let ([x0, y0], [x1, y1]) = (*up, *down);
            if y0 == y1 {
                continue;
            }
            // Scan line k runs at (k + 0.5) / SUB; the upper end of an edge counts, the lower not.
            let first = index((y0 * sub - 0.5).ceil(), count);
            let past = index((y1 * sub - 0.5).ceil(), count);
            let slope = (x1 - x0) / (y1 - y0);
            for (k, line) in crossings.iter_mut().enumerate().take(past).skip(first) {
                line.push((x0 + ((k as f64 + 0.5) / sub - y0) * slope, wind));
            }
        }
    }
    let mut cells = vec![0.0_f64; rows * width];
    for (row, lines) in cells.chunks_mut(width).zip(crossings.chunks_mut(SUB)) {
        for line in lines {
            line.sort_by(|a, b| a.0.total_cmp(&b.0));
            let (mut winding, mut start) = (0, 0.0);
            for &(x, wind) in line.iter() {
                let before = winding;
                winding += wind;
                if before == 0 {
                    start = x;
                } else if winding == 0 {
                    cover(row, start, x);
                }
            }
        }
    }
    // Narrowed at the end only, as the model's teacher did.
    #[allow(
        clippy::cast_possible_truncation,
        reason = "a coverage needs no more digits"
    )]
    cells.into_iter().map(|v| v as f32).collect()
}

/// Adds a covered stretch of one scan line to its row.
fn cover(row: &mut [f64], start: f64, end: f64) {
    let from = start.max(0.0);
    let to = end.min(row.len() as f64);
    let first = index(from, row.len());
    for (c, cell) in row.iter_mut().enumerate().skip(first) {
        let left = c as f64;
        if left >= to {
            break;
        }
        *cell += (to.min(left + 1.0) - from.max(left)) / SUB as f64;
    }
}

/// The least and greatest of `values`; (∞, -∞) of none.
fn extent(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
        (a.min(v), b.max(v))
    })
}

/// `v` without its fraction, held between 0 and `most`; 0 for what is no number.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a float cast saturates, and 0..=most is what is wanted"
)]
fn index(v: f64, most: usize) -> usize {
    (v as usize).min(most)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An i, a ring with a hole, and a leaning stroke that reaches under the ring.
    fn word() -> Vec<Ring> {
        let square = |x: f64, y: f64, w: f64, h: f64| -> Ring {
            vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
        };
        let mut hole = square(4.0, 4.0, 2.0, 4.0);
        hole.reverse();
        vec![
            square(0.0, 3.0, 1.0, 7.0),
            square(-0.2, 0.5, 1.4, 1.4),
            square(3.0, 3.0, 4.0, 7.0),
            hole,
            vec![[6.5, 10.0], [9.0, 0.0], [10.0, 0.0], [7.5, 10.0]],
        ]
    }

    fn through(turn: fn([f64; 2]) -> [f64; 2]) -> Vec<Ring> {
        word()
            .into_iter()
            .map(|ring| ring.into_iter().map(turn).collect())
            .collect()
    }

    #[test]
    fn letters_are_the_same_whichever_way_the_word_lies() {
        let counts = |rings: &[Ring], line| {
            letters(rings, line)
                .iter()
                .map(|l| l.rings.len())
                .collect::<Vec<_>>()
        };
        assert_eq!(counts(&word(), Axis::Across), [2, 2, 1]);
        assert_eq!(counts(&through(|[x, y]| [-x, -y]), Axis::Across), [1, 2, 2]);
        assert_eq!(counts(&through(|[x, y]| [-y, x]), Axis::Down), [2, 2, 1]);
    }

    #[test]
    fn a_turned_word_makes_the_turned_picture() {
        let near = |a: &Strip, b: &Strip| {
            a.width == b.width
                && a.cells
                    .iter()
                    .zip(&b.cells)
                    .all(|(a, b)| (a - b).abs() < 1e-5)
        };
        let upright = strip(&word());
        assert!(near(
            &strip(&through(|[x, y]| [-x, y])),
            &upright.mirrored()
        ));
        assert!(near(
            &strip(&through(|[x, y]| [-x, -y])),
            &upright.half_turned()
        ));
        let (_, standing) = two_strips(
            &[LetterShape {
                rings: through(|[x, y]| [-y, x]),
            }],
            [1.0, 0.0],
        );
        assert!(
            near(&standing, &upright),
            "a clockwise quarter is turned back"
        );
    }

    #[test]
    fn a_hole_and_an_overlap_are_filled_by_the_non_zero_rule() {
        let rings = word();
        let sum = |rings: &[Ring]| {
            strip(rings)
                .cells
                .iter()
                .map(|&v| f64::from(v))
                .sum::<f64>()
        };
        // Two copies of the ring on each other cover what one covers.
        let twice: Vec<Ring> = rings.iter().chain(&rings).cloned().collect();
        assert!((sum(&rings) - sum(&twice)).abs() < 1e-6);
        let scale = INK / 10.0;
        let area = 7.0 + 1.96 + (28.0 - 8.0) + 10.0;
        // The stroke shares a little with the ring.
        assert!((sum(&rings) / scale / scale - area).abs() < 1.0);
    }
}
