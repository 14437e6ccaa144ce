//! The rules' pages on a terminal.
//!
//! A page is Markdown: `# name`, a line `*weight · summary*`, then chapters under `##`. The pages use
//! only paragraphs, lists, code and emphasis; any other Markdown is shown as written.

use std::cmp::Reverse;

use crate::finding::{Info, Severity};
use crate::typeset::{self, Ink, Screen};
use crate::wording::{listed, near, quoted};

/// A page, split into its parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Page<'a> {
    /// One line: what the rule flags. Empty where the page has none.
    pub summary: &'a str,
    /// What is under the headings, in order.
    pub blocks: Vec<Block>,
}

/// A piece of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Block {
    /// A heading.
    Heading(String),
    /// Running text.
    Paragraph(String),
    /// An entry of a list with its mark, `-` or `2.`.
    Entry(String, String),
}

impl<'a> Page<'a> {
    /// Splits a page into its parts.
    pub(crate) fn read(page: &'a str) -> Self {
        let mut summary = "";
        let mut blocks: Vec<Block> = Vec::new();
        // Whether the next line of text belongs to the last block.
        let mut open = false;
        for line in page.lines() {
            let text = line.trim();
            if text.is_empty() || text.starts_with("# ") {
                open = false;
            } else if let Some(heading) = text.strip_prefix("## ") {
                blocks.push(Block::Heading(heading.to_owned()));
                open = false;
            } else if blocks.is_empty() && summary.is_empty() && text.starts_with('*') {
                let inner = text.trim_matches('*');
                summary = inner.split_once(" · ").map_or(inner, |(_, after)| after);
            } else if let Some((mark, rest)) = list_mark(text) {
                blocks.push(Block::Entry(mark.to_owned(), rest.to_owned()));
                open = true;
            } else {
                match blocks.last_mut() {
                    Some(Block::Paragraph(t) | Block::Entry(_, t)) if open => {
                        t.push(' ');
                        t.push_str(text);
                    }
                    _ => blocks.push(Block::Paragraph(text.to_owned())),
                }
                open = true;
            }
        }
        Self { summary, blocks }
    }

    /// The first paragraph, without marks of emphasis.
    pub(crate) fn opening(&self) -> Option<String> {
        self.blocks.iter().find_map(|b| match b {
            Block::Paragraph(t) => Some(spans(t).into_iter().map(|(_, t)| t).collect()),
            _ => None,
        })
    }
}

/// The mark of a list entry and the text behind it.
fn list_mark(text: &str) -> Option<(&str, &str)> {
    let (mark, rest) = text.split_once(' ')?;
    let number = mark
        .strip_suffix('.')
        .is_some_and(|n| !n.is_empty() && n.len() < 4 && n.bytes().all(|b| b.is_ascii_digit()));
    (number || mark == "-" || mark == "*").then(|| (mark, rest.trim_start()))
}

/// The page of a rule, set for `screen`.
pub(crate) fn page(rule: &Info, screen: &Screen) -> String {
    let page = Page::read(rule.page);
    let weight = weight(rule.severity);
    let title = [(Ink::Strong, rule.name), (Ink::Plain, " · "), weight];
    let mut out = screen.set("", "", &title);
    if !page.summary.is_empty() {
        out.push_str(&set(screen, "", "", page.summary));
    }
    let mut above: Option<&Block> = None;
    for block in &page.blocks {
        // Entries stand close together, text close to its heading, everything else apart.
        let close = match above {
            Some(Block::Heading(_)) => true,
            Some(Block::Entry(..)) => matches!(block, Block::Entry(..)),
            _ => false,
        };
        if !close {
            out.push('\n');
        }
        match block {
            Block::Heading(text) => out.push_str(&screen.set("", "", &[(Ink::Strong, text)])),
            Block::Paragraph(text) => out.push_str(&set(screen, "  ", "  ", text)),
            Block::Entry(mark, text) => {
                let first = format!("  {mark} ");
                let rest = " ".repeat(typeset::columns(&first));
                out.push_str(&set(screen, &first, &rest, text));
            }
        }
        above = Some(block);
    }
    out
}

/// Every rule: name, weight, what it flags.
pub(crate) fn list(rules: &[Info], screen: &Screen) -> String {
    let wide = rules
        .iter()
        .map(|r| typeset::columns(r.name))
        .max()
        .unwrap_or(0);
    let mut out = String::new();
    for rule in rules {
        let (ink, word) = weight(rule.severity);
        let gap = " ".repeat(wide - typeset::columns(rule.name) + 2);
        let first = format!(
            "{}{gap}{}{}",
            screen.paint(Ink::Strong, rule.name),
            screen.paint(ink, word),
            " ".repeat(WEIGHT - word.len()),
        );
        out.push_str(&first);
        let hang = " ".repeat(wide + 2 + WEIGHT);
        let summary = set(screen, &hang, &hang, Page::read(rule.page).summary);
        out.push_str(summary.strip_prefix(&hang).unwrap_or("\n"));
    }
    out
}

/// Columns of the weights in the list: the longest word, "caution", and a gap.
const WEIGHT: usize = 9;

/// The rule called `name`.
///
/// # Errors
///
/// Where there is none: a sentence that says so, with the names that may have been meant.
pub(crate) fn find<'a>(name: &str, rules: &'a [Info]) -> Result<&'a Info, String> {
    if let Some(rule) = rules.iter().find(|r| r.name == name) {
        return Ok(rule);
    }
    let hint = match meant(name, rules).as_slice() {
        [] => "`jigwarden explain` without a name lists them all".to_owned(),
        [one] => format!("the nearest is {one}"),
        many => format!("the nearest are {}", listed(many, "and")),
    };
    Err(format!("there is no rule {}; {hint}", quoted(name)))
}

/// How many rules are offered for a name that is none: more would be a list to search through.
const OFFERED: usize = 3;

/// The rules that may be meant: by their names as a whole; else by a word of their names; else by a word
/// of what they flag; else by one of their pages.
fn meant<'a>(typed: &str, rules: &'a [Info]) -> Vec<&'a str> {
    let words: Vec<String> = typed
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| w.chars().count() >= LEAST)
        .map(str::to_lowercase)
        .collect();
    // How many of the words a rule answers to.
    let spoken = |text: &str| {
        let text = text.to_lowercase();
        let said: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
        let answers = |w: &&String| said.iter().any(|t| t.starts_with(w.as_str()));
        words.iter().filter(answers).count()
    };
    let named = |r: &Info| {
        let answers = |w: &&String| r.name.split('-').any(|part| !near(w, [part]).is_empty());
        words.iter().filter(answers).count()
    };
    let steps: [&dyn Fn(&Info) -> usize; 3] =
        [&named, &|r| spoken(Page::read(r.page).summary), &|r| {
            spoken(r.page)
        }];
    let mut found = near(typed, rules.iter().map(|r| r.name));
    for step in steps {
        if found.is_empty() {
            let mut all: Vec<(usize, &str)> = rules.iter().map(|r| (step(r), r.name)).collect();
            all.retain(|(count, _)| *count > 0);
            all.sort_by_key(|(count, _)| Reverse(*count));
            found = all.into_iter().map(|(_, name)| name).collect();
        }
    }
    found.truncate(OFFERED);
    found
}

/// Shorter words ("to", "of") are in every page.
const LEAST: usize = 3;

fn weight(severity: Severity) -> (Ink, &'static str) {
    let ink = match severity {
        Severity::Hold => Ink::Hold,
        Severity::Caution => Ink::Caution,
        Severity::Note => Ink::Plain,
    };
    (ink, severity.word())
}

/// Sets text with its marks of emphasis turned into ink.
fn set(screen: &Screen, first: &str, rest: &str, text: &str) -> String {
    let spans = spans(text);
    let pieces: Vec<(Ink, &str)> = spans.iter().map(|(ink, t)| (*ink, t.as_str())).collect();
    screen.set(first, rest, &pieces)
}

/// Splits text at its marks. `*this*` and `**this**` are emphasised and lose their asterisks; code
/// keeps its backquotes, so that a setting can be told from a plain word without colour.
pub(crate) fn spans(text: &str) -> Vec<(Ink, String)> {
    let mut out: Vec<(Ink, String)> = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find(['`', '*']) {
        let (before, marked) = rest.split_at(at);
        push(&mut out, Ink::Plain, before);
        let found = span(marked);
        if let Some((ink, inner, length)) = found {
            push(&mut out, ink, inner);
            rest = marked.get(length..).unwrap_or_default();
        } else {
            let (sign, after) = marked.split_at(1);
            push(&mut out, Ink::Plain, sign);
            rest = after;
        }
    }
    push(&mut out, Ink::Plain, rest);
    out
}

/// The marked span that `text` begins with: its ink, what is shown, and its length in bytes.
fn span(text: &str) -> Option<(Ink, &str, usize)> {
    if let Some(inner) = text.strip_prefix('`') {
        let end = inner.find('`')? + 2;
        return Some((Ink::Typed, text.get(..end)?, end));
    }
    let stars = if text.starts_with("**") { "**" } else { "*" };
    let inner = text.strip_prefix(stars)?;
    let end = inner.find(stars)?;
    let words = inner.get(..end)?;
    let tight = !words.is_empty() && !words.starts_with(' ') && !words.ends_with(' ');
    tight.then_some((Ink::Strong, words, end + 2 * stars.len()))
}

fn push(out: &mut Vec<(Ink, String)>, ink: Ink, text: &str) {
    match out.last_mut() {
        Some((same, t)) if *same == ink => t.push_str(text),
        _ if text.is_empty() => {}
        _ => out.push((ink, text.to_owned())),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;
    use crate::finding::Stake;

    const PAGE: &str = "# past-hem\n\n*hold · ink runs past the hem of its patch*\n\n\
        ## What it means\n\nThe hem is where the patch *ends*. Some ink\nruns past it, by more than `[hem] width`.\n\
        A second sentence, 2 * 3 long.\n\n\
        ## Put it right\n\nDo **one** of these:\n\n- Make it smaller, for example \"at 84 %\", which is\n  often enough for short names.\n- Move it.\n\n\
        1. Then look.\n2. Look again.\n\nDone.\n";

    fn rule(name: &'static str, severity: Severity, page: &'static str) -> Info {
        Info {
            name,
            severity,
            stake: Stake::Blank,
            page,
        }
    }

    const SCREEN: Screen = Screen {
        width: 60,
        unicode: true,
        colour: false,
    };

    #[test]
    fn a_page_on_sixty_columns() {
        insta::assert_snapshot!(page(&rule("past-hem", Severity::Hold, PAGE), &SCREEN));
    }

    #[test]
    fn a_page_in_ascii_and_in_colour() {
        let rule = rule("past-hem", Severity::Hold, PAGE);
        assert!(
            page(
                &rule,
                &Screen {
                    unicode: false,
                    ..SCREEN
                }
            )
            .is_ascii()
        );
        let coloured = page(
            &rule,
            &Screen {
                colour: true,
                ..SCREEN
            },
        );
        let bare = ["1;31", "36", "1", "0"]
            .iter()
            .fold(coloured.clone(), |t, c| {
                t.replace(&format!("\x1b[{c}m"), "")
            });
        assert_ne!(coloured, bare);
        assert_eq!(bare, page(&rule, &SCREEN));
    }

    #[test]
    fn the_list_of_rules() {
        let rules = [
            rule("past-hem", Severity::Hold, PAGE),
            rule(
                "a-longer-name",
                Severity::Caution,
                "# a\n\n*caution · one that says so much that it needs a second line to say it all*\n",
            ),
            rule("brief", Severity::Note, "# b\n\n*note · in short*\n"),
            rule("bare", Severity::Hold, ""),
        ];
        insta::assert_snapshot!(list(&rules, &SCREEN), @r"
        past-hem       hold     ink runs past the hem of its patch
        a-longer-name  caution  one that says so much that it needs
                                a second line to say it all
        brief          note     in short
        bare           hold
        ");
    }

    #[test]
    fn a_mistyped_name_is_answered_with_the_nearest() {
        let rules = [
            rule("past-hem", Severity::Hold, ""),
            rule("past-zone", Severity::Hold, ""),
        ];
        assert_eq!(find("past-zone", &rules).unwrap().name, "past-zone");
        assert_eq!(
            find("pasthem", &rules).unwrap_err(),
            "there is no rule \"pasthem\"; the nearest is past-hem"
        );
        assert_eq!(
            find("past", &rules).unwrap_err(),
            "there is no rule \"past\"; the nearest are past-hem and past-zone"
        );
        assert!(
            find("xyzzy", &rules)
                .unwrap_err()
                .contains("lists them all")
        );
    }

    #[test]
    fn stray_marks_are_text() {
        let flat = |t: &str| spans(t).into_iter().map(|(_, t)| t).collect::<String>();
        for text in [
            "2 * 3 * 4",
            "a ` b",
            "[blank] body",
            "*",
            "**",
            "``",
            "[x](y)",
            "é*ö",
        ] {
            assert_eq!(flat(text), text);
        }
        assert_eq!(flat("look *now*, **now**"), "look now, now");
    }

    #[test]
    fn the_opening_is_the_first_paragraph() {
        let page = Page::read(PAGE);
        assert_eq!(page.summary, "ink runs past the hem of its patch");
        assert_eq!(
            page.opening().unwrap(),
            "The hem is where the patch ends. Some ink runs past it, by more than `[hem] width`. \
             A second sentence, 2 * 3 long."
        );
    }
}
