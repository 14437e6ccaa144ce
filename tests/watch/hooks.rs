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
        ("runs/none.svg", 2),
        ("nowhere/none.svg", 2),
    ] {
        let held = sh(&shop, &script, &[run, "sh", "-c", "cat \"$1\" >sent", "x"]);
        assert_eq!(held.status.code(), Some(status), "{run}: {held:?}");
        assert!(!shop.path().join("sent").exists(), "{run}");
    }
}

#[test]
fn before_a_send_the_load_and_the_names_count() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    fs::write(shop.path().join("orders.csv"), "who is it\nNobody\n").unwrap();
    let ends = |said: &[(&str, &str)]| {
        Command::new("sh")
            .arg(recipe("before-send.sh"))
            .args(["runs/a.svg", "true"])
            .current_dir(shop.path())
            .env("JIGWARDEN", program())
            .envs(said.iter().copied())
            .output()
            .unwrap()
    };
    for (said, status) in [
        (&[][..], 0),
        (&[("JIGWARDEN_LOADED", "A1-A6,B1-B6")], 0),
        (&[("JIGWARDEN_LOADED", "A1")], 1),
        (&[("JIGWARDEN_LOADED", "Z9")], 2),
        (
            &[
                ("JIGWARDEN_NAMES", "orders.csv"),
                ("JIGWARDEN_COLUMN", "who is it"),
            ],
            1,
        ),
        (&[("JIGWARDEN", "./missing")], 2),
    ] {
        let out = ends(said);
        assert_eq!(out.status.code(), Some(status), "{said:?}: {out:?}");
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

/// A repository with the hook in it.
struct Repository(Workshop);

impl Repository {
    fn new() -> Self {
        let shop = Workshop::new();
        let repository = Self(shop);
        assert!(repository.git(&["init", "-q"]).status.success());
        let hooks = repository.0.path().join(".git/hooks");
        fs::create_dir_all(&hooks).unwrap();
        fs::copy(recipe("pre-commit"), hooks.join("pre-commit")).unwrap();
        repository
    }

    fn git(&self, arguments: &[&str]) -> Output {
        Command::new("git")
            .args([
                "-c",
                "user.name=Bench",
                "-c",
                "user.email=bench@example.org",
            ])
            .args(arguments)
            .current_dir(self.0.path())
            .env("JIGWARDEN", program())
            .env("GIT_CONFIG_GLOBAL", "/dev/null")
            .env("GIT_CONFIG_SYSTEM", "/dev/null")
            .output()
            .unwrap()
    }

    /// Commits everything, and puts back what a refused commit would have changed.
    fn commit(&self, what: &str) -> Output {
        self.git(&["add", "-A"]);
        let out = self.git(&["commit", "-qm", what]);
        self.git(&["reset", "-q", "--hard"]);
        out
    }

    fn passes(&self, what: &str) {
        let out = self.commit(what);
        assert!(out.status.success(), "{what}: {out:?}");
    }

    fn is_refused(&self, what: &str) {
        let out = self.commit(what);
        assert!(!out.status.success(), "{what} was committed: {out:?}");
        let said = String::from_utf8_lossy(&out.stderr);
        assert!(
            said.contains("not committed") || said.contains("outside the commit"),
            "{what}: {said}"
        );
    }

    fn edit(&self, file: &str, from: &str, to: &str) {
        let path = self.0.path().join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{file} holds no {from}");
        fs::write(path, text.replace(from, to)).unwrap();
    }
}

#[test]
fn a_commit_with_a_run_that_is_not_clear_is_refused() {
    let repository = Repository::new();
    let shop = &repository.0;
    // The fixture's drawing is among the files, cuts and all, and is no run.
    shop.save("a b.svg", &shop.clear(0));
    repository.passes("a clear run");

    // What is staged counts, not what lies there.
    shop.save("a b.svg", &shop.hold(1));
    repository.git(&["add", "-A"]);
    shop.save("a b.svg", &shop.clear(0));
    let refused = repository.git(&["commit", "-qm", "staged"]);
    assert!(!refused.status.success(), "{refused:?}");
    repository.git(&["reset", "-q", "--hard"]);

    shop.save("note.txt", "no run");
    repository.passes("a note");
    for odd in ["b.Svg", "it's \"a\" $(touch pwned).svg"] {
        shop.save(odd, &shop.hold(2));
        repository.is_refused(odd);
        assert!(!shop.path().join("pwned").exists());
    }
    fs::rename(shop.runs().join("a b.svg"), shop.runs().join("c.svg")).unwrap();
    repository.passes("a clear run by another name");
    fs::remove_file(shop.runs().join("c.svg")).unwrap();
    repository.passes("a run taken out");
}

#[test]
fn a_commit_that_changes_the_fixture_under_a_run_is_refused() {
    let repository = Repository::new();
    let shop = &repository.0;
    shop.save("a.svg", &shop.clear(0));
    repository.passes("a clear run");
    repository.edit("fixture.toml", "margin = \"2 mm\"", "margin = \"14 mm\"");
    repository.is_refused("a margin that the art is past");
    repository.edit("fixture.svg", "</svg>", "<!-- changed --></svg>");
    repository.is_refused("a drawing that does not fit the lock");
    for file in ["fixture.toml", "fixture.svg", "fixture.lock.json"] {
        fs::remove_file(shop.path().join(file)).unwrap();
        repository.is_refused(file);
    }
    repository.edit("fixture.toml", "margin = \"2 mm\"", "margin = \"1.9 mm\"");
    repository.passes("a margin that nothing is past");
}

#[test]
fn a_fixture_in_a_commit_is_no_concern_of_other_fixtures() {
    let repository = Repository::new();
    let shop = &repository.0;
    shop.save("a.svg", &shop.clear(0));
    let other = shop.path().join("other");
    fs::create_dir_all(other.join("art")).unwrap();
    for file in ["fixture.toml", "fixture.lock.json"] {
        fs::copy(shop.path().join(file), other.join(file)).unwrap();
    }
    fs::copy(shop.path().join("fixture.svg"), other.join("art/sheet.svg")).unwrap();
    repository.edit("other/fixture.toml", "\"fixture.svg\"", "\"art/sheet.svg\"");
    repository.passes("a drawing in a sub-folder is no run");

    fs::write(other.join("held.svg"), shop.hold(0)).unwrap();
    repository.git(&["add", "-A"]);
    repository.git(&["commit", "-qnm", "past the hook"]);
    repository.edit("fixture.toml", "[bed]", "# no more than this\n[bed]");
    repository.passes("the outer fixture, while a run of the inner one holds");
    repository.edit("other/fixture.toml", "[bed]", "# no more than this\n[bed]");
    repository.is_refused("the inner fixture");
}

#[cfg(unix)]
#[test]
fn a_run_that_becomes_a_link_out_of_the_commit_is_refused() {
    let repository = Repository::new();
    let shop = &repository.0;
    shop.save("a.svg", &shop.clear(0));
    repository.passes("a clear run");
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("a.svg"), shop.clear(1)).unwrap();
    fs::remove_file(shop.runs().join("a.svg")).unwrap();
    std::os::unix::fs::symlink(outside.path().join("a.svg"), shop.runs().join("a.svg")).unwrap();
    repository.is_refused("a link");
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
        let child = Command::new(program())
            .args(&words[1..])
            .current_dir(shop.path())
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        let mut child = Ended(child);
        let cleared = shop.path().join("laser/cleared");
        until(file, || cleared.is_dir() || child_ended(&mut child.0.id()));
        assert!(child.0.try_wait().unwrap().is_none(), "{line}");
    }
}

/// As `ProtectSystem=strict` has it (`systemd.exec(5)`): everything is read-only but what
/// `ReadWritePaths=` names. In mounts of its own, which need user namespaces.
#[cfg(target_os = "linux")]
#[test]
fn the_unit_may_write_what_the_watch_must_write() {
    let able = |program: &mut Command| program.output().is_ok_and(|o| o.status.success());
    if !able(Command::new("unshare").args(["-rm", "true"])) {
        println!("not run: no mounts of one's own can be made here");
        return;
    }
    let text = fs::read_to_string(recipe("jigwarden-watch.service")).unwrap();
    let of = |key: &str| text.lines().find_map(|l| l.strip_prefix(key));
    assert_eq!(of("ProtectSystem="), Some("strict"));
    let shop = Workshop::new();
    let home = shop.path().to_str().unwrap();
    fs::create_dir(shop.path().join("laser")).unwrap();
    fs::rename(shop.runs(), shop.path().join("laser/runs")).unwrap();
    for file in ["fixture.toml", "fixture.svg", "fixture.lock.json"] {
        fs::rename(shop.path().join(file), shop.path().join("laser").join(file)).unwrap();
    }
    let run = shop.path().join("laser/runs/a.svg");
    fs::write(&run, shop.clear(0)).unwrap();
    // What a watch before this one left, and is clear no more.
    let cleared = shop.path().join("laser/cleared");
    fs::create_dir(&cleared).unwrap();
    fs::write(cleared.join("stale.svg"), shop.hold(0)).unwrap();

    let started = of("ExecStart=").unwrap().replace("8420", "0");
    let started = started.replace("%h/.cargo/bin/jigwarden", program().to_str().unwrap());
    let script = format!(
        "set -e\n\
         for path in {}; do mount --bind \"$path\" \"$path\"; done\n\
         mount -o remount,bind,ro \"$(df --output=target . | tail -n 1)\"\n\
         ! touch read-only 2>/dev/null\n\
         exec {started}\n",
        of("ReadWritePaths=").unwrap_or_default()
    );
    let watch = Command::new("unshare")
        .args(["-rm", "sh", "-c", &script.replace("%h", home)])
        .current_dir(home)
        .stdout(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let mut watch = Ended(watch);
    let copies = || {
        let mut names: Vec<_> = fs::read_dir(&cleared)
            .into_iter()
            .flatten()
            .map(|e| e.unwrap().file_name())
            .collect();
        names.retain(|n| Path::new(n).extension().is_some_and(|e| e == "svg"));
        names
    };
    until("the clear run alone", || copies() == ["a.svg"]);
    fs::write(&run, shop.hold(1)).unwrap();
    until("nothing", || copies().is_empty());
    assert!(watch.0.try_wait().unwrap().is_none());
}

/// A process that does not outlive its test.
struct Ended(std::process::Child);

impl Drop for Ended {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
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
