//! Commands, recipes, completions and the manual.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::{Duration, Instant};

use crate::watch::workshop::{Workshop, program};

fn recipe(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures-examples/hooks")
        .join(name)
}

fn sh(shop: &Workshop, script: &Path, arguments: &[&str]) -> Output {
    Command::new("sh")
        .arg(script)
        .args(arguments)
        .current_dir(shop.path())
        .env("JIGWARDEN", program())
        // No message on the desktop of whoever runs the tests.
        .env("PATH", "/usr/bin:/bin")
        .env_remove("DBUS_SESSION_BUS_ADDRESS")
        .output()
        .unwrap()
}

fn until(what: &str, done: impl Fn() -> bool) {
    let begun = Instant::now();
    while !done() {
        assert!(begun.elapsed() < Duration::from_mins(1), "{what}");
        std::thread::sleep(Duration::from_millis(10));
    }
}

#[cfg(unix)]
#[test]
fn commands_run_when_a_verdict_changes_and_no_shell_reads_them() {
    use std::os::unix::fs::PermissionsExt as _;

    let shop = Workshop::new();
    let log = shop.path().join("log");
    let note = shop.path().join("note it");
    fs::write(
        &note,
        format!(
            "#!/bin/sh\nprintf '%s|%s|%s|%s|%s\\n' \"$#\" \"$1\" \"$2\" \"$JIGWARDEN_VERDICT\" \"$JIGWARDEN_FINDING\" >>'{}'\n",
            log.display()
        ),
    )
    .unwrap();
    fs::set_permissions(&note, fs::Permissions::from_mode(0o755)).unwrap();
    let odd = "$(touch pwned);`touch pwned` '.svg";
    shop.save("old.svg", &shop.hold(0));
    let mut watcher = shop.watch(&["--on-hold", "./note it", "--on-clear", "./note it"]);
    watcher.verdict("HOLD", "old.svg");
    shop.save(odd, &shop.clear(0));
    watcher.verdict("CLEAR", odd);
    shop.save(odd, &shop.clear(1));
    watcher.verdict("CLEAR", odd);
    shop.save(odd, &shop.hold(2));
    watcher.verdict("HOLD", odd);
    let lines = || fs::read_to_string(&log).unwrap_or_default();
    until("two calls", || lines().lines().count() >= 2);
    let text = lines();
    let calls: Vec<&str> = text.lines().collect();
    // Neither what was there before nor a verdict that stayed is a change.
    assert_eq!(calls.len(), 2, "{text}");
    assert!(
        calls[0].starts_with("2|") && calls[0].ends_with(&format!("{odd}|clear|clear|")),
        "{text}"
    );
    assert!(
        calls[1].contains("|hold|hold|") && calls[1].contains("past"),
        "{text}"
    );
    assert!(!shop.path().join("pwned").exists());

    let mut other = shop.watch(&["--on-hold", "./missing"]);
    other.verdict("HOLD", "old.svg");
    shop.save("new.svg", &shop.hold(3));
    other.until("the failure", |l| l.contains("./missing cannot be run"));
}

#[test]
fn before_a_send_only_what_is_clear_reaches_the_sender() {
    let shop = Workshop::new();
    shop.save("a b.svg", &shop.clear(0));
    shop.save("bad.svg", &shop.hold(0));
    shop.save("broken.svg", "<svg");
    let script = recipe("before-send.sh");
    let sent = sh(
        &shop,
        &script,
        &["runs/a b.svg", "sh", "-c", "cat \"$1\" >sent", "x"],
    );
    assert!(sent.status.success(), "{sent:?}");
    assert_eq!(
        fs::read_to_string(shop.path().join("sent")).unwrap(),
        shop.clear(0)
    );
    fs::remove_file(shop.path().join("sent")).unwrap();
    for (run, status) in [
        ("runs/bad.svg", 1),
        ("runs/broken.svg", 2),
        ("runs/none.svg", 1),
    ] {
        let held = sh(&shop, &script, &[run, "sh", "-c", "cat \"$1\" >sent", "x"]);
        assert_eq!(held.status.code(), Some(status), "{run}: {held:?}");
        assert!(!shop.path().join("sent").exists(), "{run}");
    }
}

#[test]
fn after_a_save_the_verdict_is_told() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    shop.save("bad.svg", &shop.hold(0));
    let script = recipe("save-hook.sh");
    let clear = sh(&shop, &script, &["runs/a.svg"]);
    assert_eq!(clear.status.code(), Some(0), "{clear:?}");
    assert!(String::from_utf8_lossy(&clear.stdout).starts_with("CLEAR"));
    let held = sh(&shop, &script, &["runs/bad.svg"]);
    assert_eq!(held.status.code(), Some(1), "{held:?}");
    assert!(String::from_utf8_lossy(&held.stdout).starts_with("HOLD"));
}

#[test]
fn a_commit_with_a_run_that_is_not_clear_is_refused() {
    let shop = Workshop::new();
    let git = |arguments: &[&str]| {
        Command::new("git")
            .args([
                "-c",
                "user.name=Bench",
                "-c",
                "user.email=bench@example.org",
            ])
            .args(arguments)
            .current_dir(shop.path())
            .env("JIGWARDEN", program())
            .env("GIT_CONFIG_GLOBAL", "/dev/null")
            .env("GIT_CONFIG_SYSTEM", "/dev/null")
            .output()
            .unwrap()
    };
    assert!(git(&["init", "-q"]).status.success());
    fs::create_dir_all(shop.path().join(".git/hooks")).unwrap();
    fs::copy(
        recipe("pre-commit"),
        shop.path().join(".git/hooks/pre-commit"),
    )
    .unwrap();
    // The fixture's drawing is among the files, cuts and all, and is no run.
    shop.save("a b.svg", &shop.clear(0));
    git(&["add", "-A"]);
    let fine = git(&["commit", "-qm", "one"]);
    assert!(fine.status.success(), "{fine:?}");

    // What is staged counts, not what lies there.
    shop.save("a b.svg", &shop.hold(1));
    git(&["add", "-A"]);
    shop.save("a b.svg", &shop.clear(0));
    let refused = git(&["commit", "-qm", "two"]);
    assert!(!refused.status.success(), "{refused:?}");
    assert!(
        String::from_utf8_lossy(&refused.stderr).contains("not committed"),
        "{refused:?}"
    );
    shop.save("note.txt", "no run");
    git(&["reset", "-q"]);
    git(&["add", "runs/note.txt"]);
    let fine = git(&["commit", "-qm", "three"]);
    assert!(fine.status.success(), "{fine:?}");
}

#[test]
fn the_units_name_options_that_there_are() {
    for (file, key) in [
        ("jigwarden-watch.service", "ExecStart="),
        ("jigwarden-watch.desktop", "Exec="),
    ] {
        let text = fs::read_to_string(recipe(file)).unwrap();
        let line = text.lines().find_map(|l| l.strip_prefix(key)).unwrap();
        let shop = Workshop::new();
        fs::create_dir_all(shop.path().join("laser/runs")).unwrap();
        let line = line
            .replace("%h/.cargo/bin/", "")
            .replace("%h", shop.path().to_str().unwrap())
            .replace("8420", "0");
        let words: Vec<&str> = line.split(' ').collect();
        assert_eq!(words[..2], ["jigwarden", "watch"], "{line}");
        let mut child = Command::new(program())
            .args(&words[1..])
            .current_dir(shop.path())
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        let cleared = shop.path().join("laser/cleared");
        until(file, || cleared.is_dir() || child_ended(&mut child.id()));
        assert!(child.try_wait().unwrap().is_none(), "{line}");
        child.kill().unwrap();
        child.wait().unwrap();
    }
}

/// Whether a process is there no more: its entry in `/proc` is gone or says that it is a zombie.
fn child_ended(id: &mut u32) -> bool {
    fs::read_to_string(format!("/proc/{id}/stat")).map_or(true, |s| s.contains(") Z "))
}

#[test]
fn completions_and_manual_come_from_the_program() {
    let out = |arguments: &[&str]| {
        let out = Command::new(program()).args(arguments).output().unwrap();
        assert!(out.status.success(), "{out:?}");
        String::from_utf8(out.stdout).unwrap()
    };
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let text = out(&["completions", shell]);
        assert!(text.contains("cleared"), "{shell}: {text}");
    }
    let manual = out(&["manual"]);
    assert!(manual.contains(".TH"), "{manual}");
    let watch = out(&["manual", "watch"]);
    assert!(
        watch.contains("cleared") && watch.contains(".TH"),
        "{watch}"
    );
    let none = Command::new(program())
        .args(["manual", "nonsense"])
        .output()
        .unwrap();
    assert_eq!(none.status.code(), Some(2));
}
