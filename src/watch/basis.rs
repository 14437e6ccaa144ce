//! What a verdict rests on besides the run itself: the fixture's files, fonts, the order list, the
//! options, and the day, because waivers end.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use sha2::{Digest as _, Sha256};

use super::stamp::Stamp;
use crate::fixture::shorthand::{self, Date};
use crate::fixture::{self, lock, parse};
use crate::inspect::Asked;

/// Where a run's fixture is looked for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// The fixture with these settings.
    Settings(PathBuf),
    /// One of the fixtures in this folder.
    Among(PathBuf),
    /// Nowhere: there is none.
    Nowhere,
}

impl Place {
    /// The place for `run`, by the same order as the inspection goes by.
    pub fn of(run: &Path, asked: &Asked) -> Self {
        if let Some(named) = &asked.fixture {
            return Self::Settings(fixture::settings_path(named));
        }
        match (fixture::nearest(run), &asked.fixtures) {
            (Some(near), _) => Self::Settings(near),
            (None, Some(folder)) => Self::Among(folder.clone()),
            (None, None) => Self::Nowhere,
        }
    }
}

/// The state of everything that a verdict rests on. Two equal values: the same verdict for the same
/// bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Basis {
    files: BTreeMap<PathBuf, Option<Stamp>>,
    day: Date,
}

impl Basis {
    /// Looks at everything that verdicts by the fixture at `place` rest on.
    pub fn at(place: &Place, asked: &Asked) -> Self {
        let mut files = BTreeMap::new();
        match place {
            Place::Settings(settings) => of_fixture(settings, &mut files),
            Place::Among(folder) => {
                for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
                    let settings = entry.path().join(fixture::SETTINGS);
                    if settings.is_file() {
                        of_fixture(&settings, &mut files);
                    }
                }
            }
            Place::Nowhere => {}
        }
        for folder in &asked.fonts {
            fonts(folder, 0, &mut files);
        }
        if let Some(named) = &asked.names {
            files.insert(named.file.clone(), Stamp::of(&named.file));
        }
        Self {
            files,
            day: shorthand::today(),
        }
    }

    /// The day on which waivers are judged.
    pub fn day(&self) -> Date {
        self.day
    }

    /// Whether `path` is one of its files.
    pub fn holds(&self, path: &Path) -> bool {
        self.files.contains_key(path)
    }

    /// The folders that its files lie in.
    pub fn folders(&self) -> impl Iterator<Item = &Path> {
        self.files.keys().filter_map(|f| f.parent())
    }

    /// One digest over the contents of its files and the options: what a slip calls "settings". The
    /// same on every machine where the files are the same, wherever they lie.
    pub fn digest(&self, asked: &Asked) -> String {
        let mut all: Vec<String> = self
            .files
            .iter()
            .map(|(path, stamp)| {
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                format!(
                    "{name} {}",
                    stamp.map_or("none".to_owned(), |s| contents(path, s))
                )
            })
            .collect();
        // Where they lie differs from machine to machine.
        all.sort();
        all.push(format!("strict {}", asked.strict));
        all.push(format!(
            "loaded {}",
            asked.loaded.as_deref().unwrap_or("all")
        ));
        if let Some(named) = &asked.names {
            all.push(format!("names in {:?}", named.column));
            all.push(format!("pockets in {:?}", named.pocket_column));
        }
        crate::fixture::code::digest(all.join("\n").as_bytes())
    }
}

fn of_fixture(settings: &Path, files: &mut BTreeMap<PathBuf, Option<Stamp>>) {
    let folder = settings.parent().unwrap_or(Path::new(""));
    let mut note = |path: PathBuf| {
        let stamp = Stamp::of(&path);
        files.insert(path, stamp);
    };
    note(settings.to_path_buf());
    note(folder.join(lock::FILE));
    // Settings that cannot be read name no other file, and their own stamp tells when that ends.
    if let Ok(read) = parse::read(settings) {
        note(folder.join(&read.drawing));
        let own = read.exceptions.iter().filter_map(|e| e.reference.as_ref());
        for reference in own.chain(&read.common.reference) {
            note(folder.join(reference));
        }
    }
    fonts(&folder.join("fonts"), 0, files);
}

/// Everything in a folder of fonts: a file that is no font costs a stamp and nothing else.
fn fonts(folder: &Path, depth: usize, files: &mut BTreeMap<PathBuf, Option<Stamp>>) {
    /// As deep as fonts are looked for.
    const DEEPEST: usize = 8;
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            if depth < DEEPEST {
                fonts(&path, depth + 1, files);
            }
        } else {
            let stamp = Stamp::of(&path);
            files.insert(path, stamp);
        }
    }
}

/// Digests that were worked out, with the stamp that they hold for.
static KNOWN: Mutex<BTreeMap<PathBuf, (Stamp, String)>> = Mutex::new(BTreeMap::new());

/// The digest of a file's contents. Fonts are large and seldom change, so it is remembered for as
/// long as the stamp stays and is beyond doubt.
fn contents(path: &Path, stamp: Stamp) -> String {
    let mut known = KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((at, digest)) = known.get(path)
        && *at == stamp
    {
        return digest.clone();
    }
    let mut hash = Sha256::new();
    let read = std::fs::File::open(path).and_then(|mut f| std::io::copy(&mut f, &mut hash));
    if read.is_err() {
        return "unread".to_owned();
    }
    let digest = hash
        .finalize()
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect::<String>();
    if !stamp.doubtful() {
        known.insert(path.to_path_buf(), (stamp, digest.clone()));
    }
    digest
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_change_of_any_file_or_option_shows() {
        let place = tempfile::tempdir().unwrap();
        let settings = place.path().join(fixture::SETTINGS);
        let drawing = place.path().join("sheet.svg");
        std::fs::write(
            &settings,
            "[fixture]\ndrawing = \"sheet.svg\"\n[bed]\nwidth = \"60 mm\"\nheight = \"40 mm\"\n[paints]\ncut = [\"#7b2d8b\"]\n",
        )
        .unwrap();
        std::fs::write(&drawing, "<svg/>").unwrap();
        let at = Place::Settings(settings);
        let asked = Asked::default();
        let first = Basis::at(&at, &asked);
        assert!(first.holds(&drawing), "{first:?}");
        assert_eq!(Basis::at(&at, &asked), first);
        let strict = Asked {
            strict: true,
            ..Asked::default()
        };
        assert_ne!(first.digest(&strict), first.digest(&asked));

        std::fs::create_dir(place.path().join("fonts")).unwrap();
        std::fs::write(place.path().join("fonts/a.ttf"), "x").unwrap();
        let second = Basis::at(&at, &asked);
        assert_ne!(second, first);
        assert_ne!(second.digest(&asked), first.digest(&asked));

        std::fs::write(&drawing, "<svg >").unwrap();
        let third = Basis::at(&at, &asked);
        assert_ne!(third, second);
        assert_ne!(third.digest(&asked), second.digest(&asked));
    }

    #[test]
    fn the_order_list_is_part_of_it() {
        let place = tempfile::tempdir().unwrap();
        let file = place.path().join("orders.csv");
        std::fs::write(&file, "Name\nAda\n").unwrap();
        let by = |column: &str| Asked {
            names: Some(crate::orders::Named {
                file: file.clone(),
                column: column.to_owned(),
                pocket_column: None,
            }),
            ..Asked::default()
        };
        let first = Basis::at(&Place::Nowhere, &by("Name"));
        assert!(first.holds(&file));
        assert_ne!(first.digest(&by("Name")), first.digest(&by("Who")));
        std::fs::write(&file, "Name\nAda\nBo\n").unwrap();
        let second = Basis::at(&Place::Nowhere, &by("Name"));
        assert_ne!(second, first);
        assert_ne!(second.digest(&by("Name")), first.digest(&by("Name")));
    }

    #[test]
    fn the_place_follows_the_order_of_an_inspection() {
        let place = tempfile::tempdir().unwrap();
        let run = place.path().join("a.svg");
        let among = Asked {
            fixtures: Some(PathBuf::from("shelf")),
            ..Asked::default()
        };
        assert_eq!(
            Place::of(&run, &among),
            Place::Among(PathBuf::from("shelf"))
        );
        let near = place.path().join(fixture::SETTINGS);
        std::fs::write(&near, "").unwrap();
        assert_eq!(Place::of(&run, &among), Place::Settings(near));
    }
}
