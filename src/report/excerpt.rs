//! The few lines of the source that a finding points to, cut to the screen.
//!
//! Drawn by miette from a window that is cut out beforehand: artwork is often minified, and a
//! renderer that prints the line an element stands on would print the whole file.

use std::fmt;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError,
    MietteSpanContents, NamedSource, SourceCode, SourceSpan, SpanContents, ThemeCharacters,
    ThemeStyles,
};
use unicode_width::UnicodeWidthChar;

use super::lines::Lines;
use crate::finding::Source;
use crate::ids::At;
use crate::typeset::{self, Screen};

/// Lines shown of a start tag that an editor spread over many.
const TALLEST: usize = 4;

/// Bytes looked at for the end of a start tag. An outline of a megabyte need not be walked through
/// for each finding: past this the tag is wider than any screen.
const FARTHEST: usize = 64 * 1024;

/// Columns that a line of the window has at least, however narrow the screen.
const NARROWEST: usize = 20;

/// The excerpt around the start tag of `source`, each line behind `indent` columns of space and no
/// wider than the screen. `file` heads it, with line and column. `None` where the place is not in
/// the source.
pub(crate) fn excerpt(
    file: &str,
    lines: &Lines<'_>,
    source: &Source,
    screen: &Screen,
    indent: usize,
) -> Option<String> {
    let window = Window::cut(lines, source, screen, indent)?;
    let named = NamedSource::new(
        short_name(file, screen, indent + window.gutter),
        window.clone(),
    );
    let diagnostic = Pointer {
        source: named,
        at: window.at,
    };
    let theme = GraphicalTheme {
        characters: if screen.unicode {
            ThemeCharacters::unicode()
        } else {
            ThemeCharacters::ascii()
        },
        styles: if screen.colour {
            ThemeStyles::ansi()
        } else {
            ThemeStyles::none()
        },
    };
    let top = theme.characters.ltop;
    let mut drawn = String::new();
    GraphicalReportHandler::new_themed(theme)
        .without_syntax_highlighting()
        .without_cause_chain()
        .with_links(false)
        .with_context_lines(0)
        .with_wrap_lines(false)
        .render_report(&mut drawn, &diagnostic)
        .ok()?;
    let mut out = String::new();
    // The handler's own headline is left out: the finding has said it.
    for line in drawn.lines().skip_while(|l| !l.contains(top)) {
        out.push_str(format!("{:indent$}{}", "", line).trim_end());
        out.push('\n');
    }
    (!out.is_empty()).then_some(out)
}

/// The last part of a file's name, shortened from the left to what the heading has room for.
fn short_name(file: &str, screen: &Screen, taken: usize) -> String {
    // "╭─[" before and ":12345:1234567]" after.
    const FRAME: usize = 20;
    let room = screen
        .columns()
        .saturating_sub(taken + FRAME)
        .max(NARROWEST);
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let name = screen.clean(name);
    if typeset::columns(&name) <= room {
        return name;
    }
    let room = room - typeset::columns(screen.ellipsis());
    let mut used = 0;
    let kept = name.chars().rev().take_while(|c| {
        used += c.width().unwrap_or(0);
        used <= room
    });
    let tail: String = kept.collect::<Vec<_>>().into_iter().rev().collect();
    format!("{}{tail}", screen.ellipsis())
}

/// Lines cut out of a source.
#[derive(Debug, Clone)]
struct Window {
    text: String,
    /// Line of the first, from 0, and column of the element, from 0.
    line: usize,
    column: usize,
    count: usize,
    /// What is underlined, in bytes of `text`.
    at: SourceSpan,
    /// Columns before the text of each line.
    gutter: usize,
}

impl Window {
    fn cut(lines: &Lines<'_>, source: &Source, screen: &Screen, indent: usize) -> Option<Self> {
        let text = lines.text();
        let start = source.range.start;
        if start >= text.len() || !text.is_char_boundary(start) {
            return None;
        }
        let spot = lines.spot(start);
        let tag_end = start_tag_end(text, source);
        let last = lines
            .spot(tag_end.saturating_sub(1))
            .line
            .min(spot.line + TALLEST - 1);

        // " 123 │ " before each line.
        let gutter = last.to_string().len() + 4;
        let room = screen
            .columns()
            .saturating_sub(indent + gutter)
            .max(NARROWEST);

        let mut out = String::new();
        let mut at = SourceSpan::from(0..0);
        for number in spot.line..=last {
            let line = lines.line(number)?;
            if number == spot.line {
                let skipped = text.get(line.start..start)?;
                let before = !skipped.trim().is_empty();
                // An element may begin in a line's end.
                let shown = shown(text.get(start..line.end)?, before, room, screen);
                let from = if before { screen.ellipsis().len() } else { 0 };
                let name = shown.at(from..);
                let length = name
                    .find([' ', '/', '>'])
                    .filter(|n| *n > 0)
                    .unwrap_or(name.len());
                at = SourceSpan::from(from..from + length);
                out.push_str(&shown);
            } else {
                let whole = text.at(line);
                // The indentation of the element is taken off the lines below it, not more.
                let mut left = spot.column - 1;
                let inner = whole.trim_start_matches(|c: char| {
                    let strip = left > 0 && c.is_whitespace();
                    left = left.saturating_sub(1);
                    strip
                });
                out.push('\n');
                out.push_str(&shown(inner, false, room, screen));
            }
        }
        let count = last - spot.line + 1;
        Some(Self {
            text: out,
            line: spot.line - 1,
            column: spot.column - 1,
            count,
            at,
            gutter,
        })
    }
}

/// `line` with every character harmless and of known width, cut to `room` columns, with marks where
/// something was left out.
fn shown(line: &str, cut_before: bool, room: usize, screen: &Screen) -> String {
    let mark = screen.ellipsis();
    let mut out = if cut_before {
        mark.to_owned()
    } else {
        String::new()
    };
    let mut used = typeset::columns(&out);
    let most = room - typeset::columns(mark);
    // The longest part after which the ellipsis still fits.
    let mut fits = None;
    for c in line.trim_end().chars() {
        let c = harmless(c, screen.unicode);
        let w = c.width().unwrap_or(0);
        if fits.is_none() && used + w > most {
            fits = Some(out.len());
        }
        if used + w > room {
            out.truncate(fits.unwrap_or(out.len()));
            out.push_str(mark);
            return out;
        }
        out.push(c);
        used += w;
    }
    out
}

/// One character for one, so that what stands below it stays below it.
fn harmless(c: char, unicode: bool) -> char {
    match c {
        '\t' | '\r' | '\n' => ' ',
        c if c.is_ascii() && !c.is_control() => c,
        c if unicode && !typeset::disturbs(c) => c,
        _ if unicode => '\u{fffd}',
        _ => '?',
    }
}

/// The byte after the start tag of `source`: after the first `>` outside quotes, as XML 1.0, section
/// 3.1, has it.
fn start_tag_end(text: &str, source: &Source) -> usize {
    let start = source.range.start;
    let end = source.range.end.min(text.len()).min(start + FARTHEST);
    let mut quote = None;
    for (i, b) in text
        .as_bytes()
        .get(start..end)
        .unwrap_or_default()
        .iter()
        .enumerate()
    {
        match (quote, b) {
            (None, b'>') => return start + i + 1,
            (None, b'"' | b'\'') => quote = Some(*b),
            (Some(q), b) if q == *b => quote = None,
            _ => {}
        }
    }
    end.max(start + 1)
}

impl SourceCode for Window {
    /// Always the whole window, which was cut to what is to be shown.
    fn read_span<'a>(
        &'a self,
        _: &SourceSpan,
        _: usize,
        _: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        Ok(Box::new(MietteSpanContents::new(
            self.text.as_bytes(),
            SourceSpan::from(0..self.text.len()),
            self.line,
            self.column,
            self.count,
        )))
    }
}

/// What miette is given to draw: a window and a place in it.
#[derive(Debug)]
struct Pointer {
    source: NamedSource<Window>,
    at: SourceSpan,
}

impl fmt::Display for Pointer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("here")
    }
}

impl std::error::Error for Pointer {}

impl Diagnostic for Pointer {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(std::iter::once(LabeledSpan::new_with_span(
            None, self.at,
        ))))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;
    use proptest::prelude::*;

    const SCREEN: Screen = Screen {
        width: 60,
        unicode: true,
        colour: false,
    };

    fn around(text: &str, needle: &str, screen: &Screen) -> String {
        let start = text.find(needle).unwrap();
        let end = text[start..]
            .find("/>")
            .map_or(text.len(), |n| start + n + 2);
        let source = Source {
            range: start..end,
            element: "path".to_owned(),
            id: None,
        };
        excerpt("runs/monday.svg", &Lines::new(text), &source, screen, 4).unwrap()
    }

    #[test]
    fn an_element_on_its_own_line() {
        let text = "<svg>\n\t<g>\n\t\t<path id=\"n3\" d=\"M0 0\"/>\n\t</g>\n</svg>";
        insta::assert_snapshot!(around(text, "<path", &SCREEN), @r#"
             ╭─[monday.svg:3:3]
           3 │ <path id="n3" d="M0 0"/>
             · ─────
             ╰────
        "#);
    }

    #[test]
    fn a_start_tag_over_many_lines() {
        let text = "<svg>\n  <path\n     id=\"n3\"\n     style=\"fill:#1b1b1b\"\n     d=\"M0 0\"\n     transform=\"scale(2)\"/>\n</svg>";
        insta::assert_snapshot!(around(text, "<path", &SCREEN), @r#"
             ╭─[monday.svg:2:3]
           2 │ <path
             · ─────
           3 │    id="n3"
           4 │    style="fill:#1b1b1b"
           5 │    d="M0 0"
             ╰────
        "#);
    }

    #[test]
    fn a_minified_file_of_a_megabyte() {
        let d = "M12.5 40.25h3v-3z".repeat(60_000);
        let text = format!("<svg><path d=\"{d}\"/><path id=\"n3\" d=\"{d}\"/></svg>");
        assert!(text.len() > 2_000_000);
        insta::assert_snapshot!(around(&text, "<path id", &SCREEN), @r#"
             ╭─[monday.svg:1:1020018]
           1 │ …<path id="n3" d="M12.5 40.25h3v-3zM12.5 40.25h3v-…
             ·  ─────
             ╰────
        "#);
    }

    #[test]
    fn wide_and_harmful_characters() {
        let text = "<svg><!-- 木 --><text\tid=\"木の名札\u{202e}\x1b\">木の名札木の名札木の名札木の名札木の名札</text></svg>";
        insta::assert_snapshot!(around(text, "<text", &SCREEN), @r#"
             ╭─[monday.svg:1:16]
           1 │ …<text id="木の名札��">木の名札木の名札木の名札木…
             ·  ─────
             ╰────
        "#);
        let ascii = Screen {
            unicode: false,
            ..SCREEN
        };
        insta::assert_snapshot!(around(text, "<text", &ascii), @r#"
             ,-[monday.svg:1:16]
           1 | ...<text id="??????">????????????????????</text>...
             :    ^^^^^
             `----
        "#);
    }

    #[test]
    fn a_place_outside_the_source_has_no_excerpt() {
        let source = Source {
            range: 90..95,
            element: "path".to_owned(),
            id: None,
        };
        assert_eq!(
            excerpt("a.svg", &Lines::new("<svg/>"), &source, &SCREEN, 4),
            None
        );
        let source = Source {
            range: 1..2,
            ..source
        };
        assert_eq!(
            excerpt("a.svg", &Lines::new("é"), &source, &SCREEN, 4),
            None
        );
    }

    proptest! {
        #[test]
        fn no_source_makes_it_panic_or_overflow(
            text in "[<>/\"' \t\r\na-z=é木\u{301}\u{1b}\u{202e}]{0,200}",
            start in 0usize..210,
            length in 0usize..210,
            width in 0usize..130,
            unicode: bool,
        ) {
            let screen = Screen { width, unicode, colour: false };
            let source = Source { range: start..start + length, element: String::new(), id: None };
            let lines = Lines::new(&text);
            if let Some(drawn) = excerpt("a/very-long-name-of-a-file-that-no-heading-has-room-for.svg", &lines, &source, &screen, 4) {
                for line in drawn.lines() {
                    prop_assert!(typeset::columns(line) <= screen.columns(), "{line}");
                }
            }
        }
    }
}
