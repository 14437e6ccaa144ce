//! The command `enrol`: a draft of the settings for a new drawing, the lock for a settled one.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::artwork::length::RootUnits;
use crate::artwork::mark::{Artwork, Colour, Content, Operation, Paint, Role};
use crate::artwork::resolve::{ReadOptions, resolve};
use crate::artwork::source::Source;
use crate::finding::{Finding, Info, Location};
use crate::fixture::draft::{self, Found, FoundGroup, FoundPaint};
use crate::fixture::enrol::{self, Problem};
use crate::fixture::lock::{self, Lock, LockError};
use crate::fixture::settings::Settings;
use crate::fixture::{self, Fixture, parse};
use crate::geometry::contour::Contour;
use crate::inspect::{self, Failure, Options};
use crate::matching::{self, Job, MatchOptions};
use crate::output;
use crate::report::order::order;
use crate::report::{FixtureName, Run, Subject, Verdict};
use crate::rules;
use crate::rules::enrol::Drawing;
use crate::units::Shown;

use self::summary::{changes, summary};

mod summary;

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
        /// What the drawing was found to need a look for.
        cautions: Option<Box<Run>>,
    },
    /// The drawing holds something that must be put right first.
    Held(Box<Run>),
}

/// Enrols a drawing without settings, or a folder with them.
///
/// # Errors
///
/// Anything that cannot be read, settings in the way of a draft, or a lock that differs.
pub fn enrol(place: &Path, renew: bool, options: &Options) -> Result<Enrolled, Failure> {
    Ok(enrol_seen(place, renew, options, |_, _| ())?.0)
}

/// As [`enrol()`]. `seen` is given the fixture on an otherwise empty bed and what was found in its
/// drawing, to draw the proof; not where a draft is written, since nothing is measured then.
///
/// # Errors
///
/// As [`enrol()`].
pub fn enrol_seen<T: Send>(
    place: &Path,
    renew: bool,
    options: &Options,
    seen: impl FnOnce(&Job<'_>, &Run) -> T + Send,
) -> Result<(Enrolled, Option<T>), Failure> {
    inspect::guarded(place, || {
        if has_settings(place) {
            return folder(&fixture::settings_path(place), renew, options, seen);
        }
        Ok((drawing(place, options)?, None))
    })?
}

/// Whether `place` is a fixture with settings (a folder or its `fixture.toml`), and no bare drawing.
pub fn has_settings(place: &Path) -> bool {
    place.is_dir() || place.file_name().is_some_and(|n| n == fixture::SETTINGS)
}

fn plain(text: &(impl ToString + ?Sized)) -> Failure {
    Failure {
        text: text.to_string(),
        detail: String::new(),
    }
}

/// No settings yet: measures the drawing and drafts them.
fn drawing(path: &Path, options: &Options) -> Result<Enrolled, Failure> {
    let source = Source::read(path).map_err(|e| inspect::unreadable(&e))?;
    let beside = path.parent().map(Path::to_path_buf).unwrap_or_default();
    let settings = beside.join(fixture::SETTINGS);
    if settings.exists() {
        return Err(plain(&format!(
            "{} is already there and is not written over: run `jigwarden enrol {}` to measure the drawing by it, or move it away for a new draft",
            settings.display(),
            if beside.as_os_str().is_empty() {
                ".".to_owned()
            } else {
                beside.display().to_string()
            }
        )));
    }
    let faces = inspect::faces(&beside, options);
    let reading = ReadOptions {
        units: RootUnits::CSS,
        placing: None,
        faces: &faces,
    };
    let artwork = resolve(&source, &reading).map_err(|e| inspect::unreadable(&e))?;
    let name = path
        .file_name()
        .map(|n| n.to_string_lossy().into_owned())
        .unwrap_or_default();
    let found = look(&source, &artwork, name);
    let text = draft::draft(&found);
    write(&settings, &text)?;
    Ok(Enrolled::Draft {
        path: settings,
        found: in_words(&found),
        confirm: draft::unconfirmed(&text).len(),
    })
}

/// Counts what a drawing holds.
fn look(source: &Source, artwork: &Artwork, drawing: String) -> Found {
    let page = artwork.page.rect;
    let physical = artwork.page.physical;
    let mut found = Found {
        drawing,
        page_width: if physical { page.width() } else { 0.0 },
        page_height: if physical { page.height() } else { 0.0 },
        shown: shown(source),
        unproven: artwork.unproven.len(),
        ..Found::default()
    };
    let mut paints: std::collections::BTreeMap<Colour, FoundPaint> =
        std::collections::BTreeMap::new();
    let mut shapes: Vec<(Colour, Contour)> = Vec::new();
    for mark in &artwork.marks {
        if mark.hidden.is_some() {
            found.hidden += 1;
        }
        let Paint::Colour(colour) = mark.paint else {
            continue;
        };
        let paint = paints.entry(colour).or_insert(FoundPaint {
            colour,
            strokes: 0,
            fills: 0,
            lettering: 0,
            closed: 0,
            open: 0,
        });
        match (&mark.content, &mark.role) {
            (Content::Lettering(_), _) => paint.lettering += 1,
            (_, Role::Stroke(_)) => {
                paint.strokes += 1;
                for contour in enrol::outline(mark) {
                    if contour.closed {
                        paint.closed += 1;
                        shapes.push((colour, contour));
                    } else {
                        paint.open += 1;
                    }
                }
            }
            _ => paint.fills += 1,
        }
    }
    found.paints = paints.into_values().collect();
    found.groups = groups(&shapes);
    found
}

/// Equal closed contours, the most numerous first.
fn groups(shapes: &[(Colour, Contour)]) -> Vec<FoundGroup> {
    let tree = crate::geometry::boxes::Boxes::new(shapes.iter().map(|(_, c)| c.bounds));
    let holds = |outer: &Contour| {
        tree.within(outer.bounds)
            .into_iter()
            .filter_map(|i| shapes.get(i))
            .any(|(_, inner)| inner.area < outer.area && outer.contains(inner.centroid))
    };
    let mut groups: Vec<(FoundGroup, f64)> = Vec::new();
    for (colour, contour) in shapes {
        let (w, h) = (contour.bounds.width(), contour.bounds.height());
        let contains_others = holds(contour);
        let same = |(g, area): &&mut (FoundGroup, f64)| {
            g.colour == *colour
                && (g.width - w).abs() < EQUAL
                && (g.height - h).abs() < EQUAL
                && (area.abs() - contour.area).abs() < EQUAL * contour.length
                && g.contains_others == contains_others
        };
        match groups.iter_mut().find(same) {
            Some((group, _)) => group.count += 1,
            None => groups.push((
                FoundGroup {
                    count: 1,
                    width: w,
                    height: h,
                    colour: *colour,
                    likely_pocket: false,
                    contains_others,
                },
                contour.area,
            )),
        }
    }
    let mut groups: Vec<FoundGroup> = groups.into_iter().map(|(g, _)| g).collect();
    groups.sort_by(|a, b| {
        b.count
            .cmp(&a.count)
            .then((b.width * b.height).total_cmp(&(a.width * a.height)))
            .then(a.colour.cmp(&b.colour))
    });
    for group in &mut groups {
        group.likely_pocket =
            !group.contains_others && group.width.min(group.height) >= SMALLEST_POCKET;
    }
    groups
}

/// Contours whose sizes differ by less than this, in millimetres, count as equal in a draft.
const EQUAL: f64 = 0.05;

/// Blanks smaller than this, in millimetres, are not engraved in a fixture (common practice, no
/// source); smaller closed cuts are holes or loading marks.
const SMALLEST_POCKET: f64 = 6.0;

/// The unit that a drawing states its page in.
fn shown(source: &Source) -> Shown {
    let head = source
        .text
        .get(..4096.min(source.text.len()))
        .unwrap_or(&source.text);
    let width = head
        .split("width=")
        .nth(1)
        .map(|w| w.chars().take(24).collect::<String>());
    match width {
        Some(w)
            if w.trim_start_matches(['"', '\''])
                .split(['"', '\''])
                .next()
                .is_some_and(|v| v.ends_with("in")) =>
        {
            Shown::Inch
        }
        _ => Shown::Mm,
    }
}

fn in_words(found: &Found) -> Vec<String> {
    let mut said = vec![format!(
        "page: {}",
        found.shown.size(found.page_width, found.page_height)
    )];
    for p in &found.paints {
        said.push(format!(
            "paint {}: {} lines ({} closed, {} open), {} fills, {} of lettering",
            p.colour, p.strokes, p.closed, p.open, p.fills, p.lettering
        ));
    }
    for g in &found.groups {
        said.push(format!(
            "{} × {} in {}{}",
            g.count,
            found.shown.size(g.width, g.height),
            g.colour,
            if g.contains_others {
                ", holds others: the sheet's edge"
            } else if g.likely_pocket {
                ", likely pockets"
            } else {
                ""
            }
        ));
    }
    if found.hidden > 0 {
        said.push(format!("{} hidden", found.hidden));
    }
    if found.unproven > 0 {
        said.push(format!(
            "{} places that could not be read; `enrol` of the folder will name them",
            found.unproven
        ));
    }
    said
}

/// Settings are there: measures the drawing into the lock.
fn folder<T>(
    settings_path: &Path,
    renew: bool,
    options: &Options,
    seen: impl FnOnce(&Job<'_>, &Run) -> T,
) -> Result<(Enrolled, Option<T>), Failure> {
    let settings = parse::read(settings_path, &rules::names()).map_err(|e| Failure {
        text: e.to_string(),
        detail: e.report(100),
    })?;
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
        file: drawing.display().to_string(),
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
                    path.display(),
                    folder.display()
                ),
                detail: format!("  {changes}"),
            });
        }
        Err(e) => return Err(plain(&e)),
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
    let rest = Artwork {
        page: artwork.page,
        marks: artwork
            .marks
            .into_iter()
            .filter(|m| enrol::operation(m, settings) == Operation::Unknown)
            .collect(),
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
    rules::waivers::apply(findings, &own, &call, today);
}

fn write(path: &Path, text: &str) -> Result<(), Failure> {
    output::replace(path, text.as_bytes())
        .map_err(|e| plain(&format!("{} cannot be written: {e}", path.display())))
}

/// What must be put right before the drawing can be locked.
fn findings(problems: &[Problem], artwork: &Artwork, settings: &Settings) -> Vec<Finding> {
    let mut out = Vec::new();
    let mut paints = std::collections::BTreeSet::new();
    let not_proven = rules::find("not-proven");
    let unknown = rules::find("paint-unknown");
    let (Some(not_proven), Some(unknown)) = (not_proven, unknown) else {
        return out;
    };
    for problem in problems {
        match problem {
            Problem::Unproven(index) => {
                let Some(u) = artwork.unproven.get(*index) else { continue };
                out.push(Finding::new(not_proven, &Location::File(&u.origin), rules::not_proven::told(u), u.help.as_str()));
            }
            Problem::UnknownPaint(index) => {
                let mark = &artwork.marks[*index];
                let paint = match &mark.paint {
                    Paint::Colour(c) => c.to_string(),
                    other => format!("{other:?}"),
                };
                if !paints.insert(paint.clone()) {
                    continue;
                }
                out.push(Finding::new(
                    unknown,
                    &Location::Mark(&mark.origin, mark.ink().bounds().unwrap_or_default()),
                    format!("{} in the fixture drawing is in {paint}, which no operation claims, so whether it is part of the fixture is not known", crate::wording::sentence(&rules::thing(mark))),
                    "list the paint under [paints] in fixture.toml",
                ));
            }
            Problem::NoPocket => out.push(Finding::new(
                not_proven,
                &Location::Nowhere("it is about outlines that are not there"),
                "The drawing holds no closed outline in a cut paint, so it has no pocket",
                "check [paints] cut in fixture.toml against the drawing, and close the pockets' outlines",
            )),
            Problem::Zone(what) => out.push(Finding::new(
                not_proven,
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
                not_proven,
                &Location::File(&mark.origin),
                format!("\"{}\" in the fixture drawing is set in {}, which is not at hand, so it cannot be locked", l.text, face.family),
                "turn the lettering of the fixture drawing into outlines, or put the font file in the fonts folder",
            ));
        }
    }
    out
}
