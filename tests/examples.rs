//! The example fixtures keep what their file names promise: runs under `clear/` are clear, runs
//! under `hold/` hold by exactly the rule in their name, runs under `look/` ask for a look by it,
//! and every lock is what enrolling measures today.

use crate::common;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use common::{Short, short};
use jigwarden::tested::artwork::source::Source;
use jigwarden::tested::enrolling::Enrolled;
use jigwarden::tested::finding::Severity;
use jigwarden::tested::fixture::{enrol, parse};
use jigwarden::tested::inspect::{Options, faces, inspect, read};
use jigwarden::tested::report::Verdict;
use jigwarden::tested::report::proof::figures;
use jigwarden::tested::rules;

/// The folder of drawings that are to be enrolled: `<kind>/<rule>--<case>/fixture.svg`.
const DRAWINGS: &str = "drawings";

/// Rules about waivers: tests/waivers.rs.
const ABOUT_WAIVERS: [&str; 2] = ["waiver-expired", "waiver-unused"];

/// Folders of an example fixture that hold run files.
const KINDS: [&str; 3] = ["clear", "hold", "look"];

struct Example {
    path: PathBuf,
    /// The folder it is in: what its verdict should be.
    kind: &'static str,
    /// The rule in its file name, for those that hold or ask for a look.
    rule: Option<String>,
    /// What its comment says that it leads to.
    expected: BTreeSet<Short>,
    /// Further arguments, from the file beside it.
    args: Vec<String>,
}

fn listed(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .map(|entries| entries.map(|e| e.unwrap().path()).collect())
        .unwrap_or_default();
    paths.sort();
    paths
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples")
}

fn fixtures() -> Vec<PathBuf> {
    // `hooks` and the drawings beside them are no fixtures; neither are files.
    let all: Vec<PathBuf> = listed(&root())
        .into_iter()
        .filter(|p| p.is_dir() && p.file_name().is_some_and(|n| n != "hooks" && n != DRAWINGS))
        .collect();
    assert!(all.len() >= 3, "the examples are gone: {all:?}");
    all
}

fn examples() -> Vec<Example> {
    let mut all = Vec::new();
    for fixture in fixtures() {
        for kind in KINDS {
            for path in listed(&fixture.join(kind)) {
                if path.extension().is_some_and(|e| e == "svg") {
                    all.push(example(path, kind));
                }
            }
        }
    }
    all
}

/// Drawings before they are cut, one folder each.
fn drawings() -> Vec<Example> {
    let mut all = Vec::new();
    for kind in KINDS {
        for folder in listed(&root().join(DRAWINGS).join(kind)) {
            let mut drawing = example(folder.join("fixture.svg"), kind);
            drawing.rule = named(&folder, kind);
            all.push(drawing);
        }
    }
    all
}

/// The rule in the name of a file or folder, where there is to be one.
fn named(path: &Path, kind: &str) -> Option<String> {
    let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
    (kind != "clear" && stem != "fixture").then(|| {
        stem.split_once("--")
            .unwrap_or_else(|| panic!("{} is not named <rule>--<case>", path.display()))
            .0
            .to_owned()
    })
}

fn example(path: PathBuf, kind: &'static str) -> Example {
    let text = std::fs::read_to_string(&path).unwrap();
    let comment = text
        .split_once("<!-- expect: ")
        .and_then(|(_, rest)| rest.split_once(" -->"))
        .map_or_else(
            || panic!("{} does not say what to expect", path.display()),
            |(comment, _)| comment.to_owned(),
        );
    let mut expected = BTreeSet::new();
    for part in comment.split([';', ',']).map(str::trim) {
        if part == "clear" {
            continue;
        }
        let (rule, pocket) = part.split_once(' ').unwrap_or((part, ""));
        assert!(
            rules::find(rule).is_some(),
            "{}: there is no rule {rule}",
            path.display()
        );
        expected.insert(short(rule, pocket));
    }
    let args = std::fs::read_to_string(path.with_extension("args")).unwrap_or_default();
    Example {
        rule: named(&path, kind),
        path,
        kind,
        expected,
        args: args.split_whitespace().map(str::to_owned).collect(),
    }
}

/// Verdict and findings, notes left out unless the example is about one.
struct Seen {
    verdict: Verdict,
    findings: BTreeSet<Short>,
    holds: BTreeSet<String>,
}

fn seen(example: &Example, strict: bool) -> Seen {
    if example.args.is_empty() {
        let asked = Options {
            machine_fonts: false,
            strict,
            ..Options::default()
        };
        let run = inspect(&example.path, &asked, |_, _| ()).0;
        assert!(
            run.trouble.is_none(),
            "{}: {:?}",
            example.path.display(),
            run.trouble
        );
        let told = run
            .findings
            .iter()
            .map(|f| (f.rule.to_owned(), f.pocket.clone(), f.severity));
        gather(example, run.verdict, told)
    } else {
        by_the_program(example, strict)
    }
}

/// Options are the command line's business, so examples with options go through the program.
fn by_the_program(example: &Example, strict: bool) -> Seen {
    let output = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .current_dir(example.path.parent().unwrap())
        .args(["inspect", "--format", "json"])
        .args(strict.then_some("--strict"))
        .args(&example.args)
        .arg(example.path.file_name().unwrap())
        .output()
        .unwrap();
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|e| {
        panic!(
            "{}: {e}: {}",
            example.path.display(),
            String::from_utf8_lossy(&output.stderr)
        )
    });
    let run = &json["runs"][0];
    let verdict = match run["verdict"].as_str().unwrap() {
        "clear" => Verdict::Clear,
        "hold" => Verdict::Hold,
        other => panic!("{}: {other}", example.path.display()),
    };
    assert_eq!(output.status.code(), Some(i32::from(verdict.exit())));
    let told = run["findings"].as_array().unwrap().iter().map(|f| {
        let severity = match f["severity"].as_str().unwrap() {
            "hold" => Severity::Hold,
            "caution" => Severity::Caution,
            _ => Severity::Note,
        };
        (
            f["rule"].as_str().unwrap().to_owned(),
            f["pocket"].as_str().map(str::to_owned),
            severity,
        )
    });
    gather(example, verdict, told)
}

fn gather(
    example: &Example,
    verdict: Verdict,
    told: impl Iterator<Item = (String, Option<String>, Severity)>,
) -> Seen {
    let mut seen = Seen {
        verdict,
        findings: BTreeSet::new(),
        holds: BTreeSet::new(),
    };
    for (rule, pocket, severity) in told {
        if severity == Severity::Hold {
            seen.holds.insert(rule.clone());
        }
        let finding = (rule, pocket);
        if severity != Severity::Note || example.expected.contains(&finding) {
            seen.findings.insert(finding);
        }
    }
    seen
}

#[test]
fn every_example_leads_to_what_it_says() {
    let mut wrong = Vec::new();
    for example in examples() {
        let seen = seen(&example, false);
        let verdict = if example.kind == "hold" {
            Verdict::Hold
        } else {
            Verdict::Clear
        };
        let by = match &example.rule {
            Some(rule) if example.kind == "hold" => BTreeSet::from([rule.clone()]),
            _ => BTreeSet::new(),
        };
        let named = example
            .rule
            .as_ref()
            .is_none_or(|rule| example.expected.iter().any(|(r, _)| r == rule));
        if seen.verdict != verdict
            || seen.findings != example.expected
            || seen.holds != by
            || !named
        {
            wrong.push(format!(
                "{}: {:?} {:?}, expected {:?}",
                example.path.display(),
                seen.verdict,
                seen.findings,
                example.expected
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_message_names_its_thing_and_repeats_no_pocket() {
    for example in examples().iter().filter(|e| e.args.is_empty()) {
        let asked = Options {
            machine_fonts: false,
            ..Options::default()
        };
        for f in inspect(&example.path, &asked, |_, _| ()).0.findings {
            let said = format!("{}: {} → {}", example.path.display(), f.message, f.help);
            assert!(!f.message.starts_with("It "), "{said}");
            assert!(
                !f.message.ends_with('.') && !f.help.ends_with('.'),
                "{said}"
            );
            if let Some(pocket) = &f.pocket {
                assert!(!f.message.contains(&format!("pocket {pocket} ")), "{said}");
            }
            // Nobody can turn art by 177.9 degrees.
            assert!(
                !(170..180).any(|turn| f.help.contains(&format!("turn it {turn}"))),
                "{said}"
            );
            if let Some(m) = &f.measured {
                assert!(!m.what.contains("size") || m.what.contains("off"), "{said}");
            }
        }
    }
}

#[test]
fn what_asks_for_a_look_holds_when_strict() {
    let looks: Vec<Example> = examples()
        .into_iter()
        .filter(|e| e.kind == "look")
        .collect();
    assert!(!looks.is_empty());
    for example in looks {
        let caution = example
            .rule
            .as_deref()
            .and_then(rules::find)
            .is_some_and(|r| r.severity == Severity::Caution);
        let verdict = seen(&example, true).verdict;
        assert_eq!(
            verdict == Verdict::Hold,
            caution,
            "{}",
            example.path.display()
        );
    }
}

#[test]
fn every_rule_has_an_example_and_every_example_a_rule() {
    let all: Vec<Example> = examples().into_iter().chain(drawings()).collect();
    let shown: BTreeSet<String> = all.iter().filter_map(|e| e.rule.clone()).collect();
    let known: BTreeSet<String> = rules::all()
        .map(|r| r.name)
        .filter(|r| !ABOUT_WAIVERS.contains(r))
        .map(str::to_owned)
        .collect();
    // What holds is shown where it holds, a caution where it asks for a look.
    for example in &all {
        let Some(rule) = example.rule.as_deref().and_then(rules::find) else {
            continue;
        };
        let kind = match rule.severity {
            Severity::Hold => "hold",
            _ => "look",
        };
        // An overlap is a web of no width, and holds.
        assert!(
            example.kind == kind || rule.name == "web-too-thin",
            "{} is under {}",
            example.path.display(),
            example.kind
        );
    }
    assert_eq!(
        known.difference(&shown).collect::<Vec<_>>(),
        Vec::<&String>::new(),
        "rules without an example: write one for each in tests/make-examples.py, under hold/, or under look/ for a caution"
    );
    assert_eq!(
        shown.difference(&known).collect::<Vec<_>>(),
        Vec::<&String>::new(),
        "examples of no rule: call each <rule>--<case>, or delete it"
    );
}

#[test]
fn nothing_lies_about_in_the_examples() {
    for fixture in fixtures() {
        for name in [
            "fixture.svg",
            "fixture.toml",
            "fixture.lock.json",
            "README.md",
        ] {
            assert!(
                fixture.join(name).is_file(),
                "{name} in {}",
                fixture.display()
            );
        }
        for kind in KINDS {
            for path in listed(&fixture.join(kind)) {
                let expected = match path.extension().and_then(|e| e.to_str()) {
                    Some("args") => path.with_extension("svg").is_file(),
                    Some("svg" | "csv") => true,
                    _ => false,
                };
                assert!(expected, "{} belongs to nothing", path.display());
            }
        }
    }
}

#[test]
fn every_drawing_leads_to_what_it_says() {
    let all = drawings();
    assert!(all.iter().any(|d| d.kind == "clear"));
    for drawing in all {
        let folder = drawing.path.parent().unwrap();
        let mut names: Vec<_> = listed(folder)
            .iter()
            .map(|p| p.file_name().unwrap().to_string_lossy().into_owned())
            .collect();
        // A trainee's own lock is left alone.
        names.retain(|n| n != "fixture.lock.json");
        assert_eq!(
            names,
            ["fixture.svg", "fixture.toml"],
            "{}",
            folder.display()
        );
        let copy = tempfile::tempdir().unwrap();
        for name in names {
            std::fs::copy(folder.join(&name), copy.path().join(&name)).unwrap();
        }
        let asked = Options::default();
        let (locked, run) = match crate::common::tags::enrol(copy.path(), false, &asked).unwrap() {
            Enrolled::Locked { cautions, .. } => (true, cautions),
            Enrolled::Held(run) => (false, Some(run)),
            Enrolled::Draft { .. } => panic!("{} has settings", folder.display()),
        };
        let findings: BTreeSet<Short> = run
            .iter()
            .flat_map(|r| &r.findings)
            .map(|f| (f.rule.to_owned(), f.pocket.clone()))
            .collect();
        assert_eq!(findings, drawing.expected, "{}", folder.display());
        assert_eq!(locked, drawing.kind != "hold", "{}", folder.display());
        if let Some(rule) = &drawing.rule {
            assert!(findings.iter().any(|(r, _)| r == rule), "{rule}");
        }
    }
}

/// Twelve outlined names take 28 kB; much more, and an editor opened on the first day shows a wall.
const SMALL: u64 = 32 * 1024;

#[test]
fn every_example_is_small_enough_to_open() {
    for example in examples().into_iter().chain(drawings()) {
        let size = std::fs::metadata(&example.path).unwrap().len();
        assert!(size <= SMALL, "{}: {size} bytes", example.path.display());
    }
}

#[test]
fn every_rule_has_its_page_with_every_heading_and_its_drawing() {
    for rule in rules::all() {
        let headings: Vec<&str> = rule
            .page
            .lines()
            .filter_map(|l| l.strip_prefix("## "))
            .collect();
        // A page may add more of its own.
        assert!(
            headings.starts_with(&[
                "What it means",
                "Why it matters",
                "Put it right",
                "What is measured",
            ]),
            "rules/{}.md needs these four headings first, in this order; it has {headings:?}",
            rule.name
        );
        let opening = format!("# {}\n\n*{}", rule.name, rule.severity.word());
        let summary = rule.page.lines().nth(2).unwrap_or_default();
        assert!(
            rule.page.starts_with(&opening) && summary.contains(" · ") && summary.ends_with('*'),
            "rules/{}.md must begin with {opening:?}, then \" · \" and what it flags in one line, then \"*\"",
            rule.name
        );
        // Shown as they are written: nothing sets them.
        for sign in ["```", "]("] {
            assert!(
                !rule.page.contains(sign),
                "rules/{}.md has {sign}: say it in paragraphs and lists",
                rule.name
            );
        }
        assert!(
            figures::pair(rule.name).is_some(),
            "{} has no drawing: add its right and its wrong half in src/report/proof/figures/",
            rule.name
        );
    }
    let pages: BTreeSet<String> = listed(&Path::new(env!("CARGO_MANIFEST_DIR")).join("rules"))
        .iter()
        .map(|p| p.file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    let known: BTreeSet<String> = rules::all().map(|r| r.name.to_owned()).collect();
    assert_eq!(
        pages.difference(&known).collect::<Vec<_>>(),
        Vec::<&String>::new(),
        "pages of no rule: add the rule's line to the list in src/rules/mod.rs, or delete the page"
    );
}

#[test]
fn every_lock_is_what_enrolling_measures() {
    for folder in fixtures() {
        let settings = parse::read(&folder.join("fixture.toml"), &rules::names()).unwrap();
        let source = Source::read(&folder.join(&settings.drawing)).unwrap();
        let asked = Options::default();
        let artwork = read(&source, &settings, &faces(&folder, &asked)).unwrap();
        let (lock, problems) = enrol::measure(&source, &artwork, &settings);
        assert_eq!(problems, [], "{}", folder.display());
        let kept = std::fs::read_to_string(folder.join("fixture.lock.json")).unwrap();
        assert_eq!(lock.text(), kept, "{}", folder.display());
    }
}

#[test]
fn the_program_says_it_by_its_exit_status() {
    let program = |args: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_jigwarden"))
            .current_dir(common::fixture("hive-tags"))
            .args(args)
            .output()
            .unwrap()
    };
    let clear = program(&["inspect", "clear/live-lettering.svg"]);
    assert_eq!(clear.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&clear.stdout).starts_with("CLEAR  clear/live-lettering.svg"));
    assert!(clear.stderr.is_empty());

    let hold = program(&[
        "inspect",
        "clear/picture.svg",
        "hold/past-zone--long-name.svg",
    ]);
    assert_eq!(hold.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&hold.stdout).contains("[past-zone]"));

    let unread = program(&["inspect", "hold/past-zone--long-name.svg", "tuesday.svg"]);
    assert_eq!(unread.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&unread.stderr).contains("tuesday.svg"));

    assert_eq!(program(&["explain", "past-zone"]).status.code(), Some(0));
    assert_eq!(program(&["enrol", "."]).status.code(), Some(0));
}
