//! Geometry, one question a file. Everything is in millimetres on the bed, y to the front.

pub mod arc;
pub mod bed_words;
pub mod boxes;
pub mod congruence;
pub mod contour;
pub mod covering;
pub mod crowd;
pub mod deviation;
pub mod edges;
pub mod fineness;
pub mod flatten;
pub mod likeness;
pub mod overhang;
pub mod region;
pub mod retrace;
pub mod similarity;
pub mod stroke;
pub mod sweep;
pub mod thin;
pub mod twin;
pub mod veil;
pub mod wide;
