//! Keywords and numbers as they may be written: property × case × invalid × inherited, and numbers in
//! view boxes, path data, lists of points, transforms and lengths.

use super::Document;

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

const NUMBERS: &[&str] = &[
    "1", "1.", "0.", "0", ".9", ".1", "90%", "10%", "10 %", "abc", "-1", "2", "1 1", "1px", "+.9",
    "9e-1", "1e-1", "0e", "inf", "NaN", "1,", "", "0x1", "1.0.0", "calc(1)", "--1", "infinity",
];

const LENGTHS: &[&str] = &[
    "4",
    "4.",
    ".4e1",
    "4px",
    "4PX",
    "4Px",
    "4 px",
    "1mm",
    "1MM",
    "1q",
    "4Q",
    "3pt",
    "-4",
    "abc",
    "10%",
    "1e1",
    "1e",
    "4,",
    "4;",
    "",
    "0",
    "0px",
    "medium",
    "4 4",
    "calc(4px)",
    "CALC(4px)",
    "+4",
    "4.5.",
    "1em",
    "1ex",
    "1vw",
    "inf",
    "4foo",
    "4\u{a0}",
];

/// Numbers in a view box of 0 0 20 20.
const VIEW_BOXES: [&str; 34] = [
    "0 0 20 20",
    "0,0,20,20",
    "0, 0, 20, 20",
    "0 ,0 ,20 ,20",
    " 0 0 20 20 ",
    "0 0 20 20 5",
    "0 0 20 20,",
    "0 0 20 20 foo",
    "0 0 20 20;",
    "0 0 20. 20",
    "0. 0 20 20",
    "0 0 20 20.",
    "0 0 2e1 20",
    "0 0 2E1 2e+1",
    "0 0 20px 20px",
    "0 0 20",
    "0 0 -20 20",
    "0 0 0 20",
    "0,,0 20 20",
    ",0 0 20 20",
    "",
    "none",
    "0 0 20 20%",
    "+0 +0 +20 +20",
    "-0 -0 20 20",
    ".0 .0 20 20",
    "0 0 20 20 20",
    "0\t0\n20\r20",
    "(0 0 20 20)",
    "0 0 20.5.5",
    "0-0 20 20",
    "0 0 20 20e",
    "0 0 20 2e1px",
    "0 0 inf 20",
];

/// Path data with numbers of every kind.
const DATA: [&str; 66] = [
    "M8 8h20v20z",
    "M8 8 h20. v20z",
    "M8. 8h20v20z",
    "M8 8.h20v20z",
    "M8 8h20v20.z",
    "M8 8h20,v20z",
    "M8,8,h20v20z",
    "M,8 8h20v20z",
    "M8,,8h20v20z",
    "M8 8h20v20z5",
    "M8 8h20v20z foo",
    "M8 8h20v20zX",
    "M8 8h20v20z,",
    "M8 8h20v20,z",
    "M8 8h2e1v20z",
    "M8 8h2E+1v20z",
    "M8 8h200e-1v20z",
    "M8 8h2ev20z",
    "M8 8h20v20h",
    "M8 8h20v",
    "M8 8L28 8 28",
    "M8 8L28 8 28 28 8",
    "M8 8h+20v+20z",
    "M8 8h--20v20z",
    "M8 8h20-5v20z",
    "M8 8l20 0-5 20z",
    "M8 8l.5.5 20 0 0 20z",
    "M8 8l.5.5.5 20z",
    "h20v20z",
    "20 20h5v9z",
    "M",
    "M8",
    "M8 8",
    "m8 8 20 0 0 20",
    "M8 8 28 8 28 28",
    "M8 8m4 4h9v9z",
    "M8 20a9 9 0 0 1 18 0",
    "M8 20a9 9 0 01 18 0",
    "M8 20a9 9 0 0118 0",
    "M8 20a9,9,0,0,1,18,0",
    "M8 20a9 9 0 2 1 18 0",
    "M8 20a9 9 0 0 1. 18 0",
    "M8 20a9 9 0 1 1.5 18 0",
    "M8 20a-9 -9 0 0 1 18 0",
    "M8 20a9 9 0 0 1 18",
    "M8 20a9. 9 0 0 1 18 0z",
    "M8 20a9 9 0 0 1 18 0 9 9 0 0 1-18 0",
    "M8 20A0 9 0 0 1 26 20z",
    "M8 20c0-9 18-9 18 0",
    "M8 20c0-9 18-9 18 0 9",
    "M8 20s9-9 18 0",
    "M8 20q9-18 18 0t9 0",
    "M8 20q9-18 18",
    "M8 8zh20v20z",
    "M8 8h20v20Z m4 4 h3 v-3 z",
    "M8 8h20\u{a0}v20z",
    "M8 8h20;v20z",
    "M 8 8\n\th 20\rv 20 z",
    "M8 8h20px v20z",
    "M8 8hInf v20z",
    "M8 8h0x14v20z",
    "M8 8h20v20z M8 30h20.v5z",
    "M8 8 h 20 v 20 z #",
    "none",
    "",
    "M8 8h 1e400 v20z",
];

const POINTS: [&str; 22] = [
    "8,8 28,8 28,28",
    "8 8 28 8 28 28",
    "8,8,28,8,28,28",
    "8,8 28,8 28,28,",
    "8,8 28,8 28",
    "8,8 28,8 28,28 8",
    "8,8 28,8 28. 28",
    "8,8, 28,8, 28,28",
    "8,,8 28,8 28,28",
    ",8,8 28,8 28,28",
    "8,8;28,8;28,28",
    "8,8 28,8 28,28 foo",
    "8,8 28,8 foo 28,28",
    "8 8 28 8 28 28px",
    "8,8 2e1,8 28,28",
    "8-8 28,8 28,28",
    "8 8 28 8 28 28.",
    "8.5.5 28 8 28 28 1",
    "",
    "8",
    "8 8",
    "+8 +8 28 8 28 28",
];

const ASPECTS: [&str; 22] = [
    "none",
    "None",
    "xMidYMid",
    "xMidYMid meet",
    "xMidYMid slice",
    "xMinYMax",
    "xmidymid",
    "XMIDYMID",
    "xMaxYMin slice",
    "xMidYMid  slice",
    " xMidYMid slice ",
    "xMidYMid Slice",
    "xMidYMid meet slice",
    "xMidYMid,slice",
    "defer xMidYMid",
    "defer none",
    "slice",
    "foo",
    "",
    "none slice",
    "xMidYMid foo",
    "xMinYMinslice",
];

pub(super) fn documents() -> Vec<Document> {
    let mut all = Vec::new();
    for property in PROPERTIES {
        keyword(property, &mut all);
    }
    numbers(&mut all);
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

fn numbers(all: &mut Vec<Document>) {
    let plate = "<path d='M3 3h12v10z'/>";
    for value in VIEW_BOXES {
        let page = format!("width='40mm' height='40mm' viewBox='{value}'");
        all.push(Document::on(
            "viewBox",
            &format!("page {value}"),
            &page,
            plate,
        ));
        let nested =
            format!("<svg x='4' y='4' width='30' height='30' viewBox='{value}'>{plate}</svg>");
        all.push(Document::new(
            "viewBox",
            &format!("nested {value}"),
            &nested,
        ));
        let symbol = format!(
            "<symbol id='s' viewBox='{value}'>{plate}</symbol><use href='#s' x='4' y='4' width='30' height='30'/>"
        );
        all.push(Document::new(
            "viewBox",
            &format!("symbol {value}"),
            &symbol,
        ));
    }
    for value in DATA {
        for paint in [
            "",
            "fill='none' stroke='#000' stroke-width='3'",
            "fill='none' stroke='#000' stroke-width='4' stroke-linecap='round'",
        ] {
            all.push(Document::new(
                "data",
                value,
                &format!("<path d='{value}' {paint}/>"),
            ));
        }
        let clip = format!(
            "<clipPath id='c'><path d='{value}'/></clipPath><rect width='40' height='40' clip-path='url(#c)'/>"
        );
        all.push(Document::new("data", &format!("clip {value}"), &clip));
    }
    for value in POINTS {
        for element in ["polygon", "polyline"] {
            all.push(Document::new(
                "points",
                value,
                &format!("<{element} points='{value}' stroke='#000' stroke-width='3'/>"),
            ));
        }
    }
    for value in ASPECTS {
        let wide = "<rect width='30' height='10'/>";
        let page =
            format!("width='40mm' height='40mm' viewBox='0 0 30 10' preserveAspectRatio='{value}'");
        all.push(Document::on(
            "aspect",
            &format!("page {value}"),
            &page,
            wide,
        ));
        let nested = format!(
            "<svg x='4' y='4' width='30' height='30' viewBox='0 0 30 10' preserveAspectRatio='{value}'>{wide}</svg>"
        );
        all.push(Document::new("aspect", &format!("nested {value}"), &nested));
        let symbol = format!(
            "<symbol id='s' viewBox='0 0 30 10' preserveAspectRatio='{value}'>{wide}</symbol><use href='#s' width='30' height='30'/>"
        );
        all.push(Document::new("aspect", &format!("symbol {value}"), &symbol));
    }
    for value in LENGTHS
        .iter()
        .chain(&["auto", "Auto", "AUTO", "20%", "none"])
    {
        for (what, element) in [
            ("rect x", "<rect x='@' y='8' width='20' height='20'/>"),
            ("rect width", "<rect x='8' y='8' width='@' height='20'/>"),
            (
                "rect rx",
                "<rect x='8' y='8' width='20' height='20' rx='@'/>",
            ),
            (
                "rect ry",
                "<rect x='8' y='8' width='20' height='20' rx='6' ry='@'/>",
            ),
            ("circle r", "<circle cx='20' cy='20' r='@'/>"),
            ("circle cx", "<circle cx='@' cy='20' r='8'/>"),
            ("ellipse rx", "<ellipse cx='20' cy='20' rx='@' ry='8'/>"),
            (
                "line x2",
                "<line x1='20' y1='20' x2='@' y2='8' stroke='#000' stroke-width='3'/>",
            ),
            (
                "use x",
                "<defs><rect id='r' width='9' height='9'/></defs><use href='#r' x='@' y='8'/>",
            ),
            (
                "svg x",
                "<svg x='@' y='8' width='20' height='20'><circle cx='9' cy='9' r='8'/></svg>",
            ),
            (
                "svg width",
                "<svg x='8' y='8' width='@' height='20' viewBox='0 0 20 20'><circle cx='9' cy='9' r='8'/></svg>",
            ),
            (
                "symbol width",
                "<symbol id='s' viewBox='0 0 20 20'><circle cx='9' cy='9' r='8'/></symbol><use href='#s' width='@' height='20'/>",
            ),
        ] {
            let art = element.replacen('@', value, 1);
            all.push(Document::new("lengths", &format!("{what} {value}"), &art));
        }
    }
    for value in [
        "userSpaceOnUse",
        "userspaceonuse",
        "USERSPACEONUSE",
        "objectBoundingBox",
        "objectboundingbox",
        "ObjectBoundingBox",
        "foo",
        "",
        " objectBoundingBox ",
    ] {
        let art = format!(
            "<clipPath id='c' clipPathUnits='{value}'><rect x='.2' y='.1' width='.5' height='.7'/><circle cx='20' cy='20' r='9'/></clipPath><rect x='8' y='8' width='26' height='24' clip-path='url(#c)'/>"
        );
        all.push(Document::new("units", value, &art));
    }
    for value in [
        "url(#c)",
        "URL(#c)",
        "url( #c )",
        "url(\"#c\")",
        "url(#c",
        "url(#C)",
        "url(#c) none",
        "url(#c)foo",
        "#c",
        "none",
        "None",
        "url(#nope)",
        "inherit",
        "initial",
        "circle(4px)",
        "url(x.svg#c)",
        "url()",
        "url(#)",
    ] {
        for how in [
            format!("clip-path='{value}'"),
            format!("style='clip-path:{value}'"),
        ] {
            let art = format!(
                "<clipPath id='c'><circle cx='20' cy='20' r='9'/></clipPath><rect x='8' y='8' width='26' height='24' {how}/>"
            );
            all.push(Document::new("clip-path", value, &art));
        }
    }
}
