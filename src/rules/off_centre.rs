//! `off-centre`: art off the zone's centre where its siblings are centred.

use kurbo::{Affine, Rect, Vec2};

use super::{Info, Rule, info};
use crate::artwork::mark::{Content, Operation};
use crate::finding::{Finding, Location, Picture};
use crate::geometry::bed_words::offset_words;
use crate::geometry::region::Region;
use crate::matching::Job;
use crate::matching::art::Art;

/// See the module's page.
pub struct OffCentre;

static INFO: Info = info!("off-centre", Note, Blank);

/// Art whose middle lies this close to its zone's, in millimetres, is centred.
const CENTRED: f64 = 0.3;

/// Art further off than this, in millimetres, stands out beside centred siblings. Between the two,
/// the tails of letters decide, and nothing is said.
const STANDS_OUT: f64 = 1.0;

/// So many siblings must be centred before one that is not is worth a word.
const SIBLINGS: usize = 3;

/// All the art of a pocket, and where its middle lies.
struct Whole {
    pocket: usize,
    art: usize,
    bounds: Rect,
    /// From the zone's middle to the art's, along the head and across it.
    off: [f64; 2],
}

impl Rule for OffCentre {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        let all: Vec<Whole> = (0..job.pockets.len())
            .filter_map(|p| whole(job, p))
            .collect();
        // Which directions most siblings are centred in: names of other heights are often centred
        // across and not along.
        let judged: Vec<bool> = [0, 1]
            .iter()
            .map(|axis| {
                let centred = all.iter().filter(|w| at(w, *axis).abs() <= CENTRED).count();
                centred >= SIBLINGS && 3 * centred >= 2 * all.len()
            })
            .collect();
        for w in &all {
            let (Some(pocket), Some(art)) = (job.pockets.get(w.pocket), job.art.get(w.art)) else {
                continue;
            };
            let (Some(mark), Some(zone)) = (job.mark(art.mark), pocket.zone.bounds()) else {
                continue;
            };
            let part = |axis: usize| {
                let v = at(w, axis);
                if judged.get(axis) == Some(&true) && v.abs() > STANDS_OUT {
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
                        "The art lies {} of its zone's centre, where the art of other pockets is centred to {}",
                        offset_words(off, job.shown()),
                        job.shown().length(CENTRED)
                    ),
                    format!("move it {}, unless it is meant so", offset_words(-off, job.shown())),
                )
                .in_pocket(Some(&pocket.name))
                .measured("off centre", off.hypot(), STANDS_OUT, "mm")
                .drawn(Picture::Ghost {
                    right: right * Region::from_rect(w.bounds).to_path(),
                    from: w.bounds.center(),
                    to: zone.center() + (w.bounds.center() - zone.center() - off),
                }),
            );
        }
    }
}

fn at(w: &Whole, axis: usize) -> f64 {
    w.off.get(axis).copied().unwrap_or(0.0)
}

fn whole(job: &Job<'_>, pocket: usize) -> Option<Whole> {
    let own = job.pockets.get(pocket)?;
    let here: Vec<(usize, &Art<'_>)> = job
        .art_in(pocket)
        .iter()
        .filter_map(|&i| job.art.get(i).map(|a| (i, a)))
        .filter(|(_, a)| job.operation(a.mark) != Operation::Cut)
        .collect();
    let mut largest: Option<(usize, f64)> = None;
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
        let ink = match job.mark(art.mark).map(|m| &m.content) {
            // The frame of a picture says little about where its ink lies.
            Some(Content::Picture(p)) => p
                .inked
                .map_or_else(|| art.bounds(), |r| p.placed.transform_rect_bbox(r)),
            _ => art.bounds(),
        };
        bounds = Some(bounds.map_or(ink, |b| b.union(ink)));
    }
    let bounds = bounds?;
    let off = bounds.center() - own.zone.bounds()?.center();
    let side = Vec2::new(-own.head.y, own.head.x);
    Some(Whole {
        pocket,
        art: largest?.0,
        bounds,
        off: [off.dot(own.head), off.dot(side)],
    })
}
