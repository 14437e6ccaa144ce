//! The whole of it against usvg's own reading of the same text: it resolves nesting, lists and
//! faces by itself, and keeps outlines that we never look at.

use std::fmt::Write as _;

use kurbo::{Affine, Rect, Shape};

use super::*;
use crate::chance::Chance;

/// Where usvg would put the ink, in its own frame.
fn theirs(faces: &Faces, body: &str) -> Rect {
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" font-family="Hack" font-size="10">{body}</svg>"#
    );
    let options = usvg::Options {
        fontdb: faces.database(),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(&svg, &options).unwrap();
    let usvg::Node::Text(text) = &tree.root().children()[0] else {
        panic!("no text in {svg}")
    };
    let r = text.flattened().stroke_bounding_box();
    let [x0, y0, x1, y1] = [r.left(), r.top(), r.right(), r.bottom()].map(f64::from);
    Rect::new(x0, y0, x1, y1)
}

fn ours(faces: &Faces, body: &str) -> Rect {
    let out = try_set_as(faces, body, Affine::IDENTITY, Lay::Other).unwrap();
    let mut all = BezPath::new();
    for chunk in &out.chunks {
        all.extend(chunk.path.iter());
    }
    all.bounding_box()
}

pub(super) fn agree(faces: &Faces, body: &str) {
    // usvg knows the face by its family and weight only.
    let known = body.replace("\"Ubuntu Light\"", "\"Ubuntu\" font-weight=\"300\"");
    let (a, b) = (ours(faces, body), theirs(faces, &known));
    let off = [a.x0 - b.x0, a.x1 - b.x1, a.y0 - b.y0, a.y1 - b.y1];
    assert!(off.iter().all(|d| d.abs() < CLOSE), "{body}: {a:?} {b:?}");
}

#[test]
fn plain_lines_agree() {
    for family in ["Hack", "Ubuntu Light"] {
        agree(
            faces(),
            &format!(
                r#"<text font-family="{family}" font-size="12" x="10" y="20" rotate="5 10">AVATAR Toffee</text>"#
            ),
        );
    }
}

/// Texts made by chance.
struct Dice(Chance);

impl Dice {
    fn list(&mut self, low: i64, sides: u64) -> String {
        let count = 1 + self.0.below(4);
        let numbers: Vec<String> = (0..count)
            .map(|_| (low + i64::try_from(self.0.below(sides)).unwrap()).to_string())
            .collect();
        numbers.join(" ")
    }

    /// Words and elements in each other; no white space at the edges, where the two read
    /// differently on purpose.
    fn content(&mut self, depth: u32) -> String {
        let mut content = String::new();
        for _ in 0..=self.0.below(4) {
            if depth == 4 || self.0.below(3) > 0 {
                content.push_str(self.0.pick(&["Anna", "b", "Kiln", "oval x", "T"]));
                continue;
            }
            let mut attributes = String::new();
            for (name, low, sides) in [
                ("x", 0, 100),
                ("y", 0, 100),
                ("dx", -5, 14),
                ("dy", -5, 14),
                ("rotate", -90, 180),
            ] {
                if self.0.below(4) == 0 {
                    let list = self.list(low, sides);
                    write!(attributes, " {name}=\"{list}\"").unwrap();
                }
            }
            for (name, values) in [
                ("font-size", ["3", "8", "14.5"]),
                ("font-family", ["Hack", "Ubuntu Light", "Hack"]),
            ] {
                if self.0.below(5) == 0 {
                    let value = self.0.pick(&values);
                    write!(attributes, " {name}=\"{value}\"").unwrap();
                }
            }
            let inner = self.content(depth + 1);
            write!(content, "<tspan{attributes}>{inner}</tspan>").unwrap();
        }
        content
    }
}

#[test]
fn nested_text_with_lists_of_positions_agrees() {
    let mut dice = Dice(Chance::new(7));
    for _ in 0..400 {
        let anchor = dice.0.pick(&["start", "middle", "end"]);
        let mode = dice.0.pick(&["lr", "lr", "lr", "tb"]);
        let (x, y) = (dice.list(0, 100), dice.list(0, 100));
        let content = dice.content(0);
        agree(
            faces(),
            &format!(
                r#"<text x="{x}" y="{y}" text-anchor="{anchor}" writing-mode="{mode}">{content}</text>"#
            ),
        );
    }
}
