//! The command `enrol`: a draft of the settings for a new drawing, the lock for a settled one.

use crate::ids::At;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::artwork::mark::{Artwork, Content, Mark, Operation, Paint};
use crate::artwork::source::Source;
use crate::finding::{Finding, Info, Location};
use crate::fixture::enrol::{self, Problem};
use crate::fixture::lock::{self, Lock, LockError};
use crate::fixture::settings::Settings;
use crate::fixture::{self, Fixture, parse};
use crate::inspect::{self, Failure, Options};
use crate::matching::{self, Job, MatchOptions};
use crate::paths::{self, Printable as _};
use crate::report::order::order;
use crate::report::{FixtureName, Run, Subject, Verdict};
use crate::rules;
use crate::rules::enrol::Drawing;

use self::interview::Asker;
use self::summary::{changes, summary};

mod drafting;
pub(crate) mod interview;
mod look;
mod neighbours;
mod summary;

/// How a fixture is to be enrolled.
pub struct How<'a> {
    /// Whether a lock that differs may be written over.
    pub renew: bool,
    /// Who answers open questions. Without anybody they stay in the draft.
    pub asker: Option<&'a mut dyn Asker>,
}

/// What `enrol` has to say.
#[derive(Debug)]
pub enum Enrolled {
    /// A draft was written for a person to confirm.
    Draft {
        /// Where it is.
        path: PathBuf,
        /// What was found, a line each.
        found: Vec<String>,
        /// How many lines of it ask for a person's word.
        confirm: usize,
    },
    /// The lock was written, or was already right.
    Locked {
        /// Where it is.
        path: PathBuf,
        /// The fixture.
        fixture: FixtureName,
        /// What it holds and what changed, a line each.
        said: Vec<String>,
        /// Whether the file was written.
        written: bool,
        /// Cautions about the drawing.
        cautions: Option<Box<Run>>,
    },
    /// The drawing holds something that must be put right first.
    Held(Box<Run>),
}

/// Enrols a drawing without settings, or a folder with them; `how.asker` is somebody to ask. `seen` is given
/// the fixture on an otherwise empty bed and what was found in its drawing, to draw the proof; not where a
/// draft stays unanswered, since nothing is measured then.
///
/// # Errors
///
/// Anything that cannot be read, settings in the way of a draft, questions that nobody answered, or a
/// lock that differs.
pub fn enrol<T: Send>(
    place: &Path,
    how: How<'_>,
    options: &Options,
    seen: impl FnOnce(&Job<'_>, &Run) -> T + Send,
) -> Result<(Enrolled, Option<T>), Failure> {
    inspect::guarded(place, || {
        neighbours::no_fixture_above(place)?;
        if has_settings(place) {
            return folder(&fixture::settings_path(place), how, options, seen);
        }
        let draft = drafting::draft(place, options)?;
        let (Enrolled::Draft { path, found, .. }, Some(asker)) = (&draft, how.asker) else {
            return Ok((draft, None));
        };
        asker.found(path, found);
        let how = How {
            asker: Some(asker),
            ..how
        };
        folder(path, how, options, seen)
    })?
}

/// Whether `place` is a fixture with settings (a folder or its `fixture.toml`), and no bare drawing.
pub(crate) fn has_settings(place: &Path) -> bool {
    place.is_dir() || place.file_name().is_some_and(|n| n == fixture::SETTINGS)
}

/// Settings are there: measures the drawing into the lock.
fn folder<T>(
    settings_path: &Path,
    how: How<'_>,
    options: &Options,
    seen: impl FnOnce(&Job<'_>, &Run) -> T,
) -> Result<(Enrolled, Option<T>), Failure> {
    let told = |e: &parse::SettingsError| Failure {
        text: e.to_string(),
        detail: e.report(100),
    };
    if let Some(asker) = how.asker {
        interview::answered(settings_path, asker)?;
    }
    // What is not answered may be what makes the settings incomplete: it is said first.
    let text = paths::read(settings_path).unwrap_or_default();
    interview::nothing_open(settings_path, &String::from_utf8_lossy(&text))?;
    let settings = parse::read(settings_path, &rules::names()).map_err(|e| told(&e))?;
    let renew = how.renew;
    let folder = settings_path
        .parent()
        .map(Path::to_path_buf)
        .unwrap_or_default();
    let drawing = folder.join(&settings.drawing);
    let source = Source::read(&drawing).map_err(|e| inspect::unreadable(&e))?;
    let faces = inspect::faces(&folder, options);
    let artwork = inspect::read(&source, &settings, &faces)?;
    let (lock, problems) = enrol::measure(&source, &artwork, &settings);
    let names: Vec<String> = lock.pockets.iter().map(|p| p.name.clone()).collect();
    let mut findings = findings(&problems, &artwork, &settings);
    findings.extend(rules::enrol::run(&Drawing::new(&artwork, &settings, &lock)));
    excuse(&mut findings, &settings, options);
    let registry: Vec<Info> = rules::all().copied().collect();
    order(&mut findings, &registry);
    let verdict = Verdict::of(&findings, options.strict);
    let mut run = Run {
        subject: Subject::Drawing,
        file: paths::exact(&drawing),
        uri: paths::percent(&drawing),
        sha256: source.sha256.clone(),
        verdict,
        fixture: Some(FixtureName {
            name: settings.name.clone(),
            code: String::new(),
        }),
        findings,
        notes: Vec::new(),
        text: Arc::from(source.text.as_str()),
        rests_on: None,
        blanks: Vec::new(),
        trouble: None,
        shown: settings.bed.shown,
    };
    if verdict != Verdict::Clear {
        run.notes.push("the lock was not written".to_owned());
        let drawn = on_the_bed(artwork, &settings, &lock, &run, seen);
        return Ok((Enrolled::Held(Box::new(run)), Some(drawn)));
    }
    if let Some(name) = &mut run.fixture {
        name.code.clone_from(&lock.code);
    }
    fixture::check_pockets(&settings, &names).map_err(|e| Failure {
        text: e.to_string(),
        detail: e.report(100),
    })?;
    let path = folder.join(lock::FILE);
    let text = lock.text();
    let mut said = summary(&lock, &settings);
    let before = Lock::read(&path);
    let written = match &before {
        Err(LockError::Missing { .. }) => true,
        Ok(old) if old.text() == text => false,
        _ if renew => true,
        Ok(old) => {
            let changes = changes(old, &lock, settings.bed.shown).join("\n  ");
            return Err(Failure {
                text: format!(
                    "{} differs from what is measured now and is not written over: if the fixture itself was made anew, run `jigwarden enrol {} --renew`",
                    path.printable(),
                    folder.printable()
                ),
                detail: format!("  {changes}"),
            });
        }
        Err(e) => return Err(Failure::plain(e)),
    };
    if written {
        match &before {
            Ok(old) => said.extend(changes(old, &lock, settings.bed.shown)),
            Err(LockError::Missing { .. }) => {}
            Err(e) => said.push(format!("replaced a lock that could not be used: {e}")),
        }
        write(&path, &text)?;
    }
    let drawn = on_the_bed(artwork, &settings, &lock, &run, seen);
    let locked = Enrolled::Locked {
        path,
        fixture: FixtureName {
            name: lock.name.clone(),
            code: lock.code.clone(),
        },
        said,
        written,
        cautions: (!run.findings.is_empty()).then(|| Box::new(run)),
    };
    Ok((locked, Some(drawn)))
}

/// Shows the fixture on the bed with nothing over it but what no operation claims: every other line
/// of the drawing is the fixture itself.
fn on_the_bed<T>(
    artwork: Artwork,
    settings: &Settings,
    lock: &Lock,
    run: &Run,
    seen: impl FnOnce(&Job<'_>, &Run) -> T,
) -> T {
    // Of what is not locked, a guide around all pockets may be the sheet, and what no operation claims
    // is to be seen.
    let boxes = lock
        .pockets
        .iter()
        .map(|p| lock.outlines[p.outline].contour.bounds);
    let pockets = boxes.reduce(|a, b| a.union(b)).unwrap_or_default();
    let shown = |m: &Mark| match enrol::operation(m, settings) {
        Operation::Unknown => true,
        Operation::Off => m.path.control_box().contains_rect(pockets),
        _ => false,
    };
    let rest = Artwork {
        page: artwork.page,
        marks: artwork.marks.into_iter().filter(shown).collect(),
        ..Artwork::default()
    };
    let fixture = Fixture::of_one_piece(PathBuf::new(), settings.clone(), lock.clone());
    let how = MatchOptions {
        loaded: None,
        follow_shift: false,
    };
    let matched = matching::match_artwork(&rest, &fixture, &how);
    seen(&Job::shown_only(matched), run)
}

/// Applies the waivers of rules about drawings; the others are about runs.
fn excuse(findings: &mut Vec<Finding>, settings: &Settings, options: &Options) {
    let mut own = settings.clone();
    own.waivers.retain(|w| rules::enrol::is_one(&w.rule));
    let call = |name: &str| {
        settings
            .exceptions
            .iter()
            .find(|e| e.call.as_deref() == Some(name))
            .and_then(|e| e.names.first().cloned())
    };
    let today = options.today.unwrap_or_else(fixture::shorthand::today);
    rules::waivers::apply(findings, &own, &call, &|| today);
}

fn write(path: &Path, text: &str) -> Result<(), Failure> {
    paths::replace(path, text.as_bytes())
        .map_err(|e| Failure::plain(format!("{} cannot be written: {e}", path.printable())))
}

/// What must be put right before the drawing can be locked.
fn findings(problems: &[Problem], artwork: &Artwork, settings: &Settings) -> Vec<Finding> {
    let mut out = Vec::new();
    let mut paints = std::collections::BTreeSet::new();
    for problem in problems {
        match problem {
            Problem::Unproven(index) => {
                let u = artwork.unproven.at(*index);
                out.push(Finding::new(
                    &rules::not_proven::INFO,
                    &Location::File(&u.origin),
                    rules::not_proven::told(u),
                    u.help.as_str(),
                ));
            }
            Problem::UnknownPaint(index) => {
                let mark = &artwork.marks[*index];
                let paint = match &mark.paint {
                    Paint::Colour(c) => c.to_string(),
                    Paint::Server { kind, id } => format!("the {kind} \"{id}\""),
                    Paint::Unread(text) => format!("\"{text}\", which cannot be read"),
                    Paint::None | Paint::Pixels => "no paint".to_owned(),
                };
                if !paints.insert(paint.clone()) {
                    continue;
                }
                out.push(Finding::new(
                    &rules::paint_unknown::INFO,
                    &Location::Mark(&mark.origin, mark.ink().bounds().unwrap_or_default()),
                    format!("{} in the fixture drawing is in {paint}, which no operation claims, so whether it is part of the fixture is not known", crate::wording::sentence(&rules::thing(mark))),
                    "list the paint under [paints] in fixture.toml",
                ));
            }
            Problem::NoPocket => out.push(Finding::new(
                &rules::not_proven::INFO,
                &Location::Nowhere("it is about outlines that are not there"),
                "The drawing holds no closed outline in a cut paint, so it has no pocket",
                "check [paints] cut in fixture.toml against the drawing, and close the pockets' outlines",
            )),
            Problem::Zone(what) => out.push(Finding::new(
                &rules::not_proven::INFO,
                &Location::Nowhere("it is about settings and drawing together"),
                crate::wording::sentence(what),
                "correct body and margin in fixture.toml, or draw the zones in the drawing",
            )),
        }
    }
    for mark in &artwork.marks {
        if let Content::Lettering(l) = &mark.content
            && let Some(face) = l.missing.first()
            && enrol::operation(mark, settings) != Operation::Off
        {
            out.push(Finding::new(
                &rules::not_proven::INFO,
                &Location::File(&mark.origin),
                format!(
                    "\"{}\" in the fixture drawing is set in {}, so it cannot be locked",
                    crate::wording::short(&l.text),
                    if face.family.is_empty() {
                        "no face by name".to_owned()
                    } else {
                        format!("{}, which is not at hand", face.family)
                    }
                ),
                "turn the lettering of the fixture drawing into outlines, or put the font file in the fonts folder",
            ));
        }
    }
    out
}
