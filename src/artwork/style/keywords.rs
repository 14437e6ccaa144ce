//! Keywords of properties as browsers read them: in any letter case, and ignored if CSS has no such
//! keyword for the property.
//!
//! A declaration whose value is not valid is left out, and the next one in the cascade counts (CSS
//! Cascade 4, section 4; for attributes SVG 2, section 6.6). The lists are those of the
//! specifications named beside them. Values that only some readers know are kept, so that the code
//! that uses them can report them.

use std::borrow::Cow;

/// The keywords of a property: those of CSS and SVG, and those that only some readers know.
type Keywords = (&'static str, &'static [&'static str]);

/// Properties that take one keyword of a list and nothing else.
const ONE_OF: [Keywords; 16] = [
    // SVG 2, 13.4.2 and 14.3.5.
    ("fill-rule", &["nonzero", "evenodd"]),
    ("clip-rule", &["nonzero", "evenodd"]),
    // SVG 2, 13.5.4 and 13.5.5; few readers know the last two.
    ("stroke-linecap", &["butt", "round", "square"]),
    (
        "stroke-linejoin",
        &["miter", "round", "bevel", "miter-clip", "arcs"],
    ),
    // CSS Display 3, section 4.
    ("visibility", &["visible", "hidden", "collapse"]),
    // SVG 2, 8.13; few readers know the last three.
    (
        "vector-effect",
        &[
            "none",
            "non-scaling-stroke",
            "non-scaling-size",
            "non-rotation",
            "fixed-position",
        ],
    ),
    // SVG 2, 11.4.1.
    ("text-anchor", &["start", "middle", "end"]),
    // CSS Writing Modes 4, sections 2.1, 3.2 and 5.1.
    ("direction", &["ltr", "rtl"]),
    (
        "writing-mode",
        &[
            "horizontal-tb",
            "vertical-rl",
            "vertical-lr",
            "sideways-rl",
            "sideways-lr",
            "lr",
            "lr-tb",
            "rl",
            "rl-tb",
            "tb",
            "tb-rl",
        ],
    ),
    (
        "unicode-bidi",
        &[
            "normal",
            "embed",
            "isolate",
            "bidi-override",
            "isolate-override",
            "plaintext",
        ],
    ),
    // CSS Fonts 4, sections 6.2 and 7.1.
    ("font-kerning", &["auto", "normal", "none"]),
    ("font-optical-sizing", &["auto", "none"]),
    // CSS Inline 3, section 4.3, and the keywords of SVG 1.1 (10.9.2) that are still read.
    (
        "dominant-baseline",
        &[
            "auto",
            "text-bottom",
            "alphabetic",
            "ideographic",
            "middle",
            "central",
            "mathematical",
            "hanging",
            "text-top",
            "text-before-edge",
            "text-after-edge",
            "use-script",
            "no-change",
            "reset-size",
        ],
    ),
    (
        "alignment-baseline",
        &[
            "auto",
            "baseline",
            "before-edge",
            "text-before-edge",
            "middle",
            "central",
            "after-edge",
            "text-after-edge",
            "text-bottom",
            "text-top",
            "ideographic",
            "alphabetic",
            "hanging",
            "mathematical",
        ],
    ),
    // CSS Text 3, section 2.1.1, as far as it is one keyword.
    (
        "text-rendering",
        &[
            "auto",
            "optimizespeed",
            "optimizelegibility",
            "geometricprecision",
        ],
    ),
    ("display", &DISPLAY),
];

/// CSS Display 3, section 2: only `none` and `contents` make a difference to a drawing.
const DISPLAY: [&str; 31] = [
    "none",
    "contents",
    "inline",
    "block",
    "run-in",
    "flow",
    "flow-root",
    "list-item",
    "inline-block",
    "inline-table",
    "inline-flex",
    "inline-grid",
    "table",
    "table-row-group",
    "table-header-group",
    "table-footer-group",
    "table-row",
    "table-cell",
    "table-column-group",
    "table-column",
    "table-caption",
    "flex",
    "grid",
    "ruby",
    "ruby-base",
    "ruby-text",
    "ruby-base-container",
    "ruby-text-container",
    "math",
    "-webkit-box",
    "-webkit-inline-box",
];

/// CSS Overflow 3, section 3.1; `overlay` is an old name of `auto`.
const OVERFLOW: [&str; 6] = ["visible", "hidden", "clip", "scroll", "auto", "overlay"];

/// Properties that say something about the element alone and are not handed down, as far as a
/// drawing uses them.
const NOT_INHERITED: [&str; 20] = [
    "alignment-baseline",
    "backdrop-filter",
    "baseline-shift",
    "clip",
    "clip-path",
    "display",
    "filter",
    "flood-color",
    "flood-opacity",
    "mask",
    "mask-border",
    "mask-border-source",
    "mask-image",
    "opacity",
    "overflow",
    "stop-color",
    "stop-opacity",
    "text-decoration",
    "transform-origin",
    "vector-effect",
];

/// Keywords that every property has (CSS Cascade 4, section 7.3).
const EVERYWHERE: [&str; 5] = ["inherit", "initial", "unset", "revert", "revert-layer"];

/// The value in the form in which it is compared: keywords in lower case. `None` if CSS ignores the
/// declaration.
pub(super) fn canonical<'a>(name: &str, value: Cow<'a, str>) -> Option<Cow<'a, str>> {
    if name.starts_with("--") {
        return Some(value);
    }
    if value.is_empty() {
        return None;
    }
    if let Some(everywhere) = EVERYWHERE.iter().find(|w| value.eq_ignore_ascii_case(w)) {
        return Some(Cow::Borrowed(everywhere));
    }
    // A function such as `var()` may stand for anything; the code that uses the value reads it or
    // reports it.
    if value.contains('(') {
        return Some(value);
    }
    if let Some((_, keywords)) = ONE_OF.iter().find(|(property, _)| *property == name) {
        let own = keywords.iter().find(|w| value.eq_ignore_ascii_case(w));
        return match own {
            Some(keyword) => Some(Cow::Borrowed(keyword)),
            None if name == "display" => several(&value, &DISPLAY[2..]).then_some(value),
            None => None,
        };
    }
    if name == "overflow" {
        let valid = several(&value, &OVERFLOW);
        return valid.then(|| small(value));
    }
    // Names of colours are read in any case; `NONE` as a paint is left as it is written, because
    // readers that compare letter by letter paint black. Names of faces stay as written.
    let written = matches!(name, "fill" | "stroke" | "font-family" | "font");
    Some(if written || !is_word(&value) {
        value
    } else {
        small(value)
    })
}

/// Whether `name: value` has no effect: it sets the initial value of a property that is not
/// inherited.
pub(super) fn resets(name: &str, value: &str) -> bool {
    let reset = match name {
        // Readers' own sheet says `hidden` for a drawing in a drawing.
        "overflow" => value == "revert",
        _ => matches!(value, "initial" | "unset" | "revert"),
    };
    reset && (NOT_INHERITED.contains(&name) || name == "transform" || name == "transform-box")
}

/// One or two keywords of a list.
fn several(value: &str, list: &[&str]) -> bool {
    let mut words = value.split_ascii_whitespace();
    let known = |word: &str| list.iter().any(|w| word.eq_ignore_ascii_case(w));
    words.next().is_some_and(known) && words.next().is_none_or(known) && words.next().is_none()
}

fn is_word(value: &str) -> bool {
    value
        .bytes()
        .all(|b| b.is_ascii_alphanumeric() || b == b'-')
}

fn small(value: Cow<'_, str>) -> Cow<'_, str> {
    if value.bytes().any(|b| b.is_ascii_uppercase()) {
        Cow::Owned(value.to_ascii_lowercase())
    } else {
        value
    }
}
