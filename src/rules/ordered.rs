//! What the rules about names share: the lettering of a job against its order list.

use kurbo::Rect;

use crate::artwork::mark::Origin;
use crate::finding::Location;
use crate::ids::{At, PocketId};
use crate::matching::Job;
use crate::matching::pocket_text::{PocketText, continues, read_lettering};
use crate::orders::compare::{Comparison, Found, LetteringPiece, Said, compare, joins};
use crate::orders::spelling::Spelling;
use crate::remedy::{Change, What};

/// A job's lettering, with what the order list says of it.
pub(super) struct Ordered {
    /// All that was read.
    pub(super) reading: PocketText,
    /// How it compares.
    pub(super) comparison: Comparison,
}

/// Compares the lettering of `job` with its order list; `None` where there is no list.
pub(super) fn ordered(job: &Job<'_>) -> Option<Ordered> {
    let list = job.orders.as_ref()?;
    let reading = read_lettering(job);
    let said = said(job, &reading);
    let comparison = match &job.together {
        Some((together, run)) => together.share(*run, said),
        None => compare(&list.orders, &said, job.fixture.settings.names.exact_case),
    };
    Some(Ordered {
        reading,
        comparison,
    })
}

/// What a job's pockets say, and the pockets with art that nobody can read.
pub(crate) fn lettering(job: &Job<'_>) -> (Vec<Said>, Vec<PocketId>) {
    let reading = read_lettering(job);
    let unsure = reading.words.iter().filter(|w| !w.sure);
    let mut unread: Vec<PocketId> = reading.unread.iter().map(|u| u.pocket).collect();
    unread.extend(unsure.filter_map(|w| w.pocket));
    unread.sort_unstable();
    unread.dedup();
    (said(job, &reading), unread)
}

/// The lettering pocket by pocket, that beside all pockets last.
pub(super) fn said(job: &Job<'_>, reading: &PocketText) -> Vec<Said> {
    job.pockets
        .ids()
        .map(Some)
        .chain([None])
        .map(|pocket| {
            let mut lines: Vec<LetteringPiece> = Vec::new();
            let mut last = None;
            for (word, words) in reading.of(pocket) {
                lines.push(LetteringPiece {
                    text: words.text.clone(),
                    word,
                    tight: last.is_some_and(|l| continues(l, words)),
                    sure: words.sure,
                    placeholder: false,
                });
                last = Some(words);
            }
            for run in stand_ins(job, &lines) {
                for line in lines.at_mut(run) {
                    line.placeholder = true;
                }
            }
            Said {
                run: 0,
                pocket,
                lines,
            }
        })
        .collect()
}

/// Runs of lines that are one of the stand-ins of the settings.
pub(super) fn stand_ins(job: &Job<'_>, lines: &[LetteringPiece]) -> Vec<std::ops::Range<usize>> {
    let names = &job.fixture.settings.names;
    let key = |text: &str| Spelling::new(text).key(names.exact_case).to_owned();
    let listed: Vec<String> = names.placeholders.iter().map(|p| key(p)).collect();
    let mut out = Vec::new();
    if listed.is_empty() {
        return out;
    }
    for start in 0..lines.len() {
        for end in start + 1..=lines.len().min(start + 4) {
            let run = lines.at(start..end);
            if joins(run).iter().any(|text| listed.contains(&key(text))) {
                out.push(start..end);
            }
        }
    }
    out
}

/// Where lettering stands: on the bed and in the file, or in the file only where it has no place.
pub(super) fn place<'a>(job: &'a Job<'_>, reading: &PocketText, words: &[usize]) -> Location<'a> {
    let all = || words.iter().map(|w| reading.words.at(*w));
    let bounds = all().map(|w| w.bounds).reduce(|a, b| a.union(b));
    let origin: Option<&Origin> = all()
        .flat_map(|w| &w.marks)
        .next()
        .map(|m| job.mark(*m))
        .map(|m| &m.origin);
    match (origin, bounds) {
        (Some(origin), Some(b)) if b != Rect::ZERO => Location::Mark(origin, b),
        (Some(origin), _) => Location::File(origin),
        (None, Some(b)) => Location::Bed(b),
        (None, None) => Location::Nowhere("the lettering has no mark and no place"),
    }
}

/// The change of the lettering of some words.
pub(super) fn of_words(reading: &PocketText, words: &[usize], what: What) -> Change {
    let marks = words.iter().map(|w| reading.words.at(*w));
    let marks = marks.flat_map(|w| w.marks.iter().copied()).collect();
    Change::of(marks, what).called("the lettering")
}

/// The name of a pocket.
pub(super) fn pocket_name<'a>(job: &'a Job<'_>, pocket: Option<PocketId>) -> Option<&'a str> {
    pocket.map(|p| job.pockets[p].name.as_str())
}

/// The names of the pockets of several texts, for a sentence; with the files where several runs are
/// compared together.
pub(super) fn pocket_names(job: &Job<'_>, found: &[Found]) -> String {
    if let Some((together, _)) = &job.together {
        let places: Vec<String> = found
            .iter()
            .map(|f| together.runs.at(f.run).place(f.pocket))
            .collect();
        return places.join(", ");
    }
    let names: Vec<String> = found
        .iter()
        .filter_map(|f| pocket_name(job, f.pocket))
        .map(str::to_owned)
        .collect();
    crate::fixture::shorthand::list(&names)
}

/// A text for a message, between quotes, not too long.
pub(super) fn quoted(text: &str) -> String {
    format!("\"{}\"", crate::wording::short(text))
}
