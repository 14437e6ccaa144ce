//! What the tests share: inspecting a text against an example fixture, and its findings in short.
#![allow(dead_code, missing_docs, unreachable_pub)]
#![allow(clippy::unwrap_used, clippy::panic)]

pub mod bench;
pub mod chance;
#[cfg(unix)]
pub mod command;
pub mod dialects;
pub mod outline;
pub mod run;
pub mod sheet;
pub mod tags;

use std::path::{Path, PathBuf};

use jigwarden::tested::finding::{Finding, Severity};
use jigwarden::tested::inspect::{Options, inspect};
use jigwarden::tested::report::Run;

/// The folder of an example fixture.
pub fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures-examples")
        .join(name)
}

/// Options without the machine's own fonts: a test must not depend on what is installed.
pub fn asked(fixture: &Path) -> Options {
    Options {
        fixture: Some(fixture.to_path_buf()),
        machine_fonts: false,
        ..Options::default()
    }
}

/// Inspects bytes under a file name against a fixture.
pub fn inspect_bytes(bytes: &[u8], name: &str, asked: &Options) -> Run {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(name);
    std::fs::write(&file, bytes).unwrap();
    inspect(&file, asked, |_, _| ()).0
}

/// Inspects a drawing against an example fixture.
pub fn inspect_text(svg: &str, fixture_name: &str) -> Run {
    inspect_bytes(svg.as_bytes(), "run.svg", &asked(&fixture(fixture_name)))
}

/// A finding in short: rule and pocket.
pub type Short = (String, Option<String>);

pub fn short(rule: &str, pocket: &str) -> Short {
    (
        rule.to_owned(),
        (!pocket.is_empty()).then(|| pocket.to_owned()),
    )
}

/// Rule and pocket of every finding that is no note, in a fixed order.
pub fn weighty(run: &Run) -> Vec<Short> {
    assert!(run.trouble.is_none(), "not inspected: {:?}", run.trouble);
    let mut all: Vec<Short> = run
        .findings
        .iter()
        .filter(|f| f.severity != Severity::Note)
        .map(|f| (f.rule.to_owned(), f.pocket.clone()))
        .collect();
    all.sort();
    all.dedup();
    all
}

/// The only finding of a run that is no note.
pub fn only(run: &Run) -> &Finding {
    let weighty: Vec<&Finding> = run
        .findings
        .iter()
        .filter(|f| f.severity != Severity::Note)
        .collect();
    match weighty.as_slice() {
        [one] => one,
        _ => panic!("not one finding: {:#?} {:?}", run.findings, run.trouble),
    }
}

/// The finding of a rule.
pub fn of<'r>(run: &'r Run, rule: &str) -> &'r Finding {
    run.findings
        .iter()
        .find(|f| f.rule == rule)
        .unwrap_or_else(|| panic!("no {rule}: {:#?} {:?}", run.findings, run.trouble))
}
