//! The remedies of a run tried on it: those of many findings together as far as that goes, else one by one.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::outcome::{Outcome, count, key};
use super::{Again, Trial};
use crate::artwork::source::edit::Replacement;
use crate::finding::Finding;
use crate::ids::At;
use crate::remedy::{Remedy, Way, What, apart};

/// Rules whose slips have others in their train: what vanishes with one of these came of it.
const ROOTS: [&str; 7] = [
    "page-changed",
    "fixture-shifted",
    "pocket-moved",
    "pocket-reshaped",
    "pocket-missing",
    "pocket-added",
    "doubled",
];

/// Those of them that are about the place of the whole fixture.
const MISPLACED: [&str; 2] = ["page-changed", "fixture-shifted"];

/// What a run's findings are tried with.
pub(super) struct Trying<'a, 'b> {
    /// What is found in the file as it is.
    pub(super) before: Vec<Finding>,
    /// Trials that are left.
    pub(super) left: usize,
    /// Whether a trial took too long and was given up.
    pub(super) cut_short: bool,
    pub(super) again: &'a mut Again<'b>,
}

impl Trying<'_, '_> {
    pub(super) fn root(&self, index: usize) -> bool {
        // Of art off its place only the whole layer is one slip.
        let layer = |f: &Finding| f.rule == "off-centre" && f.pocket.is_none();
        let finding = self.before.at(index);
        finding.waived.is_none() && (ROOTS.contains(&finding.rule) || layer(finding))
    }

    /// What is found with these ways followed; `None` where that cannot be tried.
    fn after(&mut self, ways: &[&Way]) -> Option<Vec<Finding>> {
        let edits: Vec<Replacement> = ways
            .iter()
            .flat_map(|w| &w.edits)
            .map(|e| e.replacement.clone())
            .collect();
        if edits.is_empty() || self.left == 0 || !apart(ways) {
            return None;
        }
        self.left -= 1;
        match (self.again)(&edits) {
            Trial::Found(found) => Some(found),
            Trial::Cannot => None,
            Trial::TooLong => {
                self.left = 0;
                self.cut_short = true;
                None
            }
        }
    }

    /// What is found with these ways followed, where the findings `own` are gone then, and nothing is worse.
    fn ends_well(&mut self, own: &[usize], ways: &[&Way]) -> Option<Vec<Finding>> {
        match self.end(own, ways)? {
            End::Well(after) => Some(after),
            End::Badly(_) => None,
        }
    }

    /// How it ends for the findings `own` with these ways followed; `None` where that cannot be tried.
    fn end(&mut self, own: &[usize], ways: &[&Way]) -> Option<End> {
        let after = self.after(ways)?;
        // Whoever takes art away chooses that its pocket stays empty, which is then no fault.
        let mut changes = ways.iter().flat_map(|way| &way.changes);
        let emptied = changes.all(|c| matches!(c.what, What::Delete));
        let of: Vec<&Finding> = own.iter().map(|i| self.before.at(*i)).collect();
        let outcome = Outcome::of(&self.before, &after, &of, emptied);
        let badly = own.iter().copied();
        let badly: Vec<usize> = badly
            .filter(|i| outcome.bad_for(self.before.at(*i)))
            .collect();
        let well = outcome.nothing_is_worse() && badly.is_empty();
        Some(if well {
            End::Well(after)
        } else {
            End::Badly(badly)
        })
    }

    /// Tries the ways of one finding in their order.
    fn one(&mut self, findings: &mut [Finding], index: usize) -> Option<Vec<Finding>> {
        let ways = findings.at(index).remedy.ways.clone();
        let mut why = "tried on this file, that brings another fault";
        let mut taken = None;
        for way in ways {
            let last = self.left == 0;
            if let Some(after) = self.ends_well(&[index], &[&way]) {
                taken = Some((way, after));
                break;
            }
            if self.cut_short {
                why = "that was not tried, as this file takes long to inspect: do it, and inspect it again";
            } else if last {
                why = "that was not tried: put what else is found right first";
            }
        }
        let finding = findings.at_mut(index);
        match taken {
            Some((way, after)) => {
                take(finding, way);
                Some(after)
            }
            None => {
                let ways = std::mem::take(&mut finding.remedy.ways);
                if !ways.is_empty() {
                    finding.remedy.hindered = Some(why.to_owned());
                }
                // What does not end well is not said as if it did.
                if ways.iter().any(|way| way.says == finding.help) {
                    finding.help = format!("{}; but {why}", finding.help);
                }
                None
            }
        }
    }

    /// A finding that others may come of: they are told so where they vanish with it, whichever way
    /// it is put right.
    pub(super) fn root_cause(&mut self, findings: &mut [Finding], index: usize) {
        let mut outcomes: Vec<Vec<Finding>> = self.one(findings, index).into_iter().collect();
        if outcomes.is_empty() {
            outcomes = self.choices(findings, &[index]);
        }
        let rule = self.before.at(index).rule;
        if outcomes.is_empty() {
            // Where art belongs is not known while the fixture, or the pocket, lies elsewhere.
            let pocket = self.before.at(index).pocket.as_ref();
            let moved = |w: &Way| w.changes.iter().any(|c| c.motion().is_some());
            for other in findings.iter_mut() {
                let about = MISPLACED.contains(&rule)
                    || rule == "pocket-moved" && other.pocket.as_ref() == pocket;
                let mut ways = other.remedy.ways.iter().chain(&other.remedy.choices);
                if about && !ROOTS.contains(&other.rule) && ways.any(moved) {
                    wait(
                        other,
                        format!("put {rule} right first: where this belongs depends on it"),
                    );
                }
            }
            return;
        }
        let left: Vec<_> = outcomes.iter().map(|after| count(after)).collect();
        let mut worst = None;
        for other in 0..findings.len() {
            let was = self.before.at(other);
            let f = findings.at_mut(other);
            // Its own remedy would be right only while the cause is there.
            let open = other != index && was.waived.is_none() && f.because_of.is_none();
            if !open || f.rule.starts_with("waiver-") {
                continue;
            }
            let gone = left.iter().filter(|after| !after.contains_key(&key(was)));
            match gone.count() {
                0 => {}
                all if all == left.len() => {
                    f.because_of = Some(index);
                    f.remedy = Remedy::default();
                    worst = worst.min(Some(f.severity)).or(Some(f.severity));
                }
                _ => wait(
                    f,
                    format!("decide about {rule} first: this may come only of it"),
                ),
            }
        }
        // It weighs as much as what comes of it.
        if let Some(worst) = worst {
            let cause = findings.at_mut(index);
            cause.severity = cause.severity.min(worst);
        }
    }

    /// Tries the choices of findings; those that do not end well fall. A choice that several findings of
    /// a rule offer is tried for all of them together, as far as they are apart, and one by one only where
    /// that ends badly.
    pub(super) fn choices(&mut self, findings: &mut [Finding], of: &[usize]) -> Vec<Vec<Finding>> {
        // Of several ways to one choice each is tried where those before it end badly.
        let mut alike: BTreeMap<(usize, Choice), Vec<(usize, Way)>> = BTreeMap::new();
        for index in of {
            let finding = findings.at(*index);
            let mut met: BTreeMap<&str, usize> = BTreeMap::new();
            for choice in &finding.remedy.choices {
                let nth = met.entry(&choice.name).or_default();
                let choice_of = (*nth, (finding.rule, choice.name.clone()));
                *nth += 1;
                let same = alike.entry(choice_of).or_default();
                same.push((*index, choice.clone()));
            }
        }
        let mut outcomes = Vec::new();
        let mut kept: BTreeMap<(usize, Cow<'static, str>), String> = BTreeMap::new();
        for same in alike.values() {
            let open = same.iter();
            let open = open.filter(|(i, way)| !kept.contains_key(&(*i, way.name.clone())));
            let mut well = Vec::new();
            for set in sets_apart(open.map(|(i, way)| (*i, way))) {
                let (own, ways): (Vec<usize>, Vec<&Way>) = set.iter().copied().unzip();
                if set.len() > 1
                    && let Some(after) = self.ends_well(&own, &ways)
                {
                    outcomes.push(after);
                    well.extend(set);
                    continue;
                }
                for (index, way) in set {
                    if let Some(after) = self.ends_well(&[index], &[way]) {
                        outcomes.push(after);
                        well.push((index, way));
                    }
                }
            }
            let named = |(i, way): (usize, &Way)| ((i, way.name.clone()), way.says.clone());
            kept.extend(well.into_iter().map(named));
        }
        for index in of {
            let choices = &mut findings.at_mut(*index).remedy.choices;
            choices.retain(|way| kept.get(&(*index, way.name.clone())) == Some(&way.says));
        }
        outcomes
    }

    /// Tries the best ways of many findings together, which is one trial. Those that it ends badly for are tried with
    /// their next way, the others with them; what has none left then, or changes what another one changes, is tried
    /// by itself.
    pub(super) fn all_at_once(&mut self, findings: &mut [Finding], open: &[usize]) {
        let mut left: Vec<usize> = open.to_vec();
        // Findings, and which of their ways is next.
        let mut together: Vec<(usize, usize)> = open.iter().map(|i| (*i, 0)).collect();
        for _ in 0..ROUNDS {
            let next = together.iter().filter_map(|(i, next)| {
                let way = findings.at(*i).remedy.ways.get(*next)?;
                Some((*i, way.clone()))
            });
            let next: Vec<(usize, Way)> = next.collect();
            let mut sets = sets_apart(next.iter().map(|(i, way)| (*i, way))).into_iter();
            let (own, ways): (Vec<usize>, Vec<&Way>) = sets.next().into_iter().flatten().unzip();
            if own.len() < 2 {
                break;
            }
            match self.end(&own, &ways) {
                Some(End::Well(_)) => {
                    left.retain(|i| !own.contains(i));
                    for (index, way) in next.iter().filter(|(i, _)| own.contains(i)) {
                        take(findings.at_mut(*index), way.clone());
                    }
                    break;
                }
                Some(End::Badly(of)) if !of.is_empty() => {
                    let badly = together.iter_mut().filter(|(i, _)| of.contains(i));
                    badly.for_each(|(_, next)| *next += 1);
                }
                Some(End::Badly(_)) | None => break,
            }
        }
        for index in left {
            self.one(findings, index);
        }
    }
}

/// So often many findings are tried together. More, and nothing would be left for those that have to be tried by
/// themselves; fewer, and one pocket whose art has no room would cost all others their remedy.
const ROUNDS: usize = 8;

/// How the trial of a remedy ends.
enum End {
    /// With these findings, and none that is new or worse.
    Well(Vec<Finding>),
    /// Badly, and for which of the findings that were to go; for none of them where that cannot be told.
    Badly(Vec<usize>),
}

/// Ways in sets that can be followed together: the fill and the line of an element are in two. Where that
/// would take many, each that is left is a set of its own.
fn sets_apart<'w>(ways: impl Iterator<Item = (usize, &'w Way)>) -> Vec<Vec<(usize, &'w Way)>> {
    /// An element has a fill, a line, and markers.
    const MANY: usize = 4;
    let ways: Vec<(usize, &Way)> = ways.collect();
    if apart(&ways.iter().map(|(_, way)| *way).collect::<Vec<_>>()) {
        return vec![ways];
    }
    let mut sets: Vec<Vec<(usize, &Way)>> = Vec::new();
    for way in ways {
        let fits = |set: &&mut Vec<(usize, &Way)>| {
            let all = set.iter().map(|(_, other)| *other);
            apart(&all.chain([way.1]).collect::<Vec<_>>())
        };
        match sets.iter_mut().take(MANY).find(fits) {
            Some(set) => set.push(way),
            None => sets.push(vec![way]),
        }
    }
    sets
}

/// Nothing is done about a finding until another one is put right, and it says so.
fn wait(finding: &mut Finding, why: String) {
    finding.help.clone_from(&why);
    finding.remedy = Remedy {
        hindered: Some(why),
        ..Remedy::default()
    };
}

/// The way that a finding is put right by, and says so.
fn take(finding: &mut Finding, way: Way) {
    finding.help.clone_from(&way.says);
    finding.remedy.ways = vec![way];
    finding.remedy.choices.clear();
}

/// A choice by its rule and name.
type Choice = (&'static str, Cow<'static, str>);

#[cfg(test)]
mod tests {
    use super::super::MOST_TRIALS;
    use super::*;
    use crate::finding::{Info, Location};
    use crate::remedy::Edit;
    use crate::rules::info;

    static INFO: Info = info!("paint-unknown", Hold, Blank);

    /// A way that changes something at `start`.
    fn way(start: usize) -> Way {
        let mut way = Way::new("engrave", format!("paint the one at {start}"), Vec::new());
        way.edits.push(Edit {
            replacement: Replacement {
                start,
                end: start,
                text: String::new(),
            },
            change: "paint",
            element: "path".to_owned(),
            start,
            id: None,
        });
        way
    }

    /// What is found of two shapes in paints that no operation claims, of which each can be given another.
    fn two() -> Vec<Finding> {
        let one = |start| {
            let mut finding = Finding::new(&INFO, &Location::Nowhere("a test"), "it", "look");
            finding.remedy.choices.push(way(start));
            finding
        };
        vec![one(1), one(2)]
    }

    #[test]
    fn of_many_tried_together_only_those_that_end_badly_are_tried_in_another_way() {
        // Three pockets; in the second the first way ends badly, in the third every way.
        let name = |pocket| format!("A{pocket}");
        let mut findings: Vec<Finding> = (1..=3)
            .map(|pocket| {
                let found = Finding::new(&INFO, &Location::Nowhere("a test"), "it", "look");
                let mut found = found.in_pocket(Some(&name(pocket)));
                found.remedy.ways = vec![way(10 * pocket), way(10 * pocket + 1)];
                found
            })
            .collect();
        let before = findings.clone();
        let mut tried = 0;
        let mut again = |edits: &[Replacement]| {
            tried += 1;
            let done = |start| edits.iter().any(|e| e.start == start);
            let stays = [!done(10), !done(21), true];
            let left = before.iter().zip(stays).filter(|(_, stays)| *stays);
            Trial::Found(left.map(|(f, _)| f.clone()).collect())
        };
        let mut trying = Trying {
            before: findings.clone(),
            left: MOST_TRIALS,
            cut_short: false,
            again: &mut again,
        };
        trying.all_at_once(&mut findings, &[0, 1, 2]);
        let taken: Vec<Vec<usize>> = (findings.iter())
            .map(|f| {
                f.remedy
                    .ways
                    .iter()
                    .flat_map(|w| &w.edits)
                    .map(|e| e.start)
                    .collect()
            })
            .collect();
        assert_eq!(taken, [vec![10], vec![21], vec![]]);
        // Thrice together, and the third twice by itself.
        assert_eq!(tried, 5);
    }

    #[test]
    fn a_choice_that_leaves_one_of_two_findings_is_kept_for_the_other_alone() {
        let mut findings = two();
        // The second stays whatever is done about it.
        let mut again = |edits: &[Replacement]| {
            let first = edits.iter().any(|e| e.start == 1);
            Trial::Found(two().into_iter().skip(usize::from(first)).collect())
        };
        let mut trying = Trying {
            before: findings.clone(),
            left: MOST_TRIALS,
            cut_short: false,
            again: &mut again,
        };
        trying.choices(&mut findings, &[0, 1]);
        let kept: Vec<usize> = (findings.iter()).map(|f| f.remedy.choices.len()).collect();
        assert_eq!(kept, [1, 0]);
    }
}
