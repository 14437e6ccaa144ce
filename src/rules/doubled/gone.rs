//! What is there twice, deleted once.

use kurbo::Rect;

use crate::artwork::ink::INK_TOLERANCE;
use crate::artwork::mark::{Mark, Operation, Paint, Role};
use crate::ids::MarkId;
use crate::matching::Job;
use crate::remedy::{Change, Remedy, Way, What};
use crate::rules::change;

/// One of two equal marks deleted, the later first: with its whole element, if all that the element
/// burns is there twice. Of two widths the wider stays.
pub(super) fn one_gone(job: &Job<'_>, mark: &Mark, twin: &Mark, near: f64) -> Remedy {
    let burnt = |of: &Mark| -> Vec<&Mark> { burnt_with(job, of).collect() };
    let (own, others) = (burnt(mark), burnt(twin));
    let alike = |(a, b): (&&Mark, &&Mark)| {
        a.path.elements().len() == b.path.elements().len() && a.paint == b.paint
    };
    let one_element = own.iter().any(|m| std::ptr::eq(*m, twin));
    if one_element || own.len() != others.len() || !own.iter().zip(&others).all(alike) {
        return Remedy::default();
    }
    let mut ways = [(mark, twin, &own, &others), (twin, mark, &others, &own)];
    if mark.ink().area() > (1.0 + ROUNDED_OFF) * twin.ink().area() {
        ways.reverse();
    }
    let ways = ways.into_iter().filter(|(_, _, gone, stays)| {
        let mut pairs = gone.iter().zip(*stays);
        pairs.all(|(a, b)| burnt_as_well(job, a, b, near))
    });
    Remedy::certain(ways.map(|(gone, stays, ..)| {
        Way::new(
            "delete",
            format!("delete one of the two{}", twin_at(Some(stays))),
            vec![Change::of(job.drawn_with(gone).to_vec(), What::Delete)],
        )
    }))
}

/// A line that lies on a longer one all along deleted, if its element burns nothing else.
pub(super) fn shorter_gone(job: &Job<'_>, mark: &Mark, longer: &Mark, near: f64) -> Remedy {
    if burnt_with(job, mark).count() != 1 || !burnt_as_well(job, mark, longer, near) {
        return Remedy::default();
    }
    let change = Change::of(job.drawn_with(mark).to_vec(), What::Delete);
    let says = format!(
        "delete it, and leave the longer one{}",
        twin_at(Some(longer))
    );
    Remedy::certain([Way::new("delete", says, vec![change])])
}

/// What the element of a mark burns.
fn burnt_with<'j>(job: &'j Job<'_>, mark: &Mark) -> impl Iterator<Item = &'j Mark> {
    let live = |m: &&MarkId| job.operation(**m).live();
    job.drawn_with(mark)
        .iter()
        .filter(live)
        .map(|m| job.mark(*m))
}

/// Whether what one mark burns is burnt where only the other is left. The laser follows a line that is cut
/// or scored, however wide it is drawn.
fn burnt_as_well(job: &Job<'_>, gone: &Mark, left: &Mark, near: f64) -> bool {
    let (burnt, Paint::Colour(paint)) = (gone.ink(), &gone.paint) else {
        return true;
    };
    let width = |mark: &Mark| match &mark.role {
        Role::Stroke(style) => style.width * style.pen.determinant().abs().sqrt(),
        _ => 0.0,
    };
    let wider = match job.fixture.settings.listed(*paint) {
        Some(Operation::Engrave) => 0.0,
        _ => (width(gone) - width(left)).max(0.0) / 2.0,
    };
    // Twice: each of the two lines may have been rounded the other way.
    let room = left.ink().grown(2.0 * near + wider, INK_TOLERANCE);
    // A line without width has no ink to go by.
    !burnt.is_empty() && burnt.subtract(&room).area() <= ROUNDED_OFF * burnt.area()
}

/// So much of a mark's ink may lie outside that of its double, as a share: corners of grown ink are cut.
const ROUNDED_OFF: f64 = 0.01;

/// A part of a mark that lies on an equal part of another one, deleted.
pub(super) fn part_gone(job: &Job<'_>, mark: &Mark, part: Rect) -> Remedy {
    let marks = &job.artwork.marks;
    let number = marks
        .ids()
        .find(|m| std::ptr::eq(&raw const marks[*m], mark));
    Remedy::certain(number.map(|number| {
        let gone = Change::of(vec![number], What::Delete).within(Some(change::part(part)));
        Way::new("delete", "delete one of the two", vec![gone])
    }))
}

/// Which one the other is, as far as the file has a name for it.
pub(super) fn twin_at(mark: Option<&Mark>) -> String {
    mark.and_then(|m| m.origin.id.as_ref())
        .map(|id| format!(" (the other has the id \"{}\")", crate::wording::short(id)))
        .unwrap_or_default()
}
