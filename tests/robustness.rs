//! Files made to overload a reader: each is refused in plain words or measured right, within bounded
//! time and memory, and never by a crash.
//!
//! The program itself is run, as at the bench, with its address space and its time limited by the shell: a
//! crash, a hang and a runaway all show as a status other than 0, 1 and 2 or as a late answer.
#![cfg(unix)]

use crate::common::chance::Chance;

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Address space in kilobytes. Half a gigabyte of it is the stack, which is mostly never touched.
const SPACE: u32 = 5 << 20;

/// Seconds of the processor that an answer may take: less optimised, some five times what it takes
/// at the bench. More is a hang, and the shell ends it.
const SECONDS: u32 = 60;

/// On a machine that others use, the same may take far longer by the clock.
const LATE: Duration = Duration::from_mins(15);

/// A folder with an enrolled fixture of two pockets on a bed of 200 × 100 mm.
struct Bench {
    folder: tempfile::TempDir,
}

/// What the program said.
struct Said {
    status: Option<i32>,
    text: String,
}

const SETTINGS: &str = r##"[fixture]
name = "Bench"
drawing = "fixture.svg"
[bed]
width = "200 mm"
height = "100 mm"
[paints]
cut = ["#7b2d8b"]
engrave = ["#1b1b1b"]
off = ["#9aa0a6"]
[blank]
size = ["40 mm", "60 mm"]
body = "50 mm"
"##;

const HEAD: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"200mm\" height=\"100mm\" viewBox=\"0 0 200 100\">";

const LINES: &str = "<g fill=\"none\" stroke=\"#9aa0a6\" stroke-width=\"0.1\"><rect x=\"20\" y=\"20\" width=\"40\" height=\"60\" rx=\"3\"/><rect x=\"80\" y=\"20\" width=\"40\" height=\"60\" rx=\"6\"/></g>";

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("fixture.toml"), SETTINGS).unwrap();
        let cut = format!("{HEAD}{LINES}</svg>").replace("#9aa0a6", "#7b2d8b");
        std::fs::write(folder.path().join("fixture.svg"), cut).unwrap();
        let bench = Self { folder };
        let said = bench.run(&["enrol", "."]);
        assert_eq!(said.status, Some(0), "{}", said.text);
        bench
    }

    fn run(&self, arguments: &[&str]) -> Said {
        let started = Instant::now();
        let out: PathBuf = self.folder.path().join("said.txt");
        let said = std::fs::File::create(&out).unwrap();
        let mut child = Command::new("sh")
            .arg("-c")
            .arg(format!(
                "ulimit -v {SPACE}; ulimit -t {SECONDS}; exec \"$0\" \"$@\""
            ))
            .arg(env!("CARGO_BIN_EXE_jigwarden"))
            .args(arguments)
            .current_dir(self.folder.path())
            .stdin(Stdio::null())
            .stdout(said.try_clone().unwrap())
            .stderr(said)
            .spawn()
            .unwrap();
        let status = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break status.code();
            }
            if started.elapsed() > LATE {
                child.kill().unwrap();
                child.wait().unwrap();
                break None;
            }
            std::thread::sleep(Duration::from_millis(10));
        };
        let text = std::fs::read_to_string(&out).unwrap_or_default();
        Said { status, text }
    }

    /// Inspects a drawing of the fixture's lines and `more`.
    fn inspect(&self, more: &str) -> Said {
        self.inspect_bytes("run.svg", format!("{HEAD}{LINES}{more}</svg>").as_bytes())
    }

    fn inspect_bytes(&self, name: &str, bytes: &[u8]) -> Said {
        std::fs::write(self.folder.path().join(name), bytes).unwrap();
        self.run(&["inspect", name])
    }
}

impl Said {
    /// Not inspected (status 2), for a reason with these words in it.
    #[track_caller]
    fn refused(&self, words: &str) {
        self.ended(2, words);
        assert!(
            !self.text.contains("stumble"),
            "a crash was caught: {}",
            self.text
        );
    }

    /// Held (status 1), with these words in the findings.
    #[track_caller]
    fn held(&self, words: &str) {
        self.ended(1, words);
    }

    #[track_caller]
    fn clear(&self) {
        self.ended(0, "");
    }

    #[track_caller]
    fn ended(&self, status: i32, words: &str) {
        let head: String = self.text.chars().take(1500).collect();
        assert_eq!(self.status, Some(status), "{head}");
        let flat = self.text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(words), "no \"{words}\" in: {head}");
        assert!(
            self.text.len() < 200_000,
            "{} bytes of answer",
            self.text.len()
        );
    }
}

fn nested(open: &str, close: &str, depth: usize, inside: &str) -> String {
    format!("{}{inside}{}", open.repeat(depth), close.repeat(depth))
}

/// A dot that lies well inside the first pocket's zone.
const DOT: &str = "<rect x=\"36\" y=\"50\" width=\"8\" height=\"8\" fill=\"#1b1b1b\"/>";

#[test]
fn the_bench_itself_is_clear() {
    Bench::new().inspect(DOT).clear();
}

#[test]
fn groups_ten_thousand_deep() {
    let bench = Bench::new();
    bench
        .inspect(&nested("<g>", "</g>", 10_000, DOT))
        .refused("deep");
    // What is allowed is also walked, on the stack that there is.
    let allowed = bench.inspect(&nested(
        "<g transform=\"translate(.01 0)\">",
        "</g>",
        900,
        DOT,
    ));
    assert!(matches!(allowed.status, Some(0 | 1)), "{}", allowed.text);
}

#[test]
fn entity_bombs() {
    let mut text = String::from("<!DOCTYPE svg [<!ENTITY a0 \"<g/>\">");
    for i in 1..30 {
        let p = i - 1;
        write!(text, "<!ENTITY a{i} \"&a{p};&a{p};&a{p};&a{p};\">").unwrap();
    }
    let bench = Bench::new();
    let said = bench.inspect_bytes(
        "run.svg",
        format!("{text}]>{HEAD}{LINES}&a29;</svg>").as_bytes(),
    );
    said.refused("");
    let loops =
        format!("<!DOCTYPE svg [<!ENTITY a \"&b;\"><!ENTITY b \"&a;\">]>{HEAD}{LINES}&a;</svg>");
    bench.inspect_bytes("run.svg", loops.as_bytes()).refused("");
}

/// Clones of clones: `levels` of them, each twice the one before.
fn doubling(levels: usize) -> String {
    let mut text = format!("<defs>{}", DOT.replace("<rect", "<rect id=\"u0\""));
    for i in 1..levels {
        let below = i - 1;
        write!(
            text,
            "<g id=\"u{i}\"><use href=\"#u{below}\"/><use href=\"#u{below}\"/></g>"
        )
        .unwrap();
    }
    write!(text, "</defs><use href=\"#u{}\"/>", levels - 1).unwrap();
    text
}

#[test]
fn clones_of_themselves() {
    let bench = Bench::new();
    for text in [
        "<use href=\"#a\" id=\"a\"/>",
        "<g id=\"a\"><use href=\"#b\"/></g><g id=\"b\"><use href=\"#a\"/></g>",
        "<g id=\"a\"><use href=\"#b\"/></g><g id=\"b\"><use href=\"#c\"/></g><g id=\"c\"><use href=\"#a\"/></g>",
    ] {
        bench.inspect(text).held("repeats itself inside itself");
    }
    bench
        .inspect(&doubling(40))
        .refused("repeats objects until");
    let mut chain = format!("<defs>{}", DOT.replace("<rect", "<rect id=\"u0\""));
    for i in 1..3000 {
        let below = i - 1;
        write!(chain, "<g id=\"u{i}\"><use href=\"#u{below}\"/></g>").unwrap();
    }
    bench
        .inspect(&format!("{chain}</defs><use href=\"#u2999\"/>"))
        .refused("deep");
}

/// A ring of many points about the middle of the first zone, eight millimetres across.
fn ring(points: usize) -> String {
    let mut d = String::new();
    for i in 0..points {
        let angle = std::f64::consts::TAU * i as f64 / points as f64;
        let letter = if i == 0 { 'M' } else { 'L' };
        write!(
            d,
            "{letter}{:.5} {:.5}",
            40.0 + 4.0 * angle.cos(),
            55.0 + 4.0 * angle.sin()
        )
        .unwrap();
    }
    d + "z"
}

#[test]
fn a_path_of_a_million_points() {
    let bench = Bench::new();
    let d = ring(1_000_000);
    bench
        .inspect(&format!("<path fill=\"#1b1b1b\" d=\"{d}\"/>"))
        .clear();
    // Cloned, it is a billion.
    let many = "<use href=\"#p\"/>".repeat(1000);
    bench
        .inspect(&format!(
            "<defs><path id=\"p\" fill=\"#1b1b1b\" d=\"{}\"/></defs>{many}",
            ring(100_000)
        ))
        .refused("points");
}

#[test]
fn a_line_of_a_hundred_thousand_points() {
    Bench::new()
        .inspect(&format!(
            "<path fill=\"none\" stroke=\"#1b1b1b\" stroke-width=\"0.5\" d=\"{}\"/>",
            ring(100_000)
        ))
        .clear();
}

/// Numbers from 0 to 1.
fn chance(state: u64) -> impl FnMut() -> f64 {
    let mut chance = Chance::new(state);
    move || chance.between(0.0, 1.0)
}

#[test]
fn a_scribble_that_crosses_itself_millions_of_times() {
    let mut number = chance(1);
    let mut d = String::from("M40 50");
    for _ in 0..6_000 {
        write!(
            d,
            "L{:.3} {:.3}",
            36.0 + 8.0 * number(),
            50.0 + 8.0 * number()
        )
        .unwrap();
    }
    let bench = Bench::new();
    for paint in [
        "fill=\"#1b1b1b\"",
        "fill=\"none\" stroke=\"#1b1b1b\" stroke-width=\".05\"",
    ] {
        // Its extent is right, so a scribble inside its zone is clear.
        let said = bench.inspect(&format!("<path {paint} d=\"{d}\"/>"));
        assert!(matches!(said.status, Some(0 | 1)), "{}", said.text);
        assert!(!said.text.contains("past-zone"), "{}", said.text);
        let out = bench.inspect(&format!(
            "<path {paint} transform=\"translate(30 0)\" d=\"{d}\"/>"
        ));
        out.held("off-blank");
    }
}

/// Three thousand lines across each other: what covers which of them would take minutes to find. The rules
/// that need it are named with their limit, the others answer, and the run holds.
#[test]
fn what_would_keep_a_rule_busy_for_minutes_is_named() {
    let mut number = chance(5);
    let mut art = String::new();
    for _ in 0..3_000 {
        let mut place = || {
            let turn = std::f64::consts::TAU * number();
            format!(
                "{:.3} {:.3}",
                40.0 + 5.0 * turn.cos(),
                50.0 + 5.0 * turn.sin()
            )
        };
        let (from, to) = (place(), place());
        write!(
            art,
            "<path fill=\"none\" stroke=\"#1b1b1b\" stroke-width=\".2\" d=\"M{from}L{to}\"/>"
        )
        .unwrap();
    }
    let bench = Bench::new();
    let said = bench.inspect(&art);
    said.held("too rich to be judged by hidden-but-live");
    said.held("million steps of work, which is the limit");
    // The same bytes get the same answer.
    assert_eq!(said.text, bench.inspect(&art).text);
}

#[test]
fn layers_on_each_other_that_cross_millions_of_times() {
    let mut number = chance(3);
    let mut art = String::new();
    for _ in 0..150 {
        art.push_str("<path fill=\"#1b1b1b\" d=\"M40 50");
        for _ in 0..110 {
            let (x, y) = (36.0 + 8.0 * number(), 50.0 + 8.0 * number());
            write!(art, "L{x:.3} {y:.3}").unwrap();
        }
        art.push_str("z\"/>");
    }
    // Each by itself is quickly worked out. What all cover together counts as the box around them, which
    // looks like a letter: to cut that out of the layers one by one once took minutes.
    let said = Bench::new().inspect(&art);
    assert!(matches!(said.status, Some(0 | 1)), "{}", said.text);
    assert!(!said.text.contains("past-zone"), "{}", said.text);
}

#[test]
fn numbers_that_are_none_or_too_large() {
    let bench = Bench::new();
    let fill = "fill=\"#1b1b1b\"";
    for (text, words) in [
        (
            "<path FILL d=\"M35 50 L NaN 10 z\"/>",
            "path data breaks off",
        ),
        (
            "<path FILL d=\"M35 50 L 1e999 10 z\"/>",
            "path data breaks off",
        ),
        (
            "<rect FILL x=\"NaN\" y=\"1\" width=\"1\" height=\"1\"/>",
            "not a length",
        ),
        ("<circle FILL r=\"inf\"/>", "not a length"),
        (
            "<path FILL d=\"M35 50 L 1e300 10 L 5 1e308z\"/>",
            "beyond anything",
        ),
        (
            "<path FILL d=\"M35 50 A 1e38 1e38 0 1 1 45 50 z\"/>",
            "an arc larger than anything",
        ),
        (
            "<path FILL d=\"M0 0 A 3e38 1 0 1 1 3e38 50 z\"/>",
            "an arc larger than anything",
        ),
        (
            "<rect FILL x=\"-3.4e38\" y=\"-3.4e38\" width=\"6.8e38\" height=\"6.8e38\"/>",
            "beyond anything",
        ),
        (
            "<rect FILL x=\"3e38\" y=\"3e38\" width=\"1\" height=\"3e38\"/>",
            "beyond anything",
        ),
        (
            "<g transform=\"scale(1e200)\"><g transform=\"scale(1e200)\"><rect FILL width=\"1\" height=\"1\"/></g></g>",
            "beyond anything",
        ),
        (
            "<circle cx=\"40\" cy=\"50\" r=\"3\" fill=\"none\" stroke=\"#1b1b1b\" stroke-width=\"1e30\"/>",
            "past",
        ),
        (
            "<circle cx=\"0\" cy=\"0\" r=\"9e6\" fill=\"none\" stroke=\"#1b1b1b\"/>",
            "past",
        ),
        (
            "<path id=\"t\" fill=\"none\" d=\"M0 0 C 1e20 0 1e20 1e20 0 1e20\"/><text font-family=\"Ubuntu\" font-weight=\"300\" FILL><textPath href=\"#t\">Anna</textPath></text>",
            "beyond anything",
        ),
        (
            "<image x=\"35\" y=\"50\" width=\"5\" height=\"5\" href=\"data:image/svg+xml,&lt;svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'>&lt;path d='M1 1 A 1e38 1e38 0 1 1 5 5z'/>&lt;/svg>\"/>",
            "",
        ),
    ] {
        bench.inspect(&text.replace("FILL", fill)).held(words);
    }
    // Scales that undo each other are no trouble.
    bench
        .inspect(&format!(
            "<g transform=\"scale(1e-200)\"><g transform=\"scale(1e200)\">{DOT}</g></g>"
        ))
        .clear();
    // Dashes finer than anything are taken as a solid line.
    bench
        .inspect("<path d=\"M36 50 H44\" fill=\"none\" stroke=\"#1b1b1b\" stroke-width=\".3\" stroke-dasharray=\"1e-9\"/>")
        .clear();
}

#[test]
fn ids_that_stand_twice() {
    let bench = Bench::new();
    let twice = |x: u32| {
        format!("<rect id=\"d\" x=\"{x}\" y=\"50\" width=\"2\" height=\"2\" fill=\"#1b1b1b\"/>")
    };
    let both = format!("{}{}", twice(36), twice(42));
    bench.inspect(&both).clear();
    bench
        .inspect(&format!("{both}<use href=\"#d\" y=\"4\"/>"))
        .held("stands on two elements");
}

fn zipped(text: &[u8]) -> Vec<u8> {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    encoder.write_all(text).unwrap();
    encoder.finish().unwrap()
}

#[test]
fn compressed_files() {
    let bench = Bench::new();
    let whole = zipped(format!("{HEAD}{LINES}{DOT}</svg>").as_bytes());
    bench.inspect_bytes("run.svgz", &whole).clear();
    for length in [
        1,
        5,
        12,
        40,
        whole.len() / 2,
        whole.len() - 9,
        whole.len() - 1,
    ] {
        bench
            .inspect_bytes("run.svgz", whole.get(..length).unwrap())
            .refused("");
    }
    // A quarter of a gigabyte of blanks.
    bench
        .inspect_bytes("run.svgz", &zipped(&vec![b' '; 260 << 20]))
        .refused("unpacks to more than");
}

#[test]
fn lettering_nested_and_long() {
    let bench = Bench::new();
    let text = |inside: &str| {
        format!(
            "<text x=\"38\" y=\"55\" font-size=\"4\" font-family=\"Ubuntu\" font-weight=\"300\" fill=\"#1b1b1b\">{inside}</text>"
        )
    };
    bench
        .inspect(&text(&nested("<tspan>", "</tspan>", 3_000, "A")))
        .refused("deep");
    bench
        .inspect(&text(&nested("<tspan>", "</tspan>", 900, "A")))
        .held("nested more than 100 deep");
    bench
        .inspect(&text(&"a b ".repeat(60_000)))
        .held("split this lettering");
    bench
        .inspect(&text(&"<tspan>a</tspan>".repeat(20_000)))
        .held("split this");
}

#[test]
fn clips_and_patterns_chained() {
    let bench = Bench::new();
    let area = "<rect width=\"200\" height=\"100\"";
    let chain = |length: usize, twice: bool| {
        let mut text = String::from("<defs>");
        for i in 0..length {
            let next = format!("clip-path=\"url(#c{})\"", i + 1);
            let own = if twice { next.as_str() } else { "" };
            write!(
                text,
                "<clipPath id=\"c{i}\" {next}>{area} {own}/>{area} {own}/></clipPath>"
            )
            .unwrap();
        }
        write!(
            text,
            "<clipPath id=\"c{length}\">{area}/></clipPath></defs>"
        )
        .unwrap();
        text + &DOT.replace("<rect", "<rect clip-path=\"url(#c0)\"")
    };
    bench.inspect(&chain(10_000, false)).held("clip");
    bench.inspect(&chain(25, false)).clear();
    // Each clip is called three times by the one before: 3 to the 25th, were they not remembered.
    bench.inspect(&chain(25, true)).clear();
    let mut patterns = String::from("<defs>");
    for i in 0..10_000 {
        write!(
            patterns,
            "<pattern id=\"c{i}\" width=\"1\" height=\"1\">{area} fill=\"url(#c{})\"/></pattern>",
            i + 1
        )
        .unwrap();
    }
    patterns += "</defs>";
    bench
        .inspect(&(patterns + &DOT.replace("#1b1b1b", "url(#c0)")))
        .held("pattern");
}

#[test]
fn drawings_placed_as_pictures() {
    use base64::Engine as _;
    let bench = Bench::new();
    let placed = |inside: &str| {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"9\" height=\"9\">{inside}</svg>"
        );
        let data = base64::engine::general_purpose::STANDARD.encode(svg);
        format!(
            "<image x=\"36\" y=\"50\" width=\"8\" height=\"8\" href=\"data:image/svg+xml;base64,{data}\"/>"
        )
    };
    let chained = |tag: &str, by: &str| {
        let mut text = String::new();
        for i in 0..20_000 {
            write!(text, "<{tag} id=\"c{i}\" width=\"1\" height=\"1\" {by}=\"url(#c{})\"><rect width=\"9\" height=\"9\" {by}=\"url(#c{})\"/></{tag}>", i + 1, i + 1).unwrap();
        }
        text + &format!("<rect width=\"9\" height=\"9\" {by}=\"url(#c0)\"/>")
    };
    for inside in [
        chained("pattern", "fill"),
        chained("clipPath", "clip-path"),
        chained("mask", "mask"),
        "<filter id=\"f\"><feTurbulence baseFrequency=\".5\" numOctaves=\"1000000\"/></filter><rect width=\"9\" height=\"9\" filter=\"url(#f)\"/>".to_owned(),
        doubling(30),
        placed("<rect width=\"9\" height=\"9\"/>"),
    ] {
        bench.inspect(&placed(&inside)).held("drawing placed as a picture");
    }
}

#[test]
fn attributes_and_values_without_end() {
    let bench = Bench::new();
    let mut rect = String::from("<rect ");
    for i in 0..70_000 {
        write!(rect, "a{i}=\"1\" ").unwrap();
    }
    bench.inspect(&(rect + "/>")).refused("attributes");
    bench
        .inspect(&format!(
            "<rect x=\"{}\" width=\"1\" height=\"1\" fill=\"#1b1b1b\"/>",
            "1".repeat(3_000_000)
        ))
        .held("not a length");
    bench
        .inspect(&format!(
            "<g transform=\"{}\">{DOT}</g>",
            "translate(.00001 0) ".repeat(50_000)
        ))
        .clear();
    bench
        .inspect(&format!("<g id=\"{}\">{DOT}</g>", "i".repeat(3_000_000)))
        .clear();
}
