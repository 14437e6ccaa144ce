//! Numbers, words and curves as SVG has them.

use kurbo::{Affine, BezPath, PathEl, Point, Rect};

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

/// Text for element content and for attributes in double or single quotes. Characters that XML does
/// not have, and those that turn the reading direction of what follows, show as U+FFFD.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
                out.push('\u{fffd}');
            }
            c => out.push(c),
        }
    }
    out
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
        let ring = simpler(ring);
        for (i, p) in ring.iter().enumerate() {
            out.push(if i == 0 { 'M' } else { 'L' });
            out.push_str(&format!("{} {}", num(p.x), num(p.y)));
        }
        out.push('Z');
    }
    out
}

/// The ring with the points left out that lie within [`SIMPLER`] of a line between two that stay
/// (Douglas and Peucker, 1973).
fn simpler(ring: &[Point]) -> Vec<Point> {
    if ring.len() < 5 {
        return ring.to_vec();
    }
    let half = ring.len() / 2;
    let mut keep = vec![false; ring.len()];
    for i in [0, half, ring.len() - 1] {
        if let Some(k) = keep.get_mut(i) {
            *k = true;
        }
    }
    let mut open = vec![(0, half), (half, ring.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let (Some(&a), Some(&b)) = (ring.get(from), ring.get(to)) else {
            continue;
        };
        let line = kurbo::Line::new(a, b);
        let mut worst = (SIMPLER * SIMPLER, None);
        for (i, p) in ring.iter().enumerate().take(to).skip(from + 1) {
            let away = kurbo::ParamCurveNearest::nearest(&line, *p, 1e-6).distance_sq;
            if away > worst.0 {
                worst = (away, Some(i));
            }
        }
        if let Some(i) = worst.1 {
            if let Some(k) = keep.get_mut(i) {
                *k = true;
            }
            open.push((from, i));
            open.push((i, to));
        }
    }
    ring.iter()
        .zip(keep)
        .filter(|(_, k)| *k)
        .map(|(p, _)| *p)
        .collect()
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
    fn nothing_from_a_file_ends_an_element_or_an_attribute() {
        assert_eq!(
            escape("</style><b a=\"x\" b='y'>&\u{0}\u{202e}\u{ffff}\n"),
            "&lt;/style&gt;&lt;b a=&quot;x&quot; b=&#39;y&#39;&gt;&amp;\u{fffd}\u{fffd}\u{fffd} "
        );
    }

    #[test]
    fn what_is_no_number_stays_out() {
        assert_eq!(num(f64::NAN), "0");
        assert_eq!(num(f64::INFINITY), "0");
        assert_eq!(num(-0.001), "0");
        assert_eq!(num(1.256), "1.26");
    }

    #[test]
    fn a_simplified_ring_stays_within_its_tolerance() {
        let ring: Vec<Point> = (0..2000)
            .map(|i| {
                let t = f64::from(i) * std::f64::consts::TAU / 2000.0;
                Point::new(10.0 * t.cos(), 10.0 * t.sin())
            })
            .collect();
        let fewer = simpler(&ring);
        assert!(fewer.len() < 200, "{}", fewer.len());
        for p in &ring {
            let nearest = fewer
                .iter()
                .zip(fewer.iter().cycle().skip(1))
                .map(|(a, b)| {
                    kurbo::ParamCurveNearest::nearest(&kurbo::Line::new(*a, *b), *p, 1e-6)
                        .distance_sq
                        .sqrt()
                })
                .fold(f64::INFINITY, f64::min);
            assert!(nearest <= SIMPLER * 1.01, "{p:?} is {nearest} away");
        }
    }

    #[test]
    fn words_wrap() {
        assert_eq!(wrap("a bb ccc", 4), ["a bb", "ccc"]);
        assert_eq!(wrap("unbreakable a", 4), ["unbreakable", "a"]);
    }
}
