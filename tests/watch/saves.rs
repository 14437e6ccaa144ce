//! Every way in which files are saved.

use std::fs;
use std::io::Write as _;
use std::time::{Duration, SystemTime};

use crate::watch::workshop::Workshop;

#[test]
fn each_way_of_saving_leads_to_the_verdict_on_the_last_contents() {
    let shop = Workshop::new();
    shop.save("there.svg", &shop.clear(0));
    let mut watcher = shop.watch(&[]);
    watcher.verdict("CLEAR", "there.svg");

    // In place, beside and renamed, in a sub-folder that is new.
    shop.save("there.svg", &shop.hold(1));
    watcher.verdict("HOLD", "there.svg");
    shop.replace("there.svg", &shop.clear(2));
    watcher.verdict("CLEAR", "there.svg");
    shop.save("monday/new.svg", &shop.hold(3));
    watcher.verdict("HOLD", "monday/new.svg");

    // Renamed, moved with its folder, deleted.
    fs::rename(shop.runs().join("there.svg"), shop.runs().join("other.svg")).unwrap();
    watcher.verdict("GONE", "there.svg");
    watcher.verdict("CLEAR", "other.svg");
    fs::rename(shop.runs().join("monday"), shop.runs().join("tuesday")).unwrap();
    watcher.verdict("GONE", "monday/new.svg");
    watcher.verdict("HOLD", "tuesday/new.svg");
    fs::remove_file(shop.runs().join("other.svg")).unwrap();
    watcher.verdict("GONE", "other.svg");
}

#[test]
fn a_file_that_is_still_being_written_is_told_once() {
    let shop = Workshop::new();
    let mut watcher = shop.watch(&[]);
    watcher.until("the start", |l| l.starts_with("watching"));
    let text = shop.clear(0);
    let mut file = fs::File::create(shop.runs().join("slow.svg")).unwrap();
    for part in text.as_bytes().chunks(text.len() / 6 + 1) {
        file.write_all(part).unwrap();
        // Longer than a file has to rest: most parts are read as they are, and are broken.
        std::thread::sleep(Duration::from_millis(90));
    }
    drop(file);
    watcher.verdict("CLEAR", "slow.svg");
    assert!(!watcher.said().contains("UNREAD"), "{}", watcher.said());
}

#[test]
fn a_file_that_stays_broken_is_told_and_several_events_are_one_save() {
    let shop = Workshop::new();
    let mut watcher = shop.watch(&[]);
    watcher.until("the start", |l| l.starts_with("watching"));
    shop.save("half.svg", "<svg");
    watcher.verdict("UNREAD", "half.svg");
    for n in 0..5 {
        shop.save("half.svg", &shop.clear(n));
    }
    watcher.verdict("CLEAR", "half.svg");
    let more = watcher.listen(Duration::from_millis(600));
    assert!(more.is_empty(), "{more:?}");
}

#[test]
fn a_change_of_the_fixture_inspects_what_rests_on_it() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&[]);
    watcher.verdict("CLEAR", "a.svg");
    shop.cleared_becomes(&["a.svg"]);

    // A margin that leaves no room.
    let settings = shop.path().join("fixture.toml");
    let before = fs::read_to_string(&settings).unwrap();
    let narrow = before.replace("margin = \"2 mm\"", "margin = \"13 mm\"");
    assert_ne!(before, narrow);
    fs::write(&settings, narrow).unwrap();
    watcher.verdict("HOLD", "a.svg");
    assert!(shop.in_cleared().is_empty());
    fs::write(&settings, before).unwrap();
    watcher.verdict("CLEAR", "a.svg");

    let lock = shop.path().join("fixture.lock.json");
    let aside = shop.path().join("aside");
    fs::rename(&lock, &aside).unwrap();
    watcher.verdict("UNREAD", "a.svg");
    assert!(shop.in_cleared().is_empty());
    fs::rename(&aside, &lock).unwrap();
    watcher.verdict("CLEAR", "a.svg");
    shop.cleared_becomes(&["a.svg"]);

    // The drawing is no run, and a lock that no longer fits it clears nothing.
    let drawing = shop.path().join("fixture.svg");
    let text = fs::read_to_string(&drawing).unwrap();
    fs::write(&drawing, format!("{text}<!-- -->")).unwrap();
    watcher.verdict("UNREAD", "a.svg");
    assert!(shop.in_cleared().is_empty());
}

#[test]
fn polling_needs_no_events() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&["--poll", "0.1"]);
    watcher.verdict("CLEAR", "a.svg");
    shop.save("a.svg", &shop.hold(1));
    watcher.verdict("HOLD", "a.svg");
    shop.replace("a.svg", &shop.clear(2));
    watcher.verdict("CLEAR", "a.svg");
    shop.cleared_becomes(&["a.svg"]);
    fs::remove_file(shop.runs().join("a.svg")).unwrap();
    watcher.verdict("GONE", "a.svg");
    shop.cleared_becomes(&[]);
}

#[test]
fn a_folder_that_goes_away_is_told_and_watched_again_when_it_is_back() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&[]);
    watcher.verdict("CLEAR", "a.svg");
    let away = shop.path().join("away");
    fs::rename(shop.runs(), &away).unwrap();
    watcher.until("the loss", |l| l.contains("is gone: nothing is clear"));
    shop.cleared_becomes(&[]);
    fs::rename(&away, shop.runs()).unwrap();
    watcher.until("the return", |l| l.contains("is back"));
    watcher.verdict("CLEAR", "a.svg");
    shop.cleared_becomes(&["a.svg"]);
    // Events are heard again.
    shop.save("a.svg", &shop.hold(1));
    watcher.verdict("HOLD", "a.svg");
    shop.cleared_becomes(&[]);
}

/// Ages that a clock tells apart only just: sorting by "how long ago", read anew for each comparison,
/// is no order, and the standard library's sort panics when it notices.
#[test]
fn files_of_nearly_one_age_start_the_watch() {
    let shop = Workshop::new();
    let now = SystemTime::now();
    for n in 0..1000_u64 {
        let name = format!("{n:04}.svg");
        shop.save(&name, "<svg");
        let file = fs::File::options()
            .write(true)
            .open(shop.runs().join(name))
            .unwrap();
        // In no order (multiplicative hashing, Knuth, TAOCP 3, 6.4).
        let mixed = n * 2_654_435_761 % (1 << 32) % 1000;
        file.set_modified(now - Duration::from_nanos(20 * mixed))
            .unwrap();
    }
    shop.save("last.svg", &shop.clear(0));
    let mut watcher = shop.gate(&[]);
    watcher.until("the start", |l| l.starts_with("watching"));
    shop.save("last.svg", &shop.clear(1));
    watcher.verdict("CLEAR", "last.svg");
}

/// Nobody is told of these by events: the sweep finds them.
#[cfg(unix)]
#[test]
fn writes_through_a_link_or_another_name_are_noticed() {
    let shop = Workshop::new();
    let outside = shop.path().join("outside");
    fs::create_dir(&outside).unwrap();
    fs::write(outside.join("real.svg"), shop.clear(0)).unwrap();
    std::os::unix::fs::symlink(outside.join("real.svg"), shop.runs().join("link.svg")).unwrap();
    shop.save("two names.svg", &shop.clear(1));
    fs::hard_link(shop.runs().join("two names.svg"), outside.join("other.svg")).unwrap();
    let mut watcher = shop.gate(&[]);
    shop.cleared_becomes(&["link.svg", "two names.svg"]);
    fs::write(outside.join("real.svg"), shop.hold(2)).unwrap();
    watcher.verdict("HOLD", "link.svg");
    fs::write(outside.join("other.svg"), shop.hold(3)).unwrap();
    watcher.verdict("HOLD", "two names.svg");
    shop.cleared_becomes(&[]);
}
