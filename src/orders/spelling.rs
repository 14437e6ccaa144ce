//! When are two spellings one name, and when is one likely a slip of the other?

use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

use crate::ids::At;
use crate::paths::disturbs;

/// The form in which names are compared: Unicode NFC, white space folded, apostrophes and hyphens
/// of every make alike; without capitals unless `exact_case`.
///
/// Capitals are folded letter by letter (simple case folding, Unicode Character Database,
/// `CaseFolding.txt`, status C and S): the two small sigmas are one, but Strauß and Strauss are two
/// people, and so are Işıl and Isil.
///
/// Editors turn ' into ’ while people type, and nobody orders one or the other.
pub(crate) fn fold(text: &str, exact_case: bool) -> String {
    let plain: String = spaced(text)
        .chars()
        .map(|c| match c {
            '\u{2018}' | '\u{2019}' | '\u{02bc}' | '\u{00b4}' | '`' => '\'',
            '\u{2010}' | '\u{2011}' | '\u{fe63}' | '\u{ff0d}' | '\u{2043}' => '-',
            other => other,
        })
        .collect();
    if exact_case {
        plain
    } else {
        let folded = |c: char| {
            unicode_case_mapping::case_folded(c)
                .and_then(|folded| char::from_u32(folded.get()))
                .unwrap_or(c)
        };
        plain.chars().map(folded).nfc().collect()
    }
}

/// The text in NFC with white space folded and characters without any width left out.
pub(crate) fn spaced(text: &str) -> String {
    let visible: String = text
        .nfc()
        .filter(|c| !matches!(c, '\u{200b}' | '\u{2060}' | '\u{feff}' | '\u{00ad}'))
        .collect();
    visible.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// How one spelling differs from another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// In capitals only.
    Case,
    /// In accents only, capitals aside.
    Accents,
    /// In letters that capitals write as two, ß and ss.
    Sharp,
    /// In spaces, hyphens or full stops only.
    Spaces,
    /// In other forms of the same letters, or in characters that do not show.
    Forms,
    /// By one letter: another one, one more, one less, or two swapped.
    Letter,
}

impl Slip {
    /// In words, after "differ".
    pub fn words(self) -> &'static str {
        match self {
            Self::Case => "in capitals",
            Self::Accents => "in accents",
            Self::Sharp => "in letters that are the same in capitals, as ß and ss are",
            Self::Spaces => "in spaces or hyphens",
            Self::Forms => "in characters that look alike or do not show",
            Self::Letter => "by one letter",
        }
    }
}

/// Names shorter than this, in letters, are not compared letter by letter: "Bo" and "Jo" are two people.
const SHORTEST: usize = 3;

/// A text with the forms in which it is compared, worked out once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Spelling {
    /// As written, spaces folded.
    pub text: String,
    exact: String,
    any: String,
    bare: Vec<char>,
    solid: String,
    plain: String,
}

impl Spelling {
    /// Prepares a text for comparing.
    pub(crate) fn new(text: &str) -> Self {
        let any = fold(text, false);
        Self {
            text: spaced(text),
            exact: fold(text, true),
            bare: bare(&any).chars().collect(),
            solid: any
                .chars()
                .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '.') && !is_dash(*c))
                .collect(),
            plain: any
                .nfkd()
                .filter(|c| !is_combining_mark(*c) && !disturbs(*c))
                .collect(),
            any,
        }
    }

    /// The form that decides whether two texts are one name.
    pub(crate) fn key(&self, exact_case: bool) -> &str {
        if exact_case { &self.exact } else { &self.any }
    }

    /// The text in capitals, where it is written in capitals throughout: there ß is SS by the rules of
    /// spelling, and STRAUSS is Strauß as well as Strauss.
    pub(crate) fn capitals(&self) -> Option<String> {
        let capitals = self.exact.to_uppercase();
        (capitals == self.exact).then_some(capitals)
    }

    /// Whether this is likely meant to be `other`, and how they differ. `None` for equal texts and
    /// for different names.
    pub(crate) fn slip(&self, other: &Self) -> Option<Slip> {
        if self.exact == other.exact {
            return None;
        }
        if self.any == other.any {
            return Some(Slip::Case);
        }
        if self.bare == other.bare {
            return Some(Slip::Accents);
        }
        if self.any.to_uppercase() == other.any.to_uppercase() {
            return Some(Slip::Sharp);
        }
        if self.solid == other.solid {
            return Some(Slip::Spaces);
        }
        if self.plain == other.plain {
            return Some(Slip::Forms);
        }
        let (a, b) = (&self.bare, &other.bare);
        (a.len().max(b.len()) >= SHORTEST && one_apart(a, b)).then_some(Slip::Letter)
    }
}

/// Dashes, which editors put where a hyphen was typed.
fn is_dash(c: char) -> bool {
    matches!(c, '\u{2012}'..='\u{2015}' | '\u{2212}' | '\u{fe58}')
}

/// Without accents.
fn bare(text: &str) -> String {
    text.nfd().filter(|c| !is_combining_mark(*c)).collect()
}

/// Whether one letter more, less, other, or two neighbours swapped makes one of the other.
fn one_apart(a: &[char], b: &[char]) -> bool {
    let front = a.iter().zip(b).take_while(|(x, y)| x == y).count();
    let (a, b) = (a.at(front..), b.at(front..));
    let back = a
        .iter()
        .rev()
        .zip(b.iter().rev())
        .take_while(|(x, y)| x == y)
        .count();
    match (a.at(..a.len() - back), b.at(..b.len() - back)) {
        ([], [_]) | ([_], [] | [_]) => true,
        ([p, q], [r, s]) => p == s && q == r,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slip(a: &str, b: &str) -> Option<Slip> {
        Spelling::new(a).slip(&Spelling::new(b))
    }

    #[test]
    fn twins_are_one_name() {
        for (a, b) in [
            ("Zo\u{eb}", "Zoe\u{308}"),
            ("Ada  Lee", " Ada\u{a0}Lee\n"),
            ("O'Hara", "O\u{2019}Hara"),
            ("Lee-Ann", "Lee\u{2010}Ann"),
            ("A\u{ad}da", "Ada"),
        ] {
            assert_eq!(fold(a, true), fold(b, true), "{a} {b}");
            assert_eq!(slip(a, b), None, "{a} {b}");
        }
        for (a, b) in [("Strauß", "Strauss"), ("Weiß", "WEISS"), ("Işıl", "Isil")] {
            assert_ne!(fold(a, false), fold(b, false), "{a} {b}");
        }
        for (a, b) in [("GROẞ", "groß"), ("ΑΘΗΝΑΣ", "αθηνας"), ("ÉLODIE", "élodie")]
        {
            assert_eq!(fold(a, false), fold(b, false), "{a} {b}");
        }
        assert_eq!(
            fold("ΝΙΚΟΣ", false),
            fold("Νίκος".replace('ί', "ι").as_str(), false)
        );
        assert_ne!(fold("ANNA", true), fold("Anna", true));
        assert_ne!(fold("Zoe", false), fold("Zo\u{eb}", false));
    }

    #[test]
    fn slips_are_told_from_other_names() {
        for (a, b, expected) in [
            ("ANNA", "Anna", Some(Slip::Case)),
            ("Strauß", "Strauss", Some(Slip::Sharp)),
            ("Zoe", "Zo\u{eb}", Some(Slip::Accents)),
            ("Leeann", "Lee-Ann", Some(Slip::Spaces)),
            ("Lee\u{2013}Ann", "Lee-Ann", Some(Slip::Spaces)),
            ("Lee\u{2014}Ann", "Lee\u{2010}Ann", Some(Slip::Spaces)),
            ("\u{fb01}ona", "Fiona", Some(Slip::Sharp)),
            ("\u{133}sbrand", "ijsbrand", Some(Slip::Forms)),
            ("\u{ff21}\u{ff44}\u{ff41}", "Ada", Some(Slip::Forms)),
            ("A\u{200d}d\u{200c}a", "Ada", Some(Slip::Forms)),
            ("Jhon", "John", Some(Slip::Letter)),
            ("Jon", "John", Some(Slip::Letter)),
            ("Johnn", "John", Some(Slip::Letter)),
            ("Joan", "John", Some(Slip::Letter)),
            ("Jane", "John", None),
            ("Nhoj", "John", None),
            ("Bo", "Jo", None),
            ("Eli", "Elias", None),
            ("", "Bo", None),
        ] {
            assert_eq!(slip(a, b), expected, "{a} {b}");
            assert_eq!(slip(b, a), expected, "{b} {a}");
        }
    }
}
