//! Thousands of copies are answered: each is compared with the first, and not with every other one. And
//! whoever does not want to wait for an answer ends the program.

use std::time::{Duration, Instant};

use crate::common::bench;

use bench::{Bench, others};

fn stars(count: usize, x: f64) -> String {
    format!("<path d='M{x} 90l4 8l8 0l-6 6l3 9l-9 -5l-9 5l3 -9l-6 -6l8 0z' fill='#1b1b1b'/>\n")
        .repeat(count)
}

/// The findings of a rule in A1: how many the report counts.
fn counted(bench: &Bench, rule: &str, art: &str) -> usize {
    let found = bench.of(rule, &format!("{art}{}", others(&[1])));
    found.iter().map(|f| 1 + f.more).sum()
}

#[test]
fn of_several_copies_each_later_one_is_told_of_once() {
    let bench = Bench::new();
    for (copies, expected) in [(1, 0), (2, 1), (3, 2), (10, 9)] {
        let art = stars(copies, 40.0);
        assert_eq!(counted(&bench, "doubled", &art), expected, "{copies} fills");
        let lines = art.replace(
            "fill='#1b1b1b'",
            "fill='none' stroke='#1b1b1b' stroke-width='0.3'",
        );
        assert_eq!(
            counted(&bench, "doubled", &lines),
            expected,
            "{copies} lines"
        );
        // A twin does not hide a twin.
        assert_eq!(counted(&bench, "hidden-but-live", &art), 0, "{copies}");
    }
    // Nearly in one place, none exactly.
    let near: String = (0..4)
        .map(|i| stars(1, 40.0 + 0.01 * f64::from(i)))
        .collect();
    assert_eq!(counted(&bench, "doubled", &near), 3);
    assert_eq!(counted(&bench, "hidden-but-live", &near), 0);
}

#[test]
fn copies_under_a_cover_are_all_hidden() {
    let bench = Bench::new();
    let cover = "<rect x='25' y='80' width='30' height='40' fill='#1b1b1b'/>";
    for copies in [1, 2, 7] {
        let under = format!("{}{cover}", stars(copies, 40.0));
        assert_eq!(counted(&bench, "hidden-but-live", &under), copies);
        let between = format!("{}{cover}{}", stars(copies, 40.0), stars(3, 40.0));
        assert_eq!(counted(&bench, "hidden-but-live", &between), copies);
    }
}

#[test]
fn every_one_of_four_thousand_copies_is_counted() {
    let bench = Bench::new();
    // Each with each other one, which took minutes, these are eight million pairs.
    assert_eq!(counted(&bench, "doubled", &stars(4_000, 40.0)), 3_999);
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_a_single_slow_file_at_once() {
    use std::process::{Command, Stdio};

    let bench = Bench::new();
    let mut art = String::new();
    for i in 0..4_000_u32 {
        let (a, b) = (f64::from(i * 7 % 360), f64::from(i * 131 % 360));
        let at = |turn: f64| {
            let turn = turn.to_radians();
            format!(
                "{:.3},{:.3}",
                40.0 + 17.0 * turn.cos(),
                100.0 + 17.0 * turn.sin()
            )
        };
        art.push_str(&format!(
            "<path fill='none' stroke='#1b1b1b' stroke-width='0.2' d='M{}L{}'/>\n",
            at(a + f64::from(i) * 0.01),
            at(b + 90.0)
        ));
    }
    let text = bench::page(&(bench::off_outlines() + &art));
    let folder = bench.into_folder();
    let file = folder.path().join("slow.svg");
    std::fs::write(&file, text).unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .arg("inspect")
        .arg(&file)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(400));
    assert!(
        child.try_wait().unwrap().is_none(),
        "it is answered already: take a slower file"
    );
    let told = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(told.success());
    let start = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if start.elapsed() > Duration::from_secs(5) {
            child.kill().unwrap();
            panic!("it goes on after an interrupt");
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    assert_eq!(status.code(), Some(2));
}
