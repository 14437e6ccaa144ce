//! `waiver-unused` and `waiver-expired`: exceptions that no longer excuse anything.
//!
//! These two look at findings, not at the job, and cannot be waived themselves.

use jiff::civil::Date;

use super::{Info, info};
use crate::finding::{Finding, Location, Waived};
use crate::fixture::settings::{Settings, Waiver};

pub(crate) static UNUSED: Info = info!("waiver-unused", Note, Look);
pub(crate) static EXPIRED: Info = info!("waiver-expired", Caution, Look);

/// Whether `waiver` still holds on `today`; its last day counts.
pub(crate) fn holds(waiver: &Waiver, today: Date) -> bool {
    crate::fixture::shorthand::parse_date(&waiver.until).is_some_and(|until| today <= until)
}

/// Marks the findings that a waiver excuses, and reports waivers that excuse nothing any more.
pub(crate) fn apply(
    findings: &mut Vec<Finding>,
    settings: &Settings,
    call: &dyn Fn(&str) -> Option<String>,
    today: &dyn Fn() -> Date,
) {
    let mut said = Vec::new();
    for waiver in &settings.waivers {
        // A waiver may name its pocket by its other name.
        let pocket = waiver
            .pocket
            .as_deref()
            .map(|p| call(p).unwrap_or_else(|| p.to_owned()));
        let about = match &pocket {
            Some(p) => format!("the waiver of {} for pocket {p}", waiver.rule),
            None => format!("the waiver of {}", waiver.rule),
        };
        let meant: Vec<&mut Finding> = findings
            .iter_mut()
            .filter(|f| f.rule == waiver.rule && (pocket.is_none() || f.pocket == pocket))
            .collect();
        if !holds(waiver, today()) {
            said.push(Finding::new(
                &EXPIRED,
                &Location::Nowhere("it is about fixture.toml, not about the run"),
                crate::wording::sentence(&format!("{about} ended on {} and excuses nothing any more", waiver.until)),
                "look at the matter again; then delete the waiver from fixture.toml, or give it a new end date",
            ).in_pocket(pocket.as_deref()));
        } else if meant.is_empty() {
            // What excuses the drawing is looked for when it is enrolled.
            if super::enrol::is_one(&waiver.rule) {
                continue;
            }
            said.push(
                Finding::new(
                    &UNUSED,
                    &Location::Nowhere("it is about fixture.toml, not about the run"),
                    crate::wording::sentence(&format!("{about} excuses nothing in this file")),
                    "if no file needs it any longer, delete it from fixture.toml",
                )
                .in_pocket(pocket.as_deref()),
            );
        } else {
            for finding in meant {
                finding.waived.get_or_insert_with(|| Waived {
                    reason: waiver.reason.clone(),
                    until: waiver.until.clone(),
                });
            }
        }
    }
    findings.append(&mut said);
}
