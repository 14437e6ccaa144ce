//! Rules for the fixture's drawing, before it is cut: `enrol` runs these, an inspection does not.

use super::rules;
use crate::artwork::mark::{Artwork, Operation, Role};
use crate::finding::{Finding, Location};
use crate::fixture::enrol::{operation, outline};
use crate::fixture::lock::{Lock, OutlineKind};
use crate::fixture::settings::{PocketSettings, Settings};
use crate::geometry::bed_words::side;
use crate::geometry::contour::Contour;
use crate::ids::{MarkId, OutlineId};
use crate::units::Shown;
use crate::wording::sentence;

/// A fixture's drawing, measured.
#[derive(Debug)]
pub(crate) struct Drawing<'a> {
    /// What it holds.
    pub artwork: &'a Artwork,
    /// What people state.
    pub settings: &'a Settings,
    /// What was measured; not written yet.
    pub lock: &'a Lock,
    /// Every curve in a cut paint as it is drawn, pieces not joined and copies not dropped.
    pub cuts: Vec<CutLine>,
    /// The pockets.
    pub pockets: Vec<Opening<'a>>,
}

/// A curve in a cut paint.
#[derive(Debug, Clone)]
pub(crate) struct CutLine {
    /// The curve.
    pub contour: Contour,
    /// The mark it is part of.
    pub mark: MarkId,
    /// Whether it is the outline of a fill.
    pub filled: bool,
}

/// A pocket of the drawing.
#[derive(Debug)]
pub(crate) struct Opening<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its place among the lock's outlines.
    pub outline: OutlineId,
    /// Its outline.
    pub contour: &'a Contour,
    /// Its settings, exceptions applied.
    pub settings: PocketSettings,
}

/// The check of a rule for drawings: adds what it finds.
type Check = fn(&Drawing<'_>, &mut Vec<Finding>);

// In the order in which a person would look: does it close, is it there once, is it strong enough, does
// the blank fit, and which way round.
rules! { Check:
    open_cut,
    cut_twice,
    web_too_thin,
    blank_does_not_fit,
    no_loading_mark,
}

/// Whether a rule is about drawings.
pub(crate) fn is_one(rule: &str) -> bool {
    REGISTRY.iter().any(|(info, _)| info.name == rule)
}

impl<'a> Drawing<'a> {
    /// Takes a measured drawing apart.
    pub(crate) fn new(artwork: &'a Artwork, settings: &'a Settings, lock: &'a Lock) -> Self {
        let mut cuts = Vec::new();
        for (mark, m) in artwork.marks.pairs() {
            if operation(m, settings) == Operation::Cut {
                let filled = matches!(m.role, Role::Fill { .. });
                cuts.extend(outline(m).into_iter().map(|contour| CutLine {
                    contour,
                    mark,
                    filled,
                }));
            }
        }
        let pockets = lock
            .pockets
            .iter()
            .map(|p| Opening {
                name: &p.name,
                outline: p.outline,
                contour: &lock.outlines[p.outline].contour,
                settings: settings.pocket(&p.name),
            })
            .collect();
        Self {
            artwork,
            settings,
            lock,
            cuts,
            pockets,
        }
    }

    /// The unit that messages use.
    pub(crate) fn shown(&self) -> Shown {
        self.settings.bed.shown
    }

    /// Where a mark stands.
    pub(crate) fn place(&self, mark: MarkId, bed: kurbo::Rect) -> Location<'_> {
        Location::Mark(&self.artwork.marks[mark].origin, bed)
    }

    /// The mark that an outline of the lock came from, by the box it fills.
    pub(crate) fn place_of(&self, contour: &Contour) -> Location<'_> {
        let near = |r: kurbo::Rect| {
            (r.x0 - contour.bounds.x0).abs() < 0.05
                && (r.y0 - contour.bounds.y0).abs() < 0.05
                && (r.x1 - contour.bounds.x1).abs() < 0.05
                && (r.y1 - contour.bounds.y1).abs() < 0.05
        };
        match self.cuts.iter().find(|c| near(c.contour.bounds)) {
            Some(cut) => self.place(cut.mark, contour.bounds),
            None => Location::Bed(contour.bounds),
        }
    }
}

/// Checks a drawing with every rule for drawings, and whether it lies on the bed.
pub(crate) fn run(drawing: &Drawing<'_>) -> Vec<Finding> {
    let mut out = Vec::new();
    beyond_the_bed(drawing, &mut out);
    for (_, check) in REGISTRY {
        let mut found = Vec::new();
        check(drawing, &mut found);
        out.extend(super::worst_of_each(found));
    }
    out
}

/// A line may lie this far past the bed's edge, in millimetres, and still be on it but for rounding.
const ROUNDING: f64 = 0.02;

/// Lines of the drawing that the machine cannot reach.
fn beyond_the_bed(drawing: &Drawing<'_>, out: &mut Vec<Finding>) {
    let Some(info) = super::find("outside-bed") else {
        return;
    };
    let bed = kurbo::Rect::new(
        0.0,
        0.0,
        drawing.settings.bed.width,
        drawing.settings.bed.height,
    );
    for (index, outline) in drawing.lock.outlines.pairs() {
        let b = outline.contour.bounds;
        let reaches = [
            kurbo::Vec2::new(b.x0 - bed.x0, 0.0),
            kurbo::Vec2::new(b.x1 - bed.x1, 0.0),
            kurbo::Vec2::new(0.0, b.y0 - bed.y0),
            kurbo::Vec2::new(0.0, b.y1 - bed.y1),
        ];
        let past = reaches
            .iter()
            .enumerate()
            .filter(|(i, v)| {
                if i % 2 == 0 {
                    v.x + v.y < 0.0
                } else {
                    v.x + v.y > 0.0
                }
            })
            .map(|(_, v)| *v)
            .max_by(|a, b| a.hypot().total_cmp(&b.hypot()));
        let Some(past) = past.filter(|p| p.hypot() > ROUNDING) else {
            continue;
        };
        let what = match outline.kind {
            OutlineKind::Pocket => "the pocket's outline",
            OutlineKind::Edge => "the sheet's edge",
            OutlineKind::Mark => "a line of the fixture",
        };
        let name = drawing
            .pockets
            .iter()
            .find(|p| p.outline == index)
            .map(|p| p.name);
        out.push(
            Finding::new(
                info,
                &drawing.place_of(&outline.contour),
                format!(
                    "{} reaches {} past the {} of the bed",
                    sentence(what),
                    drawing.shown().length(past.hypot()),
                    side(past)
                ),
                "move it onto the bed, or correct [bed] width, height and page-at in fixture.toml",
            )
            .in_pocket(name)
            .measured("past the bed", past.hypot(), 0.0, "mm"),
        );
    }
}
