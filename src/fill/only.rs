//! What is to be burnt again: pockets or names of runs that were dealt out before.

use super::plan::Assigned;
use crate::fixture::Fixture;
use crate::ids::At;
use crate::inspect::Failure;
use crate::orders::OrderList;
use crate::orders::spelling::fold;
use crate::wording::listed;

/// The runs with their numbers, and of those only what is to be burnt again.
pub(super) fn only(
    runs: &[Vec<Assigned>],
    wanted: &[String],
    list: &OrderList,
    fixture: &Fixture,
) -> Result<Vec<(usize, Vec<Assigned>)>, Failure> {
    let all = runs.iter().cloned().zip(1..).map(|(run, n)| (n, run));
    if wanted.is_empty() {
        return Ok(all.collect());
    }
    let mut chosen: Vec<(usize, Assigned)> = Vec::new();
    for one in wanted {
        let numbered = one
            .split_once(':')
            .and_then(|(run, what)| Some((run.parse::<usize>().ok()?, what)));
        let (run, what) = numbered.map_or((None, one.as_str()), |(run, what)| (Some(run), what));
        let key = fold(what, false);
        let is = |a: &Assigned| {
            let order = list.orders.at(a.order);
            let mut texts = std::iter::once(&order.name).chain(&order.parts);
            texts.any(|text| fold(text, false) == key)
        };
        let pocket = fixture.called(what);
        let found: Vec<(usize, Assigned)> = all
            .clone()
            .filter(|(n, _)| run.is_none_or(|r| r == *n))
            .flat_map(|(n, run)| run.into_iter().map(move |a| (n, a)))
            .filter(|(_, a)| pocket.map_or_else(|| is(a), |p| a.pocket == p))
            .collect();
        match found.as_slice() {
            [one] => chosen.push(one.clone()),
            [] => {
                return Err(Failure::plain(format!(
                    "--only {one}: no pocket and no order of the list is called so"
                )));
            }
            several => {
                let places: Vec<String> = several
                    .iter()
                    .map(|(n, a)| {
                        let pocket = &fixture.pockets[a.pocket].name;
                        let name = &list.orders.at(a.order).name;
                        format!("{n}:{pocket} (\"{name}\")")
                    })
                    .collect();
                return Err(Failure::plain(format!(
                    "--only {one} could be {}: say which, such as --only {}",
                    listed(&places.iter().map(String::as_str).collect::<Vec<_>>(), "or"),
                    places
                        .first()
                        .and_then(|p| p.split(' ').next())
                        .unwrap_or_default()
                )));
            }
        }
    }
    let mut out: Vec<(usize, Vec<Assigned>)> = Vec::new();
    for (number, run) in all {
        let kept: Vec<Assigned> = run
            .into_iter()
            .filter(|a| chosen.contains(&(number, a.clone())))
            .collect();
        if !kept.is_empty() {
            out.push((number, kept));
        }
    }
    Ok(out)
}
