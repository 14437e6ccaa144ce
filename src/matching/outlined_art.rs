//! The outlined art of each pocket, for reading back: its ink, and the subpaths that it was filled from.

use kurbo::{BezPath, PathEl, Point};

use super::{Matched, hatching};
use crate::artwork::ink::INK_TOLERANCE;
use crate::artwork::mark::{Content, Operation, Role};
use crate::geometry::flatten::polylines;
use crate::geometry::region::Region;
use crate::ids::{IdVec, PocketId};
use crate::readback::{MOST_PIECES, OutlinedArt};

/// Marks in one pocket beyond which its ink is not put together: traced pictures, which would have
/// more than [`MOST_PIECES`] pieces, and a hundred thousand of them take a while to put together.
const MOST_MARKS: usize = 2 * MOST_PIECES;

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
    for art in &matched.art {
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
                own.ink.push(art.ink().clone());
                // Letters of single lines touch, and are told apart as they were drawn, line by line.
                let lines: Vec<BezPath> = single_lines(&mark.path).collect();
                if let [_] = lines.as_slice() {
                    drawn.extend(art.ink().rings.iter().cloned());
                } else {
                    let inks = lines.iter().map(|line| mark.ink_of(line));
                    drawn.extend(inks.flat_map(|ink| ink.rings).filter(here));
                }
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
            None => all[pocket].ink.extend(own.ink.iter().cloned()),
        }
    }
    all
}

/// The lines of a pocket that do not close, and their ink.
#[derive(Clone, Default)]
struct Lines {
    strokes: Vec<(Point, Point)>,
    ink: Vec<Region>,
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
