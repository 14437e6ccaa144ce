//! `written-over`: lettering lies on other lettering in the same pocket.

use std::collections::{BTreeSet, HashSet};

use super::{Info, change, info, thing};
use crate::artwork::ink::INK_TOLERANCE;
use crate::artwork::mark::{Content, Mark, Operation, Paint};
use crate::finding::{Finding, Location, Severity};
use crate::fixture::shorthand::list;
use crate::geometry::boxes::Boxes;
use crate::geometry::region::Region;
use crate::ids::{At, MarkId, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::strings::{LetterString, MOST_OUTLINES, Strings, strings};
use crate::readback::ReadWord;
use crate::remedy::{Remedy, Way, What};
use crate::wording::sentence;

mod rows;

pub(crate) static INFO: Info = info!("written-over", Hold, Blank);

/// Two strings lie on each other where their letters share more than this part of the smaller one's
/// place. Smaller, and tight lines or joined words would be held; larger, and a name beside the last
/// one's end would pass.
const SHARED: f64 = 0.2;

/// Art lies over lettering where it covers more than this part of the letters' ink. Smaller, and a
/// flourish through a name, or a line round its letters, would be named; larger, and a name on a crest
/// would not.
const COVERED: f64 = 0.4;

/// All of the letters: `hidden-but-live` tells of what is covered whole.
const WHOLE: f64 = 0.98;

/// A string of up to so many letters that is at least [`GRAND`] times as high as the other is an initial
/// or a number behind it, on purpose.
const SIGN: usize = 2;

/// See [`SIGN`].
const GRAND: f64 = 2.0;

/// The same text farther from itself than this share of its height is no shadow, but a copy that was
/// pasted beside the first.
const SHADOW: f64 = 0.5;

/// A copy lies on the first where it shares more than this part of its place.
const COPY_SHARED: f64 = 0.02;

/// Two single letters whose middles are closer than this share of their height lie on one spot: where
/// each batch has its initial. The letters of a monogram mostly stand apart.
const ONE_SPOT: f64 = 0.15;

/// Two single letters are of one size where the smaller one is at least this share as high.
const ONE_SIZE: f64 = 0.9;

/// A single letter lies on a string of its size where it shares more than this part of its place: script
/// whose letters are set one by one overlaps by up to a third (common practice, no source).
const LETTER_SHARED: f64 = 0.45;

/// A single letter lies on the rest of a word that it was read with where it shares more than this part of its
/// place: an i whose stem ends the last letter shares up to 0.7 in script. More, and one initial on another,
/// read as two letters, would pass.
const READ_WITH_SHARED: f64 = 0.75;

/// So many pairs in one pocket are enough to say; a hundred names on each other make five thousand.
const ENOUGH: usize = 1_000;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let of_pocket = |number| (number, strings(job, number));
    let all: Vec<(PocketId, Strings)> = job.pockets.ids().map(of_pocket).collect();
    let lettered = all.iter().filter(|(_, s)| !s.all.is_empty());
    let paired = all
        .iter()
        .filter(|(_, s)| pairs(&s.all).any(|(a, b)| initials(a, b)));
    // Where others have no such pair, this one is no design of two letters.
    let lone = lettered.count() > 1 && paired.count() == 1;
    for (number, strings) in &all {
        let before = out.len();
        on_each_other(job, *number, strings, lone, out);
        if out.len() == before && !strings.all.is_empty() {
            under_art(job, *number, &strings.all, out);
        }
        if out.len() == before {
            out.extend(rows::on_rows(job, *number, strings, &INFO));
        }
    }
    let searched = |(number, strings): &&(PocketId, Strings)| {
        let mut marks = job
            .art_in(*number)
            .iter()
            .map(|i| job.mark(job.art[*i].mark));
        !strings.too_many || !marks.any(|m| listed(job, m))
    };
    let rich: Vec<_> = all
        .iter()
        .filter(|p| !searched(p))
        .map(|(n, _)| *n)
        .collect();
    out.extend(unsearched(job, &rich));
}

/// Each two strings of a pocket whose boxes lie on each other, the later one first. Of live strings with one
/// text in exactly one place, which are deliberate or for `doubled` to tell of, only the first is taken.
fn pairs<'s>(
    all: impl IntoIterator<Item = &'s LetterString>,
) -> impl Iterator<Item = (&'s LetterString, &'s LetterString)> {
    let mut known = HashSet::new();
    let mut firsts: Vec<&LetterString> = Vec::new();
    for string in all {
        let b = string.bounds;
        let sides = [b.x0, b.y0, b.x1, b.y1].map(f64::to_bits);
        if string.text.is_none() || known.insert((string.text.as_deref(), sides)) {
            firsts.push(string);
        }
    }
    let all = firsts;
    let tree = Boxes::new(all.iter().map(|s| s.bounds));
    (0..all.len()).flat_map(move |at| {
        let later = *all.at(at);
        let touching = tree.touching(later.bounds).into_iter();
        let earlier = touching.take_while(|i| *i < at).map(|i| *all.at(i));
        let on = |earlier: &&LetterString| {
            let both = later.bounds.intersect(earlier.bounds);
            both.width() > 0.0 && both.height() > 0.0
        };
        let earlier: Vec<&LetterString> = earlier.filter(on).collect();
        earlier.into_iter().map(move |earlier| (later, earlier))
    })
}

/// Once a file, of pockets with more outlines than are searched.
fn unsearched(job: &Job<'_>, pockets: &[PocketId]) -> Option<Finding> {
    let first = job.art_in(*pockets.first()?).first()?;
    let art = &job.art[*first];
    let names: Vec<String> = (pockets.iter().map(|p| job.pockets[*p].name.clone())).collect();
    let one = names.len() == 1;
    Some(
        Finding::new(
            &INFO,
            &Location::Mark(&job.mark(art.mark).origin, art.bounds()),
            format!(
                "The outlined art{} was not searched for names on each other: it has more than {MOST_OUTLINES} outlines",
                if one { String::new() } else { format!(" in pockets {}", list(&names)) },
            ),
            "look at the proof, or keep the lettering live in the file you send: that is compared however much art there is",
        )
        .in_pocket(if one { names.first().map(String::as_str) } else { None })
        .weighing(Severity::Caution)
        .measured("pockets", names.len() as f64, 0.0, ""),
    )
}

/// Two strings that lie on each other, the later one in the file first.
struct Pair<'s> {
    later: &'s LetterString,
    earlier: &'s LetterString,
    /// Which part of the smaller one's place their letters share.
    share: f64,
    /// How much of it they may.
    allowed: f64,
}

/// Lettering on lettering. `lone` says that of all pockets this is the only one with two initials.
fn on_each_other(
    job: &Job<'_>,
    number: PocketId,
    strings: &Strings,
    lone: bool,
    out: &mut Vec<Finding>,
) {
    let name = Some(job.pockets[number].name.as_str());
    let words = &job.read[number].words;
    let held: Vec<Pair<'_>> = pairs(&strings.all)
        .filter_map(|(later, earlier)| overlapping(later, earlier, strings, words))
        .filter(|pair| pair.later.told(words) && pair.earlier.told(words))
        .take(ENOUGH)
        .collect();
    let remedy = either(job, number, &strings.all, &held);
    for Pair {
        later,
        earlier,
        share,
        allowed,
    } in held
    {
        let mark = job.mark(*later.marks.at(0));
        let monogram = initials(later, earlier) && !lone;
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, later.bounds),
                format!(
                    "{} lies on {}: their letters share {:.0} % of the smaller one's place, {:.0} % allowed",
                    sentence(&called(later)),
                    called(earlier),
                    100.0 * share,
                    100.0 * allowed
                ),
                if monogram {
                    "if one is left from another batch, delete it; a monogram may stay"
                } else {
                    "delete the one that is left from another batch; if both are meant, set each on a line of its own"
                },
            )
            .in_pocket(name)
            .weighing(if monogram { Severity::Caution } else { Severity::Hold })
            .measured("share of the letters", 100.0 * share, 100.0 * allowed, "%")
            .remedied(remedy.clone()),
        );
    }
}

/// Two strings whose letters share too much of one place, and not on purpose.
fn overlapping<'s>(
    later: &'s LetterString,
    earlier: &'s LetterString,
    strings: &Strings,
    words: &[ReadWord],
) -> Option<Pair<'s>> {
    if deliberate(later, earlier, words) || earlier.goes_on_in(later) {
        return None;
    }
    let share = shared(later, earlier);
    let single = later.letters.len().min(earlier.letters.len()) == 1;
    let allowed = match (single, strings.one_word(words, earlier, later)) {
        _ if later.same_letters(earlier) => COPY_SHARED,
        (true, true) => READ_WITH_SHARED,
        (true, false) | (false, true) => LETTER_SHARED,
        (false, false) => SHARED,
    };
    (share > allowed).then_some(Pair {
        later,
        earlier,
        share,
        allowed,
    })
}

/// Which part of the smaller one's place the letters of two strings share.
fn shared(a: &LetterString, b: &LetterString) -> f64 {
    let (a, b) = (a.body(), b.body());
    let least = a.area().min(b.area());
    if least > 0.0 {
        a.intersect(&b).area() / least
    } else {
        0.0
    }
}

/// What lies above deleted, or what lies below: which one is left from another batch only a person knows.
/// Nothing where the two are not apart in the file: one of three layers, or one object with other art.
fn either(job: &Job<'_>, pocket: PocketId, all: &[LetterString], held: &[Pair<'_>]) -> Remedy {
    let words = &job.read[pocket].words;
    // With each string its shadow, or the line round its letters.
    let with = |of: fn(&Pair<'_>) -> *const LetterString| -> Vec<&LetterString> {
        let named = |s: &LetterString| held.iter().any(|p| std::ptr::eq(of(p), s));
        let own: Vec<&LetterString> = all.iter().filter(|s| named(s)).collect();
        let beside = |s: &&LetterString| {
            let shadow = |o: &&LetterString| s.same_letters(o) && deliberate(s, o, words);
            named(s) || own.iter().any(shadow)
        };
        all.iter().filter(beside).collect()
    };
    let (upper, lower) = (with(|p| p.later), with(|p| p.earlier));
    let marks = |of: &[&LetterString]| -> BTreeSet<MarkId> {
        of.iter().flat_map(|s| s.marks.iter().copied()).collect()
    };
    if marks(&upper).first() <= marks(&lower).last() {
        return Remedy::default();
    }
    let way = |side: &'static str, own: &[&LetterString], other: &[&LetterString]| {
        let marks = marks(own);
        let arts = change::art_of(job, pocket).into_iter();
        let arts: Vec<&Art<'_>> = arts.filter(|a| marks.contains(&a.mark)).collect();
        // An object may hold more than these letters: a date, a crest.
        let place = own.iter().map(|s| s.bounds).reduce(|a, b| a.union(b))?;
        let place = place.inflate(INK_TOLERANCE, INK_TOLERANCE);
        let another = |s: &LetterString| {
            s.marks.iter().any(|m| marks.contains(m)) && !own.iter().any(|o| std::ptr::eq(*o, s))
        };
        if all.iter().any(another) || !arts.iter().all(|a| place.contains_rect(a.bounds())) {
            return None;
        }
        let names = |of: &[&LetterString]| {
            let mut names: Vec<String> = of.iter().map(|s| called(s)).collect();
            names.dedup();
            listed_words(&names)
        };
        let says = if names(own) == names(other) {
            format!("delete the {side}")
        } else {
            format!("delete {}", names(own))
        };
        let assumes = format!("the {side}, {}, is left from another batch", names(own));
        let changes = change::of_all(&arts, &What::Delete);
        Some(Way::new(side, says, changes).assuming(assumes))
    };
    Remedy::choose(
        [("upper", &upper, &lower), ("lower", &lower, &upper)]
            .into_iter()
            .filter_map(|(side, own, other)| way(side, own, other)),
    )
}

fn listed_words(names: &[String]) -> String {
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    crate::wording::listed(&names, "and")
}

fn called(string: &LetterString) -> String {
    match &string.text {
        Some(text) if !text.trim().is_empty() => {
            format!("\"{}\"", crate::wording::short(text))
        }
        Some(_) => "lettering".to_owned(),
        None => "outlined lettering".to_owned(),
    }
}

/// Whether one of two strings was laid on the other on purpose: a shadow, or a line round the same
/// letters; a monogram; an initial behind a name.
fn deliberate(a: &LetterString, b: &LetterString, words: &[ReadWord]) -> bool {
    let few = a.letters.len().min(b.letters.len());
    if few == 0 {
        return true;
    }
    let far = SHADOW * a.height().max(b.height());
    if a.same_letters(b) {
        return a.apart(b) <= far;
    }
    let round =
        |one: &LetterString, other: &LetterString| one.round(other).len() == one.letters.len();
    if a.drawn_again_in([b].into_iter(), far)
        || b.drawn_again_in([a].into_iter(), far)
        || round(a, b)
        || round(b, a)
    {
        return true;
    }
    if a.letters.len() == 1 && b.letters.len() == 1 {
        return !initials(a, b);
    }
    let (small, large) = if a.height() < b.height() {
        (a, b)
    } else {
        (b, a)
    };
    // A row may be the start of a name that was read.
    let sign = |text: &str| text.chars().count() <= SIGN;
    let short = |w: &ReadWord| !large.part_of(w) || w.text.split_whitespace().all(sign);
    large.letters.len() <= SIGN
        && large.height() >= GRAND * small.height()
        && words.iter().all(short)
}

/// Whether two strings are different single letters of one size on one spot.
fn initials(a: &LetterString, b: &LetterString) -> bool {
    let (low, high) = (a.height().min(b.height()), a.height().max(b.height()));
    a.letters.len() == 1
        && b.letters.len() == 1
        && low >= ONE_SIZE * high
        && a.apart(b) <= ONE_SPOT * high
        && !a.same_letters(b)
}

/// Art over live lettering, or under it.
fn under_art(job: &Job<'_>, number: PocketId, strings: &[LetterString], out: &mut Vec<Finding>) {
    let pocket = &job.pockets[number];
    let all: Vec<_> = job
        .art_in(number)
        .iter()
        .map(|i| &job.art[*i])
        .filter(|art| job.operation(art.mark) != Operation::Cut)
        .map(|art| (art, job.mark(art.mark)))
        .collect();
    for (art, mark) in &all {
        if !matches!(mark.content, Content::Lettering(_)) || !listed(job, mark) {
            continue;
        }
        for (over, by) in &all {
            if matches!(by.content, Content::Lettering(_)) || !listed(job, by) {
                continue;
            }
            // A line round the letters is no other art.
            let own = strings.iter().filter(|s| s.marks.contains(&art.mark));
            let round = |s: &LetterString| s.marks.contains(&over.mark);
            if !over.reach.overlaps(art.reach)
                || own
                    .clone()
                    .any(|own| strings.iter().any(|s| round(s) && own.same_letters(s)))
            {
                continue;
            }
            let ink = art.ink();
            let share = covered(ink, by, over.ink());
            if share <= COVERED || (share >= WHOLE && over.mark > art.mark) {
                continue;
            }
            out.push(
                Finding::new(
                    &INFO,
                    &Location::Mark(&mark.origin, art.bounds()),
                    format!(
                        "{} and {} lie on each other: {:.0} % of the letters' ink is burnt twice, {:.0} % allowed",
                        sentence(&thing(mark)),
                        thing(by),
                        100.0 * share,
                        100.0 * COVERED
                    ),
                    "move one of the two, or delete the one that is left from another batch",
                )
                .in_pocket(Some(&pocket.name))
                .weighing(Severity::Caution)
                .measured("share of the letters", 100.0 * share, 100.0 * COVERED, "%"),
            );
        }
    }
}

/// Full-colour art is one picture, in which everything may lie on everything.
fn listed(job: &Job<'_>, mark: &Mark) -> bool {
    match &mark.paint {
        Paint::Colour(c) => job.fixture.settings.listed(*c).is_some(),
        Paint::Pixels => true,
        _ => false,
    }
}

/// Which part of some ink lies on other ink.
fn covered(ink: &Region, by: &Mark, over: &Region) -> f64 {
    let over = match &by.content {
        // A picture without ink has no frame to speak of.
        Content::Picture(p) if p.inked.is_none() => return 0.0,
        _ => over,
    };
    let all = ink.area();
    if all > 0.0 {
        ink.intersect(over).area() / all
    } else {
        0.0
    }
}
