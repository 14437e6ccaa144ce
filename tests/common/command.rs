//! The program itself, run in a folder as a person runs it.

use std::ffi::OsStr;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What the program said.
pub struct Said {
    pub status: Option<i32>,
    pub out: Vec<u8>,
    pub err: Vec<u8>,
}

/// Runs `inspect`; see [`command`].
pub fn run(folder: &Path, arguments: &[&OsStr], out: Option<std::fs::File>) -> Said {
    let all: Vec<&OsStr> = std::iter::once(OsStr::new("inspect"))
        .chain(arguments.iter().copied())
        .collect();
    command(folder, &all, out)
}

/// Runs the program, which must answer within a minute; its report goes to `out`, or to a file.
pub fn command(folder: &Path, arguments: &[&OsStr], out: Option<std::fs::File>) -> Said {
    let kept = tempfile::tempdir().unwrap();
    let file = |name: &str| std::fs::File::create(kept.path().join(name)).unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(out.unwrap_or_else(|| file("out")))
        .stderr(file("err"))
        .spawn()
        .unwrap();
    let started = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if started.elapsed() > Duration::from_mins(1) {
            child.kill().unwrap();
            panic!("it hangs: {arguments:?}");
        }
        std::thread::sleep(Duration::from_millis(10));
    };
    let read = |name: &str| std::fs::read(kept.path().join(name)).unwrap_or_default();
    Said {
        status: status.code(),
        out: read("out"),
        err: read("err"),
    }
}
