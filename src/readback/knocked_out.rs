//! A name knocked out of a plate: what is burnt is the plate, and the letters are what is left of it.

use crate::geometry::flatten::signed_area;
use crate::geometry::region::Region;
use crate::geometry::shape_match::is_solid;

/// A plate has so many holes, at least: letters, of which an outlined one has two of its own at most.
const HOLES: usize = 3;

/// The share of a plate that is burnt, at least. Of a frame it is less.
const BURNT: f64 = 0.5;

/// The share of all ink that the plate is, at least: what is knocked out of a small part of the art is no name.
const MOST: f64 = 0.5;

/// How wide a line stands for the edge of the plate, in millimetres: any, as long as it is no letter.
const EDGE: f64 = 0.2;

/// To what accuracy that line is drawn, in millimetres.
const ACCURACY: f64 = 0.02;

/// The letters that are knocked out of a plate, with a line for its edge, and what lies beside it; `None` where no piece
/// of the ink can be a plate. A heavy word whose letters touch may look like one: it is for the caller to see which of
/// the two is lettering.
pub(super) fn knocked_out(ink: &Region) -> Option<Region> {
    let pieces = ink.pieces();
    let plate = pieces.iter().max_by(|a, b| a.area().total_cmp(&b.area()))?;
    let outer = plate
        .rings
        .iter()
        .max_by(|a, b| signed_area(a).abs().total_cmp(&signed_area(b).abs()))?;
    let whole = Region {
        rings: vec![outer.clone()],
    };
    let solid = is_solid(outer) && plate.area() >= BURNT * whole.area();
    if !solid || plate.rings.len() <= HOLES || plate.area() < MOST * ink.area() {
        return None;
    }
    let letters = whole.subtract(ink);
    let edge = whole.grown(EDGE, ACCURACY).subtract(&whole);
    Some(letters.unite(&edge).unite(&ink.subtract(&whole)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn of(d: &str) -> Option<Region> {
        let path = kurbo::BezPath::from_svg(d).unwrap();
        knocked_out(&Region::from_path(&path, true, 1e-3))
    }

    /// An oblong with four holes, of which one has an island.
    const PLATE: &str =
        "M0 0H30V12H0Z M3 3H6V9H3Z M8 3H11V9H8Z M13 3H16V9H13Z M14 4H15V8H14Z M18 3H21V9H18Z";

    #[test]
    fn the_holes_of_a_plate_are_its_letters() {
        let found = of(PLATE).unwrap();
        let mut holes: Vec<usize> = found.pieces().iter().map(|p| p.rings.len() - 1).collect();
        holes.sort_unstable();
        // Three plain letters, one with a hollow, and the edge.
        assert_eq!(holes, [0, 0, 0, 1, 1]);
        // A date beside it stays as it is.
        let dated = of(&format!("{PLATE} M5 14H6V16H5Z M8 14H9V16H8Z")).unwrap();
        assert_eq!(dated.pieces().len(), 7);
    }

    #[test]
    fn a_frame_and_a_word_are_no_plates() {
        // A band round letters.
        assert_eq!(
            of("M0 0H30V12H0Z M1 1H29V11H1Z M3 3H6V9H3Z M8 3H11V9H8Z"),
            None
        );
        // Two hollows, as a letter has them.
        assert_eq!(of("M0 0H6V12H0Z M2 2H4V5H2Z M2 7H4V10H2Z"), None);
        // Letters side by side with a hollow each.
        let letter = |n: usize| {
            let x = 8 * n;
            format!(
                "M{x} 0H{}V6H{x}Z M{} 2H{}V4H{}Z ",
                x + 6,
                x + 2,
                x + 4,
                x + 2
            )
        };
        assert_eq!(of(&(0..4).map(letter).collect::<String>()), None);
    }
}
