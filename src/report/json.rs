//! The JSON report, `jigwarden/1`: for scripts.
//!
//! The structs here are the published form and change only with its number; the inner model may
//! change at will. Fields may be added, never taken away or given another meaning.

use kurbo::Rect;
use serde::Serialize;

use super::lines::Lines;
use super::{Report, Run};
use crate::finding::{Finding, Source};
use crate::paths::escaped;
use crate::remedy::{Remedy, Way};

#[derive(Serialize)]
struct JsonRun<'a> {
    file: &'a str,
    /// Only where the name is no text: the name with its bytes as `%…` (RFC 3986).
    #[serde(skip_serializing_if = "Option::is_none")]
    uri: Option<&'a str>,
    sha256: &'a str,
    verdict: &'static str,
    fixture: Option<JsonFixture<'a>>,
    findings: Vec<JsonFinding<'a>>,
    rests_on: Option<JsonRestsOn<'a>>,
    blanks: Vec<JsonBlank<'a>>,
    notes: &'a [String],
    /// Only where the verdict is `unread`.
    #[serde(skip_serializing_if = "Option::is_none")]
    trouble: Option<&'a str>,
}

#[derive(Serialize)]
struct JsonRestsOn<'a> {
    names: Option<&'a str>,
    /// How many blanks the list asks for.
    orders: Option<usize>,
    loaded: String,
    zones: &'static str,
    faces: &'a [String],
}

#[derive(Serialize)]
struct JsonBlank<'a> {
    pocket: &'a str,
    burnt: &'a str,
}

#[derive(Serialize)]
struct JsonFixture<'a> {
    name: &'a str,
    code: &'a str,
}

#[derive(Serialize)]
struct JsonFinding<'a> {
    rule: &'static str,
    severity: &'static str,
    pocket: Option<&'a str>,
    message: &'a str,
    help: &'a str,
    measured: Option<JsonMeasured>,
    source: Option<JsonSource<'a>>,
    bed: Option<JsonBed>,
    waived: Option<JsonWaived<'a>>,
    remedy: JsonRemedy<'a>,
    /// The place in `findings` of the one that this one is a consequence of.
    because_of: Option<usize>,
    more: usize,
    /// Further places of the same thing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    also: Vec<JsonPlace<'a>>,
}

#[derive(Serialize)]
struct JsonPlace<'a> {
    source: JsonSource<'a>,
    bed: Option<JsonBed>,
}

/// What would put it right; tried on the file before it is said.
#[derive(Serialize)]
struct JsonRemedy<'a> {
    certain: bool,
    edits: Vec<JsonEdit<'a>>,
    /// What a person may choose between, where nothing is certain.
    choices: Vec<JsonChoice<'a>>,
    /// Why there is nothing to be done by changing the file.
    #[serde(skip_serializing_if = "Option::is_none")]
    hindered: Option<&'a str>,
}

#[derive(Serialize)]
struct JsonChoice<'a> {
    name: &'a str,
    assumes: &'a str,
    says: &'a str,
    edits: Vec<JsonEdit<'a>>,
}

/// Bytes of the decoded source, and what takes their place.
#[derive(Serialize)]
struct JsonEdit<'a> {
    change: &'a str,
    element: &'a str,
    id: Option<&'a str>,
    line: usize,
    offset: usize,
    length: usize,
    text: &'a str,
}

#[derive(Serialize)]
struct JsonMeasured {
    what: &'static str,
    value: f64,
    limit: f64,
    unit: &'static str,
}

#[derive(Serialize)]
struct JsonSource<'a> {
    line: usize,
    column: usize,
    offset: usize,
    length: usize,
    element: &'a str,
    id: Option<&'a str>,
}

#[derive(Serialize)]
struct JsonBed {
    x: f64,
    y: f64,
    width: f64,
    height: f64,
}

#[derive(Serialize)]
struct JsonWaived<'a> {
    reason: &'a str,
    until: &'a str,
}

/// The report as JSON, indented, with a line break at the end.
pub fn render(report: &Report) -> String {
    let mut out = OPENING.to_owned();
    for (i, run) in report.runs.iter().enumerate() {
        out.push_str(&one(run, i == 0));
    }
    out + &closing(report.runs.is_empty(), &[])
}

/// How a report begins, before its first file.
pub(crate) const OPENING: &str = "{\n  \"report\": \"jigwarden/1\",\n  \"runs\": [";

/// One file's entry; `first` of the report or not.
#[expect(
    clippy::expect_used,
    reason = "serde_json refuses only map keys that are no strings, and there are no maps here; an \
              empty report in its place would read as nothing found"
)]
pub(crate) fn one(run: &Run, first: bool) -> String {
    let text = serde_json::to_string_pretty(&entry(run)).expect("structs of plain values");
    let text = escaped(&text);
    let mut out = String::with_capacity(text.len() + text.len() / 4);
    out.push_str(if first { "" } else { "," });
    // Strings hold no line breaks: those are escaped.
    for line in text.lines() {
        out.push_str("\n    ");
        out.push_str(line);
    }
    out
}

/// How a report ends; `empty` if it holds no file. `more` stands below the files: keys with values that
/// are JSON already, such as where every order stands.
pub(crate) fn closing(empty: bool, more: &[(&str, String)]) -> String {
    let mut out = if empty { "]" } else { "\n  ]" }.to_owned();
    for (key, value) in more {
        let value = value.replace('\n', "\n  ");
        out.push_str(&format!(",\n  \"{key}\": {value}"));
    }
    out.push_str("\n}\n");
    out
}

fn entry(run: &Run) -> JsonRun<'_> {
    let lines = Lines::new(&run.text);
    JsonRun {
        file: &run.file,
        uri: run.uri.as_deref(),
        sha256: &run.sha256,
        verdict: run.verdict.word(),
        fixture: run.fixture.as_ref().map(|f| JsonFixture {
            name: &f.name,
            code: &f.code,
        }),
        findings: run.findings.iter().map(|f| finding(f, &lines)).collect(),
        rests_on: run.rests_on.as_ref().map(|r| JsonRestsOn {
            names: r.names.as_ref().map(|l| l.file.as_str()),
            orders: r.names.as_ref().map(|l| l.orders),
            loaded: r.loaded(),
            zones: r.zones(),
            faces: &r.faces,
        }),
        blanks: run
            .blanks
            .iter()
            .map(|b| JsonBlank {
                pocket: &b.pocket,
                burnt: &b.burnt,
            })
            .collect(),
        notes: &run.notes,
        trouble: run.trouble.as_deref(),
    }
}

fn finding<'a>(f: &'a Finding, lines: &Lines<'_>) -> JsonFinding<'a> {
    JsonFinding {
        rule: f.rule,
        severity: f.severity.word(),
        pocket: f.pocket.as_deref(),
        message: &f.message,
        help: &f.help,
        measured: f.measured.as_ref().and_then(|m| {
            Some(JsonMeasured {
                what: m.what,
                value: rounded(m.value)?,
                limit: rounded(m.limit)?,
                unit: m.unit,
            })
        }),
        source: f.source.as_ref().map(|s| source(s, lines)),
        bed: f.bed.and_then(bed),
        waived: f.waived.as_ref().map(|w| JsonWaived {
            reason: &w.reason,
            until: &w.until,
        }),
        remedy: remedy(&f.remedy, lines),
        because_of: f.because_of,
        more: f.more,
        also: f
            .also
            .iter()
            .map(|(s, r)| JsonPlace {
                source: source(s, lines),
                bed: bed(*r),
            })
            .collect(),
    }
}

fn source<'a>(s: &'a Source, lines: &Lines<'_>) -> JsonSource<'a> {
    let spot = lines.spot(s.range.start);
    JsonSource {
        line: spot.line,
        column: spot.column,
        offset: s.range.start,
        length: s.range.len(),
        element: &s.element,
        id: s.id.as_deref(),
    }
}

fn bed(r: Rect) -> Option<JsonBed> {
    Some(JsonBed {
        x: rounded(r.min_x())?,
        y: rounded(r.min_y())?,
        width: rounded(r.width().abs())?,
        height: rounded(r.height().abs())?,
    })
}

fn remedy<'a>(remedy: &'a Remedy, lines: &Lines<'_>) -> JsonRemedy<'a> {
    let best = remedy.ways.first();
    JsonRemedy {
        certain: best.is_some(),
        edits: best.map(|way| edits(way, lines)).unwrap_or_default(),
        choices: remedy
            .choices
            .iter()
            .map(|way| JsonChoice {
                name: &way.name,
                assumes: &way.assumes,
                says: &way.says,
                edits: edits(way, lines),
            })
            .collect(),
        hindered: remedy.hindered.as_deref(),
    }
}

fn edits<'a>(way: &'a Way, lines: &Lines<'_>) -> Vec<JsonEdit<'a>> {
    way.edits
        .iter()
        .map(|e| JsonEdit {
            change: e.change,
            element: &e.element,
            id: e.id.as_deref(),
            line: lines.spot(e.replacement.start).line,
            offset: e.replacement.start,
            length: e.replacement.range().len(),
            text: &e.replacement.text,
        })
        .collect()
}

/// A number to four decimals, so that the last bits, which differ from one machine's mathematics to
/// another's, do not reach the report; never minus zero. A tenth of a micrometre is far below
/// anything that is measured. `None` for what is not a number: JSON cannot represent it.
pub(super) fn rounded(value: f64) -> Option<f64> {
    /// Above this the spacing of `f64` is coarser than the fourth decimal already.
    const WHOLE: f64 = 1e11;
    if !value.is_finite() {
        None
    } else if value.abs() >= WHOLE {
        Some(value)
    } else {
        // Adding zero turns minus zero into zero.
        Some((value * 1e4).round() / 1e4 + 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_and_never_minus_nought() {
        assert_eq!(rounded(2.400_000_000_1), Some(2.4));
        assert_eq!(
            rounded(-0.000_01).map(|v| v.to_string()),
            Some("0".to_owned())
        );
        assert_eq!(rounded(0.1 + 0.2), Some(0.3));
        assert_eq!(rounded(1e300), Some(1e300));
        assert_eq!(rounded(f64::NAN), None);
        assert_eq!(rounded(f64::INFINITY), None);
    }
}
