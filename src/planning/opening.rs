//! The opening for a blank, as the middle of the beam must run.

use std::f64::consts::FRAC_1_SQRT_2;

use kurbo::{Arc, BezPath, Circle, Point, Rect, Shape as _, Vec2};

use super::blank::{Blank, DRAWN, rectangle};
use crate::geometry::contour::contours;
use crate::geometry::region::Region;

/// How far a widened outline may be off, in millimetres; well below what `blank-does-not-fit` allows.
const WIDENED: f64 = 0.002;

/// An opening, head to the back, the middle of its box at the origin.
#[derive(Debug, Clone)]
pub(crate) struct Opening {
    /// Its outline.
    pub path: BezPath,
    /// The box around it.
    pub bounds: Rect,
}

/// The opening that `blank` goes into with `clearance` all round, where the beam burns `burn` away.
/// `relief` is the radius of the relief in square corners, zero for none.
///
/// # Errors
///
/// A relief where no corner is square or has room for it, or a burn width that leaves no outline.
pub(crate) fn opening(
    blank: &Blank,
    clearance: f64,
    burn: f64,
    relief: f64,
) -> Result<Opening, String> {
    let by = clearance - burn / 2.0;
    let path = match blank {
        Blank::Rectangle {
            across,
            along,
            corner,
        } => {
            let (w, l) = (across + 2.0 * by, along + 2.0 * by);
            if *corner > 0.0 {
                if relief > 0.0 {
                    return Err("a relief is for square corners, and the blank's are rounded: leave out --relief or --corner".to_owned());
                }
                rectangle(w, l, (corner + by).max(0.0))
            } else if relief > 0.0 {
                relieved(w, l, relief)?
            } else {
                rectangle(w, l, 0.0)
            }
        }
        Blank::Round { across } => {
            no_relief(relief)?;
            Circle::new((0.0, 0.0), across / 2.0 + by).to_path(DRAWN)
        }
        Blank::Outline(path) => {
            no_relief(relief)?;
            widened(path, by)?
        }
    };
    let bounds = path.bounding_box();
    if Region::from_path(&path, false, WIDENED).is_empty() {
        return Err("the burn width leaves no opening for this blank".to_owned());
    }
    Ok(Opening { path, bounds })
}

fn no_relief(relief: f64) -> Result<(), String> {
    if relief > 0.0 {
        return Err(
            "a relief is for rectangles with square corners: leave out --relief".to_owned(),
        );
    }
    Ok(())
}

/// A rectangle with a half disc of radius `r` let into each corner: the disc's rim runs through the
/// corner itself, so that a square blank touches nothing there.
fn relieved(w: f64, l: f64, r: f64) -> Result<BezPath, String> {
    // How far from the corner, along each side, the disc begins; its middle lies half as far in.
    let from = 2.0 * r * FRAC_1_SQRT_2;
    if 2.0 * from >= w.min(l) {
        return Err("the relief is too large for this blank's sides".to_owned());
    }
    let mut path = BezPath::new();
    let (x, y) = (w / 2.0, l / 2.0);
    // Clockwise on the bed from the back-right corner: the corner, the way in and the way out.
    let corners = [
        (Point::new(x, -y), Vec2::new(-1.0, 0.0), Vec2::new(0.0, 1.0)),
        (Point::new(x, y), Vec2::new(0.0, -1.0), Vec2::new(-1.0, 0.0)),
        (Point::new(-x, y), Vec2::new(1.0, 0.0), Vec2::new(0.0, -1.0)),
        (Point::new(-x, -y), Vec2::new(0.0, 1.0), Vec2::new(1.0, 0.0)),
    ];
    for (n, (corner, before, after)) in corners.into_iter().enumerate() {
        let (start, end) = (corner + before * from, corner + after * from);
        if n == 0 {
            path.move_to(start);
        } else {
            path.line_to(start);
        }
        let middle = start.midpoint(end);
        let first = (start - middle).atan2();
        let arc = Arc::new(middle, (r, r), first, std::f64::consts::PI, 0.0);
        path.extend(arc.append_iter(DRAWN));
    }
    path.close_path();
    Ok(path)
}

/// An outline moved outwards by `by` (inwards where it is below zero); its largest piece, holes left
/// out, since what lies in a hole falls out with the rest.
fn widened(path: &BezPath, by: f64) -> Result<BezPath, String> {
    let region = Region::from_path(path, false, WIDENED);
    let moved = if by >= 0.0 {
        region.grown(by, WIDENED)
    } else {
        region.shrunk(-by, WIDENED)
    };
    contours(&moved.to_path())
        .into_iter()
        .max_by(|a, b| a.area.total_cmp(&b.area))
        .map(|c| c.path)
        .ok_or_else(|| "the burn width leaves no opening for this blank".to_owned())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn covered(opening: &Opening) -> Region {
        Region::from_path(&opening.path, false, WIDENED)
    }

    const TAG: Blank = Blank::Rectangle {
        across: 28.0,
        along: 92.0,
        corner: 0.0,
    };

    #[test]
    fn the_beam_runs_half_its_width_inside_the_clearance() {
        let plain = opening(&TAG, 0.2, 0.15, 0.0).unwrap();
        let (w, l) = (plain.bounds.width(), plain.bounds.height());
        assert!(
            (w - 28.25).abs() < 1e-9 && (l - 92.25).abs() < 1e-9,
            "{w} {l}"
        );
        // A beam wider than the clearance runs inside the blank's own line.
        let tight = opening(&TAG, 0.0, 0.3, 0.0).unwrap();
        assert!((tight.bounds.width() - 27.7).abs() < 1e-9, "{tight:?}");
        let round = opening(&Blank::Round { across: 90.0 }, 0.2, 0.2, 0.0).unwrap();
        assert!(
            (round.bounds.width() - 90.2).abs() < 2e-3,
            "{:?}",
            round.bounds
        );
    }

    #[test]
    fn a_relief_frees_the_corner_and_narrows_nothing() {
        let relieved = opening(&TAG, 0.2, 0.15, 1.5).unwrap();
        let plain = opening(&TAG, 0.2, 0.15, 0.0).unwrap();
        assert!(covered(&plain).subtract(&covered(&relieved)).area() < 1e-3);
        // Four segments of a half disc beyond the sides: each half disc less the triangle in it,
        // r² (π / 2 - 1) for r = 1.5 (a half disc's area is π r² / 2, the triangle's r²).
        let more = covered(&relieved).subtract(&covered(&plain)).area();
        let expected = 4.0 * 2.25 * (std::f64::consts::FRAC_PI_2 - 1.0);
        assert!(
            (more - expected).abs() < 0.05,
            "actual {more}, expected {expected}"
        );
        assert!(opening(&TAG, 0.2, 0.15, 20.0).is_err());
        assert!(opening(&Blank::Round { across: 90.0 }, 0.2, 0.15, 1.0).is_err());
    }

    #[test]
    fn an_outline_is_widened_all_round() {
        let blank = Blank::Outline(rectangle(30.0, 60.0, 15.0));
        let moved = opening(&blank, 0.5, 0.0, 0.0).unwrap();
        let b = moved.bounds;
        assert!(
            (b.width() - 31.0).abs() < 0.01 && (b.height() - 61.0).abs() < 0.01,
            "{b:?}"
        );
    }
}
