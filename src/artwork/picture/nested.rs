//! A drawing placed as a picture: readers turn it into pixels, so its ink is measured as pixels.
//!
//! The renderer leaves out what it does not know, and a sender might burn it unseen. So only a
//! drawing made entirely of what the renderer is sure to draw is measured; any other is reported.

use std::sync::Arc;

use roxmltree::{Document, Node};

use super::{Decoded, PictureProblem, inked, opaque, problem};
use crate::artwork::length::{LengthContext, length};
use crate::artwork::palette;

/// The resolution at which its inked part is looked for, in dots along the longer side.
const DOTS: f32 = 1_000.0;

/// Longer texts are refused: they would be slow to draw.
const MAX_BYTES: usize = 4_000_000;

/// Elements within elements that the renderer, which recurses, is trusted with.
const MAX_DEPTH: usize = 100;

/// Clip paths that it is trusted with: each can call another.
const MAX_CLIPS: usize = 8;

const SVG: &str = "http://www.w3.org/2000/svg";

/// Elements that the renderer draws, or that draw nothing by themselves.
const KNOWN: [&str; 18] = [
    "svg",
    "g",
    "a",
    "defs",
    "title",
    "desc",
    "metadata",
    "path",
    "rect",
    "circle",
    "ellipse",
    "line",
    "polyline",
    "polygon",
    "linearGradient",
    "radialGradient",
    "stop",
    "clipPath",
];

/// Words in the name or the value of an attribute that change what is drawn in ways the renderer may
/// not follow.
const DOUBTFUL: [&str; 9] = [
    "mask",
    "filter",
    "vector-effect",
    "transform-box",
    "systemLanguage",
    "requiredExtensions",
    "requiredFeatures",
    "var(",
    "calc(",
];

/// Measures the drawing in `bytes`.
pub(super) fn decode(bytes: &[u8]) -> Result<Decoded, PictureProblem> {
    let unreadable = || refusal("cannot be read");
    let text = std::str::from_utf8(bytes).map_err(|_| unreadable())?;
    if text.len() > MAX_BYTES {
        return Err(refusal("is too long to be looked at"));
    }
    // Without a document type there are no entities, so the text holds everything there is.
    let document = Document::parse(text).map_err(|_| unreadable())?;
    if document.descendants().any(|n| n.is_pi()) {
        return Err(refusal("calls for a style sheet of its own"));
    }
    let mut clips = 0;
    check(document.root_element(), 0, &mut clips)?;
    if far_numbers(text) {
        return Err(refusal(
            "has coordinates beyond anything that could lie on a bed",
        ));
    }
    // The renderer is only trusted with drawings it does not crash on.
    let mut drawn = std::panic::catch_unwind(|| draw(text))
        .ok()
        .flatten()
        .ok_or_else(unreadable)?;
    drawn.colours = palette::colours(&document);
    let root = document.root_element();
    let stated = |name: &str| root.attribute(name).is_some_and(|v| !v.contains('%'));
    drawn.sized = stated("width") && stated("height");
    if !drawn.sized && (root.has_attribute("preserveAspectRatio") || !root.has_attribute("viewBox"))
    {
        return Err(refusal(
            "states no size, so that readers fit it to its frame differently",
        ));
    }
    Ok(drawn)
}

fn refusal(what: &str) -> PictureProblem {
    problem(
        &format!("the drawing placed as a picture {what}"),
        "ungroup it into the drawing, or flatten it to a picture",
    )
}

/// Refuses an element that the renderer may leave out or follow without end.
fn check(node: Node<'_, '_>, depth: usize, clips: &mut usize) -> Result<(), PictureProblem> {
    let name = node.tag_name().name();
    match node.tag_name().namespace() {
        Some(SVG) => {}
        // No reader draws another program's private elements.
        Some(other) if depth > 0 && !other.ends_with("/xhtml") => return Ok(()),
        _ => return Err(refusal("cannot be read")),
    }
    *clips += usize::from(name == "clipPath");
    if depth > MAX_DEPTH || *clips > MAX_CLIPS {
        return Err(refusal("is too intricate to be measured"));
    }
    if !KNOWN.contains(&name) {
        return Err(refusal(&format!(
            "holds a \"{name}\", which is not measured there"
        )));
    }
    // The renderer leaves out what some readers draw.
    let lengths = LengthContext {
        whole: Some(1.0),
        ..LengthContext::default()
    };
    let sized = |side: &str| {
        let size = node.attribute(side).map(|text| length(text, &lengths));
        size.is_none_or(|size| size.is_ok_and(|size| size > 0.0))
    };
    if name == "svg" && depth > 0 && !(sized("width") && sized("height")) {
        return Err(refusal("holds another drawing without a size"));
    }
    if name == "metadata" {
        return Ok(());
    }
    for attribute in node.attributes() {
        let (own, value) = (attribute.name(), attribute.value());
        let elsewhere = own == "href" && name != "a" && !value.starts_with('#');
        if elsewhere || DOUBTFUL.iter().any(|w| own == *w || value.contains(w)) {
            return Err(refusal(&format!(
                "holds a \"{own}\", which is not followed there"
            )));
        }
    }
    node.children()
        .filter(Node::is_element)
        .try_for_each(|child| check(child, depth + 1, clips))
}

fn draw(text: &str) -> Option<Decoded> {
    let tree = usvg::Tree::from_str(text, &usvg::Options::default()).ok()?;
    let size = tree.size();
    let scale = DOTS / size.width().max(size.height());
    let (w, h) = (
        (size.width() * scale).ceil() as u32,
        (size.height() * scale).ceil() as u32,
    );
    let mut map = resvg::tiny_skia::Pixmap::new(w, h)?;
    resvg::render(
        &tree,
        resvg::tiny_skia::Transform::from_scale(scale, scale),
        &mut map.as_mut(),
    );
    let mut flat = image::RgbaImage::new(w, h);
    for (to, from) in flat.pixels_mut().zip(map.pixels()) {
        let c = from.demultiply();
        to.0 = [c.red(), c.green(), c.blue(), c.alpha()];
    }
    Some(Decoded {
        size: (f64::from(size.width()), f64::from(size.height())),
        sized: true,
        pixels: None,
        inked: inked(&flat),
        opaque: opaque(&flat),
        colours: Arc::default(),
    })
}

/// Whether a number of a hundred million or more seems to be written, which the renderer may take
/// for ever to draw. Colours are left out; anything else that looks like one is refused with it.
fn far_numbers(text: &str) -> bool {
    text.split(|c: char| !c.is_ascii_alphanumeric() && !matches!(c, '.' | '+' | '#'))
        .filter(|word| !word.contains('#'))
        .any(|word| {
            let long = word
                .split(|c: char| !c.is_ascii_digit() && c != '.')
                .any(|n| n.split('.').next().is_some_and(|whole| whole.len() > 8));
            let far = word.match_indices(['e', 'E']).any(|(at, _)| {
                let before = word.get(..at).unwrap_or("");
                let after = word.get(at + 1..).unwrap_or("").trim_start_matches('+');
                let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
                before.ends_with(|c: char| c.is_ascii_digit() || c == '.')
                    && !digits.is_empty()
                    && digits.parse::<u32>().map_or(true, |e| e > 3)
            });
            long || far
        })
}
