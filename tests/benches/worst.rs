//! The worst files that ordinary hands and tools make, by one command: `cargo bench --bench worst`.
//!
//! Each is inspected by a whole process; its processor time, its largest memory and its answer are
//! printed, and `TOO LONG` or `TOO LARGE` stands where a limit is crossed. A process is ended after
//! [`ENOUGH`] seconds of processor time. Words after `--` choose the cases whose names hold one of them;
//! `program=PATH` measures another build of the program.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod made;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use made::Grid;
use made::hard::{self, CASES};

/// Seconds of processor time within which a file is to be answered.
const SECONDS: f64 = 2.0;

/// Megabytes within which it is to be.
const MEGABYTES: f64 = 500.0;

/// Seconds of processor time after which a process is ended: far more than anybody waits.
const ENOUGH: u32 = 40;

struct Bench {
    program: PathBuf,
    chosen: Vec<String>,
    crossed: usize,
    run: usize,
}

impl Bench {
    fn wanted(&self, name: &str) -> bool {
        self.chosen.is_empty() || self.chosen.iter().any(|c| name.contains(c))
    }

    /// Runs the program once and prints what it took, and what it said.
    fn measure(&mut self, name: &str, arguments: &[&str]) {
        // The shell ends it by the processor's time, since the machine may be busy with other work.
        let limited = format!("ulimit -t {ENOUGH}; exec \"$0\" \"$@\"");
        let out = Command::new("/usr/bin/time")
            .args(["-q", "-f", "%U %S %M", "sh", "-c", &limited])
            .arg(&self.program)
            .args(arguments)
            .output()
            .unwrap_or_else(|e| panic!("/usr/bin/time does not run: {e}"));
        let told = String::from_utf8_lossy(&out.stderr);
        let figures: Vec<f64> = told
            .lines()
            .last()
            .unwrap_or_default()
            .split(' ')
            .filter_map(|n| n.parse().ok())
            .collect();
        let [user, system, kilobytes] = figures[..] else {
            panic!("{told}");
        };
        let (seconds, megabytes) = (user + system, kilobytes / 1e3);
        let late = if seconds > SECONDS { "  TOO LONG" } else { "" };
        let large = if megabytes > MEGABYTES {
            "  TOO LARGE"
        } else {
            ""
        };
        self.run += 1;
        self.crossed += usize::from(seconds > SECONDS || megabytes > MEGABYTES);
        let answer = answer(
            out.status.code(),
            &String::from_utf8_lossy(&out.stdout),
            &told,
        );
        println!("{name:44} {seconds:7.2} s {megabytes:6.0} MB  {answer}{late}{large}");
    }

    fn inspect(&mut self, name: &str, file: &Path) {
        self.measure(
            name,
            &["inspect", "--format", "json", file.to_str().unwrap()],
        );
    }
}

/// The answer in a few words: the verdict, and how many findings each rule has.
fn answer(code: Option<i32>, out: &str, trouble: &str) -> String {
    let verdict = match code {
        Some(0) => "clear",
        Some(1) => "hold",
        Some(2) => {
            let first = trouble
                .lines()
                .chain(out.lines())
                .next()
                .unwrap_or_default();
            return format!("refused: {first:.90}");
        }
        _ => return "no answer".to_owned(),
    };
    let report: serde_json::Value = serde_json::from_str(out).unwrap();
    let mut rules: BTreeMap<&str, usize> = BTreeMap::new();
    for finding in report["runs"][0]["findings"].as_array().unwrap() {
        *rules.entry(finding["rule"].as_str().unwrap()).or_default() += 1;
    }
    let rules: Vec<String> = rules.iter().map(|(r, n)| format!("{n} {r}")).collect();
    format!("{verdict}: {}", rules.join(", "))
}

/// A list of invented names, each once.
fn names(count: usize) -> String {
    const FIRST: [&str; 10] = [
        "Bram", "Clo", "Sor", "Tan", "Yar", "Lin", "Mar", "Fen", "Hol", "Wil",
    ];
    const LAST: [&str; 10] = [
        "ble", "ver", "rel", "sy", "row", "den", "low", "nick", "ly", "mot",
    ];
    let name = |i: usize| {
        let mut left = i;
        let mut text = String::new();
        for part in 0..3 {
            text.push_str(FIRST[left % 10]);
            left /= 10;
            text.push_str(LAST[left % 10]);
            left /= 10;
            if part < 2 {
                text.push(' ');
            }
        }
        text
    };
    let rows: Vec<String> = (0..count).map(|i| name(i * 7 + 1)).collect();
    format!("Name\n{}\n", rows.join("\n"))
}

/// Runs with lettering as outlines, by `fill --outlines` with names of six letters.
fn outlined(grid: &Grid, count: usize) -> PathBuf {
    let list = grid.folder.join("short.csv");
    let rows: Vec<String> = names(count)
        .lines()
        .map(|name| name.split(' ').next().unwrap_or_default().to_owned())
        .collect();
    std::fs::write(&list, rows.join("\n")).unwrap();
    let into = grid.folder.join("outlined");
    let done = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(["fill", "--column", "Name", "--outlines", "-o"])
        .arg(&into)
        .arg("--fixture")
        .arg(&grid.folder)
        .arg(&list)
        .output()
        .unwrap();
    assert!(done.status.code() == Some(0), "{done:?}");
    into
}

fn main() {
    let mut chosen: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    let mut program = PathBuf::from(env!("CARGO_BIN_EXE_jigwarden"));
    chosen.retain(|word| match word.strip_prefix("program=") {
        Some(path) => {
            program = PathBuf::from(path);
            false
        }
        None => true,
    });
    let mut bench = Bench {
        program,
        chosen,
        crossed: 0,
        run: 0,
    };
    let below = Path::new(env!("CARGO_TARGET_TMPDIR")).join("worst");
    let twelve = Grid::enrolled(&below, 12, 90.0);
    println!("at most {SECONDS} s of processor time and {MEGABYTES} MB are wanted");
    for (number, (name, art)) in CASES.iter().enumerate() {
        if bench.wanted(name) {
            let file = twelve.run(&format!("case-{number}.svg"), &art(&twelve));
            bench.inspect(name, &file);
        }
    }
    let name = "115,000 outlines traced in layers";
    if bench.wanted(name) {
        let twenty = Grid::enrolled(&below, 20, 90.0);
        let file = twenty.run("layers.svg", &hard::layers(&twenty, 115_000));
        bench.inspect(name, &file);
    }
    let name = "a list of 100,000 names";
    if bench.wanted(name) {
        let list = twelve.folder.join("names.csv");
        std::fs::write(&list, names(100_000)).unwrap();
        let file = twelve.run("words.svg", &twelve.words());
        bench.measure(
            name,
            &[
                "inspect",
                "--format",
                "json",
                "--names",
                list.to_str().unwrap(),
                "--column",
                "Name",
                file.to_str().unwrap(),
            ],
        );
    }
    for count in [12, 200] {
        let name = format!("{count} names as outlines");
        if bench.wanted(&name) {
            let grid = Grid::enrolled(&below, count, 60.0);
            bench.inspect(&name, &outlined(&grid, count));
        }
    }
    println!("{} of {} cross a limit", bench.crossed, bench.run);
}
