use jigwarden::tested::report::json::render;
use jigwarden::tested::report::{Report, Verdict};
use serde_json::Value;

use crate::report::sample;

fn parsed() -> Value {
    serde_json::from_str(&render(&sample::report())).unwrap()
}

#[test]
fn as_published() {
    let mut run = sample::held();
    run.findings
        .retain(|f| ["past-zone", "paint-unknown", "off-centre"].contains(&f.rule));
    run.findings[1].source = None;
    run.findings[1].bed = None;
    insta::assert_snapshot!(render(&Report {
        runs: vec![run, sample::clear(), sample::unread()]
    }));
}

#[test]
fn fields_stand_in_the_published_order() {
    let text = render(&sample::report());
    let mut at = 0;
    for field in [
        "report", "runs", "file", "sha256", "verdict", "fixture", "name", "code", "findings",
        "rule", "severity", "pocket", "message", "help", "measured", "what", "value", "limit",
        "unit", "source", "line", "column", "offset", "length", "element", "id", "bed", "x", "y",
        "width", "height", "waived", "more",
    ] {
        let found = text[at..].find(&format!("\"{field}\": "));
        at += found.unwrap_or_else(|| panic!("{field} is missing or too early"));
    }
}

#[test]
fn the_source_points_at_the_element() {
    for finding in parsed()["runs"][0]["findings"].as_array().unwrap() {
        let source = &finding["source"];
        let number = |key: &str| usize::try_from(source[key].as_u64().unwrap()).unwrap();
        let element = format!("<{}", source["element"].as_str().unwrap());
        assert!(
            sample::SVG[number("offset")..].starts_with(&element),
            "{source}"
        );
        let line = sample::SVG.lines().nth(number("line") - 1).unwrap();
        let rest: String = line.chars().skip(number("column") - 1).collect();
        assert!(rest.starts_with(&element), "{source}: {rest}");
    }
}

#[test]
fn only_unread_runs_have_trouble() {
    let report = parsed();
    let runs = report["runs"].as_array().unwrap();
    assert_eq!(runs[2]["verdict"], "unread");
    assert_eq!(runs[2]["findings"], Value::Array(vec![]));
    assert!(runs[2]["trouble"].as_str().unwrap().contains("line 4"));
    assert!(runs[2]["fixture"].is_null());
    assert!(runs[0].get("trouble").is_none() && runs[1].get("trouble").is_none());
}

#[test]
fn verdicts_are_the_three_words() {
    let words = [Verdict::Clear, Verdict::Hold, Verdict::Unread].map(Verdict::word);
    assert_eq!(words, ["clear", "hold", "unread"]);
}

#[test]
fn the_same_every_time() {
    assert_eq!(render(&sample::report()), render(&sample::report()));
}
