//! What a record says: what was cleared when, where an order went, and which slips occur most.

use crate::ids::At;
use std::collections::{BTreeMap, BTreeSet};

use super::read::Record;
use super::{Entry, Found};
use crate::orders::spelling::fold;
use crate::wording::{counted, listed};

/// Most lines that a note names by number: another file with one verdict at its end may have thousands.
const NAMED: usize = 12;

/// How often each rule found something, month by month.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Slips {
    /// Months, "2026-11", in order; those without a verdict are left out.
    pub months: Vec<String>,
    /// Rules with their counts month by month, the most frequent first.
    pub rules: Vec<(String, Vec<usize>)>,
}

/// Counts slips: what held or asked for a look. One that is still there at the next look at the same
/// file is the same slip.
pub fn slips(record: &Record) -> Slips {
    let months: BTreeSet<&str> = record.entries.iter().map(Entry::month).collect();
    let months: Vec<String> = months.into_iter().map(str::to_owned).collect();
    let mut last: BTreeMap<&str, BTreeSet<(&str, Option<&str>)>> = BTreeMap::new();
    let mut counts: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for entry in &record.entries {
        let slip = |f: &&Found| f.waived.is_none() && f.severity != "note";
        let now: BTreeSet<(&str, Option<&str>)> = entry
            .findings
            .iter()
            .filter(slip)
            .map(|f| (f.rule.as_str(), f.pocket.as_deref()))
            .collect();
        let before = last.insert(&entry.file, now.clone()).unwrap_or_default();
        let Some(month) = months.iter().position(|m| m == entry.month()) else {
            continue;
        };
        for (rule, _) in now.difference(&before) {
            let row = counts.entry(rule).or_insert_with(|| vec![0; months.len()]);
            *row.at_mut(month) += 1;
        }
    }
    let mut rules: Vec<(String, Vec<usize>)> = counts
        .into_iter()
        .map(|(rule, row)| (rule.to_owned(), row))
        .collect();
    rules.sort_by_key(|(_, row)| std::cmp::Reverse(row.iter().sum::<usize>()));
    Slips { months, rules }
}

/// One clearance of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cleared<'a> {
    /// The first verdict of this run of equal ones.
    pub entry: &'a Entry,
    /// How often the same bytes were cleared again right after.
    pub again: usize,
}

/// Every clearance, in order. Looks at the same bytes of the same file, one after the other, are one.
pub fn cleared(record: &Record) -> Vec<Cleared<'_>> {
    let mut out: Vec<Cleared<'_>> = Vec::new();
    // Where the clearance of a file that still stands is.
    let mut standing: BTreeMap<&str, usize> = BTreeMap::new();
    for entry in &record.entries {
        if entry.verdict != "clear" {
            standing.remove(entry.file.as_str());
            continue;
        }
        let same = standing
            .get(entry.file.as_str())
            .map(|i| out.at_mut(*i))
            .filter(|c| c.entry.sha256 == entry.sha256);
        match same {
            Some(cleared) => cleared.again += 1,
            None => {
                standing.insert(&entry.file, out.len());
                out.push(Cleared { entry, again: 0 });
            }
        }
    }
    out
}

/// Where a name was cleared: the clearances with the pockets that hold it.
pub fn find<'a>(record: &'a Record, name: &str) -> Vec<(Cleared<'a>, Vec<&'a str>)> {
    let wanted = fold(name, false);
    let holds = |burnt: &str| {
        // Lines of one blank are parted by " / ".
        let whole = fold(&burnt.replace(" / ", " "), false);
        whole == wanted || format!(" {whole} ").contains(&format!(" {wanted} "))
    };
    cleared(record)
        .into_iter()
        .filter_map(|cleared| {
            let pockets: Vec<&str> = cleared
                .entry
                .blanks
                .iter()
                .filter(|b| !wanted.is_empty() && holds(&b.burnt))
                .map(|b| b.pocket.as_str())
                .collect();
            (!pockets.is_empty()).then_some((cleared, pockets))
        })
        .collect()
}

/// The record in a few lines: how much, from when to when.
pub fn extent(record: &Record) -> String {
    let count = |v: &str| record.entries.iter().filter(|e| e.verdict == v).count();
    let (Some(first), Some(last)) = (record.entries.first(), record.entries.last()) else {
        return "no verdict yet".to_owned();
    };
    let parts: Vec<String> = ["clear", "hold", "unread"]
        .into_iter()
        .filter(|v| count(v) > 0)
        .map(|v| format!("{} {v}", count(v)))
        .collect();
    let many = counted(record.entries.len(), "verdict", "verdicts");
    let when = if first.minute() == last.minute() {
        format!("at {}", first.minute())
    } else {
        format!("from {} to {}", first.minute(), last.minute())
    };
    format!("{many} {when}: {}", parts.join(", "))
}

/// What is to be said of lines that are no whole verdict.
pub fn notes(record: &Record) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some((lines, one)) = numbered(&record.torn) {
        notes.push(if one {
            format!("{lines} was cut short by a crash: the verdict in it is not known")
        } else {
            format!("{lines} were cut short by crashes: the verdicts in them are not known")
        });
    }
    if let Some((lines, one)) = numbered(&record.foreign) {
        notes.push(if one {
            format!("{lines} was not written by this program: no verdict is read from it")
        } else {
            format!("{lines} were not written by this program: no verdict is read from them")
        });
    }
    notes
}

/// "line 3", or "lines 3, 5 and 7", and whether it is one; `None` without a number.
fn numbered(numbers: &[usize]) -> Option<(String, bool)> {
    let named = numbers.get(..numbers.len().min(NAMED))?;
    let mut words: Vec<String> = named.iter().map(ToString::to_string).collect();
    if numbers.len() > named.len() {
        words.push(format!("{} more", numbers.len() - named.len()));
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        [] => None,
        [one] => Some((format!("line {one}"), true)),
        several => Some((format!("lines {}", listed(several, "and")), false)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Blank, FORM};

    fn entry(
        time: &str,
        file: &str,
        sha: &str,
        found: &[(&str, &str)],
        blanks: &[(&str, &str)],
    ) -> Entry {
        Entry {
            record: FORM.to_owned(),
            time: time.to_owned(),
            file: file.to_owned(),
            sha256: sha.to_owned(),
            verdict: if found.is_empty() { "clear" } else { "hold" }.to_owned(),
            fixture: None,
            blanks: blanks
                .iter()
                .map(|(pocket, burnt)| Blank {
                    pocket: (*pocket).to_owned(),
                    burnt: (*burnt).to_owned(),
                })
                .collect(),
            findings: found
                .iter()
                .map(|(rule, pocket)| Found {
                    rule: (*rule).to_owned(),
                    severity: "hold".to_owned(),
                    pocket: Some((*pocket).to_owned()),
                    message: String::new(),
                    waived: None,
                })
                .collect(),
            list: None,
            by: None,
        }
    }

    fn record() -> Record {
        Record {
            entries: vec![
                entry(
                    "2026-09-30T10:00:00+02:00",
                    "a.svg",
                    "1",
                    &[("past-zone", "A1"), ("upside-down", "A2")],
                    &[],
                ),
                entry(
                    "2026-09-30T10:01:00+02:00",
                    "a.svg",
                    "2",
                    &[("past-zone", "A1")],
                    &[],
                ),
                entry(
                    "2026-09-30T10:02:00+02:00",
                    "a.svg",
                    "3",
                    &[],
                    &[("A1", "Ada / Lovelace"), ("A2", "Isolde")],
                ),
                entry(
                    "2026-09-30T10:03:00+02:00",
                    "a.svg",
                    "3",
                    &[],
                    &[("A1", "Ada / Lovelace"), ("A2", "Isolde")],
                ),
                entry(
                    "2026-11-02T09:00:00+01:00",
                    "b.svg",
                    "4",
                    &[("past-zone", "A1"), ("past-zone", "A2")],
                    &[],
                ),
                entry(
                    "2026-11-02T09:05:00+01:00",
                    "b.svg",
                    "5",
                    &[],
                    &[("B1", "Isolde 12 May"), ("B2", "Isoldena")],
                ),
            ],
            torn: vec![],
            foreign: vec![],
        }
    }

    #[test]
    fn a_slip_counts_once_until_it_is_put_right() {
        let got = slips(&record());
        assert_eq!(got.months, ["2026-09", "2026-11"]);
        assert_eq!(
            got.rules,
            [
                ("past-zone".to_owned(), vec![1, 2]),
                ("upside-down".to_owned(), vec![1, 0])
            ]
        );
    }

    #[test]
    fn an_order_is_found_in_what_was_cleared() {
        let record = record();
        let said = |name: &str| {
            find(&record, name)
                .iter()
                .map(|(c, pockets)| {
                    format!("{} {} x{}", c.entry.file, pockets.join(" "), c.again + 1)
                })
                .collect::<Vec<_>>()
        };
        assert_eq!(said("isolde"), ["a.svg A2 x2", "b.svg B1 x1"]);
        assert_eq!(said("Ada Lovelace"), ["a.svg A1 x2"]);
        assert_eq!(said("Isold"), Vec::<String>::new());
        assert_eq!(said(""), Vec::<String>::new());
    }
}
