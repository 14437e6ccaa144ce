//! The exercises for new staff: the program agrees with the answers, and what should be clear after
//! mending is clear.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples")
}

/// The exercises change files, and `enrol` writes some.
fn practice() -> tempfile::TempDir {
    fn copy(from: &Path, to: &Path) {
        std::fs::create_dir_all(to).unwrap();
        for entry in std::fs::read_dir(from).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap();
            if path.is_dir() {
                copy(&path, &to.join(name));
            } else if name != "fixture.lock.json" || !from.starts_with(root().join("drawings")) {
                std::fs::copy(&path, to.join(name)).unwrap();
            }
        }
    }
    let folder = tempfile::tempdir().unwrap();
    copy(&root(), folder.path());
    folder
}

fn run(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .current_dir(folder)
        .env("COLUMNS", "100")
        .args(args)
        .output()
        .unwrap()
}

/// Replaces what is there exactly once.
fn mend(file: &Path, from: &str, to: &str) {
    let text = std::fs::read_to_string(file).unwrap();
    assert_eq!(text.matches(from).count(), 1, "{}: {from}", file.display());
    std::fs::write(file, text.replace(from, to)).unwrap();
}

#[test]
fn every_answer_is_what_the_program_says() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let folder = practice();
    let mut commands = 0;
    for block in readme.split("```text\n").skip(1) {
        let (block, _) = block.split_once("\n```").unwrap();
        for shown in block.split("$ jigwarden ").skip(1) {
            let (command, said) = shown.split_once('\n').unwrap();
            let args: Vec<&str> = command.split_whitespace().collect();
            let output = run(folder.path(), &args);
            let now = String::from_utf8_lossy(&output.stdout);
            assert_eq!(now.trim_end(), said.trim_end(), "jigwarden {command}");
            commands += 1;
        }
    }
    assert!(commands >= 13, "only {commands} commands were found");
}

#[test]
fn what_is_mended_as_the_answers_say_is_clear() {
    let folder = practice();
    let at = |file: &str| folder.path().join(file);
    let status = |args: &[&str]| run(folder.path(), args).status.code();
    let verdict = |file: &str| status(&["inspect", "--quiet", file]);

    let name = "hive-tags/hold/past-zone--long-name.svg";
    mend(
        &at(name),
        "font-size=\"5\">Meadowsweet",
        "font-size=\"3.7\">Meadowsweet",
    );
    assert_eq!(verdict(name), Some(1));
    mend(
        &at(name),
        "x=\"94\" y=\"358\" font-size=\"3.7\"",
        "x=\"93.9\" y=\"358\" font-size=\"3.7\"",
    );
    assert_eq!(verdict(name), Some(0));

    let near = "hive-tags/hold/outside-bed--no-run-out.svg";
    let held = std::fs::read_to_string(at(near)).unwrap();
    mend(&at(near), "font-size=\"6.4\"", "font-size=\"5\"");
    assert_eq!(verdict(near), Some(0));
    // The same name at the same size, changed over with A2's.
    std::fs::write(at(near), held).unwrap();
    mend(
        &at(near),
        "<text x=\"22\" y=\"358\" ",
        "<text x=\"58\" y=\"358\"  ",
    );
    mend(
        &at(near),
        "<text x=\"58\" y=\"358\" font-size=\"5\">Clover",
        "<text x=\"22\" y=\"358\" font-size=\"5\">Clover",
    );
    assert_eq!(verdict(near), Some(0));

    let patch = "hive-tags/hold/hidden-but-live--under-a-patch.svg";
    let text = std::fs::read_to_string(at(patch)).unwrap();
    let without: Vec<&str> = text.lines().filter(|l| !l.contains("Willow")).collect();
    std::fs::write(at(patch), without.join("\n")).unwrap();
    let output = run(folder.path(), &["inspect", patch]);
    assert_eq!(output.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&output.stdout).contains("[off-centre]"));

    let exchanged = "hive-tags/hold/name-missing--two-exchanged.svg";
    let listed = "hive-tags/hold/orders.csv";
    assert_eq!(
        status(&[
            "inspect", "--quiet", "--names", listed, "--column", "Name", exchanged
        ]),
        Some(0)
    );

    let gap = "drawings/hold/open-cut--last-side-missing";
    assert_eq!(
        status(&["enrol", gap, "--proof", &format!("{gap}/gap.html")]),
        Some(1)
    );
    assert!(at(&format!("{gap}/gap.html")).is_file());
    mend(&at(&format!("{gap}/fixture.svg")), "v-59.6", "v-60.2z");
    let output = run(folder.path(), &["enrol", gap]);
    assert_eq!(output.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&output.stdout).contains("3 pockets: A1–A3"));
}
