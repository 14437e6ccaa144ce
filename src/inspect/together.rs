//! Reads several runs to compare them with one order list together.
//!
//! Every run is read twice: once to know what all of them say, and once to be inspected with that.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Failure, Inspector, Options};
use crate::artwork::source::Source;
use crate::cores;
use crate::ids::{Id as _, PocketId};
use crate::matching::job::Compared;
use crate::orders;
use crate::orders::compare::{Said, compare};
use crate::orders::together::{Member, Together};
use crate::paths::{self, Identity};
use crate::rules;

/// What one run says.
struct Told {
    member: Member,
    code: String,
    exact_case: bool,
    said: Vec<Said>,
    /// Whether a pocket that holds a blank has nothing on it.
    room: bool,
}

/// Reads all runs and compares them with the list that the options name; `None` where they name
/// none, or there is only one run.
///
/// # Errors
///
/// A list that cannot be used, or that gives pockets for runs of several fixtures.
pub(crate) fn compare_together(
    inspector: &Inspector,
    files: &[PathBuf],
) -> Result<Option<Together>, Failure> {
    let Some(named) = &inspector.options.names else {
        return Ok(None);
    };
    let (once, known_as) = once(files);
    if once.len() < 2 {
        return Ok(None);
    }
    let told: Vec<Option<Told>> = cores::each(&once, |file| told(inspector, file));
    let first = told.iter().flatten().next();
    let code = first.map_or("", |t| t.code.as_str());
    let called = |name: &str| {
        let pockets = &first?.member.pockets;
        let lower = name.to_lowercase();
        pockets
            .iter()
            .position(|p| p.to_lowercase() == lower)
            .map(PocketId::new)
    };
    let list = orders::read(named, &called).map_err(Failure::plain)?;
    let several = told.iter().flatten().any(|t| t.code != code);
    if several && list.orders.iter().any(|o| o.pocket.is_some()) {
        return Err(Failure::plain(
            "these runs are for several fixtures and the order list gives pockets: inspect the runs of one fixture at a time",
        ));
    }
    let exact_case = told.iter().flatten().any(|t| t.exact_case);
    let mut said: Vec<Said> = Vec::new();
    let mut runs: Vec<Member> = Vec::new();
    let mut room = None;
    for (index, (told, file)) in told.into_iter().zip(once).enumerate() {
        match told {
            Some(told) => {
                said.extend(told.said.into_iter().map(|s| Said { run: index, ..s }));
                runs.push(told.member);
                room = if told.room { Some(index) } else { room };
            }
            None => runs.push(Member {
                file,
                ..Member::default()
            }),
        }
    }
    Ok(Some(Together {
        comparison: compare(&list.orders, &said, exact_case),
        said,
        exact_case,
        list,
        room: room
            .or_else(|| runs.iter().rposition(|r: &Member| !r.sha256.is_empty()))
            .unwrap_or_default(),
        runs,
        known_as,
    }))
}

/// The files, each once by its first name, and which of them every name leads to: a file with two names
/// is one run.
fn once(files: &[PathBuf]) -> (Vec<PathBuf>, HashMap<PathBuf, usize>) {
    let mut once: Vec<PathBuf> = Vec::new();
    let mut known_as: HashMap<PathBuf, usize> = HashMap::new();
    let mut met: HashMap<Identity, usize> = HashMap::new();
    for file in files {
        if known_as.contains_key(file) {
            continue;
        }
        let mut new = || {
            once.push(file.clone());
            once.len() - 1
        };
        let run = match paths::identity(file) {
            Some(identity) => *met.entry(identity).or_insert_with(new),
            None => new(),
        };
        known_as.insert(file.clone(), run);
    }
    (once, known_as)
}

/// Reads one run without judging it; `None` where it cannot be read, which its inspection will say.
fn told(inspector: &Inspector, file: &Path) -> Option<Told> {
    let alone = inspector.with(|options: &mut Options| options.names = None);
    let read = super::guarded(file, || {
        let source = Source::read(file).map_err(|_| ())?;
        let (opened, artwork, _) = alone.fixture_and_artwork(file, &source).map_err(|_| ())?;
        let job = alone
            .job(&opened, &artwork, Compared::default(), &Arc::default())
            .map_err(|_| ())?;
        let pockets: Vec<String> = job.pockets.iter().map(|p| p.name.clone()).collect();
        let (said, unread) = rules::lettering(&job);
        let room = job
            .pockets
            .ids()
            .any(|p| job.loaded[p] && job.art_in(p).is_empty());
        Ok::<_, ()>(Told {
            code: opened.fixture.lock.code.clone(),
            exact_case: opened.fixture.settings.names.exact_case,
            member: Member {
                file: file.to_path_buf(),
                sha256: source.sha256.clone(),
                unread: unread
                    .into_iter()
                    .map(|p| job.pockets[p].name.clone())
                    .collect(),
                pockets,
            },
            said,
            room,
        })
    });
    read.ok()?.ok()
}
