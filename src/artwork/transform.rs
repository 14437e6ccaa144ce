//! `transform` as an attribute (SVG 1.1, 7.6) and as a style property (CSS Transforms 1, with
//! units).

use kurbo::{Affine, Vec2};
use svgtypes::{TransformListParser, TransformListToken};

use super::length::{is_space, number, sound_numbers};
use super::style::Declared;
use crate::wording::short;

/// Reads a transform list. `css` allows units (`translate(3mm, 0)`, `rotate(45deg)`); the attribute
/// allows them too in SVG 2, and readers that know only numbers leave such a transform out, so a
/// unit is accepted in a style only. `None` where anything is not understood.
pub(crate) fn parse(text: &str, css: bool) -> Option<Affine> {
    let mut matrix = Affine::IDENTITY;
    if sound_numbers(text).1 {
        return None;
    }
    if css {
        for (name, arguments) in functions(text)? {
            matrix *= css_function(&name, &arguments)?;
        }
    } else {
        if !commas_between(text) {
            return None;
        }
        for token in TransformListParser::from(text) {
            matrix *= match token.ok()? {
                TransformListToken::Matrix { a, b, c, d, e, f } => Affine::new([a, b, c, d, e, f]),
                TransformListToken::Translate { tx, ty } => Affine::translate((tx, ty)),
                TransformListToken::Scale { sx, sy } => Affine::scale_non_uniform(sx, sy),
                TransformListToken::Rotate { angle } => rotate(angle),
                TransformListToken::SkewX { angle } => skew(angle, 0.0),
                TransformListToken::SkewY { angle } => skew(0.0, angle),
            };
        }
    }
    matrix
        .as_coeffs()
        .iter()
        .all(|c| c.is_finite())
        .then_some(matrix)
}

/// A `transform` as an element declares it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Motion {
    /// What it does, about the origin of the user units.
    pub(super) matrix: Affine,
    /// Whether a `transform-origin` or a `transform-box` moves what it turns about: attributes that some
    /// readers follow and some do not.
    pub(super) elsewhere: bool,
}

/// The transform that is declared; as written, shortened, where it cannot be read.
pub(super) fn declared(declared: &Declared<'_>) -> Result<Motion, String> {
    let Some(text) = declared.get("transform").filter(|t| *t != "none") else {
        return Ok(Motion {
            matrix: Affine::IDENTITY,
            elsewhere: false,
        });
    };
    let by_css = declared.css_value("transform").is_some();
    let matrix = parse(text, by_css).ok_or_else(|| short(text))?;
    let origin = declared
        .get("transform-origin")
        .is_some_and(|o| !matches!(o.trim(), "0" | "0 0" | "0px 0px" | "0px"));
    // A plain move is the same about any point.
    let turns = matrix.with_translation(Vec2::ZERO) != Affine::IDENTITY;
    Ok(Motion {
        matrix,
        elsewhere: origin && turns,
    })
}

/// Whether every comma stands between two things. The library ignores the others, browsers do not.
pub(super) fn commas_between(text: &str) -> bool {
    let parts: Vec<&str> = text.split(',').map(|p| p.trim_matches(is_space)).collect();
    parts.len() < 2
        || parts.iter().enumerate().all(|(i, part)| {
            let after = i > 0 && (part.is_empty() || part.starts_with(')'));
            let before = i + 1 < parts.len() && (part.is_empty() || part.ends_with('('));
            !after && !before
        })
}

/// A turn by `degrees`, clockwise as y points to the front. Exact for quarter turns, and the same
/// on every machine.
pub(crate) fn rotate(degrees: f64) -> Affine {
    let (sin, cos) = sin_cos(degrees);
    Affine::new([cos, sin, -sin, cos, 0.0, 0.0])
}

/// Sine and cosine of an angle in degrees; exact at the quarter turns that drawings are full of.
pub(crate) fn sin_cos(degrees: f64) -> (f64, f64) {
    let turn = degrees.rem_euclid(360.0);
    if turn == 0.0 {
        (0.0, 1.0)
    } else if turn == 90.0 {
        (1.0, 0.0)
    } else if turn == 180.0 {
        (0.0, -1.0)
    } else if turn == 270.0 {
        (-1.0, 0.0)
    } else {
        let radians = turn.to_radians();
        (libm::sin(radians), libm::cos(radians))
    }
}

fn skew(x: f64, y: f64) -> Affine {
    Affine::new([
        1.0,
        libm::tan(y.to_radians()),
        libm::tan(x.to_radians()),
        1.0,
        0.0,
        0.0,
    ])
}

/// Splits `name(argument, argument) name(argument)` (CSS Transforms 1, section 7).
fn functions(text: &str) -> Option<Vec<(String, Vec<String>)>> {
    let mut found = Vec::new();
    let mut rest = text.trim_matches(is_space);
    while !rest.is_empty() {
        let (name, after) = rest.split_once('(')?;
        let (inside, after) = after.split_once(')')?;
        let arguments: Vec<String> = inside
            .split(',')
            .map(|a| a.trim_matches(is_space).to_owned())
            .collect();
        let broken = |part: &str| part.is_empty() || part.contains(is_space);
        if broken(name) || arguments.iter().any(|a| broken(a)) {
            return None;
        }
        found.push((name.to_ascii_lowercase(), arguments));
        rest = after.trim_start_matches(is_space);
    }
    Some(found)
}

fn css_function(name: &str, arguments: &[String]) -> Option<Affine> {
    let number = |i: usize| number(arguments.get(i)?);
    let shift = |i: usize| match arguments.get(i) {
        None => Some(0.0),
        Some(text) => pixels(text),
    };
    let turn = |i: usize| match arguments.get(i) {
        None => Some(0.0),
        Some(text) => degrees(text),
    };
    let count = arguments.len();
    Some(match (name, count) {
        ("matrix", 6) => Affine::new([
            number(0)?,
            number(1)?,
            number(2)?,
            number(3)?,
            number(4)?,
            number(5)?,
        ]),
        ("translate", 1 | 2) => Affine::translate((shift(0)?, shift(1)?)),
        ("translatex", 1) => Affine::translate((shift(0)?, 0.0)),
        ("translatey", 1) => Affine::translate((0.0, shift(0)?)),
        ("scale", 1) => Affine::scale(number(0)?),
        ("scale", 2) => Affine::scale_non_uniform(number(0)?, number(1)?),
        ("scalex", 1) => Affine::scale_non_uniform(number(0)?, 1.0),
        ("scaley", 1) => Affine::scale_non_uniform(1.0, number(0)?),
        ("rotate", 1) => rotate(turn(0)?),
        ("skewx", 1) => skew(turn(0)?, 0.0),
        ("skewy", 1) => skew(0.0, turn(0)?),
        ("skew", 1 | 2) => skew(turn(0)?, turn(1)?),
        _ => return None,
    })
}

/// A length of a style's transform in pixels; relative units are not understood here. Without a unit
/// only zero is a length in CSS: for any other number, browsers ignore the whole transform and other
/// readers take px.
fn pixels(text: &str) -> Option<f64> {
    let context = super::length::LengthContext::default();
    super::length::length(text, &context)
        .ok()
        .filter(|v| v.is_finite() && (*v == 0.0 || number(text).is_none()))
}

/// An angle with its unit (CSS Values 4, 7.1); without one only zero is an angle.
fn degrees(text: &str) -> Option<f64> {
    let small = text.to_ascii_lowercase();
    for (unit, scale) in [
        ("deg", 1.0),
        ("grad", 0.9),
        ("turn", 360.0),
        ("rad", 180.0 / std::f64::consts::PI),
    ] {
        if let Some(value) = small.strip_suffix(unit) {
            return number(value)
                .filter(|_| !value.ends_with(is_space))
                .map(|n| n * scale);
        }
    }
    number(text).filter(|n| *n == 0.0)
}

#[cfg(test)]
mod tests {
    use kurbo::Point;

    use super::*;

    #[test]
    fn quarter_turns_are_exact_and_clockwise() {
        let p = rotate(90.0) * Point::new(3.0, 0.0);
        assert_eq!(p, Point::new(0.0, 3.0), "the right turns to the front");
        assert_eq!(rotate(-270.0), rotate(90.0));
    }

    #[test]
    fn a_style_may_use_units_and_an_attribute_may_not() {
        assert_eq!(
            parse("translate(1in, 0)", true),
            Some(Affine::translate((96.0, 0.0)))
        );
        assert_eq!(parse("rotate(0.25turn)", true), Some(rotate(90.0)));
        for bare in [
            "rotate(20)",
            "translate(4, 4)",
            "translate(4px 4px)",
            "rotate (4deg)",
        ] {
            assert_eq!(parse(bare, true), None, "{bare}: browsers leave it out");
        }
        assert_eq!(parse("translate(1in, 0)", false), None);
        assert_eq!(parse("rotate(90deg)", false), None);
        assert_eq!(parse("translateZ(3)", true), None);
        assert_eq!(parse("translate(1e999)", false), None);
    }

    #[test]
    fn what_is_half_a_list_is_none() {
        for half in [
            "translate(4,)",
            "translate(,4)",
            "translate(4,,4)",
            "translate(4 4),",
            "translate(4 4),,rotate(9)",
            "translate(4. 4)",
            "translate(4 4)foo",
        ] {
            assert_eq!(parse(half, false), None, "{half}");
        }
        let whole = parse("translate(4 , 4) , rotate(0)", false);
        assert_eq!(whole, Some(Affine::translate((4.0, 4.0))));
    }

    #[test]
    fn lists_apply_from_the_right() {
        let m = parse("translate(10 0) rotate(90)", false);
        assert_eq!(
            m.map(|m| m * Point::new(1.0, 0.0)),
            Some(Point::new(10.0, 1.0))
        );
    }
}
