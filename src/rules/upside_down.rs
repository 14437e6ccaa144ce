//! `upside-down`: art whose tops point away from where the zone says.

use kurbo::{Rect, Vec2};

use super::lying::{self, Lying};
use super::{Info, info, thing};
use crate::artwork::mark::Origin;
use crate::finding::{Finding, Location, Picture, Source};
use crate::fixture::Pocket;
use crate::fixture::shorthand::list;
use crate::fixture::zones::bearing;
use crate::ids::PocketId;
use crate::matching::Job;
use crate::matching::evidence::{Evidence, Opposed, WayUp, between};
use crate::remedy::{Remedy, What};
use crate::units::angle;
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("upside-down", Hold, Blank);

/// Art turned by more than this, in degrees, lies wrong; less is merely askew. Half a quarter turn:
/// nobody sets a name at 44 degrees by slip and at 46 by intent.
pub(crate) const ASKEW_UP_TO: f64 = 45.0;

/// Where art on its side ends and art on its head begins, in degrees.
const ON_ITS_SIDE_UP_TO: f64 = 135.0;

/// From this turn on, in degrees, "half round" is what to do: lettering on a rim is measured a few
/// degrees off, and nobody can turn by 178.2. What is left over is for `tilted` to say.
const HALF_ROUND: f64 = 175.0;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let wrong = |way: &WayUp, pocket: &Pocket| between(pocket.tops, way.up).abs() > ASKEW_UP_TO;
    let found = lying::all(job, wrong);
    out.extend(found.iter().map(|found| finding(job, found)));
    let turned = job.opposed().iter().filter(|o| !o.flipped);
    out.extend(turned.map(|o| opposed(job, o, &INFO, "turn")));
}

/// A turn by nearly half round is half round: see [`HALF_ROUND`].
fn rounded(turned: f64) -> f64 {
    if turned.abs() > HALF_ROUND {
        180.0
    } else {
        turned
    }
}

/// One finding for two groups of which one is wrong: to blame either would be a guess. `what` is done to
/// put one of them right.
pub(super) fn opposed(job: &Job<'_>, found: &Opposed, info: &'static Info, what: &str) -> Finding {
    let pockets = |group: &[PocketId]| group.iter().map(|p| &job.pockets[*p]).collect();
    let [first, second]: [Vec<&Pocket>; 2] = [pockets(&found.groups[0]), pockets(&found.groups[1])];
    let names = |group: &[&Pocket]| {
        let all = list(&group.iter().map(|p| p.name.clone()).collect::<Vec<_>>());
        let one = group.len() == 1;
        format!("pocket{} {all}", if one { "" } else { "s" })
    };
    let against = match (found.flipped, found.turn > ON_ITS_SIDE_UP_TO) {
        (true, false) => "is a mirror image of",
        (true, true) => "is flipped top to bottom against",
        (false, true) => "lies the other way up than",
        (false, false) => "is turned by a quarter against",
    };
    let same = match found.from {
        Evidence::Letters => "going by the letters that they share",
        _ => "going by the art that they share",
    };
    let heads = |group: &[&Pocket]| -> Option<Vec2> {
        let tops = group.first()?.tops;
        group.iter().all(|p| p.tops.dot(tops) > 0.9).then_some(tops)
    };
    // Art that lies one way all over the bed, while the settings have the tops of some pockets lie
    // another way.
    let alternate = heads(&first)
        .zip(heads(&second))
        .is_some_and(|(a, b)| between(a, b).abs() > ASKEW_UP_TO);
    let cause = if alternate {
        "; the settings give the two groups different heads, so it was drawn one way for all pockets, or the settings alternate where the fixture does not"
    } else {
        ""
    };
    // Every pocket of the group that is named first, or the picture would blame one of them.
    let mut places = found.groups[1].iter().filter_map(|p| place(job, found, *p));
    let (origin, bed) = places.next().unwrap_or_else(|| {
        let art = &job.art[found.art];
        (&job.mark(art.mark).origin, art.bounds())
    });
    let find = Finding::new(
        info,
        &Location::Mark(origin, bed),
        format!(
            "Art in {} {against} the art in {}, {same}: one of the two is wrong, and nothing tells which{cause}",
            names(&second),
            names(&first)
        ),
        format!(
            "see which of the two lies right, and {what} the other{}",
            if alternate {
                ", or correct `head` or `tops` in the settings"
            } else {
                ""
            }
        ),
    )
    .also(places.map(|(origin, bed)| (Source::from(origin), bed)));
    if found.flipped {
        find
    } else {
        find.measured("turn", found.turn, job.fixture.settings.limits.tilt, "deg")
    }
}

/// What was compared in a pocket of the second group: the mark of its first piece, and the box of all.
fn place<'a>(job: &'a Job<'_>, found: &Opposed, pocket: PocketId) -> Option<(&'a Origin, Rect)> {
    let compared = found.compared[1].iter().map(|art| &job.art[*art]);
    let mut here = compared.filter(|art| art.pocket == Some(pocket));
    let first = here.next()?;
    let bed = here.fold(first.bounds(), |all, art| all.union(art.bounds()));
    Some((&job.mark(first.mark).origin, bed))
}

fn finding<'a>(job: &Job<'a>, found: &Lying<'_, 'a>) -> Finding {
    let (way, pocket) = (found.way, found.pocket);
    let turned = between(pocket.tops, way.up);
    let what = sentence(&thing(found.mark));
    let is = crate::geometry::bed_words::direction(way.up);
    let should = crate::geometry::bed_words::direction(pocket.tops);
    let lies = if turned.abs() <= ON_ITS_SIDE_UP_TO {
        "lies on its side"
    } else {
        "is upside down"
    };
    let back = if turned > 0.0 {
        "anticlockwise"
    } else {
        "clockwise"
    };
    let bounds = found.bounds();
    let turn = |about| What::Turn {
        about,
        degrees: -rounded(turned),
    };
    Finding::new(
        &INFO,
        &Location::Mark(&found.mark.origin, bounds),
        format!(
            "{what} {lies}: its tops point {is} and should point {should}{}",
            way.from.words()
        ),
        if turned.abs() > HALF_ROUND && found.mark.origin.element == "textPath" {
            "let it run along the other side of its curve, or turn it half round about its own middle"
                .to_owned()
        } else if turned.abs() > HALF_ROUND {
            found.help(job, "turn it half round about its own middle")
        } else {
            found.help(job, &format!(
                "turn it {} {back} about its own middle",
                angle(turned.abs())
            ))
        },
    )
    .in_pocket(Some(&pocket.name))
    .and_more(found.more())
    .remedied(Remedy::certain(found.ways(job, "turn", &turn)))
    .measured(
        "turn",
        turned.abs(),
        job.fixture.settings.limits.tilt,
        "deg",
    )
    .drawn(Picture::Turn {
        centre: bounds.center(),
        is: bearing(way.up),
        should: bearing(pocket.tops),
    })
}
