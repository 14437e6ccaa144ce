//! A finding: what a rule has to say, and where.

use std::ops::Range;

use kurbo::{BezPath, Point, Rect};

use crate::artwork::mark::Origin;
use crate::remedy::Remedy;

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// Stops the send.
    Hold,
    /// Asks for a look.
    Caution,
    /// Informs.
    Note,
}

impl Severity {
    /// The word in reports.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hold => "hold",
            Self::Caution => "caution",
            Self::Note => "note",
        }
    }
}

/// What is at stake; findings are listed in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stake {
    /// Could wreck the fixture.
    Fixture,
    /// Could spoil a blank, or several.
    Blank,
    /// Look again.
    Look,
}

/// What is fixed about a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Info {
    /// Its name, the only code it has.
    pub name: &'static str,
    /// What it does to the verdict.
    pub severity: Severity,
    /// What is at stake.
    pub stake: Stake,
    /// Its page.
    pub page: &'static str,
}

/// One thing a rule has to say.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The rule's name, its only code.
    pub rule: &'static str,
    /// What it does to the verdict.
    pub severity: Severity,
    /// What is at stake.
    pub stake: Stake,
    /// The pocket concerned.
    pub pocket: Option<String>,
    /// One sentence without a full stop: thing, measured, allowed. The pocket's name is not part of it.
    pub message: String,
    /// What to do about it.
    pub help: String,
    /// The number behind it.
    pub measured: Option<Measured>,
    /// Where in the file.
    pub source: Option<Source>,
    /// Where on the bed.
    pub bed: Option<Rect>,
    /// Further places of the same thing: in the file, and on the bed.
    pub also: Vec<(Source, Rect)>,
    /// Further findings of this rule for this pocket, or pieces that lie as this one does: none is worse.
    pub more: usize,
    /// The waiver that excuses it.
    pub waived: Option<Waived>,
    /// What the proof draws beside the ring.
    pub picture: Picture,
    /// What would put it right, as a value.
    pub remedy: Remedy,
    /// The finding that this one is a consequence of, as its place in the list.
    pub because_of: Option<usize>,
}

/// The number behind a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// What was measured, "overhang" say.
    pub what: &'static str,
    /// The value.
    pub value: f64,
    /// What is allowed.
    pub limit: f64,
    /// "mm", "deg", "dpi", "%" or "" for a plain number.
    pub unit: &'static str,
}

/// Where in the file a finding stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Bytes in the decoded source.
    pub range: Range<usize>,
    /// Local name of the element.
    pub element: String,
    /// Its id.
    pub id: Option<String>,
}

impl From<&Origin> for Source {
    fn from(origin: &Origin) -> Self {
        Self {
            range: origin.range.clone(),
            element: origin.element.to_string(),
            id: origin.id.clone(),
        }
    }
}

/// The waiver that excuses a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waived {
    /// Why, in the words of whoever granted it.
    pub reason: String,
    /// The last day on which it holds, `YYYY-MM-DD`.
    pub until: String,
}

/// What the proof draws beside the ring of a finding. All in bed millimetres.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Picture {
    /// Only the ring.
    #[default]
    Ring,
    /// The right place ghosted behind the wrong one, with an arrow from here to there.
    Ghost {
        /// The outline as it should be.
        right: BezPath,
        /// From where it lies.
        from: Point,
        /// To where it belongs.
        to: Point,
    },
    /// The part that is too much, hatched.
    Hatch(BezPath),
    /// An arrow round the art, from where its tops point to where they should.
    Turn {
        /// The art's centre.
        centre: Point,
        /// The direction its tops point to now, degrees clockwise from back.
        is: f64,
        /// The direction they should point to.
        should: f64,
    },
}

/// Where a finding stands: on the bed, in the file, or a stated reason for neither.
///
/// A finding cannot be built without one; see [`Finding::new`].
#[derive(Debug, Clone)]
pub enum Location<'a> {
    /// On the bed and in the file.
    Mark(&'a Origin, Rect),
    /// In the file only.
    File(&'a Origin),
    /// On the bed only: something that should be there and is not.
    Bed(Rect),
    /// Neither; the text says why, for readers of the code.
    Nowhere(&'static str),
}

impl Finding {
    /// A finding of `rule` (its name, severity and stake as declared) at `place`.
    pub fn new(
        rule: &Info,
        place: &Location<'_>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        let (source, bed) = match place {
            Location::Mark(origin, rect) => (Some(Source::from(*origin)), Some(*rect)),
            Location::File(origin) => (Some(Source::from(*origin)), None),
            Location::Bed(rect) => (None, Some(*rect)),
            Location::Nowhere(_) => (None, None),
        };
        Self {
            rule: rule.name,
            severity: rule.severity,
            stake: rule.stake,
            pocket: None,
            message: message.into(),
            help: help.into(),
            measured: None,
            source,
            bed,
            also: Vec::new(),
            more: 0,
            waived: None,
            picture: Picture::Ring,
            remedy: Remedy::default(),
            because_of: None,
        }
    }

    /// Sets the pocket.
    #[must_use]
    pub fn in_pocket(mut self, name: Option<&str>) -> Self {
        self.pocket = name.map(str::to_owned);
        self
    }

    /// Adds the number behind it.
    #[must_use]
    pub fn measured(
        mut self,
        what: &'static str,
        value: f64,
        limit: f64,
        unit: &'static str,
    ) -> Self {
        self.measured = Some(Measured {
            what,
            value,
            limit,
            unit,
        });
        self
    }

    /// Changes the weight, for the rules whose weight depends on settings.
    #[must_use]
    pub fn weighing(mut self, severity: Severity) -> Self {
        self.severity = severity;
        self
    }

    /// Its sentence, with the count of what it is about besides.
    pub fn sentence(&self) -> String {
        match self.more {
            0 => self.message.clone(),
            n => format!("{}, and {n} more like it", self.message),
        }
    }

    /// Counts further pieces that this finding is about.
    #[must_use]
    pub fn and_more(mut self, pieces: usize) -> Self {
        self.more = pieces;
        self
    }

    /// Adds further places of the same thing.
    #[must_use]
    pub fn also(mut self, places: impl IntoIterator<Item = (Source, Rect)>) -> Self {
        self.also = places.into_iter().collect();
        self
    }

    /// Adds what would put it right.
    #[must_use]
    pub fn remedied(mut self, remedy: Remedy) -> Self {
        self.remedy = remedy;
        self
    }

    /// Adds what the proof draws.
    #[must_use]
    pub fn drawn(mut self, picture: Picture) -> Self {
        self.picture = picture;
        self
    }
}
