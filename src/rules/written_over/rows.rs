//! Outlines that lie on each other as two rows of lettering would, where nothing tells that they are lettering.

use super::{Info, SHADOW, deliberate, listed, pairs, shared};
use crate::finding::{Finding, Location, Severity};
use crate::ids::{At, PocketId};
use crate::matching::Job;
use crate::matching::strings::{LetterString, Strings};

/// Fewer outlines are no row, and fewer that lie on another row only touch it.
const ROW: usize = 2;

/// A single outline under more than this many letters is a flourish through them.
const FLOURISH: usize = 3;

/// Where one outline of a row alone lies on another, they share more than this part of the smaller one's
/// place: at the joints of script that is broken into rows it is up to a third.
const SHARED_BY_ONE: f64 = 0.35;

/// Rows of lettering of one blank differ in height by no more than this. What is smaller is a pattern or a
/// hatch under a name, and what is larger a crest behind it.
const HEIGHTS: f64 = 3.0;

/// The first rows of a pocket that lie on each other so.
pub(super) fn on_rows(
    job: &Job<'_>,
    number: PocketId,
    strings: &Strings,
    info: &'static Info,
) -> Option<Finding> {
    let in_listed_paint = |s: &&LetterString| s.marks.iter().all(|m| listed(job, job.mark(*m)));
    let mut rows: Vec<&LetterString> = (strings.all.iter().chain(&strings.short))
        .filter(|s| s.letters.len() >= ROW && !s.all_alike())
        .filter(in_listed_paint)
        .collect();
    rows.sort_by_key(|s| s.marks.first().copied());
    // A shadow, or lines round letters, of which the rows are broken at other places.
    let again = |one: &LetterString| {
        let others = rows.iter().copied().filter(|s| !std::ptr::eq(*s, one));
        one.drawn_again_in(others, SHADOW * one.height())
    };
    // A frame, or a line round some of the letters, is no letter.
    let lie_on = |one: &LetterString, other: &LetterString| {
        let round = one.round(other);
        let mut on = one.letters_on(other);
        on.retain(|i| !round.contains(i));
        on.len()
    };
    let words = &job.read[number].words;
    let (later, earlier, on, under) = pairs(rows.iter().copied())
        .filter(|(a, b)| a.text.is_none() || b.text.is_none())
        .filter(|(a, b)| a.height().max(b.height()) <= HEIGHTS * a.height().min(b.height()))
        .filter(|(later, earlier)| !deliberate(later, earlier, words) && !earlier.goes_on_in(later))
        .filter(|(later, earlier)| !strings.one_word(words, earlier, later))
        .filter(|(later, earlier)| !again(later) && !again(earlier))
        .map(|(a, b)| (a, b, lie_on(a, b), lie_on(b, a)))
        .find(|(a, b, on, under)| match on.min(under) {
            0 => false,
            1 => (ROW..=FLOURISH).contains(on.max(under)) && shared(a, b) > SHARED_BY_ONE,
            _ => true,
        })?;
    let mark = job.mark(*later.marks.at(0));
    Some(
        Finding::new(
            info,
            &Location::Mark(&mark.origin, later.bounds.union(earlier.bounds)),
            format!(
                "Outlines lie on each other as two names would: {on} of a row of {} on {under} of a row of {}, and nothing tells whether both are lettering",
                later.letters.len(),
                earlier.letters.len()
            ),
            "look at the proof: if one is a name that is left from another batch, delete it; one design may stay",
        )
        .in_pocket(Some(job.pockets[number].name.as_str()))
        .weighing(Severity::Caution)
        .measured("letters on another row", on.max(under) as f64, 1.0, ""),
    )
}
