//! What is told about inspected files reads well, fits the screen, and is the same every time.

mod json;
mod sample;
mod sarif;
mod text;
