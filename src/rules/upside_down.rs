//! `upside-down`: art whose tops point away from where the zone says.

use crate::wording::sentence;
use kurbo::Affine;

use super::{Info, Rule, change, info, thing};
use crate::artwork::mark::Mark;
use crate::finding::{Finding, Location, Picture};
use crate::fixture::Pocket;
use crate::fixture::zones::bearing;
use crate::matching::Job;
use crate::matching::art::Art;
use crate::matching::evidence::{WayUp, between};
use crate::remedy::{Remedy, Way, What};
use crate::units::angle;

/// See the module's page.
pub struct UpsideDown;

static INFO: Info = info!("upside-down", Hold, Blank);

/// Art turned by more than this, in degrees, lies wrong; less is merely askew. Half a quarter turn:
/// nobody sets a name at 44 degrees by slip and at 46 by intent.
pub const ASKEW_UP_TO: f64 = 45.0;

/// Where art on its side ends and art on its head begins, in degrees.
const ON_ITS_SIDE_UP_TO: f64 = 135.0;

/// From this turn on, in degrees, "half round" is what to do: lettering on a rim is measured a few
/// degrees off, and nobody can turn by 178.2. What is left over is for `tilted` to say.
const HALF_ROUND: f64 = 175.0;

impl Rule for UpsideDown {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        for (art, way, pocket, mark) in job.art_by_way_up() {
            let turned = between(pocket.tops, way.up);
            if turned.abs() > ASKEW_UP_TO {
                out.push(finding(job, art, mark, pocket, way, turned));
            }
        }
    }
}

/// A turn by nearly half round is half round: see [`HALF_ROUND`].
fn rounded(turned: f64) -> f64 {
    if turned.abs() > HALF_ROUND {
        180.0
    } else {
        turned
    }
}

/// All that lies the same wrong way in the pocket turned together, else the piece by itself.
pub(super) fn turns(job: &Job<'_>, art: &Art<'_>, degrees: f64) -> Vec<Way> {
    let shown = job.shown();
    let turn = |about| What::Turn { about, degrees };
    let alone = change::of_art(art, turn(art.bounds().center()));
    let mut ways = vec![Way::worded("turn", vec![alone], shown)];
    let Some((number, pocket)) = art.pocket.and_then(|p| Some((p, job.pockets.get(p)?))) else {
        return ways;
    };
    let together = change::art_of(job, number);
    let bounds = together
        .iter()
        .map(|a| a.bounds())
        .reduce(|a, b| a.union(b));
    let Some(bounds) = bounds.filter(|_| together.len() > 1) else {
        if let Some(middle) = change::middle(pocket) {
            let about_zone = change::of_art(art, turn(middle));
            let says = about_zone
                .words(shown)
                .replace("its own middle", "the middle of its zone");
            ways.push(Way::new("turn", says, vec![about_zone]));
        }
        return ways;
    };
    let what = change::of_all(&together, &turn(bounds.center()));
    let says = what.first().map_or_else(String::new, |c| {
        c.clone().called("all of the pocket's art").words(shown)
    });
    let all = Way::new("turn", says, what);
    // What agrees that it lies wrong is turned as one; else each piece for itself.
    let wrong = |a: &Art<'_>| {
        job.art_by_way_up()
            .filter(|(other, ..)| other.mark == a.mark && other.pocket == a.pocket)
            .all(|(_, way, ..)| between(pocket.tops, way.up).abs() > ASKEW_UP_TO)
    };
    if together.iter().all(|a| wrong(a)) {
        ways.insert(0, all);
    }
    ways
}

fn finding(
    job: &Job<'_>,
    art: &Art<'_>,
    mark: &Mark,
    pocket: &Pocket,
    way: &WayUp,
    turned: f64,
) -> Finding {
    let what = sentence(&thing(mark));
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
    let centre = art.bounds().center();
    let right = Affine::rotate_about(-turned.to_radians(), centre);
    Finding::new(
        &INFO,
        &Location::Mark(&mark.origin, art.bounds()),
        format!(
            "{what} {lies}: its tops point {is} and should point {should}{}",
            way.from.words()
        ),
        if turned.abs() > HALF_ROUND && mark.origin.element == "textPath" {
            "let it run along the other side of its curve, or turn it half round about its own middle"
                .to_owned()
        } else if turned.abs() > HALF_ROUND {
            "turn it half round about its own middle".to_owned()
        } else {
            format!(
                "turn it {} {back} about its own middle",
                angle(turned.abs())
            )
        },
    )
    .in_pocket(Some(&pocket.name))
    .remedied(Remedy::certain(turns(job, art, -rounded(turned))))
    .measured(
        "turn",
        turned.abs(),
        job.fixture.settings.limits.tilt,
        "deg",
    )
    .drawn(Picture::Turn {
        right,
        centre,
        is: bearing(way.up),
        should: bearing(pocket.tops),
    })
}
