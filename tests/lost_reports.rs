//! Reports that cannot be written: a full device takes them, and the program says that nobody read it.
#![cfg(target_os = "linux")]

use std::ffi::OsStr;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use super::common::bench::{Bench, off_outlines, others, page};
use super::common::command::{command, run};

/// A folder with an enrolled fixture and a sound run, a.svg.
fn folder() -> tempfile::TempDir {
    let folder = Bench::new().into_folder();
    let sound = page(&(off_outlines() + &others(&[])));
    std::fs::write(folder.path().join("a.svg"), sound).unwrap();
    folder
}

/// A device on which nothing has room.
fn full() -> std::fs::File {
    std::fs::File::options()
        .write(true)
        .open("/dev/full")
        .unwrap()
}

/// A watch whose lines nobody could read says so when it ends.
#[test]
fn a_watch_whose_lines_are_lost_is_status_two() {
    let folder = folder();
    let root = folder.path();
    let mut child = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(["watch", ".", "--cleared", "cleared"])
        .current_dir(root)
        .stdin(Stdio::null())
        .stdout(full())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // It has judged the run once the copy is there.
    let started = Instant::now();
    while !root.join("cleared/a.svg").exists() {
        assert!(started.elapsed() < Duration::from_mins(1), "not cleared");
        std::thread::sleep(Duration::from_millis(50));
    }
    let asked = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(asked.success());
    let mut err = String::new();
    std::io::Read::read_to_string(&mut child.stderr.take().unwrap(), &mut err).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(2), "{err}");
    assert!(
        err.contains("could not be written") && err.contains("verdicts are lost"),
        "{err}"
    );
}

#[test]
fn what_cannot_be_said_is_status_two_in_every_command() {
    let folder = folder();
    let root = folder.path();
    std::fs::write(root.join("orders.csv"), "name\nAda\n").unwrap();
    let say = |line: &str, lost: bool| {
        let words: Vec<&OsStr> = line.split(' ').map(OsStr::new).collect();
        command(root, &words, lost.then(full))
    };
    assert_eq!(
        say("inspect a.svg --record said --by me", false).status,
        Some(0)
    );
    for line in [
        "inspect a.svg",
        "inspect .",
        "enrol .",
        "enrol fixture.svg",
        "proof a.svg -o proof.html",
        "mend a.svg -o mended.svg",
        "mend a.svg --dry-run",
        "plan --round 20mm --bed 200mm 150mm --count 1 -o planned",
        "fill orders.csv --column name -o out --fixture .",
        "record said",
        "explain",
        "explain past-zone",
        "completions bash",
        "manual",
        "manual watch",
        "--help",
        "-h",
        "--version",
        "help",
        "help fill",
        "inspect --help",
    ] {
        let said = say(line, true);
        let err = String::from_utf8_lossy(&said.err);
        assert_eq!(said.status, Some(2), "{line}: {err}");
        assert!(!err.contains("panicked"), "{line}: {err}");
    }
}

#[test]
fn a_report_that_could_not_be_written_is_status_two() {
    let folder = folder();
    let root = folder.path();
    for form in ["text", "json", "sarif"] {
        let words = ["a.svg", "--format", form].map(OsStr::new);
        let said = run(root, &words, Some(full()));
        let err = String::from_utf8(said.err).unwrap();
        assert_eq!(said.status, Some(2), "{form}: {err}");
        assert!(
            err.contains("what this command says could not be written"),
            "{form}: {err}"
        );
    }
}
