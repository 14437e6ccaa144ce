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
    assert_eq!(receipt["sha256"], jigwarden::fixture::code::digest(&bytes));
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
fn what_others_put_there_is_left_alone_and_what_they_change_is_moved_aside() {
    let shop = Workshop::new();
    fs::create_dir(shop.cleared()).unwrap();
    fs::write(shop.cleared().join("b.svg"), "theirs").unwrap();
    shop.save("a.svg", &shop.clear(0));
    shop.save("b.svg", &shop.clear(1));
    let mut watcher = shop.gate(&[]);
    watcher.until("the stranger", |l| {
        l.contains("b.svg in the cleared folder was not put there by this program")
    });
    watcher.until("the bar", |l| {
        l.contains("b.svg is clear and not in the cleared folder")
    });
    assert_eq!(
        fs::read_to_string(shop.cleared().join("b.svg")).unwrap(),
        "theirs"
    );
    shop.cleared_becomes(&["a.svg", "b.svg"]);

    fs::write(shop.cleared().join("a.svg"), "changed").unwrap();
    watcher.until("the change", |l| l.contains("was changed by somebody"));
    // It comes back as it was inspected.
    shop.cleared_becomes(&["a.svg", "a.svg.changed", "b.svg"]);
    assert_eq!(
        fs::read_to_string(shop.cleared().join("a.svg")).unwrap(),
        shop.clear(0)
    );
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
