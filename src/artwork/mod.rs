//! What a file holds: from bytes to marks in bed millimetres, and a list of what could not be
//! resolved.

pub mod colour;
pub mod length;
pub mod mark;
pub mod source;
pub mod style;
pub mod unproven;
