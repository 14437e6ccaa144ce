//! `past-zone`: lettering or art that belongs to a pocket reaches past its zone.

use kurbo::{Affine, Rect};

use super::design::{Design, Designs, as_one, one_element, room_about};
use super::{Info, change, info, thing};
use crate::artwork::mark::{Content, Mark, Operation};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::Pocket;
use crate::geometry::bed_words::side;
use crate::geometry::boxes::Boxes;
use crate::geometry::overhang::overhang;
use crate::ids::{IdVec, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::fit::{ROUNDING, TwoLines, largest, letters_past, moved, two_lines};
use crate::matching::pocket_text::letters_in;
use crate::remedy::{Change, Remedy, Way, What};
use crate::wording::{listed, sentence};

pub(crate) static INFO: Info = info!("past-zone", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    // A box in the middle of each zone: what lies in it, as most of traced art does, is in the zone.
    let middles: IdVec<PocketId, Option<Rect>> =
        job.pockets.iter().map(|p| p.zone.middle()).collect();
    let live = |a: &&Art<'_>| a.pocket.is_none() && job.operation(a.mark) != Operation::Cut;
    let loose = Boxes::new(job.art.iter().filter(live).map(|a| a.reach));
    // The pieces of one design are put right together.
    let mut designs = Designs::new(job);
    for art in &job.art {
        let middle = art.pocket.and_then(|p| middles[p]);
        if middle.is_some_and(|m| m.contains_rect(art.reach)) {
            continue;
        }
        // A cut past the zone is `stray-cut`'s to say.
        if job.operation(art.mark) == Operation::Cut {
            continue;
        }
        let Some(number) = art.pocket else {
            continue;
        };
        let pocket = &job.pockets[number];
        // By its box first: the ink of traced art is not worked out for this.
        if pocket.zone.contains_rect(art.reach) {
            continue;
        }
        let Some(over) = overhang(art.ink(), &pocket.zone, ROUNDING) else {
            continue;
        };
        let mark = job.mark(art.mark);
        let where_to = side(over.at - over.nearest);
        let made = designs.made(number, art, |design| {
            remedy(job, mark, art, design, pocket, &loose)
        });
        let too_rich = || (Remedy::default(), TOO_RICH.to_owned());
        let (remedy, by_hand) = made.unwrap_or_else(too_rich);
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, art.bounds()),
                format!(
                    "{} runs {} past the {where_to} of its zone{}",
                    sentence(&thing(mark)),
                    job.shown().length(over.distance),
                    which(mark, art, pocket, where_to)
                ),
                by_hand,
            )
            .remedied(remedy)
            .in_pocket(Some(&pocket.name))
            .measured("overhang", over.distance, 0.0, "mm")
            .drawn(Picture::Hatch(over.outside.to_path())),
        );
    }
}

/// What to do about art so rich that no place for it was worked out.
const TOO_RICH: &str =
    "group it with what belongs to it; move the group into its zone, or set it smaller";

/// Which letters reach past that side, where not all of them do: " (its letters \"ew\")".
fn which(mark: &Mark, art: &Art, pocket: &Pocket, past: &str) -> String {
    let Content::Lettering(lettering) = &mark.content else {
        return String::new();
    };
    let past = letters_past(mark, lettering, art, &pocket.zone, past);
    if past.is_empty() || past.len() == letters_in(lettering, art).len() {
        return String::new();
    }
    // Neighbours are quoted together.
    let mut runs: Vec<(usize, String)> = Vec::new();
    for (i, letter) in &past {
        match runs.last_mut().filter(|(last, _)| last + 1 == *i) {
            Some((last, text)) => {
                *last = *i;
                text.push_str(&letter.text);
            }
            None => runs.push((*i, letter.text.clone())),
        }
    }
    let quoted: Vec<String> = runs.iter().map(|(_, t)| format!("\"{t}\"")).collect();
    let words: Vec<&str> = quoted.iter().map(String::as_str).collect();
    format!(
        " (its {} {})",
        if past.len() == 1 { "letter" } else { "letters" },
        listed(&words, "and")
    )
}

/// The ways back into the zone, best first: moved if it is small enough, else set smaller.
fn ways(
    job: &Job<'_>,
    which: PocketId,
    design: &Design<'_, '_>,
    pocket: &Pocket,
    scale: f64,
) -> Vec<Way> {
    let Some(middle) = change::middle(pocket) else {
        return Vec::new();
    };
    let shown = job.shown();
    let others = design.beside(job, which);
    let own = design.bounds;
    let from = own.center();
    let as_one = |does: &str| as_one(job, &design.pieces, does);
    let words = |what: &What| as_one(&Change::of(Vec::new(), what.clone()).words(shown));
    let mut ways = Vec::new();
    if scale >= 1.0 {
        let nearest = change::free_place(&design.ink, &pocket.zone, &others);
        for by in nearest.into_iter().chain([middle - from]) {
            let what = What::Move(by);
            let says = if one_element(job, &design.pieces) {
                format!("it is small enough: {}", words(&what))
            } else {
                format!("{}: it is small enough", words(&what))
            };
            ways.push(Way::new("move", says, design.changes(&what)));
        }
        return ways;
    }
    if percent(scale) < 1.0 {
        return ways;
    }
    let largest = What::Fit {
        from,
        to: middle,
        scale: percent(scale) / 100.0,
    };
    let motion = Change::of(Vec::new(), largest.clone()).motion();
    let there = motion.map_or(own, |m| m.transform_rect_bbox(own));
    let free = |o: &Rect| change::overlap(*o, there) <= change::overlap(*o, own);
    if others.iter().all(free) {
        ways.push(Way::new("scale", words(&largest), design.changes(&largest)));
    }
    // Else as near to where it is as it fits; smaller where something else is in the way.
    for share in SMALLER {
        let smaller = (percent(scale * share) / 100.0).max(0.01);
        let shrunk = moved(
            &design.ink,
            Affine::translate(from.to_vec2())
                * Affine::scale(smaller)
                * Affine::translate(-from.to_vec2()),
        );
        let Some(by) = change::free_place(&shrunk, &pocket.zone, &others) else {
            continue;
        };
        let to = from + by;
        let place = if by.hypot() < STAYS {
            "where it is".to_owned()
        } else {
            format!(
                "and {} of where it is",
                crate::geometry::bed_words::offset_words(by, shown)
            )
        };
        let says = format!("set it at {:.0} % of this size {place}", 100.0 * smaller);
        let scale = smaller;
        let fit = design.changes(&What::Fit { from, to, scale });
        ways.push(Way::new("scale", as_one(&says), fit));
    }
    ways
}

/// Shares of the largest size that fits, tried one after the other. Finer steps find little more, and
/// each may cost an inspection.
const SMALLER: [f64; 4] = [1.0, 0.9, 0.75, 0.5];

/// A move below this, in millimetres, is not worth a word.
const STAYS: f64 = 0.05;

/// Rounded down: the size named must fit.
fn percent(scale: f64) -> f64 {
    (100.0 * scale).floor()
}

/// What puts it back, and what a person can do where none of that ends well.
fn remedy(
    job: &Job<'_>,
    mark: &Mark,
    art: &Art<'_>,
    design: &Design<'_, '_>,
    pocket: &Pocket,
    loose: &Boxes,
) -> (Remedy, String) {
    if design.pieces.iter().any(|piece| torn(job, piece, loose)) {
        let by_hand =
            "it stands together with what lies beside the pocket: move all of it in as one";
        return (Remedy::default(), by_hand.to_owned());
    }
    let scale = largest(&design.ink, &pocket.zone);
    let mut ways = art
        .pocket
        .map_or_else(Vec::new, |which| ways(job, which, design, pocket, scale));
    let lettering = match &mark.content {
        Content::Lettering(l) if scale < 1.0 && one_element(job, &design.pieces) => Some(l),
        _ => None,
    };
    let two = lettering
        .filter(|_| job.fixture.settings.lettering.lines > 1)
        .and_then(|l| two_lines(mark, l, art, &pocket.zone))
        .filter(|two| percent(two.scale) > percent(scale));
    let by_hand = match &two {
        Some(two) => format!("set it on {}", on_two(two)),
        None if ways.is_empty() => {
            "it does not fit this zone at any useful size: move it to another pocket, or redraw it"
                .to_owned()
        }
        None if scale >= 1.0 => {
            "it is small enough for the zone: make room for it there, and move it in".to_owned()
        }
        None => "set it smaller in its zone, or move it to another pocket".to_owned(),
    };
    if one_element(job, &design.pieces) && is_copy(job, mark, art) {
        let gone = change::of_art(art, What::Delete);
        let gone = Way::new("delete", "delete it", vec![gone]).assuming("it is one too many");
        let kept = ways.into_iter().map(|way| way.assuming("both are wanted"));
        return (
            Remedy::choose([gone].into_iter().chain(kept)),
            format!(
                "delete it if it is one too many, since the pocket holds the same again; else {by_hand}"
            ),
        );
    }
    let (Some(two), Some(lettering)) = (two, lettering) else {
        return (Remedy::certain(ways), by_hand);
    };
    let capital = lettering.letters.iter().map(|l| l.cap_height);
    let capital = capital.fold(0.0, f64::max);
    for way in &mut ways {
        way.says.push_str(&format!(", or on {}", on_two(&two)));
    }
    if percent(scale) / 100.0 * capital < job.fixture.settings.lettering.smallest {
        // On one line it would be smaller than the shop sets anything.
        ways.clear();
    }
    ways.extend(broken(job, art, pocket, &two));
    (Remedy::certain(ways), by_hand)
}

/// Whether art stands so close to art that no pocket holds (`loose`), or to a part of its own mark elsewhere, that the
/// two may be one word: moved alone, it would be torn off.
fn torn(job: &Job<'_>, art: &Art<'_>, loose: &Boxes) -> bool {
    let room = room_about(art.reach);
    let apart = |a: &Art<'_>| a.pocket != art.pocket && a.reach.overlaps(room);
    loose.any_touching(room, |_| true) || job.art_of(art.mark).iter().any(apart)
}

/// Whether the pocket holds the same lettering again: a copy that was pasted beside the first, maybe.
fn is_copy(job: &Job<'_>, mark: &Mark, art: &Art<'_>) -> bool {
    let Content::Lettering(own) = &mark.content else {
        return false;
    };
    let others = art.pocket.map(|p| change::art_of(job, p));
    let others = others.into_iter().flatten().filter(|a| a.mark != art.mark);
    let mut marks = others.map(|a| job.mark(a.mark));
    marks.any(|m| {
        m.origin.range != mark.origin.range
            && matches!(&m.content, Content::Lettering(l) if l.text == own.text)
    })
}

fn on_two(two: &TwoLines) -> String {
    let size = if two.scale >= 1.0 {
        "at its present size".to_owned()
    } else {
        format!("at {} %", percent(two.scale))
    };
    format!(
        "two lines, \"{}\" and \"{}\", {size}",
        two.first, two.second
    )
}

/// The lettering on two lines in the middle of the zone, at the largest size that fits.
fn broken(job: &Job<'_>, art: &Art<'_>, pocket: &Pocket, two: &TwoLines) -> Vec<Way> {
    let Some(to) = change::middle(pocket) else {
        return Vec::new();
    };
    let marks = job.drawn_with(job.mark(art.mark));
    let way = |share: f64| {
        let scale = percent(two.scale * share) / 100.0;
        let [first, second] = two.baselines.map(|at| to + (at - two.middle) * scale);
        let lines = [(two.first.clone(), first), (two.second.clone(), second)];
        let what = What::TwoLines { lines, scale };
        let change = Change::of(marks.to_vec(), what);
        Way::worded("two-lines", vec![change], job.shown())
    };
    A_LITTLE_SMALLER.map(way).into()
}

/// Shares of the size that fits going by the letters as they are: they may stand a little wider where the
/// line begins anew.
const A_LITTLE_SMALLER: [f64; 3] = [1.0, 0.97, 0.94];
