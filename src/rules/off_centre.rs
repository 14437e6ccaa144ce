//! `off-centre`: art off its place in the zone where its siblings are there, or all art off it together.

use kurbo::{Affine, BezPath, Rect, Shape as _, Vec2};

use super::{Info, change, info};
use crate::artwork::mark::{Content, Operation};
use crate::finding::{Finding, Location, Picture, Severity};
use crate::fixture::settings::{Centred, PocketSettings};
use crate::geometry::bed_words::offset_words;
use crate::geometry::region::Region;
use crate::ids::{ArtId, At, PocketId};
use crate::matching::Job;
use crate::matching::art::Art;
use crate::remedy::{Remedy, Way, What};

pub(crate) static INFO: Info = info!("off-centre", Note, Blank);

/// Art whose middle lies this close to its zone's, in millimetres, is centred.
const CENTRED: f64 = 0.3;

/// Art further off than this, in millimetres, stands out beside centred siblings. Between the two,
/// the tails of letters decide, and nothing is said.
const STANDS_OUT: f64 = 1.0;

/// So many siblings must be centred before one that is not is worth a word.
const SIBLINGS: usize = 3;

/// Art further off than this, in millimetres, in every pocket at once, is a layer that was moved. Less,
/// and designs that are not even, or set by eye, would be called moved in every run.
const LAYER: f64 = 1.5;

/// Art of this many pockets can be off together.
const TOGETHER: usize = 2;

/// Of ten pockets with art, so many must be off the same way for all to be off together: one design
/// may be meant to lie elsewhere.
const OF_TEN: usize = 8;

/// Art that is off together may differ by this share of the largest piece, since the tails and accents
/// of names on one line move their middles; with more, names that begin on one line would be taken for
/// a layer that was moved.
const ALIKE: f64 = 0.15;

/// Or by this much, in millimetres, whichever is more.
const ALIKE_AT_LEAST: f64 = 0.5;

/// All the art of a pocket, and where its middle lies.
struct Whole {
    pocket: PocketId,
    art: ArtId,
    bounds: Rect,
    /// From where the art belongs to where its middle is, on the bed.
    moved: Vec2,
    /// The same along the head and across it.
    off: [f64; 2],
}

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let all: Vec<Whole> = job.pockets.ids().filter_map(|p| whole(job, p)).collect();
    out.extend(together(job, &all));
    // Which directions most siblings are centred in: names of other heights are often centred
    // across and not along.
    let judged = [0, 1].map(|axis| {
        let centred = all.iter().filter(|w| w.off.at(axis).abs() <= CENTRED);
        let centred = centred.count();
        centred >= SIBLINGS && 3 * centred >= 2 * all.len()
    });
    for w in &all {
        let (pocket, art) = (&job.pockets[w.pocket], &job.art[w.art]);
        let mark = job.mark(art.mark);
        let part = |axis: usize| {
            let v = *w.off.at(axis);
            if *judged.at(axis) && v.abs() > STANDS_OUT {
                v
            } else {
                0.0
            }
        };
        let side = Vec2::new(-pocket.head.y, pocket.head.x);
        let off = pocket.head * part(0) + side * part(1);
        if off.hypot() == 0.0 {
            continue;
        }
        let right = Affine::translate(-off);
        out.push(
            Finding::new(
                &INFO,
                &Location::Mark(&mark.origin, w.bounds),
                format!(
                    "The art lies {} of {}, where the art of other pockets is centred to {}",
                    offset_words(off, job.shown()),
                    whence(&pocket.settings),
                    job.shown().length(CENTRED)
                ),
                format!(
                    "move it {}, unless it is meant so",
                    offset_words(-off, job.shown())
                ),
            )
            .in_pocket(Some(&pocket.name))
            .remedied(Remedy::choose([Way::worded(
                "move",
                change::of_all(&change::art_of(job, w.pocket), &What::Move(-off)),
                job.shown(),
            )
            .assuming("it is meant to be centred")]))
            .measured("off centre", off.hypot(), STANDS_OUT, "mm")
            .drawn(Picture::Ghost {
                right: right * Region::from_rect(w.bounds).to_path(),
                from: w.bounds.center(),
                to: w.bounds.center() - off,
            }),
        );
    }
}

/// All art of the run off its place by the same move, as when its layer was dragged.
fn together(job: &Job<'_>, all: &[Whole]) -> Option<Finding> {
    let pair =
        |get: &dyn Fn(&Whole) -> (f64, f64)| common(&all.iter().map(get).collect::<Vec<_>>());
    let x = pair(&|w| (w.moved.x, w.bounds.width()));
    let y = pair(&|w| (w.moved.y, w.bounds.height()));
    let off = Vec2::new(x.map_or(0.0, |c| c.0), y.map_or(0.0, |c| c.0));
    let share = [x, y].into_iter().flatten().map(|c| c.1).min()?;
    let shown = job.shown();
    let place = |w: &Whole| match job.pockets[w.pocket].settings.centred {
        Centred::At(at) => at,
        Centred::Free => Vec2::ZERO,
    };
    let stated = all.first().map(place)?;
    let same = all.iter().all(|w| place(w) == stated);
    let whence = whence(&job.pockets[all.first()?.pocket].settings);
    let among = if share == all.len() {
        crate::wording::every(share, "pocket", "pockets")
    } else {
        format!("{share} of {} pockets", all.len())
    };
    let there = stated + off;
    let otherwise = if same {
        format!(
            "if this fixture's art belongs there, state [zone] centred = [\"{}\", \"{}\"] in fixture.toml",
            shown.length(there.x),
            shown.length(there.y)
        )
    } else {
        "if this fixture's art belongs there, correct `centred` in fixture.toml".to_owned()
    };
    let bounds = all.iter().map(|w| w.bounds).reduce(|a, b| a.union(b))?;
    let mut right = BezPath::new();
    for w in all {
        right.extend((w.bounds - off).to_path(1.0));
    }
    let arts: Vec<_> = all
        .iter()
        .flat_map(|w| change::art_of(job, w.pocket))
        .collect();
    let back = format!("move the layer {}", offset_words(-off, shown));
    Some(
        Finding::new(
            &INFO,
            &Location::Bed(bounds),
            format!(
                "The art lies {} of {whence} in {among} with art: the whole layer seems to have moved",
                offset_words(off, shown)
            ),
            format!("{back}; or, {otherwise}"),
        )
        .weighing(Severity::Caution)
        .remedied(Remedy::choose([Way::new(
            "layer",
            back,
            change::of_all(&arts, &What::Move(-off)),
        )
        .assuming("the whole layer was moved")]))
        .measured("off centre", off.hypot(), LAYER, "mm")
        .drawn(Picture::Ghost {
            right,
            from: bounds.center(),
            to: bounds.center() - off,
        }),
    )
}

/// The move along one axis that most of the art shares, and how many share it: each is given as its
/// move and its size. `None` where the art is at its place, or is not off by about the same.
fn common(all: &[(f64, f64)]) -> Option<(f64, usize)> {
    if all.len() < TOGETHER {
        return None;
    }
    let mut moves: Vec<f64> = all.iter().map(|m| m.0).collect();
    moves.sort_by(f64::total_cmp);
    let middle = *moves.at(moves.len() / 2);
    let largest = all.iter().map(|m| m.1).fold(0.0, f64::max);
    let alike = (ALIKE * largest).max(ALIKE_AT_LEAST);
    let share = moves
        .iter()
        .filter(|m| {
            (*m - middle).abs() <= alike && m.abs() > LAYER && m.signum() == middle.signum()
        })
        .count();
    (10 * share >= OF_TEN * all.len()).then_some((middle, share))
}

/// The place that art is measured from.
fn whence(settings: &PocketSettings) -> &'static str {
    if settings.centred == Centred::default() {
        "its zone's centre"
    } else {
        "where [zone] centred puts it"
    }
}

fn whole(job: &Job<'_>, pocket: PocketId) -> Option<Whole> {
    let own = &job.pockets[pocket];
    let Centred::At(place) = own.settings.centred else {
        return None;
    };
    let here: Vec<(ArtId, &Art<'_>)> = job
        .art_in(pocket)
        .iter()
        .map(|&i| (i, &job.art[i]))
        .filter(|(_, a)| job.operation(a.mark) != Operation::Cut)
        .collect();
    let mut largest: Option<(ArtId, f64)> = None;
    for (i, art) in &here {
        if largest.is_none_or(|(_, a)| art.reach.area() > a) {
            largest = Some((*i, art.reach.area()));
        }
    }
    // The outermost are measured first: of traced art, nearly all the rest lies between them, as its
    // boxes say, and its ink need not be worked out.
    let outermost = [
        |r: Rect| r.x0,
        |r: Rect| r.y0,
        |r: Rect| -r.x1,
        |r: Rect| -r.y1,
    ]
    .into_iter()
    .filter_map(|side| {
        here.iter()
            .min_by(|a, b| side(a.1.reach).total_cmp(&side(b.1.reach)))
    });
    let mut bounds: Option<Rect> = None;
    for (_, art) in outermost.chain(&here) {
        if bounds.is_some_and(|b: Rect| b.union(art.reach) == b) {
            continue;
        }
        let ink = match &job.mark(art.mark).content {
            // The frame of a picture says little about where its ink lies.
            Content::Picture(p) => p
                .inked
                .map_or_else(|| art.bounds(), |r| p.placed.transform_rect_bbox(r)),
            _ => art.bounds(),
        };
        bounds = Some(bounds.map_or(ink, |b| b.union(ink)));
    }
    let bounds = bounds?;
    let off = bounds.center() - (own.zone.bounds()?.center() + place);
    let side = Vec2::new(-own.head.y, own.head.x);
    Some(Whole {
        pocket,
        art: largest?.0,
        bounds,
        moved: off,
        off: [off.dot(own.head), off.dot(side)],
    })
}
