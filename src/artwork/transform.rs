//! `transform` as an attribute (SVG 1.1, 7.6) and as a style property (CSS Transforms 1, with
//! units).

use kurbo::Affine;
use svgtypes::{TransformListParser, TransformListToken};

/// Reads a transform list. `css` allows units (`translate(3mm, 0)`, `rotate(45deg)`); the attribute
/// allows them too in SVG 2, and readers that know only numbers leave such a transform out, so a
/// unit is accepted in a style only. `None` where anything is not understood.
pub fn parse(text: &str, css: bool) -> Option<Affine> {
    let mut matrix = Affine::IDENTITY;
    if css {
        for (name, arguments) in functions(text)? {
            matrix *= css_function(&name, &arguments)?;
        }
    } else {
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

/// A turn by `degrees`, clockwise as y points to the front. Exact for quarter turns, and the same
/// on every machine.
pub fn rotate(degrees: f64) -> Affine {
    let (sin, cos) = sin_cos(degrees);
    Affine::new([cos, sin, -sin, cos, 0.0, 0.0])
}

/// Sine and cosine of an angle in degrees; exact at the quarter turns that drawings are full of.
pub fn sin_cos(degrees: f64) -> (f64, f64) {
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

/// Splits `name(arguments) name(arguments)`.
fn functions(text: &str) -> Option<Vec<(String, Vec<String>)>> {
    let mut found = Vec::new();
    let mut rest = text.trim();
    while !rest.is_empty() {
        let (name, after) = rest.split_once('(')?;
        let (inside, after) = after.split_once(')')?;
        let arguments = inside
            .split([',', ' ', '\t', '\n', '\r'])
            .filter(|a| !a.is_empty())
            .map(str::to_owned)
            .collect();
        found.push((name.trim().to_ascii_lowercase(), arguments));
        rest = after.trim_start_matches([',', ' ', '\t', '\n', '\r']);
    }
    Some(found)
}

fn css_function(name: &str, arguments: &[String]) -> Option<Affine> {
    let number = |i: usize| arguments.get(i)?.parse::<f64>().ok();
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
        ("rotate", 3) => {
            let about = Affine::translate((shift(1)?, shift(2)?));
            about * rotate(turn(0)?) * about.inverse()
        }
        ("skewx", 1) => skew(turn(0)?, 0.0),
        ("skewy", 1) => skew(0.0, turn(0)?),
        ("skew", 1 | 2) => skew(turn(0)?, turn(1)?),
        _ => return None,
    })
}

/// A length of a style's transform in pixels; relative units are not understood here.
fn pixels(text: &str) -> Option<f64> {
    let context = super::length::LengthContext::default();
    super::length::length(text, &context)
        .ok()
        .filter(|v| v.is_finite())
}

/// An angle with its unit (CSS Values 4, 7.1); a bare number is degrees.
fn degrees(text: &str) -> Option<f64> {
    for (unit, scale) in [
        ("deg", 1.0),
        ("grad", 0.9),
        ("turn", 360.0),
        ("rad", 180.0 / std::f64::consts::PI),
    ] {
        if let Some(number) = text.strip_suffix(unit) {
            return number.parse::<f64>().ok().map(|n| n * scale);
        }
    }
    text.parse().ok()
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
        assert_eq!(parse("translate(1in, 0)", false), None);
        assert_eq!(parse("rotate(90deg)", false), None);
        assert_eq!(parse("translateZ(3)", true), None);
        assert_eq!(parse("translate(1e999)", false), None);
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
