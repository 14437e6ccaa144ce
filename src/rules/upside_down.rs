//! `upside-down`: art whose tops point away from where the zone says.

use kurbo::{Affine, Vec2};

use super::{Info, Rule, info, sentence, thing};
use crate::artwork::mark::{Content, Letter, Mark};
use crate::finding::{Finding, Picture, Place};
use crate::fixture::Pocket;
use crate::fixture::zones::bearing;
use crate::seating::Job;
use crate::seating::art::Art;
use crate::units::angle;

/// See the module's page.
pub struct UpsideDown;

static INFO: Info = info!("upside-down", Hold, Blank);

/// Art turned by more than this, in degrees, lies wrong; less is merely askew. Half a quarter turn:
/// nobody sets a name at 44 degrees by slip and at 46 by intent.
pub const ASKEW_UP_TO: f64 = 45.0;

/// Where art on its side ends and art on its head begins, in degrees.
const ON_ITS_SIDE_UP_TO: f64 = 135.0;

impl Rule for UpsideDown {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        for art in &job.art {
            let Some(pocket) = art.pocket.and_then(|p| job.pockets.get(p)) else {
                continue;
            };
            let Some(mark) = job.mark(art.mark) else {
                continue;
            };
            let Some(tops) = tops_of(mark, art, pocket) else {
                continue;
            };
            let turned = between(pocket.tops, tops);
            if turned.abs() <= ASKEW_UP_TO {
                continue;
            }
            out.push(finding(job, art, mark, pocket, tops, turned));
        }
    }
}

/// Where the tops of a piece of art point; for lettering, the letter that is farthest from where it
/// should be (a `rotate` list may turn one letter and not the next).
fn tops_of(mark: &Mark, art: &Art, pocket: &Pocket) -> Option<Vec2> {
    match &mark.content {
        Content::Lettering(l) => l
            .letters
            .iter()
            .filter(|letter| lies_in(letter, art))
            .map(|letter| letter.up)
            .filter(|up| up.hypot() > 0.5)
            .max_by(|a, b| {
                between(pocket.tops, *a)
                    .abs()
                    .total_cmp(&between(pocket.tops, *b).abs())
            }),
        Content::Picture(p) => Some(p.up()).filter(|up| up.hypot() > 0.5),
        Content::Shape => None,
    }
}

/// Whether a letter is part of a piece of art: a line over several pockets is judged pocket by pocket.
fn lies_in(letter: &Letter, art: &Art) -> bool {
    let c = letter.bounds.center();
    art.bounds.inflate(0.01, 0.01).contains(c)
}

/// The turn from one direction to another, degrees clockwise, in (-180, 180].
pub(crate) fn between(from: Vec2, to: Vec2) -> f64 {
    let turn = from.cross(to).atan2(from.dot(to)).to_degrees();
    if turn <= -180.0 { turn + 360.0 } else { turn }
}

fn finding(
    job: &Job<'_>,
    art: &Art,
    mark: &Mark,
    pocket: &Pocket,
    tops: Vec2,
    turned: f64,
) -> Finding {
    let what = sentence(&thing(mark));
    let is = crate::geometry::bed_words::direction(tops);
    let should = crate::geometry::bed_words::direction(pocket.tops);
    let lies = if turned.abs() <= ON_ITS_SIDE_UP_TO {
        "lies on its side"
    } else {
        "is upside down"
    };
    let way = if turned > 0.0 {
        "anticlockwise"
    } else {
        "clockwise"
    };
    let centre = art.bounds.center();
    let right = Affine::rotate_about(-turned.to_radians(), centre);
    Finding::new(
        &INFO,
        &Place::Mark(&mark.origin, art.bounds),
        format!("{what} {lies}: its tops point {is} and should point {should}"),
        if turned.abs() > 179.0 {
            "turn it half round about its own middle".to_owned()
        } else {
            format!("turn it {} {way} about its own middle", angle(turned.abs()))
        },
    )
    .in_pocket(Some(&pocket.name))
    .measured(
        "turn",
        turned.abs(),
        job.fixture.settings.limits.tilt,
        "deg",
    )
    .drawn(Picture::Turn {
        right,
        centre,
        is: bearing(tops),
        should: bearing(pocket.tops),
    })
}
