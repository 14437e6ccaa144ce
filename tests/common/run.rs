//! A run of the hive tags as plain numbers, to be written as a file in any dialect.

use std::fmt::Write as _;

/// One step of an outline, absolute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    Move(f64, f64),
    Line(f64, f64),
    /// A circular arc: radius, whether it goes clockwise on the bed, end.
    Arc(f64, bool, f64, f64),
    Close,
}

/// One outline.
pub type Shape = Vec<Step>;

/// A move, turn and scale, in this order: scale, turn clockwise (degrees), move.
#[derive(Debug, Clone, Copy)]
pub struct Motion {
    pub scale: f64,
    pub turn: f64,
    pub about: (f64, f64),
    pub by: (f64, f64),
}

impl Motion {
    pub const NONE: Self = Self {
        scale: 1.0,
        turn: 0.0,
        about: (0.0, 0.0),
        by: (0.0, 0.0),
    };

    pub fn by(x: f64, y: f64) -> Self {
        Self {
            by: (x, y),
            ..Self::NONE
        }
    }

    pub fn scale(scale: f64) -> Self {
        Self {
            scale,
            ..Self::NONE
        }
    }

    pub fn turn(turn: f64, about: (f64, f64)) -> Self {
        Self {
            turn,
            about,
            ..Self::NONE
        }
    }

    pub fn point(&self, x: f64, y: f64) -> (f64, f64) {
        let (s, c) = self.turn.to_radians().sin_cos();
        let (u, v) = (
            self.scale * (x - self.about.0),
            self.scale * (y - self.about.1),
        );
        (
            self.about.0 + c * u - s * v + self.by.0,
            self.about.1 + s * u + c * v + self.by.1,
        )
    }

    pub fn shape(&self, shape: &[Step]) -> Shape {
        shape
            .iter()
            .map(|step| match *step {
                Step::Move(x, y) => {
                    let (x, y) = self.point(x, y);
                    Step::Move(x, y)
                }
                Step::Line(x, y) => {
                    let (x, y) = self.point(x, y);
                    Step::Line(x, y)
                }
                Step::Arc(r, clockwise, x, y) => {
                    let (x, y) = self.point(x, y);
                    Step::Arc(r * self.scale, clockwise, x, y)
                }
                Step::Close => Step::Close,
            })
            .collect()
    }
}

/// A line of lettering, centred.
#[derive(Debug, Clone)]
pub struct Name {
    pub text: &'static str,
    pub x: f64,
    pub y: f64,
    pub size: f64,
    /// Turn about the middle of its letters, degrees clockwise.
    pub turn: f64,
}

impl Name {
    /// What it is turned about.
    pub fn middle(&self) -> (f64, f64) {
        (self.x, self.y - 0.35 * self.size)
    }
}

/// A run: the sheet's edge, twelve pockets (A1–A6, B1–B6), the loading arrow, twelve names.
#[derive(Debug, Clone)]
pub struct RunFile {
    pub edge: Option<Shape>,
    pub pockets: Vec<Option<Shape>>,
    pub arrow: Option<Shape>,
    pub names: Vec<Name>,
}

pub const OFF: &str = "#9aa0a6";
pub const ENGRAVE: &str = "#1b1b1b";
pub const CUT: &str = "#7b2d8b";

pub const POCKETS: [&str; 12] = [
    "A1", "A2", "A3", "A4", "A5", "A6", "B1", "B2", "B3", "B4", "B5", "B6",
];

const NAMES: [&str; 12] = [
    "Bramble", "Clover", "Sorrel", "Tansy", "Yarrow", "Heather", "Linden", "Mallow", "Borage",
    "Teasel", "Vetch", "Comfrey",
];

/// The back-left corner of a pocket's box.
pub fn corner(pocket: usize) -> (f64, f64) {
    (
        8.0 + 36.0 * (pocket % 6) as f64,
        if pocket < 6 { 296.0 } else { 196.0 },
    )
}

/// The number of a pocket.
pub fn index(pocket: &str) -> usize {
    POCKETS.iter().position(|p| *p == pocket).unwrap()
}

/// A pocket's outline with its box at a corner.
pub fn tag((x, y): (f64, f64)) -> Shape {
    use Step::{Arc, Close, Line, Move};
    vec![
        Move(x + 3.0, y + 92.0),
        Line(x + 25.0, y + 92.0),
        Arc(3.0, false, x + 28.0, y + 89.0),
        Line(x + 28.0, y + 32.0),
        Arc(4.0, false, x + 24.0, y + 28.0),
        Line(x + 24.0, y + 10.0),
        Arc(10.0, false, x + 4.0, y + 10.0),
        Line(x + 4.0, y + 28.0),
        Arc(4.0, false, x, y + 32.0),
        Line(x, y + 89.0),
        Arc(3.0, false, x + 3.0, y + 92.0),
        Close,
    ]
}

fn polygon(points: &[(f64, f64)]) -> Shape {
    let mut shape: Shape = points
        .iter()
        .enumerate()
        .map(|(i, &(x, y))| {
            if i == 0 {
                Step::Move(x, y)
            } else {
                Step::Line(x, y)
            }
        })
        .collect();
    shape.push(Step::Close);
    shape
}

impl RunFile {
    /// As in `clear/live-lettering.svg`.
    pub fn clear() -> Self {
        Self {
            edge: Some(polygon(&[
                (0.0, 184.0),
                (224.0, 184.0),
                (224.0, 400.0),
                (0.0, 400.0),
            ])),
            pockets: (0..12).map(|p| Some(tag(corner(p)))).collect(),
            arrow: Some(polygon(&[(3.0, 397.0), (11.0, 397.0), (3.0, 389.0)])),
            names: NAMES
                .iter()
                .enumerate()
                .map(|(p, text)| Name {
                    text,
                    x: corner(p).0 + 14.0,
                    y: corner(p).1 + 62.0,
                    size: 5.0,
                    turn: 0.0,
                })
                .collect(),
        }
    }

    pub fn name(&mut self, pocket: &str) -> &mut Name {
        self.names.get_mut(index(pocket)).unwrap()
    }

    /// Moves one pocket's outline.
    pub fn move_pocket(&mut self, pocket: &str, motion: Motion) {
        let slot = self.pockets.get_mut(index(pocket)).unwrap();
        *slot = slot.as_ref().map(|s| motion.shape(s));
    }

    /// Every line of the fixture that is there: edge, pockets, arrow.
    pub fn lines(&self) -> Vec<&Shape> {
        self.edge
            .iter()
            .chain(self.pockets.iter().flatten())
            .chain(self.arrow.iter())
            .collect()
    }

    /// Moves everything, art too. Names keep upright unless the motion turns them.
    pub fn moved(&self, motion: Motion) -> Self {
        let map = |s: &Shape| motion.shape(s);
        Self {
            edge: self.edge.as_ref().map(map),
            pockets: self.pockets.iter().map(|p| p.as_ref().map(map)).collect(),
            arrow: self.arrow.as_ref().map(map),
            names: self
                .names
                .iter()
                .map(|n| {
                    let (mx, my) = n.middle();
                    let (x, y) = motion.point(mx, my);
                    let size = n.size * motion.scale;
                    Name {
                        x,
                        y: y + 0.35 * size,
                        size,
                        turn: n.turn + motion.turn,
                        ..n.clone()
                    }
                })
                .collect(),
        }
    }

    /// The file: a page of 600 × 400 mm, one unit a millimetre.
    pub fn svg(&self) -> String {
        self.on_page("width=\"600mm\" height=\"400mm\" viewBox=\"0 0 600 400\"")
    }

    /// The file on another page.
    pub fn on_page(&self, page: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" {page}>\n{}</svg>\n",
            self.body()
        )
    }

    /// What stands between the tags of the root.
    pub fn body(&self) -> String {
        format!("{}{}", self.lines_group(), self.names_group())
    }

    pub fn lines_group(&self) -> String {
        let mut out = format!("<g fill=\"none\" stroke=\"{OFF}\" stroke-width=\"0.1\">\n");
        for shape in self.lines() {
            writeln!(out, "<path d=\"{}\"/>", data(shape)).unwrap();
        }
        out + "</g>\n"
    }

    pub fn names_group(&self) -> String {
        let mut out = format!(
            "<g font-family=\"Ubuntu\" font-weight=\"300\" text-anchor=\"middle\" fill=\"{ENGRAVE}\">\n"
        );
        for name in &self.names {
            out.push_str(&text(name));
        }
        out + "</g>\n"
    }
}

/// A number with no more digits than it needs.
pub fn n(v: f64) -> String {
    let text = format!("{v:.7}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Path data of an outline.
pub fn data(shape: &[Step]) -> String {
    let mut out = String::new();
    for step in shape {
        match *step {
            Step::Move(x, y) => write!(out, "M{} {}", n(x), n(y)).unwrap(),
            Step::Line(x, y) => write!(out, "L{} {}", n(x), n(y)).unwrap(),
            Step::Arc(r, clockwise, x, y) => write!(
                out,
                "A{r} {r} 0 0 {} {} {}",
                u8::from(clockwise),
                n(x),
                n(y),
                r = n(r)
            )
            .unwrap(),
            Step::Close => out.push('z'),
        }
    }
    out
}

/// A `text` element.
pub fn text(name: &Name) -> String {
    let (mx, my) = name.middle();
    let turn = if name.turn == 0.0 {
        String::new()
    } else {
        format!(
            " transform=\"rotate({} {} {})\"",
            n(name.turn),
            n(mx),
            n(my)
        )
    };
    format!(
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{turn}>{}</text>\n",
        n(name.x),
        n(name.y),
        n(name.size),
        name.text
    )
}
