//! Geometry, one question a file. Everything is in millimetres on the bed, y to the front.

pub mod arc;
pub mod bed_words;
pub mod boxes;
pub mod congruence;
pub mod contour;
pub mod coverage;
pub mod crossing_budget;
pub mod deviation;
pub mod edges;
pub mod equality;
pub mod fineness;
pub mod flatten;
pub mod occlusion;
pub mod overhang;
pub mod overlap;
pub mod region;
pub mod shape_match;
pub mod similarity;
pub mod stroke;
pub mod sweep;
pub mod thin;
pub mod wide;
