//! Which way a script runs, and whether its letters stand apart.

/// Whether letter spacing applies: not in scripts whose letters join (CSS Text 3, section 8.2.1; the
/// blocks of Arabic, Syriac, `N'Ko`, Mandaic, Mongolian, Phags-pa, Devanagari, Bengali and Gurmukhi).
pub(super) fn spaces_out(c: char) -> bool {
    !matches!(c, '\u{600}'..='\u{77F}' | '\u{7C0}'..='\u{7FF}' | '\u{840}'..='\u{8FF}'
        | '\u{900}'..='\u{A7F}' | '\u{1800}'..='\u{18AF}' | '\u{A840}'..='\u{A87F}'
        | '\u{FB50}'..='\u{FDFF}' | '\u{FE70}'..='\u{FEFC}')
}

/// Whether a character belongs to a script that runs to the left.
pub(super) fn right_to_left(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8FF}' | '\u{FB1D}'..='\u{FDFF}' | '\u{FE70}'..='\u{FEFC}'
        | '\u{10800}'..='\u{10FFF}' | '\u{1E800}'..='\u{1EFFF}')
}
