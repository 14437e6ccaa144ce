//! The walk: from elements to marks in bed millimetres.
//!
//! Everything that could reach the sender becomes a [`Mark`] or an [`Unproven`]: what is hidden or
//! has no paint is resolved like the rest and described as such.

use std::sync::Arc;

use kurbo::{Affine, Rect};
use roxmltree::{Document, Node};

use super::elements::{self, Kind, kind};
use super::fonts::Faces;
use super::mark::{Artwork, Hidden, Mark, Origin};
use super::page::{self, Placing, short};
use super::source::{ReadError, Source};
use super::state::State;
use super::style::Sheets;
use super::tally::{Outcome, Tally};
use super::transform;
use super::unproven::Unproven;

/// What reading needs to know beside the file.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'a> {
    /// How the sender reads a length without a unit.
    pub units_per_inch: f64,
    /// How the page lies on the bed; `None` puts its back-left corner at the origin.
    pub placing: Option<Placing>,
    /// The faces at hand.
    pub faces: &'a Faces,
}

/// Nesting, `use` included, beyond which a file is refused. Each level takes a few kilobytes of
/// stack; the pipeline runs on a thread that has them.
pub const MAX_DEPTH: usize = 2_000;

/// Elements after `use` expansion beyond which a file is refused: a few nested `use` can stand for
/// billions.
pub const MAX_ELEMENTS: usize = 2_000_000;

/// Points of outlines, `use` expansion counted, beyond which a file is refused: a clone of a large
/// outline costs as much memory as the outline. At some 60 bytes each this is over half a gigabyte.
pub const MAX_POINTS: usize = 10_000_000;

/// Properties that change what is seen of an element in ways this program cannot follow: name, thing,
/// remedy.
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

/// How far a curve that stands for an arc may be off, in millimetres. Ten times larger would begin
/// to show beside the finest `place` limit.
pub const ARC_TOLERANCE: f64 = 1e-4;

/// Coordinates beyond this, in millimetres, belong to no bench; libraries below us hang or crash
/// on far larger ones.
pub const MAX_COORDINATE: f64 = 1e7;

/// Resolves a whole file.
///
/// # Errors
///
/// A file that is no SVG, or that goes past a limit.
pub fn resolve(source: &Source, reading: &Reading<'_>) -> Result<Artwork, ReadError> {
    let document = source.xml()?;
    let root = source.svg_root(&document)?;
    let sheets = Sheets::collect(&document);
    let page = page::read(root, reading.units_per_inch, reading.placing.as_ref());
    let mut walk = Walk {
        source,
        sheets: &sheets,
        faces: reading.faces,
        ids: ids(&document),
        pixel: page.pixel,
        out: Artwork {
            page: page.page,
            ..Artwork::default()
        },
        tally: Tally::new(&document),
        elements: 0,
        points: 0,
        pictures: super::picture::Seen::default(),
        clips: super::clipping::Clips::default(),
        chain: Vec::new(),
    };
    for (what, help) in page.problems {
        walk.out.unproven.push(Unproven {
            what,
            help,
            origin: origin_of(root),
            bed: None,
        });
    }
    for doubt in &source.doubts {
        walk.out.unproven.push(Unproven {
            what: doubt.what.clone(),
            help: doubt.help.clone(),
            origin: origin_of(root),
            bed: None,
        });
    }
    for problem in sheets.problems.iter().filter(|p| !p.harmless) {
        walk.out.unproven.push(Unproven {
            what: problem.what.clone(),
            help: problem.help.clone(),
            origin: Origin {
                range: problem.range.clone(),
                element: "style".to_owned(),
                ..Origin::default()
            },
            bed: None,
        });
    }
    let state = State::initial(page.frame, page.viewport);
    walk.root(root, &state)?;
    let Walk { tally, mut out, .. } = walk;
    let (census, astray) = tally.close(&document);
    for node in astray {
        let (what, help) = match kind(node) {
            Kind::Script | Kind::Animation => acting(node),
            _ => (
                format!(
                    "a \"{}\" stands where this program does not look for drawing",
                    node.tag_name().name()
                ),
                "move it into the drawing proper, or delete it",
            ),
        };
        out.unproven.push(Unproven {
            what,
            help: help.to_owned(),
            origin: origin_of(node),
            bed: None,
        });
    }
    out.census = census;
    Ok(out)
}

/// What to say of a script or an animation.
fn acting(node: Node<'_, '_>) -> (String, &'static str) {
    if kind(node) == Kind::Script {
        return (
            "it is a script, which may change the drawing when it is opened".to_owned(),
            "save the file without scripts (as a plain drawing)",
        );
    }
    (
        format!(
            "it is an animation ({}), and readers differ in which moment they show",
            node.tag_name().name()
        ),
        "remove the animation and keep the drawing as it should be burnt",
    )
}

/// The first element of each id: `href` and `url()` to an id that stands twice are reported.
fn ids<'a, 'i>(
    document: &'a Document<'i>,
) -> std::collections::HashMap<&'a str, (Node<'a, 'i>, bool)> {
    let mut ids = std::collections::HashMap::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            ids.entry(id)
                .and_modify(|e: &mut (Node<'_, '_>, bool)| e.1 = true)
                .or_insert((node, false));
        }
    }
    ids
}

/// Where an element stands, without what surrounds it.
pub(super) fn origin_of(node: Node<'_, '_>) -> Origin {
    Origin {
        range: node.range(),
        element: node.tag_name().name().to_owned(),
        id: node.attribute("id").map(str::to_owned),
        ..Origin::default()
    }
}

/// The walk through one document.
pub(super) struct Walk<'w, 'a, 'i> {
    pub(super) source: &'w Source,
    pub(super) sheets: &'w Sheets,
    pub(super) faces: &'w Faces,
    pub(super) ids: std::collections::HashMap<&'a str, (Node<'a, 'i>, bool)>,
    /// Millimetres to one CSS pixel.
    pub(super) pixel: f64,
    pub(super) out: Artwork,
    pub(super) tally: Tally,
    elements: usize,
    points: usize,
    /// Pictures that were looked at already.
    pub(super) pictures: super::picture::Seen,
    /// The areas of clip paths that were worked out already.
    pub(super) clips: super::clipping::Clips,
    /// The targets of the `use` elements that are being drawn, to notice a loop.
    chain: Vec<Node<'a, 'i>>,
}

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// Where an element stands, and what brought it there.
    pub(super) fn origin(node: Node<'_, '_>, state: &State) -> Origin {
        let mut layers = state.layers.as_ref().clone();
        if elements::locked(node) {
            layers.push(elements::layer(node).unwrap_or_default());
        }
        Origin {
            layers,
            uses: state.uses.as_ref().clone(),
            ..origin_of(node)
        }
    }

    /// Reports something that could not be resolved.
    pub(super) fn report(
        &mut self,
        node: Node<'_, '_>,
        state: &State,
        what: impl Into<String>,
        help: impl Into<String>,
    ) {
        let origin = Self::origin(node, state);
        self.out.unproven.push(Unproven {
            what: what.into(),
            help: help.into(),
            origin,
            bed: None,
        });
    }

    pub(super) fn note(&mut self, node: Node<'_, '_>, state: &State, outcome: Outcome) {
        self.tally.note(node, !state.uses.is_empty(), outcome);
    }

    /// Adds a mark.
    pub(super) fn push(&mut self, mark: Mark) {
        self.points += mark.path.elements().len();
        self.out.marks.push(mark);
    }

    /// The element with an id. A second element with the same id is reported: readers differ in
    /// which one they take.
    pub(super) fn find(
        &mut self,
        node: Node<'_, '_>,
        state: &State,
        id: &str,
    ) -> Option<Node<'a, 'i>> {
        let (target, twice) = self.ids.get(id).copied()?;
        if twice {
            self.report(
                node,
                state,
                format!("it refers to the id \"{}\", which stands on two elements, and readers differ in which one they take", short(id)),
                "in the editor replace the clone or reference by the object itself",
            );
        }
        Some(target)
    }

    fn root(&mut self, root: Node<'a, 'i>, state: &State) -> Result<(), ReadError> {
        let mut state = state.clone();
        self.declare(root, &mut state);
        if self
            .sheets
            .computed(root)
            .get("transform")
            .is_some_and(|t| t.trim() != "none")
        {
            self.report(
                root,
                &state,
                "the page is transformed as a whole, which some readers follow and some do not",
                "apply the transform in the editor so that it is part of the drawing",
            );
        }
        self.children(root, &state, 1)
    }

    /// Part of a text that stands outside any: readers of the standard draw nothing, and who knows
    /// what others do.
    fn stray_text(&mut self, node: Node<'a, 'i>, state: &State) {
        let empty = node
            .descendants()
            .filter(roxmltree::Node::is_text)
            .all(|n| n.text().unwrap_or_default().trim().is_empty());
        if empty || state.gone.is_some() {
            self.note(node, state, Outcome::Inert);
            return;
        }
        self.report(
            node,
            state,
            "it is lettering outside any text object, which most readers leave out",
            "type the lettering anew, or delete it",
        );
        self.give_up(node, state);
    }

    fn children(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        for child in node.children().filter(Node::is_element) {
            self.element(child, state, depth)?;
        }
        Ok(())
    }

    /// Takes over an element's style, frame and clip into `state`; false where its frame cannot be
    /// known, and then it was reported.
    pub(super) fn declare(&mut self, node: Node<'a, 'i>, state: &mut State) -> bool {
        let declared = self.sheets.computed(node);
        for (name, value) in state.declare(&declared) {
            let value = short(&value);
            self.report(
                node,
                state,
                format!("its {name} \"{value}\" cannot be read"),
                "set the property anew in the editor, or expand the object to plain outlines",
            );
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
                self.report(
                    node,
                    state,
                    format!("it is drawn through {thing}, which this program cannot follow"),
                    remedy,
                );
            }
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
            self.report(
                node,
                state,
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
        declared: &super::style::Declared<'_>,
    ) -> bool {
        let Some(text) = declared.get("transform").filter(|t| *t != "none") else {
            return true;
        };
        let by_css = declared.from_css("transform").is_some();
        let Some(matrix) = transform::parse(text, by_css) else {
            let text = short(text);
            self.report(
                node,
                state,
                format!("its transform \"{text}\" cannot be read, so its place is not known"),
                "apply the transform in the editor so that it is part of the drawing",
            );
            return false;
        };
        if declared
            .get("transform-origin")
            .is_some_and(|o| !matches!(o.trim(), "0" | "0 0" | "0px 0px" | "0px"))
            && matrix != Affine::IDENTITY
        {
            self.report(
                node,
                state,
                "its transform turns about a transform-origin, which some readers follow and some do not",
                "apply the transform in the editor so that it is part of the drawing",
            );
        }
        state.ctm *= matrix;
        true
    }

    fn element(
        &mut self,
        node: Node<'a, 'i>,
        outer: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        self.elements += 1;
        if depth > MAX_DEPTH {
            return Err(self.source.refuse_deep());
        }
        if self.elements > MAX_ELEMENTS {
            return Err(self.source.refuse_many());
        }
        if self.points > MAX_POINTS {
            return Err(self.source.refuse_points());
        }
        let what = kind(node);
        match what {
            Kind::Definition | Kind::Describing | Kind::Private => return Ok(()),
            Kind::Script | Kind::Animation | Kind::Foreign | Kind::Unknown => {
                self.unreadable(node, outer, what);
                return Ok(());
            }
            Kind::TextPart => {
                self.stray_text(node, outer);
                return Ok(());
            }
            _ => {}
        }
        let mut state = outer.clone();
        self.choose(node, &mut state);
        if let Some(layer) =
            elements::layer(node).filter(|_| matches!(what, Kind::Group | Kind::Viewport))
        {
            Arc::make_mut(&mut state.layers).push(layer);
        }
        if !self.declare(node, &mut state) {
            self.give_up(node, &state);
            return Ok(());
        }
        match what {
            Kind::Group => self.children(node, &state, depth + 1),
            Kind::Switch => self.switch(node, &state, depth + 1),
            Kind::Viewport => {
                let Some(state) = self.viewport(node, &state, None) else {
                    return Ok(());
                };
                self.children(node, &state, depth + 1)
            }
            Kind::Use => self.instance(node, &state, depth + 1),
            Kind::Shape => {
                self.shape(node, &state);
                Ok(())
            }
            Kind::Text => {
                self.text(node, &state);
                Ok(())
            }
            Kind::Image => {
                self.image(node, &state);
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// Conditional processing (SVG 2, 5.8): what is not chosen is resolved and marked as such.
    fn choose(&mut self, node: Node<'a, 'i>, state: &mut State) {
        match elements::chosen(node) {
            Some(true) => {}
            Some(false) => state.gone = Some(state.gone.take().unwrap_or(Hidden::NotChosen)),
            None => self.report(
                node,
                state,
                "whether it is drawn depends on the language the reader is set to",
                "keep the one version that is wanted and delete the others",
            ),
        }
    }

    /// `switch`: the first child whose conditions hold is drawn, the rest is not.
    fn switch(&mut self, node: Node<'a, 'i>, state: &State, depth: usize) -> Result<(), ReadError> {
        let mut taken = false;
        for child in node.children().filter(Node::is_element) {
            if matches!(
                kind(child),
                Kind::Describing | Kind::Private | Kind::Definition
            ) {
                continue;
            }
            let holds = elements::chosen(child) != Some(false);
            if holds && !taken {
                taken = true;
                self.element(child, state, depth)?;
            } else {
                let mut not = state.clone();
                not.gone = Some(not.gone.take().unwrap_or(Hidden::NotChosen));
                self.element(child, &not, depth)?;
            }
        }
        Ok(())
    }

    /// Everything below an element whose place is not known is reported with it.
    fn give_up(&mut self, node: Node<'a, 'i>, state: &State) {
        for below in node
            .descendants()
            .filter(|n| n.is_element() && kind(*n).could_mark())
        {
            let outcome = if below == node {
                Outcome::Unproven
            } else {
                Outcome::Part
            };
            self.note(below, state, outcome);
        }
    }

    fn unreadable(&mut self, node: Node<'a, 'i>, state: &State, what: Kind) {
        let name = node.tag_name().name();
        // The other branch of a `switch`, which no reader of plain SVG takes.
        let never = elements::chosen(node) == Some(false) || state.gone == Some(Hidden::NotChosen);
        if what == Kind::Foreign && never {
            self.note(node, state, Outcome::Inert);
            return;
        }
        let (what, help) = match what {
            Kind::Script | Kind::Animation => acting(node),
            Kind::Foreign if name.starts_with("flow") => (
                "it is text that flows in a frame, which readers lay out differently or leave out"
                    .to_owned(),
                "turn it into plain lettering or into outlines",
            ),
            Kind::Foreign => (
                format!("it is a \"{name}\", which holds something other than drawing"),
                "delete it, or turn what it shows into plain outlines or a picture",
            ),
            _ => (
                format!("it is a \"{name}\", an element that is not known here"),
                "expand it to plain outlines, or delete it",
            ),
        };
        self.report(node, state, what, help);
        self.note(node, state, Outcome::Unproven);
    }

    /// `use`: the target drawn here, in the frame and style of the `use`.
    fn instance(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        let reference = elements::href(node).unwrap_or_default();
        let target = match reference.trim().strip_prefix('#') {
            Some(id) => self.find(node, state, id),
            None => None,
        };
        let Some(target) = target else {
            let what = if reference.trim().is_empty() || reference.trim().starts_with('#') {
                format!(
                    "it repeats \"{}\", which is not in this file",
                    short(reference)
                )
            } else {
                format!("it shows a part of another file, \"{}\"", short(reference))
            };
            self.report(
                node,
                state,
                what,
                "embed the object itself in the drawing, or delete it",
            );
            self.note(node, state, Outcome::Unproven);
            return Ok(());
        };
        if self.chain.contains(&target) || node.ancestors().any(|a| a == target) {
            self.report(
                node,
                state,
                "it repeats itself inside itself",
                "delete the clone and draw the object",
            );
            self.note(node, state, Outcome::Unproven);
            return Ok(());
        }
        let (Some(x), Some(y)) = (
            self.measure(node, state, "x", state.viewport.0, 0.0),
            self.measure(node, state, "y", state.viewport.1, 0.0),
        ) else {
            self.note(node, state, Outcome::Unproven);
            return Ok(());
        };
        self.note(node, state, Outcome::Part);
        let mut inner = state.clone();
        inner.ctm *= Affine::translate((x, y));
        Arc::make_mut(&mut inner.uses).push(node.range());
        self.chain.push(target);
        let done = match kind(target) {
            Kind::Definition if target.tag_name().name() == "symbol" => {
                self.symbol(node, target, &inner, depth)
            }
            Kind::Viewport => {
                let mut own = inner.clone();
                self.choose(target, &mut own);
                if self.declare(target, &mut own)
                    && let Some(state) = self.viewport(target, &own, Some(node))
                {
                    self.children(target, &state, depth + 1)
                } else {
                    Ok(())
                }
            }
            _ => self.element(target, &inner, depth + 1),
        };
        self.chain.pop();
        done
    }

    fn symbol(
        &mut self,
        user: Node<'a, 'i>,
        symbol: Node<'a, 'i>,
        inner: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        let mut own = inner.clone();
        if !self.declare(symbol, &mut own) {
            return Ok(());
        }
        match self.viewport(symbol, &own, Some(user)) {
            Some(state) => self.children(symbol, &state, depth + 1),
            None => Ok(()),
        }
    }

    /// The frame inside a nested `svg` or a `symbol`; `None` where nothing inside is drawn or the
    /// frame cannot be known (then it was reported). `user` is the `use` that may state the size.
    fn viewport(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        user: Option<Node<'a, 'i>>,
    ) -> Option<State> {
        let (vw, vh) = state.viewport;
        let by = |name: &str| match user {
            Some(user) if user.attribute(name).is_some() => user,
            _ => node,
        };
        let width = self.measure(by("width"), state, "width", vw, vw)?;
        let height = self.measure(by("height"), state, "height", vh, vh)?;
        let x = self.measure(node, state, "x", vw, 0.0)?;
        let y = self.measure(node, state, "y", vh, 0.0)?;
        if width <= 0.0 || height <= 0.0 {
            // SVG 2, 8.6: a zero size disables rendering.
            let below = node
                .descendants()
                .filter(|n| n.is_element() && kind(*n).could_mark());
            for below in below.collect::<Vec<_>>() {
                self.note(below, state, Outcome::Inert);
            }
            return None;
        }
        let frame = Rect::new(x, y, x + width, y + height);
        let mut inner = state.clone();
        let Ok(aspect) = page::preserve_aspect_ratio(node) else {
            self.report(
                node,
                state,
                "its preserveAspectRatio cannot be read",
                "ungroup the nested drawing",
            );
            self.give_up(node, state);
            return None;
        };
        match node
            .attribute("viewBox")
            .map(str::parse::<svgtypes::ViewBox>)
        {
            None => {
                inner.ctm *= Affine::translate((x, y));
                inner.viewport = (width, height);
            }
            Some(Ok(view_box)) => {
                inner.ctm *= page::fit(view_box, aspect, frame);
                inner.viewport = (view_box.w, view_box.h);
            }
            Some(Err(_)) => {
                self.report(
                    node,
                    state,
                    "its viewBox cannot be read, so the place of what is in it is not known",
                    "ungroup the nested drawing",
                );
                self.give_up(node, state);
                return None;
            }
        }
        let declared = self.sheets.computed(node);
        if !matches!(declared.get("overflow"), Some("visible" | "auto")) {
            Self::clip_to(&mut inner, state.ctm, frame);
        }
        Some(inner)
    }

    /// A length attribute in user units; `None` where it cannot be read, and then it was reported.
    pub(super) fn measure(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        name: &'static str,
        percent_of: f64,
        missing: f64,
    ) -> Option<f64> {
        let Some(text) = node.attribute(name) else {
            return Some(missing);
        };
        if text.trim() == "auto" {
            return Some(missing);
        }
        match super::length::length(text, &state.lengths(percent_of)) {
            Ok(value) => Some(value),
            Err(_) => {
                let text = short(text);
                self.report(
                    node,
                    state,
                    format!("its {name} \"{text}\" is not a length that can be measured"),
                    "set the size anew in the editor in mm or in",
                );
                None
            }
        }
    }
}
