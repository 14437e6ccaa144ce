//! Lettering in simple strokes, for the label that is scored on the sheet.
//!
//! Strokes, not outlines: they are scored in half the time, and no letter of a run's art can be
//! mistaken for a letter of the label.

use kurbo::BezPath;
use unicode_normalization::UnicodeNormalization as _;

/// Each sign on a grid six steps high: strokes apart by semicolons, points as x and y counted from the
/// left end of the baseline.
const SIGNS: &[(char, &str)] = &[
    ('A', "00 26 40;13 33"),
    ('B', "00 06 36 45 44 33 03;33 42 41 30 00"),
    ('C', "41 30 10 01 05 16 36 45"),
    ('D', "00 06 26 44 42 20 00"),
    ('E', "40 00 06 46;03 33"),
    ('F', "00 06 46;03 33"),
    ('G', "45 36 16 05 01 10 30 41 43 23"),
    ('H', "00 06;40 46;03 43"),
    ('I', "00 06"),
    ('J', "01 10 20 31 36"),
    ('K', "00 06;46 03 40"),
    ('L', "06 00 30"),
    ('M', "00 06 23 46 40"),
    ('N', "00 06 40 46"),
    ('O', "10 30 41 45 36 16 05 01 10"),
    ('P', "00 06 36 45 44 33 03"),
    ('Q', "10 30 41 45 36 16 05 01 10;22 40"),
    ('R', "00 06 36 45 44 33 03;23 40"),
    ('S', "01 10 30 41 42 33 13 04 05 16 36 45"),
    ('T', "06 46;20 26"),
    ('U', "06 01 10 30 41 46"),
    ('V', "06 20 46"),
    ('W', "06 10 23 30 46"),
    ('X', "00 46;06 40"),
    ('Y', "06 23 46;23 20"),
    ('Z', "06 46 00 40"),
    ('0', "10 30 41 45 36 16 05 01 10;12 34"),
    ('1', "05 16 10"),
    ('2', "05 16 36 45 44 00 40"),
    ('3', "05 16 36 45 44 33 13;33 42 41 30 10 01"),
    ('4', "30 36 02 42"),
    ('5', "46 06 03 33 42 41 30 10 01"),
    ('6', "45 36 16 05 01 10 30 41 42 33 13 02"),
    ('7', "06 46 10"),
    ('8', "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33"),
    ('9', "01 10 30 41 45 36 16 05 04 13 33 44"),
    ('-', "03 33"),
    ('.', "00 01"),
    (',', "00 11"),
    ('\'', "05 06"),
    ('&', "40 04 05 16 25 24 02 01 10 20 42"),
    ('/', "00 46"),
    ('+', "03 43;21 25"),
    ('(', "20 11 15 26"),
    (')', "00 11 15 06"),
    ('#', "10 16;30 36;02 42;04 44"),
];

/// Steps from the baseline to the top of a sign.
const TALL: f64 = 6.0;

/// Steps between signs.
const GAP: f64 = 1.8;

/// Steps that a space takes.
const SPACE: f64 = 3.0;

/// The strokes of `text` in capitals, `cap` millimetres high, from the origin to the right along the
/// baseline; and how wide they are. Accents are left off.
///
/// # Errors
///
/// The first sign that there are no strokes for.
pub(crate) fn strokes(text: &str, cap: f64) -> Result<(BezPath, f64), char> {
    let step = cap / TALL;
    let mut path = BezPath::new();
    let mut at = 0.0;
    let mut wide = 0.0;
    let plain = text
        .nfkd()
        .filter(|c| !unicode_normalization::char::is_combining_mark(*c))
        .flat_map(char::to_uppercase);
    for c in plain {
        if c == ' ' {
            at += SPACE * step;
            continue;
        }
        let (_, drawn) = SIGNS.iter().find(|(sign, _)| *sign == c).ok_or(c)?;
        let mut right: f64 = 0.0;
        for stroke in drawn.split(';') {
            for (n, point) in stroke.split(' ').enumerate() {
                let mut digits = point.chars().filter_map(|d| d.to_digit(10)).map(f64::from);
                let (x, y) = (digits.next().unwrap_or(0.0), digits.next().unwrap_or(0.0));
                right = right.max(x);
                let p = (at + x * step, -y * step);
                if n == 0 {
                    path.move_to(p);
                } else {
                    path.line_to(p);
                }
            }
        }
        wide = at + right * step;
        at = wide + GAP * step;
    }
    Ok((path, wide))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;

    #[test]
    fn every_sign_has_strokes_of_two_points_at_least() {
        for (sign, drawn) in SIGNS {
            for stroke in drawn.split(';') {
                let points: Vec<&str> = stroke.split(' ').collect();
                assert!(points.len() >= 2, "{sign}: {stroke}");
                for point in points {
                    let digits: Vec<u32> = point.chars().map(|d| d.to_digit(10).unwrap()).collect();
                    assert!(digits.len() == 2 && digits[1] <= 6, "{sign}: {point}");
                }
            }
        }
    }

    #[test]
    fn a_label_is_as_wide_as_its_signs_and_without_accents() {
        let (path, wide) = strokes("HI", 6.0).unwrap();
        assert!((wide - (4.0 + GAP)).abs() < 1e-9, "{wide}");
        assert_eq!(kurbo::Shape::bounding_box(&path).height(), 6.0);
        assert_eq!(strokes("zoë", 3.0), strokes("ZOE", 3.0));
        assert_eq!(strokes("a ж", 3.0), Err('Ж'));
    }
}
