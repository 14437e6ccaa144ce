//! A run as plain SVG that any editor opens: page in millimetres, one user unit a millimetre, shapes
//! and lettering with every property written out.

use std::fmt::Write as _;

use kurbo::{Affine, BezPath};

use super::attributes::attributes;
use super::typeset::Block;
use crate::artwork::fonts::FaceName;
use crate::artwork::mark::Colour;
use crate::fixture::lock::{Lock, path_text};
use crate::fixture::settings::Align;
use crate::units::trimmed;
use crate::wording::markup;

/// Decimals of a written number: a tenth of a micrometre.
const DECIMALS: usize = 4;

/// How wide the fixture's own lines are drawn, in millimetres. They are not run: wide enough to be
/// seen, and no wider.
const LINE: f64 = 0.1;

/// A name in its place.
pub(super) struct Name<'a> {
    pub(super) block: &'a Block,
    /// Size of the em, in millimetres.
    pub(super) size: f64,
    /// From the block's middle, to the right along its lines and downwards, to the bed.
    pub(super) placed: Affine,
}

/// Art that is drawn as it is.
pub(super) struct Shape {
    /// On the bed.
    pub(super) path: BezPath,
    /// What it is painted with, as attributes.
    pub(super) paint: String,
}

/// What all names of a run are set with.
pub(super) struct Style<'a> {
    pub(super) face: &'a FaceName,
    pub(super) align: Align,
    pub(super) paint: Colour,
    /// Outlines in place of live lettering.
    pub(super) outlines: bool,
}

/// The file. `off` is the paint of the fixture's own lines; without it they are left out.
pub(super) fn write(
    lock: &Lock,
    off: Option<Colour>,
    under: &[Shape],
    names: &[Name<'_>],
    style: &Style<'_>,
) -> String {
    let page = lock.page;
    // User units are millimetres from where the fixture drawing has its origin.
    let to_page = Affine::translate(-page.rect.origin().to_vec2() - page.origin);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"{x} {y} {w} {h}\">\n",
        w = n(page.rect.width()),
        h = n(page.rect.height()),
        x = n(-page.origin.x),
        y = n(-page.origin.y),
    );
    if let Some(off) = off {
        let _ = writeln!(
            out,
            "<g fill=\"none\" stroke=\"{off}\" stroke-width=\"{LINE}\">"
        );
        for outline in &lock.outlines {
            let path = to_page * outline.contour.path.clone();
            let _ = writeln!(out, "<path d=\"{}\"/>", path_text(&path));
        }
        out.push_str("</g>\n");
    }
    if !under.is_empty() {
        out.push_str("<g>\n");
        for shape in under {
            let path = to_page * shape.path.clone();
            let _ = writeln!(out, "<path d=\"{}\" {}/>", path_text(&path), shape.paint);
        }
        out.push_str("</g>\n");
    }
    out.push_str("<g>\n");
    for name in names {
        let placed = to_page * name.placed;
        out.push_str(&if style.outlines {
            outlined(name, placed, style.paint)
        } else {
            live(name, placed, style)
        });
    }
    out.push_str("</g>\n</svg>\n");
    out
}

fn n(value: f64) -> String {
    trimmed(value, DECIMALS)
}

fn live(name: &Name<'_>, placed: Affine, style: &Style<'_>) -> String {
    let [a, b, c, d, e, f] = placed.as_coeffs();
    let upright = (a - 1.0).abs() + b.abs() + c.abs() + (d - 1.0).abs() < 1e-9;
    // An upright name needs no transform, and is the easier to edit.
    let (shift, transform) = if upright {
        ((e, f), String::new())
    } else {
        let m = [a, b, c, d].map(|v| trimmed(v, 9)).join(" ");
        let matrix = format!(" transform=\"matrix({m} {} {})\"", n(e), n(f));
        ((0.0, 0.0), matrix)
    };
    let lines: Vec<(String, String, String)> = name
        .block
        .anchors()
        .map(|(line, at)| {
            let at = at.to_vec2() * name.size;
            (n(at.x + shift.0), n(at.y + shift.1), markup(&line.text))
        })
        .collect();
    let common = format!(
        "{} font-size=\"{}\" fill=\"{}\"{transform}",
        attributes(style.face, style.align),
        n(name.size),
        style.paint
    );
    match lines.as_slice() {
        [(x, y, text)] => format!("<text x=\"{x}\" y=\"{y}\" {common}>{text}</text>\n"),
        _ => {
            let spans: Vec<String> = lines
                .iter()
                .map(|(x, y, text)| format!("<tspan x=\"{x}\" y=\"{y}\">{text}</tspan>"))
                .collect();
            format!("<text {common}>{}</text>\n", spans.concat())
        }
    }
}

fn outlined(name: &Name<'_>, placed: Affine, paint: Colour) -> String {
    let mut out = String::new();
    for (line, at) in name.block.anchors() {
        let motion = placed * Affine::scale(name.size) * Affine::translate(at.to_vec2());
        let path = motion * line.path.clone();
        let _ = writeln!(out, "<path d=\"{}\" fill=\"{paint}\"/>", path_text(&path));
    }
    out
}
