//! The cleared folder holds no run that is not clear, whenever the watcher dies.

use std::fs;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::common::chance::Chance;
use crate::watch::workshop::{Workshop, below, program};

/// Whether a file inspects clear on its own, by the program's exit status.
fn inspects_clear(shop: &Workshop, file: &std::path::Path) -> bool {
    Command::new(program())
        .args(["inspect", "--quiet", "--fixture"])
        .arg(shop.path())
        .arg(file)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap()
        .success()
}

/// After a crash, before anything is put right: whatever lies in the cleared folder under an artwork
/// name is whole and clear.
fn nothing_unclear_lies_there(shop: &Workshop) {
    for name in shop.in_cleared() {
        if !name.starts_with(".jigwarden-") {
            let file = shop.cleared().join(&name);
            let text = fs::read_to_string(&file).unwrap();
            // Every clear run of this test is one of a few texts, and each is known to be clear.
            let known = (0..SHAPES).any(|n| text == shop.clear(n));
            assert!(known, "{name} is no clear run: {text}");
        }
    }
}

/// How many contents there are: so few that each can be inspected once and then recognised.
const SHAPES: usize = 5;

fn saves_and_crashes(saves: usize, seed: u64) {
    let shop = Workshop::new();
    let mut dice = Chance::of_seed(seed);
    for n in 0..SHAPES {
        let file = shop.path().join("probe.svg");
        fs::write(&file, shop.clear(n)).unwrap();
        assert!(inspects_clear(&shop, &file));
        fs::write(&file, shop.hold(n)).unwrap();
        assert!(!inspects_clear(&shop, &file));
    }
    let names = ["a.svg", "b.svg", "sub/a.svg", "sub/c.svg"];
    let mut done = 0;
    let mut crashes = 0;
    while done < saves {
        let watcher = shop.gate(&[]);
        let mut left = 3 + dice.below(12);
        // While it starts, while it rests, inspects, publishes: a crash falls anywhere.
        while left > 0 && done < saves {
            let name = names[usize::try_from(dice.below(4)).unwrap()];
            let n = usize::try_from(dice.below(SHAPES as u64)).unwrap();
            match dice.below(8) {
                0 => shop.save(name, &shop.clear(n)[..200]),
                1 => {
                    let _ = fs::remove_file(shop.runs().join(name));
                }
                2 | 3 => shop.save(name, &shop.hold(n)),
                4 => shop.replace_deep(name, &shop.clear(n)),
                _ => shop.save(name, &shop.clear(n)),
            }
            done += 1;
            left -= 1;
            std::thread::sleep(Duration::from_millis(dice.below(70)));
        }
        watcher.crash();
        crashes += 1;
        nothing_unclear_lies_there(&shop);
    }

    let mut watcher = shop.gate(&[]);
    let mut wanted: Vec<&str> = names
        .into_iter()
        .filter(|n| {
            fs::read_to_string(shop.runs().join(n))
                .is_ok_and(|t| (0..SHAPES).any(|i| t == shop.clear(i)))
        })
        .collect();
    wanted.sort_unstable();
    shop.cleared_becomes(&wanted);
    // Nothing else happens any more.
    watcher.listen(Duration::from_millis(1500));
    let begun = Instant::now();
    shop.cleared_becomes(&wanted);
    assert!(
        begun.elapsed() < Duration::from_millis(100),
        "it did not stay so"
    );
    for name in &wanted {
        let kept = fs::read(shop.cleared().join(name)).unwrap();
        assert_eq!(kept, fs::read(shop.runs().join(name)).unwrap(), "{name}");
        assert!(inspects_clear(&shop, &shop.cleared().join(name)), "{name}");
    }
    let mut all = Vec::new();
    below(&shop.cleared(), std::path::Path::new(""), &mut all);
    assert_eq!(
        all.len(),
        wanted.len() * 2,
        "copies and receipts only: {all:?}"
    );
    println!(
        "{done} saves, {crashes} crashes: {} clear runs kept",
        wanted.len()
    );
}

#[test]
fn after_crashes_the_folder_holds_what_is_clear() {
    saves_and_crashes(40, 1);
}

/// The full size; `cargo test --release --test all watch -- --ignored`.
#[test]
#[ignore = "takes a minute"]
fn after_many_crashes_the_folder_holds_what_is_clear() {
    for seed in 1..=3 {
        saves_and_crashes(320, seed);
    }
}
