//! `watch`, from outside: saves go in, verdicts, the cleared folder and the board come out.

mod board;
mod cleared;
mod crash;
mod hooks;
mod saves;
mod speed;
mod workshop;
