//! What is known about properties: which attributes stand for them, which cannot matter, and what
//! their shorthands are short for.

use std::borrow::Cow;

use super::syntax::Declaration;
use crate::artwork::length::{is_space, number_end};

/// The attributes that stand for a property of the same name: SVG 2, section 6.6, and those of SVG
/// 1.1 that it dropped. Sorted.
const PRESENTATION: [&str; 75] = [
    "alignment-baseline",
    "baseline-shift",
    "clip",
    "clip-path",
    "clip-rule",
    "color",
    "color-interpolation",
    "color-interpolation-filters",
    "color-profile",
    "color-rendering",
    "cursor",
    "direction",
    "display",
    "dominant-baseline",
    "enable-background",
    "fill",
    "fill-opacity",
    "fill-rule",
    "filter",
    "flood-color",
    "flood-opacity",
    "font-family",
    "font-size",
    "font-size-adjust",
    "font-stretch",
    "font-style",
    "font-variant",
    "font-weight",
    "glyph-orientation-horizontal",
    "glyph-orientation-vertical",
    "image-rendering",
    "inline-size",
    "isolation",
    "kerning",
    "letter-spacing",
    "lighting-color",
    "marker-end",
    "marker-mid",
    "marker-start",
    "mask",
    "mask-type",
    "mix-blend-mode",
    "opacity",
    "overflow",
    "paint-order",
    "pointer-events",
    "shape-image-threshold",
    "shape-inside",
    "shape-margin",
    "shape-padding",
    "shape-rendering",
    "shape-subtract",
    "stop-color",
    "stop-opacity",
    "stroke",
    "stroke-dasharray",
    "stroke-dashoffset",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-miterlimit",
    "stroke-opacity",
    "stroke-width",
    "text-anchor",
    "text-decoration",
    "text-overflow",
    "text-rendering",
    "transform",
    "transform-box",
    "transform-origin",
    "unicode-bidi",
    "vector-effect",
    "visibility",
    "white-space",
    "word-spacing",
    "writing-mode",
];

/// Whether an attribute without a namespace stands for a property.
pub(crate) fn is_presentation_attribute(name: &str) -> bool {
    // No such name is as short as `d`, `id` and `x`, which most attributes are.
    name.len() > 3 && PRESENTATION.binary_search(&name).is_ok()
}

/// Properties that put nothing on the bed and take nothing off it, whatever their value.
const INERT: [&str; 34] = [
    "caret-color",
    "color-interpolation",
    "color-profile",
    "color-rendering",
    "cursor",
    "enable-background",
    "image-rendering",
    "isolation",
    "outline",
    "outline-color",
    "outline-offset",
    "outline-style",
    "outline-width",
    "overscroll-behavior",
    "page-break-after",
    "page-break-before",
    "page-break-inside",
    "pointer-events",
    "scroll-behavior",
    "shape-rendering",
    "solid-color",
    "solid-opacity",
    "speak",
    "tap-highlight-color",
    "text-rendering",
    "touch-action",
    "transition",
    "transition-behavior",
    "transition-delay",
    "transition-duration",
    "transition-property",
    "transition-timing-function",
    "user-select",
    "will-change",
];

/// Whether a property cannot matter for what is burnt: it is of the list above, or an editor's or
/// reader's own (`-editor-…`) that is no early name of a property that does.
pub(super) fn is_inert(name: &str) -> bool {
    INERT.binary_search(&name).is_ok() || (vendor(name).is_some() && early_name(name).is_none())
}

/// The property that a browser's own one (`-webkit-transform`) is an early name of, if it matters.
pub(super) fn early_name(name: &str) -> Option<&str> {
    let (vendor, rest) = vendor(name)?;
    let matters = INERT.binary_search(&rest).is_err()
        && (is_presentation_attribute(rest)
            || [
                "animation",
                "mask",
                "transform",
                "text-stroke",
                "text-fill",
                "offset",
                "clip",
            ]
            .iter()
            .any(|start| rest.starts_with(start)));
    // `-webkit-` and its like are read by browsers; any other prefix by its owner alone.
    (matters && matches!(vendor, "webkit" | "moz" | "ms" | "o")).then_some(rest)
}

fn vendor(name: &str) -> Option<(&str, &str)> {
    name.strip_prefix('-')?
        .split_once('-')
        .filter(|(vendor, _)| !vendor.is_empty())
}

/// Whether a property is geometry of some element.
pub(super) fn is_geometry(name: &str) -> bool {
    matches!(
        name,
        "x" | "y" | "width" | "height" | "cx" | "cy" | "r" | "rx" | "ry" | "d"
    )
}

/// Whether a property is geometry that SVG 2 (section 8 and 9.3) takes from a stylesheet for this
/// element, and SVG 1.1 does not.
pub(super) fn is_geometry_of(name: &str, element: &str) -> bool {
    match name {
        "x" | "y" | "width" | "height" => {
            matches!(
                element,
                "svg" | "rect" | "image" | "foreignObject" | "use" | "symbol"
            )
        }
        "cx" | "cy" => matches!(element, "circle" | "ellipse"),
        "r" => element == "circle",
        "rx" | "ry" => matches!(element, "rect" | "ellipse"),
        "d" => element == "path",
        _ => false,
    }
}

/// Properties that move or change what is drawn, and that only some readers know.
pub(super) fn moves(name: &str) -> bool {
    matches!(
        name,
        "rotate" | "scale" | "translate" | "zoom" | "perspective"
    ) || name == "offset"
        || name.starts_with("offset-")
}

/// Properties that change with time.
pub(super) fn animates(name: &str) -> bool {
    name == "animation" || name.starts_with("animation-")
}

/// Properties whose lengths need a unit in CSS, though not in an attribute: without one a browser
/// drops the declaration, and other readers take it for `px`.
pub(super) fn needs_unit(name: &str) -> bool {
    matches!(
        name,
        "font-size" | "letter-spacing" | "word-spacing" | "inline-size"
    )
}

/// Replaces a shorthand by its longhands. A `font` that cannot be read stays `font`.
pub(super) fn expand<'a>(declaration: Declaration<'a>, into: &mut Vec<Declaration<'a>>) {
    let long = |name: &'static str, value: &str| Declaration {
        name: Cow::Borrowed(name),
        value: Cow::Owned(value.to_owned()),
        important: declaration.important,
        range: declaration.range.clone(),
    };
    match declaration.name.as_ref() {
        "marker" => {
            into.extend(
                ["marker-start", "marker-mid", "marker-end"]
                    .map(|name| long(name, &declaration.value)),
            );
        }
        "font" => match font(&declaration.value) {
            Some(parts) => into.extend(parts.iter().map(|(name, value)| long(name, value))),
            None => into.push(declaration),
        },
        _ => into.push(declaration),
    }
}

/// The `font` shorthand (CSS Fonts 4, section 2.7): what it does not name, it resets.
pub(super) fn font(value: &str) -> Option<[(&'static str, String); 7]> {
    let mut style = "normal".to_owned();
    let mut variant = "normal".to_owned();
    let mut weight = "normal".to_owned();
    let mut stretch = "normal".to_owned();
    let value = value.trim_matches(is_space);
    let small = value.to_ascii_lowercase();
    if matches!(
        small.as_str(),
        "inherit" | "initial" | "unset" | "revert" | "revert-layer"
    ) {
        return Some(parts(
            &small, &small, &small, &small, &small, &small, &small,
        ));
    }
    if value.contains('(') {
        return None;
    }
    let mut rest = value;
    loop {
        rest = rest.trim_start_matches(is_space);
        let length = rest.find(|c| is_space(c) || c == '/').unwrap_or(rest.len());
        let (word, after) = rest.split_at_checked(length)?;
        let small = word.to_ascii_lowercase();
        match small.as_str() {
            "" => return None,
            "normal" => {}
            "italic" | "oblique" => style = small,
            "small-caps" => variant = small,
            "bold" | "bolder" | "lighter" => weight = small,
            "ultra-condensed" | "extra-condensed" | "condensed" | "semi-condensed"
            | "semi-expanded" | "expanded" | "extra-expanded" | "ultra-expanded" => stretch = small,
            number
                if number
                    .parse()
                    .is_ok_and(|weight: f64| (1.0..=1000.0).contains(&weight)) =>
            {
                weight = small;
            }
            _ => {
                let size_word = matches!(
                    small.as_str(),
                    "xx-small"
                        | "x-small"
                        | "small"
                        | "medium"
                        | "large"
                        | "x-large"
                        | "xx-large"
                        | "xxx-large"
                        | "smaller"
                        | "larger"
                );
                let unit = number_end(word)
                    .and_then(|end| word.get(end..))
                    .unwrap_or("");
                if !size_word && unit.is_empty() {
                    return None;
                }
                let after = after.trim_start_matches(is_space);
                let (line, family) = match after.strip_prefix('/') {
                    None => ("normal", after),
                    Some(after) => {
                        let after = after.trim_start_matches(is_space);
                        after.split_at_checked(after.find(is_space)?)?
                    }
                };
                let family = family.trim_matches(is_space);
                if family.is_empty() || line.is_empty() {
                    return None;
                }
                return Some(parts(
                    &style, &variant, &weight, &stretch, &small, line, family,
                ));
            }
        }
        rest = after;
        if rest.starts_with('/') {
            return None;
        }
    }
}

fn parts(
    style: &str,
    variant: &str,
    weight: &str,
    stretch: &str,
    size: &str,
    line: &str,
    family: &str,
) -> [(&'static str, String); 7] {
    [
        ("font-style", style),
        ("font-variant", variant),
        ("font-weight", weight),
        ("font-stretch", stretch),
        ("font-size", size),
        ("line-height", line),
        ("font-family", family),
    ]
    .map(|(name, value)| (name, value.to_owned()))
}
