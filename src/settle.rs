//! Remedies are tried before they are shown, and findings that come of another one are told so.
//!
//! A trial is a whole inspection of the file with the remedy's edits made. It must take away the
//! finding that it is for, bring no other, and make none worse.

pub(crate) mod outcome;
mod trying;

use std::collections::BTreeMap;

use crate::artwork::source::edit::Replacement;
use crate::finding::Finding;
use crate::ids::At;
use crate::remedy::{Remedy, Sites, Way};
use trying::Trying;

/// How many trials a run is given, at most. Each takes as long as an inspection; thirteen lines that
/// are still cut are one.
pub(crate) const MOST_TRIALS: usize = 24;

/// Marks that all trials of a run may come to together. Traced art of tens of thousands of marks takes
/// seconds to inspect: it is given two trials, so that a save is judged while somebody waits.
pub(crate) const MOST_MARKS: usize = 60_000;

/// So many segments of outlines count as a mark: a long text is one mark, and takes as long as a hundred
/// small shapes.
const SEGMENTS: usize = 40;

/// Trials that a run of so many marks, of so many segments together, is given.
pub(crate) fn trials(marks: usize, segments: usize) -> usize {
    let size = marks.max(segments / SEGMENTS).max(1);
    (MOST_MARKS / size).clamp(2, MOST_TRIALS)
}

/// What came of looking at the file with some changes made.
pub(crate) enum Trial {
    /// What is found then.
    Found(Vec<Finding>),
    /// The changes cannot be made.
    Cannot,
    /// The steps that all trials may take together are used up.
    TooLong,
}

/// Looks at the file with some changes made.
pub(crate) type Again<'a> = dyn FnMut(&[Replacement]) -> Trial + 'a;

/// Steps that a run and all trials of its remedies may take together (see [`crate::abandon::spend`]): a
/// second or so. What takes longer by itself is told without a trial, so that somebody gets an answer.
pub(crate) const MOST_STEPS: usize = 4_000_000;

/// Tries the remedies of `findings`, keeps those that end well, and tells what came of what. At most
/// `trials` are made; what is left then is not certain.
pub(crate) fn settle(
    findings: &mut [Finding],
    sites: &Sites<'_>,
    trials: usize,
    again: &mut Again<'_>,
) {
    let mut trying = Trying {
        before: findings.to_vec(),
        left: trials,
        cut_short: false,
        again,
    };
    for finding in findings.iter_mut() {
        locate(&mut finding.remedy, sites);
    }
    let (roots, others): (Vec<usize>, Vec<usize>) =
        (0..findings.len()).partition(|i| trying.root(*i));
    for index in roots {
        if findings.at(index).because_of.is_none() {
            trying.root_cause(findings, index);
        }
    }
    let open: Vec<usize> = others
        .into_iter()
        .filter(|i| {
            let finding = findings.at(*i);
            finding.because_of.is_none() && finding.waived.is_none()
        })
        .collect();
    trying.all_at_once(findings, &open);
    trying.choices(findings, &open);
}

/// Puts the findings that come of another one at the end, and counts them in the sentence of that one.
pub(crate) fn fold(findings: &mut Vec<Finding>) {
    let mut order: Vec<usize> = (0..findings.len()).collect();
    order.sort_by_key(|i| {
        let f = findings.at(*i);
        (f.because_of.is_some(), f.waived.is_some(), f.severity)
    });
    let mut place = vec![0; order.len()];
    for (to, from) in order.iter().enumerate() {
        *place.at_mut(*from) = to;
    }
    let mut folded: Vec<Finding> = order.iter().map(|i| findings.at(*i).clone()).collect();
    for finding in &mut folded {
        finding.because_of = finding.because_of.map(|i| *place.at(i));
    }
    for index in 0..folded.len() {
        let train: Vec<&Finding> = folded
            .iter()
            .filter(|f| f.because_of == Some(index))
            .collect();
        let words = consequences(&train);
        folded.at_mut(index).message.push_str(&words);
    }
    *findings = folded;
}

/// " (past-zone in A1–A6 comes only of this)".
fn consequences(train: &[&Finding]) -> String {
    let mut by_rule: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for finding in train {
        let pockets = by_rule.entry(finding.rule).or_default();
        pockets.extend(finding.pocket.as_deref());
    }
    if by_rule.is_empty() {
        return String::new();
    }
    let parts: Vec<String> = by_rule
        .iter()
        .map(|(rule, pockets)| {
            if pockets.is_empty() {
                (*rule).to_owned()
            } else {
                format!(
                    "{rule} in {}",
                    crate::fixture::lists::pockets(pockets, true)
                )
            }
        })
        .collect();
    let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
    format!(
        " ({} {} only of this)",
        crate::wording::listed(&parts, "and"),
        if train.len() == 1 { "comes" } else { "come" }
    )
}

/// Looks for the bytes of every way; a way that has none falls.
fn locate(remedy: &mut Remedy, sites: &Sites<'_>) {
    let mut hindered = None;
    let mut found = |ways: &mut Vec<Way>| {
        ways.retain_mut(|way| match sites.edits(&way.changes) {
            Ok(edits) => {
                way.edits = edits;
                true
            }
            Err(why) => {
                hindered.get_or_insert(why);
                false
            }
        });
    };
    found(&mut remedy.ways);
    found(&mut remedy.choices);
    if remedy.ways.is_empty() {
        remedy.hindered = hindered;
    }
}
