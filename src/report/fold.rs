//! Folds many findings of one kind into one entry.

use std::collections::HashMap;

use crate::finding::Finding;
use crate::ids::At;

/// Findings that are reported together, as indices into the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Group {
    /// The first of them, which is reported in full.
    pub lead: usize,
    /// The others, in the order of the list.
    pub others: Vec<usize>,
}

/// From this many findings on they are folded. Two are not: that would save nothing and hide the
/// second one's numbers.
const MANY: usize = 3;

/// Groups findings of the same rule, severity and help, ordered by their first. With `every`, each
/// stands alone.
pub(crate) fn groups(findings: &[Finding], every: bool) -> Vec<Group> {
    let alone = |lead| Group {
        lead,
        others: Vec::new(),
    };
    if every {
        return (0..findings.len()).map(alone).collect();
    }
    let key = |f: &Finding| {
        let waived = f
            .waived
            .as_ref()
            .map(|w| (w.reason.clone(), w.until.clone()));
        (f.rule, f.severity, f.help.clone(), waived)
    };
    let mut first = HashMap::new();
    let mut found: Vec<Group> = Vec::new();
    for (i, f) in findings.iter().enumerate() {
        let at = *first.entry(key(f)).or_insert(found.len());
        if at == found.len() {
            found.push(alone(i));
        } else {
            found.at_mut(at).others.push(i);
        }
    }
    let mut groups = Vec::new();
    for group in found {
        if group.others.len() + 1 >= MANY {
            groups.push(group);
        } else {
            groups.extend(group.others.iter().copied().map(alone));
            groups.push(alone(group.lead));
        }
    }
    groups.sort_by_key(|g| g.lead);
    groups
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::finding::{Info, Location, Severity, Stake};

    #[test]
    fn only_many_of_a_kind_are_folded() {
        let info = |name| Info {
            name,
            severity: Severity::Hold,
            stake: Stake::Blank,
            page: "",
        };
        let find =
            |name, help: &str| Finding::new(&info(name), &Location::Nowhere("a test"), "m", help);
        let findings = [
            find("a", "x"),
            find("b", "x"),
            find("a", "x"),
            find("a", "y"),
            find("a", "x"),
            find("b", "x"),
        ];
        let groups_of = |every| {
            groups(&findings, every)
                .into_iter()
                .map(|g| (g.lead, g.others))
                .collect::<Vec<_>>()
        };
        assert_eq!(
            groups_of(false),
            [(0, vec![2, 4]), (1, vec![]), (3, vec![]), (5, vec![])]
        );
        assert_eq!(groups_of(true).len(), 6);
    }
}
