//! From glyphs to chunks on the bed, with every character accounted for.

use std::collections::BTreeSet;

use kurbo::{Affine, BezPath, Point, Rect, Shape, Vec2};
use usvg::fontdb::Database;

use super::anchor;
use super::clusters::{Cluster, account, clusters};
use super::faced::{Fonts, Gaps, gaps};
use super::glyphs::Shelf;
use super::laid::Laid;
use super::line_metrics::{FaceLines, Which, drawn};
use super::runs::{Block, Piece};
use super::script::Script;
use super::style::Lines;
use super::usvg_bridge::{NON_JOINER, lay};
use super::{Chunk, FARTHEST, Set, TextInput, TextProblem, in_colours, inkless};
use crate::artwork::fonts::{Faces, describe};
use crate::artwork::mark::{Lay, Letter, Lettering, MissingFace};
use crate::geometry::sweep::unit;
use crate::ids::{FontId, IdVec, OwnerId};

/// Letters placed one by one are one word while the gap to the next is within these parts of the em.
/// Too wide a range makes one word of two columns; too narrow a one splits letter-spaced words.
const CLOSEST: f64 = -0.5;
const WIDEST: f64 = 0.5;
/// How far the next letter may stand above or below the line, in parts of the em.
const OFF_LINE: f64 = 0.1;

/// Lays out `blocks` and appends their chunks; if `dropped` is set, only those that are not
/// displayed.
pub(super) fn place(
    input: &TextInput<'_, '_, '_>,
    faces: &Faces,
    script: &Script,
    blocks: &[Block],
    dropped: bool,
    set: &mut Set,
) -> Result<(), TextProblem> {
    let inked = blocks.iter().flat_map(|block| &block.pieces).any(|piece| {
        script.owner(piece.owner).style.size > 0.0
            && (!piece.text.chars().all(inkless) || decorated(script, piece))
    });
    if !inked {
        return Ok(());
    }
    let database = faces.database();
    let fonts = Fonts::choose(script, faces)?;
    let gaps = gaps(&database, script, blocks, &fonts)?;
    let scale = input.ctm.determinant().abs().sqrt();
    let starts: Vec<f64> = blocks
        .iter()
        .map(|block| anchor::on_curve(script, block))
        .collect();
    let mut laid = lay(script, blocks, &fonts, &starts, scale, faces)?;
    let mut shelf = Shelf::new(&database);
    anchor::settle(script, blocks, &mut laid, &mut shelf, &mut set.disputed);
    let chunks = &mut set.chunks;
    let mut setter = Setter {
        script,
        database: &database,
        fonts: &fonts,
        gaps: &gaps,
        ctm: input.ctm,
        shelf,
        line: chunks.iter().map(|chunk| chunk.line + 1).max().unwrap_or(0),
        started: false,
        last: None,
        spaced: false,
        fresh: true,
        chunks,
        disputed: &mut set.disputed,
    };
    let mut laid = laid.into_iter();
    for block in blocks {
        let missing = block
            .pieces
            .iter()
            .any(|piece| piece.text.chars().any(|c| setter.lacks(piece.owner, c)));
        for piece in &block.pieces {
            let glyphs = laid.next().flatten();
            if script.owner(piece.owner).dropped != dropped {
                setter.skip();
                continue;
            }
            setter.piece(block, piece, glyphs, missing, dropped)?;
        }
    }
    for chunk in chunks.iter_mut() {
        chunk.lettering.text = folded(&chunk.lettering.text);
    }
    check_extent(chunks)
}

fn check_extent(chunks: &[Chunk]) -> Result<(), TextProblem> {
    let far = |rect: Rect| {
        [rect.x0, rect.y0, rect.x1, rect.y1]
            .iter()
            .any(|v| !v.is_finite() || v.abs() > FARTHEST)
    };
    if chunks.iter().any(|chunk| far(chunk.path.control_box())) {
        return Err(TextProblem::new(
            "lettering lies too far out to be measured",
            "move this lettering back onto the page",
        ));
    }
    Ok(())
}

fn decorated(script: &Script, piece: &Piece) -> bool {
    script.declares(piece.owner, Lines::any).is_some()
}

/// Puts pieces on the bed one after another.
struct Setter<'a> {
    script: &'a Script,
    database: &'a Database,
    fonts: &'a Fonts,
    gaps: &'a IdVec<FontId, Gaps>,
    ctm: Affine,
    shelf: Shelf<'a>,
    line: usize,
    /// Whether anything is on the line yet.
    started: bool,
    /// Owner and pen of the last piece, in user units.
    last: Option<(OwnerId, TextCursor)>,
    /// White space was passed since the last ink.
    spaced: bool,
    /// A new anchored run began since the last ink, or pieces were left out.
    fresh: bool,
    chunks: &'a mut Vec<Chunk>,
    /// What readers lay out differently.
    disputed: &'a mut BTreeSet<&'static str>,
}

/// Where a piece of text ends: foot of the next letter, direction along the line, size of the em.
#[derive(Debug, Clone, Copy)]
struct TextCursor {
    at: Point,
    along: Vec2,
    em: f64,
}

impl Setter<'_> {
    fn lacks(&self, owner: OwnerId, c: char) -> bool {
        self.gaps[self.fonts.of_owner[owner]].missing.contains(&c)
    }

    fn skip(&mut self) {
        self.fresh = true;
        self.last = None;
        self.spaced = false;
    }

    fn piece(
        &mut self,
        block: &Block,
        piece: &Piece,
        laid: Option<Laid>,
        missing_in_block: bool,
        dropped: bool,
    ) -> Result<(), TextProblem> {
        let owner = self.script.owner(piece.owner);
        let blank = piece.text.chars().all(inkless);
        let sized = owner.style.size > 0.0;
        if !sized || (blank && !decorated(self.script, piece)) {
            self.fresh |= piece.starts;
            self.spaced |= piece.text.contains(char::is_whitespace);
            return Ok(());
        }
        let laid = laid.unwrap_or_default();
        let clusters = clusters(&laid.glyphs, &piece.text);
        account(piece, &clusters, block.track.is_some())?;
        let origin = Affine::translate(block.origin.to_vec2());
        let on_track = block.track.is_some();
        let (letters, missing) =
            self.letters(piece, &clusters, origin, missing_in_block, on_track)?;

        let begins = piece.starts || self.fresh;
        let joins = begins && self.joins(piece, &laid, origin);
        let same_line = self.started && (!begins || joins);
        if self.started && !same_line {
            self.line += 1;
        }
        let last_owner = self.last.map(|(owner, _)| owner);
        let extends = same_line && last_owner == Some(piece.owner);
        if !extends {
            self.chunks.push(Chunk {
                lettering: Lettering::default(),
                path: BezPath::new(),
                node: owner.id,
                line: self.line,
                spaced: same_line && (self.spaced || piece.text.starts_with(char::is_whitespace)),
                dropped,
            });
        }
        let spaced = extends && self.spaced;
        if let Some(chunk) = self
            .chunks
            .iter_mut()
            .rev()
            .find(|chunk| chunk.node == owner.id)
        {
            let lettering = &mut chunk.lettering;
            if spaced {
                lettering.text.push(' ');
            }
            lettering.text.push_str(&piece.text);
            for letter in letters {
                chunk.path.extend(letter.path.iter());
                lettering.letters.push(letter);
            }
            for face in missing {
                note(&mut lettering.missing, face);
            }
            let face = describe(self.database, self.fonts.of(piece.owner).id);
            if !lettering.faces.contains(&face) {
                lettering.faces.push(face);
            }
        }
        self.decorate(piece, &laid, origin, dropped)?;
        self.started = true;
        self.fresh = false;
        self.spaced = piece.text.ends_with(char::is_whitespace);
        self.last = self.pen(&laid, origin).map(|pen| (piece.owner, pen));
        Ok(())
    }

    /// Outlines of a piece, letter by letter, and what its face lacks.
    fn letters(
        &mut self,
        piece: &Piece,
        clusters: &[Cluster<'_>],
        origin: Affine,
        missing_in_block: bool,
        on_track: bool,
    ) -> Result<(Vec<Letter>, Vec<MissingFace>), TextProblem> {
        let chosen = self.fonts.of(piece.owner);
        let mut letters = Vec::new();
        let mut missing: Vec<MissingFace> = chosen.missing.iter().cloned().collect();
        let mut at = 0;
        for cluster in clusters {
            let turn = piece.rotate.get(at).copied().unwrap_or(0.0);
            at += cluster.text.chars().count();
            let turned_about = (on_track && turn != 0.0).then_some(turn);
            if turned_about.is_some() {
                self.disputed.insert("`rotate` along a curve");
            }
            let ours = |c: &char| *c == NON_JOINER && !piece.text.contains(NON_JOINER);
            let text = cluster.text.chars().filter(|c| !ours(c)).collect();
            let mut letter = Letter {
                text,
                ..Letter::default()
            };
            let mut first = true;
            for glyph in &cluster.glyphs {
                let drawn = self.shelf.glyph(&glyph.stand, glyph.glyph);
                if drawn.coloured {
                    return Err(in_colours(&cluster.text));
                }
                let mut placed = self.ctm * origin * glyph.placed;
                if let (Some(turn), Lay::Browser) = (turned_about, self.script.lay) {
                    // Browsers turn such a letter about the middle of its advance, usvg about its start.
                    let half = drawn.advance / 2.0;
                    let (sin, cos) = turn.to_radians().sin_cos();
                    placed *= Affine::translate((half * cos - half, half * sin));
                }
                letter.path.extend((placed * &drawn.path).iter());
                if first {
                    first = false;
                    let [a, b, c, d, _, _] = placed.as_coeffs();
                    let (along, up) = (Vec2::new(a, b), Vec2::new(c, d));
                    let tall = up.hypot();
                    letter.up = unit(up).unwrap_or_default();
                    letter.along = unit(along).unwrap_or_default();
                    // Outlines have y up and the bed has y down, so a letter that reads the right
                    // way has been turned over once.
                    letter.mirrored = a * d - b * c > 0.0;
                    letter.size = tall * drawn.units_per_em;
                    letter.cap_height = tall * drawn.cap_height;
                    letter.x_height = tall * drawn.x_height;
                    letter.foot = placed * Point::ZERO;
                }
                let stranger = glyph.stand.face != chosen.id || glyph.glyph == 0;
                let lacking: String = cluster
                    .text
                    .chars()
                    .filter(|c| self.lacks(piece.owner, *c))
                    .collect();
                if stranger && !cluster.text.chars().all(inkless) {
                    if chosen.missing.is_some() {
                        // The whole face is missing, so its characters need not be listed.
                    } else if !lacking.is_empty() || glyph.glyph == 0 {
                        let instead =
                            (glyph.glyph != 0).then(|| describe(self.database, glyph.stand.face));
                        let characters = if lacking.is_empty() {
                            cluster.text.clone()
                        } else {
                            lacking
                        };
                        note(&mut missing, self.lack(piece.owner, instead, characters));
                    } else if !missing_in_block {
                        return Err(TextProblem::outline(
                            "lettering mixes faces in one word in a way that could not be laid out",
                        ));
                    }
                }
            }
            if letter.path.elements().is_empty() {
                if !cluster.text.chars().all(inkless) {
                    note(
                        &mut missing,
                        self.lack(piece.owner, None, cluster.text.clone()),
                    );
                }
                continue;
            }
            letter.bounds = letter.path.bounding_box();
            letters.push(letter);
        }
        Ok((letters, missing))
    }

    fn lack(&self, owner: OwnerId, instead: Option<String>, characters: String) -> MissingFace {
        let chosen = self.fonts.of(owner);
        MissingFace {
            family: chosen.family.clone(),
            style: chosen.style.clone(),
            instead,
            characters,
        }
    }

    /// Whether a piece with a place of its own is the next letter of the word before it.
    fn joins(&self, piece: &Piece, laid: &Laid, origin: Affine) -> bool {
        let Some((owner, pen)) = self.last else {
            return false;
        };
        let Some(first) = laid.glyphs.first() else {
            return false;
        };
        if owner != piece.owner || !piece.listed || pen.em <= 0.0 {
            return false;
        }
        let gap = origin * first.placed * Point::ZERO - pen.at;
        let spaces = if self.spaced { WIDEST } else { 0.0 };
        let along = gap.dot(pen.along) / pen.em;
        let off = gap.cross(pen.along) / pen.em;
        off.abs() <= OFF_LINE && (CLOSEST..=WIDEST + spaces).contains(&along)
    }

    fn pen(&mut self, laid: &Laid, origin: Affine) -> Option<TextCursor> {
        let last = laid.glyphs.last()?;
        let drawn = self.shelf.glyph(&last.stand, last.glyph);
        let placed = origin * last.placed;
        let [a, b, ..] = placed.as_coeffs();
        let along = Vec2::new(a, b);
        let unit = along.hypot();
        (unit > 0.0).then(|| TextCursor {
            at: placed * Point::new(drawn.advance, 0.0),
            along: along / unit,
            em: unit * drawn.units_per_em,
        })
    }

    /// Adds the lines under, over and through a piece to the element that declares, and so paints,
    /// them (CSS Text Decoration 3, section 2).
    fn decorate(
        &mut self,
        piece: &Piece,
        laid: &Laid,
        origin: Affine,
        dropped: bool,
    ) -> Result<(), TextProblem> {
        let script = self.script;
        let Some(nearest) = script.declares(piece.owner, Lines::any) else {
            return Ok(());
        };
        let owner = script.owner(piece.owner);
        if owner.style.vertical {
            return Err(TextProblem::outline(
                "lettering that runs down the page has a line along it, which readers place differently",
            ));
        }
        self.disputed.insert("the line along the letters");
        let lines = FaceLines::read(self.database, self.fonts.of(piece.owner));
        for which in [Which::Under, Which::Over, Which::Through] {
            let Some(declares) = script.declares(piece.owner, |l| which.of(l)) else {
                continue;
            };
            // Browsers paint every line like the innermost element that has any.
            let id = match script.lay {
                Lay::Browser => nearest,
                Lay::Other => declares,
            };
            let (top, bottom) = lines.band(which, script.lay);
            let path = drawn(
                &laid.stretches,
                top * owner.style.size,
                bottom * owner.style.size,
            );
            if path.elements().is_empty() {
                continue;
            }
            let line = self.line;
            let path = self.ctm * origin * path;
            let own = self
                .chunks
                .iter_mut()
                .rev()
                .take_while(|c| c.line == line)
                .find(|c| c.node == id);
            if let Some(chunk) = own {
                chunk.path.extend(path.iter());
            } else {
                self.chunks.push(Chunk {
                    lettering: Lettering::default(),
                    path,
                    node: id,
                    line,
                    spaced: false,
                    dropped,
                });
            }
        }
        Ok(())
    }
}

/// Adds a missing face to the list, or its characters to an entry that is there.
fn note(list: &mut Vec<MissingFace>, face: MissingFace) {
    let same = |known: &&mut MissingFace| {
        known.family == face.family
            && known.style == face.style
            && known.instead == face.instead
            && known.characters.is_empty() == face.characters.is_empty()
    };
    match list.iter_mut().find(same) {
        Some(known) => {
            for c in face.characters.chars() {
                if !known.characters.contains(c) {
                    known.characters.push(c);
                }
            }
        }
        None => list.push(face),
    }
}

/// White space to single spaces, none at the ends; characters without width are left out.
fn folded(text: &str) -> String {
    let shown: String = text
        .chars()
        .filter(|c| !matches!(c, '\u{AD}' | '\u{200B}' | '\u{2060}' | '\u{FEFF}'))
        .collect();
    shown.split_whitespace().collect::<Vec<_>>().join(" ")
}
