//! `mend`: a repaired copy of a run, made by changing the bytes that a remedy names and no others.
//!
//! Certain remedies are applied; those that a person must decide are applied if chosen, and listed
//! otherwise. The copy is inspected like any other file.

use std::collections::BTreeSet;
use std::path::Path;
use std::str::FromStr;
use std::sync::Arc;

use crate::artwork::source::Source;
use crate::artwork::source::edit::{Replacement, in_order};
use crate::finding::Finding;
use crate::fixture::Fixture;
use crate::inspect::{Failure, Inspector, Options, unreadable};
use crate::matching::Job;
use crate::output;
use crate::paths::Printable as _;
use crate::remedy::{Edit, Way, apart};
use crate::report::{Run, Verdict};
use crate::settle::outcome::{Key, Outcome, key};
use crate::wording::quoted;

/// What is to be mended, and what was chosen.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Only findings of these rules; all of them if it is empty.
    pub only: Vec<String>,
    /// Only findings of this pocket.
    pub pocket: Option<String>,
    /// What was chosen where a person must decide.
    pub chosen: Vec<Choice>,
}

/// A choice between alternatives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// The rule whose finding it is for.
    pub rule: String,
    /// The pocket, where it is for one only.
    pub pocket: Option<String>,
    /// The alternative.
    pub name: String,
}

impl FromStr for Choice {
    type Err = &'static str;

    /// Reads `RULE=CHOICE`, or `RULE@POCKET=CHOICE`.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (about, name) = text
            .split_once('=')
            .filter(|(about, name)| !about.is_empty() && !name.is_empty())
            .ok_or("write RULE=CHOICE, or RULE@POCKET=CHOICE for one pocket")?;
        let (rule, pocket) = match about.split_once('@') {
            Some((rule, pocket)) => (rule, Some(pocket.to_owned())),
            None => (about, None),
        };
        Ok(Self {
            rule: rule.to_owned(),
            pocket,
            name: name.to_owned(),
        })
    }
}

/// The result of mending.
#[derive(Debug)]
pub struct Mended {
    /// The run as it was.
    pub before: Run,
    /// The copy as it is.
    pub after: Run,
    /// What was done, in the order in which it was done.
    pub done: Vec<Done>,
    /// The copy's bytes with the mark that says who wrote it: the run's own where nothing was done.
    pub marked: Vec<u8>,
    /// The copy's text.
    pub text: Arc<str>,
}

/// One thing that was done.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// The rule whose finding it was for.
    pub rule: &'static str,
    /// Its pocket.
    pub pocket: Option<String>,
    /// What was done, as it was said before.
    pub says: String,
    /// The elements that were changed: line in the file as it was then, local name, id.
    pub elements: Vec<(usize, String, Option<String>)>,
}

/// Inspections that mending a file may take. Each round takes one. A file that needs more is not
/// getting better.
const ROUNDS: usize = 24;

/// Mends a file. Nothing is written.
///
/// # Errors
///
/// A file that cannot be inspected or written back, or a choice that does not exist.
pub fn mend(file: &Path, options: &Options, wanted: &Wanted) -> Result<Mended, Failure> {
    let inspector = Inspector::new(options.clone());
    let original = Source::bytes_of(file).map_err(|e| unreadable(&e))?;
    let look = |bytes: &[u8]| -> Result<(Source, Run, Option<String>), Failure> {
        let source = Source::from_bytes(file, bytes.to_vec()).map_err(|e| unreadable(&e))?;
        let named = |job: &Job<'_>, _: &Run| pocket(job.fixture, wanted);
        let (run, named) = inspector.inspect_bytes(file, bytes.to_vec(), named);
        match &run.trouble {
            Some(text) => Err(Failure::plain(text.clone())),
            None => Ok((source, run, named.transpose()?.flatten())),
        }
    };
    let failed = |e: crate::artwork::source::edit::EditError| {
        Failure::plain(format!("{}: {e}", file.printable()))
    };
    let (mut source, before, pocket) = look(&original)?;
    check(&before, wanted)?;
    let (mut bytes, mut now) = (original, before.clone());
    let mut done = Vec::new();
    let mut useless = BTreeSet::new();
    for _ in 0..ROUNDS {
        let picked = pick(&now, wanted, pocket.as_deref(), &useless);
        let Some((changes, mut steps, tried)) = together(&source, &picked) else {
            break;
        };
        let changed = source.changed_bytes(&bytes, &changes).map_err(failed)?;
        let looked = look(&changed).ok();
        let Some((next_source, next, _)) = looked.filter(|(_, next, _)| !worse(&now, next, &tried))
        else {
            // Together they interfere with each other, so they are applied one by one.
            if tried.len() > 1 {
                useless.extend(tried.into_iter().skip(1));
            } else {
                useless.extend(tried);
            }
            continue;
        };
        done.append(&mut steps);
        (source, bytes, now) = (next_source, changed, next);
        useless.clear();
    }
    let marked = if done.is_empty() {
        bytes.clone()
    } else {
        let end = source.text.len();
        let mark = Replacement::new(end..end, output::mark_after(&source.text));
        source.changed_bytes(&bytes, &[mark]).map_err(failed)?
    };
    Ok(Mended {
        before,
        after: now,
        done,
        marked,
        text: Arc::from(source.text.as_str()),
    })
}

/// The name of the one pocket that is to be mended.
fn pocket(fixture: &Fixture, wanted: &Wanted) -> Result<Option<String>, Failure> {
    let Some(called) = &wanted.pocket else {
        return Ok(None);
    };
    let failed = |why: String| Failure::plain(format!("--pocket: {why}"));
    match fixture.listed(called).map_err(failed)?.as_slice() {
        [one] => Ok(Some(fixture.pockets[*one].name.clone())),
        several => Err(failed(format!(
            "{} are {} pockets: name one",
            quoted(called),
            several.len()
        ))),
    }
}

/// Whether a choice is for a finding.
fn is_for(choice: &Choice, finding: &Finding) -> bool {
    choice.rule == finding.rule && (choice.pocket.is_none() || choice.pocket == finding.pocket)
}

/// Checks that every choice exists.
fn check(run: &Run, wanted: &Wanted) -> Result<(), Failure> {
    for choice in &wanted.chosen {
        let names: BTreeSet<&str> = run
            .findings
            .iter()
            .filter(|f| is_for(choice, f))
            .flat_map(|f| &f.remedy.choices)
            .filter(|way| !way.edits.is_empty())
            .map(|way| way.name.as_ref())
            .collect();
        if !names.contains(choice.name.as_str()) {
            let known = names.into_iter().collect::<Vec<_>>().join(", ");
            return Err(Failure {
                text: format!(
                    "--choose {}={}: {}",
                    choice.rule,
                    choice.name,
                    if known.is_empty() {
                        "nothing is there to be chosen for it in this run".to_owned()
                    } else {
                        format!("it can be one of: {known}")
                    }
                ),
                detail: String::new(),
            });
        }
    }
    Ok(())
}

/// The remedies to apply now: the certain ones and the chosen ones.
fn pick<'r>(
    run: &'r Run,
    wanted: &Wanted,
    pocket: Option<&str>,
    useless: &BTreeSet<Key>,
) -> Vec<(&'r Finding, &'r Way)> {
    run.findings
        .iter()
        .filter(|f| f.because_of.is_none() && f.waived.is_none() && !useless.contains(&key(f)))
        .filter(|f| wanted.only.is_empty() || wanted.only.iter().any(|rule| rule == f.rule))
        .filter(|f| pocket.is_none() || pocket == f.pocket.as_deref())
        .filter_map(|f| {
            let chosen = wanted
                .chosen
                .iter()
                .filter(|choice| is_for(choice, f))
                .find_map(|choice| f.remedy.choices.iter().find(|way| way.name == choice.name));
            let way = chosen.or_else(|| f.remedy.ways.first())?;
            (!way.edits.is_empty()).then_some((f, way))
        })
        .collect()
}

type Step = (Vec<Replacement>, Vec<Done>, Vec<Key>);

/// As many of the remedies as do not change the same elements.
fn together(source: &Source, picked: &[(&Finding, &Way)]) -> Option<Step> {
    let (mut changes, mut done, mut tried) = (Vec::new(), Vec::new(), Vec::new());
    let mut ways: Vec<&Way> = Vec::new();
    for (finding, way) in picked {
        ways.push(way);
        let own = way.edits.iter().map(|e| e.replacement.clone());
        let all: Vec<Replacement> = changes.iter().cloned().chain(own).collect();
        if !apart(&ways) || in_order(&source.text, &all).is_err() {
            ways.pop();
            continue;
        }
        changes = all;
        let mut elements: Vec<&Edit> = way.edits.iter().collect();
        elements.sort_by_key(|e| e.start);
        elements.dedup_by_key(|e| e.start);
        let named = |e: &&Edit| {
            let (line, _) = source.line_column(e.start);
            (line, e.element.clone(), e.id.clone())
        };
        let elements = elements.iter().map(named).collect();
        done.push(Done {
            rule: finding.rule,
            pocket: finding.pocket.clone(),
            says: way.says.clone(),
            elements,
        });
        tried.push(key(finding));
    }
    (!changes.is_empty()).then_some((changes, done, tried))
}

/// Whether something is found that was not there before what was `tried`, or the verdict got worse.
fn worse(before: &Run, after: &Run, tried: &[Key]) -> bool {
    let own = before.findings.iter().filter(|f| tried.contains(&key(f)));
    let own: Vec<&Finding> = own.collect();
    // A pocket that was emptied on request is bare.
    let outcome = Outcome::of(&before.findings, &after.findings, &own, true);
    after.verdict > before.verdict || after.verdict == Verdict::Unread || outcome.brings_another()
}
