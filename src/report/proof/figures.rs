//! A small right and wrong drawing for each rule, shown beside its page.
//!
//! Each says in words what it shows; shapes, hatches and signs carry the rest, never a colour alone.

mod art;
mod fixture;
mod orders;
mod pieces;

use pieces::{right_sign, wrong_sign};

use crate::wording::escape;

/// Both halves of a drawing: SVG content for a panel of [`pieces::PANEL`], and what it shows.
struct Figure {
    right: (String, &'static str),
    wrong: (String, &'static str),
}

fn figure(rule: &str) -> Option<Figure> {
    fixture::figure(rule)
        .or_else(|| art::figure(rule))
        .or_else(|| orders::figure(rule))
}

/// The pair for `rule`, as HTML that is XML too.
pub fn pair(rule: &str) -> Option<String> {
    let f = figure(rule)?;
    let half = |word: &str, sign: String, (content, words): &(String, &str)| {
        format!(
            "<div><svg viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{word}: {words}\" font-family=\"{}\">{content}{sign}</svg><p><strong>{word}:</strong> {words}</p></div>",
            pieces::PANEL.0,
            pieces::PANEL.1,
            super::palette::FACES,
            words = escape(words)
        )
    };
    Some(format!(
        "<div class=\"pair\">{}{}</div>",
        half("Right", right_sign(), &f.right),
        half("Wrong", wrong_sign(), &f.wrong)
    ))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::{figure, pair};
    use crate::rules;

    /// Every name that a finding may have.
    fn names() -> impl Iterator<Item = &'static str> {
        rules::all().map(|i| i.name)
    }

    #[test]
    fn every_rule_has_its_drawing() {
        for name in names() {
            let f = figure(name).unwrap_or_else(|| panic!("{name} has no drawing: add its two halves to a file in src/report/proof/figures/"));
            assert_ne!(f.right.0, f.wrong.0, "{name}: both halves look alike");
            assert_ne!(f.right.1, f.wrong.1, "{name}: both halves say the same");
        }
        assert!(figure("no-such-rule").is_none());
    }

    #[test]
    fn no_two_rules_share_a_drawing() {
        let mut seen = std::collections::BTreeMap::new();
        for name in names().collect::<std::collections::BTreeSet<_>>() {
            let f = figure(name).unwrap();
            if let Some(other) = seen.insert(f.wrong.0, name) {
                panic!("{name} and {other} show the same mistake");
            }
        }
    }

    #[test]
    fn every_drawing_is_well_formed_and_speaks() {
        for name in names() {
            let text = pair(name).unwrap();
            let document =
                roxmltree::Document::parse(&text).unwrap_or_else(|e| panic!("{name}: {e}\n{text}"));
            let labels = document
                .descendants()
                .filter_map(|n| n.attribute("aria-label"))
                .filter(|l| l.len() > 12)
                .count();
            assert_eq!(labels, 2, "{name}");
        }
    }
}
