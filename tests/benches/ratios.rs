//! The figures of the README by one command: `cargo bench --bench ratios`.
//!
//! First whole processes, `inspect` beside a program that only lets usvg parse the same file: time by
//! the clock, the processor's time and the largest memory. Then growth: how time and memory follow the
//! number of marks, pockets and findings, as the exponent of a power law between neighbouring sizes.
//!
//! The smallest of a few, alternating: other work on the machine matters little then. Ratios are of the
//! clock, which is what the bench waits for; exponents are of the processor's time, which does not
//! depend on how many cores a stage uses. Words after `--` choose parts: `files`, `pockets`, `marks`,
//! `names`, `many` (files of a folder), `findings`; without any, the picture of growth that the README
//! shows is drawn anew. With the path of an older program in `JIGWARDEN_BEFORE`, that is measured beside
//! this one.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod growth;
mod made;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use made::Grid;
use wait4::Wait4 as _;

/// The bounds that are asked for; beyond one, the line says so.
const PLAIN: f64 = 1.0;
const LETTERED: f64 = 2.0;
const OUTLINED: f64 = 8.0;
const TRACED: f64 = 15.0;
const LARGE: f64 = 0.9;
const EXPONENT: f64 = 1.1;

/// What a process took.
#[derive(Clone, Copy)]
struct Cost {
    /// Seconds by the clock, from its start to its end.
    clock: f64,
    /// Seconds of processor, on all cores.
    seconds: f64,
    /// Largest memory in megabytes.
    megabytes: f64,
}

/// Runs a program once.
fn once(program: &Path, arguments: &[&str]) -> Cost {
    let start = Instant::now();
    let child = Command::new(program)
        .args(arguments)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let used = child.wait4().unwrap();
    assert!(
        used.status.code().is_some_and(|code| code < 2),
        "{} {arguments:?} could not read its file",
        program.display()
    );
    Cost {
        clock: start.elapsed().as_secs_f64(),
        seconds: (used.rusage.utime + used.rusage.stime).as_secs_f64(),
        megabytes: f64::INFINITY,
    }
}

/// The largest memory of a process in megabytes, by `/usr/bin/time` (the package is called "time"): a
/// child of this process is charged with what this one has, which the drawings make large.
fn memory(program: &Path, arguments: &[&str]) -> f64 {
    let out = Command::new("/usr/bin/time")
        .args(["-f", "%M"])
        .arg(program)
        .args(arguments)
        .output()
        .unwrap_or_else(|e| panic!("/usr/bin/time does not run: {e}"));
    let told = String::from_utf8_lossy(&out.stderr);
    let kilobytes = told.lines().last().and_then(|l| l.parse::<f64>().ok());
    kilobytes.unwrap_or_else(|| panic!("{told}")) / 1e3
}

/// The least of `times` runs of each, in turn.
fn least(programs: &[(&Path, Vec<&str>)], times: usize) -> Vec<Cost> {
    let mut best: Vec<Option<Cost>> = vec![None; programs.len()];
    for _ in 0..times {
        for ((program, arguments), best) in programs.iter().zip(&mut best) {
            let cost = once(program, arguments);
            *best = Some(best.map_or(cost, |b| Cost {
                clock: b.clock.min(cost.clock),
                seconds: b.seconds.min(cost.seconds),
                ..b
            }));
        }
    }
    for ((program, arguments), best) in programs.iter().zip(&mut best) {
        if let Some(best) = best {
            best.megabytes = memory(program, arguments);
        }
    }
    best.into_iter().flatten().collect()
}

struct Programs {
    inspect: PathBuf,
    before: Option<PathBuf>,
    usvg: PathBuf,
}

impl Programs {
    /// This crate's program, and the one that only parses, which is built now if need be.
    fn built() -> Self {
        let inspect = PathBuf::from(env!("CARGO_BIN_EXE_jigwarden"));
        let done = Command::new(env!("CARGO"))
            .args([
                "build",
                "-q",
                "--profile",
                "bench",
                "--example",
                "usvg_only",
            ])
            .status();
        assert!(done.is_ok_and(|s| s.success()), "usvg_only does not build");
        let usvg = inspect.with_file_name("examples").join("usvg_only");
        let before = std::env::var_os("JIGWARDEN_BEFORE").map(PathBuf::from);
        Self {
            inspect,
            before,
            usvg,
        }
    }

    fn beside(&self, what: &str, file: &Path, times: usize, bound: f64) {
        let file = file.to_str().unwrap();
        let mut programs = vec![
            (self.inspect.as_path(), vec!["inspect", "-q", file]),
            (self.usvg.as_path(), vec![file]),
        ];
        programs.extend(
            self.before
                .iter()
                .map(|p| (p.as_path(), vec!["inspect", "-q", file])),
        );
        let costs = least(&programs, times);
        let [ours, theirs, ref before @ ..] = costs[..] else {
            return;
        };
        let ratio = ours.clock / theirs.clock;
        let verdict = if ratio <= bound { "" } else { "  MISSED" };
        let told = |c: &Cost| {
            let (clock, seconds) = (c.clock * 1e3, c.seconds * 1e3);
            format!("{clock:7.1} ms ({seconds:7.1}) {:4.0} MB", c.megabytes)
        };
        let before = before.iter().map(|c| format!("   before {}", told(c)));
        println!(
            "{what:28} inspect {}   usvg {}{}   time {ratio:6.2} (at most {bound}){verdict}, memory {:.2}",
            told(&ours),
            told(&theirs),
            before.collect::<String>(),
            ours.megabytes / theirs.megabytes,
        );
    }

    fn cost(&self, file: &Path, times: usize) -> Cost {
        self.with(&[], file, times)
    }

    /// What an inspection of `file`, which may be a folder, takes with more said than its path.
    fn with(&self, said: &[&str], file: &Path, times: usize) -> Cost {
        let mut arguments = vec!["inspect", "-q"];
        arguments.extend(said);
        arguments.push(file.to_str().unwrap());
        least(&[(&self.inspect, arguments)], times).pop().unwrap()
    }
}

/// Prints a row for each size with the exponents against the one before.
fn growth(what: &str, rows: &[(usize, Cost)]) -> growth::Line {
    println!("\n{what}");
    let mut before: Option<(usize, Cost)> = None;
    for (size, cost) in rows {
        let exponents = before.map_or_else(String::new, |(small, less)| {
            let step = (*size as f64 / small as f64).ln();
            let time = (cost.seconds / less.seconds).ln() / step;
            let memory = (cost.megabytes / less.megabytes).ln() / step;
            let verdict = if time.max(memory) <= EXPONENT {
                ""
            } else {
                "  MISSED"
            };
            format!("   time ^{time:.2}, memory ^{memory:.2}{verdict}")
        });
        println!(
            "{size:>9}  {:9.3} s (by the clock {:9.3} s) {:6.0} MB{exponents}",
            cost.seconds, cost.clock, cost.megabytes
        );
        before = Some((*size, *cost));
    }
    growth::Line {
        what: what.to_owned(),
        rows: rows.iter().map(|(n, cost)| (*n, cost.seconds)).collect(),
    }
}

fn main() {
    let chosen: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    let wanted = |part: &str| chosen.is_empty() || chosen.iter().any(|c| c == part);
    let below = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let programs = Programs::built();
    let twelve = Grid::enrolled(below, 12, 90.0);
    if wanted("files") {
        println!("whole processes, by the clock (processor)");
        let plain = twelve.run("bars.svg", &twelve.wrong(0));
        programs.beside("no art", &plain, 40, PLAIN);
        let small = twelve.run("traced-300.svg", &twelve.traced(300, 4));
        programs.beside("300 outlines", &small, 10, TRACED);
        let words = twelve.run("words.svg", &twelve.words());
        programs.beside("12 words of live lettering", &words, 40, LETTERED);
        let outlined = twelve.run("outlined.svg", &twelve.outlined());
        programs.beside("the same outlined", &outlined, 20, OUTLINED);
        let large = twelve.run("traced-115000.svg", &twelve.traced(115_000, 2));
        let size = std::fs::metadata(&large).map_or(0, |m| m.len()) / 1_000_000;
        programs.beside(&format!("115,000 outlines, {size} MB"), &large, 7, LARGE);
    }
    let mut lines = Vec::new();
    if wanted("pockets") {
        let rows: Vec<(usize, Cost)> = [10, 100, 1_000, 10_000]
            .into_iter()
            .map(|n| {
                let grid = Grid::enrolled(below, n, 20.0);
                // The longest is long enough for one run to tell.
                let times = if n < 10_000 { 2 } else { 1 };
                (
                    n,
                    programs.cost(&grid.run("words.svg", &grid.words()), times),
                )
            })
            .collect();
        lines.push(growth("pockets, a word in each", &rows));
        let rows: Vec<(usize, Cost)> = [10, 100, 1_000]
            .into_iter()
            .map(|n| {
                let grid = Grid::enrolled(below, n, 20.0);
                let file = grid.run("outlined.svg", &grid.outlined());
                (n, programs.cost(&file, 2))
            })
            .collect();
        lines.push(growth("pockets, an outlined word in each", &rows));
    }
    if wanted("marks") {
        let rows: Vec<(usize, Cost)> = [1_000, 10_000, 100_000, 1_000_000]
            .into_iter()
            .map(|n| {
                let file = twelve.run(&format!("segments-{n}.svg"), &twelve.traced(n / 4, 4));
                (n, programs.cost(&file, 2))
            })
            .collect();
        lines.push(growth("segments of traced art in twelve pockets", &rows));
    }
    if wanted("names") {
        let grid = Grid::enrolled(below, 1_000, 20.0);
        let file = grid.run("words.svg", &grid.words());
        let rows: Vec<(usize, Cost)> = [10, 100, 1_000]
            .into_iter()
            .map(|n| {
                let list = grid.ordered(n);
                let said = ["--names", list.to_str().unwrap(), "--column", "Name"];
                (n, programs.with(&said, &file, 2))
            })
            .collect();
        lines.push(growth("names ordered, a thousand engraved", &rows));
    }
    if wanted("many") {
        let rows: Vec<(usize, Cost)> = [1, 10, 100, 1_000]
            .into_iter()
            .map(|n| {
                let folder = twelve.folder.join(format!("many-{n}"));
                std::fs::create_dir_all(&folder).unwrap();
                let file = twelve.run("words.svg", &twelve.words());
                for i in 0..n {
                    std::fs::copy(&file, folder.join(format!("{i}.svg"))).unwrap();
                }
                let said = ["--fixture", twelve.folder.to_str().unwrap()];
                (n, programs.with(&said, &folder, 2))
            })
            .collect();
        lines.push(growth("files of a folder, twelve words in each", &rows));
    }
    if wanted("findings") {
        let grid = Grid::enrolled(below, 1_000, 20.0);
        let rows: Vec<(usize, Cost)> = [10, 100, 1_000]
            .into_iter()
            .map(|n| {
                let file = grid.run(&format!("wrong-{n}.svg"), &grid.wrong(n));
                (n, programs.cost(&file, 2))
            })
            .collect();
        lines.push(growth("findings in a thousand pockets", &rows));
    }
    if chosen.is_empty() {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/benches/growth.svg");
        growth::draw(&lines, &file).unwrap();
        println!("\ndrawn: {}", file.display());
    }
}
