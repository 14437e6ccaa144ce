//! The cascade: what wins, and what is reported.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    missing_docs
)]

use jigwarden::artwork::style::{Sheets, StyleProblemKind, Written};
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
