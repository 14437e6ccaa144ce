//! Lettering against an independent computation: advance widths and outlines read by `ttf-parser`
//! from the built-in faces, placed by hand.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

mod against_usvg;
mod chunks;
mod lays;
mod odd_faces;
mod placing;
mod refusals;

use kurbo::{Affine, BezPath, Point, Shape, Size, Vec2};
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
    disputed: Vec<&'static str>,
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
    try_set_in(faces(), body, ctm)
}

fn try_set_in(faces: &Faces, body: &str, ctm: Affine) -> Result<Out, TextProblem> {
    try_set_as(faces, body, ctm, Lay::Browser)
}

fn try_set_as(faces: &Faces, body: &str, ctm: Affine, lay: Lay) -> Result<Out, TextProblem> {
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
            Some(target) if target.has_tag_name("arc") => {
                // True to far below what is compared, unlike an arc in path data read by kurbo.
                let number = |name| target.attribute(name).unwrap().parse::<f64>().unwrap();
                let (r, pi) = (number("r"), std::f64::consts::PI);
                let arc = kurbo::Arc::new((r, r), (r, r), -pi, number("sweep") * pi, 0.0);
                Ok(arc.to_path(1e-9))
            }
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
        around: &[],
        lay,
    };
    let Set { chunks, disputed } = lay_out(&input, faces)?;
    let names = chunks
        .iter()
        .map(|c| doc.get_node(c.node).unwrap())
        .map(|n| n.attribute("id").unwrap_or(n.tag_name().name()).to_owned())
        .collect();
    Ok(Out {
        chunks,
        names,
        disputed: disputed.into_iter().collect(),
    })
}

fn set(body: &str) -> Out {
    match try_set(body, Affine::IDENTITY) {
        Ok(out) => out,
        Err(problem) => panic!("{body}: {problem:?}"),
    }
}

fn refused(body: &str) -> String {
    match try_set(body, Affine::IDENTITY) {
        Ok(out) => panic!("{body} was laid out: {:?}", out.texts()),
        Err(problem) => {
            assert!(
                !problem.help.is_empty() && !problem.what.ends_with('.'),
                "{problem:?}"
            );
            problem.what
        }
    }
}

// The reference: faces read by hand.

fn hack() -> ttf_parser::Face<'static> {
    ttf_parser::Face::parse(epaint_default_fonts::HACK_REGULAR, 0).unwrap()
}

fn ubuntu() -> ttf_parser::Face<'static> {
    ttf_parser::Face::parse(epaint_default_fonts::UBUNTU_LIGHT, 0).unwrap()
}

fn advance(face: &ttf_parser::Face<'_>, text: &str, size: f64) -> f64 {
    let units: u32 = text
        .chars()
        .map(|c| {
            u32::from(
                face.glyph_hor_advance(face.glyph_index(c).unwrap())
                    .unwrap(),
            )
        })
        .sum();
    f64::from(units) * size / f64::from(face.units_per_em())
}

struct Ink(BezPath);

impl ttf_parser::OutlineBuilder for Ink {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((f64::from(x), f64::from(y)));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((f64::from(x), f64::from(y)));
    }
    fn quad_to(&mut self, a: f32, b: f32, x: f32, y: f32) {
        self.0
            .quad_to((f64::from(a), f64::from(b)), (f64::from(x), f64::from(y)));
    }
    fn curve_to(&mut self, a: f32, b: f32, c: f32, d: f32, x: f32, y: f32) {
        let (a, b, c, d) = (f64::from(a), f64::from(b), f64::from(c), f64::from(d));
        self.0
            .curve_to((a, b), (c, d), (f64::from(x), f64::from(y)));
    }
    fn close(&mut self) {
        self.0.close_path();
    }
}

/// A letter's outline where `placed` carries its foot and the direction of its line.
fn ink(face: &ttf_parser::Face<'_>, c: char, size: f64, placed: Affine) -> BezPath {
    let mut ink = Ink(BezPath::new());
    face.outline_glyph(face.glyph_index(c).unwrap(), &mut ink);
    let k = size / f64::from(face.units_per_em());
    placed * Affine::scale_non_uniform(k, -k) * ink.0
}

fn same_outline(actual: &BezPath, expected: &BezPath, what: &str) {
    let points = |path: &BezPath| -> Vec<Point> {
        path.elements()
            .iter()
            .filter_map(kurbo::PathEl::end_point)
            .collect()
    };
    let (a, e) = (points(actual), points(expected));
    assert_eq!(a.len(), e.len(), "{what}");
    for (p, q) in a.iter().zip(&e) {
        assert!(p.distance(*q) < CLOSE, "{what}: {p:?} should be at {q:?}");
    }
}

fn same_vector(actual: Vec2, expected: Vec2, what: &str) {
    assert!(
        (actual - expected).hypot() < 1e-5,
        "{what}: {actual:?} should be {expected:?}"
    );
}

/// Sets `text` with `ctm` and compares every letter with one placed by `place(pen)`.
fn compare(body: &str, ctm: Affine, text: &str, place: impl Fn(usize, f64) -> Affine) -> Out {
    let out = try_set(body, ctm).unwrap();
    let face = hack();
    let letters = out.letters();
    let mut pen = 0.0;
    let mut seen = 0;
    for (i, c) in text.chars().enumerate() {
        if c != ' ' {
            let expected = ink(&face, c, 10.0, ctm * place(i, pen));
            let letter = letters[seen];
            same_outline(&letter.path, &expected, &format!("{body} {c}"));
            assert_eq!(letter.text, c.to_string());
            assert_eq!(letter.bounds, letter.path.bounding_box());
            seen += 1;
        }
        pen += advance(&face, &c.to_string(), 10.0);
    }
    assert_eq!(letters.len(), seen);
    out
}
