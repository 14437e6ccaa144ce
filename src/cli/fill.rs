//! `fill`: what was written, and what could not be set.

use super::arguments::{FillArgs, FillFormat};
use super::{complain, say, screen};
use crate::fill::{self, FillOptions, Filled, Written};
use crate::finding::Severity;
use crate::fixture::shorthand;
use crate::inspect::{Failure, Options};
use crate::paths::Printable as _;
use crate::report::json;
use crate::typeset::{Ink, Screen};
use crate::wording::{counted, quoted};

pub(super) fn fill(args: &FillArgs) -> Result<u8, Failure> {
    let options = FillOptions {
        list: args.list.of(args.orders.clone()),
        folder: args.output.clone(),
        outlines: args.outlines,
        only: args.only.clone(),
        inspect: Options {
            fixture: args.fixture.clone(),
            loaded: args.loaded.clone(),
            strict: args.strict,
            fonts: args.fonts.clone(),
            machine_fonts: true,
            ..Options::default()
        },
    };
    let orders = std::slice::from_ref(&args.orders);
    args.record.ready(orders, &options.inspect)?;
    let filled = fill::fill(&options)?;
    say(&match args.format {
        FillFormat::Text => told(&filled, &screen()),
        FillFormat::Json => in_json(&filled),
    });
    let mut status = u8::from(!filled.unset.is_empty());
    for entry in (filled.written.iter()).filter_map(|w| args.record.line(&w.run)) {
        if let Some(text) = args.record.add(&entry) {
            complain(&Failure::plain(text));
            status = 2;
        }
    }
    Ok(status)
}

/// The runs as `inspect` reports them, the list, the orders that no run holds, and the notes.
fn in_json(filled: &Filled) -> String {
    let mut out = json::OPENING.to_owned();
    for (n, written) in filled.written.iter().enumerate() {
        out.push_str(&json::one(&written.run, n == 0));
    }
    let unset = filled.unset.iter().map(
        |u| serde_json::json!({ "name": u.name, "row": u.row, "pocket": u.pocket, "why": u.why }),
    );
    let value = |v: serde_json::Value| format!("{v:#}");
    out + &json::closing(
        filled.written.is_empty(),
        &[
            ("list", value(filled.list.as_str().into())),
            ("unset", value(unset.collect())),
            ("notes", value(filled.notes.clone().into())),
        ],
    )
}

fn told(filled: &Filled, screen: &Screen) -> String {
    let blanks: usize = filled.written.iter().map(|w| w.pockets.len()).sum();
    let filling = if filled.written.is_empty() {
        format!("no run filled from {}", filled.list)
    } else {
        format!(
            "{} filled from {}: {}, every file inspected and clear",
            counted(filled.written.len(), "run", "runs"),
            filled.list,
            counted(blanks, "blank", "blanks")
        )
    };
    let mut out = screen.set("", "  ", &[(Ink::Strong, &filling)]);
    for written in &filled.written {
        out.push_str(&one(written, screen));
    }
    if !filled.unset.is_empty() {
        let text = format!(
            "not set: {}",
            counted(
                filled.unset.len(),
                "order; its pocket is left bare",
                "orders; their pockets are left bare"
            )
        );
        out.push('\n');
        out.push_str(&screen.set("", "  ", &[(Ink::Hold, &text)]));
        for unset in &filled.unset {
            let text = format!(
                "{} ({}, pocket {}): {}",
                quoted(&unset.name),
                unset.row,
                unset.pocket,
                unset.why
            );
            out.push_str(&screen.set("  ", "    ", &[(Ink::Plain, &text)]));
        }
    }
    if !filled.notes.is_empty() {
        out.push('\n');
        for note in &filled.notes {
            out.push_str(&screen.set("  note: ", "        ", &[(Ink::Plain, note)]));
        }
    }
    out
}

/// The file, what it holds, and what asks for a look.
fn one(written: &Written, screen: &Screen) -> String {
    let text = format!(
        "{}: {} in {}",
        written.file.printable(),
        counted(written.pockets.len(), "blank", "blanks"),
        shorthand::list(&written.pockets)
    );
    let mut out = screen.set("  ", "    ", &[(Ink::Plain, &text)]);
    let looks = written
        .run
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Caution);
    for f in looks.filter(|f| f.waived.is_none()) {
        let pocket = f
            .pocket
            .as_ref()
            .map(|p| format!("{p}: "))
            .unwrap_or_default();
        let text = format!("asks for a look: {pocket}{} [{}]", f.message, f.rule);
        out.push_str(&screen.set("    ", "    ", &[(Ink::Caution, &text)]));
    }
    out
}
