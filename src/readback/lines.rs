//! Hits that share face, size, turn and baseline make a line of lettering.

use std::collections::{BTreeMap, BTreeSet};

use kurbo::{Point, Rect, Vec2};

use super::glyphs::{Glyph, Index, Script};
use super::pieces::Piece;
use super::spectrum::Laid;
use super::{ReadWord, Reading};
use crate::abandon::spend;
use crate::ids::At;

/// What may be left over between a glyph's outline and a piece, as a share of its size. Different
/// letters of one face differ by ten times this; a letter flattened or rounded to 0.01 mm by less.
const LEFT_OVER: f64 = 0.012;

/// As [`LEFT_OVER`] for dots and accents, which are small and so rounded more.
const DOT_LEFT_OVER: f64 = 0.06;

/// What looks the same to a person: a word is undecidable where another way up leaves over no more
/// than this.
const LOOKS_THE_SAME: f64 = 0.04;

/// How far the turn of letters of one line may differ, in degrees.
const SAME_TURN: f64 = 2.0;

/// How far their sizes may differ, as a share.
const SAME_SIZE: f64 = 0.02;

/// How far their baselines may differ, in ems.
const SAME_BASELINE: f64 = 0.04;

/// A dot or accent is looked for this far from where the glyph has it, in ems.
const DOT_REACH: f64 = 0.04;

/// A gap wider than this, in ems, is a space.
const SPACE: f64 = 0.14;

/// Unread ink this near to a word, in ems along its line, may be a letter of it.
pub(crate) const NEAR: f64 = 0.6;

/// Unread ink this near above or below it, in ems, may be an accent of it, or the letter under a dot.
pub(crate) const ABOVE: f64 = 0.25;

/// Unread pieces smaller than this share of the ink are no letters, nor dots of them.
const SPECK: f64 = 1e-3;

/// So many different letters of one face in one line are no chance, whatever stands unread beside them;
/// fewer are, where the face is not at hand: plain faces share their stems, and a J is an l in a mirror.
pub(crate) const NO_CHANCE: usize = 3;

/// Where this share of all ink was read, what is unread is a letter that touches its neighbour, and not
/// another face.
const MOST_READ: f64 = 0.5;

/// So many lines of bars and rings alone, one after the other, are no lettering but a pattern, and what is
/// left explains even less: the longest lines come first. Rows of squares have hundreds.
const BARS_IN_TURN: usize = 12;

/// To lay a piece on the glyphs that it could be takes as long as so many steps of work.
const STEPS_OF_A_PIECE: usize = 400;

/// So many hits, and none of a letter that has a shape of its own, are rows of bars, dots and squares.
/// Each of them agrees with each other one, which takes seconds to find.
const PATTERN: usize = 4_000;

/// Pieces whose hits are tried as the seed of a line; one good letter is enough to find its line.
const SEEDS: usize = 40;

/// A glyph that a piece could be.
#[derive(Debug, Clone)]
struct Hit {
    piece: usize,
    glyph: usize,
    origin: Point,
    up: Vec2,
    size: f64,
    mirrored: bool,
    left: f64,
    /// Pieces that are the glyph's dots and accents.
    dots: Vec<usize>,
}

/// A line that some hits agree on.
#[derive(Debug, Clone)]
struct LetterLine {
    hits: Vec<usize>,
    explained: usize,
    left: f64,
    up: Vec2,
    mirrored: bool,
    script: Script,
    /// Whether every hit follows its piece as closely as a letter must.
    close: bool,
}

/// Reads lines of lettering from pieces of ink.
///
/// `mirrored` says what is expected where a reading and its mirror image fit alike.
pub(super) fn read(pieces: &[Piece], index: &Index, mirrored: bool) -> Reading {
    let mut hits: Vec<Hit> = Vec::new();
    for (number, piece) in pieces.iter().enumerate() {
        spend(STEPS_OF_A_PIECE);
        for (glyph_number, glyph) in index.like(piece) {
            for laid in glyph
                .main
                .spectrum
                .laid_over(&piece.spectrum, LOOKS_THE_SAME)
            {
                hits.extend(hit(pieces, number, glyph_number, glyph, &laid));
            }
        }
    }
    let letter = |hit: &Hit| {
        telling_letters(&index.glyphs.at(hit.glyph).text)
            .next()
            .is_some()
    };
    if hits.len() > PATTERN && !hits.iter().any(letter) {
        return Reading::default();
    }
    let mut free = vec![true; pieces.len()];
    let mut words = Vec::new();
    let mut area = 0.0;
    let mut agreeing = Agreeing::new();
    let mut tells_nothing = 0;
    while let Some(best) = best(&hits, &free, index, mirrored, &mut agreeing) {
        let (mut word, used) = spell(&best.line, best.decided, &hits, pieces, index);
        word.in_mirror = best.in_mirror;
        word.one_script = best.one_script;
        word.other = best
            .other
            .map(|line| Box::new(spell(&line, best.decided, &hits, pieces, index).0));
        for piece in &used {
            if std::mem::replace(free.at_mut(*piece), false) {
                let p = pieces.at(*piece);
                area += p.area * (1.0 - p.hole_share);
            }
        }
        tells_nothing = if telling(&word.text) == 0 {
            tells_nothing + 1
        } else {
            0
        };
        if used.is_empty() {
            break;
        }
        words.push(word);
        if tells_nothing == BARS_IN_TURN {
            break;
        }
    }
    let all: f64 = pieces.iter().map(|p| p.area * (1.0 - p.hole_share)).sum();
    let share = if all > 0.0 { area / all } else { 0.0 };
    let unread = |p: &Piece| p.area * (1.0 - p.hole_share) > SPECK * all;
    let unread: Vec<Rect> = pieces
        .iter()
        .zip(&free)
        .filter(|(p, free)| **free && unread(p))
        .map(|(p, _)| p.bounds)
        .collect();
    for word in &mut words {
        let telling = telling(&word.text);
        word.tells = !unread.iter().any(|b| b.overlaps(reach(word, NEAR)))
            || telling >= NO_CHANCE
            || (telling > 0 && share >= MOST_READ);
    }
    words.sort_by_key(|w| std::cmp::Reverse(w.letters));
    Reading {
        words,
        share,
        ..Reading::default()
    }
}

/// Bars and rings of any script: they are found in any art, and an I of one face is an l of the next.
const BARS_AND_RINGS: &str = "IlıiJjOo0\u{399}\u{39f}\u{3bf}\u{406}\u{41e}\u{43e}\u{4c0}\u{555}\u{585}\
     \u{5d5}\u{5d9}\u{5df}\u{5dd}\u{5e1}\u{627}\u{640}\u{660}\u{661}\u{665}";

/// The different letters of a text that have shapes of their own.
pub(crate) fn telling_letters(text: &str) -> impl Iterator<Item = char> {
    text.chars()
        .filter(|c| c.is_alphanumeric() && !BARS_AND_RINGS.contains(*c))
}

/// How many there are.
pub(crate) fn telling(text: &str) -> usize {
    telling_letters(text).collect::<BTreeSet<char>>().len()
}

/// Where ink that is part of a word's line would be.
pub(crate) fn reach(word: &ReadWord, along: f64) -> Rect {
    let (along, above) = (along * word.size, ABOVE * word.size);
    if word.up.y.abs() >= word.up.x.abs() {
        word.bounds.inflate(along, above)
    } else {
        word.bounds.inflate(above, along)
    }
}

/// Where a glyph stands if its main piece is laid on `piece`; its dots must be there.
fn hit(
    pieces: &[Piece],
    number: usize,
    glyph_number: usize,
    glyph: &Glyph,
    laid: &Laid,
) -> Option<Hit> {
    let piece = pieces.at(number);
    let origin = piece.spectrum.centre - laid.carry(glyph.main.spectrum.centre.to_vec2());
    let size = laid.size();
    let mut dots = Vec::new();
    for dot in &glyph.others {
        let at = origin + laid.carry(dot.spectrum.centre.to_vec2());
        let found = pieces.iter().enumerate().find(|(i, p)| {
            *i != number
                && (p.spectrum.centre - at).hypot() <= DOT_REACH * size
                && is_dot(dot, p, laid)
        });
        dots.push(found?.0);
    }
    let up = laid.carry(Vec2::new(0.0, -1.0));
    Some(Hit {
        piece: number,
        glyph: glyph_number,
        origin,
        up: up / up.hypot().max(1e-12),
        size,
        mirrored: laid.mirrored,
        left: laid.left,
        dots,
    })
}

/// Whether `piece` is the dot or accent `dot` of a glyph laid as `laid`: the same shape, size and turn.
fn is_dot(dot: &Piece, piece: &Piece, laid: &Laid) -> bool {
    let up = |l: &Laid| l.carry(Vec2::new(0.0, -1.0));
    dot.spectrum
        .laid_over(&piece.spectrum, DOT_LEFT_OVER)
        .iter()
        .any(|own| {
            own.mirrored == laid.mirrored
                && (own.size() / laid.size() - 1.0).abs() < 0.1
                && up(own).dot(up(laid)) > 0.98 * own.size() * laid.size()
        })
}

/// The line that explains the most pieces.
struct Best {
    line: LetterLine,
    /// Whether no other way up explains as many.
    decided: bool,
    /// Where its tops point read in a mirror, if that explains as many.
    in_mirror: Option<Vec2>,
    /// Whether no other script explains as many.
    one_script: bool,
    /// What explains as many in a mirror, in another script: a Cyrillic word of the shapes N, I, N, A.
    other: Option<LetterLine>,
}

/// For a face, reading and script and one of its hits, those that agree with it, used up or not.
type Agreeing = BTreeMap<((usize, bool, Script), usize), Vec<usize>>;

fn best(
    hits: &[Hit],
    free: &[bool],
    index: &Index,
    mirrored: bool,
    agreeing: &mut Agreeing,
) -> Option<Best> {
    let unused = |h: &Hit| *free.at(h.piece) && h.dots.iter().all(|d| *free.at(*d));
    let live: Vec<usize> = hits
        .iter()
        .enumerate()
        .filter(|(_, h)| unused(h))
        .map(|(i, _)| i)
        .collect();
    let mut seeds: Vec<usize> = live.iter().map(|i| hits.at(*i).piece).collect();
    seeds.dedup();
    seeds.truncate(SEEDS);
    // By face, reading and script, so that a seed is compared with its own kind only.
    let mut by_kind: BTreeMap<(usize, bool, Script), Vec<usize>> = BTreeMap::new();
    let glyph = |i: usize| {
        let hit = hits.at(i);
        (hit, index.glyphs.at(hit.glyph))
    };
    let kinds: BTreeSet<(usize, bool, Script)> = live
        .iter()
        .map(|i| glyph(*i))
        .map(|(h, g)| {
            let script = Script::of(g.character()).unwrap_or(Script::Latin);
            (g.face, h.mirrored, script)
        })
        .collect();
    for i in &live {
        let (h, g) = glyph(*i);
        let own = Script::of(g.character());
        // Digits and signs stand among letters of any script.
        for kind in
            kinds.range((g.face, h.mirrored, Script::Latin)..=(g.face, h.mirrored, Script::Arabic))
        {
            if own.is_none_or(|own| own == kind.2) {
                by_kind.entry(*kind).or_default().push(*i);
            }
        }
    }
    let mut lines: Vec<LetterLine> = Vec::new();
    for (of_kind, kind) in &by_kind {
        let (_, mirrored, script) = of_kind;
        for seed in kind {
            let s = hits.at(*seed);
            if !seeds.contains(&s.piece) {
                continue;
            }
            let close = s.left <= LEFT_OVER;
            let mut of_line: Vec<usize> = Vec::new();
            let mut explained = BTreeSet::new();
            let mut left: BTreeMap<usize, f64> = BTreeMap::new();
            // What is used up later only takes some of them away.
            let all = agreeing.entry((*of_kind, *seed)).or_insert_with(|| {
                let agree = |other: &&usize| {
                    let h = hits.at(**other);
                    (h.left <= LEFT_OVER || !close) && agrees(s, h)
                };
                kind.iter().filter(agree).copied().collect()
            });
            for other in all.iter().filter(|i| unused(hits.at(**i))) {
                let h = hits.at(*other);
                of_line.push(*other);
                explained.insert(h.piece);
                explained.extend(h.dots.iter().copied());
                let least = left.entry(h.piece).or_insert(f64::INFINITY);
                *least = least.min(h.left);
            }
            lines.push(LetterLine {
                hits: of_line,
                explained: explained.len(),
                left: left.values().sum::<f64>() / left.len().max(1) as f64,
                up: s.up,
                mirrored: *mirrored,
                script: *script,
                close,
            });
        }
    }
    let better = |a: &LetterLine, b: &LetterLine| {
        a.explained
            .cmp(&b.explained)
            // Another script must explain more than Latin does: many of its letters look like Latin ones
            // in a mirror.
            .then((b.script != Script::Latin).cmp(&(a.script != Script::Latin)))
            .then((a.mirrored == mirrored).cmp(&(b.mirrored == mirrored)))
            .then(b.left.total_cmp(&a.left))
    };
    let best = lines
        .iter()
        .filter(|l| l.close)
        .max_by(|a, b| better(a, b))?
        .clone();
    let as_many = || {
        lines
            .iter()
            .filter(|l| l.script == best.script && l.explained >= best.explained)
    };
    let rival = as_many().any(|l| l.mirrored == best.mirrored && l.up.dot(best.up) < 0.98);
    // A mirror image that reads as well leaves the words as they are, and says nothing of the side.
    let in_mirror = as_many()
        .find(|l| l.mirrored != best.mirrored)
        .map(|l| l.up);
    let elsewhere = lines
        .iter()
        .filter(|l| l.close && l.script != best.script && l.explained >= best.explained);
    let other = elsewhere
        .clone()
        .filter(|l| l.mirrored != best.mirrored && in_mirror.is_none())
        .max_by(|a, b| better(a, b))
        .cloned();
    Some(Best {
        decided: !rival,
        in_mirror,
        one_script: elsewhere.count() == 0,
        other,
        line: best,
    })
}

fn agrees(a: &Hit, b: &Hit) -> bool {
    // Most are told apart by the first of these.
    (b.origin - a.origin).dot(a.up).abs() <= SAME_BASELINE * a.size
        && (b.size / a.size - 1.0).abs() <= SAME_SIZE
        && a.up.dot(b.up) >= 0.0
        && a.up.cross(b.up).abs() <= SAME_TURN.to_radians().tan() * a.up.dot(b.up)
}

/// Spells a line out. Returns the word and the pieces it used.
fn spell(
    line: &LetterLine,
    decided: bool,
    hits: &[Hit],
    pieces: &[Piece],
    index: &Index,
) -> (ReadWord, Vec<usize>) {
    let right = if line.mirrored {
        Vec2::new(line.up.y, -line.up.x)
    } else {
        Vec2::new(-line.up.y, line.up.x)
    };
    let mut of_piece: BTreeMap<usize, Vec<&Hit>> = BTreeMap::new();
    for h in line.hits.iter().map(|i| hits.at(*i)) {
        of_piece.entry(h.piece).or_default().push(h);
    }
    // A dot that belongs to a letter is no letter of its own.
    let dots: BTreeSet<usize> = of_piece
        .values()
        .filter_map(|all| all.iter().max_by_key(|h| h.dots.len()))
        .flat_map(|h| h.dots.iter().copied())
        .collect();
    let character = |h: &Hit| index.glyphs.at(h.glyph).character();
    let capitals = of_piece
        .iter()
        .filter(|(piece, _)| !dots.contains(piece))
        .filter_map(|(_, all)| all.iter().min_by(|a, b| a.left.total_cmp(&b.left)))
        .map(|h| character(h))
        .filter(|c| c.is_alphabetic() && !matches!(c, 'I' | 'l'))
        .collect::<Vec<_>>();
    let shouting = !capitals.is_empty() && capitals.iter().all(|c| c.is_uppercase());
    let mut order: Vec<(f64, usize, _)> = of_piece
        .iter()
        .filter(|(piece, _)| !dots.contains(piece))
        .filter_map(|(piece, all)| {
            let along = all.first()?.origin.to_vec2().dot(right);
            Some((along, *piece, all))
        })
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut text = String::new();
    let mut used: Vec<usize> = dots.iter().copied().collect();
    let mut bounds: Option<Rect> = None;
    let mut end: Option<f64> = None;
    let mut size = 0.0;
    let mut face = String::new();
    for (_, piece, all) in &order {
        let first = text.chars().last().is_none_or(char::is_whitespace);
        let least = all.iter().map(|h| h.left).fold(f64::INFINITY, f64::min);
        let close = all.iter().filter(|h| h.left <= 1.5 * least + 1e-3);
        let Some(h) = close.min_by_key(|h| {
            let c = character(h);
            // Of signs that are one shape, the one that fits its neighbours.
            let upper_fits = if shouting || first {
                c.is_uppercase()
            } else {
                c.is_lowercase()
            };
            // One shape in most faces: words start with the stroked D, and hardly any with eth.
            let other_d = if first || text.contains('\u{110}') {
                '\u{d0}'
            } else {
                '\u{110}'
            };
            (
                std::cmp::Reverse(h.dots.len()),
                !c.is_alphanumeric(),
                c.is_alphabetic() && !upper_fits,
                c == other_d,
                c.is_ascii_digit(),
                (h.left * 1e6) as i64,
                c,
            )
        }) else {
            continue;
        };
        let at = h.origin.to_vec2().dot(right);
        if end.is_some_and(|e| at - e > SPACE * h.size) {
            text.push(' ');
        }
        let g = index.glyphs.at(h.glyph);
        text.push_str(&g.text);
        end = Some(at + g.advance * h.size);
        face.clone_from(index.faces.at(g.face));
        size = h.size;
        used.push(*piece);
    }
    if line.script.leftward() {
        text = text.chars().rev().collect();
    }
    used.sort_unstable();
    used.dedup();
    for p in used.iter().map(|i| pieces.at(*i)) {
        bounds = Some(bounds.map_or(p.bounds, |b: Rect| b.union(p.bounds)));
    }
    let word = ReadWord {
        letters: text.chars().filter(|c| !c.is_whitespace()).count(),
        text,
        up: line.up,
        mirrored: line.mirrored,
        face,
        size,
        bounds: bounds.unwrap_or_default(),
        decided,
        in_mirror: None,
        one_script: true,
        other: None,
        tells: false,
    };
    (word, used)
}
