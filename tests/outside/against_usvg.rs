//! Against usvg 0.49 (another reader of SVG, `docs.rs/usvg`): every path that it keeps lies where ours
//! does, in drawings made by chance and in the examples.
//!
//! usvg drops what it would not draw, so only what it keeps is compared, in document order. Its
//! circles and arcs are one cubic a quarter turn, off by 2.7e-4 of the radius; that is allowed for.

use super::drawings;

use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::mark::{Content, Hidden, Mark, Paint, Role};
use jigwarden::tested::artwork::resolve::{ReadOptions, resolve};
use jigwarden::tested::artwork::source::Source;
use kurbo::{Affine, BezPath, Rect, Shape as _};

const MM: f64 = 25.4 / 96.0;

/// Boxes agree to this, in millimetres, where there are no arcs.
const AGREE: f64 = 1e-2;

/// What one reader says of one element: the box of its outline on the page, its stroke's width.
#[derive(Debug)]
struct Seen {
    bounds: Rect,
    width: Option<f64>,
}

fn ours(text: &str) -> Vec<Seen> {
    let source = Source::from_bytes("made.svg", text.as_bytes().to_vec()).unwrap();
    let faces = Faces::new(Vec::new(), false);
    let reading = ReadOptions {
        units: jigwarden::tested::artwork::length::RootUnits::CSS,
        placing: None,
        faces: &faces,
    };
    let artwork = resolve(&source, &reading).unwrap();
    let doubts: Vec<_> = artwork.unproven.iter().map(|u| &u.what).collect();
    assert!(doubts.is_empty(), "{doubts:?} in {text}");
    let c = artwork.census;
    assert_eq!(c.candidates, c.marks + c.parts + c.inert + c.unproven);
    let mut seen: Vec<Seen> = Vec::new();
    let mut last: Option<&Mark> = None;
    for mark in &artwork.marks {
        let kept = matches!(mark.content, Content::Shape)
            && mark.hidden != Some(Hidden::NotDisplayed)
            && mark.paint != Paint::None;
        if !kept {
            continue;
        }
        let width = match &mark.role {
            Role::Stroke(line) => Some(line.width),
            _ => None,
        };
        // The line of an element that is filled as well belongs to the same path.
        match (last, seen.last_mut()) {
            (Some(before), Some(one))
                if before.origin == mark.origin
                    && width.is_some()
                    && matches!(before.role, Role::Fill { .. }) =>
            {
                one.width = width;
            }
            _ => seen.push(Seen {
                bounds: mark.path.bounding_box(),
                width,
            }),
        }
        last = Some(mark);
    }
    seen
}

fn theirs(text: &str) -> Vec<Seen> {
    let tree = usvg::Tree::from_str(text, &usvg::Options::default()).unwrap();
    let mut seen = Vec::new();
    gather(tree.root(), &mut seen);
    seen
}

fn gather(group: &usvg::Group, seen: &mut Vec<Seen>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(inner) => gather(inner, seen),
            // A path without any paint is kept for its id.
            usvg::Node::Path(path) if path.fill().is_none() && path.stroke().is_none() => {}
            usvg::Node::Path(path) => {
                let t = path.abs_transform();
                let matrix = Affine::new([t.sx, t.ky, t.kx, t.sy, t.tx, t.ty].map(f64::from));
                let curves = Affine::scale(MM) * matrix * curves(path.data());
                seen.push(Seen {
                    bounds: curves.bounding_box(),
                    width: path.stroke().map(|s| f64::from(s.width().get())),
                });
            }
            usvg::Node::Image(_) | usvg::Node::Text(_) => {}
        }
    }
}

fn curves(path: &usvg::tiny_skia_path::Path) -> BezPath {
    use usvg::tiny_skia_path::{PathSegment, Point};
    let p = |p: Point| (f64::from(p.x), f64::from(p.y));
    let mut out = BezPath::new();
    for segment in path.segments() {
        match segment {
            PathSegment::MoveTo(a) => out.move_to(p(a)),
            PathSegment::LineTo(a) => out.line_to(p(a)),
            PathSegment::QuadTo(a, b) => out.quad_to(p(a), p(b)),
            PathSegment::CubicTo(a, b, c) => out.curve_to(p(a), p(b), p(c)),
            PathSegment::Close => out.close_path(),
        }
    }
    out
}

/// Compares one drawing; returns how many paths were compared.
fn compare(name: &str, text: &str) -> usize {
    let (ours, theirs) = (ours(text), theirs(text));
    let list = |seen: &[Seen]| {
        seen.iter()
            .map(|s| format!("{:.3?} {:?}\n", s.bounds, s.width))
            .collect::<String>()
    };
    assert_eq!(
        ours.len(),
        theirs.len(),
        "{name}: {text}\nours:\n{}theirs:\n{}",
        list(&ours),
        list(&theirs)
    );
    for (i, (a, b)) in ours.iter().zip(&theirs).enumerate() {
        let off = [
            a.bounds.x0 - b.bounds.x0,
            a.bounds.y0 - b.bounds.y0,
            a.bounds.x1 - b.bounds.x1,
            a.bounds.y1 - b.bounds.y1,
        ]
        .into_iter()
        .fold(0.0, |most: f64, d| most.max(d.abs()));
        let size = a.bounds.width().hypot(a.bounds.height());
        assert!(
            off <= AGREE + 2.8e-4 * size,
            "{name}: path {i} is {off} mm off: ours {:?}, theirs {:?}\n{text}",
            a.bounds,
            b.bounds
        );
        match (a.width, b.width) {
            (None, None) => {}
            (Some(x), Some(y)) => assert!((x - y).abs() < 1e-4, "{name}: path {i}: {x}, {y}"),
            other => panic!("{name}: path {i}: strokes {other:?}\n{text}"),
        }
    }
    ours.len()
}

#[test]
fn three_hundred_drawings_made_by_chance() {
    let compared: usize = (0..300)
        .map(|seed| compare(&format!("drawing {seed}"), &drawings::drawing(seed, false)))
        .sum();
    assert!(compared > 1_500, "only {compared} paths were compared");
}

#[test]
fn every_example() {
    let mut compared = 0;
    let examples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples");
    let mut folders = vec![examples];
    while let Some(folder) = folders.pop() {
        let mut entries: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().path())
            .collect();
        entries.sort();
        for path in entries {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "svg") && !name.contains("not-proven") {
                let text = std::fs::read_to_string(&path).unwrap();
                compared += compare(&name, &text);
            }
        }
    }
    assert!(compared > 500, "only {compared} paths were compared");
}
