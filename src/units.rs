//! Lengths and angles with their units.
//!
//! Inside the program a length is millimetres and an angle degrees. This page holds the way in
//! (settings and files) and the way out (messages).

/// Millimetres in an inch, exact by the 1959 international yard and pound agreement; CSS Values
/// and Units 4, section 6.2, builds its table on it.
pub const MM_PER_INCH: f64 = 25.4;

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
pub fn angle(degrees: f64) -> String {
    format!("{}°", trimmed(degrees, 1))
}

/// A number with at most `decimals` places and no trailing zeros; never "-0".
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
