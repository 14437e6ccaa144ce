//! `enrol`: what came of it, in words.

use std::path::Path;

use super::arguments::EnrolArgs;
use super::{complain, look, say};
use crate::enrolling::{self, Enrolled};
use crate::inspect::Asked;
use crate::report::{Report, text};

pub(super) fn enrol(args: &EnrolArgs) -> u8 {
    let asked = Asked {
        fonts: args.fonts.clone(),
        machine_fonts: true,
        ..Asked::default()
    };
    match enrolling::enrol(&args.place, args.renew, &asked) {
        Err(trouble) => {
            complain(&trouble);
            2
        }
        Ok(Enrolled::Draft {
            path,
            found,
            confirm,
        }) => {
            let mut out = format!("draft written: {}\n", path.display());
            for line in found {
                out.push_str(&format!("  {line}\n"));
            }
            out.push_str(&format!(
                "{confirm} lines in it are marked \"confirm\": read them against the fixture itself, put them right, then run `jigwarden enrol {}`\n",
                path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")).display()
            ));
            say(&out);
            0
        }
        Ok(Enrolled::Locked {
            path,
            fixture,
            said,
            written,
            cautions,
        }) => {
            let mut out = format!(
                "{}: \"{}\" {}\n",
                if written {
                    "enrolled"
                } else {
                    "already enrolled, nothing changed"
                },
                fixture.name,
                fixture.code
            );
            for line in said {
                out.push_str(&format!("  {line}\n"));
            }
            out.push_str(&format!("  lock: {}\n", path.display()));
            if let Some(run) = cautions {
                out.push('\n');
                let report = Report { runs: vec![*run] };
                out.push_str(&text::render(&report, &look(false, false)));
            }
            say(&out);
            0
        }
        Ok(Enrolled::Held(run)) => {
            let report = Report { runs: vec![*run] };
            say(&text::render(&report, &look(false, false)));
            report.exit()
        }
    }
}
