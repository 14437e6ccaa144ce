//! Where the openings lie on the bed: rows and columns from the stops, alternating heads, staggered.

use kurbo::{Point, Rect, Vec2};

use super::marks::{self, GAP_BEYOND, REACH, STRIP};
use super::opening::Opening;
use super::{Head, Wanted};
use crate::artwork::transform;
use crate::geometry::region::Region;

/// How the openings lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Layout {
    /// Rows and columns, all heads the same way.
    Rows,
    /// Every other blank turned round, side by side.
    Alternating,
    /// Every other row moved by half a step: closest for discs.
    Staggered,
}

impl Layout {
    /// Every layout.
    pub(crate) const ALL: [Self; 3] = [Self::Rows, Self::Alternating, Self::Staggered];

    /// The word on the command line.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Rows => "rows",
            Self::Alternating => "alternating",
            Self::Staggered => "staggered",
        }
    }
}

/// One opening's place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    /// The middle of its box, in bed millimetres.
    pub at: Point,
    /// Where its head points.
    pub head: Head,
}

/// A layout.
#[derive(Debug, Clone)]
pub(crate) struct Laid {
    /// The places, from the stops outwards.
    pub places: Vec<Place>,
    /// The sheet on the bed.
    pub sheet: Rect,
    /// How many would fit at most.
    pub most: usize,
    /// Rows and columns at most.
    pub grid: (usize, usize),
    /// What another column and another row would need more than there is, in millimetres.
    pub short: Vec2,
}

/// Steps are rounded up to this, in millimetres, so that the drawing has plain numbers.
const STEP: f64 = 0.01;

/// Openings are moved together by this much at a time, in millimetres, until they come too close.
/// With larger steps, a position where they nest could be missed.
const NUDGE: f64 = 0.5;

/// Area below which two shapes count as apart, in square millimetres: rounding.
const APART: f64 = 1e-3;

/// How far grown shapes may be off, in millimetres.
const GROWN: f64 = 0.005;

/// Gap between a mark and the sheet's edge, in millimetres.
const EDGE: f64 = 1.0;

/// An opening with its loading mark, in one of the four directions.
struct Piece {
    opening: Region,
    /// The opening widened by the web.
    kept: Region,
    mark: Region,
    /// The mark widened by the gap that it keeps from openings.
    mark_kept: Region,
}

impl Piece {
    fn new(opening: &Opening, head: Head, web: f64) -> Self {
        let turn = transform::rotate(head.degrees());
        let area = Region::from_path(&(turn * opening.path.clone()), false, GROWN);
        let mark = marks::turned(&marks::loading(opening.bounds), head);
        let mark = Region::from_path(&mark, false, GROWN);
        Self {
            kept: area.grown(web, GROWN),
            mark_kept: mark.grown(GAP_BEYOND, GROWN),
            opening: area,
            mark,
        }
    }

    /// Whether `other`, moved by `by`, keeps its distance from this one.
    fn clear_of(&self, other: &Self, by: Vec2) -> bool {
        let apart = |a: &Region, b: &Region| {
            let b = moved(b, by);
            match (a.bounds(), b.bounds()) {
                (Some(x), Some(y)) if x.intersect(y).area() > 0.0 => a.intersect(&b).area() < APART,
                _ => true,
            }
        };
        apart(&self.kept, &other.opening)
            && apart(&self.mark_kept, &other.opening)
            && apart(&self.opening, &other.mark_kept)
            && apart(&self.mark, &other.mark_kept)
    }
}

fn moved(region: &Region, by: Vec2) -> Region {
    Region {
        rings: region
            .rings
            .iter()
            .map(|ring| ring.iter().map(|p| *p + by).collect())
            .collect(),
    }
}

/// The smallest step, coming from afar, at which `clear` still holds.
fn closest(far: f64, clear: impl Fn(f64) -> bool) -> f64 {
    let (mut good, mut bad) = (far, 0.0);
    while good > NUDGE {
        let next = good - NUDGE;
        if !clear(next) {
            bad = next;
            break;
        }
        good = next;
    }
    while good - bad > STEP / 4.0 {
        let middle = f64::midpoint(good, bad);
        if clear(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    (good / STEP - 1e-6).ceil() * STEP
}

/// The steps of a lattice of openings: from column to column and from row to row.
struct Steps {
    column: f64,
    row: f64,
    /// How far every other row is moved.
    shift: f64,
}

/// The direction of the head in column `i` and row `j`.
fn head_at(layout: Layout, head: Head, i: usize, j: usize) -> Head {
    let beside = match head {
        Head::Back | Head::Front => i,
        Head::Left | Head::Right => j,
    };
    if layout == Layout::Alternating && beside % 2 == 1 {
        head.turned()
    } else {
        head
    }
}

fn steps(wanted: &Wanted, opening: &Opening, web: f64) -> Steps {
    let plain = Piece::new(opening, wanted.head, web);
    let turned = Piece::new(opening, wanted.head.turned(), web);
    let piece = |head: Head| if head == wanted.head { &plain } else { &turned };
    let out = marks::outwards(wanted.stops);
    let far = opening.bounds.width().max(opening.bounds.height()) + web + 2.0 * REACH + GAP_BEYOND;
    let clear = |a: Head, b: Head, by: Vec2| piece(a).clear_of(piece(b), by);
    let at = |i: usize, j: usize| head_at(wanted.layout, wanted.head, i, j);
    let column = closest(far, |t| {
        (0..2).all(|j| (0..2).all(|i| clear(at(i, j), at(i + 1, j), Vec2::new(out.x * t, 0.0))))
    });
    let shift = if wanted.layout == Layout::Staggered {
        column / 2.0
    } else {
        0.0
    };
    // Every opening of the next row that could come near: a shifted row lies between two.
    let row = closest(far, |t| {
        (0..2_usize).all(|j| {
            (0..2_usize).all(|i| {
                (0..5_usize).all(|k| {
                    let across = (k as f64 - 2.0) * column + if j == 0 { shift } else { -shift };
                    // Columns two and four away have the same direction as those none away.
                    let other = at(i + k, j + 1);
                    clear(at(i, j), other, Vec2::new(out.x * across, out.y * t))
                })
            })
        })
    });
    Steps { column, row, shift }
}

/// The room for openings along one axis: where it begins, counted from the stops, and how long it is.
struct Span {
    near: f64,
    far: f64,
    length: f64,
}

/// The room along an axis. `towards` says whether some head points to the near and to the far side.
fn span(
    wanted: &Wanted,
    web: f64,
    bed: f64,
    sheet: f64,
    travel: f64,
    towards: (bool, bool),
) -> Span {
    let mark = |there: bool| if there { REACH } else { 0.0 };
    let clear = wanted.keep_clear;
    let near = web.max(clear + STRIP + mark(towards.0)).max(travel);
    let far = web.max(mark(towards.1) + EDGE);
    let end = (sheet - far)
        .min(bed - clear - mark(towards.1))
        .min(bed - travel);
    Span {
        near,
        far,
        length: end - near,
    }
}

/// Why the blanks that are wanted do not fit.
#[derive(Debug, Clone)]
pub(crate) struct TooMany {
    /// In a sentence.
    pub text: String,
    /// How many would fit; `None`: not one.
    pub most: Option<usize>,
}

/// Lays the openings out.
///
/// # Errors
///
/// Not one fits, or fewer than are wanted.
pub(crate) fn lay(wanted: &Wanted, opening: &Opening, web: f64) -> Result<Laid, TooMany> {
    let shown = wanted.shown;
    let steps = steps(wanted, opening, web);
    let quarter = matches!(wanted.head, Head::Left | Head::Right);
    let (mut w, mut h) = (opening.bounds.width(), opening.bounds.height());
    if quarter {
        (w, h) = (h, w);
    }
    let mut heads = vec![wanted.head];
    if wanted.layout == Layout::Alternating {
        heads.push(wanted.head.turned());
    }
    let (front, right) = marks::edges(wanted.stops);
    let any = |head: Head| heads.contains(&head);
    let (left_right, front_back) = (
        if right {
            (any(Head::Right), any(Head::Left))
        } else {
            (any(Head::Left), any(Head::Right))
        },
        if front {
            (any(Head::Front), any(Head::Back))
        } else {
            (any(Head::Back), any(Head::Front))
        },
    );
    let (sheet_w, sheet_h) = wanted.sheet.unwrap_or(wanted.bed);
    // Engraving starts a margin inside the opening, and needs its travel from there.
    let travel = (wanted.run_out - wanted.margin).max(0.0);
    let x = span(wanted, web, wanted.bed.0, sheet_w, travel, left_right);
    let y = span(wanted, web, wanted.bed.1, sheet_h, 0.0, front_back);
    let fit = |room: f64, size: f64, step: f64| {
        if room + STEP / 2.0 < size {
            0
        } else {
            ((room - size + STEP / 2.0) / step) as usize + 1
        }
    };
    let columns = fit(x.length, w, steps.column);
    let rows = fit(y.length, h, steps.row);
    let shifted = fit(x.length - steps.shift, w, steps.column);
    let most = rows.div_ceil(2) * columns + rows / 2 * shifted;
    if columns == 0 || rows == 0 {
        let (what, need, have) = if columns == 0 {
            ("from left to right", w, x.length)
        } else {
            ("from back to front", h, y.length)
        };
        return Err(TooMany {
            text: format!(
                "not one blank fits: its opening takes {} {what}, and {} are left between the borders",
                shown.length(need),
                shown.length(have.max(0.0))
            ),
            most: None,
        });
    }
    let short = Vec2::new(
        w + columns as f64 * steps.column - x.length,
        h + rows as f64 * steps.row - y.length,
    );
    let count = wanted.count.unwrap_or(most);
    if count > most {
        return Err(TooMany {
            text: format!(
                "{count} blanks are wanted and {most} fit: {}",
                what_limits(wanted, short)
            ),
            most: Some(most),
        });
    }
    // As few rows as hold them, and those evenly filled.
    let mut taken = 0;
    let mut used_rows = 0;
    while taken < count {
        taken += if used_rows % 2 == 0 { columns } else { shifted };
        used_rows += 1;
    }
    let per_row = count.div_ceil(used_rows.max(1)).min(columns);
    let out = marks::outwards(wanted.stops);
    let corner = Point::new(
        if right { wanted.bed.0 } else { 0.0 },
        if front { wanted.bed.1 } else { 0.0 },
    );
    let mut places = Vec::new();
    let (mut reach_x, mut reach_y): (f64, f64) = (0.0, 0.0);
    'all: for j in 0..rows {
        let (shift, room) = if j % 2 == 1 {
            (steps.shift, shifted)
        } else {
            (0.0, columns)
        };
        let here = if steps.shift > 0.0 { room } else { per_row };
        for i in 0..here {
            if places.len() == count {
                break 'all;
            }
            let from_stops = Vec2::new(
                x.near + w / 2.0 + shift + i as f64 * steps.column,
                y.near + h / 2.0 + j as f64 * steps.row,
            );
            reach_x = reach_x.max(from_stops.x + w / 2.0);
            reach_y = reach_y.max(from_stops.y + h / 2.0);
            places.push(Place {
                at: corner + Vec2::new(out.x * from_stops.x, out.y * from_stops.y),
                head: head_at(wanted.layout, wanted.head, i, j),
            });
        }
    }
    let size = wanted.sheet.unwrap_or_else(|| {
        (
            handy(reach_x + x.far, wanted).min(wanted.bed.0),
            handy(reach_y + y.far, wanted).min(wanted.bed.1),
        )
    });
    let sheet = Rect::from_points(corner, corner + Vec2::new(out.x * size.0, out.y * size.1));
    Ok(Laid {
        places,
        sheet,
        most,
        grid: (rows, columns),
        short,
    })
}

/// A length that can be marked with a ruler: up to the next millimetre or sixteenth of an inch.
fn handy(mm: f64, wanted: &Wanted) -> f64 {
    let step = match wanted.shown {
        crate::units::Shown::Mm => 1.0,
        crate::units::Shown::Inch => crate::units::MM_PER_INCH / 16.0,
    };
    (mm / step - 1e-6).ceil() * step
}

/// What another column and another row would need.
pub(super) fn what_limits(wanted: &Wanted, short: Vec2) -> String {
    let shown = wanted.shown;
    let of = if wanted.sheet.is_some() {
        "the sheet"
    } else {
        "the bed"
    };
    format!(
        "another column would need {of} {} wider, another row {} deeper",
        shown.length(short.x),
        shown.length(short.y)
    )
}
