//! No label of a drawing covers another, a ring, or what is burnt: over every example, on the drawing of
//! the fixture or the bed and on every close-up.

use std::path::{Path, PathBuf};

use jigwarden::tested::inspect::{Options, inspect};
use jigwarden::tested::report::proof;
use kurbo::Rect;
use roxmltree::{Document, Node, ParsingOptions};

fn examples() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples");
    let folders = |under: &Path| -> Vec<PathBuf> {
        let entries = std::fs::read_dir(under).unwrap();
        let mut all: Vec<PathBuf> = entries.map(|e| e.unwrap().path()).collect();
        all.sort();
        all
    };
    let mut out = Vec::new();
    for fixture in ["hive-tags", "brass-fobs", "round-coasters"] {
        for kind in ["hold", "look", "clear"] {
            let folder = root.join(fixture).join(kind);
            if folder.is_dir() {
                let all = folders(&folder).into_iter();
                out.extend(all.filter(|f| f.extension().is_some_and(|e| e == "svg")));
            }
        }
    }
    assert!(out.len() > 60, "{}", out.len());
    out
}

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).and_then(|v| v.parse().ok()).unwrap()
}

fn frame(node: Node<'_, '_>) -> Rect {
    let origin = (number(node, "x"), number(node, "y"));
    Rect::from_origin_size(origin, (number(node, "width"), number(node, "height")))
}

fn class<'a>(node: Node<'a, '_>) -> &'a str {
    node.attribute("class").unwrap_or_default()
}

/// The plates of numbers and measures, and words without a plate: their boxes, as narrow as letters are
/// in the narrowest face.
fn labels(drawing: Node<'_, '_>) -> Vec<(String, Rect)> {
    let mut out = Vec::new();
    for node in drawing.descendants() {
        if ["badge", "measure"].contains(&class(node)) {
            let plate = node.children().find(|c| c.has_tag_name("rect")).unwrap();
            let words = node.descendants().filter_map(|n| n.text());
            out.push((words.collect::<Vec<_>>().join(" "), frame(plate)));
        } else if node.has_tag_name("text")
            // The word in a picture's frame is what is drawn of the picture.
            && !node.text().unwrap().starts_with("picture")
            && !node
                .ancestors()
                .any(|a| ["badge", "measure"].contains(&class(a)))
        {
            let (text, size) = (node.text().unwrap(), number(node, "font-size"));
            let middle = (number(node, "x"), number(node, "y") - 0.35 * size);
            let wide = 0.5 * size * text.chars().count() as f64;
            out.push((
                text.to_owned(),
                Rect::from_center_size(middle, (wide, 0.75 * size)),
            ));
        }
    }
    out
}

/// The lines of the rings.
fn rings(drawing: Node<'_, '_>) -> Vec<Rect> {
    let mut out = Vec::new();
    for ring in drawing.descendants().filter(|n| class(*n) == "ring") {
        let (r, half) = (frame(ring), number(ring, "stroke-width") / 2.0);
        let (o, i) = (r.inflate(half, half), r.inflate(-half, -half));
        out.extend([
            Rect::new(o.x0, o.y0, o.x1, i.y0),
            Rect::new(o.x0, i.y1, o.x1, o.y1),
            Rect::new(o.x0, o.y0, i.x0, o.y1),
            Rect::new(i.x1, o.y0, o.x1, o.y1),
        ]);
    }
    out
}

fn overlap(a: Rect, b: Rect) -> bool {
    let both = a.intersect(b);
    both.width() > 0.02 && both.height() > 0.02
}

/// What is covered in a drawing, in words.
fn covered(drawing: Node<'_, '_>, burnt: &[Rect]) -> Vec<String> {
    let (labels, rings) = (labels(drawing), rings(drawing));
    let mut out = Vec::new();
    for (i, (text, label)) in labels.iter().enumerate() {
        for (other, r) in labels.iter().skip(i + 1) {
            if overlap(*label, *r) {
                out.push(format!("\"{text}\" and \"{other}\" overlap"));
            }
        }
        let on = |things: &[Rect]| things.iter().any(|r| overlap(*label, *r));
        if on(&rings) {
            out.push(format!("\"{text}\" lies on a ring"));
        }
        if on(burnt) {
            out.push(format!("\"{text}\" lies on what is burnt"));
        }
    }
    out
}

/// What is covered in the drawings of a run, and how many labels were looked at.
fn covered_in(file: &Path) -> (usize, Vec<String>) {
    let (_, drawn) = inspect(file, &Options::default(), |job, run| {
        // Letter by letter; a piece that is mostly empty is a frame, and labels may stand in it.
        let pieces = job.art.iter().flat_map(|a| a.ink().pieces());
        let full = pieces.filter_map(|p| {
            let b = p.bounds()?;
            (p.area() > 0.15 * b.area()).then_some(b)
        });
        (full.collect::<Vec<Rect>>(), proof::html(job, run))
    });
    let (burnt, html) = drawn.unwrap();
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(&html, options).unwrap();
    let (mut seen, mut wrong) = (0, Vec::new());
    for drawing in document.descendants().filter(|n| {
        class(*n) == "close-up"
            || class(*n) == "drawing" && n.ancestors().any(|a| class(a) == "bed")
    }) {
        seen += labels(drawing).len();
        let (name, which) = (file.display(), class(drawing));
        let all = covered(drawing, &burnt).into_iter();
        wrong.extend(all.map(|what| format!("{name}, {which}: {what}")));
    }
    (seen, wrong)
}

#[test]
fn no_label_covers_another_or_a_ring_or_what_is_burnt() {
    let all: Vec<(usize, Vec<String>)> = examples().iter().map(|f| covered_in(f)).collect();
    let seen: usize = all.iter().map(|(n, _)| n).sum();
    assert!(seen > 1200, "only {seen} labels were looked at");
    let wrong: Vec<String> = all.into_iter().flat_map(|(_, wrong)| wrong).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// All lettering in a paint that no operation claims, and what the example itself has.
#[test]
fn nor_where_there_is_a_finding_in_every_pocket() {
    for file in [
        "hive-tags/hold/past-zone--long-name.svg",
        "hive-tags/hold/upside-down--turned-about.svg",
        "brass-fobs/hold/pocket-moved--a-sixteenth.svg",
        "round-coasters/hold/past-zone--too-large.svg",
    ] {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples");
        let fixture = root.join(file.split('/').next().unwrap());
        let folder = tempfile::tempdir().unwrap();
        for part in ["fixture.toml", "fixture.svg", "fixture.lock.json"] {
            std::fs::copy(fixture.join(part), folder.path().join(part)).unwrap();
        }
        let text = std::fs::read_to_string(root.join(file)).unwrap();
        let run = folder.path().join(file.replace('/', "-"));
        std::fs::write(&run, text.replace("#1b1b1b", "#1b1b1f")).unwrap();
        let (seen, wrong) = covered_in(&run);
        assert!(seen > 30, "{file}: only {seen} labels were looked at");
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}

#[test]
fn one_finding_of_many_places_has_one_ring_and_one_number() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples");
    let file = root.join("round-coasters/hold/fixture-still-cut--zones-and-all.svg");
    let (run, drawn) = inspect(&file, &Options::default(), proof::svg);
    let places = run.findings.first().unwrap().also.len();
    assert!(places > 10, "{places}");
    let svg = drawn.unwrap();
    let document = Document::parse(&svg).unwrap();
    let count = |what: &str| document.descendants().filter(|n| class(*n) == what).count();
    assert_eq!(
        (count("ring"), count("badge"), count("also")),
        (1, 1, places)
    );
}
