//! Lettering that readers lay out differently: both lays are judged, and the worse one counts.

use std::collections::BTreeSet;

use crate::artwork::mark::Disputed;
use crate::finding::{Finding, Severity};
use crate::remedy::Remedy;
use crate::rules::how_bad;

/// Two measures that differ by less than this, in their own unit, are the same fault in both lays.
const SAME: f64 = 1e-6;

/// Adds the findings that only the other lay has, or has worse, and says that readers differ. Notes
/// of the other lay are left out: one of two lays is always off the middle.
pub(super) fn merge(findings: &mut Vec<Finding>, other: Vec<Finding>, disputed: &[Disputed]) {
    for own in findings.iter_mut().filter(|f| f.severity != Severity::Note) {
        let twin = other.iter().find(|f| same_fault(own, f));
        if twin.is_none_or(|twin| how_bad(own) > how_bad(twin) + SAME) && concerns(own, disputed) {
            own.message.push_str(&tail(disputed));
        }
    }
    for mut worse in other {
        // Its remedy counts the marks of the other lay.
        worse.remedy = Remedy::default();
        if worse.severity == Severity::Note {
            continue;
        }
        let twin = findings.iter_mut().find(|f| same_fault(f, &worse));
        match twin {
            Some(twin) if how_bad(&worse) <= how_bad(twin) + SAME => {}
            Some(twin) => {
                worse.message.push_str(&tail(disputed));
                *twin = worse;
            }
            None => {
                worse.message.push_str(&tail(disputed));
                findings.push(worse);
            }
        }
    }
}

/// A word for the run: that readers differ, and that both ways were looked at.
pub(super) fn note(disputed: &[Disputed]) -> Option<String> {
    (!disputed.is_empty()).then(|| {
        format!(
            "readers lay out some of the lettering differently ({}): it was measured both ways",
            what(disputed)
        )
    })
}

fn tail(disputed: &[Disputed]) -> String {
    format!(
        ", as some readers lay it out (they differ about {})",
        what(disputed)
    )
}

fn what(disputed: &[Disputed]) -> String {
    let all: BTreeSet<&str> = disputed.iter().map(|d| d.what).collect();
    let all: Vec<&str> = all.into_iter().collect();
    crate::wording::listed(&all, "and")
}

/// Whether two findings speak of the same fault: findings are one a pocket and rule.
fn same_fault(a: &Finding, b: &Finding) -> bool {
    a.rule == b.rule
        && a.pocket == b.pocket
        && (a.pocket.is_some()
            || a.source.as_ref().map(|s| &s.range) == b.source.as_ref().map(|s| &s.range))
}

/// Whether a finding is about disputed lettering.
fn concerns(finding: &Finding, disputed: &[Disputed]) -> bool {
    finding.source.as_ref().is_some_and(|source| {
        disputed.iter().any(|d| {
            d.origin.range.start <= source.range.start && source.range.end <= d.origin.range.end
        })
    })
}
