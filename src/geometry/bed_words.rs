//! Directions on the bed in words: left, right, back, front.

use kurbo::Vec2;

use crate::units::Shown;

/// A component below this share of the larger one is left out: people push a sheet "to the left",
/// not "to the left and a hair to the back".
const SLIGHT: f64 = 0.05;

/// Which way a move goes, as said at the bench: "towards the back", "to the left and towards the
/// front". "nowhere" for no move. A part smaller than a twentieth of the other is left out.
pub(crate) fn direction(v: Vec2) -> &'static str {
    let (x, y) = (heavy(v.x, v.y), heavy(v.y, v.x));
    match (x, y) {
        (x, 0.0) if x < 0.0 => "to the left",
        (x, 0.0) if x > 0.0 => "to the right",
        (0.0, y) if y < 0.0 => "towards the back",
        (0.0, y) if y > 0.0 => "towards the front",
        (x, y) if x < 0.0 && y < 0.0 => "to the left and towards the back",
        (x, y) if x < 0.0 && y > 0.0 => "to the left and towards the front",
        (x, y) if x > 0.0 && y < 0.0 => "to the right and towards the back",
        (x, y) if x > 0.0 && y > 0.0 => "to the right and towards the front",
        _ => "nowhere",
    }
}

/// A move with its lengths, the longer first: "2.1 mm towards the back and 0.4 mm to the left".
///
/// A part is left out where it is below a twentieth of the other or would print as 0; a move of which
/// nothing is left is given as its length.
pub(crate) fn offset_words(v: Vec2, shown: Shown) -> String {
    let zero = shown.length(0.0);
    let part = |length: f64, word: Vec2| {
        let text = shown.length(length.abs());
        (length != 0.0 && text != zero).then(|| format!("{text} {}", direction(word)))
    };
    let across = part(heavy(v.x, v.y), Vec2::new(v.x, 0.0));
    let along = part(heavy(v.y, v.x), Vec2::new(0.0, v.y));
    let parts = if v.y.abs() > v.x.abs() {
        [along, across]
    } else {
        [across, along]
    };
    let said: Vec<String> = parts.into_iter().flatten().collect();
    if said.is_empty() {
        shown.length(v.hypot())
    } else {
        said.join(" and ")
    }
}

/// The edge that a move out of a zone crosses: "left edge", "back edge". The larger part decides;
/// left and right where they are equal.
pub(crate) fn side(v: Vec2) -> &'static str {
    if v.x.abs() >= v.y.abs() {
        if v.x < 0.0 { "left edge" } else { "right edge" }
    } else if v.y < 0.0 {
        "back edge"
    } else {
        "front edge"
    }
}

/// The component; 0 if it is slight compared with the other.
fn heavy(part: f64, other: f64) -> f64 {
    if part.abs() < SLIGHT * other.abs() {
        0.0
    } else {
        part
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_those_of_the_bench() {
        for (x, y, word) in [
            (0.0, -2.0, "towards the back"),
            (0.0, 2.0, "towards the front"),
            (-1.0, 0.0, "to the left"),
            (1.0, 0.04, "to the right"),
            (-1.0, -1.0, "to the left and towards the back"),
            (1.0, -1.0, "to the right and towards the back"),
            (-1.0, 0.06, "to the left and towards the front"),
            (3.0, 2.0, "to the right and towards the front"),
            (0.0, 0.0, "nowhere"),
            (f64::NAN, 0.0, "nowhere"),
        ] {
            assert_eq!(direction(Vec2::new(x, y)), word, "{x} {y}");
        }
    }

    #[test]
    fn moves_name_the_longer_part_first_and_drop_what_prints_as_nothing() {
        for (x, y, shown, words) in [
            (
                -0.4,
                -2.1,
                Shown::Mm,
                "2.1 mm towards the back and 0.4 mm to the left",
            ),
            (
                12.0,
                3.0,
                Shown::Mm,
                "12 mm to the right and 3 mm towards the front",
            ),
            (12.0, 0.5, Shown::Mm, "12 mm to the right"),
            (0.05, 0.004, Shown::Mm, "0.05 mm to the right"),
            (0.001, 0.0, Shown::Mm, "0 mm"),
            (0.0, 25.4, Shown::Inch, "1 in towards the front"),
        ] {
            assert_eq!(offset_words(Vec2::new(x, y), shown), words, "{x} {y}");
        }
    }

    #[test]
    fn sides() {
        assert_eq!(side(Vec2::new(-2.0, 1.0)), "left edge");
        assert_eq!(side(Vec2::new(2.0, 1.0)), "right edge");
        assert_eq!(side(Vec2::new(1.0, -3.0)), "back edge");
        assert_eq!(side(Vec2::new(1.0, 3.0)), "front edge");
    }
}
