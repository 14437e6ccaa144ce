//! The rules. Each looks at a [`Job`] and says what it finds; none reads files, clocks or settings
//! of its own.

use std::collections::HashMap;

use crate::cores;
use crate::finding::{Finding, Severity, Stake};
use crate::matching::Job;

pub mod doubled;
pub mod enrol;
pub mod fixture_absent;
pub mod fixture_shifted;
pub mod fixture_still_cut;
pub mod font_missing;
pub mod hidden_but_live;
pub mod letter_too_small;
pub mod mirrored;
pub mod name_extra;
pub mod name_missing;
pub mod name_placeholder;
pub mod name_twice;
pub mod names;
pub mod not_proven;
pub mod off_blank;
pub mod off_centre;
mod ordered;
pub mod outside_bed;
pub mod page_changed;
pub mod paint_unknown;
pub mod past_zone;
pub mod picture_coarse;
pub mod pocket_added;
pub mod pocket_bare;
pub mod pocket_missing;
pub mod pocket_moved;
pub mod pocket_reshaped;
pub mod pocket_unloaded;
pub mod stray_cut;
pub mod tilted;
pub mod too_fine;
pub mod upside_down;
pub mod waivers;
pub mod way_up_unknown;

/// What is fixed about a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Info {
    /// Its name, the only code it has.
    pub name: &'static str,
    /// What it does to the verdict.
    pub severity: Severity,
    /// What is at stake.
    pub stake: Stake,
    /// Its page.
    pub page: &'static str,
}

/// A rule.
pub trait Rule: Sync {
    /// What is fixed about it.
    fn info(&self) -> &'static Info;

    /// Adds what it finds.
    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>);
}

/// Declares what is fixed about a rule. Its page is part of the program: a missing one does not
/// compile.
macro_rules! info {
    ($name:literal, $severity:ident, $stake:ident) => {
        $crate::rules::Info {
            name: $name,
            severity: $crate::finding::Severity::$severity,
            stake: $crate::finding::Stake::$stake,
            page: include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/rules/", $name, ".md")),
        }
    };
}
pub(crate) use info;

/// Every rule of an inspection, in the order in which a person would look: is this file readable,
/// is it this fixture, is the fixture where it was, would it be cut; then the art: may it be run at
/// all, is it on the bed, in a pocket, in its zone, the right way up, is it what was ordered. Findings of equal weight are
/// listed in this order.
pub static REGISTRY: &[&dyn Rule] = &[
    &not_proven::NotProven,
    &paint_unknown::PaintUnknown,
    &font_missing::FontMissing,
    &page_changed::PageChanged,
    &fixture_shifted::FixtureShifted,
    &fixture_absent::FixtureAbsent,
    &pocket_moved::PocketMoved,
    &pocket_reshaped::PocketReshaped,
    &pocket_missing::PocketMissing,
    &pocket_added::PocketAdded,
    &fixture_still_cut::FixtureStillCut,
    &stray_cut::StrayCut,
    &hidden_but_live::HiddenButLive,
    &doubled::Doubled,
    &outside_bed::OutsideBed,
    &off_blank::OffBlank,
    &past_zone::PastZone,
    &upside_down::UpsideDown,
    &mirrored::Mirrored,
    &tilted::Tilted,
    &way_up_unknown::WayUpUnknown,
    &off_centre::OffCentre,
    &name_placeholder::NamePlaceholder,
    &name_missing::NameMissing,
    &name_twice::NameTwice,
    &name_extra::NameExtra,
    &pocket_unloaded::PocketUnloaded,
    &pocket_bare::PocketBare,
    &too_fine::TooFine,
    &letter_too_small::LetterTooSmall,
    &picture_coarse::PictureCoarse,
];

/// What is fixed about every rule, those for drawings and for waivers included.
pub fn all() -> impl Iterator<Item = &'static Info> {
    REGISTRY
        .iter()
        .map(|r| r.info())
        .chain(enrol::REGISTRY.iter().map(|r| r.info()))
        .chain([&waivers::UNUSED, &waivers::EXPIRED])
}

/// A rule by name.
pub fn find(name: &str) -> Option<&'static Info> {
    all().find(|i| i.name == name)
}

/// Files of fewer marks are through before a second thread has started.
const WORTH_A_THREAD: usize = 2_000;

/// Runs every rule; what they find comes in the order of the rules.
pub fn run(job: &Job<'_>) -> Vec<Finding> {
    let check = |rule: &&dyn Rule| {
        let mut found = Vec::new();
        rule.check(job, &mut found);
        worst_of_each(found)
    };
    if job.artwork.marks.len() < WORTH_A_THREAD {
        return REGISTRY.iter().flat_map(check).collect();
    }
    cores::each(REGISTRY, check).into_iter().flatten().collect()
}

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
        match same.and_then(|i| kept.get_mut(i)) {
            None => kept.push(finding),
            Some(worst) => {
                let more = worst.more + 1;
                if how_bad(&finding) > how_bad(worst) {
                    *worst = finding;
                }
                worst.more = more;
            }
        }
    }
    kept
}

/// How far past its limit a finding is, as far as it measures anything.
fn how_bad(finding: &Finding) -> f64 {
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
