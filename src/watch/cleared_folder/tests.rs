#![allow(clippy::unwrap_used)]
use super::*;
use crate::report::{FixtureName, Run, Verdict};

fn receipt(name: &str, bytes: &[u8]) -> Receipt {
    let run = Run {
        subject: crate::report::Subject::Run,
        file: name.to_owned(),
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

fn admit(gate: &mut ClearedFolder, name: &str, bytes: &[u8]) -> Result<(), GateError> {
    let ready = prepare(gate.folder(), Path::new(name), bytes, &receipt(name, bytes)).unwrap();
    gate.admit(ready)
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
    let place = tempfile::tempdir().unwrap();
    let (mut gate, said) = ClearedFolder::open(place.path()).unwrap();
    assert!(said.is_empty(), "{said:?}");
    admit(&mut gate, "a.svg", b"one").unwrap();
    admit(&mut gate, "monday/a.svg", b"two").unwrap();
    assert_eq!(
        names(place.path()),
        [
            "a.svg",
            "a.svg.receipt.json",
            "monday/a.svg",
            "monday/a.svg.receipt.json"
        ]
    );
    assert_eq!(fs::read(place.path().join("monday/a.svg")).unwrap(), b"two");
    let text = fs::read_to_string(place.path().join("a.svg.receipt.json")).unwrap();
    assert!(text.contains(&digest(b"one")), "{text}");

    assert_eq!(gate.withdraw(Path::new("monday/a.svg")), Ok(true));
    assert_eq!(gate.withdraw(Path::new("monday/a.svg")), Ok(false));
    assert_eq!(names(place.path()), ["a.svg", "a.svg.receipt.json"]);
    assert!(!place.path().join("monday").exists());
}

#[test]
fn a_start_takes_out_all_copies_and_names_strangers() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path();
    {
        let (mut gate, _) = ClearedFolder::open(folder).unwrap();
        admit(&mut gate, "a.svg", b"one").unwrap();
        admit(&mut gate, "b.svg", b"two").unwrap();
    }
    fs::write(folder.join("b.svg"), b"changed by hand").unwrap();
    fs::write(folder.join(".jigwarden-x1.part"), b"half").unwrap();
    fs::write(
        folder.join("gone.svg.receipt.json"),
        receipt("gone.svg", b"x").text(),
    )
    .unwrap();
    fs::write(folder.join("theirs.svg"), b"theirs").unwrap();
    fs::write(folder.join("notes.receipt.json"), b"{}").unwrap();

    let (gate, said) = ClearedFolder::open(folder).unwrap();
    assert!(gate.is_empty());
    assert_eq!(
        names(folder),
        ["b.svg.changed", "notes.receipt.json", "theirs.svg"]
    );
    assert_eq!(said.len(), 4, "{said:?}");
    assert!(
        said.iter()
            .any(|s| s.starts_with("theirs.svg in the cleared folder"))
    );
}

#[test]
fn a_strangers_file_is_never_overwritten() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("a.svg"), b"theirs").unwrap();
    let (mut gate, _) = ClearedFolder::open(place.path()).unwrap();
    let refused = admit(&mut gate, "a.svg", b"ours").unwrap_err();
    assert!(refused.to_string().contains("has its name"), "{refused}");
    assert_eq!(fs::read(place.path().join("a.svg")).unwrap(), b"theirs");
    assert_eq!(names(place.path()), ["a.svg"]);
    assert_eq!(gate.withdraw(Path::new("a.svg")), Ok(false));
    assert_eq!(names(place.path()), ["a.svg"]);
}

#[test]
fn a_receipt_of_another_run_does_not_make_a_file_ours() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("a.svg"), b"theirs").unwrap();
    fs::write(
        place.path().join("a.svg.receipt.json"),
        receipt("b.svg", b"theirs").text(),
    )
    .unwrap();
    let (_, said) = ClearedFolder::open(place.path()).unwrap();
    assert_eq!(said.len(), 2, "{said:?}");
    assert_eq!(names(place.path()), ["a.svg", "a.svg.receipt.json"]);
}

#[test]
fn an_audit_finds_copies_that_were_changed_or_taken() {
    let place = tempfile::tempdir().unwrap();
    let (mut gate, _) = ClearedFolder::open(place.path()).unwrap();
    for name in ["a.svg", "b.svg", "c.svg"] {
        admit(&mut gate, name, b"one").unwrap();
    }
    assert_eq!(gate.audit(), Audit::default());
    fs::write(place.path().join("a.svg"), b"tampered").unwrap();
    fs::remove_file(place.path().join("b.svg")).unwrap();
    let audit = gate.audit();
    assert_eq!(
        audit.upset,
        [PathBuf::from("a.svg"), PathBuf::from("b.svg")]
    );
    assert!(!place.path().join("a.svg").exists());
    assert_eq!(
        fs::read(place.path().join("a.svg.changed")).unwrap(),
        b"tampered"
    );
}

#[test]
fn two_keepers_cannot_share_a_folder() {
    let place = tempfile::tempdir().unwrap();
    let first = ClearedFolder::open(place.path()).unwrap();
    let second = ClearedFolder::open(place.path()).unwrap_err();
    assert!(second.to_string().contains("another watcher"), "{second}");
    drop(first);
    assert!(ClearedFolder::open(place.path()).is_ok());
}

#[cfg(unix)]
#[test]
fn a_link_in_place_of_a_sub_folder_is_not_followed() {
    let place = tempfile::tempdir().unwrap();
    let outside = tempfile::tempdir().unwrap();
    let (mut gate, _) = ClearedFolder::open(place.path()).unwrap();
    std::os::unix::fs::symlink(outside.path(), place.path().join("monday")).unwrap();
    assert!(admit(&mut gate, "monday/a.svg", b"one").is_err());
    assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 0);
}
