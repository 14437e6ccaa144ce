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
