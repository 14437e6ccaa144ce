//! Clips: units × transforms × origins × what is clipped.

use super::Document;
use super::chance::Chance;

/// What is clipped; `@` stands for its attributes.
const CLIPPED: [&str; 12] = [
    "<rect x='6' y='8' width='26' height='22' @/>",
    "<circle cx='20' cy='20' r='14' @/>",
    "<ellipse cx='18' cy='21' rx='12' ry='9' @/>",
    "<path d='M6 6h20l8 20-20 8z' @/>",
    "<polygon points='6,6 34,10 20,34' @/>",
    "<path d='M6 20h28' fill='none' stroke='#000' stroke-width='12' @/>",
    "<g @><rect x='4' y='4' width='18' height='14'/><rect x='16' y='16' width='18' height='18'/></g>",
    "<g @><g transform='translate(4 4)'><circle cx='14' cy='14' r='11'/></g></g>",
    "<use href='#shared' x='2' y='1' @/>",
    "<svg x='4' y='4' width='30' height='28' viewBox='0 0 15 14' @><rect width='15' height='14'/></svg>",
    "<g transform='translate(3 2)scale(.9)'><rect x='6' y='8' width='26' height='22' @/></g>",
    "<g transform='rotate(10 20 20)'><use href='#shared' @/></g>",
];

/// What clips, in user units.
const CLIPS: [&str; 10] = [
    "<rect x='10' y='10' width='14' height='12' @/>",
    "<circle cx='20' cy='20' r='9' @/>",
    "<path d='M8 8h24v24h-24zM14 14h10v10h-10z' clip-rule='evenodd' @/>",
    "<path d='M8 8h24v24h-24zM14 14h10v10h-10z' fill-rule='evenodd' @/>",
    "<rect x='6' y='6' width='10' height='10' @/><circle cx='26' cy='24' r='7'/>",
    "<use href='#piece' x='3' y='2' @/>",
    "<polygon points='6,20 34,8 30,34' @/>",
    "<ellipse cx='50%' cy='50%' rx='30%' ry='20%' @/>",
    "<g><rect width='40' height='40' @/></g>",
    "<line x1='2' y1='2' x2='30' y2='30' stroke='#000' stroke-width='9' @/>",
];

/// What clips, in the box of what is clipped.
const BOXED: [&str; 6] = [
    "<rect x='.25' y='.1' width='.5' height='.6' @/>",
    "<circle cx='.5' cy='.5' r='.4' @/>",
    "<path d='M0 0h1v1z' @/>",
    "<use href='#unit' @/>",
    "<polygon points='0,.5 .5,0 1,.5 .5,1' @/>",
    "<ellipse cx='50%' cy='50%' rx='30%' ry='40%' @/>",
];

/// Ways to write a transform, and where it turns about.
const TRANSFORMS: [&str; 9] = [
    "",
    "",
    "",
    "transform='translate(3 2)'",
    "transform='rotate(20)'",
    "transform='scale(.8)'",
    "transform='rotate(15 20 20)'",
    "transform='scale(1.2 .7)'",
    "transform='skewX(10)'",
];
const BOXED_TRANSFORMS: [&str; 7] = [
    "",
    "",
    "transform='translate(.1 .2)'",
    "transform='rotate(20)'",
    "transform='scale(.5)'",
    "transform='rotate(45 .5 .5)'",
    "transform='skewX(10)'",
];
const ORIGINS: [&str; 20] = [
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "transform-origin='20 20'",
    "transform-origin='10px 5px'",
    "style='transform-origin:20px 20px'",
    "transform-origin='0 0'",
    "transform-origin='center'",
    "transform-origin='50% 50%'",
];
const UNITS: [&str; 4] = [
    "",
    "clipPathUnits='userSpaceOnUse'",
    "clipPathUnits='objectBoundingBox'",
    "clipPathUnits='objectBoundingBox'",
];

const DEFS: &str = "<defs><rect id='shared' x='5' y='7' width='24' height='20'/><circle id='piece' cx='16' cy='17' r='9'/><rect id='unit' x='.2' y='.2' width='.6' height='.5'/><clipPath id='half'><rect x='0' y='0' width='40' height='20'/></clipPath></defs>";

pub(super) fn documents() -> Vec<Document> {
    let mut chance = Chance::of_seed(7);
    (0..1_500)
        .map(|i| {
            let c = &mut chance;
            let units = c.pick(&UNITS);
            let boxed = units.contains("Bounding");
            // One thing in two is plain, so that what differs is found by itself.
            let quiet = c.below(2) == 0;
            let frame = |c: &mut Chance, boxed: bool| {
                let list: &[&str] = if boxed {
                    &BOXED_TRANSFORMS
                } else {
                    &TRANSFORMS
                };
                let origin = if boxed && c.below(8) == 0 {
                    "transform-origin='.5 .5'"
                } else {
                    c.pick(&ORIGINS)
                };
                format!("{} {origin}", c.pick(list))
            };
            let clip_frame = frame(c, boxed);
            let child_frame = if quiet {
                String::new()
            } else {
                frame(c, boxed)
            };
            let own_frame = if quiet || c.below(2) == 0 {
                String::new()
            } else {
                format!("{} {}", c.pick(&TRANSFORMS), c.pick(&ORIGINS))
            };
            let own_clip = if c.below(6) == 0 {
                "clip-path='url(#half)'"
            } else {
                ""
            };
            let inner = c.pick(if boxed { &BOXED } else { &CLIPS });
            let inner = inner.replacen('@', &child_frame, 1);
            let art =
                c.pick(&CLIPPED)
                    .replacen('@', &format!("clip-path='url(#c)' {own_frame}"), 1);
            let art = format!(
                "{DEFS}<clipPath id='c' {units} {clip_frame} {own_clip}>{inner}</clipPath>{art}"
            );
            Document::new("clips", &i.to_string(), &art)
        })
        .collect()
}
