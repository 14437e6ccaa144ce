//! The cascade: what wins, and what is reported.

use jigwarden::tested::artwork::style::{Sheets, StyleProblemKind, Written};
use roxmltree::{Document, Node};

mod hostile;
mod oracle;
mod reported;

fn svg(body: &str) -> String {
    format!("<svg xmlns=\"http://www.w3.org/2000/svg\">{body}</svg>")
}

fn value(source: &str, property: &str) -> Option<String> {
    let document = Document::parse(source).unwrap();
    let sheets = Sheets::collect(&document);
    let node = target(&document);
    sheets.computed(node).get(property).map(str::to_owned)
}

fn target<'a>(document: &'a Document<'_>) -> Node<'a, 'a> {
    document
        .descendants()
        .find(|node| node.attribute("id") == Some("t"))
        .unwrap()
}

fn problems(source: &str) -> Vec<(StyleProblemKind, String)> {
    let document = Document::parse(source).unwrap();
    Sheets::collect(&document)
        .problems
        .into_iter()
        .map(|p| (p.kind, p.what))
        .collect()
}

#[test]
fn the_cascade_has_its_order() {
    let cases = [
        ("<path id='t' fill='red'/>", "red"),
        (
            "<style>path{fill:green}</style><path id='t' fill='red'/>",
            "green",
        ),
        (
            "<style>#t{fill:green}</style><path id='t' style='fill:blue'/>",
            "blue",
        ),
        (
            "<style>path{fill:green!important}</style><path id='t' style='fill:blue'/>",
            "green",
        ),
        (
            "<style>path{fill:green!important}</style><path id='t' style='fill:blue ! IMPORTANT'/>",
            "blue",
        ),
        (
            "<style>.a{fill:green} path{fill:red}</style><path id='t' class='b a'/>",
            "green",
        ),
        (
            "<style>path{fill:green} path{fill:red}</style><path id='t'/>",
            "red",
        ),
        (
            "<style>path{fill:green!important} path{fill:red!important}</style><path id='t'/>",
            "red",
        ),
        (
            "<style>path{fill:red}</style><style>path{fill:green}</style><path id='t'/>",
            "green",
        ),
        ("<path id='t' style='fill:red;fill:green'/>", "green"),
        (
            "<path id='t' style='fill:red!important;fill:green'/>",
            "red",
        ),
        (
            "<style>#t{fill:red}.a.b.c.d.e.f.g.h.i.j.k{fill:green}</style><path id='t' class='a b c d e f g h i j k'/>",
            "red",
        ),
    ];
    for (body, expected) in cases {
        assert_eq!(
            value(&svg(body), "fill").as_deref(),
            Some(expected),
            "{body}"
        );
        assert_eq!(problems(&svg(body)), [], "{body}");
    }
}

#[test]
fn a_value_says_where_it_was_written() {
    let source =
        svg("<style>path{fill:red}</style><path id='t' transform='scale(2)' style='opacity:0.5'/>");
    let document = Document::parse(&source).unwrap();
    let sheets = Sheets::collect(&document);
    let declared = sheets.computed(target(&document));
    assert_eq!(declared.source("transform"), Some(Written::Attribute));
    assert_eq!(declared.source("fill"), Some(Written::Sheet));
    assert_eq!(declared.source("opacity"), Some(Written::Inline));
    assert_eq!(declared.source("stroke"), None);
}

/// The problems that hold, of one body.
fn held(body: &str) -> Vec<StyleProblemKind> {
    let source = svg(body);
    let document = Document::parse(&source).unwrap();
    let sheets = Sheets::collect(&document);
    for problem in &sheets.problems {
        assert!(
            source
                .get(problem.range.clone())
                .is_some_and(|piece| !piece.is_empty()),
            "{problem:?}"
        );
        assert!(
            !problem.what.ends_with('.') && !problem.help.is_empty(),
            "{problem:?}"
        );
        assert!(problem.what.len() < 250, "{problem:?}");
    }
    sheets
        .problems
        .into_iter()
        .filter(|p| !p.harmless)
        .map(|p| p.kind)
        .collect()
}

#[test]
fn selectors_pick_what_they_say() {
    let body = "<g class='outer two' id='g' data-kind='Pocket-A'><rect class='a' id='r1'/><path class='b' id='p1' name=''/>\
        <path class='b c' id='p2'/><g id='g2'><path id='p3' class='x:y'/></g><rect id='r2' lang='en-GB'/></g>";
    for (selector, expected) in [
        ("*", "g r1 p1 p2 g2 p3 r2"),
        ("rect", "r1 r2"),
        ("RECT", ""),
        (".b", "p1 p2"),
        (".b.c", "p2"),
        (".c.b", "p2"),
        ("path.c#p2", "p2"),
        ("#g path", "p1 p2 p3"),
        ("#g>path", "p1 p2"),
        ("#g > g path", "p3"),
        ("g g path", "p3"),
        ("rect+path", "p1"),
        ("rect + path + path", "p2"),
        ("rect ~ path", "p1 p2"),
        (".a ~ rect", "r2"),
        ("rect ~ g path", "p3"),
        ("svg > g ~ path", ""),
        ("[name]", "p1"),
        ("[lang|=en]", "r2"),
        ("[lang|=e]", ""),
        ("[data-kind=Pocket-A]", "g"),
        ("[data-kind=pocket-a]", ""),
        ("[data-kind='pocket-a' i]", "g"),
        ("[data-kind^=Pock]", "g"),
        ("[data-kind$='-A']", "g"),
        ("[data-kind*=\"ket\"]", "g"),
        ("[data-kind^='']", ""),
        ("[class~=two]", "g"),
        ("[ id = r1 ]", "r1"),
        (":first-child", "g r1 p3"),
        ("path:last-child", "p3"),
        (":only-child", "p3"),
        ("path:nth-child(2)", "p1"),
        (":nth-child(odd)", "g r1 p2 p3 r2"),
        (":nth-child(2n)", "p1 g2"),
        (":nth-child( -n + 2 )", "g r1 p1 p3"),
        (":nth-last-child(1)", "p3 r2"),
        ("rect:nth-of-type(2)", "r2"),
        ("path:first-of-type", "p1 p3"),
        ("rect:last-of-type", "r2"),
        (":root > g", "g"),
        ("path:empty", "p1 p2 p3"),
        ("g:empty", ""),
        ("path:not(.b)", "p3"),
        (":not(g, rect)", "p1 p2 p3"),
        (":not(:not(rect))", "r1 r2"),
        (":is(rect, .c)", "r1 p2 r2"),
        (":where(rect, .c)", "r1 p2 r2"),
        (".x\\:y", "p3"),
        (".\\62 ", "p1 p2"),
        ("#\\72 1", "r1"),
        ("path:hover", ""),
        ("path:not(:hover)", "p1 p2 p3"),
        ("rect, .c", "r1 p2 r2"),
        ("g/**/>/* > */path", "p1 p2 p3"),
        ("*|path.c", "p2"),
        ("g.outer g .x\\:y", "p3"),
        (".none > * * *", ""),
    ] {
        let source = svg(&format!(
            "{body}<style>{} {{fill:red}}</style>",
            selector.replace('<', "&lt;")
        ));
        let document = Document::parse(&source).unwrap();
        let sheets = Sheets::collect(&document);
        assert_eq!(sheets.problems, [], "{selector}");
        let picked: Vec<_> = document
            .descendants()
            .filter(|node| node.is_element() && sheets.computed(*node).get("fill").is_some())
            .filter_map(|node| node.attribute("id"))
            .collect();
        assert_eq!(picked.join(" "), expected, "{selector}");
    }
}

#[test]
fn what_a_selector_weighs() {
    let cases = [
        // The first rule weighs more.
        ("#t", "path.a.a.a.a"),
        (".a", "svg path"),
        ("path.a", ".a"),
        ("[id]", "path"),
        (":not(#x)", ".a.a"),
        (":is(.none, #t)", ".a.a"),
        ("path", ":where(#t)"),
        (":nth-child(n)", "path"),
    ];
    for (heavy, light) in cases {
        let source = svg(&format!(
            "<style>{heavy}{{fill:red}} {light}{{fill:green}}</style><path id='t' class='a'/>"
        ));
        assert_eq!(
            value(&source, "fill").as_deref(),
            Some("red"),
            "{heavy} against {light}"
        );
    }
}

/// Each trap that a stylesheet library falls into: the rest of the block and the sheet must survive,
/// and what was odd must be said.
#[test]
fn nothing_odd_loses_what_follows() {
    use StyleProblemKind::{Broken, Rule};
    for (style, kinds) in [
        ("--x: 1; fill:red", vec![]),
        ("font-family: a/b; fill:red", vec![]),
        ("grid-area: 1 / 2; fill:red", vec![]),
        ("color: rgb(1 2 3 / 50%); fill:red", vec![]),
        ("-editor-thing: 'a;b{c}'; fill:red", vec![]),
        (
            "background: url(data:image/png;base64,AA==); fill:red",
            vec![],
        ),
        ("background: url( a/*b ); fill:red", vec![]),
        ("background: url('a;}b'); fill:red", vec![]),
        ("/* fill:blue; */fill:/**/red/**/", vec![]),
        (";; fill : red ;;", vec![]),
        ("FILL:red", vec![]),
        ("cursor:; fill:red", vec![]),
        ("stroke:; fill:red", vec![Broken]),
        ("stroke blue; fill:red", vec![Broken]),
        ("*zoom:1; fill:red", vec![Broken]),
        ("stroke:blue !ie; fill:red", vec![Broken]),
        ("stroke: 'a\nb; fill:red", vec![Broken]),
        ("$x: 1; fill:red", vec![Broken]),
        ("a:hover{stroke:blue} fill:red", vec![Rule]),
        ("12: 1; fill:red", vec![Broken]),
    ] {
        let newline = style.contains('\n');
        for body in [
            format!("<style>.t{{{style}}}</style><path id='t' class='t'/>"),
            format!("<style><![CDATA[.t{{{style}}}]]></style><path id='t' class='t'/>"),
            format!("<path id='t' style=\"{style}\"/>"),
        ] {
            // A line end in an attribute becomes a space, and the string goes on.
            if newline && body.contains("style=") {
                continue;
            }
            assert_eq!(held(&body), kinds, "{body}");
            assert_eq!(value(&svg(&body), "fill").as_deref(), Some("red"), "{body}");
        }
    }
}

#[test]
fn shorthands_are_written_out() {
    let get = |style: &str, property: &str| {
        value(&svg(&format!("<path id='t' style=\"{style}\"/>")), property)
    };
    let font = "font: italic small-caps 600 condensed 12px/1.5 'A B', serif";
    for (property, expected) in [
        ("font-style", "italic"),
        ("font-variant", "small-caps"),
        ("font-weight", "600"),
        ("font-stretch", "condensed"),
        ("font-size", "12px"),
        ("line-height", "1.5"),
        ("font-family", "'A B', serif"),
    ] {
        assert_eq!(get(font, property).as_deref(), Some(expected), "{property}");
    }
    assert_eq!(
        get("font-weight:bold; font: 3mm X", "font-weight").as_deref(),
        Some("normal")
    );
    assert_eq!(
        get("font: 3mm X; font-weight:bold", "font-weight").as_deref(),
        Some("bold")
    );
    assert_eq!(
        get("font: BOLD 3MM / 2 X", "font-size").as_deref(),
        Some("3mm")
    );
    assert_eq!(
        get("font: larger X", "font-size").as_deref(),
        Some("larger")
    );
    assert_eq!(
        get("font: inherit", "font-family").as_deref(),
        Some("inherit")
    );
    for odd in [
        "caption",
        "12 X",
        "12px",
        "bold X",
        "12px/ X",
        "calc(1px) X",
        "bold/2 X",
        "/",
    ] {
        assert_eq!(
            get(&format!("font:{odd}"), "font").as_deref(),
            Some(odd),
            "{odd}"
        );
        assert_eq!(get(&format!("font:{odd}"), "font-size"), None, "{odd}");
    }
    for property in ["marker-start", "marker-mid", "marker-end"] {
        assert_eq!(
            get("marker:url(#a)!important;marker-mid:none", property).as_deref(),
            Some("url(#a)")
        );
    }
}

#[test]
fn variables_stand_for_their_values() {
    let cases = [
        (
            "<g style='--c:red'><path id='t' fill='blue' style='fill:var(--c)'/></g>",
            "red",
        ),
        (
            "<style>:root{--c: red }path{fill:var( --c )}</style><path id='t'/>",
            "red",
        ),
        ("<path id='t' style='fill:var(--none, red)'/>", "red"),
        (
            "<path id='t' style='fill:var(--none, var(--neither, rgb(1, 2, 3)))'/>",
            "rgb(1, 2, 3)",
        ),
        (
            "<g style='--a:var(--b);--b:red'><path id='t' style='--b:blue;fill:var(--a)'/></g>",
            "red",
        ),
        (
            "<g style='--a:red'><path id='t' style='--a:inherit;fill:var(--a)'/></g>",
            "red",
        ),
        (
            "<g style='--a:blue'><path id='t' style='--a:initial;fill:var(--a,red)'/></g>",
            "red",
        ),
        (
            "<g style='--A:red;--a:blue'><path id='t' fill='VAR(--A)'/></g>",
            "red",
        ),
        (
            "<g style='--r:255;--gb:0,0'><path id='t' style='fill:rgb(var(--r),var(--gb))'/></g>",
            "rgb(255,0,0)",
        ),
    ];
    for (body, expected) in cases {
        assert_eq!(
            value(&svg(body), "fill").as_deref(),
            Some(expected),
            "{body}"
        );
        assert_eq!(held(body), [], "{body}");
    }
    // What does not resolve stays as it is, and is said.
    for body in [
        "<path id='t' style='fill:var(--none)'/>".to_owned(),
        "<path id='t' fill='var(--none)'/>".to_owned(),
        "<path id='t' style='--a:var(--b);--b:var(--a);fill:var(--a)'/>".to_owned(),
        "<path id='t' style='fill:var(none, red)'/>".to_owned(),
        "<path id='t' style='--a:initial;fill:var(--a)'/>".to_owned(),
        format!(
            "<path id='t' style='--v0:{};{}fill:var(--v15)'/>",
            "x".repeat(100),
            (1..16)
                .map(|i| format!("--v{i}:var(--v{0}) var(--v{0});", i - 1))
                .collect::<String>()
        ),
    ] {
        assert!(
            value(&svg(&body), "fill").unwrap().contains("var("),
            "{body}"
        );
        assert_eq!(held(&body), [StyleProblemKind::Variable], "{body}");
    }
}

#[test]
fn only_presentation_attributes_stand_for_properties() {
    let source = svg(
        "<rect id='t' fill=' red ' width='5' style='' xmlns:e='urn:e' e:stroke='blue' stroke-width='2' FILL='x'/>",
    );
    let document = Document::parse(&source).unwrap();
    let sheets = Sheets::collect(&document);
    let declared = sheets.computed(target(&document));
    let all: Vec<_> = declared
        .iter()
        .map(|(name, value, _)| (name, value))
        .collect();
    assert_eq!(all, [("fill", "red"), ("stroke-width", "2")]);
}
