//! Lengths and angles with their units.
//!
//! Inside the program a length is millimetres and an angle degrees. This page holds the way in
//! (settings and files) and the way out (messages).

/// Millimetres in an inch, exact by the 1959 international yard and pound agreement; CSS Values
/// and Units 4, section 6.2, builds its table on it.
pub(crate) const MM_PER_INCH: f64 = 25.4;

/// A unit that lengths are shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shown {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
}

impl Shown {
    /// A length for a message: "2.4 mm", "0.15 mm", "0.006 in".
    ///
    /// One decimal from 1 mm up and two below (three places in inches), so that a number never looks
    /// finer than what was measured, and 0.15 never reads 0.2 beside a limit of 0.1.
    pub fn length(self, mm: f64) -> String {
        match self {
            Self::Mm if mm.abs() >= 0.995 => format!("{} mm", trimmed(mm, 1)),
            Self::Mm => format!("{} mm", trimmed(mm, 2)),
            Self::Inch => format!("{} in", trimmed(mm / MM_PER_INCH, 3)),
        }
    }

    /// A length as settings state it: to a micrometre or the nearest ten-thousandth of an inch, finer
    /// than any bed is measured, and coarse enough that a page of 600 mm that went through inches reads
    /// 600 mm again.
    pub fn written(self, mm: f64) -> String {
        match self {
            Self::Mm => format!("{} mm", trimmed(mm, 3)),
            Self::Inch => format!("{} in", trimmed(mm / MM_PER_INCH, 4)),
        }
    }

    /// A size for a message: "28 × 92 mm".
    pub fn size(self, width: f64, height: f64) -> String {
        match self {
            Self::Mm => format!("{} × {} mm", trimmed(width, 2), trimmed(height, 2)),
            Self::Inch => format!(
                "{} × {} in",
                trimmed(width / MM_PER_INCH, 3),
                trimmed(height / MM_PER_INCH, 3)
            ),
        }
    }
}

/// An angle for a message: "3.5°".
pub(crate) fn angle(degrees: f64) -> String {
    format!("{}°", trimmed(degrees, 1))
}

/// A number with at most `decimals` places and no trailing zeros; never "-0".
pub(crate) fn trimmed(value: f64, decimals: usize) -> String {
    if let Some(text) = quickly(value, decimals) {
        return text;
    }
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// The same by whole numbers, several times as fast: a lock's outlines are written whenever a fixture is
/// opened. `None` for large numbers, and where it lies so near the middle between two roundings that the
/// product's own error could decide.
fn quickly(value: f64, decimals: usize) -> Option<String> {
    let unit = 10_u64.pow(decimals as u32);
    let scaled = value.abs() * unit as f64;
    let below = scaled.floor();
    let part = scaled - below;
    // Up to 2^30, a product is off by less than 2^-22, which is 2.4e-7.
    if !scaled.is_finite() || scaled > f64::from(1 << 30) || (part - 0.5).abs() < 1e-6 {
        return None;
    }
    let rounded = below as u64 + u64::from(part > 0.5);
    let sign = if value < 0.0 && rounded > 0 { "-" } else { "" };
    let (whole, mut rest, mut places) = (rounded / unit, rounded % unit, decimals);
    if rest == 0 {
        return Some(format!("{sign}{whole}"));
    }
    while rest.is_multiple_of(10) {
        rest /= 10;
        places -= 1;
    }
    Some(format!("{sign}{whole}.{rest:0places$}"))
}

/// A length in settings that is longer than any bed: past it somebody slipped by a unit or a zero.
/// Larger values would also carry measurements of micrometres past what single-precision files hold.
pub(crate) const LONGEST_MM: f64 = 100_000.0;

/// A unit that a length in settings may be written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Inches.
    Inch,
    /// Points, 72 to the inch.
    Pt,
    /// CSS pixels, 96 to the inch, whatever the sender makes of a pixel.
    Px,
}

impl Unit {
    /// Millimetres in `value` of this unit. Ratios from CSS Values and Units 4, section 6.2.
    pub(crate) fn to_mm(self, value: f64) -> f64 {
        match self {
            Self::Mm => value,
            Self::Cm => value * 10.0,
            Self::Inch => value * MM_PER_INCH,
            Self::Pt => value / 72.0 * MM_PER_INCH,
            Self::Px => value / 96.0 * MM_PER_INCH,
        }
    }

    /// The unit that messages use when lengths were given in this one.
    pub(crate) fn shown(self) -> Shown {
        match self {
            Self::Inch => Shown::Inch,
            Self::Mm | Self::Cm | Self::Pt | Self::Px => Shown::Mm,
        }
    }

    fn named(name: &str) -> Option<Self> {
        match name.to_ascii_lowercase().as_str() {
            "mm" => Some(Self::Mm),
            "cm" => Some(Self::Cm),
            "in" => Some(Self::Inch),
            "pt" => Some(Self::Pt),
            "px" => Some(Self::Px),
            _ => None,
        }
    }
}

/// Why a text is not a number with a unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum NotMeasured {
    /// It does not start with a number, or the number is out of all reach.
    NoNumber,
    /// The number has a comma in it.
    Comma(String),
    /// A bare number.
    NoUnit(String),
    /// A number with a unit that is not known.
    UnknownUnit {
        /// The number as written.
        number: String,
        /// The unit as written.
        unit: String,
    },
}

/// Reads a length such as "28.5 mm", or with a fraction as on an inch ruler ("3/16 in", "1-3/16 in" or
/// "1 3/16 in"), into millimetres and the unit it was written in.
///
/// # Errors
///
/// What is no number, or has no unit, or one that is no length.
pub(crate) fn length(text: &str) -> Result<(f64, Unit), NotMeasured> {
    let (value, number, unit) = number_and_unit(text)?;
    match Unit::named(unit) {
        Some(unit) => Ok((unit.to_mm(value), unit)),
        None => Err(NotMeasured::UnknownUnit {
            number: number.to_owned(),
            unit: unit.to_owned(),
        }),
    }
}

/// Reads an angle such as "30 deg" or "30°" into degrees.
///
/// # Errors
///
/// What is no number, or has another unit.
pub(crate) fn degrees(text: &str) -> Result<f64, NotMeasured> {
    let (value, number, unit) = number_and_unit(text)?;
    if unit.eq_ignore_ascii_case("deg") || unit == "°" {
        Ok(value)
    } else {
        Err(NotMeasured::UnknownUnit {
            number: number.to_owned(),
            unit: unit.to_owned(),
        })
    }
}

/// Splits "28.5 mm" into 28.5, "28.5" and "mm". Decimal numbers and fractions only: no exponent, so that
/// the "e" of a mistyped unit never turns into powers of ten, and never infinity or NaN.
fn number_and_unit(text: &str) -> Result<(f64, &str, &str), NotMeasured> {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '/' | ' ')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let number = number.trim_end();
    if number.contains(',') {
        return Err(NotMeasured::Comma(text.to_owned()));
    }
    let value = if number.contains('/') {
        fraction(number)
    } else {
        number.parse::<f64>().ok().filter(|value| value.is_finite())
    }
    .ok_or(NotMeasured::NoNumber)?;
    if unit.is_empty() {
        Err(NotMeasured::NoUnit(number.to_owned()))
    } else {
        Ok((value, number, unit))
    }
}

/// "3/16", "1 3/16" or "1-3/16", each with a sign before it or none; `None` for anything else. A whole
/// number with an improper fraction ("1 17/16") is a slip.
fn fraction(text: &str) -> Option<f64> {
    let digits = |text: &str| {
        let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        plain
            .then(|| text.parse::<u32>().ok())
            .flatten()
            .map(f64::from)
    };
    let (sign, size) = match text.strip_prefix('-') {
        Some(size) => (-1.0, size),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let (above, below) = size.split_once('/')?;
    let below = digits(below).filter(|below| *below > 0.0)?;
    let value = match above.split_once([' ', '-']) {
        Some((whole, above)) => {
            let part = digits(above)? / below;
            digits(whole).filter(|_| part < 1.0)? + part
        }
        None => digits(above)? / below,
    };
    Some(sign * value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_as_the_standard_library_rounds_them() {
        let slow = |value: f64, decimals: usize| {
            let text = format!("{value:.decimals$}");
            let text = text.trim_end_matches('0').trim_end_matches('.').to_owned();
            if text == "-0" { "0".to_owned() } else { text }
        };
        let mut quick = 0;
        for n in -20_000..20_000 {
            // Steps that fall on the middle between two roundings, and beside it.
            for value in [
                f64::from(n) * 0.000_25,
                f64::from(n) / 7.0,
                f64::from(n) * 1e5,
            ] {
                for decimals in 1..=4 {
                    assert_eq!(trimmed(value, decimals), slow(value, decimals), "{value:?}");
                    quick += usize::from(quickly(value, decimals).is_some());
                }
            }
        }
        assert!(quick > 250_000, "{quick}");
        assert_eq!(trimmed(20.0, 0), "20");
    }

    #[test]
    fn lengths_read_as_people_say_them() {
        assert_eq!(Shown::Mm.length(2.44), "2.4 mm");
        assert_eq!(Shown::Mm.length(0.15), "0.15 mm");
        assert_eq!(Shown::Mm.length(600.0), "600 mm");
        assert_eq!(Shown::Mm.length(-0.001), "0 mm");
        assert_eq!(Shown::Inch.length(0.15), "0.006 in");
        assert_eq!(Shown::Mm.size(28.0, 92.25), "28 × 92.25 mm");
        assert_eq!(angle(3.04), "3°");
    }

    #[test]
    fn lengths_are_read_with_their_unit() {
        assert_eq!(length("600 mm"), Ok((600.0, Unit::Mm)));
        assert_eq!(length(" 60cm "), Ok((600.0, Unit::Cm)));
        assert_eq!(length("1 in"), Ok((25.4, Unit::Inch)));
        assert_eq!(length("72 pt"), Ok((25.4, Unit::Pt)));
        assert_eq!(length("96 PX"), Ok((25.4, Unit::Px)));
        assert_eq!(length("-.5 mm"), Ok((-0.5, Unit::Mm)));
        assert_eq!(degrees("30 deg"), Ok(30.0));
        assert_eq!(degrees("-30°"), Ok(-30.0));
    }

    #[test]
    fn fractions_are_read_as_on_an_inch_ruler() {
        let eighth = 25.4 / 8.0;
        for (text, eighths) in [
            ("1/8 in", 1.0),
            ("1/8in", 1.0),
            ("2 5/8 in", 21.0),
            ("2-5/8in", 21.0),
            ("+2-5/8 in", 21.0),
            ("-2 5/8 in", -21.0),
            ("-5/8 in", -5.0),
            ("9/8 in", 9.0),
            ("0/8 in", 0.0),
        ] {
            let (mm, unit) = length(text).unwrap_or_else(|e| unreachable!("{text}: {e:?}"));
            let off = (mm - eighths * eighth).abs();
            assert!(off < 1e-12, "{text}: {mm}, expected {eighths} eighths");
            assert_eq!(unit, Unit::Inch, "{text}");
        }
        assert_eq!(length("1/2 mm"), Ok((0.5, Unit::Mm)));
        assert_eq!(length("2-5/8"), Err(NotMeasured::NoUnit("2-5/8".into())));
        let slips = [
            "1/0 in",
            "1/ in",
            "/8 in",
            "1//8 in",
            "1/8/2 in",
            "1 17/16 in",
            "1.5 1/8 in",
            "1-1.5/8 in",
            "1 - 1/8 in",
            "1  1/8 in",
            "1-2-3/8 in",
            "1/-8 in",
            "1/8 1 in",
            "1 2 in",
            "--1/8 in",
            "1/99999999999 in",
        ];
        for text in slips {
            assert_eq!(length(text), Err(NotMeasured::NoNumber), "{text}");
        }
    }

    #[test]
    fn what_is_no_length_says_why() {
        let unknown = |number: &str, unit: &str| {
            Err(NotMeasured::UnknownUnit {
                number: number.into(),
                unit: unit.into(),
            })
        };
        assert_eq!(length("600"), Err(NotMeasured::NoUnit("600".into())));
        assert_eq!(length("28,5 mm"), Err(NotMeasured::Comma("28,5 mm".into())));
        assert_eq!(length("24\""), unknown("24", "\""));
        assert_eq!(length("1e3 mm"), unknown("1", "e3 mm"));
        for text in ["", "mm", "inf mm", "NaN", "1-2 mm", "- mm", "1.2.3 mm"] {
            assert_eq!(length(text), Err(NotMeasured::NoNumber), "{text}");
        }
        let endless = format!("{} mm", "9".repeat(400));
        assert_eq!(length(&endless), Err(NotMeasured::NoNumber));
        assert_eq!(degrees("30 rad").err(), unknown("30", "rad").err());
    }
}
