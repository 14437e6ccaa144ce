//! Finds the bytes of the file that have to change for a remedy.

use std::collections::{BTreeSet, HashMap};
use std::ops::Range;

use kurbo::{Affine, BezPath, Rect};
use roxmltree::{Document, Node};

mod lettering;
mod paint;
mod parts;

use super::path_edit::{self, number};
use super::{Change, Edit, What, tag};
use crate::artwork::elements::{self, Kind, kind};
use crate::artwork::mark::{Artwork, Colour};
use crate::artwork::page::view_box;
use crate::artwork::resolve::Placed;
use crate::artwork::source::Source;
use crate::artwork::source::edit::Replacement;
use crate::artwork::style::{Sheets, Written};
use crate::artwork::transform;
use crate::ids::{At, Id as _, MarkId};

/// Why a change cannot be made by editing the file, as the end of "…, since".
type Hindrance = String;

/// A file whose elements can be found by what they draw.
#[derive(Debug)]
pub(crate) struct Sites<'a> {
    text: &'a str,
    document: &'a Document<'a>,
    sheets: Sheets,
    placed: Vec<Placed>,
    artwork: &'a Artwork,
    /// How often each element is drawn.
    instances: HashMap<(usize, usize), usize>,
    /// The marks that each element makes.
    made_by: HashMap<(usize, usize), Vec<MarkId>>,
    /// The marks that each element makes where clones bring it.
    drawn_by: HashMap<Instance<'a>, Vec<MarkId>>,
    /// The elements, as numbers in `placed`, whose marks begin with each mark.
    beginning: HashMap<MarkId, Vec<usize>>,
    /// Elements by their bytes.
    nodes: HashMap<(usize, usize), Node<'a, 'a>>,
}

/// An element by its bytes, and the clones that bring it, by theirs.
type Instance<'a> = (usize, usize, &'a [Range<usize>]);

/// What a page moves on it by less than this, in millimetres, it leaves where it is. Larger, and a remedy would leave the
/// fixture off its place by that; smaller, and the rounding of a displacement that was measured passes for a turn.
const SAME_PAGE: f64 = 1e-3;

const CLONED: &str = "what it would change is drawn in other places too: unlink the clone first";
const ENTITY: &str = "it stands in an entity of the file: save the file as plain SVG first";
const ENTANGLED: &str =
    "it is one object with something else in the file: take the two apart first";

impl<'a> Sites<'a> {
    /// A file as it was resolved: `placed` are its elements, `artwork` its marks.
    pub(crate) fn new(
        source: &'a Source,
        document: &'a Document<'a>,
        placed: Vec<Placed>,
        artwork: &'a Artwork,
    ) -> Self {
        let mut instances = HashMap::new();
        for element in &placed {
            *instances.entry(key(&element.range)).or_insert(0) += 1;
        }
        let mut made_by: HashMap<_, Vec<MarkId>> = HashMap::new();
        for (index, mark) in artwork.marks.pairs() {
            made_by
                .entry(key(&mark.origin.range))
                .or_default()
                .push(index);
        }
        let mut drawn_by: HashMap<_, Vec<MarkId>> = HashMap::new();
        for (index, mark) in artwork.marks.pairs() {
            let (start, end) = key(&mark.origin.range);
            let by = (start, end, mark.origin.uses.as_slice());
            drawn_by.entry(by).or_default().push(index);
        }
        let mut beginning: HashMap<_, Vec<usize>> = HashMap::new();
        for (number, element) in placed.iter().enumerate() {
            if !element.marks.is_empty() {
                let first = MarkId::new(element.marks.start);
                beginning.entry(first).or_default().push(number);
            }
        }
        let root = document.root_element();
        let nodes = root
            .descendants()
            .filter(Node::is_element)
            .map(|n| (key(&n.range()), n))
            .collect();
        Self {
            text: &source.text,
            sheets: Sheets::collect(document),
            document,
            placed,
            artwork,
            instances,
            made_by,
            drawn_by,
            beginning,
            nodes,
        }
    }

    /// The bytes that change for `changes`.
    ///
    /// # Errors
    ///
    /// Why they cannot be made by editing the file.
    pub(crate) fn edits(&self, changes: &[Change]) -> Result<Vec<Edit>, Hindrance> {
        let mut all: Vec<Edit> = Vec::new();
        // Places in `all` by the bytes concerned.
        let mut known: HashMap<(usize, usize), Vec<usize>> = HashMap::new();
        for group in alike(changes) {
            for edit in self.of_group(&group)? {
                let there = known
                    .entry((edit.replacement.start, edit.replacement.end))
                    .or_default();
                if !there.iter().any(|i| *all.at(*i) == edit) {
                    there.push(all.len());
                    all.push(edit);
                }
            }
        }
        Ok(all)
    }

    /// The bytes for changes that do the same to several marks, all of them whole or all in part.
    fn of_group(&self, group: &[&Change]) -> Result<Vec<Edit>, Hindrance> {
        let Some(first) = group.first() else {
            return Ok(Vec::new());
        };
        if first.part.is_some() {
            return self.parts(group);
        }
        let mut change = (*first).clone();
        change.marks = group.iter().flat_map(|c| c.marks.iter().copied()).collect();
        match &change.what {
            What::Paint(paint) => self.paint(&change, *paint),
            What::Delete => self.delete(&change),
            What::Rewrite(to) => self.rewrite_lettering(&change, to),
            What::TwoLines { lines, scale } => self.two_lines(&change, lines, *scale),
            What::Outline(path) => self.outline(&change, path),
            What::Draw { path, paint } => self.draw(&change, path, *paint),
            What::Page { page, frame } => self.page(&change, *page, *frame),
            _ => match change.motion() {
                Some(motion) => self.carry(&change, motion),
                None => Ok(Vec::new()),
            },
        }
    }

    fn edit(change: &Change, node: Node<'_, '_>, replacement: Replacement) -> Edit {
        Edit {
            replacement,
            change: change.word(),
            element: node.tag_name().name().to_owned(),
            start: node.range().start,
            id: node.attribute("id").map(str::to_owned),
        }
    }

    /// The element with these bytes, if they are its own.
    fn node(&self, range: &Range<usize>) -> Result<Node<'a, 'a>, Hindrance> {
        let node = self.nodes.get(&key(range)).copied();
        let root = self.document.root_element().range();
        // An element that came from an entity points at the entity's declaration, before the root.
        node.filter(|n| n.range().start >= root.start && tag::after_name(self.text, *n).is_some())
            .ok_or_else(|| ENTITY.to_owned())
    }

    /// The marks that come from the same elements, so that whole elements are meant.
    fn whole(&self, marks: &[MarkId]) -> BTreeSet<MarkId> {
        let mut all = BTreeSet::new();
        for mark in marks.iter().map(|i| &self.artwork.marks[*i]) {
            let (start, end) = key(&mark.origin.range);
            let by = (start, end, mark.origin.uses.as_slice());
            all.extend(self.drawn_by.at(&by));
        }
        all
    }

    /// The marks that an element makes, in all its instances.
    fn of_element(&self, range: &Range<usize>) -> impl Iterator<Item = MarkId> {
        self.made_by.get(&key(range)).into_iter().flatten().copied()
    }

    /// The fewest elements that make exactly these marks, and are drawn once.
    fn cover(&self, marks: &BTreeSet<MarkId>) -> Result<Vec<&Placed>, Hindrance> {
        let mut sites: Vec<&Placed> = Vec::new();
        let mut done = BTreeSet::new();
        // Only what begins with one of them can make them and no other; in the order of the walk.
        let mut begin: Vec<usize> = marks
            .iter()
            .filter_map(|m| self.beginning.get(m))
            .flatten()
            .copied()
            .collect();
        begin.sort_unstable();
        for number in begin {
            let element = self.placed.at(number);
            let own = &element.marks;
            let all = own.clone().all(|i| marks.contains(&MarkId::new(i)));
            // Not every reader knows a transform on a drawing in a drawing.
            let nested = self.nodes.get(&key(&element.range));
            let nested = nested.is_some_and(|n| kind(*n) == Kind::Viewport);
            if !all
                || nested
                || own.clone().any(|i| done.contains(&i))
                || !self.once(&element.range)
            {
                continue;
            }
            done.extend(own.clone());
            sites.push(self.innermost(number));
        }
        if done.len() == marks.len() {
            Ok(sites)
        } else if marks
            .iter()
            .map(|i| &self.artwork.marks[*i])
            .any(|m| !m.origin.uses.is_empty())
        {
            Err(CLONED.to_owned())
        } else {
            Err(ENTANGLED.to_owned())
        }
    }

    /// The element itself where groups hold nothing else; never what a clone shows.
    fn innermost(&self, outer: usize) -> &Placed {
        let mut site = self.placed.at(outer);
        for inner in self.placed.iter().skip(outer + 1) {
            let group = self.nodes.get(&key(&site.range)).is_some_and(|n| {
                matches!(kind(*n), Kind::Group)
                    && n.children().filter(Node::is_element).count() == 1
            });
            if !group || inner.marks != site.marks || !self.once(&inner.range) {
                break;
            }
            site = inner;
        }
        site
    }

    fn once(&self, range: &Range<usize>) -> bool {
        self.instances.get(&key(range)) == Some(&1)
    }

    /// Carries marks by a motion of the bed.
    fn carry(&self, change: &Change, motion: Affine) -> Result<Vec<Edit>, Hindrance> {
        let marks = self.whole(&change.marks);
        let hindrance = match self.cover(&marks) {
            Ok(sites) => {
                let sites = sites.into_iter();
                let moved = sites.map(|site| self.transform(change, site, motion));
                return moved.collect();
            }
            Err(hindrance) => hindrance,
        };
        if let Some(line) = self.line_of(&marks) {
            return Ok(vec![self.transform(change, line, motion)?]);
        }
        match &change.what {
            What::Move(_) => self.reposition(change, motion).ok_or(hindrance),
            _ => Err(hindrance),
        }
    }

    /// Puts a motion of the bed before an element's own transform.
    fn transform(&self, change: &Change, site: &Placed, motion: Affine) -> Result<Edit, Hindrance> {
        let node = self.node(&site.range)?;
        let own = site.frame.inverse() * motion * site.frame;
        let declared = self.sheets.computed(node);
        if declared.get("transform-origin").is_some() {
            return Err("it turns about a point of its own (transform-origin)".to_owned());
        }
        let written = declared.source("transform");
        let replacement = match (written, declared.get("transform")) {
            (Some(Written::Sheet | Written::Inline), Some(before)) => {
                let before = if before == "none" { "" } else { before };
                let value = format!("{} {before}", words(own, true));
                tag::declaration(self.text, node, "transform", value.trim_end(), false)
            }
            _ => tag::prefixed(self.text, node, "transform", &words(own, false)),
        };
        let replacement = replacement.ok_or_else(|| ENTITY.to_owned())?;
        Ok(Self::edit(change, node, replacement))
    }

    fn own_transform(&self, node: Node<'_, '_>) -> Option<Affine> {
        let declared = self.sheets.computed(node);
        match declared.get("transform").filter(|t| *t != "none") {
            None => Some(Affine::IDENTITY),
            Some(text) => transform::parse(text, declared.css_value("transform").is_some()),
        }
    }

    fn delete(&self, change: &Change) -> Result<Vec<Edit>, Hindrance> {
        let mut edits = Vec::new();
        let sites = match self.cover(&self.whole(&change.marks)) {
            Ok(sites) => sites,
            Err(hindrance) => return self.without_spans(change).ok_or(hindrance),
        };
        for site in sites {
            let node = self.node(&site.range)?;
            for id in node.descendants().filter_map(|n| n.attribute("id")) {
                let called = format!("#{id}");
                let elsewhere = self
                    .text
                    .match_indices(&called)
                    .any(|(at, _)| !site.range.contains(&at));
                if elsewhere {
                    return Err("something else in the file refers to it".to_owned());
                }
            }
            edits.push(Self::edit(
                change,
                node,
                Replacement::new(site.range.clone(), ""),
            ));
        }
        Ok(edits)
    }

    /// Makes marks the outline `path` of the bed.
    fn outline(&self, change: &Change, path: &BezPath) -> Result<Vec<Edit>, Hindrance> {
        let mut edits = Vec::new();
        for site in self.cover(&self.whole(&change.marks))? {
            let node = self.node(&site.range)?;
            if kind(node) != Kind::Shape {
                return Err(CLONED.to_owned());
            }
            let own = self
                .own_transform(node)
                .ok_or_else(|| ENTANGLED.to_owned())?;
            let data = path_edit::data(&((site.frame * own).inverse() * path.clone()));
            let set =
                tag::attribute(self.text, node, "d", &data).ok_or_else(|| ENTITY.to_owned())?;
            edits.push(Self::edit(change, node, set));
            if node.tag_name().name() != "path" {
                for name in self.names(node)? {
                    edits.push(Self::edit(change, node, Replacement::new(name, "path")));
                }
            }
        }
        Ok(edits)
    }

    /// The local name of an element in its start tag, and in its end tag if it has one.
    fn names(&self, node: Node<'_, '_>) -> Result<Vec<Range<usize>>, Hindrance> {
        let local = node.tag_name().name();
        let end = tag::after_name(self.text, node).ok_or_else(|| ENTITY.to_owned())?;
        let mut names: Vec<_> = std::iter::once(end - local.len()..end).collect();
        let range = node.range();
        let own = self.text.at(range.clone());
        if !own.ends_with("/>")
            && let Some(at) = own.rfind("</").and_then(|tag| {
                own.at(tag..)
                    .find(local)
                    .map(|within| range.start + tag + within)
            })
        {
            names.push(at..at + local.len());
        }
        Ok(names)
    }

    /// Adds an outline at the end of the drawing.
    fn draw(&self, change: &Change, path: &BezPath, paint: Colour) -> Result<Vec<Edit>, Hindrance> {
        let root = self.document.root_element();
        let frame = self.placed.first().map(|p| p.frame);
        let range = root.range();
        let own = self.text.at(range.clone());
        let (Some(frame), Some(end), Some(name)) =
            (frame, own.rfind("</"), tag::after_name(self.text, root))
        else {
            return Err("the file holds no drawing to add it to".to_owned());
        };
        let name = self.text.at(range.start + 1..name);
        let prefix = name.strip_suffix("svg").unwrap_or_default();
        // As thin as anything that is drawn: a tenth of a millimetre.
        let width = 0.1 / frame.determinant().abs().sqrt().max(1e-9);
        let added = format!(
            "<{prefix}path style=\"fill:none;stroke:{paint};stroke-width:{}\" d=\"{}\"/>",
            number(width),
            path_edit::data(&(frame.inverse() * path.clone()))
        );
        let at = range.start + end;
        Ok(vec![Self::edit(
            change,
            root,
            Replacement::new(at..at, added),
        )])
    }

    /// Sets the page, so that the drawing's units come to lie as `frame` says.
    fn page(&self, change: &Change, page: Rect, frame: Affine) -> Result<Vec<Edit>, Hindrance> {
        let root = self.document.root_element();
        let scale = frame.as_coeffs()[0];
        let upright = Affine::translate(frame.translation()) * Affine::scale(scale);
        let off = |corner| {
            let moved: kurbo::Point = frame * (upright.inverse() * corner);
            moved.distance(corner)
        };
        let (first, last) = (page.origin(), kurbo::Point::new(page.x1, page.y1));
        if scale <= 0.0 || off(first).max(off(last)) > SAME_PAGE {
            return Err("no page makes up for a turn or a flip".to_owned());
        }
        if elements::href(root).is_some()
            || root
                .attribute("style")
                .is_some_and(|s| s.contains("width") || s.contains("height"))
        {
            return Err("the page's size is set by a style".to_owned());
        }
        let corner = upright.inverse() * first;
        let window = [
            corner.x,
            corner.y,
            page.width() / scale,
            page.height() / scale,
        ];
        // Numbers of the file that do as well stay: they are rounder than what was measured.
        let does = root
            .attribute("viewBox")
            .and_then(view_box)
            .is_some_and(|v| {
                [v.x, v.y, v.w, v.h]
                    .iter()
                    .zip(window)
                    .all(|(a, b)| scale * (a - b).abs() <= SAME_PAGE)
            });
        let mut values = vec![
            ("width", format!("{}mm", number(page.width()))),
            ("height", format!("{}mm", number(page.height()))),
        ];
        if !does {
            values.push(("viewBox", window.map(number).join(" ")));
        }
        values
            .iter()
            .map(|(name, value)| {
                tag::attribute(self.text, root, name, value)
                    .map(|r| Self::edit(change, root, r))
                    .ok_or_else(|| ENTITY.to_owned())
            })
            .collect()
    }
}

/// Changes that do the same, together: each kind of bytes is looked for once. What is done to parts of marks
/// is apart from what is done to whole ones.
fn alike(changes: &[Change]) -> Vec<Vec<&Change>> {
    let mut groups: Vec<Vec<&Change>> = Vec::new();
    for change in changes {
        let same = |other: &Change| {
            other.what == change.what && other.part.is_some() == change.part.is_some()
        };
        match groups
            .iter_mut()
            .find(|g| g.first().is_some_and(|f| same(f)))
        {
            Some(group) => group.push(change),
            None => groups.push(vec![change]),
        }
    }
    groups
}

fn key(range: &Range<usize>) -> (usize, usize) {
    (range.start, range.end)
}

/// A motion as a transform function, `css` in a style.
fn words(motion: Affine, css: bool) -> String {
    let c = motion.as_coeffs();
    let plain = |v: f64, to: f64| (v - to).abs() < 1e-10;
    if plain(c[0], 1.0) && plain(c[1], 0.0) && plain(c[2], 0.0) && plain(c[3], 1.0) {
        return if css {
            format!("translate({}px,{}px)", number(c[4]), number(c[5]))
        } else {
            format!("translate({} {})", number(c[4]), number(c[5]))
        };
    }
    // Over a bed of a metre the last of ten places is a tenth of a micrometre.
    let turn: Vec<String> = c
        .iter()
        .take(4)
        .map(|v| crate::units::trimmed(*v, 10))
        .collect();
    format!(
        "matrix({},{},{})",
        turn.join(","),
        number(c[4]),
        number(c[5])
    )
}
