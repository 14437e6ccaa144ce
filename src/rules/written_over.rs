//! `written-over`: lettering lies on other lettering in the same pocket.

use super::{Info, Rule, info, thing};
use crate::artwork::mark::{Content, Mark, Operation, Paint};
use crate::finding::{Finding, Location, Severity};
use crate::geometry::region::Region;
use crate::ids::PocketId;
use crate::matching::Job;
use crate::matching::strings::{LetterBody, LetterString, strings};
use crate::wording::sentence;

pub(crate) struct WrittenOver;

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

/// How much the letters of an outline round letters, or of their shadow, may differ from them in size
/// beyond what all of them do, as a share of the height.
const SAME_LETTERS: f64 = 0.08;

/// Pockets of more art than this are traced pictures; lettering has far less.
const MOST_ART: usize = 400;

impl Rule for WrittenOver {
    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        for number in job.pockets.ids() {
            if (1..=MOST_ART).contains(&job.art_in(number).len()) {
                let all = strings(job, number);
                let before = out.len();
                on_each_other(job, number, &all, out);
                if out.len() == before {
                    under_art(job, number, &all, out);
                }
            }
        }
    }
}

/// Lettering on lettering.
fn on_each_other(job: &Job<'_>, number: PocketId, all: &[LetterString], out: &mut Vec<Finding>) {
    let name = Some(job.pockets[number].name.as_str());
    for (at, later) in all.iter().enumerate() {
        for earlier in all.iter().take(at) {
            let both = later.bounds.intersect(earlier.bounds);
            if both.width() <= 0.0 || both.height() <= 0.0 || deliberate(later, earlier) {
                continue;
            }
            let (a, b) = (later.body(), earlier.body());
            let least = a.area().min(b.area());
            let share = if least > 0.0 {
                a.intersect(&b).area() / least
            } else {
                0.0
            };
            if share <= SHARED || !later.told() || !earlier.told() {
                continue;
            }
            let Some(mark) = later.marks.first().map(|m| job.mark(*m)) else {
                continue;
            };
            out.push(
                Finding::new(
                    &INFO,
                    &Location::Mark(&mark.origin, later.bounds),
                    format!(
                        "{} lies on {}: their letters share {:.0} % of the smaller one's place, {:.0} % allowed",
                        sentence(&called(later)),
                        called(earlier),
                        100.0 * share,
                        100.0 * SHARED
                    ),
                    "delete the one that is left from another batch; if both are meant, set each on a line of its own",
                )
                .in_pocket(name)
                .measured("share of the letters", 100.0 * share, 100.0 * SHARED, "%"),
            );
        }
    }
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
fn deliberate(a: &LetterString, b: &LetterString) -> bool {
    let few = a.letters.len().min(b.letters.len());
    if few < 2 {
        return true;
    }
    if let (Some(one), Some(other)) = (&a.text, &b.text)
        && one == other
    {
        return true;
    }
    let (small, large) = if a.height() < b.height() {
        (a, b)
    } else {
        (b, a)
    };
    if large.letters.len() <= SIGN && large.height() >= GRAND * small.height() {
        return true;
    }
    same_letters(a, b)
}

/// Whether the letters of both are of the same sizes, all of one a little larger perhaps.
fn same_letters(a: &LetterString, b: &LetterString) -> bool {
    // Two live strings say what they are.
    if a.letters.len() != b.letters.len() || a.text.is_some() && b.text.is_some() {
        return false;
    }
    let height = a.height().min(b.height());
    let spread = |size: fn(&LetterBody) -> f64| {
        let pairs = a.letters.iter().zip(&b.letters);
        let all: Vec<f64> = pairs.map(|(a, b)| size(a) - size(b)).collect();
        let most = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let least = all.iter().copied().fold(f64::INFINITY, f64::min);
        most - least
    };
    spread(|l| l.width) <= SAME_LETTERS * height
        && spread(|l| l.height) <= 2.0 * SAME_LETTERS * height
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
                    .any(|own| strings.iter().any(|s| round(s) && same_letters(own, s)))
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
