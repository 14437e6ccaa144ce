//! Geometry, one question a file. Everything is in millimetres on the bed, y to the front.

pub(crate) mod arc;
pub(crate) mod bed_words;
pub(crate) mod boxes;
pub(crate) mod chords;
pub(crate) mod congruence;
pub(crate) mod contour;
pub(crate) mod coverage;
pub(crate) mod crossing_budget;
pub(crate) mod deviation;
pub(crate) mod edges;
pub(crate) mod equality;
pub(crate) mod fineness;
pub(crate) mod flatten;
pub(crate) mod occlusion;
pub(crate) mod overhang;
pub(crate) mod overlap;
pub(crate) mod region;
pub(crate) mod shape_match;
pub(crate) mod similarity;
pub(crate) mod stroke;
pub(crate) mod sweep;
pub(crate) mod thin;
pub(crate) mod wide;
pub(crate) mod windows;
