//! Outlined lettering is read back: pieces of ink are matched with the glyphs of the faces at hand.
//!
//! ```text
//! ink ─ pieces ─▶ outer outlines ─ spectrum ─▶ hits (glyph, size, turn, mirrored, place of its origin)
//! hits ─ words ─▶ letters that share face, size, turn and baseline
//! ```
//!
//! A hit must follow the glyph's curve closely; which hits belong together is decided by how many
//! pieces one face, size, turn and baseline explain. Letters that look the same turned are decided by
//! their neighbours; a word that reads equally well two ways up is said to be undecidable.
//!
//! Letters that touch are one piece of ink: they are read ring by ring, as they were drawn.
//!
//! Known limits: letters of the scripts in [`glyphs::Script`], digits and common signs, and Latin
//! ligatures; letters that touch and were welded into one outline are not read; a face that is not at hand is not read at all.

mod arched;
pub mod by_shape;
pub(crate) mod cache;
pub(crate) mod glyphs;
mod knocked_out;
mod letter_groups;
pub(crate) mod letter_kinds;
pub(crate) mod letter_raster;
pub(crate) mod letter_shape;
pub(crate) mod letter_siblings;
pub(crate) mod letter_verdict;
pub(crate) mod likeness;
pub(crate) mod lines;
pub(crate) mod orientation;
pub(crate) mod pieces;
mod repeated;
mod rows;
pub(crate) mod shape_batch;
pub(crate) mod signs;
pub(crate) mod spectrum;
mod twins;
mod witnesses;

use kurbo::{Affine, Point, Rect, Vec2};

use crate::abandon;
use crate::artwork::fonts::Faces;
use crate::cores;
use crate::fixture::Pocket;
use crate::geometry::region::Region;
use crate::geometry::shape_match::Patch;
use crate::ids::{IdVec, PocketId};
use crate::remembered::{Key, Remembered};

use self::by_shape::ShapeWord;
use self::glyphs::Index;
use self::pieces::pieces;
use self::repeated::Repeated;

/// A word (or a few) that was read from ink. One line of lettering of one face and size.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "four findings about one word, none of which follows from another"
)]
pub struct ReadWord {
    /// What it says, as far as it was read.
    pub text: String,
    /// Unit vector from the letters' feet to their tops, on the bed.
    pub up: Vec2,
    /// Whether it reads as in a mirror.
    pub mirrored: bool,
    /// The face it was matched with, in words.
    pub face: String,
    /// Size of the em on the bed, in millimetres.
    pub size: f64,
    /// The letters' box on the bed.
    pub bounds: Rect,
    /// How many letters were read.
    pub letters: usize,
    /// False where the pieces read equally well another way up (NOON, SIS, XOX).
    pub decided: bool,
    /// Where its tops point read the other way in a mirror, if it reads as well so (TOM, MIA).
    pub in_mirror: Option<Vec2>,
    /// Whether its letters are those of one script only.
    pub one_script: bool,
    /// What it reads in a mirror as letters of another script, until [`read_pockets`] has chosen.
    pub other: Option<Box<ReadWord>>,
    /// Whether its letters are enough to say how it lies: two stems that fit a face at hand, among
    /// letters that do not, fit it by chance.
    pub tells: bool,
}

/// What was read from one piece of art.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reading {
    /// The words, from the most letters to the fewest.
    pub words: Vec<ReadWord>,
    /// Share of the ink's area that was read as letters, 0 to 1.
    pub share: f64,
    /// Ink that no face explains, as far as its shapes are those of a word.
    pub shapes: Option<ShapeWord>,
    /// What its other rows are, that are built like words as well: the date under a name.
    pub other_rows: Vec<ShapeWord>,
    /// Its letters, numbered by shape over all pockets.
    pub letters: Vec<letter_kinds::Seen>,
    /// Its rows, where it has several.
    pub rows: Vec<rows::Place>,
    /// Whether some of what most pockets have may lie otherwise in this one.
    pub displaced: bool,
    /// Whether some of the ink away from the words that were read may lie otherwise than they do.
    pub beside: bool,
    /// What the same batch's words in other pockets make of that word.
    pub siblings: shape_batch::BySiblings,
}

impl Reading {
    /// Whether the ink was read as far as it can be. Stems and rings alone, however many, are not read:
    /// any plain face has them.
    pub(crate) fn whole(&self) -> bool {
        self.share >= READ && self.words.iter().any(|w| lines::telling(&w.text) > 0)
    }
}

/// Pieces that are looked at in one region: far more than a blank holds, and few enough that a
/// traced photograph does not take minutes.
pub(crate) const MOST_PIECES: usize = 2_000;

/// Corners that outlines may come to, beyond those that they have by themselves, while they are put together:
/// as many pieces with a hundred corners each. Lines across each other have more, and are no lettering.
const MOST_CORNERS: usize = 100 * MOST_PIECES;

/// Steps that reading the art of one pocket may take (see [`abandon::spend`]): half a second or so.
const MOST_STEPS: usize = 1_500_000;

/// Faces to read with, in two tiers: those of the shop first, the machine's only where those do not
/// explain the ink.
#[derive(Debug)]
pub struct Reader {
    near: Index,
    machine: Option<std::sync::OnceLock<Index>>,
}

impl Reader {
    /// A reader with the faces in `near`; where `machine` is set, the machine's own as a second tier.
    pub fn new(near: &Faces, machine: bool) -> Self {
        Self {
            near: cache::load_or_build(cache::Of::Shop, near),
            machine: machine.then(std::sync::OnceLock::new),
        }
    }

    /// Reads a region of ink that was drawn as `rings`, as far as that is known: letters that touch
    /// are one piece of ink, and only the rings still tell them apart. `mirrored` says whether the ink is
    /// meant to lie in a mirror: where it reads both ways alike (TOM, MIA), it is read as it is meant.
    pub fn read(&self, ink: &Region, rings: &[Vec<Point>], mirrored: bool) -> Reading {
        let joined = pieces(ink);
        if joined.is_empty() || joined.len() > MOST_PIECES {
            return Reading::default();
        }
        let apart = std::cell::LazyCell::new(|| pieces::as_drawn(rings, ink));
        let read = |index: &Index| {
            let whole = lines::read(&joined, index, mirrored);
            if whole.share >= WHOLLY || apart.is_empty() {
                return whole;
            }
            let parts = lines::read(&apart, index, mirrored);
            if parts.share > whole.share {
                parts
            } else {
                whole
            }
        };
        let near = read(&self.near);
        if near.whole() || self.machine.is_none() {
            return near;
        }
        let Some(machine) = &self.machine else {
            return near;
        };
        let index = machine.get_or_init(|| {
            cache::load_or_build(cache::Of::Machine, &Faces::new(Vec::new(), true))
        });
        let far = read(index);
        if far.share > near.share { far } else { near }
    }
}

/// Tops whose directions have a cosine below this lie otherwise; where heads alternate it is -1, or 0.
const ONE_WAY: f64 = 0.9;

/// The outlined art of a pocket.
#[derive(Debug, Clone)]
pub(crate) struct OutlinedArt<'a> {
    /// The pocket.
    pub pocket: &'a Pocket,
    /// Its ink, mark by mark.
    pub ink: Vec<Region>,
    /// The subpaths that the ink was filled from.
    pub drawn: Vec<Vec<Point>>,
    /// How far apart the lines are that fill its letters, in millimetres; nought where none do.
    pub lines: f64,
}

impl OutlinedArt<'_> {
    /// All that what is read depends on, with the same faces.
    fn key(&self, shared: Shared<'_>) -> Key {
        let Pocket { tops, settings, .. } = self.pocket;
        let frame = Key::default().and(tops.x).and(tops.y);
        let frame = frame.and(f64::from(settings.mirrored)).and(self.lines);
        let Shared { repeated, radius } = shared;
        let art = frame.areas(&self.ink).outlines(&self.drawn);
        let art = art.areas(&repeated.outlines);
        let art = art.and(f64::from(repeated.displaced));
        radius.into_iter().fold(art, Key::and)
    }
}

/// What comes of the outlined art of one pocket.
#[derive(Debug, Clone, Default)]
pub(crate) struct Taken {
    reading: Reading,
    /// The letters of what was not read.
    letters: Vec<pieces::Piece>,
    /// In the pocket's frame, its longest row, where that is not built like a word.
    unlike: Option<Region>,
}

/// What the pockets of a batch have in common, as far as one of them is concerned.
#[derive(Debug, Clone, Copy)]
struct Shared<'a> {
    /// What it has of what most pockets have.
    repeated: &'a Repeated,
    /// The radius of the arcs along which lettering runs, where it does.
    radius: Option<f64>,
}

/// Reads the outlined art of one pocket, and takes what was not read apart into letters.
fn read_one(art: &OutlinedArt<'_>, shared: Shared<'_>, reader: &Reader) -> Taken {
    let given: usize = art.ink.iter().map(Region::corners).sum();
    let Some(ink) = Region::union_up_to(&art.ink, MOST_CORNERS.max(given)) else {
        return Taken::default();
    };
    let free = repeated::free(art, &shared.repeated.outlines);
    let free = free.as_ref().unwrap_or(&ink);
    let mut taken = read_ink([&ink, free], &art.drawn, art.pocket, shared, reader);
    if art.lines > 0.0 {
        taken.letters = letter_kinds::filled_by(taken.letters, art.lines);
    }
    let Some(letters) = knocked_out::knocked_out(&ink).filter(|_| !taken.is_lettering()) else {
        return taken;
    };
    let nothing = Shared {
        repeated: &Repeated::default(),
        radius: None,
    };
    let letters = read_ink([&letters; 2], &[], art.pocket, nothing, reader);
    if letters.is_lettering() {
        letters
    } else {
        taken
    }
}

impl Taken {
    /// Whether it was read, or is known for lettering by itself.
    fn is_lettering(&self) -> bool {
        let shapes = self.reading.shapes.as_ref();
        let joined = || by_shape::look_among_words(self.unlike.as_ref()?);
        self.reading.whole()
            || shapes.is_some_and(ShapeWord::is_known)
            || joined().is_some_and(|word| word.is_known())
    }
}

/// The same of some ink of a pocket, which was filled from these subpaths. Where it is not read, what is looked at is
/// its part that is free of frames.
fn read_ink(
    [ink, free]: [&Region; 2],
    drawn: &[Vec<Point>],
    pocket: &Pocket,
    Shared { repeated, radius }: Shared<'_>,
    reader: &Reader,
) -> Taken {
    let mut reading = reader.read(ink, drawn, pocket.settings.mirrored);
    reading.displaced = repeated.displaced;
    reading.beside = repeated.displaced || uneven_beside(&reading.words, ink, pocket, repeated);
    if reading.whole() {
        return Taken {
            reading,
            ..Taken::default()
        };
    }
    let framed = in_frame(free, pocket);
    let drawn = Region {
        rings: drawn.to_vec(),
    };
    let drawn = in_frame(&drawn, pocket);
    let repeated = repeated.outlines.as_slice();
    let own = repeated::without(&framed, repeated);
    if let Some(arch) = radius.and_then(|radius| arched::arch(&own, radius)) {
        let [own, drawn] = [&own, &drawn].map(|ink| arch.straightened(ink));
        let straight = take_apart(reading.clone(), &own, &drawn, &[]);
        if straight.is_lettering() {
            return straight;
        }
    }
    let taken = take_apart(reading.clone(), &framed, &drawn, repeated);
    if repeated.is_empty() || taken.is_lettering() {
        return taken;
    }
    // A name in a ring of dots is no word together with them.
    let alone = take_apart(reading, &own, &drawn, &[]);
    if alone.is_lettering() { alone } else { taken }
}

/// Whether ink away from words that were read is uneven, and most pockets do not have it: it may lie otherwise than
/// they do.
fn uneven_beside(words: &[ReadWord], ink: &Region, pocket: &Pocket, repeated: &Repeated) -> bool {
    if words.is_empty() {
        return false;
    }
    // A letter that was not read stands within an em of those that were, and lies as they do.
    let near = words.iter().map(|w| lines::reach(w, 1.0));
    let near: Vec<Region> = near
        .map(|reach| in_frame(&Region::from_rect(reach), pocket))
        .collect();
    let boxes: Vec<Rect> = near.iter().filter_map(Region::bounds).collect();
    let part = |piece: &Region| {
        let own = piece.bounds();
        own.is_some_and(|own| boxes.iter().any(|b| b.union(own) == *b))
    };
    let others = repeated::without(&in_frame(ink, pocket), &repeated.outlines).pieces();
    let others: Vec<Region> = others.into_iter().filter(|piece| !part(piece)).collect();
    let left = Region::union_all(&others).subtract(&Region::union_all(&near));
    Patch::new(left).is_some_and(|left| !left.even(Vec2::new(0.0, -1.0)))
}

/// Takes ink that was not read apart into letters, and looks at its longest row that is built like a word: one that
/// other pockets do not have, if there is one.
fn take_apart(mut reading: Reading, ink: &Region, drawn: &Region, repeated: &[Region]) -> Taken {
    let apart = pieces::as_drawn(&drawn.rings, ink);
    let mut rows = rows::rows(ink);
    let in_most = |row: &rows::Row| repeated::all_in(&row.ink, repeated);
    rows.sort_by_key(in_most);
    let mut letters = Vec::new();
    let mut unlike = None;
    for row in rows {
        let mut everywhere = in_most(&row);
        if row.surround {
            reading.rows.push(row.place(everywhere));
            letters.extend(row.parts);
            continue;
        }
        let own = letter_kinds::letters(&row.parts, row.bounds, &apart);
        // What is drawn of other rows is no sign of this one.
        let subpaths = Region {
            rings: drawn
                .rings
                .iter()
                .filter(|ring| row.holds(ring))
                .cloned()
                .collect(),
        };
        let word = by_shape::look_at(&row.ink, &row.parts, &own, &subpaths);
        // A word that every pocket has may lie wrong in each of them, be its letters apart or joined.
        let joined = everywhere && word.is_none() && by_shape::is_long(&row.ink);
        let joined = joined.then(|| by_shape::look_among_words(&row.ink));
        let joined = joined.flatten().filter(ShapeWord::is_known);
        everywhere &= joined.is_none() && !word.as_ref().is_some_and(ShapeWord::lettering);
        reading.rows.push(row.place(everywhere));
        if reading.shapes.is_none() {
            reading.shapes = word;
        } else if !everywhere {
            reading.other_rows.extend(word);
        }
        reading.other_rows.extend(joined);
        letters.extend(own);
        if reading.shapes.is_none() {
            unlike.get_or_insert(row.ink);
        }
    }
    if reading.rows.len() == 1 {
        reading.rows.clear();
    }
    Taken {
        reading,
        letters,
        unlike,
    }
}

/// Reads the outlined art of every pocket, and gives what was read in their order. `reader` is only called
/// where there is some ink: building it takes time. What was `known` of a pocket's ink is not read again.
pub(crate) fn read_pockets<'r>(
    art: &IdVec<PocketId, OutlinedArt<'_>>,
    reader: impl Fn() -> &'r Reader + Sync,
    known: &Remembered<Taken>,
    alike: &Remembered<likeness::ByWay>,
) -> IdVec<PocketId, Reading> {
    let repeated = repeated::repeated(art.as_slice());
    let both: Vec<(&OutlinedArt<'_>, Repeated)> = art.iter().zip(repeated).collect();
    let own = both
        .iter()
        .map(|(art, repeated)| repeated::beside(art, &repeated.outlines));
    let radius = arched::radius(&own.collect::<Vec<_>>());
    let taken = cores::each(&both, |(art, repeated)| {
        let shared = Shared { repeated, radius };
        if art.ink.iter().all(Region::is_empty) {
            return Taken::default();
        }
        // What is not read is undecided, and named; the other pockets are read all the same.
        let read = || read_one(art, shared, reader());
        let read = || abandon::within(MOST_STEPS, read).unwrap_or_default();
        Taken::clone(&known.of(art.key(shared), read))
    });
    let mut readings: Vec<Reading> = Vec::new();
    let mut letters: Vec<Vec<pieces::Piece>> = Vec::new();
    let mut unlike: Vec<Option<Region>> = Vec::new();
    for one in taken {
        readings.push(one.reading);
        letters.push(one.letters);
        unlike.push(one.unlike);
    }
    let meant = art.iter().map(|a| a.pocket.settings.mirrored);
    choose_scripts(&mut readings, meant);
    // What is not built like a word may be one all the same (joined, or narrow) where others are words; where none
    // are, all of them may be joined, and only what is as long as a word is looked at.
    let words = readings.iter().filter(|r| r.shapes.is_some()).count();
    let among = cores::each(&unlike, |ink| {
        let asked = |ink: &&Region| words >= by_shape::WORDS_ENOUGH || by_shape::is_long(ink);
        by_shape::look_among_words(ink.as_ref().filter(asked)?)
    });
    let known = |word: &Option<ShapeWord>| word.as_ref().is_some_and(ShapeWord::is_known);
    let either = readings.iter().zip(&among);
    let words = either.filter(|(r, word)| r.shapes.is_some() || known(word));
    if words.count() >= by_shape::WORDS_ENOUGH {
        for (reading, word) in readings.iter_mut().zip(among) {
            // A joined name says more than the date under it.
            if reading.shapes.is_none() || known(&word) {
                reading.other_rows.extend(reading.shapes.take());
                reading.shapes = word;
            }
        }
    }
    by_shape::hear_batch(readings.iter_mut().filter_map(|r| r.shapes.as_mut()));
    by_shape::hear_batch(readings.iter_mut().flat_map(|r| &mut r.other_rows));
    for (reading, letters) in readings.iter_mut().zip(letter_kinds::sort(&letters)) {
        reading.letters = letters;
    }
    let mut tops = art.iter().map(|a| a.pocket.tops);
    let alternate = tops
        .next()
        .is_some_and(|first| tops.any(|t| t.dot(first) < ONE_WAY));
    let siblings = shape_batch::by_siblings(&readings, alternate, alike);
    for (reading, siblings) in readings.iter_mut().zip(siblings) {
        reading.siblings = siblings;
    }
    readings.into()
}

/// Chooses for each word that reads in a mirror as letters of another script: the script in which others
/// of the batch are written, and no other; else the word as it is meant to lie, and then its letters are
/// no evidence for its side.
fn choose_scripts(readings: &mut [Reading], meant: impl Iterator<Item = bool>) {
    let script = |word: &ReadWord| word.text.chars().find_map(glyphs::Script::of);
    let of_batch: std::collections::BTreeSet<glyphs::Script> = readings
        .iter()
        .flat_map(|r| &r.words)
        .filter(|w| w.one_script && w.tells && lines::telling(&w.text) > 1)
        .filter_map(script)
        .collect();
    let among = |word: &ReadWord| script(word).is_some_and(|s| of_batch.contains(&s));
    for (reading, mirrored) in readings.iter_mut().zip(meant) {
        for word in &mut reading.words {
            let Some(mut other) = word.other.take() else {
                continue;
            };
            other.tells = word.tells;
            match (among(word), among(&other)) {
                (true, false) => {}
                (false, true) => *word = *other,
                _ if other.mirrored == mirrored => {
                    other.in_mirror = Some(word.up);
                    *word = *other;
                }
                _ => word.in_mirror = Some(other.up),
            }
        }
    }
}

/// Ink as someone sees it who looks at the pocket the right way: its tops to the back, and unmirrored
/// where the pocket is engraved from behind. So words of pockets whose heads point elsewhere compare.
pub(crate) fn in_frame(ink: &Region, pocket: &Pocket) -> Region {
    let t = pocket.tops;
    // Carries `t` to (0, -1).
    let turn = Affine::new([-t.y, -t.x, t.x, -t.y, 0.0, 0.0]);
    let flip = Affine::scale_non_uniform(if pocket.settings.mirrored { -1.0 } else { 1.0 }, 1.0);
    let frame = flip * turn;
    Region {
        rings: ink
            .rings
            .iter()
            .map(|ring| ring.iter().map(|p| frame * *p).collect())
            .collect(),
    }
}

/// A region read to this share of its ink has no letters left that touch.
const WHOLLY: f64 = 0.99;

/// A region read to this share of its ink needs no more faces.
const READ: f64 = 0.9;
