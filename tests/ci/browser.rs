//! The two ends of the check against a browser: makes the drawings, and compares what the browser
//! measured with what this library measures. `tests/ci/browser.sh` runs it.
//!
//! ```text
//! browser make FOLDER COUNT
//! browser compare MEASURED.json
//! ```
#![allow(missing_docs)]

#[path = "../common/chance.rs"]
mod chance;
#[path = "../outside/drawings.rs"]
mod drawings;

use std::collections::BTreeMap;
use std::path::Path;

use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::mark::{Artwork, Content, Hidden, Mark, Paint, Role};
use jigwarden::tested::artwork::resolve::{ReadOptions, resolve};
use jigwarden::tested::artwork::source::Source;
use jigwarden::tested::geometry::region::Region;
use kurbo::{Affine, Rect, Shape as _};
use serde_json::Value;

const MM: f64 = 25.4 / 96.0;

/// Boxes agree to this, in millimetres.
const AGREE: f64 = 0.05;

/// Ink that chromium leaves out and that a second engine (rsvg-convert) draws just where it is measured
/// here, looked at one by one: both are clipped within a page within the page. The drawings are made
/// from numbers, so they stay what they are.
const LOST: [&str; 2] = [
    "made-074.svg: element 13 (rect)",
    "made-155.svg: element 25 (use)",
];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["make", folder, count] => {
            for seed in 0..count.parse().unwrap_or(0) {
                let path = Path::new(folder).join(format!("made-{seed:03}.svg"));
                if let Err(e) = std::fs::write(&path, drawings::drawing(seed, true)) {
                    eprintln!("{}: {e}", path.display());
                    std::process::exit(2);
                }
            }
        }
        ["compare", file] => {
            let text = std::fs::read_to_string(file).unwrap_or_default();
            let mut sums = Sums::default();
            for line in text.lines() {
                if let Ok(Value::Object(one)) = serde_json::from_str(line) {
                    sums.file(&Value::Object(one));
                }
            }
            std::process::exit(i32::from(!sums.print()));
        }
        _ => std::process::exit(2),
    }
}

#[derive(Default)]
struct Sums {
    files: usize,
    outlines: usize,
    clones: usize,
    inks: usize,
    worst: f64,
    worst_ink: f64,
    /// Why an element was not compared.
    left: BTreeMap<&'static str, usize>,
    differences: Vec<String>,
}

impl Sums {
    fn left(&mut self, why: &'static str) {
        *self.left.entry(why).or_default() += 1;
    }

    fn file(&mut self, measured: &Value) {
        let path = measured["file"].as_str().unwrap_or_default();
        let Ok(source) = Source::read(Path::new(path)) else {
            return self.left("file: refused by us");
        };
        let faces = Faces::new(Vec::new(), false);
        let reading = ReadOptions {
            units: jigwarden::tested::artwork::length::RootUnits::CSS,
            placing: None,
            faces: &faces,
        };
        let (Ok(artwork), Ok(document)) = (resolve(&source, &reading), source.xml()) else {
            return self.left("file: refused by us");
        };
        if !artwork.page.physical {
            return self.left("file: no physical size, the browser takes its window's");
        }
        self.files += 1;
        let elements: Vec<_> = document
            .descendants()
            .filter(roxmltree::Node::is_element)
            .collect();
        for one in measured["elements"].as_array().into_iter().flatten() {
            let index = one["index"].as_u64().unwrap_or(u64::MAX) as usize;
            let Some(node) = elements.get(index) else {
                self.differences
                    .push(format!("{path}: element {index} is not there"));
                continue;
            };
            let place = format!("{path}: element {index} ({})", node.tag_name().name());
            self.element(&artwork, &node.range(), one, &place);
        }
    }

    fn element(
        &mut self,
        artwork: &Artwork,
        range: &std::ops::Range<usize>,
        one: &Value,
        place: &str,
    ) {
        let clone = one["tag"] == "use";
        if artwork
            .unproven
            .iter()
            .any(|u| u.origin.range == *range || u.origin.uses.contains(range))
        {
            return self.left("held by us as not proven");
        }
        let marks: Vec<&Mark> = artwork
            .marks
            .iter()
            .filter(|m| {
                if clone {
                    m.origin.uses.first() == Some(range)
                } else {
                    m.origin.range == *range && m.origin.uses.is_empty()
                }
            })
            .filter(|m| m.hidden != Some(Hidden::NotDisplayed))
            .collect();
        if marks.iter().any(|m| !matches!(m.content, Content::Shape)) {
            return self.left("lettering or a picture: the browser gives its frame, not its ink");
        }
        if let Some(ctm) = numbers::<6>(&one["ctm"])
            && let Some([x, y, w, h]) = numbers::<4>(&one["box"])
        {
            let to_page = Affine::scale(MM) * Affine::new(ctm);
            if to_page.determinant().abs() < 1e-12 {
                self.left("squeezed to a line");
            } else if marks.is_empty() && w == 0.0 && h == 0.0 {
                self.left("draws nothing, both say");
            } else {
                let own = to_page.inverse();
                let ours = union(marks.iter().map(|m| (own * m.path.clone()).bounding_box()));
                let theirs = Rect::new(x, y, x + w, y + h);
                let scale = Affine::new(ctm).spectral_norm_or_one() * MM;
                let off = ours.map_or(f64::INFINITY, |ours| apart(ours, theirs) * scale);
                if off <= AGREE {
                    self.worst = self.worst.max(off);
                    if clone {
                        self.clones += 1;
                    } else {
                        self.outlines += 1;
                    }
                } else if clone && ours.is_some_and(|ours| within(ours, theirs, AGREE / scale)) {
                    // The ink of the same clone is compared exactly, where it is asked for.
                    self.left(
                        "clone of turned shapes: the browser boxes their boxes, ours lies inside",
                    );
                } else {
                    self.differ(place, "outline", off, ours, theirs);
                }
            }
        }
        if let (Some(pixel), false) = (one["pixel"].as_f64(), one["ink"].is_null()) {
            let page = Region::from_rect(artwork.page.rect);
            let inks: Vec<Region> = marks
                .iter()
                .filter(|m| m.hidden.is_none() && m.paint != Paint::None && m.opacity > 0.0)
                .filter(|m| !matches!(&m.role, Role::Stroke(l) if l.width == 0.0))
                .map(|m| m.ink().intersect(&page))
                .collect();
            let ink = union(inks.iter().filter_map(Region::bounds));
            // What is left where nothing thinner than half a pixel counts: the browser's drawing fades
            // out before the end of a tip.
            let quarter = pixel / 4.0;
            let core = union(
                inks.iter()
                    .filter_map(|ink| ink.shrunk(quarter, quarter / 10.0).bounds())
                    .map(|b| b.inflate(quarter, quarter)),
            );
            let theirs = numbers::<4>(&one["ink"]).map(|[a, b, c, d]| Rect::new(a, b, c, d));
            match (ink, theirs) {
                (None, None) => self.left("leaves no ink on the page, both say"),
                (Some(a), Some(b)) => {
                    let off = apart(a, b);
                    if off <= AGREE + pixel {
                        self.inks += 1;
                        self.worst_ink = self.worst_ink.max(off);
                    } else if within(b, a, pixel) && core.is_none_or(|c| within(c, b, 2.0 * pixel))
                    {
                        self.left("ink that ends in a tip finer than the browser's pixels");
                    } else {
                        self.differ(place, "ink", off, ink, b);
                    }
                }
                // Less than a pixel of ink may vanish in the browser's drawing.
                (Some(a), None) if a.width().min(a.height()) < 2.0 * pixel => {
                    self.left("ink finer than the browser's pixels");
                }
                (Some(_), None) if LOST.iter().any(|lost| place.ends_with(lost)) => {
                    self.left("ink that chromium leaves out and a second engine draws");
                }
                (a, b) => self.differ(place, "ink", f64::INFINITY, a, b.unwrap_or_default()),
            }
        }
    }

    fn differ(&mut self, place: &str, what: &str, off: f64, ours: Option<Rect>, theirs: Rect) {
        self.differences.push(format!(
            "{place}: {what} {off:.3} mm off: ours {ours:.3?}, theirs {theirs:.3?}"
        ));
    }

    fn print(&self) -> bool {
        println!("files compared            {:6}", self.files);
        println!(
            "outlines that agree       {:6}  (worst {:.4} mm)",
            self.outlines, self.worst
        );
        println!("clones that agree         {:6}", self.clones);
        println!(
            "inks that agree           {:6}  (worst {:.4} mm, within a pixel)",
            self.inks, self.worst_ink
        );
        for (why, count) in &self.left {
            println!("left out {count:6}  {why}");
        }
        println!("differences               {:6}", self.differences.len());
        for one in self.differences.iter().take(40) {
            println!("  {one}");
        }
        self.differences.is_empty() && self.outlines > 0
    }
}

/// The larger scale of a transform, but one for no transform at all.
trait Norm {
    fn spectral_norm_or_one(&self) -> f64;
}

impl Norm for Affine {
    fn spectral_norm_or_one(&self) -> f64 {
        let c = self.as_coeffs();
        c[0].hypot(c[1])
            .max(c[2].hypot(c[3]))
            .max(f64::MIN_POSITIVE)
    }
}

fn union(mut boxes: impl Iterator<Item = Rect>) -> Option<Rect> {
    let first = boxes.next()?;
    Some(boxes.fold(first, |a, b| a.union(b)))
}

fn within(inner: Rect, outer: Rect, by: f64) -> bool {
    let outer = outer.inflate(by, by);
    inner.x0 >= outer.x0 && inner.y0 >= outer.y0 && inner.x1 <= outer.x1 && inner.y1 <= outer.y1
}

fn apart(a: Rect, b: Rect) -> f64 {
    [a.x0 - b.x0, a.y0 - b.y0, a.x1 - b.x1, a.y1 - b.y1]
        .into_iter()
        .fold(0.0, |most: f64, d| most.max(d.abs()))
}

fn numbers<const N: usize>(value: &Value) -> Option<[f64; N]> {
    let list: Vec<f64> = value.as_array()?.iter().filter_map(Value::as_f64).collect();
    list.try_into().ok()
}
