//! What is told about inspected files reads well, fits the screen, and is the same every time.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic
)]

mod json;
mod sample;
mod sarif;
mod text;
