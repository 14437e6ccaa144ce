//! What is reported of styles: what only some readers apply, and where it stands.

use super::*;

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
