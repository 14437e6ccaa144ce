//! Each stage by itself, on a run of twelve pockets with words and traced art:
//! `cargo bench --bench stages`.
#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing)]

mod made;

use std::path::{Path, PathBuf};

use divan::Bencher;
use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::mark::Artwork;
use jigwarden::tested::artwork::source::Source;
use jigwarden::tested::fixture::Fixture;
use jigwarden::tested::inspect::{self, Options};
use jigwarden::tested::matching::{self, Job, MatchOptions};
use jigwarden::tested::report::Report;
use jigwarden::tested::report::text::{self, Look};
use jigwarden::tested::rules;
use made::Grid;

fn main() {
    divan::main();
}

struct Case {
    file: PathBuf,
    fixture: Fixture,
    faces: Faces,
}

impl Case {
    fn with(art: impl Fn(&Grid) -> String, name: &str) -> Self {
        let grid = Grid::enrolled(Path::new(env!("CARGO_TARGET_TMPDIR")), 12, 90.0);
        Self {
            file: grid.run(name, &art(&grid)),
            fixture: Fixture::open(&grid.folder, &jigwarden::tested::rules::names()).unwrap(),
            faces: Faces::new(Vec::new(), false),
        }
    }

    fn words() -> Self {
        Self::with(Grid::words, "stage-words.svg")
    }

    fn traced() -> Self {
        Self::with(|g| g.traced(3_000, 4), "stage-traced.svg")
    }

    fn read(&self) -> Artwork {
        let source = Source::read(&self.file).unwrap();
        inspect::read(&source, &self.fixture.settings, &self.faces).unwrap()
    }
}

const HOW: MatchOptions = MatchOptions {
    loaded: None,
    follow_shift: true,
};

#[divan::bench]
fn read(bencher: Bencher) {
    let case = Case::traced();
    bencher.bench_local(|| Source::read(&case.file).unwrap().xml().is_ok());
}

#[divan::bench]
fn resolve(bencher: Bencher) {
    let case = Case::traced();
    bencher.bench_local(|| case.read());
}

#[divan::bench]
fn lettering(bencher: Bencher) {
    let case = Case::words();
    bencher.bench_local(|| case.read());
}

#[divan::bench]
fn seat(bencher: Bencher) {
    let case = Case::traced();
    let artwork = case.read();
    bencher.bench_local(|| {
        matching::match_artwork(&artwork, &case.fixture, &HOW)
            .art
            .len()
    });
}

#[divan::bench(sample_count = 5)]
fn rules_on_traced_art(bencher: Bencher) {
    let case = Case::traced();
    let artwork = case.read();
    let job = Job::shown_only(matching::match_artwork(&artwork, &case.fixture, &HOW));
    bencher.bench_local(|| rules::run(&job));
}

#[divan::bench(sample_count = 5)]
fn rules_on_words(bencher: Bencher) {
    let case = Case::words();
    let artwork = case.read();
    let job = Job::shown_only(matching::match_artwork(&artwork, &case.fixture, &HOW));
    bencher.bench_local(|| rules::run(&job));
}

#[divan::bench]
fn render(bencher: Bencher) {
    let grid = Grid::enrolled(Path::new(env!("CARGO_TARGET_TMPDIR")), 12, 90.0);
    let file = grid.run("stage-wrong.svg", &grid.wrong(12));
    let asked = Options {
        fixture: Some(grid.folder.clone()),
        ..Options::default()
    };
    let report = Report {
        runs: vec![inspect::inspect(&file, &asked, |_, _| ()).0],
    };
    let look = Look {
        width: 100,
        unicode: true,
        colour: false,
        every: true,
        quiet: false,
        excerpts: true,
    };
    bencher.bench_local(|| text::render(&report, &look));
}
