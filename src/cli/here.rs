//! `jigwarden` alone: what lies in this folder, and the next useful command.
//!
//! It goes to standard error, and its status is that of a call that inspects nothing: a script that meant a
//! command must not take the answer for a verdict.

use std::io;
use std::path::{Path, PathBuf};

use super::files::artwork;
use super::screen;
use crate::fixture::{self, Fixture, FixtureError};
use crate::inspect::Failure;
use crate::paths::Printable as _;
use crate::rules;
use crate::typeset::{Ink, Screen};
use crate::wording::counted;

/// What is told instead of a verdict.
pub(super) fn here() -> Failure {
    Failure::plain(match look() {
        Ok(found) => told(&found, &screen()),
        Err(e) => format!("this folder cannot be read: {e}"),
    })
}

/// What lies here, and what to do.
struct Found {
    lies: Vec<String>,
    next: String,
    why: String,
}

fn look() -> io::Result<Found> {
    let entries = entries(Path::new("."))?;
    if let Some(settings) = fixture::nearest(Path::new("run.svg")) {
        return Ok(with_fixture(&settings, &entries));
    }
    let drawings: Vec<&PathBuf> = entries.iter().filter(|p| artwork(p)).collect();
    let fixtures: Vec<&PathBuf> = entries
        .iter()
        .filter(|p| p.join(fixture::SETTINGS).is_file())
        .collect();
    let mut lies = Vec::new();
    for folder in &fixtures {
        lies.push(format!("a fixture in {}", folder.printable()));
    }
    match drawings.as_slice() {
        [] => {}
        [one] => lies.push(format!("one drawing, {}", one.printable())),
        many => lies.push(format!("{} drawings", many.len())),
    }
    if fixtures.is_empty() {
        lies.push("no fixture: there is no fixture.toml here or above".to_owned());
    }
    let (next, why) = match (fixtures.as_slice(), drawings.as_slice()) {
        ([folder, ..], []) => (
            format!("cd {}", typed(folder)),
            "goes to the fixture; say jigwarden there",
        ),
        (_, [drawing]) if fixtures.is_empty() => (
            format!("jigwarden enrol {}", typed(drawing)),
            "measures it, if it is the drawing that a fixture is cut from",
        ),
        ([], [_, ..]) => (
            "jigwarden enrol DRAWING".to_owned(),
            "measures the one that a fixture is cut from",
        ),
        (_, _) if !drawings.is_empty() => (
            "jigwarden inspect . --fixtures .".to_owned(),
            "inspects each against the fixture whose outlines it holds",
        ),
        _ => (
            "jigwarden plan --help".to_owned(),
            "draws a fixture from the measures of a blank; jigwarden enrol DRAWING measures one that is drawn",
        ),
    };
    Ok(Found {
        lies,
        next,
        why: why.to_owned(),
    })
}

/// The settings are here or above.
fn with_fixture(settings: &Path, entries: &[PathBuf]) -> Found {
    let folder = settings.parent().unwrap_or(Path::new("."));
    let at_home = std::env::current_dir().is_ok_and(|here| here == folder);
    let folder = if at_home { Path::new(".") } else { folder };
    let fixture = match Fixture::open(settings, &rules::names()) {
        Ok(fixture) => fixture,
        Err(e) => {
            let mut lies = vec![e.to_string()];
            if let FixtureError::Settings(mistakes) | FixtureError::Pockets(mistakes) = &e {
                lies.extend(mistakes.report(100).lines().map(str::to_owned));
            }
            return Found {
                lies,
                next: format!("jigwarden enrol {}", typed(folder)),
                why: "measures the fixture again, once its drawing and its settings are right"
                    .to_owned(),
            };
        }
    };
    let pockets: Vec<String> = fixture.pockets.iter().map(|p| p.name.clone()).collect();
    let mut lies = vec![format!(
        "the fixture \"{}\" {}, {}: {}{}",
        fixture.settings.name,
        fixture.lock.code,
        counted(pockets.len(), "pocket", "pockets"),
        fixture::shorthand::list(&pockets),
        if at_home {
            String::new()
        } else {
            format!(" (in {})", folder.printable())
        }
    )];
    let runs = runs(entries, &fixture);
    lies.push(match runs.as_slice() {
        [] => "no run file yet".to_owned(),
        [one] => format!("one run file, {}", one.printable()),
        many => format!("{} run files", many.len()),
    });
    let (next, why) = match runs.as_slice() {
        [] => (
            "jigwarden watch .".to_owned(),
            "inspects each run that is saved here; jigwarden fill makes runs from an order list",
        ),
        [one] => (
            format!("jigwarden inspect {}", typed(one)),
            "says whether it may be sent",
        ),
        _ => (
            "jigwarden inspect .".to_owned(),
            "says of each whether it may be sent",
        ),
    };
    Found {
        lies,
        next,
        why: why.to_owned(),
    }
}

/// The artwork here and one folder down, which is as deep as a bench puts its runs.
fn runs(here: &[PathBuf], fixture: &Fixture) -> Vec<PathBuf> {
    let below = here
        .iter()
        .filter(|p| p.is_dir() && !p.join(fixture::SETTINGS).is_file())
        // A folder that is not ours to read holds no runs of ours.
        .flat_map(|p| entries(p).unwrap_or_default());
    let drawing = fixture.folder.join(&fixture.settings.drawing);
    let is_drawing = |p: &PathBuf| crate::paths::same(p, &drawing).unwrap_or(false);
    here.iter()
        .cloned()
        .chain(below)
        .filter(|p| artwork(p) && p.is_file() && !is_drawing(p))
        .collect()
}

/// What is in a folder, by name, without what is hidden.
fn entries(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut all: Vec<PathBuf> = std::fs::read_dir(folder)?
        .map(|e| e.map(|e| e.path()))
        .collect::<io::Result<_>>()?;
    all.retain(|p| {
        p.file_name()
            .is_some_and(|n| !n.to_string_lossy().starts_with('.'))
    });
    all.sort();
    Ok(all
        .into_iter()
        .map(|p| p.strip_prefix(".").map(Path::to_path_buf).unwrap_or(p))
        .collect())
}

/// A path as it is typed in a command.
fn typed(path: &Path) -> String {
    let shown = path.printable();
    let simple = |c: char| c.is_alphanumeric() || "._-/\\:".contains(c);
    if shown.chars().all(simple) {
        shown
    } else {
        format!("\"{shown}\"")
    }
}

fn told(found: &Found, screen: &Screen) -> String {
    let mut out = String::new();
    for (index, line) in found.lies.iter().enumerate() {
        let lead = if index == 0 { "here: " } else { "      " };
        // Lines of a report stay as they are: they point at what is above them.
        out.push_str(&format!("{lead}{}\n", screen.clean(line)));
    }
    out.push('\n');
    out.push_str(&screen.set("next: ", "      ", &[(Ink::Typed, &found.next)]));
    out.push_str(&screen.set("      ", "      ", &[(Ink::Plain, &found.why)]));
    out.push_str("\njigwarden --help lists all commands");
    out
}
