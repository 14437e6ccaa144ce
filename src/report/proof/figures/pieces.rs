//! What the small drawings are made of.

use crate::report::proof::palette::{BLANK, BURNT, GREY, INK, PAPER, RIGHT, SHEET, WRONG};
use crate::report::proof::pen::num;
use crate::wording::escape;

/// Width and height of a panel.
pub(super) const PANEL: (f64, f64) = (120.0, 84.0);

/// Width and height of a tag.
pub(super) const TAG: (f64, f64) = (26.0, 62.0);

/// Where the left one of two tags stands, and the right one.
pub(super) const LEFT: (f64, f64) = (22.0, 12.0);
/// See [`LEFT`].
pub(super) const OTHER: (f64, f64) = (62.0, 12.0);
/// Where a single tag stands.
pub(super) const ALONE: (f64, f64) = (42.0, 12.0);

pub(super) fn right_sign() -> String {
    format!(
        "<circle cx=\"109\" cy=\"73\" r=\"8\" fill=\"{PAPER}\" stroke=\"{RIGHT}\" stroke-width=\"1.6\"/><path d=\"M105 73.5L108 77L113.5 69\" fill=\"none\" stroke=\"{RIGHT}\" stroke-width=\"2\"/>"
    )
}

pub(super) fn wrong_sign() -> String {
    format!(
        "<path d=\"M101 65H117V81H101Z\" fill=\"{PAPER}\" stroke=\"{WRONG}\" stroke-width=\"1.6\"/><path d=\"M105 69L113 77M113 69L105 77\" fill=\"none\" stroke=\"{WRONG}\" stroke-width=\"2.2\"/>"
    )
}

/// The sheet of a fixture.
pub(super) fn sheet() -> String {
    format!(
        "<rect x=\"6\" y=\"5\" width=\"104\" height=\"75\" fill=\"{SHEET}\" stroke=\"{INK}\" stroke-width=\"1\"/>"
    )
}

/// The bed, and a page on it.
pub(super) fn bed() -> String {
    format!(
        "<rect x=\"6\" y=\"5\" width=\"104\" height=\"75\" fill=\"{BLANK}\" stroke=\"{INK}\" stroke-width=\"1.6\"/>"
    )
}

fn shape((x, y): (f64, f64), how: &str) -> String {
    format!(
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"4\" {how}/>",
        num(x),
        num(y),
        num(TAG.0),
        num(TAG.1)
    )
}

/// A pocket with its blank: ring at the back, zone dotted.
pub(super) fn tag(at: (f64, f64)) -> String {
    let (x, y) = at;
    shape(
        at,
        &format!("fill=\"{BLANK}\" stroke=\"{INK}\" stroke-width=\"1.2\""),
    ) + &ring(x + TAG.0 / 2.0, y + 7.0)
        + &zone(at)
}

/// An opening of the sheet by itself.
pub(super) fn outline(at: (f64, f64)) -> String {
    shape(
        at,
        &format!("fill=\"{BLANK}\" stroke=\"{INK}\" stroke-width=\"1.8\""),
    )
}

/// The ring at a head end.
pub(super) fn ring(x: f64, y: f64) -> String {
    format!(
        "<circle cx=\"{0}\" cy=\"{1}\" r=\"3.6\" fill=\"{SHEET}\" stroke=\"{INK}\" stroke-width=\".8\"/><circle cx=\"{0}\" cy=\"{1}\" r=\"1.9\" fill=\"none\" stroke=\"{INK}\" stroke-width=\".8\"/>",
        num(x),
        num(y)
    )
}

/// The zone of a tag.
fn zone((x, y): (f64, f64)) -> String {
    format!(
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"{RIGHT}\" stroke-width=\"1.1\" stroke-dasharray=\".1 2.4\" stroke-linecap=\"round\"/>",
        num(x + 2.5),
        num(y + 16.0),
        num(TAG.0 - 5.0),
        num(TAG.1 - 18.5)
    )
}

/// A pocket where it should be, ghosted.
pub(super) fn ghost((x, y): (f64, f64)) -> String {
    shape(
        (x, y),
        &format!(
            "fill=\"none\" stroke=\"{RIGHT}\" stroke-width=\"1.6\" stroke-dasharray=\"5 2.5\""
        ),
    ) + &stripes(x + 1.0, y + 1.0, TAG.0 - 2.0, TAG.1 - 2.0, 6.0, RIGHT, 0.7)
}

/// A fixture line as the file has it: off its place.
pub(super) fn off_place(at: (f64, f64)) -> String {
    shape(
        at,
        &format!(
            "fill=\"none\" stroke=\"{WRONG}\" stroke-width=\"1.8\" stroke-dasharray=\"5 2.5\""
        ),
    )
}

/// A line that would be cut along a tag.
pub(super) fn cut_tag(at: (f64, f64)) -> String {
    shape(at, &cutting())
}

/// How lines look that would be cut.
fn cutting() -> String {
    format!("fill=\"none\" stroke=\"{WRONG}\" stroke-width=\"2.6\" stroke-dasharray=\"8 2 1.5 2\"")
}

/// A line that would be cut.
pub(super) fn cut(path: &str) -> String {
    format!("<path d=\"{path}\" {}/>", cutting())
}

/// A plain line.
pub(super) fn line(path: &str, width: f64) -> String {
    format!(
        "<path d=\"{path}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"{}\"/>",
        num(width)
    )
}

/// A thin dashed frame or line.
pub(super) fn faint(path: &str) -> String {
    format!(
        "<path d=\"{path}\" fill=\"none\" stroke=\"{GREY}\" stroke-width=\"1\" stroke-dasharray=\"4 2.5\"/>"
    )
}

/// A burnt shape.
pub(super) fn burnt(path: &str) -> String {
    format!("<path d=\"{path}\" fill=\"{BURNT}\"/>")
}

/// Burnt lettering, its middle at `x`, `y`.
pub(super) fn word(x: f64, y: f64, size: f64, text: &str) -> String {
    turned(x, y, size, text, "")
}

/// Lettering that the eye does not find: drawn as an outline, since it is there all the same.
pub(super) fn pale(x: f64, y: f64, size: f64, text: &str) -> String {
    format!(
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\" font-weight=\"600\" text-anchor=\"middle\" fill=\"{GREY}\" opacity=\".55\">{}</text>",
        num(x),
        num(y + size * 0.35),
        num(size),
        escape(text)
    )
}

/// Burnt lettering under a transform about its middle: `rotate(90)` say.
pub(super) fn turned(x: f64, y: f64, size: f64, text: &str, how: &str) -> String {
    format!(
        "<g transform=\"translate({} {})\"><text transform=\"{how}\" y=\"{}\" font-size=\"{}\" font-weight=\"600\" text-anchor=\"middle\" fill=\"{BURNT}\">{}</text></g>",
        num(x),
        num(y),
        num(size * 0.35),
        num(size),
        escape(text)
    )
}

/// A remark in the drawing.
pub(super) fn note(x: f64, y: f64, text: &str) -> String {
    format!(
        "<text x=\"{}\" y=\"{}\" font-size=\"8\" text-anchor=\"middle\" fill=\"{INK}\" stroke=\"{PAPER}\" stroke-width=\"2\" paint-order=\"stroke\">{}</text>",
        num(x),
        num(y),
        escape(text)
    )
}

/// An area that is too much, hatched.
pub(super) fn too_much(x: f64, y: f64, w: f64, h: f64) -> String {
    format!(
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"{WRONG}\" stroke-width=\"1.2\"/>",
        num(x),
        num(y),
        num(w),
        num(h)
    ) + &stripes(x, y, w, h, 3.5, WRONG, 1.3)
}

/// Slanting lines across a rectangle.
pub(super) fn stripes(
    x: f64,
    y: f64,
    w: f64,
    h: f64,
    gap: f64,
    colour: &str,
    width: f64,
) -> String {
    let mut path = String::new();
    let mut c = gap;
    // Lines x + y = c, cut off at the sides.
    while c < w + h {
        let (x0, y0) = if c <= h { (0.0, c) } else { (c - h, h) };
        let (x1, y1) = if c <= w { (c, 0.0) } else { (w, c - w) };
        path.push_str(&format!(
            "M{} {}L{} {}",
            num(x + x0),
            num(y + y0),
            num(x + x1),
            num(y + y1)
        ));
        c += gap;
    }
    format!(
        "<path d=\"{path}\" stroke=\"{colour}\" stroke-width=\"{}\"/>",
        num(width)
    )
}

/// An arrow.
pub(super) fn arrow(x0: f64, y0: f64, x1: f64, y1: f64) -> String {
    let (dx, dy) = (x1 - x0, y1 - y0);
    let l = dx.hypot(dy).max(1e-6);
    let (ux, uy) = (dx / l, dy / l);
    let (bx, by) = (x1 - ux * 6.0, y1 - uy * 6.0);
    format!(
        "<path d=\"M{} {}L{} {}\" stroke=\"{RIGHT}\" stroke-width=\"2\"/><path d=\"M{} {}L{} {}L{} {}Z\" fill=\"{RIGHT}\"/>",
        num(x0),
        num(y0),
        num(bx),
        num(by),
        num(x1),
        num(y1),
        num(bx - uy * 3.0),
        num(by + ux * 3.0),
        num(bx + uy * 3.0),
        num(by - ux * 3.0)
    )
}

/// A pocket without a blank.
pub(super) fn empty((x, y): (f64, f64)) -> String {
    shape(
        (x, y),
        &format!("fill=\"{SHEET}\" stroke=\"{INK}\" stroke-width=\"1.2\""),
    ) + &format!(
        "<path d=\"M{0} {1}L{2} {3}M{2} {1}L{0} {3}\" stroke=\"{GREY}\" stroke-width=\"1.6\"/>",
        num(x + 3.0),
        num(y + 3.0),
        num(x + TAG.0 - 3.0),
        num(y + TAG.1 - 3.0)
    )
}

/// A crest: burnt art that is no lettering, its top unmistakable.
pub(super) fn crest(x: f64, y: f64, how: &str) -> String {
    format!(
        "<g transform=\"translate({} {})\"><path transform=\"{how}\" d=\"M0 -9L3 -3H8V2Q8 8 0 11Q-8 8 -8 2V-3H-3Z\" fill=\"{BURNT}\"/></g>",
        num(x),
        num(y)
    )
}

/// A list of orders.
pub(super) fn list(names: &[&str]) -> String {
    let mut out = format!(
        "<rect x=\"8\" y=\"10\" width=\"40\" height=\"64\" fill=\"{PAPER}\" stroke=\"{INK}\" stroke-width=\"1.2\"/><text x=\"28\" y=\"20\" font-size=\"7\" text-anchor=\"middle\" fill=\"{GREY}\">orders</text>"
    );
    for (i, name) in names.iter().enumerate() {
        out.push_str(&format!(
            "<text x=\"13\" y=\"{}\" font-size=\"9\" fill=\"{INK}\">{}</text>",
            num(34.0 + 14.0 * i as f64),
            escape(name)
        ));
    }
    out
}

/// Two small blanks beside the list, lettered.
pub(super) fn batch(words: &[&str]) -> String {
    let mut out = String::new();
    for (i, text) in words.iter().enumerate() {
        let y = 12.0 + 22.0 * i as f64;
        out.push_str(&format!(
            "<rect x=\"56\" y=\"{}\" width=\"44\" height=\"17\" rx=\"4\" fill=\"{BLANK}\" stroke=\"{INK}\" stroke-width=\"1.2\"/>",
            num(y)
        ));
        out.push_str(&word(78.0, y + 8.5, 9.0, text));
    }
    out
}
