//! The examples, damaged at random: each result is read or refused, in time and without a crash.
//!
//! The same damage every time. `tests/fuzz` holds the targets that look for new damage.

use crate::common::chance::Chance;

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::resolve::{ReadOptions, resolve};
use jigwarden::tested::artwork::source::Source;

/// Damaged files in all.
const FILES: u64 = 1_500;

/// Unoptimised, on a shared machine; at the bench it is some hundredths of a second.
const LATE: Duration = Duration::from_secs(30);

/// What breaks readers, put in at random places.
const WORDS: &[&str] = &[
    "1e38",
    "-1e308",
    "NaN",
    "1e-300",
    "0",
    "-1",
    "%",
    "mm",
    "\"",
    "<",
    ">",
    "/>",
    "&amp;",
    "&#0;",
    "&x;",
    "]]>",
    "<!--",
    "<g>",
    "</g>",
    "<svg>",
    "<use href=\"#a\"/>",
    "<g id=\"a\"><use href=\"#a\"/></g>",
    "<text>a<tspan>b</tspan></text>",
    "<style>* { transform: none }</style>",
    "<image href=\"data:image/png;base64,iVBORw0KGgo=\"/>",
    " transform=\"matrix(0 0 0 0 0 0)\"",
    " transform=\"scale(1e9)\"",
    " clip-path=\"url(#a)\"",
    " style=\"stroke-dasharray:1e-9 0;stroke:red\"",
    " viewBox=\"0 0 0 0\"",
    " viewBox=\"0 0 1e-9 1e9\"",
    "A 1 1 0 0 0 1e9 1",
    "M0 0",
    "z",
    "\u{0}",
    "\u{feff}",
    "\u{10ffff}",
];

/// A place in a list of `n`.
fn below(chance: &mut Chance, n: usize) -> usize {
    chance.below(n as u64) as usize
}

fn examples() -> Vec<Vec<u8>> {
    let mut files: Vec<PathBuf> = Vec::new();
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "svg" || e == "svgz") {
                files.push(path);
            }
        }
    }
    files.sort();
    let read = files.iter().map(|f| std::fs::read(f).unwrap());
    read.filter(|bytes| bytes.len() < 12_000).collect()
}

fn damaged(examples: &[Vec<u8>], chance: &mut Chance) -> Vec<u8> {
    let mut bytes = examples[below(chance, examples.len())].clone();
    for _ in 0..=chance.below(6) {
        let at = below(chance, bytes.len());
        let length = 1 + below(chance, 60);
        let end = (at + length).min(bytes.len());
        match chance.below(8) {
            0 => bytes[at] = chance.below(256) as u8,
            1 => drop(bytes.drain(at..end)),
            2 => {
                let part = bytes[at..end].to_vec();
                let to = below(chance, bytes.len());
                bytes.splice(to..to, part.repeat(1 + below(chance, 40)));
            }
            3 => bytes.truncate(at.max(1)),
            4 => {
                let other = &examples[below(chance, examples.len())];
                let from = below(chance, other.len());
                let upto = (from + 8 * length).min(other.len());
                bytes.splice(at..at, other[from..upto].iter().copied());
            }
            5 => {
                // A digit for a digit: still a drawing, with other numbers.
                if let Some(digit) = bytes[at..].iter_mut().find(|b| b.is_ascii_digit()) {
                    *digit = b'0' + chance.below(10) as u8;
                }
            }
            _ => {
                let word = WORDS[below(chance, WORDS.len())];
                bytes.splice(at..at, word.bytes());
            }
        }
        if bytes.is_empty() {
            bytes.push(b'<');
        }
    }
    bytes
}

/// Reads one file as the pipeline does; says whether it was read.
fn read(bytes: Vec<u8>, faces: &Faces) -> bool {
    let Ok(source) = Source::from_bytes("damaged.svg", bytes) else {
        return false;
    };
    let reading = ReadOptions {
        units: jigwarden::tested::artwork::length::RootUnits::CSS,
        placing: None,
        faces,
    };
    let Ok(artwork) = resolve(&source, &reading) else {
        return false;
    };
    let c = artwork.census;
    assert_eq!(c.candidates, c.marks + c.parts + c.inert + c.unproven);
    for mark in &artwork.marks {
        if let Some(bounds) = mark.ink().bounds() {
            assert!(bounds.is_finite(), "{bounds:?}");
        }
        assert!(source.text.get(mark.origin.range.clone()).is_some());
    }
    for unproven in &artwork.unproven {
        assert!(source.text.get(unproven.origin.range.clone()).is_some());
        assert!(!unproven.help.is_empty());
    }
    true
}

#[test]
fn damaged_examples_are_read_or_refused() {
    let examples = examples();
    assert!(examples.len() > 20, "only {} examples", examples.len());
    let work = move || {
        let faces = Faces::new(Vec::new(), false);
        let mut whole = 0;
        for seed in 0..FILES {
            let bytes = damaged(&examples, &mut Chance::new(seed));
            let kept = bytes.clone();
            let started = Instant::now();
            let result =
                std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| read(bytes, &faces)));
            let took = started.elapsed();
            let Ok(read) = result else {
                panic!("seed {seed} crashed: {}", String::from_utf8_lossy(&kept));
            };
            assert!(
                took < LATE,
                "seed {seed} took {took:?}: {}",
                String::from_utf8_lossy(&kept)
            );
            whole += usize::from(read);
        }
        whole
    };
    let thread = std::thread::Builder::new().stack_size(256 << 20);
    let whole = thread.spawn(work).unwrap().join().unwrap();
    // Neither all refused nor none: the damage is worth its while.
    assert!(
        (100..1_400).contains(&whole),
        "{whole} of {FILES} were read"
    );
}
