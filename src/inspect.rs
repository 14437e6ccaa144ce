//! The pipeline: one function, stages in order. Every command that inspects calls it.

mod choose;
mod lays;
pub(crate) mod together;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use jiff::civil::Date;

use crate::abandon::{self, Limit};
use crate::artwork::fonts::Faces;
use crate::artwork::ink::Inks;
use crate::artwork::mark::{Artwork, Lay};
use crate::artwork::resolve::{ReadOptions, elements, resolve, resolve_as};
use crate::artwork::source::{ReadError, Source};
use crate::finding::{Finding, Info};
use crate::fixture::enrol;
use crate::fixture::shorthand;
use crate::fixture::{self, Fixture};
use crate::ids::At;
use crate::matching::job::{Compared, Known};
use crate::matching::outlined_art::outlined_art;
use crate::matching::reference::Reference;
use crate::matching::{self, Job, MatchOptions};
use crate::orders::{self, OrderList};
use crate::paths::{self, Printable as _};
use crate::readback::{self, Reader};
use crate::remedy::Sites;
use crate::report::order::order;
use crate::report::rests_on::{RestsOn, blanks};
use crate::report::{FixtureName, Run, Subject, Verdict};
use crate::rules::{self, waivers};
use crate::settle::{self, Trial};
use crate::units::Shown;

use crate::orders::together::Together;

pub(crate) use self::choose::Opened;

/// The options of one inspection.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// `--fixture`: a folder or a `fixture.toml`.
    pub fixture: Option<PathBuf>,
    /// `--fixtures`: a folder of fixtures to choose from by geometry.
    pub fixtures: Option<PathBuf>,
    /// `--loaded`, as written.
    pub loaded: Option<String>,
    /// `--strict`: cautions hold too.
    pub strict: bool,
    /// `--names` with its column.
    pub names: Option<crate::orders::Named>,
    /// Runs that are compared with the list of `names` together.
    pub together: Option<Arc<Together>>,
    /// The orders themselves, if they are known already; they take precedence over `names`.
    pub expected: Option<Arc<crate::orders::OrderList>>,
    /// `--fonts`.
    pub fonts: Vec<PathBuf>,
    /// Whether the machine's own fonts may be used.
    pub machine_fonts: bool,
    /// The day on which waivers are judged.
    pub today: Option<Date>,
}

impl Options {
    /// Every file that inspecting `run` reads. None of them may be overwritten.
    pub fn reads(&self, run: &Path) -> Vec<PathBuf> {
        let mut files = vec![run.to_path_buf()];
        files.extend(self.names.as_ref().map(|named| named.file.clone()));
        let place = self.fixture.clone().or_else(|| fixture::nearest(run));
        files.extend(place.iter().flat_map(|place| fixture::files(place)));
        files
    }
}

/// Why a run could not be inspected: a clear text for people, ready to be shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// What is wrong, and the way out.
    pub text: String,
    /// An excerpt or the like to show below it; may be empty.
    pub detail: String,
}

impl Failure {
    /// A text alone.
    #[allow(
        clippy::needless_pass_by_value,
        reason = "most texts are made for it, and errors are handed over by `map_err`"
    )]
    pub(crate) fn plain(text: impl std::fmt::Display) -> Self {
        Self {
            text: text.to_string(),
            detail: String::new(),
        }
    }
}

/// Whether remedies are tried.
#[derive(Debug, Clone, Copy)]
enum Trials<'a> {
    /// They are.
    Made,
    /// They are not: this inspection is itself a trial, of a file that was inspected before.
    After(&'a Before<'a>),
}

/// What is known of the ink of a file before a remedy changes a part of it.
#[derive(Debug)]
struct Before<'a> {
    inks: Inks<'a>,
    known: Arc<Known>,
}

/// Stack for one inspection: nested elements are walked by recursion, and a file may nest
/// [`crate::artwork::limits::DEEPEST`] of them, each again inside a `use`.
const STACK: usize = 512 << 20;

/// Steps that one inspection may take, without the trials of its remedies (see [`abandon::spend`]): some
/// seconds. Each part of it has a limit of its own, which leaves the others their answers.
const MOST_STEPS: usize = 12_000_000;

/// The options of one call, and every fixture opened so far with its faces.
///
/// An inspector opens each fixture once. After a change, `watch` creates a new inspector.
#[derive(Debug, Default)]
pub struct Inspector {
    options: Options,
    opened: Arc<Mutex<BTreeMap<PathBuf, Arc<Opened>>>>,
}

/// Inspects one file. `seen` is given the job and the run, to draw the proof say, before both are
/// dropped.
pub fn inspect<T: Send>(
    file: &Path,
    options: &Options,
    seen: impl FnOnce(&Job<'_>, &Run) -> T + Send,
) -> (Run, Option<T>) {
    Inspector::new(options.clone()).inspect(file, seen)
}

impl Inspector {
    /// An inspector that has opened nothing yet.
    pub fn new(options: Options) -> Self {
        Self {
            options,
            opened: Arc::default(),
        }
    }

    /// Another inspector for the same fixtures with the same faces, which has opened what this one
    /// has.
    pub(crate) fn with(&self, change: impl FnOnce(&mut Options)) -> Self {
        let mut options = self.options.clone();
        change(&mut options);
        Self {
            options,
            opened: Arc::clone(&self.opened),
        }
    }

    /// Inspects one file.
    pub fn inspect<T: Send>(
        &self,
        file: &Path,
        seen: impl FnOnce(&Job<'_>, &Run) -> T + Send,
    ) -> (Run, Option<T>) {
        self.guarded(file, || Source::read(file), seen)
    }

    /// Inspects bytes that are already at hand, so that the very bytes that were inspected can be kept.
    /// `file` says where they come from, for messages and to find the fixture.
    pub fn inspect_bytes<T: Send>(
        &self,
        file: &Path,
        bytes: Vec<u8>,
        seen: impl FnOnce(&Job<'_>, &Run) -> T + Send,
    ) -> (Run, Option<T>) {
        self.guarded(file, move || Source::from_bytes(file, bytes), seen)
    }

    /// The stages on a thread of their own.
    fn guarded<T: Send>(
        &self,
        file: &Path,
        read: impl FnOnce() -> Result<Source, ReadError> + Send,
        seen: impl FnOnce(&Job<'_>, &Run) -> T + Send,
    ) -> (Run, Option<T>) {
        let work = || {
            let source = read().map_err(|e| (unreadable(&e), String::new()))?;
            let stages = || self.stages(file, &source, Trials::Made, seen);
            let limit = Limit::of(MOST_STEPS);
            limit.whole(stages).unwrap_or_else(|| {
                let said = format!(
                    "{} is too rich to be inspected: that takes more than {} million steps of work, which is the limit; join what lies on each other, or draw its outlines with fewer points",
                    file.printable(),
                    limit.millions()
                );
                Err((Failure::plain(&said), source.sha256.clone()))
            })
        };
        match guarded(file, work) {
            Ok(Ok((run, extra))) => (run, Some(extra)),
            Ok(Err((trouble, sha256))) => (unread(file, &trouble, sha256), None),
            Err(trouble) => (unread(file, &trouble, String::new()), None),
        }
    }

    fn stages<T>(
        &self,
        file: &Path,
        source: &Source,
        trials: Trials<'_>,
        seen: impl FnOnce(&Job<'_>, &Run) -> T,
    ) -> Result<(Run, T), (Failure, String)> {
        let options = &self.options;
        let trouble = |t: Failure| (t, source.sha256.clone());
        let (opened, artwork, unusable) =
            self.fixture_and_artwork(file, source).map_err(trouble)?;
        abandon::ask();
        let fixture = &opened.fixture;
        let known = match trials {
            Trials::Made => Arc::default(),
            Trials::After(before) => {
                artwork.take_inks(&before.inks);
                Arc::clone(&before.known)
            }
        };
        if matches!(trials, Trials::Made) {
            // Each pocket may have a name, which several parts look at.
            abandon::allow(abandon::for_pockets(0, 4 * fixture.pockets.len()));
        }
        let settings = &fixture.settings;
        let compared = self.compared(file, source, fixture).map_err(trouble)?;
        let run_of = compared.together.as_ref().map_or(1, |(t, _)| t.runs.len());
        let job = (self.job(&opened, &artwork, compared, &known)).map_err(trouble)?;
        let mut findings = rules::run(&job);
        if !artwork.disputed.is_empty() {
            let other = read_as(source, settings, &opened.faces, Lay::Other).map_err(trouble)?;
            let compared = self.compared(file, source, fixture).map_err(trouble)?;
            let other = (self.job(&opened, &other, compared, &known)).map_err(trouble)?;
            lays::merge(&mut findings, rules::run(&other), &artwork.disputed);
        }
        let call = |name: &str| {
            fixture
                .find(name)
                .map(|pocket| fixture.pockets[pocket].name.clone())
        };
        waivers::apply(&mut findings, settings, &call, &|| self.today());
        let registry: Vec<Info> = rules::all().copied().collect();
        order(&mut findings, &registry);
        if matches!(trials, Trials::Made) {
            self.settle(file, source, &opened, &artwork, known, &mut findings)
                .map_err(trouble)?;
            settle::fold(&mut findings);
        }
        let run = Run {
            subject: Subject::Run,
            file: paths::exact(file),
            uri: paths::percent(file),
            sha256: source.sha256.clone(),
            verdict: Verdict::of(&findings, options.strict),
            fixture: Some(FixtureName {
                name: settings.name.clone(),
                code: fixture.lock.code.clone(),
            }),
            findings,
            rests_on: Some(RestsOn::of(&job, run_of)),
            blanks: blanks(&job),
            notes: [remarks(&job), unusable].concat(),
            text: Arc::from(source.text.as_str()),
            trouble: None,
            shown: job.shown(),
        };
        let extra = abandon::unlimited(|| seen(&job, &run));
        Ok((run, extra))
    }

    /// Tries each remedy of `findings` on the file, by inspecting it again.
    fn settle(
        &self,
        file: &Path,
        source: &Source,
        opened: &Opened,
        artwork: &Artwork,
        known: Arc<Known>,
        findings: &mut [Finding],
    ) -> Result<(), Failure> {
        let any = |f: &Finding| {
            f.waived.is_none() && !(f.remedy.ways.is_empty() && f.remedy.choices.is_empty())
        };
        if !findings.iter().any(any) {
            return Ok(());
        }
        let reading = reading(&opened.fixture.settings, &opened.faces);
        let placed = elements(source, &reading).map_err(|e| unreadable(&e))?;
        let document = source.xml().map_err(|e| unreadable(&e))?;
        let sites = Sites::new(source, &document, placed, artwork);
        let inks = artwork.inks();
        let before = Before { inks, known };
        let segments = (artwork.marks.iter()).map(|m| m.path.elements().len());
        let trials = settle::trials(artwork.marks.len(), segments.sum());
        let most = abandon::for_pockets(settle::MOST_STEPS, opened.fixture.pockets.len());
        let taken = abandon::taken();
        // One trial takes about as long as the inspection did.
        let once = if taken <= most { taken + taken / 4 } else { 0 };
        let limit = Limit::of(most.saturating_sub(taken).max(once));
        settle::settle(findings, &sites, trials, &mut |changes| {
            let Ok(changed) = source.changed(changes) else {
                return Trial::Cannot;
            };
            let look = || {
                self.stages(file, &changed, Trials::After(&before), |_, run| {
                    run.findings.clone()
                })
            };
            match limit.whole(look) {
                Some(Ok((_, found))) => Trial::Found(found),
                Some(Err(_)) => Trial::Cannot,
                None => Trial::TooLong,
            }
        });
        Ok(())
    }

    /// The day on which waivers are judged; asked for only where there are any, as the local day takes
    /// reading the machine's time zone.
    fn today(&self) -> Date {
        self.options.today.unwrap_or_else(shorthand::today)
    }

    /// The artwork matched with its fixture, and what is written in it read.
    fn job<'a>(
        &self,
        opened: &'a Opened,
        artwork: &'a Artwork,
        compared: Compared,
        known: &Arc<Known>,
    ) -> Result<Job<'a>, Failure> {
        let options = &self.options;
        let fixture = &opened.fixture;
        let waived = |w: &fixture::settings::Waiver| {
            w.rule == "fixture-shifted" && waivers::holds(w, self.today())
        };
        let how = MatchOptions {
            loaded: self.loaded(fixture)?,
            follow_shift: !fixture.settings.waivers.iter().any(waived),
        };
        let matched = matching::match_artwork(artwork, fixture, &how);
        abandon::ask();
        let reader = || {
            opened.reader.get_or_init(|| {
                let faces = near_faces(&fixture.folder, options);
                abandon::unlimited(|| Reader::new(&faces, options.machine_fonts))
            })
        };
        let read =
            readback::read_pockets(&outlined_art(&matched), reader, &known.read, &known.alike);
        let references = references(opened)?;
        Ok(Job::new(
            matched,
            read,
            references,
            compared,
            Arc::clone(known),
        ))
    }

    /// What a run is compared with.
    fn compared(
        &self,
        file: &Path,
        source: &Source,
        fixture: &Fixture,
    ) -> Result<Compared, Failure> {
        let options = &self.options;
        if let Some(together) = &options.together
            && let Some(run) = together.run(file)
        {
            // What could not be read before is now said to be read by nobody.
            if together.runs.at(run).sha256 != source.sha256 {
                return Err(Failure::plain(format!(
                    "{} was changed while the runs were compared with the order list: inspect them again",
                    file.printable()
                )));
            }
            return Ok(Compared {
                orders: Some(together.list.clone()),
                together: Some((Arc::clone(together), run)),
            });
        }
        let orders = match (&options.expected, &options.names) {
            (Some(expected), _) => Some(OrderList::clone(expected)),
            (None, Some(named)) => Some(
                orders::read(named, &|called| fixture.called(called)).map_err(Failure::plain)?,
            ),
            (None, None) => None,
        };
        Ok(Compared {
            orders,
            together: None,
        })
    }
}

/// Does `work` on `file` on a thread that has the stack for it.
///
/// # Errors
///
/// A panic in `work`, in a library or in this program. The file is then refused, never passed.
pub(crate) fn guarded<T: Send>(file: &Path, work: impl FnOnce() -> T + Send) -> Result<T, Failure> {
    let file = file.printable();
    on_a_deep_stack(work).map_err(|e| {
        Failure::plain(match e {
            None => format!(
                "{file} made this program stumble, so it is not inspected: please report the file, and save it again as plain SVG"
            ),
            Some(e) => format!("no thread to inspect {file} on: {e}"),
        })
    })
}

/// Does `work` on a thread that has the stack for any file.
///
/// # Errors
///
/// `None` where `work` panicked; else why there is no such thread.
pub(crate) fn on_a_deep_stack<T: Send>(
    work: impl FnOnce() -> T + Send,
) -> Result<T, Option<std::io::Error>> {
    let task = abandon::task();
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new()
            .name("inspect".to_owned())
            .stack_size(STACK)
            .spawn_scoped(scope, || abandon::for_task(task, work))?;
        thread.join().map_err(|_| None)
    })
}

/// A run that could not be inspected.
pub(crate) fn unread(file: &Path, trouble: &Failure, sha256: String) -> Run {
    let mut text = trouble.text.clone();
    if !trouble.detail.is_empty() {
        text.push('\n');
        text.push_str(&trouble.detail);
    }
    Run {
        subject: Subject::Run,
        file: paths::exact(file),
        uri: paths::percent(file),
        sha256,
        verdict: Verdict::Unread,
        fixture: None,
        findings: Vec::new(),
        rests_on: None,
        blanks: Vec::new(),
        notes: Vec::new(),
        text: Arc::from(""),
        trouble: Some(text),
        shown: Shown::Mm,
    }
}

/// Remarks that are not findings.
fn remarks(job: &Job<'_>) -> Vec<String> {
    let mut remarks = job.fixture.notes.clone();
    remarks.extend(lays::note(&job.artwork.disputed));
    remarks.extend(job.artwork.remarks.iter().cloned());
    remarks.extend(job.orders.iter().flat_map(|o| o.notes.iter().cloned()));
    // Nothing is wrong with such a file, but it is hardly meant to be sent.
    if job.art.iter().all(|art| art.shares.is_empty()) {
        remarks.push(
            "no pocket has any art: nothing in this file would be burnt on a blank".to_owned(),
        );
    }
    remarks
}

/// Reads the art that `[zone] reference` names, each file once.
fn references(opened: &Opened) -> Result<Vec<Reference>, Failure> {
    let fixture = &opened.fixture;
    let named: std::collections::BTreeSet<&String> = fixture
        .pockets
        .iter()
        .filter_map(|p| p.settings.reference.as_ref())
        .collect();
    let mut out = Vec::new();
    for file in named {
        let path = Reference::path(&fixture.folder, file);
        let source = Source::read(&path).map_err(|e| {
            let said = unreadable(&e);
            Failure::plain(format!("[zone] reference: {}", said.text))
        })?;
        let reading = ReadOptions {
            units: fixture.settings.bed.root_units(),
            placing: None,
            faces: &opened.faces,
        };
        let artwork = resolve(&source, &reading).map_err(|e| unreadable(&e))?;
        out.push(Reference::of(file, &artwork).map_err(Failure::plain)?);
    }
    Ok(out)
}

/// A file that cannot be read: what is wrong, and the way out.
pub(crate) fn unreadable(error: &ReadError) -> Failure {
    Failure::plain(format!("{error}: {}", error.help()))
}

/// The faces for runs of a fixture: those named, those beside the fixture, then the machine's.
pub fn faces(folder: &Path, options: &Options) -> Faces {
    Faces::new(shop_fonts(folder, options), options.machine_fonts)
}

/// The faces that a shop keeps for a fixture, without the machine's own.
fn near_faces(folder: &Path, options: &Options) -> Faces {
    Faces::new(shop_fonts(folder, options), false)
}

fn shop_fonts(folder: &Path, options: &Options) -> Vec<PathBuf> {
    let mut folders = options.fonts.clone();
    folders.push(folder.join("fonts"));
    folders
}

/// Reads a file as the sender of `fixture` would.
///
/// # Errors
///
/// A file that is no drawing, or whose page has no size that can be told.
pub fn read(
    source: &Source,
    settings: &fixture::settings::Settings,
    faces: &Faces,
) -> Result<Artwork, Failure> {
    read_as(source, settings, faces, Lay::Browser)
}

fn read_as(
    source: &Source,
    settings: &fixture::settings::Settings,
    faces: &Faces,
    lay: Lay,
) -> Result<Artwork, Failure> {
    resolve_as(source, &reading(settings, faces), lay).map_err(|e| unreadable(&e))
}

fn reading<'a>(settings: &fixture::settings::Settings, faces: &'a Faces) -> ReadOptions<'a> {
    ReadOptions {
        units: settings.bed.root_units(),
        placing: Some(enrol::placing(settings)),
        faces,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ids::{Id as _, IdVec, PocketId};

    #[test]
    fn a_wrong_number_refuses_the_file() {
        let file = Path::new("monday.svg");
        let pockets: IdVec<PocketId, &str> = ["A1"].into_iter().collect();
        assert_eq!(guarded(file, || pockets[PocketId::new(0)]), Ok("A1"));
        let refused = guarded(file, || pockets[PocketId::new(1)]).unwrap_err();
        assert!(
            refused
                .text
                .starts_with("monday.svg made this program stumble"),
            "{}",
            refused.text
        );
        let run = unread(file, &refused, String::new());
        assert_eq!(run.verdict, Verdict::Unread);
    }

    #[test]
    fn a_panic_on_another_core_refuses_the_file_too() {
        let numbers: Vec<usize> = (0..50).collect();
        let pockets: IdVec<PocketId, usize> = (0..49).collect();
        let work = || crate::cores::each(&numbers, |i| pockets[PocketId::new(*i)]);
        assert!(guarded(Path::new("monday.svg"), work).is_err());
    }
}
