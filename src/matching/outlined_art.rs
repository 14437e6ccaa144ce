//! The outlined art of each pocket, for reading back: its ink, and the subpaths that it was filled from.

use kurbo::{BezPath, PathEl, Point};

use super::{Art, Matched, hatching};
use crate::abandon;
use crate::artwork::ink::INK_TOLERANCE;
use crate::artwork::mark::{Content, Mark, Operation, Role};
use crate::geometry::flatten::polylines;
use crate::geometry::region::Region;
use crate::ids::{ArtId, IdVec, PocketId};
use crate::readback::{MOST_PIECES, OutlinedArt};

/// Marks in one pocket beyond which its ink is not put together: traced pictures, which would have
/// more than [`MOST_PIECES`] pieces, and a hundred thousand of them take a while to put together.
const MOST_MARKS: usize = 2 * MOST_PIECES;

/// Lines of one path beyond which they are not told apart: a name has a hundred or two, and more rings than six
/// hundred are not sorted into letters.
const MOST_LINES: usize = 600;

/// Steps that one path may take to be told apart (see [`abandon::spend`]): a name takes some thousands. Without a
/// limit a scribble would use up those of the whole run.
const MOST_STEPS: usize = 100_000;

/// How far a subpath may reach past the box of its ink, in millimetres: ink is rounded.
const ROUNDED: f64 = 1e-3;

/// The outlined art of every pocket, in their order.
pub(crate) fn outlined_art<'m>(matched: &'m Matched<'_>) -> IdVec<PocketId, OutlinedArt<'m>> {
    let mut all: IdVec<PocketId, OutlinedArt<'_>> = matched
        .pockets
        .iter()
        .map(|pocket| OutlinedArt {
            pocket,
            ink: Vec::new(),
            drawn: Vec::new(),
        })
        .collect();
    let mut lines = matched.pockets.each(Lines::default());
    for (index, art) in matched.art.pairs() {
        let Some(pocket) = art.pocket else {
            continue;
        };
        let mark = matched.mark(art.mark);
        if matched.art_in(pocket).len() > MOST_MARKS {
            continue;
        }
        let OutlinedArt { ink, drawn, .. } = &mut all[pocket];
        if !matches!(mark.content, Content::Shape) || matched.operation(art.mark) == Operation::Cut
        {
            continue;
        }
        let frame = art.bounds().inflate(ROUNDED, ROUNDED);
        let here = |ring: &Vec<Point>| ring.iter().all(|p| frame.contains(*p));
        match &mark.role {
            Role::Fill { .. } => {
                ink.push(art.ink().clone());
                let rings = polylines(&mark.path, INK_TOLERANCE);
                drawn.extend(rings.into_iter().map(|line| line.points).filter(here));
            }
            // A letter drawn as a line along its outline is that letter; one of a single line is its ink.
            Role::Stroke(_) if single_line(&mark.path) => {
                let within = |p: Point| frame.contains(p);
                let strokes = hatching::strokes(&mark.path).into_iter();
                let own = &mut lines[pocket];
                own.strokes
                    .extend(strokes.filter(|(a, b)| within(*a) && within(*b)));
                own.art.push(index);
            }
            Role::Stroke(_) => {
                let mut letter = Region::from_path(&mark.path, true, INK_TOLERANCE);
                letter.rings.retain(here);
                drawn.extend(letter.rings.iter().cloned());
                ink.push(letter);
            }
            Role::Picture => {}
        }
    }
    // Lines that fill letters are those letters; others are what they are.
    for (pocket, own) in lines.pairs() {
        match hatching::filled(&own.strokes) {
            Some(filled) => all[pocket].ink.push(filled),
            None => {
                for art in own.art.iter().map(|index| &matched.art[*index]) {
                    all[pocket].ink.push(art.ink().clone());
                    all[pocket]
                        .drawn
                        .extend(line_by_line(matched.mark(art.mark), art));
                }
            }
        }
    }
    all
}

/// The lines of a pocket that do not close, and the art that they are of.
#[derive(Clone, Default)]
struct Lines {
    strokes: Vec<(Point, Point)>,
    art: Vec<ArtId>,
}

/// What each line of a single-line path burns: letters of single lines touch, and are told apart as they were
/// drawn. All of it as one where that is more than a name would take.
fn line_by_line(mark: &Mark, art: &Art<'_>) -> Vec<Vec<Point>> {
    let as_one = || art.ink().rings.clone();
    let lines: Vec<BezPath> = single_lines(&mark.path).collect();
    if !(2..=MOST_LINES).contains(&lines.len()) {
        return as_one();
    }
    let frame = art.bounds().inflate(ROUNDED, ROUNDED);
    let here = |ring: &Vec<Point>| ring.iter().all(|p| frame.contains(*p));
    let inks = || lines.iter().flat_map(|line| mark.ink_of(line).rings);
    abandon::within(MOST_STEPS, || inks().filter(here).collect()).unwrap_or_else(as_one)
}

/// The lines of a path, one by one.
fn single_lines(path: &BezPath) -> impl Iterator<Item = BezPath> {
    let starts = |e: &PathEl| matches!(e, PathEl::MoveTo(_));
    let lines = path.elements().chunk_by(move |_, next| !starts(next));
    lines.map(|line| line.iter().copied().collect())
}

/// Whether some line of a stroked path is open: a letter of a single-line face, and no outline of one.
fn single_line(path: &BezPath) -> bool {
    polylines(path, INK_TOLERANCE).iter().any(|line| {
        let ends = line.points.first().zip(line.points.last());
        !line.closed && ends.is_some_and(|(a, b)| a.distance(*b) > ROUNDED)
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// Joined script in one path: its lines cross, and only by themselves are they the strokes of letters.
    #[test]
    fn the_lines_of_a_path_are_taken_one_by_one() {
        let path = BezPath::from_svg("M0 0 L4 4 Q5 5 6 4 M4 0 L0 4 M8 0 L9 4").unwrap();
        let lines: Vec<String> = single_lines(&path).map(|l| l.to_svg()).collect();
        assert_eq!(lines, ["M0,0 L4,4 Q5,5 6,4", "M4,0 L0,4", "M8,0 L9,4"]);
    }
}
