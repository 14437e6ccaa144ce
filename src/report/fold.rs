//! Many findings of one kind told as one, and lists of pockets written short.

use std::cmp::Ordering;
use std::collections::HashMap;

use crate::finding::Finding;

/// Findings that are told together, as indices into the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The one that is told in full, the first of them.
    pub lead: usize,
    /// The others, in the order of the list.
    pub others: Vec<usize>,
}

/// From how many findings on they are told as one. Two are told apart: folding them saves nothing
/// and hides the second one's numbers.
const MANY: usize = 3;

/// Groups findings of the same rule, weight and help, in the order of their first. With `every`,
/// each stands alone.
pub fn groups(findings: &[Finding], every: bool) -> Vec<Group> {
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
        match found.get_mut(at) {
            Some(group) => group.others.push(i),
            None => found.push(alone(i)),
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

/// A list of pockets written short: `A2–A6, B1–B4`; with a hyphen where `unicode` is false.
///
/// The order is the pockets' own, outwards from the stops; doubles are left out. Names that are not
/// a row and a column (a `call` name) come last, as they are.
pub fn pockets(names: &[&str], unicode: bool) -> String {
    let mut names: Vec<&str> = names.to_vec();
    names.sort_by(|a, b| by_place(a, b));
    names.dedup();
    runs(&names, unicode, |a, b| {
        match (row_and_column(a), row_and_column(b)) {
            (Some((row, n)), Some((same, m))) => row == same && m == n + 1,
            _ => false,
        }
    })
}

/// Ascending numbers written short: `2–10, 12`.
pub fn numbers(numbers: &[usize], unicode: bool) -> String {
    runs(numbers, unicode, |a, b| a + 1 == *b)
}

/// Writes a list in which three or more that follow each other become a span.
fn runs<T: std::fmt::Display>(
    items: &[T],
    unicode: bool,
    follows: impl Fn(&T, &T) -> bool,
) -> String {
    let dash = if unicode { "–" } else { "-" };
    let mut parts = Vec::new();
    for run in items.chunk_by(|a, b| follows(a, b)) {
        match run {
            [first, _, .., last] => parts.push(format!("{first}{dash}{last}")),
            few => parts.extend(few.iter().map(T::to_string)),
        }
    }
    parts.join(", ")
}

/// Pockets outwards from the stops: A2 before A10 before B1 before AA1, other names after them.
pub fn by_place(a: &str, b: &str) -> Ordering {
    match (row_and_column(a), row_and_column(b)) {
        (Some((r, n)), Some((s, m))) => (r.len(), r, n).cmp(&(s.len(), s, m)),
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
        (None, None) => a.cmp(b),
    }
}

/// `A12` as row `A` and column 12; `None` for any other name.
fn row_and_column(name: &str) -> Option<(&str, u32)> {
    let (row, column) = name.split_at(name.find(|c: char| !c.is_ascii_uppercase())?);
    let plain =
        !row.is_empty() && !column.starts_with('0') && column.bytes().all(|b| b.is_ascii_digit());
    plain
        .then(|| column.parse().ok())
        .flatten()
        .map(|n| (row, n))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::finding::{Location, Severity, Stake};
    use crate::rules::Info;

    #[test]
    fn pockets_are_written_short() {
        let list = |names: &str| pockets(&names.split(' ').collect::<Vec<_>>(), true);
        assert_eq!(list("B2 A2 A3 A4 A5 A6 B1 B3 B4"), "A2–A6, B1–B4");
        assert_eq!(list("A10 A9 A11 A2"), "A2, A9–A11");
        assert_eq!(list("A1 A2"), "A1, A2");
        assert_eq!(list("A1 A1 A1"), "A1");
        assert_eq!(list("AA1 Z1 B1"), "B1, Z1, AA1");
        assert_eq!(
            list("left A3 A01 A0 A2 A1 B 7"),
            "A1–A3, 7, A0, A01, B, left"
        );
        assert_eq!(pockets(&["A1", "A2", "A3"], false), "A1-A3");
        assert_eq!(pockets(&[], true), "");
        assert_eq!(
            list("A99999999999999999999 A1"),
            "A1, A99999999999999999999"
        );
    }

    #[test]
    fn numbers_are_written_short() {
        assert_eq!(numbers(&[2, 3, 4, 6, 8, 9], true), "2–4, 6, 8, 9");
    }

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
