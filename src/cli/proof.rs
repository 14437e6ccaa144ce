//! `proof`, and the proof that `inspect` draws beside its report.

use std::path::{Path, PathBuf};

use super::arguments::{Drawable, ProofArgs};
use super::{complain, say};
use crate::inspect::{self, Failure, Options};
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
        Some(drawn) => keep(into, drawn, &reads).err(),
    };
    (run, trouble)
}

/// Writes a proof, over none of the files that the call `reads`.
///
/// # Errors
///
/// A proof that was not drawn, or a file that cannot be written or is not to be.
pub(super) fn keep(
    into: &Drawable,
    drawn: Result<Vec<u8>, ProofError>,
    reads: &[PathBuf],
) -> Result<(), String> {
    let bytes = drawn.map_err(|e| format!("{}: {e}", into.file.printable()))?;
    output::write(&into.file, &bytes, into.form.kind(), reads).map_err(|e| e.to_string())
}

pub(super) fn proof(args: &ProofArgs) -> Result<u8, Failure> {
    let (run, trouble) = prove(&args.run, &args.against.options()?, &args.output);
    if let Some(text) = &run.trouble {
        complain(&Failure::plain(text));
    }
    if let Some(text) = trouble {
        return Err(Failure::plain(text));
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
    Ok(run.verdict.exit())
}
