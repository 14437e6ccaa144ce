//! The cleared folder.

use std::fs;

use crate::watch::workshop::Workshop;

#[test]
fn exactly_the_clear_runs_are_there_byte_for_byte_with_their_receipts() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    shop.save("b.svg", &shop.hold(1));
    shop.save("monday/a.svg", &shop.clear(2));
    let mut watcher = shop.gate(&[]);
    shop.cleared_becomes(&["a.svg", "monday/a.svg"]);
    for name in shop.in_cleared() {
        assert_eq!(
            fs::read(shop.cleared().join(&name)).unwrap(),
            fs::read(shop.runs().join(&name)).unwrap()
        );
    }
    let receipt = fs::read_to_string(shop.cleared().join("monday/a.svg.receipt.json")).unwrap();
    let receipt: serde_json::Value = serde_json::from_str(&receipt).unwrap();
    let bytes = fs::read(shop.cleared().join("monday/a.svg")).unwrap();
    assert_eq!(receipt["file"], "monday/a.svg");
    assert_eq!(
        receipt["sha256"],
        jigwarden::tested::fixture::code::digest(&bytes)
    );
    assert_eq!(receipt["code"], "PY6-HMM");
    assert_eq!(receipt["settings"].as_str().unwrap().len(), 64);

    shop.save("a.svg", &shop.hold(3));
    shop.save("b.svg", &shop.clear(4));
    watcher.verdict("CLEAR", "b.svg");
    shop.cleared_becomes(&["b.svg", "monday/a.svg"]);
}

#[test]
fn it_may_lie_inside_the_watched_folder_and_may_not_hold_it() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.watch(&["--cleared", "runs/cleared"]);
    watcher.verdict("CLEAR", "a.svg");
    shop.save("b.svg", &shop.clear(1));
    watcher.verdict("CLEAR", "b.svg");
    assert!(!watcher.said().contains("cleared/"), "{}", watcher.said());

    for wrong in [".", "runs"] {
        let mut refused = shop.watch(&["--cleared", wrong]);
        assert_eq!(refused.child.wait().unwrap().code(), Some(2), "{wrong}");
    }
}

#[test]
fn artwork_that_nothing_vouches_for_is_moved_aside_and_other_files_are_left_alone() {
    let shop = Workshop::new();
    fs::create_dir(shop.cleared()).unwrap();
    fs::write(shop.cleared().join("b.svg"), "theirs").unwrap();
    fs::write(shop.cleared().join("notes.txt"), "theirs").unwrap();
    shop.save("a.svg", &shop.clear(0));
    shop.save("b.svg", &shop.clear(1));
    let mut watcher = shop.gate(&[]);
    watcher.until("the stranger", |l| {
        l.contains("b.svg in the cleared folder has no receipt")
    });
    let others = ["b.svg.not-cleared", "notes.txt"];
    shop.cleared_becomes(&["a.svg", "b.svg", others[0], others[1]]);
    let text = |name: &str| fs::read_to_string(shop.cleared().join(name)).unwrap();
    assert_eq!(text(others[0]), "theirs");
    assert_eq!(text("b.svg"), shop.clear(1));

    fs::write(shop.cleared().join("a.svg"), "changed").unwrap();
    watcher.until("the change", |l| l.contains("was changed by somebody"));
    // It comes back as it was inspected.
    shop.cleared_becomes(&["a.svg", "a.svg.not-cleared", "b.svg", others[0], others[1]]);
    assert_eq!(text("a.svg"), shop.clear(0));

    fs::write(shop.cleared().join("new.svg"), "put there meanwhile").unwrap();
    watcher.until("the next stranger", |l| {
        l.contains("new.svg in the cleared folder has no receipt")
    });
    assert!(!shop.cleared().join("new.svg").exists());
}

#[test]
fn a_copy_whose_receipt_is_lost_or_damaged_is_taken_out_and_comes_back() {
    let shop = Workshop::new();
    for (n, name) in ["a.svg", "b.svg", "c.svg"].into_iter().enumerate() {
        shop.save(name, &shop.clear(n));
    }
    let receipt = |name: &str| shop.cleared().join(format!("{name}.receipt.json"));
    let mut watcher = shop.gate(&[]);
    shop.cleared_becomes(&["a.svg", "b.svg", "c.svg"]);
    fs::remove_file(receipt("a.svg")).unwrap();
    fs::write(receipt("b.svg"), "{}").unwrap();
    watcher.until("the loss", |l| {
        l.contains("the receipt of a.svg was taken out")
    });
    watcher.until("the damage", |l| l.contains("the receipt of b.svg"));
    // They come back whole.
    let there = || ["a.svg", "b.svg"].map(|n| fs::read(receipt(n)).is_ok_and(|r| r.len() > 2));
    shop.waits("receipts", || there() == [true, true]);
    watcher.crash();

    // Nor do they stay for the next watch, whose run may no longer be clear.
    fs::remove_file(receipt("a.svg")).unwrap();
    fs::write(receipt("b.svg"), "{}").unwrap();
    for name in ["a.svg", "b.svg"] {
        shop.save(name, &shop.hold(0));
    }
    let mut watcher = shop.gate(&[]);
    watcher.verdict("CLEAR", "c.svg");
    let artwork = |n: &String| n.to_lowercase().ends_with(".svg");
    let left: Vec<String> = shop.in_cleared().into_iter().filter(artwork).collect();
    assert_eq!(left, ["c.svg"]);
}

#[test]
fn what_could_not_be_put_there_is_tried_again() {
    let shop = Workshop::new();
    fs::create_dir(shop.cleared()).unwrap();
    // A file where a folder is needed: as a full disk, it goes away without any save.
    fs::write(shop.cleared().join("monday"), "in the way").unwrap();
    for n in 0..4 {
        shop.save(&format!("monday/{n}.svg"), &shop.clear(n));
    }
    let mut watcher = shop.gate(&[]);
    for _ in 0..4 {
        watcher.until("the bar", |l| l.contains("is clear and cannot be put"));
    }
    // It is said once, and not with every attempt.
    let said = watcher.listen(std::time::Duration::from_secs(5));
    assert!(said.is_empty(), "{said:?}");
    fs::remove_file(shop.cleared().join("monday")).unwrap();
    shop.cleared_becomes(&[
        "monday/0.svg",
        "monday/1.svg",
        "monday/2.svg",
        "monday/3.svg",
    ]);
}

#[test]
fn a_folder_that_is_deleted_comes_back_whole_and_is_kept_by_one_watch_all_the_while() {
    let shop = Workshop::new();
    let names: Vec<String> = (0..11).map(|n| format!("{n:02}.svg")).collect();
    for (n, name) in names.iter().enumerate() {
        shop.save(name, &shop.clear(n));
    }
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let mut watcher = shop.gate(&[]);
    shop.cleared_becomes(&names);
    fs::remove_dir_all(shop.cleared()).unwrap();
    let mut second = shop.gate(&[]);
    assert_eq!(second.child.wait().unwrap().code(), Some(2));
    watcher.until("the loss", |l| l.contains("was deleted by somebody"));
    shop.cleared_becomes(&names);
    // While it is gone, what is saved is not lost either.
    fs::remove_dir_all(shop.cleared()).unwrap();
    shop.save("00.svg", &shop.clear(20));
    shop.cleared_becomes(&names);
}

#[test]
fn a_copy_that_is_only_touched_is_nobodys_change() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&[]);
    watcher.verdict("CLEAR", "a.svg");
    shop.cleared_becomes(&["a.svg"]);
    let copy = shop.cleared().join("a.svg");
    let file = fs::File::options().write(true).open(&copy).unwrap();
    file.set_modified(std::time::SystemTime::UNIX_EPOCH)
        .unwrap();
    let mut rights = fs::metadata(&copy).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(&copy, rights).unwrap();
    fs::hard_link(&copy, shop.path().join("another name")).unwrap();
    let said = watcher.listen(std::time::Duration::from_secs(5));
    assert!(said.is_empty(), "{said:?}");
    assert_eq!(shop.in_cleared(), ["a.svg"]);
}

#[test]
fn a_changed_fixture_takes_all_copies_out_in_one_step() {
    let shop = Workshop::new();
    for n in 0..40 {
        shop.save(&format!("{n:02}.svg"), &shop.clear(n));
    }
    let watcher = shop.gate(&[]);
    let copies = || {
        let artwork = |n: &&String| n.ends_with(".svg");
        shop.in_cleared().iter().filter(artwork).count()
    };
    shop.waits("all copies", || copies() == 40);
    let settings = shop.path().join("fixture.toml");
    let text = fs::read_to_string(&settings).unwrap();
    fs::write(
        &settings,
        text.replace("margin = \"2 mm\"", "margin = \"14 mm\""),
    )
    .unwrap();
    // A look that began before may see a part of it; the next one may not.
    let mut before = 40;
    shop.waits("no copy", || {
        let now = copies();
        assert!(
            now == 0 || now == 40 || before == 40,
            "{now} copies, {before} before"
        );
        before = now;
        now == 0
    });
    drop(watcher);
}

#[test]
fn a_pipe_that_nobody_reads_keeps_no_hold_in_the_folder() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    // More news than a pipe holds (64 KiB on Linux).
    for n in 0..300 {
        shop.save(&format!("{n:03}{}.svg", "x".repeat(200)), "<svg");
    }
    let mut child = shop.unread(&["--cleared", "cleared"]);
    shop.cleared_becomes(&["a.svg"]);
    std::thread::sleep(std::time::Duration::from_secs(4));
    shop.save("a.svg", &shop.hold(1));
    shop.cleared_becomes(&[]);
    child.kill().unwrap();
    child.wait().unwrap();
}

#[cfg(target_os = "linux")]
#[test]
fn a_watch_that_stands_still_or_ends_leaves_no_copy() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&[]);
    shop.cleared_becomes(&["a.svg"]);
    watcher.signal("TSTP");
    shop.waits("its standing still", || watcher.stands_still());
    assert!(shop.in_cleared().is_empty());
    // Nobody is there to see it.
    shop.save("a.svg", &shop.hold(1));
    watcher.signal("CONT");
    watcher.verdict("HOLD", "a.svg");
    assert!(shop.in_cleared().is_empty());
    shop.save("a.svg", &shop.clear(2));
    shop.cleared_becomes(&["a.svg"]);
    assert_eq!(watcher.end("QUIT"), Some(0));
    assert!(shop.in_cleared().is_empty());
}

#[cfg(unix)]
#[test]
fn copies_are_left_at_the_end_only_if_that_is_asked_for() {
    for (signal, keep) in [("INT", false), ("TERM", true), ("HUP", false)] {
        let shop = Workshop::new();
        shop.save("a.svg", &shop.clear(0));
        let more: &[&str] = if keep { &["--keep-at-end"] } else { &[] };
        let mut watcher = shop.gate(more);
        watcher.verdict("CLEAR", "a.svg");
        assert_eq!(watcher.end(signal), Some(0), "{signal}");
        let left: &[&str] = if keep { &["a.svg"] } else { &[] };
        assert_eq!(shop.in_cleared(), left, "{signal}");
    }
}

#[test]
fn a_run_that_is_saved_again_leaves_before_it_is_inspected() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&[]);
    shop.cleared_becomes(&["a.svg"]);
    watcher.verdict("CLEAR", "a.svg");
    // Broken contents are not told for a second, and are gone from the folder at once.
    shop.save("a.svg", "<svg");
    shop.cleared_becomes(&[]);
    let said = watcher.listen(std::time::Duration::from_millis(100));
    assert!(said.is_empty(), "{said:?}");
    watcher.verdict("UNREAD", "a.svg");
    assert!(shop.in_cleared().is_empty());
}
