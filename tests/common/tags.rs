//! A small fixture in a folder of its own: three tags in a row, heads to the back, with a loading
//! mark each; and runs drawn over it.

use std::path::{Path, PathBuf};

use jigwarden::tested::enrolling::{self, Enrolled, How};
use jigwarden::tested::finding::Finding;
use jigwarden::tested::inspect::{self, Failure, Options};
use jigwarden::tested::orders::Named;
use jigwarden::tested::report::{Run, Verdict};

pub const CUT: &str = "#7b2d8b";
pub const SCORE: &str = "#0a7d55";
pub const BURN: &str = "#1b1b1b";
pub const OFF: &str = "#9aa0a6";

/// The middle of the zone of tag `n` (0, 1, 2 for A1, A2, A3), in millimetres.
pub fn middle(n: usize) -> (f64, f64) {
    (34.0 + 36.0 * n as f64, 148.0)
}

pub struct Tags {
    pub folder: tempfile::TempDir,
}

/// The drawing's lines, in the paints of the sheet or all off.
pub fn outlines(off: bool) -> String {
    let (cut, score) = if off { (OFF, OFF) } else { (CUT, SCORE) };
    let mut out = format!(
        "<rect x='5' y='70' width='130' height='125' fill='none' stroke='{cut}' stroke-width='0.1'/>"
    );
    for n in 0..3 {
        let x = 20 + 36 * n;
        out.push_str(&format!(
            "<rect x='{x}' y='88' width='28' height='92' rx='4' fill='none' stroke='{cut}' stroke-width='0.1'/><path d='M{} 84 l4 0 l-2 -3 z' fill='none' stroke='{score}' stroke-width='0.1'/>",
            x + 12
        ));
    }
    out
}

pub fn page(body: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' width='300mm' height='200mm' viewBox='0 0 300 200'>{body}</svg>"
    )
}

impl Tags {
    /// The fixture, enrolled; `more` is added to its settings.
    pub fn new(more: &str) -> Self {
        Self::drawn(&page(&outlines(false)), more)
    }

    /// The settings, `more` below `[zone]` first.
    pub fn settings(more: &str) -> String {
        format!(
            "[fixture]\nname = \"Tags\"\ndrawing = \"fixture.svg\"\n[bed]\nwidth = \"300 mm\"\nheight = \"200 mm\"\n[paints]\ncut = [\"{CUT}\"]\nscore = [\"{SCORE}\"]\nengrave = [\"{BURN}\"]\noff = [\"{OFF}\"]\n[blank]\nsize = [\"28 mm\", \"92 mm\"]\nbody = \"64 mm\"\n[zone]\nmargin = \"2 mm\"\n{more}\n"
        )
    }

    pub fn drawn(drawing: &str, more: &str) -> Self {
        let tags = Self::unlocked(drawing, more);
        match enrol(tags.folder.path(), false, &asked()) {
            Ok(Enrolled::Locked { .. }) => tags,
            other => panic!("not enrolled: {other:?}"),
        }
    }

    /// The folder, not enrolled yet.
    pub fn unlocked(drawing: &str, more: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("fixture.svg"), drawing).unwrap();
        std::fs::write(folder.path().join("fixture.toml"), Self::settings(more)).unwrap();
        Self { folder }
    }

    pub fn write(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// Inspects a run with this art over the fixture's lines, all off.
    pub fn run(&self, art: &str) -> Run {
        self.run_as(art, &asked())
    }

    pub fn run_as(&self, art: &str, asked: &Options) -> Run {
        let path = self.write(
            "run.svg",
            page(&format!("{}{art}", outlines(true))).as_bytes(),
        );
        inspect::inspect(&path, asked, |_, _| ()).0
    }

    /// Inspects a run whose file is `text`.
    pub fn run_of(&self, text: &str) -> Run {
        let path = self.write("run.svg", text.as_bytes());
        inspect::inspect(&path, &asked(), |_, _| ()).0
    }

    /// Inspects against an order list with the column "Name".
    pub fn against(&self, list: &[u8], art: &str) -> Run {
        let file = self.write("orders.csv", list);
        self.run_as(
            art,
            &Options {
                names: Some(Named {
                    file,
                    columns: vec!["Name".to_owned()],
                    ..Named::default()
                }),
                ..asked()
            },
        )
    }
}

/// Enrols with nobody to ask, and draws nothing.
pub fn enrol(place: &Path, renew: bool, options: &Options) -> Result<Enrolled, Failure> {
    let how = How { renew, asker: None };
    Ok(enrolling::enrol(place, how, options, |_, _| ())?.0)
}

pub fn asked() -> Options {
    Options {
        machine_fonts: false,
        ..Options::default()
    }
}

/// Live lettering about the middle of a tag's zone, turned and flipped by `transform` about it.
pub fn lettering(n: usize, text: &str, size: f64, transform: &str) -> String {
    let (x, y) = middle(n);
    format!(
        "<g transform='translate({x} {y}) {transform}'><text y='{}' font-family='Ubuntu' font-weight='300' font-size='{size}' text-anchor='middle' fill='{BURN}'>{text}</text></g>",
        size * 0.35
    )
}

/// Plain names in A1, A2, A3.
pub fn names(list: [&str; 3]) -> String {
    list.iter()
        .enumerate()
        .map(|(n, name)| lettering(n, name, 5.0, ""))
        .collect()
}

/// "rule pocket" of every finding, in order.
pub fn brief(run: &Run) -> Vec<String> {
    run.findings
        .iter()
        .map(|f| match &f.pocket {
            Some(p) => format!("{} {p}", f.rule),
            None => f.rule.to_owned(),
        })
        .collect()
}

/// The findings of one rule.
pub fn of<'a>(run: &'a Run, rule: &str) -> Vec<&'a Finding> {
    run.findings.iter().filter(|f| f.rule == rule).collect()
}

#[track_caller]
pub fn expect(run: &Run, verdict: Verdict, rules: &[&str]) {
    let said: Vec<String> = run
        .findings
        .iter()
        .map(|f| format!("{}: {} ({})", f.rule, f.message, f.help))
        .collect();
    assert_eq!(
        (run.verdict, brief(run)),
        (verdict, rules.iter().map(|r| (*r).to_owned()).collect()),
        "{said:#?} {:?}",
        run.trouble
    );
}

/// Outlined lettering about the middle of a tag's zone, one path a letter, in the face at hand.
pub fn outlined(n: usize, text: &str, size: f64, transform: &str) -> String {
    struct Pen(String);
    impl ttf_parser::OutlineBuilder for Pen {
        fn move_to(&mut self, x: f32, y: f32) {
            self.0 += &format!("M{x} {y}");
        }
        fn line_to(&mut self, x: f32, y: f32) {
            self.0 += &format!("L{x} {y}");
        }
        fn quad_to(&mut self, a: f32, b: f32, x: f32, y: f32) {
            self.0 += &format!("Q{a} {b} {x} {y}");
        }
        fn curve_to(&mut self, a: f32, b: f32, c: f32, d: f32, x: f32, y: f32) {
            self.0 += &format!("C{a} {b} {c} {d} {x} {y}");
        }
        fn close(&mut self) {
            self.0 += "Z";
        }
    }
    let face = ttf_parser::Face::parse(epaint_default_fonts::UBUNTU_LIGHT, 0).unwrap();
    let scale = size / f64::from(face.units_per_em());
    let ids: Vec<_> = text.chars().map(|c| face.glyph_index(c).unwrap()).collect();
    let width: u32 = ids
        .iter()
        .map(|id| u32::from(face.glyph_hor_advance(*id).unwrap()))
        .sum();
    let (x, y) = middle(n);
    let mut at = -f64::from(width) / 2.0;
    let mut out = format!(
        "<g transform='translate({x} {y}) {transform} translate(0 {}) scale({scale} -{scale})' fill='{BURN}'>",
        size * 0.35
    );
    for id in ids {
        let mut pen = Pen(String::new());
        face.outline_glyph(id, &mut pen);
        out += &format!("<path transform='translate({at} 0)' d='{}'/>", pen.0);
        at += f64::from(face.glyph_hor_advance(id).unwrap());
    }
    out + "</g>"
}
