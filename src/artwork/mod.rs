//! What a file holds: from bytes to marks in bed millimetres, and a list of what could not be
//! resolved.

pub mod census;
mod clipping;
pub mod colour;
mod conditional;
mod declare;
mod disputed;
mod drawing;
pub mod elements;
pub mod fonts;
pub mod ink;
mod instance;
pub mod length;
pub mod lettering;
pub mod limits;
pub mod mark;
mod markers;
pub mod origin;
pub mod page;
mod palette;
pub mod picture;
pub mod resolve;
mod servers;
pub mod shapes;
pub mod source;
pub mod state;
pub mod style;
mod texts;
pub mod transform;
pub mod unproven;
mod unreadable;
