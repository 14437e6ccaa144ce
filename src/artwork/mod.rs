//! What a file holds: from bytes to marks in bed millimetres, and a list of what could not be
//! resolved.

pub(crate) mod census;
mod clipping;
pub(crate) mod colour;
mod conditional;
mod declare;
mod disputed;
mod drawing;
pub(crate) mod elements;
pub(crate) mod fonts;
mod hiding;
pub(crate) mod ink;
mod instance;
pub(crate) mod length;
pub(crate) mod lettering;
pub(crate) mod limits;
pub(crate) mod mark;
mod markers;
pub(crate) mod origin;
pub(crate) mod page;
mod palette;
pub(crate) mod picture;
pub(crate) mod resolve;
mod servers;
pub(crate) mod shapes;
pub(crate) mod source;
pub(crate) mod state;
pub(crate) mod style;
mod texts;
pub(crate) mod transform;
pub(crate) mod unproven;
mod unreadable;
