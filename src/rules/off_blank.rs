//! `off-blank`: art that no pocket holds most of, or that lies in two.

use std::cell::LazyCell;

use super::design::room_about;
use super::{Info, change, info, thing};
use crate::artwork::mark::{Content, Operation};
use crate::finding::{Finding, Location, Picture};
use crate::geometry::boxes::Boxes;
use crate::ids::{ArtId, Id as _, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::remedy::{Remedy, Way, What};
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("off-blank", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let all = LazyCell::new(|| Boxes::new(job.art.iter().map(|a| a.reach)));
    for (index, art) in job.art.pairs().filter(|(_, a)| a.pocket.is_none()) {
        // A cut outside the zones is `stray-cut`'s to say.
        if job.operation(art.mark) == Operation::Cut {
            continue;
        }
        let mark = job.mark(art.mark);
        let what = sentence(&thing(mark));
        let names: Vec<&str> = art
            .shares
            .iter()
            .map(|(p, _)| job.pockets[*p].name.as_str())
            .collect();
        let most = art.shares.first().map_or(0.0, |s| s.1);
        let (message, help) = match names.as_slice() {
            [] => (
                format!(
                    "{what} lies on no blank: no pocket is under it, and the laser would burn the fixture"
                ),
                "move it into a pocket's zone, or delete it",
            ),
            [one] => (
                format!(
                    "{what} lies mostly beside the blanks: only {:.0} % of it is over pocket {one}",
                    100.0 * most
                ),
                "move it into the pocket's zone, or delete it",
            ),
            many => (
                format!(
                    "{what} lies over pockets {} at once",
                    crate::wording::listed(many, "and")
                ),
                "move it into one pocket's zone, or make it smaller",
            ),
        };
        // A letter that is moved or deleted alone is torn off its name.
        let shape = matches!(mark.content, Content::Shape);
        let other = |i: usize| {
            i != index.number() && job.operation(job.art[ArtId::new(i)].mark) != Operation::Off
        };
        let torn = shape && all.any_touching(room_about(art.reach), other);
        let (remedy, help) = if torn {
            let help = "group it with what it belongs to, and move the group into a pocket's zone, or delete the group";
            (Remedy::default(), help)
        } else {
            (Remedy::choose(places(job, art)), help)
        };
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, art.bounds()),
                message,
                help,
            )
            .in_pocket(names.first().copied())
            .measured("share over one pocket", 100.0 * most, 50.0, "%")
            .remedied(remedy)
            .drawn(Picture::Hatch(art.ink().to_path())),
        );
    }
}

/// Where it might belong: the pockets that it touches, else the nearest that holds nothing. Or nowhere.
fn places(job: &Job<'_>, art: &Art<'_>) -> Vec<Way> {
    let from = art.bounds().center();
    let mut pockets: Vec<PocketId> = art.shares.iter().map(|(p, _)| *p).collect();
    if pockets.is_empty() {
        let away = |p: &PocketId| {
            let middle = change::middle(&job.pockets[*p]);
            middle.map_or(f64::INFINITY, |m| m.distance(from))
        };
        pockets = job
            .pockets
            .ids()
            .filter(|p| job.art_in(*p).is_empty())
            .min_by(|a, b| away(a).total_cmp(&away(b)))
            .into_iter()
            .collect();
    }
    let mut ways: Vec<Way> = pockets
        .into_iter()
        .map(|p| &job.pockets[p])
        .filter_map(|pocket| {
            let by = change::middle(pocket)? - from;
            let what = change::of_art(art, What::Move(by));
            let says = format!("move it into the middle of pocket {}", pocket.name);
            Some(
                Way::new(pocket.name.clone(), says, vec![what])
                    .assuming(format!("it is for pocket {}", pocket.name)),
            )
        })
        .collect();
    ways.push(
        Way::new(
            "delete",
            "delete it",
            vec![change::of_art(art, What::Delete)],
        )
        .assuming("it is for no pocket"),
    );
    ways
}
