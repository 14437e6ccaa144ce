//! Paths that are not regular files, circular links, deceptive names; the program itself is run.
#![cfg(unix)]

use std::ffi::OsStr;
use std::os::unix::ffi::OsStrExt as _;
use std::path::Path;
use std::process::Command;

use super::common::bench::{off_outlines, others, page};
use super::common::command::{command, run};

/// A folder with an enrolled fixture and a sound run.
fn folder() -> tempfile::TempDir {
    super::common::bench::Bench::new().into_folder()
}

fn sound() -> String {
    page(&(off_outlines() + &others(&[])))
}

fn pipe(path: &Path) {
    let made = Command::new("mkfifo").arg(path).status().unwrap();
    assert!(made.success());
}

fn inspect(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let words: Vec<&OsStr> = arguments.iter().map(OsStr::new).collect();
    let said = run(folder, &words, None);
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (said.status.unwrap(), text(&said.out), text(&said.err))
}

#[test]
fn a_pipe_is_refused_and_not_waited_for() {
    let folder = folder();
    let root = folder.path();
    std::fs::create_dir(root.join("runs")).unwrap();
    std::fs::write(root.join("runs/a.svg"), sound()).unwrap();
    pipe(&root.join("runs/b.svg"));
    let (status, out, err) = inspect(root, &["runs/b.svg"]);
    assert_eq!(status, 2, "{out}{err}");
    assert!(err.contains("is not an ordinary file"), "{err}");
    let (status, out, err) = inspect(root, &["runs"]);
    assert_eq!(status, 2, "{out}{err}");
    assert!(out.contains("a.svg"), "{out}");
    pipe(&root.join("orders.csv"));
    let (status, _, err) = inspect(
        root,
        &["runs/a.svg", "--names", "orders.csv", "--column", "name"],
    );
    assert_eq!(status, 2, "{err}");
    for name in ["fixture.lock.json", "fixture.toml", "fixture.svg"] {
        let other = self::folder();
        let root = other.path();
        std::fs::write(root.join("a.svg"), sound()).unwrap();
        std::fs::remove_file(root.join(name)).unwrap();
        pipe(&root.join(name));
        let (status, _, err) = inspect(root, &["a.svg"]);
        assert_eq!(status, 2, "{name}: {err}");
    }
}

#[test]
fn a_file_is_inspected_once_however_links_lead_to_it() {
    let folder = folder();
    let root = folder.path();
    let runs = root.join("runs");
    std::fs::create_dir_all(runs.join("deep")).unwrap();
    std::fs::write(runs.join("a.svg"), sound()).unwrap();
    std::os::unix::fs::symlink("..", runs.join("deep/up")).unwrap();
    std::os::unix::fs::symlink(&runs, runs.join("deep/again")).unwrap();
    std::os::unix::fs::symlink("a.svg", runs.join("same.svg")).unwrap();
    let (status, out, err) = inspect(root, &["runs", "--format", "json"]);
    assert_eq!(status, 0, "{out}{err}");
    assert_eq!(out.matches("\"verdict\"").count(), 1, "{out}");
}

#[test]
fn a_name_cannot_fake_a_line_or_hide() {
    let folder = folder();
    let root = folder.path();
    for name in [
        "a\u{1b}[2K.svg",
        "b\nCLEAR  monday.svg",
        "c\u{9b}2K.svg",
        "d\u{202e}gvs.svg",
        "e\u{ad}\u{61c}.svg",
    ] {
        std::fs::write(root.join(name), "<svg").unwrap();
        for form in ["text", "json", "sarif"] {
            let (status, out, err) = inspect(root, &[name, "--format", form]);
            assert_eq!(status, 2, "{name:?}");
            for said in [&out, &err] {
                let bad = |c: char| c != '\n' && jigwarden::tested::paths::disturbs(c);
                assert!(!said.contains(bad), "{name:?} {form}: {said:?}");
                assert!(!said.lines().any(|l| l.starts_with("CLEAR")), "{said}");
            }
        }
        // A sound run of that name, mended and recorded.
        std::fs::write(root.join(name), sound()).unwrap();
        for line in [
            "inspect @",
            "inspect @ --record record.jsonl --by me",
            "record record.jsonl",
            "mend @ --dry-run",
            "mend @ -o mended.svg",
            "proof @ -o proof.html",
        ] {
            let words = line
                .split(' ')
                .map(|w| OsStr::new(if w == "@" { name } else { w }));
            let said = command(root, &words.collect::<Vec<_>>(), None);
            let all = [said.out, said.err].concat();
            let all = String::from_utf8_lossy(&all);
            let bad = |c: char| c != '\n' && jigwarden::tested::paths::disturbs(c);
            assert_eq!(said.status, Some(0), "{line}: {all}");
            assert!(!all.contains(bad), "{line}: {all:?}");
            assert!(
                !all.lines().any(|l| l.starts_with("CLEAR  monday")),
                "{all}"
            );
        }
        let missing = format!("missing{name}");
        let (_, _, err) = inspect(root, &[&missing]);
        assert!(
            !err.trim_end().contains(['\u{1b}', '\u{9b}', '\u{202e}']),
            "{err:?}"
        );
        assert!(!err.lines().any(|l| l.starts_with("CLEAR")), "{err}");
    }
    // Signs in the file itself, too.
    let file = sound().replace(
        "</svg>",
        "<g id='x\u{85}\u{202e}y'><widget id='q\u{202e}\u{9c}'/></g></svg>",
    );
    std::fs::write(root.join("e.svg"), file).unwrap();
    for form in ["json", "sarif"] {
        let (_, out, _) = inspect(root, &["e.svg", "--format", form]);
        assert!(
            !out.contains(|c: char| c != '\n' && jigwarden::tested::paths::disturbs(c)),
            "{out:?}"
        );
        let value: serde_json::Value = serde_json::from_str(&out).unwrap();
        if form == "json" {
            let id = value["runs"][0]["findings"][0]["source"]["id"]
                .as_str()
                .unwrap();
            assert_eq!(id, "q\u{202e}\u{9c}");
        }
    }
}

#[test]
fn a_name_that_is_no_text_can_be_found_again() {
    let folder = folder();
    let root = folder.path();
    let name = OsStr::from_bytes(b"caf\xe9.svg");
    std::fs::write(root.join(name), sound()).unwrap();
    let say = |form: &str| {
        let said = run(
            root,
            &[name, OsStr::new("--format"), OsStr::new(form)],
            None,
        );
        assert_eq!(said.status, Some(0));
        String::from_utf8(said.out).unwrap()
    };
    assert!(say("text").contains("caf\\xe9.svg"), "{}", say("text"));
    let json: serde_json::Value = serde_json::from_str(&say("json")).unwrap();
    assert_eq!(json["runs"][0]["uri"], "caf%E9.svg");
    assert_eq!(json["runs"][0]["file"], "caf\\xe9.svg");
    assert!(say("sarif").contains("\"uri\": \"caf%E9.svg\""));
}

/// Every argument that is a path, of every command: what is no file, or no folder, is said and not waited
/// for.
#[test]
fn nothing_waits_for_a_pipe_a_device_or_a_folder() {
    let folder = folder();
    let root = folder.path();
    std::fs::write(root.join("a.svg"), sound()).unwrap();
    std::fs::write(root.join("orders.csv"), "name\nAda\n").unwrap();
    std::fs::create_dir(root.join("dir")).unwrap();
    pipe(&root.join("p.svg"));
    pipe(&root.join("p.html"));
    let listed = "a.svg --names @ --column name";
    let lines: Vec<String> = [
        "inspect @",
        "inspect a.svg --fixture @",
        "inspect a.svg --fixtures @",
        &format!("inspect {listed}"),
        "inspect a.svg --fonts @",
        "inspect a.svg --proof @",
        "inspect a.svg --record @ --by me",
        "enrol @",
        "enrol . --proof @",
        "enrol . --fonts @",
        "watch @",
        "watch a.svg --cleared @",
        "proof @ -o new.html",
        "proof a.svg -o @",
        &format!("proof {listed} -o new.html"),
        "mend @ -o new.svg",
        "mend a.svg -o @",
        "mend a.svg --fixture @ -o new.svg",
        "plan --outline @ --bed 200mm 150mm --count 1 -o planned",
        "plan --round 20mm --bed 200mm 150mm --count 1 -o @",
        "fill @ --column name -o out --fixture .",
        "fill orders.csv --column name -o @ --fixture .",
        "fill orders.csv --column name -o out --fixture @",
        "fill orders.csv --column name -o out --fixture . --record @ --by me",
        "record @",
        "record a.svg -o @",
    ]
    .into_iter()
    .map(str::to_owned)
    .collect();
    for line in &lines {
        for odd in ["p.svg", "p.html", "/dev/zero", "/dev/null", "dir"] {
            // A folder is what these ask for, and a folder that is watched is watched.
            if odd == "dir"
                && (line.contains("--fonts @") || line.contains(" -o @") || line == "watch @")
            {
                continue;
            }
            let words = line.replace('@', odd);
            let words: Vec<&OsStr> = words.split(' ').map(OsStr::new).collect();
            let said = command(root, &words, None);
            let (out, err) = (
                String::from_utf8_lossy(&said.out),
                String::from_utf8_lossy(&said.err),
            );
            // The fixture beside the run is nearer than a folder of fixtures.
            if line.contains("--fixtures @") {
                continue;
            }
            assert_eq!(said.status, Some(2), "{words:?}: {out}{err}");
            assert!(
                !err.trim().is_empty() && !err.contains("panicked"),
                "{words:?}: {out}{err}"
            );
        }
    }
}

/// What stands in a list or in the settings is shown in plain signs, and on the line where it is quoted.
#[test]
fn lists_and_settings_cannot_fake_a_line_or_hide() {
    let folder = folder();
    let root = folder.path();
    std::fs::write(root.join("run.svg"), sound()).unwrap();
    let plain = |line: &str, status: i32| {
        let words: Vec<&OsStr> = line.split(' ').map(OsStr::new).collect();
        let said = command(root, &words, None);
        let all = String::from_utf8_lossy(&[said.out, said.err].concat()).into_owned();
        let bad = |c: char| c != '\n' && jigwarden::tested::paths::disturbs(c);
        assert_eq!(said.status, Some(status), "{line}: {all}");
        assert!(!all.contains(bad), "{line}: {all:?}");
        assert!(!all.lines().any(|l| l.starts_with("CLEAR  x")), "{all}");
    };
    for list in [
        "a\u{1b}[2K,b\nAda,1\n",
        "\"a\nCLEAR  x\",b\nAda,1\n",
        "name,quantity\nAda,\u{1b}[2K\n",
        "name,quantity\nAda,\"\nCLEAR  x\"\n",
        "name,quantity\nAda,\u{202e}1\n",
    ] {
        std::fs::write(root.join("list.csv"), list).unwrap();
        for form in ["text", "json", "sarif"] {
            plain(
                &format!(
                    "inspect run.svg --names list.csv --column name --quantity quantity --format {form}"
                ),
                2,
            );
        }
        plain(
            "fill list.csv --column name --quantity quantity -o filled",
            2,
        );
    }
    let settings = std::fs::read_to_string(root.join("fixture.toml")).unwrap();
    std::fs::write(
        root.join("fixture.toml"),
        settings.replace("\"Bench\"", "\"Be\u{202e}nch\""),
    )
    .unwrap();
    plain("enrol . --renew", 0);
    std::fs::write(root.join("fixture.toml"), "x\"\u{1b}[2K\"=1\n").unwrap();
    plain("inspect run.svg", 2);
    plain("enrol .", 2);
}

/// A run is not judged by the next fixture above because the nearest settings cannot be read.
#[test]
fn settings_that_cannot_be_read_do_not_leave_the_run_to_another_fixture() {
    let folder = folder();
    let inner = folder.path().join("inner");
    std::fs::create_dir(&inner).unwrap();
    std::fs::write(inner.join("run.svg"), sound()).unwrap();
    std::fs::write(inner.join("list.csv"), "name\nAda\n").unwrap();
    let settings = inner.join("fixture.toml");
    // Without settings of its own the folder belongs to the fixture above.
    assert_eq!(inspect(&inner, &["run.svg"]).0, 0);
    for what in ["pipe", "link", "folder"] {
        match what {
            "pipe" => pipe(&settings),
            "link" => std::os::unix::fs::symlink("gone.toml", &settings).unwrap(),
            _ => std::fs::create_dir(&settings).unwrap(),
        }
        for line in [
            "inspect run.svg",
            "inspect run.svg --fixtures ../..",
            "inspect run.svg --format json",
            "inspect .",
            "proof run.svg -o proof.html",
            "mend run.svg -o mended.svg",
            "fill list.csv --column name -o filled",
        ] {
            let words: Vec<&OsStr> = line.split(' ').map(OsStr::new).collect();
            let said = command(&inner, &words, None);
            let (out, err) = (
                String::from_utf8_lossy(&said.out),
                String::from_utf8_lossy(&said.err),
            );
            assert_eq!(said.status, Some(2), "{what}, {line}: {out}{err}");
            assert!(!out.contains("CLEAR"), "{what}, {line}: {out}");
            assert!(err.contains("fixture.toml"), "{what}, {line}: {err}");
        }
        if what == "folder" {
            std::fs::remove_dir(&settings).unwrap();
        } else {
            std::fs::remove_file(&settings).unwrap();
        }
    }
}

/// A watch waits for files that are not there yet; a pipe or a device never becomes one.
#[test]
fn a_watch_is_not_begun_with_what_never_becomes_a_file() {
    let folder = folder();
    let root = folder.path();
    std::fs::create_dir(root.join("runs")).unwrap();
    pipe(&root.join("pipe"));
    std::fs::write(root.join("file"), "").unwrap();
    for line in [
        "watch runs --fixture @",
        "watch runs --fixtures @",
        "watch runs --names @ --column name",
        "watch runs --record @ --by me",
        "watch runs --on-hold @",
        "watch runs --on-clear @",
    ] {
        for odd in ["pipe", "/dev/zero"] {
            let words = line.replace('@', odd);
            let words: Vec<&OsStr> = words.split(' ').map(OsStr::new).collect();
            let said = command(root, &words, None);
            let err = String::from_utf8_lossy(&said.err);
            assert_eq!(said.status, Some(2), "{words:?}: {err}");
            assert!(
                err.contains(&format!("{odd} is neither a file nor a folder")),
                "{words:?}: {err}"
            );
        }
    }
}

/// A name is told the same way by every command: no sign of it acts on the terminal, and none is lost.
#[test]
fn every_command_names_what_it_cannot_read_in_plain_signs() {
    let folder = folder();
    let root = folder.path();
    std::fs::write(root.join("a.svg"), sound()).unwrap();
    std::fs::write(root.join("orders.csv"), "name\nAda\n").unwrap();
    let odd = OsStr::from_bytes(b"x\x1b[2K\nCLEAR \xe9.svg");
    let lines = [
        "inspect @",
        "inspect a.svg --fixture @",
        "inspect a.svg --fixtures @",
        "inspect a.svg --names @ --column name",
        "inspect a.svg --fonts @",
        "inspect a.svg --proof @",
        "inspect a.svg --proof @/p.html",
        "inspect a.svg --record @/r --by me",
        "enrol @",
        "enrol . --proof @",
        "watch @",
        "watch . --cleared a.svg/@",
        "proof @ -o new.html",
        "proof a.svg -o @",
        "mend @ -o new.svg",
        "mend a.svg -o @/b.svg",
        "plan --outline @ --bed 200mm 150mm --count 1 -o planned",
        "fill @ --column name -o out --fixture .",
        "fill orders.csv --column name -o a.svg/@ --fixture .",
        "fill orders.csv --column name -o out --fixture @",
        "record @",
        "explain @",
    ];
    for line in lines {
        let words: Vec<std::ffi::OsString> = line
            .split(' ')
            .map(|word| match word.split_once('@') {
                Some((before, after)) => {
                    let mut whole = std::ffi::OsString::from(before);
                    whole.push(odd);
                    whole.push(after);
                    whole
                }
                None => word.into(),
            })
            .collect();
        let words: Vec<&OsStr> = words.iter().map(std::ffi::OsString::as_os_str).collect();
        let said = command(root, &words, None);
        for stream in [&said.out, &said.err] {
            let text = String::from_utf8_lossy(stream);
            let bad = |c: char| c != '\n' && jigwarden::tested::paths::disturbs(c);
            assert!(!text.contains(bad), "{line}: {text:?}");
            assert!(!text.contains('\u{fffd}'), "{line}: {text:?}");
            assert!(
                !text.lines().any(|l| l.starts_with("CLEAR \\")),
                "{line}: {text}"
            );
        }
        assert_ne!(said.status, None, "{line}");
    }
}

/// One way to name a file everywhere: `src/paths.rs`.
#[test]
fn no_path_is_shown_by_any_other_way() {
    fn look(folder: &Path, found: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                look(&path, found);
            } else if path.extension().is_some_and(|e| e == "rs") && !path.ends_with("tests.rs") {
                let text = std::fs::read_to_string(&path).unwrap();
                found.extend(
                    text.lines()
                        .filter(|l| l.contains(".display()"))
                        .map(|l| format!("{}: {}", path.display(), l.trim())),
                );
            }
        }
    }
    let mut found = Vec::new();
    look(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src"),
        &mut found,
    );
    assert!(
        found.is_empty(),
        "use `printable()` of `src/paths.rs`:\n{}",
        found.join("\n")
    );
}
