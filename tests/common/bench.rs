//! A small fixture in a folder of its own, and runs against it.

use std::path::PathBuf;

use super::tags::enrol;
use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::mark::Artwork;
use jigwarden::tested::artwork::resolve::{ReadOptions, resolve};
use jigwarden::tested::artwork::source::Source;
use jigwarden::tested::enrolling::Enrolled;
use jigwarden::tested::finding::Finding;
use jigwarden::tested::inspect::{Options, inspect};
use jigwarden::tested::report::Run;

/// Three pockets of 40 × 60 mm side by side on a bed of 200 × 150 mm: A1, A2, A3 from the left, their
/// zones 36 × 56 mm about (40, 100), (100, 100), (160, 100).
const POCKETS: [(f64, f64); 3] = [(20.0, 70.0), (80.0, 70.0), (140.0, 70.0)];

const SETTINGS: &str = r##"
[fixture]
name = "Bench"
drawing = "fixture.svg"
[bed]
width = "200 mm"
height = "150 mm"
[paints]
cut = ["#7b2d8b"]
score = ["#0a7d55"]
engrave = ["#1b1b1b", "#ffffff"]
off = ["#9aa0a6"]
"##;

pub struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    pub fn new() -> Self {
        Self::with("")
    }

    /// With more settings after `[paints]`; a line that starts with a key belongs to it.
    pub fn with(more: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(
            folder.path().join("fixture.svg"),
            page(&outlines("#7b2d8b", "#0a7d55")),
        )
        .unwrap();
        std::fs::write(
            folder.path().join("fixture.toml"),
            format!("{SETTINGS}{more}\n[zone]\nmargin = \"2 mm\"\ncentred = \"free\"\n"),
        )
        .unwrap();
        match enrol(folder.path(), false, &Options::default()).unwrap() {
            Enrolled::Locked { .. } => Self { folder },
            other => panic!("not enrolled: {other:?}"),
        }
    }

    /// Its folder, which is removed with what is given.
    pub fn into_folder(self) -> tempfile::TempDir {
        self.folder
    }

    /// A run whose file is `text`.
    pub fn file(&self, text: &str) -> Run {
        let path: PathBuf = self.folder.path().join("run.svg");
        std::fs::write(&path, text).unwrap();
        let (run, _) = inspect(&path, &Options::default(), |_, _| ());
        assert!(run.trouble.is_none(), "{:?}\n{text}", run.trouble);
        run
    }

    /// A run with the fixture's lines switched off and `art` on top.
    pub fn run(&self, art: &str) -> Run {
        self.file(&page(&format!("{}{art}", off_outlines())))
    }

    /// The rules that such a run is found to break, each as "rule pocket", in the report's order.
    pub fn rules(&self, art: &str) -> Vec<String> {
        named(&self.run(art))
    }

    /// The findings of one rule.
    pub fn of(&self, rule: &str, art: &str) -> Vec<Finding> {
        let mut run = self.run(art);
        run.findings.retain(|f| f.rule == rule);
        run.findings
    }
}

pub fn named(run: &Run) -> Vec<String> {
    run.findings
        .iter()
        .map(|f| match &f.pocket {
            Some(p) => format!("{} {p}", f.rule),
            None => f.rule.to_owned(),
        })
        .collect()
}

/// The fixture's own lines as a run holds them: switched off.
pub fn off_outlines() -> String {
    outlines("#9aa0a6", "#9aa0a6")
}

/// The pockets, and a loading mark in the corner.
pub fn outlines(paint: &str, mark: &str) -> String {
    POCKETS
        .iter()
        .map(|(x, y)| {
            format!(
                "<rect x='{x}' y='{y}' width='40' height='60' rx='3' fill='none' stroke='{paint}' stroke-width='0.1'/>\n"
            )
        })
        .chain([format!(
            "<path d='M4 146 l4 0 l-4 -4 z' fill='none' stroke='{mark}' stroke-width='0.1'/>\n"
        )])
        .collect::<String>()
}

pub fn page(inner: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' width='200mm' height='150mm' viewBox='0 0 200 150'>\n{inner}</svg>"
    )
}

/// Resolves a drawing on such a page, without any fixture.
pub fn read(art: &str) -> Artwork {
    let source = Source::from_bytes("run.svg", page(art).into_bytes()).unwrap();
    let faces = Faces::new(Vec::new(), false);
    let reading = ReadOptions {
        units: jigwarden::tested::artwork::length::RootUnits::CSS,
        placing: None,
        faces: &faces,
    };
    resolve(&source, &reading).unwrap()
}

/// Lettering in the built-in face, its middle at (x, y).
pub fn name(text: &str, x: f64, y: f64, more: &str) -> String {
    format!(
        "<text x='{x}' y='{y}' font-family='Ubuntu' font-weight='300' font-size='8' text-anchor='middle' fill='#1b1b1b' {more}>{text}</text>\n"
    )
}

/// Sound art for every pocket but those named by number.
pub fn others(but: &[usize]) -> String {
    [40.0, 100.0, 160.0]
        .iter()
        .enumerate()
        .filter(|(i, _)| !but.contains(&(i + 1)))
        .map(|(i, x)| name(["Ada", "Bo", "Cy"].get(i).unwrap(), *x, 100.0, ""))
        .collect()
}

/// A picture as PNG, ready for `href`.
pub fn png(picture: &image::DynamicImage) -> String {
    use base64::Engine as _;
    let mut bytes = Vec::new();
    picture
        .write_to(
            &mut std::io::Cursor::new(&mut bytes),
            image::ImageFormat::Png,
        )
        .unwrap();
    let data = base64::engine::general_purpose::STANDARD.encode(bytes);
    format!("data:image/png;base64,{data}")
}
