//! The report for people at the bench.

use std::collections::BTreeSet;

use super::excerpt::excerpt;
use super::fold::{self, Group};
use super::lines::Lines;
use super::{Report, Run, Subject, Verdict};
use crate::finding::{Finding, Measured, Severity};
use crate::fixture::lists;
use crate::ids::At;
use crate::typeset::{self, Ink, Screen};
use crate::units::{self, Shown};
use crate::wording::counted;

/// How the report is to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "five switches that are independent of each other"
)]
pub struct Look {
    /// Columns of the screen.
    pub width: usize,
    /// False: nothing but ASCII.
    pub unicode: bool,
    /// Whether it may be coloured; no meaning hangs on it.
    pub colour: bool,
    /// Tell every finding in full instead of folding those of one kind.
    pub every: bool,
    /// The verdicts alone.
    pub quiet: bool,
    /// Show the lines of the source that findings point to.
    pub excerpts: bool,
}

impl Look {
    /// The screen it is set for.
    pub fn screen(&self) -> Screen {
        Screen {
            width: self.width,
            unicode: self.unicode,
            colour: self.colour,
        }
    }
}

/// What cannot be told from a file. Reported whenever a file is clear, so that nobody reads more into
/// the verdict than it says.
const NOT_CHECKED: &str = "not checked: stock, focus, power, extraction, fire watch, fixture seated. \
                           The machine's manual and local rules come first.";

/// The same, of a fixture that is still to be cut.
const NOT_CHECKED_YET: &str = "not checked: the sheet, the width that the beam burns away, whether a real blank goes in. \
                               The machine's manual and local rules come first.";

/// What is said below a drawing that may be cut.
pub(crate) fn closing_of_drawing(look: &Look) -> String {
    look.screen()
        .set(MARGIN, MARGIN, &[(Ink::Plain, NOT_CHECKED_YET)])
}

/// Where the text of a verdict line, and whatever hangs below it, begins.
const MARGIN: &str = "       ";

/// The report as text. Findings are told in the order they are in and numbered from 1 in it, file by
/// file; the proof has the same numbers.
pub fn render(report: &Report, look: &Look) -> String {
    let mut out = String::new();
    let mut counts = Counts::default();
    for (i, run) in report.runs.iter().enumerate() {
        out.push_str(&one(run, look, i == 0));
        counts.add(run.verdict);
    }
    out.push_str(&closing(&counts, look));
    out
}

/// How many files got which verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Counts {
    /// May be sent.
    pub clear: usize,
    /// Must not be sent.
    pub hold: usize,
    /// Could not be inspected.
    pub unread: usize,
}

impl Counts {
    /// Counts one more.
    pub(crate) fn add(&mut self, verdict: Verdict) {
        match verdict {
            Verdict::Clear => self.clear += 1,
            Verdict::Hold => self.hold += 1,
            Verdict::Unread => self.unread += 1,
        }
    }

    /// All of them.
    pub(crate) fn all(&self) -> usize {
        self.clear + self.hold + self.unread
    }
}

/// What is said of one file; `first` of a call or not.
pub(crate) fn one(run: &Run, look: &Look, first: bool) -> String {
    let screen = look.screen();
    let mut out = String::new();
    if !first && !look.quiet {
        out.push('\n');
    }
    headline(&mut out, run, &screen);
    if !look.quiet {
        body(&mut out, run, look, &screen);
    }
    out
}

/// What is said below all files.
pub(crate) fn closing(counts: &Counts, look: &Look) -> String {
    let screen = look.screen();
    let mut out = String::new();
    if look.quiet {
        return out;
    }
    if counts.all() > 1 {
        let parts = [
            (counts.clear, "clear"),
            (counts.hold, "hold"),
            (counts.unread, "unread"),
        ];
        let parts: Vec<String> = parts
            .iter()
            .filter(|(n, _)| *n > 0)
            .map(|(n, word)| format!("{n} {word}"))
            .collect();
        let line = format!("{} files: {}", counts.all(), parts.join(", "));
        out.push('\n');
        out.push_str(&screen.set("", "", &[(Ink::Strong, &line)]));
    }
    if counts.clear > 0 {
        let margin = if counts.all() > 1 { "" } else { MARGIN };
        out.push_str(&screen.set(margin, margin, &[(Ink::Plain, NOT_CHECKED)]));
    }
    out
}

/// The verdict, the file, and the fixture where there is room, else below.
fn headline(out: &mut String, run: &Run, screen: &Screen) {
    let ink = match run.verdict {
        Verdict::Clear => Ink::Clear,
        Verdict::Hold | Verdict::Unread => Ink::Hold,
    };
    let word = run.verdict.word().to_uppercase();
    let file = screen.clean(&run.file);
    out.push_str(&screen.paint(ink, &word));
    out.push_str(MARGIN.get(word.len()..).unwrap_or(" "));
    // A file's name is never broken: it is there to be copied.
    out.push_str(&screen.paint(Ink::Strong, &file));
    if let Some(fixture) = &run.fixture {
        // A drawing that holds has no code yet.
        let text = format!("fixture \"{}\" {}", fixture.name, fixture.code);
        let text = text.trim_end();
        let wide =
            MARGIN.len() + typeset::columns(&file) + 3 + typeset::columns(&screen.clean(text));
        if wide <= screen.columns() {
            out.push_str("   ");
            out.push_str(&screen.clean(text));
        } else {
            out.push('\n');
            out.push_str(screen.set(MARGIN, MARGIN, &[(Ink::Plain, text)]).trim_end());
        }
    }
    out.push('\n');
}

/// Everything below the verdict.
fn body(out: &mut String, run: &Run, look: &Look, screen: &Screen) {
    // Left out where the caller tells it on standard error.
    if let Some(trouble) = run.trouble.as_deref() {
        let pieces = [
            (Ink::Plain, "could not be inspected: "),
            (Ink::Plain, trouble),
        ];
        out.push_str(&screen.set(MARGIN, MARGIN, &pieces));
    }
    if let Some(rests_on) = run.clear_rests_on() {
        out.push_str(&screen.set(MARGIN, MARGIN, &[(Ink::Plain, &rests_on)]));
    }
    if !run.findings.is_empty() {
        out.push_str(&screen.set(MARGIN, MARGIN, &[(Ink::Plain, &tally(run))]));
        findings(out, run, look, screen);
    }
    if !run.notes.is_empty() {
        out.push('\n');
        for note in &run.notes {
            out.push_str(&screen.set("  note: ", "        ", &[(Ink::Plain, note)]));
        }
    }
    if run.verdict == Verdict::Clear && !(run.findings.is_empty() && run.notes.is_empty()) {
        out.push('\n');
    }
}

/// Under which heading a finding is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Chapter {
    Told(Severity),
    Excused,
}

impl Chapter {
    fn of(f: &Finding) -> Self {
        if f.waived.is_some() {
            Self::Excused
        } else {
            Self::Told(f.severity)
        }
    }

    /// The heading. `strict`: nothing but cautions holds the file.
    fn heading(self, subject: Subject, strict: bool) -> (Ink, &'static str) {
        match self {
            Self::Told(Severity::Hold) if subject == Subject::Drawing => {
                (Ink::Hold, "put right before the sheet is cut")
            }
            Self::Told(Severity::Hold) => (Ink::Hold, "stops the send"),
            Self::Told(Severity::Caution) if strict => (
                Ink::Caution,
                "asks for a look, and holds because cautions hold too (--strict)",
            ),
            Self::Told(Severity::Caution) => (Ink::Caution, "asks for a look"),
            Self::Told(Severity::Note) => (Ink::Strong, "worth knowing"),
            Self::Excused => (Ink::Strong, "excused by a waiver"),
        }
    }
}

/// "2 holds, 1 caution, 3 excused".
fn tally(run: &Run) -> String {
    let count = |c| run.told().iter().filter(|f| Chapter::of(f) == c).count();
    let kinds = [
        (Chapter::Told(Severity::Hold), "hold", "holds"),
        (Chapter::Told(Severity::Caution), "caution", "cautions"),
        (Chapter::Told(Severity::Note), "note", "notes"),
        (Chapter::Excused, "excused", "excused"),
    ];
    let parts = kinds
        .iter()
        .filter_map(|(chapter, one, many)| match count(*chapter) {
            0 => None,
            n => Some(counted(n, one, many)),
        });
    parts.collect::<Vec<_>>().join(", ")
}

fn findings(out: &mut String, run: &Run, look: &Look, screen: &Screen) {
    let lines = Lines::new(&run.text);
    let strict =
        run.verdict == Verdict::Hold && Verdict::of(&run.findings, false) == Verdict::Clear;
    let digits = run.told().len().to_string().len();
    let mut open = None;
    for group in fold::groups(run.told(), look.every) {
        let lead = run.findings.at(group.lead);
        let chapter = Chapter::of(lead);
        out.push('\n');
        if open != Some(chapter) {
            let heading = chapter.heading(run.subject, strict);
            out.push_str(&screen.set("  ", "  ", &[heading]));
            out.push('\n');
            open = Some(chapter);
        }
        let teller = Teller {
            run,
            lines: &lines,
            look,
            screen,
            digits,
        };
        teller.tell(out, lead, &group);
    }
}

/// What is needed to tell one finding.
struct Teller<'a> {
    run: &'a Run,
    lines: &'a Lines<'a>,
    look: &'a Look,
    screen: &'a Screen,
    /// Digits of the highest number.
    digits: usize,
}

impl Teller<'_> {
    /// One finding in full, and in a few words the others of its group.
    fn tell(&self, out: &mut String, f: &Finding, group: &Group) {
        let screen = self.screen;
        let number = format!("  {:>width$}  ", group.lead + 1, width = self.digits);
        let indent = " ".repeat(number.len());

        let pocket = f
            .pocket
            .as_ref()
            .map(|p| format!("{p}: "))
            .unwrap_or_default();
        let told = f.sentence();
        let pieces = [(Ink::Strong, pocket.as_str()), (Ink::Plain, &told)];
        out.push_str(&screen.set(&number, &indent, &pieces));

        if !group.others.is_empty() {
            out.push_str(&screen.set(&indent, &indent, &[(Ink::Plain, &self.others(f, group))]));
        }
        if let Some(waived) = &f.waived {
            let text = format!("excused until {}: {}", waived.until, waived.reason);
            out.push_str(&screen.set(&indent, &indent, &[(Ink::Plain, &text)]));
        }
        let rule = format!("[{}]", f.rule);
        let arrow = format!("{indent}{} ", screen.arrow());
        let hang = " ".repeat(typeset::columns(&arrow));
        let help = [
            (Ink::Plain, f.help.as_str()),
            (Ink::Plain, " "),
            (Ink::Faint, rule.as_str()),
        ];
        if f.help.is_empty() {
            out.push_str(&screen.set(&indent, &indent, &[(Ink::Faint, &rule)]));
        } else {
            out.push_str(&screen.set(&arrow, &hang, &help));
        }
        let source = f.source.as_ref().filter(|_| self.look.excerpts);
        if let Some(drawn) =
            source.and_then(|s| excerpt(&self.run.file, self.lines, s, screen, indent.len()))
        {
            out.push_str(&drawn);
        }
    }

    /// "and 9 more pockets: A2–A6, B1–B4; the worst is B2 (overhang 3.1 mm); numbers 2–10".
    fn others(&self, lead: &Finding, group: &Group) -> String {
        let unicode = self.screen.unicode;
        let others: Vec<&Finding> = group
            .others
            .iter()
            .map(|i| self.run.findings.at(*i))
            .collect();
        let pockets: BTreeSet<&str> = others.iter().filter_map(|f| f.pocket.as_deref()).collect();
        let lines: BTreeSet<usize> = others
            .iter()
            .filter(|f| f.pocket.is_none())
            .filter_map(|f| f.source.as_ref())
            .map(|s| self.lines.spot(s.range.start).line)
            .collect();
        let names = lists::pockets(&pockets.iter().copied().collect::<Vec<_>>(), unicode);
        let at_lines = on_lines(&lines, unicode);
        let n = others.len();
        let own = lead.pocket.as_deref().is_some_and(|p| pockets.contains(p));
        let mut text = if pockets.len() == n && !own {
            format!("and {}: {names}", counted(n, "more pocket", "more pockets"))
        } else if pockets.is_empty() && at_lines.is_empty() {
            format!("and {n} more like it")
        } else if pockets.is_empty() {
            format!("and {n} more like it, on {at_lines}")
        } else if at_lines.is_empty() {
            format!("and {n} more like it, in {names}")
        } else {
            format!("and {n} more like it, in {names} and on {at_lines}")
        };
        if let Some(worst) = self.worst(lead, &others) {
            text.push_str(&worst);
        }
        let numbers: Vec<usize> = group.others.iter().map(|i| i + 1).collect();
        text.push_str(if n == 1 { "; number " } else { "; numbers " });
        text.push_str(&lists::numbers(&numbers, unicode));
        text
    }

    /// Which of the others is farther past its limit than the one told in full, if any is.
    fn worst(&self, lead: &Finding, others: &[&Finding]) -> Option<String> {
        let past = |m: &Measured| (m.value - m.limit).abs();
        let told = lead.measured.as_ref()?;
        let alike = |m: &Measured| m.what == told.what && m.unit == told.unit;
        let mut worst: Option<(&str, &Measured)> = None;
        for f in others {
            let (Some(pocket), Some(m)) = (f.pocket.as_deref(), f.measured.as_ref()) else {
                continue;
            };
            if alike(m) && past(m) > worst.map_or(past(told), |(_, w)| past(w)) {
                worst = Some((pocket, m));
            }
        }
        let (pocket, m) = worst?;
        let value = quantity(m, self.run.shown);
        (value != quantity(told, self.run.shown))
            .then(|| format!("; the worst is {pocket} ({} {value})", m.what))
    }
}

/// A measured number with its unit, as messages have it.
fn quantity(m: &Measured, shown: Shown) -> String {
    match m.unit {
        "mm" => shown.length(m.value),
        "deg" => units::angle(m.value),
        "" => units::trimmed(m.value, 2),
        unit => format!("{} {unit}", units::trimmed(m.value, 1)),
    }
}

/// "line 12", "lines 12, 15–18", at most a dozen of them.
fn on_lines(lines: &BTreeSet<usize>, unicode: bool) -> String {
    /// More would fill the screen with numbers that nobody reads; `every` lists them all.
    const MOST: usize = 12;
    let first: Vec<usize> = lines.iter().copied().take(MOST).collect();
    let list = lists::numbers(&first, unicode);
    match lines.len() {
        0 => String::new(),
        1 => format!("line {list}"),
        n if n > MOST => format!("lines {list} and further down"),
        _ => format!("lines {list}"),
    }
}
