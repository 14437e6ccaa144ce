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

#[test]
fn an_upright_line_is_where_the_face_says() {
    let out = compare(
        r#"<text x="12.5" y="30">Anna Bell</text>"#,
        Affine::IDENTITY,
        "Anna Bell",
        |_, pen| Affine::translate((12.5 + pen, 30.0)),
    );
    assert_eq!(out.texts(), ["Anna Bell"]);
    for letter in out.letters() {
        same_vector(letter.up, Vec2::new(0.0, -1.0), "up");
        assert!(!letter.mirrored);
        assert!((letter.size - 10.0).abs() < 1e-6);
    }
    let face = hack();
    let k = 10.0 / f64::from(face.units_per_em());
    let letters = out.letters();
    assert!((letters[0].cap_height - k * f64::from(face.capital_height().unwrap())).abs() < 1e-6);
    assert!((letters[0].x_height - k * f64::from(face.x_height().unwrap())).abs() < 1e-6);
    assert!(
        letters[1]
            .foot
            .distance(Point::new(12.5 + advance(&face, "A", 10.0), 30.0))
            < CLOSE
    );
    let all: usize = letters.iter().map(|l| l.path.elements().len()).sum();
    assert_eq!(all, out.chunks[0].path.elements().len());
}

#[test]
fn tops_follow_every_transform() {
    let up = Vec2::new(0.0, -1.0);
    for (name, ctm, expected, mirrored) in [
        ("as it is", Affine::IDENTITY, up, false),
        (
            "half turn",
            Affine::new([-1.0, 0.0, 0.0, -1.0, 80.0, 60.0]),
            -up,
            false,
        ),
        (
            "left to right",
            Affine::new([-1.0, 0.0, 0.0, 1.0, 80.0, 0.0]),
            up,
            true,
        ),
        (
            "back to front",
            Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, 60.0]),
            -up,
            true,
        ),
        (
            "quarter turn",
            Affine::rotate(std::f64::consts::FRAC_PI_2),
            Vec2::new(1.0, 0.0),
            false,
        ),
        ("inches", Affine::scale(25.4 / 96.0), up, false),
        (
            "nested",
            Affine::translate((100.0, 50.0))
                * Affine::rotate(0.3)
                * Affine::scale(0.5)
                * Affine::rotate(0.4),
            Vec2::new(0.7_f64.sin(), -0.7_f64.cos()),
            false,
        ),
    ] {
        let body = r#"<text x="5" y="7">Kiln</text>"#;
        let out = compare(body, ctm, "Kiln", |_, pen| {
            Affine::translate((5.0 + pen, 7.0))
        });
        let scale = ctm.determinant().abs().sqrt();
        for letter in out.letters() {
            same_vector(letter.up, expected, name);
            assert_eq!(letter.mirrored, mirrored, "{name}");
            assert!(
                (letter.size - 10.0 * scale).abs() < 1e-5,
                "{name}: {}",
                letter.size
            );
        }
    }
}

#[test]
fn tops_follow_a_list_of_angles() {
    let body = r#"<text x="5" y="40" rotate="0 90 -45">Kiln</text>"#;
    let angles = [0.0, 90.0, -45.0, -45.0_f64];
    let out = compare(body, Affine::IDENTITY, "Kiln", |i, pen| {
        Affine::translate((5.0 + pen, 40.0)) * Affine::rotate(angles[i].to_radians())
    });
    for (letter, angle) in out.letters().iter().zip(angles) {
        let angle = angle.to_radians();
        same_vector(
            letter.up,
            Vec2::new(angle.sin(), -angle.cos()),
            &letter.text,
        );
    }
}

#[test]
fn an_angle_goes_on_into_inner_elements_and_theirs_go_first() {
    let body = r#"<text x="5" y="40" rotate="10 20">ab<tspan rotate="-30">c</tspan><tspan>d</tspan></text>"#;
    let angles = [10.0, 20.0, -30.0, 20.0_f64];
    compare(body, Affine::IDENTITY, "abcd", |i, pen| {
        Affine::translate((5.0 + pen, 40.0)) * Affine::rotate(angles[i].to_radians())
    });
}

#[test]
fn letters_stand_on_a_curve_and_hang_from_it_reversed() {
    let face = hack();
    let step = advance(&face, "o", 10.0);
    // A straight stretch to the right, then the same one back.
    for (d, start, direction) in [
        ("M 10 50 L 110 50", 10.0, 1.0),
        ("M 110 50 L 10 50", 110.0, -1.0),
    ] {
        let body = format!(
            r##"<path id="p" d="{d}"/><text><textPath href="#p" startOffset="10%">oval</textPath></text>"##
        );
        let out = compare(&body, Affine::IDENTITY, "oval", |_, pen| {
            let at = start + direction * (10.0 + pen);
            Affine::new([direction, 0.0, 0.0, direction, at, 50.0])
        });
        for letter in out.letters() {
            same_vector(letter.up, Vec2::new(0.0, -direction), d);
            assert!(!letter.mirrored);
        }
    }
    // On a circle every letter points away from the middle (or to it, the other way round).
    for outwards in [1.0, -1.0] {
        let d = outwards;
        let body = format!(
            r##"<arc xmlns="" id="p" r="40" sweep="{d}"/><text text-anchor="middle"><textPath xlink:href="#p" startOffset="50%">ring</textPath></text>"##
        );
        let out = try_set(&body, Affine::scale(0.25)).unwrap();
        let letters = out.letters();
        assert_eq!(letters.len(), 4);
        for (i, letter) in letters.iter().enumerate() {
            // The middle of a letter's advance is what stands on the curve.
            let along = (i as f64 - 1.5) * step / 40.0;
            let expected = Vec2::new(along.sin(), -along.cos() * outwards) * outwards;
            assert!(
                (letter.up - expected).hypot() < 1e-4,
                "{d} {i}: {:?} {expected:?}",
                letter.up
            );
            let middle = letter.foot + Vec2::new(-letter.up.y, letter.up.x) * (0.5 * 0.25 * step);
            let radius = middle.distance(Point::new(10.0, 10.0));
            assert!((radius - 10.0).abs() < CLOSE, "{d} {i}: {radius}");
        }
    }
}

#[test]
fn letters_on_a_curve_are_true_whatever_the_unit() {
    // Metres: usvg alone would measure this curve to half a metre.
    let d = "M 0 0 C 0.02 -0.03 0.06 -0.03 0.08 0";
    let metres = format!(
        r##"<path id="p" d="{d}"/><text font-size="0.01"><textPath href="#p" startOffset="0.03">wave</textPath></text>"##
    );
    let thousand = r##"<path id="p" d="M 0 0 C 20 -30 60 -30 80 0"/><text font-size="10"><textPath href="#p" startOffset="30">wave</textPath></text>"##;
    let a = try_set(&metres, Affine::scale(1000.0)).unwrap();
    let b = try_set(thousand, Affine::IDENTITY).unwrap();
    let curve = kurbo::CubicBez::new((0.0, 0.0), (20.0, -30.0), (60.0, -30.0), (80.0, 0.0));
    for (i, (p, q)) in a.letters().iter().zip(b.letters()).enumerate() {
        same_outline(&p.path, &q.path, &p.text);
        let step = advance(&hack(), "w", 10.0);
        let t = kurbo::ParamCurveArclen::inv_arclen(&curve, 30.0 + (i as f64 + 0.5) * step, 1e-9);
        let at = kurbo::ParamCurve::eval(&curve, t);
        let middle = p.foot + Vec2::new(-p.up.y, p.up.x) * (0.5 * step);
        assert!(middle.distance(at) < CLOSE, "{i}: {middle:?} {at:?}");
    }
}

#[test]
fn vertical_lines_lie_on_their_side() {
    let out = set(r#"<text x="20" y="10" writing-mode="tb">Ab</text>"#);
    let letters = out.letters();
    same_vector(letters[0].up, Vec2::new(1.0, 0.0), "A");
    let step = letters[1].foot - letters[0].foot;
    same_vector(
        step,
        Vec2::new(0.0, advance(&hack(), "A", 10.0)),
        "downwards",
    );
}

#[test]
fn lines_are_anchored_by_their_width() {
    let width = advance(&hack(), "Bell", 10.0);
    for (anchor, shift) in [("start", 0.0), ("middle", width / 2.0), ("end", width)] {
        let body = format!(r#"<text x="50" y="20" text-anchor="{anchor}">Bell</text>"#);
        compare(&body, Affine::IDENTITY, "Bell", |_, pen| {
            Affine::translate((50.0 - shift + pen, 20.0))
        });
    }
}

#[test]
fn spacing_widens_and_never_joins() {
    // Ubuntu joins f and i unless they are spaced.
    let plain = set(r#"<text x="0" y="20" font-family="Ubuntu Light">fin</text>"#);
    assert_eq!(plain.letters()[0].text, "fi");
    for more in [r#"letter-spacing="2""#, r#"font-variant-ligatures="none""#] {
        let body = format!(
            r#"<text x="0" y="20" font-family="Ubuntu Light" font-kerning="none" {more}>fin</text>"#
        );
        let out = set(&body);
        let face = ubuntu();
        let extra = if more.starts_with("letter") { 2.0 } else { 0.0 };
        let mut pen = 0.0;
        assert_eq!(out.texts(), ["fin"]);
        assert_eq!(out.letters().len(), 3, "{more}");
        for (letter, c) in out.letters().iter().zip("fin".chars()) {
            assert_eq!(letter.text, c.to_string());
            let expected = ink(&face, c, 10.0, Affine::translate((pen, 20.0)));
            same_outline(&letter.path, &expected, more);
            pen += advance(&face, &c.to_string(), 10.0) + extra;
        }
    }
    let out = set(r#"<text x="0" y="20" word-spacing="3">a b</text>"#);
    let expected = advance(&hack(), "a ", 10.0) + 3.0;
    assert!((out.letters()[1].foot.x - expected).abs() < CLOSE);
}

#[test]
fn a_fixed_length_is_kept() {
    let spaced = set(r#"<text x="10" y="20" textLength="60">Bell</text>"#);
    let step = advance(&hack(), "B", 10.0) + (60.0 - advance(&hack(), "Bell", 10.0)) / 3.0;
    for (i, letter) in spaced.letters().iter().enumerate() {
        assert!((letter.foot.x - 10.0 - step * i as f64).abs() < CLOSE);
    }
    let body = r#"<text x="50" y="20" textLength="60" lengthAdjust="spacingAndGlyphs" text-anchor="middle">Bell</text>"#;
    let stretched = set(body);
    let factor = 60.0 / advance(&hack(), "Bell", 10.0);
    for (i, letter) in stretched.letters().iter().enumerate() {
        let x = 20.0 + 15.0 * i as f64;
        assert!((letter.foot.x - x).abs() < CLOSE, "{} {x}", letter.foot.x);
        let plain = ink(
            &hack(),
            "Bell".chars().nth(i).unwrap(),
            10.0,
            Affine::IDENTITY,
        )
        .bounding_box();
        assert!((letter.bounds.width() - plain.width() * factor).abs() < CLOSE);
        assert!((letter.size - 10.0).abs() < 1e-6);
    }
    refused(r#"<text textLength="60">Be<tspan>ll</tspan></text>"#);
    refused(r#"<text textLength="60" letter-spacing="1">Bell</text>"#);
    refused(r#"<text textLength="60">Bell<tspan x="5" y="5">Ann</tspan></text>"#);
    // On an inner element that is a line by itself it is fine.
    let out = set(
        r#"<text><tspan x="0" y="9" textLength="30">An</tspan> <tspan x="0" y="30">Bo</tspan></text>"#,
    );
    assert_eq!(out.texts(), ["An", "Bo"]);
}

#[test]
fn twelve_names_are_twelve_chunks() {
    let names = [
        "Ada", "Ben", "Cleo", "Dan", "Eve", "Finn", "Gwen", "Hal", "Ida", "Jon", "Kim", "Leo",
    ];
    let mut body = String::from("<text text-anchor=\"middle\">\n");
    for (i, name) in names.iter().enumerate() {
        let (x, y) = (30 * (i % 4), 20 * (i / 4));
        body += &format!("  <tspan id=\"n{i}\" x=\"{x}\" y=\"{y}\">{name}</tspan>\n");
    }
    body += "</text>";
    let out = set(&body);
    assert_eq!(out.texts(), names);
    for (i, chunk) in out.chunks.iter().enumerate() {
        assert_eq!(out.names[i], format!("n{i}"));
        assert_eq!((chunk.line, chunk.spaced, chunk.dropped), (i, false, false));
        // The space before the next tspan is anchored with this one, in every reader.
        let space = if i == 11 { "" } else { " " };
        let width = advance(&hack(), &format!("{}{space}", names[i]), 10.0);
        let foot = chunk.lettering.letters[0].foot;
        let expected = Point::new(30.0 * (i % 4) as f64 - width / 2.0, 20.0 * (i / 4) as f64);
        assert!(
            foot.distance(expected) < CLOSE,
            "{i}: {foot:?} {expected:?}"
        );
    }
}

#[test]
fn a_change_of_style_starts_a_chunk_but_not_a_line() {
    let out = set(
        r#"<text id="t" x="1" y="9">Jo <tspan id="b" fill="red">Ann</tspan>a<tspan id="c" dx="3">by</tspan></text>"#,
    );
    assert_eq!(out.texts(), ["Jo", "Ann", "a", "by"]);
    assert_eq!(out.names, ["t", "b", "t", "c"]);
    let line: Vec<_> = out.chunks.iter().map(|c| (c.line, c.spaced)).collect();
    assert_eq!(line, [(0, false), (0, true), (0, false), (0, false)]);
    let expected = 1.0 + advance(&hack(), "Jo Anna", 10.0) + 3.0;
    assert!((out.letters()[6].foot.x - expected).abs() < CLOSE);
}

#[test]
fn a_word_placed_letter_by_letter_stays_a_word() {
    let out = set(r#"<text x="10 16.5 23 29.5 42" y="20">Anna!</text>"#);
    assert_eq!(out.texts(), ["Anna", "!"]);
    for (letter, x) in out.letters().iter().zip([10.0, 16.5, 23.0, 29.5, 42.0]) {
        assert!(letter.foot.distance(Point::new(x, 20.0)) < CLOSE);
    }
    let out = set(r#"<text x="10 16 22 28 34 40 46" y="20 20 20 20 20 20 20">An Bell</text>"#);
    assert_eq!(out.texts(), ["An Bell"]);
    assert_eq!(out.chunks[0].lettering.letters.len(), 6);
    // One list may still put letters into different pockets.
    let out = set(r#"<text x="10 60 110" y="20 20 50">ABC</text>"#);
    assert_eq!(out.texts(), ["A", "B", "C"]);
    let lines: Vec<_> = out.chunks.iter().map(|c| c.line).collect();
    assert_eq!(lines, [0, 1, 2]);
}

#[test]
fn white_space_is_folded_as_browsers_fold_it() {
    for (body, expected) in [
        ("<text>\n  Anna\t\n Bell \n</text>", vec!["Anna Bell"]),
        (
            "<text>Anna<tspan> Bell</tspan></text>",
            vec!["Anna", "Bell"],
        ),
        ("<text xml:space=\"preserve\">  A  b </text>", vec!["A b"]),
        ("<text>An<!-- note -->na</text>", vec!["Anna"]),
        ("<text>A<![CDATA[<&>]]>b</text>", vec!["A<&>b"]),
        ("<text>so\u{AD}ft\u{200B}</text>", vec!["soft"]),
    ] {
        assert_eq!(set(body).texts(), expected, "{body}");
    }
    let spaced = set("<text>Anna<tspan> Bell</tspan></text>");
    assert!(spaced.chunks[1].spaced);
    let expected = advance(&hack(), "Anna ", 10.0);
    assert!((spaced.letters()[4].foot.x - expected).abs() < CLOSE);
    let kept = set("<text xml:space=\"preserve\">  A  b </text>");
    assert!((kept.letters()[1].foot.x - advance(&hack(), "  A  ", 10.0)).abs() < CLOSE);
    let style = set("<text style=\"white-space:pre\">  A</text>");
    assert!((style.letters()[0].foot.x - advance(&hack(), "  ", 10.0)).abs() < CLOSE);
    refused("<text style=\"white-space:pre\">A\nB</text>");
}

#[test]
fn text_without_ink_is_no_chunk() {
    for body in [
        "<text/>",
        "<text>   </text>",
        "<text xml:space=\"preserve\">   </text>",
        "<text><tspan x=\"5\" y=\"5\"/></text>",
        "<text font-size=\"0\">Anna</text>",
        "<text>\u{200B}\u{AD}</text>",
        "<text><title>Anna</title></text>",
        "<text x=\"1 2 3\" y=\"4 5 6\" xml:space=\"preserve\">   </text>",
    ] {
        assert!(set(body).chunks.is_empty(), "{body}");
    }
    let out = set(r#"<text>a<tspan font-size="0">bc</tspan><tspan dx="0 2">de</tspan></text>"#);
    assert_eq!(out.texts(), ["a", "de"]);
    let step = advance(&hack(), "d", 10.0);
    let letters = out.letters();
    assert!((letters[2].foot.x - letters[1].foot.x - step - 2.0).abs() < CLOSE);
}

#[test]
fn what_is_not_displayed_is_laid_out_apart() {
    let out = set(
        r#"<text id="t" x="0" y="9">ab<tspan id="h" style="display:none">cd<tspan id="i">e</tspan></tspan>fg</text>"#,
    );
    assert_eq!(out.texts(), ["abfg", "cd", "e"]);
    let dropped: Vec<_> = out.chunks.iter().map(|c| c.dropped).collect();
    assert_eq!(dropped, [false, true, true]);
    assert_eq!(out.names, ["t", "h", "i"]);
    let step = advance(&hack(), "a", 10.0);
    let feet: Vec<f64> = out
        .letters()
        .iter()
        .map(|l| (l.foot.x / step).round())
        .collect();
    assert_eq!(feet, [0.0, 1.0, 2.0, 3.0, 2.0, 3.0, 4.0]);
}

#[test]
fn missing_faces_and_characters_are_named_and_still_drawn() {
    let out = set(r#"<text font-family="Brackenhand" font-weight="bold">Anna</text>"#);
    let missing = &out.chunks[0].lettering.missing;
    assert_eq!(missing.len(), 1);
    assert_eq!(
        (missing[0].family.as_str(), missing[0].style.as_str()),
        ("Brackenhand", "bold")
    );
    assert_eq!(missing[0].instead.as_deref(), Some("Ubuntu light"));
    assert_eq!(out.letters().len(), 4);

    let out = set(r#"<text font-weight="bold">Anna</text>"#);
    let missing = &out.chunks[0].lettering.missing;
    assert_eq!(
        (missing[0].family.as_str(), missing[0].style.as_str()),
        ("Hack", "bold")
    );

    // Hack has the first and not the second; neither has the third.
    let out = set("<text>a\u{256C}\u{B5}\u{FB02}\u{4E2D}b</text>");
    let missing = &out.chunks[0].lettering.missing;
    assert!(
        missing
            .iter()
            .all(|m| m.family == "Hack" && m.style.is_empty()),
        "{missing:?}"
    );
    let lacking: String = missing.iter().map(|m| m.characters.as_str()).collect();
    assert!(
        lacking.contains('\u{4E2D}') && !lacking.contains('a'),
        "{missing:?}"
    );
    let nowhere = missing
        .iter()
        .find(|m| m.characters.contains('\u{4E2D}'))
        .unwrap();
    assert_eq!(nowhere.instead, None);

    // One character that another face has: it alone is reported.
    let out = set("<text font-family=\"Ubuntu Light\">ab\u{256C}c</text>");
    let missing = &out.chunks[0].lettering.missing;
    assert_eq!(missing.len(), 1, "{missing:?}");
    assert_eq!(missing[0].characters, "\u{256C}");
    assert_eq!(missing[0].instead.as_deref(), Some("Hack"));
    assert_eq!(out.texts(), ["ab\u{256C}c"]);
}

#[test]
fn an_accent_is_part_of_its_letter() {
    let out = set("<text font-family=\"Ubuntu Light\">Zoe\u{308} No\u{EB}l</text>");
    let texts: Vec<_> = out.letters().iter().map(|l| l.text.clone()).collect();
    assert_eq!(texts, ["Z", "o", "e\u{308}", "N", "o", "\u{EB}", "l"]);
    assert!(out.chunks[0].lettering.missing.is_empty());
    // Two marks that no single glyph stands for.
    let out = set("<text>x\u{301}y</text>");
    assert_eq!(out.letters()[0].text, "x\u{301}");
    let alone = ink(&hack(), 'x', 10.0, Affine::IDENTITY).bounding_box();
    assert!(out.letters()[0].bounds.height() > alone.height() + 1.0);
    refused("<text x=\"1 2 9\">x\u{301}y</text>");
}

#[test]
fn decoration_lines_go_to_the_element_that_declares_them() {
    let plain = set(r#"<text y="20">Anna</text>"#);
    let under = set(r#"<text y="20" text-decoration="underline">Anna</text>"#);
    assert_eq!(under.chunks.len(), 1);
    let (p, u) = (
        plain.chunks[0].path.bounding_box(),
        under.chunks[0].path.bounding_box(),
    );
    assert!(u.y1 > p.y1 + 0.2 && u.width() > p.width(), "{p:?} {u:?}");
    assert!((u.width() - advance(&hack(), "Anna", 10.0)).abs() < CLOSE);
    let out = set(
        r#"<text id="t" y="20" text-decoration="line-through">An<tspan id="s" text-decoration="underline">na</tspan></text>"#,
    );
    assert_eq!(out.names, ["t", "s"]);
    // The stroke through the second half is the first element's.
    let through = out.chunks[0].path.bounding_box();
    assert!((through.width() - advance(&hack(), "Anna", 10.0)).abs() < CLOSE);
    let out =
        set(r#"<text id="t" y="20" text-decoration="underline"><tspan id="s">An</tspan></text>"#);
    assert_eq!(out.names, ["s", "t"]);
    assert!(
        out.chunks[1].lettering.letters.is_empty() && !out.chunks[1].path.elements().is_empty()
    );
    // Spaces are underlined too.
    let out = set(r#"<text xml:space="preserve" text-decoration="underline">  </text>"#);
    assert_eq!(out.chunks.len(), 1);
    assert!(
        (out.chunks[0].path.bounding_box().width() - advance(&hack(), "  ", 10.0)).abs() < CLOSE
    );
}

#[test]
fn shifts_add_up() {
    let out = set(
        r#"<text y="20">a<tspan baseline-shift="2">b<tspan baseline-shift="-3">c</tspan></tspan><tspan baseline-shift="10%">d</tspan><tspan baseline-shift="super">e</tspan></text>"#,
    );
    let feet: Vec<f64> = out.letters().iter().map(|l| l.foot.y).collect();
    for (foot, expected) in feet.iter().zip([20.0, 18.0, 21.0, 19.0]) {
        assert!((foot - expected).abs() < CLOSE, "{feet:?}");
    }
    assert!(feet[4] < 19.0);
    refused(r#"<text baseline-shift="2">a</text>"#);
}

#[test]
fn far_from_the_origin_nothing_is_lost() {
    // 50 m away, as some exports put it, brought back by a transform.
    let far = 50_000.0;
    let body = format!(
        r#"<text x="{}" y="{}">Anna<tspan x="{}" y="{}">Bell</tspan></text>"#,
        far + 10.0,
        far + 20.0,
        far + 15.0,
        far + 40.0
    );
    let ctm = Affine::translate((-far, -far));
    let near = set(r#"<text x="10" y="20">Anna<tspan x="15" y="40">Bell</tspan></text>"#);
    let out = try_set(&body, ctm).unwrap();
    for (a, b) in out.letters().iter().zip(near.letters()) {
        for (p, q) in a.path.elements().iter().zip(b.path.elements()) {
            if let (Some(p), Some(q)) = (p.end_point(), q.end_point()) {
                assert!(p.distance(q) < 1e-8, "{p:?} {q:?}");
            }
        }
    }
    let body = format!(
        r##"<path id="p" d="M {0} {0} L {1} {0}"/><text><textPath href="#p">oval</textPath></text>"##,
        far,
        far + 100.0
    );
    let out = try_set(&body, ctm).unwrap();
    let expected = ink(&hack(), 'o', 10.0, Affine::IDENTITY);
    same_outline(&out.letters()[0].path, &expected, "on a curve");
}

#[test]
fn nesting_is_capped() {
    let nested = |depth: usize| {
        format!(
            "<text>{}Anna{}</text>",
            "<tspan>".repeat(depth),
            "</tspan>".repeat(depth)
        )
    };
    assert_eq!(set(&nested(50)).texts(), ["Anna"]);
    assert_eq!(set(&nested(DEEPEST)).texts(), ["Anna"]);
    assert!(refused(&nested(DEEPEST + 1)).contains("nested"));
}

#[test]
fn size_is_capped() {
    assert!(
        refused(&format!("<text>{}</text>", "a".repeat(MOST_CHARACTERS + 1))).contains("200000")
    );
    refused(&format!("<text>{}</text>", "a".repeat(MOST_ON_A_LINE + 1)));
    refused(&format!(
        "<text>{}</text>",
        "<tspan>a</tspan>b".repeat(2000)
    ));
    let out = set(&format!(
        "<text>{}</text>",
        "<tspan>ab</tspan>c".repeat(100)
    ));
    assert_eq!(out.letters().len(), 300);
    refused("<text x=\"2e7\">a</text>");
    refused("<text x=\"1e99\">a</text>");
    refused("<text font-size=\"1e9\">a</text>");
    assert!(try_set("<text>a</text>", Affine::scale(1e9)).is_err());
    assert!(try_set("<text>a</text>", Affine::scale(f64::NAN)).is_err());
}

#[test]
fn what_readers_dispute_is_refused() {
    let path = r#"<path id="p" d="M0 0H200"/>"#;
    for body in [
        r#"<text style="inline-size:50px">a</text>"#,
        r#"<text style="shape-inside:url(#p)">a</text>"#,
        r#"<text direction="rtl">a</text>"#,
        r#"<text style="text-transform:uppercase">a</text>"#,
        r#"<text style="font-feature-settings:'ss01'">a</text>"#,
        r#"<text font-variant="small-caps">a</text>"#,
        r#"<text font-family="Brought Along, Hack">a</text>"#,
        r##"<text><tref xlink:href="#p"/></text>"##,
        r#"<text><altGlyph>a</altGlyph></text>"#,
        r#"<text>a<odd:note>b</odd:note></text>"#,
        r#"<text><tspan systemLanguage="en">a</tspan></text>"#,
        r#"<text x="1 2 three">abc</text>"#,
        r#"<text x="5ex">abc</text>"#,
        r##"<text><textPath href="#q">a</textPath></text>"##,
        r##"<text><textPath href="#p" side="right">a</textPath></text>"##,
        r##"<text><textPath href="#p" method="stretch">a</textPath></text>"##,
        r##"<text><textPath href="#p" path="M0 0H9">a</textPath></text>"##,
        r##"<text><tspan><textPath href="#p">a</textPath></tspan></text>"##,
        r##"<text x="7"><textPath href="#p">a</textPath></text>"##,
        r##"<text><textPath href="#p">a<tspan x="9">b</tspan></textPath></text>"##,
        r##"<text><textPath href="#p">a</textPath>b</text>"##,
        r##"<text><textPath href="#p">ab<tspan dx="-9">c</tspan></textPath></text>"##,
        r#"<text font-family="Ubuntu Light">f<tspan>i</tspan></text>"#,
        r#"<text font-family="Ubuntu Light" dx="0 1">fin</text>"#,
        r#"<text writing-mode="sideways-rl">a</text>"#,
    ] {
        refused(&format!("{path}{body}"));
    }
    // Values that change nothing are no reason to stop.
    let out = set(
        r##"<path id="p" d="M0 0H200"/><text style="inline-size:0;shape-inside:none;direction:ltr;font-variant:normal;font-feature-settings:normal;text-orientation:mixed;text-decoration:none;letter-spacing:normal;text-decoration-line:none;text-decoration-style:solid;text-decoration-color:#000000"><odd:note/><textPath href="#p">a</textPath>
        </text>"##,
    );
    assert_eq!(out.texts(), ["a"]);
}

#[test]
fn letters_past_the_end_of_a_curve_are_missed() {
    let what =
        refused(r##"<path id="p" d="M0 0H20"/><text><textPath href="#p">oval</textPath></text>"##);
    assert!(what.contains("by 1 of"), "{what}");
    refused(r##"<path id="p" d="M0 0H2"/><text><textPath href="#p">oval</textPath></text>"##);
}

#[test]
fn percentages_and_units_are_resolved() {
    let out = set(r#"<text x="50%" y="10%" dx="1em">a</text>"#);
    assert!(out.letters()[0].foot.distance(Point::new(110.0, 10.0)) < CLOSE);
    let out = set(r#"<text x="10mm" y="0.5in">a</text>"#);
    assert!(
        out.letters()[0]
            .foot
            .distance(Point::new(960.0 / 25.4, 48.0))
            < CLOSE
    );
}

#[test]
fn text_that_runs_to_the_left_is_read_from_the_right() {
    // Hack has no Hebrew, so every letter is missing; the order is still the reader's.
    let out = set("<text>\u{5D0}\u{5D1}\u{5D2}</text>");
    let lettering = &out.chunks[0].lettering;
    assert_eq!(lettering.text, "\u{5D0}\u{5D1}\u{5D2}");
    assert_eq!(lettering.missing[0].characters, "\u{5D0}\u{5D1}\u{5D2}");
    assert!(
        lettering
            .letters
            .windows(2)
            .all(|w| w[0].foot.x > w[1].foot.x)
    );
}

#[test]
fn our_outlines_are_those_that_usvg_draws() {
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" font-family="Ubuntu" font-weight="300" font-size="12"><text x="10" y="20" rotate="5 10">AVATAR Toffee</text></svg>"#;
    let options = usvg::Options {
        fontdb: faces().database(),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(svg, &options).unwrap();
    let usvg::Node::Text(text) = &tree.root().children()[0] else {
        panic!("no text")
    };
    let theirs = text.flattened().stroke_bounding_box();
    let body = r#"<text font-family="Ubuntu Light" font-size="12" x="10" y="20" rotate="5 10">AVATAR Toffee</text>"#;
    let ours = set(body).chunks[0].path.bounding_box();
    for (a, b) in [
        (ours.x0, theirs.left()),
        (ours.x1, theirs.right()),
        (ours.y0, theirs.top()),
        (ours.y1, theirs.bottom()),
    ] {
        assert!((a - f64::from(b)).abs() < CLOSE, "{ours:?} {theirs:?}");
    }
}

#[test]
fn the_same_input_gives_the_same_output() {
    let body = "<text font-family=\"nowhere, serif\" text-decoration=\"underline\">Zoe\u{308} \u{256C}\u{4E2D}<tspan>fi</tspan></text>";
    let (a, b) = (set(body), set(body));
    assert_eq!(a.chunks, b.chunks);
}
