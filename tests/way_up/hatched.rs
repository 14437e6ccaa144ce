//! Letters that are filled with lines, as for a laser that has no fill of its own.

use kurbo::{Affine, BezPath, PathEl, Point, Shape as _};

use super::*;
use crate::common::outline::outlined;

/// Distance of the lines, in millimetres.
const APART: f64 = 0.15;

/// A name about the middle of a tag's zone, its letters filled with lines and without outlines.
fn hatched(n: usize, text: &str, size: f64, transform: &str) -> String {
    let word = outlined(
        epaint_default_fonts::HACK_REGULAR,
        text,
        size,
        Affine::IDENTITY,
    );
    let about = word.bounding_box().center();
    let (x, y) = tags::middle(n);
    format!(
        "<path transform='translate({x} {y}) {transform} translate({} {})' d='{}' fill='none' stroke='{BURN}' stroke-width='.1' stroke-linecap='round'/>",
        -about.x,
        -about.y,
        lines_across(&word)
    )
}

/// The lines that fill an outline by the non-zero rule.
fn lines_across(outline: &BezPath) -> String {
    let mut edges: Vec<(Point, Point)> = Vec::new();
    let (mut first, mut last) = (Point::ZERO, Point::ZERO);
    kurbo::flatten(outline, 1e-3, |element| {
        let to = match element {
            PathEl::MoveTo(to) => {
                (first, last) = (to, to);
                return;
            }
            PathEl::LineTo(to) => to,
            _ => first,
        };
        edges.push((last, to));
        last = to;
    });
    let bounds = outline.bounding_box();
    let count = (bounds.height() / APART) as usize;
    let mut out = String::new();
    for line in 0..count {
        let y = bounds.y0 + (line as f64 + 0.5) * APART;
        let mut cuts: Vec<(f64, i32)> = edges
            .iter()
            .filter(|(a, b)| (a.y <= y) != (b.y <= y))
            .map(|(a, b)| {
                let x = a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y);
                (x, if b.y > a.y { 1 } else { -1 })
            })
            .collect();
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut winding = 0;
        let mut from = 0.0;
        for (x, way) in cuts {
            if winding == 0 {
                from = x;
            }
            winding += way;
            if winding == 0 {
                out += &format!("M{from:.3} {y:.3}H{x:.3}");
            }
        }
    }
    out
}

#[test]
fn of_names_filled_with_lines_the_one_that_lies_wrong_is_told() {
    the_one_that_lies_wrong_is_told(|put| {
        hatched(0, "Margaret", 6.0, "")
            + &hatched(1, "Marietta", 6.0, put)
            + &hatched(2, "Gretamar", 6.0, "")
    });
}
