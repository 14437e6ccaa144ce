//! The census: every element that could make a mark ends somewhere, and the sums agree.

use roxmltree::{Document, Node};

use super::elements::{Kind, kind};
use super::unproven::Census;
use crate::ids::At;

/// What became of an element.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// It made a mark.
    Mark,
    /// It is part of one.
    Part,
    /// It rightly makes none.
    Inert,
    /// It was reported.
    Unproven,
}

/// Keeps the count while a file is walked.
#[derive(Debug)]
pub(crate) struct CensusTaker {
    /// The outcome of each element where it stands, by node id. Instances made by `use` are only
    /// counted.
    seen: Vec<Option<Outcome>>,
    census: Census,
}

impl CensusTaker {
    /// An empty count for a document.
    pub(crate) fn new(document: &Document<'_>) -> Self {
        Self {
            seen: vec![None; document.descendants().count() + 1],
            census: Census::default(),
        }
    }

    /// Notes what became of `node`; `instanced` inside a `use`.
    ///
    /// The first outcome of an element stays, but for a report, which outranks the rest.
    pub(crate) fn note(&mut self, node: Node<'_, '_>, instanced: bool, outcome: Outcome) {
        if instanced {
            self.census.candidates += 1;
            self.count(outcome);
            return;
        }
        let slot = self.seen.at_mut(node.id().get_usize());
        if slot.is_none() || outcome == Outcome::Unproven {
            *slot = Some(outcome);
        }
    }

    fn count(&mut self, outcome: Outcome) {
        match outcome {
            Outcome::Mark => self.census.marks += 1,
            Outcome::Part => self.census.parts += 1,
            Outcome::Inert => self.census.inert += 1,
            Outcome::Unproven => self.census.unproven += 1,
        }
    }

    /// Closes the count. Elements that the walk did not meet are inert where they stand in a
    /// definition that nothing draws; the others are returned, to be reported. Scripts and animations
    /// are returned wherever they stand, inside a shape or in `defs` too, since they act on the rest
    /// of the file.
    pub(crate) fn close<'a, 'i>(
        &mut self,
        document: &'a Document<'i>,
    ) -> (Census, Vec<Node<'a, 'i>>) {
        let mut unaccounted = Vec::new();
        for node in document
            .descendants()
            .filter(|n| n.is_element() && kind(*n).could_mark())
        {
            self.census.candidates += 1;
            let outcome = self.seen.at(node.id().get_usize()).unwrap_or_else(|| {
                let acts = matches!(kind(node), Kind::Script | Kind::Animation);
                if in_foreign(node) || in_definition(node) && !acts {
                    Outcome::Inert
                } else {
                    unaccounted.push(node);
                    Outcome::Unproven
                }
            });
            self.count(outcome);
        }
        (self.census, unaccounted)
    }
}

/// Whether `node` stands in something that was judged as a whole, scripts included.
fn in_foreign(node: Node<'_, '_>) -> bool {
    node.ancestors().skip(1).any(|a| kind(a) == Kind::Foreign)
}

/// Whether `node` stands in something that is never drawn where it stands.
fn in_definition(node: Node<'_, '_>) -> bool {
    node.ancestors().skip(1).any(|a| {
        // Whatever is inside a describing or foreign element was judged with that element.
        matches!(
            kind(a),
            Kind::Definition
                | Kind::Foreign
                | Kind::Text
                | Kind::Shape
                | Kind::Image
                | Kind::Describing
        )
    })
}
