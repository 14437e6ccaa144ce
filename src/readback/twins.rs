//! Is every letter of a word a letter again in a mirror, of another script?
//!
//! A mirrored N is the Cyrillic И, a mirrored R is Я, and A, H, M, O, T, X are themselves. So НИНА reads as
//! Latin letters in a mirror, and ANNA as Cyrillic ones: the shapes of such letters do not tell which it is.

use super::letter_raster::{LetterShape, Strip, two_squares};

/// A letter is even where less than this share of its ink differs from its image. Smaller, and hand lettering
/// is not seen to be even; larger, and an E or a P is.
const DIFFERS: f32 = 0.25;

/// A letter is a half-turned one (N, S, Z) rather than an even one where it differs in a mirror by more than
/// twice what it differs half turned, and this. Larger, and the N of a bold face, of which the slanted
/// stroke is a small part, is taken for even.
const NEARLY_NOTHING: f32 = 0.05;

/// A cell with less of it covered is empty: a letter of a thin line covers half of its cells.
const INKED: f32 = 0.2;

/// A side of a letter is the outer one of so many parts of its width. More, and the stems of an italic И lean out of it.
const SIDES: usize = 3;

/// The share of a letter's height at which one side may be without ink. Larger, and an e is even, which is open for a
/// seventh of its height; smaller, and an uneven hand's letters are not.
const LOPSIDED: f64 = 0.08;

/// The share of a letter's height that its feet are looked for in.
const FEET: f64 = 0.15;

/// Whether all letters of a word that stands upright, or in a mirror, have a twin of another script there, and
/// not all are even: those are letters of one script both ways.
pub(super) fn all_have_twins(word: &[LetterShape]) -> bool {
    let twin = |letter: &LetterShape| {
        let (lying, standing) = two_squares(letter);
        let (mirror, turn) = (
            differs(&lying, &lying.mirrored()),
            differs(&lying, &lying.half_turned()),
        );
        let even = mirror <= DIFFERS && mirror <= 2.0 * turn + NEARLY_NOTHING;
        // An N has ink at its top alone, or its foot alone, between its stems; an S has not.
        let as_n = turn <= DIFFERS && lopsided(&standing);
        let twin = (even || as_n) && !lopsided(&lying) || ring_on_legs(letter);
        twin.then_some(even)
    };
    let all: Option<Vec<bool>> = word.iter().map(twin).collect();
    all.is_some_and(|even| even.contains(&false))
}

/// The share of a letter's ink that differs from its image.
fn differs(one: &Strip, other: &Strip) -> f32 {
    let ink: f32 = one.cells.iter().sum();
    let pairs = one.cells.iter().zip(&other.cells);
    let differing: f32 = pairs.map(|(a, b)| (a - b).abs()).sum();
    differing / 2.0 / ink
}

/// Whether a letter has ink on one side of it alone at some heights, as no letter has that is even, nor N. An e does,
/// and an S and a Z, which nearly are the same in a mirror or half turned.
fn lopsided(letter: &Strip) -> bool {
    let rows: Vec<&[f32]> = letter.cells.chunks(letter.width).collect();
    let inked = |c: &f32| *c >= INKED;
    let columns =
        || (0..letter.width).filter(|c| rows.iter().any(|r| r.get(*c).is_some_and(inked)));
    let (Some(first), Some(last)) = (columns().min(), columns().max()) else {
        return false;
    };
    let side = (last - first + 1).div_ceil(SIDES);
    let at = |row: &[f32], from: usize| row.iter().skip(from).take(side).any(inked);
    let one = |row: &&&[f32]| at(row, first) != at(row, last + 1 - side);
    let high = rows.iter().filter(|r| r.iter().any(inked)).count();
    rows.iter().filter(one).count() as f64 > LOPSIDED * high as f64
}

/// Whether a letter has one hole, in its upper half, and stands on two feet at its sides: R and Я.
fn ring_on_legs(letter: &LetterShape) -> bool {
    let points = || letter.rings.iter().flatten();
    let span = |of: usize, all: &mut dyn Iterator<Item = &[f64; 2]>| {
        all.filter_map(|p| p.get(of))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| {
                (r.0.min(*v), r.1.max(*v))
            })
    };
    let [outer, hole] = letter.rings.as_slice() else {
        return false;
    };
    let (left, right) = span(0, &mut points());
    let (top, foot) = span(1, &mut points());
    let (a, b) = (span(1, &mut outer.iter()), span(1, &mut hole.iter()));
    let inner = if b.1 - b.0 < a.1 - a.0 { b } else { a };
    if f64::midpoint(inner.0, inner.1) >= f64::midpoint(top, foot) {
        return false;
    }
    let low = |p: &&[f64; 2]| p[1] >= foot - FEET * (foot - top);
    let across: Vec<f64> = points()
        .filter(low)
        .map(|p| (p[0] - left) / (right - left))
        .collect();
    let any = |from: f64, to: f64| across.iter().any(|x| (from..=to).contains(x));
    any(0.0, 0.35) && any(0.65, 1.0) && !any(0.45, 0.55)
}

#[cfg(test)]
mod tests {
    use super::super::letter_raster::Ring;
    use super::*;

    fn letter(rings: &[&[[f64; 2]]]) -> LetterShape {
        LetterShape {
            rings: rings.iter().map(|r| r.to_vec()).collect(),
        }
    }

    fn flipped(word: &[LetterShape]) -> Vec<LetterShape> {
        let flip = |ring: &Ring| ring.iter().map(|p| [-p[0], p[1]]).collect();
        let of = |l: &LetterShape| LetterShape {
            rings: l.rings.iter().map(flip).collect(),
        };
        word.iter().rev().map(of).collect()
    }

    #[test]
    fn letters_that_are_letters_of_another_script_in_a_mirror() {
        let n: &[[f64; 2]] = &[
            [0.0, 10.0],
            [0.0, 0.0],
            [1.0, 0.0],
            [7.0, 7.5],
            [7.0, 0.0],
            [8.0, 0.0],
            [8.0, 10.0],
            [7.0, 10.0],
            [1.0, 2.5],
            [1.0, 10.0],
        ];
        let h: &[[f64; 2]] = &[
            [0.0, 0.0],
            [1.0, 0.0],
            [1.0, 4.5],
            [7.0, 4.5],
            [7.0, 0.0],
            [8.0, 0.0],
            [8.0, 10.0],
            [7.0, 10.0],
            [7.0, 5.5],
            [1.0, 5.5],
            [1.0, 10.0],
            [0.0, 10.0],
        ];
        let r: &[[f64; 2]] = &[
            [0.0, 0.0],
            [7.0, 0.0],
            [7.0, 5.0],
            [4.5, 5.0],
            [8.0, 10.0],
            [6.9, 10.0],
            [3.4, 5.0],
            [1.0, 5.0],
            [1.0, 10.0],
            [0.0, 10.0],
        ];
        let p: &[[f64; 2]] = &[
            [0.0, 0.0],
            [7.0, 0.0],
            [7.0, 5.0],
            [1.0, 5.0],
            [1.0, 10.0],
            [0.0, 10.0],
        ];
        let hole: &[[f64; 2]] = &[[1.0, 1.0], [1.0, 4.0], [6.0, 4.0], [6.0, 1.0]];
        let e: &[[f64; 2]] = &[
            [0.0, 0.0],
            [7.0, 0.0],
            [7.0, 1.0],
            [1.0, 1.0],
            [1.0, 4.5],
            [6.0, 4.5],
            [6.0, 5.5],
            [1.0, 5.5],
            [1.0, 9.0],
            [7.0, 9.0],
            [7.0, 10.0],
            [0.0, 10.0],
        ];
        let (n, h, e) = (letter(&[n]), letter(&[h]), letter(&[e]));
        let (r, p) = (letter(&[r, hole]), letter(&[p, hole]));
        let z: &[[f64; 2]] = &[
            [0.0, 0.0],
            [8.0, 0.0],
            [8.0, 1.0],
            [1.5, 9.0],
            [8.0, 9.0],
            [8.0, 10.0],
            [0.0, 10.0],
            [0.0, 9.0],
            [6.5, 1.0],
            [0.0, 1.0],
        ];
        // The S of a bold face, which is hardly open.
        let s: &[[f64; 2]] = &[
            [0.0, 0.0],
            [8.0, 0.0],
            [8.0, 3.0],
            [7.0, 3.0],
            [7.0, 2.5],
            [3.0, 2.5],
            [3.0, 4.5],
            [7.0, 4.5],
            [7.0, 3.3],
            [8.0, 3.3],
            [8.0, 10.0],
            [0.0, 10.0],
            [0.0, 7.0],
            [1.0, 7.0],
            [1.0, 7.5],
            [5.0, 7.5],
            [5.0, 5.5],
            [1.0, 5.5],
            [1.0, 6.7],
            [0.0, 6.7],
        ];
        // The N of a bold face, whose slanted stroke is a small part of it.
        let bold: &[[f64; 2]] = &[
            [0.0, 10.0],
            [0.0, 0.0],
            [2.0, 0.0],
            [6.0, 6.0],
            [6.0, 0.0],
            [8.0, 0.0],
            [8.0, 10.0],
            [6.0, 10.0],
            [2.0, 4.0],
            [2.0, 10.0],
        ];
        for (word, told) in [
            (vec![h.clone(), letter(&[bold]), h.clone()], true),
            (vec![h.clone(), n.clone(), h.clone()], true),
            (vec![h.clone(), letter(&[z]), h.clone()], false),
            (vec![h.clone(), letter(&[s]), h.clone()], false),
            (vec![r.clone(), h.clone()], true),
            (vec![h.clone(), h.clone()], false),
            (vec![h.clone(), p], false),
            (vec![e, n, r], false),
        ] {
            assert_eq!(all_have_twins(&word), told, "{word:?}");
            assert_eq!(all_have_twins(&flipped(&word)), told, "{word:?}");
        }
    }
}
