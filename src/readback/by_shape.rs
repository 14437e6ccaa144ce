//! Outlined lettering in a face that is not at hand, judged by the shapes of its letters.
//!
//! The network ([`super::letter_shape`]) says how a word lies, and whether it knows it for Latin lettering; shown a
//! bee, it may be wrong about either. So ink is judged by itself only if it is built like a word: at least three
//! parts in a row, of comparable height, not all the same shape. And an answer counts only where the odds are as
//! good as the measured thresholds ask ([`super::letter_verdict`]), and where its signs one by one
//! ([`super::signs`]), or the network, know it; silence says nothing.

use std::sync::LazyLock;

use kurbo::{Point, Rect};

use super::letter_raster::{Axis, LetterShape, Ring, letters};
use super::letter_shape::{Judged, Model};
use super::letter_verdict::{half_turned, orientation};
use super::orientation::{Lays, Odds, Orientation, PerOrientation, alone};
use super::pieces::{Piece, pieces};
use super::signs::Signs;
use super::twins::all_have_twins;
use crate::geometry::region::Region;

/// A word of outlined art, as far as its shapes tell how it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeWord {
    /// Natural log-odds of the eight ways it may lie.
    pub odds: Odds,
    /// Natural log-odds that it is Latin lettering at all, as the word's network sees it.
    pub known: f64,
    /// Its box on the bed.
    pub bounds: Rect,
    /// How many parts in a row it has: letters, mostly.
    pub letters: usize,
    /// Whether it is built like a word. What is not is only heard among its siblings, and only with
    /// letters that it shares with them.
    pub built: bool,
    /// What its signs are, one by one.
    pub signs: Option<Signs>,
    /// Whether it may be a word of another script, seen in a mirror.
    pub twin: bool,
    /// Its ink, in the frame of the pocket.
    pub(super) ink: Region,
}

/// The trained weights; see `tests/training/`.
static MODEL: LazyLock<Option<Model>> =
    LazyLock::new(|| Model::from_bytes(include_bytes!("letter_shape.weights")));

/// One word at two places: its natural log-odds differ by less, as coordinates are rounded. Higher, and two words are one;
/// lower, and one is two.
const ONE_WORD: f64 = 0.3;

/// The least natural log-odds at which the network knows a word for Latin lettering: 96 in 100 names in faces not
/// learnt from have it (94 drawn as lines), and of words in scripts not learnt from none to 6 in 100, in Armenian and Georgian
/// faces with serifs 16 and 14.
const KNOWN: f64 = 2.5;

/// The same for a word whose signs are no letters, where those of its batch are: hooks among names came to 2.8, and one of
/// 100 names that lie right is below. Higher, and more names with letters that the signs do not know stay open.
const KNOWN_AMONG_LETTERS: f64 = 3.5;

/// The same for a word none of whose letters is another word's: hooks among names came to 6.9. And for a batch of one or two
/// words, again and again: of 2,418 words in scripts not learnt from 7 have it.
const KNOWN_UNLIKE: f64 = 8.0;

/// Ornate lettering is known in half of its words; but it stands upright in the network's eyes word after word, and another
/// script does not. So a batch is known if the natural log-odds by which its words stand upright, each counted up to
/// [`COUNTED`] and the lowest left out, since one may lie wrong, add up to this many times the root of their number, and if
/// their mean log-odds to be Latin lettering, likewise, are so many. Of 200 batches of scripts not learnt from none came to
/// 4.3 with a mean of 2, nor to a mean of 1 with 7.2; of 4,000 drawn from these that were half as large, none to both. Lower, and
/// a batch in another script is judged; higher, and blackletter stays open.
const UPRIGHT_TOGETHER: f64 = 10.0;
const KNOWN_TOGETHER: f64 = 2.0;
const COUNTED: f64 = 8.0;

/// Fewer words do not show that.
const TOGETHER: usize = 6;

/// A word whose letters are letters again in another orientation is told all the same where its network puts one so far
/// before all others, in natural log-odds, and knows it as well as a word that has no other's letters: letters that a hatch
/// or a swash hides are read either way. Of 6,000 names in faces not learnt from none that lay right came to 4 otherwise;
/// hooks among names came to 8.8, known by 4.2.
const READS_ONE_WAY: f64 = 8.0;

/// Fewest parts in a row for a word to be looked at.
const FEWEST: usize = 3;

/// Fewest for it to be judged by itself: shorter ones, and what is not built like a word, are only heard among their
/// siblings, unless they are as far beyond doubt as [`READS_ONE_WAY`] asks.
const FEWEST_ALONE: usize = 4;

/// Most parts in a row: longer lines are traced art, or take long and add nothing.
const MOST: usize = 40;

/// What has more rings is traced art, and is not looked at.
const MOST_RINGS: usize = 4 * MOST;

/// How many times higher the highest part may be than the middle one: a capital over small letters
/// is about 1.5 times as high, one with an accent twice, an f of a script with small bodies nearly four times
/// (common practice, no source). Lower, and single-line script is no word.
const HEIGHTS: f64 = 4.0;

/// A word is at least this many times as long as high.
const LONG: f64 = 1.3;

/// So many pockets must hold what is built like a word for the rest to be taken for one too.
pub(super) const WORDS_ENOUGH: usize = 3;

/// What is to be a word among words is at least this many times as long as high: "il" in a narrow face.
const LONG_AMONG_WORDS: f64 = 0.6;

/// A letter is longer than its word is high by no more than this share (common practice, no source). More, and a joined
/// name of three letters is too short to be a word; less, and two letters are three.
const WIDER: f64 = 0.3;

/// Different shapes that a word must have: four equal leaves are a garland. One of three letters may
/// have two (Eve).
const DIFFERENT: usize = 3;

/// Looks at the ink of one pocket; `None` where it is not built like a word.
pub fn look(ink: &Region) -> Option<ShapeWord> {
    look_at(ink, &pieces(ink), &[], &Region::default())
}

/// As [`look`], with the pieces of the ink already at hand, and its letters as they were drawn, and the
/// subpaths of those: of script that is joined, they show that it is a word.
pub(super) fn look_at(
    ink: &Region,
    parts: &[Piece],
    drawn: &[Piece],
    subpaths: &Region,
) -> Option<ShapeWord> {
    let bounds = ink.bounds()?;
    let line = if bounds.width() >= bounds.height() {
        Axis::Across
    } else {
        Axis::Down
    };
    let (long, high) = extent(bounds, line);
    let word = letters(&rings(ink), line);
    let (parts, count) = if word.len() < FEWEST && drawn.len() > word.len() {
        (drawn, drawn.len())
    } else {
        (parts, word.len())
    };
    if !(FEWEST..=MOST).contains(&count) || long < LONG * high || !like_letters(parts, line) {
        return None;
    }
    let judged = told(MODEL.as_ref()?.judge(&word), &word, ink, count, true)?;
    if drawn.len() <= word.len() {
        return Some(judged);
    }
    // Letters that touch are one sign of the ink, and signs of their own as they were drawn. Of what was drawn as
    // lines along its outline, there are no subpaths.
    let apart = letters(&rings(subpaths), line);
    let Some(signs) = Signs::of(&apart) else {
        return Some(judged);
    };
    Some(ShapeWord {
        signs: Some(signs),
        twin: all_have_twins(&apart),
        ..judged
    })
}

/// As [`look`], for ink that is not built like a word in a batch of others that are: script whose
/// letters are joined, a short name in a narrow face, letters of many bits. It is built like one if the network knows it.
pub(super) fn look_among_words(ink: &Region) -> Option<ShapeWord> {
    let bounds = ink.bounds()?;
    let rings = rings(ink);
    if rings.len() > MOST_RINGS {
        return None;
    }
    // Its line is not told by its box ("il" in a narrow face), but by how it lies.
    let judged = MODEL.as_ref()?.judge(&[LetterShape {
        rings: rings.clone(),
    }]);
    let line = if judged.odds.leader().0.quarters.is_multiple_of(2) {
        Axis::Across
    } else {
        Axis::Down
    };
    let (long, high) = extent(bounds, line);
    let word = letters(&rings, line);
    if long < LONG_AMONG_WORDS * high || word.len() > MOST {
        return None;
    }
    let least = (long / high - WIDER).ceil().clamp(1.0, MOST as f64) as usize;
    let seen = told(judged, &word, ink, word.len().max(least), false)?;
    Some(ShapeWord {
        built: seen.is_known() && seen.letters >= FEWEST,
        ..seen
    })
}

/// Whether ink is as long as a word, on whichever line.
pub(super) fn is_long(ink: &Region) -> bool {
    ink.bounds().is_some_and(|b| {
        let (a, b) = (b.width(), b.height());
        a.max(b) >= LONG * a.min(b)
    })
}

/// What the network knows counts only where it knows three words of a batch, and three in four, or the batch as a whole: a
/// script that resembles Latin is known for it in a word here and there. A word that comes again counts once; of fewer than
/// three each must be known so much better. Where it counts, and signs are letters throughout, a word whose own signs are
/// hardly such must be known so much better, or is none: hooks among names.
pub(super) fn hear_batch<'a>(words: impl IntoIterator<Item = &'a mut ShapeWord>) {
    let words: Vec<&mut ShapeWord> = words.into_iter().collect();
    let different = different(words.iter().map(|w| &**w));
    let known = |least| different.iter().filter(|w| w.known >= least).count();
    let enough = if different.len() < WORDS_ENOUGH {
        words.len() >= WORDS_ENOUGH && known(KNOWN_UNLIKE) == different.len()
    } else {
        known(KNOWN) >= WORDS_ENOUGH && 4 * known(KNOWN) >= 3 * different.len()
    };
    let enough = enough || known_together(&different);
    let letters = Signs::together(words.iter().filter_map(|w| w.signs.as_ref())).lettering();
    for word in words {
        if !enough {
            word.known = word.known.min(0.0);
        } else if letters && !word.is_one_among_letters() {
            word.known = f64::NEG_INFINITY;
        }
    }
}

/// Each word once: twelve times one that the network misreads is one mistake.
pub(super) fn different<'w>(words: impl IntoIterator<Item = &'w ShapeWord>) -> Vec<&'w ShapeWord> {
    let mut out: Vec<&ShapeWord> = Vec::new();
    for word in words {
        if !out.iter().any(|one| one.is_as(word)) {
            out.push(word);
        }
    }
    out
}

/// Whether words, of which not most are known, are Latin lettering that stands upright as a whole.
fn known_together(words: &[&ShapeWord]) -> bool {
    let all_but_lowest = |mut figures: Vec<f64>| -> f64 {
        figures.sort_by(f64::total_cmp);
        figures.iter().skip(1).sum()
    };
    let upright = |w: &&ShapeWord| {
        let (best, ahead) = w.odds.leader();
        let ahead = ahead.min(COUNTED);
        if best == UPRIGHT { ahead } else { -ahead }
    };
    let known = |w: &&ShapeWord| w.known.clamp(-COUNTED, COUNTED);
    let others = words.len().saturating_sub(1) as f64;
    words.len() >= TOGETHER
        && all_but_lowest(words.iter().map(upright).collect()) >= UPRIGHT_TOGETHER * others.sqrt()
        && all_but_lowest(words.iter().map(known).collect()) >= KNOWN_TOGETHER * others
}

fn told(
    judged: Judged,
    word: &[LetterShape],
    ink: &Region,
    letters: usize,
    built: bool,
) -> Option<ShapeWord> {
    let bounds = ink.bounds()?;
    let Judged { odds, known } = judged;
    odds.0.iter().all(|o| o.is_finite()).then(|| ShapeWord {
        odds,
        known,
        bounds,
        letters,
        built,
        signs: Signs::of(word),
        twin: all_have_twins(word),
        ink: ink.clone(),
    })
}

fn rings(ink: &Region) -> Vec<Ring> {
    ink.rings
        .iter()
        .map(|ring| ring.iter().map(|p: &Point| [p.x, p.y]).collect())
        .collect()
}

/// Length along a line, and height across it.
fn extent(bounds: Rect, line: Axis) -> (f64, f64) {
    match line {
        Axis::Across => (bounds.width(), bounds.height()),
        Axis::Down => (bounds.height(), bounds.width()),
    }
}

/// Whether parts have the heights and the variety of letters.
fn like_letters(parts: &[Piece], line: Axis) -> bool {
    let height = |p: &Piece| {
        if line == Axis::Across {
            p.bounds.height()
        } else {
            p.bounds.width()
        }
    };
    let mut heights: Vec<f64> = parts.iter().map(height).collect();
    heights.sort_by(f64::total_cmp);
    let (Some(middle), Some(highest)) = (heights.get(heights.len() / 2), heights.last()) else {
        return false;
    };
    let mut kinds: Vec<&Piece> = Vec::new();
    for part in parts {
        let known = kinds.iter().any(|k| {
            k.holes == part.holes
                && k.signature
                    .iter()
                    .zip(&part.signature)
                    .all(|(a, b)| (a - b).abs() < 0.03)
        });
        if !known {
            kinds.push(part);
        }
    }
    *highest <= HEIGHTS * middle && kinds.len() >= DIFFERENT.min(parts.len() - 1)
}

impl ShapeWord {
    /// How the word lies by itself, if its shapes tell: among all eight ways, or, where it can only
    /// lie upright or half turned on its line, between those two.
    pub fn lies(&self) -> Option<Orientation> {
        let odds = self.odds_of_slips();
        let told = if !self.built || self.letters < FEWEST_ALONE {
            self.reads_one_way().then_some(odds.leader().0)
        } else if self.joined() {
            orientation(&odds)
        } else {
            orientation(&odds).or_else(|| {
                let of_two = if half_turned(&odds)? {
                    Orientation::HALF_TURNED
                } else {
                    UPRIGHT
                };
                // Only where no other way is more likely than the better of the two.
                (odds[of_two] >= odds.most()).then_some(of_two)
            })
        };
        told.filter(|l| self.bears_out(*l))
    }

    /// The odds by which one slip is likelier than two. Of a word that is likeliest to lie right no slip is less likely for
    /// that: one that is flipped about its line must not pass.
    fn odds_of_slips(&self) -> Odds {
        let odds = self.odds.one_slip_rather_than_two();
        if odds.leader().0 == UPRIGHT {
            self.odds
        } else {
            odds
        }
    }

    /// Whether its letters are joined, so that its pieces say nothing: a welded name looks like some letter by chance.
    fn joined(&self) -> bool {
        self.signs.as_ref().is_some_and(|s| s.joined(self.letters))
    }

    /// Whether the word is lettering that lies so: by its signs one by one, or as a whole where those, joined or
    /// hatched, are not known.
    fn bears_out(&self, lies: Orientation) -> bool {
        if self.joined() {
            return self.is_known();
        }
        let by_signs = |s: &Signs| s.bear_out(lies) || self.is_known() && !s.doubt(lies);
        self.may_be_known() && self.signs.as_ref().is_some_and(by_signs)
    }

    /// Whether its signs bear out that it lies wrong, of which all else says so: they say it too, or do not speak against
    /// it where it is known, or are no signs.
    pub(super) fn may_lie_wrong(&self, lies: Orientation) -> bool {
        // Joined letters are letters by chance.
        let joined = self.letters < FEWEST && orientation(&self.odds) == Some(lies);
        let known = |s: &Signs| self.is_known() && (joined || !s.leave_right_open(lies));
        let by_signs = |s: &Signs| s.in_one_piece() || s.rather(lies) || known(s);
        self.signs.as_ref().is_some_and(by_signs)
    }

    /// The network's odds, as far as it is asked: even where it does not know the word.
    pub(super) fn heard(&self) -> Odds {
        if self.may_be_known() {
            self.odds
        } else {
            Odds::default()
        }
    }

    /// A word of so many letters that lies so, as surely as that, and whose signs say the same.
    #[cfg(test)]
    pub(super) fn lying(lies: Orientation, sure: f64, letters: usize) -> Self {
        let mut odds = PerOrientation([-sure; 8]);
        odds[lies] = 0.0;
        Self {
            odds,
            known: 0.0,
            bounds: Rect::new(0.0, 0.0, 9.0, 3.0),
            letters,
            built: true,
            signs: Some(Signs::surely(lies)),
            twin: false,
            ink: Region::default(),
        }
    }

    /// What the network and its signs say together, even where neither knows it.
    pub(super) fn network_and_signs(&self) -> Odds {
        let signs = self.signs.as_ref().map(Signs::odds).unwrap_or_default();
        PerOrientation::each(|o| self.odds[o] + signs[o])
    }

    /// Whether the network rather knows it than not: else it is another script, or shapes, whatever single signs of
    /// it look like.
    pub(super) fn may_be_known(&self) -> bool {
        self.known >= 0.0
    }

    /// Whether it is the same word as another, lying the same way, as far as the network can see.
    fn is_as(&self, other: &Self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < ONE_WORD;
        near(self.known, other.known)
            && Orientation::ALL
                .into_iter()
                .all(|o| near(self.odds[o], other.odds[o]))
    }

    /// Whether the network knows it for Latin lettering.
    pub(super) fn is_known(&self) -> bool {
        self.known >= KNOWN
    }

    /// Whether it is lettering among words whose signs are letters: the less its own are, the better it must be known.
    fn is_one_among_letters(&self) -> bool {
        let least = match &self.signs {
            Some(signs) if signs.surely_lettering() => return true,
            Some(signs) if signs.lettering() => KNOWN,
            _ => KNOWN_AMONG_LETTERS,
        };
        self.known >= least
    }

    /// Whether it is lettering though none of its letters is another word's: its signs surely are, or are none, as joined
    /// ones, or the network knows it well.
    pub(super) fn surely_lettering(&self) -> bool {
        let by_signs = self.signs.as_ref().is_none_or(Signs::surely_lettering);
        self.known >= KNOWN_UNLIKE || self.joined() || by_signs
    }

    /// Whether all its letters are letters again in another orientation, so that it says nothing of itself.
    pub(super) fn reads_again(&self, turn: Orientation) -> bool {
        self.signs
            .as_ref()
            .is_some_and(|s| s.read_both(UPRIGHT, turn))
    }

    /// Whether the word as a whole tells which of two readings is the one that is meant.
    pub(super) fn reads_one_way(&self) -> bool {
        let (_, ahead) = self.odds_of_slips().leader();
        ahead >= READS_ONE_WAY && self.known >= KNOWN_UNLIKE
    }

    /// The orientations in which it reads again, or may: all where its letters cannot be told apart.
    pub(super) fn again(&self) -> Lays {
        if self.signs.is_none() {
            return Lays::MAX;
        }
        let others = Orientation::ALL.into_iter().filter(|l| *l != UPRIGHT);
        others
            .filter(|l| self.reads_again(*l))
            .fold(0, |all, l| all | alone(l))
    }

    /// Whether it is Latin lettering, as far as its letters can be told apart.
    pub(super) fn lettering(&self) -> bool {
        let by_signs = || self.signs.as_ref().is_some_and(Signs::lettering);
        self.may_be_known() && (self.is_known() || by_signs())
    }
}

const UPRIGHT: Orientation = Orientation::UPRIGHT;

#[cfg(test)]
mod tests;
