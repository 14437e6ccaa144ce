//! What the benches are run on: fixtures of any number of pockets, and runs of any size, made by
//! rule so that every machine measures the same bytes.
#![allow(dead_code, missing_docs, unreachable_pub)]
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use usvg::fontdb::Source;
use usvg::tiny_skia_path::PathSegment;

pub mod hard;

#[path = "../../common/chance.rs"]
mod chance;
use chance::Chance;

/// A square grid of equal square pockets.
pub struct Grid {
    /// The fixture's folder.
    pub folder: PathBuf,
    /// Back-left corners, in millimetres.
    pub corners: Vec<(f64, f64)>,
    /// A pocket's side, in millimetres.
    pub side: f64,
    /// The page's side, in millimetres.
    pub page: f64,
}

/// Between two pockets, and between the sheet's edge and the bed's.
const WEB: f64 = 5.0;
const EDGE: f64 = 20.0;

/// What is engraved, in turn.
const WORDS: [&str; 6] = ["Bramble", "Clover", "Sorrel", "Tansy", "Yarrow", "Linden"];

impl Grid {
    /// Draws and enrols a fixture of `pockets` pockets of `side` millimetres.
    pub fn enrolled(below: &Path, pockets: usize, side: f64) -> Self {
        let columns = (pockets as f64).sqrt().ceil() as usize;
        let page = columns as f64 * (side + WEB) + WEB + 2.0 * EDGE;
        let corners = (0..pockets)
            .map(|i| {
                let (column, row) = (i % columns, i / columns);
                (
                    EDGE + WEB + column as f64 * (side + WEB),
                    EDGE + WEB + row as f64 * (side + WEB),
                )
            })
            .collect();
        let folder = below.join(format!("grid-{pockets}-{side}"));
        let grid = Self {
            folder,
            corners,
            side,
            page,
        };
        std::fs::create_dir_all(&grid.folder).unwrap();
        let drawing = format!("{}{}</svg>", grid.head(), grid.lines("#7b2d8b"));
        std::fs::write(grid.folder.join("fixture.svg"), drawing).unwrap();
        std::fs::write(grid.folder.join("fixture.toml"), grid.settings()).unwrap();
        let done = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
            .args(["enrol", "--renew"])
            .arg(&grid.folder)
            .output()
            .unwrap();
        assert!(done.status.success(), "the grid does not enrol: {done:?}");
        grid
    }

    fn settings(&self) -> String {
        let (page, side) = (self.page, self.side);
        format!(
            r##"[fixture]
name = "A grid for the benches"
drawing = "fixture.svg"
stops = "back-left"
[bed]
width = "{page} mm"
height = "{page} mm"
[paints]
cut = ["#7b2d8b"]
score = ["#0a7d55"]
engrave = ["#1b1b1b"]
off = ["#9aa0a6"]
[blank]
size = ["{side} mm", "{side} mm"]
head = "back"
[zone]
margin = "0.5 mm"
"##
        )
    }

    fn head(&self) -> String {
        let page = self.page;
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{page}mm\" height=\"{page}mm\" viewBox=\"0 0 {page} {page}\">\n"
        )
    }

    /// The sheet's edge, the pockets and a loading mark for each.
    fn lines(&self, paint: &str) -> String {
        let (inner, side) = (self.page - 2.0 * EDGE, self.side);
        let mut out = format!(
            "<g fill=\"none\" stroke=\"{paint}\" stroke-width=\"0.1\">\n<rect x=\"{EDGE}\" y=\"{EDGE}\" width=\"{inner}\" height=\"{inner}\"/>\n"
        );
        for (x, y) in &self.corners {
            let _ = writeln!(
                out,
                "<rect x=\"{x}\" y=\"{y}\" width=\"{side}\" height=\"{side}\" rx=\"1\"/>"
            );
        }
        out.push_str("</g>\n");
        out
    }

    /// A run: the fixture's lines, off, and `art`.
    pub fn run(&self, name: &str, art: &str) -> PathBuf {
        let file = self.folder.join(name);
        let text = format!("{}{}{art}</svg>\n", self.head(), self.lines("#9aa0a6"));
        std::fs::write(&file, text).unwrap();
        file
    }

    /// Traced art: `elements` small closed paths of `curves` curves each, spread over all pockets.
    pub fn traced(&self, elements: usize, curves: usize) -> String {
        let mut chance = Chance::new(7);
        let each = elements.div_ceil(self.corners.len());
        let columns = (each as f64).sqrt().ceil().max(1.0) as usize;
        let room = self.side - 2.0;
        let step = room / columns as f64;
        let mut out = String::with_capacity(elements * (40 + 34 * curves));
        for i in 0..elements {
            let (x, y) = self.corners[i / each];
            let (column, row) = ((i % each) % columns, (i % each) / columns);
            let (x, y) = (
                x + 1.0 + (column as f64 + 0.5) * step,
                y + 1.0 + (row as f64 + 0.5) * step,
            );
            let radius = 0.45 * step;
            // A blob: points round a circle, each at its own distance.
            let at = |turn: f64, far: f64| (x + far * turn.cos(), y + far * turn.sin());
            let part = std::f64::consts::TAU / curves as f64;
            let (sx, sy) = at(0.0, radius);
            let _ = write!(out, "<path fill=\"#1b1b1b\" d=\"M{sx:.4},{sy:.4}");
            for c in 0..curves {
                let from = c as f64 * part;
                let end = if c + 1 == curves {
                    radius
                } else {
                    chance.between(0.6, 1.0) * radius
                };
                let (ax, ay) = at(from + part / 3.0, chance.between(0.7, 1.0) * radius);
                let (bx, by) = at(from + part / 1.5, chance.between(0.7, 1.0) * radius);
                let (ex, ey) = at(from + part, end);
                let _ = write!(out, "C{ax:.4},{ay:.4} {bx:.4},{by:.4} {ex:.4},{ey:.4}");
            }
            out.push_str("z\"/>\n");
        }
        out
    }

    /// A word in each pocket, in the built-in face.
    pub fn words(&self) -> String {
        let size = self.side / 6.0;
        let mut out = format!(
            "<g font-family=\"Ubuntu\" font-weight=\"300\" font-size=\"{size}\" text-anchor=\"middle\" fill=\"#1b1b1b\">\n"
        );
        for (i, (x, y)) in self.corners.iter().enumerate() {
            // In the middle: what lies elsewhere has a remedy, which is tried.
            let (x, y) = (x + self.side / 2.0, y + self.side / 2.0 + 0.37 * size);
            let _ = writeln!(
                out,
                "<text x=\"{x}\" y=\"{y}\">{}</text>",
                WORDS[i % WORDS.len()]
            );
        }
        out.push_str("</g>\n");
        out
    }

    /// An order list of the first `many` of them.
    pub fn ordered(&self, many: usize) -> PathBuf {
        let file = self.folder.join(format!("ordered-{many}.csv"));
        let names: Vec<&str> = WORDS.into_iter().cycle().take(many).collect();
        std::fs::write(&file, format!("Name\n{}\n", names.join("\n"))).unwrap();
        file
    }

    /// The same words as outlines, a path each.
    pub fn outlined(&self) -> String {
        let mut options = usvg::Options::default();
        let face = Source::Binary(Arc::new(epaint_default_fonts::UBUNTU_LIGHT));
        options.fontdb_mut().load_font_source(face);
        let text = format!("{}{}</svg>", self.head(), self.words());
        let tree = usvg::Tree::from_str(&text, &options).unwrap();
        let mut out = String::new();
        outlines(tree.root(), &mut out);
        out
    }

    /// One thing wrong in each of the first `many` pockets: a bar that reaches over the zone.
    pub fn wrong(&self, many: usize) -> String {
        let mut out = String::new();
        for (x, y) in self.corners.iter().take(many) {
            let (x, y) = (x + 0.1, y + 3.0);
            let _ = writeln!(
                out,
                "<rect x=\"{x}\" y=\"{y}\" width=\"4\" height=\"2\" fill=\"#1b1b1b\"/>"
            );
        }
        out
    }
}

/// Writes the outlines of lettering as path data, in millimetres.
fn outlines(group: &usvg::Group, out: &mut String) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => outlines(group, out),
            usvg::Node::Text(text) => outlines(text.flattened(), out),
            usvg::Node::Path(path) => {
                let placed = path.abs_transform().post_scale(25.4 / 96.0, 25.4 / 96.0);
                let Some(path) = path.data().clone().transform(placed) else {
                    continue;
                };
                out.push_str("<path fill=\"#1b1b1b\" d=\"");
                for segment in path.segments() {
                    let _ = match segment {
                        PathSegment::MoveTo(p) => write!(out, "M{:.4},{:.4}", p.x, p.y),
                        PathSegment::LineTo(p) => write!(out, "L{:.4},{:.4}", p.x, p.y),
                        PathSegment::QuadTo(a, p) => {
                            write!(out, "Q{:.4},{:.4} {:.4},{:.4}", a.x, a.y, p.x, p.y)
                        }
                        PathSegment::CubicTo(a, b, p) => write!(
                            out,
                            "C{:.4},{:.4} {:.4},{:.4} {:.4},{:.4}",
                            a.x, a.y, b.x, b.y, p.x, p.y
                        ),
                        PathSegment::Close => write!(out, "z"),
                    };
                }
                out.push_str("\"/>\n");
            }
            usvg::Node::Image(_) => {}
        }
    }
}
