//! The two ends of the check of lettering against a browser: makes the drawings, and compares the ink
//! that the browser showed with what this library lays out. `tests/ci/browser_text.sh` runs it.
//!
//! ```text
//! browser_text make FOLDER
//! browser_text compare MEASURED.jsonl
//! ```
#![allow(missing_docs, clippy::indexing_slicing)]

use std::collections::BTreeMap;
use std::path::Path;

use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::mark::{Artwork, Colour, Paint};
use jigwarden::tested::artwork::resolve::{ReadOptions, resolve};
use jigwarden::tested::artwork::source::Source;
use kurbo::Rect;
use serde_json::Value;

/// User units to a millimetre: pages are in px.
const UNITS: f64 = 96.0 / 25.4;

/// Boxes agree to this, in user units: a pixel of the browser's drawing is an eighth, and it places
/// letters to an eighth or so.
const AGREE: f64 = 0.3;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["make", folder] => make(Path::new(folder)),
        ["compare", file] => compare(Path::new(file)),
        _ => false,
    };
    std::process::exit(i32::from(!done));
}

fn page(body: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='200px' height='100px' viewBox='0 0 200 100' font-family='DejaVu Sans' font-size='10'><path id='line' fill='none' d='M20 60H190'/><path id='arc' fill='none' d='M20 90A80 80 0 0 1 180 90'/>{body}</svg>"
    )
}

/// Every drawing, by family.
fn documents() -> Vec<(String, String)> {
    let mut all = Vec::new();
    let mut add = |family: &str, body: String| {
        let number = all.len();
        all.push((format!("{family}-{number:04}"), page(&body)));
    };
    let anchors = ["start", "middle", "end"];
    // Spacing × anchor × baseline.
    for spacing in [
        "",
        "letter-spacing='3'",
        "letter-spacing='-1'",
        "word-spacing='6'",
        "word-spacing='-9'",
        "word-spacing='-26'",
        "letter-spacing='2' word-spacing='-30'",
    ] {
        for anchor in anchors {
            for baseline in [
                "",
                "dominant-baseline='middle'",
                "dominant-baseline='central'",
                "dominant-baseline='hanging'",
                "dominant-baseline='mathematical'",
                "dominant-baseline='ideographic'",
                "dominant-baseline='text-before-edge'",
                "dominant-baseline='text-after-edge'",
                "dominant-baseline='no-change'",
                "dominant-baseline='use-script'",
                "dominant-baseline='reset-size'",
                "baseline-shift='super'",
                "baseline-shift='sub'",
                "baseline-shift='4'",
                "baseline-shift='-30%'",
                "alignment-baseline='middle'",
            ] {
                for content in ["Ida Moll", "Id<tspan fill='red'>a Moll</tspan>"] {
                    add(
                        "spacing",
                        format!(
                            "<text x='100' y='50' text-anchor='{anchor}' {spacing} {baseline}>{content}</text>"
                        ),
                    );
                }
            }
        }
    }
    // What a span says for itself, in a text and a group that say something too.
    let baselines = [
        "",
        "dominant-baseline='middle'",
        "dominant-baseline='auto'",
        "dominant-baseline='no-change'",
        "dominant-baseline='reset-size'",
        "dominant-baseline='use-script'",
        "alignment-baseline='middle'",
        "alignment-baseline='baseline'",
        "alignment-baseline='central'",
        "alignment-baseline='hanging'",
        "alignment-baseline='text-before-edge'",
        "alignment-baseline='text-after-edge'",
        "baseline-shift='super'",
        "baseline-shift='sub'",
        "baseline-shift='3'",
        "baseline-shift='20%'",
    ];
    for outer in [
        "",
        "dominant-baseline='middle'",
        "baseline-shift='2'",
        "alignment-baseline='hanging'",
    ] {
        for text in [
            "",
            "dominant-baseline='hanging'",
            "dominant-baseline='no-change'",
            "dominant-baseline='auto'",
            "baseline-shift='3'",
        ] {
            for span in baselines {
                for size in ["", "font-size='6'"] {
                    add(
                        "span",
                        format!(
                            "<g {outer}><text x='60' y='50' {text}>Ida<tspan fill='red' {span} {size}>Moll<tspan fill='blue'>x</tspan></tspan></text></g>"
                        ),
                    );
                }
            }
        }
    }
    // Curves.
    for track in ["line", "arc"] {
        for anchor in anchors {
            for what in [
                "",
                "letter-spacing='3'",
                "dy='-4'",
                "dy='-3 2'",
                "dx='5'",
                "rotate='30'",
                "rotate='0 45 90'",
                "dominant-baseline='middle'",
                "baseline-shift='super'",
                "word-spacing='5'",
            ] {
                add(
                    "curve",
                    format!(
                        "<text text-anchor='{anchor}' {what}><textPath href='#{track}' startOffset='85'>Ida Moll</textPath></text>"
                    ),
                );
                add(
                    "curve",
                    format!(
                        "<text text-anchor='{anchor}'><textPath href='#{track}' startOffset='85'>Ida<tspan fill='red' {what}>Moll</tspan></textPath></text>"
                    ),
                );
            }
        }
    }
    // Direction.
    for direction in ["", "direction='rtl'"] {
        for anchor in anchors {
            for spacing in ["", "letter-spacing='3'", "dx='4'", "word-spacing='-2'"] {
                for content in [
                    "Ida",
                    "Ida!",
                    "שלום",
                    "שלום רב",
                    "سلام",
                    "شمس 12",
                    "Χλόη",
                    "של<tspan fill='red'>ום</tspan>",
                    "אדם Ida",
                    "Ida אדם",
                    "(אדם)",
                ] {
                    add(
                        "direction",
                        format!(
                            "<text x='100' y='50' text-anchor='{anchor}' {direction} {spacing}>{content}</text>"
                        ),
                    );
                    add(
                        "direction",
                        format!(
                            "<g {direction}><text x='100' y='50' text-anchor='{anchor}' {spacing}>{content}</text></g>"
                        ),
                    );
                }
            }
        }
    }
    // Lines along letters × who declares them × in which paint.
    let lines = [
        "",
        "underline",
        "overline",
        "line-through",
        "underline overline",
        "none",
    ];
    for outer in lines {
        for text in lines {
            for span in ["", "underline", "line-through", "none"] {
                let decoration = |l: &str| {
                    if l.is_empty() {
                        String::new()
                    } else {
                        format!("text-decoration='{l}'")
                    }
                };
                add(
                    "line",
                    format!(
                        "<g fill='red' {}><text x='60' y='50' fill='blue' {}>Ida<tspan fill='black' {} font-size='14'>Moll</tspan></text></g>",
                        decoration(outer),
                        decoration(text),
                        decoration(span)
                    ),
                );
            }
        }
    }
    for line in ["underline", "overline", "line-through"] {
        for how in [
            "letter-spacing='3'",
            "letter-spacing='3' text-anchor='middle'",
            "baseline-shift='super'",
            "dominant-baseline='middle'",
            "rotate='20'",
            "dx='0 4'",
            "stroke='red' stroke-width='0.5'",
            "font-size='30'",
            "font-weight='bold'",
        ] {
            add(
                "line",
                format!(
                    "<text x='60' y='50' fill='red' text-decoration='{line}' {how}><tspan fill='blue'>Ida</tspan></text>"
                ),
            );
            add(
                "line",
                format!(
                    "<g fill='red' style='text-decoration:{line}'><text x='60' y='50' fill='blue' {how}>Ida</text></g>"
                ),
            );
        }
        add(
            "line",
            format!(
                "<text fill='red' text-decoration='{line}'><textPath href='#arc' startOffset='60'><tspan fill='blue'>Ida</tspan></textPath></text>"
            ),
        );
    }
    // Features of the face.
    for feature in [
        "letter-spacing:1px",
        "letter-spacing:-1px",
        "letter-spacing:1px;font-kerning:none",
        "font-kerning:none",
        "font-kerning:normal",
        "font-feature-settings:\"kern\" 0",
        "font-feature-settings:\"kern\"",
        "font-feature-settings:\"liga\" 0",
        "font-feature-settings:\"smcp\"",
        "font-feature-settings:normal",
        "font-variant-ligatures:none",
        "font-variant-ligatures:no-common-ligatures",
        "font-variant-ligatures:discretionary-ligatures",
        "font-variant-caps:small-caps",
        "font-variant-caps:all-small-caps",
        "font-variant-numeric:tabular-nums",
        "font-variant-numeric:ordinal",
        "font-variant-position:super",
        "font-variant-east-asian:ruby",
        "font-variant-alternates:historical-forms",
        "font-variant:none",
        "font-variant:small-caps",
        "text-rendering:optimizeSpeed",
        "text-rendering:geometricPrecision",
    ] {
        for content in ["AVATAR To", "ffi fl 12"] {
            for family in ["DejaVu Sans", "DejaVu Serif"] {
                add(
                    "feature",
                    format!(
                        "<text x='20' y='50' font-family='{family}' font-size='14' style='{feature}'>{content}</text>"
                    ),
                );
            }
        }
    }
    all
}

fn make(folder: &Path) -> bool {
    for (name, text) in documents() {
        let path = folder.join(format!("{name}.svg"));
        if let Err(e) = std::fs::write(&path, text) {
            eprintln!("{}: {e}", path.display());
            return false;
        }
    }
    true
}

fn compare(file: &Path) -> bool {
    let text = std::fs::read_to_string(file).unwrap_or_default();
    let faces = Faces::new(Vec::new(), true);
    // By family: drawn where the browser has it, named, different.
    let mut sums: BTreeMap<String, [usize; 3]> = BTreeMap::new();
    let mut differences = Vec::new();
    let mut worst = 0.0f64;
    for line in text.lines() {
        let Ok(one) = serde_json::from_str::<Value>(line) else {
            continue;
        };
        let path = one["file"].as_str().unwrap_or_default();
        let name = Path::new(path)
            .file_stem()
            .and_then(|s| s.to_str())
            .unwrap_or_default();
        let family = name.split('-').next().unwrap_or_default().to_owned();
        let sum = sums.entry(family).or_default();
        let reading = ReadOptions {
            units: jigwarden::tested::artwork::length::RootUnits::CSS,
            placing: None,
            faces: &faces,
        };
        let Some(artwork) = Source::read(Path::new(path))
            .ok()
            .and_then(|source| resolve(&source, &reading).ok())
        else {
            differences.push(format!("{name}: refused"));
            continue;
        };
        if !artwork.unproven.is_empty() {
            sum[1] += 1;
            continue;
        }
        let ours = inks(&artwork);
        let curved = std::fs::read_to_string(path).is_ok_and(|t| t.contains("#arc"));
        let mut off = 0.0f64;
        for paint in ["red", "blue", "black"] {
            let theirs = one["boxes"][paint].as_array().map(|b| {
                let at = |i: usize| b.get(i).and_then(Value::as_f64).unwrap_or(f64::NAN);
                Rect::new(at(0), at(1), at(2), at(3))
            });
            let here = match (ours.get(paint), theirs) {
                (None, None) => 0.0,
                (Some(a), Some(b)) => [a.x0 - b.x0, a.y0 - b.y0, a.x1 - b.x1, a.y1 - b.y1]
                    .iter()
                    .fold(0.0f64, |m, d| m.max(d.abs())),
                _ => f64::INFINITY,
            };
            // The browser measures arcs by chords.
            let agree = if curved { 2.0 * AGREE } else { AGREE };
            if here > agree {
                differences.push(format!(
                    "{name}: {paint} {here:.2}: ours {:.2?}, theirs {theirs:.2?}",
                    ours.get(paint)
                ));
            }
            off = off.max(if curved { here / 2.0 } else { here });
        }
        if off <= AGREE {
            sum[0] += 1;
            worst = worst.max(off);
        } else {
            sum[2] += 1;
        }
    }
    println!(
        "{:12} {:>7} {:>7} {:>9}",
        "family", "agree", "named", "differ"
    );
    for (family, [agree, named, differ]) in &sums {
        println!("{family:12} {agree:7} {named:7} {differ:9}");
    }
    println!("worst that agrees {worst:.3} units; a pixel of the browser's drawing is 0.125");
    for one in differences.iter().take(60) {
        println!("  {one}");
    }
    differences.is_empty() && sums.values().any(|s| s[0] > 0)
}

/// The box of what each paint inks, in user units on the page. A later paint hides an earlier one, so a
/// paint's box is that of what is left of it.
fn inks(artwork: &Artwork) -> BTreeMap<&'static str, Rect> {
    let page = jigwarden::tested::geometry::region::Region::from_rect(artwork.page.rect);
    let mut left: Vec<(&'static str, jigwarden::tested::geometry::region::Region)> = Vec::new();
    for mark in &artwork.marks {
        let Paint::Colour(colour) = &mark.paint else {
            continue;
        };
        if mark.hidden.is_some() {
            continue;
        }
        let ink = mark.ink().intersect(&page);
        for (_, earlier) in &mut left {
            *earlier = earlier.subtract(&ink);
        }
        left.push((name(*colour), ink));
    }
    let mut boxes: BTreeMap<&'static str, Rect> = BTreeMap::new();
    for (paint, ink) in left {
        if let Some(b) = ink.bounds() {
            let b = Rect::new(b.x0 * UNITS, b.y0 * UNITS, b.x1 * UNITS, b.y1 * UNITS);
            boxes
                .entry(paint)
                .and_modify(|r| *r = r.union(b))
                .or_insert(b);
        }
    }
    boxes
}

fn name(colour: Colour) -> &'static str {
    match colour {
        Colour { r: 255, .. } => "red",
        Colour { b: 255, .. } => "blue",
        _ => "black",
    }
}
