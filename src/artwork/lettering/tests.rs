//! Lettering against an independent computation: advance widths and outlines read by `ttf-parser`
//! from the built-in faces, placed by hand.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

use kurbo::{Affine, BezPath, Point, Rect, Shape, Size, Vec2};
use roxmltree::{Document, Node};

use super::*;
use crate::artwork::fonts::Faces;

/// How far a letter may be from where it was computed to be, in millimetres.
const CLOSE: f64 = 1e-3;

/// Just enough of a cascade: attributes and `style=""` declarations, all inherited but a few.
fn computed(node: Node<'_, '_>) -> Vec<(String, String)> {
    const OWN: &[&str] = &[
        "baseline-shift",
        "alignment-baseline",
        "text-decoration",
        "display",
        "unicode-bidi",
        "inline-size",
        "shape-inside",
        "x",
        "y",
        "dx",
        "dy",
        "rotate",
        "id",
        "transform",
    ];
    let mut values = Vec::new();
    let chain: Vec<_> = node.ancestors().collect();
    for (depth, element) in chain.iter().enumerate().rev() {
        let style = element.attribute("style").unwrap_or("");
        let declared = style
            .split(';')
            .filter_map(|d| d.split_once(':'))
            .map(|(n, v)| (n.trim(), v.trim()));
        let attributes = element
            .attributes()
            .filter(|a| a.name() != "style")
            .map(|a| (a.name(), a.value()));
        for (name, value) in attributes.chain(declared) {
            if depth == 0 || !OWN.contains(&name) {
                values.push((name.to_owned(), value.to_owned()));
            }
        }
    }
    values
}

struct Out {
    chunks: Vec<Chunk>,
    names: Vec<String>,
}

impl Out {
    fn letters(&self) -> Vec<&crate::artwork::mark::Letter> {
        self.chunks
            .iter()
            .flat_map(|c| &c.lettering.letters)
            .collect()
    }

    fn texts(&self) -> Vec<&str> {
        self.chunks
            .iter()
            .map(|c| c.lettering.text.as_str())
            .collect()
    }
}

fn faces() -> &'static Faces {
    static FACES: std::sync::OnceLock<Faces> = std::sync::OnceLock::new();
    FACES.get_or_init(|| Faces::new(Vec::new(), false))
}

fn try_set(body: &str, ctm: Affine) -> Result<Out, TextProblem> {
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:odd="urn:odd" font-family="Hack" font-size="10">{body}</svg>"#
    );
    let doc = Document::parse(&svg).unwrap();
    let node = doc.descendants().find(|n| n.has_tag_name("text")).unwrap();
    let track = |node: Node<'_, '_>| {
        let href = node
            .attribute("href")
            .or_else(|| node.attribute(("http://www.w3.org/1999/xlink", "href")))
            .unwrap_or("");
        let target = doc
            .descendants()
            .find(|n| Some(n.attribute("id").unwrap_or("?")) == href.strip_prefix('#'));
        match target {
            Some(target) => Ok(BezPath::from_svg(target.attribute("d").unwrap()).unwrap()),
            None => Err(TextProblem::outline(
                "lettering follows a curve that is not in the file",
            )),
        }
    };
    let declared = vec!["Brought Along".to_owned()];
    let input = TextInput {
        node,
        style: &computed,
        track: &track,
        ctm,
        viewport: Size::new(200.0, 100.0),
        declared: &declared,
    };
    let chunks = lay_out(&input, faces())?;
    let names = chunks
        .iter()
        .map(|c| doc.get_node(c.node).unwrap())
        .map(|n| n.attribute("id").unwrap_or(n.tag_name().name()).to_owned())
        .collect();
    Ok(Out { chunks, names })
}

fn set(body: &str) -> Out {
    match try_set(body, Affine::IDENTITY) {
        Ok(out) => out,
        Err(problem) => panic!("{body}: {problem:?}"),
    }
}

#[test]
fn smoke() {
    let out = set(r#"<text x="10" y="20">Anna <tspan id="b">Bell</tspan></text>"#);
    assert_eq!(out.texts(), ["Anna", "Bell"]);
    for l in out.letters() {
        println!(
            "{:?} {:?} {:?} {:?} {} {} {}",
            l.text, l.bounds, l.up, l.foot, l.size, l.cap_height, l.x_height
        );
    }
    println!("{:?}", out.names);
    let _ = (Point::ZERO, Rect::ZERO, Vec2::ZERO, CLOSE);
    let _ = BezPath::new().bounding_box();
}
