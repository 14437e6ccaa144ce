//! Text for a terminal: wrapped to its width, harmless whatever a file put into it, in plain ASCII
//! or with colour where asked.
//!
//! Colour is laid over finished lines and carries no meaning of its own: without it the text is the
//! same, letter for letter.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

pub(crate) use crate::paths::disturbs;

/// The screen that text is set for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    /// Columns. Designed for 60 and more; less than 40 is taken as 40.
    pub width: usize,
    /// False: nothing but ASCII.
    pub unicode: bool,
    /// Whether it may be coloured.
    pub colour: bool,
}

/// What a piece of text is, for its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Running text.
    Plain,
    /// Words that stand out.
    Strong,
    /// What stops a send.
    Hold,
    /// What asks for a look.
    Caution,
    /// What is in order.
    Clear,
    /// What may be skipped.
    Faint,
    /// Words as they are typed: names, settings.
    Typed,
}

impl Ink {
    /// The select-graphic-rendition parameter of ECMA-48, section 8.3.117, with the colours that
    /// every terminal lets its owner choose.
    fn code(self) -> Option<&'static str> {
        match self {
            Self::Plain => None,
            Self::Strong => Some("1"),
            Self::Hold => Some("1;31"),
            Self::Caution => Some("1;33"),
            Self::Clear => Some("1;32"),
            Self::Faint => Some("2"),
            Self::Typed => Some("36"),
        }
    }
}

/// A word to be set: pieces without a break between them.
type Word = Vec<(Ink, String)>;

/// A space that no line breaks at.
const FIXED_SPACE: char = '\u{a0}';

impl Screen {
    /// Columns to set in.
    pub fn columns(&self) -> usize {
        self.width.max(40)
    }

    /// `pieces` as lines no wider than the screen, each ending with a line break. The first line
    /// begins with `first`, the others with `rest`; both must be clean already and narrow.
    ///
    /// Spaces in the pieces, line breaks among them, are where lines may break; a number stays with
    /// its unit. A word wider than a line is broken where the line ends.
    pub fn set(&self, first: &str, rest: &str, pieces: &[(Ink, &str)]) -> String {
        let mut out = String::new();
        let mut line = first.to_owned();
        let mut used = columns(first);
        let mut fresh = true;
        for word in self.words(pieces) {
            let wide: usize = word.iter().map(|(_, t)| columns(t)).sum();
            if !fresh && used + 1 + wide > self.columns() {
                out.push_str(line.trim_end());
                out.push('\n');
                rest.clone_into(&mut line);
                used = columns(rest);
                fresh = true;
            }
            if !fresh {
                line.push(' ');
                used += 1;
            }
            for (ink, text) in &word {
                let mut part = String::new();
                for c in text.chars() {
                    let w = c.width().unwrap_or(0);
                    if used + w > self.columns() {
                        line.push_str(&self.paint(*ink, part.trim_end()));
                        part.clear();
                        out.push_str(line.trim_end());
                        out.push('\n');
                        rest.clone_into(&mut line);
                        used = columns(rest);
                    }
                    part.push(if c == FIXED_SPACE { ' ' } else { c });
                    used += w;
                }
                line.push_str(&self.paint(*ink, &part));
            }
            fresh = false;
        }
        out.push_str(line.trim_end());
        out.push('\n');
        out
    }

    /// The words of `pieces`, cleaned; pieces that touch without a space make one word.
    fn words(&self, pieces: &[(Ink, &str)]) -> Vec<Word> {
        let mut words: Vec<Word> = Vec::new();
        let mut open = false;
        for (ink, text) in pieces {
            for (i, part) in text.split([' ', '\t', '\n', '\r']).enumerate() {
                open = open && i == 0;
                if part.is_empty() {
                    continue;
                }
                let part = self.clean(part);
                // A sign that is a word in ASCII, such as "deg", may bring its own space.
                let part = part.replace(' ', &FIXED_SPACE.to_string());
                match words.last_mut() {
                    Some(word) if open => word.push((*ink, part)),
                    Some(word) if stays_together(word, &part) => {
                        word.push((*ink, format!("{FIXED_SPACE}{part}")));
                    }
                    _ => words.push(vec![(*ink, part)]),
                }
                open = true;
            }
        }
        words
    }

    /// `text` in the colour of `ink`.
    pub fn paint(&self, ink: Ink, text: &str) -> String {
        match ink.code() {
            Some(code) if self.colour && !text.is_empty() => format!("\x1b[{code}m{text}\x1b[0m"),
            _ => text.to_owned(),
        }
    }

    /// `text` with nothing in it that could move the cursor, hide or reorder other text; in ASCII
    /// where the screen asks for it. Such characters are written out as `\u{1b}`.
    pub fn clean(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        for c in text.chars() {
            match c {
                '\n' | '\r' | '\t' => out.push(' '),
                c if disturbs(c) => out.extend(c.escape_unicode()),
                c if c.is_ascii() || (self.unicode && c != FIXED_SPACE) => out.push(c),
                FIXED_SPACE => out.push(' '),
                // "3.5°" reads "3.5 deg", as people type it.
                '°' => out.push_str(" deg"),
                c => match plain(c) {
                    Some(ascii) => out.push_str(ascii),
                    None => out.extend(c.escape_unicode()),
                },
            }
        }
        out
    }

    /// The arrow before a remedy.
    pub fn arrow(&self) -> &'static str {
        if self.unicode { "→" } else { "->" }
    }

    /// The mark where something was left out.
    pub fn ellipsis(&self) -> &'static str {
        if self.unicode { "…" } else { "..." }
    }
}

/// Columns that `text` takes on a terminal.
pub fn columns(text: &str) -> usize {
    text.width()
}

/// What stands for `c` where only ASCII may be shown.
fn plain(c: char) -> Option<&'static str> {
    Some(match c {
        '×' => "x",
        '–' | '‐' | '‑' | '−' | '·' | '•' => "-",
        '—' => "--",
        '→' => "->",
        '←' => "<-",
        '…' => "...",
        '‘' | '’' | '′' => "'",
        '“' | '”' | '„' | '«' | '»' | '″' => "\"",
        '≤' => "<=",
        '≥' => ">=",
        '≈' => "about",
        '±' => "+/-",
        'µ' | 'μ' => "u",
        _ => return None,
    })
}

/// Whether no line may break before `next`: a unit stays with its number, "28 × 92" in one piece.
fn stays_together(word: &Word, next: &str) -> bool {
    let Some((_, before)) = word.last() else {
        return false;
    };
    let next = next.trim_end_matches([',', ';', '.', ':', ')', '"', '”']);
    let times = [format!("{FIXED_SPACE}×"), format!("{FIXED_SPACE}x")];
    if times.iter().any(|t| before.ends_with(t)) {
        return next.starts_with(|c: char| c.is_ascii_digit());
    }
    before.ends_with(|c: char| c.is_ascii_digit())
        && matches!(
            next,
            "mm" | "in" | "%" | "°" | "deg" | "degrees" | "dpi" | "×" | "x"
        )
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;
    use proptest::prelude::*;

    const WIDE: Screen = Screen {
        width: 40,
        unicode: true,
        colour: false,
    };
    const ASCII: Screen = Screen {
        width: 40,
        unicode: false,
        colour: false,
    };

    proptest! {
        #[test]
        fn whatever_is_set_fits_and_nothing_is_lost(
            pieces in prop::collection::vec(
                (0usize..7, "[a-z0-9 ×°→%\\t\\n木🪡\u{301}\u{a0}\u{1b}\u{9b}\u{202e}-]{0,60}"), 0..6),
            width in 0usize..90,
            unicode: bool,
        ) {
            let inks = [
                Ink::Plain, Ink::Strong, Ink::Hold, Ink::Caution, Ink::Clear, Ink::Faint, Ink::Typed,
            ];
            let pieces: Vec<(Ink, &str)> = pieces.iter().map(|(i, t)| (inks[*i], t.as_str())).collect();
            let screen = Screen { width, unicode, colour: false };
            let set = screen.set("  1  ", "     ", &pieces);
            for line in set.lines() {
                prop_assert!(columns(line) <= screen.columns(), "{line:?}");
            }
            prop_assert!(unicode || set.is_ascii());
            prop_assert!(!set.chars().any(|c| disturbs(c) && c != '\n'));
            let letters = |t: &str| t.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            let all: String = pieces.iter().map(|(_, t)| screen.clean(t)).collect();
            prop_assert_eq!(letters(&set), format!("1{}", letters(&all)));

            let coloured = Screen { colour: true, ..screen }.set("  1  ", "     ", &pieces);
            let bare = coloured.split('\x1b').enumerate().map(|(i, t)| {
                if i == 0 { t } else { t.split_once('m').unwrap().1 }
            });
            // Spaces at the end of a line may stay inside a coloured piece.
            let bare: String = bare.collect();
            let bare: Vec<&str> = bare.lines().map(str::trim_end).collect();
            prop_assert_eq!(bare, set.lines().collect::<Vec<_>>());
        }
    }

    #[test]
    fn lines_fit_and_numbers_keep_their_units() {
        let text = "the art of this pocket runs exactly 2.4 mm past its zone, which is 28 × 92 mm";
        let set = WIDE.set("  → ", "    ", &[(Ink::Plain, text)]);
        assert_eq!(
            set,
            "  → the art of this pocket runs exactly\n    2.4 mm past its zone, which is\n    28 × 92 mm\n"
        );
    }

    #[test]
    fn a_word_wider_than_the_screen_is_broken() {
        let set = WIDE.set("", "  ", &[(Ink::Plain, &"x".repeat(70))]);
        assert_eq!(set, format!("{}\n  {}\n", "x".repeat(40), "x".repeat(30)));
        let set = WIDE.set("", "", &[(Ink::Plain, &"木".repeat(30))]);
        assert_eq!(set, format!("{}\n{}\n", "木".repeat(20), "木".repeat(10)));
    }

    #[test]
    fn what_a_file_says_cannot_steer_the_terminal() {
        assert_eq!(WIDE.clean("a\x1b[2Jb"), "a\\u{1b}[2Jb");
        assert_eq!(WIDE.clean("Zoë\u{202e}ffo"), "Zoë\\u{202e}ffo");
        assert_eq!(WIDE.clean("two\nlines\tand"), "two lines and");
        assert!(disturbs('\u{9b}'), "the C1 control sequence introducer");
    }

    #[test]
    fn ascii_stays_readable() {
        assert_eq!(
            ASCII.clean("3.5° on 28 × 92 mm, A1–A4 → “turn”"),
            "3.5 deg on 28 x 92 mm, A1-A4 -> \"turn\""
        );
        assert_eq!(ASCII.clean("Zoë"), "Zo\\u{eb}");
    }

    #[test]
    fn colour_adds_nothing_but_colour() {
        let pieces = [
            (Ink::Hold, "HOLD"),
            (Ink::Plain, " a line that is long enough to be"),
            (Ink::Typed, " set on two"),
        ];
        let coloured = Screen {
            colour: true,
            ..WIDE
        }
        .set("", "  ", &pieces);
        let bare = ["1;31", "36", "0"].iter().fold(coloured.clone(), |t, c| {
            t.replace(&format!("\x1b[{c}m"), "")
        });
        assert_ne!(coloured, bare);
        assert_eq!(bare, WIDE.set("", "  ", &pieces));
    }
}
