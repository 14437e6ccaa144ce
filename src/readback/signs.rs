//! Which signs of a word are Latin letters or digits, and for which orientations of the word?
//!
//! The word's network ([`super::letter_shape`]) sees a word as a whole. Here each sign of the
//! word is looked at by itself, laid back from each of the eight orientations, by a second, small network that
//! was taught to tell a letter or digit that stands upright from everything else: letters turned and
//! flipped, other scripts, symbols. Where few signs are letters in any orientation, this is no lettering that they
//! can judge; where all are letters in two, as in a date that is a date upside down, nothing tells the two apart.
//!
//! How it was taught, and how often it is right, is told in `tests/training/`.

use std::sync::LazyLock;

use kurbo::{Point, Rect};

use super::letter_raster::{Axis, LetterShape, Ring, letters, two_squares};
use super::letter_shape::Model;
use super::orientation::{Odds, Orientation, PerOrientation};
use crate::geometry::region::Region;

/// The trained weights; see `tests/training/sign_train.py`.
static MODEL: LazyLock<Option<Model>> =
    LazyLock::new(|| Model::from_bytes(include_bytes!("signs.weights")));

/// One sign counts no more than this, as natural log-odds: a single one is often mistaken.
const ONE: f64 = 4.0;

/// The least mean, over a word's signs, of the natural logarithm of the probability to be a letter, for
/// the word to be lettering. Of given names in faces not learnt from 4 in 100 have less; of random
/// words in ten scripts not learnt from, 98 in 100. Higher, and ornate faces stay open; lower, and other
/// scripts are judged as Latin.
const LETTERING: f64 = -0.7;

/// The same for a word that the network hardly knows, among words whose signs are letters: hooks among names came to -0.39,
/// and of 100 names one is below, and hardly known. Higher, and more of those stay open.
const SURELY: f64 = -0.35;

/// As [`LETTERING`], for all signs of a batch: they are many, and their mean is steadier. Of batches of random words in
/// ten scripts not learnt from the best has -0.59 where it lies otherwise than upright; lower, and other scripts are held.
const BATCH: f64 = -0.45;

/// An orientation in which the mean is this or more is a reading of the word. Signs that are signs again
/// are known less surely than others: a date in a plain face has -1.
const READS: f64 = -1.2;

/// The same for a single sign, which many a piece of art looks like.
const READS_ALONE: f64 = -0.25;

/// How much better than in another orientation, as natural logarithm, a word must read to have been told apart.
/// Of strings of letters that are letters again, in faces not learnt from, seven in ten stay below, and of
/// given names one in twenty. Higher, and more names stay open than strings are caught.
const APART: f64 = 1.0;

/// The same for a word that is said to lie wrong: of given names that stand upright, in faces not learnt from,
/// 2 to 5 in 1,000 look so much better half turned, and 88 in 100 of those that are turned. At 1.5 it was 6.
const WRONG: f64 = 2.5;

/// Where a word has no more pieces than this share of its letters they are joined, and a piece looks like some letter by
/// chance. Lower, and script stays open; higher, and two letters that touch leave a whole word to its network.
const JOINED: f64 = 2.0 / 3.0;

/// More signs than this are no word: traced art, which would take long.
const MOST_SIGNS: usize = 40;

/// A place this far beside a sign is still on it, in millimetres: rounding, of a stem without width.
const AT: f64 = 1e-6;

/// What the signs of a word say.
#[derive(Debug, Clone, PartialEq)]
pub struct Signs {
    each: Vec<Sign>,
    /// Mean natural logarithm of the probability to be a letter, by orientation of the word.
    means: Odds,
    count: f64,
}

/// One sign of a word.
#[derive(Debug, Clone, PartialEq)]
struct Sign {
    bounds: Rect,
    /// Natural logarithm of the probability to be a letter, by orientation of the word.
    reads: Odds,
}

impl Sign {
    fn new(model: &Model, shape: &LetterShape) -> Self {
        let points = || shape.rings.iter().flatten().map(|p| Point::new(p[0], p[1]));
        let first = points().next().unwrap_or_default();
        let logits = logits(model, shape).0.map(|v| v.clamp(-ONE, ONE));
        Self {
            bounds: points().fold(Rect::from_points(first, first), |all, p| all.union_pt(p)),
            reads: PerOrientation(logits.map(|v| -(-v).exp().ln_1p())),
        }
    }
}

impl Signs {
    /// Looks at each sign of a word; `None` where there is none.
    pub fn of(word: &[LetterShape]) -> Option<Self> {
        let model = MODEL.as_ref()?;
        let each: Vec<Sign> = word.iter().map(|shape| Sign::new(model, shape)).collect();
        let mut sums = Odds::default();
        for sign in &each {
            sums.add(&sign.reads);
        }
        let count = word.len() as f64;
        (count > 0.0).then(|| Self {
            each,
            means: PerOrientation(sums.0.map(|v| v / count)),
            count,
        })
    }

    /// What the signs of several words say of how all of them lie.
    pub(super) fn together<'a>(words: impl IntoIterator<Item = &'a Self>) -> Self {
        let (mut sums, mut count) = (Odds::default(), 0.0);
        for word in words {
            sums.add(&PerOrientation(word.means.0.map(|v| v * word.count)));
            count += word.count;
        }
        Self {
            each: Vec::new(),
            means: PerOrientation(sums.0.map(|v| v / count)),
            count,
        }
    }

    /// In which orientation they are most like letters.
    pub(super) fn likeliest(&self) -> Orientation {
        self.means.leader().0
    }

    /// Whether they read otherwise, and much better so than as `lies`.
    pub(super) fn are_rather_otherwise(&self, lies: Orientation) -> bool {
        let best = self.likeliest();
        self.means[best] >= READS && self.ahead(best, lies) >= WRONG
    }

    /// Whether the letters of a batch bear out that it lies as `lies`, and not as the zone wants it.
    pub(super) fn batch_bears_out(&self, lies: Orientation) -> bool {
        self.means[lies] >= BATCH && self.ahead(lies, Orientation::UPRIGHT) >= WRONG
    }

    /// How surely the sign at this place, in the frame of the word, is a letter: the probability by
    /// orientation of the word. `None` where there is no sign.
    pub(super) fn letter_at(&self, place: Point) -> Option<Odds> {
        let apart = |s: &&Sign| (s.bounds.center() - place).hypot2();
        let here = |s: &&Sign| s.bounds.inflate(AT, AT).contains(place);
        self.each
            .iter()
            .filter(here)
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))
            .map(|s| PerOrientation(s.reads.0.map(f64::exp)))
    }

    /// Those of a word that reads in this orientation, and in no other.
    #[cfg(test)]
    pub(super) fn surely(orientation: Orientation) -> Self {
        Self::rather_in(orientation, 0.0)
    }

    /// Those of a word that reads so well in this orientation, and in no other.
    #[cfg(test)]
    pub(super) fn rather_in(orientation: Orientation, mean: f64) -> Self {
        let mut means = PerOrientation([-ONE; 8]);
        means[orientation] = mean;
        Self {
            each: Vec::new(),
            means,
            count: 4.0,
        }
    }

    /// The same for a word that reads in a second orientation as well.
    #[cfg(test)]
    pub(super) fn also_in(mut self, orientation: Orientation, mean: f64) -> Self {
        self.means[orientation] = mean;
        self
    }

    /// The same for joined letters, which are one piece.
    #[cfg(test)]
    pub(super) fn in_one(mut self) -> Self {
        self.count = 1.0;
        self
    }

    /// Those of a row of shapes that are no letters.
    #[cfg(test)]
    pub(super) fn of_no_letters() -> Self {
        Self {
            each: Vec::new(),
            means: PerOrientation([-ONE; 8]),
            count: 4.0,
        }
    }

    /// Whether the word is Latin lettering, however it lies.
    pub fn lettering(&self) -> bool {
        self.means.most() >= LETTERING
    }

    /// The same where little else says that it is.
    pub(super) fn surely_lettering(&self) -> bool {
        self.means.most() >= SURELY
    }

    /// Natural log-odds of how the word lies: all nought where it is one piece.
    pub(super) fn odds(&self) -> Odds {
        let count = if self.in_one_piece() { 0.0 } else { self.count };
        PerOrientation(self.means.0.map(|v| v * count))
    }

    /// How much better the word reads in one orientation than in another, as natural logarithm.
    fn ahead(&self, lay: Orientation, of: Orientation) -> f64 {
        (self.means[lay] - self.means[of]) * self.count
    }

    /// Whether the word reads in both orientations, so that nothing in its letters tells one from the other:
    /// SOS half turned, TOM in a mirror.
    pub fn read_both(&self, a: Orientation, b: Orientation) -> bool {
        self.are_both(a, b) && self.ahead(a, b).abs() < APART
    }

    /// Whether they are letters in both orientations.
    fn are_both(&self, a: Orientation, b: Orientation) -> bool {
        let least = if self.count > 1.0 { READS } else { READS_ALONE };
        self.means[a].min(self.means[b]) >= least
    }

    /// Whether the letters say rather that a word lies as `lies` than as the zone wants it, though some may not be known.
    pub(super) fn rather(&self, lies: Orientation) -> bool {
        self.means[lies] >= READS && self.ahead(lies, Orientation::UPRIGHT) >= WRONG
    }

    /// Whether the letters, known or not, put `lies` first, and far before lying right.
    pub(super) fn put_first(&self, lies: Orientation) -> bool {
        self.likeliest() == lies && self.ahead(lies, Orientation::UPRIGHT) >= WRONG
    }

    /// Whether the letters speak against a word's lying as `lies`: they read both so and in a likely other way, or
    /// surely in some other, or they are more like letters as the zone wants them, though not like many.
    pub(super) fn deny(&self, lies: Orientation) -> bool {
        let (best, _) = self.means.leader();
        let otherwise = self.lettering() && self.ahead(best, lies) >= WRONG
            || self.ahead(Orientation::UPRIGHT, lies) >= WRONG;
        let likely = |o: &Orientation| o.quarters.is_multiple_of(2) && *o != lies;
        let mut rivals = Orientation::ALL.into_iter().filter(likely);
        otherwise || rivals.any(|o| self.read_both(lies, o))
    }

    /// Whether they leave it open that a word lies otherwise than as `lies`: they speak against that, or are letters in a
    /// likely other way too and not far better so. "tod" is "bot" in a mirror, and reads there nearly as well.
    pub(super) fn doubt(&self, lies: Orientation) -> bool {
        let likely = |o: &Orientation| o.quarters.is_multiple_of(2) && *o != lies;
        let both = |o: Orientation| self.are_both(lies, o) && self.ahead(lies, o) < WRONG;
        self.deny(lies) || Orientation::ALL.into_iter().filter(likely).any(both)
    }

    /// Whether they leave it open that a word lies right, of which all else says that it lies as `lies`.
    pub(super) fn leave_right_open(&self, lies: Orientation) -> bool {
        let right = Orientation::UPRIGHT;
        let both = self.are_both(lies, right) && self.ahead(lies, right) < WRONG;
        both || self.ahead(right, lies) >= WRONG
    }

    /// Whether the word is one piece: joined letters, which are no sign.
    pub(super) fn in_one_piece(&self) -> bool {
        self.count <= 1.0
    }

    /// Whether so many of the word's letters are joined that its pieces are no signs.
    pub(super) fn joined(&self, letters: usize) -> bool {
        self.in_one_piece() || self.count <= JOINED * letters as f64
    }

    /// Whether the letters bear out that a word lies as `lay`, and not as the zone wants it.
    pub fn bear_out(&self, lay: Orientation) -> bool {
        let upright = Orientation::UPRIGHT;
        if lay != upright {
            return self.means[lay] >= LETTERING && self.ahead(lay, upright) >= WRONG;
        }
        let likely = |l: &&Orientation| l.quarters.is_multiple_of(2) && **l != upright;
        let rivals = || Orientation::ALL.iter().filter(likely);
        self.means[upright] >= LETTERING
            && rivals().all(|l| self.ahead(upright, *l) > -APART && !self.read_both(upright, *l))
    }
}

/// Whether all signs of some ink, seen in its pocket's frame, are letters or digits both as it lies and
/// if it lay as `other`: then nothing in it tells which.
pub(crate) fn read_both(ink: &Region, other: Orientation) -> bool {
    let Some(bounds) = ink.bounds() else {
        return false;
    };
    let line = if bounds.width() >= bounds.height() || ink.rings.len() == 1 {
        Axis::Across
    } else {
        Axis::Down
    };
    let rings: Vec<Ring> = ink
        .rings
        .iter()
        .map(|ring| ring.iter().map(|p| [p.x, p.y]).collect())
        .collect();
    let word = letters(&rings, line);
    word.len() <= MOST_SIGNS
        && Signs::of(&word).is_some_and(|s| s.read_both(Orientation::UPRIGHT, other))
}

/// Natural log-odds that a sign is a letter, by orientation of its word. What is no number says that it is
/// none.
fn logits(model: &Model, sign: &LetterShape) -> Odds {
    let (lying, standing) = two_squares(sign);
    let scores = model.scores(lying, standing).0;
    PerOrientation(scores.map(|v| if v.is_finite() { v } else { -ONE }))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use kurbo::{Affine, BezPath};

    use super::*;

    /// A word of the face that the program carries, laid so.
    fn word(text: &str, lay: Orientation) -> Signs {
        struct Pen(BezPath);
        impl ttf_parser::OutlineBuilder for Pen {
            fn move_to(&mut self, x: f32, y: f32) {
                self.0.move_to((f64::from(x), f64::from(y)));
            }
            fn line_to(&mut self, x: f32, y: f32) {
                self.0.line_to((f64::from(x), f64::from(y)));
            }
            fn quad_to(&mut self, a: f32, b: f32, x: f32, y: f32) {
                let [a, b, x, y] = [a, b, x, y].map(f64::from);
                self.0.quad_to((a, b), (x, y));
            }
            fn curve_to(&mut self, a: f32, b: f32, c: f32, d: f32, x: f32, y: f32) {
                let [a, b, c, d, x, y] = [a, b, c, d, x, y].map(f64::from);
                self.0.curve_to((a, b), (c, d), (x, y));
            }
            fn close(&mut self) {
                self.0.close_path();
            }
        }
        let face = ttf_parser::Face::parse(epaint_default_fonts::HACK_REGULAR, 0).unwrap();
        let flip = Affine::scale_non_uniform(if lay.mirrored { -0.01 } else { 0.01 }, -0.01);
        let motion = Affine::rotate(std::f64::consts::FRAC_PI_2 * f64::from(lay.quarters)) * flip;
        let mut path = BezPath::new();
        let mut at = 0.0;
        for c in text.chars() {
            let id = face.glyph_index(c).unwrap();
            let mut pen = Pen(BezPath::new());
            face.outline_glyph(id, &mut pen);
            path.extend(
                (motion * Affine::translate((at, 0.0)) * pen.0)
                    .elements()
                    .iter()
                    .copied(),
            );
            at += f64::from(face.glyph_hor_advance(id).unwrap());
        }
        let rings: Vec<_> = Region::from_path(&path, false, 1e-3)
            .rings
            .iter()
            .map(|ring| ring.iter().map(|p: &Point| [p.x, p.y]).collect())
            .collect();
        let line = if lay.quarters.is_multiple_of(2) {
            Axis::Across
        } else {
            Axis::Down
        };
        Signs::of(&letters(&rings, line)).unwrap()
    }

    #[test]
    fn the_weights_are_whole() {
        assert!(MODEL.is_some());
    }

    #[test]
    fn a_word_reads_in_the_orientation_that_it_has() {
        for lay in Orientation::ALL {
            for text in ["Margaret", "Stefan", "REBECCA", "Kay"] {
                let signs = word(text, lay);
                assert!(signs.lettering(), "{text} {lay:?} {signs:?}");
                assert!(signs.bear_out(lay), "{text} {lay:?} {signs:?}");
            }
        }
    }

    #[test]
    fn a_string_of_signs_that_are_signs_again_bears_nothing_out() {
        let [upright, mirrored, _, _, half, _, _, _] = Orientation::ALL;
        for (text, other) in [
            ("SOS", half),
            ("NOON", half),
            ("pod", half),
            ("0690", half),
            ("TOM", mirrored),
            ("MIA", mirrored),
            ("AVA", mirrored),
        ] {
            for lay in [upright, other] {
                let signs = word(text, lay);
                assert!(signs.read_both(upright, other), "{text} {lay:?} {signs:?}");
                assert!(!signs.bear_out(upright), "{text} {lay:?} {signs:?}");
                assert!(!signs.bear_out(other), "{text} {lay:?} {signs:?}");
            }
        }
    }

    /// A 1 with a foot is told from one on its head, but may be taken for one.
    #[test]
    fn a_year_that_is_another_upside_down_is_never_told_wrongly() {
        let [upright, _, _, _, half, _, _, _] = Orientation::ALL;
        for (lay, wrong) in [(upright, half), (half, upright)] {
            let signs = word("1961", lay);
            assert!(!signs.bear_out(wrong), "{lay:?} {signs:?}");
        }
    }
}
