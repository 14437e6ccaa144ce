//! The order in which every report lists findings.

use std::cmp::Ordering;

use crate::finding::Finding;
use crate::finding::Info;
use crate::fixture::lists::by_place;

/// Puts findings into the order in which every report tells them, worst first; the numbers in the
/// text and on the proof follow it.
///
/// Unwaived before waived; what stops the send before what asks for a look before what informs; then
/// what is at stake, the rule's place in the registry, the pocket outwards from the stops (findings
/// of no pocket first), the place in the file, the place on the bed, the words. Two findings compare
/// equal only where every report would tell them alike, so the order does not depend on the one they
/// come in.
pub fn order(findings: &mut [Finding], rules: &[Info]) {
    let known = |f: &Finding| {
        rules
            .iter()
            .position(|r| r.name == f.rule)
            .unwrap_or(rules.len())
    };
    findings.sort_by(|a, b| {
        (a.waived.is_some(), a.severity, a.stake, known(a), a.rule)
            .cmp(&(b.waived.is_some(), b.severity, b.stake, known(b), b.rule))
            .then_with(|| pocket(a, b))
            .then_with(|| place(a).cmp(&place(b)))
            .then_with(|| {
                corners(a)
                    .partial_cmp(&corners(b))
                    .unwrap_or(Ordering::Equal)
            })
            .then_with(|| (&a.message, &a.help, a.more).cmp(&(&b.message, &b.help, b.more)))
    });
}

fn pocket(a: &Finding, b: &Finding) -> Ordering {
    match (&a.pocket, &b.pocket) {
        (Some(a), Some(b)) => by_place(a, b),
        (a, b) => a.is_some().cmp(&b.is_some()),
    }
}

fn place(f: &Finding) -> Option<(usize, usize)> {
    f.source.as_ref().map(|s| (s.range.start, s.range.end))
}

fn corners(f: &Finding) -> Option<[f64; 4]> {
    f.bed.map(|r| [r.y0, r.x0, r.y1, r.x1])
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;
    use crate::finding::{Location, Severity, Stake, Waived};
    use kurbo::Rect;

    const RULES: [Info; 4] = [
        Info {
            name: "fixture-still-cut",
            severity: Severity::Hold,
            stake: Stake::Fixture,
            page: "",
        },
        Info {
            name: "past-zone",
            severity: Severity::Hold,
            stake: Stake::Blank,
            page: "",
        },
        Info {
            name: "doubled",
            severity: Severity::Hold,
            stake: Stake::Blank,
            page: "",
        },
        Info {
            name: "tilted",
            severity: Severity::Caution,
            stake: Stake::Blank,
            page: "",
        },
    ];

    fn find(rule: usize, pocket: Option<&str>, x: f64) -> Finding {
        let place = Location::Bed(Rect::new(x, 0.0, x + 1.0, 1.0));
        Finding::new(&RULES[rule], &place, "m", "h").in_pocket(pocket)
    }

    #[test]
    fn worst_first_whatever_they_come_in() {
        let mut waived = find(0, None, 0.0);
        waived.waived = Some(Waived {
            reason: "r".into(),
            until: "2027-01-01".into(),
        });
        let right = vec![
            find(0, None, 0.0),
            find(1, None, 0.0),
            find(1, Some("A2"), 0.0),
            find(1, Some("A10"), 3.0),
            find(1, Some("A10"), 4.0),
            find(2, Some("A1"), 0.0),
            find(3, Some("A1"), 0.0),
            waived,
        ];
        for turn in 0..right.len() {
            let mut mixed = right.clone();
            mixed.rotate_left(turn);
            mixed.reverse();
            order(&mut mixed, &RULES);
            assert_eq!(mixed, right, "after a turn of {turn}");
        }
    }
}
