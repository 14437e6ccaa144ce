//! What would put a finding right, as a value.
//!
//! A rule says which marks to change and how; `sites` finds the bytes of the file that have to
//! change. The sentence, the ghost on the proof, the reports and `mend` all use the same value, so
//! that they agree.

mod path_edit;
mod sites;
mod tag;

use std::borrow::Cow;
use std::collections::HashMap;

use kurbo::{Affine, BezPath, Point, Rect, Vec2};

use crate::artwork::mark::Colour;
use crate::artwork::source::edit::Replacement;
use crate::artwork::transform;
use crate::geometry::bed_words::offset_words;
use crate::ids::MarkId;
use crate::units::{Shown, angle, trimmed};

pub(crate) use sites::Sites;

/// What is to be done about a finding.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Remedy {
    /// The certain ways, best first. They are tried in order, and the first one that succeeds is
    /// taken. Empty if a person must decide.
    pub ways: Vec<Way>,
    /// What a person may choose between.
    pub choices: Vec<Way>,
    /// Why no way could be taken, once they have been tried.
    pub hindered: Option<String>,
}

impl Remedy {
    /// A remedy that is certain, if it ends well.
    pub fn certain(ways: impl IntoIterator<Item = Way>) -> Self {
        Self {
            ways: ways.into_iter().collect(),
            ..Self::default()
        }
    }

    /// A remedy that a person must choose.
    pub fn choose(choices: impl IntoIterator<Item = Way>) -> Self {
        Self {
            choices: choices.into_iter().collect(),
            ..Self::default()
        }
    }

    /// The way to draw: the best of the certain ones, or the only one that there is to choose.
    pub(crate) fn drawn(&self) -> Option<&Way> {
        match (self.ways.as_slice(), self.choices.as_slice()) {
            ([best, ..], _) => Some(best),
            ([], [only]) => Some(only),
            ([], _) => None,
        }
    }

    /// Whether the way to draw puts something in another place.
    pub(crate) fn moves(&self) -> bool {
        self.drawn()
            .is_some_and(|way| way.changes.iter().any(|c| c.motion().is_some()))
    }

    /// Merges the remedy of another finding of the same rule and pocket. If only one of them is
    /// certain, the result is not. [`Remedy::tidy`] is to follow when all are merged.
    pub fn join(&mut self, other: Self) {
        let ways = std::mem::take(&mut self.ways);
        self.ways = ways
            .into_iter()
            .zip(other.ways)
            .map(|(way, more)| way.with(more))
            .collect();
        let choices = std::mem::take(&mut self.choices);
        self.choices = choices
            .into_iter()
            .map(
                |choice| match other.choices.iter().find(|c| c.name == choice.name) {
                    Some(more) => choice.with(more.clone()),
                    None => choice,
                },
            )
            .collect();
    }
}

impl Remedy {
    /// Leaves out what merged remedies change twice in the same way.
    pub(crate) fn tidy(&mut self) {
        let ways = self.ways.iter_mut().chain(&mut self.choices);
        ways.for_each(Way::once);
    }
}

/// One way to put a finding right.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// What `--choose` calls it.
    pub name: Cow<'static, str>,
    /// What must be true for it to be right, as the end of "if …"; empty for a certain way.
    pub assumes: String,
    /// What is to be changed. Empty for what only a person can do.
    pub changes: Vec<Change>,
    /// What a person does to get there.
    pub says: String,
    /// The bytes that change, once they have been found.
    pub edits: Vec<Edit>,
}

impl Way {
    /// A way that a person follows by `says`.
    pub fn new(
        name: impl Into<Cow<'static, str>>,
        says: impl Into<String>,
        changes: Vec<Change>,
    ) -> Self {
        Self {
            name: name.into(),
            assumes: String::new(),
            changes,
            says: says.into(),
            edits: Vec::new(),
        }
    }

    /// A way whose words are those of its first change.
    pub fn worded(name: impl Into<Cow<'static, str>>, changes: Vec<Change>, shown: Shown) -> Self {
        let says = changes.first().map_or_else(String::new, |c| c.words(shown));
        Self::new(name, says, changes)
    }

    /// Adds what must be true for it to be right.
    #[must_use]
    pub fn assuming(mut self, assumes: impl Into<String>) -> Self {
        self.assumes = assumes.into();
        self
    }

    fn with(mut self, more: Self) -> Self {
        self.changes.extend(more.changes);
        self
    }

    /// Leaves out what is to be changed a second time in the same way.
    fn once(&mut self) {
        let mut known: HashMap<Vec<MarkId>, Vec<Change>> = HashMap::new();
        self.changes.retain(|change| {
            let there = known.entry(change.marks.clone()).or_default();
            let new = !there.contains(change);
            if new {
                there.push(change.clone());
            }
            new
        });
    }
}

/// Whether ways can be followed together: no two change one element in two ways. Each was worked out on the
/// file as it is, and a name that two ways move would be moved twice.
pub(crate) fn apart(ways: &[&Way]) -> bool {
    let mut owners: HashMap<usize, (usize, Vec<&Edit>)> = HashMap::new();
    let edits = ways.iter().enumerate();
    let edits = edits.flat_map(|(i, way)| way.edits.iter().map(move |e| (i, e)));
    for (way, edit) in edits.filter(|(_, e)| e.change != DRAWN) {
        let (owner, own) = owners.entry(edit.start).or_insert((way, Vec::new()));
        if *owner == way {
            own.push(edit);
        } else if !own.contains(&edit) {
            return false;
        }
    }
    true
}

/// The word for what is added to a drawing, beside what is there.
const DRAWN: &str = "draw";

/// A change of some marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What the words call them: "it", "the outline".
    pub thing: &'static str,
    /// The marks.
    pub marks: Vec<MarkId>,
    /// Where only a part of the marks is meant.
    pub part: Option<Part>,
    /// What becomes of them.
    pub what: What,
}

/// A part of a mark: what lies in a box of the bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// The box.
    pub bounds: Rect,
    /// Whether one contour is meant, and not what lies inside it.
    pub contour: bool,
}

/// What becomes of marks. All of it is measured on the bed.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// They are moved.
    Move(Vec2),
    /// They are turned, degrees clockwise.
    Turn {
        /// About this point.
        about: Point,
        /// By this much.
        degrees: f64,
    },
    /// They are flipped across the line through a point.
    Flip {
        /// A point of the line.
        about: Point,
        /// Its direction.
        along: Vec2,
    },
    /// They are set smaller, and somewhere else.
    Fit {
        /// Their middle now.
        from: Point,
        /// Where it goes.
        to: Point,
        /// Their size afterwards, as a share of the present one.
        scale: f64,
    },
    /// They are carried by a motion that has no simpler name.
    Carry(Affine),
    /// They get another paint.
    Paint(Colour),
    /// They go.
    Delete,
    /// Live lettering says this instead.
    Rewrite(String),
    /// Live lettering is set on two lines.
    TwoLines {
        /// What stands on each, and where the middle of its baseline goes.
        lines: [(String, Point); 2],
        /// Its size afterwards, as a share of the present one.
        scale: f64,
    },
    /// They become this outline.
    Outline(BezPath),
    /// This outline is added.
    Draw {
        /// The outline.
        path: BezPath,
        /// Its paint.
        paint: Colour,
    },
    /// The page is set to this rectangle of the bed, and the drawing on it to this frame.
    Page {
        /// The page.
        page: Rect,
        /// From the drawing's units to the bed.
        frame: Affine,
    },
}

impl Change {
    /// A change of whole marks.
    pub fn of(marks: Vec<MarkId>, what: What) -> Self {
        Self {
            thing: "it",
            marks,
            part: None,
            what,
        }
    }

    /// Names what is changed.
    #[must_use]
    pub fn called(mut self, thing: &'static str) -> Self {
        self.thing = thing;
        self
    }

    /// Means only a part of the marks.
    #[must_use]
    pub fn within(mut self, part: Option<Part>) -> Self {
        self.part = part;
        self
    }

    /// How marks are carried by it, where they are.
    pub fn motion(&self) -> Option<Affine> {
        match &self.what {
            What::Move(by) => Some(Affine::translate(*by)),
            What::Turn { about, degrees } => Some(
                Affine::translate(about.to_vec2())
                    * transform::rotate(*degrees)
                    * Affine::translate(-about.to_vec2()),
            ),
            What::Flip { about, along } => {
                let (x, y) = (along.x, along.y);
                // The reflection in a line through the origin along a unit vector.
                let flip = Affine::new([
                    x * x - y * y,
                    2.0 * x * y,
                    2.0 * x * y,
                    y * y - x * x,
                    0.0,
                    0.0,
                ]);
                Some(
                    Affine::translate(about.to_vec2()) * flip * Affine::translate(-about.to_vec2()),
                )
            }
            What::Fit { from, to, scale } => Some(
                Affine::translate(to.to_vec2())
                    * Affine::scale(*scale)
                    * Affine::translate(-from.to_vec2()),
            ),
            What::Carry(motion) => Some(*motion),
            What::Paint(_)
            | What::Delete
            | What::Rewrite(_)
            | What::TwoLines { .. }
            | What::Outline(_)
            | What::Draw { .. }
            | What::Page { .. } => None,
        }
    }

    /// What a person does to make it, in the imperative.
    pub fn words(&self, shown: Shown) -> String {
        let thing = self.thing;
        match &self.what {
            What::Move(by) => format!("move {thing} {}", offset_words(*by, shown)),
            What::Turn { degrees, .. } if (degrees.abs() - 180.0).abs() < 1e-6 => {
                format!("turn {thing} half round about its own middle")
            }
            What::Turn { degrees, .. } => format!(
                "turn {thing} {} {} about its own middle",
                angle(degrees.abs()),
                if *degrees > 0.0 {
                    "clockwise"
                } else {
                    "anticlockwise"
                }
            ),
            What::Flip { .. } => {
                format!("flip {thing} left to right, as you look at it with its tops up")
            }
            What::Fit { scale, .. } => format!(
                "set {thing} at {} % of this size in the middle of the zone",
                trimmed(100.0 * scale, 0)
            ),
            What::Carry(_) => format!("carry {thing} back to where it belongs"),
            What::Paint(paint) => format!("give {thing} the paint {paint}"),
            What::Delete => format!("delete {thing}"),
            What::Rewrite(text) => format!("let {thing} say \"{text}\""),
            What::TwoLines {
                lines: [(first, _), (second, _)],
                scale,
            } => {
                let size = if *scale >= 1.0 {
                    "at its present size".to_owned()
                } else {
                    format!("at {} % of this size", trimmed(100.0 * scale, 0))
                };
                format!("set {thing} on two lines, \"{first}\" and \"{second}\", {size}")
            }
            What::Outline(_) => format!("give {thing} the enrolled outline"),
            What::Draw { .. } => format!("draw {thing} where it was enrolled"),
            What::Page { page, .. } => format!(
                "set the page to {} without scaling or moving what is on it",
                shown.size(page.width(), page.height())
            ),
        }
    }

    /// The word for it in reports.
    pub fn word(&self) -> &'static str {
        match &self.what {
            What::Move(_) => "move",
            What::Turn { .. } => "turn",
            What::Flip { .. } => "flip",
            What::Fit { .. } => "scale",
            What::Carry(_) => "carry",
            What::Paint(_) => "paint",
            What::Delete => "delete",
            What::Rewrite(_) | What::TwoLines { .. } => "rewrite",
            What::Outline(_) => "outline",
            What::Draw { .. } => DRAWN,
            What::Page { .. } => "page",
        }
    }
}

/// Bytes that change, and what for.
#[derive(Debug, Clone, PartialEq)]
pub struct Edit {
    /// The bytes of the decoded source.
    pub replacement: Replacement,
    /// The word for the change that they are part of.
    pub change: &'static str,
    /// The element that is changed: local name.
    pub element: String,
    /// Where it begins in the decoded source.
    pub start: usize,
    /// Its id.
    pub id: Option<String>,
}
