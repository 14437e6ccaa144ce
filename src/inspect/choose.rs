//! Which fixture a run is inspected against: the named one, the nearest, or the one whose outlines it
//! holds. Which of its pockets are loaded.

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock, PoisonError};

use super::{Failure, Inspector, Options, faces, read};
use crate::abandon;
use crate::artwork::fonts::Faces;
use crate::artwork::mark::Artwork;
use crate::artwork::source::Source;
use crate::fixture::{self, Fixture};
use crate::ids::PocketId;
use crate::matching::{self, MatchOptions};
use crate::paths::Printable as _;
use crate::readback::Reader;
use crate::rules;

/// A fixture with the faces for its runs.
#[derive(Debug)]
pub(crate) struct Opened {
    /// The fixture.
    pub fixture: Fixture,
    /// Faces to measure live lettering with. Loaded on the first lettering.
    pub faces: Faces,
    /// Reads outlined lettering back. Built on the first outlined art.
    pub(super) reader: OnceLock<Reader>,
}

impl Opened {
    pub(super) fn new(fixture: Fixture, options: &Options) -> Self {
        let faces = faces(&fixture.folder, options);
        Self {
            fixture,
            faces,
            reader: OnceLock::new(),
        }
    }
}

impl Inspector {
    /// Finds the fixture (named, nearest, or by geometry) and reads the file in its frame.
    pub(super) fn fixture_and_artwork(
        &self,
        file: &Path,
        source: &Source,
    ) -> Result<(Arc<Opened>, Artwork, Vec<String>), Failure> {
        let place = match &self.options.fixture {
            Some(named) => Some(fixture::meant(named).map_err(Failure::plain)?),
            None => fixture::nearest(file),
        };
        match (place, &self.options.fixtures) {
            (Some(place), _) => {
                let opened = self.open(&place)?;
                let artwork = read(source, &opened.fixture.settings, &opened.faces)?;
                Ok((opened, artwork, Vec::new()))
            }
            (None, Some(folder)) => self.by_geometry(folder, file, source),
            (None, None) => Err(Failure::plain(format!(
                "{}: no fixture.toml lies in its folder or above: name the fixture with --fixture FOLDER, or a folder of fixtures with --fixtures FOLDER",
                file.printable()
            ))),
        }
    }

    /// The pockets that hold a blank, as `--loaded` says; `None` where it says nothing.
    pub(crate) fn loaded(&self, fixture: &Fixture) -> Result<Option<Vec<PocketId>>, Failure> {
        let Some(list) = &self.options.loaded else {
            return Ok(None);
        };
        let which = fixture.listed(list);
        which
            .map(Some)
            .map_err(|e| Failure::plain(format!("--loaded: {e}")))
    }

    /// The fixture at `place`, opened now or before.
    pub(crate) fn open(&self, place: &Path) -> Result<Arc<Opened>, Failure> {
        // What a thread that panicked left behind is whole: entries are put in complete.
        let mut all = self.opened.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(opened) = all.get(place) {
            return Ok(Arc::clone(opened));
        }
        // Who opens it first is chance, and it stays open for others.
        let fixture = abandon::unlimited(|| open(place))?;
        let opened = Arc::new(Opened::new(fixture, &self.options));
        all.insert(place.to_path_buf(), Arc::clone(&opened));
        Ok(opened)
    }

    /// Of the fixtures in `folder`, the one whose outlines are in the file.
    fn by_geometry(
        &self,
        folder: &Path,
        file: &Path,
        source: &Source,
    ) -> Result<(Arc<Opened>, Artwork, Vec<String>), Failure> {
        let entries = std::fs::read_dir(folder).map_err(|e| {
            Failure::plain(format!(
                "the folder of fixtures {} cannot be read: {e}",
                folder.printable()
            ))
        })?;
        let mut places: Vec<PathBuf> = entries
            .filter_map(|e| e.ok().map(|e| e.path()))
            .filter(|p| fixture::settled(p))
            .collect();
        places.sort();
        if places.is_empty() {
            return Err(Failure::plain(format!(
                "no folder in {} holds a fixture.toml",
                folder.printable()
            )));
        }
        let mut best: Option<(usize, bool, Arc<Opened>, Artwork)> = None;
        // A fixture that cannot be used is named with whatever comes of the others, and is never chosen.
        let mut unusable = Vec::new();
        for place in &places {
            let opened = match self.open(place) {
                Ok(opened) => opened,
                Err(e) => {
                    unusable.push(format!(
                        "the fixture in {} was not compared, since it cannot be used: {}",
                        place.printable(),
                        e.text
                    ));
                    continue;
                }
            };
            let artwork = read(source, &opened.fixture.settings, &opened.faces)?;
            let how = MatchOptions {
                loaded: None,
                follow_shift: true,
            };
            let found = matching::match_artwork(&artwork, &opened.fixture, &how)
                .outlines
                .iter()
                .filter(|s| !s.found().is_empty())
                .count();
            match &mut best {
                Some((most, tie, ..)) if found == *most => *tie = true,
                Some((most, ..)) if found < *most => {}
                _ => best = Some((found, false, opened, artwork)),
            }
        }
        match best {
            Some((found, false, opened, artwork)) if found > 0 => Ok((opened, artwork, unusable)),
            Some((found, true, ..)) if found > 0 => Err(Failure::plain(format!(
                "{} fits two fixtures in {} equally well: name the one that is on the bed with --fixture",
                file.printable(),
                folder.printable()
            ))),
            _ => Err(Failure {
                text: format!(
                    "no fixture in {} that can be used has an outline in {}: name the one that is on the bed with --fixture",
                    folder.printable(),
                    file.printable()
                ),
                detail: unusable.join("\n"),
            }),
        }
    }
}

fn open(place: &Path) -> Result<Fixture, Failure> {
    Fixture::open(place, &rules::names()).map_err(|e| match &e {
        fixture::FixtureError::Settings(s) | fixture::FixtureError::Pockets(s) => Failure {
            text: e.to_string(),
            detail: s.report(100),
        },
        _ => Failure::plain(&e),
    })
}
