//! Geometry, one question a file. Everything is in millimetres on the bed, y to the front.

pub mod arc;
pub mod contour;
pub mod deviation;
pub mod edges;
pub mod flatten;
pub mod region;
pub mod stroke;
pub mod sweep;
