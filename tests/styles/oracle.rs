//! The cascade against `simplecss`, on what that library knows.

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
