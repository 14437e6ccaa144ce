//! Fixtures live together: in folders side by side, found by geometry, named by any of their files.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::common::tags::{Tags, asked, enrol, expect, names, outlines, page};
use jigwarden::tested::inspect::{Options, inspect};
use jigwarden::tested::report::Verdict::{Clear, Unread};

/// A folder with two enrolled fixtures, `a` (three tags) and `b` (one of them), and a third
/// whose settings are broken.
fn shop() -> tempfile::TempDir {
    let shop = tempfile::tempdir().unwrap();
    let fixture = |name: &str, drawing: String| {
        let folder = shop.path().join(name);
        std::fs::create_dir(&folder).unwrap();
        std::fs::write(folder.join("fixture.svg"), drawing).unwrap();
        std::fs::write(folder.join("fixture.toml"), Tags::settings("")).unwrap();
        enrol(&folder, false, &asked()).unwrap();
    };
    fixture("a", page(&outlines(false)));
    // The first tag alone: of the run's outlines, `a` has more.
    fixture(
        "b",
        page(
            "<rect x='20' y='88' width='28' height='92' rx='4' fill='none' stroke='#7b2d8b'/><path d='M32 84 l4 0 l-2 -3 z' fill='none' stroke='#0a7d55'/>",
        ),
    );
    let broken = shop.path().join("c");
    std::fs::create_dir(&broken).unwrap();
    std::fs::write(broken.join("fixture.toml"), "[fixture]\nname = 3\n").unwrap();
    shop
}

fn run(shop: &Path) -> PathBuf {
    let file = shop.join("run.svg");
    let art = outlines(true) + &names(["Ada", "Bo", "Cy"]);
    std::fs::write(&file, page(&art)).unwrap();
    file
}

#[test]
fn one_broken_fixture_is_named_and_the_others_work() {
    let shop = shop();
    let options = Options {
        fixtures: Some(shop.path().to_path_buf()),
        ..asked()
    };
    let found = inspect(&run(shop.path()), &options, |_, _| ()).0;
    expect(&found, Clear, &[]);
    assert!(
        found
            .notes
            .iter()
            .any(|n| n.contains("/c") && n.contains("cannot be used")),
        "{:?}",
        found.notes
    );
    // Where none fits, the broken one is named with the refusal.
    let empty = shop.path().join("other.svg");
    std::fs::write(&empty, page("<circle cx='9' cy='9' r='2' fill='#1b1b1b'/>")).unwrap();
    let found = inspect(&empty, &options, |_, _| ()).0;
    expect(&found, Unread, &[]);
    let trouble = found.trouble.unwrap();
    assert!(
        trouble.contains("no fixture in") && trouble.contains("/c"),
        "{trouble}"
    );
}

#[test]
fn a_fixture_is_known_by_its_drawing_too() {
    let shop = shop();
    let file = run(shop.path());
    let by = |named: &Path| {
        let options = Options {
            fixture: Some(named.to_path_buf()),
            ..asked()
        };
        inspect(&file, &options, |_, _| ()).0
    };
    for named in ["a", "a/fixture.toml", "a/fixture.svg"] {
        expect(&by(&shop.path().join(named)), Clear, &[]);
    }
    let found = by(&file);
    expect(&found, Unread, &[]);
    let trouble = found.trouble.unwrap();
    assert!(
        trouble.contains("name the folder") && !trouble.contains("TOML"),
        "{trouble}"
    );
}

#[test]
fn a_run_is_not_enrolled() {
    let shop = shop();
    let fixture = shop.path().join("a");
    let runs = fixture.join("runs");
    std::fs::create_dir(&runs).unwrap();
    let below = run(&runs);
    let beside = run(&fixture);
    let before = std::fs::read_dir(&runs).unwrap().count();
    for (place, says) in [
        (&below, "lies below the fixture"),
        (&runs, "lies below the fixture"),
        (&beside, "is not the drawing of the fixture"),
    ] {
        let said = enrol(place, false, &asked()).unwrap_err();
        assert!(
            said.text.contains(says) && said.text.contains("nothing was done"),
            "{said:?}"
        );
    }
    assert_eq!(std::fs::read_dir(&runs).unwrap().count(), before);
    // The fixture itself still enrols, from its folder, its settings, and by its drawing a hint.
    for place in [fixture.clone(), fixture.join("fixture.toml")] {
        enrol(&place, false, &asked()).unwrap();
    }
    let said = enrol(&fixture.join("fixture.svg"), false, &asked()).unwrap_err();
    assert!(said.text.contains("already there"), "{said:?}");
}

#[test]
fn a_folder_of_fonts_that_is_not_there_is_an_error() {
    let shop = shop();
    let file = run(&shop.path().join("a"));
    for command in ["inspect", "enrol"] {
        let done = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
            .args([command, "--fonts", "nowhere"])
            .arg(&file)
            .output()
            .unwrap();
        assert_eq!(done.status.code(), Some(2), "{command} {done:?}");
        assert!(
            String::from_utf8_lossy(&done.stderr).contains("no such folder"),
            "{done:?}"
        );
    }
}

#[test]
fn what_changed_adds_up() {
    let one = |n: usize| {
        format!(
            "<path d='M{} 30 h8' fill='none' stroke='#0a7d55'/>",
            20 + 12 * n
        )
    };
    let tags = Tags::drawn(&page(&outlines(false)), "");
    let more = outlines(false) + &(0..4).map(one).collect::<String>();
    tags.write("fixture.svg", page(&more).as_bytes());
    let refused = enrol(tags.folder.path(), false, &asked()).unwrap_err();
    assert!(
        refused.detail.contains("7 other lines now, 3 before"),
        "{refused:?}"
    );
    let few = outlines(false).replace("#0a7d55", "#9aa0a6") + &one(0);
    let tags = Tags::drawn(&page(&few), "");
    let none = outlines(false).replace("#0a7d55", "#9aa0a6");
    tags.write("fixture.svg", page(&none).as_bytes());
    let refused = enrol(tags.folder.path(), false, &asked()).unwrap_err();
    assert!(
        refused.detail.contains("0 other lines now, 1 before"),
        "{refused:?}"
    );
}
