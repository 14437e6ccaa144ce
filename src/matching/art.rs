//! Art: what would be burnt and is no fixture outline, and the pocket it belongs to.

use kurbo::{BezPath, Rect};

use super::contours::Contours;
use crate::artwork::mark::{Artwork, Content, Mark, Operation};
use crate::fixture::Pocket;
use crate::geometry::boxes::Boxes;
use crate::geometry::coverage::share;
use crate::geometry::region::Region;
use crate::ids::{ArtId, ContourId, Id as _, IdVec, MarkId, PocketId};

/// A piece of art: a mark, or the part of a mark that lies by itself.
#[derive(Debug, Clone)]
pub struct Art<'a> {
    /// The mark it is, or is part of.
    pub mark: MarkId,
    /// That mark.
    of: &'a Mark,
    /// What is burnt, where that is not all that the mark burns.
    part: Option<Region>,
    /// A box that holds the ink, and may be a little larger: quick, to rule things out.
    pub reach: Rect,
    /// The pocket whose outline holds most of it, if it lies in no other.
    pub pocket: Option<PocketId>,
    /// Pockets that hold some of it, with their share, the largest first.
    pub shares: Vec<(PocketId, f64)>,
}

impl Art<'_> {
    /// What is burnt. For a whole mark that well inside its pocket, this is not worked out before a
    /// rule asks: traced art has a hundred thousand marks, and most rules need a box only.
    pub fn ink(&self) -> &Region {
        self.part.as_ref().unwrap_or_else(|| self.of.ink())
    }

    /// Whether it is only a part of what its mark burns.
    pub fn is_part(&self) -> bool {
        self.part.is_some()
    }

    /// The ink's box on the bed.
    pub fn bounds(&self) -> Rect {
        self.ink().bounds().unwrap_or(Rect::ZERO)
    }
}

/// A share of ink in a second pocket below this is the rounding of curves, not art.
const LIES_IN: f64 = 1e-3;

/// Collects the art of a run. `fixture_contours` are the contours that are fixture outlines.
pub(crate) fn collect<'a>(
    artwork: &'a Artwork,
    operations: &IdVec<MarkId, Operation>,
    contours: &Contours,
    fixture_contours: &[ContourId],
    pockets: &IdVec<PocketId, Pocket>,
) -> IdVec<ArtId, Art<'a>> {
    let mut outlines_of: std::collections::BTreeMap<MarkId, Vec<ContourId>> =
        std::collections::BTreeMap::new();
    for index in fixture_contours {
        for mark in &contours.all[*index].marks {
            outlines_of.entry(*mark).or_default().push(*index);
        }
    }
    let tree = Boxes::new(
        pockets
            .iter()
            .map(|p| p.region.bounds().unwrap_or(Rect::ZERO)),
    );
    let middles: IdVec<PocketId, Option<Rect>> =
        pockets.iter().map(|p| p.region.middle()).collect();
    let mut art = Vec::new();
    for (index, mark) in artwork.marks.pairs() {
        if !operations[index].live() {
            continue;
        }
        let outlines = outlines_of.get(&index);
        if outlines.is_none()
            && let Some(inside) = well_inside(index, mark, pockets, &middles, &tree)
        {
            art.push(inside);
            continue;
        }
        let part = outlines.map(|outlines| rest(mark, contours, outlines));
        let whole = belong(index, mark, part, pockets, &tree);
        if whole.ink().is_empty() {
            continue;
        }
        if whole.pocket.is_some() {
            art.push(whole);
            continue;
        }
        let pieces = whole.ink().pieces();
        if pieces.len() < 2 {
            art.push(whole);
            continue;
        }
        // Editors merge what lay apart: a mark over several pockets is taken apart.
        let parts: Vec<Art<'_>> = pieces
            .into_iter()
            .map(|p| belong(index, mark, Some(p), pockets, &tree))
            .collect();
        let lettering = matches!(mark.content, Content::Lettering(_));
        if lettering && parts.iter().any(|p| p.pocket.is_none()) {
            // A line of lettering that no pocket holds is one thing to say, not one for each letter.
            art.push(whole);
        } else {
            art.extend(gather(index, mark, parts));
        }
    }
    art.into()
}

/// Puts the pieces of one mark that belong to the same pocket together again.
fn gather<'a>(mark: MarkId, of: &'a Mark, parts: Vec<Art<'a>>) -> Vec<Art<'a>> {
    let mut by_pocket: std::collections::BTreeMap<PocketId, Vec<Art<'_>>> =
        std::collections::BTreeMap::new();
    let mut out = Vec::new();
    for part in parts {
        match part.pocket {
            Some(pocket) => by_pocket.entry(pocket).or_default().push(part),
            None => out.push(part),
        }
    }
    let mut gathered: Vec<Art<'_>> = by_pocket
        .into_iter()
        .map(|(pocket, parts)| {
            let reach = parts
                .iter()
                .map(|p| p.reach)
                .reduce(|a, b| a.union(b))
                .unwrap_or(Rect::ZERO);
            // The pieces are disjoint parts of one region: their rings side by side are that region.
            let ink = Region {
                rings: parts
                    .into_iter()
                    .filter_map(|p| p.part)
                    .flat_map(|p| p.rings)
                    .collect(),
            };
            Art {
                mark,
                of,
                part: Some(ink),
                reach,
                pocket: Some(pocket),
                shares: vec![(pocket, 1.0)],
            }
        })
        .collect();
    gathered.append(&mut out);
    gathered
}

/// The ink of a mark without the contours that are fixture outlines.
fn rest(mark: &Mark, contours: &Contours, outlines: &[ContourId]) -> Region {
    let mut path = BezPath::new();
    for contour in crate::geometry::contour::contours(&mark.path) {
        let fixture = outlines.iter().map(|i| &contours.all[*i]).any(|f| {
            f.contour.bounds.union(contour.bounds) == f.contour.bounds
                && holds(&f.contour, &contour)
        });
        if !fixture {
            path.extend(contour.path.elements().iter().copied());
        }
    }
    mark.ink_of(&path)
}

/// Whether `part` is `whole` itself, or one of the lines it was joined from.
fn holds(
    whole: &crate::geometry::contour::Contour,
    part: &crate::geometry::contour::Contour,
) -> bool {
    let close = |p: &kurbo::Point| {
        let mut nearest = f64::INFINITY;
        for pair in whole.flat.windows(2) {
            if let [a, b] = pair {
                let line = kurbo::Line::new(*a, *b);
                nearest =
                    nearest.min(kurbo::ParamCurveNearest::nearest(&line, *p, 1e-6).distance_sq);
            }
        }
        if let (true, Some(a), Some(b)) = (whole.closed, whole.flat.last(), whole.flat.first()) {
            let line = kurbo::Line::new(*a, *b);
            nearest = nearest.min(kurbo::ParamCurveNearest::nearest(&line, *p, 1e-6).distance_sq);
        }
        nearest.sqrt() <= crate::fixture::enrol::JOIN_GAP
    };
    part.flat.iter().all(close)
}

/// A mark that lies in one pocket and near no other, by its box alone.
fn well_inside<'a>(
    index: MarkId,
    mark: &'a Mark,
    pockets: &IdVec<PocketId, Pocket>,
    middles: &IdVec<PocketId, Option<Rect>>,
    tree: &Boxes,
) -> Option<Art<'a>> {
    let reach = mark.reach().filter(|_| mark.clip.is_none())?;
    // What draws nothing, and a picture without ink, is looked at closely.
    if matches!(mark.content, Content::Picture(_)) || mark.path.control_box().is_zero_area() {
        return None;
    }
    let pocket = PocketId::new(tree.only_one(reach)?);
    let inside = middles[pocket].is_some_and(|m| m.contains_rect(reach))
        || pockets[pocket].region.contains_rect(reach);
    inside.then(|| Art {
        mark: index,
        of: mark,
        part: None,
        reach,
        pocket: Some(pocket),
        shares: vec![(pocket, 1.0)],
    })
}

/// Which pocket a piece of ink belongs to: all that a mark burns, or `part` of it.
fn belong<'a>(
    index: MarkId,
    mark: &'a Mark,
    part: Option<Region>,
    pockets: &IdVec<PocketId, Pocket>,
    tree: &Boxes,
) -> Art<'a> {
    let ink = part.as_ref().unwrap_or_else(|| mark.ink());
    let bounds = ink.bounds().unwrap_or(Rect::ZERO);
    let mut shares: Vec<(PocketId, f64)> = tree
        .touching(bounds)
        .into_iter()
        .map(PocketId::new)
        .map(|i| (i, share(ink, &pockets[i].region)))
        .filter(|(_, s)| *s > LIES_IN)
        .collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let pocket = match shares.as_slice() {
        [(only, s)] if *s > 0.5 => Some(*only),
        _ => None,
    };
    Art {
        mark: index,
        of: mark,
        part,
        reach: bounds,
        pocket,
        shares,
    }
}
