//! Keywords of properties: each in an attribute, in `style` and in a sheet, under each value around it.

use super::{Document, LENGTHS, NUMBERS};

/// A property, the values that it is given, the value around it, and what shows it (`@` stands for
/// its attributes).
struct Property {
    name: &'static str,
    values: &'static [&'static str],
    around: &'static [&'static str],
    shows: &'static str,
}

/// Values that are tried on every property.
const ALWAYS: [&str; 16] = [
    "inherit",
    "INHERIT",
    "initial",
    "Initial",
    "unset",
    "UNSET",
    "revert",
    "foo",
    "none",
    "NONE",
    "auto",
    "normal",
    "0",
    "foo bar",
    "inherit foo",
    "'none'",
];

const LINE: &str = "<path id='t' d='M12 20h14' stroke='#000' stroke-width='8' fill='none' @/>";
const CORNER: &str =
    "<path id='t' d='M10 12h18l-12 16' stroke='#000' stroke-width='6' fill='none' @/>";
const RING: &str = "<path id='t' d='M8 8h24v24h-24zM14 14h10v10h-10z' @/>";
const PLATE: &str = "<rect id='t' x='8' y='8' width='20' height='20' @/>";
const FRAMED: &str =
    "<rect id='t' x='8' y='8' width='20' height='20' stroke='#000' stroke-width='4' @/>";
const NESTED: &str = "<svg id='t' x='8' y='8' width='20' height='20' @><rect x='-4' y='5' width='30' height='9'/></svg>";
const SCALED: &str = "<g transform='scale(2 1)'><path id='t' d='M6 20h8v9' stroke='#000' stroke-width='12' fill='none' @/></g>";
const WORDS: &str =
    "<text x='20' y='24' font-family='Ubuntu' font-weight='300' font-size='9' id='t' @>Oho</text>";
const CLIPPED: &str = "<clipPath id='c'><path id='t' d='M8 8h24v24h-24zM14 14h10v10h-10z' @/></clipPath><rect width='40' height='40' clip-path='url(#c)'/>";
const TURNED: &str = "<rect id='t' x='18' y='8' width='12' height='20' @/>";

const PROPERTIES: &[Property] = &[
    Property {
        name: "stroke-linecap",
        values: &[
            "butt",
            "Butt",
            "round",
            "ROUND",
            "Round",
            "square",
            "SquarE",
            "rounded",
            "round square",
            " round ",
        ],
        around: &["", "round", "Square"],
        shows: LINE,
    },
    Property {
        name: "stroke-linejoin",
        values: &[
            "miter",
            "Miter",
            "round",
            "ROUND",
            "bevel",
            "Bevel",
            "miter-clip",
            "arcs",
            "mitre",
            "crop",
        ],
        around: &["", "bevel", "ROUND"],
        shows: CORNER,
    },
    Property {
        name: "fill-rule",
        values: &[
            "nonzero", "NonZero", "evenodd", "EvenOdd", "EVENODD", "even-odd", "winding",
        ],
        around: &["", "evenodd", "EVENODD"],
        shows: RING,
    },
    Property {
        name: "clip-rule",
        values: &[
            "nonzero", "NonZero", "evenodd", "EvenOdd", "EVENODD", "even-odd",
        ],
        around: &["", "evenodd"],
        shows: CLIPPED,
    },
    Property {
        name: "visibility",
        values: &[
            "visible",
            "Visible",
            "hidden",
            "Hidden",
            "HIDDEN",
            "collapse",
            "Collapse",
            "invisible",
            "false",
            "hide",
        ],
        around: &["", "hidden", "Hidden", "collapse"],
        shows: PLATE,
    },
    Property {
        name: "display",
        values: &[
            "inline",
            "block",
            "NONE",
            "None",
            "none",
            "hidden",
            "false",
            "contents",
            "table",
            "none none",
        ],
        around: &["", "inline", "None"],
        shows: PLATE,
    },
    Property {
        name: "fill",
        values: &[
            "none",
            "None",
            "transparent",
            "TRANSPARENT",
            "currentColor",
            "CURRENTCOLOR",
            "Black",
            "#00",
            "#000",
            "#0000",
            "rgb(0 0 0)",
            "RGB(0,0,0)",
            "blak",
            "url(#nope)",
            "url(#nope) none",
            "url(#nope) black",
            "none none",
            "black none",
            "context-fill",
            "0",
            "rgb(0,0,0,0)",
            "hsl(0,0%,0%)",
        ],
        around: &["", "none", "transparent"],
        shows: FRAMED,
    },
    Property {
        name: "stroke",
        values: &[
            "none",
            "transparent",
            "currentColor",
            "Black",
            "#000",
            "#0000",
            "rgb(0 0 0)",
            "blak",
            "url(#nope)",
            "url(#nope) none",
            "url(#nope) black",
            "none none",
            "black none",
            "context-stroke",
        ],
        around: &["", "black", "Transparent"],
        shows: "<rect id='t' x='8' y='8' width='20' height='20' fill='none' stroke-width='4' @/>",
    },
    Property {
        name: "overflow",
        values: &[
            "visible",
            "Visible",
            "VISIBLE",
            "hidden",
            "Hidden",
            "scroll",
            "auto",
            "Auto",
            "clip",
            "overlay",
            "visible hidden",
            "hidden visible",
            "visible visible",
        ],
        around: &["", "visible"],
        shows: NESTED,
    },
    Property {
        name: "vector-effect",
        values: &[
            "none",
            "non-scaling-stroke",
            "Non-Scaling-Stroke",
            "non-scaling",
            "fixed-position",
            "non-scaling-stroke none",
        ],
        around: &["", "non-scaling-stroke"],
        shows: SCALED,
    },
    Property {
        name: "text-anchor",
        values: &[
            "start",
            "Start",
            "middle",
            "Middle",
            "MIDDLE",
            "end",
            "END",
            "center",
            "left",
            "right",
            "middle end",
        ],
        around: &["", "middle", "End"],
        shows: WORDS,
    },
    Property {
        name: "writing-mode",
        values: &[
            "horizontal-tb",
            "Horizontal-TB",
            "lr-tb",
            "LR-TB",
            "LR",
            "rl",
            "sideways",
        ],
        around: &["", "Lr-Tb"],
        shows: WORDS,
    },
    Property {
        name: "font-style",
        values: &["normal", "Normal"],
        around: &["", "NORMAL"],
        shows: WORDS,
    },
    Property {
        name: "opacity",
        values: NUMBERS,
        around: &["", "0.9"],
        shows: PLATE,
    },
    Property {
        name: "fill-opacity",
        values: NUMBERS,
        around: &["", "0.1"],
        shows: PLATE,
    },
    Property {
        name: "stroke-opacity",
        values: NUMBERS,
        around: &["", "0.1"],
        shows: LINE,
    },
    Property {
        name: "stroke-width",
        values: LENGTHS,
        around: &["", "4"],
        shows: "<path id='t' d='M12 20h14' stroke='#000' fill='none' @/>",
    },
    Property {
        name: "stroke-miterlimit",
        values: &[
            "1", "1.", "2", "2.", "8", "10", "0.5", "-3", "abc", "4px", "4 4", "1e1", "+9", "NaN",
            "inf", "50%", "",
        ],
        around: &["", "1", "9"],
        shows: CORNER,
    },
    Property {
        name: "stroke-dasharray",
        values: &[
            "none", "None", "4", "4 2", "4,2", "4, 2", "4 ,2", "4,,2", ",4", "4,", "4.", "4 2.",
            "-4", "4 -2", "0", "0 0", "abc", "4 abc", "4px 2px", "4PX", "1mm", "10%", "4 2;",
            "1e0", ".4e1 2", "4 2 1", "4;2", "4/2", "4 2!", "4 px", "",
        ],
        around: &["", "3 3"],
        shows: LINE,
    },
    Property {
        name: "stroke-dashoffset",
        values: LENGTHS,
        around: &["", "3"],
        shows: "<path id='t' d='M12 20h14' stroke='#000' stroke-width='8' stroke-dasharray='5 3' fill='none' @/>",
    },
    Property {
        name: "transform",
        values: &[
            "none",
            "None",
            "rotate(20)",
            "Rotate(20)",
            "translate(4)",
            "translate(4,)",
            "translate(4 4",
            "translate(4 4))",
            "translate(4. 4)",
            "translate (4 4)",
            "translate(4 4)foo",
            "translate(4 4) ,rotate(10)",
            "translate(4 4),,rotate(10)",
            "translate(4 4),",
            "translate(,4)",
            "translate(4,,4)",
            "translate(4 4 4)",
            "scale(1 .5)",
            "scale()",
            "rotate(20 5)",
            "rotate(20 5 5)",
            "rotate(20deg)",
            "rotate(.1turn)",
            "translate(4px,4px)",
            "translate(4px 4px)",
            "translate(1mm,1mm)",
            "translate(10%)",
            "skewX(10)",
            "skewx(10)",
            "SKEWX(10)",
            "skew(10)",
            "skew(10deg)",
            "scaleX(.5)",
            "matrix(1 0 0 1 4)",
            "matrix(1 0 0 1 4 4)",
            "matrix(1,0,0,1,4,4)",
            "matrix(1 0 0 1 4px 4px)",
            "rotate(1e1)",
            "rotate(+10)",
            "translate3d(4px,4px,0)",
            "translate(4-4)",
            "translate(4+4)",
            "scale(.5.5)",
            "translate(calc(2px + 2px))",
            "rotate(20);",
            "rotate( 20 )",
            "\trotate(20)\n",
            "rotate(inf)",
            "",
        ],
        around: &["", "rotate(5)"],
        shows: TURNED,
    },
];

pub(super) fn documents() -> Vec<Document> {
    let mut all = Vec::new();
    for property in PROPERTIES {
        keyword(property, &mut all);
    }
    all
}

/// One property, each value in an attribute, in `style` and in a sheet, under each value around it.
fn keyword(property: &Property, all: &mut Vec<Document>) {
    let name = property.name;
    for value in property.values.iter().chain(&ALWAYS) {
        for around in property.around {
            let outer = if around.is_empty() {
                String::new()
            } else {
                format!("{name}=\"{around}\"")
            };
            for (how, own, sheet) in [
                ("attribute", format!("{name}=\"{value}\""), String::new()),
                ("style", format!("style=\"{name}:{value}\""), String::new()),
                (
                    "over an attribute",
                    format!("{name}=\"{around}\" style=\"{name}:{value}\""),
                    String::new(),
                ),
                (
                    "sheet",
                    String::new(),
                    format!("<style>#t{{{name}:{value}}}</style>"),
                ),
            ] {
                if how == "over an attribute" && around.is_empty() {
                    continue;
                }
                let shows = property.shows.replacen('@', &own, 1);
                let art = format!("{sheet}<g {outer}>{shows}</g>");
                let what = format!("\"{value}\" by {how}, around \"{around}\"");
                all.push(Document::new(name, &what, &art));
            }
        }
    }
}
