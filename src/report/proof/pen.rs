//! Numbers, words and curves as SVG has them.

use kurbo::{Affine, BezPath, PathEl, Point, Rect};

use crate::geometry::flatten::simpler;
use crate::geometry::region::Region;
use crate::units::trimmed;

/// Decimals of a millimetre in the drawing: a hundredth is a tenth of what the largest close-up can
/// show.
const DECIMALS: usize = 2;

/// How far an outline may be simplified, in millimetres. More, and a close-up shows corners where
/// the art has curves; less, and a bed full of lettering makes a file of tens of megabytes.
const SIMPLER: f64 = 0.01;

/// A number. What is not a number becomes 0, so that the document is always well-formed.
pub(super) fn num(value: f64) -> String {
    if value.is_finite() {
        trimmed(value, DECIMALS)
    } else {
        "0".to_owned()
    }
}

/// A curve as path data.
pub(super) fn path(path: &BezPath) -> String {
    let at = |p: Point| format!("{} {}", num(p.x), num(p.y));
    let mut out = String::new();
    for el in path.elements() {
        match *el {
            PathEl::MoveTo(p) => out.push_str(&format!("M{}", at(p))),
            PathEl::LineTo(p) => out.push_str(&format!("L{}", at(p))),
            PathEl::QuadTo(a, p) => out.push_str(&format!("Q{} {}", at(a), at(p))),
            PathEl::CurveTo(a, b, p) => {
                out.push_str(&format!("C{} {} {}", at(a), at(b), at(p)));
            }
            PathEl::ClosePath => out.push('Z'),
        }
    }
    out
}

/// An area as path data, simplified.
pub(super) fn region(region: &Region) -> String {
    let mut out = String::new();
    for ring in &region.rings {
        let ring = simpler(ring, SIMPLER);
        for (i, p) in ring.iter().enumerate() {
            out.push(if i == 0 { 'M' } else { 'L' });
            out.push_str(&format!("{} {}", num(p.x), num(p.y)));
        }
        out.push('Z');
    }
    out
}

/// A transform for the attribute of that name. More decimals than places have: it is multiplied.
pub(super) fn matrix(a: Affine) -> String {
    let parts: Vec<String> = a
        .as_coeffs()
        .iter()
        .map(|c| {
            if c.is_finite() {
                trimmed(*c, 6)
            } else {
                "0".to_owned()
            }
        })
        .collect();
    format!("matrix({})", parts.join(" "))
}

/// `x`, `y`, `width` and `height` of a rectangle.
pub(super) fn frame(r: Rect) -> String {
    format!(
        "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"",
        num(r.x0),
        num(r.y0),
        num(r.width()),
        num(r.height())
    )
}

/// About how wide words are, set `size` high: as wide as the widest faces that a machine has of its own.
/// With a smaller share, labels overlap there; with a larger one, they are thought to have no room.
pub(super) fn letters_wide(words: &str, size: f64) -> f64 {
    0.58 * size * words.chars().count() as f64
}

/// Words that break into lines of at most `columns` characters. A longer word stands alone.
pub(super) fn wrap(text: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let fits = lines
            .last()
            .is_some_and(|l| l.chars().count() + 1 + word.chars().count() <= columns);
        match lines.last_mut() {
            Some(line) if fits => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_stays_out() {
        assert_eq!(num(f64::NAN), "0");
        assert_eq!(num(f64::INFINITY), "0");
        assert_eq!(num(-0.001), "0");
        assert_eq!(num(1.256), "1.26");
    }

    #[test]
    fn words_wrap() {
        assert_eq!(wrap("a bb ccc", 4), ["a bb", "ccc"]);
        assert_eq!(wrap("unbreakable a", 4), ["unbreakable", "a"]);
    }
}
