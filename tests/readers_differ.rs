//! What some readers draw and others do not, or draw elsewhere, is named; what all of them take alike is
//! not. What browser engines do was seen in one.

use super::common::bench::{Bench, name, off_outlines, others, page};

/// A frame in the cut paint in pocket A1.
const CUT: &str =
    "<rect x='30' y='95' width='20' height='10' fill='none' stroke='#7b2d8b' stroke-width='0.1'/>";

/// Sound art in pocket A1.
fn sound() -> String {
    name("Ada", 40.0, 100.0, "")
}

#[track_caller]
fn held(bench: &Bench, art: &str) {
    let rules = bench.rules(&format!("{art}{}", others(&[1])));
    let named = rules.iter().any(|rule| rule.starts_with("not-proven"));
    assert!(named, "not named: {art}: {rules:?}");
}

#[track_caller]
fn quiet(bench: &Bench, art: &str) {
    let rules = bench.rules(&format!("{art}{}", others(&[1])));
    assert_eq!(rules, [""; 0], "{art}");
}

/// SVG 2, 5.8.4. An engine has the extensions of XHTML and `MathML`; a reader may heed no condition at all.
#[test]
fn what_is_under_a_condition_is_named_where_anyone_draws_it() {
    let bench = Bench::new();
    let xhtml = "http://www.w3.org/1999/xhtml";
    let html = "<p xmlns='http://www.w3.org/1999/xhtml'>last week</p>";
    for extension in [
        xhtml,
        "http://www.w3.org/1998/Math/MathML",
        "http://www.w3.org/1999/xhtml http://www.w3.org/1998/Math/MathML",
        "http://x.invalid/",
        "",
    ] {
        let condition = format!("requiredExtensions='{extension}'");
        for art in [
            CUT.replace("<rect", &format!("<rect {condition}")),
            format!("<g {condition}>{CUT}</g>"),
            format!("<svg {condition}>{CUT}</svg>"),
            name("Ada", 40.0, 100.0, &condition),
            format!("<switch><g {condition}>{CUT}</g>{}</switch>", sound()),
            format!("<defs><g id='u' {condition}>{CUT}</g></defs><use href='#u'/>"),
            format!(
                "<clipPath id='c'><rect width='40' height='150'/><rect {condition} width='200' height='150'/></clipPath><g clip-path='url(#c)'>{}</g>",
                sound()
            ),
        ] {
            held(&bench, &art);
        }
    }
    held(&bench, &CUT.replace("<rect", "<rect systemLanguage=''"));
    let foreign = format!(
        "<foreignObject requiredExtensions='{xhtml}' x='20' y='70' width='40' height='60'>{html}</foreignObject>"
    );
    held(&bench, &(foreign.clone() + &sound()));
    held(&bench, &format!("<switch>{foreign}{}</switch>", sound()));
    // The branch after what is not drawing is measured.
    let cut = bench.rules(&format!("<switch>{foreign}{CUT}</switch>{}", others(&[1])));
    assert!(cut.contains(&"stray-cut A1".to_owned()), "{cut:?}");
    let whole = page(&(off_outlines() + &others(&[])));
    let under = whole.replacen("<svg ", "<svg requiredExtensions='http://x.invalid/' ", 1);
    let rules = super::common::bench::named(&bench.file(&under));
    assert!(rules.contains(&"not-proven".to_owned()), "{rules:?}");

    // What nobody draws.
    let private = "<i:p xmlns:i='urn:x'>q</i:p>";
    for art in [
        format!("<foreignObject requiredExtensions='urn:x'>{private}</foreignObject>"),
        format!("<foreignObject requiredExtensions='urn:x'>{html}</foreignObject>"),
        format!("<g requiredExtensions='urn:x'>{private}</g>"),
        format!(
            "<switch><foreignObject requiredExtensions='urn:x'>{private}</foreignObject><g>{}</g></switch>",
            sound()
        ),
        format!(
            "<switch><g requiredExtensions='urn:x'/><g>{}</g></switch>",
            sound()
        ),
        format!(
            "<switch><g>{}</g><foreignObject requiredExtensions='{xhtml}'>{html}</foreignObject></switch>",
            sound()
        ),
        format!("<g display='none'><g requiredExtensions='{xhtml}'>{CUT}</g></g>"),
        format!("<defs><g requiredExtensions='{xhtml}'>{CUT}</g></defs>"),
    ] {
        let art = if art.contains("Ada") {
            art
        } else {
            art + &sound()
        };
        quiet(&bench, &art);
    }
}

/// SVG 2, 5.6.3: an engine matches selectors within the clone, other readers where the original stands.
#[test]
fn a_clone_that_rules_style_by_what_is_around_its_original_is_named() {
    let bench = Bench::new();
    let cut = CUT.replace("<rect", "<rect id='q'");
    let off = cut.replace("#7b2d8b", "#9aa0a6");
    let text = sound().replace("<text", "<text id='q'");
    let reuse = "<use href='#q'/>";
    for art in [
        format!(
            "<style>.hot rect{{stroke:#9aa0a6}}</style><defs><g class='hot'>{cut}</g></defs>{reuse}"
        ),
        format!(
            "<style>.hot>rect{{stroke:#9aa0a6}}</style><g display='none'><g class='hot'>{cut}</g></g>{reuse}"
        ),
        format!("<style>.hot rect{{display:none}}</style><g class='hot'>{cut}</g>{reuse}"),
        format!("<style>.hot rect{{visibility:hidden}}</style><g class='hot'>{cut}</g>{reuse}"),
        format!(
            "<style>defs rect{{stroke:#9aa0a6}}</style><defs><symbol id='q' overflow='visible'>{CUT}</symbol></defs>{reuse}"
        ),
        format!("<style>svg rect{{stroke:#9aa0a6}}</style><defs><g id='q'>{CUT}</g></defs>{reuse}"),
        format!(
            "<style>rect:first-child{{stroke:#7b2d8b}}</style><defs><path/>{off}</defs>{reuse}"
        ),
        format!(
            "<style>rect:last-of-type{{stroke:#7b2d8b}}</style><defs>{off}<rect/></defs>{reuse}"
        ),
        format!("<style>path+rect{{stroke:#9aa0a6}}</style><defs><path/>{cut}</defs>{reuse}"),
        format!("<style>path~rect{{stroke:#9aa0a6}}</style><defs><path/>{cut}</defs>{reuse}"),
        format!(
            "<style>rect:not(.hot *){{stroke:#7b2d8b}}</style><defs><g class='hot'>{off}</g></defs>{reuse}"
        ),
        format!(
            "<style>:is(.hot rect){{stroke:#9aa0a6}}</style><defs><g class='hot'>{cut}</g></defs>{reuse}"
        ),
        format!(
            "<style>.hot .in{{fill:none}}</style><defs><g class='hot'><g id='q' class='in'>{}</g></g></defs>{reuse}",
            sound().replace("fill='#1b1b1b'", "")
        ),
        format!(
            "<style>.hot text{{font-size:20px}}</style><defs><g class='hot'>{text}</g></defs>{reuse}"
        ),
        format!(
            "<style>.hot text{{opacity:.3}}</style><defs><g class='hot'>{text}</g></defs>{reuse}"
        ),
        format!(
            "<style>.hot{{--c:#9aa0a6}}rect{{stroke:var(--c)}}</style><defs><g class='hot'>{cut}</g></defs><g style='--c:#7b2d8b'>{reuse}</g>"
        ),
        format!(
            "<style>.hot rect{{--c:#9aa0a6}}rect{{stroke:var(--c,#7b2d8b)}}</style><defs><g class='hot'>{cut}</g></defs>{reuse}"
        ),
        // A clone of a clone.
        format!(
            "<style>.hot rect{{stroke:#9aa0a6}}</style><defs><g class='hot'>{cut}</g><g id='r'><use href='#q'/></g></defs><use href='#r'/>"
        ),
        format!(
            "<style>.hot rect{{display:none}}</style><defs><g class='hot'><rect id='q' x='30' y='80' width='20' height='40'/></g><clipPath id='c'><rect x='20' y='70' width='1' height='1'/><use href='#q'/></clipPath></defs><g clip-path='url(#c)'>{}</g>",
            sound()
        ),
    ] {
        held(&bench, &art);
    }
}

/// Class by layer and clones of what has the same style in both readings are how files are made.
#[test]
fn a_clone_that_looks_the_same_in_both_readings_is_clear() {
    let bench = Bench::new();
    let text = sound().replace("<text", "<text id='q'");
    let bare = text.replace("fill='#1b1b1b'", "");
    let reuse = "<use href='#q'/>";
    for art in [
        format!(
            "<style>.cut{{fill:none;stroke:#7b2d8b}}.name{{fill:#1b1b1b}}</style><defs><g class='name'>{text}</g></defs>{reuse}"
        ),
        format!(
            "<style>.name text{{fill:#1b1b1b}}</style><defs><g class='name' id='q'>{}</g></defs>{reuse}",
            sound().replace("fill='#1b1b1b'", "")
        ),
        format!(
            "<style>.name>g text:first-child{{fill:#1b1b1b}}</style><defs><g class='name' id='q'><g>{}</g></g></defs>{reuse}",
            sound().replace("fill='#1b1b1b'", "")
        ),
        // The rule says what the clone inherits anyway.
        format!(
            "<style>.name text{{fill:#1b1b1b}}</style><defs><g class='name'>{bare}</g></defs><g class='name' fill='#1b1b1b'>{reuse}</g>"
        ),
        // It matters to nobody.
        format!(
            "<style>.name text{{cursor:pointer;-x-note:1}}</style><defs><g class='name'>{text}</g></defs>{reuse}"
        ),
        format!(
            "<style>defs g{{fill:#1b1b1b}}</style><defs><g><g id='q'>{}</g></g></defs>{reuse}",
            sound()
        ),
        format!(
            "<style>.hot rect{{stroke:#9aa0a6}}</style><defs><g class='hot'><rect/>{text}</g></defs>{reuse}"
        ),
        format!(
            "<style>.hot rect{{stroke:#9aa0a6}}</style><defs><g class='hot'>{}</g></defs><g display='none'><use href='#r'/></g>{}",
            CUT.replace("<rect", "<rect id='r'"),
            sound()
        ),
        format!(
            "<style>:root{{--c:#1b1b1b}}text{{fill:var(--c)}}</style><defs>{bare}</defs>{reuse}"
        ),
        format!(
            "<style>.name{{--c:#1b1b1b}}#q{{fill:var(--c)}}</style><defs><g class='name'>{bare}</g></defs><g class='name'>{reuse}</g>"
        ),
        format!(
            "<style>use{{fill:#1b1b1b}}text:nth-child(n){{stroke:none}}</style><defs>{bare}</defs>{reuse}"
        ),
    ] {
        quiet(&bench, &art);
    }
}

/// An engine draws, without a scale, what a nested drawing without a size lets show; it draws a picture
/// of negative size at the picture's own. Elsewhere both are nothing, or an error.
#[test]
fn what_has_no_size_is_named_where_anyone_draws_it() {
    let bench = Bench::new();
    let sizes = |w: &str, h: &str| format!("width='{w}' height='{h}'");
    for (w, h) in [
        ("0", "90"),
        ("90", "0"),
        ("0", "0"),
        ("-9", "90"),
        ("90", "-9"),
        ("-9%", "9"),
    ] {
        let size = sizes(w, h);
        for shape in ["", "viewBox='0 0 40 40'"] {
            for art in [
                format!("<svg {size} {shape} overflow='visible'>{CUT}</svg>"),
                format!(
                    "<symbol id='q' {shape} overflow='visible'>{CUT}</symbol><use href='#q' {size}/>"
                ),
                format!(
                    "<symbol id='q' {size} {shape} overflow='visible'>{CUT}</symbol><use href='#q'/>"
                ),
                format!(
                    "<defs><svg id='q' {shape} overflow='visible'>{CUT}</svg></defs><use href='#q' {size}/>"
                ),
            ] {
                held(&bench, &art);
            }
        }
        let hidden = format!("<svg {size}>{CUT}</svg>");
        if size.contains('-') {
            held(&bench, &hidden);
        } else {
            let rules = bench.rules(&format!("{hidden}{}", others(&[1])));
            assert!(
                rules.contains(&"hidden-but-live A1".to_owned()),
                "{hidden}: {rules:?}"
            );
        }
        // Nothing to draw.
        let empty = format!("<svg {size} overflow='visible'><defs/><title>q</title></svg>");
        quiet(&bench, &(empty + &sound()));
    }
    let clone = format!("<defs><g id='q'>{}</g></defs>", sound());
    held(&bench, &format!("{clone}<use href='#q' width='-9'/>"));
    quiet(&bench, &format!("{clone}<use href='#q' width='0'/>"));
    let picture = super::common::bench::png(&image::DynamicImage::new_luma8(90, 90));
    for size in [
        sizes("-1", "9"),
        sizes("9", "-1"),
        sizes("-1", "-1"),
        "width='-1'".to_owned(),
    ] {
        held(
            &bench,
            &format!("<image x='35' y='95' {size} href='{picture}'/>"),
        );
    }
    let marker = |more: &str| {
        format!(
            "<marker id='m' {more}><path d='M0 0h3' stroke='#7b2d8b'/></marker><path d='M30 100h9' fill='none' stroke='#1b1b1b' marker-end='url(#m)'/>"
        )
    };
    for size in ["markerWidth='0'", "markerHeight='0'", "markerWidth='-3'"] {
        held(&bench, &marker(&format!("{size} overflow='visible'")));
    }
    let cut = bench.rules(&(marker("markerWidth='0'") + &others(&[1])));
    assert!(cut.contains(&"hidden-but-live A1".to_owned()), "{cut:?}");
    let colour = Bench::with("other = \"engrave\"\n");
    let pattern = |size: &str| {
        format!(
            "<pattern id='p' patternUnits='userSpaceOnUse' {size}><rect width='4' height='4' fill='#1b1b1b'/></pattern><rect x='30' y='90' width='20' height='20' fill='url(#p)'/>"
        )
    };
    held(&colour, &pattern("width='-9' height='9'"));
    quiet(&colour, &pattern("width='9' height='9'"));
    // Inside a drawing that is placed as a picture.
    let placed = |size: &str| {
        format!(
            "<image x='35' y='95' width='9' height='9' href=\"data:image/svg+xml,&lt;svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'&gt;&lt;svg {size} overflow='visible'&gt;&lt;rect width='9' height='9' fill='%231b1b1b'/&gt;&lt;/svg&gt;&lt;/svg&gt;\"/>"
        )
    };
    held(&bench, &placed("width='0'"));
    held(&bench, &placed("height='-5'"));
    quiet(&bench, &placed("width='9' height='9'"));
}

/// An engine draws no letter along a basic shape.
#[test]
fn lettering_along_a_shape_that_is_no_path_is_named() {
    let bench = Bench::new();
    let along = |shape: &str| {
        format!(
            "<defs>{shape}</defs><text font-family='Ubuntu' font-weight='300' font-size='8' fill='#1b1b1b'><textPath href='#p'>Ada</textPath></text>"
        )
    };
    for shape in [
        "<rect id='p' x='30' y='95' width='20' height='20'/>",
        "<circle id='p' cx='40' cy='100' r='9'/>",
        "<ellipse id='p' cx='40' cy='100' rx='9' ry='9'/>",
        "<line id='p' x1='30' y1='100' x2='50' y2='100'/>",
        "<polyline id='p' points='30,100 50,100'/>",
        "<polygon id='p' points='30,100 50,100 40,120'/>",
    ] {
        held(&bench, &along(shape));
    }
    let rules = bench.rules(&(along("<path id='p' d='M30 102H58'/>") + &others(&[1])));
    assert!(!rules.contains(&"not-proven".to_owned()), "{rules:?}");
}

/// SVG 1.1 gives neither a symbol nor a nested drawing a transform, nor a symbol a place.
#[test]
fn what_only_later_readers_move_is_named() {
    let bench = Bench::new();
    let text = sound();
    let reuse = "<use href='#q'/>";
    for (how, moves) in [
        ("transform='translate(3)'", true),
        ("style='transform:translate(3px,0)'", true),
        ("transform='translate(0)'", false),
        ("transform='none'", false),
        ("x='3'", true),
        ("y='-3'", true),
        ("x='0' y='0mm'", false),
    ] {
        let symbol = format!("<symbol id='q' overflow='visible' {how}>{text}</symbol>{reuse}");
        let clone =
            format!("<defs><svg id='q' overflow='visible' {how}>{text}</svg></defs>{reuse}");
        let nested = format!("<svg overflow='visible' {how}>{text}</svg>");
        let empty = format!("<svg overflow='visible' {how}><defs/></svg>{text}");
        if moves {
            held(&bench, &symbol);
        } else {
            quiet(&bench, &symbol);
        }
        // A nested drawing has had x and y from the first.
        if moves && how.contains("transform") {
            held(&bench, &nested);
            held(&bench, &clone);
        } else {
            let rules = bench.rules(&format!("{nested}{}", others(&[1])));
            assert!(
                !rules.contains(&"not-proven".to_owned()),
                "{nested}: {rules:?}"
            );
        }
        let rules = bench.rules(&format!("{empty}{}", others(&[1])));
        assert_eq!(rules, [""; 0], "{empty}");
    }
}

/// A reader that knows the attribute only, or CSS only, takes one of the two.
#[test]
fn a_transform_in_a_style_that_contradicts_the_attribute_is_named() {
    let bench = Bench::new();
    let turned = "transform='rotate(180 40 100)'";
    for art in [
        name(
            "Ada",
            40.0,
            102.0,
            &format!("{turned} style='transform:none'"),
        ),
        format!(
            "<style>#t{{transform:none}}</style>{}",
            name("Ada", 40.0, 102.0, &format!("id='t' {turned}"))
        ),
        format!(
            "<style>.u{{transform:none!important}}</style><g class='u' {turned}>{}</g>",
            sound()
        ),
        format!(
            "<g transform='translate(0 300)' style='transform:translate(0px,3px)'>{}</g>",
            sound()
        ),
        format!(
            "<g {turned} style='transform:translate(0px,0px)'>{}</g>",
            sound()
        ),
    ] {
        held(&bench, &art);
    }
    for art in [
        format!(
            "<g transform='translate(1 2)' style='transform:translate(1px,2px)'>{}</g>",
            sound()
        ),
        format!(
            "<g transform='rotate(0)' style='transform:none'>{}</g>",
            sound()
        ),
        format!("<g style='transform:none'>{}</g>", sound()),
        format!("<g style='transform:translate(1px,2px)'>{}</g>", sound()),
        format!(
            "<style>.none{{transform:none}}</style><g transform='translate(1 2)'>{}</g>",
            sound()
        ),
    ] {
        quiet(&bench, &art);
    }
}
