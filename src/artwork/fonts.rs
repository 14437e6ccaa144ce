//! Which faces are available, and whether one of them is the face that a file asks for.
//!
//! A reader that lacks a face silently takes another, and the lettering then has a different width on
//! each machine. So only the face that was asked for will do: same family, weight, slope and width.
//! Otherwise the lettering is drawn in an available face, for the proof, and reported as a
//! [`MissingFace`].

mod family;

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use ttf_parser::{Face, Tag, name_id};
use usvg::fontdb::{Database, Family, ID, Query, Source, Stretch, Style, Weight};

use super::mark::MissingFace;
pub(crate) use family::family_names;
use family::{FamilyRequest, families, percent, style_words};

/// How many other faces are tried for characters that a face lacks. Such a text holds anyway; a
/// larger number only costs time on a machine with hundreds of faces.
const FALLBACK_FACES: usize = 8;

/// The available faces: those in the fixture's folders, the machine's own, and two that are built in.
///
/// Nothing is read from disk until the first lettering asks for it, so a file without lettering
/// costs nothing. One value serves any number of files and threads.
#[derive(Debug)]
pub struct Faces {
    folders: Vec<PathBuf>,
    machine: bool,
    database: OnceLock<Arc<Database>>,
    names: OnceLock<Vec<OtherName>>,
    // A file set in one face asks the same question hundreds of times.
    chosen: Mutex<HashMap<Ask, Option<Chosen>>>,
    fallbacks: Mutex<HashMap<char, Vec<ID>>>,
}

/// What a piece of text asks for.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Ask {
    /// The value of `font-family`, as written; empty if there is none.
    pub(crate) families: String,
    /// 1 to 1000.
    pub(crate) weight: u16,
    /// Upright, italic or oblique.
    pub(crate) style: Style,
    /// Width.
    pub(crate) stretch: Stretch,
}

/// A face as a file asks for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaceName {
    /// `font-family`.
    pub family: String,
    /// `font-weight`.
    pub weight: u16,
    /// `font-style`: italic, else normal.
    pub italic: bool,
    /// `font-stretch`, where it is not normal.
    pub stretch: Option<&'static str>,
}

/// The value of `font-stretch` (CSS Fonts 4, section 2.3).
fn stretch_word(stretch: Stretch) -> Option<&'static str> {
    Some(match stretch {
        Stretch::Normal => return None,
        Stretch::UltraCondensed => "ultra-condensed",
        Stretch::ExtraCondensed => "extra-condensed",
        Stretch::Condensed => "condensed",
        Stretch::SemiCondensed => "semi-condensed",
        Stretch::SemiExpanded => "semi-expanded",
        Stretch::Expanded => "expanded",
        Stretch::ExtraExpanded => "extra-expanded",
        Stretch::UltraExpanded => "ultra-expanded",
    })
}

/// The face chosen for a request.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Chosen {
    /// The face to draw with.
    pub(crate) id: ID,
    /// The position on the face's axes, if it has any.
    pub(crate) axes: Vec<([u8; 4], f32)>,
    /// The family that was asked for first, as written.
    pub(crate) family: String,
    /// The style that was asked for, in words.
    pub(crate) style: String,
    /// Set if the face is not the one that was asked for.
    pub(crate) missing: Option<MissingFace>,
}

/// A name that faces go by besides their family: an older family name (name id 1), a full name
/// (4) or a `PostScript` name (6), all of which editors write into `font-family`. Name ids: OpenType
/// specification, "name" table.
#[derive(Debug)]
struct OtherName {
    id: ID,
    name: String,
    whole: bool,
    bold: bool,
    italic: bool,
}

impl Faces {
    /// Faces from `folders`, earlier ones first, then the machine's own where `machine` is set,
    /// then the built-in ones. Loads nothing yet.
    pub fn new(folders: Vec<PathBuf>, machine: bool) -> Self {
        Self {
            folders,
            machine,
            database: OnceLock::new(),
            names: OnceLock::new(),
            chosen: Mutex::new(HashMap::new()),
            fallbacks: Mutex::new(HashMap::new()),
        }
    }

    /// The faces themselves; the first call reads them.
    ///
    /// A folder or file that cannot be read adds no face; lettering that needs it is then reported
    /// as missing its face.
    pub fn database(&self) -> Arc<Database> {
        Arc::clone(self.database.get_or_init(|| {
            let mut database = Database::new();
            for folder in &self.folders {
                load_folder(&mut database, folder, 0);
            }
            if self.machine {
                database.load_system_fonts();
            }
            for face in [
                epaint_default_fonts::UBUNTU_LIGHT,
                epaint_default_fonts::HACK_REGULAR,
            ] {
                database.load_font_source(Source::Binary(Arc::new(face)));
            }
            Arc::new(database)
        }))
    }

    /// The face to draw with, and whether it is the one that was asked for.
    ///
    /// `None` only if there is no face at all.
    pub(crate) fn choose(&self, ask: &Ask) -> Option<Chosen> {
        if let Some(known) = locked(&self.chosen).get(ask) {
            return known.clone();
        }
        let chosen = self.choose_anew(ask);
        locked(&self.chosen).insert(ask.clone(), chosen.clone());
        chosen
    }

    fn choose_anew(&self, ask: &Ask) -> Option<Chosen> {
        let database = self.database();
        let families = families(&ask.families);
        let first = families.first().map(|f| f.name.clone()).unwrap_or_default();
        let found = families.iter().enumerate().find_map(|(index, family)| {
            let (id, exact) = self.find(&database, family, ask)?;
            Some((id, exact && index == 0))
        });
        let (id, exact) = match found {
            Some(found) => found,
            None => (generic(&database, Family::SansSerif, ask)?, false),
        };
        let style = style_words(ask.weight, ask.style, ask.stretch);
        let missing = (!exact).then(|| MissingFace {
            family: first.clone(),
            style: style.clone(),
            instead: Some(describe(&database, id)),
            characters: String::new(),
        });
        let axes = axes(&database, id, ask);
        Some(Chosen {
            id,
            axes,
            family: first,
            style,
            missing,
        })
    }

    /// The face that people mean by `name`: a full or `PostScript` name, else a family, of which the
    /// regular face is taken or the nearest to it. `None` if no face has that name.
    pub fn called(&self, name: &str) -> Option<FaceName> {
        let database = self.database();
        let wanted = name.trim().to_lowercase();
        let whole = self
            .other_names(&database)
            .iter()
            .find(|other| other.whole && other.name == wanted)
            .map(|other| other.id);
        let id = whole.or_else(|| {
            let family = database
                .faces()
                .flat_map(|face| &face.families)
                .map(|(family, _)| family)
                .find(|family| family.to_lowercase() == wanted)?;
            database.query(&Query {
                families: &[Family::Name(family)],
                ..Query::default()
            })
        })?;
        let info = database.face(id)?;
        Some(FaceName {
            family: info.families.first()?.0.clone(),
            weight: info.weight.0,
            italic: info.style != Style::Normal,
            stretch: stretch_word(info.stretch),
        })
    }

    /// The best face of one family and whether it is exactly what was asked for.
    fn find(&self, database: &Database, family: &FamilyRequest, ask: &Ask) -> Option<(ID, bool)> {
        if let Some(kind) = family.generic {
            // Each machine decides which face a generic family means.
            return generic(database, kind, ask).map(|id| (id, false));
        }
        let wanted = family.name.to_lowercase();
        let stored = database
            .faces()
            .flat_map(|face| &face.families)
            .map(|(name, _)| name)
            .find(|name| name.to_lowercase() == wanted);
        if let Some(stored) = stored {
            let id = database.query(&Query {
                families: &[Family::Name(stored)],
                weight: Weight(ask.weight),
                stretch: ask.stretch,
                style: ask.style,
            })?;
            return Some((id, self.meets(database, id, &wanted, ask)));
        }
        self.find_by_other_name(database, &wanted, ask)
    }

    /// Whether a face found by its family has the weight, slope and width that were asked for.
    ///
    /// The regular and bold members of a family of four count as 400 and 700 whatever number they
    /// carry: many single faces are numbered 300 or 500 and are called regular by every reader.
    fn meets(&self, database: &Database, id: ID, wanted: &str, ask: &Ask) -> bool {
        let Some(info) = database.face(id) else {
            return false;
        };
        let range = |tag: &[u8; 4]| axis_range(database, id, *tag);
        let within = |tag: &[u8; 4], value: f32| {
            range(tag).is_some_and(|(low, high)| value >= low && value <= high)
        };
        let weight = info.weight.0 == ask.weight || within(b"wght", f32::from(ask.weight));
        let slope = (info.style == Style::Normal) == (ask.style == Style::Normal)
            || (ask.style == Style::Italic && within(b"ital", 1.0));
        let stretch = info.stretch == ask.stretch || within(b"wdth", percent(ask.stretch));
        if weight && slope && stretch {
            return true;
        }
        let plain = ask.stretch == Stretch::Normal && matches!(ask.weight, 400 | 700);
        plain
            && self.other_names(database).iter().any(|other| {
                other.id == id
                    && !other.whole
                    && other.name == wanted
                    && other.bold == (ask.weight == 700)
                    && other.italic == (ask.style != Style::Normal)
            })
    }

    fn find_by_other_name(
        &self,
        database: &Database,
        wanted: &str,
        ask: &Ask,
    ) -> Option<(ID, bool)> {
        let same = |other: &&OtherName| other.name == wanted;
        let names = self.other_names(database);
        let bold = ask.weight >= 600;
        let italic = ask.style != Style::Normal;
        let agrees = |other: &OtherName| {
            let number = database
                .face(other.id)
                .is_some_and(|info| info.weight.0 == ask.weight);
            let plain = ask.weight == 400 && !italic;
            let shape = other.italic == italic;
            let weight = number || (matches!(ask.weight, 400 | 700) && other.bold == bold);
            ask.stretch == Stretch::Normal && ((shape && weight) || (other.whole && plain))
        };
        if let Some(exact) = names.iter().filter(same).find(|other| agrees(other)) {
            return Some((exact.id, true));
        }
        names.iter().find(same).map(|other| (other.id, false))
    }

    fn other_names(&self, database: &Database) -> &[OtherName] {
        self.names.get_or_init(|| {
            let mut names = Vec::new();
            for info in database.faces() {
                names.push(OtherName {
                    id: info.id,
                    name: info.post_script_name.to_lowercase(),
                    whole: true,
                    bold: info.weight.0 >= 600,
                    italic: info.style != Style::Normal,
                });
                with_face(database, info.id, &[], |face| {
                    for entry in face.names() {
                        let whole = match entry.name_id {
                            name_id::FAMILY => false,
                            name_id::FULL_NAME => true,
                            _ => continue,
                        };
                        let Some(name) = entry.to_string().map(|n| n.to_lowercase()) else {
                            continue;
                        };
                        names.push(OtherName {
                            id: info.id,
                            name,
                            whole,
                            bold: face.is_bold(),
                            italic: info.style != Style::Normal,
                        });
                    }
                });
            }
            names
        })
    }

    /// Another face that has the character as a plain outline: the first by name, so that the same
    /// machine always takes the same one.
    pub(crate) fn fallback(&self, character: char, used: &[ID]) -> Option<ID> {
        let database = self.database();
        let mut known = locked(&self.fallbacks);
        let list = known.entry(character).or_insert_with(|| {
            let mut holders: Vec<(String, String, ID)> = database
                .faces()
                .filter(|info| has(&database, info.id, character))
                .map(|info| {
                    (
                        describe(&database, info.id),
                        info.post_script_name.clone(),
                        info.id,
                    )
                })
                .collect();
            holders.sort();
            holders.truncate(FALLBACK_FACES);
            holders.into_iter().map(|(_, _, id)| id).collect()
        });
        if used.len() > FALLBACK_FACES {
            return None;
        }
        list.iter().find(|id| !used.contains(id)).copied()
    }
}

/// A remembered answer stays right even if the thread that held the lock panicked.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Runs `use_it` on a face standing at `axes`; `None` if its file is gone or cannot be read.
pub(crate) fn with_face<T>(
    database: &Database,
    id: ID,
    axes: &[([u8; 4], f32)],
    use_it: impl FnOnce(&Face<'_>) -> T,
) -> Option<T> {
    database
        .with_face_data(id, |data, index| {
            let mut face = Face::parse(data, index).ok()?;
            for (tag, value) in axes {
                face.set_variation(Tag::from_bytes(tag), *value);
            }
            Some(use_it(&face))
        })
        .flatten()
}

/// Whether the face has the character at all, as ink that can be measured.
pub(crate) fn has(database: &Database, id: ID, character: char) -> bool {
    with_face(database, id, &[], |face| {
        face.glyph_index(character)
            .is_some_and(|glyph| !coloured(face, glyph))
    })
    .unwrap_or(false)
}

/// Whether a glyph is a picture or painted in several colours: it has no outline that stands for
/// what would be burnt.
pub(crate) fn coloured(face: &Face<'_>, glyph: ttf_parser::GlyphId) -> bool {
    face.is_color_glyph(glyph)
        || face.glyph_svg_image(glyph).is_some()
        || face.glyph_raster_image(glyph, u16::MAX).is_some()
}

/// A face in words: "Ubuntu light".
pub(crate) fn describe(database: &Database, id: ID) -> String {
    let Some(info) = database.face(id) else {
        return String::new();
    };
    let family = info.families.first().map_or("", |(name, _)| name.as_str());
    let style = style_words(info.weight.0, info.style, info.stretch);
    format!("{family} {style}").trim().to_owned()
}

/// Fonts of a folder and the folders in it, by name: the order in which a file system lists them
/// differs from machine to machine, and the first of two equal faces is taken.
fn load_folder(database: &mut Database, folder: &Path, depth: usize) {
    // Deep enough for any font folder; a link that leads back into itself ends here.
    const DEEPEST: usize = 8;
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() {
            if depth < DEEPEST {
                load_folder(database, &path, depth + 1);
            }
            continue;
        }
        let font = path.extension().and_then(|e| e.to_str()).is_some_and(|e| {
            ["ttf", "otf", "ttc", "otc"].contains(&e.to_ascii_lowercase().as_str())
        });
        // Opening a pipe that has a font's name would block.
        if font && path.is_file() {
            // A broken font file is no face; see `database`.
            let _ = database.load_font_file(&path);
        }
    }
}

fn generic(database: &Database, family: Family<'_>, ask: &Ask) -> Option<ID> {
    let query = |families: &[Family<'_>]| {
        database.query(&Query {
            families,
            weight: Weight(ask.weight),
            stretch: ask.stretch,
            style: ask.style,
        })
    };
    query(&[family])
        .or_else(|| {
            query(&[Family::Name(if family == Family::Monospace {
                "Hack"
            } else {
                "Ubuntu"
            })])
        })
        .or_else(|| database.faces().next().map(|face| face.id))
}

/// Whether the face can be set along an axis.
pub(crate) fn has_axis(database: &Database, id: ID, tag: [u8; 4]) -> bool {
    axis_range(database, id, tag).is_some()
}

fn axis_range(database: &Database, id: ID, tag: [u8; 4]) -> Option<(f32, f32)> {
    with_face(database, id, &[], |face| {
        face.variation_axes()
            .into_iter()
            .find(|axis| axis.tag == Tag::from_bytes(&tag))
            .map(|axis| (axis.min_value, axis.max_value))
    })
    .flatten()
}

/// Where the request stands on the face's own axes (CSS Fonts 4, section 2.3, maps weight to
/// `wght`, width to `wdth` and italic to `ital`).
fn axes(database: &Database, id: ID, ask: &Ask) -> Vec<([u8; 4], f32)> {
    let mut axes = Vec::new();
    let mut push = |tag: [u8; 4], value: f32| {
        if let Some((low, high)) = axis_range(database, id, tag) {
            axes.push((tag, value.max(low).min(high)));
        }
    };
    push(*b"wght", f32::from(ask.weight));
    push(*b"wdth", percent(ask.stretch));
    push(*b"ital", if ask.style == Style::Italic { 1.0 } else { 0.0 });
    axes
}

#[cfg(test)]
mod tests;
