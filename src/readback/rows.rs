//! The rows of a pocket's ink: a name, the date under it, the ornament over it, the frame round them.
//!
//! Which way up lettering lies is told row by row: two rows seen as one are no word. A piece that goes round
//! others is a row of its own; of the rest, pieces that lie beside each other make a row.

use kurbo::{Point, Rect};

use super::letter_raster::Axis;
use super::orientation::{Lays, Orientation, alone, has};
use super::pieces::{Piece, piece};
use crate::geometry::region::Region;
use crate::geometry::shape_match::Patch;

/// Pieces that share this part of their height, or of the row's, lie in one row. Lower, and a descender ties a name to
/// the date under it; higher, and letters along an arch fall into rows of their own.
const SHARED: f64 = 0.5;

/// Dots and accents are smaller than this share of a row's largest piece, and belong to it up to this share of its
/// height away. Higher, and the date under a name is taken for its accents; lower, and an accent is a row of its
/// own, and leaves its name open.
const SMALL: f64 = 0.5;
const NEAR: f64 = 0.2;

/// What is shorter than this share of the longest line is no line: a dot that stands apart. Higher, and an ornament
/// beside a name on its side is taken for a letter of it.
const DOT: f64 = 0.15;

/// Letters of a line are so many times closer to each other than to what stands beside it. Lower, and a short name is torn
/// apart by the ornament over it; higher, and one on its side is, that has a wide gap.
const CLOSER: f64 = 2.0;

/// So many large pieces beside each other are a line, and no letter that lies on its side and was drawn in bits. Higher, and
/// a date is taken for one; lower, and letters of a stencil are lines.
const LINE: usize = 3;

/// The share of a frame's box that its hole has, at least.
const HOLLOW: f64 = 0.4;

/// Pieces smaller than this share of the ink are specks, as a trace leaves them: no letters, nor dots of them.
const SPECK: f64 = 1e-3;

/// Art of more pieces, or more rows, is traced or a pattern, and is not taken apart.
const MOST_PIECES: usize = 300;
const MOST_ROWS: usize = 8;

/// How far what was drawn may reach past the box of its ink, in millimetres: ink is rounded.
const ROUNDED: f64 = 1e-3;

/// One row of a pocket's ink.
#[derive(Debug, Clone)]
pub(super) struct Row {
    /// Its ink.
    pub ink: Region,
    /// Its pieces.
    pub parts: Vec<Piece>,
    /// Its box.
    pub bounds: Rect,
    /// Whether it goes round others.
    pub surround: bool,
}

/// Where a row is, and whether it may lie wrong at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Its box, in the frame of the pocket.
    pub bounds: Rect,
    /// The orientations in which it is the same, as it lies among them: a heart is, in a mirror. All, where other pockets
    /// say that it lies right.
    pub same: Lays,
}

/// One piece of ink, by itself and measured.
struct Part {
    ink: Region,
    piece: Piece,
}

/// The rows of some ink, the longest first and what goes round them last; one row of everything where it does
/// not fall into several.
pub(super) fn rows(ink: &Region) -> Vec<Row> {
    let all: Vec<Part> = ink
        .pieces()
        .into_iter()
        .filter_map(|ink| {
            let piece = piece(&ink)?;
            Some(Part { ink, piece })
        })
        .collect();
    let area = |p: &Part| p.piece.area * (1.0 - p.piece.hole_share);
    let least = SPECK * all.iter().map(area).sum::<f64>();
    let all: Vec<Part> = all.into_iter().filter(|p| area(p) >= least).collect();
    if all.len() > MOST_PIECES {
        return Vec::from_iter(row(all, false));
    }
    let (round, inner) = taken_off(all);
    let across = beside(&inner, Axis::Across);
    let down = beside(&inner, Axis::Down);
    let groups = if runs_down(&inner, &across, &down) {
        down
    } else {
        across
    };
    if round.len() + groups.len() > MOST_ROWS {
        let all = round.into_iter().chain(inner).collect();
        return Vec::from_iter(row(all, false));
    }
    let mut of: Vec<Vec<Part>> = groups.iter().map(|_| Vec::new()).collect();
    for (number, part) in inner.into_iter().enumerate() {
        let home = groups.iter().position(|g| g.contains(&number));
        if let Some(home) = home.and_then(|h| of.get_mut(h)) {
            home.push(part);
        }
    }
    let mut out: Vec<Row> = of
        .into_iter()
        .filter_map(|parts| row(parts, false))
        .collect();
    let long = |r: &Row| r.bounds.width().max(r.bounds.height());
    out.sort_by(|a, b| long(b).total_cmp(&long(a)));
    out.extend(round.into_iter().filter_map(|part| row(vec![part], true)));
    out
}

/// Whether pieces that fall into groups either way are lines along y, and not along x.
///
/// Seen along its line, lettering falls into few groups, and across it into as many as it has letters. It does not
/// where an ornament stands over a joined name, or where a date on its side bridges the letters beside it. But letters
/// are about as high as each other, lines of unlike length, and the largest line is longer for its height, seen along
/// it.
fn runs_down(parts: &[Part], across: &[Vec<usize>], down: &[Vec<usize>]) -> bool {
    let bounds = |group: &Vec<usize>| {
        let boxes = parts.iter().enumerate().filter(|(n, _)| group.contains(n));
        boxes.map(|(_, p)| p.piece.bounds).reduce(|a, b| a.union(b))
    };
    let boxes = |groups: &[Vec<usize>]| -> Vec<Rect> { groups.iter().filter_map(bounds).collect() };
    let (rows, columns) = (boxes(across), boxes(down));
    let area = |a: &&Rect, b: &&Rect| a.area().total_cmp(&b.area());
    let Some((row, column)) = rows.iter().max_by(area).zip(columns.iter().max_by(area)) else {
        return false;
    };
    // Of a single line along y, what lies beside each other is one letter with its accents.
    let size = |number: &usize| parts.get(*number).map_or(0.0, |p| longer(p.piece.bounds));
    let is_line = |group: &Vec<usize>| {
        let largest = group.iter().map(size).fold(0.0, f64::max);
        group.iter().filter(|n| size(n) >= SMALL * largest).count() >= LINE
    };
    if down.len() == 1 && across.iter().any(is_line) {
        return false;
    }
    let stands = |r: Rect| r.height() >= r.width();
    let longer = column.height() * row.height() > row.width() * column.width();
    // An ornament of one piece stands beside a line, however wide.
    let mut lines = down.iter().filter(|g| g.len() > 1 || down.len() == 1);
    lines.all(|g| bounds(g).is_some_and(stands))
        && match (across.len(), down.len()) {
            // Two letters on their side, or a name under an ornament.
            (2, 1) => longer || !unlike(rows.iter().map(Rect::width)),
            // Letters beside each other, or lines on their side of which one bridges the gaps of the other.
            (1, 2..) => longer && stands(*row) && unlike(columns.iter().map(Rect::height)),
            // A joined name on its side whose capital stands alone, and an ornament beside the rest of it.
            (rows, columns) if rows == columns => {
                let closer = CLOSER * widest_gap(parts, down, Axis::Down)
                    < widest_gap(parts, across, Axis::Across);
                longer && (closer || down.iter().all(|g| g.len() > 1))
            }
            (rows, columns) => columns < rows,
        }
}

/// The widest gap between pieces that follow each other in a group along a line.
fn widest_gap(parts: &[Part], groups: &[Vec<usize>], line: Axis) -> f64 {
    let extent = |r: Rect| match line {
        Axis::Across => (r.x0, r.x1),
        Axis::Down => (r.y0, r.y1),
    };
    let widest = |group: &Vec<usize>| {
        let boxes = parts.iter().enumerate().filter(|(n, _)| group.contains(n));
        let mut extents: Vec<(f64, f64)> = boxes.map(|(_, p)| extent(p.piece.bounds)).collect();
        extents.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut reached = extents.first().map_or(0.0, |(_, to)| *to);
        let gaps = extents.into_iter().map(|(from, to)| {
            let gap = from - reached;
            reached = reached.max(to);
            gap
        });
        gaps.fold(0.0, f64::max)
    };
    groups.iter().map(widest).fold(0.0, f64::max)
}

/// Whether these are the lengths of lines, and no heights of letters, nor of dots that stand apart.
fn unlike(lengths: impl Iterator<Item = f64> + Clone) -> bool {
    let longest = lengths.clone().fold(0.0, f64::max);
    let shortest = lengths.fold(f64::INFINITY, f64::min);
    (DOT * longest..SMALL * longest).contains(&shortest)
}

impl Row {
    /// Whether a subpath is of this row.
    pub(super) fn holds(&self, ring: &[Point]) -> bool {
        ring.iter()
            .all(|p| self.bounds.inflate(ROUNDED, ROUNDED).contains(*p))
    }

    /// Where it is, and how it may lie without a difference: in any way, if most pockets have it `everywhere`.
    pub(super) fn place(&self, everywhere: bool) -> Place {
        if everywhere {
            let bounds = self.bounds;
            return Place {
                bounds,
                same: Lays::MAX,
            };
        }
        let patch = Patch::new(self.ink.clone());
        let same = |o: &Orientation| {
            let turn = f64::from(o.quarters) * std::f64::consts::FRAC_PI_2;
            let turn = if turn > 4.0 {
                -std::f64::consts::FRAC_PI_2
            } else {
                turn
            };
            patch.as_ref().is_none_or(|p| p.fits(p, turn, o.mirrored))
        };
        Place {
            bounds: self.bounds,
            same: Orientation::ALL
                .into_iter()
                .filter(|o| *o == Orientation::UPRIGHT || same(o))
                .fold(0, |all, o| all | alone(o)),
        }
    }
}

impl Place {
    /// Whether it is the same upside down and in a mirror, as a frame is.
    pub(super) fn even(&self) -> bool {
        has(self.same, Orientation::HALF_TURNED) && has(self.same, Orientation::new(0, true))
    }

    /// Which of several rows a letter is of: the smallest box that holds it.
    pub(super) fn of(rows: &[Self], letter: Rect) -> Option<usize> {
        let holds = |r: &Self| {
            let own = r.bounds.inflate(ROUNDED, ROUNDED);
            own.union(letter) == own
        };
        rows.iter()
            .enumerate()
            .filter(|(_, r)| holds(r))
            .min_by(|(_, a), (_, b)| a.bounds.area().total_cmp(&b.bounds.area()))
            .map(|(number, _)| number)
    }
}

fn row(parts: Vec<Part>, surround: bool) -> Option<Row> {
    let bounds = parts
        .iter()
        .map(|p| p.piece.bounds)
        .reduce(|a, b| a.union(b))?;
    let (inks, parts): (Vec<Region>, Vec<Piece>) =
        parts.into_iter().map(|p| (p.ink, p.piece)).unzip();
    Some(Row {
        ink: Region {
            rings: inks.into_iter().flat_map(|i| i.rings).collect(),
        },
        parts,
        bounds,
        surround,
    })
}

/// What goes round most of the rest, and the rest.
fn taken_off(all: Vec<Part>) -> (Vec<Part>, Vec<Part>) {
    let boxes: Vec<Rect> = all.iter().map(|p| p.piece.bounds).collect();
    let goes_round = |part: &Part| {
        let Some(inside) = part.widest_hole() else {
            return false;
        };
        let within = boxes.iter().filter(|b| inside.union(**b) == inside);
        2 * within.count() >= boxes.len().saturating_sub(1).max(1)
    };
    let (mut round, inner): (Vec<Part>, Vec<Part>) = all.into_iter().partition(goes_round);
    let (open, inner) = open_round(inner);
    round.extend(open);
    (round, inner)
}

/// What goes round all of the rest and is not closed, as a ring with a gap, and the rest.
fn open_round(mut all: Vec<Part>) -> (Option<Part>, Vec<Part>) {
    let bounds = |part: &Part| part.piece.bounds;
    let larger =
        |a: &(usize, &Part), b: &(usize, &Part)| bounds(a.1).area().total_cmp(&bounds(b.1).area());
    let Some((largest, part)) = all.iter().enumerate().max_by(larger) else {
        return (None, all);
    };
    let rest = all.iter().enumerate().filter(|(n, _)| *n != largest);
    let Some(rest) = rest.map(|(_, p)| bounds(p)).reduce(|a, b| a.union(b)) else {
        return (None, all);
    };
    let own = bounds(part);
    // A name goes round its dots, but not with its middle.
    let within = own.union(rest) == own && rest.contains(own.center());
    let apart = || part.ink.intersect(&Region::from_rect(rest)).is_empty();
    let open = (within && apart()).then(|| all.remove(largest));
    (open, all)
}

impl Part {
    /// The box of its largest hole, if that is large enough for others to stand in. The o of a name that is joined
    /// goes round nothing, and neither does the name round its dots.
    fn widest_hole(&self) -> Option<Rect> {
        let widest = |ring: &Vec<Point>| Region {
            rings: vec![ring.clone()],
        };
        let holes = self.ink.rings.iter().map(widest).filter_map(|r| r.bounds());
        let own = self.piece.bounds;
        holes
            .filter(|b| *b != own && b.area() >= HOLLOW * own.area())
            .max_by(|a, b| a.area().total_cmp(&b.area()))
    }
}

/// Groups of pieces that lie beside each other along a line, by number.
fn beside(parts: &[Part], line: Axis) -> Vec<Vec<usize>> {
    let height = |r: Rect| match line {
        Axis::Across => (r.y0, r.y1),
        Axis::Down => (r.x0, r.x1),
    };
    let mut groups: Vec<Group> = parts
        .iter()
        .enumerate()
        .map(|(number, part)| {
            let (low, high) = height(part.piece.bounds);
            let size = longer(part.piece.bounds);
            let members = vec![number];
            Group {
                low,
                high,
                size,
                members,
            }
        })
        .collect();
    // The largest first, so that small ones find the row that they belong to; a row grows as pieces join it.
    loop {
        groups.sort_by(|a, b| (b.high - b.low).total_cmp(&(a.high - a.low)));
        let before = groups.len();
        let mut joined: Vec<Group> = Vec::with_capacity(before);
        for group in groups {
            match joined.iter_mut().find(|g| g.shares(&group)) {
                Some(home) => home.take(group),
                None => joined.push(group),
            }
        }
        groups = joined;
        if groups.len() == before {
            break;
        }
    }
    // Dots and accents after all rows, the largest first.
    groups.sort_by(|a, b| b.size.total_cmp(&a.size));
    let mut rows: Vec<Group> = Vec::new();
    for group in groups {
        let nearest = rows
            .iter_mut()
            .filter(|row| row.may_have(&group))
            .min_by(|a, b| a.gap(&group).total_cmp(&b.gap(&group)));
        match nearest {
            // As high as the row was: an accent is no reason to take what lies beside it for one more.
            Some(row) => row.members.extend(group.members),
            None => rows.push(group),
        }
    }
    rows.into_iter().map(|g| g.members).collect()
}

fn longer(r: Rect) -> f64 {
    r.width().max(r.height())
}

/// Pieces beside each other: how high they reach, the size of the largest, and which they are.
struct Group {
    low: f64,
    high: f64,
    size: f64,
    members: Vec<usize>,
}

impl Group {
    fn shares(&self, other: &Self) -> bool {
        let shared = self.high.min(other.high) - self.low.max(other.low);
        shared >= SHARED * (self.high - self.low).min(other.high - other.low)
    }

    fn gap(&self, other: &Self) -> f64 {
        (other.low - self.high).max(self.low - other.high).max(0.0)
    }

    /// Whether another may be the dots and accents of this one.
    fn may_have(&self, other: &Self) -> bool {
        other.size < SMALL * self.size
            && other.members.len() <= self.members.len()
            && self.gap(other) <= NEAR * (self.high - self.low)
    }

    fn take(&mut self, other: Self) {
        self.low = self.low.min(other.low);
        self.high = self.high.max(other.high);
        self.size = self.size.max(other.size);
        self.members.extend(other.members);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn found(d: &str) -> Vec<(usize, bool)> {
        let path = kurbo::BezPath::from_svg(d).unwrap();
        let ink = Region::from_path(&path, false, 1e-3);
        rows(&ink)
            .iter()
            .map(|r| (r.parts.len(), r.surround))
            .collect()
    }

    /// Four letters with a dot over one, a date under them, a heart over them, a frame round all.
    const NAME: &str = "M0 0H3V6H0Z M4 0H7V6H4Z M8 2H11V6H8Z M8.5 -1H9.5V0H8.5Z M12 0H15V7H12Z";
    const DATE: &str = "M4 9H5V11H4Z M6 9H7V11H6Z M8 9H9V11H8Z M10 9H11V11H10Z";
    const HEART: &str = "M7 -8 L9 -6 L7 -3 L5 -6Z";
    const FRAME: &str = "M-3 -10H18V14H-3Z M-2 -9V13H17V-9Z";
    const FRAME_WITH_A_GAP: &str = "M-3 -10H6V-9H-2V13H17V-9H9V-10H18V14H-3Z";

    #[test]
    fn a_name_its_date_its_ornament_and_its_frame_are_rows() {
        assert_eq!(found(NAME), [(5, false)]);
        assert_eq!(found(&format!("{NAME} {DATE}")), [(5, false), (4, false)]);
        let all = format!("{NAME} {DATE} {HEART} {FRAME}");
        assert_eq!(found(&all), [(5, false), (4, false), (1, false), (1, true)]);
        let open = format!("{NAME} {DATE} {HEART} {FRAME_WITH_A_GAP}");
        assert_eq!(found(&open), found(&all));
    }

    #[test]
    fn a_name_along_y_is_one_row() {
        let turned = |d: &str| {
            let mut path = kurbo::BezPath::from_svg(d).unwrap();
            path.apply_affine(kurbo::Affine::rotate(std::f64::consts::FRAC_PI_2));
            path.to_svg()
        };
        assert_eq!(found(&turned(NAME)), [(5, false)]);
        assert_eq!(
            found(&turned(&format!("{NAME} {DATE}"))),
            [(5, false), (4, false)]
        );
        let heart = "M5 -8 L10 -6 L5 -4 L4 -6Z";
        assert_eq!(
            found(&turned(&format!("{NAME} {heart}"))),
            [(5, false), (1, false)]
        );
    }

    /// As wide as it is high in all, and in one group along y.
    #[test]
    fn a_joined_name_under_an_ornament_is_a_row_and_not_a_line_along_y() {
        assert_eq!(
            found("M0 0H16V7H0Z M5.5 -9H10.5V-4H5.5Z"),
            [(1, false), (1, false)]
        );
        // Nor is a short name whose first letter stands under the ornament.
        let short = "M0 0H5V7H0Z M6 3H10V7H6Z M0 -8H6V-3H0Z";
        assert_eq!(found(short), [(2, false), (1, false)]);
    }

    /// One piece as wide as high, and four digits over it that are nearly as wide: not two letters on their side.
    #[test]
    fn a_short_joined_name_and_its_date_are_two_rows() {
        let name = "M0 4H12V13H0Z";
        let date = "M1 0H3V2H1Z M4 0H6V2H4Z M7 0H9V2H7Z M10 0H11V2H10Z";
        assert_eq!(found(&format!("{name} {date}")), [(1, false), (4, false)]);
        // An i on its side beside an o: what lies beside each other is a letter and its dot.
        let letters = "M1 0H2.5V1.5H1Z M3 0H9V1.5H3Z M3 3H9V9H3Z";
        assert_eq!(found(letters), [(3, false)]);
    }

    /// The capital shares no height with the ornament beside it, and the rest does: as many rows as columns.
    #[test]
    fn a_joined_name_on_its_side_keeps_its_capital() {
        let capital = "M0 0H6V6H0Z M2 2V4H4V2Z";
        let rest = "M0 6.1H7V17H0Z M2 8V10H4V8Z";
        let heart = "M13 7 L18 5 L16 9 L18 13 Z";
        let path = kurbo::BezPath::from_svg(&format!("{capital} {rest} {heart}")).unwrap();
        let boxes: Vec<Rect> = rows(&Region::from_path(&path, false, 1e-3))
            .iter()
            .map(|r| r.bounds)
            .collect();
        let (name, ornament) = (
            Rect::new(0.0, 0.0, 7.0, 17.0),
            Rect::new(13.0, 5.0, 18.0, 13.0),
        );
        assert_eq!(boxes, [name, ornament]);
    }

    /// Each digit stands beside the gap between two letters, so that all of it is one group along x.
    #[test]
    fn a_date_that_bridges_the_letters_of_a_name_on_its_side_is_a_line_of_its_own() {
        let letters = "M6 0H10V3H6Z M6 4H10V7H6Z M6 8H10V11H6Z M6 12H10V15H6Z";
        let date = "M0 2.5H2V4.5H0Z M0 6.5H2V8.5H0Z M0 10.5H2V12.5H0Z";
        assert_eq!(
            found(&format!("{letters} {date}")),
            [(4, false), (3, false)]
        );
    }

    #[test]
    fn a_joined_name_does_not_go_round_its_dots() {
        let joined = "M0 0H15V6H0Z M1 1V5H5V1Z M2.5 -2H3.5V-1H2.5Z M9 -2H9.8V-1H9Z";
        let row = found(&format!("{joined} M14 -2h1v1h-1z M12 2h.01v.01h-.01z"));
        assert_eq!(row, [(1, false), (3, false)]);
        assert_eq!(
            found(joined).iter().map(|r| r.1).collect::<Vec<_>>(),
            [false; 2]
        );
    }

    #[test]
    fn a_letter_with_a_dot_in_it_is_no_frame() {
        let row =
            found("M0 0H6V6H0Z M1 1V5H5V1Z M2.5 2.5H3.5V3.5H2.5Z M7 0H10V6H7Z M11 0H14V6H11Z");
        assert_eq!(row, [(4, false)]);
    }
}
