//! Ends of lines and lines without length (SVG 2, 13.5.4): caps × degenerate segments × frames.

use super::Document;
use super::chance::Chance;

/// Subpaths of no length, alone and among others.
const PATHS: [&str; 52] = [
    "M20 20z",
    "M20 20Z",
    "m20,20z",
    "M20 20zz",
    "M20 20",
    "M20 20m5 5",
    "M20 20m5 5z",
    "M20 20l0 0",
    "M20 20L20 20",
    "M20 20h0",
    "M20 20v0",
    "M20 20H20",
    "M20 20V20z",
    "M20 20c0 0 0 0 0 0",
    "M20 20C20 20 20 20 20 20z",
    "M20 20q0 0 0 0",
    "M20 20s0 0 0 0",
    "M20 20t0 0",
    "M20 20a5 5 0 0 0 0 0",
    "M20 20a5 5 0 0 0 0 0z",
    "M20 20a0 0 0 0 0 0 0",
    "M20 20A5 5 0 1 1 20 20",
    "M20 20A5 0 0 1 1 20 20",
    "M20 20l0 0z",
    "M20 20zl0 0",
    "M20 20zh0zv0z",
    "M20 20 20 20 20 20",
    "M20 20l0 0l0 0z",
    "M20 20l0 0m9 9z",
    "M20 20zM30 30z",
    "M20 20zM30 30",
    "M20 20zM30 30M8 8z",
    "M10 10h10zm10 10z",
    "M8 8h10v10zm20 15z",
    "M8 8h10v10zm4 0z",
    "M8 8h10v10zm4 0l0 0",
    "M8 8h10M20 20z",
    "M8 8h10M20 20l0 0M30 30z",
    "M8 8a1 1 0 0 0 0 0h9",
    "M8 20h9a1 1 0 0 0 0 0",
    "M8 30h9l0 0l0-9",
    "M8 30h9c0 0 0 0 0 0l0-9",
    "M8 8h10z m0 20 z l10 0",
    "M20 20c0 0 9 9 0 0",
    "M20 20c0 0 0 0 9 0",
    "M10 20c0 0 9 0 9 0",
    "M20 20q9 9 0 0",
    "M20 20h9h-9",
    "M20 20h9z",
    "M20 20h9h-9z",
    "M30 20a5 5 0 1 0 0 .01",
    "M10 10l20 20m-20 0z",
];

/// Other elements that may have no length.
const ELEMENTS: [&str; 9] = [
    "<line x1='20' y1='20' x2='20' y2='20' ",
    "<line x1='20' y1='20' x2='20.000' y2='2e1' ",
    "<polyline points='20,20' ",
    "<polyline points='20,20 20,20' ",
    "<polyline points='20,20 20,20 20,20 29,20' ",
    "<polygon points='20,20' ",
    "<polygon points='20,20 20,20' ",
    "<polygon points='20,20 29,20' ",
    "<polygon points='20,20 20,20 29,20 29,20' ",
];

const FRAMES: [&str; 6] = [
    "",
    "transform='rotate(30 20 20)'",
    "transform='translate(6 8)scale(.5 1.2)'",
    "transform='translate(-4 2)skewX(12)'",
    "transform='matrix(0 1 -1 0 40 0)'",
    "transform='translate(40 0)scale(-1 1)'",
];

/// No dash ends just on a corner: readers differ in which of the two pieces it belongs to.
const DASHES: [&str; 10] = [
    "",
    "",
    "",
    "stroke-dasharray='0 5.3'",
    "stroke-dasharray='4.1 5.3'",
    "stroke-dasharray='0 0'",
    "stroke-dasharray='3.1'",
    "stroke-dasharray='0 4.1 3 4.3'",
    "stroke-dasharray='4.1 5.3' stroke-dashoffset='4'",
    "stroke-dasharray='2.1 6.2' stroke-dashoffset='-3'",
];

pub(super) fn documents() -> Vec<Document> {
    let mut all = Vec::new();
    let mut chance = Chance::of_seed(12);
    let starts: Vec<String> = PATHS
        .iter()
        .map(|d| format!("<path d='{d}' "))
        .chain(ELEMENTS.iter().map(|e| (*e).to_owned()))
        .collect();
    for start in &starts {
        for cap in ["butt", "round", "square"] {
            for (i, frame) in FRAMES.iter().enumerate() {
                let dash = if i == 0 { "" } else { chance.pick(&DASHES) };
                let join = chance.pick(&["miter", "round", "bevel"]);
                let more = chance.pick(&["", "", "", "vector-effect='non-scaling-stroke'"]);
                let width = if more.is_empty() { "6" } else { "20" };
                let art = format!(
                    "<g {frame}>{start} fill='none' stroke='#000' stroke-width='{width}' stroke-linecap='{cap}' stroke-linejoin='{join}' {dash} {more}/></g>"
                );
                // A dashed line without length is a dot to some readers; it is measured as one.
                let family = if dash.is_empty() {
                    "caps"
                } else {
                    "dashed, at least"
                };
                all.push(Document::new(family, &format!("{start} {cap}"), &art));
            }
        }
    }
    all
}
