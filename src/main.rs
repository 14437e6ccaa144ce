//! The command: parse arguments, call the library, return the exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    jigwarden::main()
}
