//! What readers of a whole file differ about: attributes that only the document type declares,
//! elements outside SVG's namespace, and ids given by `xml:id`.

use roxmltree::{Document, Node};

use super::elements::{Kind, SVG, kind, namespace};
use crate::ids::At;
use crate::wording::short;

/// The namespace of `xml:id` and its like.
const XML: &str = "http://www.w3.org/XML/1998/namespace";

/// Something that readers differ about: where, what, and the way out.
pub(super) type Disputed<'a, 'i> = (Node<'a, 'i>, String, &'static str);

/// Elements that readers differ about, in a document whose root is `root`.
pub(super) fn elements<'a, 'i>(
    document: &'a Document<'i>,
    root: Node<'a, 'i>,
) -> Vec<Disputed<'a, 'i>> {
    let mut found = Vec::new();
    if namespace(root).is_some() {
        found.extend(strangers(root));
    }
    found.extend(xml_ids(document));
    found
}

/// Attributes that a reader of the document type adds to elements (XML 1.0, section 3.3.2). Browsers
/// do, most other readers do not.
pub(super) fn default_attributes<'a, 'i>(
    document: &'a Document<'i>,
    root: Node<'a, 'i>,
) -> Vec<Disputed<'a, 'i>> {
    const HELP: &str =
        "save the drawing without a document type, with the attributes on the elements themselves";
    let head = document.input_text().at(..root.range().start);
    let mut found = Vec::new();
    for default in attribute_lists(head) {
        let Some(Default {
            element,
            name,
            value,
        }) = default
        else {
            let what = "its document type gives elements attributes in a way that cannot be read";
            found.push((root, what.to_owned(), HELP));
            continue;
        };
        // A namespace that is declared nowhere else would have broken the file.
        if name == "xmlns" || name.starts_with("xmlns:") {
            continue;
        }
        let (tag, attribute) = (local(&element), local(&name));
        let without = document.descendants().find(|n| {
            n.is_element()
                && n.tag_name().name() == tag
                && !n.attributes().any(|a| a.name() == attribute)
        });
        if let Some(node) = without {
            let what = format!(
                "its document type gives every \"{}\" the attribute {}=\"{}\", which some readers apply and some do not",
                short(&element),
                short(&name),
                short(&value)
            );
            found.push((node, what, HELP));
        }
    }
    found
}

/// A default of an attribute.
#[derive(Debug, PartialEq)]
struct Default {
    element: String,
    name: String,
    value: String,
}

/// The defaults in the head of a file; `None` for a declaration that cannot be read.
fn attribute_lists(head: &str) -> Vec<Option<Default>> {
    let mut found = Vec::new();
    let mut rest = head;
    while let Some(at) = rest.find("<!") {
        rest = rest.at(at..);
        if let Some(comment) = rest.strip_prefix("<!--") {
            rest = comment.split_once("-->").map_or("", |(_, after)| after);
        } else if let Some(list) = rest.strip_prefix("<!ATTLIST") {
            let mut words = Words(list);
            let read = attribute_list(&mut words, &mut found);
            if read.is_none() {
                found.push(None);
            }
            rest = words.0;
        } else {
            rest = rest.at(2..);
        }
    }
    found
}

fn attribute_list(words: &mut Words<'_>, found: &mut Vec<Option<Default>>) -> Option<()> {
    let element = words.next()?.to_owned();
    loop {
        let name = words.next()?;
        if name == ">" {
            return Some(());
        }
        let kind = words.next()?;
        if kind == "NOTATION" {
            words.next()?;
        }
        let mut default = words.next()?;
        if default == "#REQUIRED" || default == "#IMPLIED" {
            continue;
        }
        if default == "#FIXED" {
            default = words.next()?;
        }
        let value = default.strip_prefix(['"', '\''])?;
        found.push(Some(Default {
            element: element.clone(),
            name: name.to_owned(),
            value: value.to_owned(),
        }));
    }
}

/// The words of a declaration: names, lists in brackets, values (with their first quotation mark), and
/// the end. Entities that stand for parts of it are no words.
struct Words<'a>(&'a str);

impl<'a> Words<'a> {
    fn next(&mut self) -> Option<&'a str> {
        let text = self.0.trim_start();
        let length = match text.chars().next()? {
            quote @ ('"' | '\'') => {
                let end = text.get(1..)?.find(quote)? + 1;
                self.0 = text.get(end + 1..)?;
                return text.get(..end);
            }
            '(' => text.find(')')? + 1,
            '>' => 1,
            '%' | '<' => return None,
            _ => text
                .find(|c: char| c.is_whitespace() || matches!(c, '>' | '(' | '"' | '\''))
                .unwrap_or(text.len()),
        };
        self.0 = text.get(length..)?;
        text.get(..length)
    }
}

fn local(name: &str) -> &str {
    name.rsplit(':').next().unwrap_or(name)
}

/// Elements with SVG's names and no namespace in a file that has SVG's: browsers skip them with
/// everything inside, other readers draw them.
fn strangers<'a, 'i>(root: Node<'a, 'i>) -> Vec<Disputed<'a, 'i>> {
    let outside = |n: &Node<'a, 'i>| {
        n.is_element()
            && namespace(*n).is_none()
            && !matches!(kind(*n), Kind::Unknown | Kind::Private)
    };
    root.descendants()
        .filter(outside)
        .filter(|n| {
            // Only the outermost, and nothing inside an editor's private elements.
            n.ancestors().skip(1).filter(Node::is_element).all(|a| {
                a.tag_name().namespace() == Some(SVG)
                    && !matches!(kind(a), Kind::Describing | Kind::Private)
            })
        })
        .map(|n| {
            let what = format!(
                "it is a \"{}\" outside SVG's namespace (xmlns=\"\"), which some readers draw and some do not",
                short(n.tag_name().name())
            );
            (n, what, "take the xmlns attribute off it, or delete it")
        })
        .collect()
}

/// Ids by `xml:id` that something in the file calls.
fn xml_ids<'a, 'i>(document: &'a Document<'i>) -> Vec<Disputed<'a, 'i>> {
    let text = document.input_text();
    document
        .descendants()
        .filter_map(|n| {
            let named = |a: &roxmltree::Attribute<'_, '_>| a.name() == "id";
            let ours = n
                .attributes()
                .find(|a| named(a) && a.namespace() == Some(XML))?;
            Some((n, ours.value()))
        })
        .filter(|(n, id)| !id.is_empty() && !plainly_called(*n, id))
        .filter(|(_, id)| text.contains(&format!("#{id}")))
        .map(|(n, id)| {
            let what = format!(
                "it is called \"{}\" by xml:id, which some readers take for its id and some do not",
                short(id)
            );
            (n, what, "give it a plain id")
        })
        .collect()
}

/// Whether an element has this id without a namespace: looking "id" up also finds `xml:id`.
fn plainly_called(node: Node<'_, '_>, id: &str) -> bool {
    node.attributes()
        .any(|a| a.name() == "id" && a.namespace().is_none() && a.value() == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn defaults_are_read_and_what_has_none_is_not() {
        let one = |head: &str| attribute_lists(head);
        let default = |element: &str, name: &str, value: &str| {
            Some(Default {
                element: element.to_owned(),
                name: name.to_owned(),
                value: value.to_owned(),
            })
        };
        assert_eq!(
            one("<!DOCTYPE svg [<!ATTLIST g style CDATA #FIXED \"fill:red\">]>"),
            [default("g", "style", "fill:red")]
        );
        assert_eq!(
            one(
                "<!-- <!ATTLIST g a CDATA 'x'> --><!ATTLIST\n p id ID #IMPLIED k (a|b) 'b' n NOTATION (x) #REQUIRED>"
            ),
            [default("p", "k", "b")]
        );
        assert_eq!(one("<!ATTLIST g %more;>"), [None]);
        assert_eq!(one("<!ELEMENT g ANY><!ENTITY x \"y\">"), []);
    }
}
