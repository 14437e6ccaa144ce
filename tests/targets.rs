//! No output ever destroys artwork: what a command writes goes over nothing that it reads, nothing
//! of a fixture, and no file that this program did not write.

use std::path::Path;
use std::process::Command;

fn jigwarden(folder: &Path, words: &str) -> (i32, String) {
    let done = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(words.split(' '))
        .current_dir(folder)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    (done.status.code().unwrap(), said)
}

fn fixture() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = Path::new("fixtures-examples/hive-tags");
    for name in ["fixture.svg", "fixture.toml", "fixture.lock.json"] {
        std::fs::copy(from.join(name), folder.path().join(name)).unwrap();
    }
    std::fs::copy(
        from.join("clear/live-lettering.svg"),
        folder.path().join("run.svg"),
    )
    .unwrap();
    std::fs::write(folder.path().join("orders.svg"), "name\nBramble\n").unwrap();
    std::fs::write(folder.path().join("art.svg"), "<svg/>").unwrap();
    folder
}

#[test]
fn a_proof_goes_over_nothing_that_is_read_and_nothing_strange() {
    let folder = fixture();
    let list = " --names orders.svg --column name";
    for (words, target) in [
        ("proof run.svg -o run.svg", "run.svg"),
        ("proof run.svg -o ./run.svg", "run.svg"),
        ("proof run.svg -o fixture.svg", "fixture.svg"),
        ("proof run.svg -o art.svg", "art.svg"),
        ("inspect run.svg --proof run.svg", "run.svg"),
        ("inspect run.svg --proof art.svg", "art.svg"),
        ("enrol . --proof fixture.svg", "fixture.svg"),
        ("enrol . --proof art.svg", "art.svg"),
        (&format!("proof run.svg -o orders.svg{list}"), "orders.svg"),
    ] {
        let before = std::fs::read(folder.path().join(target)).unwrap();
        let (status, said) = jigwarden(folder.path(), words);
        assert_eq!(status, 2, "{words}: {said}");
        assert!(said.contains(target), "{words} does not name it: {said}");
        let after = std::fs::read(folder.path().join(target)).unwrap();
        assert!(before == after, "{words} changed {target}");
    }
}

#[test]
fn a_proof_goes_over_its_older_self_until_somebody_works_on_it() {
    let folder = fixture();
    for name in ["p.svg", "p.html", "p.png"] {
        let words = format!("proof run.svg -o {name}");
        assert_eq!(jigwarden(folder.path(), &words).0, 0, "{words}");
        assert_eq!(jigwarden(folder.path(), &words).0, 0, "{words} again");
        let file = folder.path().join(name);
        let mut bytes = std::fs::read(&file).unwrap();
        bytes.extend_from_slice(b"\n");
        bytes.extend_from_slice(b"<!-- mine -->");
        std::fs::write(&file, &bytes).unwrap();
        assert_eq!(jigwarden(folder.path(), &words).0, 2, "{words} over work");
    }
}
