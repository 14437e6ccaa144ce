//! Reads every drawing of a folder (real clip art, say) and prints what became of it.
//!
//! ```text
//! cargo run --release --example clipart -- /usr/share/openclipart [--machine-fonts] [--list WORDS]
//! ```
//!
//! Ends with status 1 where a file made the reader stumble, took longer than [`LIMIT`], or left its
//! census unbalanced. `--list` also names every file with a report that holds those words.
#![allow(missing_docs)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::time::{Duration, Instant};

use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::mark::{Artwork, Content};
use jigwarden::tested::artwork::resolve::{ReadOptions, resolve};
use jigwarden::tested::artwork::source::Source;

/// A person waits at the bench: longer than this counts as a hang.
const LIMIT: Duration = Duration::from_secs(10);

/// As in the pipeline.
const STACK: usize = 512 << 20;

/// What reading one file came to.
enum Came {
    Read(Measured),
    Refused(String),
    Stumbled,
    Late,
}

struct Measured {
    marks: usize,
    inked: usize,
    balanced: bool,
    unproven: Vec<String>,
    missing_face: bool,
}

fn main() {
    let mut folder = None;
    let mut machine = false;
    let mut list = None;
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--machine-fonts" => machine = true,
            "--list" => list = arguments.next(),
            _ => folder = Some(PathBuf::from(argument)),
        }
    }
    let Some(folder) = folder else {
        eprintln!("name the folder to read");
        std::process::exit(2);
    };
    let mut files = Vec::new();
    gather(&folder, &mut files);
    files.sort();
    let mut sums = Sums::default();
    let mut slow: Vec<(Duration, PathBuf)> = Vec::new();
    for file in files {
        let start = Instant::now();
        let came = within_limit(&file, machine);
        let took = start.elapsed();
        sums.add(&folder, &file, came, list.as_deref());
        slow.push((took, file));
        slow.sort_by_key(|(took, _)| std::cmp::Reverse(*took));
        slow.truncate(8);
    }
    sums.print();
    println!("slowest:");
    for (took, file) in &slow {
        println!("  {:6.2} s  {}", took.as_secs_f64(), short(&folder, file));
    }
    if !sums.sound() {
        std::process::exit(1);
    }
}

fn short<'a>(folder: &Path, file: &'a Path) -> std::path::Display<'a> {
    file.strip_prefix(folder).unwrap_or(file).display()
}

fn gather(folder: &Path, files: &mut Vec<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.filter_map(Result::ok) {
        let path = entry.path();
        if path.is_dir() {
            gather(&path, files);
        } else if path
            .extension()
            .is_some_and(|e| e.eq_ignore_ascii_case("svg") || e.eq_ignore_ascii_case("svgz"))
        {
            files.push(path);
        }
    }
}

/// Reads a file on a thread of its own. A thread that is late is left to itself.
fn within_limit(file: &Path, machine: bool) -> Came {
    let (tell, hear) = mpsc::channel();
    let path = file.to_owned();
    let thread = std::thread::Builder::new()
        .stack_size(STACK)
        .spawn(move || tell.send(read(&path, machine)));
    if thread.is_err() {
        return Came::Stumbled;
    }
    match hear.recv_timeout(LIMIT) {
        Ok(came) => came,
        Err(mpsc::RecvTimeoutError::Timeout) => Came::Late,
        Err(mpsc::RecvTimeoutError::Disconnected) => Came::Stumbled,
    }
}

fn read(file: &Path, machine: bool) -> Came {
    let source = match Source::read(file) {
        Ok(source) => source,
        Err(e) => return Came::Refused(e.to_string()),
    };
    let faces = Faces::new(Vec::new(), machine);
    let reading = ReadOptions {
        units: jigwarden::tested::artwork::length::RootUnits::CSS,
        placing: None,
        faces: &faces,
    };
    match resolve(&source, &reading) {
        Ok(artwork) => Came::Read(measured(&artwork)),
        Err(e) => Came::Refused(e.to_string()),
    }
}

fn measured(artwork: &Artwork) -> Measured {
    let c = artwork.census;
    Measured {
        marks: artwork.marks.len(),
        // The ink is worked out too: it is where the geometry could stumble.
        inked: artwork.marks.iter().filter(|m| !m.ink().is_empty()).count(),
        balanced: c.candidates == c.marks + c.parts + c.inert + c.unproven,
        unproven: artwork.unproven.iter().map(|u| u.what.clone()).collect(),
        missing_face: artwork
            .marks
            .iter()
            .any(|m| matches!(&m.content, Content::Lettering(l) if !l.missing.is_empty())),
    }
}

#[derive(Default)]
struct Sums {
    files: usize,
    whole: usize,
    named: usize,
    refused: Vec<String>,
    stumbled: Vec<String>,
    late: Vec<String>,
    unbalanced: Vec<String>,
    whole_but_faces: usize,
    marks: usize,
    inked: usize,
    /// By kind: files, places.
    kinds: BTreeMap<String, (usize, usize)>,
}

impl Sums {
    fn add(&mut self, folder: &Path, file: &Path, came: Came, list: Option<&str>) {
        self.files += 1;
        let name = short(folder, file).to_string();
        let read = match came {
            Came::Stumbled => return self.stumbled.push(name),
            Came::Late => return self.late.push(name),
            Came::Refused(why) => return self.refused.push(format!("{name}: {why}")),
            Came::Read(read) => read,
        };
        self.marks += read.marks;
        self.inked += read.inked;
        if !read.balanced {
            self.unbalanced.push(name.clone());
        }
        if read.unproven.is_empty() {
            self.whole += 1;
            self.whole_but_faces += usize::from(read.missing_face);
        } else {
            self.named += 1;
        }
        let mut own: BTreeMap<String, usize> = BTreeMap::new();
        for what in &read.unproven {
            *own.entry(blank(what)).or_default() += 1;
            if list.is_some_and(|words| what.contains(words)) {
                println!("{name}: {what}");
            }
        }
        for (kind, places) in own {
            let sum = self.kinds.entry(kind).or_default();
            sum.0 += 1;
            sum.1 += places;
        }
    }

    fn sound(&self) -> bool {
        self.stumbled.is_empty() && self.late.is_empty() && self.unbalanced.is_empty()
    }

    fn print(&self) {
        let share = |n: usize| 100.0 * n as f64 / self.files.max(1) as f64;
        println!("files                      {:6}", self.files);
        println!(
            "fully measured             {:6}  {:.1} %",
            self.whole,
            share(self.whole)
        );
        println!(
            "  of them font-missing     {:6}  (without these {:.1} %)",
            self.whole_but_faces,
            share(self.whole - self.whole_but_faces)
        );
        println!(
            "with named places          {:6}  {:.1} %",
            self.named,
            share(self.named)
        );
        for (what, list) in [
            ("refused with a reason", &self.refused),
            ("stumbled", &self.stumbled),
            ("over ten seconds", &self.late),
            ("census unbalanced", &self.unbalanced),
        ] {
            println!("{what:26} {:6}", list.len());
            for file in list.iter().take(12) {
                println!("    {file}");
            }
        }
        println!("marks                      {:6}", self.marks);
        println!("  with ink                 {:6}", self.inked);
        let mut kinds: Vec<_> = self.kinds.iter().collect();
        kinds.sort_by_key(|(_, (files, places))| std::cmp::Reverse((*files, *places)));
        println!("not proven, by kind (files, places):");
        for (kind, (files, places)) in kinds.into_iter().take(25) {
            println!("  {files:5} {places:7}  {kind}");
        }
    }
}

/// The sentence with what is quoted, and numbers, left out.
fn blank(what: &str) -> String {
    what.split('"')
        .enumerate()
        .map(|(i, part)| if i % 2 == 1 { "…" } else { part })
        .collect::<Vec<_>>()
        .join("\"")
        .chars()
        .map(|c| if c.is_ascii_digit() { '#' } else { c })
        .collect()
}
