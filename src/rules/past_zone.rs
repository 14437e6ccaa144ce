//! `past-zone`: lettering or art that belongs to a pocket reaches past its zone.

use crate::wording::sentence;
use kurbo::{Affine, Rect};

use super::{Info, Rule, info, thing};
use crate::artwork::mark::{Content, Mark, Operation};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::Pocket;
use crate::fixture::shorthand::and;
use crate::geometry::bed_words::side;
use crate::geometry::overhang::{Overhang, overhang};
use crate::ids::{IdVec, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::fit::{ROUNDING, largest, letters_past, moved, two_lines};
use crate::matching::pocket_text::letters_in;

/// See the module's page.
pub struct PastZone;

static INFO: Info = info!("past-zone", Hold, Blank);

impl Rule for PastZone {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
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
            out.push(
                Finding::new(
                    &INFO,
                    &Location::Mark(&mark.origin, art.bounds()),
                    format!(
                        "{} runs {} past the {where_to} of its zone{}",
                        sentence(&thing(mark)),
                        job.shown().length(over.distance),
                        which(mark, art, pocket)
                    ),
                    remedy(job, mark, art, pocket, &over),
                )
                .in_pocket(Some(&pocket.name))
                .measured("overhang", over.distance, 0.0, "mm")
                .drawn(Picture::Hatch(over.outside.to_path())),
            );
        }
    }
}

/// Which letters reach past, where not all of them do: " (its letters \"ew\")".
fn which(mark: &Mark, art: &Art, pocket: &Pocket) -> String {
    let Content::Lettering(lettering) = &mark.content else {
        return String::new();
    };
    let past = letters_past(mark, lettering, art, &pocket.zone);
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
        and(&words)
    )
}

/// Move it if it would fit as it is, make it smaller if not, or break it if that leaves it larger.
fn remedy(job: &Job<'_>, mark: &Mark, art: &Art, pocket: &Pocket, over: &Overhang) -> String {
    let scale = largest(art.ink(), &pocket.zone);
    if scale >= 1.0 {
        // The way back in, if it does not lead out on another side.
        let back = over.nearest - over.at;
        let there = moved(art.ink(), Affine::translate(back));
        let by = if overhang(&there, &pocket.zone, ROUNDING).is_none() {
            back
        } else {
            pocket
                .zone
                .bounds()
                .map_or(back, |zone| zone.center() - art.bounds().center())
        };
        return format!(
            "it is small enough: move it {}",
            crate::geometry::bed_words::offset_words(by, job.shown())
        );
    }
    let broken = match &mark.content {
        Content::Lettering(l) => two_lines(mark, l, art, &pocket.zone),
        _ => None,
    };
    // Rounded down: the size named must fit.
    let percent = |scale: f64| (100.0 * scale).floor();
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
    match (percent(scale) >= 1.0, two) {
        (true, None) => format!(
            "set it at {:.0} % of this size in the middle of the zone",
            percent(scale)
        ),
        (true, Some(two)) => format!(
            "set it at {:.0} % of this size in the middle of the zone, or {two}",
            percent(scale)
        ),
        (false, Some(two)) => format!("set it {two}"),
        (false, None) => {
            "it does not fit this zone at any useful size: move it to another pocket, or redraw it"
                .to_owned()
        }
    }
}
