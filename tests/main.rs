//! Every promise of the program, one module each: one binary, because each more would link for a while.
#![allow(
    missing_docs,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::case_sensitive_file_extension_comparisons
)]

mod as_browsers_read;
mod bad_input;
mod choosing;
mod common;
mod copies;
mod dialects;
mod doubled;
mod drafts;
mod enrol_checks;
mod examples;
mod exercises;
mod fill;
mod fineness;
mod fit;
mod hidden;
mod house;
mod ink;
mod labels;
mod layer_moved;
mod lays;
mod lettering;
mod limits;
mod lines_displaced;
mod lists;
mod lost_reports;
mod mending;
mod mending_dialects;
mod mutations;
mod names;
mod names_and_pipes;
mod neighbours;
mod odd_drawings;
mod outside;
mod page_units;
mod pictures;
mod plan;
mod proof;
mod properties;
mod readback;
mod readers_differ;
mod reading;
mod record;
mod report;
mod resolved_or_named;
mod robustness;
mod scripts;
mod styles;
mod switched_off;
mod targets;
mod together;
mod waivers;
mod watch;
mod way_up;
mod words;
mod written_over;
