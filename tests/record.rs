//! The record: what was acknowledged is there, whole, whatever was killed when.

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use crate::common::tags::{self, Tags};

use jigwarden::tested::record::append::append;
use jigwarden::tested::record::read::read;
use jigwarden::tested::record::{Entry, FORM, summary};

/// Where the child of [`a_kill_loses_nothing_that_was_acknowledged`] adds lines.
const RECORD: &str = "JIGWARDEN_TEST_RECORD";

fn entry(file: &str) -> Entry {
    Entry {
        record: FORM.to_owned(),
        time: "2026-11-27T14:03:00+01:00".to_owned(),
        file: file.to_owned(),
        sha256: "0".repeat(64),
        verdict: "clear".to_owned(),
        fixture: None,
        blanks: Vec::new(),
        findings: Vec::new(),
        list: None,
        by: Some("Kim \u{1fa90}".repeat(40)),
    }
}

/// Adds lines until it is killed, and says each as soon as it is acknowledged.
#[test]
#[ignore = "the child of another test"]
fn adds_until_it_is_killed() {
    let Some(file) = std::env::var_os(RECORD) else {
        return;
    };
    for i in 0.. {
        let name = format!("{}-{i}", std::process::id());
        append(Path::new(&file), &entry(&name)).unwrap();
        println!("added {name}");
    }
}

#[test]
fn a_kill_loses_nothing_that_was_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("record.jsonl");
    let mut acknowledged: Vec<String> = Vec::new();
    let mut killed = 0;
    while acknowledged.len() < 1_000 {
        let mut children: Vec<_> = (0..2)
            .map(|_| {
                Command::new(std::env::current_exe().unwrap())
                    .args(["--exact", "record::adds_until_it_is_killed"])
                    .args(["--ignored", "--nocapture"])
                    .env(RECORD, &file)
                    .stdout(Stdio::piped())
                    .stderr(Stdio::null())
                    .spawn()
                    .unwrap()
            })
            .collect();
        // Killed after another number of lines each time, in the middle of whatever they do.
        let wanted = 20 + 37 * killed % 60;
        let mut out = BufReader::new(children[0].stdout.take().unwrap());
        let mut line = String::new();
        let mut lines = 0;
        let added = |line: &str| line.trim().strip_prefix("added ").map(str::to_owned);
        while lines < wanted && out.read_line(&mut line).unwrap() > 0 {
            acknowledged.extend(added(&line));
            lines += usize::from(line.starts_with("added"));
            line.clear();
        }
        for child in &mut children {
            child.kill().unwrap();
            child.wait().unwrap();
        }
        let rest = children[1].stdout.take().unwrap();
        for line in out.lines().chain(BufReader::new(rest).lines()) {
            // The last line may itself be cut short.
            let line = line.unwrap_or_default();
            if let Some(name) = added(&line)
                && name.contains('-')
            {
                acknowledged.push(name);
            }
        }
        killed += 1;
    }
    let record = read(&file).unwrap();
    let there: std::collections::BTreeSet<&str> =
        record.entries.iter().map(|e| e.file.as_str()).collect();
    let lost: Vec<&String> = acknowledged
        .iter()
        .filter(|a| !there.contains(a.as_str()))
        .collect();
    assert!(lost.is_empty(), "lost after {killed} kills: {lost:?}");
    assert_eq!(there.len(), record.entries.len(), "no line stands twice");
    assert!(
        record
            .entries
            .iter()
            .all(|e| e.sha256.len() == 64 && e.by.is_some())
    );
    println!(
        "{} lines acknowledged, {} there, {} cut short, {killed} kills",
        acknowledged.len(),
        record.entries.len(),
        record.torn.len()
    );
}

fn jigwarden(args: &[&str], folder: &Path) -> (Option<i32>, String, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(args)
        .current_dir(folder)
        .output()
        .unwrap();
    let text = |b: &[u8]| String::from_utf8_lossy(b).into_owned();
    (out.status.code(), text(&out.stdout), text(&out.stderr))
}

#[test]
fn verdicts_are_recorded_and_found_again() {
    let tags = Tags::new("");
    let at = tags.folder.path();
    let page = |names: [&str; 3]| tags::page(&(tags::outlines(true) + &tags::names(names)));
    tags.write("monday.svg", page(["Ada", "Isolde", "Bo"]).as_bytes());
    tags.write("orders.csv", b"Name\nAda\nIsold\nBo\n");
    let inspect = |list: bool| {
        let mut args = vec![
            "inspect",
            "monday.svg",
            "--record",
            "shop.jsonl",
            "--by",
            "Kim",
        ];
        if list {
            args.extend(["--names", "orders.csv", "--column", "Name"]);
        }
        jigwarden(&args, at)
    };
    assert_eq!(inspect(true).0, Some(1));
    assert_eq!(inspect(true).0, Some(1));
    assert_eq!(inspect(false).0, Some(0));
    let fill = [
        "fill",
        "orders.csv",
        "--column",
        "Name",
        "-o",
        "out",
        "--record",
        "shop.jsonl",
    ];
    let (status, said, trouble) = jigwarden(&fill, at);
    assert_eq!(status, Some(0), "{said}{trouble}");

    let record = read(&at.join("shop.jsonl")).unwrap();
    assert_eq!((record.entries.len(), record.torn.len()), (4, 0));
    let [first, _, clear, filled] = record.entries.as_slice() else {
        panic!("{record:?}");
    };
    assert_eq!(
        (first.verdict.as_str(), first.by.as_deref()),
        ("hold", Some("Kim"))
    );
    assert_eq!(first.findings[0].rule, "name-missing");
    assert_eq!(first.list.as_ref().unwrap().file, "orders.csv");
    assert_eq!(first.fixture.as_ref().unwrap().name, "Tags");
    assert_eq!(clear.blanks[1].burnt, "Isolde");
    assert_eq!(clear.sha256.len(), 64);
    // RFC 3339 with an offset, as in 2026-11-27T14:03:00+01:00.
    assert_eq!((clear.time.len(), clear.time.as_bytes()[10]), (25, b'T'));
    assert_eq!(filled.file, "out/orders-1.svg");
    // The same slip at the next look is one slip.
    assert_eq!(
        summary::slips(&record).rules,
        [("name-missing".to_owned(), vec![1])]
    );

    let (status, said, _) = jigwarden(&["record", "shop.jsonl", "--find", "isolde"], at);
    assert_eq!(status, Some(0));
    assert!(
        said.contains("monday.svg, pocket A2") && said.contains("by Kim"),
        "{said}"
    );
    let (_, said, _) = jigwarden(&["record", "shop.jsonl", "--find", "Zed"], at);
    assert!(said.contains("no blank"), "{said}");
    let (status, said, _) = jigwarden(&["record", "shop.jsonl", "-o", "shop.html"], at);
    assert_eq!(status, Some(0));
    assert!(
        said.contains("2 clear, 2 hold") && said.contains("name-missing"),
        "{said}"
    );
    let page = std::fs::read_to_string(at.join("shop.html")).unwrap();
    assert!(
        page.contains("<svg") && page.contains("A2 Isolde"),
        "{page}"
    );

    // Nothing is added to a file that is something else, and the call says so.
    let before = std::fs::read(at.join("orders.csv")).unwrap();
    let (status, _, trouble) = jigwarden(&["inspect", "monday.svg", "--record", "orders.csv"], at);
    assert_eq!(status, Some(2));
    assert!(trouble.contains("no record"), "{trouble}");
    assert_eq!(std::fs::read(at.join("orders.csv")).unwrap(), before);
}

#[test]
fn a_watch_records_each_verdict() {
    let tags = Tags::new("");
    let at = tags.folder.path();
    let run = |names: [&str; 3]| tags::page(&(tags::outlines(true) + &tags::names(names)));
    std::fs::create_dir(at.join("runs")).unwrap();
    tags.write("runs/monday.svg", run(["Ada", "Isolde", "Bo"]).as_bytes());
    let file = at.join("shop.jsonl");
    let mut watch = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args([
            "watch",
            "runs",
            "--poll",
            "0.2",
            "--record",
            "shop.jsonl",
            "--by",
            "Kim",
        ])
        .current_dir(at)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let wait_for = |count: usize| {
        let started = std::time::Instant::now();
        loop {
            let entries = read(&file).map(|r| r.entries).unwrap_or_default();
            if entries.len() >= count || started.elapsed().as_secs() > 120 {
                return entries;
            }
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
    };
    let first = wait_for(1);
    tags.write(
        "runs/monday.svg",
        run(["Ada", "Isolde", "Bartholomew of Ely"]).as_bytes(),
    );
    let second = wait_for(2);
    watch.kill().unwrap();
    watch.wait().unwrap();
    assert_eq!((first.len(), first[0].verdict.as_str()), (1, "clear"));
    assert_eq!(first[0].by.as_deref(), Some("Kim"));
    assert_eq!(second[1].verdict, "hold", "{second:?}");
    assert_eq!(second[1].findings[0].rule, "past-zone");
}

/// Every way of recording, each with the run of its own folder.
const WAYS: [&[&str]; 3] = [
    &["inspect", "monday.svg", "--record"],
    &[
        "fill",
        "orders.csv",
        "--column",
        "Name",
        "-o",
        "out",
        "--record",
    ],
    &["watch", "runs", "--poll", "0.2", "--record"],
];

/// Runs one of [`WAYS`] until it ends, or until a watch had the time to record what it found: it has no status then.
fn recorded(way: &[&str], record: &str, folder: &Path) -> Option<i32> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_jigwarden"));
    command.args(way).arg(record).current_dir(folder);
    if way[0] != "watch" {
        return command.output().unwrap().status.code();
    }
    let before = std::fs::read(folder.join(record)).unwrap_or_default();
    let mut watch = command
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let started = std::time::Instant::now();
    let mut status = None;
    while status.is_none() && started.elapsed().as_secs() < 5 {
        std::thread::sleep(std::time::Duration::from_millis(100));
        status = watch.try_wait().unwrap();
        if std::fs::read(folder.join(record)).unwrap_or_default() != before {
            break;
        }
    }
    watch.kill().unwrap();
    watch.wait().unwrap();
    status.and_then(|s| s.code())
}

fn shop() -> Tags {
    let tags = Tags::new("");
    let run = tags::page(&(tags::outlines(true) + &tags::names(["Ada", "Isolde", "Bo"])));
    std::fs::create_dir(tags.folder.path().join("runs")).unwrap();
    tags.write("monday.svg", run.as_bytes());
    tags.write("runs/monday.svg", run.as_bytes());
    tags.write("orders.csv", b"Name\nAda\nIsolde\nBo\n");
    tags
}

#[test]
fn nothing_is_added_to_what_this_program_did_not_write() {
    let tags = shop();
    let at = tags.folder.path();
    let line = serde_json::to_string(&entry("a.svg")).unwrap();
    tags.write("pretty.json", b"{\n  \"name\": \"shop\"\n}\n");
    let pretty = serde_json::to_string_pretty(&entry("a.svg")).unwrap();
    tags.write("report.json", pretty.as_bytes());
    tags.write("brace.txt", b"{\n");
    tags.write("begun.json", b"{\"record\"\n: 1}\n");
    tags.write("more.json", b"{\"record\":\"jigwarden/1\",\"time\":1}\n");
    tags.write(
        "split.json",
        b"{\"record\":\"jigwarden/1\",\n\"time\":\"now\"}",
    );
    tags.write("blank.txt", b"\n\nnotes of the shop\n");
    tags.write("later.txt", format!("notes\n{line}\n").as_bytes());
    for record in [
        "fixture.lock.json",
        "fixture.toml",
        "fixture.svg",
        "orders.csv",
        "pretty.json",
        "report.json",
        "brace.txt",
        "begun.json",
        "more.json",
        "split.json",
        "blank.txt",
        "later.txt",
    ] {
        let before = std::fs::read(at.join(record)).unwrap();
        for way in WAYS {
            // A watch says so and goes on, and is waited for: one such file is enough.
            let goes_on = way[0] == "watch" && !record.starts_with("fixture.");
            if goes_on && record != "pretty.json" {
                continue;
            }
            let status = recorded(way, record, at);
            let expected = if goes_on { None } else { Some(2) };
            assert_eq!(status, expected, "{way:?} {record}");
            let after = std::fs::read(at.join(record)).unwrap();
            assert_eq!(before, after, "{way:?} {record}");
        }
    }
    // What is read stays as it is, even where there is nothing in it.
    tags.write("empty.csv", b"");
    tags.write("empty.svg", b"");
    let list = "inspect monday.svg --names empty.csv --column Name --record empty.csv";
    let run = "inspect empty.svg monday.svg --record empty.svg";
    for (words, file) in [(list, "empty.csv"), (run, "empty.svg")] {
        let words: Vec<&str> = words.split(' ').collect();
        let (status, _, trouble) = jigwarden(&words, at);
        assert_eq!(status, Some(2), "{trouble}");
        assert!(std::fs::read(at.join(file)).unwrap().is_empty(), "{file}");
    }
    // Nor does a record become a part of a fixture that is not there yet.
    std::fs::create_dir(at.join("new")).unwrap();
    for name in ["new/fixture.lock.json", "new/fixture.toml"] {
        for way in WAYS {
            recorded(way, name, at);
            assert!(!at.join(name).exists(), "{way:?} {name}");
        }
    }
}

#[test]
fn a_record_that_is_empty_or_was_cut_short_is_added_to() {
    let tags = shop();
    let at = tags.folder.path();
    let line = serde_json::to_string(&entry("a.svg")).unwrap();
    let (half, few) = (&line[..line.find("verdict").unwrap()], &line[..9]);
    for begun in [
        String::new(),
        few.to_owned(),
        half.to_owned(),
        format!("{few}\n{line}\n"),
        format!("{half}\n{line}\n"),
        format!("{line}\n{half}"),
        format!("{line}\n{few}"),
        line.clone(),
    ] {
        for way in WAYS {
            tags.write("shop.jsonl", begun.as_bytes());
            let before = read(&at.join("shop.jsonl")).map_or(0, |r| r.entries.len());
            let status = recorded(way, "shop.jsonl", at);
            let expected = if way[0] == "watch" { None } else { Some(0) };
            assert_eq!(status, expected, "{way:?} {begun}");
            let text = std::fs::read_to_string(at.join("shop.jsonl")).unwrap();
            assert!(text.starts_with(&begun), "{way:?} {begun}");
            let after = read(&at.join("shop.jsonl")).unwrap().entries.len();
            assert_eq!(after, before + 1, "{way:?} {begun}");
        }
    }
}

#[test]
fn a_line_of_something_else_was_not_cut_short() {
    let tags = shop();
    let line = serde_json::to_string(&entry("a.svg")).unwrap();
    let half = &line[..line.find("verdict").unwrap()];
    let said = |text: &str| {
        tags.write("shop.jsonl", text.as_bytes());
        let (status, said, _) = jigwarden(&["record", "shop.jsonl"], tags.folder.path());
        assert_eq!(status, Some(0), "{said}");
        said.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let garbage = said(&format!("{line}\ngarbage\n{line}\n{{\"a\":1}}\n"));
    assert!(!garbage.contains("crash"), "{garbage}");
    assert!(
        garbage.contains("lines 2 and 4 were not written by this program"),
        "{garbage}"
    );
    let torn = said(&format!("{line}\n{half}"));
    assert!(torn.contains("line 2 was cut short by a crash"), "{torn}");
    let both = said(&format!("{line}\nx\n{half}"));
    assert!(
        both.contains("line 3 was cut short by a crash")
            && both.contains("line 2 was not written by this program"),
        "{both}"
    );
    // Another file with one verdict at its end.
    let many = said(&format!("{}{line}\n", "x\n".repeat(2_000)));
    assert!(many.len() < 1_000 && many.contains("1988 more"), "{many}");
}
