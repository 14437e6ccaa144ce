//! A small document that holds one text and nothing else, laid out by usvg.
//!
//! Each piece is one `tspan` with everything it needs written on it, and its number as its fill
//! colour, by which its glyphs are found again.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::panic::{AssertUnwindSafe, catch_unwind};

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Vec2};
use unicode_normalization::char::is_combining_mark;
use usvg::fontdb::{Database, ID};
use usvg::tiny_skia_path::{self, PathSegment, Transform};
use usvg::{FontOpticalSizing, FontResolver, ImageHrefResolver, Node, Options, Paint};

use super::faced::Fonts;
use super::glyphs::Stand;
use super::laid::{Laid, Shaped, Stretch};
use super::line_metrics::FaceLines;
use super::runs::{Block, Piece};
use super::script::Script;
use super::style::{Lines, Shift, TextStyle};
use super::{TextProblem, ignorable};
use crate::artwork::fonts::{Chosen, Faces, has_axis};
use crate::ids::{At, FontId, Id, IdVec};
use crate::wording::markup;

/// How far a letter may be from its place along a curve, in millimetres. usvg measures curves to half
/// a unit, so the document is magnified until half a unit is less than this.
const ALONG_TRACK: f64 = 1e-4;

/// The same as a share of the curve's size. With a smaller share, long curves take very long to
/// measure.
const ALONG_TRACK_PART: f64 = 1e-7;

/// Stands in for a size of zero, which usvg would leave out of its count of characters. Letters of
/// that size are not looked at.
const NO_SIZE: f64 = 1e-6;

/// The zero width non-joiner keeps two letters from being drawn as one.
pub(super) const NON_JOINER: char = '\u{200C}';

/// Right-to-left embedding: what follows on the line runs to the left (Unicode Bidirectional
/// Algorithm, UAX 9, section 2.1).
pub(super) const LEFTWARD: char = '\u{202B}';

/// Scripts from Hebrew on join letters by rule, not for looks; those joins are left alone.
const FIRST_JOINING: char = '\u{590}';

/// Lays out all pieces of all blocks, in order. A piece without any glyph gives `None`. `starts` says
/// how much further along its curve each block starts.
pub(super) fn lay(
    script: &Script,
    blocks: &[Block],
    fonts: &Fonts,
    starts: &[f64],
    scale: f64,
    faces: &Faces,
) -> Result<Vec<Option<Laid>>, TextProblem> {
    let lines: IdVec<FontId, FaceLines> = fonts
        .chosen
        .iter()
        .map(|chosen| FaceLines::read(&faces.database(), chosen))
        .collect();
    let xml = write(script, blocks, fonts, &lines, starts, scale);
    // How far below the baseline usvg draws the middle of each piece's underline.
    let under: Vec<f64> = blocks
        .iter()
        .flat_map(|block| &block.pieces)
        .map(|piece| {
            lines[fonts.of_owner[piece.owner]].underline * script.owner(piece.owner).style.size
        })
        .collect();
    let count = blocks.iter().map(|block| block.pieces.len()).sum();
    let mut laid: Vec<Option<Laid>> = std::iter::repeat_with(|| None).take(count).collect();
    let read = catch_unwind(AssertUnwindSafe(|| {
        let tree = usvg::Tree::from_str(&xml, &options(fonts, faces)).ok()?;
        let database = faces.database();
        let mut reader = Reader {
            database: &database,
            optical: HashMap::new(),
            laid: &mut laid,
            under: &under,
        };
        reader.group(tree.root());
        Some(())
    }));
    match read {
        Ok(Some(())) => Ok(laid),
        _ => Err(TextProblem::outline("lettering could not be laid out")),
    }
}

fn options<'a>(fonts: &'a Fonts, faces: &'a Faces) -> Options<'a> {
    Options {
        fontdb: faces.database(),
        font_resolver: FontResolver {
            select_font: Box::new(|font, _| {
                let usvg::FontFamily::Named(name) = font.families().first()? else {
                    return None;
                };
                let number = name.strip_prefix('f')?.parse().ok()?;
                Some(fonts.chosen[FontId::new(number)].id)
            }),
            select_fallback: Box::new(|character, used, _| faces.fallback(character, used)),
        },
        // The document refers to no picture, and no file is ever read.
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    }
}

fn write(
    script: &Script,
    blocks: &[Block],
    fonts: &Fonts,
    lines: &IdVec<FontId, FaceLines>,
    starts: &[f64],
    scale: f64,
) -> String {
    let mut xml =
        String::from(r#"<svg xmlns="http://www.w3.org/2000/svg" width="100" height="100">"#);
    let mut number = 0;
    for (at, (block, moved)) in blocks.iter().zip(starts).enumerate() {
        let track = block.track.map(|t| &script.tracks[t]);
        let mut magnified = 1.0;
        if let Some(track) = track {
            let d = path_data(&track.path, block.origin.to_vec2());
            let _ = write!(xml, r#"<defs><path id="t{at}" d="{d}"/></defs>"#);
            magnified = magnification(track.path.control_box(), scale);
        }
        let mode = if script.vertical() {
            r#" writing-mode="tb""#
        } else {
            ""
        };
        let _ = write!(
            xml,
            r#"<g transform="scale({magnified})"><text xml:space="preserve"{mode}>"#
        );
        if let Some(track) = track {
            let _ = write!(
                xml,
                r##"<textPath href="#t{at}" startOffset="{}">"##,
                track.start + moved
            );
        }
        for piece in &block.pieces {
            write_piece(&mut xml, script, piece, fonts, lines, number);
            number += 1;
        }
        xml.push_str(if track.is_some() {
            "</textPath></text></g>"
        } else {
            "</text></g>"
        });
    }
    xml.push_str("</svg>");
    xml
}

/// How much a document with a curve is magnified: usvg's accuracy along the curve is half a drawn
/// unit.
fn magnification(bounds: Rect, scale: f64) -> f64 {
    let size = bounds.width().hypot(bounds.height());
    let accuracy = (ALONG_TRACK / scale.max(f64::MIN_POSITIVE)).max(ALONG_TRACK_PART * size);
    (0.5 / accuracy).clamp(1.0, 1e9)
}

fn write_piece(
    xml: &mut String,
    script: &Script,
    piece: &Piece,
    fonts: &Fonts,
    lines: &IdVec<FontId, FaceLines>,
    number: usize,
) {
    let style = &script.owner(piece.owner).style;
    // The shifts of all elements around add up.
    let raised: f64 = script
        .around(piece.owner)
        .map(|(id, owner)| {
            let half = lines[fonts.of_owner[id]].half_height * owner.style.size;
            match owner.style.shift {
                Shift::None => 0.0,
                Shift::By(by) => by,
                Shift::Super => half,
                Shift::Sub => -half,
            }
        })
        .sum();
    if raised != 0.0 {
        let _ = write!(xml, r#"<tspan baseline-shift="{raised}">"#);
    }
    let font = fonts.of_owner[piece.owner];
    let size = if style.size > 0.0 {
        style.size
    } else {
        NO_SIZE
    };
    let _ = write!(
        xml,
        r##"<tspan fill="#{number:06x}" font-family="f{}" font-size="{size}" text-anchor="{}""##,
        font.number(),
        style.anchor,
    );
    let leftward = style.leftward && piece.starts;
    let mut text = split_joined(style, piece);
    if leftward {
        text.insert(0, LEFTWARD);
    }
    attributes(xml, style, &fonts.chosen[font]);
    for (name, value) in [("x", piece.x), ("y", piece.y)] {
        if let Some(value) = value {
            let _ = write!(xml, r#" {name}="{value}""#);
        }
    }
    let ours = !piece.text.contains(NON_JOINER) && text.contains(NON_JOINER);
    // usvg adds letter spacing after a non-joiner too; this takes it back.
    let back = -spaced_out(style);
    for (name, list, back) in [
        ("dx", &piece.dx, back),
        ("dy", &piece.dy, 0.0),
        ("rotate", &piece.rotate, 0.0),
    ] {
        if list.is_empty() && (back == 0.0 || !(ours || leftward)) {
            continue;
        }
        let _ = write!(xml, r#" {name}=""#);
        let mut values = list.iter();
        for (at, c) in text.chars().enumerate() {
            let next = |values: &mut std::slice::Iter<'_, f64>| values.next().copied();
            let value = match at {
                // The direction mark at the start has no rotation of its own and moves with the whole
                // text.
                0 if leftward && name == "rotate" => 0.0,
                1 if leftward && name != "rotate" => back,
                _ if ours && c == NON_JOINER => back,
                _ => next(&mut values).unwrap_or(0.0),
            };
            let _ = write!(xml, "{value} ");
        }
        xml.push('"');
    }
    if let Some(stretched) = piece.stretched {
        let adjust = if stretched.glyphs {
            "spacingAndGlyphs"
        } else {
            "spacing"
        };
        let _ = write!(
            xml,
            r#" textLength="{}" lengthAdjust="{adjust}""#,
            stretched.length
        );
    }
    // usvg asserts that a decorated piece holds at least one cluster of its own.
    let clustered = |c: char| !ignorable(c) && !is_combining_mark(c);
    if script.declares(piece.owner, Lines::any).is_some() && piece.text.chars().any(clustered) {
        // The underline shows where any decoration line runs.
        xml.push_str(r#" text-decoration="underline""#);
    }
    xml.push('>');
    xml.push_str(&markup(&text));
    xml.push_str("</tspan>");
    if raised != 0.0 {
        xml.push_str("</tspan>");
    }
}

fn attributes(xml: &mut String, style: &TextStyle, chosen: &Chosen) {
    for (name, value) in [
        ("letter-spacing", style.letter_spacing),
        ("word-spacing", style.word_spacing),
    ] {
        if value != 0.0 {
            let _ = write!(xml, r#" {name}="{value}""#);
        }
    }
    for (name, value) in [
        ("dominant-baseline", &style.dominant),
        ("alignment-baseline", &style.alignment),
    ] {
        if let Some(value) = value {
            let _ = write!(xml, r#" {name}="{value}""#);
        }
    }
    if !style.kerning {
        // A property, not an attribute, for usvg as for browsers.
        xml.push_str(r#" style="font-kerning:none""#);
    }
    if style.small_caps {
        xml.push_str(r#" font-variant="small-caps""#);
    }
    if !style.optical {
        xml.push_str(r#" font-optical-sizing="none""#);
    }
    // The file's own settings win over what weight, width and slope come to.
    let settings: Vec<String> = chosen
        .axes
        .iter()
        .filter(|(tag, _)| style.axes.iter().all(|(own, _)| own != tag))
        .chain(&style.axes)
        .map(|(tag, value)| format!("'{}' {value}", String::from_utf8_lossy(tag)))
        .collect();
    if !settings.is_empty() {
        let _ = write!(xml, r#" font-variation-settings="{}""#, settings.join(", "));
    }
}

/// How far usvg advances after a character that we inserted: by the letter spacing, but never
/// backwards.
fn spaced_out(style: &TextStyle) -> f64 {
    style.letter_spacing.max(0.0)
}

/// How much longer a piece on a curve is for usvg than it really is.
pub(super) fn longer(style: &TextStyle, piece: &Piece) -> f64 {
    let ours = split_joined(style, piece).chars().count() - piece.text.chars().count();
    let leftward = usize::from(style.leftward && piece.starts);
    spaced_out(style) * (ours + leftward) as f64
}

/// The text with letters kept apart that the face would join, where readers do so: with extra
/// space between letters (CSS Text 3, section 8.2.1) or joins switched off.
fn split_joined(style: &TextStyle, piece: &Piece) -> String {
    if style.letter_spacing == 0.0 && style.ligatures || piece.text.contains(NON_JOINER) {
        return piece.text.clone();
    }
    let joins = |c: char| c.is_alphabetic() && c < FIRST_JOINING;
    let mut text = String::new();
    let mut last = None;
    for c in piece.text.chars() {
        if joins(c) && last.is_some_and(joins) {
            text.push(NON_JOINER);
        }
        text.push(c);
        last = Some(c);
    }
    text
}

/// Path data relative to the curve's start, in the plainest form there is.
fn path_data(path: &BezPath, origin: Vec2) -> String {
    let mut d = String::new();
    let point = |d: &mut String, p: Point| {
        let p = p - origin;
        let _ = write!(d, " {} {}", p.x, p.y);
    };
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => {
                d.push('M');
                point(&mut d, p);
            }
            PathEl::LineTo(p) => {
                d.push('L');
                point(&mut d, p);
            }
            PathEl::QuadTo(p1, p2) => {
                d.push('Q');
                point(&mut d, p1);
                point(&mut d, p2);
            }
            PathEl::CurveTo(p1, p2, p3) => {
                d.push('C');
                point(&mut d, p1);
                point(&mut d, p2);
                point(&mut d, p3);
            }
            PathEl::ClosePath => d.push('Z'),
        }
    }
    d
}

/// Reads back what usvg laid out.
struct Reader<'a> {
    database: &'a Database,
    /// Which faces can be set to an optical size.
    optical: HashMap<ID, bool>,
    laid: &'a mut [Option<Laid>],
    /// How far below its baseline each piece's underline is.
    under: &'a [f64],
}

impl Reader<'_> {
    fn group(&mut self, group: &usvg::Group) {
        for node in group.children() {
            match node {
                Node::Group(group) => self.group(group),
                Node::Text(text) => text.layouted().iter().for_each(|span| self.span(span)),
                Node::Path(_) | Node::Image(_) => {}
            }
        }
    }

    fn span(&mut self, span: &usvg::layout::Span) {
        let Some(Paint::Color(colour)) = span.fill.as_ref().map(usvg::Fill::paint) else {
            return;
        };
        let number = u32::from_be_bytes([0, colour.red, colour.green, colour.blue]) as usize;
        let piece = self.laid.at_mut(number).get_or_insert_default();
        let axes: Vec<([u8; 4], f32)> = span.variations.iter().map(|v| (v.tag, v.value)).collect();
        let optical = span.font_optical_sizing == FontOpticalSizing::Auto
            && axes.iter().all(|(tag, _)| tag != b"opsz");
        for glyph in &span.positioned_glyphs {
            let mut axes = axes.clone();
            let settable = |database| has_axis(database, glyph.font, *b"opsz");
            if optical
                && *self
                    .optical
                    .entry(glyph.font)
                    .or_insert_with(|| settable(self.database))
            {
                // CSS Fonts 4, section 7.3: the optical size follows the font size.
                axes.push((*b"opsz", glyph.font_size()));
            }
            piece.glyphs.push(Shaped {
                stand: Stand::new(glyph.font, &axes),
                // Faces hold at most 65,535 glyphs; a larger number names none.
                glyph: u16::try_from(glyph.id.0).unwrap_or(0),
                placed: affine(glyph.outline_transform()),
                text: glyph.text.clone(),
            });
        }
        if let Some(path) = &span.underline {
            piece.stretches = stretches(path.data(), *self.under.at(number));
        }
    }
}

fn affine(t: Transform) -> Affine {
    Affine::new([t.sx, t.ky, t.kx, t.sy, t.tx, t.ty].map(f64::from))
}

/// The baseline above an underline of usvg's: rectangles, each from its top left corner along its top,
/// whose middle is `under` below the baseline.
fn stretches(path: &tiny_skia_path::Path, under: f64) -> Vec<Stretch> {
    let mut corners: Vec<Vec<Point>> = Vec::new();
    for segment in path.segments() {
        match segment {
            PathSegment::MoveTo(p) => corners.push(vec![Point::new(p.x.into(), p.y.into())]),
            PathSegment::LineTo(p) => {
                if let Some(last) = corners.last_mut() {
                    last.push(Point::new(p.x.into(), p.y.into()));
                }
            }
            _ => {}
        }
    }
    corners
        .iter()
        .filter_map(|corners| {
            let [a, b, c, d, ..] = corners.as_slice() else {
                return None;
            };
            let down = *d - *a;
            let down = down / down.hypot();
            (down.is_finite()).then(|| Stretch {
                from: a.midpoint(*d) - under * down,
                to: b.midpoint(*c) - under * down,
                down,
            })
        })
        .collect()
}
