//! How long a verdict takes, and whether one is lost when everything is saved at once.

use std::collections::BTreeMap;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::watch::workshop::{Watcher, Workshop, program};

/// Saves `files` files twice, as fast as they can be written, and checks that each gets the verdict
/// on what it holds at the end.
fn all_at_once(files: usize) {
    let shop = Workshop::new();
    let mut watcher = shop.gate(&[]);
    watcher.until("the start", |l| l.starts_with("watching"));
    let begun = Instant::now();
    for turn in 0..2 {
        for n in 0..files {
            let name = format!("{}/{n}.svg", n % 7);
            // The second save turns every verdict over, but for every fifth.
            let clear = (n + turn) % 2 == 0 || (turn == 1 && n % 5 == 0);
            let text = if clear { shop.clear(n) } else { shop.hold(n) };
            shop.save(&name, &text);
        }
    }
    let saved = begun.elapsed();
    let wanted: BTreeMap<String, bool> = (0..files)
        .map(|n| (format!("{}/{n}.svg", n % 7), (n + 1) % 2 == 0 || n % 5 == 0))
        .collect();
    let mut clear: Vec<&str> = wanted
        .iter()
        .filter(|(_, clear)| **clear)
        .map(|(name, _)| name.as_str())
        .collect();
    clear.sort_unstable();
    shop.cleared_becomes(&clear);
    // Those that hold are told, too: their last word is the right one.
    let mut last: BTreeMap<String, String> = BTreeMap::new();
    let mut news = Instant::now();
    loop {
        for line in watcher.listen(Duration::from_millis(300)) {
            news = Instant::now();
            let mut words = line.split_whitespace();
            if let (Some(word), Some(name)) = (words.next(), words.next()) {
                last.insert(name.to_owned(), word.to_owned());
            }
        }
        let wrong = wanted.iter().find(|(name, clear)| {
            last.get(*name).map(String::as_str) != Some(if **clear { "CLEAR" } else { "HOLD" })
        });
        match wrong {
            None => break,
            Some(wrong) => assert!(
                news.elapsed() < Duration::from_mins(1),
                "{wrong:?}: {:?}",
                last.get(wrong.0)
            ),
        }
    }
    println!(
        "{files} files saved twice within {saved:.1?}, each with its last verdict after {:.1?}",
        begun.elapsed()
    );
}

#[test]
fn no_save_is_lost_when_many_come_at_once() {
    all_at_once(60);
}

/// The full size; `cargo test --release --test all watch -- --ignored`.
#[test]
#[ignore = "takes half a minute"]
fn no_save_is_lost_when_a_thousand_come_at_once() {
    all_at_once(1000);
}

/// From the end of a save to the verdict read from the watcher, the wait for the file to rest
/// included.
fn measured(saves: usize) -> (Duration, Duration) {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&[]);
    watcher.verdict("CLEAR", "a.svg");
    times(&shop, &mut watcher, saves)
}

/// The median and what 95 of 100 stay within.
fn times(shop: &Workshop, watcher: &mut Watcher, saves: usize) -> (Duration, Duration) {
    let mut times = Vec::new();
    for n in 1..=saves {
        let (word, text) = if n % 2 == 1 {
            ("HOLD", shop.hold(n))
        } else {
            ("CLEAR", shop.clear(n))
        };
        if n % 3 == 0 {
            shop.replace("a.svg", &text);
        } else {
            shop.save("a.svg", &text);
        }
        let saved = Instant::now();
        let (told, _) = watcher.verdict(word, "a.svg");
        times.push(told.saturating_duration_since(saved));
        // People do not save in step with the watcher.
        std::thread::sleep(Duration::from_millis(5 + (n as u64 * 7) % 40));
    }
    times.sort_unstable();
    (times[saves / 2], times[saves * 95 / 100])
}

/// A run that takes many seconds: shapes that all lie on each other, and cross everywhere.
fn large(shop: &Workshop) -> String {
    let mut shapes = String::new();
    let mut chance = 1_u64;
    for _ in 0..350 {
        shapes.push_str("<path fill=\"#1b1b1b\" d=\"M");
        for n in 0..60 {
            chance = chance
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            let radius = 4.0 + 2.0 * (chance >> 40) as f64 / f64::from(1 << 24);
            let (sine, cosine) = (f64::from(n) * std::f64::consts::TAU / 60.0).sin_cos();
            shapes.push_str(&format!(
                "{:.3} {:.3} ",
                94.0 + radius * cosine,
                340.0 + radius * sine
            ));
        }
        shapes.push_str("Z\"/>");
    }
    shop.clear(0).replace("</svg>", &format!("{shapes}</svg>"))
}

#[test]
fn a_small_run_does_not_wait_for_large_ones() {
    let shop = Workshop::new();
    let mut watcher = shop.gate(&[]);
    watcher.until("the start", |l| l.starts_with("watching"));
    for n in 0..4 {
        shop.save(&format!("large{n}.svg"), &large(&shop));
    }
    std::thread::sleep(Duration::from_millis(500));
    shop.save("small.svg", &shop.hold(1));
    watcher.verdict("HOLD", "small.svg");
    assert!(!watcher.said().contains("large"), "{}", watcher.said());
    // Nobody waits for what is deleted.
    for n in 0..4 {
        std::fs::remove_file(shop.runs().join(format!("large{n}.svg"))).unwrap();
    }
    shop.save("small.svg", &shop.clear(2));
    watcher.verdict("CLEAR", "small.svg");
    let said = watcher.listen(Duration::from_secs(1));
    assert!(!said.iter().any(|l| l.starts_with("HOLD")), "{said:?}");
}

#[test]
fn a_verdict_does_not_keep_people_waiting() {
    // However slow the machine is just now, a plain inspection is as slow.
    let shop = Workshop::new();
    shop.save("a.svg", &shop.hold(0));
    let plain = (0..5)
        .map(|_| {
            let begun = Instant::now();
            let status = Command::new(program())
                .args(["inspect", "--quiet", "runs/a.svg"])
                .current_dir(shop.path())
                .stdout(Stdio::null())
                .status()
                .unwrap();
            assert_eq!(status.code(), Some(1));
            begun.elapsed()
        })
        .max()
        .unwrap();
    let (median, _) = measured(11);
    let most = 4 * plain + Duration::from_secs(1);
    assert!(
        median < most,
        "{median:?}, an inspection alone takes {plain:?}"
    );
}

/// The benchmark; `cargo test --release --test all verdict_is_quick -- --ignored --nocapture`.
#[test]
#[ignore = "measures: alone, and in release"]
fn a_verdict_is_quick() {
    let (median, most) = measured(200);
    println!(
        "from save to verdict over 200 saves: median {median:.1?}, 95 of 100 within {most:.1?}"
    );
    assert!(median < Duration::from_millis(150), "{median:?}");
}

/// Likewise, beside many files that rest and two large ones that are inspected all the while.
fn beside_others(files: usize, saves: usize) -> Duration {
    let shop = Workshop::new();
    for n in 0..files {
        shop.save(&format!("{}/{n}.svg", n % 20), &shop.clear(n));
    }
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&[]);
    let all = || {
        shop.in_cleared()
            .iter()
            .filter(|n| n.ends_with(".svg"))
            .count()
            == files + 1
    };
    let begun = Instant::now();
    while !all() {
        assert!(begun.elapsed() < Duration::from_mins(10));
        std::thread::sleep(Duration::from_millis(200));
    }
    let started = begun.elapsed();
    for n in 0..2 {
        shop.save(&format!("large{n}.svg"), &large(&shop));
    }
    // They are known to be large by then.
    std::thread::sleep(Duration::from_secs(2));
    let (median, most) = times(&shop, &mut watcher, saves);
    let done = watcher.said().matches("large").count();
    println!(
        "{files} files cleared in {started:.1?}; over {saves} saves beside two large ones: median {median:.1?}, 95 of 100 within {most:.1?}; {done} of the large ones done by then"
    );
    median
}

#[test]
#[ignore = "measures: alone, and in release"]
fn a_verdict_is_quick_beside_two_thousand_files_and_two_large_ones() {
    let median = beside_others(2000, 200);
    assert!(median < Duration::from_millis(150), "{median:?}");
}
