//! Reads the run files that `tests/ci/lettering.sh` makes, and writes down what was made of each
//! pocket. That script plans the runs and scores the answers: this file knows neither.
//!
//! In the program's own process, as the machine's fonts must be out of play: half the question is
//! what happens where the face is not at hand.

use crate::common;

use std::path::{Path, PathBuf};

use jigwarden::tested::finding::Severity;
use jigwarden::tested::inspect::Inspector;
use jigwarden::tested::matching::Job;
use jigwarden::tested::report::Run;
use serde_json::{Value, json};

/// The plan is a list of `{"fonts": FOLDER or null, "runs": [FILE, …]}`.
#[test]
#[ignore = "wants the runs that tests/ci/lettering.sh makes, in the folder named by LETTERING"]
fn what_is_made_of_planned_runs() {
    let folder = PathBuf::from(std::env::var_os("LETTERING").unwrap());
    let plan: Value =
        serde_json::from_slice(&std::fs::read(folder.join("plan.json")).unwrap()).unwrap();
    let mut all = Vec::new();
    for part in plan.as_array().unwrap() {
        let mut asked = common::asked(&common::fixture("hive-tags"));
        asked
            .fonts
            .extend(part["fonts"].as_str().map(PathBuf::from));
        let bench = Inspector::new(asked);
        for file in part["runs"].as_array().unwrap() {
            let (run, seen) = bench.inspect(Path::new(file.as_str().unwrap()), seen);
            assert!(run.trouble.is_none(), "{file}: {:?}", run.trouble);
            all.push(json!({
                "run": file,
                "fonts": part["fonts"],
                "pockets": seen.unwrap(),
                "held": held(&run),
            }));
        }
    }
    let answer = serde_json::to_vec(&all).unwrap();
    std::fs::write(folder.join("seen.json"), answer).unwrap();
}

/// What holds the run, as rule and pocket.
fn held(run: &Run) -> Vec<Value> {
    run.findings
        .iter()
        .filter(|f| f.severity == Severity::Hold)
        .map(|f| json!([f.rule, f.pocket, f.message]))
        .collect()
}

/// Each pocket with art: what was read there, and which way up its largest piece is thought to be.
fn seen(job: &Job<'_>, _: &Run) -> Vec<Value> {
    let mut out = Vec::new();
    for (number, pocket) in job.pockets.pairs() {
        let largest = (job.art.iter().zip(job.ways_up()))
            .filter(|(art, _)| art.pocket == Some(number))
            .max_by(|a, b| a.0.bounds().area().total_cmp(&b.0.bounds().area()));
        let Some((art, way)) = largest else {
            continue;
        };
        let reading = &job.read[number];
        let centre = art.bounds().center();
        let words: Vec<Value> = reading
            .words
            .iter()
            .map(|w| {
                json!({
                    "text": w.text,
                    "decided": w.decided,
                    "up": [w.up.x, w.up.y],
                    "mirrored": w.mirrored,
                })
            })
            .collect();
        out.push(json!({
            "pocket": pocket.name,
            "at": [centre.x, centre.y],
            "share": reading.share,
            "words": words,
            "odds": reading.shapes.as_ref().map(|s| s.odds.0),
            "parts": reading.shapes.as_ref().map(|s| s.letters),
            "built": reading.shapes.as_ref().is_some_and(|s| s.built),
            "letters": reading.letters.iter().map(|s| (s.kind, s.lays)).collect::<Vec<_>>(),
            "way": way.map(|w| json!({
                "up": [w.up.x, w.up.y],
                "mirrored": w.mirrored,
                "from": format!("{:?}", w.from),
            })),
        }));
    }
    out
}
