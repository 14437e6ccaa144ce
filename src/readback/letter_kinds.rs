//! Letters of one face are the same shapes again and again: which of a batch's letters are, and how
//! does each lie against the others of its kind?
//!
//! No face is needed for that, and nothing is read: an `a` is known as what looks like the `a` of the
//! pocket beside it. Two letters are of a kind where one can be laid on the other at some size, in one
//! of the eight lays of [`Orientation`] or nearly; a letter that looks alike in several lays (o, x, S) says
//! all of them, and so decides nothing between them.

use kurbo::Rect;

use super::orientation::{Lays, Orientation, alone};
use super::pieces::Piece;
use super::spectrum::Laid;

/// A letter, as far as it was met before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Its kind; the same number for all letters that are one shape.
    pub kind: usize,
    /// How it may lie, seen from the first letter of its kind.
    pub lays: Lays,
    /// Its box, in the frame of its word.
    pub bounds: Rect,
}

impl Seen {
    /// A letter whose place does not matter.
    #[cfg(test)]
    pub(super) fn somewhere(kind: usize, lays: Lays) -> Self {
        let bounds = Rect::ZERO;
        Self { kind, lays, bounds }
    }
}

/// Pockets with more parts than this hold no name but traced art.
const MOST_PARTS: usize = 120;

/// Parts lower and narrower than this share of the middle part's longer side are dots, accents and
/// signs: an acute is a grave in a mirror, so they would speak for nothing.
const LEAST: f64 = 0.5;

/// A part this many times as long as high may be letters that touch.
const TOUCHING: f64 = 1.5;

/// Pieces whose extents along the line share more than this part of the smaller one are one letter.
/// Joined script shares a tenth; a stem and its arch half of the stem.
const OVER_EACH_OTHER: f64 = 0.35;

/// What may be left over between two letters of a kind, as a share of their size: what files are
/// rounded to on letters of 2 mm. An n and a turned u differ by more in most faces.
const OF_A_KIND: f64 = 0.012;

/// What looks alike in another lay up to this is taken to be alike in it: of a letter that is a little
/// heavier below, rounding must not decide.
const LOOKS_ALIKE: f64 = 0.035;

/// What may be left over between two letters that lines fill, as a share of how [rough](Piece::rough) they are: the lines miss the
/// edges of either by up to half their distance. Lower, and half of such letters are of no kind; higher, and an n is a turned u.
const ROUGH: f64 = 0.9;

/// A letter that lines fill is at most so rough: five lines across. Higher, and bits of broken hairlines are letters, each like
/// the other: names on their side were told as lying right by what was left of their dates.
const ROUGHEST: f64 = 0.2;

/// How far a letter may lean from its orientation, in degrees: on an arch, or tilted by hand.
const LEAN: f64 = 25.0;

/// How far signatures and holes of letters of a kind may differ; see [`super::glyphs`].
const SIGNATURE_SLACK: f64 = 0.03;
const HOLE_SLACK: f64 = 0.03;

/// More kinds than this and the art is no lettering of a few faces; what comes after is of no kind.
const MOST_KINDS: usize = 1_000;

/// The parts of a pocket's ink that could be letters.
///
/// `parts` are the pieces of the ink, or of a row of it with this box. Letters that touch are one piece: those
/// are looked up in `apart`, the pieces as they were drawn.
pub(crate) fn letters(parts: &[Piece], bounds: Rect, apart: &[Piece]) -> Vec<Piece> {
    if parts.len() > MOST_PARTS {
        return Vec::new();
    }
    let across = bounds.width() >= bounds.height();
    let mut out: Vec<Piece> = Vec::new();
    for part in parts {
        let within: Vec<&Piece> = apart
            .iter()
            .filter(|p| part.bounds.contains(p.bounds.center()))
            .collect();
        let (low, high) = along(part.bounds, across);
        let (top, foot) = along(part.bounds, !across);
        if within.is_empty() {
            out.push(part.clone());
        } else if high - low > TOUCHING * (foot - top) {
            out.extend(within.into_iter().cloned());
        } else {
            out.extend(beside_each_other(part, &within, across));
        }
    }
    let longer = |r: Rect| r.width().max(r.height());
    let mut sizes: Vec<f64> = out.iter().map(|p| longer(p.bounds)).collect();
    sizes.sort_by(f64::total_cmp);
    let middle = sizes.get(sizes.len() / 2).copied().unwrap_or(0.0);
    out.retain(|p| longer(p.bounds) >= LEAST * middle);
    out
}

/// Letters that are filled by lines so far apart, in millimetres: those that are large enough to be known by their outlines.
pub(crate) fn filled_by(letters: Vec<Piece>, apart: f64) -> Vec<Piece> {
    let rough = letters.into_iter().map(|letter| Piece {
        rough: apart / letter.area.sqrt(),
        ..letter
    });
    rough.filter(|letter| letter.rough <= ROUGHEST).collect()
}

/// Where a box lies along x, or along y.
fn along(r: Rect, x: bool) -> (f64, f64) {
    if x { (r.x0, r.x1) } else { (r.y0, r.y1) }
}

/// The letters of a part that is no longer than a letter may be: `within` it, if they stand beside each
/// other; else the part is one letter that was drawn in pieces, an n as a stem and an arch.
fn beside_each_other(part: &Piece, within: &[&Piece], across: bool) -> Vec<Piece> {
    let over = |a: &Piece, b: &Piece| {
        let ((a0, a1), (b0, b1)) = (along(a.bounds, across), along(b.bounds, across));
        a1.min(b1) - a0.max(b0) > OVER_EACH_OTHER * (a1 - a0).min(b1 - b0)
    };
    let mut groups: Vec<Vec<&Piece>> = Vec::new();
    for piece in within {
        let (own, others): (Vec<_>, Vec<_>) = groups
            .into_iter()
            .partition(|g| g.iter().any(|p| over(p, piece)));
        groups = others;
        groups.push(own.into_iter().flatten().chain([*piece]).collect());
    }
    if groups.len() < 2 {
        return vec![part.clone()];
    }
    // A letter of several pieces has no outline of its own here: the others must speak.
    groups
        .iter()
        .filter_map(|g| match g.as_slice() {
            [one] => Some((*one).clone()),
            _ => None,
        })
        .collect()
}

/// Sorts the letters of several words into kinds; the answer has the order of `words`.
pub(crate) fn sort(words: &[Vec<Piece>]) -> Vec<Vec<Seen>> {
    let mut kinds: Vec<&Piece> = Vec::new();
    words
        .iter()
        .map(|letters| {
            letters
                .iter()
                .filter_map(|letter| {
                    let seen = |kind, lays| Seen {
                        kind,
                        lays,
                        bounds: letter.bounds,
                    };
                    let known = kinds
                        .iter()
                        .enumerate()
                        .filter(|(_, first)| could_be(first, letter))
                        .find_map(|(kind, first)| Some(seen(kind, lays(first, letter)?)));
                    if known.is_some() || kinds.len() >= MOST_KINDS {
                        return known;
                    }
                    kinds.push(letter);
                    Some(seen(kinds.len() - 1, lays(letter, letter)?))
                })
                .collect()
        })
        .collect()
}

/// Whether two letters could be of a kind: quick, and only ever wrong in saying yes.
fn could_be(first: &Piece, letter: &Piece) -> bool {
    let rough = roughness(first, letter);
    first.holes == letter.holes
        && (first.hole_share - letter.hole_share).abs() <= HOLE_SLACK + rough
        && first
            .signature
            .iter()
            .zip(&letter.signature)
            .all(|(a, b)| f64::from((a - b).abs()) <= SIGNATURE_SLACK + rough)
        && !first
            .spectrum
            .far_from(&letter.spectrum, OF_A_KIND.max(rough))
}

/// By how much two letters of a kind may differ as lines fill them, as a share of their size.
fn roughness(first: &Piece, letter: &Piece) -> f64 {
    ROUGH * first.rough.max(letter.rough)
}

/// The lays in which `first` looks like `letter`; `None` where it does in none closely enough.
fn lays(first: &Piece, letter: &Piece) -> Option<Lays> {
    let rough = roughness(first, letter);
    let found = first
        .spectrum
        .laid_over(&letter.spectrum, LOOKS_ALIKE + rough);
    // The closest comes first.
    if found.first()?.left > OF_A_KIND.max(rough) {
        return None;
    }
    let lays = found
        .iter()
        .filter_map(orientation)
        .fold(0, |all, o| all | alone(o));
    (lays != 0).then_some(lays)
}

/// The orientation that a motion comes down to; `None` where it leans too far.
fn orientation(laid: &Laid) -> Option<Orientation> {
    let turn = laid.scale.im.atan2(laid.scale.re).to_degrees();
    let quarters = (turn / 90.0).round();
    if (turn - 90.0 * quarters).abs() > LEAN {
        return None;
    }
    // What is flipped about the x axis is what is flipped left to right, and turned half round.
    let flipped_too = if laid.mirrored { 2.0 } else { 0.0 };
    let quarters = (quarters + flipped_too).rem_euclid(4.0) as u8;
    Some(Orientation::new(quarters, laid.mirrored))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use kurbo::{Affine, Shape as _};

    use super::super::pieces::{as_drawn, pieces};
    use kurbo::Point;

    use super::*;
    use crate::geometry::region::Region;

    /// The motion that lays upright lettering as `lay` says.
    fn motion(orientation: Orientation) -> Affine {
        let flip = Affine::scale_non_uniform(if orientation.mirrored { -1.0 } else { 1.0 }, 1.0);
        Affine::rotate(std::f64::consts::FRAC_PI_2 * f64::from(orientation.quarters)) * flip
    }

    fn parts(d: &str, by: Affine) -> Vec<Piece> {
        let path = by * kurbo::BezPath::from_svg(d).unwrap();
        pieces(&Region::from_path(&path, false, 1e-3))
    }

    const EFF: &str = "M0 0 V-10 H6 V-9 H1 V-6 H4 V-5 H1 V0 Z";
    const ESS: &str = "M0 0 H10 V3 H3 V6 H10 V15 H0 V12 H7 V9 H0 Z";

    #[test]
    fn a_letter_is_known_at_any_size_and_in_any_lay() {
        let mut words = vec![parts(EFF, Affine::IDENTITY)];
        for (n, orientation) in Orientation::ALL.into_iter().enumerate() {
            let lean = Affine::rotate(0.05 * n as f64 - 0.2);
            words.push(parts(
                EFF,
                Affine::scale(0.4 + 0.1 * n as f64) * lean * motion(orientation),
            ));
        }
        let sorted = sort(&words);
        let seen = |word: &[Seen]| word.iter().map(|s| (s.kind, s.lays)).collect::<Vec<_>>();
        assert_eq!(seen(&sorted[0]), [(0, 1)]);
        for (k, word) in sorted.iter().skip(1).enumerate() {
            assert_eq!(seen(word), [(0, 1 << k)], "orientation {k}");
        }
    }

    #[test]
    fn what_looks_alike_turned_says_every_lay_that_it_looks_alike_in() {
        let ring = kurbo::Circle::new((0.0, 0.0), 4.0).to_path(1e-3).to_svg();
        let words = [parts(ESS, Affine::IDENTITY), parts(&ring, Affine::IDENTITY)];
        let sorted = sort(&words);
        assert_eq!(sorted[0][0].lays, 0b0001_0001);
        assert_eq!(sorted[1][0].lays, 0xff);
        assert_ne!(sorted[0][0].kind, sorted[1][0].kind);
    }

    #[test]
    fn dots_are_left_out_and_letters_that_touch_are_taken_as_drawn() {
        // Two of them, welded by a bar that one of them has; and a dot.
        let d = "M0 0 V-10 H6 V-9 H1 V-6 H4 V-5 H1 V0 Z";
        let bar = "M-0.5 -5.5 H30 V-5 H-0.5 Z";
        let dot = "M3 -14 h1 v1 h-1 z";
        let path = kurbo::BezPath::from_svg(&format!(
            "{d} M20 0 V-10 H26 V-9 H21 V-6 H24 V-5 H21 V0 Z {bar} {dot}"
        ))
        .unwrap();
        let ink = Region::from_path(&path, false, 1e-3);
        let drawn: Vec<Vec<Point>> = crate::geometry::flatten::polylines(&path, 1e-3)
            .into_iter()
            .map(|line| line.points)
            .collect();
        let whole = pieces(&ink);
        assert_eq!(whole.len(), 2);
        assert_eq!(
            letters(&whole, ink.bounds().unwrap(), &as_drawn(&drawn, &ink)).len(),
            3,
            "two letters and the bar"
        );
        assert_eq!(
            letters(&whole, ink.bounds().unwrap(), &[]).len(),
            1,
            "nothing tells them apart"
        );
    }

    /// Lines 0.5 mm apart, from another height on each: of one F they missed the top of it, and of the other half of its bar.
    #[test]
    fn letters_that_lines_fill_are_of_a_kind_though_their_edges_differ() {
        let other = "M0 0 V-9.7 H6 V-9.1 H1 V-6.2 H4 V-5.3 H1 V0 Z";
        let words = [EFF, other].map(|d| parts(d, Affine::IDENTITY));
        let kinds = |words: &[Vec<Piece>]| -> Vec<usize> {
            sort(words).iter().flatten().map(|seen| seen.kind).collect()
        };
        assert_eq!(kinds(&words), [0, 1], "by their outlines");
        let filled = words.map(|letters| filled_by(letters, 0.5));
        assert_eq!(kinds(&filled), [0, 0]);
    }

    #[test]
    fn what_is_a_few_lines_wide_is_no_letter() {
        let bit = || parts("M0 0 L1 0 L2 -2 L1.2 -2 Z", Affine::IDENTITY);
        assert_eq!(filled_by(bit(), 0.3).len(), 0);
        assert_eq!(filled_by(bit(), 0.1).len(), 1);
    }

    #[test]
    fn joined_letters_are_parted_and_a_letter_drawn_in_pieces_is_not() {
        let drawn = |d: &str| {
            let path = kurbo::BezPath::from_svg(d).unwrap();
            let ink = Region::from_path(&path, false, 1e-3);
            let lines: Vec<Vec<Point>> = crate::geometry::flatten::polylines(&path, 1e-3)
                .into_iter()
                .map(|line| line.points)
                .collect();
            let whole = pieces(&ink);
            assert_eq!(whole.len(), 1, "{d}");
            letters(&whole, ink.bounds().unwrap(), &as_drawn(&lines, &ink)).len()
        };
        let joined = "M0 0 V-10 H6 V-9 H1 V-1 H6 V0 Z M5.5 0 V-10 H11 V-9 H6.5 V0 Z";
        assert_eq!(drawn(joined), 2);
        let stem_and_arch = "M0 0 V-10 H2 V0 Z M1 -10 H8 V0 H6 V-8 H1 Z";
        assert_eq!(drawn(stem_and_arch), 1);
    }
}
