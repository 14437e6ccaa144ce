//! The walk: from elements to marks in bed millimetres.
//!
//! Everything that could reach the sender becomes a [`Mark`] or an [`Unproven`]. What is hidden or
//! unpainted is resolved like the rest, and the mark says so.

use std::ops::Range;
use std::sync::Arc;

use kurbo::Affine;
use roxmltree::{Document, Node};

use super::census::{CensusTaker, Outcome};
use super::elements::{self, Kind, kind};
use super::fonts::Faces;
use super::length::RootUnits;
use super::limits::{MAX_DEPTH, MAX_ELEMENTS, MAX_POINTS};
use super::mark::{Artwork, Lay, Mark, Origin};
use super::page::{self, Placing};
use super::source::{ReadError, Source};
use super::state::State;
use super::style::{Cloned, Sheets, StyleProblemKind};
use super::unproven::Unproven;
use crate::ids::At;
use crate::wording::short;

/// What reading needs to know beside the file.
#[derive(Debug, Clone, Copy)]
pub struct ReadOptions<'a> {
    /// How the sender reads the page's size.
    pub units: RootUnits,
    /// How the page lies on the bed; `None` puts its back-left corner at the origin.
    pub placing: Option<Placing>,
    /// The faces at hand.
    pub faces: &'a Faces,
}

/// How far a curve that stands for an arc may be off, in millimetres. Ten times larger would begin
/// to show beside the finest `place` limit.
pub(crate) const ARC_TOLERANCE: f64 = 1e-4;

/// Coordinates beyond this, in millimetres, belong to no bench; libraries below us hang or crash
/// on far larger ones.
pub(crate) const MAX_COORDINATE: f64 = 1e7;

/// Resolves a whole file.
///
/// # Errors
///
/// A file that is no SVG, or that goes past a limit.
pub fn resolve(source: &Source, reading: &ReadOptions<'_>) -> Result<Artwork, ReadError> {
    resolve_as(source, reading, Lay::Browser)
}

/// As [`resolve`], with lettering that readers lay out differently laid out as `lay` says.
///
/// # Errors
///
/// As [`resolve`].
pub(crate) fn resolve_as(
    source: &Source,
    reading: &ReadOptions<'_>,
    lay: Lay,
) -> Result<Artwork, ReadError> {
    let document = source.xml()?;
    walk(source, &document, reading, lay, None).map(|(artwork, _)| artwork)
}

/// Where the elements of a file lie, and which of [`Artwork::marks`] each makes: what a change of the
/// file has to know. In the order of the walk, each before what is in it.
///
/// # Errors
///
/// As [`resolve`].
pub(crate) fn elements(
    source: &Source,
    reading: &ReadOptions<'_>,
) -> Result<Vec<Placed>, ReadError> {
    let document = source.xml()?;
    walk(source, &document, reading, Lay::Browser, Some(Vec::new())).map(|(_, placed)| placed)
}

/// An element as the walk met it: once for each instance that `use` makes of it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Placed {
    /// Bytes of the element.
    pub range: Range<usize>,
    /// From the coordinates around the element, its own transform not counted, to the bed.
    pub frame: Affine,
    /// The marks that it and everything in it make.
    pub marks: Range<usize>,
}

fn walk(
    source: &Source,
    document: &Document<'_>,
    reading: &ReadOptions<'_>,
    lay: Lay,
    placed: Option<Vec<Placed>>,
) -> Result<(Artwork, Vec<Placed>), ReadError> {
    let root = source.svg_root(document)?;
    let sheets = Sheets::collect(document);
    let page = page::read(root, reading.units, reading.placing.as_ref());
    let mut walk = Walk {
        source,
        sheets: &sheets,
        faces: reading.faces,
        lay,
        ids: ids(document),
        called: called(document),
        pixel: page.pixel,
        out: Artwork {
            page: page.page,
            ..Artwork::default()
        },
        counting: CensusTaker::new(document),
        elements: 0,
        points: 0,
        pictures: super::picture::Seen::default(),
        clips: super::clipping::Clips::default(),
        patterns: std::collections::HashMap::new(),
        chain: Vec::new(),
        clones: Vec::new(),
        placed,
    };
    let page_origin = || Origin {
        root: true,
        ..origin_of(root)
    };
    let doubts = source
        .doubts
        .iter()
        .map(|d| (d.what.clone(), d.help.clone()));
    for (what, help) in page.problems.into_iter().chain(doubts) {
        walk.out.unproven.push(Unproven {
            what,
            help,
            origin: page_origin(),
            hidden: false,
            bed: None,
        });
    }
    let everywhere = super::disputed::default_attributes(document, root);
    let single = super::disputed::elements(document, root);
    let everywhere = everywhere.into_iter().map(|d| (false, d));
    for (single, (node, what, help)) in everywhere.chain(single.into_iter().map(|d| (true, d))) {
        let hidden = single && walk.switched_off(node);
        walk.out.unproven.push(Unproven {
            what,
            help: help.to_owned(),
            origin: if node == root {
                page_origin()
            } else {
                origin_of(node)
            },
            hidden,
            bed: None,
        });
    }
    let state = State::initial(page.frame, page.viewport);
    walk.root(root, &state)?;
    for problem in sheets.problems.iter().filter(|p| !p.harmless) {
        let font = problem.kind == StyleProblemKind::FontFace;
        if font && !walk.names_own_face(root, |_| true) {
            continue;
        }
        let unsent = || {
            walk.shows_no_lettering() || !walk.names_own_face(root, |node| !walk.switched_off(node))
        };
        walk.out.unproven.push(Unproven {
            what: problem.what.clone(),
            help: problem.help.clone(),
            origin: Origin {
                range: problem.range.clone(),
                element: "style".into(),
                ..Origin::default()
            },
            hidden: font && unsent(),
            bed: None,
        });
    }
    let (census, unaccounted) = walk.counting.close(document);
    for node in unaccounted {
        let hidden = kind(node) == Kind::Animation && walk.animates_unsent(node);
        let (what, help) = match kind(node) {
            Kind::Script | Kind::Animation => super::unreadable::acting(node),
            _ => (
                format!(
                    "a \"{}\" stands where this program does not look for drawing",
                    node.tag_name().name()
                ),
                "move it into the drawing proper, or delete it",
            ),
        };
        walk.out.unproven.push(Unproven {
            what,
            help: help.to_owned(),
            origin: origin_of(node),
            hidden,
            bed: None,
        });
    }
    walk.out.census = census;
    Ok((walk.out, walk.placed.unwrap_or_default()))
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

/// The ids that something in the file draws again or goes along.
fn called<'a>(document: &'a Document<'_>) -> std::collections::HashSet<&'a str> {
    document
        .descendants()
        .filter(|n| n.is_element() && kind(*n) != Kind::Animation)
        .filter_map(elements::href)
        .filter_map(|reference| reference.trim().strip_prefix('#'))
        .collect()
}

/// Where an element stands, without what surrounds it.
pub(super) fn origin_of(node: Node<'_, '_>) -> Origin {
    Origin {
        range: node.range(),
        element: elements::name(node),
        id: node.attribute("id").map(str::to_owned),
        ..Origin::default()
    }
}

/// The walk through one document.
pub(super) struct Walk<'w, 'a, 'i> {
    pub(super) source: &'w Source,
    pub(super) sheets: &'w Sheets,
    pub(super) faces: &'w Faces,
    pub(super) lay: Lay,
    pub(super) ids: std::collections::HashMap<&'a str, (Node<'a, 'i>, bool)>,
    /// The ids that something in the file draws again.
    pub(super) called: std::collections::HashSet<&'a str>,
    /// Millimetres to one CSS pixel.
    pub(super) pixel: f64,
    pub(super) out: Artwork,
    pub(super) counting: CensusTaker,
    elements: usize,
    points: usize,
    /// Pictures that were looked at already.
    pub(super) pictures: super::picture::Seen,
    /// The areas of clip paths that were worked out already.
    pub(super) clips: super::clipping::Clips,
    /// The colours inside patterns that were looked through already.
    pub(super) patterns: std::collections::HashMap<String, Arc<[super::mark::Colour]>>,
    /// The targets of the `use` elements that are being drawn, to notice a loop.
    pub(super) chain: Vec<Node<'a, 'i>>,
    /// The clones that are being drawn, outermost first.
    pub(super) clones: Vec<Cloned<'a, 'i>>,
    /// The elements met so far, if they are wanted.
    placed: Option<Vec<Placed>>,
}

impl<'a, 'i> Walk<'_, 'a, 'i> {
    /// Where an element stands, and what brought it there.
    pub(super) fn origin(node: Node<'_, '_>, state: &State) -> Origin {
        let mut layers = Arc::clone(&state.layers);
        if elements::locked(node) {
            Arc::make_mut(&mut layers).push(elements::layer(node).unwrap_or_default());
        }
        Origin {
            layers,
            uses: Arc::clone(&state.uses),
            root: node.parent_element().is_none(),
            ..origin_of(node)
        }
    }

    /// Reports something that could not be resolved.
    pub(super) fn report(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        what: impl Into<String>,
        help: impl Into<String>,
    ) {
        let origin = Self::origin(node, state);
        self.out.unproven.push(Unproven {
            what: what.into(),
            help: help.into(),
            origin,
            hidden: self.hides(node, state),
            bed: None,
        });
    }

    /// Reports an element that makes no mark because it could not be resolved.
    pub(super) fn refuse(
        &mut self,
        node: Node<'a, 'i>,
        state: &State,
        what: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.report(node, state, what, help);
        self.note(node, state, Outcome::Unproven);
    }

    pub(super) fn note(&mut self, node: Node<'_, '_>, state: &State, outcome: Outcome) {
        self.counting.note(node, !state.uses.is_empty(), outcome);
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
        node: Node<'a, 'i>,
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
        if state.gone.take().is_some() {
            self.report(
                root,
                &state,
                "the page as a whole is not displayed, which some readers follow and some do not",
                "set the page's display back, and hide what should not be sent in a layer",
            );
        }
        if elements::chosen(root) != Ok(true) {
            self.report(
                root,
                &state,
                "the page as a whole is under a condition, which some readers follow and some do not",
                "take systemLanguage, requiredExtensions and requiredFeatures off the page",
            );
        }
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

    pub(super) fn children(
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

    pub(super) fn element(
        &mut self,
        node: Node<'a, 'i>,
        outer: &State,
        depth: usize,
    ) -> Result<(), ReadError> {
        crate::abandon::ask();
        let from = self.out.marks.len();
        let entry = self.placed.as_mut().map(|all| {
            all.push(Placed {
                range: node.range(),
                frame: outer.ctm,
                marks: from..from,
            });
            all.len() - 1
        });
        self.draw(node, outer, depth)?;
        let to = self.out.marks.len();
        if let (Some(all), Some(entry)) = (&mut self.placed, entry) {
            all.at_mut(entry).marks.end = to;
        }
        Ok(())
    }

    fn draw(&mut self, node: Node<'a, 'i>, outer: &State, depth: usize) -> Result<(), ReadError> {
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
        if let Some(layer) =
            elements::layer(node).filter(|_| matches!(what, Kind::Group | Kind::Viewport))
        {
            Arc::make_mut(&mut state.layers).push(layer);
        }
        let placed = self.declare(node, &mut state);
        self.choose(node, &mut state);
        if !placed {
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
            Kind::Shape => self.shape(node, &state, depth),
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

    /// Reports an element whose place is not known, and counts everything inside as reported.
    pub(super) fn give_up(&mut self, node: Node<'a, 'i>, state: &State) {
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
        let sized = matches!(kind(node), Kind::Viewport | Kind::Image);
        if sized && matches!(name, "width" | "height") && text.trim() == "auto" {
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
