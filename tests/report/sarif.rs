use jigwarden::tested::finding::Severity;
use jigwarden::tested::report::Report;
use jigwarden::tested::report::sarif::render;
use serde_json::Value;
use sha2::{Digest, Sha256};

use crate::report::sample::{self, RULES};

fn parsed(report: &Report) -> Value {
    serde_json::from_str(&render(report, RULES)).unwrap()
}

/// The fields that a reader of logs goes by. `tests/ci/sarif.sh` checks whole logs against the schema.
#[test]
fn each_finding_is_a_result() {
    let report = sample::report();
    let log = parsed(&report);
    assert_eq!(log["version"], "2.1.0");
    let run = &log["runs"][0];
    assert_eq!(run["tool"]["driver"]["name"], "jigwarden");
    let findings = report.runs.iter().flat_map(|r| &r.findings);
    let results = run["results"].as_array().unwrap();
    assert_eq!(findings.clone().count(), results.len());
    for (finding, result) in findings.zip(results) {
        let level = match finding.severity {
            Severity::Hold => "error",
            Severity::Caution => "warning",
            Severity::Note => "note",
        };
        assert_eq!(result["ruleId"], finding.rule, "{result}");
        assert_eq!(result["level"], level, "{result}");
        let text = result["message"]["text"].as_str().unwrap();
        let told = |sentence: &str| text.to_lowercase().contains(&sentence.to_lowercase());
        assert!(told(&finding.message) && told(&finding.help), "{result}");
        let place = &result["locations"][0];
        match &finding.pocket {
            Some(name) => assert_eq!(place["logicalLocations"][0]["name"], name.as_str()),
            None => assert!(place.get("logicalLocations").is_none(), "{result}"),
        }
        let region = &place["physicalLocation"]["region"];
        assert_eq!(finding.source.is_some(), region.is_object(), "{result}");
    }
}

#[test]
fn results_point_at_their_rules() {
    let log = parsed(&sample::report());
    let run = &log["runs"][0];
    for result in run["results"].as_array().unwrap() {
        let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
        assert_eq!(
            run["tool"]["driver"]["rules"][index]["id"],
            result["ruleId"]
        );
    }
}

/// Columns count UTF-16 code units: a character beyond the basic plane takes two.
#[test]
fn columns_are_utf16() {
    let mut run = sample::held();
    run.findings.truncate(1);
    let text = "<svg><!-- 🪡é --><path/></svg>";
    let at = text.find("<path").unwrap();
    run.findings[0].source.as_mut().unwrap().range = at..at + 7;
    run.text = text.into();
    let report = Report { runs: vec![run] };
    let region =
        &parsed(&report)["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"];
    let before = text[..at].encode_utf16().count();
    assert_eq!(before, 17);
    assert_eq!(region["startColumn"], before + 1);
    assert_eq!(region["endColumn"], before + 8);
    assert_eq!(
        (&region["charOffset"], &region["charLength"]),
        (&before.into(), &7.into())
    );
    assert!(
        region.get("byteOffset").is_none(),
        "the hash is not this text's, so its bytes are others"
    );
}

/// Byte offsets are given only where the text is the file, byte for byte.
#[test]
fn byte_offsets_where_they_hold() {
    let mut run = sample::held();
    run.sha256 = format!("{:x}", Sha256::digest(run.text.as_bytes()));
    let source = run.findings[0].source.clone().unwrap();
    let report = Report { runs: vec![run] };
    let region =
        &parsed(&report)["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"];
    assert_eq!(region["byteOffset"], source.range.start);
    assert_eq!(region["byteLength"], source.range.len());
    assert!(region.get("charOffset").is_none());
}

/// A file saved again with its text moved about keeps its fingerprints; another place gets another.
#[test]
fn fingerprints_outlive_a_save() {
    let prints = |report: &Report| -> Vec<Value> {
        let log = parsed(report);
        let results = log["runs"][0]["results"].as_array().unwrap();
        results
            .iter()
            .map(|r| r["partialFingerprints"]["rulePocketAndPlace/v1"].clone())
            .collect()
    };
    let before = sample::report();
    let mut after = sample::report();
    for f in &mut after.runs[0].findings {
        if let Some(source) = &mut f.source {
            source.range = source.range.start + 20..source.range.end + 20;
        }
        f.bed = f.bed.map(|r| r + kurbo::Vec2::new(1e-9, -1e-9));
    }
    assert_eq!(prints(&before), prints(&after));
    let mut unique = prints(&before);
    unique.sort_by_key(ToString::to_string);
    unique.dedup();
    assert_eq!(unique.len(), before.runs[0].findings.len());
    after.runs[0].findings[3].bed = after.runs[0].findings[3]
        .bed
        .map(|r| r + kurbo::Vec2::new(2.0, 0.0));
    assert_ne!(prints(&before), prints(&after));
}

#[test]
fn what_was_not_read_is_a_failed_invocation() {
    let log = parsed(&sample::report());
    let invocation = &log["runs"][0]["invocations"][0];
    assert_eq!(invocation["executionSuccessful"], false);
    assert_eq!(invocation["exitCode"], 2);
    let levels: Vec<&Value> = invocation["toolExecutionNotifications"]
        .as_array()
        .unwrap()
        .iter()
        .map(|n| &n["level"])
        .collect();
    assert_eq!(levels, ["note", "error"]);
    let read = Report {
        runs: vec![sample::held(), sample::clear()],
    };
    assert_eq!(
        parsed(&read)["runs"][0]["invocations"][0]["executionSuccessful"],
        true
    );
}

#[test]
fn waived_results_are_suppressed_and_no_others() {
    let report = sample::report();
    let log = parsed(&report);
    let results = log["runs"][0]["results"].as_array().unwrap();
    for (f, result) in report.runs[0].findings.iter().zip(results) {
        assert_eq!(
            f.waived.is_some(),
            result.get("suppressions").is_some(),
            "{result}"
        );
    }
}

#[test]
fn the_same_every_time() {
    assert_eq!(
        render(&sample::report(), RULES),
        render(&sample::report(), RULES)
    );
}
