//! Any bytes as a file: read or refused, with a census that adds up and ink that is finite.
#![no_main]

use std::sync::LazyLock;

use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::resolve::{ReadOptions, resolve};
use jigwarden::tested::artwork::source::Source;
use libfuzzer_sys::fuzz_target;

static FACES: LazyLock<Faces> = LazyLock::new(|| Faces::new(Vec::new(), false));

fuzz_target!(|bytes: &[u8]| {
    let Ok(source) = Source::from_bytes("fuzzed.svg", bytes.to_vec()) else {
        return;
    };
    let reading = ReadOptions {
        units: jigwarden::tested::artwork::length::RootUnits::CSS,
        placing: None,
        faces: &FACES,
    };
    if let Ok(artwork) = resolve(&source, &reading) {
        let c = artwork.census;
        assert_eq!(c.candidates, c.marks + c.parts + c.inert + c.unproven);
        for mark in &artwork.marks {
            assert!(mark.ink().bounds().is_none_or(|b| b.is_finite()));
        }
    }
});
