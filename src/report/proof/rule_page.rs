//! A rule's page as HTML.

use crate::explain::{Block, Page, spans};
use crate::typeset::Ink;
use crate::wording::escape;

/// The page under headings of level `level`.
pub(super) fn html(text: &'static str, level: u8) -> String {
    let page = Page::read(text);
    let mut out = String::new();
    // The list that is open: its element.
    let mut list: Option<&'static str> = None;
    for block in &page.blocks {
        let wanted = match block {
            Block::Entry(mark, _) if mark.ends_with('.') => Some("ol"),
            Block::Entry(..) => Some("ul"),
            _ => None,
        };
        if list != wanted {
            if let Some(open) = list {
                out.push_str(&format!("</{open}>"));
            }
            if let Some(new) = wanted {
                out.push_str(&format!("<{new}>"));
            }
            list = wanted;
        }
        match block {
            Block::Heading(t) => out.push_str(&format!("<h{level}>{}</h{level}>", inline(t))),
            Block::Paragraph(t) => out.push_str(&format!("<p>{}</p>", inline(t))),
            Block::Entry(_, t) => out.push_str(&format!("<li>{}</li>", inline(t))),
        }
    }
    if let Some(open) = list {
        out.push_str(&format!("</{open}>"));
    }
    out
}

/// Text with its marks of emphasis.
fn inline(text: &str) -> String {
    spans(text)
        .into_iter()
        .map(|(ink, t)| match ink {
            Ink::Strong => format!("<strong>{}</strong>", escape(&t)),
            Ink::Typed => format!("<code>{}</code>", escape(t.trim_matches('`'))),
            _ => escape(&t),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::html;

    #[test]
    fn a_page_keeps_its_lists_code_and_emphasis() {
        let page = "# x\n\n*hold · y*\n\n## What it means\n\nSome `[zone] margin` *here* <b>.\n\n- a\n- b\n\n1. c\n";
        assert_eq!(
            html(page, 4),
            "<h4>What it means</h4><p>Some <code>[zone] margin</code> <strong>here</strong> &lt;b&gt;.</p><ul><li>a</li><li>b</li></ul><ol><li>c</li></ol>"
        );
    }
}
