//! What a mark burns: the filled area, or the line with its width, after clipping.

use std::collections::HashMap;
use std::hash::{Hash, Hasher};
use std::sync::Arc;

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape as _};

use super::mark::{Artwork, Content, Drawn, Inked, Mark, Role};
use crate::abandon;
use crate::geometry::region::Region;
use crate::geometry::stroke::{LineStyle, ink_of_line};

/// How far the edge of ink may be off, in millimetres. A larger value holds art that just fits its
/// zone; a smaller one only takes longer.
pub(crate) const INK_TOLERANCE: f64 = 2e-3;

/// The width, in millimetres, that stands for a line without width: a sender may run it, and it then
/// burns as wide as the beam. Far below the width of any beam, so that nothing is held because of it.
const HAIRLINE: f64 = 0.01;

/// Steps that the ink of one mark may take to work out (see [`abandon::spend`]): half a second or so. A
/// scribble of more is the box around it, of which the shape is not known.
const MOST_STEPS: usize = 2_000_000;

/// A mark, seen as what its ink comes of: equal ones cover the same, in whatever paint.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Covering<'m>(Drawn<'m>);

impl Hash for Covering<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.hash(state);
    }
}

impl PartialEq for Covering<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.0.covers_as(other.0)
    }
}

impl Eq for Covering<'_> {}

/// The marks of a drawing by what they cover.
pub(crate) type Inks<'m> = HashMap<Covering<'m>, &'m Mark>;

impl Artwork {
    /// Its marks, for a drawing that is much the same.
    pub(crate) fn inks(&self) -> Inks<'_> {
        let marks = self.marks.iter();
        marks
            .map(|mark| (Covering(Drawn::of(mark)), mark))
            .collect()
    }

    /// Takes the ink of marks that cover the same from a drawing where it was worked out.
    pub(crate) fn take_inks(&self, known: &Inks<'_>) {
        for mark in &self.marks {
            let same = known.get(&Covering(Drawn::of(mark)));
            if let Some(ink) = same.and_then(|same| same.ink.get()) {
                mark.ink.get_or_init(|| Arc::clone(ink));
            }
        }
    }
}

impl Mark {
    /// What the mark burns, on the bed. Computed once.
    pub fn ink(&self) -> &Region {
        &self.inked().region
    }

    fn inked(&self) -> &Inked {
        let inked = || {
            let worked_out = abandon::within(MOST_STEPS, || self.unclipped(&self.path));
            let too_rich = worked_out.is_none();
            let (ink, stands_in) = worked_out.unwrap_or_else(|| {
                let around = self.reach().map(Region::from_rect);
                (around.unwrap_or_else(Region::everywhere), false)
            });
            Arc::new(Inked {
                stands_in,
                only_a_box: too_rich || ink.only_a_box(self.path.elements().len()),
                region: self.clipped(ink),
            })
        };
        self.ink.get_or_init(|| abandon::shared(inked))
    }

    /// Whether the shape of its ink is not known: it crosses itself too often to be worked out, and
    /// [`Mark::ink`] is the box around it.
    pub(crate) fn shape_unknown(&self) -> bool {
        self.inked().only_a_box
    }

    /// What a part of the mark burns. Never empty because a line has no width: the sender may run it
    /// all the same.
    pub fn ink_of(&self, path: &BezPath) -> Region {
        self.clipped(self.unclipped(path).0)
    }

    fn clipped(&self, ink: Region) -> Region {
        match &self.clip {
            Some(clip) => ink.intersect(clip),
            None => ink,
        }
    }

    /// What the mark would burn if the sender ignored its clip.
    pub fn unclipped_ink(&self) -> Region {
        self.unclipped(&self.path).0
    }

    /// What a path burns without the clip, and whether a line without width stands in for it.
    fn unclipped(&self, path: &BezPath) -> (Region, bool) {
        let ink = self.drawn_area(path);
        // A blank picture is not a line: nothing of it is run.
        if ink.is_empty() && !path.elements().is_empty() && self.role != Role::Picture {
            (ink_of_line(path, &hairline(), INK_TOLERANCE), true)
        } else {
            (ink, false)
        }
    }

    /// A box that holds everything the mark burns, with or without its clip, and usually a little
    /// more. It is quick to compute when the ink itself is not needed. `None` if the numbers alone do
    /// not give a box.
    pub fn reach(&self) -> Option<Rect> {
        if self.path.elements().is_empty() {
            return None;
        }
        let by = match &self.role {
            // A miter reaches out by its limit, a square end by the diagonal.
            Role::Stroke(line) => {
                let [wide, _] = widths(line);
                wide / 2.0 * line.miter_limit.max(1.5)
            }
            Role::Fill { .. } | Role::Picture => 0.0,
        };
        let by = by.max(HAIRLINE) + INK_TOLERANCE;
        let reach = self.path.control_box().inflate(by, by);
        reach.is_finite().then_some(reach)
    }

    /// Boxes that together hold everything the mark shows, clip or not: what it burns, and of a
    /// picture its blank parts as well. Of a line there are several along it, so that a frame round a
    /// pocket does not reach over what is inside. Where the numbers give no box, one without bounds
    /// is taken.
    pub fn extents(&self, mut take: impl FnMut(Rect)) {
        const EVERYWHERE: Rect = Rect::new(f64::MIN, f64::MIN, f64::MAX, f64::MAX);
        let Some(reach) = self.reach() else {
            take(EVERYWHERE);
            return;
        };
        match (&self.content, &self.role) {
            (Content::Picture(picture), _) => {
                let whole = reach.union(picture.frame().bounding_box());
                take(if whole.is_finite() { whole } else { EVERYWHERE });
            }
            (_, Role::Stroke(_)) => {
                // What the line reaches beyond its middle is the same on every side.
                let by = self.path.control_box().x0 - reach.x0;
                along(&self.path, |part| take(part.inflate(by, by)));
            }
            _ => take(reach),
        }
    }

    /// Whether the mark certainly draws something, by tests that are quick: a filled outline with an
    /// area, or a solid line with a width and a length.
    fn surely_draws(&self) -> bool {
        let frame = self.path.control_box();
        let size = frame.width() + frame.height();
        match &self.role {
            // Under the even-odd rule an outline that runs round twice has an area and draws nothing.
            Role::Fill { even_odd } => {
                // An open outline's area would be taken against the origin, which says nothing.
                let count = |wanted: fn(&kurbo::PathEl) -> bool| {
                    self.path.elements().iter().filter(|e| wanted(e)).count()
                };
                let closed = count(|e| matches!(e, kurbo::PathEl::ClosePath))
                    == count(|e| matches!(e, kurbo::PathEl::MoveTo(_)));
                !even_odd && closed && size.is_finite() && self.path.area().abs() > HAIRLINE * size
            }
            Role::Stroke(line) => {
                let [_, thin] = widths(line);
                line.dashes.is_empty() && thin > HAIRLINE && size > HAIRLINE && size.is_finite()
            }
            Role::Picture => false,
        }
    }

    /// Whether nothing of the mark is drawn, clip or not: a line without width, a fill without area.
    pub fn draws_nothing(&self) -> bool {
        !self.surely_draws() && self.inked().stands_in
    }

    fn drawn_area(&self, path: &BezPath) -> Region {
        match &self.role {
            Role::Fill { even_odd } => Region::from_path(path, *even_odd, INK_TOLERANCE),
            Role::Picture => Region::from_path(path, false, INK_TOLERANCE),
            Role::Stroke(line) => ink_of_line(path, line, INK_TOLERANCE),
        }
    }
}

/// Boxes along a line: one for each few of its segments.
fn along(path: &BezPath, mut take: impl FnMut(Rect)) {
    /// Beyond this many boxes, several segments share one.
    const MOST: usize = 64;
    let elements = path.elements();
    let each = elements.len().div_ceil(MOST).max(1);
    let (mut at, mut start) = (Point::ZERO, Point::ZERO);
    for some in elements.chunks(each) {
        let mut all: Option<Rect> = None;
        let mut hold = |a: Point, b: Point| {
            let part = Rect::from_points(a, b);
            all = Some(all.map_or(part, |r| r.union(part)));
        };
        for element in some {
            match *element {
                PathEl::MoveTo(p) => {
                    start = p;
                    hold(p, p);
                }
                PathEl::LineTo(p) => hold(at, p),
                PathEl::QuadTo(a, p) => {
                    hold(at, a);
                    hold(a, p);
                }
                PathEl::CurveTo(a, b, p) => {
                    hold(at, a);
                    hold(b, p);
                }
                PathEl::ClosePath => hold(at, start),
            }
            at = element.end_point().unwrap_or(start);
        }
        if let Some(all) = all {
            take(all);
        }
    }
}

/// The largest and the smallest width of a line on the bed, in millimetres.
fn widths(line: &LineStyle) -> [f64; 2] {
    // The two stretches of a frame multiply to its determinant.
    let most = line.pen.spectral_norm();
    let least = if most > 0.0 {
        line.pen.determinant().abs() / most
    } else {
        0.0
    };
    [line.width * most, line.width * least]
}

fn hairline() -> LineStyle {
    LineStyle {
        width: HAIRLINE,
        cap: kurbo::Cap::Square,
        join: kurbo::Join::Round,
        miter_limit: 4.0,
        dashes: Vec::new(),
        dash_offset: 0.0,
        pen: Affine::IDENTITY,
    }
}
