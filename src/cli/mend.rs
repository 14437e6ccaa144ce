//! `mend`: what was done and what is left, in words.

use similar::TextDiff;

use super::arguments::MendArgs;
use super::{look, say};
use crate::inspect::Failure;
use crate::mend::{self, Mended, Wanted};
use crate::output;
use crate::paths::{self, Printable as _};
use crate::report::{Run, text};
use crate::rules;
use crate::wording::counted;

pub(super) fn mend(args: &MendArgs) -> Result<u8, Failure> {
    if let Some(rule) = args.only.iter().find(|rule| rules::find(rule).is_none()) {
        return Err(Failure::plain(format!(
            "--only {rule}: there is no such rule: `jigwarden explain` lists them"
        )));
    }
    let options = args.against.options()?;
    let reads = options.reads(&args.run);
    // A copy of the run as it is now holds nothing that would be lost.
    if let Some(Err(e)) = args.output.as_ref().map(|o| output::may_write(o, &reads))
        && !is_copy(args)
    {
        return Err(Failure::plain(e));
    }
    let wanted = Wanted {
        only: args.only.clone(),
        pocket: args.pocket.clone(),
        chosen: args.choose.clone(),
    };
    let mended = mend::mend(&args.run, &options, &wanted)?;
    if args.dry_run {
        say(&diff(args, &mended));
    } else if let Some(file) = &args.output {
        if is_copy(args) {
            paths::replace(file, &mended.marked).map_err(|e| {
                Failure::plain(format!("{} cannot be written: {e}", file.printable()))
            })?;
        } else {
            output::write_as_is(file, &mended.marked, &reads).map_err(Failure::plain)?;
        }
    }
    say(&told(args, &mended));
    Ok(mended.after.verdict.exit())
}

/// Whether the target is another file with the very bytes of the run.
fn is_copy(args: &MendArgs) -> bool {
    let Some(file) = &args.output else {
        return false;
    };
    !paths::same(file, &args.run).unwrap_or(true)
        && matches!((paths::read(file), paths::read(&args.run)), (Ok(a), Ok(b)) if a == b)
}

/// What would change, as a unified diff.
fn diff(args: &MendArgs, mended: &Mended) -> String {
    let name = args.run.printable();
    TextDiff::from_lines(&*mended.before.text, &*mended.text)
        .unified_diff()
        .header(&name, &format!("{name} (mended)"))
        .to_string()
}

fn told(args: &MendArgs, mended: &Mended) -> String {
    let mut out = String::new();
    for done in &mended.done {
        let pocket = done
            .pocket
            .as_ref()
            .map_or_else(String::new, |p| format!(" {p}"));
        out.push_str(&format!("mended {}{pocket}: {}\n", done.rule, done.says));
        // Of a file without line breaks many are called the same.
        let alike: Vec<_> = done.elements.chunk_by(|a, b| a == b).collect();
        let (named, more) = alike.split_at(alike.len().min(MOST_NAMED));
        for same in named {
            let Some((line, element, id)) = same.first() else {
                continue;
            };
            let id = id.as_ref().map_or_else(String::new, |id| format!(" #{id}"));
            let many = match same.len() {
                1 => String::new(),
                n => format!(" ({n} of them)"),
            };
            out.push_str(&format!("  line {line}: {element}{id}{many}\n"));
        }
        let more: usize = more.iter().map(|same| same.len()).sum();
        if more > 0 {
            out.push_str(&format!("  and {more} more\n"));
        }
    }
    if mended.done.is_empty() {
        out.push_str("nothing in this run could be mended\n");
    }
    out.push_str(&choices(&mended.after));
    out.push_str(&left(&mended.after));
    out.push_str(&format!("\nbefore: {}\n", verdict(&mended.before)));
    let mut after = mended.after.clone();
    after.file = match (&args.output, args.dry_run) {
        (Some(file), false) => file.printable(),
        _ => format!("{} (mended, not written)", after.file),
    };
    out.push_str(&format!("after:  {}\n", verdict(&after)));
    if !after.findings.is_empty() {
        out.push('\n');
        out.push_str(&text::one(&after, &look(false, false), true));
    }
    out
}

/// What a person may choose for what is left.
fn choices(run: &Run) -> String {
    let mut out = String::new();
    for finding in run.told() {
        let at = finding
            .pocket
            .as_ref()
            .map_or_else(String::new, |p| format!("@{p}"));
        for way in finding
            .remedy
            .choices
            .iter()
            .filter(|w| !w.edits.is_empty())
        {
            out.push_str(&format!(
                "to be chosen: if {}, {} (--choose {}{at}={})\n",
                way.assumes, way.says, finding.rule, way.name
            ));
        }
    }
    out
}

/// Why what is left could not be mended, where something stands in the way.
fn left(run: &Run) -> String {
    let mut out = String::new();
    for finding in run.told() {
        if let Some(why) = &finding.remedy.hindered {
            let pocket = finding.pocket.as_ref();
            let pocket = pocket.map_or_else(String::new, |p| format!(" {p}"));
            out.push_str(&format!("not mended {}{pocket}: {why}\n", finding.rule));
        }
    }
    out
}

/// Elements that are named one by one for one thing that was done.
const MOST_NAMED: usize = 20;

fn verdict(run: &Run) -> String {
    let found = match run.findings.len() {
        0 => String::new(),
        n => format!(" ({})", counted(n, "finding", "findings")),
    };
    format!(
        "{}  {}{found}",
        run.verdict.word().to_uppercase(),
        run.file.printable()
    )
}
