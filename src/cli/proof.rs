//! `proof`, and the proof that `inspect` draws beside its report.

use std::path::{Path, PathBuf};

use super::arguments::{Drawable, ProofArgs};
use super::{complain, plain, say};
use crate::inspect::{self, Options};
use crate::output;
use crate::paths::Printable as _;
use crate::report::Run;
use crate::report::proof::ProofError;
use crate::wording::counted;

/// Inspects a run and draws its proof; what kept the proof from being written, if anything did. Of
/// a run that could not be inspected there is nothing to draw, and no file is touched.
pub(super) fn prove(run: &Path, options: &Options, into: &Drawable) -> (Run, Option<String>) {
    let file = into.file.printable();
    let reads = options.reads(run);
    let (run, drawn) = inspect::inspect(run, options, |job, run| into.form.draw(job, run));
    let trouble = match drawn {
        None => Some(format!(
            "no proof is drawn of a file that could not be inspected: {file} was not written"
        )),
        Some(drawn) => keep(into, drawn, &reads),
    };
    (run, trouble)
}

/// Writes a proof, over none of the files that the call `reads`; what kept it from being written, if
/// anything did.
pub(super) fn keep(
    into: &Drawable,
    drawn: Result<Vec<u8>, ProofError>,
    reads: &[PathBuf],
) -> Option<String> {
    match drawn {
        Err(e) => Some(format!("{}: {e}", into.file.printable())),
        Ok(bytes) => output::write(&into.file, &bytes, into.form.kind(), reads)
            .err()
            .map(|e| e.to_string()),
    }
}

pub(super) fn proof(args: &ProofArgs) -> u8 {
    let (run, trouble) = prove(&args.run, &args.against.options(), &args.output);
    let held_up = trouble.is_some();
    for text in run.trouble.iter().cloned().chain(trouble) {
        complain(&plain(text));
    }
    if held_up {
        return 2;
    }
    let found = match run.findings.len() {
        0 => "nothing found".to_owned(),
        n => counted(n, "finding", "findings"),
    };
    say(&format!(
        "{}: {} ({found})\n",
        run.verdict.word().to_uppercase(),
        args.output.file.printable()
    ));
    run.verdict.exit()
}
