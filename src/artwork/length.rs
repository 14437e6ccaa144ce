//! Lengths as artwork writes them.
//!
//! The table of units is CSS Values and Units Level 4, sections 5.1 (relative) and 6.2 (absolute:
//! 1 in = 2.54 cm = 25.4 mm = 101.6 Q = 72 pt = 6 pc = 96 px).

use crate::ids::At;
use crate::units::MM_PER_INCH;

/// User units in an inch by CSS: one user unit is one `px`, and 96 of them make an inch.
pub(crate) const CSS_UNITS_PER_INCH: f64 = 96.0;

/// How the sender reads lengths of the root element.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RootUnits {
    /// How many lengths without a unit make an inch.
    pub per_inch: f64,
    /// How many `px` make an inch; `None` if that is not stated.
    pub px_per_inch: Option<f64>,
}

impl RootUnits {
    /// As CSS reads them: 96 to an inch, with and without `px`.
    pub const CSS: Self = Self {
        per_inch: CSS_UNITS_PER_INCH,
        px_per_inch: None,
    };

    /// How many `px` make an inch; `None` where senders differ and nothing is stated: to a sender that
    /// counts 72 units to an inch, a pixel may be such a unit or 1/96 in (common practice, no source).
    pub fn px(self) -> Option<f64> {
        let css = (self.per_inch - CSS_UNITS_PER_INCH).abs() < 1e-9;
        self.px_per_inch.or(css.then_some(CSS_UNITS_PER_INCH))
    }
}

/// What relative units refer to. `None` if that is not known: the length is then an error, never a
/// guess.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LengthContext {
    /// User units in an inch: 96 inside a file, whatever the sender does with the root.
    pub units_per_inch: f64,
    /// Size of the font, for `em`, in user units.
    pub font_size: Option<f64>,
    /// Size of the root's font, for `rem`, in user units.
    pub root_font_size: Option<f64>,
    /// Height of a small x, for `ex`, in user units. Only a face knows it.
    pub x_height: Option<f64>,
    /// Advance of a zero, for `ch`, in user units. Only a face knows it.
    pub zero_width: Option<f64>,
    /// What 100 % stands for, in user units.
    pub whole: Option<f64>,
}

impl Default for LengthContext {
    fn default() -> Self {
        Self {
            units_per_inch: CSS_UNITS_PER_INCH,
            font_size: None,
            root_font_size: None,
            x_height: None,
            zero_width: None,
            whole: None,
        }
    }
}

/// Why a length could not be read. Each is a sentence about the text, without a full stop.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LengthError {
    /// Nothing there.
    #[error("the length is empty")]
    Empty,
    /// It does not begin with a number.
    #[error("\"{0}\" is not a length")]
    NotANumber(String),
    /// White space between number and unit: some readers take the unit, some ignore it.
    #[error("\"{0}\" has a space between the number and its unit")]
    Spaced(String),
    /// Text after the number that is no unit.
    #[error("\"{0}\" has a unit that is not known")]
    UnknownUnit(String),
    /// A unit that depends on something that is not known here.
    #[error(
        "\"{0}\" depends on the window, the face or the size around it, which the file does not settle"
    )]
    Unsettled(String),
    /// `calc()` and its like.
    #[error("\"{0}\" is a calculation")]
    Calculation(String),
    /// Too large for a number.
    #[error("\"{0}\" is beyond what can be measured")]
    OutOfRange(String),
}

/// Reads a length in user units.
///
/// A bare number counts user units. Units are read in any case (CSS keywords are). A sign is kept:
/// whether a length may be negative is for the caller to say.
///
/// # Errors
///
/// Not a number, a unit that no reader knows, or a length larger than any bed.
pub fn length(text: &str, context: &LengthContext) -> Result<f64, LengthError> {
    let (number, unit) = split(text)?;
    let shown = || crate::wording::short(text);
    let inch = context.units_per_inch;
    let settled = |size: Option<f64>| size.ok_or_else(|| LengthError::Unsettled(shown()));
    let one = match unit.as_str() {
        "" => 1.0,
        "px" => inch / CSS_UNITS_PER_INCH,
        "%" => settled(context.whole)? / 100.0,
        "em" => settled(context.font_size)?,
        "rem" => settled(context.root_font_size)?,
        "ex" => settled(context.x_height)?,
        "ch" => settled(context.zero_width)?,
        other => match inches(other) {
            Some(inches) => inches * inch,
            None if UNSETTLED.contains(&other) => return Err(LengthError::Unsettled(shown())),
            None => return Err(LengthError::UnknownUnit(shown())),
        },
    };
    let value = number * one;
    if value.is_finite() {
        Ok(value)
    } else {
        Err(LengthError::OutOfRange(shown()))
    }
}

/// A size of the root element, `width` or `height`.
#[derive(Debug, Clone, PartialEq)]
pub enum RootLength {
    /// A physical size, in millimetres; never negative, zero where the file says zero.
    Mm(f64),
    /// A share of a window that the file does not know: no physical size.
    Percent(f64),
    /// A length in `px`, in millimetres by CSS (1/96 in), where the sender may read `px` otherwise:
    /// see [`RootUnits::px`].
    Px(f64),
    /// What could not be read, as a sentence without a full stop.
    Unread(String),
}

/// Reads a size of the root element.
///
/// A bare number counts the sender's units. `px` is 1/96 in (CSS Values and Units 4, section 6.2)
/// unless the sender is known to read it otherwise. `auto` is 100 % (SVG 2, section 8.1). `em` and its
/// like have nothing to refer to at the root and are not read.
pub fn root_length(text: &str, units: RootUnits) -> RootLength {
    if text.trim_matches(is_space).eq_ignore_ascii_case("auto") {
        return RootLength::Percent(100.0);
    }
    let (number, unit) = match split(text) {
        Ok(read) => read,
        Err(error) => return RootLength::Unread(error.to_string()),
    };
    if number < 0.0 {
        return RootLength::Unread(format!(
            "\"{}\" is a negative size",
            crate::wording::short(text)
        ));
    }
    let mm = match unit.as_str() {
        "%" => return RootLength::Percent(number),
        "" => number / units.per_inch * MM_PER_INCH,
        "px" => number / units.px().unwrap_or(CSS_UNITS_PER_INCH) * MM_PER_INCH,
        other => match inches(other) {
            Some(inches) => number * inches * MM_PER_INCH,
            None => {
                return RootLength::Unread(format!(
                    "\"{}\" is in a unit that has no size of its own",
                    crate::wording::short(text)
                ));
            }
        },
    };
    if !mm.is_finite() {
        RootLength::Unread(LengthError::OutOfRange(crate::wording::short(text)).to_string())
    } else if unit == "px" && units.px().is_none() {
        RootLength::Px(mm)
    } else {
        RootLength::Mm(mm)
    }
}

/// Reads a plain number: the whole text, with white space around it at most.
pub fn number(text: &str) -> Option<f64> {
    match split(text) {
        Ok((value, unit)) if unit.is_empty() => Some(value),
        _ => None,
    }
}

/// The part of a list of numbers that every reader reads alike, and whether anything is left.
///
/// A digit must follow the point in SVG 2 and CSS; SVG 1.1 let it be the last sign of a number, and
/// so some readers read `400.` and others stop there.
pub(crate) fn sound_numbers(text: &str) -> (&str, bool) {
    let bytes = text.as_bytes();
    let bare = |at: &usize| !bytes.get(at + 1).is_some_and(u8::is_ascii_digit);
    match memchr::memchr_iter(b'.', bytes).find(bare) {
        None => (text, false),
        Some(at) => {
            // The digits before the point are left out too.
            let digits = |b: &&u8| b.is_ascii_digit() || matches!(b, b'+' | b'-');
            let number = bytes.iter().take(at).rev().take_while(digits).count();
            (text.at(..at - number), true)
        }
    }
}

/// Inches in an absolute unit; CSS Values 4, section 6.2. `px` is left out on purpose: at the root
/// senders differ about it.
fn inches(unit: &str) -> Option<f64> {
    Some(match unit {
        "in" => 1.0,
        "cm" => 10.0 / MM_PER_INCH,
        "mm" => 1.0 / MM_PER_INCH,
        "q" => 0.25 / MM_PER_INCH,
        "pt" => 1.0 / 72.0,
        "pc" => 1.0 / 6.0,
        _ => return None,
    })
}

/// Units of CSS Values 4, sections 5.1 and 5.2, that a file alone does not settle.
const UNSETTLED: [&str; 36] = [
    "cap", "ic", "lh", "rlh", "rex", "rcap", "rch", "ric", "vw", "vh", "vi", "vb", "vmin", "vmax",
    "svw", "svh", "svi", "svb", "svmin", "svmax", "lvw", "lvh", "lvi", "lvb", "lvmin", "lvmax",
    "dvw", "dvh", "dvi", "dvb", "dvmin", "dvmax", "cqw", "cqh", "cqi", "cqb",
];

/// White space of XML and CSS, which does not include the no-break space.
pub(crate) fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\n' | '\r' | '\x0c')
}

/// Splits a text into its number and its unit in lower case ("" for none, "%" for percent).
fn split(text: &str) -> Result<(f64, String), LengthError> {
    let text = text.trim_matches(is_space);
    if text.is_empty() {
        return Err(LengthError::Empty);
    }
    let Some(end) = number_end(text) else {
        let function = text.strip_suffix(')').and_then(|rest| rest.split_once('('));
        return Err(match function {
            Some((name, _))
                if !name.is_empty()
                    && name.bytes().all(|b| b.is_ascii_alphabetic() || b == b'-') =>
            {
                LengthError::Calculation(crate::wording::short(text))
            }
            _ => LengthError::NotANumber(crate::wording::short(text)),
        });
    };
    let (digits, unit) = text.split_at(end);
    let value: f64 = digits
        .parse()
        .map_err(|_| LengthError::NotANumber(crate::wording::short(text)))?;
    if !value.is_finite() {
        return Err(LengthError::OutOfRange(crate::wording::short(text)));
    }
    if unit.starts_with(is_space) {
        let rest = unit.trim_start_matches(is_space);
        let unit_like = rest == "%" || rest.bytes().all(|b| b.is_ascii_alphabetic());
        let text = crate::wording::short(text);
        return Err(if unit_like {
            LengthError::Spaced(text)
        } else {
            LengthError::UnknownUnit(text)
        });
    }
    if unit == "%" || unit.bytes().all(|b| b.is_ascii_alphabetic()) {
        Ok((value, unit.to_ascii_lowercase()))
    } else {
        Err(LengthError::UnknownUnit(crate::wording::short(text)))
    }
}

/// Where the number at the start of a text ends: CSS Syntax 3, section 4.3.12 (a digit must follow
/// the point, and an `e` is an exponent only if digits follow it, so that `1em` has a unit).
pub(crate) fn number_end(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let at = |i: usize| bytes.get(i).copied().unwrap_or(0);
    let digits = |mut i: usize| {
        while at(i).is_ascii_digit() {
            i += 1;
        }
        i
    };
    let start = usize::from(matches!(at(0), b'+' | b'-'));
    let mut end = digits(start);
    if at(end) == b'.' && at(end + 1).is_ascii_digit() {
        end = digits(end + 1);
    }
    if end == start {
        return None;
    }
    if matches!(at(end), b'e' | b'E') {
        let exponent = end + 1 + usize::from(matches!(at(end + 1), b'+' | b'-'));
        if at(exponent).is_ascii_digit() {
            end = digits(exponent);
        }
    }
    Some(end)
}
