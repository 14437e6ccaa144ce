//! What a remedy comes to: what is found with it, against what was found before.

use std::collections::BTreeMap;

use kurbo::Rect;

use crate::finding::Finding;
use crate::rules::{how_bad, mirrored, upside_down, way_up_unknown};

/// A measure that grew by less than this, in its own unit, did not get worse: the rounding of curves.
const WORSE: f64 = 0.02;

/// A rule, and a pocket where its finding names one.
pub(crate) type Key = (&'static str, Option<String>);

/// How many findings there are of each rule and pocket that no waiver excuses, and how bad the worst is.
pub(super) type Counts = BTreeMap<Key, (usize, f64)>;

/// What a finding is counted under.
pub(crate) fn key(finding: &Finding) -> Key {
    (finding.rule, finding.pocket.clone())
}

/// Counts findings.
pub(super) fn count<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> Counts {
    let mut counts = Counts::new();
    for finding in standing(findings) {
        let entry = counts.entry(key(finding)).or_default();
        entry.0 += 1;
        entry.1 = entry.1.max(how_bad(finding));
    }
    counts
}

/// Findings that no waiver excuses.
fn standing<'f>(
    findings: impl IntoIterator<Item = &'f Finding>,
) -> impl Iterator<Item = &'f Finding> {
    findings.into_iter().filter(|f| f.waived.is_none())
}

/// Whether a finding tells that art lies wrong.
fn tells_of_its_lie(finding: &Finding) -> bool {
    [upside_down::INFO.name, mirrored::INFO.name].contains(&finding.rule)
}

/// What is found with some ways followed, as against what was found before.
pub(crate) struct Outcome {
    /// What is there still of what was to go.
    left: Vec<Key>,
    /// What is new, or worse than it was.
    worse: Vec<Key>,
    /// What of that is new.
    new: Vec<Key>,
}

impl Outcome {
    /// Compares findings `before` with those `after` the findings `own` were to be put right; `emptied` says
    /// whether that took all the art of their pockets away.
    pub(crate) fn of(
        before: &[Finding],
        after: &[Finding],
        own: &[&Finding],
        emptied: bool,
    ) -> Self {
        let (was, is) = (count(before), count(after));
        let alike = count(own.iter().copied());
        let gone = |key: &Key| {
            let of = |counts: &Counts| counts.get(key).map_or(0, |c| c.0);
            // Of several alike, each is to be gone: one that stays may hide behind one that goes.
            of(&is) + of(&alike) <= of(&was) && (key.1.is_none() || of(&is) == 0)
        };
        let left = own
            .iter()
            .map(|f| key(f))
            .filter(|key| !gone(key))
            .collect();

        let turned = own.iter().filter(|f| tells_of_its_lie(f)).count();
        let open = open_pockets(&is) <= open_pockets(&was) + turned as f64;
        let forgiven = |f: &Finding| {
            // What a waiver no longer excuses is no fault of the run.
            f.rule.starts_with("waiver-")
                || emptied && f.rule == "pocket-bare"
                // Art that was told to lie wrong and then tells nothing is a hold less: a person is to look at it.
                || open && f.rule == way_up_unknown::INFO.name
                // Nothing told how it lies while the others lay wrong.
                || tells_of_its_lie(f) && f.pocket.is_some() && was_open(before, f)
        };
        let as_before = |key: &Key| {
            let (many, bad) = is.get(key).copied().unwrap_or_default();
            was.get(key)
                .is_some_and(|(had, worst)| many <= *had && bad <= worst + WORSE)
        };
        let worse = standing(after).filter(|f| !as_before(&key(f)) && !forgiven(f));
        let worse: Vec<Key> = worse.map(key).collect();
        let new = worse.iter().filter(|key| !was.contains_key(key)).cloned();
        Self {
            left,
            new: new.collect(),
            worse,
        }
    }

    /// Whether something is new.
    pub(crate) fn brings_another(&self) -> bool {
        !self.new.is_empty()
    }

    /// Whether nothing is new or worse.
    pub(super) fn nothing_is_worse(&self) -> bool {
        self.worse.is_empty()
    }

    /// Whether it ends badly for one of the findings that were to go: it is there still, or something in its pocket
    /// is worse.
    pub(super) fn bad_for(&self, finding: &Finding) -> bool {
        let here = |key: &Key| key.1.is_some() && key.1 == finding.pocket;
        self.left.contains(&key(finding)) || self.worse.iter().any(here)
    }
}

/// In how many pockets nothing decides how the art lies.
fn open_pockets(counts: &Counts) -> f64 {
    let open = counts
        .iter()
        .filter(|(key, _)| key.0 == way_up_unknown::INFO.name);
    open.map(|(_, (_, pockets))| pockets).sum()
}

/// Whether nothing decided before how the art lies that a finding is about.
fn was_open(before: &[Finding], finding: &Finding) -> bool {
    let open = standing(before).filter(|f| f.rule == way_up_unknown::INFO.name);
    let mut places = open.flat_map(|f| {
        f.bed
            .into_iter()
            .chain(f.also.iter().map(|(_, place)| *place))
    });
    let meets = |place: Rect| finding.bed.is_some_and(|bed| bed.overlaps(place));
    places.any(meets)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::artwork::mark::Origin;
    use crate::finding::{Info, Location};

    /// A finding about art at a place of the bed, 10 mm wide.
    fn found(rule: &Info, pocket: Option<&str>, x: f64) -> Finding {
        let place = Location::Bed(Rect::new(x, 0.0, x + 10.0, 5.0));
        Finding::new(rule, &place, "it", "look").in_pocket(pocket)
    }

    /// What nothing decides, at these places.
    fn open(places: &[f64]) -> Vec<Finding> {
        let rest = places.iter().skip(1).map(|x| {
            let place = Rect::new(*x, 0.0, x + 10.0, 5.0);
            (crate::finding::Source::from(&Origin::default()), place)
        });
        let first = places.iter().take(1);
        first
            .map(|x| {
                found(&way_up_unknown::INFO, None, *x)
                    .also(rest.clone())
                    .measured("pockets", places.len() as f64, 0.0, "")
            })
            .collect()
    }

    #[test]
    fn what_was_open_may_be_told_to_lie_wrong_but_nothing_else_may() {
        let turned = found(&upside_down::INFO, Some("A1"), 0.0);
        let before = [vec![turned.clone()], open(&[50.0, 100.0])].concat();
        let other = |x| vec![found(&mirrored::INFO, Some("A3"), x)];
        for (x, well) in [(50.0, true), (100.0, true), (150.0, false)] {
            let after = other(x);
            let outcome = Outcome::of(&before, &after, &[&turned], false);
            assert_eq!(outcome.nothing_is_worse(), well, "at {x}");
            assert!(!outcome.bad_for(&turned));
        }
    }

    #[test]
    fn what_is_turned_may_come_to_be_open_and_no_pocket_beside_it() {
        let turned = found(&upside_down::INFO, Some("A1"), 0.0);
        let before = [vec![turned.clone()], open(&[50.0])].concat();
        for (places, well) in [
            (&[0.0, 50.0][..], true),
            (&[0.0, 50.0, 100.0][..], false),
            (&[][..], true),
        ] {
            let after = open(places);
            let outcome = Outcome::of(&before, &after, &[&turned], false);
            assert_eq!(outcome.nothing_is_worse(), well, "open at {places:?}");
        }
    }
}
