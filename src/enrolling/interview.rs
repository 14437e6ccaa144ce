//! The open questions of a draft, answered one by one.
//!
//! A question is a line `# confirm: …` above the line that it is about. Answered, it is gone; the line
//! below stands as it is guessed, or as it was answered.

use crate::paths::Printable as _;
use std::path::Path;

use toml_edit::Value;

use crate::fixture::draft;
use crate::fixture::parse;
use crate::ids::At;
use crate::inspect::Failure;
use crate::paths;

/// One open question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// Its number, counted from 1.
    pub number: usize,
    /// How many questions there are.
    pub of: usize,
    /// The question, and why the guess is what it is.
    pub question: String,
    /// What is guessed, as a person would type it; `None` where nothing can be guessed.
    pub guess: Option<String>,
    /// What was wrong with the last answer.
    pub wrong: Option<String>,
}

/// What was answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// The guess is right.
    Guess,
    /// Something else.
    Said(String),
    /// Not now: the question stays.
    Later,
}

/// Somebody who answers questions.
pub trait Asker: Send {
    /// Is shown what was found in a drawing, before the first question.
    fn found(&mut self, _draft: &Path, _found: &[String]) {}

    /// Answers one.
    fn ask(&mut self, question: &Ask) -> Answer;
}

/// Takes every guess.
#[derive(Debug)]
pub(crate) struct TakeGuesses;

impl Asker for TakeGuesses {
    fn ask(&mut self, question: &Ask) -> Answer {
        match question.guess {
            Some(_) => Answer::Guess,
            None => Answer::Later,
        }
    }
}

/// What may be done with a paint.
const USES: [&str; 4] = ["cut", "score", "engrave", "off"];

/// Asks the open questions of the settings at `path` and writes the answers into them.
///
/// # Errors
///
/// Settings that cannot be read or written.
pub(super) fn answered(path: &Path, asker: &mut dyn Asker) -> Result<(), Failure> {
    let failed = |e: &dyn std::fmt::Display| Failure::plain(format!("{}: {e}", path.printable()));
    let before = crate::paths::read(path).map_err(|e| failed(&e))?;
    let before = String::from_utf8(before).map_err(|e| failed(&e))?;
    let after = interview(path, &before, asker);
    if after == before {
        return Ok(());
    }
    paths::replace(path, after.as_bytes()).map_err(|e| failed(&e))
}

/// The text of the settings with its questions answered.
pub(crate) fn interview(path: &Path, text: &str, asker: &mut dyn Asker) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let of = lines.iter().filter(|l| draft::is_question(l)).count();
    let mut number = 0;
    let mut at = 0;
    while let Some(line) = lines.get(at) {
        if !draft::is_question(line) {
            at += 1;
            continue;
        }
        number += 1;
        let asked = Ask {
            number,
            of,
            question: draft::question(line).to_owned(),
            guess: None,
            wrong: None,
        };
        match one(path, &lines, at, asked, asker) {
            Some(answered) => lines = answered,
            None => at += 1,
        }
    }
    let mut out = lines.join("\n");
    out.push('\n');
    out
}

/// Asks one question until it is answered; `None` where it stays.
fn one(
    path: &Path,
    lines: &[String],
    at: usize,
    mut asked: Ask,
    asker: &mut dyn Asker,
) -> Option<Vec<String>> {
    let below = lines.get(at + 1)?.clone();
    let about = About::of(&below)?;
    asked.guess = about.guess(lines, at + 1);
    loop {
        let said = match asker.ask(&asked) {
            Answer::Later => return None,
            Answer::Guess if asked.guess.is_some() => {
                let mut answered = lines.to_vec();
                answered.remove(at);
                return Some(answered);
            }
            Answer::Guess => String::new(),
            Answer::Said(said) => said,
        };
        match about
            .answered(lines, at, said.trim())
            .and_then(|answered| acceptable(path, lines, answered))
        {
            Ok(answered) => return Some(answered),
            Err(wrong) => asked.wrong = Some(wrong),
        }
    }
}

/// Whether the settings can still be read with an answer in them: what is wrong with them and was not
/// before.
fn acceptable(path: &Path, before: &[String], after: Vec<String>) -> Result<Vec<String>, String> {
    let problems =
        |lines: &[String]| match parse::parse(path, &lines.join("\n"), &crate::rules::names()) {
            Ok(_) => Vec::new(),
            Err(e) => e
                .problems()
                .iter()
                .map(|p| format!("{}: {}", p.message, p.help))
                .collect(),
        };
    let known = problems(before);
    match problems(&after).into_iter().find(|p| !known.contains(p)) {
        Some(new) => Err(new),
        None => Ok(after),
    }
}

/// What a question is about: the line below it.
enum About {
    /// `key = value`, in force or, with a `#`, not.
    Key {
        key: String,
        value: String,
        in_force: bool,
        comment: String,
    },
    /// A colour in a list of `[paints]`.
    Paint(String),
}

impl About {
    fn of(line: &str) -> Option<Self> {
        let bare = line.trim();
        if let Some(colour) = bare.strip_prefix('"') {
            return Some(Self::Paint(colour.split('"').next()?.to_owned()));
        }
        let in_force = !bare.starts_with('#');
        let (key, rest) = bare.trim_start_matches(['#', ' ']).split_once('=')?;
        let (value, comment) = match rest.split_once("  #") {
            Some((value, comment)) => (value, format!("  #{comment}")),
            None => (rest, String::new()),
        };
        Some(Self::Key {
            key: key.trim().to_owned(),
            value: value.trim().to_owned(),
            in_force,
            comment,
        })
    }

    /// The guess as a person would type it.
    fn guess(&self, lines: &[String], at: usize) -> Option<String> {
        match self {
            Self::Key {
                value, in_force, ..
            } => in_force.then(|| value.replace(['"', '[', ']'], "").trim().to_owned()),
            Self::Paint(_) => list_above(lines, at),
        }
    }

    /// The lines with the answer in the place of question and guess.
    fn answered(&self, lines: &[String], at: usize, said: &str) -> Result<Vec<String>, String> {
        if said.is_empty() {
            return Err("nothing can be guessed here: type an answer".to_owned());
        }
        let mut out = lines.to_vec();
        match self {
            Self::Key {
                key,
                value,
                comment,
                ..
            } => {
                let quoted = |text: &str| Value::from(text.trim().trim_matches('"')).to_string();
                let value = if value.starts_with('[') {
                    let parts: Vec<String> = said
                        .trim_matches(['[', ']'])
                        .replace(" x ", ",")
                        .split([',', '×'])
                        .map(|p| quoted(p.trim()))
                        .collect();
                    format!("[{}]", parts.join(", "))
                } else if value.starts_with('"') {
                    quoted(said)
                } else {
                    said.to_owned()
                };
                *out.at_mut(at + 1) = format!("{key} = {value}{comment}");
                out.remove(at);
            }
            Self::Paint(colour) => {
                if !USES.contains(&said) {
                    return Err(format!("\"{said}\" is none of cut, score, engrave and off"));
                }
                let same = list_above(lines, at + 1).as_deref() == Some(said);
                out.remove(at);
                if !same {
                    out.remove(at);
                    listed(&mut out, said, colour);
                }
            }
        }
        Ok(out)
    }
}

/// The key of the list that a line stands in.
fn list_above(lines: &[String], at: usize) -> Option<String> {
    lines
        .at(..at)
        .iter()
        .rev()
        .find(|l| l.trim_end().ends_with('['))
        .and_then(|l| l.split_once('='))
        .map(|(key, _)| key.trim().to_owned())
}

/// Puts a colour into a list of `[paints]`, in force or not yet.
fn listed(lines: &mut Vec<String>, key: &str, colour: &str) {
    let opens = |l: &String| l.trim_end() == format!("{key} = [");
    let commented = format!("# {key} = [");
    if let Some(at) = lines.iter().position(opens) {
        lines.insert(at + 1, format!("    \"{colour}\","));
    } else if let Some(at) = lines.iter().position(|l| l.starts_with(&commented)) {
        lines.splice(
            at..=at,
            [
                format!("{key} = ["),
                format!("    \"{colour}\","),
                "]".to_owned(),
            ],
        );
    } else if let Some(at) = lines.iter().position(|l| l.trim() == "[paints]") {
        lines.insert(at + 1, format!("{key} = [\"{colour}\"]"));
    }
}

/// Refuses settings that still ask something.
///
/// # Errors
///
/// How many questions there are, and on which lines.
pub(super) fn nothing_open(path: &Path, text: &str) -> Result<(), Failure> {
    let open: Vec<(usize, &str)> = text
        .lines()
        .enumerate()
        .filter(|(_, l)| draft::is_question(l))
        .map(|(n, l)| (n + 1, draft::question(l)))
        .collect();
    let each = if open.len() == 1 { "it" } else { "each" };
    let lines: Vec<String> = open.iter().map(|(n, _)| n.to_string()).collect();
    let which = match lines.as_slice() {
        [] => return Ok(()),
        [one] => format!("one question, on line {one}"),
        many => {
            let words: Vec<&str> = many.iter().map(String::as_str).collect();
            format!(
                "{} questions, on lines {}",
                many.len(),
                crate::wording::listed(&words, "and")
            )
        }
    };
    let detail: Vec<String> = open
        .iter()
        .map(|(n, question)| format!("  line {n}: {question}"))
        .collect();
    Err(Failure {
        text: format!(
            "{} still asks {which}, so the drawing is not enrolled: put right what stands below {each}, and delete the line of the question",
            path.printable()
        ),
        detail: detail.join("\n"),
    })
}

#[cfg(test)]
mod tests;
