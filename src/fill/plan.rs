//! Which order goes into which pocket of which run.

use crate::ids::PocketId;
use crate::orders::Order;

/// One order in its pocket.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Assigned {
    /// The order, by its place in the list.
    pub order: usize,
    /// The pocket, by its place in the fixture.
    pub pocket: PocketId,
}

/// Assigns the orders to pockets, run by run: orders are placed in the order of the list. `usable`
/// are the pockets that hold a blank, in the order of the fixture.
///
/// An order for a pocket goes there; a second one for the same pocket starts the next run. The
/// others go into the next pocket that the list names nowhere, as long as there is any.
///
/// # Errors
///
/// An order for a pocket that is not usable, by its place in the list.
pub(crate) fn deal(orders: &[Order], usable: &[PocketId]) -> Result<Vec<Vec<Assigned>>, usize> {
    let named = |p: &PocketId| orders.iter().any(|o| o.pocket == Some(*p));
    let mut open: Vec<PocketId> = usable.iter().copied().filter(|p| !named(p)).collect();
    if open.is_empty() {
        open = usable.to_vec();
    }
    let mut runs: Vec<Vec<Assigned>> = Vec::new();
    let mut run: Vec<Assigned> = Vec::new();
    for (index, order) in orders.iter().enumerate() {
        if order.pocket.is_some_and(|p| !usable.contains(&p)) {
            return Err(index);
        }
        let free = |run: &[Assigned], p: PocketId| run.iter().all(|a| a.pocket != p);
        let place = |run: &[Assigned]| match order.pocket {
            Some(p) => Some(p).filter(|p| free(run, *p)),
            None => open.iter().copied().find(|p| free(run, *p)),
        };
        let pocket = place(&run).or_else(|| {
            runs.push(std::mem::take(&mut run));
            place(&run)
        });
        if let Some(pocket) = pocket {
            run.push(Assigned {
                order: index,
                pocket,
            });
        } else {
            return Err(index);
        }
    }
    if !run.is_empty() {
        runs.push(run);
    }
    Ok(runs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Id as _;

    /// "Ada@1" as an order for pocket 1; the runs as "0:Ada@1 Bo@0; 1:…".
    fn check(list: &[&str], usable: &[usize], expected: &str) {
        let orders: Vec<Order> = list
            .iter()
            .map(|text| {
                let (name, pocket) = text.split_once('@').unwrap_or((text, ""));
                Order {
                    name: name.to_owned(),
                    pocket: pocket.parse().ok().map(PocketId::new),
                    ..Order::default()
                }
            })
            .collect();
        let places: Vec<PocketId> = usable.iter().copied().map(PocketId::new).collect();
        let got = match deal(&orders, &places) {
            Err(at) => format!("no place for {at}"),
            Ok(runs) => runs
                .iter()
                .map(|run| {
                    run.iter()
                        .map(|a| {
                            let name = orders.get(a.order).map_or("", |o| o.name.as_str());
                            format!("{name}@{}", a.pocket.number())
                        })
                        .collect::<Vec<_>>()
                        .join(" ")
                })
                .collect::<Vec<_>>()
                .join("; "),
        };
        assert_eq!(got, expected, "list {list:?}, pockets {usable:?}");
    }

    #[test]
    fn the_list_is_dealt_out_in_its_order() {
        check(&["a", "b", "c"], &[0, 1], "a@0 b@1; c@0");
        check(&["a", "b", "c"], &[1, 3], "a@1 b@3; c@1");
        check(&["a@1", "b@0", "c@1"], &[0, 1], "a@1 b@0; c@1");
        check(&["a", "b@0", "c"], &[0, 1, 2], "a@1 b@0 c@2");
        check(&["a@0", "b", "c@1"], &[0, 1], "a@0 b@1; c@1");
        check(&["a", "b@2"], &[0, 1], "no place for 1");
        check(&["a"], &[], "no place for 0");
    }
}
