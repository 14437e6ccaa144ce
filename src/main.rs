//! The command: parse arguments, call the library, return the exit status.
fn main() {}
