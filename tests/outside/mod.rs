//! Checks against published sources and other people's libraries, one file a source.

mod against_usvg;
use crate::common::chance;

mod areas;
mod colour_difference;
mod css_colours;
mod css_units;
mod drawings;
mod geo;
mod position;
mod svg2_coordinates;
mod svg_arcs;
mod umeyama;
