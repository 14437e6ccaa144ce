//! `past-zone`: lettering or art that belongs to a pocket reaches past its zone.

use kurbo::{Affine, Rect};

use super::{Info, change, info, thing};
use crate::artwork::mark::{Content, Mark, Operation};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::Pocket;
use crate::geometry::bed_words::side;
use crate::geometry::overhang::overhang;
use crate::ids::{IdVec, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::fit::{ROUNDING, largest, letters_past, moved, two_lines};
use crate::matching::pocket_text::letters_in;
use crate::remedy::{Remedy, Way, What};
use crate::wording::{listed, sentence};

pub(crate) static INFO: Info = info!("past-zone", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    // A box in the middle of each zone: what lies in it, as most of traced art does, is in the zone.
    let middles: IdVec<PocketId, Option<Rect>> =
        job.pockets.iter().map(|p| p.zone.middle()).collect();
    for art in &job.art {
        let middle = art.pocket.and_then(|p| middles[p]);
        if middle.is_some_and(|m| m.contains_rect(art.reach)) {
            continue;
        }
        // A cut past the zone is `stray-cut`'s to say.
        if job.operation(art.mark) == Operation::Cut {
            continue;
        }
        let Some(pocket) = art.pocket.map(|p| &job.pockets[p]) else {
            continue;
        };
        // By its box first: the ink of traced art is not worked out for this.
        if pocket.zone.contains_rect(art.reach) {
            continue;
        }
        let Some(over) = overhang(art.ink(), &pocket.zone, ROUNDING) else {
            continue;
        };
        let mark = job.mark(art.mark);
        let where_to = side(over.at - over.nearest);
        let (remedy, by_hand) = remedy(job, mark, art, pocket);
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
fn ways(job: &Job<'_>, art: &Art<'_>, pocket: &Pocket, scale: f64) -> Vec<Way> {
    let (Some(number), Some(middle)) = (art.pocket, change::middle(pocket)) else {
        return Vec::new();
    };
    let shown = job.shown();
    let others = change::beside(job, number, art.mark);
    let from = art.bounds().center();
    let mut ways = Vec::new();
    if scale >= 1.0 {
        let nearest = change::free_place(art.ink(), &pocket.zone, &others);
        for by in nearest.into_iter().chain([middle - from]) {
            let what = change::of_art(art, What::Move(by));
            let says = format!("it is small enough: {}", what.words(shown));
            ways.push(Way::new("move", says, vec![what]));
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
    let fit = change::of_art(art, largest);
    let own = art.bounds();
    let there = fit.motion().map_or(own, |m| m.transform_rect_bbox(own));
    let free = |o: &Rect| change::overlap(*o, there) <= change::overlap(*o, own);
    if others.iter().all(free) {
        ways.push(Way::worded("scale", vec![fit], shown));
    }
    // Else as near to where it is as it fits; smaller where something else is in the way.
    for share in SMALLER {
        let smaller = (percent(scale * share) / 100.0).max(0.01);
        let shrunk = moved(
            art.ink(),
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
        let fit = change::of_art(art, What::Fit { from, to, scale });
        ways.push(Way::new("scale", says, vec![fit]));
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

/// What a person can do where no way back ends well, or beside it.
fn remedy(job: &Job<'_>, mark: &Mark, art: &Art<'_>, pocket: &Pocket) -> (Remedy, String) {
    let scale = largest(art.ink(), &pocket.zone);
    let mut ways = ways(job, art, pocket, scale);
    let broken = match &mark.content {
        Content::Lettering(l) if scale < 1.0 => two_lines(mark, l, art, &pocket.zone),
        _ => None,
    };
    let two = broken
        .filter(|two| percent(two.scale) > percent(scale))
        .map(|two| {
            let size = if two.scale >= 1.0 {
                "at its present size".to_owned()
            } else {
                format!("at {:.0} %", percent(two.scale))
            };
            format!(
                "on two lines, \"{}\" and \"{}\", {size}",
                two.first, two.second
            )
        });
    if let Some(two) = &two {
        for way in &mut ways {
            way.says.push_str(&format!(", or {two}"));
        }
    }
    let by_hand = match two {
        Some(two) => format!("set it {two}"),
        None if scale >= 1.0 => {
            "it is small enough for the zone, but what else is in the pocket leaves it no room: move that first".to_owned()
        }
        None => "it does not fit this zone at any useful size beside what else is in it: move it to another pocket, or redraw it"
            .to_owned(),
    };
    (Remedy::certain(ways), by_hand)
}
