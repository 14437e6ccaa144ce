//! The contours of a run that could be fixture outlines, by place.

use kurbo::{Affine, Point, Rect};

use crate::artwork::mark::{Artwork, Content, Mark, Operation, Paint, Role};
use crate::fixture::enrol::{self, JOIN_GAP};
use crate::fixture::lock::Lock;
use crate::fixture::settings::Settings;
use crate::geometry::boxes::Boxes;
use crate::geometry::congruence::congruence;
use crate::geometry::contour::{Contour, join_open};
use crate::geometry::deviation::within;
use crate::geometry::similarity::Kind;
use crate::ids::{At, ContourId, Id as _, IdVec, MarkId, OutlineId};

use super::COMPARING;

/// One contour of the run.
#[derive(Debug, Clone)]
pub struct Found {
    /// Its curve.
    pub contour: Contour,
    /// The marks it is part of; several where an outline was in pieces.
    pub marks: Vec<MarkId>,
    /// What the sender does with it: the most harmful of its marks.
    pub operation: Operation,
    /// What its paint stands for, even where it is hidden.
    pub painted: Operation,
    /// Whether the sender leaves it out because it is hidden, whatever its paint.
    pub unsent: bool,
}

/// Contours by place.
#[derive(Debug)]
pub struct Contours {
    /// All of them, in document order, joined ones last.
    pub all: IdVec<ContourId, Found>,
    tree: Boxes,
}

/// How much smaller or larger than the fixture's outlines a contour may be and still be looked at
/// as one of them. A file in other units is off by up to 96, where pixels are read as inches. Less upwards, and the
/// fixture in such a file is called absent; less than a fifth downwards, and every letter would be compared. Of a
/// file that is too small by more, the larger outlines are found.
const SIZE_RANGE: (f64, f64) = (0.2, 100.0);

impl Contours {
    /// Collects the contours of a run.
    pub fn collect(
        artwork: &Artwork,
        settings: &Settings,
        operations: &IdVec<MarkId, Operation>,
        lock: &Lock,
    ) -> Self {
        let sizes: Vec<f64> = lock
            .outlines
            .iter()
            .map(|o| longer(o.contour.bounds))
            .collect();
        let smallest = sizes.iter().copied().fold(f64::INFINITY, f64::min) * SIZE_RANGE.0;
        let largest = sizes.iter().copied().fold(0.0, f64::max) * SIZE_RANGE.1;
        let unsent = |mark: &Mark| mark.hidden.is_some() && !settings.run.hidden_sent;
        let mut all: Vec<Found> = Vec::new();
        let mut open: Vec<(Contour, MarkId, Operation, Operation)> = Vec::new();
        for (index, mark) in artwork.marks.pairs() {
            let operation = operations[index];
            if matches!(mark.content, Content::Picture(_)) {
                continue;
            }
            // The control box is quick and holds the curve: what it rules out is not worth cutting up.
            let rough = mark.path.control_box();
            if longer(rough) < smallest.min(JOIN_GAP) {
                continue;
            }
            let painted = enrol::painted_operation(mark, settings);
            let pieces = if longer(rough) < smallest && matches!(mark.role, Role::Fill { .. }) {
                Vec::new()
            } else {
                enrol::outline(mark)
            };
            for contour in pieces {
                let size = longer(contour.bounds);
                if contour.closed && (size < smallest || size > largest) {
                    continue;
                }
                if contour.closed {
                    all.push(Found {
                        contour,
                        marks: vec![index],
                        operation,
                        painted,
                        unsent: unsent(mark),
                    });
                } else if matches!(mark.content, Content::Shape) && mark.paint != Paint::None {
                    open.push((contour, index, operation, painted));
                }
            }
        }
        for (contour, of) in join_open(open.iter().map(|o| o.0.clone()).collect(), JOIN_GAP) {
            let size = longer(contour.bounds);
            if size < smallest || size > largest {
                continue;
            }
            let parts: Vec<_> = of.iter().map(|i| open.at(*i)).collect();
            let mut marks: Vec<MarkId> = parts.iter().map(|p| p.1).collect();
            marks.sort_unstable();
            marks.dedup();
            let operation = parts
                .iter()
                .map(|p| p.2)
                .min()
                .unwrap_or(Operation::Unknown);
            let painted = parts
                .iter()
                .map(|p| p.3)
                .min()
                .unwrap_or(Operation::Unknown);
            all.push(Found {
                contour,
                marks,
                operation,
                painted,
                unsent: parts.iter().all(|p| unsent(&artwork.marks[p.1])),
            });
        }
        let tree = Boxes::new(all.iter().map(|f| f.contour.bounds));
        Self {
            all: all.into(),
            tree,
        }
    }

    /// For each locked outline carried by `frame`: the contours that lie on it within `place`.
    pub fn in_place(
        &self,
        lock: &Lock,
        frame: Affine,
        place: f64,
    ) -> IdVec<OutlineId, Vec<ContourId>> {
        lock.outlines
            .iter()
            .map(|outline| {
                let belongs = carried(&outline.contour, frame);
                self.on(&belongs, place)
            })
            .collect()
    }

    /// The contours that lie on `belongs` within `place`.
    pub fn on(&self, belongs: &Contour, place: f64) -> Vec<ContourId> {
        let reach = place + COMPARING;
        self.tree
            .within(belongs.bounds.inflate(reach, reach))
            .into_iter()
            .map(ContourId::new)
            .filter(|i| {
                let found = &self.all[*i].contour;
                found.closed == belongs.closed
                    && near(found.bounds, belongs.bounds, reach)
                    && within(belongs, found, place, COMPARING)
            })
            .collect()
    }

    /// Contours whose box centre lies within `reach` of `point`.
    pub fn around(&self, point: Point, reach: f64) -> Vec<ContourId> {
        self.tree
            .touching(Rect::from_center_size(point, (2.0 * reach, 2.0 * reach)))
            .into_iter()
            .map(ContourId::new)
            .filter(|i| (self.all[*i].contour.bounds.center() - point).hypot() <= reach)
            .collect()
    }

    /// Whether a contour may be taken for a fixture outline that is not in place. Art that is
    /// engraved may look like anything; lines that are cut, scored or off are drawn for the fixture.
    pub fn could_be_fixture(&self, index: ContourId) -> bool {
        self.all[index].painted != Operation::Engrave
    }
}

fn longer(r: Rect) -> f64 {
    r.width().max(r.height())
}

fn near(a: Rect, b: Rect, reach: f64) -> bool {
    (a.x0 - b.x0).abs() <= reach
        && (a.y0 - b.y0).abs() <= reach
        && (a.x1 - b.x1).abs() <= reach
        && (a.y1 - b.y1).abs() <= reach
}

/// A contour carried by a motion.
pub(crate) fn carried(contour: &Contour, motion: Affine) -> Contour {
    if motion == Affine::IDENTITY {
        return contour.clone();
    }
    let path = motion * contour.path.clone();
    crate::geometry::contour::contours(&path)
        .into_iter()
        .next()
        .unwrap_or_else(|| contour.clone())
}

/// Whether two contours could be one shape: length and area agree as far as curves `reach` apart
/// can differ. Quick, and never false for curves that do lie that close.
pub(crate) fn alike(a: &Contour, b: &Contour, reach: f64) -> bool {
    // A curve at distance d round a convex shape is 2πd longer and its area (length · d + πd²) larger.
    let length = (a.length - b.length).abs() <= 0.02 * a.length + 8.0 * reach;
    let area =
        (a.area - b.area).abs() <= 1.1 * a.length.max(b.length) * reach + 4.0 * reach * reach;
    length && area
}

/// The move and turn that carries `a` onto `b`, if they are the same shape within `place`.
pub(crate) fn rigid(a: &Contour, b: &Contour, place: f64) -> Option<Affine> {
    let straight = Affine::translate(b.bounds.center() - a.bounds.center());
    if within(&carried(a, straight), b, place, COMPARING) {
        return Some(straight);
    }
    congruence(a, b, Kind::Rigid, place)
        .filter(|s| !s.mirrored)
        .map(|s| s.affine)
}

/// One contour of each shape, so that a grid of equal pockets is compared once.
pub(crate) fn distinct(contours: &[Contour]) -> impl Iterator<Item = &Contour> {
    let mut kept: Vec<&Contour> = Vec::new();
    for c in contours {
        let same = |k: &&Contour| {
            (k.length - c.length).abs() < 1e-3
                && (k.area - c.area).abs() < 1e-2
                && (k.bounds.width() - c.bounds.width()).abs() < 1e-3
        };
        if !kept.iter().any(same) {
            kept.push(c);
        }
    }
    kept.into_iter()
}
