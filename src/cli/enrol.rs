//! `enrol`: what came of it, in words.

use std::io::{IsTerminal as _, Write as _};
use std::path::Path;

use super::arguments::EnrolArgs;
use super::proof::keep;
use super::{look, say};
use crate::enrolling::interview::{Answer, Ask, Asker, TakeGuesses};
use crate::enrolling::{self, Enrolled, How};
use crate::fixture;
use crate::inspect::{Failure, Options};
use crate::paths::Printable as _;
use crate::report::text;
use crate::wording::counted;

pub(super) fn enrol(args: &EnrolArgs) -> Result<u8, Failure> {
    let options = Options {
        fonts: args.fonts.clone(),
        machine_fonts: true,
        ..Options::default()
    };
    if args.proof.is_some() && !enrolling::has_settings(&args.place) {
        return Err(Failure::plain(format!(
            "{} has no settings yet, so no proof of it can be drawn: run enrol without --proof for a draft of them",
            args.place.printable()
        )));
    }
    let mut terminal = Terminal;
    let mut guesses = TakeGuesses;
    let asker: Option<&mut dyn Asker> = if args.yes {
        Some(&mut guesses)
    } else if std::io::stdin().is_terminal() && std::io::stdout().is_terminal() {
        Some(&mut terminal)
    } else {
        None
    };
    let how = How {
        renew: args.renew,
        asker,
    };
    let (came_of_it, drawn) = enrolling::enrol(&args.place, how, &options, |job, run| {
        args.proof.as_ref().map(|into| into.form.draw(job, run))
    })?;
    let status = tell(came_of_it);
    if let Some((into, drawn)) = args.proof.as_ref().zip(drawn.flatten()) {
        keep(into, drawn, &fixture::files(&args.place)).map_err(Failure::plain)?;
    }
    Ok(status)
}

/// Asks the person at the terminal.
struct Terminal;

impl Asker for Terminal {
    fn found(&mut self, draft: &Path, found: &[String]) {
        say(&format!("draft written: {}\n", draft.printable()));
        for line in found {
            say(&format!("  {line}\n"));
        }
        say(
            "Enter takes a guess; an empty line where nothing is guessed leaves the question open.\n",
        );
    }

    fn ask(&mut self, asked: &Ask) -> Answer {
        if let Some(wrong) = &asked.wrong {
            say(&format!("  {wrong}\n"));
        } else {
            say(&format!(
                "\n{} of {}: {}\n",
                asked.number, asked.of, asked.question
            ));
        }
        match &asked.guess {
            Some(guess) => say(&format!("  [{guess}] ")),
            None => say("  "),
        }
        let _ = std::io::stdout().flush();
        let mut line = String::new();
        match std::io::stdin().read_line(&mut line) {
            Ok(n) if n > 0 => {}
            _ => return Answer::Later,
        }
        match (line.trim(), &asked.guess) {
            ("", Some(_)) => Answer::Guess,
            ("", None) => Answer::Later,
            (said, _) => Answer::Said(said.to_owned()),
        }
    }
}

fn tell(came_of_it: Enrolled) -> u8 {
    match came_of_it {
        Enrolled::Draft {
            path,
            found,
            confirm,
        } => {
            let mut out = format!("draft written: {}\n", path.printable());
            for line in found {
                out.push_str(&format!("  {line}\n"));
            }
            out.push_str(&format!(
                "{} marked \"confirm\": read each against the fixture itself, put right what stands below it, delete the question, then run `jigwarden enrol {}`\n",
                counted(confirm, "line in it is", "lines in it are"),
                path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")).printable()
            ));
            say(&out);
            0
        }
        Enrolled::Locked {
            path,
            fixture,
            said,
            written,
            cautions,
        } => {
            let mut out = format!(
                "{}: \"{}\" {}\n",
                if written {
                    "enrolled"
                } else {
                    "already enrolled, nothing changed"
                },
                fixture.name.printable(),
                fixture.code
            );
            for line in said {
                out.push_str(&format!("  {line}\n"));
            }
            out.push_str(&format!("  lock: {}\n", path.printable()));
            if let Some(run) = cautions {
                out.push('\n');
                let look = look(false, false);
                out.push_str(&text::one(&run, &look, true));
                out.push_str(&text::closing_of_drawing(&look));
            }
            say(&out);
            0
        }
        Enrolled::Held(run) => {
            say(&text::one(&run, &look(false, false), true));
            run.verdict.exit()
        }
    }
}
