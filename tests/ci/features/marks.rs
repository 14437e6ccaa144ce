//! Markers, gradients of one colour, and lines that inherit a fill.

use super::Document;
use super::chance::Chance;

/// Lines that carry markers; `@` stands for their attributes.
const LINES: [&str; 14] = [
    "<path d='M10 20h18' @/>",
    "<path d='M8 10h20v18' @/>",
    "<path d='M8 10l10 12 10-12 4 20' @/>",
    "<path d='M8 28c4-20 16-20 22 0' @/>",
    "<path d='M8 28q10-20 22 0' @/>",
    "<path d='M8 26a10 10 0 0 1 22 0' @/>",
    "<path d='M10 10h18v16h-18z' @/>",
    "<path d='M10 10h18v16h-18v-16z' @/>",
    "<path d='M8 8h8M20 20h10v6' @/>",
    "<line x1='8' y1='30' x2='30' y2='12' @/>",
    "<polyline points='8,30 18,10 30,24' @/>",
    "<polygon points='10,28 20,10 30,26' @/>",
    "<g transform='rotate(20 20 20)scale(.8 1.1)'><path d='M10 20h18' @/></g>",
    "<rect x='10' y='10' width='16' height='14' @/>",
];

const SHAPES: [&str; 5] = [
    "<path d='M0 0l4 2-4 2z'/>",
    "<path d='M0 0h6v1h-6z'/>",
    "<circle cx='2' cy='2' r='2'/>",
    "<path d='M0 0l4 2-4 2z' fill='context-stroke'/>",
    "<path d='M0 2h4' stroke='#000' stroke-width='2'/>",
];

const MARKERS: [&str; 12] = [
    "",
    "orient='auto'",
    "orient='auto' refX='2' refY='2'",
    "orient='auto-start-reverse' refX='2' refY='2'",
    "orient='45' refX='2' refY='2'",
    "orient='auto' viewBox='0 0 4 4' refX='4' refY='2'",
    "orient='auto' viewBox='0 0 8 4' refX='4' refY='2' markerWidth='5' markerHeight='5'",
    "orient='auto' viewBox='0 0 4 4' refX='2' refY='2' markerUnits='userSpaceOnUse' markerWidth='8' markerHeight='8'",
    "orient='auto' refX='2' refY='2' overflow='visible'",
    "orient='auto' refX='2' refY='2' style='overflow:visible' markerUnits='userSpaceOnUse'",
    "orient='auto' viewBox='0 0 4 4' preserveAspectRatio='xMinYMin slice' refX='2' refY='2' markerWidth='6' markerHeight='4'",
    "orient='auto' viewBox='-1 -1 6 6' preserveAspectRatio='none' refX='2' refY='2' markerWidth='6' markerHeight='3'",
];

const WHERE: [&str; 7] = [
    "marker-end='url(#m)'",
    "marker-start='url(#m)'",
    "marker-mid='url(#m)'",
    "style='marker:url(#m)'",
    "style='marker-start:url(#m);marker-end:url(#m)'",
    "marker-end='url(#m)' visibility='hidden'",
    "marker-end='url(#m)' opacity='.9'",
];

const GRADIENTS: [&str; 8] = [
    "<linearGradient id='g'><stop stop-color='#000'/><stop offset='1' stop-color='black'/></linearGradient>",
    "<radialGradient id='g'><stop stop-color='#000'/></radialGradient>",
    "<linearGradient id='h'><stop style='stop-color:#000'/><stop offset='1' stop-color='#000'/></linearGradient><linearGradient id='g' href='#h'/>",
    "<linearGradient id='h'><stop/></linearGradient><radialGradient id='g' xlink:href='#h' gradientUnits='userSpaceOnUse' cx='9' cy='9' r='3'/>",
    "<linearGradient id='g'><stop stop-color='#000' stop-opacity='0'/></linearGradient>",
    "<linearGradient id='g'/>",
    "<linearGradient id='g'><stop stop-color='#000'/><stop offset='1' stop-color='#fff'/></linearGradient>",
    "<linearGradient id='g' gradientUnits='userSpaceOnUse'><stop stop-color='#000'/></linearGradient>",
];

const PAINTED: [&str; 6] = [
    "<rect x='8' y='8' width='20' height='20' fill='url(#g)'/>",
    "<path d='M8 20h20' fill='none' stroke='url(#g)' stroke-width='6'/>",
    "<path d='M8 20h20v9' fill='none' stroke='url(#g)' stroke-width='6'/>",
    "<g transform='rotate(30 20 20)'><path d='M8 20h20' fill='none' stroke='url(#g)' stroke-width='6'/></g>",
    "<g fill='url(#g)'><path d='M8 20h20' stroke='#000' stroke-width='6'/></g>",
    "<text x='8' y='24' font-family='Ubuntu' font-weight='300' font-size='14' fill='url(#g)'>Oho</text>",
];

pub(super) fn documents() -> Vec<Document> {
    let mut all = Vec::new();
    let mut chance = Chance::of_seed(3);
    for (l, line) in LINES.iter().enumerate() {
        for (m, marker) in MARKERS.iter().enumerate() {
            for (w, place) in WHERE.iter().enumerate() {
                let shape = chance.pick(&SHAPES);
                let width = chance.pick(&["1", "1.5", "2"]);
                let line = line.replacen(
                    '@',
                    &format!("fill='none' stroke='#000' stroke-width='{width}' {place}"),
                    1,
                );
                let art = format!("<marker id='m' {marker}>{shape}</marker>{line}");
                all.push(Document::new("markers", &format!("{l} {m} {w}"), &art));
            }
        }
    }
    for gradient in GRADIENTS {
        for painted in PAINTED {
            let art = format!("<defs>{gradient}</defs>{painted}");
            all.push(Document::new("gradients", painted, &art));
        }
    }
    all
}
