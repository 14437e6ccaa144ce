//! `doubled`: the same mark twice on the same place.

use std::collections::{BTreeMap, BTreeSet};
use std::slice;

use kurbo::{Point, Rect, Shape as _};

use super::{Info, info, thing};
use crate::artwork::mark::{Content, Mark, Operation, Paint, Role};
use crate::finding::{Finding, Location};
use crate::fixture::lock::operation_word;
use crate::geometry::boxes::Boxes;
use crate::geometry::equality::{equal, first_alike};
use crate::geometry::flatten::{Polyline, polylines};
use crate::geometry::overlap::{Retraced, Run, retraced};
use crate::geometry::region::Region;
use crate::ids::{At, MarkId};
use crate::matching::Job;
use crate::remedy::Remedy;
use crate::wording::sentence;

mod gone;
use gone::{one_gone, part_gone, shorter_gone, twin_at};

pub(crate) static INFO: Info = info!("doubled", Hold, Blank);

/// How finely lines are made straight before they are compared, in millimetres: finer than
/// [`SHARED`], or a curve would not lie on its own copy.
const STRAIGHT: f64 = 0.002;

/// Two lines share a stretch only where they lie this close, in millimetres. Wider, and circles that
/// merely touch would share one; narrower, and files rounded to 0.01 mm would not.
const SHARED: f64 = 0.01;

/// The shortest shared stretch that counts, in millimetres, where it is straight and where it bends:
/// round shapes that touch lie within [`SHARED`] of each other for longer.
const STRETCH: (f64, f64) = (1.0, 3.0);

/// A line that lies on another all along counts from this length on, in millimetres; a shorter one
/// only if the other is no longer. A tick that ends on a line is no copy of it.
const SHORTEST: f64 = 1.0;

/// So many copies are told how to be put right: of a hundred thousand clones, the places alone in the file
/// take as much memory as the rest of the inspection.
const MOST_REMEDIED: usize = 2_000;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let near = job.fixture.settings.limits.place / 2.0;
    for operation in [Operation::Cut, Operation::Score, Operation::Engrave] {
        let marks: Vec<(MarkId, &Mark)> = job
            .live()
            .filter(|(_, m, o)| *o == operation && listed(job, m))
            .map(|(i, m, _)| (i, m))
            .collect();
        lines(job, operation, &marks, near, out);
        areas(job, &marks, near, out);
        pictures(job, &marks, near, out);
    }
}

/// Full-colour art under unlisted paints is one picture, in which shapes lie on shapes.
fn listed(job: &Job<'_>, mark: &Mark) -> bool {
    match &mark.paint {
        Paint::Colour(c) => job.fixture.settings.listed(*c).is_some(),
        Paint::Pixels => true,
        _ => false,
    }
}

/// Lines on lines.
fn lines(
    job: &Job<'_>,
    operation: Operation,
    marks: &[(MarkId, &Mark)],
    near: f64,
    out: &mut Vec<Finding>,
) {
    let mut of = Vec::new();
    let mut all: Vec<Polyline> = Vec::new();
    for (_, mark) in marks
        .iter()
        .filter(|(_, m)| matches!(m.role, Role::Stroke(_)))
    {
        for line in shown(mark) {
            of.push(*mark);
            all.push(line);
        }
    }
    let lengths: Vec<f64> = all.iter().map(length).collect();
    let length_of = |i: usize| *lengths.at(i);
    let whole = |r: &Retraced| r.length() >= length_of(r.line) - 2.0 * near;
    // Of exact copies the first stands for all, and each of the others lies on it. Compared with each
    // other, a thousand would make a million pairs.
    let firsts = first_alike(all.iter().map(|l| (l.closed, slice::from_ref(&l.points))));
    let compared = compare_firsts(&all, &firsts, near);
    let copies: Vec<Retraced> = (compared.into_iter())
        .chain(exact_copies(&all, &firsts, &lengths))
        .collect();
    let whole_pairs: BTreeSet<(usize, usize)> = copies
        .iter()
        .filter(|r| whole(r))
        .map(|r| (r.line, r.on))
        .collect();
    let mutual = |r: &Retraced| whole_pairs.contains(&(r.on, r.line));
    let mut said: BTreeSet<(usize, usize)> = BTreeSet::new();
    let mut say = |r: &Retraced, run: &Run, length: f64, whole: bool| {
        let (mark, other) = (*of.at(r.line), *of.at(r.on));
        if !said.insert((r.line.min(r.on), r.line.max(r.on))) {
            return;
        }
        let along = if whole { "all along" } else { "in part" };
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, bounds(all.at(r.line))),
                format!(
                    "{} marked \"{}\" lies on another one {along}, for {}: the laser would run there twice",
                    sentence(&thing(mark)),
                    operation_word(operation),
                    job.shown().length(length)
                ),
                if whole && mutual(r) {
                    format!("delete one of the two{}", twin_at(Some(other)))
                } else if whole {
                    format!("delete it, and leave the longer one{}", twin_at(Some(other)))
                } else {
                    "let one of the two end where the other begins, or delete what is there twice".to_owned()
                },
            )
            .in_pocket(job.name_at(run.at))
            .measured("length run twice", length, 0.0, "mm")
            .remedied(if said.len() > MOST_REMEDIED {
                Remedy::default()
            } else if whole && mutual(r) {
                one_gone(job, mark, other, near)
            } else if whole && of.iter().filter(|m| std::ptr::eq(**m, mark)).count() == 1 {
                shorter_gone(job, mark, other, near)
            } else {
                Remedy::default()
            }),
        );
    };
    for r in copies.iter().filter(|r| whole(r)) {
        let (own, other) = (length_of(r.line), length_of(r.on));
        let mutual = mutual(r);
        // Of two copies the later is spoken of; of a part and a whole, the part.
        if mutual && r.line < r.on || !mutual && own < SHORTEST || own <= 4.0 * near.min(other) {
            continue;
        }
        // One line of lettering may run over another of the same letters; a copy is another mark.
        if same(&of, r) && (lettering(&of, r) || !mutual && operation != Operation::Cut) {
            continue;
        }
        if let Some(run) = longest(&r.runs) {
            say(r, run, own, true);
        }
    }
    if operation == Operation::Engrave {
        return;
    }
    // Parts: only where lines are followed, and lettering is not compared with itself.
    for r in compare_firsts(&all, &firsts, SHARED.min(near)) {
        if r.line < r.on || same(&of, &r) && (lettering(&of, &r) || operation != Operation::Cut) {
            continue;
        }
        let counts = |run: &&Run| run.straight >= STRETCH.0 || run.length() >= STRETCH.1;
        let length: f64 = r.runs.iter().filter(counts).map(Run::length).sum();
        if let Some(run) = r
            .runs
            .iter()
            .filter(counts)
            .max_by(|a, b| a.length().total_cmp(&b.length()))
        {
            say(&r, run, length, false);
        }
    }
}

/// Which of the lines that are no exact copy of an earlier one run along each other.
fn compare_firsts(all: &[Polyline], firsts: &[usize], near: f64) -> Vec<Retraced> {
    let numbers: Vec<usize> = (0..all.len()).filter(|i| firsts.at(*i) == i).collect();
    let lines: Vec<&Polyline> = numbers.iter().map(|i| all.at(*i)).collect();
    let mut found = retraced(&lines, near);
    for r in &mut found {
        (r.line, r.on) = (*numbers.at(r.line), *numbers.at(r.on));
    }
    found
}

/// Exact copies lie on the first of them all along, and the first on them.
fn exact_copies(all: &[Polyline], firsts: &[usize], lengths: &[f64]) -> Vec<Retraced> {
    let mut out = Vec::new();
    for (copy, first) in firsts.iter().enumerate().filter(|(i, first)| i != *first) {
        let longest = |best: Option<(Point, Point)>, (a, b): (Point, Point)| match best {
            Some((p, q)) if p.distance(q) >= a.distance(b) => best,
            _ => Some((a, b)),
        };
        let Some((a, b)) = all.at(copy).edges().fold(None, longest) else {
            continue;
        };
        let run = Run {
            from: 0.0,
            to: *lengths.at(copy),
            straight: a.distance(b),
            at: a.midpoint(b),
        };
        for (line, on) in [(copy, *first), (*first, copy)] {
            out.push(Retraced {
                line,
                on,
                runs: vec![run],
            });
        }
    }
    out
}

fn same(of: &[&Mark], r: &Retraced) -> bool {
    std::ptr::eq(*of.at(r.line), *of.at(r.on))
}

fn lettering(of: &[&Mark], r: &Retraced) -> bool {
    matches!(of.at(r.line).content, Content::Lettering(_))
}

fn longest(runs: &[Run]) -> Option<&Run> {
    runs.iter().max_by(|a, b| a.length().total_cmp(&b.length()))
}

fn length(line: &Polyline) -> f64 {
    line.edges().map(|(a, b)| a.distance(b)).sum()
}

fn bounds(line: &Polyline) -> Rect {
    let mut points = line.points.iter();
    let Some(&first) = points.next() else {
        return Rect::ZERO;
    };
    points.fold(Rect::from_points(first, first), |r, p| r.union_pt(*p))
}

/// The lines of a mark, as far as its clip leaves them.
fn shown(mark: &Mark) -> Vec<Polyline> {
    let lines = polylines(&mark.path, STRAIGHT);
    let Some(clip) = &mark.clip else { return lines };
    let mut left = Vec::new();
    for line in lines {
        let mut part: Vec<Point> = Vec::new();
        for (a, b) in line.edges() {
            if clip.contains(a.midpoint(b)) {
                if part.is_empty() {
                    part.push(a);
                }
                part.push(b);
            } else if !part.is_empty() {
                left.push(Polyline {
                    points: std::mem::take(&mut part),
                    closed: false,
                });
            }
        }
        if !part.is_empty() {
            left.push(Polyline {
                points: part,
                closed: false,
            });
        }
    }
    left
}

/// Filled areas on equal ones. Each part that lies by itself is compared: one of two copies may have
/// been merged with other shapes since.
fn areas(job: &Job<'_>, marks: &[(MarkId, &Mark)], near: f64, out: &mut Vec<Finding>) {
    let fills: Vec<(MarkId, &Mark)> = marks
        .iter()
        .filter(|(_, m)| matches!(m.role, Role::Fill { .. }))
        .copied()
        .collect();
    // An area that nothing touches has no twin, and its ink need not be known.
    let near_others: Vec<usize> = fills
        .iter()
        .enumerate()
        .filter(|(_, (number, _))| !job.alone(*number))
        .map(|(i, _)| i)
        .collect();
    let everywhere = Rect::new(f64::MIN, f64::MIN, f64::MAX, f64::MAX);
    let reach = |i: &usize| fills.at(*i).1.reach().unwrap_or(everywhere);
    // Nor has one that no other area of its kind touches.
    let tree = Boxes::new(near_others.iter().map(reach));
    let touched = near_others.into_iter().filter(|i| tree.several(reach(i)));
    // A twin's outer ring has the same box: first the rings, which are at hand, then the parts.
    let mut rings: Vec<(usize, Rect)> = Vec::new();
    for i in touched {
        for ring in &fills.at(i).1.ink().rings {
            let bounds = bounds(&Polyline {
                points: ring.clone(),
                closed: true,
            });
            if bounds.width().max(bounds.height()) > 2.0 * near {
                rings.push((i, bounds));
            }
        }
    }
    let parts: Vec<(usize, Region, Rect)> = with_a_like(&rings, near)
        .into_iter()
        .flat_map(|i| {
            fills
                .at(i)
                .1
                .ink()
                .pieces()
                .into_iter()
                .map(move |p| (i, p))
        })
        .filter_map(|(i, part)| part.bounds().map(|bounds| (i, part, bounds)))
        .collect();
    let mut count = vec![0_usize; fills.len()];
    for (owner, ..) in &parts {
        *count.at_mut(*owner) += 1;
    }
    for (told, ((a, b), twins)) in twins(&parts, near).into_iter().enumerate() {
        let (mark, earlier) = (fills.at(b).1, fills.at(a).1);
        let mut doubled: BTreeMap<Option<&str>, Rect> = BTreeMap::new();
        for (_, part) in &twins {
            let place = &parts.at(*part).2;
            let pocket = job.name_at(place.center());
            doubled
                .entry(pocket)
                .and_modify(|r| *r = r.union(*place))
                .or_insert(*place);
        }
        for (pocket, place) in doubled {
            let all = twins.len() == *count.at(a) && twins.len() == *count.at(b);
            out.push(twice(mark, place, earlier).in_pocket(pocket).remedied(
                if told >= MOST_REMEDIED {
                    Remedy::default()
                } else if all {
                    one_gone(job, mark, earlier, near)
                } else {
                    part_gone(job, mark, place)
                },
            ));
        }
    }
}

/// Of each part the first equal one of an earlier mark, by the pair of marks. Of several copies each later
/// one is told of once.
fn twins(
    parts: &[(usize, Region, Rect)],
    near: f64,
) -> BTreeMap<(usize, usize), Vec<(usize, usize)>> {
    let firsts = first_alike(parts.iter().map(|(_, p, _)| (true, p.rings.as_slice())));
    let compared: Vec<usize> = (0..parts.len()).filter(|i| firsts.at(*i) == i).collect();
    let tree = Boxes::new(compared.iter().map(|i| corner(&parts.at(*i).2)));
    let mut pairs: BTreeMap<(usize, usize), Vec<(usize, usize)>> = BTreeMap::new();
    for (number, (owner, part, place)) in parts.iter().enumerate() {
        let exact = Some(*firsts.at(number)).filter(|first| *first != number);
        let first = exact.or_else(|| {
            let mut like = tree.touching(corner(place).inflate(near, near)).into_iter();
            like.find_map(|i| {
                let other = *compared.at(i);
                let (whose, like, at) = parts.at(other);
                (whose < owner && ends_alike(place, at, near) && equal(like, part, near))
                    .then_some(other)
            })
        });
        if let Some(first) = first {
            let pair = (parts.at(first).0, *owner);
            pairs.entry(pair).or_default().push((first, number));
        }
    }
    pairs
}

/// Pictures on equal ones: the same pixels at the same place.
fn pictures(job: &Job<'_>, marks: &[(MarkId, &Mark)], near: f64, out: &mut Vec<Finding>) {
    let mut placed = Vec::new();
    for (_, mark) in marks {
        if let Content::Picture(p) = &mark.content {
            placed.push((*mark, p, p.frame().bounding_box()));
        }
    }
    let boxes: Vec<(usize, Rect)> = placed.iter().map(|p| p.2).enumerate().collect();
    for (a, b) in alike(&boxes, near) {
        let ((earlier, first, _), (mark, second, place)) = (placed.at(a), placed.at(b));
        let corners = [
            Point::new(0.0, 0.0),
            Point::new(1.0, 0.0),
            Point::new(0.0, 1.0),
        ];
        let together = corners
            .iter()
            .all(|c| (first.placed * *c).distance(second.placed * *c) <= near);
        let inked = first.inked.is_some() && first.inked == second.inked;
        if together && inked && first.pixels == second.pixels {
            out.push(
                twice(mark, *place, earlier)
                    .in_pocket(job.name_at(place.center()))
                    .remedied(one_gone(job, mark, earlier, near)),
            );
        }
    }
}

/// Pairs of owners, the earlier first, whose boxes agree within `near` on all four sides.
fn alike(boxes: &[(usize, Rect)], near: f64) -> Vec<(usize, usize)> {
    let tree = Boxes::new(boxes.iter().map(|(_, r)| corner(r)));
    let mut pairs = Vec::new();
    for (owner, r) in boxes {
        for other in tree.touching(corner(r).inflate(near, near)) {
            let (second, s) = boxes.at(other);
            if owner < second && ends_alike(r, s, near) {
                pairs.push((*owner, *second));
            }
        }
    }
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

/// Owners of boxes that agree with one of another owner within `near` on all four sides.
fn with_a_like(boxes: &[(usize, Rect)], near: f64) -> BTreeSet<usize> {
    let tree = Boxes::new(boxes.iter().map(|(_, r)| corner(r)));
    let has = |(owner, r): &&(usize, Rect)| {
        tree.any_touching(corner(r).inflate(near, near), |i| {
            let (other, s) = boxes.at(i);
            other != owner && ends_alike(r, s, near)
        })
    };
    boxes.iter().filter(has).map(|(owner, _)| *owner).collect()
}

/// A box is looked for by one corner: boxes that agree have that in common, and few others do.
fn corner(r: &Rect) -> Rect {
    Rect::new(r.x0, r.y0, r.x0, r.y0)
}

/// Whether boxes whose corners agree have the other two sides in common as well.
fn ends_alike(a: &Rect, b: &Rect, near: f64) -> bool {
    (a.x1 - b.x1).abs() <= near && (a.y1 - b.y1).abs() <= near
}

fn twice(mark: &Mark, place: Rect, earlier: &Mark) -> Finding {
    Finding::new(
        &INFO,
        &Location::Mark(&mark.origin, place),
        format!(
            "{} lies twice on the same place: the laser would burn it twice",
            sentence(&thing(mark))
        ),
        format!("delete one of the two{}", twin_at(Some(earlier))),
    )
}
