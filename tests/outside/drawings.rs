//! Drawings made by chance, the same for the same number: everything that moves a shape, mixed.
//!
//! Shared by the check against usvg and the one against a browser, so it holds to what both can show:
//! no lettering, no pictures, nothing that is hidden or without size.

use std::fmt::Write as _;

use super::chance::Chance;

const ALIGNS: &[&str] = &[
    "none",
    "xMinYMin meet",
    "xMidYMin meet",
    "xMaxYMin",
    "xMinYMid slice",
    "xMidYMid meet",
    "xMaxYMid slice",
    "xMinYMax meet",
    "xMidYMax slice",
    "xMaxYMax meet",
];

/// A drawing of about ten shapes on a page about 100 mm wide.
///
/// Without `percent_in_symbols` nothing inside a `symbol` is sized in per cent: readers differ in what
/// that is a part of (SVG 2, 8.9, says of the nearest viewport, which a `symbol` is).
pub(crate) fn drawing(seed: u64, percent_in_symbols: bool) -> String {
    let mut maker = Maker {
        chance: Chance::of_seed(seed),
        defs: String::new(),
        ids: 0,
        shared: Vec::new(),
        percent_in_symbols,
        percent: true,
    };
    let c = &mut maker.chance;
    let (w, h) = (c.number(60.0, 120.0), c.number(40.0, 90.0));
    let mut root = match c.below(4) {
        0 => format!("width=\"{w}mm\" height=\"{h}mm\""),
        1 => format!("width=\"{}cm\" height=\"{}cm\"", w / 10.0, h / 10.0),
        2 => format!("width=\"{:.4}in\" height=\"{:.4}in\"", w / 25.4, h / 25.4),
        _ => format!("width=\"{:.2}\" height=\"{:.2}px\"", w * 3.78, h * 3.78),
    };
    if c.below(4) > 0 {
        let (x, y) = (c.number(-50.0, 50.0), c.number(-50.0, 50.0));
        let (vw, vh) = (c.number(80.0, 300.0), c.number(80.0, 300.0));
        write!(root, " viewBox=\"{x} {y} {vw} {vh}\"").unwrap_or_default();
        if c.below(2) == 0 {
            write!(root, " preserveAspectRatio=\"{}\"", c.pick(ALIGNS)).unwrap_or_default();
        }
    }
    let mut body = String::new();
    for _ in 0..5 {
        maker.node(3, &mut body);
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" {root}>\n<defs>{}</defs>\n{body}</svg>\n",
        maker.defs
    )
}

struct Maker {
    chance: Chance,
    defs: String,
    ids: usize,
    /// What may be cloned: id, and whether it is a symbol.
    shared: Vec<(String, bool)>,
    percent_in_symbols: bool,
    /// Whether a length may be in per cent here.
    percent: bool,
}

impl Maker {
    fn node(&mut self, depth: u32, out: &mut String) {
        let kind = if depth == 0 { 9 } else { self.chance.below(10) };
        match kind {
            0 | 1 => {
                let transform = self.transform();
                let paint = self.paint();
                write!(out, "<g {transform} {paint}>").unwrap_or_default();
                for _ in 0..=self.chance.below(2) {
                    self.node(depth - 1, out);
                }
                out.push_str("</g>\n");
            }
            2 => {
                let size = self.viewport();
                let (x, y) = (self.length(), self.length());
                write!(out, "<svg x=\"{x}\" y=\"{y}\" {size}>").unwrap_or_default();
                for _ in 0..=self.chance.below(2) {
                    self.node(depth - 1, out);
                }
                out.push_str("</svg>\n");
            }
            3 | 4 => self.clone_of(depth, out),
            5 => {
                self.ids += 1;
                let id = format!("clip{}", self.ids);
                let shape = self.shape(true);
                let own = if self.chance.below(2) == 0 {
                    self.transform()
                } else {
                    String::new()
                };
                write!(self.defs, "<clipPath id=\"{id}\" {own}>{shape}</clipPath>")
                    .unwrap_or_default();
                let transform = self.transform();
                write!(out, "<g clip-path=\"url(#{id})\" {transform}>").unwrap_or_default();
                self.node(depth - 1, out);
                out.push_str("</g>\n");
            }
            _ => {
                let shape = self.shape(false);
                out.push_str(&shape);
                out.push('\n');
            }
        }
    }

    fn clone_of(&mut self, depth: u32, out: &mut String) {
        if self.shared.is_empty() || self.chance.below(2) == 0 {
            self.ids += 1;
            let id = format!("thing{}", self.ids);
            let symbol = self.chance.below(2) == 0;
            let mut inside = String::new();
            let before = self.percent;
            // A group may be cloned inside a symbol.
            self.percent &= self.percent_in_symbols;
            self.node(depth - 1, &mut inside);
            self.percent = before;
            if symbol {
                let size = self.viewport();
                let view = size.find("viewBox").map_or("", |at| &size[at..]);
                write!(self.defs, "<symbol id=\"{id}\" {view}>{inside}</symbol>")
                    .unwrap_or_default();
            } else {
                write!(self.defs, "<g id=\"{id}\">{inside}</g>").unwrap_or_default();
            }
            self.shared.push((id, symbol));
        }
        let which = self.chance.below(self.shared.len() as u64) as usize;
        let Some((id, symbol)) = self.shared.get(which).cloned() else {
            return;
        };
        let href = self.chance.pick(&["href", "xlink:href"]);
        let (x, y) = (self.length(), self.length());
        let transform = self.transform();
        let size = if symbol {
            let (w, h) = (
                self.chance.number(20.0, 90.0),
                self.chance.number(20.0, 90.0),
            );
            format!("width=\"{w}\" height=\"{h}\"")
        } else {
            String::new()
        };
        writeln!(
            out,
            "<use {href}=\"#{id}\" x=\"{x}\" y=\"{y}\" {size} {transform}/>"
        )
        .unwrap_or_default();
    }

    fn viewport(&mut self) -> String {
        let c = &mut self.chance;
        let mut text = match c.below(3) {
            0 => format!(
                "width=\"{}\" height=\"{}\"",
                c.number(30.0, 150.0),
                c.number(30.0, 150.0)
            ),
            1 => format!(
                "width=\"{}mm\" height=\"{}mm\"",
                c.number(10.0, 40.0),
                c.number(10.0, 40.0)
            ),
            _ if !self.percent => "width=\"70\" height=\"60\"".to_owned(),
            _ => format!(
                "width=\"{}%\" height=\"{}%\"",
                c.number(20.0, 90.0),
                c.number(20.0, 90.0)
            ),
        };
        if c.below(3) > 0 {
            write!(
                text,
                " viewBox=\"{} {} {} {}\" preserveAspectRatio=\"{}\"",
                c.number(-20.0, 20.0),
                c.number(-20.0, 20.0),
                c.number(50.0, 200.0),
                c.number(50.0, 200.0),
                c.pick(ALIGNS)
            )
            .unwrap_or_default();
        }
        text
    }

    fn length(&mut self) -> String {
        let c = &mut self.chance;
        match c.below(7) {
            0 => format!("{}mm", c.number(-5.0, 20.0)),
            1 if self.percent => format!("{}%", c.number(-5.0, 40.0)),
            2 => format!("{}in", c.number(-0.1, 0.6)),
            3 => format!("{}px", c.number(-10.0, 60.0)),
            4 => format!("{}pt", c.number(-10.0, 40.0)),
            _ => format!("{}", c.number(-10.0, 70.0)),
        }
    }

    fn transform(&mut self) -> String {
        let c = &mut self.chance;
        let mut list = String::new();
        for _ in 0..c.below(3) {
            let one = match c.below(6) {
                0 => format!("rotate({})", c.number(-180.0, 180.0)),
                1 => format!(
                    "rotate({} {},{})",
                    c.number(-180.0, 180.0),
                    c.number(0.0, 80.0),
                    c.number(0.0, 80.0)
                ),
                2 => format!(
                    "translate({} {})",
                    c.number(-20.0, 20.0),
                    c.number(-20.0, 20.0)
                ),
                3 => format!("scale({}, {})", c.number(0.4, 1.5), c.number(-1.5, -0.4)),
                4 => format!("skewX({})", c.number(-40.0, 40.0)),
                _ => format!(
                    "matrix({} {} {} {} {} {})",
                    c.number(0.5, 1.2),
                    c.number(-0.4, 0.4),
                    c.number(-0.4, 0.4),
                    c.number(0.5, 1.2),
                    c.number(-20.0, 20.0),
                    c.number(-20.0, 20.0)
                ),
            };
            list.push_str(&one);
            list.push_str(c.pick(&[" ", ",", "  "]));
        }
        if list.is_empty() {
            list
        } else {
            format!("transform=\"{}\"", list.trim_end_matches([' ', ',']))
        }
    }

    fn paint(&mut self) -> String {
        let c = &mut self.chance;
        match c.below(4) {
            0 => String::new(),
            1 => "fill=\"#1b1b1b\"".to_owned(),
            2 => format!(
                "style=\"fill:none;stroke:#0a7d55;stroke-width:{};stroke-linejoin:{};stroke-linecap:{}\"",
                c.number(0.2, 4.0),
                c.pick(&["miter", "round", "bevel"]),
                c.pick(&["butt", "round", "square"])
            ),
            _ => format!(
                "fill=\"#1b1b1b\" stroke=\"#7b2d8b\" stroke-width=\"{}\" stroke-miterlimit=\"{}\"",
                c.number(0.2, 3.0),
                c.number(1.0, 8.0)
            ),
        }
    }

    /// A shape with an area. In a clip path no paint and no transform are needed.
    fn shape(&mut self, clip: bool) -> String {
        let (x, y) = (self.length(), self.length());
        let (transform, mut paint) = if clip {
            (String::new(), String::new())
        } else {
            (self.transform(), self.paint())
        };
        let c = &mut self.chance;
        let big = if clip { 3.0 } else { 1.0 };
        let (w, h) = (c.number(5.0, 40.0) * big, c.number(5.0, 40.0) * big);
        let geometry = match c.below(8) {
            0 => format!("rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\""),
            1 => format!(
                "rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" rx=\"{}\"",
                c.number(0.0, 12.0)
            ),
            2 => format!("circle cx=\"{x}\" cy=\"{y}\" r=\"{}\"", w / 2.0),
            3 => format!(
                "ellipse cx=\"{x}\" cy=\"{y}\" rx=\"{}\" ry=\"{}\"",
                w / 2.0,
                h / 2.0
            ),
            4 => {
                let points: Vec<String> = (0..4)
                    .map(|_| format!("{},{}", c.number(0.0, 60.0), c.number(0.0, 60.0)))
                    .collect();
                format!("polygon points=\"{}\"", points.join(" "))
            }
            5 if !clip => {
                if !paint.contains("stroke") {
                    paint = format!("stroke=\"#7b2d8b\" stroke-width=\"{}\"", c.number(0.2, 2.0));
                }
                format!(
                    "line x1=\"{x}\" y1=\"{y}\" x2=\"{}\" y2=\"{}\"",
                    w + 30.0,
                    h + 20.0
                )
            }
            _ => format!("path d=\"{}\"", path(c)),
        };
        format!("<{geometry} {transform} {paint}/>")
    }
}

fn path(c: &mut Chance) -> String {
    let mut d = format!("M{} {}", c.number(0.0, 60.0), c.number(0.0, 60.0));
    for _ in 0..2 + c.below(5) {
        let relative = c.below(2) == 0;
        let (from, to) = if relative { (-20.0, 20.0) } else { (0.0, 60.0) };
        let mut n = || c.number(from, to);
        let (a, b, e, f, g, h) = (n(), n(), n(), n(), n(), n());
        let one = match c.below(8) {
            0 => format!("L{a} {b}"),
            1 => format!("H{a}"),
            2 => format!("V{b}"),
            3 => format!("C{a},{b} {e},{f} {g},{h}"),
            4 => format!("S{a} {b} {e} {f}"),
            5 => format!("Q{a} {b} {e} {f}T{g} {h}"),
            6 => format!(
                "A{} {} {} {} {} {e} {f}",
                c.number(5.0, 30.0),
                c.number(5.0, 30.0),
                c.number(-90.0, 90.0),
                c.below(2),
                c.below(2)
            ),
            _ => format!("l{a} {b}"),
        };
        if relative {
            d.push_str(&one.to_lowercase());
        } else {
            d.push_str(&one);
        }
    }
    // Never without an area.
    d.push_str(c.pick(&["l5 9 7 -3", "l5 9 7 -3z", "l5 9 7 -3z m3 3 h4 v5 h-4z"]));
    d
}
