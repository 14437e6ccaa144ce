//! `mend` over every slip that it can put right, written in many ways: the copy is clear, or the
//! slip is named as one that a person must decide, and nothing else in the file has changed.

use crate::common;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use common::dialects::dialects;
use common::run::{self, CUT, Motion, OFF, RunFile};
use common::{asked, fixture};
use jigwarden::tested::artwork::source::Source;
use jigwarden::tested::artwork::source::edit::Replacement;
use jigwarden::tested::inspect::Options;
use jigwarden::tested::mend::{Mended, Wanted, mend};
use jigwarden::tested::report::Verdict;

/// The name of a slip, and what puts it into a run.
type Slip = (&'static str, fn(&mut RunFile));

/// Slips with one certain remedy, by the rule that finds them.
const SLIPS: [Slip; 12] = [
    ("fixture-shifted, everything", |run| {
        *run = run.moved(Motion::by(22.0, -9.0));
    }),
    ("fixture-shifted, lines alone", |run| {
        let lines = run.moved(Motion::by(12.7, 0.0));
        run.edge = lines.edge;
        run.pockets = lines.pockets;
        run.arrow = lines.arrow;
    }),
    // Painted below, in whatever way the file is written.
    (STILL_CUT, |_| ()),
    ("pocket-moved", |run| {
        run.move_pocket("A3", Motion::by(0.4, 0.3));
    }),
    ("pocket-moved, turned", |run| {
        run.move_pocket("B5", Motion::turn(0.7, (166.0, 242.0)));
    }),
    ("pocket-missing", |run| {
        run.pockets[run::index("B6")] = None;
    }),
    ("pocket-reshaped", |run| {
        let (x, y) = run::corner(run::index("B2"));
        let mut longer = run::tag((x, y - 1.5));
        longer.truncate(5);
        longer.extend(run::tag((x, y)).split_off(5));
        run.pockets[run::index("B2")] = Some(longer);
    }),
    ("upside-down", |run| run.name("B1").turn = 180.0),
    ("upside-down, on its side", |run| run.name("B3").turn = 90.0),
    ("past-zone, too long", |run| {
        run.name("A3").text = "Meadowsweet";
    }),
    ("past-zone, small enough", |run| run.name("A4").x += 7.0),
    ("doubled", |run| run.names.push(run.names[4].clone())),
];

const STILL_CUT: &str = "fixture-still-cut, every line";

fn with(slip: fn(&mut RunFile)) -> RunFile {
    let mut run = RunFile::clear();
    slip(&mut run);
    run
}

/// The file with every off line in the cut paint.
fn painted(bytes: &[u8], file: &str) -> Vec<u8> {
    let source = Source::from_bytes(file, bytes.to_vec()).unwrap();
    let upper = OFF.to_uppercase();
    let changes: Vec<Replacement> = [OFF, upper.as_str()]
        .iter()
        .flat_map(|paint| source.text.match_indices(*paint))
        .map(|(at, paint)| Replacement::new(at..at + paint.len(), CUT))
        .collect();
    source.changed_bytes(bytes, &changes).unwrap()
}

fn mended(bytes: &[u8], file: &str, options: &Options) -> Mended {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(file);
    std::fs::write(&path, bytes).unwrap();
    mend(&path, options, &Wanted::default()).unwrap()
}

/// Elements in the order of the file, each with its attributes.
fn elements(text: &str) -> Vec<String> {
    let options = roxmltree::ParsingOptions {
        allow_dtd: true,
        ..roxmltree::ParsingOptions::default()
    };
    let document = roxmltree::Document::parse_with_options(text, options).unwrap();
    document
        .descendants()
        .filter(roxmltree::Node::is_element)
        .map(|n| {
            let mut out = n.tag_name().name().to_owned();
            for a in n.attributes() {
                write!(out, " {}={:?}", a.name(), a.value()).unwrap();
            }
            write!(out, " {:?}", n.text().unwrap_or_default().trim()).unwrap();
            out
        })
        .collect()
}

/// How many elements differ between two files, added and gone ones counted.
fn differing(before: &str, after: &str) -> usize {
    let (before, after) = (elements(before), elements(after));
    let mut left: BTreeMap<&String, i64> = BTreeMap::new();
    for e in &before {
        *left.entry(e).or_default() += 1;
    }
    for e in &after {
        *left.entry(e).or_default() -= 1;
    }
    let gone: i64 = left.values().filter(|v| **v > 0).sum();
    let new: i64 = left.values().filter(|v| **v < 0).map(|v| -v).sum();
    usize::try_from(gone.max(new)).unwrap()
}

#[test]
fn every_slip_is_mended_however_it_is_written_or_named() {
    let options = asked(&fixture("hive-tags"));
    let mut table = String::new();
    let mut wrong = String::new();
    for (slip, make) in SLIPS {
        let run = with(make);
        let (mut clear, mut named) = (0, Vec::new());
        // Every second dialect: each of them is one feature, and neighbours differ in a unit only.
        for (file, dialect, bytes) in dialects(&run).into_iter().step_by(2) {
            let bytes = if slip == STILL_CUT {
                painted(&bytes, file)
            } else {
                bytes
            };
            let is = mended(&bytes, file, &options);
            assert_eq!(is.before.verdict, Verdict::Hold, "{slip}, {dialect}");
            let new = is.after.findings.iter().any(|f| {
                !is.before
                    .findings
                    .iter()
                    .any(|b| (b.rule, &b.pocket) == (f.rule, &f.pocket))
            });
            let named_elements: usize = is.done.iter().map(|d| d.elements.len()).sum();
            let touched = differing(&is.before.text, &is.text);
            if new || touched > named_elements {
                writeln!(
                    wrong,
                    "{slip}, {dialect}: {touched} elements differ and {named_elements} are named; {:?}",
                    is.after.findings.iter().map(|f| &f.message).collect::<Vec<_>>()
                )
                .unwrap();
            } else if is.after.verdict == Verdict::Clear {
                clear += 1;
            } else {
                let why: Vec<String> = is
                    .after
                    .findings
                    .iter()
                    .filter_map(|f| f.remedy.hindered.clone())
                    .collect();
                named.push(format!("{dialect} ({})", why.join("; ")));
            }
        }
        writeln!(
            table,
            "{slip:32} clear {clear:2}   named {:2} {}",
            named.len(),
            named.join(", ")
        )
        .unwrap();
        assert!(clear >= 10, "{table}\n{wrong}");
    }
    println!("{table}");
    assert!(wrong.is_empty(), "{wrong}\n{table}");
}

#[test]
fn two_slips_at_once_are_mended_or_named() {
    let options = asked(&fixture("hive-tags"));
    let mut held = Vec::new();
    for (i, (first, make)) in SLIPS.into_iter().enumerate() {
        for (second, make_too) in SLIPS.into_iter().skip(i + 1) {
            let mut run = with(make);
            make_too(&mut run);
            let mut bytes = run.svg().into_bytes();
            if [first, second].contains(&STILL_CUT) {
                bytes = painted(&bytes, "run.svg");
            }
            let is = mended(&bytes, "run.svg", &options);
            if is.after.verdict == Verdict::Clear {
                continue;
            }
            let findings = &is.after.findings;
            assert!(
                findings.iter().any(|f| f.remedy.hindered.is_some()),
                "{first} and {second}: held, and nothing says why it was left: {findings:?}"
            );
            held.push(format!("{first} and {second}"));
        }
    }
    // Lines that were dragged twice, and lines dragged together with a pocket of another shape.
    assert!(held.len() <= 2, "{held:#?}");
}

#[test]
fn mending_nothing_gives_the_same_bytes() {
    let options = asked(&fixture("hive-tags"));
    for (file, dialect, bytes) in dialects(&RunFile::clear()) {
        let is = mended(&bytes, file, &options);
        assert!(is.done.is_empty(), "{dialect}: {:?}", is.done);
        assert!(is.marked == bytes, "{dialect}");
    }
}

/// Pixels of a drawing, one a millimetre.
fn drawn(text: &str) -> resvg::tiny_skia::Pixmap {
    let mut options = resvg::usvg::Options::default();
    options
        .fontdb_mut()
        .load_font_data(epaint_default_fonts::UBUNTU_LIGHT.to_vec());
    let tree = resvg::usvg::Tree::from_str(text, &options).unwrap();
    let mut pixels = resvg::tiny_skia::Pixmap::new(1200, 800).unwrap();
    let scale = 1200.0 / tree.size().width();
    resvg::render(
        &tree,
        resvg::tiny_skia::Transform::from_scale(scale, scale),
        &mut pixels.as_mut(),
    );
    pixels
}

#[test]
fn outside_the_pocket_that_was_mended_the_copy_draws_the_same() {
    let options = asked(&fixture("hive-tags"));
    let mut compared = 0;
    for (slip, make) in SLIPS {
        let is = mended(with(make).svg().as_bytes(), "run.svg", &options);
        let pockets: Vec<&String> = is.done.iter().filter_map(|d| d.pocket.as_ref()).collect();
        if pockets.is_empty() || pockets.len() != is.done.len() {
            // It was about the whole fixture, or is a slip only once it is painted.
            continue;
        }
        let (before, after) = (drawn(&is.before.text), drawn(&is.text));
        let inside = |x: usize, y: usize| {
            pockets.iter().any(|p| {
                let (left, back) = run::corner(run::index(p));
                let (x, y) = (x as f64 / 2.0, y as f64 / 2.0);
                x > left - 3.0 && x < left + 31.0 && y > back - 3.0 && y < back + 95.0
            })
        };
        for y in 0..800 {
            for x in 0..1200 {
                let at = y * 1200 + x;
                assert!(
                    inside(x, y) || before.pixels()[at] == after.pixels()[at],
                    "{slip}: pixel {x}, {y} differs"
                );
            }
        }
        assert!(
            before.pixels() != after.pixels(),
            "{slip}: nothing is drawn"
        );
        compared += 1;
    }
    assert!(compared >= 7, "{compared}");
}

#[test]
fn every_hold_example_is_mended_or_named_and_never_made_worse() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples");
    let (mut all, mut clear, mut table) = (0, 0, String::new());
    for name in ["hive-tags", "brass-fobs", "round-coasters"] {
        let options = asked(&root.join(name));
        let mut files: Vec<_> = std::fs::read_dir(root.join(name).join("hold"))
            .unwrap()
            .map(|e| e.unwrap().path())
            .filter(|p| p.extension().is_some_and(|e| e == "svg"))
            // What needs a list or a load is not held without it.
            .filter(|p| !p.with_extension("args").exists())
            .collect();
        files.sort();
        for file in files {
            let is = mend(&file, &options, &Wanted::default()).unwrap();
            all += 1;
            let certain = is
                .before
                .findings
                .iter()
                .any(|f| f.because_of.is_none() && !f.remedy.ways.is_empty());
            let said = is.done.iter().map(|d| d.says.as_str());
            writeln!(
                table,
                "{:9} {} {}",
                is.after.verdict.word(),
                file.file_name().unwrap().display(),
                said.collect::<Vec<_>>().join("; ")
            )
            .unwrap();
            assert_eq!(
                certain,
                is.after.verdict == Verdict::Clear,
                "{}: a certain remedy clears it, and nothing else does\n{table}",
                file.display()
            );
            clear += usize::from(is.after.verdict == Verdict::Clear);
        }
    }
    println!("{table}{clear} of {all} are mended to clear");
    assert!(clear >= 29, "{clear} of {all}\n{table}");
}

/// What is said to do about a run, each with its rule.
fn helps(fixture_name: &str, example: &str) -> Vec<(&'static str, String)> {
    let folder = fixture(fixture_name);
    let (run, _) =
        jigwarden::tested::inspect::inspect(&folder.join(example), &asked(&folder), |_, _| ());
    run.told()
        .iter()
        .map(|f| (f.rule, f.help.clone()))
        .collect()
}

#[test]
fn a_year_a_hair_past_its_zone_is_moved_a_hair_and_not_onto_the_name() {
    let said = helps("brass-fobs", "hold/past-zone--year-below.svg");
    let [("past-zone", help)] = said.as_slice() else {
        panic!("{said:?}");
    };
    let inches: f64 = help
        .split_once("move it ")
        .and_then(|(_, rest)| rest.split_once(" in towards the back"))
        .map_or_else(|| panic!("{help}"), |(number, _)| number.parse().unwrap());
    assert!(inches < 0.02, "{help}");
}

#[test]
fn lines_that_were_dragged_alone_are_put_back_alone() {
    let said = helps("brass-fobs", "hold/fixture-shifted--lines-alone.svg");
    let [("fixture-shifted", help)] = said.as_slice() else {
        panic!("{said:?}");
    };
    assert!(
        help.contains("move the fixture's lines 0.5 in to the left, and leave the art"),
        "{help}"
    );
    assert!(!help.contains("everything"), "{help}");
}

#[test]
fn a_length_without_a_unit_is_answered_in_the_unit_of_the_bed() {
    let text = std::fs::read_to_string(fixture("brass-fobs").join("fixture.toml")).unwrap();
    let text = text.replace("margin = \"0.08 in\"", "margin = 0.1");
    let error = jigwarden::tested::fixture::parse::parse(Path::new("fixture.toml"), &text, &[])
        .unwrap_err();
    let said = error.report(100);
    assert!(said.contains("write \"0.1 in\""), "{said}");
    assert!(!said.contains("0.1 mm"), "{said}");
}

/// A page that was saved without a size, or with its millimetres as pixels, gets back what was enrolled, and the
/// drawing stays as it is.
#[test]
fn a_page_that_lost_its_size_gets_it_back_and_nothing_is_scaled() {
    let folder = fixture("hive-tags");
    let options = asked(&folder);
    let clear = std::fs::read_to_string(folder.join("clear/date-under-name.svg")).unwrap();
    let enrolled = "width=\"600mm\" height=\"400mm\"";
    let lost = [
        "",
        "width=\"600px\" height=\"400px\"",
        "width=\"600\" height=\"400\"",
        "width=\"100%\" height=\"100%\"",
        "width=\"40em\" height=\"30em\"",
        "width=\"600mm\"",
        "width=\"600pt\" height=\"400pt\"",
        "width=\"600in\" height=\"400in\"",
    ];
    for page in lost {
        let bytes = clear.replace(enrolled, page);
        let mended = mended(bytes.as_bytes(), "run.svg", &options);
        assert_eq!(mended.after.verdict, Verdict::Clear, "{page:?}: {mended:?}");
        let drawing = |text: &str| text.split_once("viewBox=").unwrap().1.to_owned();
        assert_eq!(drawing(&mended.text), drawing(&clear), "{page:?}");
    }
    // A style states the size, which is not changed: then nothing is scaled instead.
    let styled = clear.replace(enrolled, "style=\"width:600mm;height:400mm\"");
    let mended = mended(styled.as_bytes(), "run.svg", &options);
    assert!(mended.done.is_empty(), "{:?}", mended.done);
}
