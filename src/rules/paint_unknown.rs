//! `paint-unknown`: a paint that no operation claims.

use std::collections::BTreeMap;

use super::hidden_but_live::white;
use super::{Info, info, thing};
use crate::artwork::colour::distance;
use crate::artwork::mark::{Operation, Paint};
use crate::finding::{Finding, Location};
use crate::fixture::lock::operation_word;
use crate::ids::{MarkId, OutlineId};
use crate::matching::Job;
use crate::remedy::{Change, Remedy, Way, What};
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("paint-unknown", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    // One finding a paint and pocket: a file in the wrong paint has hundreds of marks in it.
    let mut alike: BTreeMap<(Option<OutlineId>, String), Vec<MarkId>> = BTreeMap::new();
    for (index, mark, operation) in job.live() {
        if operation == Operation::Unknown {
            let pocket = job.pocket_of_mark(index).map(|p| p.outline);
            let (paint, ..) = describe(job, &mark.paint);
            alike.entry((pocket, paint)).or_default().push(index);
        }
    }
    for marks in alike.into_values() {
        let [index, ..] = marks.as_slice() else {
            continue;
        };
        let mark = job.mark(*index);
        let pocket = job.pocket_of_mark(*index);
        let (paint, help, away) = describe(job, &mark.paint);
        let place = match mark.ink().bounds() {
            Some(bed) => Location::Mark(&mark.origin, bed),
            None => Location::File(&mark.origin),
        };
        let mut finding = Finding::new(
            &INFO,
            &place,
            format!(
                "{} is in {paint}, which no operation claims",
                sentence(&thing(mark))
            ),
            help,
        )
        .in_pocket(pocket.map(|p| p.name.as_str()))
        .remedied(Remedy::choose(listed(job, &marks)));
        if let Some(away) = away {
            finding = finding.measured("colour difference", away, 0.0, "");
        }
        out.push(finding);
    }
}

/// The marks in the first paint of each operation that the settings list.
fn listed(job: &Job<'_>, marks: &[MarkId]) -> Vec<Way> {
    [
        (Operation::Engrave, "it is to be engraved"),
        (Operation::Score, "it is to be scored"),
        (Operation::Off, "it is not to be run"),
    ]
    .into_iter()
    .filter_map(|(operation, assumes)| {
        let paint = job.fixture.settings.first_paint(operation)?;
        let change = Change::of(marks.to_vec(), What::Paint(paint));
        let way = Way::worded(operation_word(operation), vec![change], job.shown());
        Some(way.assuming(assumes))
    })
    .collect()
}

/// The paint in words, what to do, and the distance to the nearest listed paint.
fn describe(job: &Job<'_>, paint: &Paint) -> (String, String, Option<f64>) {
    let settings = &job.fixture.settings;
    match paint {
        Paint::Colour(colour) => {
            let words = if white(*colour) {
                format!("{colour} (white: you cannot see it on this page)")
            } else {
                colour.to_string()
            };
            let nearest = settings
                .paints
                .listed
                .iter()
                .map(|(known, operation)| (distance(*colour, *known), *known, *operation))
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            match nearest {
                Some((away, known, operation)) => (
                    words,
                    format!(
                        "give it a listed paint; the nearest is {known} ({}), at a colour difference of {away:.1}",
                        operation_word(operation)
                    ),
                    Some(away),
                ),
                None => (words, "give it a listed paint".to_owned(), None),
            }
        }
        Paint::Server { kind, id } => (
            format!("a {} (\"{}\")", plain(kind), crate::wording::short(id)),
            "give it a plain listed paint, or flatten it to a picture".to_owned(),
            None,
        ),
        Paint::Unread(text) => (
            format!(
                "the paint \"{}\", which cannot be read",
                crate::wording::short(text)
            ),
            "give it a plain listed paint".to_owned(),
            None,
        ),
        Paint::None | Paint::Pixels => (
            "no paint".to_owned(),
            "give it a listed paint".to_owned(),
            None,
        ),
    }
}

fn plain(kind: &str) -> &'static str {
    match kind {
        "pattern" | "hatch" => "pattern",
        "solidcolor" | "solidColor" => "named colour",
        _ => "gradient",
    }
}
