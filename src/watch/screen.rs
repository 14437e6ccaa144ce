//! The screen of a watch: on a terminal the state of every run, newest first; elsewhere one line for
//! each piece of news.
//!
//! Nothing here waits: text is handed to a thread that writes it.

mod writer;

use std::io::Write;
use std::path::Path;

use self::writer::Writer;
use super::summary::{Entry, Point};
use crate::paths::Printable as _;
use crate::report::Verdict;
use crate::typeset::{self, Ink, Screen};
use crate::wording::counted;

/// How many notices stay on the screen.
const NOTICES: usize = 3;

/// How many findings of the newest run are shown in full.
const POINTS: usize = 3;

/// Where a watch is seen.
pub(crate) struct Display {
    writer: Writer,
    screen: Screen,
    /// Columns and rows of the terminal; `None`: lines only.
    size: Option<Size>,
    shown: (u16, u16),
    root: String,
    notices: Vec<String>,
}

/// Asks for the columns and rows of the terminal.
pub(crate) type Size = fn() -> Option<(u16, u16)>;

/// The size taken where a terminal does not tell its own: that of the first terminals.
const USUAL: (u16, u16) = (80, 24);

/// Another screen, so that what was on it before comes back at the end; no cursor. (Private modes
/// 1049 and 25 as `xterm` documents them, "Control Sequences" of its manual.)
const ENTER: &str = "\x1b[?1049h\x1b[?25l";
const LEAVE: &str = "\x1b[?25h\x1b[?1049l";

impl std::fmt::Debug for Display {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Display")
            .field("screen", &self.screen)
            .finish_non_exhaustive()
    }
}

impl Display {
    /// A display that writes to `out`: the whole screen where `size` is given, else lines.
    pub(crate) fn new(out: Box<dyn Write + Send>, screen: Screen, size: Option<Size>) -> Self {
        Self {
            writer: Writer::start(out, size.is_some()),
            screen,
            size,
            shown: (0, 0),
            root: String::new(),
            notices: Vec::new(),
        }
    }

    fn line(&self, text: &str) {
        if self.size.is_none() {
            self.writer.text(self.clean_line(text));
        }
    }

    fn clean_line(&self, text: &str) -> String {
        format!("{}\n", self.screen.clean(text))
    }

    /// The watch begins with so many files.
    pub(crate) fn begin(&mut self, root: &Path, files: usize) {
        self.root = root.printable();
        self.enter();
        self.line(&format!(
            "watching {}: {}",
            root.printable(),
            counted(files, "artwork file", "artwork files")
        ));
    }

    /// Takes the terminal.
    pub(crate) fn enter(&self) {
        if self.size.is_some() {
            self.writer.text(ENTER.to_owned());
        }
    }

    /// Gives the terminal back.
    pub(crate) fn leave(&self) {
        if self.size.is_some() {
            self.writer.finish(LEAVE.to_owned());
        }
    }

    /// A verdict.
    pub(crate) fn verdict(&self, entry: &Entry) {
        if let Some(told) = &entry.told {
            let more = told.points.len().saturating_sub(1);
            let point = told.first().map(|p| match (p.rule, more) {
                ("", _) => p.text.clone(),
                (rule, 0) => format!("{} [{rule}]", p.text),
                (rule, n) => format!("{} [{rule}] and {n} more", p.text),
            });
            let text = format!(
                "{:6} {}  {}",
                word(Some(told.verdict)),
                entry.name,
                point.unwrap_or_default()
            );
            self.line(text.trim_end());
        }
    }

    /// A run that is not there any more.
    pub(crate) fn gone(&self, name: &str) {
        self.line(&format!("{:6} {name}", "GONE"));
    }

    /// Words for people.
    pub(crate) fn notice(&mut self, words: &str) {
        self.line(&format!("{:6} {words}", "NOTE"));
        self.notices.push(words.to_owned());
        if self.notices.len() > NOTICES {
            self.notices.remove(0);
        }
    }

    /// Rings the terminal's bell.
    pub(crate) fn ring(&self) {
        if self.size.is_some() {
            self.writer.text("\x07".to_owned());
        }
    }

    /// Whether the terminal has another size than when it was painted.
    pub(crate) fn resized(&self) -> bool {
        self.size
            .is_some_and(|size| size().unwrap_or(USUAL) != self.shown)
    }

    /// Paints the whole screen over what is there: each line is written and then cleared to its end,
    /// so that the screen is never blank in between.
    pub(crate) fn paint(&mut self, entries: &[(&Path, &Entry)], cleared: Option<usize>) {
        let Some(size) = self.size else {
            return;
        };
        self.shown = size().unwrap_or(USUAL);
        let (columns, rows) = (usize::from(self.shown.0), usize::from(self.shown.1));
        let lines = self.lines(entries, cleared, columns, rows);
        let mut text = String::from("\x1b[H");
        for (i, line) in lines.iter().take(rows).enumerate() {
            if i > 0 {
                text.push_str("\r\n");
            }
            text.push_str(line);
            text.push_str("\x1b[K");
        }
        text.push_str("\x1b[J");
        self.writer.frame(text);
    }

    fn lines(
        &self,
        entries: &[(&Path, &Entry)],
        cleared: Option<usize>,
        columns: usize,
        rows: usize,
    ) -> Vec<String> {
        let notices: Vec<String> = self
            .notices
            .iter()
            .rev()
            .take(rows / 4)
            .rev()
            .map(|n| self.fit(&[(Ink::Faint, n)], columns))
            .collect();
        let mut lines = vec![self.heading(entries, cleared, columns), String::new()];
        let room = rows.saturating_sub(notices.len());
        for (i, (_, entry)) in entries.iter().enumerate() {
            // The last line of the room says how many are not shown.
            if lines.len() + 1 >= room && i + 1 < entries.len() {
                let rest = format!("  {} more", entries.len() - i);
                lines.push(self.fit(&[(Ink::Faint, &rest)], columns));
                break;
            }
            lines.push(self.row(entry, i == 0, columns));
            if i == 0 {
                let told = entry.told.as_ref().filter(|_| !entry.working);
                for point in told.iter().flat_map(|t| &t.points).take(POINTS) {
                    lines.extend(self.point(point, columns));
                }
            }
        }
        lines.truncate(room);
        while lines.len() < room && !notices.is_empty() {
            lines.push(String::new());
        }
        lines.extend(notices);
        lines
    }

    fn heading(
        &self,
        entries: &[(&Path, &Entry)],
        cleared: Option<usize>,
        columns: usize,
    ) -> String {
        let count = |verdict| {
            entries
                .iter()
                .filter(|(_, e)| e.told.as_ref().is_some_and(|t| t.verdict == verdict))
                .count()
        };
        let working = entries.iter().filter(|(_, e)| e.working).count();
        let mut text = format!(
            "{} hold, {} unread, {} clear",
            count(Verdict::Hold),
            count(Verdict::Unread),
            count(Verdict::Clear)
        );
        if working > 0 {
            text.push_str(&format!(", {working} being inspected"));
        }
        if let Some(n) = cleared {
            text.push_str(&format!("; {n} in the cleared folder"));
        }
        self.fit(
            &[
                (Ink::Strong, &text),
                (Ink::Faint, &format!("  {}", self.root)),
            ],
            columns,
        )
    }

    fn row(&self, entry: &Entry, newest: bool, columns: usize) -> String {
        let verdict = entry.told.as_ref().map(|t| t.verdict);
        let ink = match verdict {
            _ if entry.working => Ink::Faint,
            Some(Verdict::Clear) => Ink::Clear,
            Some(_) => Ink::Hold,
            None => Ink::Faint,
        };
        // The old verdict stays readable while the new one is worked out, but not as a verdict.
        let head = match (entry.working, verdict) {
            (true, None) => "......".to_owned(),
            (true, Some(v)) => format!("..({})", v.word()),
            (false, v) => word(v).to_owned(),
        };
        let told = entry.told.as_ref();
        let tail = if entry.working {
            "being inspected".to_owned()
        } else if let Some(barred) = &entry.barred {
            barred.clone()
        } else if newest {
            String::new()
        } else {
            told.and_then(|t| t.first())
                .map(|p| p.text.clone())
                .unwrap_or_default()
        };
        self.fit(
            &[
                (ink, &format!("{head:10}")),
                (Ink::Strong, &entry.name),
                (Ink::Plain, &format!("  {tail}")),
            ],
            columns,
        )
    }

    /// A finding of the newest run: two lines.
    fn point(&self, point: &Point, columns: usize) -> Vec<String> {
        let mut lines = vec![self.fit(
            &[(Ink::Plain, "          "), (Ink::Plain, &point.text)],
            columns,
        )];
        if !point.help.is_empty() {
            let help = format!("          {} {}", self.screen.arrow(), point.help);
            lines.push(self.fit(&[(Ink::Faint, &help)], columns));
        }
        lines
    }

    /// `pieces` on one line: cleaned, and cut where the line ends.
    fn fit(&self, pieces: &[(Ink, &str)], columns: usize) -> String {
        let mut out = String::new();
        let mut left = columns;
        for (ink, text) in pieces {
            let clean = self.screen.clean(text);
            if typeset::columns(&clean) <= left {
                left -= typeset::columns(&clean);
                out.push_str(&self.screen.paint(*ink, &clean));
                continue;
            }
            let mark = self.screen.ellipsis();
            let room = left.saturating_sub(typeset::columns(mark));
            let mut part = String::new();
            for c in clean.chars() {
                part.push(c);
                if typeset::columns(&part) > room {
                    part.pop();
                    break;
                }
            }
            part.push_str(mark);
            out.push_str(&self.screen.paint(*ink, &part));
            break;
        }
        out
    }

    /// The watch ends; `words` are left on the screen. Gives why something could not be shown.
    pub(crate) fn end(&mut self, words: Option<&str>) -> Option<String> {
        self.leave();
        self.size = None;
        let words = words.map(|w| self.clean_line(&format!("{:6} {w}", "NOTE")));
        let last = self.clean_line("the watch has ended");
        self.writer.finish(words.unwrap_or_default() + &last)
    }
}

impl Drop for Display {
    /// A terminal is given back whatever ended the watch.
    fn drop(&mut self) {
        self.leave();
    }
}

fn word(verdict: Option<Verdict>) -> &'static str {
    match verdict {
        Some(Verdict::Clear) => "CLEAR",
        Some(Verdict::Hold) => "HOLD",
        Some(Verdict::Unread) => "UNREAD",
        None => "",
    }
}

#[cfg(test)]
mod tests;
