//! The glyphs of the faces at hand, ready to be matched.

use std::collections::BTreeMap;

use kurbo::{Affine, BezPath};
use ttf_parser::gsub::{SingleSubstitution, SubstitutionSubtable};
use ttf_parser::{Face, GlyphId, OutlineBuilder};
use unicode_normalization::UnicodeNormalization as _;

use super::pieces::{Piece, pieces};
use crate::artwork::fonts::{Faces, coloured, describe, with_face};
use crate::geometry::region::Region;

/// A glyph of a face.
#[derive(Debug, Clone)]
pub(crate) struct Glyph {
    /// Which of the index's faces.
    pub face: usize,
    /// What it spells: a character, or the characters of a ligature.
    pub text: String,
    /// Its largest piece. Lengths in ems, y to the front as on the bed, origin at the glyph's own.
    pub main: Piece,
    /// Its other pieces: dots and accents.
    pub others: Vec<Piece>,
    /// Advance in ems.
    pub advance: f64,
}

/// Glyphs in the order of the first number of their signature, so that a search looks at a few.
#[derive(Debug, Clone, Default)]
pub(crate) struct Index {
    /// The faces in words.
    pub faces: Vec<String>,
    /// The glyphs.
    pub glyphs: Vec<Glyph>,
}

/// How far two signatures of one curve may differ, number by number: re-saving and rounding to
/// 0.01 mm move them by a few thousandths on a letter of 2 mm.
const SIGNATURE_SLACK: f32 = 0.03;

/// How far the share of holes may differ.
const HOLE_SLACK: f64 = 0.03;

/// Curves of glyphs are flattened to this, in ems: a fiftieth of the thinnest hairline.
const FLATTENING: f64 = 4e-4;

/// A script whose letters are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Script {
    /// Latin; digits and signs go with any script and count as this.
    Latin,
    /// Greek.
    Greek,
    /// Cyrillic.
    Cyrillic,
    /// Armenian.
    Armenian,
    /// Georgian.
    Georgian,
    /// Hebrew.
    Hebrew,
    /// Arabic.
    Arabic,
}

impl Script {
    /// The script of a character, by Unicode's blocks; `None` for digits and signs.
    pub(crate) fn of(c: char) -> Option<Self> {
        match c {
            '\u{370}'..='\u{3ff}' => Some(Self::Greek),
            '\u{400}'..='\u{52f}' => Some(Self::Cyrillic),
            '\u{530}'..='\u{58f}' => Some(Self::Armenian),
            '\u{10a0}'..='\u{10ff}' => Some(Self::Georgian),
            '\u{590}'..='\u{5ff}' => Some(Self::Hebrew),
            '\u{600}'..='\u{6ff}' | '\u{fb50}'..='\u{fdff}' | '\u{fe70}'..='\u{fefc}' => {
                Some(Self::Arabic)
            }
            c if c.is_alphabetic() => Some(Self::Latin),
            _ => None,
        }
    }

    /// Whether it is read from the right.
    pub(crate) fn leftward(self) -> bool {
        matches!(self, Self::Hebrew | Self::Arabic)
    }
}

/// Letters of scripts beside Latin. Without them a Greek or Cyrillic name at hand is taken for Latin
/// letters that lie in a mirror, or on their heads.
fn other_scripts() -> impl Iterator<Item = char> {
    ('\u{386}'..='\u{3ce}')
        .chain('\u{400}'..='\u{45f}')
        .chain('\u{490}'..='\u{491}')
        .chain('\u{531}'..='\u{556}')
        .chain('\u{561}'..='\u{587}')
        .chain('\u{10d0}'..='\u{10f0}')
        .chain('\u{5d0}'..='\u{5ea}')
        .chain('\u{621}'..='\u{64a}')
        .chain('\u{fe80}'..='\u{fefc}')
        .filter(|c| c.is_alphabetic())
}

/// The characters that are read: letters with their accents, digits, and the signs that names are
/// written with.
fn characters() -> impl Iterator<Item = char> {
    ('A'..='Z')
        .chain('a'..='z')
        .chain('0'..='9')
        .chain(('\u{c0}'..='\u{17f}').filter(|c| c.is_alphabetic()))
        .chain("\u{218}\u{219}\u{21a}\u{21b}\u{1e9e}&!?.,-'\u{2019}+/()#@".chars())
        .chain(other_scripts())
}

impl Index {
    /// Reads every glyph of every face. Takes some milliseconds a face.
    pub(crate) fn build(faces: &Faces) -> Self {
        let database = faces.database();
        let mut index = Self::default();
        let mut ids: Vec<_> = database
            .faces()
            .map(|f| (describe(&database, f.id), f.id))
            .collect();
        ids.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.cmp(&b.1)));
        for (name, id) in ids {
            let number = index.faces.len();
            let found =
                with_face(&database, id, &[], |face| glyphs_of(face, number)).unwrap_or_default();
            if !found.is_empty() {
                index.faces.push(name);
                index.glyphs.extend(found);
            }
        }
        index.sort();
        index
    }

    pub(super) fn sort(&mut self) {
        self.glyphs.sort_by(|a, b| {
            let first = |g: &Glyph| g.main.signature.first().copied().unwrap_or(0.0);
            first(a)
                .total_cmp(&first(b))
                .then(a.face.cmp(&b.face))
                .then(a.text.cmp(&b.text))
        });
    }

    /// The glyphs whose largest piece could be `piece`.
    pub(crate) fn like<'a>(&'a self, piece: &'a Piece) -> impl Iterator<Item = (usize, &'a Glyph)> {
        let first = |p: &Piece| p.signature.first().copied().unwrap_or(0.0);
        let low = first(piece) - SIGNATURE_SLACK;
        let high = first(piece) + SIGNATURE_SLACK;
        let start = self.glyphs.partition_point(|g| first(&g.main) < low);
        self.glyphs
            .iter()
            .enumerate()
            .skip(start)
            .take_while(move |(_, g)| first(&g.main) <= high)
            .filter(move |(_, g)| {
                g.main.holes == piece.holes
                    && (g.main.hole_share - piece.hole_share).abs() <= HOLE_SLACK
                    && g.main
                        .signature
                        .iter()
                        .zip(&piece.signature)
                        .all(|(a, b)| (a - b).abs() <= SIGNATURE_SLACK)
            })
    }
}

/// Presentation forms of Latin ligatures, for faces that list them as characters only.
const LIGATURES: std::ops::RangeInclusive<char> = '\u{fb00}'..='\u{fb06}';

/// Longest ligature that is looked for, in characters.
const LONGEST_LIGATURE: usize = 4;

/// So often alternates of alternates are looked for.
const ROUNDS: usize = 3;

impl Glyph {
    /// The first character that it spells.
    pub(crate) fn character(&self) -> char {
        self.text.chars().next().unwrap_or('\u{fffd}')
    }
}

/// The glyphs that spell something, each once, in the order of what they spell.
fn spelling(face: &Face<'_>) -> Vec<(GlyphId, String)> {
    let has = |c: char| face.glyph_index(c).filter(|id| id.0 != 0);
    let single: Vec<(GlyphId, char)> = characters()
        .filter_map(|c| has(c).map(|id| (id, c)))
        .collect();
    let mut out: Vec<(GlyphId, String)> = single
        .iter()
        .map(|(id, c)| {
            let text = match c {
                // How a letter looks beside its neighbours: it spells the letter.
                '\u{fe80}'..='\u{fefc}' => std::iter::once(*c).nfkc().collect(),
                _ => String::from(*c),
            };
            (*id, text)
        })
        .collect();
    out.extend(
        LIGATURES.filter_map(|c| has(c).map(|id| (id, std::iter::once(c).nfkd().collect()))),
    );
    let mut spelt: BTreeMap<u16, char> = BTreeMap::new();
    for (id, c) in &single {
        spelt.entry(id.0).or_insert(*c);
    }
    // Of alternates there may be alternates again.
    for _ in 0..ROUNDS {
        let found = alternates(face, &spelt);
        if found.is_empty() {
            break;
        }
        out.extend(found.iter().map(|(id, c)| (GlyphId(*id), c.to_string())));
        spelt.extend(found);
    }
    out.extend(ligatures(face, &spelt));
    out.sort_by(|a, b| a.1.cmp(&b.1).then(a.0.cmp(&b.0)));
    out.dedup();
    out
}

/// The parts of a face's substitution tables, those that only stand in for a context among them.
fn substitutions<'a>(face: &Face<'a>) -> impl Iterator<Item = SubstitutionSubtable<'a>> {
    let lookups = face.tables().gsub.map(|t| t.lookups).into_iter().flatten();
    lookups.flat_map(|l| l.subtables.into_iter::<SubstitutionSubtable<'_>>())
}

/// Glyphs outside the character map that stand for one that spells something: small capitals, the forms of
/// joined script, contextual and stylistic alternates. What has a character of its own spells that.
fn alternates(face: &Face<'_>, spelt: &BTreeMap<u16, char>) -> BTreeMap<u16, char> {
    let mut out = BTreeMap::new();
    for subtable in substitutions(face) {
        for (first, c) in spelt {
            let glyph = GlyphId(*first);
            let others: Vec<GlyphId> = match &subtable {
                SubstitutionSubtable::Single(SingleSubstitution::Format1 { coverage, delta }) => {
                    let covered = coverage.contains(glyph);
                    // Counted round, as the standard says (OpenType, GSUB 1.1).
                    covered
                        .then(|| GlyphId(first.wrapping_add_signed(*delta)))
                        .into_iter()
                        .collect()
                }
                SubstitutionSubtable::Single(SingleSubstitution::Format2 {
                    coverage,
                    substitutes,
                }) => {
                    let place = coverage.get(glyph);
                    place.and_then(|n| substitutes.get(n)).into_iter().collect()
                }
                SubstitutionSubtable::Alternate(table) => {
                    let set = table.coverage.get(glyph);
                    let set = set.and_then(|n| table.alternate_sets.get(n));
                    set.into_iter().flat_map(|s| s.alternates).collect()
                }
                _ => Vec::new(),
            };
            for other in others.iter().filter(|o| !spelt.contains_key(&o.0)) {
                out.entry(other.0).or_insert(*c);
            }
        }
    }
    out
}

/// The ligatures of glyphs that spell something.
fn ligatures(face: &Face<'_>, spelt: &BTreeMap<u16, char>) -> Vec<(GlyphId, String)> {
    let mut out = Vec::new();
    for subtable in substitutions(face) {
        let SubstitutionSubtable::Ligature(ligatures) = subtable else {
            continue;
        };
        for (first, c) in spelt {
            let set = ligatures
                .coverage
                .get(GlyphId(*first))
                .and_then(|n| ligatures.ligature_sets.get(n));
            for ligature in set.into_iter().flatten() {
                let rest: Option<String> = ligature
                    .components
                    .into_iter()
                    .map(|id| spelt.get(&id.0))
                    .collect();
                if let Some(rest) = rest.filter(|r| r.chars().count() < LONGEST_LIGATURE) {
                    out.push((ligature.glyph, format!("{c}{rest}")));
                }
            }
        }
    }
    out
}

fn glyphs_of(face: &Face<'_>, number: usize) -> Vec<Glyph> {
    let em = f64::from(face.units_per_em());
    if em <= 0.0 {
        return Vec::new();
    }
    // From font units, y up, to ems, y to the front.
    let frame = Affine::new([1.0 / em, 0.0, 0.0, -1.0 / em, 0.0, 0.0]);
    let mut out = Vec::new();
    for (id, text) in spelling(face) {
        if coloured(face, id) {
            continue;
        }
        let mut pen = GlyphPath(BezPath::new());
        if face.outline_glyph(id, &mut pen).is_none()
            || !crate::geometry::flatten::measurable(&pen.0)
        {
            continue;
        }
        let region = Region::from_path(&(frame * pen.0), false, FLATTENING);
        let mut found = pieces(&region);
        found.sort_by(|a, b| b.area.total_cmp(&a.area));
        let mut found = found.into_iter();
        let Some(main) = found.next() else { continue };
        out.push(Glyph {
            face: number,
            text,
            main,
            others: found.collect(),
            advance: f64::from(face.glyph_hor_advance(id).unwrap_or(0)) / em,
        });
    }
    out
}

struct GlyphPath(BezPath);

impl OutlineBuilder for GlyphPath {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((f64::from(x), f64::from(y)));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        if !self.0.elements().is_empty() {
            self.0.line_to((f64::from(x), f64::from(y)));
        }
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        if !self.0.elements().is_empty() {
            self.0
                .quad_to((f64::from(x1), f64::from(y1)), (f64::from(x), f64::from(y)));
        }
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        if !self.0.elements().is_empty() {
            self.0.curve_to(
                (f64::from(x1), f64::from(y1)),
                (f64::from(x2), f64::from(y2)),
                (f64::from(x), f64::from(y)),
            );
        }
    }

    fn close(&mut self) {
        if !self.0.elements().is_empty() {
            self.0.close_path();
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn glyphs_outside_the_character_map_spell_what_they_stand_for() {
        let face = Face::parse(epaint_default_fonts::UBUNTU_LIGHT, 0).unwrap();
        let spelt = spelling(&face);
        // A small i with its dot under any accent, and the Cyrillic be of another country.
        for (name, text) in [("i.locl", "i"), ("afii10066.locl", "\u{431}")] {
            let id = face.glyph_index_by_name(name).unwrap();
            let own: Vec<&str> = spelt
                .iter()
                .filter(|s| s.0 == id)
                .map(|s| s.1.as_str())
                .collect();
            assert_eq!(own, [text], "{name}");
        }
    }
}
