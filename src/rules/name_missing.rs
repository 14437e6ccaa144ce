//! `name-missing`: a name on the order list is not in the run as it was ordered.

use super::ordered::{Ordered, of_words, ordered, place, pocket_name, quoted};
use super::{Info, info};
use crate::finding::{Finding, Location};
use crate::ids::{At, PocketId};
use crate::matching::Job;
use crate::orders::Order;
use crate::orders::compare::{Instead, Missing};
use crate::orders::lookalike;
use crate::orders::together::{Member, Together};
use crate::remedy::{Remedy, Way, What};

pub(crate) static INFO: Info = info!("name-missing", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let (Some(list), Some(ordered)) = (&job.orders, ordered(job)) else {
        return;
    };
    for missing in &ordered.comparison.missing {
        let order = list.orders.at(missing.order);
        out.push(finding(job, &ordered, order, missing));
    }
}

fn finding(job: &Job<'_>, ordered: &Ordered, order: &Order, missing: &Missing) -> Finding {
    let name = quoted(&order.name);
    let row = &order.row;
    let meant = pocket_name(job, order.pocket);
    let reading = &ordered.reading;
    match &missing.instead {
        Instead::Slip(found, slip) => {
            let elsewhere = match meant {
                Some(m) if order.pocket != found.pocket => format!(" for pocket {m}"),
                _ => String::new(),
            };
            Finding::new(
                &INFO,
                &place(job, reading, &found.words),
                format!(
                    "{} stands here and the list has {name}{elsewhere} ({row}): they differ {}, likely a slip{}",
                    quoted(&found.text),
                    slip.words(),
                    lookalike::pair(&found.text, &order.name)
                ),
                "correct the spelling in the run, or in the list if the order says so",
            )
            .in_pocket(pocket_name(job, found.pocket))
            .remedied(as_listed(ordered, &found.words, &order.name))
        }
        Instead::Elsewhere(found) => Finding::new(
            &INFO,
            &place(job, reading, &found.words),
            format!(
                "{name} stands here and the list has it for pocket {} ({row})",
                meant.unwrap_or_default()
            ),
            "put each name into the pocket that the list gives, or correct the list",
        )
        .in_pocket(pocket_name(job, found.pocket)),
        Instead::Other(found) => Finding::new(
            &INFO,
            &place(job, reading, &found.words),
            format!(
                "{} stands here and the list has {name} for this pocket ({row}){}",
                quoted(&found.text),
                lookalike::pair(&found.text, &order.name)
            ),
            "set the name that the list gives, or correct the list",
        )
        .in_pocket(meant)
        .remedied(as_listed(ordered, &found.words, &order.name)),
        Instead::Beside(found) => {
            let at = place(job, reading, &found.words);
            let why = if matches!(at, Location::File(_)) {
                "it is in the file, but its font is missing, so where it would lie is not known"
            } else {
                "it lies in no pocket"
            };
            Finding::new(
                &INFO,
                &at,
                format!("{name} is on the order list ({row}) and on no blank: {why}"),
                "put it into its pocket, with its font at hand",
            )
            .in_pocket(meant)
        }
        Instead::Nothing => nothing(job, ordered, order, &name, row),
    }
}

/// The lettering as the list has it. Whether list or run is right, only a person knows.
fn as_listed(ordered: &Ordered, words: &[usize], name: &str) -> Remedy {
    let change = of_words(&ordered.reading, words, What::Rewrite(name.to_owned()));
    let says = format!("let the lettering say {}", quoted(name));
    Remedy::choose([Way::new("list", says, vec![change]).assuming("the list is right")])
}

/// Nothing like the name was read; art that nobody can read is named, not taken for it.
fn nothing(job: &Job<'_>, ordered: &Ordered, order: &Order, name: &str, row: &str) -> Finding {
    let reading = &ordered.reading;
    let here = |pocket: PocketId| order.pocket.is_none_or(|own| own == pocket);
    let mut unread: Vec<String> = reading
        .unread
        .iter()
        .map(|u| u.pocket)
        .chain(
            reading
                .words
                .iter()
                .filter(|w| !w.sure)
                .filter_map(|w| w.pocket),
        )
        .filter(|p| here(*p) && !names_a_pocket(ordered, *p))
        .filter_map(|p| pocket_name(job, Some(p)).map(str::to_owned))
        .collect();
    unread.sort();
    unread.dedup();
    let (also, help) = if unread.is_empty() {
        (String::new(), "set it in its pocket, or correct the list")
    } else {
        (
            format!(
                "; {} art that cannot be read (outlined, or a picture), so no name there is checked",
                match (order.pocket, unread.as_slice()) {
                    (Some(_), _) => "the pocket holds".to_owned(),
                    (None, [one]) => format!("pocket {one} holds"),
                    (None, many) =>
                        format!("pockets {} hold", crate::fixture::shorthand::list(many)),
                }
            ),
            "keep the lettering live in the file you send, or set the name if it is not there",
        )
    };
    let stand = reading.words.iter().map(|w| w.text.as_str());
    let letters = lookalike::alone(&order.name, stand);
    if let Some((together, _)) = &job.together {
        return in_none(job, together, order, &letters, row);
    }
    let (at, message) = match order.pocket.map(|p| &job.pockets[p]) {
        Some(pocket) => (
            pocket.region.bounds().map_or(
                Location::Nowhere("the pocket has no outline"),
                Location::Bed,
            ),
            format!(
                "The list has {name} for this pocket ({row}) and no lettering here says it{also}{letters}"
            ),
        ),
        None => (
            Location::Nowhere("the name is on the list and nowhere else"),
            format!("{name} is on the order list ({row}) and in no pocket{also}{letters}"),
        ),
    };
    Finding::new(&INFO, &at, message, help).in_pocket(pocket_name(job, order.pocket))
}

/// None of several runs holds the name.
fn in_none(job: &Job<'_>, together: &Together, order: &Order, letters: &str, row: &str) -> Finding {
    let name = quoted(&order.name);
    let unread: Vec<String> = together
        .runs
        .iter()
        .filter(|r| !r.unread.is_empty())
        .map(|r| {
            format!(
                "{} of {}",
                crate::fixture::shorthand::list(&r.unread),
                r.name()
            )
        })
        .collect();
    let unreadable: Vec<String> = together.unreadable().map(Member::name).collect();
    let mut also = String::new();
    if !unreadable.is_empty() {
        also.push_str(&format!("; {} could not be read", unreadable.join(", ")));
    }
    if !unread.is_empty() {
        also.push_str(&format!(
            "; there is art that cannot be read (outlined, or a picture) in {}",
            unread.join("; ")
        ));
    }
    let meant =
        pocket_name(job, order.pocket).map_or(String::new(), |p| format!(" for pocket {p}"));
    Finding::new(
        &INFO,
        &Location::Nowhere("the name is on the list and in no run"),
        format!(
            "{name} is on the order list ({row}){meant} and in none of the {} runs{also}{letters}",
            together.runs.len()
        ),
        "set it where there is room for it, or correct the list",
    )
}

/// Whether live lettering in a pocket already fills an order or is reported: then the other art in
/// it is no likely place for a name that is missing.
fn names_a_pocket(ordered: &Ordered, pocket: PocketId) -> bool {
    ordered
        .reading
        .of(Some(pocket))
        .any(|(_, words)| words.sure && !words.text.is_empty())
}
