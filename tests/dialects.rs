//! The same run, written as thirty editors and scripts would: same verdict, same rules and pockets,
//! and measured within 0.01 mm.

use crate::common;

use std::fmt::Write as _;

use common::dialects::{dialects, runs};
use common::{asked, fixture, inspect_bytes};
use jigwarden::tested::report::Run;

/// How far the same measure may differ between dialects, in millimetres, degrees or per cent.
const SAME: f64 = 0.01;

/// What is compared: rule, pocket, measured value, and the box on the bed.
type Told = (String, Option<String>, Option<f64>, Option<[f64; 4]>);

fn told(run: &Run) -> Vec<Told> {
    let mut all: Vec<Told> = run
        .findings
        .iter()
        .map(|f| {
            (
                f.rule.to_owned(),
                f.pocket.clone(),
                f.measured.as_ref().map(|m| m.value),
                f.bed.map(|b| [b.x0, b.y0, b.x1, b.y1]),
            )
        })
        .collect();
    all.sort_by(|a, b| (&a.0, &a.1).cmp(&(&b.0, &b.1)));
    all
}

fn same(a: &[Told], b: &[Told]) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= SAME;
    a.len() == b.len()
        && a.iter().zip(b).all(|(a, b)| {
            let measured = match (a.2, b.2) {
                (Some(x), Some(y)) => near(x, y),
                (None, None) => true,
                _ => false,
            };
            let bed = match (a.3, b.3) {
                // A line is as wide as its stroke, a little more or less: twice the tolerance.
                (Some(x), Some(y)) => x.iter().zip(y).all(|(x, y)| (x - y).abs() <= 2.0 * SAME),
                (None, None) => true,
                _ => false,
            };
            a.0 == b.0 && a.1 == b.1 && measured && bed
        })
}

fn every_dialect_says(which: &str) {
    let (_, run, expected) = runs().into_iter().find(|r| r.0 == which).unwrap();
    let asked = asked(&fixture("hive-tags"));
    let mut first: Option<(Run, Vec<Told>)> = None;
    let mut wrong = String::new();
    for (file, name, bytes) in dialects(&run) {
        let is = inspect_bytes(&bytes, file, &asked);
        let all = told(&is);
        match &first {
            None => {
                let rules: Vec<(&str, &str)> = all
                    .iter()
                    .map(|t| (t.0.as_str(), t.1.as_deref().unwrap_or("")))
                    .collect();
                assert_eq!(rules, expected, "{name}: {:?}", is.trouble);
                first = Some((is, all));
            }
            Some((plain, plain_all)) => {
                if is.verdict != plain.verdict || !same(plain_all, &all) {
                    writeln!(
                        wrong,
                        "{name}: {:?} {all:?} {:?}\n  and in millimetres: {:?} {plain_all:?}",
                        is.verdict, is.trouble, plain.verdict
                    )
                    .unwrap();
                    for f in &is.findings {
                        writeln!(wrong, "    {}: {}", f.rule, f.message).unwrap();
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn a_clear_run() {
    every_dialect_says("sound");
}

#[test]
fn a_pocket_moved_and_one_reshaped() {
    every_dialect_says("outlines");
}

#[test]
fn names_too_long_upside_down_and_off_the_blank() {
    every_dialect_says("names");
}

#[test]
fn everything_dragged() {
    every_dialect_says("dragged");
}

#[test]
fn an_outline_gone() {
    every_dialect_says("deleted");
}
