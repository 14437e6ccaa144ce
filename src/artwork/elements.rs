//! What each element name means to the walk.
//!
//! The lists are the element indexes of SVG 1.1 and SVG 2. A name on none of them is unknown, and
//! the unknown is reported: some reader may draw it.

use std::borrow::Cow;

use roxmltree::Node;

/// The SVG namespace.
pub(crate) const SVG: &str = "http://www.w3.org/2000/svg";
/// The namespace of XHTML.
pub(crate) const XHTML: &str = "http://www.w3.org/1999/xhtml";
/// The namespace of `MathML`.
const MATHML: &str = "http://www.w3.org/1998/Math/MathML";

/// Elements of a web page that show something of their own.
const EMBEDDED: [&str; 8] = [
    "audio", "canvas", "embed", "iframe", "img", "object", "picture", "video",
];
/// The `XLink` namespace, for `xlink:href`.
pub(crate) const XLINK: &str = "http://www.w3.org/1999/xlink";

/// What an element is to the walk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// `g` and `a`.
    Group,
    /// `svg` below the root.
    Viewport,
    /// `switch`.
    Switch,
    /// `use`.
    Use,
    /// A path or basic shape.
    Shape,
    /// `text`.
    Text,
    /// `tspan` and the like: part of a `text`.
    TextPart,
    /// `image`.
    Image,
    /// Never drawn where it stands: `defs`, `symbol`, `clipPath` …
    Definition,
    /// Says something and draws nothing: `title`, `metadata`, `style` …
    Describing,
    /// `script`.
    Script,
    /// SMIL animation.
    Animation,
    /// Draws by means other than SVG's own: `foreignObject`, `video` …
    Foreign,
    /// An element of another namespace: an editor's private data.
    Private,
    /// An SVG element that this program does not know.
    Unknown,
}

impl Kind {
    /// Whether such an element could make a mark, and so is counted in the census.
    pub(crate) fn could_mark(self) -> bool {
        matches!(
            self,
            Self::Use
                | Self::Shape
                | Self::Text
                | Self::TextPart
                | Self::Image
                | Self::Script
                | Self::Animation
                | Self::Foreign
                | Self::Unknown
        )
    }
}

/// What `node` is to the walk.
pub(crate) fn kind(node: Node<'_, '_>) -> Kind {
    if node.has_tag_name((XHTML, "script")) {
        // Browsers run it wherever it stands.
        return Kind::Script;
    }
    // What browsers embed in a drawing (SVG 2, 12.2), and what they embed in a page.
    if node.tag_name().namespace() == Some(XHTML) && EMBEDDED.contains(&node.tag_name().name()) {
        return Kind::Foreign;
    }
    // An element without a namespace counts as SVG: some exporters leave it out, and a sender may
    // still read the file.
    if namespace(node).is_some_and(|ns| ns != SVG) {
        return Kind::Private;
    }
    match node.tag_name().name() {
        "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" => Kind::Shape,
        "g" | "a" => Kind::Group,
        "svg" => Kind::Viewport,
        "switch" => Kind::Switch,
        "use" => Kind::Use,
        "text" => Kind::Text,
        "tspan" | "textPath" | "tref" | "altGlyph" => Kind::TextPart,
        "image" => Kind::Image,
        "defs" | "symbol" | "clipPath" | "mask" | "marker" | "pattern" | "linearGradient"
        | "radialGradient" | "filter" | "font" | "glyph" | "missing-glyph" | "altGlyphDef"
        | "hatch" | "meshgradient" | "meshGradient" | "solidcolor" | "solidColor" => {
            Kind::Definition
        }
        "title" | "desc" | "metadata" | "style" | "stop" | "view" | "cursor" | "color-profile"
        | "font-face" | "font-face-src" | "font-face-uri" | "font-face-name"
        | "font-face-format" | "hkern" | "vkern" | "glyphRef" | "altGlyphItem" | "discard"
        | "hatchpath" | "meshrow" | "meshpatch" | "meshRow" | "meshPatch" | "mpath" | "link"
        | "definition-src" => Kind::Describing,
        "script" | "handler" | "listener" => Kind::Script,
        "animate" | "animateTransform" | "animateMotion" | "animateColor" | "set" => {
            Kind::Animation
        }
        "foreignObject" | "video" | "audio" | "canvas" | "iframe" | "embed" | "object" | "mesh"
        | "flowRoot" | "textArea" => Kind::Foreign,
        name if name.starts_with("fe") => Kind::Describing,
        // What a flowed text is made of; its root is what gets reported.
        name if name.starts_with("flow") => Kind::TextPart,
        _ => Kind::Unknown,
    }
}

/// Whether there is nothing but white space to set in an element.
pub(crate) fn wordless(node: Node<'_, '_>) -> bool {
    node.descendants()
        .filter(Node::is_text)
        .all(|n| n.text().unwrap_or_default().trim().is_empty())
        && !node.descendants().any(|n| n.tag_name().name() == "tref")
}

/// The namespace of an element; `xmlns=""` is none.
pub(crate) fn namespace<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    node.tag_name().namespace().filter(|ns| !ns.is_empty())
}

/// The local name of an element, without a copy where it is one of those that drawings are made of.
pub(crate) fn name(node: Node<'_, '_>) -> Cow<'static, str> {
    const USUAL: [&str; 10] = [
        "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "image", "use",
    ];
    let name = node.tag_name().name();
    match USUAL.iter().find(|usual| **usual == name) {
        Some(usual) => Cow::Borrowed(usual),
        None => Cow::Owned(name.to_owned()),
    }
}

/// The target of `href` or `xlink:href`.
pub(crate) fn href<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    node.attribute("href")
        .or_else(|| node.attribute((XLINK, "href")))
}

/// Whether `href` and `xlink:href` name different targets: readers of SVG 2 take the first, older ones
/// the second.
pub(crate) fn torn_between_targets(node: Node<'_, '_>) -> bool {
    let new = node.attribute("href").map(str::trim);
    let old = node.attribute((XLINK, "href")).map(str::trim);
    new.is_some() && old.is_some() && new != old
}

/// Whether the conditions on an element (`requiredExtensions`, `requiredFeatures`,
/// `systemLanguage`; SVG 2, 5.8) let it be drawn.
///
/// # Errors
///
/// What it depends on where readers differ. Some readers heed no condition at all.
pub(crate) fn chosen(node: Node<'_, '_>) -> Result<bool, &'static str> {
    if let Some(extensions) = node.attribute("requiredExtensions") {
        // Browser engines have these two, and no other.
        let mut list = extensions.split_ascii_whitespace().peekable();
        let browsers = list.peek().is_some() && list.all(|one| matches!(one, XHTML | MATHML));
        let plain =
            |n: Node<'_, '_>| matches!(kind(n), Kind::Use | Kind::Shape | Kind::Text | Kind::Image);
        // What another extension brings in elements of its own is drawn by nobody.
        return if browsers || node.descendants().any(|n| n.is_element() && plain(n)) {
            Err("the extensions that the reader knows")
        } else {
            Ok(false)
        };
    }
    if node
        .attribute("requiredFeatures")
        .is_some_and(|v| v.trim().is_empty())
    {
        // False in SVG 1.1; SVG 2 dropped the attribute, and browsers draw the element.
        return Err("whether the reader heeds requiredFeatures");
    }
    if node.has_attribute("systemLanguage") {
        return Err("the language the reader is set to");
    }
    Ok(true)
}

/// The layer that a group stands for, if an editor marked it as one.
///
/// Editors use different namespaces but the same local names, so only the local names are compared.
pub(crate) fn layer(node: Node<'_, '_>) -> Option<super::mark::Layer> {
    let local = |name: &str| {
        node.attributes()
            .find(|a| a.name() == name)
            .map(|a| a.value())
    };
    let marked = node.attributes().any(|a| {
        a.namespace().is_some() && a.name() == "groupmode" && a.value() == "layer"
            || a.name() == "data-layer"
    });
    let locked = locked(node);
    (marked || locked).then(|| super::mark::Layer {
        name: local("label")
            .or_else(|| local("data-name"))
            .or_else(|| local("id"))
            .unwrap_or_default()
            .to_owned(),
        locked,
    })
}

/// Whether the editor's lock is on.
pub(crate) fn locked(node: Node<'_, '_>) -> bool {
    node.attributes().any(|a| {
        a.namespace().is_some() && a.name() == "insensitive" && a.value() == "true"
            || a.name() == "data-locked" && a.value() == "true"
    })
}
