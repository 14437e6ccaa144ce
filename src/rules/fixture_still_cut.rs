//! `fixture-still-cut`: anything locked (outline or loading mark) in any operation but `off`.

use kurbo::Rect;

use super::{Info, info};
use crate::artwork::mark::{Mark, Operation};
use crate::finding::{Finding, Location, Source};
use crate::fixture::lock::{OutlineKind, operation_word};
use crate::ids::{At, MarkId};
use crate::matching::Job;
use crate::matching::contours::Found;
use crate::remedy::{Change, Remedy, Way, What};

pub(crate) static INFO: Info = info!("fixture-still-cut", Hold, Fixture);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let live = lines(job);
    if live.len() >= MANY {
        out.extend(together(job, &live));
        return;
    }
    for line in live {
        let what = match line.kind {
            OutlineKind::Pocket => "The pocket's outline",
            OutlineKind::Edge => "The sheet's edge",
            OutlineKind::Mark => "A line that belongs to the fixture",
        };
        let message = format!(
            "{what} is still {}: the laser would run along it and damage the fixture",
            doing(line.operation)
        );
        let ways = switched_off(job, &line.marks, "it");
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&line.mark.origin, line.bounds),
                message,
                BY_HAND,
            )
            .in_pocket(line.pocket)
            .remedied(Remedy::certain(ways)),
        );
    }
}

/// From how many lines on they are told as one thing: a layer left live, and no slip of a line.
const MANY: usize = 3;

const BY_HAND: &str =
    "give the fixture's lines a paint that is off, or take them out of the file before sending";

/// A line of the fixture that would be run.
struct Live<'j> {
    kind: OutlineKind,
    operation: Operation,
    mark: &'j Mark,
    marks: Vec<MarkId>,
    bounds: Rect,
    pocket: Option<&'j str>,
}

fn lines<'j>(job: &'j Job<'_>) -> Vec<Live<'j>> {
    let mut lines = Vec::new();
    for (index, locked) in job.fixture.lock.outlines.pairs() {
        let live: Vec<&Found> = job.outlines[index]
            .found()
            .iter()
            .map(|i| &job.contours.all[*i])
            .filter(|f| f.operation.live())
            .collect();
        let Some(worst) = live.iter().min_by_key(|f| f.operation) else {
            continue;
        };
        let mut marks = worst.marks.iter();
        let mark = marks.find(|m| job.operation(**m) == worst.operation);
        let mark = job.mark(*mark.unwrap_or(worst.marks.at(0)));
        let marks = live.iter().flat_map(|f| f.marks.iter().copied());
        lines.push(Live {
            kind: locked.kind,
            operation: worst.operation,
            mark,
            marks: marks.filter(|m| job.operation(*m).live()).collect(),
            bounds: worst.contour.bounds,
            pocket: job.pocket_of(index).map(|p| p.name.as_str()),
        });
    }
    lines
}

/// Many lines as one finding with many places.
fn together(job: &Job<'_>, live: &[Live<'_>]) -> Option<Finding> {
    let first = live.iter().min_by_key(|l| l.operation)?;
    let all = job
        .outlines
        .iter()
        .filter(|o| !o.found().is_empty())
        .count();
    let subject = if live.len() == all {
        format!("The whole fixture is still {}", doing(first.operation))
    } else {
        format!("Much of the fixture is still {}", doing(first.operation))
    };
    let marks: Vec<MarkId> = live.iter().flat_map(|l| l.marks.iter().copied()).collect();
    Some(
        Finding::new(
            &INFO,
            &Location::Mark(&first.mark.origin, first.bounds),
            format!(
                "{subject}: {} lines, and the laser would run along them and damage it",
                live.len()
            ),
            BY_HAND,
        )
        .measured("lines", live.len() as f64, 0.0, "")
        .also(
            live.iter()
                .filter(|l| !std::ptr::eq(*l, first))
                .map(|l| (Source::from(&l.mark.origin), l.bounds)),
        )
        .remedied(Remedy::certain(switched_off(job, &marks, "all of them"))),
    )
}

fn doing(operation: Operation) -> String {
    match operation {
        Operation::Unknown => "in a paint that no operation claims".to_owned(),
        other => format!("marked \"{}\"", operation_word(other)),
    }
}

/// The lines in a paint that is off; none where art is part of the same line.
fn switched_off(job: &Job<'_>, marks: &[MarkId], thing: &'static str) -> Vec<Way> {
    let Some(paint) = job.fixture.settings.first_paint(Operation::Off) else {
        return Vec::new();
    };
    if marks.iter().any(|m| !job.art_of(*m).is_empty()) {
        return Vec::new();
    }
    let change = Change::of(marks.to_vec(), What::Paint(paint)).called(thing);
    let says = format!(
        "give {thing} the paint {paint}, which is off, or take {} out of the file",
        if thing == "it" { "it" } else { "them" }
    );
    vec![Way::new("paint", says, vec![change])]
}
