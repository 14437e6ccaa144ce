//! Takes what an element declares into the state: style, transform, clip, and the effects that this
//! program cannot follow.

use roxmltree::Node;

use super::elements::{self, Kind, kind};
use super::resolve::Walk;
use super::state::State;
use super::style::Declared;
use super::transform;
use crate::wording::short;

/// Properties that change how an element looks in ways this program cannot follow: name, what it is
/// called in messages, remedy.
const SEEN_THROUGH: [(&str, &str, &str); 7] = [
    ("mask", "a mask", RELEASE),
    ("mask-image", "a mask", RELEASE),
    ("mask-border", "a mask", RELEASE),
    ("mask-border-source", "a mask", RELEASE),
    (
        "clip",
        "an old kind of clip",
        "cut the art to what should be seen, and remove the clip",
    ),
    ("filter", "a filter effect", REMOVE),
    ("backdrop-filter", "a filter effect", REMOVE),
];
const RELEASE: &str = "release the mask, or flatten it to a picture";
const REMOVE: &str = "remove the effect, or flatten it to a picture";

/// Whether a box of CSS is put round the page: the sides that move it (CSS Box Model 3).
fn framed(declared: &Declared<'_>) -> bool {
    const SIDES: [&str; 6] = [
        "margin",
        "margin-left",
        "margin-top",
        "padding",
        "padding-left",
        "padding-top",
    ];
    let some = |word: &str| {
        word.trim_start_matches(['+', '-', '0', '.'])
            .starts_with(|c: char| c.is_ascii_digit())
    };
    let moves = SIDES
        .iter()
        .filter_map(|name| declared.get(name))
        .any(|value| value.split_ascii_whitespace().any(some));
    let drawn = ["border", "border-left", "border-top"]
        .iter()
        .filter_map(|name| declared.get(name))
        .any(draws_an_outline);
    moves || drawn
}

/// Whether a value of CSS's `outline` draws one: only with a style (CSS Basic User Interface 4, 3.2).
fn draws_an_outline(value: &str) -> bool {
    const STYLES: [&str; 9] = [
        "auto", "dotted", "dashed", "solid", "double", "groove", "ridge", "inset", "outset",
    ];
    value
        .split_ascii_whitespace()
        .any(|word| STYLES.iter().any(|style| style.eq_ignore_ascii_case(word)))
}

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// Takes over an element's style, frame and clip into `state`; false if its frame cannot be
    /// known; that has been reported then.
    pub(super) fn declare(&mut self, node: Node<'a, 'i>, state: &mut State) -> bool {
        let declared = self.sheets.computed(node);
        state.own_font();
        for (name, value) in state.declare(&declared) {
            let value = short(&value);
            if name == "stroke-miterlimit" {
                let remark = format!(
                    "a stroke-miterlimit, \"{value}\", cannot be read: corners are measured with the default, 4, or with what the elements around it state if that is more"
                );
                if !self.out.remarks.contains(&remark) {
                    self.out.remarks.push(remark);
                }
                continue;
            }
            self.report(
                node,
                state,
                format!("its {name} \"{value}\" cannot be read"),
                "set the property anew in the editor, or expand the object to plain outlines",
            );
        }
        if matches!(
            kind(node),
            Kind::Group | Kind::Viewport | Kind::Use | Kind::Switch
        ) {
            state.decorate(node.id());
        }
        if !self.transform(node, state, &declared) {
            return false;
        }
        if elements::torn_between_targets(node) {
            self.report(
                node,
                state,
                "it names two different targets, of which old readers take one and new ones the other",
                "replace the clone or reference by the object itself",
            );
        }
        for (name, thing, remedy) in SEEN_THROUGH {
            if let Some(value) = declared.get(name)
                && !matches!(value.trim(), "none" | "auto")
                && state.gone.is_none()
            {
                // A filter may paint where its element is invisible.
                let floods = name == "filter" && state.invisible && self.floods(value);
                let seen = State {
                    invisible: state.invisible && !floods,
                    ..state.clone()
                };
                self.report(
                    node,
                    &seen,
                    format!("it is drawn through {thing}, which this program cannot follow"),
                    remedy,
                );
            }
        }
        if kind(node) == Kind::Image
            && ["object-fit", "object-position"]
                .iter()
                .any(|name| declared.get(name).is_some())
            && state.gone.is_none()
        {
            self.report(
                node,
                state,
                "its style has object-fit or object-position, by which browsers place the picture and others do not",
                "remove it from the picture's style, and give the picture the size that it should have",
            );
        }
        if ["outline", "outline-style"]
            .iter()
            .filter_map(|name| declared.get(name))
            .any(draws_an_outline)
            && state.gone.is_none()
        {
            self.report(
                node,
                state,
                "its style has an outline, a line round it that browsers draw and others leave out",
                "remove the outline from its style, and draw the line if it is meant",
            );
        }
        if node.parent().is_some_and(|above| above.is_root()) && framed(&declared) {
            self.report(
                node,
                state,
                "its style puts a margin, padding or border round the page, which moves all of it in some readers and in others does not",
                "remove margin, padding and border from the style of the page",
            );
        }
        if let Some(value) = declared.get("clip-path")
            && value != "none"
        {
            self.clip(node, state, value);
        }
        if node
            .attributes()
            .any(|a| a.namespace().is_none() && a.name().starts_with("on") && !a.value().is_empty())
        {
            // A script acts even where its element is switched off.
            let shown = State {
                gone: None,
                invisible: false,
                ..state.clone()
            };
            self.report(
                node,
                &shown,
                "it carries a script that may change it",
                "save the file without scripts (as a plain drawing)",
            );
        }
        true
    }

    fn transform(
        &mut self,
        node: Node<'a, 'i>,
        state: &mut State,
        declared: &Declared<'_>,
    ) -> bool {
        let motion = match transform::declared(declared) {
            Ok(motion) => motion,
            Err(text) => {
                self.report(
                    node,
                    state,
                    format!("its transform \"{text}\" cannot be read, so its place is not known"),
                    "apply the transform in the editor so that it is part of the drawing",
                );
                return false;
            }
        };
        if motion.elsewhere {
            self.report(
                node,
                state,
                "its transform turns about a transform-origin, which some readers follow and some do not",
                "apply the transform in the editor so that it is part of the drawing",
            );
        }
        state.ctm *= motion.matrix;
        true
    }
}
