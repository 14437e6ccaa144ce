//! The picture of growth that the README shows: processor time over size, both by powers of ten, so
//! that what grows in proportion rises as steeply as the dotted lines.
#![allow(unreachable_pub)]

use std::fmt::Write as _;
use std::path::Path;

/// A line of the picture: what grows, and processor time in seconds for each size.
pub struct Line {
    /// What grows.
    pub what: String,
    /// Sizes, smallest first, and seconds.
    pub rows: Vec<(usize, f64)>,
}

/// Edges of the plot in the picture's units, and its ranges as powers of ten.
const LEFT: f64 = 70.0;
const RIGHT: f64 = 560.0;
const TOP: f64 = 20.0;
const BOTTOM: f64 = 380.0;
const SIZES: (f64, f64) = (0.0, 6.0);
const SECONDS: (f64, f64) = (-2.0, 2.0);

/// Dashes that tell the lines apart without colour.
const DASHES: [&str; 6] = ["none", "9 3", "3 3", "9 3 2 3", "14 4", "1.5 2.5"];

/// The lines' names stand at least this far apart.
const ROW: f64 = 16.0;

fn across(power: f64) -> f64 {
    LEFT + (power - SIZES.0) / (SIZES.1 - SIZES.0) * (RIGHT - LEFT)
}

fn down(power: f64) -> f64 {
    let power = power.clamp(SECONDS.0, SECONDS.1);
    BOTTOM - (power - SECONDS.0) / (SECONDS.1 - SECONDS.0) * (BOTTOM - TOP)
}

/// Writes the picture.
///
/// # Errors
///
/// Those of writing the file.
pub fn draw(lines: &[Line], file: &Path) -> std::io::Result<()> {
    let mut out = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900\" height=\"430\" viewBox=\"0 0 900 430\" font-family=\"sans-serif\" font-size=\"12\" fill=\"#222222\">\n<rect width=\"900\" height=\"430\" fill=\"#ffffff\"/>\n",
    );
    grid(&mut out);
    let mut names = Vec::new();
    for (line, dash) in lines.iter().zip(DASHES.iter().cycle()) {
        let points: Vec<(f64, f64)> = line
            .rows
            .iter()
            .map(|(size, seconds)| (across((*size as f64).log10()), down(seconds.log10())))
            .collect();
        let path: Vec<String> = points
            .iter()
            .map(|(x, y)| format!("{x:.1},{y:.1}"))
            .collect();
        let _ = writeln!(
            out,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"#1f4e79\" stroke-width=\"2\" stroke-dasharray=\"{dash}\"/>",
            path.join(" ")
        );
        for (x, y) in &points {
            let _ = writeln!(
                out,
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3\" fill=\"#1f4e79\"/>"
            );
        }
        if let Some(end) = points.last() {
            names.push((*end, &line.what));
        }
    }
    name(&mut out, names);
    out.push_str("</svg>\n");
    std::fs::write(file, out)
}

fn grid(out: &mut String) {
    let thin = "stroke=\"#d0d0d0\" stroke-width=\"1\"";
    for power in SIZES.0 as i32..=SIZES.1 as i32 {
        let x = across(f64::from(power));
        let told = 10_u32.pow(power.unsigned_abs());
        let _ = writeln!(
            out,
            "<path d=\"M{x},{TOP}V{BOTTOM}\" {thin}/><text x=\"{x}\" y=\"{}\" text-anchor=\"middle\">{told}</text>",
            BOTTOM + 18.0
        );
    }
    for power in SECONDS.0 as i32..=SECONDS.1 as i32 {
        let y = down(f64::from(power));
        let told = 10_f64.powi(power);
        let _ = writeln!(
            out,
            "<path d=\"M{LEFT},{y}H{RIGHT}\" {thin}/><text x=\"{}\" y=\"{}\" text-anchor=\"end\">{told} s</text>",
            LEFT - 8.0,
            y + 4.0
        );
    }
    // As steep as what grows in proportion: a power of ten up for a power of ten to the right.
    for start in [0.0, 2.0] {
        let end = start + SECONDS.1 - SECONDS.0;
        let _ = writeln!(
            out,
            "<path d=\"M{},{BOTTOM}L{},{TOP}\" stroke=\"#b0b0b0\" stroke-dasharray=\"1 4\"/>",
            across(start),
            across(end)
        );
    }
    let _ = writeln!(
        out,
        "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">how many; upwards: processor time; dotted: as steep as growth in proportion</text>",
        f64::midpoint(LEFT, RIGHT),
        BOTTOM + 38.0
    );
}

/// The names, one under the other at the right, each with a leader from the end of its line.
fn name(out: &mut String, mut names: Vec<((f64, f64), &String)>) {
    names.sort_by(|a, b| a.0.1.total_cmp(&b.0.1));
    let mut last = TOP - ROW;
    for ((x, y), what) in names {
        let row = y.max(last + ROW);
        last = row;
        let at = RIGHT + 20.0;
        let _ = writeln!(
            out,
            "<path d=\"M{},{y:.1}L{},{row:.1}\" stroke=\"#8a8a8a\" fill=\"none\"/><text x=\"{at}\" y=\"{:.1}\">{what}</text>",
            x + 5.0,
            at - 4.0,
            row + 4.0
        );
    }
}
