//! Several runs with one list: what one run lacks another may hold.

use std::process::Command;

use serde_json::Value;

use crate::common::tags::{self, Tags};

/// Exit status, JSON and text of `inspect` over runs with these names.
fn inspected(tags: &Tags, list: &str, runs: &[[&str; 3]]) -> (Option<i32>, Value, String) {
    tags.write("week.csv", list.as_bytes());
    let mut args = vec!["inspect".to_owned()];
    for (i, names) in runs.iter().enumerate() {
        let name = format!("monday-{}.svg", i + 1);
        let art: String = names
            .iter()
            .enumerate()
            .filter(|(_, name)| !name.is_empty())
            .map(|(n, name)| tags::lettering(n, name, 5.0, ""))
            .collect();
        tags.write(&name, tags::page(&(tags::outlines(true) + &art)).as_bytes());
        args.push(name);
    }
    args.extend(["--names", "week.csv", "--column", "Name"].map(str::to_owned));
    if list.starts_with("Name,Qty") {
        args.extend(["--quantity", "Qty"].map(str::to_owned));
    }
    let run = |format: &str| {
        Command::new(env!("CARGO_BIN_EXE_jigwarden"))
            .args(&args)
            .args(["--format", format])
            .current_dir(tags.folder.path())
            .output()
            .unwrap()
    };
    let (json, text) = (run("json"), run("text"));
    let parsed = serde_json::from_slice(&json.stdout).unwrap();
    let text = String::from_utf8_lossy(&text.stdout).into_owned();
    (json.status.code(), parsed, text)
}

/// "monday-2.svg name-missing A1: …" of every finding about names.
fn found(report: &Value) -> Vec<String> {
    let mut out = Vec::new();
    for run in report["runs"].as_array().unwrap() {
        for f in run["findings"].as_array().unwrap() {
            let rule = f["rule"].as_str().unwrap();
            if rule.starts_with("name-") {
                let pocket = f["pocket"].as_str().unwrap_or("-");
                out.push(format!(
                    "{} {rule} {pocket}: {}",
                    run["file"].as_str().unwrap(),
                    f["message"].as_str().unwrap()
                ));
            }
        }
    }
    out
}

#[test]
fn a_set_that_holds_everybody_is_clear() {
    let tags = Tags::new("");
    let list = "Name,Qty\nAda,1\nIsolde,2\nBo,1\nCy,1\n";
    let (status, report, text) = inspected(
        &tags,
        list,
        &[["Ada", "Isolde", "Bo"], ["Isolde", "Cy", ""]],
    );
    assert_eq!((status, found(&report)), (Some(0), vec![]), "{text}");
    let orders = report["names"]["orders"].as_array().unwrap();
    let places: Vec<String> = orders
        .iter()
        .map(|o| {
            format!(
                "{} {} {} {}",
                o["name"].as_str().unwrap(),
                o["row"].as_str().unwrap(),
                o["file"].as_str().unwrap(),
                o["pocket"].as_str().unwrap()
            )
        })
        .collect();
    assert_eq!(
        places,
        [
            "Ada line 2 monday-1.svg A1",
            "Isolde line 3 monday-1.svg A2",
            "Isolde line 3 monday-2.svg A1",
            "Bo line 4 monday-1.svg A3",
            "Cy line 5 monday-2.svg A2",
        ]
    );
    assert_eq!(report["names"]["list"], "week.csv");
    assert_eq!(report["runs"][0]["rests_on"]["names"], "week.csv");
    assert_eq!(report["runs"][1]["blanks"][0]["burnt"], "Isolde");
    assert!(
        text.contains("5 names compared with week.csv over 2 runs"),
        "{text}"
    );
    assert!(
        text.contains("week.csv: 5 of 5 names held as ordered"),
        "{text}"
    );
    assert!(text.contains("monday-2.svg: A1 Isolde, A2 Cy"), "{text}");
}

#[test]
fn each_slip_is_told_once_where_it_is() {
    let tags = Tags::new("");
    let list = "Name\nAda\nJohn\nBo\nCy\nDi\n";
    for (runs, expected) in [
        // Dropped: told of the run that has room for it.
        (
            [["Ada", "John", ""], ["Bo", "Cy", "Olga"]],
            &["monday-1.svg name-missing -", "monday-2.svg name-extra A3"][..],
        ),
        (
            [["Ada", "Jhon", "Bo"], ["Cy", "Di", ""]],
            &["monday-1.svg name-missing A2"],
        ),
        (
            [["Ada", "John", "Bo"], ["Cy", "Di", "Ada"]],
            &["monday-2.svg name-twice A3"],
        ),
        (
            [["Ada", "John", "Bo"], ["Cy", "", ""]],
            &["monday-2.svg name-missing -"],
        ),
    ] {
        let (status, report, text) = inspected(&tags, list, &runs);
        let got = found(&report);
        assert_eq!(status, Some(1), "{text}");
        assert_eq!(got.len(), expected.len(), "{runs:?} {got:?}");
        for (got, expected) in got.iter().zip(expected) {
            assert!(
                got.starts_with(expected),
                "{runs:?}: actual {got}, expected {expected}"
            );
        }
    }
    let (_, report, _) = inspected(&tags, list, &[["Ada", "John", "Bo"], ["Cy", "Di", "Ada"]]);
    let said = &found(&report)[0];
    assert!(
        said.contains("A1 of monday-1.svg, A3 of monday-2.svg"),
        "{said}"
    );
    let (_, report, _) = inspected(&tags, list, &[["Ada", "John", "Bo"], ["Cy", "", ""]]);
    let said = &found(&report)[0];
    assert!(said.contains("in none of the 2 runs"), "{said}");
    assert_eq!(report["names"]["orders"][4]["file"], Value::Null);
}

#[test]
fn a_run_that_cannot_be_read_is_named_where_a_name_is_missing() {
    let tags = Tags::new("");
    tags.write("monday-3.svg", b"<svg");
    tags.write("week.csv", b"Name\nAda\nBo\nCy\nDi\n");
    tags.write(
        "monday-1.svg",
        tags::page(&(tags::outlines(true) + &tags::names(["Ada", "Bo", "Cy"]))).as_bytes(),
    );
    let out = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(["inspect", "monday-1.svg", "monday-3.svg"])
        .args(["--names", "week.csv", "--column", "Name"])
        .current_dir(tags.folder.path())
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(2));
    let text = String::from_utf8_lossy(&out.stdout).replace("\n     ", " ");
    assert!(text.contains("monday-3.svg could not be read"), "{text}");
}

#[test]
fn one_file_under_several_names_is_one_run() {
    let tags = Tags::new("");
    let at = tags.folder.path();
    std::fs::create_dir(at.join("monday")).unwrap();
    let page = tags::page(&(tags::outlines(true) + &tags::names(["Ada", "Bo", "Cy"])));
    tags.write("monday/a.svg", page.as_bytes());
    tags.write("week.csv", b"Name\nAda\nBo\nCy\n");
    std::fs::hard_link(at.join("monday/a.svg"), at.join("monday/hard.svg")).unwrap();
    let mut names = vec!["a.svg", "./a.svg", "../monday/a.svg", "hard.svg"];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("a.svg", at.join("monday/link.svg")).unwrap();
        names.push("link.svg");
    }
    let inspect = |runs: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
            .arg("inspect")
            .args(runs)
            .args(["--names", "../week.csv", "--column", "Name"])
            .args(["--format", "json"])
            .current_dir(at.join("monday"))
            .output()
            .unwrap();
        let report: Value = serde_json::from_slice(&out.stdout).unwrap();
        (out.status.code(), report)
    };
    for name in &names {
        let (status, report) = inspect(&["a.svg", name]);
        assert_eq!((status, found(&report)), (Some(0), vec![]), "a.svg {name}");
        // Each is told by the name that the call gives it.
        assert_eq!(report["runs"][1]["file"].as_str(), Some(*name));
    }
    // Beside another run, whichever name comes first. A copy is another run.
    let rest = tags::page(&(tags::outlines(true) + &tags::names(["Di", "", ""])));
    tags.write("monday/b.svg", rest.as_bytes());
    tags.write("week.csv", b"Name\nAda\nBo\nCy\nDi\n");
    for name in &names {
        let (status, report) = inspect(&[name, "b.svg", "a.svg"]);
        assert_eq!((status, found(&report)), (Some(0), vec![]), "{name}");
    }
    assert_eq!(inspect(&["."]).0, Some(0), "the folder");
    std::fs::copy(at.join("monday/a.svg"), at.join("copy.svg")).unwrap();
    assert_eq!(inspect(&["a.svg", "b.svg", "../copy.svg"]).0, Some(1));
}
