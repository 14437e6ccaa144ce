//! The proof holds what was found, in every form, and nothing that a file could smuggle in.

mod drawn;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use jigwarden::tested::inspect::{Options, inspect};
use jigwarden::tested::report::{Run, proof};
use roxmltree::{Document, Node, ParsingOptions};

/// Files that hold, of three fixtures, one of them in inches.
const HELD: [&str; 4] = [
    "hive-tags/hold/pocket-moved--nudged.svg",
    "hive-tags/hold/past-zone--long-name.svg",
    "brass-fobs/hold/upside-down--turned-about.svg",
    "round-coasters/hold/fixture-still-cut--zones-and-all.svg",
];

fn example(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures-examples")
        .join(file)
}

struct Drawn {
    run: Run,
    svg: String,
    html: String,
}

fn draw(file: &Path, loaded: Option<&str>) -> Drawn {
    let asked = Options {
        loaded: loaded.map(str::to_owned),
        ..Options::default()
    };
    let (run, drawn) = inspect(file, &asked, |job, run| {
        (proof::svg(job, run), proof::html(job, run))
    });
    let (svg, html) = drawn.unwrap_or_else(|| panic!("{}: {:?}", file.display(), run.trouble));
    Drawn { run, svg, html }
}

fn parse(text: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(text, options).unwrap_or_else(|e| panic!("{e}"))
}

fn text_of(document: &Document<'_>) -> String {
    let all: Vec<&str> = document
        .descendants()
        .filter(|n| n.is_text() && !n.parent().is_some_and(|p| p.has_tag_name("style")))
        .filter_map(|n| n.text())
        .collect();
    all.join(" ")
}

#[test]
fn every_finding_is_told_and_numbered_in_both_forms() {
    for file in HELD {
        let drawn = draw(&example(file), None);
        let wanted: BTreeSet<String> = drawn
            .run
            .findings
            .iter()
            .enumerate()
            .filter(|(_, f)| f.bed.is_some())
            .map(|(i, _)| (i + 1).to_string())
            .collect();
        assert!(!wanted.is_empty(), "{file}");
        let html = parse(&drawn.html);
        let svg = parse(&drawn.svg);
        for document in [&html, &svg] {
            let numbered: BTreeSet<String> = document
                .descendants()
                .filter(|n| {
                    n.attribute("class")
                        .is_some_and(|c| c.starts_with("place "))
                })
                .map(|n| {
                    let number = n.attribute("data-finding").unwrap();
                    let shown = n
                        .descendants()
                        .find(|t| t.attribute("class") == Some("number"))
                        .and_then(|t| t.text());
                    assert_eq!(shown, Some(number), "{file}");
                    number.to_owned()
                })
                .collect();
            assert_eq!(numbered, wanted, "{file}");
        }
        let words = text_of(&html);
        for f in &drawn.run.findings {
            assert!(words.contains(&f.message), "{file}: {}", f.message);
            assert!(words.contains(&f.help), "{file}: {}", f.help);
        }
        assert!(text_of(&svg).contains("do not send"), "{file}");
    }
}

/// A copy of a drawing that is to be enrolled.
fn drawing(name: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for file in ["fixture.toml", "fixture.svg"] {
        let from = example("drawings").join(name).join(file);
        std::fs::copy(from, folder.path().join(file)).unwrap();
    }
    folder
}

#[test]
fn enrol_draws_the_fixture_with_what_was_found_in_its_drawing() {
    let folder = drawing("hold/open-cut--last-side-missing");
    let at = |name: &str| folder.path().join(name).display().to_string();
    let place = folder.path().display().to_string();
    for (name, starts) in [
        ("p.html", &b"<!DOCTYPE html>"[..]),
        ("p.svg", b"<svg "),
        ("p.png", b"\x89PNG"),
    ] {
        let (status, said) = program(&["enrol", &place, "--proof", &at(name)]);
        assert_eq!((status, said.as_str()), (Some(1), ""), "{name}");
        assert!(
            std::fs::read(at(name)).unwrap().starts_with(starts),
            "{name}"
        );
    }
    let html = std::fs::read_to_string(at("p.html")).unwrap();
    let document = parse(&html);
    let words = text_of(&document);
    assert!(words.contains("do not cut this fixture yet"), "{words}");
    assert!(words.contains("its ends are 0.6 mm apart"));
    // It is about a sheet that is still to be cut: nothing is sent, loaded or burnt.
    for word in ["do not send", "Load map", "would be burnt"] {
        assert!(!words.contains(word), "{word}");
    }
    let number = document
        .descendants()
        .find(|n| n.attribute("id") == Some("place-1"))
        .unwrap();
    assert!(number.descendants().any(|n| n.text() == Some("1")));
    // The line that does not close is drawn like the rest of the fixture.
    assert!(html.contains("<use href=\"#outline"), "no outline is drawn");
    assert!(!html.contains("class=\"astray\"") && !html.contains("class=\"live\""));

    // A clear one has its code; a bare drawing has no settings to draw it by, and gets no draft.
    let folder = drawing("clear/three-labels");
    let place = folder.path().display().to_string();
    let proof = folder.path().join("p.svg").display().to_string();
    assert_eq!(program(&["enrol", &place, "--proof", &proof]).0, Some(0));
    let svg = std::fs::read_to_string(&proof).unwrap();
    assert!(svg.contains("CLEAR") && svg.contains(", code ") && !svg.contains("class=\"live\""));
    let bare = folder.path().join("bare");
    std::fs::create_dir(&bare).unwrap();
    std::fs::copy(folder.path().join("fixture.svg"), bare.join("new.svg")).unwrap();
    let (status, said) = program(&[
        "enrol",
        &bare.join("new.svg").display().to_string(),
        "--proof",
        &bare.join("p.svg").display().to_string(),
    ]);
    assert_eq!(status, Some(2));
    assert!(said.contains("no settings yet"), "{said}");
    assert_eq!(std::fs::read_dir(&bare).unwrap().count(), 1);
}

#[test]
fn ids_are_unique_and_every_reference_has_its_target() {
    for file in HELD {
        let drawn = draw(&example(file), None);
        for text in [&drawn.html, &drawn.svg] {
            let document = parse(text);
            let mut ids = BTreeSet::new();
            for id in document.descendants().filter_map(|n| n.attribute("id")) {
                assert!(ids.insert(id), "{file}: {id} is there twice");
            }
            for node in document.descendants().filter(roxmltree::Node::is_element) {
                for attribute in node.attributes() {
                    let target = match attribute.name() {
                        "href" => attribute.value().strip_prefix('#'),
                        _ => attribute
                            .value()
                            .strip_prefix("url(#")
                            .and_then(|v| v.strip_suffix(')')),
                    };
                    if let Some(target) = target {
                        assert!(ids.contains(target), "{file}: nothing is called {target}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_proof_needs_no_script_and_no_network() {
    for file in HELD {
        let drawn = draw(&example(file), None);
        let document = parse(&drawn.html);
        for node in document.descendants().filter(roxmltree::Node::is_element) {
            let name = node.tag_name().name();
            assert!(!["script", "iframe", "object", "embed"].contains(&name));
            for a in node.attributes() {
                assert!(!a.name().starts_with("on"), "{file}: {}", a.name());
                if ["href", "src"].contains(&a.name()) {
                    assert!(
                        a.value().starts_with('#') || a.value() == "data:,",
                        "{file}: {}",
                        a.value()
                    );
                }
            }
        }
        assert!(!drawn.html.contains("@import"));
        assert!(!drawn.html.contains("http:") && !drawn.html.contains("https:"));
    }
}

#[test]
fn the_footer_says_what_was_not_checked_and_nobody_says_safe() {
    for file in ["hive-tags/clear/picture.svg", HELD[0]] {
        let drawn = draw(&example(file), None);
        let html = text_of(&parse(&drawn.html));
        let svg = text_of(&parse(&drawn.svg));
        // The lines of the drawing break anywhere.
        for text in [html.clone(), svg.replace("  ", " ")] {
            for word in [
                "Not checked",
                "extraction",
                "fire watch",
                "manual",
                "local rules",
            ] {
                assert!(text.contains(word), "{file}: {word}");
            }
            let lower = text.to_lowercase();
            assert!(
                !lower.contains("safe to") && !lower.contains("is safe"),
                "{file}"
            );
        }
    }
}

#[test]
fn the_load_map_has_every_pocket_and_crosses_the_empty_ones() {
    let file = example("hive-tags/hold/pocket-unloaded--no-blank-there.svg");
    let drawn = draw(&file, Some("A1-A6,B1-B5"));
    let document = parse(&drawn.html);
    let rows: Vec<Vec<String>> = document
        .descendants()
        .filter(|n| n.has_tag_name("tr"))
        .skip(1)
        .map(|row| {
            row.children()
                .filter(roxmltree::Node::is_element)
                .map(|c| c.text().unwrap_or_default().to_owned())
                .collect()
        })
        .collect();
    assert_eq!(rows.len(), 12);
    assert_eq!(rows[11][0], "B6");
    assert!(rows[11][1].starts_with("no"), "{:?}", rows[11]);
    assert_eq!(rows[11][2], "Comfrey");
    assert!(rows[..11].iter().all(|r| r[1] == "yes" && !r[2].is_empty()));
    // In the drawing, too: the pocket's name stands, and what lies in it is hatched as empty.
    assert!(drawn.html.contains("url(#empty-map)"));
    let all = draw(&file, None);
    assert!(!all.html.contains("url(#empty-map)"));
}

#[test]
fn the_fixture_is_drawn_large_and_the_whole_bed_where_a_finding_lies_elsewhere() {
    for (file, large) in [
        ("brass-fobs/hold/past-zone--long-room.svg", true),
        ("hive-tags/hold/off-blank--beside-the-sheet.svg", false),
    ] {
        let drawn = draw(&example(file), None);
        let document = parse(&drawn.html);
        let mut all = document.descendants();
        let picture = all
            .find(|n| n.attribute("class") == Some("drawing"))
            .unwrap();
        let inset = |n: Node<'_, '_>| n.attribute("class") == Some("inset");
        assert_eq!(picture.descendants().any(inset), large, "{file}");
        for direction in ["back", "front: you stand here", "left", "right"] {
            let mut words = picture.descendants();
            let words = words.find(|n| n.text() == Some(direction)).unwrap();
            let cut = words.ancestors().any(|n| n.has_attribute("clip-path"));
            assert!(!cut, "{file}: {direction} is cut off with the bed");
        }
        let numbers = picture.attribute("viewBox").unwrap().split(' ');
        let view: Vec<f64> = numbers.map(|n| n.parse().unwrap()).collect();
        let pockets = inspect(&example(file), &Options::default(), |job, _| {
            let all = job.fixture.pockets.iter();
            all.filter_map(|p| p.region.bounds())
                .reduce(|a, b| a.union(b))
        });
        let share = pockets.1.flatten().unwrap().width() / view[2];
        assert_eq!(share > 0.6, large, "{file}: {share} of the width");
    }
}

#[test]
fn the_same_run_gives_the_same_proof() {
    for file in HELD {
        let (a, b) = (draw(&example(file), None), draw(&example(file), None));
        assert_eq!(a.svg, b.svg, "{file}");
        assert_eq!(a.html, b.html, "{file}");
    }
}

/// A copy of the tags fixture with one run of our own in it.
fn bench(run: &str, name: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    for file in ["fixture.toml", "fixture.svg", "fixture.lock.json"] {
        std::fs::copy(example("hive-tags").join(file), folder.path().join(file)).unwrap();
    }
    let path = folder.path().join(name);
    std::fs::write(&path, run).unwrap();
    (folder, path)
}

#[test]
fn nothing_from_a_file_becomes_markup() {
    let nasty = "&lt;/style&gt;&lt;script&gt;alert(1)&lt;/script&gt;&quot; onload=&quot;x";
    let run = std::fs::read_to_string(example("hive-tags/hold/past-zone--long-name.svg")).unwrap();
    let end = run.rfind("</svg>").unwrap();
    let more = format!(
        "<text id=\"a&quot;&gt;&lt;b&gt;\" x=\"40\" y=\"340\" font-family=\"Ubuntu\" font-size=\"9\" fill=\"#1b1b1b\">{nasty}</text>"
    );
    let run = format!("{}{more}{}", &run[..end], &run[end..]);
    let (_folder, path) = bench(&run, "x'y<img src=z>.svg");
    let drawn = draw(&path, None);
    assert!(
        drawn
            .run
            .findings
            .iter()
            .any(|f| f.message.contains("</style>") || f.message.contains("<script")),
        "the lettering is not in any message: {:#?}",
        drawn
            .run
            .findings
            .iter()
            .map(|f| &f.message)
            .collect::<Vec<_>>()
    );
    for text in [&drawn.html, &drawn.svg] {
        let document = parse(text);
        assert!(document.descendants().all(|n| {
            !n.has_tag_name("script") && !n.has_tag_name("img") && n.attribute("onload").is_none()
        }));
        assert!(!text.contains("<script") && !text.contains("<img"));
        assert_eq!(
            text.matches("</style>").count(),
            usize::from(std::ptr::eq(text, &raw const drawn.html))
        );
    }
}

#[test]
fn a_picture_is_as_wide_as_asked_and_needs_no_faces() {
    let file = example(HELD[0]);
    let (_, drawn) = inspect(&file, &Options::default(), |job, run| {
        (
            proof::png(job, run, 700),
            proof::png(job, run, 0).is_err(),
            proof::png(job, run, 1_000_000).is_err(),
        )
    });
    let (png, none, huge) = drawn.unwrap();
    let picture = image::load_from_memory(&png.unwrap()).unwrap().to_luma8();
    assert_eq!(picture.width(), 700);
    // The verdict's words: ink in the top strip, which holds nothing else.
    let inked = picture
        .enumerate_pixels()
        .filter(|(_, y, p)| *y < 30 && p.0[0] < 90)
        .count();
    assert!(inked > 200, "{inked} dark pixels where the verdict stands");
    assert!(none && huge);
}

#[test]
fn the_picture_in_the_readme_is_what_is_drawn_today() {
    let kept = std::fs::read(example("proof.png")).unwrap();
    assert!(kept.len() < 250_000, "{} bytes", kept.len());
    let kept = image::load_from_memory(&kept).unwrap().to_luma8();
    let file = example("brass-fobs/hold/past-zone--long-room.svg");
    let (_, drawn) = inspect(&file, &Options::default(), |job, run| {
        proof::png(job, run, kept.width())
    });
    let drawn = image::load_from_memory(&drawn.unwrap().unwrap())
        .unwrap()
        .to_luma8();
    assert_eq!(drawn.dimensions(), kept.dimensions());
    // Machines round the shades at edges differently; words that moved change far more.
    let other = kept
        .pixels()
        .zip(drawn.pixels())
        .filter(|(a, b)| a.0[0].abs_diff(b.0[0]) > 60)
        .count();
    let all = kept.pixels().len();
    assert!(
        other * 1000 < all,
        "{other} of {all} pixels differ: draw it again with `jigwarden proof {} -o fixtures-examples/proof.png`",
        file.display()
    );
}

fn program(args: &[&str]) -> (Option<i32>, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(args)
        .output()
        .unwrap();
    (
        out.status.code(),
        String::from_utf8_lossy(&out.stderr).into_owned(),
    )
}

#[test]
fn the_command_writes_by_the_ending_and_ends_with_the_verdict() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let held = example(HELD[0]).display().to_string();
    let clear = example("hive-tags/clear/picture.svg").display().to_string();
    for (name, starts) in [
        ("p.html", &b"<!DOCTYPE html>"[..]),
        ("p.svg", b"<svg "),
        ("p.PNG", b"\x89PNG"),
    ] {
        assert_eq!(program(&["proof", &held, "-o", &at(name)]).0, Some(1));
        assert!(
            std::fs::read(at(name)).unwrap().starts_with(starts),
            "{name}"
        );
    }
    assert_eq!(program(&["proof", &clear, "-o", &at("c.svg")]).0, Some(0));
    assert_eq!(
        program(&["inspect", &held, "--proof", &at("i.html")]).0,
        Some(1)
    );
    assert!(Path::new(&at("i.html")).is_file());

    // Another ending, and more than one run.
    let (status, said) = program(&["proof", &held, "-o", &at("p.pdf")]);
    assert_eq!(status, Some(2));
    assert!(said.contains(".png"), "{said}");
    let (status, said) = program(&["inspect", &held, &clear, "--proof", &at("two.html")]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("one run") && !Path::new(&at("two.html")).exists(),
        "{said}"
    );

    // An unread run leaves what was there.
    let (_bench, broken) = bench("<svg", "broken.svg");
    let kept = at("p.html");
    let before = std::fs::read(&kept).unwrap();
    let (status, said) = program(&["proof", &broken.display().to_string(), "-o", &kept]);
    assert_eq!(status, Some(2));
    assert!(said.contains("not written"), "{said}");
    assert_eq!(std::fs::read(&kept).unwrap(), before);
    // Nothing half-written lies about.
    let left = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(left, 5);
}

/// What a clear verdict was compared with stands on the drawing as it does in the report; a held run
/// claims nothing.
#[test]
fn a_clear_drawing_says_what_it_rests_on() {
    let clear = draw(&example("hive-tags/clear/live-lettering.svg"), None);
    let rests_on = clear.run.rests_on.as_ref().unwrap().sentence();
    let lines = |svg: &str| -> String {
        let document = Document::parse(svg).unwrap();
        let texts = document.descendants().filter(|n| n.has_tag_name("text"));
        let words: Vec<&str> = texts.filter_map(|n| n.text()).collect();
        words.join(" ")
    };
    let said = lines(&clear.svg);
    let line = format!("N{}", rests_on.strip_prefix('n').unwrap());
    assert!(said.contains(&line), "{said}");
    let held = draw(&example(HELD[0]), None);
    assert!(
        !lines(&held.svg).contains("ames not compared"),
        "{}",
        held.svg
    );
}
