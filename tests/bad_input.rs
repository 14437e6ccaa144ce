//! What cannot be inspected is said in a sentence that names the file and the way out, with exit
//! status 2 and the verdict "unread"; never a pass, never a crash.

use crate::common;

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use common::fixture;
use common::run::RunFile;

/// A copy of the hive tags, to be damaged, with one sound run file.
struct Bench {
    _folder: tempfile::TempDir,
    at: PathBuf,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path().join("tags");
        std::fs::create_dir(&at).unwrap();
        for file in ["fixture.svg", "fixture.toml", "fixture.lock.json"] {
            std::fs::copy(fixture("hive-tags").join(file), at.join(file)).unwrap();
        }
        std::fs::write(at.join("monday.svg"), RunFile::clear().svg()).unwrap();
        Self {
            _folder: folder,
            at,
        }
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        std::fs::write(self.at.join(name), bytes).unwrap();
    }

    fn edit(&self, name: &str, from: &str, to: &str) {
        let path = self.at.join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{from} is not in {name}");
        std::fs::write(&path, text.replacen(from, to, 1)).unwrap();
    }
}

fn program(at: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .current_dir(at)
        .args(args)
        .output()
        .unwrap()
}

/// Inspects a run that cannot be inspected; gives what is said on standard error.
fn unread(bench: &Bench, file: &str) -> String {
    let output = program(&bench.at, &["inspect", file]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{file}: {said}");
    let first = said.lines().next().unwrap_or_default().to_owned();
    assert!(!first.ends_with('.'), "{first}");
    assert!(!said.contains("panicked"), "{said}");

    // A script is told the same.
    let output = program(&bench.at, &["inspect", "--format", "json", file]);
    assert_eq!(output.status.code(), Some(2));
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let run = &json["runs"][0];
    assert_eq!(run["verdict"], "unread", "{json}");
    assert_eq!(run["file"], file);
    assert_eq!(run["findings"], serde_json::json!([]));
    said
}

/// Asserts that a text holds every one of some words.
fn says(said: &str, words: &[&str]) {
    let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in words {
        assert!(flat.contains(word), "no \"{word}\" in: {said}");
    }
}

#[test]
fn the_bench_itself_is_sound() {
    let bench = Bench::new();
    let output = program(&bench.at, &["inspect", "monday.svg"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
}

#[test]
fn a_missing_file() {
    let said = unread(&Bench::new(), "tuesday.svg");
    says(&said, &["tuesday.svg", "does not exist", "check the name"]);
}

#[test]
fn an_empty_file() {
    let bench = Bench::new();
    bench.write("monday.svg", "");
    says(
        &unread(&bench, "monday.svg"),
        &["monday.svg", "empty", "export the drawing again"],
    );
    bench.write("monday.svg", "  \n\t\n");
    says(&unread(&bench, "monday.svg"), &["monday.svg", "export"]);
}

#[test]
fn a_picture_under_a_drawings_name() {
    let bench = Bench::new();
    bench.write(
        "monday.svg",
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\0\0\0\0",
    );
    says(&unread(&bench, "monday.svg"), &["monday.svg", "PNG", "SVG"]);
}

#[test]
fn broken_xml() {
    let bench = Bench::new();
    let whole = RunFile::clear().svg();
    let half: String = whole.chars().take(whole.len() / 2).collect();
    bench.write("monday.svg", half);
    says(&unread(&bench, "monday.svg"), &["monday.svg", "line"]);
    bench.write("monday.svg", whole.replace("</g>", ""));
    says(&unread(&bench, "monday.svg"), &["monday.svg", "line"]);
}

#[test]
fn a_file_that_is_no_drawing() {
    let bench = Bench::new();
    bench.write("monday.svg", "<html><body>sign in first</body></html>");
    says(
        &unread(&bench, "monday.svg"),
        &["monday.svg", "web page", "export the drawing as SVG"],
    );
}

#[test]
fn a_folder_without_artwork() {
    let bench = Bench::new();
    std::fs::create_dir(bench.at.join("next-week")).unwrap();
    let output = program(&bench.at, &["inspect", "next-week"]);
    assert_eq!(output.status.code(), Some(2));
    says(
        &String::from_utf8(output.stderr).unwrap(),
        &["next-week", "no artwork file", ".svg"],
    );
}

#[test]
fn no_fixture_anywhere() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("monday.svg"), RunFile::clear().svg()).unwrap();
    let output = program(folder.path(), &["inspect", "monday.svg"]);
    assert_eq!(output.status.code(), Some(2));
    says(
        &String::from_utf8(output.stderr).unwrap(),
        &["monday.svg", "fixture.toml", "--fixture", "--fixtures"],
    );
}

#[test]
fn a_fixture_that_is_not_there() {
    let bench = Bench::new();
    let output = program(
        &bench.at,
        &["inspect", "--fixture", "../coasters", "monday.svg"],
    );
    assert_eq!(output.status.code(), Some(2));
    says(&String::from_utf8(output.stderr).unwrap(), &["../coasters"]);
}

#[test]
fn no_lock() {
    let bench = Bench::new();
    std::fs::remove_file(bench.at.join("fixture.lock.json")).unwrap();
    says(
        &unread(&bench, "monday.svg"),
        &["fixture.lock.json", "not there", "jigwarden enrol"],
    );
}

#[test]
fn a_lock_from_another_version() {
    let bench = Bench::new();
    bench.edit("fixture.lock.json", "jigwarden-lock/1", "jigwarden-lock/9");
    says(
        &unread(&bench, "monday.svg"),
        &[
            "fixture.lock.json",
            "another version",
            "jigwarden-lock/9",
            "--renew",
        ],
    );
}

#[test]
fn a_lock_edited_by_hand() {
    let bench = Bench::new();
    bench.edit("fixture.lock.json", "\"head\": 0", "\"head\": 180");
    says(
        &unread(&bench, "monday.svg"),
        &["fixture.lock.json", "by hand", "enrol", "--renew"],
    );
}

#[test]
fn a_lock_that_is_no_lock() {
    let bench = Bench::new();
    bench.write("fixture.lock.json", "{ \"lock\": ");
    says(
        &unread(&bench, "monday.svg"),
        &["fixture.lock.json", "cannot be read", "--renew"],
    );
}

#[test]
fn a_lock_older_than_the_drawing() {
    let bench = Bench::new();
    bench.edit("fixture.svg", "</svg>", "<!-- one line more --></svg>");
    says(
        &unread(&bench, "monday.svg"),
        &["fixture.lock.json", "out of date", "drawing", "--renew"],
    );
}

#[test]
fn a_lock_older_than_the_settings() {
    let bench = Bench::new();
    bench.edit("fixture.toml", "width = \"600 mm\"", "width = \"610 mm\"");
    says(
        &unread(&bench, "monday.svg"),
        &["fixture.lock.json", "out of date", "bed", "--renew"],
    );
}

#[test]
fn a_drawing_that_is_gone() {
    let bench = Bench::new();
    std::fs::remove_file(bench.at.join("fixture.svg")).unwrap();
    says(
        &unread(&bench, "monday.svg"),
        &["fixture.toml", "fixture.svg", "put it back"],
    );
}

#[test]
fn settings_with_mistakes() {
    for (from, to, words) in [
        (
            "margin = \"2 mm\"",
            "margins = \"2 mm\"",
            &["fixture.toml", "margins", "margin"][..],
        ),
        (
            "width = \"600 mm\"",
            "width = 600",
            &["fixture.toml", "width", "600 mm"],
        ),
        (
            "body = \"64 mm\"",
            "body = \"64 ells\"",
            &["fixture.toml", "body", "mm"],
        ),
        (
            "head = \"back\"",
            "head = \"up\"",
            &["fixture.toml", "head", "back"],
        ),
        ("[bed]", "[bed", &["fixture.toml"]),
    ] {
        let bench = Bench::new();
        bench.edit("fixture.toml", from, to);
        says(&unread(&bench, "monday.svg"), words);
    }
}

/// Over several files too: the mistake is one.
#[test]
fn a_mistake_in_the_settings_is_told_once() {
    let bench = Bench::new();
    bench.edit("fixture.toml", "margin = \"2 mm\"", "margins = \"2 mm\"");
    std::fs::copy(bench.at.join("monday.svg"), bench.at.join("tuesday.svg")).unwrap();
    for call in [
        &["inspect", "monday.svg", "tuesday.svg"][..],
        &["proof", "monday.svg", "-o", "p.html"],
        &["enrol", "."],
    ] {
        let output = program(&bench.at, call);
        assert_eq!(output.status.code(), Some(2));
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(said.matches("has a mistake").count(), 1, "{call:?}: {said}");
        assert_eq!(
            said.matches("no key \"margins\"").count(),
            1,
            "{call:?}: {said}"
        );
        assert!(!said.contains("Error:"), "{call:?}: {said}");
        says(&said, &["the nearest key here is `margin`"]);
    }
}

#[test]
fn a_word_finds_the_rules_that_speak_of_it() {
    let bench = Bench::new();
    for (typed, rule) in [
        ("moved", "pocket-moved"),
        ("Moved!", "pocket-moved"),
        ("shifts", "fixture-shifted"),
        ("hiden", "hidden-but-live"),
        ("pocket is missing", "pocket-missing"),
        ("white", "hidden-but-live"),
        ("transparent", "hidden-but-live"),
    ] {
        let output = program(&bench.at, &["explain", typed]);
        assert_eq!(output.status.code(), Some(2));
        let said = String::from_utf8(output.stderr).unwrap();
        says(&said, &["there is no rule", "the nearest", rule]);
        assert!(said.matches(',').count() <= 1, "{typed}: {said}");
    }
}

#[test]
fn settings_that_name_a_pocket_that_is_not_there() {
    let bench = Bench::new();
    let path = bench.at.join("fixture.toml");
    let text = std::fs::read_to_string(&path).unwrap()
        + "\n[[pocket]]\nnames = [\"C1\"]\nhead = \"front\"\n";
    std::fs::write(&path, text).unwrap();
    says(
        &unread(&bench, "monday.svg"),
        &["fixture.toml", "no pocket C1", "A1"],
    );
}

#[test]
fn loaded_pockets_that_are_not_there() {
    let bench = Bench::new();
    let output = program(&bench.at, &["inspect", "--loaded", "A1-A9", "monday.svg"]);
    assert_eq!(output.status.code(), Some(2));
    says(
        &String::from_utf8(output.stderr).unwrap(),
        &["--loaded", "A9"],
    );
}

#[test]
fn a_column_is_of_a_list() {
    let bench = Bench::new();
    bench.write("orders.csv", "Name\nAda\n");
    for args in [
        &["inspect", "--column", "Name", "monday.svg"][..],
        &["inspect", "-q", "--column", "Name", "monday.svg"],
        &[
            "inspect",
            "--column",
            "Name",
            "--quantity",
            "Qty",
            "monday.svg",
        ],
        &["proof", "monday.svg", "--column", "Name", "-o", "a.svg"],
        &["mend", "monday.svg", "--column", "Name", "-o", "b.svg"],
        &["watch", "missing", "--column", "Name"],
    ] {
        let output = program(&bench.at, args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        let said = String::from_utf8(output.stderr).unwrap();
        says(&said, &["--names"]);
    }
}

#[test]
fn a_pocket_to_mend_that_is_not_there() {
    let bench = Bench::new();
    let args = ["mend", "monday.svg", "--pocket", "Z1", "-o", "copy.svg"];
    let output = program(&bench.at, &args);
    assert_eq!(output.status.code(), Some(2));
    says(
        &String::from_utf8(output.stderr).unwrap(),
        &["--pocket", "Z1", "rows are A and B"],
    );
    assert!(!bench.at.join("copy.svg").exists());
    // As pockets are named elsewhere: capitals do not matter.
    let args = ["mend", "monday.svg", "--pocket", "a1", "-o", "copy.svg"];
    assert_eq!(program(&bench.at, &args).status.code(), Some(0));
}

#[test]
fn bad_usage() {
    let bench = Bench::new();
    for args in [
        &["inspect"][..],
        &["inspect", "--formats", "json", "monday.svg"],
        &["inspect", "--format", "xml", "monday.svg"],
        &["inspects", "monday.svg"],
        &["explain", "past-zones"],
        &[],
    ] {
        let output = program(&bench.at, args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(output.stdout.is_empty(), "{args:?}");
        assert!(!output.stderr.is_empty(), "{args:?}");
    }
    let near = program(&bench.at, &["explain", "past-zones"]);
    says(&String::from_utf8(near.stderr).unwrap(), &["past-zone"]);
    assert_eq!(program(&bench.at, &["--help"]).status.code(), Some(0));
    assert_eq!(program(&bench.at, &["--version"]).status.code(), Some(0));
}

/// The program alone says what lies here and what to do; it is no verdict, and standard output stays
/// empty.
#[test]
fn alone_it_says_what_is_here_and_what_is_next() {
    let bench = Bench::new();
    let alone = |at: &Path, words: &[&str]| {
        let output = program(at, &[]);
        assert_eq!(output.status.code(), Some(2));
        assert!(output.stdout.is_empty());
        says(&String::from_utf8(output.stderr).unwrap(), words);
    };
    alone(
        &bench.at,
        &[
            "\"Hive tags, twelve up\"",
            "12 pockets: A1–A6, B1–B6",
            "one run file, monday.svg",
            "next: jigwarden inspect monday.svg",
        ],
    );
    let runs = bench.at.join("runs of may");
    std::fs::create_dir(&runs).unwrap();
    alone(
        &runs,
        &[
            "12 pockets",
            "(in ",
            "no run file yet",
            "next: jigwarden watch .",
        ],
    );
    for name in ["one.svg", "two.svg"] {
        std::fs::copy(bench.at.join("monday.svg"), runs.join(name)).unwrap();
    }
    alone(&runs, &["2 run files", "next: jigwarden inspect ."]);
    alone(&bench.at, &["3 run files"]);
    // Above: no fixture, but one in a folder.
    let above = bench.at.parent().unwrap();
    alone(above, &["a fixture in tags", "next: cd tags"]);
    std::fs::write(above.join("my sheet.svg"), "<svg/>").unwrap();
    alone(
        above,
        &["one drawing", "next: jigwarden inspect . --fixtures ."],
    );
    // Not enrolled, and a mistake in the settings.
    std::fs::remove_file(bench.at.join("fixture.lock.json")).unwrap();
    alone(
        &bench.at,
        &["fixture.lock.json is not there", "next: jigwarden enrol ."],
    );
    bench.edit("fixture.toml", "margin = \"2 mm\"", "margins = \"2 mm\"");
    alone(
        &bench.at,
        &["has a mistake", "margins", "next: jigwarden enrol ."],
    );
    // No fixture anywhere.
    let empty = tempfile::tempdir().unwrap();
    alone(empty.path(), &["no fixture", "next: jigwarden plan --help"]);
    std::fs::write(empty.path().join("my sheet.svg"), "<svg/>").unwrap();
    alone(
        empty.path(),
        &["my sheet.svg", "next: jigwarden enrol \"my sheet.svg\""],
    );
}

#[test]
fn a_lock_that_differs_is_not_written_over() {
    let bench = Bench::new();
    let before = std::fs::read(bench.at.join("fixture.lock.json")).unwrap();
    // The drawing's A1 is 1 mm longer now.
    bench.edit("fixture.svg", "M11 388h22", "M11 389h22");
    let output = program(&bench.at, &["enrol", "."]);
    assert_eq!(output.status.code(), Some(2));
    says(
        &String::from_utf8(output.stderr).unwrap(),
        &[
            "fixture.lock.json",
            "not written over",
            "--renew",
            "pocket A1",
        ],
    );
    assert_eq!(
        std::fs::read(bench.at.join("fixture.lock.json")).unwrap(),
        before
    );

    let output = program(&bench.at, &["enrol", ".", "--renew"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    says(
        &String::from_utf8(output.stdout).unwrap(),
        &["pocket A1", "became"],
    );
    assert_ne!(
        std::fs::read(bench.at.join("fixture.lock.json")).unwrap(),
        before
    );
    let moved = program(&bench.at, &["inspect", "monday.svg"]);
    assert_eq!(moved.status.code(), Some(1));
}

#[test]
fn of_several_files_the_worst_decides_and_the_others_are_told() {
    let bench = Bench::new();
    bench.write("empty.svg", "");
    let output = program(
        &bench.at,
        &["inspect", "--format", "json", "monday.svg", "empty.svg"],
    );
    assert_eq!(output.status.code(), Some(2));
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(json["runs"][0]["verdict"], "clear");
    assert_eq!(json["runs"][1]["verdict"], "unread");
}
