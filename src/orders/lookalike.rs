//! Says which letters of a word are of another script than they seem, so that a message can set two words side by
//! side that look the same.

use std::collections::BTreeMap;

use unicode_normalization::UnicodeNormalization as _;

use super::spelling::spaced;
use crate::paths::disturbs;
use crate::wording::listed;

/// Letters of one kind that are shown in a message: enough to find them by.
const SHOWN: usize = 3;

/// What to add to a message that shows what stands in a run beside what the list has: nothing where both
/// are of one script, else a part of the sentence that begins with a semicolon.
pub(crate) fn pair(run: &str, list: &str) -> String {
    let of = |text: &str, beside: &str| strange(text, main_script(beside), beside);
    said("in the run", &of(run, list)) + &said("in the list", &of(list, run))
}

/// The same for a word alone, where `others` are all that it was compared with.
pub(crate) fn alone<'t>(word: &str, others: impl Iterator<Item = &'t str>) -> String {
    let others: String = others.collect();
    let (own, theirs) = (scripts(word), scripts(&others));
    let usual = match main_script(&others) {
        // Its letters are of one script, and others have it too.
        Some(_) if own.len() < 2 && own.keys().all(|s| theirs.contains_key(s)) => None,
        Some(main) if own.len() < 2 || own.contains_key(main) => Some(main),
        _ => main_script(word),
    };
    said("in it", &strange(word, usual, &others))
}

/// The characters of `text` that are not what they seem: each description with the characters it is of.
fn strange(text: &str, usual: Option<&str>, beside: &str) -> Vec<(String, Vec<char>)> {
    let mut out: Vec<(String, Vec<char>)> = Vec::new();
    for c in spaced(text).chars() {
        let what = if disturbs(c) && !beside.contains(c) {
            HIDDEN.to_owned()
        } else if let Some(plain) = plain_form(c).filter(|_| !beside.contains(c)) {
            format!("another form of \"{plain}\"")
        } else if let Some(script) = script(c).filter(|s| usual.is_some_and(|u| u != *s)) {
            script.to_owned()
        } else {
            continue;
        };
        match out.iter_mut().find(|(w, _)| *w == what) {
            Some((_, all)) if all.contains(&c) => {}
            Some((_, all)) => all.push(c),
            None => out.push((what, vec![c])),
        }
    }
    out
}

/// What is strange about a character without any width.
const HIDDEN: &str = "a character that does not show";

/// "; in the list, "о" is Cyrillic (U+043E)".
fn said(whose: &str, strange: &[(String, Vec<char>)]) -> String {
    let one = |(what, all): &(String, Vec<char>)| {
        let more = all.len() > SHOWN;
        let shown = || all.iter().take(SHOWN);
        let mut codes: Vec<String> = shown()
            .map(|c| format!("U+{:04X}", u32::from(*c)))
            .collect();
        let mut letters: Vec<String> = shown().map(|c| format!("\"{c}\"")).collect();
        if more {
            codes.push("…".to_owned());
            letters.push("others".to_owned());
        }
        let codes = codes.join(", ");
        if what == HIDDEN {
            return format!("there is {HIDDEN} ({codes})");
        }
        let letters: Vec<&str> = letters.iter().map(String::as_str).collect();
        let verb = if all.len() > 1 { "are" } else { "is" };
        format!("{} {verb} {what} ({codes})", listed(&letters, "and"))
    };
    if strange.is_empty() {
        return String::new();
    }
    let parts: Vec<String> = strange.iter().map(one).collect();
    let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
    format!("; {whose}, {}", listed(&parts, "and"))
}

/// The usual letters that a compatibility form of them stands for, such as a full-width one (Unicode Normalization
/// Forms, UAX 15).
fn plain_form(c: char) -> Option<String> {
    let plain: String = std::iter::once(c).nfkc().collect();
    (c.is_alphanumeric() && !std::iter::once(c).nfc().eq(plain.chars())).then_some(plain)
}

/// How many letters of each script a text has.
fn scripts(text: &str) -> BTreeMap<&'static str, usize> {
    let mut count = BTreeMap::new();
    for script in spaced(text).chars().filter_map(script) {
        *count.entry(script).or_default() += 1;
    }
    count
}

/// The script that most letters of a text are of; of two, the one that comes last in the alphabet: Latin before Greek
/// and Cyrillic.
fn main_script(text: &str) -> Option<&'static str> {
    let all = scripts(text).into_iter();
    all.max_by_key(|(_, count)| *count)
        .map(|(script, _)| script)
}

/// The script of a letter, for the scripts that share shapes with each other (The Unicode Standard, `Blocks.txt`).
fn script(c: char) -> Option<&'static str> {
    let script = match u32::from(c) {
        0x41..=0x24f | 0x1e00..=0x1eff | 0x2c60..=0x2c7f | 0xa720..=0xa7ff => "Latin",
        0x370..=0x3ff | 0x1f00..=0x1fff => "Greek",
        0x400..=0x52f | 0x1c80..=0x1c8f | 0xa640..=0xa69f => "Cyrillic",
        0x530..=0x58f => "Armenian",
        0x10a0..=0x10ff | 0x1c90..=0x1cbf | 0x2d00..=0x2d2f => "Georgian",
        0x13a0..=0x13ff | 0xab70..=0xabbf => "Cherokee",
        0x2c80..=0x2cff => "Coptic",
        0xa4d0..=0xa4ff => "Lisu",
        _ => return None,
    };
    c.is_alphabetic().then_some(script)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_of_another_script_is_named_on_its_side() {
        let of = pair;
        assert_eq!(
            of("Sorrel", "S\u{43e}rrel"),
            "; in the list, \"\u{43e}\" is Cyrillic (U+043E)"
        );
        assert_eq!(
            of("S\u{43e}rrel", "Sorr\u{435}l"),
            "; in the run, \"\u{43e}\" is Cyrillic (U+043E); in the list, \"\u{435}\" is Cyrillic (U+0435)"
        );
        assert_eq!(
            of("Sor\u{200d}rel", "\u{ff33}\u{ff4f}rrel"),
            "; in the run, there is a character that does not show (U+200D); in the list, \"\u{ff33}\" is another form of \"S\" (U+FF33) and \"\u{ff4f}\" is another form of \"o\" (U+FF4F)"
        );
        assert_eq!(of("Zoe 2", "Zo\u{eb} 3"), "");
        assert_eq!(
            of("\u{418}\u{432}\u{430}\u{43d}", "\u{418}\u{432}\u{430}"),
            ""
        );
    }

    #[test]
    fn a_word_alone_is_beside_all_others() {
        let latin = || ["Ada", "Sorrel"].into_iter();
        let both = || ["Ada", "\u{418}\u{432}\u{430}\u{43d}"].into_iter();
        let cyrillic = "\u{410}\u{41d}\u{41d}\u{410}";
        assert_eq!(
            alone(cyrillic, latin()),
            "; in it, \"\u{410}\" and \"\u{41d}\" are Cyrillic (U+0410, U+041D)"
        );
        assert_eq!(alone(cyrillic, both()), "");
        // Of two scripts, whatever the others are of.
        for others in [latin().collect::<Vec<_>>(), vec!["\u{418}\u{432}"], vec![]] {
            let told = alone("A\u{41d}\u{41d}A", others.into_iter());
            assert!(told.contains("(U+"), "{told}");
        }
        assert_eq!(alone("Olga", latin()), "");
        assert_eq!(alone("Olga", std::iter::empty()), "");
    }
}
