//! The outlined art of each pocket, for reading back: its ink, and the subpaths that it was filled from.

use std::collections::BTreeSet;

use kurbo::{BezPath, PathEl, Point, Rect};

use super::{Art, Matched, frames, hatching};
use crate::abandon;
use crate::artwork::ink::INK_TOLERANCE;
use crate::artwork::mark::{Content, Mark, Operation, Role};
use crate::geometry::flatten::{Polyline, polylines};
use crate::geometry::region::Region;
use crate::geometry::stroke::{LineStyle, ink_of_line};
use crate::ids::{ArtId, IdVec, MarkId, PocketId};
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
            lines: 0.0,
        })
        .collect();
    let mut lines = matched.pockets.each(Lines::default());
    let single = most_are_open(matched);
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
            Role::Stroke(_) => {
                let own = &mut lines[pocket];
                let strokes = hatching::strokes(&mark.path).into_iter();
                own.strokes
                    .extend(strokes.filter(|(a, b)| frame.contains(*a) && frame.contains(*b)));
                let single = single || single_line(&mark.path);
                if single {
                    own.open.push(index);
                }
                let closed = single_lines(&mark.path).filter_map(|path| {
                    let line = polylines(&path, INK_TOLERANCE).pop()?;
                    (!is_open(&line) && here(&line.points)).then_some(Closed {
                        art: index,
                        path,
                        ring: line.points,
                        single,
                    })
                });
                own.closed.extend(closed);
            }
            Role::Picture => {}
        }
    }
    for (pocket, own) in lines.pairs() {
        see(own, matched, &mut all[pocket]);
    }
    all
}

/// Adds what the lines of a pocket are seen as to its other art. A letter drawn as a line along its outline is that
/// letter, and a line round a name is a frame. Lines that fill letters are those letters; others are what they burn.
fn see(own: &Lines, matched: &Matched<'_>, art: &mut OutlinedArt<'_>) {
    let OutlinedArt {
        ink, drawn, lines, ..
    } = art;
    let mark = |line: &Closed| matched.mark(matched.art[line.art].mark);
    let (single, outlines): (Vec<&Closed>, Vec<&Closed>) =
        own.closed.iter().partition(|line| line.single);
    let rings: Vec<Vec<Point>> = outlines.iter().map(|line| line.ring.clone()).collect();
    let others = drawn.iter().filter_map(|ring| frames::around(ring));
    let strokes = own.strokes.iter().map(|(a, b)| Rect::from_points(*a, *b));
    let round = frames::go_round(&rings, &others.chain(strokes).collect::<Vec<_>>());
    let mut letters: Vec<&Closed> = Vec::new();
    for (line, round) in outlines.into_iter().zip(round) {
        if round {
            let frame = unbroken(mark(line), &line.path);
            drawn.extend(frame.rings.iter().cloned());
            ink.push(frame);
        } else {
            letters.push(line);
        }
    }
    for letter in letters.chunk_by(|a, b| a.art == b.art) {
        let letter = Region::from_rings(letter.iter().map(|line| line.ring.clone()), true);
        drawn.extend(letter.rings.iter().cloned());
        ink.push(letter);
    }
    if let Some(filled) = hatching::filled(&own.strokes) {
        ink.push(filled.ink);
        *lines = filled.apart;
        ink.extend(single.into_iter().map(|line| mark(line).ink_of(&line.path)));
        return;
    }
    for art in own.open.iter().map(|index| &matched.art[*index]) {
        ink.push(art.ink().clone());
        drawn.extend(line_by_line(matched.mark(art.mark), art));
    }
}

/// What a line would burn without its dashes: a dashed frame is a frame, and no crowd of small marks.
fn unbroken(mark: &Mark, path: &BezPath) -> Region {
    let Role::Stroke(line) = &mark.role else {
        return mark.ink_of(path);
    };
    let line = LineStyle {
        dashes: Vec::new(),
        ..LineStyle::clone(line)
    };
    ink_of_line(path, &line, INK_TOLERANCE)
}

/// Whether most lines of the art are open: then those that close are letters of a single-line face as well, an o.
fn most_are_open(matched: &Matched<'_>) -> bool {
    let marks: BTreeSet<MarkId> = matched
        .art
        .iter()
        .filter(|a| a.pocket.is_some())
        .map(|a| a.mark)
        .collect();
    let stroked = marks.into_iter().filter(|m| {
        let own = matched.mark(*m);
        matches!(own.role, Role::Stroke(_)) && matched.operation(*m) != Operation::Cut
    });
    let lines = stroked.flat_map(|m| polylines(&matched.mark(m).path, INK_TOLERANCE));
    let (open, closed): (Vec<Polyline>, Vec<Polyline>) = lines.partition(is_open);
    open.len() > closed.len()
}

/// The lines of a pocket.
#[derive(Clone, Default)]
struct Lines {
    /// The straight pieces of those that do not close.
    strokes: Vec<(Point, Point)>,
    /// The art that they are of.
    open: Vec<ArtId>,
    /// Those that close.
    closed: Vec<Closed>,
}

/// A closed line.
#[derive(Clone)]
struct Closed {
    art: ArtId,
    path: BezPath,
    ring: Vec<Point>,
    /// Whether it is a letter of a single-line face.
    single: bool,
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
    polylines(path, INK_TOLERANCE).iter().any(is_open)
}

fn is_open(line: &Polyline) -> bool {
    let ends = line.points.first().zip(line.points.last());
    !line.closed && ends.is_some_and(|(a, b)| a.distance(*b) > ROUNDED)
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
