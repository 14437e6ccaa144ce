//! From elements to pieces: which characters there are, what they inherit, where they are placed.
//!
//! White space is folded and the lists of positions are resolved here, in `f64`, because usvg does
//! both in its own way (it drops the space in `Anna<tspan> Bell</tspan>`, for one), and because a
//! flat list of pieces has no nesting that could overflow its stack.

use kurbo::{BezPath, Point, Shape, Size};
use roxmltree::{Node, NodeId};
use svgtypes::{LengthListParser, NumberListParser};
use unicode_normalization::char::is_combining_mark;

use super::style::{Lines, TextStyle, user};
use super::{
    DEEPEST, FARTHEST, MOST_CHARACTERS, MOST_ON_A_LINE, MOST_WORK, TextInput, TextProblem, inkless,
};

/// Accuracy of a curve's length, as a part of that length; a percentage of the curve is off by no
/// more than this.
const LENGTH_ACCURACY: f64 = 1e-9;

/// Most pieces of a curve that carries letters, and most of them times letters: usvg looks at each
/// piece for each letter.
const MOST_TRACK: usize = 20_000;
const MOST_TRACK_WORK: usize = 20_000_000;

/// Elements inside a text that never hold lettering.
const SILENT: &[&str] = &[
    "title",
    "desc",
    "metadata",
    "style",
    "script",
    "animate",
    "animateColor",
    "animateMotion",
    "animateTransform",
    "set",
    "discard",
];

/// All that a `text` element says, before anything is laid out.
#[derive(Debug, Default)]
pub(super) struct Script {
    pub(super) owners: Vec<Owner>,
    pub(super) tracks: Vec<Track>,
    characters: Vec<Character>,
}

/// An element that holds characters, in document order: a parent comes before its children.
#[derive(Debug)]
pub(super) struct Owner {
    pub(super) id: NodeId,
    pub(super) parent: Option<usize>,
    pub(super) style: TextStyle,
    pub(super) track: Option<usize>,
    pub(super) dropped: bool,
    x: Vec<f64>,
    y: Vec<f64>,
    dx: Vec<f64>,
    dy: Vec<f64>,
    rotate: Vec<f64>,
    length: Option<Stretched>,
}

/// `textLength` and `lengthAdjust`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretched {
    pub(super) length: f64,
    pub(super) glyphs: bool,
}

/// A curve that letters follow.
#[derive(Debug)]
pub(super) struct Track {
    pub(super) path: BezPath,
    /// Where the letters start along it, in user units.
    pub(super) start: f64,
}

#[derive(Debug, Clone, Copy)]
struct Character {
    c: char,
    owner: usize,
}

/// A character with its place, white space folded.
#[derive(Debug, Clone, Copy)]
struct Placed {
    c: char,
    owner: usize,
    x: Option<f64>,
    y: Option<f64>,
    /// The position is not the first of its list.
    listed: bool,
    dx: f64,
    dy: f64,
    rotate: f64,
}

/// What is laid out by itself: nothing before it decides where it is.
#[derive(Debug)]
pub(super) struct Block {
    /// Added to everything after layout, so that layout happens near the origin: `f32` is 4 mm
    /// coarse at 50 km and 0.004 mm at 50 m.
    pub(super) origin: Point,
    pub(super) track: Option<usize>,
    pub(super) pieces: Vec<Piece>,
}

/// Characters of one element that follow each other, with an absolute position at most at the
/// first.
#[derive(Debug, Clone, Default)]
pub(super) struct Piece {
    pub(super) owner: usize,
    pub(super) text: String,
    /// Whether it starts a new anchored run.
    pub(super) starts: bool,
    /// Whether it may be a further letter of a word that is placed letter by letter.
    pub(super) listed: bool,
    /// Relative to the block's origin.
    pub(super) x: Option<f64>,
    pub(super) y: Option<f64>,
    /// One number a character; empty if all are zero.
    pub(super) dx: Vec<f64>,
    pub(super) dy: Vec<f64>,
    pub(super) rotate: Vec<f64>,
    pub(super) stretched: Option<Stretched>,
}

/// Reads the element and everything in it.
pub(super) fn read(input: &TextInput<'_, '_>) -> Result<Script, TextProblem> {
    let mut script = Script::default();
    walk(input, input.node, None, 0, &mut script)?;
    if script
        .owners
        .first()
        .is_some_and(|text| text.style.shift.is_some())
    {
        return Err(TextProblem::outline(
            "lettering has `baseline-shift` on the whole text, which readers lay out differently",
        ));
    }
    Ok(script)
}

fn walk<'a, 'i>(
    input: &TextInput<'a, 'i>,
    node: Node<'a, 'i>,
    parent: Option<usize>,
    depth: usize,
    script: &mut Script,
) -> Result<(), TextProblem> {
    if depth > DEEPEST {
        return Err(TextProblem::new(
            format!("lettering is nested more than {DEEPEST} deep"),
            "type this lettering anew as plain lines",
        ));
    }
    let index = script.owners.len();
    let owner = owner(input, node, parent, script)?;
    script.owners.push(owner);
    for child in node.children() {
        if let (true, Some(text)) = (child.is_text(), child.text()) {
            script
                .characters
                .extend(text.chars().map(|c| Character { c, owner: index }));
            if script.characters.len() > MOST_CHARACTERS {
                return Err(TextProblem::new(
                    format!("lettering of more than {MOST_CHARACTERS} characters in one piece"),
                    "split this lettering",
                ));
            }
        }
        if !child.is_element() {
            continue;
        }
        let own = child.tag_name().namespace() == node.tag_name().namespace();
        let name = child.tag_name().name();
        match name {
            "tspan" | "a" if own => walk(input, child, Some(index), depth + 1, script)?,
            "textPath" if own && parent.is_none() => {
                walk(input, child, Some(index), depth + 1, script)?;
            }
            _ if own && SILENT.contains(&name) => {}
            _ if own => {
                return Err(TextProblem::outline(format!(
                    "lettering holds a `{name}`, which not every reader draws there"
                )));
            }
            // Elements of another namespace are notes that editors leave.
            _ if child
                .descendants()
                .filter_map(|n| n.text())
                .all(|t| t.trim().is_empty()) => {}
            _ => {
                return Err(TextProblem::outline(format!(
                    "lettering holds a foreign element `{name}` with characters in it"
                )));
            }
        }
    }
    Ok(())
}

fn owner<'a, 'i>(
    input: &TextInput<'a, 'i>,
    node: Node<'a, 'i>,
    parent: Option<usize>,
    script: &mut Script,
) -> Result<Owner, TextProblem> {
    for name in ["systemLanguage", "requiredFeatures", "requiredExtensions"] {
        if parent.is_some() && node.has_attribute(name) {
            return Err(TextProblem::outline(format!(
                "lettering has a part under a condition (`{name}`)"
            )));
        }
    }
    let style = TextStyle::read(node, (input.style)(node), input.declared)?;
    let above = parent.and_then(|p| script.owners.get(p));
    let dropped = above.is_some_and(|p| p.dropped || !style.displayed);
    let mut track = above.and_then(|p| p.track);
    let Size { width, height } = input.viewport;
    let list = |name, whole| lengths(node, name, style.size, whole);
    // On `textPath` these attributes mean nothing.
    let placing = node.tag_name().name() != "textPath";
    if !placing {
        track = Some(script.tracks.len());
        let curve = read_track(input, node, &style)?;
        script.tracks.push(curve);
    }
    let lists = if placing {
        [
            list("x", width)?,
            list("y", height)?,
            list("dx", width)?,
            list("dy", height)?,
        ]
    } else {
        <[Vec<f64>; 4]>::default()
    };
    let [x, y, dx, dy] = lists;
    let rotate = if placing { angles(node)? } else { Vec::new() };
    let length = stretched(
        node,
        style.size,
        if style.vertical { height } else { width },
    )?;
    Ok(Owner {
        id: node.id(),
        parent,
        style,
        track,
        dropped,
        x,
        y,
        dx,
        dy,
        rotate,
        length,
    })
}

fn unread(name: &str) -> TextProblem {
    TextProblem::new(
        format!("lettering has a list `{name}` that cannot be read"),
        "place this lettering anew, or turn it into outlines",
    )
}

fn lengths(node: Node<'_, '_>, name: &str, em: f64, whole: f64) -> Result<Vec<f64>, TextProblem> {
    let Some(text) = node.attribute(name) else {
        return Ok(Vec::new());
    };
    LengthListParser::from(text)
        .map(|length| {
            let length = length.map_err(|_| unread(name))?;
            user(length, em, Some(whole))
                .filter(|v| v.abs() <= FARTHEST)
                .ok_or_else(|| unread(name))
        })
        .collect()
}

fn angles(node: Node<'_, '_>) -> Result<Vec<f64>, TextProblem> {
    let Some(text) = node.attribute("rotate") else {
        return Ok(Vec::new());
    };
    NumberListParser::from(text)
        .map(|n| {
            n.ok()
                .filter(|v| v.abs() <= FARTHEST)
                .ok_or_else(|| unread("rotate"))
        })
        .collect()
}

fn stretched(node: Node<'_, '_>, em: f64, whole: f64) -> Result<Option<Stretched>, TextProblem> {
    let glyphs = node.attribute("lengthAdjust") == Some("spacingAndGlyphs");
    match lengths(node, "textLength", em, whole)?.as_slice() {
        [] => Ok(None),
        [length] if *length > 0.0 => Ok(Some(Stretched {
            length: *length,
            glyphs,
        })),
        _ => Err(unread("textLength")),
    }
}

fn read_track<'a, 'i>(
    input: &TextInput<'a, 'i>,
    node: Node<'a, 'i>,
    style: &TextStyle,
) -> Result<Track, TextProblem> {
    let odd = |what: &str| {
        Err(TextProblem::outline(format!(
            "lettering on a curve has {what}, which readers lay out differently"
        )))
    };
    if node.has_attribute("path") {
        return odd("its curve in an attribute `path`");
    }
    if !matches!(node.attribute("side"), None | Some("left")) {
        return odd("`side=\"right\"`");
    }
    if !matches!(node.attribute("method"), None | Some("align")) {
        return odd("`method=\"stretch\"`");
    }
    if style.vertical {
        return odd("a vertical writing mode");
    }
    let path = (input.track)(node)?;
    let segments = path.segments().count();
    if segments == 0 || segments > MOST_TRACK {
        return Err(TextProblem::outline(format!(
            "lettering follows a curve of {segments} pieces, which cannot be laid out"
        )));
    }
    let bounds = path.control_box();
    let farthest = [bounds.x0, bounds.x1, bounds.y0, bounds.y1].map(f64::abs);
    if !path.is_finite() || farthest.iter().any(|v| *v > FARTHEST) {
        return Err(TextProblem::outline(
            "lettering follows a curve that lies too far out",
        ));
    }
    let size = bounds.width().hypot(bounds.height());
    let whole = path.perimeter((LENGTH_ACCURACY * size).max(f64::MIN_POSITIVE));
    let start = match lengths(node, "startOffset", style.size, whole)?.as_slice() {
        [] => 0.0,
        [start] => *start,
        _ => return Err(unread("startOffset")),
    };
    Ok(Track { path, start })
}

impl Script {
    /// Whether a part of the text is not displayed.
    pub(super) fn any_dropped(&self) -> bool {
        self.characters
            .iter()
            .any(|c| !inkless(c.c) && self.owner(c.owner).is_some_and(|o| o.dropped))
    }

    fn owner(&self, index: usize) -> Option<&Owner> {
        self.owners.get(index)
    }

    /// An owner and everything around it, innermost first.
    pub(super) fn around(&self, index: usize) -> impl Iterator<Item = (usize, &Owner)> {
        let mut next = Some(index);
        std::iter::from_fn(move || {
            let index = next?;
            let owner = self.owners.get(index)?;
            next = owner.parent;
            Some((index, owner))
        })
    }

    /// The innermost element that declares a line which `pick` names.
    pub(super) fn declares(&self, index: usize, pick: fn(&Lines) -> bool) -> Option<usize> {
        self.around(index)
            .find(|(_, owner)| pick(&owner.style.lines))
            .map(|(index, _)| index)
    }

    /// What is to be laid out; parts that are not displayed only if `with_dropped`.
    pub(super) fn blocks(&self, with_dropped: bool) -> Result<Vec<Block>, TextProblem> {
        let characters = self.folded(with_dropped)?;
        let placed = self.placed(&characters);
        let mut blocks = self.gathered(&placed)?;
        self.stretch(&mut blocks)?;
        check_work(&self.tracks, &blocks)?;
        Ok(blocks)
    }

    /// White space folded as browsers do: a line feed or tab is a space (SVG 2, section 11.7.3;
    /// SVG 1.1 would drop line feeds), one of several is kept, across elements too, and none at
    /// either end of the text.
    fn folded(&self, with_dropped: bool) -> Result<Vec<Character>, TextProblem> {
        let mut kept: Vec<Character> = Vec::new();
        let mut after_space = true;
        let mut last_preserved = false;
        for character in &self.characters {
            let Some(owner) = self.owner(character.owner) else {
                continue;
            };
            if owner.dropped && !with_dropped {
                continue;
            }
            let mut character = *character;
            if matches!(character.c, '\n' | '\r') && owner.style.breaks {
                return Err(TextProblem::outline(
                    "lettering keeps its line feeds, which only some readers turn into lines",
                ));
            }
            if matches!(character.c, '\n' | '\r' | '\t') {
                character.c = ' ';
            }
            let space = character.c == ' ' && !owner.style.preserve;
            if space && after_space {
                continue;
            }
            after_space = space;
            last_preserved = owner.style.preserve;
            kept.push(character);
        }
        if kept.last().is_some_and(|last| last.c == ' ') && !last_preserved {
            kept.pop();
        }
        Ok(kept)
    }

    /// The lists of positions, dealt out: the innermost element that has a number for a character
    /// decides; the last angle of a list goes on to the end of its element (SVG 1.1, section 10.5).
    fn placed(&self, characters: &[Character]) -> Vec<Placed> {
        let mut spans = vec![None::<(usize, usize)>; self.owners.len()];
        for (at, character) in characters.iter().enumerate() {
            for (index, _) in self.around(character.owner) {
                if let Some(span) = spans.get_mut(index) {
                    span.get_or_insert((at, at)).1 = at;
                }
            }
        }
        let mut placed: Vec<Placed> = characters
            .iter()
            .map(|&Character { c, owner }| Placed {
                c,
                owner,
                x: None,
                y: None,
                listed: false,
                dx: 0.0,
                dy: 0.0,
                rotate: 0.0,
            })
            .collect();
        for (owner, span) in self.owners.iter().zip(spans) {
            let Some((first, last)) = span else { continue };
            let Some(own) = placed.get_mut(first..=last) else {
                continue;
            };
            for (i, character) in own.iter_mut().enumerate() {
                if let Some(x) = owner.x.get(i) {
                    character.x = Some(*x);
                    character.listed = i > 0;
                }
                if let Some(y) = owner.y.get(i) {
                    character.y = Some(*y);
                    character.listed = i > 0;
                }
                character.dx = owner.dx.get(i).copied().unwrap_or(character.dx);
                character.dy = owner.dy.get(i).copied().unwrap_or(character.dy);
                if let Some(angle) = owner.rotate.get(i).or(owner.rotate.last()) {
                    character.rotate = *angle;
                }
            }
        }
        placed
    }

    /// Characters gathered into pieces, and pieces into blocks.
    fn gathered(&self, placed: &[Placed]) -> Result<Vec<Block>, TextProblem> {
        let mut blocks: Vec<Block> = Vec::new();
        for character in placed {
            let Some(owner) = self.owner(character.owner) else {
                continue;
            };
            let moved = character.dx != 0.0 || character.dy != 0.0;
            let set = character.x.is_some() || character.y.is_some();
            if is_combining_mark(character.c) && (moved || set) {
                return Err(TextProblem::outline(
                    "lettering places an accent apart from its letter",
                ));
            }
            let full = character.x.is_some() && character.y.is_some();
            let fresh = blocks.last().is_none_or(|block| block.track != owner.track);
            if owner.track.is_some() {
                self.check_on_track(character, fresh)?;
            } else if fresh && !blocks.is_empty() && !full {
                if inkless(character.c) {
                    continue;
                }
                return Err(TextProblem::outline(
                    "lettering goes on after a curve without a place of its own",
                ));
            }
            let anew = fresh || (owner.track.is_none() && full);
            if anew {
                let origin = match owner.track.and_then(|t| self.tracks.get(t)) {
                    Some(track) => track
                        .path
                        .segments()
                        .next()
                        .map_or(Point::ZERO, |s| kurbo::ParamCurve::start(&s)),
                    None => Point::new(character.x.unwrap_or(0.0), character.y.unwrap_or(0.0)),
                };
                blocks.push(Block {
                    origin,
                    track: owner.track,
                    pieces: Vec::new(),
                });
            }
            let Some(block) = blocks.last_mut() else {
                continue;
            };
            let starts = anew || (owner.track.is_none() && set);
            if starts
                || block
                    .pieces
                    .last()
                    .is_none_or(|piece| piece.owner != character.owner)
            {
                let relative = |value: Option<f64>, origin: f64| value.map(|v| v - origin);
                let on_line = owner.track.is_none();
                block.pieces.push(Piece {
                    owner: character.owner,
                    starts,
                    listed: character.listed,
                    x: relative(character.x, block.origin.x).filter(|_| on_line),
                    y: relative(character.y, block.origin.y).filter(|_| on_line),
                    ..Piece::default()
                });
            }
            if let Some(piece) = block.pieces.last_mut() {
                piece.text.push(character.c);
                piece.dx.push(character.dx);
                piece.dy.push(character.dy);
                piece.rotate.push(character.rotate);
            }
        }
        for piece in blocks.iter_mut().flat_map(|block| &mut block.pieces) {
            for list in [&mut piece.dx, &mut piece.dy, &mut piece.rotate] {
                if list.iter().all(|v| *v == 0.0) {
                    list.clear();
                }
            }
        }
        Ok(blocks)
    }

    /// Positions of letters on a curve that readers treat differently: an absolute x moves along
    /// the curve in some and nothing in others, and usvg loses count when letters go backwards.
    fn check_on_track(&self, character: &Placed, first: bool) -> Result<(), TextProblem> {
        let set =
            character.x.is_some_and(|x| x != 0.0 || !first) || character.y.is_some_and(|_| !first);
        if set {
            return Err(TextProblem::new(
                "lettering on a curve also has a place of its own, which moves it in some readers only",
                "set x of this lettering to 0, or turn it into outlines",
            ));
        }
        let style = self.owner(character.owner).map(|o| &o.style);
        let tight = style.is_some_and(|s| s.letter_spacing < -0.2 * s.size || s.word_spacing < 0.0);
        if character.dx < 0.0 || tight {
            return Err(TextProblem::outline("lettering on a curve runs backwards"));
        }
        Ok(())
    }

    /// Gives `textLength` to the pieces it is for. usvg stretches piece by piece, so it is right
    /// only where one piece is the whole anchored run.
    fn stretch(&self, blocks: &mut [Block]) -> Result<(), TextProblem> {
        if self.owners.iter().all(|owner| owner.length.is_none()) {
            return Ok(());
        }
        let ink = self.ink(blocks);
        for block in blocks {
            let alone: Vec<bool> = (0..block.pieces.len())
                .map(|i| self.alone(&block.pieces, i))
                .collect();
            for (piece, alone) in block.pieces.iter_mut().zip(alone) {
                let mut lengths = self
                    .around(piece.owner)
                    .filter_map(|(index, o)| Some((index, o.length?)));
                let Some((_, length)) = lengths.next() else {
                    continue;
                };
                let own = piece.text.chars().filter(|c| !inkless(*c)).count();
                let style = self.owner(piece.owner).map(|o| &o.style);
                let simple = style.is_some_and(|s| {
                    s.letter_spacing == 0.0 && s.word_spacing == 0.0 && !s.vertical
                });
                // Every element that states a length around the piece holds nothing else.
                let whole = self
                    .around(piece.owner)
                    .filter(|(_, owner)| owner.length.is_some())
                    .all(|(index, _)| ink.get(index) == Some(&own));
                if !alone
                    || !simple
                    || !whole
                    || block.track.is_some()
                    || lengths.any(|(_, outer)| outer != length)
                    || !(piece.dx.is_empty() && piece.dy.is_empty() && piece.rotate.is_empty())
                {
                    return Err(TextProblem::outline(
                        "lettering has a fixed length (`textLength`) over several parts, which readers lay out differently",
                    ));
                }
                piece.stretched = Some(length);
            }
        }
        Ok(())
    }

    /// Whether a piece is an anchored run by itself, and what comes next does not depend on where it
    /// ends. Blank pieces after it do no harm unless they count for centring.
    fn alone(&self, pieces: &[Piece], index: usize) -> bool {
        let Some(piece) = pieces.get(index).filter(|piece| piece.starts) else {
            return false;
        };
        let start = self
            .owner(piece.owner)
            .is_some_and(|owner| owner.style.anchor == "start");
        for next in pieces.iter().skip(index + 1) {
            if next.starts {
                return next.x.is_some();
            }
            if !start || !next.text.chars().all(inkless) {
                return false;
            }
        }
        true
    }

    /// How many characters with ink each owner holds, its inner elements' included.
    fn ink(&self, blocks: &[Block]) -> Vec<usize> {
        let mut ink = vec![0; self.owners.len()];
        for piece in blocks.iter().flat_map(|block| &block.pieces) {
            let count = piece.text.chars().filter(|c| !inkless(*c)).count();
            for (index, _) in self.around(piece.owner) {
                if let Some(sum) = ink.get_mut(index) {
                    *sum += count;
                }
            }
        }
        ink
    }
}

fn check_work(tracks: &[Track], blocks: &[Block]) -> Result<(), TextProblem> {
    let long = || {
        TextProblem::new(
            "lettering has too many characters or parts on one line",
            "split this line, or turn the lettering into outlines",
        )
    };
    for block in blocks {
        let (mut characters, mut pieces, mut all) = (0, 0, 0);
        for piece in &block.pieces {
            if piece.starts {
                (characters, pieces) = (0, 0);
            }
            let count = piece.text.chars().count();
            all += count;
            characters += count;
            pieces += 1;
            if characters > MOST_ON_A_LINE || characters * pieces > MOST_WORK {
                return Err(long());
            }
        }
        let segments = block
            .track
            .and_then(|t| tracks.get(t))
            .map_or(0, |track| track.path.segments().count());
        if segments * all > MOST_TRACK_WORK {
            return Err(long());
        }
    }
    Ok(())
}
