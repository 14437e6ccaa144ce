//! The lettering of a pocket as strings of letters: live ones as the file has them, outlined ones as far
//! as their outlines stand in a row like letters. Needs no face.

use kurbo::{Affine, Point, Rect, Shape as _};

use super::Job;
use super::pocket_text::letters_in;
use super::text_line::reading_direction;
use crate::artwork::ink::INK_TOLERANCE;
use crate::artwork::mark::{Content, Letter, Operation, Role};
use crate::fixture::Pocket;
use crate::geometry::flatten::polylines;
use crate::geometry::region::{Region, winding};
use crate::ids::{MarkId, PocketId};
use crate::readback::lines::telling;
use crate::readback::{MOST_PIECES, ReadWord, by_shape, in_frame};

mod rows;

use self::rows::{box_of, outlines_near, rows};

/// Letters that follow each other.
#[derive(Debug, Clone)]
pub(crate) struct LetterString {
    /// What it says, where it is live.
    pub text: Option<String>,
    /// The marks that it is made of.
    pub marks: Vec<MarkId>,
    /// Its letters, those with a body between baseline and top.
    pub letters: Vec<LetterBody>,
    /// Its box on the bed.
    pub bounds: Rect,
    /// The outlines of each letter as someone sees them who looks at the pocket the right way.
    rings: Vec<Vec<Vec<Point>>>,
}

/// A letter's box from the baseline to its top: tails below do not count, so that a line set close
/// below another does not lie on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LetterBody {
    /// Its corners as someone sees them who looks at the pocket the right way.
    pub corners: [Point; 4],
    /// Along the line, in millimetres.
    pub width: f64,
    /// Up from the baseline, in millimetres.
    pub height: f64,
}

/// Most outlines of a pocket that are looked at: as many as are read back. Beyond, only those about
/// live lettering are, and `way-up-unknown` says that nothing is known of the pocket's outlined art.
pub(crate) const MOST_OUTLINES: usize = MOST_PIECES;

/// An outlined string of fewer letters is told from any other art only where a face at hand has it.
const FEWEST: usize = 3;

/// A letter lies on another string where so much of its place does. Less, and letters that only touch count;
/// more, and of two names half a letter apart none would lie on the other.
const LIES_ON: f64 = 0.1;

/// A letter with a swash lies on so many of its neighbours.
const JOINT: usize = 2;

/// Outlines whose sides differ by no more than this share of the height are the dots of one pattern.
const ALIKE: f64 = 0.05;

/// A letter is at least this many ems high: small letters have half an em, dots and hyphens a tenth.
const LETTER_HIGH: f64 = 0.3;

/// How much the letters of an outline round letters, or of their shadow, may differ from them in size
/// beyond what all of them do, as a share of the height.
const SAME_LETTERS: f64 = 0.08;

/// Two letters have one shape where each keeps within this share of the height of the other: letters of
/// one face drawn by two programs differ by less, 0 and 8 or 4 and 5 by more.
const SAME_SHAPE: f64 = 0.03;

/// So much of a letter may lie outside all the same, as a share of its ink: corners are rounded where a
/// line is drawn round letters.
const ROUNDED_OFF: f64 = 0.06;

impl LetterString {
    /// Height of its tallest letter, in millimetres.
    pub(crate) fn height(&self) -> f64 {
        self.letters.iter().map(|l| l.height).fold(0.0, f64::max)
    }

    /// The bodies of its letters together.
    pub(crate) fn body(&self) -> Region {
        Region::union_of(self.letters.iter().map(|l| l.corners.to_vec()))
    }

    /// Whether it is lettering: live, built like a word, or read back in a face at hand.
    pub(crate) fn told(&self, words: &[ReadWord]) -> bool {
        if self.text.is_some() {
            return true;
        }
        let outlines = self.rings.iter().flatten().cloned();
        self.rings.len() >= FEWEST && by_shape::look(&Region::from_rings(outlines, true)).is_some()
            || self.read_back(words)
    }

    /// Whether it is part of a word that was read back in a face at hand, and no dot or accent of it.
    fn read_back(&self, words: &[ReadWord]) -> bool {
        words
            .iter()
            .any(|w| telling(&w.text) > 0 && self.part_of(w))
    }

    /// Whether it is part of a word that was read back, and no dot or accent of it.
    pub(crate) fn part_of(&self, word: &ReadWord) -> bool {
        let reach = word.bounds.inflate(INK_TOLERANCE, INK_TOLERANCE);
        reach.contains_rect(self.bounds) && self.height() >= LETTER_HIGH * word.size
    }

    /// How far its middle lies from that of another, in millimetres.
    pub(crate) fn apart(&self, other: &Self) -> f64 {
        self.bounds.center().distance(other.bounds.center())
    }

    /// Whether all its outlines are of one size, as those of a pattern are.
    pub(crate) fn all_alike(&self) -> bool {
        let most = ALIKE * self.height();
        let range = |of: fn(&LetterBody) -> f64| {
            let all = self.letters.iter().map(of);
            let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
                (a.min(v), b.max(v))
            });
            high - low
        };
        range(|l| l.width) <= most && range(|l| l.height) <= most
    }

    /// Which of its letters lie on those of another.
    pub(crate) fn letters_on(&self, other: &Self) -> Vec<usize> {
        let all = other.body();
        let lies_on = |l: &LetterBody| {
            let own = Region::union_of([l.corners.to_vec()]);
            own.intersect(&all).area() > LIES_ON * own.area()
        };
        let which = self.letters.iter().enumerate();
        which.filter(|(_, l)| lies_on(l)).map(|(i, _)| i).collect()
    }

    /// Whether it is outlined and `next` the rest of its word: the row was broken where one letter lies on the
    /// next, and only there do they lie on each other.
    pub(crate) fn goes_on_in(&self, next: &Self) -> bool {
        let outlined = self.text.is_none() && next.text.is_none();
        let words = self.letters.len().min(next.letters.len()) > 1;
        let by_letters = |s: &Self| s.marks.len() == s.letters.len();
        let one_object = self.marks.last() == next.marks.first();
        if !outlined || !words || !(one_object || by_letters(self) && by_letters(next)) {
            return false;
        }
        self.joint(next).is_some_and(|(a, b)| a.min(b) <= 1)
    }

    /// How many of its letters lie on another and of the other's on it, where those are its last and the other's first.
    fn joint(&self, next: &Self) -> Option<(usize, usize)> {
        let (ends, starts) = (self.letters_on(next), next.letters_on(self));
        let last = self.letters.len().saturating_sub(JOINT);
        let so = ends.iter().all(|i| *i >= last) && starts.iter().all(|i| *i < JOINT);
        so.then_some((ends.len(), starts.len()))
    }

    /// Whether all its letters are letters of others near their places, or lines round them: a row of lines
    /// is broken where they lie on each other.
    pub(crate) fn drawn_again_in<'s>(
        &self,
        others: impl Iterator<Item = &'s Self>,
        near: f64,
    ) -> bool {
        let middle = |rings: &[Vec<Point>]| {
            let all = rings.iter().map(|r| box_of(r)).reduce(|a, b| a.union(b));
            all.unwrap_or_default().center()
        };
        let places: Vec<(Point, f64, &Vec<Vec<Point>>)> = others
            .flat_map(|o| o.rings.iter().map(|r| (middle(r), o.height(), r)))
            .collect();
        let again = |own: &Vec<Vec<Point>>| {
            let at = middle(own);
            let nearest = places
                .iter()
                .min_by(|a, b| a.0.distance(at).total_cmp(&b.0.distance(at)));
            nearest.is_some_and(|(place, height, rings)| {
                place.distance(at) <= near && same_shape(own, rings, self.height().min(*height))
            })
        };
        self.text.is_none() && self.rings.iter().all(again)
    }

    /// Which of its outlines go round a whole letter of another: a plate, or a line round letters.
    pub(crate) fn round(&self, other: &Self) -> Vec<usize> {
        if self.text.is_some() {
            return Vec::new();
        }
        let round = |own: &[Vec<Point>]| {
            let outer = own.first()?;
            let place = box_of(outer);
            let inside = |p: &Point| winding(outer, *p) != 0;
            other.rings.iter().find(|letter| {
                let mut all = letter.iter().flatten();
                all.clone().next().is_some() && all.all(|p| place.contains(*p) && inside(p))
            })
        };
        let which = self.rings.iter().enumerate();
        which.filter_map(|(i, own)| round(own).map(|_| i)).collect()
    }

    /// Whether it has the letters of another, in one size or all of one a little larger: a shadow, or a
    /// line round them.
    pub(crate) fn same_letters(&self, other: &Self) -> bool {
        if self.letters.len() != other.letters.len() {
            return false;
        }
        if let (Some(one), Some(two)) = (&self.text, &other.text) {
            return one == two;
        }
        let height = self.height().min(other.height());
        let spread = |of: fn(&LetterBody) -> f64| {
            let wider = self
                .letters
                .iter()
                .zip(&other.letters)
                .map(|(a, b)| of(a) - of(b));
            let range = wider.fold((f64::INFINITY, f64::NEG_INFINITY), |r, w| {
                (r.0.min(w), r.1.max(w))
            });
            range.1 - range.0
        };
        spread(|l| l.width) <= SAME_LETTERS * height
            && spread(|l| l.height) <= 2.0 * SAME_LETTERS * height
            && self
                .rings
                .iter()
                .zip(&other.rings)
                .all(|(a, b)| same_shape(a, b, height))
    }
}

/// Whether one letter is another, or the line drawn round it at some distance.
fn same_shape(a: &[Vec<Point>], b: &[Vec<Point>], height: f64) -> bool {
    let middled = |rings: &[Vec<Point>]| {
        let middle = rings.iter().map(|r| box_of(r)).reduce(|x, y| x.union(y));
        let middle = middle.unwrap_or_default().center().to_vec2();
        let rings = rings
            .iter()
            .map(|ring| ring.iter().map(|p| *p - middle).collect());
        Region::from_rings(rings, true)
    };
    let (a, b) = (middled(a), middled(b));
    let (mut small, large) = if a.area() <= b.area() { (a, b) } else { (b, a) };
    if large.rings.len() == 1 {
        // The line round a letter leaves its holes out.
        small = Region::union_of(small.rings);
    }
    let size = |r: &Region| r.bounds().unwrap_or_default().size();
    let more = size(&large) - size(&small);
    let slack = SAME_SHAPE * height;
    let grown = more.width.max(more.height).max(0.0) / 2.0 + slack;
    let outside = |one: &Region, other: &Region, by: f64| {
        one.subtract(&other.grown(by, INK_TOLERANCE)).area() <= ROUNDED_OFF * one.area()
    };
    outside(&small, &large, slack) && outside(&large, &small, grown)
}

/// The lettering of one pocket.
#[derive(Debug, Default)]
pub(crate) struct Strings {
    /// The strings, in the order of the file.
    pub all: Vec<LetterString>,
    /// Rows of outlines that are too short to be told from other art.
    pub short: Vec<LetterString>,
    /// Whether there are more outlines than are looked at.
    pub too_many: bool,
}

impl Strings {
    /// Whether an outlined string and the next are parts of one word that was read back in a face at hand, where there
    /// are no more letters than it has, and no other word. The letters of script lie on each other by any share.
    pub(crate) fn one_word(
        &self,
        words: &[ReadWord],
        one: &LetterString,
        next: &LetterString,
    ) -> bool {
        let read = |word: &ReadWord| {
            let place = word.bounds.inflate(INK_TOLERANCE, INK_TOLERANCE);
            let inside = |s: &LetterString| s.text.is_none() && place.contains_rect(s.bounds);
            let all = self.all.iter().chain(&self.short).filter(|s| inside(s));
            let high = |l: &&LetterBody| l.height >= LETTER_HIGH * word.size;
            let letters = all.flat_map(|s| &s.letters).filter(high).count();
            let other =
                |w: &ReadWord| w != word && telling(&w.text) > 0 && w.bounds.overlaps(word.bounds);
            inside(one) && inside(next) && letters <= word.letters && !words.iter().any(other)
        };
        words.iter().any(read) && one.joint(next).is_some()
    }
}

/// The strings of one pocket.
pub(crate) fn strings(job: &Job<'_>, number: PocketId) -> Strings {
    let pocket = &job.pockets[number];
    let mut out = Vec::new();
    let mut shapes = Vec::new();
    for art in job.art_in(number).iter().map(|i| &job.art[*i]) {
        let mark = job.mark(art.mark);
        if job.operation(art.mark) == Operation::Cut {
            continue;
        }
        match (&mark.content, &mark.role) {
            (Content::Lettering(lettering), _) => {
                let letters = letters_in(lettering, art);
                let (bodies, rings) = letters.iter().filter_map(|l| live(l, pocket)).unzip();
                out.push(LetterString {
                    // The letters alone would lose the spaces between words.
                    text: Some(if letters.len() == lettering.letters.len() {
                        lettering.text.clone()
                    } else {
                        letters.iter().map(|l| l.text.as_str()).collect()
                    }),
                    marks: vec![art.mark],
                    letters: bodies,
                    bounds: art.bounds(),
                    rings,
                });
            }
            (Content::Shape, Role::Fill { .. } | Role::Stroke(_)) => shapes.push((art, mark)),
            _ => {}
        }
    }
    let mut outlines = outlines_near(&shapes, None, pocket);
    let too_many = outlines.len() > MOST_OUTLINES;
    let mut short = Vec::new();
    if too_many {
        // A name is often longer than the one over it.
        let about = |b: Rect| b.inflate(b.width().max(b.height()) / 2.0, b.height());
        let live: Vec<Rect> = (out.iter())
            .map(|s: &LetterString| about(s.bounds))
            .collect();
        outlines = outlines_near(&shapes, Some(&live), pocket);
    }
    if outlines.len() <= MOST_OUTLINES {
        let words = &job.read[number].words;
        let known = |s: &LetterString| s.letters.len() >= FEWEST || s.read_back(words);
        let (known, rest): (Vec<_>, Vec<_>) = rows(outlines).into_iter().partition(known);
        out.extend(known);
        short = rest;
    }
    out.sort_by_key(|string| string.marks.first().copied());
    Strings {
        all: out,
        short,
        too_many,
    }
}

/// The body and the outlines of a live letter; `None` for one that has no body, a comma say.
fn live(letter: &Letter, pocket: &Pocket) -> Option<(LetterBody, Vec<Vec<Point>>)> {
    let (up, right) = (letter.up, reading_direction(letter.up, letter.mirrored));
    // From the bed to along and up from the letter's foot.
    let own = Affine::new([right.x, up.x, right.y, up.y, 0.0, 0.0])
        * Affine::translate(-letter.foot.to_vec2());
    let ink = (own * &letter.path).bounding_box();
    let top = if letter.cap_height > 0.0 {
        ink.y1.min(letter.cap_height)
    } else {
        ink.y1
    };
    let body = body(Rect::new(ink.x0, ink.y0.max(0.0), ink.x1, top))?;
    let on_bed = body.corners.map(|p| letter.foot + p.x * right + p.y * up);
    let seen = in_frame(
        &Region {
            rings: vec![on_bed.to_vec()],
        },
        pocket,
    );
    let corners = <[Point; 4]>::try_from(seen.rings.into_iter().next()?).ok()?;
    let rings = polylines(&letter.path, INK_TOLERANCE)
        .into_iter()
        .map(|line| line.points)
        .collect();
    let outlines = in_frame(&Region { rings }, pocket).rings;
    Some((LetterBody { corners, ..body }, outlines))
}

/// A body from its box.
fn body(own: Rect) -> Option<LetterBody> {
    (own.x1 > own.x0 && own.y1 > own.y0).then(|| LetterBody {
        corners: [
            (own.x0, own.y0),
            (own.x1, own.y0),
            (own.x1, own.y1),
            (own.x0, own.y1),
        ]
        .map(Point::from),
        width: own.width(),
        height: own.height(),
    })
}
