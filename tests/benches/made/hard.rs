//! Art that takes long to measure, of the kinds that ordinary hands and tools make: things laid on
//! each other, traced in layers, cut into dashes, clipped, copied, nested.
#![allow(dead_code, missing_docs, unreachable_pub)]

use std::f64::consts::TAU;
use std::fmt::Write as _;

use super::{Chance, Grid};

const INK: &str = "#1b1b1b";

/// A case: its name, and the art it lays on the grid.
pub type Case = (&'static str, fn(&Grid) -> String);

/// Every case on a grid of twelve pockets, in the order in which they are run.
pub const CASES: &[Case] = &[
    ("4,000 identical rectangles", |g| identical(g, 4_000, "")),
    ("4,000 identical outlines", |g| {
        identical(
            g,
            4_000,
            "fill=\"none\" stroke=\"#1b1b1b\" stroke-width=\"0.3\"",
        )
    }),
    ("100,000 clones apart", |g| clones(g, 100_000, 1)),
    ("100,000 clones on each other", |g| {
        clones(g, 100_000, 1_000)
    }),
    ("clones of clones, 10 deep", nested_clones),
    ("dashes of 0.001", |g| dashes(g, 0.001)),
    ("dashes of 0.3 on 400 waves", |g| waves(g, 400, 0.3)),
    ("1,000 near-concentric rings", |g| rings(g, 1_000)),
    ("10,000 texts on each other", |g| texts(g, 10_000, 1)),
    ("10,000 texts apart", |g| texts(g, 10_000, 10_000)),
    ("a text of 40,000 characters", |g| long_text(g, 40_000)),
    ("40 texts of 1,000 characters", |g| {
        many_long_texts(g, 40, 1_000)
    }),
    ("400 shapes under a clip of 3,000 points", |g| {
        clipped(g, 400, 3_000)
    }),
    ("100 copies under a clip of 20,000 points", |g| {
        clipped(g, 100, 20_000)
    }),
    ("350 stars on each other", |g| stars(g, 350)),
    ("19,000 shapes in 30 x 30 mm", |g| dense(g, 19_000)),
    ("4,000 lines that cross", |g| hatching(g, 4_000)),
    ("a scribble of 20,000 strokes", |g| scribble(g, 20_000)),
    ("a filled scribble of 3,000 points", |g| {
        filled_scribble(g, 3_000)
    }),
    ("an outline of 200,000 points", |g| ragged(g, 200_000)),
    ("50,000 dots apart", |g| dots(g, 50_000)),
    ("3,000 discs that overlap in a row", |g| {
        row_of_discs(g, 3_000)
    }),
    ("40,000 squares side by side", |g| tiles(g, 40_000)),
    ("30 clips in clips", |g| nested_clips(g, 30)),
    ("900 groups in groups", |g| deep_groups(g, 900)),
    ("5,000 gradients, patterns and filters", |g| {
        servers(g, 5_000)
    }),
    ("10,000 rules on 10,000 elements", |g| sheet(g, 10_000)),
    ("20,000 markers", |g| markers(g, 20_000)),
    ("2,000 outlines in an uncut paint", |g| unlisted(g, 2_000)),
    ("1,000 extra pockets", |g| extra_pockets(g, 1_000)),
    ("300 letters as outlines on each other", |g| letters(g, 300)),
    ("5,000 opaque sheets over one word", |g| sheets(g, 5_000)),
    ("text on a path, 2,000 characters", |g| on_a_path(g, 2_000)),
    ("5,000 spans in one text", |g| spans(g, 5_000)),
];

fn middle(grid: &Grid, pocket: usize) -> (f64, f64) {
    let (x, y) = grid.corners[pocket % grid.corners.len()];
    (x + grid.side / 2.0, y + grid.side / 2.0)
}

/// The points of a closed shape round a place, as path data.
fn round(x: f64, y: f64, points: usize, mut far: impl FnMut(usize) -> f64) -> String {
    let mut out = String::with_capacity(points * 16);
    for i in 0..points {
        let (turn, far) = (TAU * i as f64 / points as f64, far(i));
        let letter = if i == 0 { 'M' } else { 'L' };
        let (px, py) = (x + far * turn.cos(), y + far * turn.sin());
        let _ = write!(out, "{letter}{px:.3},{py:.3}");
    }
    out.push('z');
    out
}

fn filled(d: &str) -> String {
    format!("<path fill=\"{INK}\" d=\"{d}\"/>\n")
}

fn identical(grid: &Grid, count: usize, style: &str) -> String {
    let (x, y) = middle(grid, 0);
    let style = if style.is_empty() {
        format!("fill=\"{INK}\"")
    } else {
        style.to_owned()
    };
    format!("<rect x=\"{x}\" y=\"{y}\" width=\"12\" height=\"7\" {style}/>\n").repeat(count)
}

fn clones(grid: &Grid, count: usize, on_each_other: usize) -> String {
    let places = count / on_each_other;
    let each = places.div_ceil(grid.corners.len());
    let columns = (each as f64).sqrt().ceil();
    let step = (grid.side - 4.0) / columns;
    let size = step * 0.8;
    let mut out = format!(
        "<defs><rect id=\"a\" width=\"{size:.4}\" height=\"{size:.4}\" fill=\"{INK}\"/></defs>\n"
    );
    for i in 0..count {
        let place = i % places;
        let (x, y) = grid.corners[place / each];
        let (column, row) = (
            (place % each) as f64 % columns,
            ((place % each) as f64 / columns).floor(),
        );
        let (x, y) = (x + 2.0 + column * step, y + 2.0 + row * step);
        let _ = writeln!(out, "<use href=\"#a\" x=\"{x:.3}\" y=\"{y:.3}\"/>");
    }
    out
}

fn nested_clones(grid: &Grid) -> String {
    let (x, y) = middle(grid, 0);
    let mut out = format!("<defs><rect id=\"c0\" width=\"0.2\" height=\"0.2\" fill=\"{INK}\"/>");
    for i in 1..=16 {
        let (dx, dy) = if i % 2 == 0 {
            (0.3 * f64::from(1 << (i / 2 - 1)), 0.0)
        } else {
            (0.0, 0.3 * f64::from(1 << (i / 2)))
        };
        let below = i - 1;
        let _ = write!(
            out,
            "<g id=\"c{i}\"><use href=\"#c{below}\"/><use href=\"#c{below}\" x=\"{dx}\" y=\"{dy}\"/></g>"
        );
    }
    let (x, y) = (x - 40.0, y - 40.0);
    let _ = writeln!(out, "</defs><use href=\"#c16\" x=\"{x}\" y=\"{y}\"/>");
    out
}

fn dashes(grid: &Grid, dash: f64) -> String {
    let (x, y) = middle(grid, 0);
    format!(
        "<circle cx=\"{x}\" cy=\"{y}\" r=\"30\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"0.5\" stroke-dasharray=\"{dash}\"/>\n"
    )
}

fn waves(grid: &Grid, count: usize, dash: f64) -> String {
    let mut out = String::new();
    for i in 0..count {
        let (x, y) = middle(grid, i);
        let (x, y) = (x - 35.0, y - 35.0 + 2.0 * (i / grid.corners.len()) as f64);
        let _ = writeln!(
            out,
            "<path fill=\"none\" stroke=\"{INK}\" stroke-width=\"0.3\" stroke-dasharray=\"{dash}\" d=\"M{x},{y}q10,-6 20,0t20,0t20,0\"/>"
        );
    }
    out
}

fn rings(grid: &Grid, count: usize) -> String {
    let mut chance = Chance::new(3);
    let (x, y) = middle(grid, 0);
    let mut out = String::new();
    for i in 0..count {
        let r = 5.0 + 30.0 * i as f64 / count as f64;
        let (x, y) = (
            x + chance.between(-0.05, 0.05),
            y + chance.between(-0.05, 0.05),
        );
        let _ = writeln!(
            out,
            "<circle cx=\"{x:.4}\" cy=\"{y:.4}\" r=\"{r:.4}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"0.3\"/>"
        );
    }
    out
}

const FACE: &str = "font-family=\"Ubuntu\" font-weight=\"300\" fill=\"#1b1b1b\"";

fn texts(grid: &Grid, count: usize, places: usize) -> String {
    const WORDS: [&str; 6] = ["Bramble", "Clover", "Sorrel", "Tansy", "Yarrow", "Linden"];
    let each = places.div_ceil(grid.corners.len());
    let columns = (each as f64).sqrt().ceil();
    let step = (grid.side - 4.0) / columns;
    let size = (step / 5.0).min(9.0);
    let mut out = format!("<g {FACE} font-size=\"{size:.3}\">\n");
    for i in 0..count {
        let place = i % places;
        let (x, y) = grid.corners[place / each];
        let here = (place % each) as f64;
        let (x, y) = (
            x + 2.0 + (here % columns) * step,
            y + 2.0 + ((here / columns).floor() + 0.5) * step,
        );
        let word = WORDS[i % WORDS.len()];
        let _ = writeln!(out, "<text x=\"{x:.3}\" y=\"{y:.3}\">{word}</text>");
    }
    out.push_str("</g>\n");
    out
}

fn letters_of(count: usize) -> String {
    let mut chance = Chance::new(5);
    (0..count)
        .map(|i| {
            if i % 7 == 6 {
                ' '
            } else {
                char::from(b'a' + chance.below(26) as u8)
            }
        })
        .collect()
}

fn long_text(grid: &Grid, count: usize) -> String {
    let (x, y) = middle(grid, 0);
    let x = x - 40.0;
    let mut out = format!("<text x=\"{x}\" y=\"{y}\" font-size=\"0.5\" {FACE}>");
    for (line, letters) in letters_of(count).as_bytes().chunks(200).enumerate() {
        let letters = String::from_utf8_lossy(letters);
        let y = y - 40.0 + 0.4 * line as f64;
        let _ = writeln!(out, "<tspan x=\"{x}\" y=\"{y:.2}\">{letters}</tspan>");
    }
    out.push_str("</text>\n");
    out
}

fn many_long_texts(grid: &Grid, texts: usize, characters: usize) -> String {
    let mut out = String::new();
    for i in 0..texts {
        let (x, y) = middle(grid, i);
        let (x, y) = (x - 40.0, y - 30.0 + 10.0 * (i / grid.corners.len()) as f64);
        let letters = letters_of(characters);
        let _ = writeln!(
            out,
            "<text x=\"{x}\" y=\"{y}\" font-size=\"0.16\" {FACE}>{letters}</text>"
        );
    }
    out
}

fn clipped(grid: &Grid, count: usize, points: usize) -> String {
    let mut chance = Chance::new(9);
    let (x, y) = middle(grid, 0);
    let clip = round(x, y, points, |i| if i % 2 == 0 { 35.0 } else { 34.0 });
    let mut out =
        format!("<clipPath id=\"k\"><path d=\"{clip}\"/></clipPath>\n<g clip-path=\"url(#k)\">\n");
    for _ in 0..count {
        let (x, y) = (
            x + chance.between(-34.0, 34.0),
            y + chance.between(-34.0, 34.0),
        );
        out.push_str(&filled(&round(x, y, 12, |i| {
            if i % 2 == 0 { 6.0 } else { 4.0 }
        })));
    }
    out.push_str("</g>\n");
    out
}

fn stars(grid: &Grid, count: usize) -> String {
    let mut chance = Chance::new(13);
    let (x, y) = middle(grid, 0);
    let mut out = String::new();
    for _ in 0..count {
        let (x, y) = (x + chance.between(-3.0, 3.0), y + chance.between(-3.0, 3.0));
        let turn = chance.between(0.5, 1.0);
        out.push_str(&filled(&round(x, y, 50, |i| {
            turn * if i % 2 == 0 { 20.0 } else { 12.0 }
        })));
    }
    out
}

fn dense(grid: &Grid, count: usize) -> String {
    let mut chance = Chance::new(17);
    let (x, y) = middle(grid, 0);
    let mut out = String::new();
    for _ in 0..count {
        let (x, y) = (
            x + chance.between(-15.0, 15.0),
            y + chance.between(-15.0, 15.0),
        );
        let large = chance.between(0.3, 2.0);
        out.push_str(&filled(&round(x, y, 6, |_| {
            large * chance.between(0.6, 1.0)
        })));
    }
    out
}

/// Small filled outlines over each other, as tracing in layers gives: each a little smaller than the
/// one below it.
pub fn layers(grid: &Grid, count: usize) -> String {
    let mut chance = Chance::new(19);
    let stacks = count / 5;
    let each = stacks.div_ceil(grid.corners.len());
    let columns = (each as f64).sqrt().ceil() as usize;
    let step = (grid.side - 4.0) / columns as f64;
    let mut out = String::with_capacity(count * 200);
    for i in 0..count {
        let stack = i % stacks;
        let (x, y) = grid.corners[stack / each];
        let here = stack % each;
        let (x, y) = (
            x + 2.0 + ((here % columns) as f64 + 0.5) * step,
            y + 2.0 + ((here / columns) as f64 + 0.5) * step,
        );
        let large = step * (1.1 - 0.2 * (i / stacks) as f64);
        out.push_str(&filled(&round(x, y, 11, |_| {
            large * chance.between(0.7, 1.0)
        })));
    }
    out
}

fn hatching(grid: &Grid, count: usize) -> String {
    let mut chance = Chance::new(23);
    let (x, y) = middle(grid, 0);
    let mut out = String::new();
    for _ in 0..count {
        let (from, to) = (chance.between(0.0, TAU), chance.between(0.0, TAU));
        let (ax, ay) = (x + 35.0 * from.cos(), y + 35.0 * from.sin());
        let (bx, by) = (x + 35.0 * to.cos(), y + 35.0 * to.sin());
        let _ = writeln!(
            out,
            "<path fill=\"none\" stroke=\"{INK}\" stroke-width=\"0.2\" d=\"M{ax:.3},{ay:.3}L{bx:.3},{by:.3}\"/>"
        );
    }
    out
}

/// Points of a wandering line.
fn wander(grid: &Grid, points: usize, step: f64) -> String {
    let mut chance = Chance::new(29);
    let (cx, cy) = middle(grid, 0);
    let (mut x, mut y) = (cx, cy);
    let mut d = format!("M{x},{y}L");
    for _ in 0..points {
        x = (x + chance.between(-step, step)).clamp(cx - 35.0, cx + 35.0);
        y = (y + chance.between(-step, step)).clamp(cy - 35.0, cy + 35.0);
        let _ = write!(d, "{x:.3},{y:.3} ");
    }
    d
}

fn scribble(grid: &Grid, points: usize) -> String {
    let d = wander(grid, points, 2.0);
    format!("<path fill=\"none\" stroke=\"{INK}\" stroke-width=\"0.2\" d=\"{d}\"/>\n")
}

fn filled_scribble(grid: &Grid, points: usize) -> String {
    filled(&wander(grid, points, 20.0))
}

fn ragged(grid: &Grid, points: usize) -> String {
    let mut chance = Chance::new(31);
    let (x, y) = middle(grid, 0);
    filled(&round(x, y, points, |_| chance.between(34.0, 35.0)))
}

fn dots(grid: &Grid, count: usize) -> String {
    let each = count.div_ceil(grid.corners.len());
    let columns = (each as f64).sqrt().ceil();
    let step = (grid.side - 4.0) / columns;
    let r = step * 0.35;
    let mut out = format!("<g fill=\"{INK}\">\n");
    for i in 0..count {
        let (x, y) = grid.corners[i / each];
        let here = (i % each) as f64;
        let (x, y) = (
            x + 2.0 + (here % columns + 0.5) * step,
            y + 2.0 + ((here / columns).floor() + 0.5) * step,
        );
        let _ = writeln!(out, "<circle cx=\"{x:.3}\" cy=\"{y:.3}\" r=\"{r:.3}\"/>");
    }
    out.push_str("</g>\n");
    out
}

fn row_of_discs(grid: &Grid, count: usize) -> String {
    let (x, y) = middle(grid, 0);
    let mut out = format!("<g fill=\"{INK}\">\n");
    for i in 0..count {
        let x = x - 35.0 + 70.0 * i as f64 / count as f64;
        let _ = writeln!(out, "<circle cx=\"{x:.3}\" cy=\"{y}\" r=\"4\"/>");
    }
    out.push_str("</g>\n");
    out
}

fn tiles(grid: &Grid, count: usize) -> String {
    let (x, y) = middle(grid, 0);
    let columns = (count as f64).sqrt().ceil();
    let step = 70.0 / columns;
    let mut out = format!("<g fill=\"{INK}\">\n");
    for i in 0..count {
        let (x, y) = (
            x - 35.0 + (i as f64 % columns) * step,
            y - 35.0 + (i as f64 / columns).floor() * step,
        );
        let _ = writeln!(
            out,
            "<rect x=\"{x:.3}\" y=\"{y:.3}\" width=\"{step:.3}\" height=\"{step:.3}\"/>"
        );
    }
    out.push_str("</g>\n");
    out
}

fn nested_clips(grid: &Grid, deep: usize) -> String {
    let (x, y) = middle(grid, 0);
    let mut out = String::new();
    for i in 0..deep {
        let d = round(x, y, 600, |p| 35.0 - 0.3 * i as f64 - (p % 3) as f64);
        let _ = writeln!(out, "<clipPath id=\"n{i}\"><path d=\"{d}\"/></clipPath>");
    }
    for i in 0..deep {
        let _ = write!(out, "<g clip-path=\"url(#n{i})\">");
    }
    out.push_str(&dense(grid, 300));
    out.push_str(&"</g>".repeat(deep));
    out
}

fn deep_groups(grid: &Grid, deep: usize) -> String {
    let mut out = String::new();
    for i in 0..deep {
        let _ = write!(
            out,
            "<g transform=\"rotate(0.01)\" opacity=\"0.9999\" id=\"g{i}\">"
        );
    }
    out.push_str(&grid.traced(2_000, 3));
    out.push_str(&"</g>".repeat(deep));
    out
}

fn servers(grid: &Grid, count: usize) -> String {
    let mut out = String::from("<defs>");
    for i in 0..count {
        let _ = match i % 3 {
            0 => writeln!(
                out,
                "<linearGradient id=\"s{i}\"><stop stop-color=\"{INK}\"/><stop offset=\"1\" stop-color=\"#333\"/></linearGradient>"
            ),
            1 => writeln!(
                out,
                "<pattern id=\"s{i}\" width=\"1\" height=\"1\" patternUnits=\"userSpaceOnUse\"><rect width=\"0.5\" height=\"0.5\" fill=\"{INK}\"/></pattern>"
            ),
            _ => writeln!(
                out,
                "<filter id=\"s{i}\"><feGaussianBlur stdDeviation=\"0.3\"/></filter>"
            ),
        };
    }
    out.push_str("</defs>\n");
    for i in 0..count {
        let (x, y) = middle(grid, i);
        let here = (i / grid.corners.len()) as f64;
        let (x, y) = (
            x - 35.0 + (here % 20.0) * 3.0,
            y - 35.0 + (here / 20.0).floor() * 3.0,
        );
        let paint = if i % 3 == 2 {
            format!("fill=\"{INK}\" filter=\"url(#s{i})\"")
        } else {
            format!("fill=\"url(#s{i})\"")
        };
        let _ = writeln!(
            out,
            "<rect x=\"{x}\" y=\"{y}\" width=\"2\" height=\"2\" {paint}/>"
        );
    }
    out
}

fn sheet(grid: &Grid, count: usize) -> String {
    let mut out = String::from("<style>");
    for i in 0..count {
        let _ = write!(out, ".r{i}{{fill:{INK};stroke:none}}");
    }
    out.push_str("</style>\n");
    let squares = tiles(grid, count);
    for (i, line) in squares.lines().enumerate() {
        if line.starts_with("<rect") {
            let n = i - 1;
            out.push_str(&line.replace("<rect", &format!("<rect class=\"r{n}\"")));
            out.push('\n');
        }
    }
    out
}

fn markers(grid: &Grid, count: usize) -> String {
    let d = wander(grid, count, 2.0);
    format!(
        "<marker id=\"m\" markerWidth=\"2\" markerHeight=\"2\" refX=\"1\" refY=\"1\" orient=\"auto\"><path d=\"M0,0L2,1L0,2z\" fill=\"{INK}\"/></marker>\n<path fill=\"none\" stroke=\"{INK}\" stroke-width=\"0.1\" marker-mid=\"url(#m)\" d=\"{d}\"/>\n"
    )
}

fn unlisted(grid: &Grid, count: usize) -> String {
    dense(grid, count).replace(INK, "#1c2b3a")
}

/// Copies of the pockets' outlines, all over the sheet.
fn extra_pockets(grid: &Grid, count: usize) -> String {
    let mut chance = Chance::new(37);
    let side = grid.side;
    let mut out = String::from("<g fill=\"none\" stroke=\"#9aa0a6\" stroke-width=\"0.1\">\n");
    for _ in 0..count {
        let (x, y) = (
            chance.between(30.0, grid.page - 120.0),
            chance.between(30.0, grid.page - 120.0),
        );
        let _ = writeln!(
            out,
            "<rect x=\"{x:.2}\" y=\"{y:.2}\" width=\"{side}\" height=\"{side}\" rx=\"1\"/>"
        );
    }
    out.push_str("</g>\n");
    out
}

/// Shapes as letters have them, with a hole, on each other.
fn letters(grid: &Grid, count: usize) -> String {
    let mut chance = Chance::new(41);
    let (x, y) = middle(grid, 0);
    let mut out = String::new();
    for _ in 0..count {
        let (x, y) = (
            x + chance.between(-30.0, 30.0),
            y + chance.between(-2.0, 2.0),
        );
        let _ = writeln!(
            out,
            "<path fill=\"{INK}\" fill-rule=\"evenodd\" d=\"M{x:.3},{y:.3}c3,-4 6,-4 6,0s-3,5 -6,0zm1.5,0c1,-2 2,-2 3,0s-2,2 -3,0z\"/>"
        );
    }
    out
}

fn sheets(grid: &Grid, count: usize) -> String {
    let mut chance = Chance::new(43);
    let (x, y) = middle(grid, 0);
    let left = x - 30.0;
    let mut out = format!("<text x=\"{left}\" y=\"{y}\" font-size=\"9\" {FACE}>Bramble</text>\n");
    for _ in 0..count {
        let (x, y) = (
            x + chance.between(-30.0, 30.0),
            y + chance.between(-10.0, 10.0),
        );
        out.push_str(&filled(&round(x, y, 9, |_| 2.0)));
    }
    out
}

fn on_a_path(grid: &Grid, count: usize) -> String {
    let d = wander(grid, 400, 3.0);
    let letters = letters_of(count);
    format!(
        "<path id=\"p\" fill=\"none\" d=\"{d}\"/>\n<text font-size=\"1\" {FACE}><textPath href=\"#p\">{letters}</textPath></text>\n"
    )
}

fn spans(grid: &Grid, count: usize) -> String {
    let (x, y) = middle(grid, 0);
    let mut out = format!("<text font-size=\"2\" {FACE}>");
    for i in 0..count {
        let (x, y) = (x - 35.0 + (i % 70) as f64, y - 35.0 + (i / 70) as f64);
        let _ = write!(out, "<tspan x=\"{x}\" y=\"{y}\">o</tspan>");
    }
    out.push_str("</text>\n");
    out
}
