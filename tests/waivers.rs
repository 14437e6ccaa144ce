//! Waivers excuse a named rule for a stated reason until a stated day, and are told when they no
//! longer do.

use crate::common;

use common::run::{Motion, RunFile};
use common::{asked, fixture, inspect_bytes, of};
use jigwarden::tested::finding::Severity;
use jigwarden::tested::fixture::shorthand::parse_date;
use jigwarden::tested::inspect::Options;
use jigwarden::tested::report::{Run, Verdict};

fn waiver(rule: &str, pocket: &str) -> String {
    let pocket = if pocket.is_empty() {
        String::new()
    } else {
        format!("pocket = \"{pocket}\"\n")
    };
    format!(
        "\n[[waiver]]\nrule = \"{rule}\"\n{pocket}reason = \"this tag was cut by hand\"\nuntil = \"2027-03-31\"\n"
    )
}

/// Inspects a run with A3's outline moved and a name too long in B2, under some waivers.
fn inspected(waivers: &str, today: &str, strict: bool) -> Run {
    let mut run = RunFile::clear();
    run.move_pocket("A3", Motion::by(0.3, 0.0));
    run.name("B2").text = "Meadowsweet";
    judged(&run, waivers, today, strict)
}

fn judged(run: &RunFile, waivers: &str, today: &str, strict: bool) -> Run {
    let folder = tempfile::tempdir().unwrap();
    for file in ["fixture.svg", "fixture.lock.json"] {
        std::fs::copy(fixture("hive-tags").join(file), folder.path().join(file)).unwrap();
    }
    let settings = std::fs::read_to_string(fixture("hive-tags").join("fixture.toml")).unwrap();
    std::fs::write(folder.path().join("fixture.toml"), settings + waivers).unwrap();
    let asked = Options {
        today: parse_date(today),
        strict,
        ..asked(folder.path())
    };
    inspect_bytes(run.svg().as_bytes(), "run.svg", &asked)
}

#[test]
fn a_waiver_excuses_its_rule_and_keeps_the_finding() {
    let both = waiver("pocket-moved", "A3") + &waiver("past-zone", "");
    let run = inspected(&both, "2027-03-31", false);
    assert_eq!(run.verdict, Verdict::Clear, "{:?}", run.trouble);
    for rule in ["pocket-moved", "past-zone"] {
        let finding = of(&run, rule);
        let waived = finding.waived.as_ref().unwrap();
        assert_eq!(waived.reason, "this tag was cut by hand");
        assert_eq!(waived.until, "2027-03-31");
        assert_eq!(finding.severity, Severity::Hold, "told as what it is");
    }
    assert_eq!(run.findings.len(), 2);
    assert_eq!(inspected(&both, "2027-03-31", true).verdict, Verdict::Clear);
}

#[test]
fn a_waiver_excuses_no_other_rule_and_no_other_pocket() {
    let run = inspected(&waiver("pocket-moved", "A3"), "2027-03-31", false);
    assert_eq!(run.verdict, Verdict::Hold);
    assert!(of(&run, "pocket-moved").waived.is_some());
    assert!(of(&run, "past-zone").waived.is_none());

    let run = inspected(&waiver("pocket-moved", "A4"), "2027-03-31", false);
    assert_eq!(run.verdict, Verdict::Hold);
    assert!(of(&run, "pocket-moved").waived.is_none());
}

#[test]
fn an_expired_waiver_excuses_nothing_and_is_told() {
    let both = waiver("pocket-moved", "A3") + &waiver("past-zone", "B2");
    let run = inspected(&both, "2027-04-01", false);
    assert_eq!(run.verdict, Verdict::Hold);
    assert!(run.findings.iter().all(|f| f.waived.is_none()));
    let told = of(&run, "waiver-expired");
    assert_eq!(told.severity, Severity::Caution);
    assert!(told.message.contains("2027-03-31"), "{}", told.message);
    assert_eq!(
        run.findings
            .iter()
            .filter(|f| f.rule == "waiver-expired")
            .count(),
        2
    );

    // Strict holds for it even where nothing else does.
    let clear = RunFile::clear();
    let expired = waiver("past-zone", "");
    assert_eq!(
        judged(&clear, &expired, "2027-04-01", false).verdict,
        Verdict::Clear
    );
    assert_eq!(
        judged(&clear, &expired, "2027-04-01", true).verdict,
        Verdict::Hold
    );
}

#[test]
fn an_unused_waiver_is_told_as_a_note() {
    let run = judged(
        &RunFile::clear(),
        &waiver("past-zone", "B2"),
        "2027-01-01",
        true,
    );
    assert_eq!(run.verdict, Verdict::Clear, "a note never holds");
    let told = of(&run, "waiver-unused");
    assert_eq!(told.severity, Severity::Note);
    assert_eq!(told.pocket.as_deref(), Some("B2"));
}

#[test]
fn a_waiver_without_reason_or_end_is_refused() {
    let whole = waiver("past-zone", "B2");
    for missing in ["reason", "until", "rule"] {
        let part: Vec<&str> = whole.lines().filter(|l| !l.starts_with(missing)).collect();
        let part = part.join("\n");
        let run = judged(&RunFile::clear(), &part, "2027-01-01", false);
        assert_eq!(run.verdict, Verdict::Unread, "without {missing}");
        assert!(run.trouble.unwrap().contains(missing));
    }
    let run = judged(
        &RunFile::clear(),
        &whole.replace("past-zone", "past-zones"),
        "2027-01-01",
        false,
    );
    assert_eq!(run.verdict, Verdict::Unread);
    assert!(run.trouble.unwrap().contains("past-zone"));
}

#[test]
fn a_waived_shift_is_judged_by_where_the_fixture_really_is() {
    // The file is dragged by 5 mm and a person says so; the art is then too near the zone's edge.
    let run = RunFile::clear().moved(Motion::by(5.0, 0.0));
    let run = judged(&run, &waiver("fixture-shifted", ""), "2027-01-01", false);
    assert!(of(&run, "fixture-shifted").waived.is_some());
    assert_eq!(run.verdict, Verdict::Hold);
    assert!(run.findings.iter().any(|f| f.rule == "past-zone"));
}
