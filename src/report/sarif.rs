//! The report in SARIF 2.1.0, the OASIS standard for results of analysis tools, for editors and
//! services that read it.
//!
//! Names and meanings of the fields are the standard's ("Static Analysis Results Interchange Format
//! (SARIF) Version 2.1.0", OASIS, 2020).
//! `tests/ci/sarif.sh` checks the output against the published schema.

use std::fmt::Write as _;

use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use super::json::rounded;
use super::lines::Lines;
use super::{Report, Run, Verdict};
use crate::explain::{self, Page};
use crate::finding::Info;
use crate::finding::{Finding, Severity, Source};
use crate::paths;
use crate::remedy::Way;
use crate::typeset::Screen;

/// The report as a SARIF log with one run, indented, with a line break at the end. `rules` is the
/// whole registry, in its order.
pub fn render(report: &Report, rules: &[Info]) -> String {
    let parts = report.runs.iter().enumerate();
    log(parts.map(|(i, run)| part(run, i, rules)).collect(), rules)
}

/// What a log says of one file. Unlike the file's [`Run`] it does not keep the source.
#[derive(Debug)]
pub(crate) struct Part {
    verdict: Verdict,
    artifact: Value,
    notifications: Vec<Value>,
    results: Vec<Value>,
}

/// What a log says of `run`, the file number `index` of the call.
pub(crate) fn part(run: &Run, index: usize, rules: &[Info]) -> Part {
    let file = File {
        run,
        index,
        lines: Lines::new(&run.text),
        plain: is_plain(run),
    };
    Part {
        verdict: run.verdict,
        artifact: artifact(run),
        notifications: notifications(run, index),
        results: run
            .findings
            .iter()
            .map(|f| result(f, &file, rules))
            .collect(),
    }
}

/// The log of a call, from its parts in order.
pub(crate) fn log(parts: Vec<Part>, rules: &[Info]) -> String {
    let exit = parts.iter().map(|p| p.verdict.exit()).max().unwrap_or(0);
    let whole = parts.iter().all(|p| p.verdict != Verdict::Unread);
    let (mut artifacts, mut notifications, mut results) = (Vec::new(), Vec::new(), Vec::new());
    for mut part in parts {
        artifacts.push(part.artifact);
        notifications.append(&mut part.notifications);
        results.append(&mut part.results);
    }
    let log = json!({
        "$schema": "https://json.schemastore.org/sarif-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "jigwarden",
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": rules.iter().map(descriptor).collect::<Vec<_>>(),
            }},
            "invocations": [{
                "executionSuccessful": whole,
                "exitCode": exit,
                "toolExecutionNotifications": notifications,
            }],
            "artifacts": artifacts,
            "columnKind": "utf16CodeUnits",
            "results": results,
        }],
    });
    paths::escaped(&format!("{log:#}\n"))
}

/// A file and what is needed to point into it.
struct File<'a> {
    run: &'a Run,
    /// Its place among the artifacts.
    index: usize,
    lines: Lines<'a>,
    /// Whether its bytes are the decoded text, so that byte offsets mean something to others.
    plain: bool,
}

/// Whether the file's bytes are its decoded text. What was compressed, in another encoding or began
/// with a byte order mark is not.
fn is_plain(run: &Run) -> bool {
    hex(&Sha256::digest(run.text.as_bytes())) == run.sha256.to_ascii_lowercase()
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut out, b| {
        let _ = write!(out, "{b:02x}");
        out
    })
}

/// A rule and its page.
fn descriptor(rule: &Info) -> Value {
    let page = Page::read(rule.page);
    let screen = Screen {
        width: 80,
        unicode: true,
        colour: false,
    };
    let mut out = Map::new();
    out.insert("id".into(), rule.name.into());
    if !page.summary.is_empty() {
        out.insert(
            "shortDescription".into(),
            json!({ "text": sentence(page.summary) }),
        );
    }
    if let Some(opening) = page.opening() {
        out.insert("fullDescription".into(), json!({ "text": opening }));
    }
    // A description in Markdown is only allowed beside one in plain text (the multiformatMessageString object).
    let text = explain::page(rule, &screen);
    out.insert(
        "help".into(),
        json!({ "text": text, "markdown": rule.page }),
    );
    out.insert(
        "defaultConfiguration".into(),
        json!({ "level": level(rule.severity) }),
    );
    Value::Object(out)
}

fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Hold => "error",
        Severity::Caution => "warning",
        Severity::Note => "note",
    }
}

fn artifact(run: &Run) -> Value {
    let mut out = Map::new();
    out.insert("location".into(), json!({ "uri": address(run) }));
    out.insert("roles".into(), json!(["analysisTarget"]));
    if !run.sha256.is_empty() {
        out.insert("hashes".into(), json!({ "sha-256": run.sha256 }));
    }
    Value::Object(out)
}

fn artifact_location(run: &Run, index: usize) -> Value {
    json!({ "uri": address(run), "index": index })
}

/// Why a file was not inspected, and remarks.
fn notifications(run: &Run, index: usize) -> Vec<Value> {
    let notify = |level: &str, text: &str| {
        json!({
            "level": level,
            "message": { "text": sentence(text) },
            "locations": [{ "physicalLocation": { "artifactLocation": artifact_location(run, index) } }],
        })
    };
    let trouble = (run.verdict == Verdict::Unread).then(|| {
        let why = run.trouble.as_deref().unwrap_or("the reason is not known");
        notify("error", &format!("the file could not be inspected: {why}"))
    });
    trouble
        .into_iter()
        .chain(run.notes.iter().map(|n| notify("note", n)))
        .collect()
}

fn result(f: &Finding, file: &File<'_>, rules: &[Info]) -> Value {
    let mut out = Map::new();
    out.insert("ruleId".into(), f.rule.into());
    if let Some(index) = rules.iter().position(|r| r.name == f.rule) {
        out.insert("ruleIndex".into(), index.into());
    }
    out.insert("level".into(), level(f.severity).into());
    out.insert("message".into(), json!({ "text": message(f) }));
    out.insert("locations".into(), json!([location(f, file)]));
    out.insert(
        "partialFingerprints".into(),
        json!({ "rulePocketAndPlace/v1": fingerprint(f) }),
    );
    if let Some(waived) = &f.waived {
        let reason = format!("{} (until {})", waived.reason, waived.until);
        out.insert(
            "suppressions".into(),
            json!([{ "kind": "external", "status": "accepted", "justification": reason }]),
        );
    }
    let fixes: Vec<Value> = f
        .remedy
        .ways
        .first()
        .into_iter()
        .chain(&f.remedy.choices)
        .filter(|way| !way.edits.is_empty())
        .map(|way| fix(way, file))
        .collect();
    if !fixes.is_empty() {
        out.insert("fixes".into(), fixes.into());
    }
    let properties = properties(f);
    if !properties.is_empty() {
        out.insert("properties".into(), Value::Object(properties));
    }
    Value::Object(out)
}

/// A remedy as a fix object of the standard: what it does, and what stands where afterwards. Of
/// several, each leaves the finding gone: which of them is right is said by its words.
fn fix(way: &Way, file: &File<'_>) -> Value {
    let words = if way.assumes.is_empty() {
        way.says.clone()
    } else {
        format!("if {}: {}", way.assumes, way.says)
    };
    let replacements: Vec<Value> = way
        .edits
        .iter()
        .map(|e| {
            let place = Source {
                range: e.replacement.range(),
                element: e.element.clone(),
                id: e.id.clone(),
            };
            json!({
                "deletedRegion": region(&place, file),
                "insertedContent": { "text": e.replacement.text },
            })
        })
        .collect();
    json!({
        "description": { "text": sentence(&words) },
        "artifactChanges": [{
            "artifactLocation": artifact_location(file.run, file.index),
            "replacements": replacements,
        }],
    })
}

/// The finding and its remedy in sentences, which is what the standard asks of a plain text message.
fn message(f: &Finding) -> String {
    let pocket = f
        .pocket
        .as_ref()
        .map(|p| format!("Pocket {p}: "))
        .unwrap_or_default();
    let told = sentence(&format!("{pocket}{}", f.sentence()));
    if f.help.is_empty() {
        told
    } else {
        format!("{told} {}", sentence(&f.help))
    }
}

fn location(f: &Finding, file: &File<'_>) -> Value {
    let mut physical = Map::new();
    physical.insert(
        "artifactLocation".into(),
        artifact_location(file.run, file.index),
    );
    if let Some(source) = &f.source {
        physical.insert("region".into(), region(source, file));
    }
    let mut out = Map::new();
    out.insert("physicalLocation".into(), Value::Object(physical));
    if let Some(pocket) = &f.pocket {
        out.insert(
            "logicalLocations".into(),
            json!([{ "name": pocket, "fullyQualifiedName": format!("pocket {pocket}"), "kind": "pocket" }]),
        );
    }
    Value::Object(out)
}

fn region(source: &Source, file: &File<'_>) -> Value {
    let start = file.lines.spot(source.range.start);
    let end = file.lines.spot(source.range.end.max(source.range.start));
    let mut out = json!({
        "startLine": start.line,
        "startColumn": start.column16,
        "endLine": end.line,
        "endColumn": end.column16,
    });
    let (from, to) = (source.range.start, source.range.end);
    let units = |offset| file.lines.before(offset).units16;
    let (offset, length, from, to) = if file.plain {
        ("byteOffset", "byteLength", from, to)
    } else {
        ("charOffset", "charLength", units(from), units(to))
    };
    if let Some(out) = out.as_object_mut() {
        out.insert(offset.into(), from.into());
        out.insert(length.into(), to.saturating_sub(from).into());
    }
    out
}

/// Stays the same when the file is saved again, whatever moved in its text: made of the rule, the
/// pocket, and the place on the bed to the millimetre or, without one, the element.
fn fingerprint(f: &Finding) -> String {
    let place = match (&f.bed, &f.source) {
        (Some(r), _) => {
            let c = r.center();
            // Adding zero turns minus zero into zero.
            format!("{} {}", c.x.round() + 0.0, c.y.round() + 0.0)
        }
        (None, Some(s)) => format!("{} {}", s.element, s.id.as_deref().unwrap_or_default()),
        (None, None) => String::new(),
    };
    let all = [f.rule, f.pocket.as_deref().unwrap_or_default(), &place].join("\n");
    let digest = Sha256::digest(all.as_bytes());
    hex(digest.get(..16).unwrap_or_default())
}

/// What the standard has no field for: bed, measurement, element, in the words of the JSON report.
fn properties(f: &Finding) -> Map<String, Value> {
    let mut out = Map::new();
    if let Some(r) = f.bed {
        let [x, y, width, height] =
            [r.min_x(), r.min_y(), r.width().abs(), r.height().abs()].map(rounded);
        out.insert(
            "bed".into(),
            json!({ "x": x, "y": y, "width": width, "height": height }),
        );
    }
    if let Some(m) = &f.measured {
        let (value, limit) = (rounded(m.value), rounded(m.limit));
        out.insert(
            "measured".into(),
            json!({ "what": m.what, "value": value, "limit": limit, "unit": m.unit }),
        );
    }
    if let Some(s) = &f.source {
        out.insert("element".into(), json!({ "name": s.element, "id": s.id }));
    }
    out
}

/// A sentence with its capital and full stop, escaped.
fn sentence(text: &str) -> String {
    let text = text.trim();
    let mut chars = text.chars();
    let mut out: String = chars
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .collect();
    out.push_str(chars.as_str());
    if !out.ends_with(['.', '!', '?']) {
        out.push('.');
    }
    escaped(&out)
}

/// Braces stand for placeholders in a message, and `[this](3)` for a link; names in
/// a file may hold either. Brackets alone mean nothing and stay as they are.
fn escaped(text: &str) -> String {
    let text = text.replace('{', "{{").replace('}', "}}");
    if text.contains("](") {
        text.replace('[', "\\[").replace(']', "\\]")
    } else {
        text
    }
}

/// Where the file is, its name's bytes exactly.
fn address(run: &Run) -> String {
    run.uri.clone().unwrap_or_else(|| uri(&run.file))
}

/// A file's name as a URI reference by RFC 3986: whatever is not unreserved in a path segment is
/// percent-encoded.
fn uri(file: &str) -> String {
    let file = if cfg!(windows) {
        file.replace('\\', "/")
    } else {
        file.to_owned()
    };
    let mut out = String::new();
    let drive = cfg!(windows) && file.get(1..3) == Some(":/");
    if drive {
        out.push_str("file:///");
    } else if file.starts_with('/') {
        out.push_str("file://");
    }
    for b in file.bytes() {
        match b {
            b'/' | b'-' | b'.' | b'_' | b'~' => out.push(char::from(b)),
            b if b.is_ascii_alphanumeric() => out.push(char::from(b)),
            b':' if drive && out.len() == "file:///C".len() => out.push(':'),
            b => {
                let _ = write!(out, "%{b:02X}");
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_files_become_uris() {
        assert_eq!(
            uri("runs/monday tags #2.svg"),
            "runs/monday%20tags%20%232.svg"
        );
        assert_eq!(uri("a:b/Zoë%.svg"), "a%3Ab/Zo%C3%AB%25.svg");
        #[cfg(unix)]
        {
            assert_eq!(uri("/srv/a\\b.svg"), "file:///srv/a%5Cb.svg");
            assert_eq!(uri("//srv/b.svg"), "file:////srv/b.svg");
        }
    }

    #[test]
    fn sentences_are_escaped() {
        assert_eq!(
            sentence("\"{0} [x](y)\" is here"),
            "\"{{0}} \\[x\\](y)\" is here."
        );
        assert_eq!(sentence("list it in [paints]"), "List it in [paints].");
        assert_eq!(sentence("éclair is here."), "Éclair is here.");
        assert_eq!(sentence(""), ".");
    }
}
