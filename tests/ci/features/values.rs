//! Keywords and numbers as they may be written: property × case × invalid × inherited, and numbers in
//! view boxes, path data, lists of points, transforms and lengths.

use super::Document;

mod properties;

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
    let mut all = properties::documents();
    numbers(&mut all);
    all
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
