//! What a `text` element says: its characters, and for each element in it the style, the lists of
//! positions and the curve.

use std::collections::BTreeSet;

use kurbo::{BezPath, Shape, Size};
use roxmltree::{Node, NodeId};
use svgtypes::{LengthListParser, NumberListParser};

use super::style::{Lines, Shift, TextStyle, lines_of, user};
use super::{DEEPEST, FARTHEST, MOST_CHARACTERS, TextInput, TextProblem, inkless};
use crate::artwork::mark::Lay;
use crate::ids::{IdVec, OwnerId, TrackId};

/// Accuracy of a curve's length, as a part of that length; a percentage of the curve is off by no
/// more than this.
const LENGTH_ACCURACY: f64 = 1e-9;

/// Most pieces of a curve that carries letters.
const MOST_TRACK: usize = 20_000;

/// Characters that say which way the letters after them run (Unicode Standard Annex 9, "explicit
/// directional overrides"): "Ada" after the second reads "adA" to a reader that follows it.
const OVERRIDES: [char; 2] = ['\u{202D}', '\u{202E}'];

/// Elements inside a text that never hold lettering.
const SILENT: &[&str] = &[
    "title",
    "desc",
    "metadata",
    "style",
    "script",
    "animate",
    "animateColor",
    "animateMotion",
    "animateTransform",
    "set",
    "discard",
];

/// All that a `text` element says, before anything is laid out.
#[derive(Debug, Default)]
pub(super) struct Script {
    pub(super) owners: IdVec<OwnerId, Owner>,
    pub(super) tracks: IdVec<TrackId, Track>,
    pub(super) characters: Vec<Character>,
    /// Elements around the text that draw lines along it, outermost first.
    pub(super) outer: Vec<(NodeId, Lines)>,
    /// Which way disputed lettering is laid out.
    pub(super) lay: Lay,
    /// What readers lay out differently.
    pub(super) disputed: BTreeSet<&'static str>,
}

/// An element that holds characters, in document order: a parent comes before its children.
#[derive(Debug)]
pub(super) struct Owner {
    pub(super) id: NodeId,
    pub(super) parent: Option<OwnerId>,
    pub(super) style: TextStyle,
    pub(super) track: Option<TrackId>,
    pub(super) dropped: bool,
    pub(super) x: Vec<f64>,
    pub(super) y: Vec<f64>,
    pub(super) dx: Vec<f64>,
    pub(super) dy: Vec<f64>,
    pub(super) rotate: Vec<f64>,
    pub(super) length: Option<Stretched>,
}

/// `textLength` and `lengthAdjust`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretched {
    pub(super) length: f64,
    pub(super) glyphs: bool,
}

/// A curve that letters follow.
#[derive(Debug)]
pub(super) struct Track {
    pub(super) path: BezPath,
    /// Where the letters start along it, in user units.
    pub(super) start: f64,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Character {
    pub(super) c: char,
    pub(super) owner: OwnerId,
}

/// Reads the element and everything in it.
pub(super) fn read(input: &TextInput<'_, '_, '_>) -> Result<Script, TextProblem> {
    let mut script = Script {
        lay: input.lay,
        ..Script::default()
    };
    for (id, value) in input.around {
        script.outer.push((*id, lines_of(value)?));
    }
    walk(input, input.node, None, 0, &mut script)?;
    Ok(script)
}

fn walk<'a, 'i>(
    input: &TextInput<'_, 'a, 'i>,
    node: Node<'a, 'i>,
    parent: Option<OwnerId>,
    depth: usize,
    script: &mut Script,
) -> Result<(), TextProblem> {
    if depth > DEEPEST {
        return Err(TextProblem::new(
            format!("lettering is nested more than {DEEPEST} deep"),
            "type this lettering anew as plain lines",
        ));
    }
    let owner = owner(input, node, parent, script)?;
    let index = script.owners.push(owner);
    for child in node.children() {
        if let (true, Some(text)) = (child.is_text(), child.text()) {
            if let Some(sign) = text.chars().find(|c| OVERRIDES.contains(c)) {
                return Err(TextProblem::new(
                    format!(
                        "lettering holds a sign that does not show and sets the order of its letters (U+{:04X}), \
                         which not every reader follows",
                        u32::from(sign)
                    ),
                    "type this lettering anew, without the sign that was pasted with it",
                ));
            }
            script
                .characters
                .extend(text.chars().map(|c| Character { c, owner: index }));
            if script.characters.len() > MOST_CHARACTERS {
                return Err(TextProblem::new(
                    format!("lettering of more than {MOST_CHARACTERS} characters in one piece"),
                    "split this lettering",
                ));
            }
        }
        if !child.is_element() {
            continue;
        }
        let own = child.tag_name().namespace() == node.tag_name().namespace();
        let name = child.tag_name().name();
        match name {
            "tspan" | "a" if own => walk(input, child, Some(index), depth + 1, script)?,
            "textPath" if own && parent.is_none() => {
                walk(input, child, Some(index), depth + 1, script)?;
            }
            _ if own && SILENT.contains(&name) => {}
            _ if own => {
                return Err(TextProblem::outline(format!(
                    "lettering holds a `{name}`, which not every reader draws there"
                )));
            }
            // Elements of another namespace are an editor's private data.
            _ if child
                .descendants()
                .filter_map(|n| n.text())
                .all(|t| t.trim().is_empty()) => {}
            _ => {
                return Err(TextProblem::outline(format!(
                    "lettering holds a foreign element `{name}` with characters in it"
                )));
            }
        }
    }
    Ok(())
}

fn owner<'a, 'i>(
    input: &TextInput<'_, 'a, 'i>,
    node: Node<'a, 'i>,
    parent: Option<OwnerId>,
    script: &mut Script,
) -> Result<Owner, TextProblem> {
    for name in ["systemLanguage", "requiredFeatures", "requiredExtensions"] {
        if parent.is_some() && node.has_attribute(name) {
            return Err(TextProblem::outline(format!(
                "lettering has a part under a condition (`{name}`)"
            )));
        }
    }
    let mut style = TextStyle::read(node, (input.style)(node), input.declared)?;
    let above = parent.map(|p| script.owner(p));
    if above.is_some_and(|above| above.style.leftward != style.leftward) {
        return Err(TextProblem::outline(
            "lettering has a `direction` on a part of it, which readers lay out differently",
        ));
    }
    let disputed = baselines(&mut style, above.map(|above| &above.style), input.lay);
    script.disputed.extend(disputed.into_iter().flatten());
    let above = parent.map(|p| script.owner(p));
    // A text that is not displayed as a whole is laid out all the same; only a part of a text can be
    // left out.
    let shown = script.text().is_some_and(|text| text.style.displayed);
    let dropped = above.is_some_and(|p| p.dropped || (shown && !style.displayed));
    let mut track = above.and_then(|p| p.track);
    let Size { width, height } = input.viewport;
    let list = |name, whole| lengths(node, name, style.size, whole);
    // On `textPath` these attributes mean nothing.
    let placing = node.tag_name().name() != "textPath";
    if !placing {
        let curve = read_track(input, node, &style)?;
        track = Some(script.tracks.push(curve));
    }
    let lists = if placing {
        [
            list("x", width)?,
            list("y", height)?,
            list("dx", width)?,
            list("dy", height)?,
        ]
    } else {
        <[Vec<f64>; 4]>::default()
    };
    let [x, y, dx, dy] = lists;
    let rotate = if placing { angles(node)? } else { Vec::new() };
    let length = stretched(
        node,
        style.size,
        if style.vertical { height } else { width },
    )?;
    Ok(Owner {
        id: node.id(),
        parent,
        style,
        track,
        dropped,
        x,
        y,
        dx,
        dy,
        rotate,
        length,
    })
}

/// Settles how high an element's letters stand where readers differ; returns what they differ about.
///
/// Some readers know neither `baseline-shift` nor `alignment-baseline`; some take a
/// `dominant-baseline: auto` inside a text for the outer element's, others for none.
fn baselines(
    style: &mut TextStyle,
    above: Option<&TextStyle>,
    lay: Lay,
) -> [Option<&'static str>; 3] {
    let other = lay == Lay::Other;
    let shifted = style.shift != Shift::None;
    let aligned = style.alignment.is_some();
    if other {
        style.shift = Shift::None;
        style.alignment = None;
    }
    let outer = above.and_then(|above| above.dominant.clone());
    let torn = style.dominant_auto && outer.is_some();
    if torn && !other {
        style.dominant = outer;
    }
    [
        shifted.then_some("`baseline-shift`"),
        aligned.then_some("`alignment-baseline`"),
        torn.then_some("`dominant-baseline: auto`"),
    ]
}

fn unread(name: &str) -> TextProblem {
    TextProblem::new(
        format!("lettering has a list `{name}` that cannot be read"),
        "place this lettering anew, or turn it into outlines",
    )
}

fn lengths(node: Node<'_, '_>, name: &str, em: f64, whole: f64) -> Result<Vec<f64>, TextProblem> {
    let Some(text) = node.attribute(name) else {
        return Ok(Vec::new());
    };
    LengthListParser::from(text)
        .map(|length| {
            let length = length.map_err(|_| unread(name))?;
            user(length, em, Some(whole))
                .filter(|v| v.abs() <= FARTHEST)
                .ok_or_else(|| unread(name))
        })
        .collect()
}

fn angles(node: Node<'_, '_>) -> Result<Vec<f64>, TextProblem> {
    let Some(text) = node.attribute("rotate") else {
        return Ok(Vec::new());
    };
    NumberListParser::from(text)
        .map(|n| {
            n.ok()
                .filter(|v| v.abs() <= FARTHEST)
                .ok_or_else(|| unread("rotate"))
        })
        .collect()
}

fn stretched(node: Node<'_, '_>, em: f64, whole: f64) -> Result<Option<Stretched>, TextProblem> {
    let glyphs = node.attribute("lengthAdjust") == Some("spacingAndGlyphs");
    match lengths(node, "textLength", em, whole)?.as_slice() {
        [] => Ok(None),
        [length] if *length > 0.0 => Ok(Some(Stretched {
            length: *length,
            glyphs,
        })),
        _ => Err(unread("textLength")),
    }
}

fn read_track<'a, 'i>(
    input: &TextInput<'_, 'a, 'i>,
    node: Node<'a, 'i>,
    style: &TextStyle,
) -> Result<Track, TextProblem> {
    let odd = |what: &str| {
        Err(TextProblem::outline(format!(
            "lettering on a curve has {what}, which readers lay out differently"
        )))
    };
    if node.has_attribute("path") {
        return odd("its curve in an attribute `path`");
    }
    if !matches!(node.attribute("side"), None | Some("left")) {
        return odd("`side=\"right\"`");
    }
    if !matches!(node.attribute("method"), None | Some("align")) {
        return odd("`method=\"stretch\"`");
    }
    if style.vertical {
        return odd("a vertical writing mode");
    }
    let path = (input.track)(node)?;
    let segments = path.segments().count();
    if segments == 0 || segments > MOST_TRACK {
        return Err(TextProblem::outline(format!(
            "lettering follows a curve of {segments} pieces, which cannot be laid out"
        )));
    }
    let bounds = path.control_box();
    let farthest = [bounds.x0, bounds.x1, bounds.y0, bounds.y1].map(f64::abs);
    if !path.is_finite() || farthest.iter().any(|v| *v > FARTHEST) {
        return Err(TextProblem::outline(
            "lettering follows a curve that lies too far out",
        ));
    }
    let size = bounds.width().hypot(bounds.height());
    let whole = path.perimeter((LENGTH_ACCURACY * size).max(f64::MIN_POSITIVE));
    let start = match lengths(node, "startOffset", style.size, whole)?.as_slice() {
        [] => 0.0,
        [start] => *start,
        _ => return Err(unread("startOffset")),
    };
    Ok(Track { path, start })
}

impl Script {
    /// Whether a part of the text is not displayed.
    pub(super) fn any_dropped(&self) -> bool {
        self.characters
            .iter()
            .any(|c| !inkless(c.c) && self.owner(c.owner).dropped)
    }

    pub(super) fn owner(&self, id: OwnerId) -> &Owner {
        &self.owners[id]
    }

    /// The text element itself.
    pub(super) fn text(&self) -> Option<&Owner> {
        self.owners.iter().next()
    }

    /// Whether the lettering runs down the page: the text element decides for its parts (SVG 2,
    /// section 11.5.1).
    pub(super) fn vertical(&self) -> bool {
        self.text().is_some_and(|text| text.style.vertical)
    }

    /// An owner and everything around it, innermost first.
    pub(super) fn around(&self, id: OwnerId) -> impl Iterator<Item = (OwnerId, &Owner)> {
        std::iter::successors(Some(id), |id| self.owner(*id).parent).map(|id| (id, self.owner(id)))
    }

    /// The innermost element, in the text or around it, whose lines satisfy `pick`.
    pub(super) fn declares(&self, id: OwnerId, pick: impl Fn(Lines) -> bool) -> Option<NodeId> {
        let own = self
            .around(id)
            .map(|(_, owner)| (owner.id, owner.style.lines));
        own.chain(self.outer.iter().rev().copied())
            .find(|(_, lines)| pick(*lines))
            .map(|(id, _)| id)
    }
}
