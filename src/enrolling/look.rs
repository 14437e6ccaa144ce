//! Examines a drawing: its paints, its outlines, and what each of them probably is.

use std::collections::BTreeMap;

use kurbo::{Rect, Vec2};

use crate::artwork::mark::{Artwork, Colour, Content, Paint, Role};
use crate::artwork::source::Source;
use crate::fixture::draft::{Found, FoundGroup, FoundPaint, Part};
use crate::fixture::enrol::{self, JOIN_GAP};
use crate::fixture::naming;
use crate::fixture::roles::{HOLE, nesting};
use crate::fixture::settings::Stops;
use crate::geometry::contour::{Contour, join_open};
use crate::ids::At;
use crate::units::Shown;

mod ends;

/// Contours whose sizes differ by less than this, in millimetres, count as equal in a draft.
const EQUAL: f64 = 0.05;

/// Lines no further apart than this, in millimetres, are one that was drawn twice: the usual limit of
/// `place`.
const TWICE: f64 = 0.1;

/// Wider gaps than this, in millimetres, are no slip of drawing.
const WIDEST_GAP: f64 = 1.0;

/// Blanks smaller than this, in millimetres, are not engraved in a fixture (common practice, no
/// source); smaller closed lines are holes or loading marks.
const SMALLEST_POCKET: f64 = 6.0;

/// An outline of at most this share of the one around it is a hole or a mark in it, and no zone.
const SMALL: f64 = 0.15;

/// An outline of more than this share of its pocket is the blank's own, drawn as a guide: a zone keeps a
/// margin.
const ALL_OF_IT: f64 = 0.9;

/// Of ten pockets, so many must hold an outline in another colour for these to be the zones.
const OF_TEN: usize = 8;

/// A closed contour of the drawing.
pub(super) struct Shape {
    colour: Colour,
    pub(super) contour: Contour,
    group: usize,
}

/// Looks at a drawing.
pub(super) fn look(source: &Source, artwork: &Artwork, drawing: String) -> Found {
    let page = artwork.page.rect;
    let physical = artwork.page.physical;
    let mut found = Found {
        drawing,
        page_width: if physical { page.width() } else { 0.0 },
        page_height: if physical { page.height() } else { 0.0 },
        shown: shown(source),
        hidden: artwork.marks.iter().filter(|m| m.hidden.is_some()).count(),
        unproven: artwork.unproven.len(),
        ..Found::default()
    };
    let (paints, closed, marks) = sorted(artwork);
    found.paints = paints;
    let all = closed.len();
    let mut shapes: Vec<Shape> = enrol::once(closed, TWICE)
        .into_iter()
        .map(|(colour, contour)| Shape {
            colour,
            contour,
            group: 0,
        })
        .collect();
    found.twice = all - shapes.len();
    found.groups = grouped(&mut shapes);
    let around = nesting(&shapes.iter().map(|s| &s.contour).collect::<Vec<_>>());
    let pockets = pockets(&found.groups, &shapes, &around);
    parts(&mut found, &shapes, &around, pockets);
    if let Some(pocket) = pockets {
        ends::of_pockets(&mut found, &shapes, &around, pocket, &marks);
    }
    found
}

/// The marks by paint: what is in each, its closed contours, and the small or open lines of others.
fn sorted(artwork: &Artwork) -> (Vec<FoundPaint>, Vec<(Colour, Contour)>, Vec<Rect>) {
    let mut paints: BTreeMap<Colour, FoundPaint> = BTreeMap::new();
    let mut open: BTreeMap<Colour, Vec<Contour>> = BTreeMap::new();
    let mut closed: Vec<(Colour, Contour)> = Vec::new();
    let mut filled: Vec<(Colour, Contour)> = Vec::new();
    for mark in artwork.marks.iter().filter(|m| m.hidden.is_none()) {
        let Paint::Colour(colour) = mark.paint else {
            continue;
        };
        let paint = paints.entry(colour).or_insert(FoundPaint::of(colour));
        match (&mark.content, &mark.role) {
            (Content::Lettering(_), _) => paint.lettering += 1,
            (_, Role::Stroke(_)) => {
                for contour in enrol::outline(mark) {
                    if contour.closed {
                        closed.push((colour, contour));
                    } else {
                        open.entry(colour).or_default().push(contour);
                    }
                }
            }
            _ => {
                paint.fills += 1;
                filled.extend(enrol::outline(mark).into_iter().map(|c| (colour, c)));
            }
        }
    }
    // Outlines are often drawn as lines that meet.
    let mut marks = Vec::new();
    for (colour, lines) in open {
        for (contour, _) in join_open(lines, JOIN_GAP) {
            if contour.closed {
                closed.push((colour, contour));
            } else {
                marks.push(contour.bounds);
                if let Some(paint) = paints.get_mut(&colour) {
                    paint.open += 1;
                }
            }
        }
    }
    for (colour, _) in &closed {
        if let Some(paint) = paints.get_mut(colour) {
            paint.closed += 1;
        }
    }
    if closed.is_empty() {
        closed = filled;
    }
    (paints.into_values().collect(), closed, marks)
}

/// The gap, in millimetres, that would have to be bridged for some line of a drawing to close; `None`
/// where nothing nearly closes.
pub(super) fn nearly_closed(artwork: &Artwork) -> Option<f64> {
    let strokes = artwork
        .marks
        .iter()
        .filter(|m| m.hidden.is_none() && matches!(m.role, Role::Stroke(_)));
    let open: Vec<Contour> = strokes
        .flat_map(enrol::outline)
        .filter(|c| !c.closed)
        .collect();
    let steps = std::iter::successors(Some(0.05), |gap| Some(gap * 2.0));
    steps
        .take_while(|gap| *gap <= WIDEST_GAP)
        .find(|gap| join_open(open.clone(), *gap).iter().any(|(c, _)| c.closed))
}

/// Equal contours, however they are turned, the most numerous first.
fn grouped(shapes: &mut [Shape]) -> Vec<FoundGroup> {
    let mut groups: Vec<(FoundGroup, f64, f64, Vec<usize>)> = Vec::new();
    for (index, shape) in shapes.iter().enumerate() {
        let c = &shape.contour;
        let same = |(g, area, length, _): &&mut (FoundGroup, f64, f64, Vec<usize>)| {
            g.colour == shape.colour
                && (area - c.area).abs() < EQUAL * c.length
                && (length - c.length).abs() < 4.0 * EQUAL
        };
        match groups.iter_mut().find(same) {
            Some((group, _, _, members)) => {
                group.count += 1;
                members.push(index);
            }
            None => {
                let group = FoundGroup {
                    count: 1,
                    width: c.bounds.width(),
                    height: c.bounds.height(),
                    colour: shape.colour,
                    part: Part::Other,
                };
                groups.push((group, c.area, c.length, vec![index]));
            }
        }
    }
    groups.sort_by(|a, b| {
        b.0.count
            .cmp(&a.0.count)
            .then(b.1.total_cmp(&a.1))
            .then(a.0.colour.cmp(&b.0.colour))
    });
    for (number, (.., members)) in groups.iter().enumerate() {
        for member in members {
            shapes.at_mut(*member).group = number;
        }
    }
    groups.into_iter().map(|(g, ..)| g).collect()
}

fn members(shapes: &[Shape], group: usize) -> impl Iterator<Item = (usize, &Shape)> {
    shapes
        .iter()
        .enumerate()
        .filter(move |(_, s)| s.group == group)
}

/// The group that is most likely the pockets: the most of a kind that could be one. Where one kind lies
/// in the other, piece by piece, the outer is the pockets, since nothing can be burnt into an opening;
/// unless there is one of each in one colour, where the outer is the sheet.
fn pockets(groups: &[FoundGroup], shapes: &[Shape], around: &[Vec<usize>]) -> Option<usize> {
    let holes: Vec<bool> = (0..groups.len())
        .map(|g| members(shapes, g).all(|(i, s)| is_hole(i, s, groups, shapes, around)))
        .collect();
    let could = |g: usize| groups.at(g).narrow() >= SMALLEST_POCKET && !holes.at(g);
    let inside = |inner: usize, outer: usize| {
        members(shapes, inner)
            .all(|(i, _)| around.at(i).iter().any(|o| shapes.at(*o).group == outer))
    };
    let count = |g: usize| groups.at(g).count;
    let mut best: Option<usize> = None;
    for g in (0..groups.len()).filter(|g| could(*g)) {
        let better = best.is_none_or(|b| match count(g).cmp(&count(b)) {
            std::cmp::Ordering::Greater => true,
            std::cmp::Ordering::Less => false,
            std::cmp::Ordering::Equal if inside(b, g) => {
                !outer_is_sheet(g, b, groups, shapes, around)
            }
            std::cmp::Ordering::Equal => {
                inside(g, b) && outer_is_sheet(b, g, groups, shapes, around)
            }
        });
        if better {
            best = Some(g);
        }
    }
    best.or_else(|| (0..groups.len()).find(|g| could(*g)))
}

/// Of two kinds of which one lies in the other, whether the outer is the sheet or a frame.
fn outer_is_sheet(
    outer: usize,
    inner: usize,
    groups: &[FoundGroup],
    shapes: &[Shape],
    around: &[Vec<usize>],
) -> bool {
    let (o, i) = (groups.at(outer), groups.at(inner));
    if o.count == 1 {
        return o.colour == i.colour || i.width * i.height < SMALL * o.width * o.height;
    }
    // A sheet around all, in the colour of the inner ones alone, says that those are cut.
    let sheets: Vec<Colour> = members(shapes, outer)
        .filter_map(|(n, _)| around.at(n).last())
        .map(|s| shapes.at(*s).colour)
        .collect();
    !sheets.is_empty() && sheets.iter().all(|c| *c == i.colour && *c != o.colour)
}

/// Whether a shape is small in the one around it, and that one is no sheet: it lies in another itself,
/// or there are several of its kind.
fn is_hole(
    index: usize,
    shape: &Shape,
    groups: &[FoundGroup],
    shapes: &[Shape],
    around: &[Vec<usize>],
) -> bool {
    let Some(at) = around.at(index).first() else {
        return false;
    };
    let outer = shapes.at(*at);
    let several = groups.at(outer.group).count > 1;
    let lies_in_another = !around.at(*at).is_empty();
    let b = shape.contour.bounds;
    shape.contour.area <= SMALL * outer.contour.area
        && b.width().max(b.height()) <= HOLE
        && (several || lies_in_another)
}

/// Says of each group what it probably is.
fn parts(found: &mut Found, shapes: &[Shape], around: &[Vec<usize>], pockets: Option<usize>) {
    let Some(pockets) = pockets else { return };
    let pocket_of = |i: usize| {
        let mut outer = around.at(i).iter();
        outer.find(|o| shapes.at(**o).group == pockets).copied()
    };
    let holds_pockets = |i: usize| {
        around
            .iter()
            .zip(shapes)
            .any(|(a, s)| s.group == pockets && a.contains(&i))
    };
    let holds_any = |i: usize| around.iter().any(|a| a.contains(&i));
    let &FoundGroup {
        colour: cut, count, ..
    } = found.groups.at(pockets);
    let told: Vec<Part> = (found.groups.iter().enumerate())
        .map(|(g, group)| {
            let all: Vec<usize> = members(shapes, g).map(|(i, _)| i).collect();
            let inside = all.iter().filter(|i| pocket_of(**i).is_some()).count();
            if g == pockets {
                Part::Pocket
            } else if inside == all.len() {
                let large = all.iter().all(|i| {
                    pocket_of(*i).is_some_and(|p| {
                        let share = shapes.at(*i).contour.area / shapes.at(p).contour.area;
                        share > SMALL && share < ALL_OF_IT
                    })
                });
                if large && group.colour != cut && 10 * inside >= OF_TEN * count {
                    Part::Zone
                } else {
                    Part::Hole
                }
            } else if all.iter().any(|i| holds_pockets(*i)) {
                Part::Sheet
            } else if all.iter().any(|i| holds_any(*i)) {
                Part::Around
            } else if group.colour == cut && group.narrow() >= SMALLEST_POCKET {
                Part::Perhaps
            } else {
                Part::Other
            }
        })
        .collect();
    for (group, part) in found.groups.iter_mut().zip(told) {
        group.part = part;
    }
    // A colour that is also used for lines outside the pockets is not the colour of the zones.
    let zone_colours: Vec<Colour> = found
        .groups
        .iter()
        .filter(|g| g.part == Part::Zone)
        .map(|g| g.colour)
        .collect();
    found.zones = zone_colours.first().copied().filter(|c| {
        found
            .groups
            .iter()
            .all(|g| g.colour != *c || matches!(g.part, Part::Zone))
            && found
                .paints
                .iter()
                .all(|p| p.colour != *c || (p.open == 0 && p.fills == 0))
    });
}

/// The names that pockets get, counted from the stops that a draft guesses.
fn names(boxes: &[Rect]) -> Vec<(usize, String)> {
    let numbered: Vec<(usize, Rect)> = boxes.iter().copied().enumerate().collect();
    naming::name(&numbered, Stops::default())
}

/// The direction on the bed that a vector points to, as settings say it.
fn word(v: Vec2) -> &'static str {
    if v.x.abs() > v.y.abs() {
        if v.x > 0.0 { "right" } else { "left" }
    } else if v.y > 0.0 {
        "front"
    } else {
        "back"
    }
}

/// The unit that a drawing states its page in.
fn shown(source: &Source) -> Shown {
    let stated = source.xml().ok().and_then(|document| {
        let width = document.root_element().attribute("width")?;
        Some(width.trim().to_ascii_lowercase().ends_with("in"))
    });
    if stated == Some(true) {
        Shown::Inch
    } else {
        Shown::Mm
    }
}
