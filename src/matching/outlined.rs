//! Outlined lettering that was read back, seen from the art it was read from.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use kurbo::{Rect, Vec2};

use super::Job;
use super::art::Art;
use super::evidence::{Evidence, WayUp, between, outlined};
use super::text_line::{Words, reading_direction};
use crate::fixture::Pocket;
use crate::geometry::region::Region;
use crate::ids::{ArtId, PocketId};
use crate::orders::spelling::fold;
use crate::readback::ReadWord;
use crate::readback::lines::{NEAR, NO_CHANCE, reach, telling, telling_letters};

/// How far art may reach past the box of a word it is part of, in millimetres: boxes are rounded.
const BOX_SLACK: f64 = 0.1;

/// Ink that was not read, as a share of the pocket's outlined ink, may be this much and still be
/// rounding. More could be a letter or an accent that is missing from the text.
const UNREAD: f64 = 0.01;

/// Unread ink smaller than this share of the pocket's is no letter, nor a dot of one.
const SPECK: f64 = 1e-3;

/// A word of bars and rings alone is one only if it leans by less than this, in degrees: a few bars and
/// dots lie in line by chance, at any angle.
const LEANS: f64 = 3.0;

/// A word turned by more than this, in degrees, does not stand as it should: as for `upside-down`.
const ON_ITS_SIDE_FROM: f64 = 45.0;

/// Fewer letters are no word: a ring reads as an o, a bar as an l, a chevron as a v.
const SHORTEST: usize = 2;

/// Words read in a pocket.
pub(super) fn words_in<'a>(job: &'a Job<'_>, pocket: PocketId) -> &'a [ReadWord] {
    &job.read[pocket].words
}

fn within(inner: Rect, outer: Rect) -> bool {
    let o = outer.inflate(BOX_SLACK, BOX_SLACK);
    o.union(inner) == o
}

/// Whether a piece of art is part of a word or contains one. What only goes round it does neither, and has little of
/// what is burnt there.
fn belongs(job: &Job<'_>, art: &Art<'_>, word: &ReadWord) -> bool {
    let bounds = art.bounds();
    let there = |art: &Art<'_>| Region::from_rect(word.bounds).intersect(art.ink()).area();
    let has_most = || {
        let here = art.pocket.map_or(&[][..], |pocket| job.art_in(pocket));
        let all: f64 = here
            .iter()
            .map(|i| &job.art[*i])
            .filter(|a| outlined(job, a))
            .map(there)
            .sum();
        2.0 * there(art) >= all
    };
    within(bounds, word.bounds) || within(word.bounds, bounds) && has_most()
}

/// Art that is lettering, with the way up of the word it belongs to.
pub(super) fn look(job: &Job<'_>) -> Vec<(ArtId, WayUp)> {
    let mut out = Vec::new();
    let faces = faces(job);
    for (index, art) in job.art.pairs() {
        let Some(pocket) = art.pocket.filter(|_| outlined(job, art)) else {
            continue;
        };
        let words = words_in(job, pocket);
        if words.is_empty() {
            continue;
        }
        let own = &job.pockets[pocket];
        let ways: Vec<Option<WayUp>> = words
            .iter()
            .filter(|w| w.letters >= SHORTEST && belongs(job, art, w))
            .filter(|w| !w.decided || w.tells && no_chance(job, pocket, w, &faces))
            .map(|w| lies(job, own, w))
            .collect();
        // Of a name with its date in one path either may lie wrong, and so may a paw beside them.
        let off = |way: &WayUp| between(own.tops, way.up).abs();
        let mirrored = |way: &WayUp| way.mirrored != own.settings.mirrored;
        let worse = |a: &&WayUp, b: &&WayUp| {
            let either = mirrored(a).cmp(&mirrored(b));
            either.then(off(a).total_cmp(&off(b)))
        };
        let part = || words.iter().any(|w| within(art.bounds(), w.bounds));
        let all_known = ways.iter().all(Option::is_some);
        let all = all_known && (!job.read[pocket].beside || part());
        let worst = ways.iter().flatten().max_by(worse);
        let way = worst.filter(|way| all || mirrored(way) || off(way) > ON_ITS_SIDE_FROM);
        out.extend(way.map(|way| (index, *way)));
    }
    out
}

/// Few letters of a face fit some art by chance. They are lettering where the run has more of that face, or where there
/// is nothing else; and bars and rings only along their zone.
fn no_chance(job: &Job<'_>, pocket: PocketId, word: &ReadWord, faces: &BTreeSet<&str>) -> bool {
    let reading = &job.read[pocket];
    let known = faces.contains(word.face.as_str());
    let alone = reading.words.len() == 1 && reading.whole();
    let askew = between(job.pockets[pocket].tops, word.up).rem_euclid(90.0);
    let straight = askew.min(90.0 - askew) <= LEANS;
    (known || alone) && (telling(&word.text) > 0 || straight)
}

/// How a word lies, if that is decided.
fn lies(job: &Job<'_>, own: &Pocket, word: &ReadWord) -> Option<WayUp> {
    let off = |up: Vec2| between(own.tops, up).abs() > ON_ITS_SIDE_FROM;
    // What reads as well in a mirror is no evidence of its side; nor of its top, if one of both
    // readings stands as it should.
    let mirrored = match word.in_mirror {
        None => word.mirrored,
        Some(up) if off(up) && off(word.up) => own.settings.mirrored,
        Some(up) => as_ordered(job, word, up)?,
    };
    let way = WayUp {
        up: word.up,
        mirrored,
        from: Evidence::ReadBack,
        bend: 0.0,
    };
    word.decided.then_some(way)
}

/// Letters and signs that are themselves in a mirror.
const SAME_IN_A_MIRROR: &str = "AHIMOTUVWXYilovwx08-' ";

/// Whether a word that reads as well in a mirror is mirrored: TOM is ordered, and MOT is not.
fn as_ordered(job: &Job<'_>, word: &ReadWord, in_mirror: Vec2) -> Option<bool> {
    let list = job.orders.as_ref()?;
    // Stood on its head by the mirror, the letters keep their order.
    let upright = between(word.up, in_mirror).abs() <= LEANS;
    if !upright || !word.text.chars().all(|c| SAME_IN_A_MIRROR.contains(c)) {
        return None;
    }
    let listed = |text: &str| {
        let own = fold(text, false);
        list.orders.iter().any(|o| fold(&o.name, false) == own)
    };
    let backwards: String = word.text.chars().rev().collect();
    match (listed(&word.text), listed(&backwards)) {
        (true, false) => Some(word.mirrored),
        (false, true) => Some(!word.mirrored),
        _ => None,
    }
}

/// Faces of which the run has so many letters that it is no chance.
fn faces<'a>(job: &'a Job<'_>) -> BTreeSet<&'a str> {
    let mut letters: BTreeMap<&str, BTreeSet<char>> = BTreeMap::new();
    for word in job.read.iter().flat_map(|r| &r.words) {
        let own = letters.entry(&word.face).or_default();
        own.extend(telling_letters(&word.text));
    }
    letters.retain(|_, own| own.len() >= NO_CHANCE);
    letters.into_keys().collect()
}

/// Whether art belongs to a word that reads equally well another way up.
pub(super) fn undecidable(job: &Job<'_>, pocket: PocketId, art: &Art<'_>) -> bool {
    words_in(job, pocket)
        .iter()
        .any(|w| !w.decided && w.letters >= SHORTEST && belongs(job, art, w))
}

/// What was read in a pocket as words. A word is only sure where no unread ink could be part of it.
pub(super) fn words(job: &Job<'_>, pocket: PocketId) -> Vec<Words> {
    let read = words_in(job, pocket);
    if read.is_empty() {
        return Vec::new();
    }
    let arts: Vec<&Art<'_>> = job
        .art_in(pocket)
        .iter()
        .map(|i| &job.art[*i])
        .filter(|a| outlined(job, a))
        .collect();
    let inks: Vec<&Region> = arts.iter().map(|a| a.ink()).collect();
    let ink = match inks.as_slice() {
        [one] => Cow::Borrowed(*one),
        // Their union, as it was read: layers of a drawing lie on each other by the thousand.
        all => Cow::Owned(Region::union_all(all.iter().copied())),
    };
    let boxes = Region::union_of(read.iter().map(|w| {
        let b = w.bounds.inflate(BOX_SLACK, BOX_SLACK);
        vec![
            (b.x0, b.y0).into(),
            (b.x1, b.y0).into(),
            (b.x1, b.y1).into(),
            (b.x0, b.y1).into(),
        ]
    }));
    let outside = ink.subtract(&boxes);
    let total = ink.area().max(1e-9);
    let share = job.read[pocket].share;
    let unread: Vec<Rect> = outside
        .pieces()
        .iter()
        .filter(|p| p.area() > SPECK * total)
        .filter_map(Region::bounds)
        .collect();
    let inside_unread = (1.0 - share) - outside.area() / total;
    read.iter()
        .map(|w| {
            let near = unread.iter().any(|b| b.overlaps(reach(w, NEAR)));
            Words {
                pocket: Some(pocket),
                text: crate::orders::spelling::spaced(&w.text),
                marks: arts
                    .iter()
                    .filter(|a| belongs(job, a, w))
                    .map(|a| a.mark)
                    .collect(),
                bounds: w.bounds,
                sure: w.decided && w.letters >= SHORTEST && inside_unread <= UNREAD && !near,
                up: w.up,
                mirrored: w.mirrored,
                foot: foot(w),
                size: w.size,
            }
        })
        .collect()
}

/// The corner of a word's box at which it starts, at its foot.
fn foot(w: &ReadWord) -> kurbo::Point {
    let start = reading_direction(w.up, w.mirrored) * -1.0 - w.up;
    let corner = Vec2::new(start.x.signum(), start.y.signum());
    let c = w.bounds.center();
    kurbo::Point::new(
        c.x + corner.x * w.bounds.width() / 2.0,
        c.y + corner.y * w.bounds.height() / 2.0,
    )
}
