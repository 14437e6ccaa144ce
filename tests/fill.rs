//! `fill` writes what `inspect` clears: whatever way the blanks lie, and nothing over anybody's file.

use std::path::{Path, PathBuf};

use crate::common::tags::{self, Tags};

use jigwarden::tested::fill::{FillOptions, Filled, fill};
use jigwarden::tested::inspect::{self, Options};
use jigwarden::tested::orders::Named;
use jigwarden::tested::report::Verdict;

fn options(tags: &Tags, list: &str, columns: &[&str]) -> FillOptions {
    let file = tags.write("orders.csv", list.as_bytes());
    FillOptions {
        list: Named {
            file,
            columns: columns.iter().map(|c| (*c).to_owned()).collect(),
            ..Named::default()
        },
        folder: tags.folder.path().join("out"),
        outlines: false,
        only: Vec::new(),
        inspect: tags::asked(),
    }
}

fn filled(options: &FillOptions) -> Filled {
    match fill(options) {
        Ok(filled) => filled,
        Err(e) => panic!("not filled: {e:?}"),
    }
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap()
}

fn pockets(filled: &Filled) -> Vec<String> {
    filled.written.iter().map(|w| w.pockets.join(" ")).collect()
}

fn files(filled: &Filled) -> Vec<PathBuf> {
    filled.written.iter().map(|w| w.file.clone()).collect()
}

#[test]
fn runs_are_clear_whichever_way_the_blanks_lie() {
    for zone in [
        "",
        "tops = \"tail\"",
        "tops = \"head-left\"",
        "tops = \"head-right\"",
        "mirrored = true",
        "tops = \"head-left\"\nmirrored = true",
        "[[pocket]]\nnames = [\"A2\"]\nhead = \"front\"",
        "[lettering]\nalign = \"start\"\nsize = \"5 mm\"",
        "[lettering]\nface = \"Hack\"\nlines = 1\nsmallest = \"2 mm\"",
    ] {
        let tags = Tags::new(zone);
        let list = "Name\nIsolde\nZo\u{eb} M\u{fc}ller\nAnne-Marie\nO'Day & <Co>\n";
        for outlines in [false, true] {
            let mut options = options(&tags, list, &["Name"]);
            options.outlines = outlines;
            options.folder = tags.folder.path().join(format!("out-{outlines}"));
            let got = filled(&options);
            assert!(got.unset.is_empty(), "{zone} {outlines} {:?}", got.unset);
            assert_eq!(pockets(&got), ["A1 A2 A3", "A1"], "{zone}");
            // Inspected anew from the disk, as whoever sends it would.
            for written in &got.written {
                let (run, _) = inspect::inspect(&written.file, &tags::asked(), |_, _| ());
                assert_eq!(run.verdict, Verdict::Clear, "{zone} {outlines} {run:?}");
                assert_eq!(read(&written.file).contains("<text"), !outlines);
                assert!(read(&written.file.with_extension("html")).contains("Load map"));
            }
        }
    }
}

#[test]
fn names_are_as_large_as_they_fit_and_no_larger_than_asked() {
    let tags = Tags::new("[lettering]\nsize = \"6 mm\"\nsmallest = \"2 mm\"\nlines = 2");
    let list = "Name\nBo\nBartholomew Featherstone\nWilhelmina\n";
    let got = filled(&options(&tags, list, &["Name"]));
    assert_eq!(got.unset, [], "{got:?}");
    let (_, heights) = inspect::inspect(&files(&got)[0], &tags::asked(), |job, _| {
        let letters = |name: &str| {
            job.artwork.marks.iter().find_map(|m| match &m.content {
                jigwarden::tested::artwork::mark::Content::Lettering(l)
                    if l.text.starts_with(name) =>
                {
                    Some((l.letters[0].size, l.letters[0].foot.y))
                }
                _ => None,
            })
        };
        ["Bo", "Bartholomew", "Featherstone", "Wilhelmina"].map(|n| letters(n).unwrap())
    });
    let [bo, first, second, wilhelmina] = heights.unwrap();
    // Ubuntu's capitals are 0.693 em high (its OS/2 table).
    assert!((bo.0 * 0.693 - 6.0).abs() < 0.02, "{bo:?}");
    assert!(first.0 < bo.0 && wilhelmina.0 < bo.0);
    assert_eq!(first.0, second.0);
    assert!(second.1 > first.1, "the second line stands below the first");
    // A hundredth more, and it would reach past its zone of 24 mm.
    let (_, wide) = inspect::inspect(&files(&got)[0], &tags::asked(), |job, _| {
        job.art
            .iter()
            .filter(|a| a.pocket == Some(jigwarden::tested::ids::Id::new(2)))
            .map(|a| a.bounds().width())
            .fold(0.0, f64::max)
    });
    let wide = wide.unwrap();
    assert!(
        wide <= 24.0 && wide > 23.9,
        "actual {wide}, expected just under 24"
    );
}

#[test]
fn a_name_that_fits_at_no_size_is_listed_and_its_pocket_left_bare() {
    let tags = Tags::new("[lettering]\nlines = 1");
    let list = "Name\nIsolde\nWolfeschlegelsteinhausen\nBo \u{65e5}\u{672c}\nNAME\n";
    let got = filled(&options(&tags, list, &["Name"]));
    assert_eq!(pockets(&got), ["A1", "A1"], "{got:?}");
    let why: Vec<(&str, &str)> = got
        .unset
        .iter()
        .map(|u| (u.pocket.as_str(), u.why.as_str()))
        .collect();
    assert_eq!(why.len(), 2, "{why:?}");
    assert!(
        why[0].0 == "A2" && why[0].1.contains("3 mm is the least"),
        "{why:?}"
    );
    assert!(why[1].0 == "A3" && why[1].1.contains("lacks"), "{why:?}");
    // A stand-in on the list is no name either.
    let tags = Tags::new("[names]\nplaceholders = [\"NAME\"]");
    let got = filled(&options(&tags, "Name\nNAME\nIsolde\n", &["Name"]));
    assert_eq!(pockets(&got), ["A2"]);
    assert!(got.unset[0].why.contains("[name-placeholder]"), "{got:?}");
}

#[test]
fn columns_quantities_and_pockets_go_where_they_are_meant() {
    let tags = Tags::new("");
    let list = "Name,Date,Qty,Pocket\nAda,1 May,2,\nBo,2 May,1,A2\nCy,,1,A2\n";
    let mut options = options(&tags, list, &["Name", "Date"]);
    options.list.quantity = Some("Qty".to_owned());
    let got = filled(&options);
    assert_eq!(pockets(&got), ["A1 A2 A3", "A2"], "{got:?}");
    // "1 May" is not broken for a few per cent of size.
    let first = read(&files(&got)[0]);
    assert_eq!(first.matches(">Ada</tspan>").count(), 2, "{first}");
    assert_eq!(first.matches(">1 May</tspan>").count(), 2, "{first}");
    let (run, _) = inspect::inspect(
        &files(&got)[1],
        &Options {
            loaded: Some("A2".to_owned()),
            ..tags::asked()
        },
        |_, _| (),
    );
    assert_eq!(
        (run.verdict, tags::brief(&run)),
        (Verdict::Clear, Vec::new())
    );
}

#[test]
fn one_blank_is_burnt_again_alone() {
    let tags = Tags::new("");
    let list = "Name\nAda\nBo\nCy\nDi\nAda\n";
    let again = |only: &str| {
        let mut options = options(&tags, list, &["Name"]);
        options.only = vec![only.to_owned()];
        fill(&options)
    };
    let got = again("Cy").unwrap();
    assert_eq!(pockets(&got), ["A3"]);
    assert!(files(&got)[0].ends_with("orders-1-A3.svg"), "{got:?}");
    let map = read(&got.written[0].file.with_extension("html"));
    assert!(map.contains(">Cy<") && !map.contains(">Bo<"));
    assert_eq!(pockets(&again("A3").unwrap()), ["A3"]);
    let said = again("A1").unwrap_err().text;
    assert!(said.contains("1:A1 (\"Ada\") or 2:A1 (\"Di\")"), "{said}");
    assert_eq!(pockets(&again("2:A1").unwrap()), ["A1"]);
    let said = again("ada").unwrap_err().text;
    assert!(said.contains("1:A1") && said.contains("2:A2"), "{said}");
    assert!(
        again("Zed")
            .unwrap_err()
            .text
            .contains("no pocket and no order")
    );
}

#[test]
fn nothing_that_somebody_else_wrote_is_written_over() {
    let tags = Tags::new("");
    let first = options(&tags, "Name\nAda\nBo\nCy\nDi\n", &["Name"]);
    let got = filled(&first);
    let [one, two] = [0, 1].map(|i| files(&got)[i].clone());
    let before = read(&one);
    assert_eq!(read(&one), before);
    // The same list again gives the same bytes; a shorter one says what is left over.
    filled(&first);
    assert_eq!(read(&one), before);
    let shorter = filled(&options(&tags, "Name\nEve\n", &["Name"]));
    assert!(
        shorter.notes.iter().any(|n| n.contains("orders-2.svg")),
        "{shorter:?}"
    );
    assert_ne!(read(&one), before);
    // Somebody moved a name: both files stay as they are.
    tags.write("orders.csv", b"Name\nAda\nBo\nCy\nDi\n");
    let touched = read(&two).replace("Di", "Dido");
    std::fs::write(&two, &touched).unwrap();
    let before = read(&one);
    let said = fill(&first).unwrap_err().text;
    assert!(said.contains("orders-2.svg"), "{said}");
    assert_eq!((read(&one), read(&two)), (before, touched));
}

#[test]
fn art_is_laid_under_each_name_and_no_name_over_it() {
    let tags = Tags::new("[lettering]\nunder = \"crest.svg\"");
    tags.write(
        "crest.svg",
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='20mm' height='40mm' viewBox='0 0 20 40'><style>.a{{fill:{0}}}</style><g transform='translate(10 10)'><path class='a' d='M-6 4 L6 4 L0 -6 z'/><circle r='8' fill='none' stroke='{0}' stroke-width='.5'/></g></svg>",
            tags::BURN
        )
        .as_bytes(),
    );
    let got = filled(&options(&tags, "Name\nIsolde\nBo\nAnne-Marie\n", &["Name"]));
    assert_eq!(got.unset, []);
    let text = read(&files(&got)[0]);
    assert_eq!(text.matches("stroke-width=\"0.5\"").count(), 3, "{text}");
    let (run, _) = inspect::inspect(&files(&got)[0], &tags::asked(), |_, _| ());
    assert_eq!(run.verdict, Verdict::Clear, "{run:?}");
    // A picture cannot be laid under.
    tags.write("crest.svg", b"<svg xmlns='http://www.w3.org/2000/svg' width='2mm' height='2mm' viewBox='0 0 2 2'><image width='2' height='2' href='data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=='/></svg>");
    let said = fill(&options(&tags, "Name\nIsolde\n", &["Name"]))
        .unwrap_err()
        .text;
    assert!(
        said.contains("crest.svg") && said.contains("picture"),
        "{said}"
    );
}

#[test]
fn each_fault_that_is_put_into_filled_runs_is_caught() {
    let tags = Tags::new("");
    let rows = "Ada,1,A1\nIsolde,2,A2\nZo\u{eb},1,A3\nBo,1,A1\nTristan,1,A3\nMarke,1,A1\n";
    let list = format!("Name,Qty,Pocket\n{rows}");
    let mut options = options(&tags, &list, &["Name"]);
    options.list.quantity = Some("Qty".to_owned());
    let got = filled(&options);
    let [one, two] = [0, 1].map(|i| files(&got)[i].clone());
    // Of the two Isoldes the second starts a run of its own.
    assert_eq!(pockets(&got), ["A1 A2", "A1 A2 A3", "A1 A3"]);
    let inspect = || {
        let out = std::process::Command::new(env!("CARGO_BIN_EXE_jigwarden"))
            .arg("inspect")
            .args(files(&got))
            .args([
                "--names",
                "orders.csv",
                "--column",
                "Name",
                "--quantity",
                "Qty",
            ])
            .current_dir(tags.folder.path())
            .output()
            .unwrap();
        let text = String::from_utf8_lossy(&out.stdout).into_owned();
        (out.status.code(), text)
    };
    let (status, text) = inspect();
    assert_eq!(status, Some(0), "{text}");
    let (first, second) = (read(&one), read(&two));
    let without = |text: &str, name: &str| {
        let kept = |l: &&str| !l.contains(&format!(">{name}<"));
        text.lines().filter(kept).collect::<Vec<_>>().join("\n")
    };
    let swapped = first
        .replace(">Ada<", ">x<")
        .replace(">Isolde<", ">Ada<")
        .replace(">x<", ">Isolde<");
    for (what, changed_first, changed_second, list, rule) in [
        (
            "dropped",
            without(&first, "Ada"),
            second.clone(),
            list.clone(),
            "name-missing",
        ),
        (
            "doubled",
            first.clone(),
            second.replace(">Zo\u{eb}<", ">Ada<"),
            list.clone(),
            "name-twice",
        ),
        (
            "swapped",
            swapped,
            second.clone(),
            list.clone(),
            "name-missing",
        ),
        (
            "one letter",
            first.replace(">Ada<", ">Adu<"),
            second.clone(),
            list.clone(),
            "name-missing",
        ),
        (
            "one short",
            first.clone(),
            second.clone(),
            list.replace("Tristan,1", "Tristan,2"),
            "name-missing",
        ),
        (
            "one too many",
            first.clone(),
            second.clone(),
            list.replace("Isolde,2", "Isolde,1"),
            "name-twice",
        ),
    ] {
        std::fs::write(&one, changed_first).unwrap();
        std::fs::write(&two, changed_second).unwrap();
        tags.write("orders.csv", list.as_bytes());
        let (status, text) = inspect();
        assert_eq!(status, Some(1), "{what}: {text}");
        assert!(text.contains(&format!("[{rule}]")), "{what}: {text}");
    }
}

/// Runs `fill` as a person does.
fn said(tags: &Tags, list: &str, more: &[&str]) -> (Option<i32>, String, String) {
    tags.write("orders.csv", list.as_bytes());
    let out = std::process::Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(["fill", "orders.csv", "--column", "Name", "-o", "out"])
        .args(more)
        .current_dir(tags.folder.path())
        .output()
        .unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (out.status.code(), text(&out.stdout), text(&out.stderr))
}

#[test]
fn the_report_as_json_has_the_runs_and_what_could_not_be_set() {
    let tags = Tags::new("");
    let long = "Wilhelmina-Bartholomea von und zu Hohenzollernfels-Sigmaringen";
    let (status, out, err) = said(
        &tags,
        &format!("Name,Qty\nIsolde,1\n{long},1\nBo,1\nZo\u{eb},1\n"),
        &["--format", "json"],
    );
    assert_eq!((status, err.as_str()), (Some(1), ""), "{out}");
    let report: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["report"], "jigwarden/1");
    let runs = report["runs"].as_array().unwrap();
    let blanks: Vec<(&str, &str)> = runs
        .iter()
        .flat_map(|r| r["blanks"].as_array().unwrap())
        .map(|b| (b["pocket"].as_str().unwrap(), b["burnt"].as_str().unwrap()))
        .collect();
    assert_eq!(blanks, [("A1", "Isolde"), ("A3", "Bo"), ("A1", "Zo\u{eb}")]);
    assert!(runs.iter().all(|r| r["verdict"] == "clear"), "{out}");
    assert_eq!(report["list"], "orders.csv");
    assert_eq!(report["unset"][0]["name"], long);
    assert_eq!(report["unset"][0]["pocket"], "A2");
    let note = report["notes"][0].as_str().unwrap();
    assert!(note.contains("looks like a quantity"), "{out}");
    // And what cannot be done at all leaves standard output empty.
    let (status, out, err) = said(&tags, "Other\nIsolde\n", &["--format", "json"]);
    assert_eq!((status, out.as_str()), (Some(2), ""));
    assert!(err.contains("has no column \"Name\""), "{err}");
}

#[test]
fn what_cannot_be_set_is_said_shortly() {
    let tags = Tags::new("");
    let (status, out, _) = said(&tags, &format!("Name\n{}\n", "word ".repeat(500)), &[]);
    assert_eq!(status, Some(1));
    assert!(out.starts_with("no run filled from orders.csv\n"), "{out}");
    assert!(
        out.contains("not set: 1 order; its pocket is left bare"),
        "{out}"
    );
    assert!(out.len() < 500, "{out}");
    let (_, out, _) = said(&tags, "Name\nIs\u{7}olde\nA\u{8}da\n", &[]);
    assert!(
        out.contains("not set: 2 orders; their pockets are left bare"),
        "{out}"
    );
    assert!(out.contains("it has a control character (\\u{7})"), "{out}");
    let (_, _, err) = said(&tags, "Name,Qty\nBo,-1\n", &["--quantity", "Qty"]);
    assert!(err.contains("write a whole number, 10000 at most"), "{err}");
}

/// Outlines of names with signs that nothing reads back are clear, but would not be found on the list.
#[test]
fn names_whose_outlines_cannot_be_compared_again_are_told() {
    let tags = Tags::new("");
    let list = "Name\nIsolde\n\u{a1}Ol\u{e9}!\nBo\n";
    let (status, out, _) = said(&tags, list, &["--outlines"]);
    assert_eq!(status, Some(0), "{out}");
    let words: Vec<&str> = out.split_whitespace().collect();
    assert!(
        words
            .join(" ")
            .contains("\"\u{a1}Ol\u{e9}!\" cannot be read back from outlines with certainty"),
        "{out}"
    );
    let (_, out, _) = said(&tags, list, &[]);
    assert!(!out.contains("read back"), "{out}");
    let (_, out, _) = said(&tags, "Name\nIsolde\nTristan\n", &["--outlines"]);
    assert!(!out.contains("read back"), "{out}");
}

#[test]
fn a_name_asked_for_again_that_is_there_twice_is_asked_back() {
    let tags = Tags::new("");
    let list = "Name\nAnn and Bo\nZo\u{eb}\nIsolde\nAnn and Bo\n";
    let (status, _, err) = said(&tags, list, &["--only", "Ann and Bo"]);
    assert_eq!(status, Some(2));
    assert!(
        err.contains("could be 1:A1 (\"Ann and Bo\") or 2:A1 (\"Ann and Bo\"): say which, such as --only 1:A1"),
        "{err}"
    );
}
