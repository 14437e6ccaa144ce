//! `paint-unknown`: a paint that no operation claims.

use crate::wording::sentence;
use std::collections::BTreeSet;

use super::{Info, Rule, info, thing};
use crate::artwork::colour::distance;
use crate::artwork::mark::{Operation, Paint};
use crate::finding::{Finding, Location};
use crate::fixture::lock::operation_word;
use crate::ids::OutlineId;
use crate::matching::Job;

/// See the module's page.
pub(crate) struct PaintUnknown;

static INFO: Info = info!("paint-unknown", Hold, Blank);

impl Rule for PaintUnknown {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        // One finding a paint and pocket: a file in the wrong paint has hundreds of marks in it.
        let mut said: BTreeSet<(Option<OutlineId>, String)> = BTreeSet::new();
        for (index, mark, operation) in job.live() {
            if operation != Operation::Unknown {
                continue;
            }
            let pocket = job.pocket_of_mark(index);
            let (paint, help, away) = describe(job, &mark.paint);
            if !said.insert((pocket.map(|p| p.outline), paint.clone())) {
                continue;
            }
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
            .in_pocket(pocket.map(|p| p.name.as_str()));
            if let Some(away) = away {
                finding = finding.measured("colour difference", away, 0.0, "");
            }
            out.push(finding);
        }
    }
}

/// The paint in words, what to do, and the distance to the nearest listed paint.
fn describe(job: &Job<'_>, paint: &Paint) -> (String, String, Option<f64>) {
    let settings = &job.fixture.settings;
    match paint {
        Paint::Colour(colour) => {
            let nearest = settings
                .paints
                .listed
                .iter()
                .map(|(known, operation)| (distance(*colour, *known), *known, *operation))
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            match nearest {
                Some((away, known, operation)) => (
                    colour.to_string(),
                    format!(
                        "give it a listed paint; the nearest is {known} ({}), at a colour difference of {away:.1}",
                        operation_word(operation)
                    ),
                    Some(away),
                ),
                None => (
                    colour.to_string(),
                    "give it a listed paint".to_owned(),
                    None,
                ),
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
