//! jigwarden inspects laser-engraving artwork against the fixture it will be burnt in, before it is
//! sent.
//!
//! ```text
//! bytes ─ read ─▶ Source ─ resolve ─▶ Artwork (marks in bed millimetres + what could not be resolved)
//! fixture.toml + lock ──────────────▶ Fixture
//! Artwork + Fixture ─ match ─▶ Matched (each mark: fixture outline, or art in a pocket, or unassigned)
//! Matched's outlined art ─ read back ─▶ Readings; with orders and references ─▶ Job, complete and unchanging
//! Job ─ rules ─▶ findings ─ waive, sort, settle ─▶ Report ─▶ text | json | sarif | proof
//! ```
//!
//! Every stage is one function from one type to the next and nothing reaches back: see
//! [`inspect`] for the stages in order.
//!
//! The frame everywhere is the bed's: origin at the back-left corner, x to the right, y to the
//! front, millimetres. Angles are degrees, positive clockwise as the operator sees the bed.
//!
//! Limits, stated as plainly as features: the tool looks at a file. It does not see the stock, the
//! focus, the power, the extraction, or whether the fixture is seated, and a clear verdict says
//! nothing about them.

mod abandon;
mod artwork;
mod cli;
mod cores;
mod enrolling;
mod explain;
mod fill;
mod finding;
mod fixture;
mod geometry;
mod ids;
mod inspect;
mod many;
mod matching;
mod mend;
mod orders;
mod output;
mod paths;
mod planning;
mod readback;
mod record;
mod remedy;
mod remembered;
mod report;
mod rules;
mod settle;
mod typeset;
mod units;
mod watch;
mod wording;

pub use cli::main;

#[doc(hidden)]
pub mod tested;

#[cfg(test)]
#[path = "../tests/common/chance.rs"]
mod chance;
