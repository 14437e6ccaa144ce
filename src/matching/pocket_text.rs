//! The text in each pocket. All kinds of lettering are read here and nowhere else.

use kurbo::{Point, Rect, Vec2};

use super::art::Art;
use super::text_line::{Words, reading_direction};
use super::{Job, outlined};
use crate::artwork::mark::{Content, Letter, Lettering, Mark, Operation};
use crate::ids::{At, IdVec, PocketId};

/// Art that may hold words and that nobody has read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Unread {
    /// Its pocket.
    pub pocket: PocketId,
    /// True for a picture, false for outlined art.
    pub picture: bool,
}

/// Everything that was read, and where there may be more.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct PocketText {
    /// Words in pocket order, in reading order within a pocket; those beside all pockets last.
    pub words: Vec<Words>,
    /// Pockets with art that could not be read, at most one entry of each kind a pocket.
    pub unread: Vec<Unread>,
}

impl PocketText {
    /// The words of one pocket, or of none, in reading order.
    pub(crate) fn of(&self, pocket: Option<PocketId>) -> impl Iterator<Item = (usize, &Words)> {
        self.words
            .iter()
            .enumerate()
            .filter(move |(_, w)| w.pocket == pocket)
    }
}

/// Two pieces of lettering are on one line where their baselines are this share of the letters'
/// size apart. Closer lines than this cannot be told from a line set by hand.
const SAME_LINE: f64 = 0.4;

/// Of outlined ink, this share must have been read as letters for a pocket to count as read.
const ALL_READ: f64 = 0.98;

/// A gap wider than this share of the letters' size is a space: half of the space of most faces,
/// and more than the gap between most letters (common practice, no source).
const SPACE: f64 = 0.18;

/// All lettering of a job: live, and outlined as far as it was read back.
pub(crate) fn read_lettering(job: &Job<'_>) -> PocketText {
    let mut words: Vec<Words> = Vec::new();
    let mut unread: Vec<Unread> = Vec::new();
    for art in &job.art {
        let mark = job.mark(art.mark);
        if job.operation(art.mark) == Operation::Cut {
            continue;
        }
        match &mark.content {
            Content::Lettering(l) => {
                if let Some(read) = live(l, art) {
                    add(&mut words, job, mark, read);
                }
            }
            other => {
                let picture = matches!(other, Content::Picture(_));
                let read_back = |pocket: PocketId| !picture && job.read[pocket].share >= ALL_READ;
                if let Some(pocket) = art.pocket.filter(|p| !read_back(*p)) {
                    let entry = Unread { pocket, picture };
                    if !unread.contains(&entry) {
                        unread.push(entry);
                    }
                }
            }
        }
    }
    for pocket in job.pockets.ids() {
        words.extend(outlined::words(job, pocket));
    }
    // Lettering in a missing font has words but no place.
    for (index, mark, _) in job.live() {
        if let Content::Lettering(l) = &mark.content
            && mark.path.elements().is_empty()
        {
            words.push(Words {
                pocket: None,
                text: crate::orders::spelling::spaced(&l.text),
                marks: vec![index],
                bounds: Rect::ZERO,
                sure: true,
                up: Vec2::ZERO,
                mirrored: false,
                foot: Point::ORIGIN,
                size: 0.0,
            });
        }
    }
    unread.sort_by_key(|u| (u.pocket, u.picture));
    PocketText {
        words: in_reading_order(words),
        unread,
    }
}

/// What is burnt on the blank of each pocket: its words, lines parted by " / "; "(picture)" or
/// "(outlined art)" where no word is read; `None` where nothing is burnt.
pub(crate) fn burnt(job: &Job<'_>) -> IdVec<PocketId, Option<String>> {
    let read = read_lettering(job);
    job.pockets
        .ids()
        .map(|pocket| {
            let mut words: Vec<&str> = Vec::new();
            for (_, word) in read.of(Some(pocket)).filter(|(_, w)| w.sure) {
                if !word.text.is_empty() && !words.contains(&word.text.as_str()) {
                    words.push(&word.text);
                }
            }
            let art = job.art_in(pocket);
            let picture = art.iter().any(|i| {
                let mark = job.mark(job.art[*i].mark);
                matches!(mark.content, Content::Picture(_))
            });
            match (words.is_empty(), art.is_empty(), picture) {
                (false, ..) => Some(words.join(" / ")),
                (_, true, _) => None,
                (.., true) => Some("(picture)".to_owned()),
                _ => Some("(outlined art)".to_owned()),
            }
        })
        .collect()
}

/// Fill and outline of one element are two marks and one piece of lettering.
fn add(words: &mut Vec<Words>, job: &Job<'_>, mark: &Mark, read: Words) {
    let twin = words.iter_mut().find(|w| {
        w.pocket == read.pocket
            && w.text == read.text
            && w.foot == read.foot
            && w.marks.first().map(|m| job.mark(*m)).is_some_and(|m| {
                m.origin.range == mark.origin.range && m.origin.uses == mark.origin.uses
            })
    });
    match twin {
        Some(twin) => twin.marks.extend(read.marks),
        None => words.push(read),
    }
}

/// The part of a piece of live lettering that lies in one piece of art.
fn live(lettering: &Lettering, art: &Art) -> Option<Words> {
    let inside: Vec<&Letter> = letters_in(lettering, art);
    let first = inside.first()?;
    let text = if inside.len() == lettering.letters.len() {
        lettering.text.clone()
    } else {
        part(lettering, art)
    };
    let up = inside.iter().fold(Vec2::ZERO, |sum, l| sum + l.up);
    Some(Words {
        pocket: art.pocket,
        text: crate::orders::spelling::spaced(&text),
        marks: vec![art.mark],
        bounds: art.bounds(),
        sure: true,
        up: if up.hypot() > 0.0 {
            up.normalize()
        } else {
            first.up
        },
        mirrored: first.mirrored,
        foot: first.foot,
        size: first.size,
    })
}

/// The letters of a piece of lettering that are part of a piece of art: a line over several pockets
/// is judged pocket by pocket.
pub(crate) fn letters_in<'a>(lettering: &'a Lettering, art: &Art) -> Vec<&'a Letter> {
    let frame = art.bounds().inflate(0.01, 0.01);
    lettering
        .letters
        .iter()
        .filter(|l| frame.contains(l.bounds.center()))
        .collect()
}

/// The characters of those letters, with the spaces that lie between them.
fn part(lettering: &Lettering, art: &Art) -> String {
    let mut out = String::new();
    for (space, letter) in spaced_letters(lettering, art) {
        if space && !out.is_empty() {
            out.push(' ');
        }
        out.push_str(&letter.text);
    }
    out
}

/// The letters of [`letters_in`], each with whether white space comes before it.
pub(crate) fn spaced_letters<'a>(lettering: &'a Lettering, art: &Art) -> Vec<(bool, &'a Letter)> {
    let inside = letters_in(lettering, art);
    let mut rest = lettering.text.as_str();
    let mut out = Vec::new();
    let mut space = false;
    for letter in &lettering.letters {
        let (before, after) = match rest.find(letter.text.as_str()) {
            Some(at) => (rest.at(..at), rest.at(at + letter.text.len()..)),
            None => ("", rest),
        };
        space |= before.contains(char::is_whitespace);
        rest = after;
        if inside.iter().any(|l| std::ptr::eq(*l, letter)) {
            out.push((space, letter));
            space = false;
        }
    }
    out
}

fn in_reading_order(mut words: Vec<Words>) -> Vec<Words> {
    // A stable sort: what is not set one below the other stays in the order of the file.
    words.sort_by_key(|w| (w.pocket.is_none(), w.pocket));
    let mut out: Vec<Words> = Vec::new();
    while !words.is_empty() {
        let pocket = words.first().and_then(|w| w.pocket);
        let here = words.iter().take_while(|w| w.pocket == pocket).count();
        let mut group: Vec<Words> = words.drain(..here).collect();
        let one_way = group.iter().all(|w| {
            group
                .first()
                .is_some_and(|f| f.up.dot(w.up) > 0.7 && f.mirrored == w.mirrored)
        });
        if one_way && pocket.is_some() {
            group = by_lines(group);
        }
        out.append(&mut group);
    }
    out
}

/// Lines from top to bottom, each from its start to its end.
fn by_lines(mut group: Vec<Words>) -> Vec<Words> {
    group.sort_by(|a, b| down(a).total_cmp(&down(b)));
    let mut lines: Vec<Vec<Words>> = Vec::new();
    for word in group {
        match lines.last_mut().filter(|l| {
            l.first().is_some_and(|f| {
                (down(f) - down_along(f, word.foot)).abs() <= SAME_LINE * f.size.max(word.size)
            })
        }) {
            Some(line) => line.push(word),
            None => lines.push(vec![word]),
        }
    }
    for line in &mut lines {
        line.sort_by(|a, b| along(a, a.foot).total_cmp(&along(a, b.foot)));
    }
    lines.into_iter().flatten().collect()
}

fn down(w: &Words) -> f64 {
    down_along(w, w.foot)
}

fn down_along(w: &Words, p: Point) -> f64 {
    -p.to_vec2().dot(w.up)
}

fn along(w: &Words, p: Point) -> f64 {
    p.to_vec2().dot(reading_direction(w.up, w.mirrored))
}

/// Whether `next` continues `word` on its line without a space.
pub(crate) fn continues(word: &Words, next: &Words) -> bool {
    follows(word, next, SPACE)
}

/// Whether `next` stands on the line of `word`, and begins within so many of its sizes of where that ends.
pub(crate) fn follows(word: &Words, next: &Words, gap_in_sizes: f64) -> bool {
    let size = word.size.max(next.size);
    let r = word.bounds;
    let end = [(r.x0, r.y0), (r.x1, r.y0), (r.x0, r.y1), (r.x1, r.y1)]
        .into_iter()
        .map(|c| along(word, Point::from(c)))
        .fold(f64::NEG_INFINITY, f64::max);
    let gap = along(word, next.foot) - end;
    (down(word) - down_along(word, next.foot)).abs() <= SAME_LINE * size
        && gap.abs() <= gap_in_sizes * size
}
