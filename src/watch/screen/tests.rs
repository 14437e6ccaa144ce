#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use std::sync::{Arc, Mutex};

use super::*;
use crate::watch::summary::Summary;

#[derive(Clone, Default)]
struct Paper(Arc<Mutex<Vec<u8>>>);

impl Write for Paper {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.lock().unwrap().extend_from_slice(bytes);
        Ok(bytes.len())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

impl Paper {
    fn text(&self) -> String {
        String::from_utf8(self.0.lock().unwrap().clone()).unwrap()
    }

    /// Waits until it holds `wanted`.
    fn until(&self, wanted: &str) {
        let begun = std::time::Instant::now();
        while !self.text().contains(wanted) {
            assert!(begun.elapsed().as_secs() < 20, "{:?}", self.text());
            std::thread::sleep(std::time::Duration::from_millis(2));
        }
    }
}

fn display(size: Option<Size>) -> (Display, Paper) {
    let paper = Paper::default();
    let screen = Screen {
        width: 80,
        unicode: true,
        colour: false,
    };
    (Display::new(Box::new(paper.clone()), screen, size), paper)
}

fn entry(name: &str, saved: u64, verdict: Verdict) -> Entry {
    let hold = Point {
        weight: "hold",
        pocket: None,
        rule: "past-zone",
        text: "A3: \"Bartholomew\" runs 2.4 mm past the right edge of its zone".to_owned(),
        help: "set it at 84 % of this size".to_owned(),
    };
    Entry {
        name: name.to_owned(),
        saved,
        working: false,
        told: Some(Summary {
            verdict,
            sha256: String::new(),
            fixture: None,
            points: if verdict == Verdict::Clear {
                Vec::new()
            } else {
                vec![hold]
            },
            excused: 0,
            rests_on: None,
        }),
        barred: None,
    }
}

#[test]
fn off_a_terminal_each_piece_of_news_is_a_line() {
    let (mut display, paper) = display(None);
    display.begin(Path::new("runs"), 2);
    display.verdict(&entry("a.svg", 1, Verdict::Clear));
    display.verdict(&entry("b\u{1b}[2J.svg", 2, Verdict::Hold));
    display.gone("a.svg");
    display.paint(&[], Some(0));
    display.ring();
    display.end(None);
    assert_eq!(
        paper.text(),
        "watching runs: 2 artwork files\n\
         CLEAR  a.svg\n\
         HOLD   b\\u{1b}[2J.svg  A3: \"Bartholomew\" runs 2.4 mm past the right edge of its zone [past-zone]\n\
         GONE   a.svg\n\
         the watch has ended\n"
    );
}

#[test]
fn a_terminal_shows_every_run_and_is_never_blank() {
    let (mut display, paper) = display(Some(|| Some((60, 12))));
    let mut first = entry("new.svg", 3, Verdict::Hold);
    let second = entry("old.svg", 2, Verdict::Clear);
    display.begin(Path::new("runs"), 2);
    let path = Path::new("");
    display.paint(&[(path, &first), (path, &second)], Some(1));
    paper.until("HOLD      new.svg");
    first.working = true;
    display.paint(&[(path, &first), (path, &second)], Some(1));
    paper.until("..(hold)");
    let text = paper.text();
    // Nothing wipes the screen before it is painted: only the rest of a line, and what lies below.
    assert!(!text.contains("\x1b[2J"), "{text:?}");
    let paintings: Vec<&str> = text.split("\x1b[H").skip(1).collect();
    assert_eq!(paintings.len(), 2);
    for line in paintings.iter().flat_map(|p| p.split("\r\n")) {
        let plain = line.replace("\x1b[K", "").replace("\x1b[J", "");
        assert!(typeset::columns(&plain) <= 60, "{plain:?}");
    }
    assert!(paintings[0].contains("HOLD      new.svg"), "{text:?}");
    assert!(paintings[0].contains("set it at 84 %"), "{text:?}");
    let order = |p: &str| (p.find("new.svg"), p.find("old.svg"));
    assert!(order(paintings[0]).0 < order(paintings[0]).1);
    assert!(paintings[1].contains("..(hold)"), "{text:?}");
    assert!(paintings[1].contains("CLEAR     old.svg"), "{text:?}");
    drop(display);
    assert!(paper.text().ends_with(LEAVE));
}

/// A pipe or terminal that nobody reads.
struct Stopped(std::sync::mpsc::Receiver<()>);

impl Write for Stopped {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let _ = self.0.recv();
        Ok(bytes.len())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_terminal_that_nobody_reads_keeps_nobody_waiting() {
    let (_open, never) = std::sync::mpsc::channel();
    let screen = Screen {
        width: 80,
        unicode: true,
        colour: false,
    };
    let begun = std::time::Instant::now();
    let mut display = Display::new(Box::new(Stopped(never)), screen, None);
    display.begin(Path::new("runs"), 1);
    for n in 0..20_000 {
        display.verdict(&entry("a.svg", n, Verdict::Hold));
    }
    display.end(None);
    assert!(begun.elapsed().as_secs() < 5, "{:?}", begun.elapsed());
}

#[test]
fn what_does_not_fit_is_counted() {
    let (display, _) = display(Some(|| Some((60, 10))));
    let many: Vec<Entry> = (0..40)
        .map(|n| entry(&format!("{n}.svg"), n, Verdict::Clear))
        .collect();
    let path = Path::new("");
    let rows: Vec<(&Path, &Entry)> = many.iter().map(|e| (path, e)).collect();
    let lines = display.lines(&rows, None, 60, 10);
    assert_eq!(lines.len(), 10);
    assert!(lines[9].ends_with("33 more"), "{lines:?}");
}
