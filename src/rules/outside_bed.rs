//! `outside-bed`: any live mark beyond the usable bed, run-out counted.

use kurbo::{Rect, Shape as _, Vec2};

use super::design::{Design, Designs, as_one};
use super::{Info, info, thing};
use crate::artwork::mark::{Mark, Operation};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::Pocket;
use crate::fixture::settings::Bed;
use crate::geometry::region::Region;
use crate::matching::Job;
use crate::matching::fit::largest;
use crate::remedy::{Change, Remedy, Way, What};
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("outside-bed", Hold, Blank);

/// Reaching past by less than this, in millimetres, is the rounding of curves.
const ROUNDING: f64 = 0.005;

/// How far ink reaches past one side.
struct Past {
    side: &'static str,
    by: f64,
    /// Whether only the run-out is short, while the ink itself lies on the usable bed.
    run_out: bool,
}

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let bed = &job.fixture.settings.bed;
    let fixture: std::collections::BTreeSet<crate::ids::MarkId> = job
        .outlines
        .iter()
        .flat_map(super::super::matching::OutlineMatch::found)
        .map(|i| &job.contours.all[*i])
        .flat_map(|f| f.marks.iter().copied())
        .collect();
    // The pieces of one design are put right together.
    let mut designs = Designs::new(job);
    for (index, mark, operation) in job.live() {
        // A fixture line that would be run is held as such; where it lies is where the sheet lies.
        if fixture.contains(&index) {
            continue;
        }
        // By its box first, which is quick: nearly everything is well inside.
        if mark
            .reach()
            .is_some_and(|r| past(bed, r, sweeps(operation)).is_none())
        {
            continue;
        }
        let Some(ink) = mark.ink().bounds() else {
            continue;
        };
        let Some(past) = past(bed, ink, sweeps(operation)) else {
            continue;
        };
        let pocket = job.pocket_of_mark(index);
        let art = job.art_of(index).first();
        let ways = art
            .and_then(|art| Some((art, art.pocket?)))
            .and_then(|(art, which)| designs.made(which, art, |design| ways(job, design, pocket)));
        out.push(
            words(job, mark, ink, &past)
                .in_pocket(pocket.map(|p| p.name.as_str()))
                .remedied(Remedy::certain(ways.unwrap_or_default())),
        );
    }
}

/// Away from the edge, if that is enough; else as large as fits between the bed's edges and the zone's.
fn ways(job: &Job<'_>, design: &Design<'_, '_>, pocket: Option<&Pocket>) -> Vec<Way> {
    let mut operations = design.pieces.iter().map(|a| job.operation(a.mark));
    let run_out = operations.any(sweeps);
    let bed = &job.fixture.settings.bed;
    let Some(past) = past(bed, design.bounds, run_out) else {
        return Vec::new();
    };
    // A hair more than is asked, so that the last digit of a file does not decide.
    let by = past.by + 0.01;
    let by = What::Move(match past.side {
        "left" => Vec2::new(by, 0.0),
        "right" => Vec2::new(-by, 0.0),
        "back" => Vec2::new(0.0, by),
        _ => Vec2::new(0.0, -by),
    });
    let says = Change::of(Vec::new(), by.clone()).words(job.shown());
    let mut ways = vec![Way::new(
        "move",
        as_one(job, &design.pieces, &says),
        design.changes(&by),
    )];
    let run = if run_out { bed.run_out } else { 0.0 };
    let keep = &bed.keep_clear;
    let usable = Rect::new(
        keep.left.max(run),
        keep.back,
        bed.width - keep.right.max(run),
        bed.height - keep.front,
    );
    let room = pocket.map(|p| p.zone.intersect(&Region::from_rect(usable)));
    if let Some(room) = room
        && let Some(bounds) = room.bounds()
    {
        let scale = (100.0 * largest(&design.ink, &room)).floor() / 100.0;
        if scale >= 0.01 {
            let (from, to) = (design.bounds.center(), bounds.center());
            let fit = What::Fit { from, to, scale };
            let says = format!(
                "set it at {:.0} % of this size in the middle of the room that is left",
                100.0 * scale
            );
            ways.push(Way::new(
                "scale",
                as_one(job, &design.pieces, &says),
                design.changes(&fit),
            ));
        }
    }
    ways
}

/// Whether the carriage needs room beside it: only engraving sweeps to and fro, and a paint that nothing claims might
/// be engraving.
fn sweeps(operation: Operation) -> bool {
    matches!(operation, Operation::Engrave | Operation::Unknown)
}

/// The side on which ink reaches farthest past what the bed allows, with its run-out or without.
fn past(bed: &Bed, ink: Rect, run_out: bool) -> Option<Past> {
    let keep = &bed.keep_clear;
    let run = if run_out { bed.run_out } else { 0.0 };
    let sides = [
        ("left", keep.left - ink.x0, run - ink.x0),
        (
            "right",
            ink.x1 - (bed.width - keep.right),
            ink.x1 + run - bed.width,
        ),
        ("back", keep.back - ink.y0, f64::NEG_INFINITY),
        (
            "front",
            ink.y1 - (bed.height - keep.front),
            f64::NEG_INFINITY,
        ),
    ];
    sides
        .into_iter()
        .map(|(side, ink, run)| Past {
            side,
            by: ink.max(run),
            run_out: ink <= ROUNDING,
        })
        .filter(|p| p.by > ROUNDING)
        .max_by(|a, b| a.by.total_cmp(&b.by))
}

fn words(job: &Job<'_>, mark: &Mark, ink: Rect, past: &Past) -> Finding {
    let shown = job.shown();
    let bed = &job.fixture.settings.bed;
    let what = sentence(&thing(mark));
    let by = shown.length(past.by);
    let (message, help) = if past.run_out {
        (
            format!(
                "{what} lies too near the {} edge of the bed: the carriage needs {} of run-out beside engraving and is {by} short",
                past.side,
                shown.length(bed.run_out)
            ),
            format!(
                "move it at least {by} away from the {} edge, or engrave it from another pocket",
                past.side
            ),
        )
    } else {
        (
            format!(
                "{what} reaches {by} past the {} edge of the usable bed",
                past.side
            ),
            format!(
                "move it at least {by} away from the {} edge, or make it smaller",
                past.side
            ),
        )
    };
    let keep = &bed.keep_clear;
    let usable = Rect::new(
        keep.left,
        keep.back,
        bed.width - keep.right,
        bed.height - keep.front,
    );
    // What lies on the bed and has no run-out is within the strips for it.
    let run_out = bed.run_out.min(bed.width / 2.0);
    let between = Rect::new(run_out, 0.0, bed.width - run_out, bed.height);
    let beyond = |limit| mark.ink().subtract(&Region::from_rect(limit));
    let picture = [beyond(usable), beyond(between)]
        .into_iter()
        .find(|part| !part.is_empty())
        .map_or(Picture::Hatch(ink.to_path(1e-3)), |part| {
            Picture::Hatch(part.to_path())
        });
    Finding::new(&INFO, &Location::Mark(&mark.origin, ink), message, help)
        .measured(
            if past.run_out {
                "run-out"
            } else {
                "past the bed"
            },
            past.by,
            0.0,
            "mm",
        )
        .drawn(picture)
}
