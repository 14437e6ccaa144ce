//! What a file holds: from bytes to marks in bed millimetres, and a list of what could not be
//! resolved.

pub mod fonts;
pub mod lettering;
pub mod mark;
pub mod unproven;
