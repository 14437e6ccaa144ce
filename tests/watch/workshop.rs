//! A workshop to watch: the demo's fixture with a folder of runs, and a watcher at work in it.

use std::fmt::Write as _;
use std::fs;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// The program; the benchmark in release points at another build of it.
pub fn program() -> PathBuf {
    std::env::var_os("JIGWARDEN_BIN").map_or_else(
        || PathBuf::from(env!("CARGO_BIN_EXE_jigwarden")),
        PathBuf::from,
    )
}

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples/hive-tags")
}

/// Long enough for a loaded machine; a test that waits so long fails.
const PATIENCE: Duration = Duration::from_mins(1);

pub struct Workshop {
    place: TempDir,
    clear: String,
    hold: String,
}

impl Workshop {
    pub fn new() -> Self {
        let place = tempfile::tempdir().unwrap();
        let demo = demo();
        for name in ["fixture.toml", "fixture.svg", "fixture.lock.json"] {
            fs::copy(demo.join(name), place.path().join(name)).unwrap();
        }
        fs::create_dir(place.path().join("runs")).unwrap();
        let read = |name: &str| fs::read_to_string(demo.join(name)).unwrap();
        Self {
            place,
            clear: read("clear/live-lettering.svg"),
            hold: read("hold/past-zone--long-name.svg"),
        }
    }

    pub fn path(&self) -> &Path {
        self.place.path()
    }

    pub fn runs(&self) -> PathBuf {
        self.path().join("runs")
    }

    pub fn cleared(&self) -> PathBuf {
        self.path().join("cleared")
    }

    /// A run that is clear; each `number` has bytes of its own.
    pub fn clear(&self, number: usize) -> String {
        format!("{}<!-- save {number} -->\n", self.clear)
    }

    /// A run that holds.
    pub fn hold(&self, number: usize) -> String {
        format!("{}<!-- save {number} -->\n", self.hold)
    }

    /// Saves in place.
    pub fn save(&self, name: &str, text: &str) {
        let path = self.runs().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    /// Saves beside and renames.
    pub fn replace(&self, name: &str, text: &str) {
        let beside = self.runs().join(format!("{name}.tmp"));
        fs::write(&beside, text).unwrap();
        fs::rename(beside, self.runs().join(name)).unwrap();
    }

    /// Likewise, in a sub-folder that may be new.
    pub fn replace_deep(&self, name: &str, text: &str) {
        fs::create_dir_all(self.runs().join(name).parent().unwrap()).unwrap();
        self.replace(name, text);
    }

    /// Starts a watcher of the runs that keeps the cleared folder.
    pub fn gate(&self, more: &[&str]) -> Watcher {
        let mut arguments = vec!["--cleared", "cleared"];
        arguments.extend(more);
        self.watch(&arguments)
    }

    pub fn watch(&self, arguments: &[&str]) -> Watcher {
        let mut child = Command::new(program())
            .args(["watch", "runs"])
            .args(arguments)
            .current_dir(self.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let (to, lines) = mpsc::channel();
        std::thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                if to.send((Instant::now(), line)).is_err() {
                    return;
                }
            }
        });
        Watcher {
            child,
            lines,
            said: Vec::new(),
        }
    }

    /// Starts a watcher whose output is a pipe that nobody reads.
    pub fn unread(&self, arguments: &[&str]) -> Child {
        Command::new(program())
            .args(["watch", "runs"])
            .args(arguments)
            .current_dir(self.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap()
    }

    /// Waits until `done` says so.
    pub fn waits(&self, what: &str, mut done: impl FnMut() -> bool) {
        let begun = Instant::now();
        while !done() {
            assert!(
                begun.elapsed() < PATIENCE,
                "waited for {what}: {:?}",
                self.in_cleared()
            );
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    /// The files in the cleared folder, receipts left out.
    pub fn in_cleared(&self) -> Vec<String> {
        let mut names = Vec::new();
        below(&self.cleared(), Path::new(""), &mut names);
        names.retain(|n| !n.ends_with(".receipt.json"));
        names.sort();
        names
    }

    /// Waits until the cleared folder holds exactly these, for as long as it changes at all.
    pub fn cleared_becomes(&self, names: &[&str]) {
        let mut changed = Instant::now();
        let mut before = self.in_cleared();
        while before != names {
            let missing = names.iter().filter(|n| !before.iter().any(|b| b == *n));
            let extra = before.iter().filter(|b| !names.contains(&b.as_str()));
            assert!(
                changed.elapsed() < PATIENCE,
                "missing: {:?}, too many: {:?}",
                missing.take(9).collect::<Vec<_>>(),
                extra.take(9).collect::<Vec<_>>()
            );
            std::thread::sleep(Duration::from_millis(5));
            let now = self.in_cleared();
            if now != before {
                before = now;
                changed = Instant::now();
            }
        }
    }
}

pub fn below(folder: &Path, inside: &Path, names: &mut Vec<String>) {
    for entry in fs::read_dir(folder.join(inside)).into_iter().flatten() {
        let entry = entry.unwrap();
        let name = inside.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            below(folder, &name, names);
        } else {
            names.push(name.to_str().unwrap().to_owned());
        }
    }
}

pub struct Watcher {
    pub child: Child,
    lines: Receiver<(Instant, String)>,
    said: Vec<String>,
}

impl Watcher {
    /// Waits for a line that `wanted` accepts; when it came.
    pub fn until(&mut self, what: &str, wanted: impl Fn(&str) -> bool) -> (Instant, String) {
        let begun = Instant::now();
        loop {
            let left = PATIENCE.saturating_sub(begun.elapsed());
            let Ok((at, line)) = self.lines.recv_timeout(left) else {
                panic!("waited for {what}; it said:\n{}", self.said());
            };
            self.said.push(line.clone());
            if wanted(&line) {
                return (at, line);
            }
        }
    }

    /// Waits for a verdict on a run.
    pub fn verdict(&mut self, word: &str, name: &str) -> (Instant, String) {
        let start = format!("{word:6} {name}");
        self.until(&start, |line| {
            line.strip_prefix(&start)
                .is_some_and(|rest| rest.is_empty() || rest.starts_with("  "))
        })
    }

    /// Everything it says in the next `time`.
    pub fn listen(&mut self, time: Duration) -> Vec<String> {
        let end = Instant::now() + time;
        let mut heard = Vec::new();
        while let Ok((_, line)) = self
            .lines
            .recv_timeout(end.saturating_duration_since(Instant::now()))
        {
            self.said.push(line.clone());
            heard.push(line);
        }
        heard
    }

    pub fn said(&self) -> String {
        self.said.iter().fold(String::new(), |mut all, line| {
            let _ = writeln!(all, "{line}");
            all
        })
    }

    /// Ends it at once, as a crash does.
    pub fn crash(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Whether it is stopped: the third field of its entry in `/proc` (`proc_pid_stat(5)`).
    pub fn stands_still(&self) -> bool {
        let stat = fs::read_to_string(format!("/proc/{}/stat", self.child.id()));
        stat.is_ok_and(|s| s.contains(") T "))
    }

    /// Sends it a signal.
    pub fn signal(&self, signal: &str) {
        let sent = Command::new("kill")
            .args([format!("-{signal}"), self.child.id().to_string()])
            .status()
            .unwrap();
        assert!(sent.success());
    }

    /// Asks it to end, by a signal; its exit status.
    pub fn end(mut self, signal: &str) -> Option<i32> {
        self.signal(signal);
        self.child.wait().unwrap().code()
    }
}

impl Drop for Watcher {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
