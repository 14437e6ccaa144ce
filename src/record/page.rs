//! The record as a page: which slips occur most, month by month, and what was cleared when.

use crate::ids::At;
use std::fmt::Write as _;

use super::read::Record;
use super::summary::{Slips, cleared, extent, notes, slips};
use crate::rules;
use crate::wording::escape;

/// Most clearances that the page lists, the last ones: the record itself holds all.
const LISTED: usize = 500;

/// Most rules that are drawn: those below are rare, and the table has them.
const DRAWN: usize = 12;

/// Most months that are drawn, the last ones.
const MONTHS: usize = 24;

const STYLE: &str = "body{font:16px/1.45 system-ui,sans-serif;color:#2b2620;background:#fbf7ee;max-width:60rem;margin:2rem auto;padding:0 1rem}\
h1{font-size:1.5rem}h2{font-size:1.15rem;margin-top:2rem}table{border-collapse:collapse}\
th,td{text-align:left;padding:.2rem .8rem .2rem 0;border-bottom:1px solid #d9d0bd;vertical-align:top}\
td.n,th.n{text-align:right}svg{max-width:100%;height:auto}code{font-size:.85em}.wide{overflow-x:auto}";

/// The page; `name` is the record's file name.
pub(crate) fn page(record: &Record, name: &str) -> String {
    let slips = slips(record);
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/><meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\"/><link rel=\"icon\" href=\"data:,\"/><title>Record {0}</title><style>{STYLE}</style></head><body><h1>Record {0}</h1><p>{1}.</p>",
        escape(name),
        extent(record)
    );
    for note in notes(record) {
        let _ = write!(out, "<p><strong>Note: {note}.</strong></p>");
    }
    out.push_str("<h2>Which slips occur most</h2>");
    if slips.rules.is_empty() {
        out.push_str("<p>None is recorded.</p>");
    } else {
        out.push_str("<p>What held or asked for a look, by rule and month. A slip that was still there at the next look at the same file is counted once.</p>");
        let _ = write!(out, "<figure style=\"margin:0\">{}</figure>", plot(&slips));
        out.push_str(&table(&slips));
    }
    out.push_str("<h2>What was cleared when</h2>");
    out.push_str(&clearances(record));
    out.push_str("</body></html>\n");
    out
}

/// A row a rule, a bar a month, each with its number: the length of a bar is its count.
fn plot(slips: &Slips) -> String {
    const LEFT: f64 = 170.0;
    const RIGHT: f64 = 770.0;
    const ROW: f64 = 46.0;
    const BAR: f64 = 28.0;
    let skipped = slips.months.len().saturating_sub(MONTHS);
    let months = slips.months.at(skipped..);
    let rules: Vec<&(String, Vec<usize>)> = slips.rules.iter().take(DRAWN).collect();
    let most = rules
        .iter()
        .flat_map(|(_, row)| row)
        .max()
        .copied()
        .unwrap_or(1)
        .max(1) as f64;
    let step = (RIGHT - LEFT) / months.len().max(1) as f64;
    let wide = (step * 0.6).min(36.0);
    let height = ROW * rules.len() as f64 + 30.0;
    let mut out = format!(
        "<svg viewBox=\"0 0 780 {height}\" width=\"780\" height=\"{height}\" role=\"img\" aria-label=\"Slips by rule and month; the table below has the same numbers\" font-size=\"13\" fill=\"#2b2620\">"
    );
    for (i, (rule, row)) in rules.iter().enumerate() {
        let foot = ROW * (i as f64 + 1.0);
        let _ = write!(
            out,
            "<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text><path d=\"M{LEFT} {foot}H{RIGHT}\" stroke=\"#b7ab92\"/>",
            LEFT - 10.0,
            foot - 4.0,
            escape(rule)
        );
        for (m, count) in row
            .iter()
            .skip(skipped)
            .enumerate()
            .filter(|(_, n)| **n > 0)
        {
            let middle = LEFT + step * (m as f64 + 0.5);
            let tall = BAR * *count as f64 / most;
            let _ = write!(
                out,
                "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{wide:.1}\" height=\"{tall:.1}\" fill=\"#8f4a00\"/><text x=\"{middle:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"11\">{count}</text>",
                middle - wide / 2.0,
                foot - tall,
                foot - tall - 3.0
            );
        }
    }
    // Where months stand close, the year is said where it changes.
    let mut year = "";
    for (m, month) in months.iter().enumerate() {
        let (of, number) = month.split_once('-').unwrap_or(("", month));
        let label = if year == of {
            number.to_owned()
        } else {
            format!("{of}-{number}")
        };
        year = of;
        let label = if step < 50.0 {
            number.to_owned()
        } else {
            label
        };
        let _ = write!(
            out,
            "<text x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">{}</text>",
            LEFT + step * (m as f64 + 0.5),
            height - 10.0,
            escape(&label)
        );
    }
    out.push_str("</svg>");
    out
}

fn table(slips: &Slips) -> String {
    let mut out = String::from("<div class=\"wide\"><table><thead><tr><th scope=\"col\">Rule</th>");
    for month in &slips.months {
        let _ = write!(out, "<th class=\"n\" scope=\"col\">{}</th>", escape(month));
    }
    out.push_str("<th class=\"n\" scope=\"col\">all</th><th scope=\"col\">What it means</th></tr></thead><tbody>");
    for (rule, row) in &slips.rules {
        let _ = write!(out, "<tr><th scope=\"row\">{}</th>", escape(rule));
        for count in row {
            let _ = write!(out, "<td class=\"n\">{count}</td>");
        }
        let _ = write!(
            out,
            "<td class=\"n\">{}</td><td>{}</td></tr>",
            row.iter().sum::<usize>(),
            rules::find(rule)
                .map(|info| escape(meaning(info.page)))
                .unwrap_or_default()
        );
    }
    out.push_str("</tbody></table></div>");
    out
}

/// The first sentence of a rule's page.
fn meaning(page: &str) -> &str {
    let text = page
        .lines()
        .find(|l| !l.trim().is_empty() && !l.starts_with('#'))
        .unwrap_or_default();
    text.split_once(". ").map_or(text, |(first, _)| first)
}

fn clearances(record: &Record) -> String {
    let all = cleared(record);
    if all.is_empty() {
        return "<p>Nothing was cleared.</p>".to_owned();
    }
    let skipped = all.len().saturating_sub(LISTED);
    let mut out = String::new();
    if skipped > 0 {
        let _ = write!(
            out,
            "<p>The last {LISTED} of {}; <code>jigwarden record FILE --find NAME</code> searches all.</p>",
            all.len()
        );
    }
    out.push_str("<div class=\"wide\"><table><thead><tr><th scope=\"col\">When</th><th scope=\"col\">File</th><th scope=\"col\">Fixture</th><th scope=\"col\">On the blanks</th><th scope=\"col\">By</th></tr></thead><tbody>");
    for c in all.iter().skip(skipped).rev() {
        let blanks: Vec<String> = c
            .entry
            .blanks
            .iter()
            .map(|b| format!("{} {}", b.pocket, b.burnt))
            .collect();
        let fixture = c.entry.fixture.as_ref();
        let _ = write!(
            out,
            "<tr><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            escape(&c.entry.minute()),
            escape(&c.entry.file),
            fixture
                .map(|f| escape(&format!("{} {}", f.name, f.code)))
                .unwrap_or_default(),
            escape(&blanks.join(", ")),
            escape(c.entry.by.as_deref().unwrap_or(""))
        );
    }
    out.push_str("</tbody></table></div>");
    out
}
