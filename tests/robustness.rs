//! Files made to choke a reader: each is refused in plain words or measured right, within bounded
//! time and memory, and never by a crash.
//!
//! The program itself is run, as at the bench, with its address space limited by the shell: a
//! crash, a hang and a runaway all show as a status other than 0, 1 and 2 or as a late answer.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Address space in kilobytes. Half a gigabyte of it is the stack, which is mostly never touched.
const SPACE: u32 = 5 << 20;

/// An answer later than this is a hang. Unoptimised, on a shared machine, twenty times slower than
/// at the bench.
const LATE: Duration = Duration::from_secs(60);

/// A folder with an enrolled fixture of two pockets on a bed of 200 × 100 mm.
struct Bench {
    folder: tempfile::TempDir,
}

/// What the program said.
struct Said {
    status: Option<i32>,
    text: String,
}

const SETTINGS: &str = r##"[fixture]
name = "Bench"
drawing = "fixture.svg"
[bed]
width = "200 mm"
height = "100 mm"
[paints]
cut = ["#7b2d8b"]
engrave = ["#1b1b1b"]
off = ["#9aa0a6"]
[blank]
size = ["40 mm", "60 mm"]
body = "50 mm"
"##;

const HEAD: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"200mm\" height=\"100mm\" viewBox=\"0 0 200 100\">";

const LINES: &str = "<g fill=\"none\" stroke=\"#9aa0a6\" stroke-width=\"0.1\"><rect x=\"20\" y=\"20\" width=\"40\" height=\"60\" rx=\"3\"/><rect x=\"80\" y=\"20\" width=\"40\" height=\"60\" rx=\"6\"/></g>";

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("fixture.toml"), SETTINGS).unwrap();
        let cut = format!("{HEAD}{LINES}</svg>").replace("#9aa0a6", "#7b2d8b");
        std::fs::write(folder.path().join("fixture.svg"), cut).unwrap();
        let bench = Self { folder };
        let said = bench.run(&["enrol", "."]);
        assert_eq!(said.status, Some(0), "{}", said.text);
        bench
    }

    fn run(&self, arguments: &[&str]) -> Said {
        let started = Instant::now();
        let out: PathBuf = self.folder.path().join("said.txt");
        let said = std::fs::File::create(&out).unwrap();
        let mut child = Command::new("sh")
            .arg("-c")
            .arg(format!("ulimit -v {SPACE}; exec \"$0\" \"$@\""))
            .arg(env!("CARGO_BIN_EXE_jigwarden"))
            .args(arguments)
            .current_dir(self.folder.path())
            .stdin(Stdio::null())
            .stdout(said.try_clone().unwrap())
            .stderr(said)
            .spawn()
            .unwrap();
        let status = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break status.code();
            }
            if started.elapsed() > LATE {
                child.kill().unwrap();
                child.wait().unwrap();
                break None;
            }
            std::thread::sleep(Duration::from_millis(10));
        };
        let text = std::fs::read_to_string(&out).unwrap_or_default();
        Said { status, text }
    }

    /// Inspects a drawing of the fixture's lines and `more`.
    fn inspect(&self, more: &str) -> Said {
        self.inspect_bytes("run.svg", format!("{HEAD}{LINES}{more}</svg>").as_bytes())
    }

    fn inspect_bytes(&self, name: &str, bytes: &[u8]) -> Said {
        std::fs::write(self.folder.path().join(name), bytes).unwrap();
        self.run(&["inspect", name])
    }
}

impl Said {
    /// Not inspected (status 2), for a reason with these words in it.
    #[track_caller]
    fn refused(&self, words: &str) {
        self.ended(2, words);
        assert!(
            !self.text.contains("stumble"),
            "a crash was caught: {}",
            self.text
        );
    }

    /// Held (status 1), with these words in the findings.
    #[track_caller]
    fn held(&self, words: &str) {
        self.ended(1, words);
    }

    #[track_caller]
    fn clear(&self) {
        self.ended(0, "");
    }

    #[track_caller]
    fn ended(&self, status: i32, words: &str) {
        let head: String = self.text.chars().take(1500).collect();
        assert_eq!(self.status, Some(status), "{head}");
        let flat = self.text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(words), "no \"{words}\" in: {head}");
        assert!(
            self.text.len() < 200_000,
            "{} bytes of answer",
            self.text.len()
        );
    }
}

fn nested(open: &str, close: &str, depth: usize, inside: &str) -> String {
    format!("{}{inside}{}", open.repeat(depth), close.repeat(depth))
}

/// A dot that lies well inside the first pocket's zone.
const DOT: &str = "<rect x=\"35\" y=\"50\" width=\"8\" height=\"8\" fill=\"#1b1b1b\"/>";

#[test]
fn the_bench_itself_is_clear() {
    Bench::new().inspect(DOT).held("A2");
}

#[test]
fn groups_ten_thousand_deep() {
    let bench = Bench::new();
    bench
        .inspect(&nested("<g>", "</g>", 10_000, DOT))
        .refused("deep");
    // What is allowed is also walked, on the stack that there is.
    let allowed = bench.inspect(&nested(
        "<g transform=\"translate(.01 0)\">",
        "</g>",
        900,
        DOT,
    ));
    assert!(matches!(allowed.status, Some(0 | 1)), "{}", allowed.text);
}

#[test]
fn entity_bombs() {
    let mut text = String::from("<!DOCTYPE svg [<!ENTITY a0 \"<g/>\">");
    for i in 1..30 {
        let p = i - 1;
        write!(text, "<!ENTITY a{i} \"&a{p};&a{p};&a{p};&a{p};\">").unwrap();
    }
    let bench = Bench::new();
    let said = bench.inspect_bytes(
        "run.svg",
        format!("{text}]>{HEAD}{LINES}&a29;</svg>").as_bytes(),
    );
    said.refused("");
    let loops = format!(
        "<!DOCTYPE svg [<!ENTITY a \"&b;\"><!ENTITY b \"&a;\">]>{HEAD}{LINES}&a;</svg>"
    );
    bench.inspect_bytes("run.svg", loops.as_bytes()).refused("");
}
