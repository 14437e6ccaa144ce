//! Which way up is a piece of art, and how is that known?
//!
//! Live lettering and pictures carry it themselves. Outlined art needs evidence: something known to
//! be the right way up that it matches, or siblings in other pockets that it is turned against.
//! Where nothing decides, nothing is guessed: [`undecided`] names the art.

use kurbo::{Rect, Vec2};

use super::art::Art;
use super::evidence::{Evidence, Opposed, SPECK, WayUp, between, outlined};
use super::pocket_text::letters_in;
use super::{Job, outlined as read_back, reference, shape_evidence, siblings};
use crate::abandon;
use crate::artwork::mark::{Content, Lettering};
use crate::fixture::Pocket;
use crate::fixture::zones::direction;
use crate::geometry::region::Region;
use crate::geometry::shape_match::Patch;
use crate::ids::{ArtId, IdVec, PocketId};

/// Lettering is along a curve where neighbouring letters lean apart by less than this, in degrees;
/// more, and single letters were turned by hand.
const ALONG_A_CURVE: f64 = 45.0;

/// Letters that lean from each other by less than this, in degrees, stand in a straight line.
const STRAIGHT: f64 = 0.3;

/// One direction of a thing is farther off than the other if it is so by more than this, in degrees.
/// What arithmetic leaves is less; without it, which of two equal directions is taken would be chance.
const HAIR: f64 = 1e-6;

/// More pieces than this in a pocket are a traced picture, which has an up: to put them together takes
/// long.
const MOST_TOGETHER: usize = 2_000;

/// Outlines of so many corners are looked at one by one: a thousand rings take ten seconds. Where there are
/// more, and those are even, nothing decides.
const MOST_CORNERS: usize = 50_000;

/// Steps that the comparison of all pockets' art may take (see [`abandon::spend`]): a second or so.
const MOST_STEPS: usize = 3_000_000;

/// What is known of which way up a run's art is.
#[derive(Debug, Default)]
pub(crate) struct Ways {
    /// By piece of art, in the order of [`crate::matching::Matched`].
    pub of_art: IdVec<ArtId, Option<WayUp>>,
    /// Groups of which one is wrong; see [`Opposed`].
    pub opposed: Vec<Opposed>,
}

/// Decides for every piece of art, in the order of [`crate::matching::Matched`].
pub(crate) fn decide(job: &Job<'_>) -> Ways {
    let mut ways: IdVec<ArtId, Option<WayUp>> =
        job.art.iter().map(|art| by_itself(job, art)).collect();
    let better = read_back::look(job).into_iter().chain(reference::look(job));
    for (found, way) in better {
        ways[found].get_or_insert(way);
    }
    // Without their evidence more may stay undecided, and is named.
    let most = abandon::for_pockets(MOST_STEPS, job.pockets.len());
    let known = |art: ArtId| ways[art].is_some();
    let by_shapes = shape_evidence::look(job);
    let right = lie_right(job, &ways, &by_shapes);
    let siblings =
        abandon::within(most, || siblings::look(job, &known, &right)).unwrap_or_default();
    for (found, may) in siblings.odd {
        // An arrow is the same half turned and in a mirror: it lies as the letters beside it, if it may.
        let letters = by_shapes.iter().find(|(art, _)| *art == found);
        let as_letters = letters.and_then(|(_, way)| may.iter().find(|own| own.lies_as(way)));
        if let Some(way) = as_letters.or(may.first()) {
            ways[found].get_or_insert(*way);
        }
    }
    for (found, way) in by_shapes {
        ways[found].get_or_insert(way);
    }
    let opposed = siblings
        .opposed
        .into_iter()
        .chain(shape_evidence::opposed(job));
    let opposed = said_once(&ways, opposed);
    Ways {
        of_art: ways,
        opposed,
    }
}

/// Whether what has an up lies right in each pocket; nothing where none has, or some does and some does not.
fn lie_right(
    job: &Job<'_>,
    ways: &IdVec<ArtId, Option<WayUp>>,
    by_shapes: &[(ArtId, WayUp)],
) -> IdVec<PocketId, Option<bool>> {
    let mut ways = ways.clone();
    for (found, way) in by_shapes {
        ways[*found].get_or_insert(*way);
    }
    let right = |which: PocketId| {
        let pocket = &job.pockets[which];
        let lies_right = |way: WayUp| {
            between(pocket.tops, way.up).abs() <= siblings::OPPOSED_FROM
                && way.mirrored == pocket.settings.mirrored
        };
        let own = job.art_in(which).iter().filter_map(|art| ways[*art]);
        let mut own = own.map(lies_right);
        let first = own.next()?;
        own.all(|next| next == first).then_some(first)
    };
    job.pockets.ids().map(right).collect()
}

/// Groups that say something new: not the parts of a pocket's art after the whole of it, and none of
/// which one side is known to lie wrong, or both to be right, by better evidence.
fn said_once(
    ways: &IdVec<ArtId, Option<WayUp>>,
    all: impl Iterator<Item = Opposed>,
) -> Vec<Opposed> {
    let known = |art: &ArtId| ways[*art].is_some();
    let mut said: Vec<PocketId> = Vec::new();
    let mut out = Vec::new();
    for one in all {
        let mut pockets = one.groups.iter().flatten();
        let new = !pockets.any(|p| said.contains(p));
        if new && one.compared.iter().all(|art| !art.iter().all(known)) {
            said.extend(one.groups.iter().flatten());
            out.push(one);
        }
    }
    out
}

/// What a piece of art says of itself.
fn by_itself(job: &Job<'_>, art: &Art<'_>) -> Option<WayUp> {
    let mark = job.mark(art.mark);
    let pocket = art.pocket.map(|p| &job.pockets[p]);
    let tops = pocket.map_or(direction(0.0), |p| p.tops);
    match &mark.content {
        Content::Lettering(l) => lettering(l, art, pocket, tops),
        Content::Picture(p) => Some(WayUp {
            up: points(p.up(), p.along(), tops),
            mirrored: p.mirrored(),
            from: Evidence::Picture,
            bend: 0.0,
        })
        .filter(|w| w.up.hypot() > 0.5),
        Content::Shape => None,
    }
}

/// Where a letter or a picture points, as judged against where its tops belong: `up`, or at right angles
/// to `along` where that is farther off. They differ where a transform slants it, and either may be right.
fn points(up: Vec2, along: Vec2, tops: Vec2) -> Vec2 {
    let across = Vec2::new(-along.y, along.x);
    let across = across * across.dot(up).signum();
    let off = |up: Vec2| between(tops, up).abs();
    if off(across) > off(up) + HAIR {
        across
    } else {
        up
    }
}

/// Where lettering points: its middle along a curve; else the letter that is farthest from where it
/// should be (a `rotate` list may turn one letter and not the next).
fn lettering(
    lettering: &Lettering,
    art: &Art<'_>,
    pocket: Option<&Pocket>,
    tops: Vec2,
) -> Option<WayUp> {
    let letters: Vec<_> = letters_in(lettering, art)
        .into_iter()
        .filter(|l| l.up.hypot() > 0.5)
        .collect();
    // A line under letters has no way up.
    if letters.is_empty() {
        return None;
    }
    let expected = pocket.is_some_and(|p| p.settings.mirrored);
    let mirrored = if letters.iter().any(|l| l.mirrored != expected) {
        !expected
    } else {
        expected
    };
    let way = |up: Vec2, bend: f64| WayUp {
        up,
        mirrored,
        from: Evidence::Lettering,
        bend,
    };
    let ups: Vec<Vec2> = letters
        .iter()
        .map(|l| points(l.up, l.along, tops))
        .collect();
    let sum = ups.iter().fold(Vec2::ZERO, |s, up| s + *up);
    let jump = ups
        .iter()
        .zip(ups.iter().skip(1))
        .map(|(a, b)| between(*a, *b).abs())
        .fold(0.0, f64::max);
    if jump < ALONG_A_CURVE {
        // Letters all round a ring have no common up.
        if sum.hypot() < 0.5 * letters.len() as f64 {
            return None;
        }
        let up = sum.normalize();
        let bend = ups
            .iter()
            .map(|own| between(up, *own).abs())
            .fold(0.0, f64::max);
        return Some(way(up, if bend > STRAIGHT { bend } else { 0.0 }));
    }
    ups.into_iter()
        .max_by(|a, b| between(tops, *a).abs().total_cmp(&between(tops, *b).abs()))
        .map(|up| way(up, 0.0))
}

/// A pocket's art whose way up nothing decides.
pub(crate) struct Undecided {
    /// The pocket.
    pub pocket: PocketId,
    /// The piece to name.
    pub piece: ArtId,
    /// The box of all pieces that are undecided.
    pub bounds: Rect,
}

/// Art in pockets whose way up nothing decides, pocket by pocket.
///
/// A pocket's undecided art is judged as a whole: a cross of two even bars has an up. Only what a half
/// turn and a flip leave as it is, and specks, have no way up to be wrong; a word that reads equally
/// well another way up (NOON) is named all the same, as its letters need not be even.
pub(crate) fn undecided(job: &Job<'_>) -> Vec<Undecided> {
    let mut by_pocket = job.pockets.each(Vec::new());
    for ((index, art), way) in job.art.pairs().zip(job.ways_up()) {
        let line =
            matches!(&job.mark(art.mark).content, Content::Lettering(l) if l.letters.is_empty());
        if let (Some(pocket), None) = (art.pocket, way)
            && !line
        {
            by_pocket[pocket].push(index);
        }
    }
    // That one of two groups is wrong says more.
    for pocket in job.opposed().iter().flat_map(|o| o.groups.iter().flatten()) {
        by_pocket[*pocket].clear();
    }
    by_pocket
        .pairs()
        .filter_map(|(pocket, art)| {
            let piece = open(job, pocket, art)?;
            let all = art.iter().map(|i| job.art[*i].reach);
            let bounds = all.reduce(|a, b| a.union(b))?;
            Some(Undecided {
                pocket,
                piece,
                bounds,
            })
        })
        .collect()
}

/// Of a pocket's art that nothing decides, the piece to show; `None` where it cannot lie wrong.
fn open(job: &Job<'_>, pocket: PocketId, art: &[ArtId]) -> Option<ArtId> {
    let tops = job.pockets[pocket].tops;
    let small = |r: Rect| r.width().max(r.height()) < SPECK;
    // Lettering all round a ring.
    let ring = art
        .iter()
        .find(|i| matches!(job.mark(job.art[**i].mark).content, Content::Lettering(_)));
    if ring.is_some() {
        return ring.copied();
    }
    // The largest first: it is quickest found uneven, and is what a person looks at.
    let mut here: Vec<(ArtId, &Art<'_>)> = art
        .iter()
        .map(|i| (*i, &job.art[*i]))
        .filter(|(_, a)| outlined(job, a))
        .collect();
    here.sort_by(|a, b| {
        b.1.reach
            .area()
            .total_cmp(&a.1.reach.area())
            .then(a.0.cmp(&b.0))
    });
    let whole = here
        .iter()
        .map(|(_, a)| a.reach)
        .reduce(|a, b| a.union(b))?;
    if small(whole) {
        return None;
    }
    let uneven = |ink: Region| Patch::new(ink).is_some_and(|p| !p.even(tops));
    // By their boxes first: traced art is all specks, and their ink need not be known.
    let mut corners = 0;
    let mut left_out = false;
    let within = |(_, a): &&(ArtId, &Art<'_>)| {
        corners += a.ink().corners();
        left_out |= corners > MOST_CORNERS || job.mark(a.mark).shape_unknown();
        !left_out
    };
    let large = here.iter().filter(|(_, a)| !small(a.reach));
    let alone = large.take_while(within).find(|(_, a)| {
        !small(a.bounds()) && (read_back::undecidable(job, pocket, a) || uneven(a.ink().clone()))
    });
    if let Some((index, _)) = alone {
        return Some(*index);
    }
    let (largest, rest) = here.split_first()?;
    let uneven_together = || {
        let ink = Region::union_all(here.iter().map(|(_, a)| a.ink()));
        let given = here.iter().map(|(_, a)| a.ink().corners()).sum();
        ink.only_a_box(given) || uneven(ink)
    };
    let open = left_out || !rest.is_empty() && (here.len() > MOST_TOGETHER || uneven_together());
    open.then_some(largest.0)
}
