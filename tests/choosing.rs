//! What only a person can decide: the choices that are offered, and what comes of each.

use std::ffi::OsStr;
use std::path::Path;
use std::process::Command;

use crate::common::run::{Name, RunFile};
use crate::common::tags::{BURN, Tags, lettering, middle, names, of, outlined, page};
use crate::common::{asked, fixture};
use jigwarden::tested::mend::{Mended, Wanted, mend};
use jigwarden::tested::report::Verdict;
use kurbo::{Affine, BezPath};

#[test]
fn what_a_person_chooses_is_done() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples/hive-tags/hold");
    let copies = tempfile::tempdir().unwrap();
    for (example, choice) in [
        ("paint-unknown--nearly-black", "paint-unknown=engrave"),
        (
            "hidden-but-live--fully-transparent",
            "hidden-but-live=delete",
        ),
        ("name-twice--copied", "name-twice=B6"),
        ("name-extra--from-last-week", "name-extra=empty"),
        ("pocket-unloaded--no-blank-there", "pocket-unloaded=empty"),
        ("name-placeholder--still-there", "name-placeholder=empty"),
        ("written-over--last-batch-under-it", "written-over=lower"),
        ("written-over--last-batch-under-it", "written-over@B1=upper"),
        ("written-over--outlined-under-live", "written-over=lower"),
    ] {
        let run = root.join(example).with_extension("svg");
        let args = std::fs::read_to_string(run.with_extension("args")).unwrap_or_default();
        let rule = choice.split(['=', '@']).next().unwrap();
        let done = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
            .current_dir(&root)
            .args([OsStr::new("mend"), run.as_os_str(), OsStr::new("--choose")])
            .args([choice, "--only", rule, "-o"])
            .arg(copies.path().join(example).with_extension("svg"))
            .args(args.split_whitespace())
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&done.stdout);
        assert!(said.contains("\nafter:  CLEAR"), "{example}: {said}");
    }
}

#[test]
fn a_choice_that_many_findings_offer_is_tried_for_all_of_them() {
    // More findings than there are trials for one after the other.
    let run = RunFile::clear().svg().replace("#1b1b1b", "#1c1b1b");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("run.svg");
    std::fs::write(&path, run).unwrap();
    let is = mend(&path, &asked(&fixture("hive-tags")), &Wanted::default()).unwrap();
    assert_eq!(is.before.findings.len(), 12, "{:?}", is.before.findings);
    for finding in &is.before.findings {
        let choices: Vec<&str> = (finding.remedy.choices.iter())
            .map(|c| c.name.as_ref())
            .collect();
        assert_eq!(choices, ["engrave", "score", "off"], "{finding:?}");
    }
}

/// Nothing that is said to do about an example, be it certain or one of several choices, brings a finding
/// that was not there; a pocket that was emptied may be bare.
#[test]
fn no_remedy_of_an_example_brings_another_finding() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures-examples");
    let (mut certain, mut chosen) = (0, 0);
    for (name, kind) in ["hive-tags", "brass-fobs", "round-coasters"]
        .into_iter()
        .flat_map(|name| ["hold", "look"].map(|kind| (name, kind)))
    {
        let options = asked(&root.join(name));
        let Ok(files) = std::fs::read_dir(root.join(name).join(kind)) else {
            continue;
        };
        let mut files: Vec<_> = files.map(|e| e.unwrap().path()).collect();
        files.retain(|p| p.extension().is_some_and(|e| e == "svg"));
        files.sort();
        for file in files {
            let follow = |wanted: &Wanted| {
                let is = mend(&file, &options, wanted).unwrap();
                let had = |rule, pocket: &Option<String>| {
                    let mut before = is.before.findings.iter();
                    before.any(|b| (b.rule, &b.pocket) == (rule, pocket))
                };
                let mut new = is.after.findings.iter();
                let new = new.find(|f| f.rule != "pocket-bare" && !had(f.rule, &f.pocket));
                assert!(new.is_none(), "{}: {wanted:?}: {new:?}", file.display());
                is
            };
            let is = follow(&Wanted::default());
            certain += is.done.len();
            for finding in &is.before.findings {
                let at = finding
                    .pocket
                    .as_ref()
                    .map_or(String::new(), |p| format!("@{p}"));
                for way in &finding.remedy.choices {
                    let choice = format!("{}{at}={}", finding.rule, way.name);
                    let is = follow(&Wanted {
                        chosen: vec![choice.parse().unwrap()],
                        only: vec![finding.rule.to_owned()],
                        ..Wanted::default()
                    });
                    assert!(!is.done.is_empty(), "{}: {choice}", file.display());
                    chosen += 1;
                }
            }
        }
    }
    println!("{certain} certain remedies and {chosen} choices were followed");
    assert!(certain >= 25 && chosen >= 20, "{certain} {chosen}");
}

/// Mends a run over the three tags, with a choice of `written-over`.
fn chosen(tags: &Tags, art: &str, choice: Option<&str>) -> Mended {
    let body = format!("{}{art}", crate::common::tags::outlines(true));
    let path = tags.write("run.svg", page(&body).as_bytes());
    let choice = choice.map(|name| format!("written-over={name}").parse().unwrap());
    let wanted = Wanted {
        chosen: choice.into_iter().collect(),
        ..Wanted::default()
    };
    mend(&path, &crate::common::tags::asked(), &wanted).unwrap()
}

/// The choices of the only `written-over`, in words: "if …, …".
fn offered(is: &Mended) -> Vec<String> {
    let found = of(&is.before, "written-over");
    let [one] = found.as_slice() else {
        panic!("{:?}", is.before.findings);
    };
    let choices = one.remedy.choices.iter();
    choices
        .map(|w| format!("if {}, {}", w.assumes, w.says))
        .collect()
}

#[test]
fn of_two_names_on_each_other_a_person_says_which_goes() {
    let tags = Tags::new("");
    let rest = lettering(1, "Ida", 5.0, "") + &lettering(2, "Rue", 5.0, "");
    let live =
        |text: &str, dx: f64, dy: f64| lettering(0, text, 5.0, &format!("translate({dx} {dy})"));
    let drawn =
        |text: &str, dx: f64, dy: f64| outlined(0, text, 5.0, &format!("translate({dx} {dy})"));
    for (under, over, words) in [
        (
            live("Anna", 0.0, 0.3),
            live("Oskar", 0.0, 0.0),
            [
                "if the upper, \"Oskar\", is left from another batch, delete \"Oskar\"",
                "if the lower, \"Anna\", is left from another batch, delete \"Anna\"",
            ],
        ),
        (
            drawn("Anna", 0.0, 0.3),
            live("Oskar", 0.0, 0.0),
            [
                "if the upper, \"Oskar\", is left from another batch, delete \"Oskar\"",
                "if the lower, outlined lettering, is left from another batch, delete outlined lettering",
            ],
        ),
        (
            drawn("Anna", 0.0, 0.3),
            drawn("Oskar", 0.0, 0.0),
            [
                "if the upper, outlined lettering, is left from another batch, delete the upper",
                "if the lower, outlined lettering, is left from another batch, delete the lower",
            ],
        ),
        // A date below each name, and a shadow behind the newer one.
        (
            live("Anna", 0.0, -3.0) + &live("14 May", 0.0, 4.0),
            live("Oskar", 0.3, -2.7) + &live("Oskar", 0.0, -3.0) + &live("3 June", 0.0, 4.0),
            [
                "if the upper, \"Oskar\" and \"3 June\", is left from another batch, delete \"Oskar\" and \"3 June\"",
                "if the lower, \"Anna\" and \"14 May\", is left from another batch, delete \"Anna\" and \"14 May\"",
            ],
        ),
        // The copy was pasted beside the first.
        (
            live("Oskar", 3.0, 3.0),
            live("Oskar", 0.0, 0.0),
            [
                "if the upper, \"Oskar\", is left from another batch, delete the upper",
                "if the lower, \"Oskar\", is left from another batch, delete the lower",
            ],
        ),
    ] {
        let art = format!("{under}<!-- between -->{over}{rest}");
        assert_eq!(offered(&chosen(&tags, &art, None)), words, "{art}");
        for (choice, left) in [("upper", &under), ("lower", &over)] {
            let is = chosen(&tags, &art, Some(choice));
            assert_eq!(is.after.verdict, Verdict::Clear, "{choice}: {art}");
            // What is left is what stays alone, byte for byte, but for empty groups.
            let empty = |text: &str| text.replace("><", "").len();
            assert!(is.text.contains(left.as_str()), "{choice}: {}", is.text);
            assert!(is.text.contains(&rest), "{choice}: {}", is.text);
            assert!(empty(&is.text) < empty(&is.before.text));
        }
    }
}

/// A name outlined about the middle of A1's zone, as data of one path.
fn joined(text: &str) -> String {
    let letters = outlined(0, text, 5.0, "");
    let scale = 5.0 / 1000.0;
    let (x, y) = middle(0);
    let frame = Affine::translate((x, y + 1.75)) * Affine::scale_non_uniform(scale, -scale);
    let mut data = String::new();
    for letter in letters.split("<path transform='translate(").skip(1) {
        let (at, rest) = letter.split_once(' ').unwrap();
        let own = rest.split('\'').nth(2).unwrap();
        let at = Affine::translate((at.parse::<f64>().unwrap(), 0.0));
        let path = BezPath::from_svg(own).unwrap();
        data.push_str(&(frame * at * path).to_svg());
    }
    data
}

#[test]
fn names_that_are_one_object_with_other_art_are_left_to_a_person() {
    let tags = Tags::new("");
    let rest = lettering(1, "Ida", 5.0, "") + &lettering(2, "Rue", 5.0, "");
    // An outlined name in one path with a crest beside it.
    let (x, y) = middle(0);
    let crest = format!("M{} {}h6v6h-6z", x - 3.0, y + 9.0);
    let one_path = format!(
        "<path fill='{BURN}' d='{crest}{}'/>{}",
        joined("Anna"),
        lettering(0, "Oskar", 5.0, "")
    );
    // Three layers: neither the upper nor the lower is one of two.
    let three = lettering(0, "Anna", 5.0, "translate(0 .3)")
        + &lettering(0, "Oskar", 5.0, "")
        + &lettering(0, "Ingrid", 5.0, "");
    // Spans of one text, the second of which goes on without a place of its own.
    let spans = format!(
        "<text font-family='Ubuntu' font-weight='300' font-size='5' fill='{BURN}'><tspan x='{x}' y='{y}'>Anna</tspan><tspan x='{x}' y='{y}'>Oskar</tspan> K</text>"
    );
    for (art, names) in [
        (one_path, vec!["upper"]),
        (three, vec![]),
        (spans, vec!["lower"]),
    ] {
        let is = chosen(&tags, &(art.clone() + &rest), None);
        let found = of(&is.before, "written-over");
        assert!(!found.is_empty(), "{art}");
        for finding in found {
            let choices = finding.remedy.choices.iter();
            let offered: Vec<&str> = choices.map(|c| c.name.as_ref()).collect();
            assert_eq!(offered, names, "{art}");
        }
        assert!(is.done.is_empty(), "{:?}", is.done);
    }
    assert!(of(&tags.run(&names(["Anna", "Ben", "Cleo"])), "written-over").is_empty());
}

#[test]
fn a_whole_batch_under_the_next_goes_with_one_choice() {
    let mut run = RunFile::clear();
    let old: Vec<Name> = (run.names.iter())
        .map(|n| Name {
            text: "Sage",
            y: n.y + 0.4,
            ..n.clone()
        })
        .collect();
    run.names = old.into_iter().chain(run.names).collect();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("run.svg");
    std::fs::write(&path, run.svg()).unwrap();
    let wanted = Wanted {
        chosen: vec!["written-over=lower".parse().unwrap()],
        ..Wanted::default()
    };
    let is = mend(&path, &asked(&fixture("hive-tags")), &wanted).unwrap();
    assert_eq!(of(&is.before, "written-over").len(), 12);
    assert_eq!(is.after.verdict, Verdict::Clear, "{:?}", is.after.findings);
    assert!(!is.text.contains("Sage"), "{}", is.text);
    assert_eq!(is.text.matches("<text").count(), 12);
}
