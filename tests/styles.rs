//! The cascade: what wins, and what is reported.

use jigwarden::tested::artwork::style::{Sheets, StyleProblemKind, Written};
use roxmltree::{Document, Node};

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
fn what_only_some_readers_apply_is_said() {
    use StyleProblemKind::{Broken, External, FontFace, Geometry, Rule};
    for (css, kinds) in [
        ("@media all{path{fill:red}}", vec![Rule]),
        ("@media print{path{display:none}}", vec![Rule]),
        ("@media print{.none{display:none}}", vec![]),
        ("@media screen{path{cursor:pointer}}", vec![]),
        ("@media screen{@media print{path{fill:red}}}", vec![Rule]),
        ("@media screen{path:nth-child(1){fill:red}}", vec![Rule]),
        ("@supports (fill:red){path{fill:red}}", vec![Rule]),
        ("@layer a{path{fill:red}}", vec![Rule]),
        ("@layer a, b;", vec![]),
        ("@container (width > 1px){path{fill:red}}", vec![Rule]),
        ("@import 'a.css';", vec![External]),
        ("@import url(a.css)", vec![External]),
        ("@font-face{font-family:x;src:url(a.woff)}", vec![FontFace]),
        ("@charset 'utf-8';", vec![]),
        ("@namespace url(http://www.w3.org/2000/svg);", vec![]),
        ("@namespace url(urn:other);", vec![Rule]),
        ("@page{margin:0}", vec![]),
        ("@keyframes a{to{fill:red}}", vec![]),
        ("@unheard-of{path{fill:red}}", vec![Rule]),
        ("path:has(g){fill:red}", vec![Rule]),
        ("path:has(g){cursor:pointer}", vec![]),
        ("path::first-line{fill:red}", vec![Rule]),
        ("path::before{fill:red}", vec![]),
        ("path:nth-child(2 of .a){fill:red}", vec![Rule]),
        ("svg|path{fill:red}", vec![Rule]),
        ("; .b{fill:red}", vec![Rule]),
        ("path[{fill:red}", vec![Broken]),
        ("path{fill:rgb(1,2,3;} text{fill:red}", vec![Broken]),
        ("path{fill:red", vec![Broken]),
        ("path", vec![Broken]),
        ("path{fill:red} /* not closed", vec![Broken]),
        ("circle{r:5px}", vec![Geometry]),
        ("circle{r:3}", vec![]),
        ("path{r:5px}", vec![]),
        ("path{d:path('M0 0')}", vec![Geometry]),
        ("path{rotate:45deg}", vec![Geometry]),
        ("path{offset-distance:5px}", vec![Geometry]),
        ("path{transform:rotate(45deg)}", vec![]),
        (
            "path{-webkit-transform:rotate(45deg);transform:rotate(45deg)}",
            vec![],
        ),
        ("path{-webkit-transform:rotate(45deg)}", vec![Rule]),
        (
            "path{-webkit-font-smoothing:antialiased;-moz-osx-font-smoothing:grayscale}",
            vec![],
        ),
        ("path{animation:a 1s}", vec![StyleProblemKind::Animation]),
        ("path{animation:none;transition:all 1s}", vec![]),
        ("text{font-size:12}", vec![Geometry]),
        ("text{font-size:12px;letter-spacing:0}", vec![]),
        ("text{font:12 Arial}", vec![Broken]),
        ("path{all:unset}", vec![Rule]),
        ("<!-- path{fill:red} -->", vec![Rule]),
        ("<![CDATA[<!-- path{fill:red} -->]]>", vec![]),
    ] {
        let body = format!("<style>{css}</style><path id='t'/><circle r='3'/><text>A</text>");
        assert_eq!(held(&body), kinds, "{css}");
    }
    for (body, kinds) in [
        ("<style type='text/less'>path{fill:red}</style>", vec![Rule]),
        (
            "<style type='text/css; charset=utf-8'>path{fill:red}</style>",
            vec![],
        ),
        ("<style type=''>path{fill:red}</style>", vec![]),
        ("<style media='print'>path{fill:red}</style>", vec![Rule]),
        ("<style media='all'>path{fill:red}</style>", vec![]),
        ("<style title='a'/><style title='b'/>", vec![Rule]),
        ("<style><g/></style>", vec![Broken]),
        ("<?xml-stylesheet href='a.css'?>", vec![External]),
        (
            "<link xmlns='http://www.w3.org/1999/xhtml' href='a.css'/>",
            vec![External],
        ),
        ("<rect width='4' style='width:5px'/>", vec![Geometry]),
        ("<rect width='5px' style='width:5px'/>", vec![]),
        ("<g style='width:5px'/>", vec![]),
        ("<text font='12px Arial'>A</text>", vec![Rule]),
        ("<path marker='url(#a)'/>", vec![Rule]),
        (
            "<x:style xmlns:x='urn:editor'>@import 'a'</x:style>",
            vec![],
        ),
    ] {
        assert_eq!(held(body), kinds, "{body}");
    }
    // A font that no lettering can ask for is harmless.
    let body = "<style>@font-face{font-family:x;src:url(a.woff)}</style><path/>";
    assert_eq!(held(body), []);
    assert_eq!(problems(&svg(body)).len(), 1);
}

#[test]
fn problems_point_at_their_place() {
    let point = |body: &str| {
        let source = svg(body);
        let document = Document::parse(&source).unwrap();
        let problem = Sheets::collect(&document).problems.remove(0);
        (source[problem.range.clone()].to_owned(), problem.count)
    };
    let rule = "path:has(g){fill:red}";
    for body in [
        format!("<style>g{{}} {rule} g{{}}</style>"),
        format!("<style><![CDATA[g{{}} {rule} g{{}}]]></style>"),
        format!("<style>g{{}}\r\n{rule}</style>").replace("\r\n", "\n"),
    ] {
        assert_eq!(point(&body), (rule.to_owned(), 1), "{body}");
    }
    // Where the text does not stand letter by letter, the whole element.
    let escaped = "<style>g>a{} path:has(g){fill:red}</style>".replace("g>a", "g&gt;a");
    assert_eq!(point(&escaped), (escaped.clone(), 1));
    assert_eq!(
        point("<g style='fill:red;bad'/><g style='bad'/>"),
        ("bad".to_owned(), 2)
    );
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

#[test]
fn hostile_sheets_end_soon() {
    use std::time::{Duration, Instant};
    let deep = |n: usize| "<g class='a'>".repeat(n) + "<path id='t'/>" + &"</g>".repeat(n);
    let bodies = [
        format!(
            "<style>{} path{{fill:red}}</style>{}",
            "g ".repeat(60),
            deep(900)
        ),
        format!(
            "<style>.none {} path{{fill:red}}</style>{}",
            "g ".repeat(60),
            deep(900)
        ),
        format!(
            "<style>.none > {} path{{fill:red}}</style>{}",
            "g > g ".repeat(30),
            deep(900)
        ),
        format!(
            "<style>.none ~ {} path{{fill:red}}</style>{}",
            "g ".repeat(60),
            deep(900)
        ),
        format!(
            "<style>.none ~ path ~ path ~ path{{fill:red}}</style>{}<path id='t'/>",
            "<path/>".repeat(50_000)
        ),
        format!(
            "<style>path:nth-child(3n+1){{fill:red}}</style>{}<path id='t'/>",
            "<path/>".repeat(50_000)
        ),
        format!(
            "<style>{}</style>{}<path id='t'/>",
            "*{fill:red}".repeat(20_000),
            "<path/>".repeat(20_000)
        ),
        format!(
            "<style>@media a{{{}}}</style>{}<path id='t'/>",
            ".none{fill:red}".repeat(20_000),
            "<path/>".repeat(20_000)
        ),
        format!(
            "<style>{}{{fill:red}}</style><path id='t'/>",
            ":not(".repeat(100_000)
        ),
        format!(
            "<style>{}</style><path id='t'/>",
            "@media a{".repeat(100_000)
        ),
        format!("<style>{}</style><path id='t'/>", "(".repeat(100_000)),
        format!("<path id='t' style='fill:{}'/>", "var(--a,".repeat(20_000)),
        format!(
            "<path id='t' style='{}fill:var(--a16)'/>",
            (1..17)
                .map(|i| format!("--a{i}:{};", format!("var(--a{})", i - 1).repeat(100)))
                .collect::<String>()
        ),
        format!(
            "<style>g{{fill:var(--a)}}</style>{}",
            format!(
                "{}{}",
                "<g style='--b:1'>".repeat(900),
                "<g/>".repeat(5_000)
            ) + "<path id='t'/>"
                + &"</g>".repeat(900)
        ),
    ];
    for body in bodies {
        let source = svg(&body);
        let document = Document::parse(&source).unwrap();
        let start = Instant::now();
        let sheets = Sheets::collect(&document);
        let _ = sheets.computed(target(&document));
        let took = start.elapsed();
        assert!(took < Duration::from_secs(20), "{took:?}: {}", &body[..60]);
        if took > Duration::from_secs(2) {
            eprintln!("{took:?}: {}", &body[..60]);
        }
    }
}

#[test]
fn many_elements_with_many_classes_are_quick() {
    let css: String = (0..500)
        .map(|i| format!(".c{i}{{fill:#{i:06x};stroke:none}}"))
        .collect();
    let paths: String = (0..100_000)
        .map(|i| format!("<path class='c{}'/>", i % 500))
        .collect();
    let source = svg(&format!("<style>{css}</style>{paths}"));
    let document = Document::parse(&source).unwrap();
    let start = std::time::Instant::now();
    let sheets = Sheets::collect(&document);
    let filled = document
        .descendants()
        .filter(|node| sheets.computed(*node).get("fill").is_some())
        .count();
    assert_eq!(filled, 100_000);
    eprintln!("{:?}", start.elapsed());
    assert!(
        start.elapsed() < std::time::Duration::from_secs(10),
        "{:?}",
        start.elapsed()
    );
}

/// `simplecss` as an oracle, on what it knows.
mod oracle {
    use super::*;
    use proptest::prelude::*;
    use simplecss::{AttributeOperator, Element, PseudoClass, StyleSheet};

    struct Wrapped<'a>(Node<'a, 'a>);

    impl Element for Wrapped<'_> {
        fn parent_element(&self) -> Option<Self> {
            self.0.parent_element().map(Wrapped)
        }

        fn prev_sibling_element(&self) -> Option<Self> {
            self.0.prev_sibling_element().map(Wrapped)
        }

        fn has_local_name(&self, name: &str) -> bool {
            self.0.tag_name().name() == name
        }

        fn attribute_matches(&self, name: &str, operator: AttributeOperator<'_>) -> bool {
            self.0
                .attribute(name)
                .is_some_and(|value| operator.matches(value))
        }

        fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
            class == PseudoClass::FirstChild && self.0.prev_sibling_element().is_none()
        }
    }

    fn compound() -> impl Strategy<Value = String> {
        let part = prop::sample::select(vec![
            ".a",
            ".b",
            "#i",
            "[x]",
            "[x=y]",
            "[x~=z]",
            "[x|=y]",
            ":first-child",
        ]);
        let tag = prop::sample::select(vec!["*", "g", "path"]);
        (tag, prop::collection::vec(part, 0..3))
            .prop_map(|(tag, parts)| format!("{tag}{}", parts.concat()))
    }

    fn sheet() -> impl Strategy<Value = String> {
        let combinator = prop::sample::select(vec![" ", " > ", " + "]);
        let selector = (
            compound(),
            prop::collection::vec((combinator, compound()), 0..3),
        )
            .prop_map(|(first, more)| {
                first
                    + &more
                        .into_iter()
                        .map(|(c, s)| format!("{c}{s}"))
                        .collect::<String>()
            });
        let rule = prop::collection::vec(selector, 1..3);
        prop::collection::vec(rule, 1..8).prop_map(|rules| {
            let rules = rules.iter().enumerate();
            rules
                .map(|(i, list)| {
                    format!(
                        "{} {{ fill: #{i:03}; stroke-width: {i} }}\n",
                        list.join(", ")
                    )
                })
                .collect()
        })
    }

    fn tree() -> impl Strategy<Value = String> {
        let attributes = prop::sample::select(vec![
            "",
            " class='a'",
            " class='b a'",
            " id='i'",
            " x='y'",
            " x='y-z' class='b'",
            " x='q z'",
        ]);
        let leaf = (prop::sample::select(vec!["g", "path"]), attributes.clone())
            .prop_map(|(tag, a)| format!("<{tag}{a}/>"));
        leaf.prop_recursive(4, 30, 4, move |inner| {
            (attributes.clone(), prop::collection::vec(inner, 1..4))
                .prop_map(|(a, children)| format!("<g{a}>{}</g>", children.concat()))
        })
    }

    proptest! {
        #[test]
        fn simplecss_agrees(css in sheet(), tree in tree()) {
            let source = svg(&format!("<style><![CDATA[{css}]]></style>{tree}"));
            let document = Document::parse(&source).unwrap();
            let sheets = Sheets::collect(&document);
            prop_assert_eq!(&sheets.problems, &[]);
            let oracle = StyleSheet::parse(&css);
            for node in document.descendants().filter(Node::is_element) {
                // Sorted by weight and stable, so that the last match wins.
                let expected = oracle.rules.iter().filter(|rule| rule.selector.matches(&Wrapped(node)))
                    .flat_map(|rule| &rule.declarations).filter(|d| d.name == "fill").map(|d| d.value).next_back();
                let declared = sheets.computed(node);
                prop_assert_eq!(declared.get("fill"), expected, "{} in {}", css, source);
            }
        }

        #[test]
        fn no_css_makes_it_panic(css in "([a-z.#:>+~*,;{}()\\[\\]\"'@!/\\\\ é-]|/\\*|url\\(|:not\\(|:nth-child\\(|--|var\\(|!important|@media|\n){0,60}") {
            let text = css.replace('&', "&amp;").replace('<', "&lt;");
            let source = svg(&format!("<style>{text}</style><path id='t' style=\"{}\"/>", text.replace('"', "&quot;")));
            let document = Document::parse(&source).unwrap();
            let sheets = Sheets::collect(&document);
            let _ = sheets.computed(target(&document));
            for problem in &sheets.problems {
                prop_assert!(source.get(problem.range.clone()).is_some());
            }
        }
    }

    /// Where `simplecss` is not to be followed, and is not.
    #[test]
    fn simplecss_is_not_followed_where_it_is_wrong() {
        let lost = |css: &str| {
            StyleSheet::parse(css)
                .rules
                .iter()
                .flat_map(|r| &r.declarations)
                .all(|d| d.name != "fill")
        };
        for css in [
            "path{--x:1;fill:red}",
            "path{font:12px/2 X;fill:red}",
            "path{stroke:;fill:red}",
        ] {
            assert!(lost(css), "{css}");
            assert_eq!(
                value(&svg(&format!("<style>{css}</style><path id='t'/>")), "fill").as_deref(),
                Some("red"),
                "{css}"
            );
        }
    }
}

#[test]
fn a_size_of_letters_without_a_unit_matters_only_where_letters_are() {
    let held = |body: &str| {
        problems(&svg(body))
            .iter()
            .any(|(_, what)| what.contains("without a unit"))
    };
    let style = "style='font-size:12;fill:red'";
    // Editors write it on every shape.
    assert!(!held(&format!("<path {style} d='M0 0h1'/><text>a</text>")));
    assert!(!held(&format!("<g {style}><path d='M0 0h1'/></g>")));
    assert!(!held(&format!(
        "<style>path{{font-size:12}}</style><path/><text {}>a</text>",
        "style='font-size:12px'"
    )));
    // Letters take it, from wherever it stands; and a clone hands it down.
    assert!(held(&format!("<text {style}>a</text>")));
    assert!(held(&format!("<g {style}><g><text>a</text></g></g>")));
    assert!(held(&format!("<text>a<tspan {style}>b</tspan></text>")));
    assert!(held(&format!("<use {style} href='#a'/>")));
    // So does a length in ems.
    assert!(held(&format!("<rect {style} width='2em' height='1'/>")));
    assert!(held(&format!(
        "<g {style}><rect style='stroke-width:.5EM'/></g>"
    )));
    // The letters of an embedded picture are no lengths.
    assert!(!held(&format!(
        "<image {style} href='data:image/png;base64,iVBOR5em/1em+3emA'/>"
    )));
}

#[test]
fn none_where_it_is_no_value_is_passed_over() {
    use jigwarden::tested::artwork::state::State;
    let text = svg(
        "<g id='t' font-size='none' stroke-width='none' text-anchor='none' font-weight='none' font-family='none'/>",
    );
    let document = Document::parse(&text).unwrap();
    let sheets = Sheets::collect(&document);
    let mut state = State::initial(kurbo::Affine::IDENTITY, (1.0, 1.0));
    state.line.width = 3.0;
    let before = (state.line.width, state.font_size, state.font.len());
    assert_eq!(state.declare(&sheets.computed(target(&document))), []);
    assert_eq!(
        (state.line.width, state.font_size, state.font.len()),
        before
    );
}
