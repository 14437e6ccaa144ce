//! Names as lines of lettering, by the same layout that measures them in an inspection.

use std::collections::HashMap;

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};

use super::attributes::attributes;
use crate::artwork::fonts::{FaceName, Faces};
use crate::artwork::length::RootUnits;
use crate::artwork::mark::Content;
use crate::artwork::resolve::{ReadOptions, resolve};
use crate::artwork::source::Source;
use crate::fixture::settings::{Align, Lettering};
use crate::geometry::region::Region;
use crate::ids::At;
use crate::wording::markup;

/// From one baseline to the next, in ems: CSS 2.1, section 10.8.1, suggests 1.0 to 1.2 for a normal
/// line height. Less, and the tails of one line touch the accents of the next.
const LINE: f64 = 1.2;

/// The size that a line is laid out at to be measured, in millimetres; outlines grow with it.
const MEASURED_AT: f64 = 100.0;

/// How finely letters are followed when a size is looked for, in ems: a hundredth of a millimetre
/// at any size that is engraved. Coarser, and lettering could reach past its zone unseen until the
/// run is inspected, which then refuses it.
const FINELY: f64 = 5e-4;

/// The height of a capital where a face has none, as a share of the em: that of most Latin faces
/// (common practice, no source).
const CAPITAL: f64 = 0.7;

/// One line, in ems: to the right and downwards from where it is anchored on its baseline.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub(super) text: String,
    pub(super) path: BezPath,
    bounds: Rect,
    /// The height that `smallest-letter` goes by: of a capital if there is one, else of a small x.
    letter: f64,
}

/// Lines below each other, in ems, from the first one's anchor.
#[derive(Debug, Clone)]
pub(super) struct Block {
    pub(super) lines: Vec<Line>,
    pub(super) ink: Region,
    pub(super) bounds: Rect,
    /// The smallest height of [`Line::letter`].
    pub(super) letter: f64,
}

impl Block {
    fn new(lines: Vec<Line>) -> Self {
        let mut path = BezPath::new();
        for (i, line) in lines.iter().enumerate() {
            let down = Affine::translate((0.0, LINE * i as f64));
            path.extend((down * line.path.clone()).elements().iter().copied());
        }
        Self {
            ink: Region::from_path(&path, false, FINELY),
            bounds: path.bounding_box(),
            letter: lines.iter().map(|l| l.letter).fold(f64::INFINITY, f64::min),
            lines,
        }
    }

    /// Where the anchors of the lines stand, in ems from the block's middle.
    pub(super) fn anchors(&self) -> impl Iterator<Item = (&Line, Point)> {
        let middle = self.bounds.center();
        self.lines
            .iter()
            .enumerate()
            .map(move |(i, line)| (line, Point::new(-middle.x, LINE * i as f64 - middle.y)))
    }
}

/// Sets text in one face, and remembers what it set.
pub(super) struct Typesetter<'a> {
    faces: &'a Faces,
    pub(super) face: FaceName,
    /// The face as the settings call it.
    called: String,
    align: Align,
    lines: usize,
    known: HashMap<String, Result<Line, String>>,
    /// Height of a capital, in ems.
    pub(super) capital: f64,
}

impl<'a> Typesetter<'a> {
    pub(super) fn new(faces: &'a Faces, face: FaceName, settings: &Lettering) -> Self {
        let mut new = Self {
            faces,
            face,
            called: settings.face.clone(),
            align: settings.align,
            lines: settings.lines,
            known: HashMap::new(),
            capital: CAPITAL,
        };
        if let Ok(line) = new.line("H") {
            new.capital = line.bounds.height();
        }
        new
    }

    /// Every way to set an order on a blank, fewest lines first: each column starts a line of its own
    /// and is broken as evenly as possible.
    ///
    /// # Errors
    ///
    /// What keeps the text from being set at all, in words.
    pub(super) fn blocks(&mut self, parts: &[String]) -> Result<Vec<Block>, String> {
        let mut ways: Vec<Vec<Line>> = vec![Vec::new()];
        for part in parts {
            let broken = self.broken(part)?;
            ways = ways
                .iter()
                .flat_map(|way| {
                    broken
                        .iter()
                        .map(|lines| way.iter().chain(lines).cloned().collect())
                })
                .collect();
        }
        ways.sort_by_key(Vec::len);
        Ok(ways.into_iter().map(Block::new).collect())
    }

    /// A text on one line, on two and so on, each way with its widest line as narrow as can be.
    fn broken(&mut self, text: &str) -> Result<Vec<Vec<Line>>, String> {
        let pieces = pieces(text);
        let mut ways = vec![vec![self.line(text)?]];
        for count in 2..=self.lines.min(pieces.len()) {
            let mut best: Option<(f64, Vec<Line>)> = None;
            for cut in cuts(pieces.len(), count) {
                let lines: Vec<Line> = cut
                    .array_windows()
                    .map(|[from, to]| self.line(pieces.at(*from..*to).concat().trim()))
                    .collect::<Result<_, _>>()?;
                let widest = lines.iter().map(|l| l.bounds.width()).fold(0.0, f64::max);
                if best.as_ref().is_none_or(|(w, _)| widest < *w) {
                    best = Some((widest, lines));
                }
            }
            ways.extend(best.map(|(_, lines)| lines));
        }
        Ok(ways)
    }

    fn line(&mut self, text: &str) -> Result<Line, String> {
        if let Some(known) = self.known.get(text) {
            return known.clone();
        }
        let line = self.lay_out(text);
        self.known.insert(text.to_owned(), line.clone());
        line
    }

    fn lay_out(&self, text: &str) -> Result<Line, String> {
        if let Some(c) = text.chars().find(|c| c.is_control()) {
            return Err(format!(
                "it has a control character ({}), which no lettering holds: correct the list",
                c.escape_unicode()
            ));
        }
        let page = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000mm\" height=\"1000mm\" viewBox=\"0 0 1000 1000\"><text x=\"0\" y=\"0\" {} font-size=\"{MEASURED_AT}\" fill=\"#000000\">{}</text></svg>",
            attributes(&self.face, self.align),
            markup(text)
        );
        let failed = |e: &dyn std::fmt::Display| format!("it cannot be laid out ({e})");
        let source = Source::from_bytes(std::path::Path::new("name.svg"), page.into_bytes())
            .map_err(|e| failed(&e))?;
        let reading = ReadOptions {
            // The page below is in millimetres, which all senders read the same way.
            units: RootUnits::CSS,
            placing: None,
            faces: self.faces,
        };
        let artwork = resolve(&source, &reading).map_err(|e| failed(&e))?;
        if let Some(unproven) = artwork.unproven.first() {
            return Err(unproven.what.clone());
        }
        let scale = Affine::scale(1.0 / MEASURED_AT);
        let mut path = BezPath::new();
        let mut letter = f64::INFINITY;
        for mark in &artwork.marks {
            let Content::Lettering(lettering) = &mark.content else {
                continue;
            };
            if let Some(missing) = lettering.missing.first() {
                let which: String = missing.characters.chars().collect();
                return Err(format!(
                    "the face {} lacks \"{which}\": see [lettering] face",
                    self.called
                ));
            }
            let capital = |c: char| c.is_uppercase() || c.is_numeric();
            let tall = lettering.text.chars().any(capital);
            for l in &lettering.letters {
                let height = if tall { l.cap_height } else { l.x_height };
                letter = letter.min(height / MEASURED_AT);
            }
            path.extend((scale * mark.path.clone()).elements().iter().copied());
        }
        if path.elements().is_empty() {
            return Err("nothing of it leaves ink".to_owned());
        }
        Ok(Line {
            text: text.to_owned(),
            bounds: path.bounding_box(),
            path,
            letter,
        })
    }
}

/// A text at the places where it may be broken: after white space and after a hyphen. The pieces
/// joined are the text.
fn pieces(text: &str) -> Vec<String> {
    let mut out = vec![String::new()];
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if let Some(last) = out.last_mut() {
            last.push(c);
        }
        let hyphen = matches!(c, '-' | '\u{2010}')
            && out.last().is_some_and(|l| l.chars().count() > 2)
            && chars.peek().is_some_and(|n| n.is_alphabetic());
        if c == ' ' || hyphen {
            out.push(String::new());
        }
    }
    out.retain(|p| !p.is_empty());
    out
}

/// Most ways of breaking one text that are tried: no name has that many words.
const WAYS: usize = 300;

/// Where `count` lines of `pieces` pieces may begin and end.
fn cuts(pieces: usize, count: usize) -> Vec<Vec<usize>> {
    let mut out = vec![vec![0]];
    for line in 1..count {
        out = out
            .iter()
            .flat_map(|cut| {
                let from = cut.last().copied().unwrap_or(0) + 1;
                (from..=pieces - (count - line)).map(move |at| {
                    let mut longer = cut.clone();
                    longer.push(at);
                    longer
                })
            })
            .take(WAYS)
            .collect();
    }
    for cut in &mut out {
        cut.push(pieces);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_break_at_spaces_and_after_hyphens() {
        assert_eq!(pieces("Ada Lee"), ["Ada ", "Lee"]);
        assert_eq!(pieces("Anna-Maria"), ["Anna-", "Maria"]);
        assert_eq!(pieces("X-1"), ["X-1"]);
        assert_eq!(pieces("Isolde"), ["Isolde"]);
        assert_eq!(cuts(2, 2), [[0, 1, 2]]);
        assert_eq!(cuts(3, 2), [[0, 1, 3], [0, 2, 3]]);
        assert_eq!(cuts(3, 3), [[0, 1, 2, 3]]);
    }
}
