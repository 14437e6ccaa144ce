//! `hidden-but-live`: looks invisible but would be run.

use std::borrow::Cow;
use std::cell::OnceCell;
use std::collections::{BTreeSet, HashMap};

use kurbo::{Point, Rect, Shape as _};

use super::{Info, info, thing};
use crate::abandon::spend;
use crate::artwork::ink::INK_TOLERANCE;
use crate::artwork::mark::{Colour, Content, Drawn, Hidden, Mark, Operation, Paint, Role};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::settings::Other;
use crate::geometry::boxes::Boxes;
use crate::geometry::deviation::stays_within;
use crate::geometry::edges::Edges;
use crate::geometry::equality::{contains_equal, may_contain_equal};
use crate::geometry::flatten::{Polyline, polylines};
use crate::geometry::occlusion::{occluded, samples, without};
use crate::geometry::region::Region;
use crate::ids::{At, MarkId};
use crate::matching::Job;
use crate::remedy::{Change, Remedy, Way, What};
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("hidden-but-live", Hold, Blank);

/// At this opacity and below, nobody sees a mark on a bright screen; higher, and pale guides that
/// people do see would be called invisible.
const FAINT: f64 = 0.05;

/// From this opacity on nothing shows through. Lower, and what is seen through a tint would be
/// called covered.
const SOLID: f64 = 0.98;

/// White, or as good as: each channel from this value on. Lower, and pale paints that people do see
/// on a white page would be called white.
const WHITE: u8 = 250;

/// A part counts as covered or clipped away where less than this share of it shows: a rim of rounded
/// curves must not save it.
const SHOWS: f64 = 0.02;

/// Points of a part that are looked at before the whole part is.
const LOOKS: usize = 8;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let covers = Covers::new(job);
    // Copies that lie under the same are alike.
    let mut known: HashMap<_, Parts> = HashMap::new();
    for (index, mark, _) in job.live() {
        if !concerned(job, mark) || mark.path.elements().is_empty() {
            continue;
        }
        if mark.clip.is_none() && of_the_whole(mark).is_none() && shows(job, &covers, index, mark) {
            continue;
        }
        // Letters of one word are one thing to say in each pocket.
        let mut said: Vec<(Why, Option<&str>, Rect, usize)> = Vec::new();
        let copy = (
            job.operation(index),
            Drawn::of(mark),
            covers.above(index, mark),
        );
        let (parts, found) = known
            .entry(copy)
            .or_insert_with(|| reasons(job, &covers, index, mark));
        for (why, bed) in found.iter().copied() {
            let pocket = job.name_at(bed.center());
            match said.iter_mut().find(|s| s.0 == why && s.1 == pocket) {
                Some(s) => {
                    s.2 = s.2.union(bed);
                    s.3 += 1;
                }
                None => said.push((why, pocket, bed, 1)),
            }
        }
        let all: usize = said.iter().map(|s| s.3).sum();
        for (why, pocket, bed, _) in said {
            let part = if all < *parts { "part of " } else { "" };
            out.push(
                Finding::new(
                    &INFO,
                    &Location::Mark(&mark.origin, bed),
                    sentence(&format!(
                        "{part}{} {}, and {}would still be run",
                        thing(mark),
                        why.words(),
                        if matches!(why, Why::White(_)) {
                            "it "
                        } else {
                            ""
                        }
                    )),
                    why.help(),
                )
                .in_pocket(pocket)
                .drawn(unseen(mark, why))
                .remedied(if part.is_empty() {
                    unwanted(job, mark)
                } else {
                    Remedy::default()
                }),
            );
        }
    }
}

/// Only listed paints are spoken of: a paint that nothing claims is held as such, and full-colour
/// art is one picture in which white, faint and covered parts are at home.
fn concerned(job: &Job<'_>, mark: &Mark) -> bool {
    let settings = &job.fixture.settings;
    match &mark.paint {
        Paint::Colour(c) => settings.listed(*c).is_some(),
        Paint::Pixels => settings.paints.other == Other::Unknown,
        _ => false,
    }
}

/// What is clipped away leaves no ink to be drawn: the shape itself is. The rest is drawn as it burns.
fn unseen(mark: &Mark, why: Why) -> Picture {
    match (&mark.role, why) {
        (Role::Fill { .. }, Why::ClippedAway) => Picture::Hatch(mark.path.clone()),
        _ => Picture::Ring,
    }
}

/// Takes the element away, where nothing of it shows.
fn unwanted(job: &Job<'_>, mark: &Mark) -> Remedy {
    let of_element = job.of_element(mark);
    let seen = |i: &MarkId| of_the_whole(job.mark(*i)).is_none();
    if of_element.len() > 1 && of_element.iter().any(seen) {
        return Remedy::default();
    }
    let gone = Change::of(of_element.to_vec(), What::Delete);
    Remedy::choose([Way::new("delete", "delete it", vec![gone]).assuming("it is not wanted")])
}

/// Why a mark does not show.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Why {
    SwitchedOff,
    NotChosen,
    Faint(f64),
    White(Colour),
    NoWidth,
    NoArea,
    OffThePage,
    ClippedAway,
    Covered,
}

impl Why {
    fn words(self) -> String {
        match self {
            Self::SwitchedOff => "is switched off".to_owned(),
            Self::NotChosen => "is one of several versions and not the one that shows".to_owned(),
            Self::Faint(0.0) => "is fully transparent".to_owned(),
            Self::Faint(opacity) => {
                format!(
                    "is all but transparent ({} %)",
                    crate::units::trimmed(100.0 * opacity, 1)
                )
            }
            Self::White(colour) => {
                format!("is white ({colour}): you cannot see it on this page")
            }
            Self::NoWidth => "has no line width, so it does not show".to_owned(),
            Self::NoArea => "has a fill with no area to cover".to_owned(),
            Self::OffThePage => "lies off the page".to_owned(),
            Self::ClippedAway => "is clipped away".to_owned(),
            Self::Covered => "is covered by what lies over it".to_owned(),
        }
    }

    fn help(self) -> &'static str {
        match self {
            Self::SwitchedOff | Self::NotChosen => {
                "delete it if it is not wanted; if it is, switch it on so that everyone can see it"
            }
            Self::Faint(_) => "delete it if it is not wanted; if it is, make it solid",
            Self::White(_) => {
                "delete it if it is not wanted; if it is, give it a paint that shows and that stands for the same operation"
            }
            Self::NoWidth => "delete it if it is not wanted; if it is, give the line a width",
            Self::NoArea => {
                "delete it if it is not wanted; if it is, give it a line instead of a fill"
            }
            Self::OffThePage => "delete it if it is not wanted; if it is, move it onto the page",
            Self::ClippedAway => "delete it if it is not wanted; if it is, release the clip",
            Self::Covered => {
                "delete it if it is not wanted (covering it does not stop the laser); if it is, bring it to the top"
            }
        }
    }
}

/// How many parts a mark has, and what is wrong with some of them.
type Parts = (usize, Vec<(Why, Rect)>);

/// How many parts a mark has, and what is wrong with them, each with its place. What is wrong with
/// the whole mark is said once.
fn reasons(job: &Job<'_>, covers: &Covers<'_>, index: MarkId, mark: &Mark) -> Parts {
    if let Some(why) = of_the_whole(mark) {
        return (1, vec![(why, mark.path.bounding_box())]);
    }
    let mut found = Vec::new();
    if let Some(clip) = &mark.clip {
        let bare = mark.unclipped_ink();
        if bare.area() > mark.ink().area() {
            for part in bare.pieces() {
                if part.intersect(clip).area() <= SHOWS * part.area()
                    && let Some(bounds) = part.bounds()
                {
                    found.push((Why::ClippedAway, bounds));
                }
            }
        }
    }
    let clipped = found.len();
    let page = job.artwork.page;
    if clipped == 0 && shows(job, covers, index, mark) {
        return (1, found);
    }
    let Some(bounds) = mark.ink().bounds() else {
        return (clipped, found);
    };
    let leaves = page.physical && page.rect.union(bounds) != page.rect;
    if clipped == 0 && !leaves && !covers.any_over(index, bounds) {
        return (1, found);
    }
    let parts = mark.ink().pieces();
    for part in &parts {
        let Some(bounds) = part.bounds() else {
            continue;
        };
        if leaves && !page.rect.overlaps(bounds) {
            found.push((Why::OffThePage, bounds));
        } else if covers.hide(job, index, part, bounds) {
            found.push((Why::Covered, bounds));
        }
    }
    (clipped + parts.len(), found)
}

/// Whether a mark lies on the page with nothing over it, by its box: most do, and it is quick.
fn shows(job: &Job<'_>, covers: &Covers<'_>, index: MarkId, mark: &Mark) -> bool {
    let page = job.artwork.page;
    mark.reach().is_some_and(|reach| {
        (!page.physical || page.rect.union(reach) == page.rect)
            && (job.alone(index) || !covers.any_over(index, reach))
    })
}

/// Whether a colour cannot be told from a white page.
pub(super) fn white(c: Colour) -> bool {
    c.r.min(c.g).min(c.b) >= WHITE
}

fn of_the_whole(mark: &Mark) -> Option<Why> {
    match &mark.hidden {
        Some(Hidden::NotChosen) => return Some(Why::NotChosen),
        Some(Hidden::NotDisplayed | Hidden::Invisible) => return Some(Why::SwitchedOff),
        None => {}
    }
    if mark.opacity <= FAINT {
        return Some(Why::Faint(mark.opacity));
    }
    match mark.paint {
        Paint::Colour(c) if white(c) => return Some(Why::White(c)),
        _ => {}
    }
    mark.draws_nothing().then_some(match mark.role {
        Role::Stroke(_) => Why::NoWidth,
        _ => Why::NoArea,
    })
}

/// The marks that nothing shows through, by place.
///
/// Of marks that are drawn alike and run alike only the topmost is kept: it covers what the others do, lies
/// over all that they lie over, and the marks of one element follow each other, so that none of the others
/// belongs to another element than it does and lies over a mark of its own.
struct Covers<'j> {
    marks: Vec<Cover<'j>>,
    /// Boxes that hold them, of a line several.
    tree: Boxes,
    /// Of each box, the number of the mark that it is of.
    owners: Vec<usize>,
}

/// A mark that nothing shows through.
struct Cover<'j> {
    index: MarkId,
    mark: &'j Mark,
    shape: OnceCell<Cow<'j, Region>>,
    edges: OnceCell<Edges>,
}

impl Cover<'_> {
    /// What it lays over others.
    fn shape(&self) -> &Region {
        self.shape.get_or_init(|| shape(self.mark))
    }

    /// Whether `p` lies under it.
    fn holds(&self, p: Point) -> bool {
        let shape = self.shape();
        if shape.corners() <= FEW_CORNERS {
            return shape.distance_to(p) <= EDGE;
        }
        let edges = self.edges.get_or_init(|| shape.indexed());
        edges.hold(p, EDGE)
    }
}

impl<'j> Covers<'j> {
    fn new(job: &'j Job<'j>) -> Self {
        // What touches nothing covers nothing.
        let all = || (job.artwork.marks.pairs()).filter(|(i, m)| !job.alone(*i) && covers(m));
        let mut topmost: HashMap<(Operation, Drawn<'_>), MarkId> = HashMap::new();
        for (index, mark) in all() {
            topmost.insert((job.operation(index), Drawn::of(mark)), index);
        }
        let topmost: BTreeSet<MarkId> = topmost.into_values().collect();
        let marks: Vec<Cover<'_>> = all()
            .filter(|(i, _)| topmost.contains(i))
            .map(|(index, mark)| Cover {
                index,
                mark,
                shape: OnceCell::new(),
                edges: OnceCell::new(),
            })
            .collect();
        let (mut boxes, mut owners) = (Vec::new(), Vec::new());
        for (number, cover) in marks.iter().enumerate() {
            cover.mark.extents(|extent| {
                boxes.push(extent);
                owners.push(number);
            });
        }
        Self {
            marks,
            tree: Boxes::new(boxes),
            owners,
        }
    }

    /// Those that lie over mark `index`, touch `at`, and belong to another element. An element's own line
    /// over its own fill is how a shape is drawn, not something hidden.
    fn over(&self, job: &Job<'_>, index: MarkId, at: Rect) -> Vec<&Cover<'j>> {
        let own = &job.mark(index).origin;
        let other = |m: &Mark| own.range != m.origin.range || own.uses != m.origin.uses;
        let touching = self.tree.touching(at).into_iter();
        let mut touching: Vec<usize> = touching.map(|i| *self.owners.at(i)).collect();
        spend(touching.len() / 8);
        touching.dedup();
        touching
            .into_iter()
            .map(|i| self.marks.at(i))
            .filter(|c| c.index > index && other(c.mark))
            .collect()
    }

    /// How many of them lie over mark `index`, and how many of those belong to its own element: for copies
    /// of a mark they are the same ones where both numbers are.
    fn above(&self, index: MarkId, mark: &Mark) -> (usize, usize) {
        let from = self.marks.partition_point(|c| c.index <= index);
        let over = self.marks.at(from..);
        // The marks of an element follow each other.
        let own =
            |m: &Mark| m.origin.range == mark.origin.range && m.origin.uses == mark.origin.uses;
        let own = over.iter().take_while(|c| own(c.mark)).count();
        (over.len(), own)
    }

    fn any_over(&self, index: MarkId, at: Rect) -> bool {
        self.tree
            .any_touching(at, |i| self.marks.at(*self.owners.at(i)).index > index)
    }

    /// Whether `part` of mark `index` is hidden by what lies over it.
    fn hide(&self, job: &Job<'_>, index: MarkId, part: &Region, bounds: Rect) -> bool {
        let under = |p: &Point| {
            let over = self.over(job, index, Rect::from_points(*p, *p));
            over.iter().any(|c| c.holds(*p))
        };
        if !samples(part, LOOKS).iter().all(under) {
            return false;
        }
        let over = self.over(job, index, bounds);
        let near = job.fixture.settings.limits.place / 2.0;
        let own = job.operation(index);
        let (mut maybe, mut surely) = (Vec::new(), Vec::new());
        for cover in over {
            if shown_by(job, index, cover.mark, cover.index, bounds) {
                continue;
            }
            if job.operation(cover.index) == own
                && may_contain_equal(cover.mark.ink(), bounds, near)
            {
                maybe.push(cover);
                continue;
            }
            // Most covers hold all of a small part, or nothing of it.
            match part.within(cover.shape()) {
                Some(true) => return true,
                Some(false) => {}
                None => surely.push(cover),
            }
        }
        // What is not covered by all of them, twins among them, is not by fewer.
        let all = surely.iter().chain(&maybe);
        if !occluded(part, all.map(|c| c.shape()), SHOWS) {
            return false;
        }
        if maybe.is_empty() {
            return true;
        }
        let least = SHOWS * part.area();
        let mut left = without(part.clone(), surely.iter().map(|c| c.shape()), least);
        let mut twins = 0;
        for cover in maybe {
            if left.area() <= least {
                return true;
            }
            if twins < MANY_TWINS && !contains_equal(cover.mark.ink(), part, near) {
                left = left.subtract(cover.shape());
            } else {
                twins += 1;
            }
        }
        left.area() <= least
    }
}

/// Whether a part of mark `index` with these bounds is burnt as it is seen, although `cover` lies over it:
/// what is too small to be a letter, and is none, under what is burnt itself, dots of a pattern under a
/// name say, and what lies under a line of its own paint round it, which no letter can hide in. Such a
/// line is nowhere farther from the ink than it is wide.
fn shown_by(job: &Job<'_>, index: MarkId, cover: &Mark, over: MarkId, bounds: Rect) -> bool {
    let letter = job.fixture.settings.limits.smallest_letter;
    let lettering = matches!(job.mark(index).content, Content::Lettering(_));
    let small = !lettering && bounds.width().max(bounds.height()) < letter;
    let own_line = || match &cover.role {
        Role::Stroke(line) => {
            let width = line.width * line.pen.spectral_norm();
            let near = bounds.inflate(width, width);
            let ink = job.mark(index).ink().indexed();
            // A line that wanders over what it is not round, closed or not, may hide an old name.
            let goes_round = |outline: &Polyline| {
                let mut sides = outline.edges();
                sides.any(|(a, b)| Rect::from_points(a, b).overlaps(near))
                    && stays_within(outline.edges(), &ink, width, INK_TOLERANCE)
            };
            let outlines = polylines(&cover.path, INK_TOLERANCE);
            width < letter
                && outlines.iter().all(|outline| outline.closed)
                && outlines.iter().any(goes_round)
        }
        _ => false,
    };
    small && job.operation(over) != Operation::Off
        || job.mark(index).paint == cover.paint && own_line()
}

/// Covers with no more corners than this are asked without an index.
const FEW_CORNERS: usize = 64;

/// A part with so many twins over it is told of by `doubled`, whatever else with the same box lies there:
/// to tell a twin that lies a little aside takes a while.
const MANY_TWINS: usize = 3;

/// How near to the edge of a cover, in millimetres, a point counts as under it: curves are straight
/// pieces to a few micrometres.
const EDGE: f64 = 0.01;

/// Whether nothing shows through a mark. Gradients and patterns count, since what shows through them
/// is not known.
fn covers(mark: &Mark) -> bool {
    mark.hidden.is_none()
        && mark.opacity >= SOLID
        && match (&mark.content, &mark.paint) {
            (Content::Picture(p), _) => p.opaque,
            (_, Paint::None) => false,
            _ => true,
        }
}

/// What a mark lays over others: its ink, and a picture's white as well.
fn shape(mark: &Mark) -> Cow<'_, Region> {
    let Content::Picture(picture) = &mark.content else {
        return if mark.draws_nothing() {
            Cow::default()
        } else {
            Cow::Borrowed(mark.ink())
        };
    };
    let frame = Region::from_path(&picture.frame(), false, EDGE);
    Cow::Owned(match &mark.clip {
        Some(clip) => frame.intersect(clip),
        None => frame,
    })
}
