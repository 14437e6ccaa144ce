#![allow(clippy::unwrap_used, clippy::panic)]
use std::sync::mpsc;

use super::*;
use crate::typeset::Screen;
use crate::watch::start_thread;

/// The demo with one clear run, and a coordinator that keeps watch over it on a thread.
struct Watched {
    place: tempfile::TempDir,
    to: Sender<Message>,
    thread: std::thread::JoinHandle<Result<(), Failure>>,
}

impl Watched {
    fn start() -> Self {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples/hive-tags");
        let place = tempfile::tempdir().unwrap();
        let root = place.path().canonicalize().unwrap();
        for file in ["fixture.toml", "fixture.svg", "fixture.lock.json"] {
            std::fs::copy(demo.join(file), root.join(file)).unwrap();
        }
        let runs = root.join("runs");
        std::fs::create_dir(&runs).unwrap();
        let clear = demo.join("clear/live-lettering.svg");
        std::fs::copy(clear, runs.join("a.svg")).unwrap();
        let (to, from) = mpsc::channel();
        let (cleared, _) = ClearedFolder::open(&root.join("cleared")).unwrap();
        let options = Options::default();
        let folder = Folder {
            root: runs,
            apart: None,
        };
        let screen = Screen {
            width: 80,
            unicode: true,
            colour: false,
        };
        let mut coordinator = Coordinator {
            workers: Workers::start(&options, Some(cleared.folder()), &to),
            sweeper: Sweeper::start(folder.clone(), None, to.clone()),
            calls: Calls::start(None, None, to.clone()),
            to: to.clone(),
            folder,
            options,
            polls: true,
            bell: false,
            keep_at_end: true,
            cleared: Some(cleared),
            recording: None,
            board: None,
            events: None,
            display: Display::new(Box::new(std::io::sink()), screen, None),
            state: RunStates::default(),
        };
        let thread = std::thread::spawn(move || {
            let ended = coordinator.run(&from, &Signals::default(), Vec::new());
            coordinator.end(ended)
        });
        let copy = root.join("cleared/a.svg");
        let begun = Instant::now();
        while !copy.exists() {
            assert!(
                begun.elapsed() < Duration::from_mins(1),
                "it is not cleared"
            );
            std::thread::sleep(Duration::from_millis(5));
        }
        Self { place, to, thread }
    }
}

#[test]
fn whichever_thread_stumbles_the_folder_is_emptied_and_the_watch_fails() {
    let watched = Watched::start();
    start_thread("a thread of a test", &watched.to, || panic!("as meant"));
    let failure = watched.thread.join().unwrap().unwrap_err();
    assert!(
        failure.text.starts_with("a thread of a test failed")
            && failure.text.contains("the cleared folder is emptied"),
        "{}",
        failure.text
    );
    let left = std::fs::read_dir(watched.place.path().join("cleared")).unwrap();
    assert_eq!(left.count(), 0);
}
