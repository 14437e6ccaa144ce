//! The rules. Each looks at a [`Job`] and says what it finds; none reads files, clocks or settings
//! of its own.

use std::collections::HashMap;

use crate::abandon;
use crate::cores;
use crate::finding::{Finding, Info};
use crate::ids::At;
use crate::matching::Job;

mod change;
mod design;
pub(crate) mod enrol;
mod lying;
mod ordered;
pub(crate) use ordered::lettering;
pub(crate) mod waivers;

/// The check of a rule: adds what it finds.
type Check = fn(&Job<'_>, &mut Vec<Finding>);

/// Makes a list of rules: each line is the name of a module, which has an `INFO` and a `check`.
macro_rules! rules {
    ($kind:ident: $($module:ident,)+) => {
        $(pub(crate) mod $module;)+

        /// The rules with what is fixed about each, in the order of the list above.
        pub(crate) static REGISTRY: &[(&$crate::finding::Info, $kind)] =
            &[$((&$module::INFO, $module::check)),+];

        /// The file that each of them is in.
        #[cfg(test)]
        pub(crate) const FILES: &[&str] = &[$(stringify!($module)),+];
    };
}
pub(crate) use rules;

// Every rule of an inspection, in the order in which a person would look: is this file readable, is it
// this fixture, is the fixture where it was, would it be cut; then the art: may it be run at all, is it
// on the bed, in a pocket, in its zone, the right way up, is it what was ordered. Findings of equal
// weight are told in this order.
rules! { Check:
    not_proven,
    paint_unknown,
    font_missing,
    page_changed,
    fixture_shifted,
    fixture_absent,
    pocket_moved,
    pocket_reshaped,
    pocket_missing,
    pocket_added,
    fixture_still_cut,
    stray_cut,
    hidden_but_live,
    doubled,
    written_over,
    outside_bed,
    off_blank,
    past_zone,
    upside_down,
    mirrored,
    tilted,
    way_up_unknown,
    off_centre,
    name_placeholder,
    name_missing,
    name_twice,
    name_extra,
    pocket_unloaded,
    pocket_bare,
    too_fine,
    letter_too_small,
    picture_coarse,
}

/// Declares what is fixed about a rule. Its page is part of the program: a missing one does not
/// compile.
macro_rules! info {
    ($name:literal, $severity:ident, $stake:ident) => {
        $crate::finding::Info {
            name: $name,
            severity: $crate::finding::Severity::$severity,
            stake: $crate::finding::Stake::$stake,
            page: include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/rules/", $name, ".md")),
        }
    };
}
pub(crate) use info;

/// What is fixed about every rule, those for drawings and for waivers included.
pub fn all() -> impl Iterator<Item = &'static Info> {
    REGISTRY
        .iter()
        .map(|(info, _)| *info)
        .chain(enrol::REGISTRY.iter().map(|(info, _)| *info))
        .chain([&waivers::UNUSED, &waivers::EXPIRED])
}

/// The names that a waiver may use: all but those of the rules for waivers.
pub fn names() -> Vec<&'static str> {
    let about_waivers = [waivers::UNUSED.name, waivers::EXPIRED.name];
    all()
        .map(|rule| rule.name)
        .filter(|name| !about_waivers.contains(name))
        .collect()
}

/// A rule by name.
pub fn find(name: &str) -> Option<&'static Info> {
    all().find(|i| i.name == name)
}

/// Files of fewer marks are through before a second thread has started.
const WORTH_A_THREAD: usize = 2_000;

/// Runs every rule; what they find comes in the order of the rules.
pub fn run(job: &Job<'_>) -> Vec<Finding> {
    let most = abandon::for_pockets(MOST_STEPS, job.pockets.len());
    let found_by = |(info, check): &(&'static Info, Check)| {
        abandon::ask();
        let found = abandon::within(most, || {
            let mut found = Vec::new();
            check(job, &mut found);
            worst_of_each(found)
        });
        found.ok_or(*info)
    };
    let checked: Vec<Result<Vec<Finding>, &Info>> = if job.artwork.marks.len() < WORTH_A_THREAD {
        REGISTRY.iter().map(found_by).collect()
    } else {
        cores::each(REGISTRY, found_by)
    };
    let too_rich: Vec<&Info> = checked
        .iter()
        .filter_map(|c| c.as_ref().err().copied())
        .collect();
    let found = checked.into_iter().flatten().flatten();
    found
        .chain(not_proven::too_rich(job, &too_rich, most))
        .collect()
}

/// Steps that one rule may take (see [`abandon::spend`]): a second or so. With fewer, traced art of tens of
/// thousands of outlines would be held; with more, whoever saves art that lies on itself a thousand times
/// would wait for the answer.
const MOST_STEPS: usize = 3_000_000;

/// Findings are one per pocket and rule, the worst measured, with a count of the others.
///
/// Findings that name no pocket all stay: they are about different places.
fn worst_of_each(found: Vec<Finding>) -> Vec<Finding> {
    let mut kept: Vec<Finding> = Vec::new();
    let mut first: HashMap<(&str, String), usize> = HashMap::new();
    for finding in found {
        let same = finding.pocket.as_ref().and_then(|p| {
            let next = kept.len();
            let at = *first.entry((finding.rule, p.clone())).or_insert(next);
            (at < next).then_some(at)
        });
        match same.map(|i| kept.at_mut(i)) {
            None => kept.push(finding),
            Some(worst) => {
                let more = worst.more + 1 + finding.more;
                let mut other = finding;
                if how_bad(&other) > how_bad(worst) {
                    std::mem::swap(worst, &mut other);
                }
                worst.remedy.join(other.remedy);
                worst.more = more;
            }
        }
    }
    for worst in kept.iter_mut().filter(|f| f.more > 0) {
        worst.remedy.tidy();
    }
    kept
}

/// How far past its limit a finding is, as far as it measures anything.
pub(crate) fn how_bad(finding: &Finding) -> f64 {
    finding
        .measured
        .as_ref()
        .map_or(0.0, |m| (m.value - m.limit).abs())
}

/// What a mark is called in a message: the words it spells, or what it is.
pub(crate) fn thing(mark: &crate::artwork::mark::Mark) -> String {
    use crate::artwork::mark::{Content, Role};
    match (&mark.content, &mark.role) {
        (Content::Lettering(l), _) if !l.text.trim().is_empty() => {
            format!("\"{}\"", crate::wording::short(&l.text))
        }
        (Content::Lettering(_), _) => "lettering".to_owned(),
        (Content::Picture(_), _) => "a picture".to_owned(),
        (Content::Shape, Role::Stroke(_)) => "a line".to_owned(),
        (Content::Shape, _) => "a filled shape".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::collections::BTreeSet;
    use std::path::Path;

    use super::*;

    /// Each rule with the file that it is in, below `src/rules`.
    fn with_files() -> Vec<(&'static Info, String)> {
        let runs = REGISTRY.iter().map(|(info, _)| *info).zip(FILES);
        let drawings = enrol::REGISTRY.iter().map(|(info, _)| *info);
        let drawings = drawings.zip(enrol::FILES);
        runs.map(|(info, file)| (info, format!("{file}.rs")))
            .chain(drawings.map(|(info, file)| (info, format!("enrol/{file}.rs"))))
            .collect()
    }

    #[test]
    fn a_rule_is_called_as_its_file() {
        for (info, file) in with_files() {
            let called = Path::new(&file).file_stem().unwrap().to_string_lossy();
            assert_eq!(
                info.name,
                called.replace('_', "-"),
                "src/rules/{file} and the name in its `info!` differ: make them one"
            );
        }
    }

    #[test]
    fn names_are_unique_and_plain() {
        let names: Vec<&str> = all().map(|rule| rule.name).collect();
        let unique: BTreeSet<&&str> = names.iter().collect();
        assert_eq!(unique.len(), names.len(), "two rules have one name");
        for name in names {
            assert!(
                name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'),
                "{name}: small letters and hyphens only"
            );
        }
    }

    #[test]
    fn every_file_of_a_rule_is_in_a_list() {
        let listed: BTreeSet<String> = with_files().into_iter().map(|(_, file)| file).collect();
        let rules = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules");
        for folder in ["", "enrol/"] {
            for entry in std::fs::read_dir(rules.join(folder)).unwrap() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                let file = format!("{folder}{name}");
                let list = if folder.is_empty() {
                    "mod.rs"
                } else {
                    "enrol.rs"
                };
                if !path.is_file() || name == "mod.rs" {
                    continue;
                }
                // What is no rule is a module declared by hand; the compiler says if its `check` never runs.
                let module = format!("mod {};", name.trim_end_matches(".rs"));
                let declared = std::fs::read_to_string(rules.join(list)).unwrap();
                assert!(
                    listed.contains(&file) || declared.contains(&module),
                    "src/rules/{file} is no part of the program: add its line to the list in src/rules/{list}"
                );
            }
        }
    }

    #[test]
    fn every_rule_but_those_for_waivers_can_be_waived() {
        let names = names();
        assert_eq!(names.len() + 2, all().count());
        assert!(names.contains(&"past-zone") && names.contains(&"open-cut"));
    }
}
