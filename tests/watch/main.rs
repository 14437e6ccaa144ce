//! `watch`, from outside: saves go in, verdicts, the cleared folder and the board come out.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]
#![allow(missing_docs, unreachable_pub)]

mod board;
mod crash;
mod gate;
mod hooks;
mod saves;
mod speed;
mod workshop;
