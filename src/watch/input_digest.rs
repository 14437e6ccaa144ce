//! What a verdict rests on besides the run itself: the fixture's files, fonts, the order list, the
//! options, and the day, because waivers end.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use jiff::civil::Date;
use sha2::{Digest as _, Sha256};

use super::file_stamp::FileStamp;
use crate::fixture;
use crate::fixture::shorthand;
use crate::inspect::Options;

/// Where a run's fixture is looked for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum FixtureSource {
    /// The fixture with these settings.
    Settings(PathBuf),
    /// One of the fixtures in this folder.
    Among(PathBuf),
    /// Nowhere: there is none.
    Nowhere,
}

impl FixtureSource {
    /// The place for `run`, by the same order as the inspection goes by.
    pub(crate) fn of(run: &Path, options: &Options) -> Self {
        if let Some(named) = &options.fixture {
            return Self::Settings(fixture::settings_path(named));
        }
        match (fixture::nearest(run), &options.fixtures) {
            (Some(near), _) => Self::Settings(near),
            (None, Some(folder)) => Self::Among(folder.clone()),
            (None, None) => Self::Nowhere,
        }
    }
}

/// The state of everything that a verdict rests on. Two equal values: the same verdict for the same
/// bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct InputDigest {
    /// `None`: there is no such file.
    files: BTreeMap<PathBuf, Option<Known>>,
    day: Date,
}

/// The state of one file.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Known {
    stamp: FileStamp,
    /// The digest of its contents: two saves of a small file in one step of a coarse clock have the
    /// same stamp. Fonts are too large for that, and are not written twice in two seconds.
    contents: Option<String>,
}

impl InputDigest {
    /// Looks at everything that verdicts by the fixture at `place` rest on.
    pub(crate) fn at(place: &FixtureSource, options: &Options) -> Self {
        let mut files = BTreeMap::new();
        match place {
            FixtureSource::Settings(settings) => of_fixture(settings, &mut files),
            FixtureSource::Among(folder) => {
                for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
                    let settings = entry.path().join(fixture::SETTINGS);
                    if settings.is_file() {
                        of_fixture(&settings, &mut files);
                    }
                }
            }
            FixtureSource::Nowhere => {}
        }
        if let Some(named) = &options.names {
            note(&named.file, &mut files);
        }
        for folder in &options.fonts {
            fonts(folder, 0, &mut files);
        }
        Self {
            files,
            day: shorthand::today(),
        }
    }

    /// The day on which waivers are judged.
    pub(crate) fn day(&self) -> Date {
        self.day
    }

    /// Whether `path` is one of its files.
    pub(crate) fn holds(&self, path: &Path) -> bool {
        self.files.contains_key(path)
    }

    /// The folders that its files lie in.
    pub(crate) fn folders(&self) -> impl Iterator<Item = &Path> {
        self.files.keys().filter_map(|f| f.parent())
    }

    /// One digest over the contents of its files and the options: what a receipt calls "settings". The
    /// same on every machine where the files are the same, wherever they lie.
    pub(crate) fn digest(&self, options: &Options) -> String {
        let mut all: Vec<String> = self
            .files
            .iter()
            .map(|(path, known)| {
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                let digest = match known {
                    None => "none".to_owned(),
                    Some(Known {
                        contents: Some(digest),
                        ..
                    }) => digest.clone(),
                    Some(known) => contents(path, known.stamp),
                };
                format!("{name} {digest}")
            })
            .collect();
        // Where they lie differs from machine to machine.
        all.sort();
        all.push(format!("strict {}", options.strict));
        all.push(format!(
            "loaded {}",
            options.loaded.as_deref().unwrap_or("all")
        ));
        if let Some(named) = &options.names {
            all.push(format!(
                "columns {:?}, pocket column {:?}, quantity {:?}, batch {:?}, sheet {:?}, encoding {:?}",
                named.columns,
                named.pocket_column,
                named.quantity,
                named.batch,
                named.sheet,
                named.encoding
            ));
        }
        crate::fixture::code::digest(all.join("\n").as_bytes())
    }
}

/// Notes the state of a small file.
fn note(path: &Path, files: &mut BTreeMap<PathBuf, Option<Known>>) {
    let known = FileStamp::of(path).map(|stamp| Known {
        stamp,
        contents: Some(contents(path, stamp)),
    });
    files.insert(path.to_path_buf(), known);
}

fn of_fixture(settings: &Path, files: &mut BTreeMap<PathBuf, Option<Known>>) {
    let folder = settings.parent().unwrap_or(Path::new(""));
    for path in fixture::files(settings) {
        note(&path, files);
    }
    fonts(&folder.join("fonts"), 0, files);
}

/// Everything in a folder of fonts: a file that is no font costs a stamp and nothing else.
fn fonts(folder: &Path, depth: usize, files: &mut BTreeMap<PathBuf, Option<Known>>) {
    /// As deep as fonts are looked for.
    const DEEPEST: usize = 8;
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            if depth < DEEPEST {
                fonts(&path, depth + 1, files);
            }
        } else {
            let known = FileStamp::of(&path).map(|stamp| Known {
                stamp,
                contents: None,
            });
            files.insert(path, known);
        }
    }
}

/// Digests that were worked out, with the stamp that they hold for.
static DIGESTS: Mutex<BTreeMap<PathBuf, (FileStamp, String)>> = Mutex::new(BTreeMap::new());

/// The digest of a file's contents. Fonts are large and seldom change, so it is remembered for as
/// long as the stamp stays and is beyond doubt.
fn contents(path: &Path, stamp: FileStamp) -> String {
    let mut known = DIGESTS.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((at, digest)) = known.get(path)
        && *at == stamp
    {
        return digest.clone();
    }
    let mut hash = Sha256::new();
    let read = crate::paths::ordinary(path)
        .and_then(|_| std::fs::File::open(path))
        .and_then(|mut f| std::io::copy(&mut f, &mut hash));
    if read.is_err() {
        return "unread".to_owned();
    }
    let mut digest = String::with_capacity(64);
    for byte in hash.finalize() {
        // Writing to a String cannot fail.
        let _ = write!(digest, "{byte:02x}");
    }
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
        let at = FixtureSource::Settings(settings);
        let options = Options::default();
        let first = InputDigest::at(&at, &options);
        assert!(first.holds(&drawing), "{first:?}");
        assert_eq!(InputDigest::at(&at, &options), first);
        let strict = Options {
            strict: true,
            ..Options::default()
        };
        assert_ne!(first.digest(&strict), first.digest(&options));

        std::fs::create_dir(place.path().join("fonts")).unwrap();
        std::fs::write(place.path().join("fonts/a.ttf"), "x").unwrap();
        let second = InputDigest::at(&at, &options);
        assert_ne!(second, first);
        assert_ne!(second.digest(&options), first.digest(&options));

        std::fs::write(&drawing, "<svg >").unwrap();
        let third = InputDigest::at(&at, &options);
        assert_ne!(third, second);
        assert_ne!(third.digest(&options), second.digest(&options));
    }

    #[test]
    fn an_order_list_and_its_column_count() {
        let place = tempfile::tempdir().unwrap();
        let list = place.path().join("orders.csv");
        std::fs::write(&list, "name\nAda\n").unwrap();
        let options = |column: &str| Options {
            names: Some(crate::orders::Named {
                file: list.clone(),
                columns: vec![column.to_owned()],
                ..crate::orders::Named::default()
            }),
            ..Options::default()
        };
        let first = InputDigest::at(&FixtureSource::Nowhere, &options("name"));
        assert!(first.holds(&list));
        assert_ne!(
            first.digest(&options("name")),
            first.digest(&options("other"))
        );
        std::fs::write(&list, "name\nIda\n").unwrap();
        assert_ne!(
            InputDigest::at(&FixtureSource::Nowhere, &options("name")),
            first
        );
    }

    #[test]
    fn the_place_follows_the_order_of_an_inspection() {
        let place = tempfile::tempdir().unwrap();
        let run = place.path().join("a.svg");
        let among = Options {
            fixtures: Some(PathBuf::from("shelf")),
            ..Options::default()
        };
        assert_eq!(
            FixtureSource::of(&run, &among),
            FixtureSource::Among(PathBuf::from("shelf"))
        );
        let near = place.path().join(fixture::SETTINGS);
        std::fs::write(&near, "").unwrap();
        assert_eq!(
            FixtureSource::of(&run, &among),
            FixtureSource::Settings(near)
        );
    }
}
