//! Words in messages: a text quoted, cut short, listed, begun with a capital, a number with its thing,
//! and the word most likely meant.

/// Longer words are not compared: nobody mistypes a word of this length, and the comparison takes
/// time with the square of it.
const LONGEST: usize = 40;

/// The words of `known` that are close enough to `word` to have been meant, closest first and, at equal
/// distance, in the order of the list. Letter case does not count.
///
/// Distance is the number of letters left out, put in, exchanged or swapped with their neighbour
/// (optimal string alignment; F. J. Damerau, "A technique for computer detection and correction of
/// spelling errors", 1964, names these four slips). A third of the longer word may differ, three letters
/// at most, and one letter of a short word: with more, suggestions turn into guesses; with less,
/// "keepclear" no longer finds "keep-clear". A word that begins with what was typed is close too.
pub(crate) fn near<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let word = word.to_lowercase();
    let length = word.chars().count();
    if length == 0 || length > LONGEST {
        return Vec::new();
    }
    let mut found: Vec<(usize, &str)> = known
        .into_iter()
        .filter_map(|candidate| {
            let other = candidate.to_lowercase();
            let longer = length.max(other.chars().count());
            let begins = length >= 3 && (other.starts_with(&word) || word.starts_with(&other));
            let away = strsim::osa_distance(&word, &other);
            (away <= (longer / 3).clamp(1, 3) || begins).then_some((away, candidate))
        })
        .collect();
    found.sort_by_key(|(away, _)| *away);
    found.into_iter().map(|(_, candidate)| candidate).collect()
}

/// The first of the [`near`] words.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    near(word, known).into_iter().next()
}

/// The longest text that a message shows in full, in characters.
const SHOWN: usize = 40;

/// `text` in quotes for a message: long text cut short, control characters written out, so that no
/// file can make a message unreadable.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for (n, c) in text.chars().enumerate() {
        if n == SHOWN {
            out.push('…');
            break;
        }
        if c.is_control() {
            out.extend(c.escape_debug());
        } else {
            out.push(c);
        }
    }
    out.push('"');
    out
}

/// A text cut to `most` characters for a message, on one line.
pub(crate) fn cut_to(text: &str, most: usize) -> String {
    let mut shown: String = text
        .chars()
        .take(most)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.chars().nth(most).is_some() {
        shown.push('…');
    }
    shown
}

/// `text` as the content of an element or of an attribute in double quotes, in XML and HTML.
pub(crate) fn markup(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// [`markup`] for words that people read. Characters that XML does not have, and those that change the
/// direction of what follows, become U+FFFD; a line break becomes a space.
pub(crate) fn escape(text: &str) -> String {
    let harmless = |c: char| match c {
        '\n' | '\t' => ' ',
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
            '\u{fffd}'
        }
        c if c.is_control() || c > '\u{fffd}' && c <= '\u{ffff}' => '\u{fffd}',
        c => c,
    };
    let text: String = text.chars().map(harmless).collect();
    markup(&text).replace('\'', "&#39;")
}

/// At most forty characters of something written in a file, for a message.
pub(crate) fn short(text: &str) -> String {
    cut_to(text.trim(), SHOWN)
}

/// The text with its first letter in upper case, to begin a sentence.
pub(crate) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|c| c.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}

/// "1 pocket", "2 pockets", "0 pockets": a number with what it counts.
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// "the one pocket", "both pockets", "all 3 pockets": every one of so many things.
pub(crate) fn every(count: usize, one: &str, many: &str) -> String {
    match count {
        1 => format!("the one {one}"),
        2 => format!("both {many}"),
        n => format!("all {n} {many}"),
    }
}

/// "a", "a or b", "a, b or c", with `joint` for "or".
pub(crate) fn listed(words: &[&str], joint: &str) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} {joint} {last}", most.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_near_word_is_suggested() {
        let known = ["width", "height", "keep-clear", "run-out"];
        assert_eq!(nearest("keep_clear", known), Some("keep-clear"));
        assert_eq!(nearest("Widht", known), Some("width"));
        assert_eq!(nearest("colour", known), None);
        assert_eq!(nearest("", known), None);
        assert_eq!(nearest(&"w".repeat(100_000), known), None);
    }

    #[test]
    fn words_that_begin_so_are_offered_after_nearer_ones() {
        let rules = ["doubled", "past-zone", "pocket-added", "pocket-bare"];
        let ask = |word| near(word, rules);
        assert_eq!(ask("past-zoen"), ["past-zone"]);
        assert_eq!(ask("Doubled"), ["doubled"]);
        assert_eq!(ask("pocket"), ["pocket-bare", "pocket-added"]);
        assert_eq!(ask("xyzzy"), Vec::<&str>::new());
    }

    #[test]
    fn one_is_no_plural_and_none_is() {
        let pockets = |n| counted(n, "pocket", "pockets");
        assert_eq!(
            [0, 1, 2].map(pockets),
            ["0 pockets", "1 pocket", "2 pockets"]
        );
        let all = |n| every(n, "pocket", "pockets");
        assert_eq!(
            [1, 2, 3].map(all),
            ["the one pocket", "both pockets", "all 3 pockets"]
        );
    }

    #[test]
    fn words_are_quoted_and_listed() {
        assert_eq!(quoted("left fob"), "\"left fob\"");
        assert_eq!(quoted("a\u{1b}[2J\n"), "\"a\\u{1b}[2J\\n\"");
        assert_eq!(quoted(&"x".repeat(1000)).chars().count(), 43);
        assert_eq!(listed(&[], "or"), "");
        assert_eq!(listed(&["a"], "or"), "a");
        assert_eq!(listed(&["a", "b", "c"], "or"), "a, b or c");
    }

    #[test]
    fn nothing_from_a_file_ends_an_element_or_an_attribute() {
        assert_eq!(
            escape("</style><b a=\"x\" b='y'>&\u{0}\u{202e}\u{ffff}\n"),
            "&lt;/style&gt;&lt;b a=&quot;x&quot; b=&#39;y&#39;&gt;&amp;\u{fffd}\u{fffd}\u{fffd} "
        );
    }
}
