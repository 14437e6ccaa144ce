#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use super::*;
use crate::report::{FixtureName, Run, Verdict};

fn receipt(name: &str, bytes: &[u8]) -> Receipt {
    let run = Run {
        subject: crate::report::Subject::Run,
        file: name.to_owned(),
        uri: None,
        sha256: digest(bytes),
        verdict: Verdict::Clear,
        fixture: Some(FixtureName {
            name: "Tags".to_owned(),
            code: "7K3-Q9F".to_owned(),
        }),
        findings: Vec::new(),
        notes: Vec::new(),
        text: "".into(),
        rests_on: None,
        blanks: Vec::new(),
        trouble: None,
        shown: crate::units::Shown::Mm,
    };
    Receipt::of(Path::new(name), &run, "abc".to_owned(), false)
}

fn admit(
    cleared: &mut ClearedFolder,
    name: &str,
    bytes: &[u8],
) -> Result<Vec<String>, ClearedError> {
    let ready = prepare(
        cleared.folder(),
        Path::new(name),
        bytes,
        receipt(name, bytes),
    )
    .unwrap();
    cleared.admit(ready)
}

/// A place with a cleared folder in it: what is put beside the folder goes away with the place.
fn place() -> (tempfile::TempDir, PathBuf) {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("cleared");
    fs::create_dir(&folder).unwrap();
    (place, folder)
}

fn names(folder: &Path) -> Vec<String> {
    files(folder)
        .unwrap()
        .iter()
        .map(|n| n.to_string_lossy().into_owned())
        .collect()
}

#[test]
fn a_copy_comes_with_its_receipt_and_leaves_with_it() {
    let (_place, folder) = place();
    let (mut cleared, said) = ClearedFolder::open(&folder).unwrap();
    assert!(said.is_empty(), "{said:?}");
    admit(&mut cleared, "a.svg", b"one").unwrap();
    admit(&mut cleared, "monday/a.svg", b"two").unwrap();
    assert_eq!(
        names(&folder),
        [
            "a.svg",
            "a.svg.receipt.json",
            "monday/a.svg",
            "monday/a.svg.receipt.json"
        ]
    );
    assert_eq!(fs::read(folder.join("monday/a.svg")).unwrap(), b"two");
    let text = fs::read_to_string(folder.join("a.svg.receipt.json")).unwrap();
    assert!(text.contains(&digest(b"one")), "{text}");

    assert_eq!(cleared.withdraw(Path::new("monday/a.svg")), Ok(true));
    assert_eq!(cleared.withdraw(Path::new("monday/a.svg")), Ok(false));
    assert_eq!(names(&folder), ["a.svg", "a.svg.receipt.json"]);
    assert!(!folder.join("monday").exists());
}

#[test]
fn a_start_takes_out_all_copies_and_moves_aside_what_no_receipt_vouches_for() {
    let (_place, folder) = place();
    {
        let (mut cleared, _) = ClearedFolder::open(&folder).unwrap();
        for name in ["a.svg", "b.svg", "c.svg", "d.svg", "monday/e.svg"] {
            admit(&mut cleared, name, b"one").unwrap();
        }
    }
    fs::write(folder.join("b.svg"), b"changed by hand").unwrap();
    fs::remove_file(folder.join("c.svg.receipt.json")).unwrap();
    fs::write(folder.join("d.svg.receipt.json"), b"{").unwrap();
    fs::write(folder.join(".jigwarden-x1.part"), b"half").unwrap();
    let left = receipt("gone.svg", b"x").text();
    fs::write(folder.join("gone.svg.receipt.json"), left).unwrap();
    fs::write(folder.join("theirs.SVGZ"), b"theirs").unwrap();
    fs::write(folder.join("notes.txt"), b"theirs").unwrap();

    let (cleared, said) = ClearedFolder::open(&folder).unwrap();
    assert!(cleared.is_empty());
    assert_eq!(
        names(&folder),
        [
            "b.svg.not-cleared",
            "c.svg.not-cleared",
            "d.svg.not-cleared",
            "d.svg.receipt.json",
            "notes.txt",
            "theirs.SVGZ.not-cleared"
        ]
    );
    assert_eq!(said.len(), 6, "{said:#?}");
    drop(cleared);
    // What was moved aside and named once needs no more words than the others' own files.
    let (_, said) = ClearedFolder::open(&folder).unwrap();
    assert_eq!(said.len(), 2, "{said:#?}");
}

#[test]
fn a_copy_without_its_receipt_or_with_a_damaged_one_is_taken_out() {
    let (_place, folder) = place();
    let (mut cleared, _) = ClearedFolder::open(&folder).unwrap();
    for name in ["a.svg", "b.svg", "c.svg"] {
        admit(&mut cleared, name, b"one").unwrap();
    }
    fs::remove_file(folder.join("a.svg.receipt.json")).unwrap();
    fs::write(folder.join("b.svg.receipt.json"), b"[]").unwrap();
    let other = receipt("c.svg", b"other bytes").text();
    fs::write(folder.join("c.svg.receipt.json"), other).unwrap();
    let audit = cleared.audit();
    assert_eq!(audit.upset.len(), 3, "{audit:#?}");
    assert_eq!(audit.said.len(), 3, "{audit:#?}");
    assert_eq!(
        names(&folder),
        [
            "b.svg.receipt.json.not-cleared",
            "c.svg.receipt.json.not-cleared"
        ]
    );
    assert_eq!(cleared.audit(), Audit::default());
}

#[test]
fn artwork_of_others_is_moved_aside_and_never_overwritten() {
    let (_place, folder) = place();
    let (mut cleared, _) = ClearedFolder::open(&folder).unwrap();
    for (n, text) in ["first", "second"].into_iter().enumerate() {
        fs::write(folder.join("a.svg"), text).unwrap();
        if n == 0 {
            let said = admit(&mut cleared, "a.svg", b"ours").unwrap();
            assert_eq!(said.len(), 1, "{said:?}");
            cleared.withdraw(Path::new("a.svg")).unwrap();
        } else {
            let audit = cleared.audit();
            assert_eq!(audit.said.len(), 1, "{audit:?}");
        }
    }
    assert_eq!(names(&folder), ["a.svg.2.not-cleared", "a.svg.not-cleared"]);
    let read = |name: &str| fs::read_to_string(folder.join(name)).unwrap();
    assert_eq!(read("a.svg.not-cleared"), "first");
    assert_eq!(read("a.svg.2.not-cleared"), "second");
}

#[test]
fn a_receipt_of_another_run_vouches_for_nothing() {
    let (_place, folder) = place();
    fs::write(folder.join("a.svg"), b"theirs").unwrap();
    let other = receipt("b.svg", b"theirs").text();
    fs::write(folder.join("a.svg.receipt.json"), other).unwrap();
    let (_, said) = ClearedFolder::open(&folder).unwrap();
    assert_eq!(said.len(), 2, "{said:?}");
    assert_eq!(names(&folder), ["a.svg.not-cleared", "a.svg.receipt.json"]);
}

#[test]
fn an_audit_finds_copies_that_were_changed_or_taken() {
    let (_place, folder) = place();
    let (mut cleared, _) = ClearedFolder::open(&folder).unwrap();
    for name in ["a.svg", "b.svg", "c.svg"] {
        admit(&mut cleared, name, b"one").unwrap();
    }
    assert_eq!(cleared.audit(), Audit::default());
    fs::write(folder.join("a.svg"), b"tampered").unwrap();
    fs::remove_file(folder.join("b.svg")).unwrap();
    let audit = cleared.audit();
    assert_eq!(
        audit.upset,
        [PathBuf::from("a.svg"), PathBuf::from("b.svg")]
    );
    assert!(cleared.keeps(Path::new("c.svg")));
    assert!(!folder.join("a.svg").exists());
    assert_eq!(
        fs::read(folder.join("a.svg.not-cleared")).unwrap(),
        b"tampered"
    );
}

#[cfg(unix)]
#[test]
fn a_copy_that_was_only_touched_is_not_changed() {
    use std::os::unix::fs::PermissionsExt as _;

    let (place, folder) = place();
    let elsewhere = tempfile::tempdir_in(place.path()).unwrap();
    let path = |name: &str| folder.join(name);
    let (mut cleared, _) = ClearedFolder::open(&folder).unwrap();
    for name in ["a.svg", "b.svg", "c.svg", "d.svg"] {
        admit(&mut cleared, name, b"one").unwrap();
    }
    let now = std::time::SystemTime::now() + std::time::Duration::from_secs(5);
    for name in ["a.svg", "a.svg.receipt.json"] {
        let file = File::options().write(true).open(path(name)).unwrap();
        file.set_modified(now).unwrap();
    }
    fs::set_permissions(path("b.svg"), fs::Permissions::from_mode(0o444)).unwrap();
    fs::hard_link(path("c.svg"), elsewhere.path().join("c.svg")).unwrap();
    // The same bytes, written again.
    fs::write(path("d.svg"), b"one").unwrap();
    assert_eq!(cleared.audit(), Audit::default());

    // Through its other name it is changed all the same; a link to equal bytes is no copy.
    fs::write(elsewhere.path().join("c.svg"), b"two").unwrap();
    fs::remove_file(path("d.svg")).unwrap();
    fs::write(elsewhere.path().join("d.svg"), b"one").unwrap();
    std::os::unix::fs::symlink(elsewhere.path().join("d.svg"), path("d.svg")).unwrap();
    let audit = cleared.audit();
    assert_eq!(
        audit.upset,
        [PathBuf::from("c.svg"), PathBuf::from("d.svg")]
    );
    assert!(!path("c.svg").exists() && !path("d.svg").exists());
}

#[test]
fn many_copies_leave_in_one_step_and_what_else_lies_there_stays() {
    let (_place, folder) = place();
    let (mut cleared, _) = ClearedFolder::open(&folder).unwrap();
    let all: Vec<PathBuf> = (0..MANY + 4)
        .map(|n| PathBuf::from(format!("{n:02}.svg")))
        .collect();
    for name in &all {
        admit(&mut cleared, name.to_str().unwrap(), b"one").unwrap();
    }
    fs::write(folder.join("notes.txt"), b"theirs").unwrap();
    // Whoever has the folder open goes on having it.
    #[cfg(unix)]
    let before = super::super::file_stamp::folder_identity(&folder);
    let seen = std::sync::atomic::AtomicBool::new(false);
    let partly = std::thread::scope(|scope| {
        let watcher = scope.spawn(|| {
            let mut partly = Vec::new();
            // A look that began before the folder was renamed may see it half empty; the next may not.
            let some = |n: usize| n != 0 && n != all.len() && n != 2;
            while !seen.load(std::sync::atomic::Ordering::Relaxed) {
                let looks = [count(&folder), count(&folder)];
                if looks.into_iter().all(some) {
                    partly.push(looks);
                }
            }
            partly
        });
        let stay = cleared.withdraw_all(&all[2..]);
        assert!(stay.is_empty(), "{stay:?}");
        seen.store(true, std::sync::atomic::Ordering::Relaxed);
        watcher.join().unwrap()
    });
    assert!(partly.is_empty(), "copies left one by one: {partly:?}");
    assert_eq!(cleared.len(), 2);
    assert_eq!(
        names(&folder),
        [
            "00.svg",
            "00.svg.receipt.json",
            "01.svg",
            "01.svg.receipt.json",
            "notes.txt"
        ]
    );
    #[cfg(unix)]
    assert_eq!(super::super::file_stamp::folder_identity(&folder), before);
    let said = cleared.audit().said;
    assert_eq!(said.len(), 1, "only the note: {said:?}");
}

/// How much artwork a sender finds in one look.
fn count(folder: &Path) -> usize {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries
        .filter(|e| e.path().extension().is_some_and(|e| e == "svg"))
        .count()
}

#[test]
fn a_watcher_that_ended_halfway_leaves_nothing_that_a_sender_finds() {
    let (_place, folder) = place();
    {
        let (mut cleared, _) = ClearedFolder::open(&folder).unwrap();
        admit(&mut cleared, "a.svg", b"one").unwrap();
        fs::write(folder.join("notes.txt"), b"theirs").unwrap();
    }
    // It was killed between the two renames.
    fs::rename(&folder, disk::away(&folder)).unwrap();
    let (cleared, _) = ClearedFolder::open(&folder).unwrap();
    assert!(cleared.is_empty());
    assert_eq!(names(&folder), ["notes.txt"]);
    assert!(!present(&disk::away(&folder)));
}

#[test]
fn two_watchers_cannot_share_a_folder_even_if_it_is_deleted() {
    let (_place, folder) = place();
    let (mut first, _) = ClearedFolder::open(&folder).unwrap();
    for deleted in [false, true] {
        if deleted {
            fs::remove_dir_all(&folder).unwrap();
        }
        let second = ClearedFolder::open(&folder).unwrap_err();
        assert!(second.to_string().contains("another watcher"), "{second}");
        assert_ne!(folder.exists(), deleted, "it was touched");
    }
    let audit = first.audit();
    assert!(audit.said[0].contains("was deleted"), "{audit:?}");
    admit(&mut first, "a.svg", b"one").unwrap();
    drop(first);
    assert!(ClearedFolder::open(&folder).is_ok());
}

#[cfg(unix)]
#[test]
fn a_link_in_place_of_a_sub_folder_is_not_followed() {
    let (_place, folder) = place();
    let outside = tempfile::tempdir().unwrap();
    let (mut cleared, _) = ClearedFolder::open(&folder).unwrap();
    std::os::unix::fs::symlink(outside.path(), folder.join("monday")).unwrap();
    assert!(admit(&mut cleared, "monday/a.svg", b"one").is_err());
    assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 0);
}
