//! The shapes of a run, each written once: every drawing of a proof refers to them.

use kurbo::{BezPath, Rect, Shape as _};

use super::pen;
use crate::artwork::mark::{Content, Operation};
use crate::fixture::lock::OutlineKind;
use crate::geometry::contour::contours;
use crate::geometry::region::Region;
use crate::ids::{ArtId, Id as _, IdVec, OutlineId, PocketId};
use crate::matching::art::Art;
use crate::matching::{Job, OutlineMatch};

/// A shape by its id in the document.
#[derive(Debug)]
pub(super) struct Part {
    /// Its id.
    pub(super) id: String,
    /// Its box.
    pub(super) bounds: Rect,
}

/// A locked outline.
#[derive(Debug)]
pub(super) struct Outline {
    /// The shape.
    pub(super) part: Part,
    /// What it is.
    pub(super) kind: OutlineKind,
}

/// An outline of the file that is to be seen: off its place, or still live.
#[derive(Debug)]
pub(super) struct FixtureLine {
    /// The shape.
    pub(super) part: Part,
    /// Whether it lies where the fixture has none, or another.
    pub(super) off_place: bool,
    /// Whether it would be run.
    pub(super) live: bool,
}

/// A piece of art.
#[derive(Debug)]
pub(super) struct Ink {
    /// The shape.
    pub(super) part: Part,
    /// Its number in the job.
    pub(super) art: ArtId,
    /// What the sender does with it.
    pub(super) operation: Operation,
}

/// Everything.
#[derive(Debug, Default)]
pub(super) struct Parts {
    /// The definitions, ready for a `defs` element.
    pub(super) defs: String,
    /// The fixture as it is.
    pub(super) outlines: IdVec<OutlineId, Outline>,
    /// The sheet where its edge is a guide that is not run, as in a planned drawing.
    pub(super) sheet: Option<Part>,
    /// Zones, by pocket.
    pub(super) zones: IdVec<PocketId, Part>,
    /// The fixture's lines as the file has them, where they differ.
    pub(super) lines: Vec<FixtureLine>,
    /// What would be burnt.
    pub(super) ink: Vec<Ink>,
    /// Boxes of what is burnt, which labels must not cover.
    pub(super) lettering: Vec<Rect>,
    /// Lines that would be cut, by mark, as curves: a line without width leaves no ink.
    pub(super) cuts: Vec<Part>,
}

impl Parts {
    /// Takes a job apart.
    pub(super) fn of(job: &Job<'_>) -> Self {
        let mut parts = Self::default();
        for (i, outline) in job.fixture.lock.outlines.iter().enumerate() {
            let part = parts.curve(format!("outline{i}"), &outline.contour.path);
            parts.outlines.push(Outline {
                part,
                kind: outline.kind,
            });
        }
        for (i, pocket) in job.fixture.pockets.pairs() {
            let id = format!("zone{}", i.number());
            parts.define(&id, &pen::region(&pocket.zone));
            parts.zones.push(Part {
                id,
                bounds: pocket.zone.bounds().unwrap_or_default(),
            });
        }
        if let Some(sheet) = guided_sheet(job) {
            parts.sheet = Some(parts.curve("sheet".to_owned(), &sheet));
        }
        parts.file_lines(job);
        for (i, art) in job.art.pairs() {
            parts.lettering.extend(inked(art));
            let picture = matches!(job.mark(art.mark).content, Content::Picture(_));
            let id = format!("art{}", i.number());
            if !picture {
                parts.define(&id, &pen::region(art.ink()));
            }
            parts.ink.push(Ink {
                part: Part {
                    id,
                    bounds: art.bounds(),
                },
                art: i,
                operation: job.operation(art.mark),
            });
        }
        parts
    }

    /// The fixture: its sheet and all that is locked; `None` where nothing is.
    pub(super) fn fixture(&self) -> Option<Rect> {
        let outlines = self.outlines.iter().map(|o| o.part.bounds);
        let sheet = self.sheet.iter().map(|p| p.bounds);
        let all = outlines.chain(sheet).reduce(|all, r| all.union(r));
        all.filter(Rect::is_finite)
    }

    fn file_lines(&mut self, job: &Job<'_>) {
        let shifted = job.shift.is_some();
        let mut of_fixture = std::collections::BTreeSet::new();
        let matches = job.outlines.iter().flat_map(|outcome| {
            let off_place = shifted || !matches!(outcome, OutlineMatch::InPlace(_));
            outcome.found().iter().map(move |i| (*i, off_place))
        });
        let added = job.added.iter().map(|i| (*i, true));
        for (index, off_place) in matches.chain(added) {
            let found = &job.contours.all[index];
            of_fixture.extend(found.marks.iter().copied());
            let live = found.operation.live();
            if off_place || live {
                let part = self.curve(format!("found{}", index.number()), &found.contour.path);
                self.lines.push(FixtureLine {
                    part,
                    off_place,
                    live,
                });
            }
        }
        for (index, mark, operation) in job.live() {
            if operation == Operation::Cut && !of_fixture.contains(&index) {
                let part = self.curve(format!("cut{}", index.number()), &mark.path);
                self.cuts.push(part);
            }
        }
    }

    fn curve(&mut self, id: String, path: &BezPath) -> Part {
        self.define(&id, &pen::path(path));
        Part {
            id,
            bounds: path.bounding_box(),
        }
    }

    fn define(&mut self, id: &str, data: &str) {
        self.defs
            .push_str(&format!("<path id=\"{id}\" d=\"{data}\"/>"));
    }
}

/// Art whose ink fills less of its box than this is taken piece by piece: inside a frame, or under a line
/// of words along an arc, there is room.
const FILLED: f64 = 0.15;

/// Most pieces of one art that are looked at: what has more is a texture, and counts as filled.
const MOST_PIECES: usize = 300;

/// The boxes that some art fills.
fn inked(art: &Art<'_>) -> Vec<Rect> {
    let fills = |ink: &Region, b: Rect| ink.area() >= FILLED * b.area();
    let ink = art.ink();
    if fills(ink, art.bounds()) {
        return vec![art.bounds()];
    }
    let pieces = ink.pieces();
    if pieces.len() > MOST_PIECES {
        return vec![art.bounds()];
    }
    let boxed = pieces.iter().filter_map(|p| Some((p, p.bounds()?)));
    boxed
        .filter(|(p, b)| fills(p, *b))
        .map(|(_, b)| b)
        .collect()
}

/// The smallest closed line in an off paint around all pockets, where no locked line is the sheet's edge;
/// not the bed's own frame.
fn guided_sheet(job: &Job<'_>) -> Option<BezPath> {
    let locked = &job.fixture.lock.outlines;
    if locked.iter().any(|o| o.kind == OutlineKind::Edge) {
        return None;
    }
    let boxes = job.fixture.pockets.iter().filter_map(|p| p.region.bounds());
    let pockets = boxes.reduce(|a, b| a.union(b))?;
    let bed = &job.fixture.settings.bed;
    let smaller = |b: Rect| b.width() < bed.width - 1.0 || b.height() < bed.height - 1.0;
    let around = |b: Rect| b.contains_rect(pockets) && smaller(b);
    let marks = job.artwork.marks.pairs();
    marks
        .filter(|(i, m)| !job.operation(*i).live() && around(m.path.control_box()))
        .flat_map(|(_, m)| contours(&m.path))
        .filter(|c| c.closed && around(c.bounds))
        .min_by(|a, b| a.bounds.area().total_cmp(&b.bounds.area()))
        .map(|contour| contour.path)
}
