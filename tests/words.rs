//! Messages are plain sentences: whatever rules and commands say of nothing, one, two and many, in
//! millimetres and in inches, is collected, and none of it has a slip that a reader stumbles over.

use std::path::{Path, PathBuf};
use std::process::Command;

const CUT: &str = "#7b2d8b";
const SCORE: &str = "#0a7d55";
const BURN: &str = "#1b1b1b";
const OFF: &str = "#9aa0a6";

const NAMES: [&str; 8] = ["Ada", "Bo", "Cyd", "Dora", "Elin", "Finn", "Gus", "Hana"];

/// A fixture of some pockets of 28 × 60 mm, six in a row, on a bed of 240 × 200 mm.
struct Desk {
    folder: tempfile::TempDir,
    pockets: usize,
    inches: bool,
}

fn corner(i: usize) -> (usize, usize) {
    (10 + 36 * (i % 6), 60 + 70 * (i / 6))
}

fn opening(i: usize, paint: &str, more: &str) -> String {
    let (x, y) = corner(i);
    format!(
        "<rect x='{x}' y='{y}' width='28' height='60' rx='4' fill='none' stroke='{paint}' stroke-width='0.1' {more}/>"
    )
}

/// The fixture's lines: a mark at each head, and a sheet where `sheet` says so.
fn lines(pockets: usize, cut: &str, score: &str, skip: usize) -> String {
    let mut out = String::new();
    if pockets != 2 {
        out.push_str(&format!("<rect x='2' y='40' width='230' height='158' fill='none' stroke='{cut}' stroke-width='0.1'/>"));
    }
    for i in 0..pockets {
        let (x, y) = corner(i);
        if i >= skip {
            out.push_str(&opening(i, cut, ""));
        }
        // One pocket has no mark, so that a lock may hold no other line.
        if pockets > 1 {
            out.push_str(&format!(
                "<path d='M{} {}l4 0l-2 -3z' fill='none' stroke='{score}' stroke-width='0.1'/>",
                x + 12,
                y - 3
            ));
        }
    }
    out
}

fn name(i: usize, text: &str, size: f64, more: &str) -> String {
    let (x, y) = corner(i);
    format!(
        "<g transform='translate({} {}) {more}'><text y='{}' font-family='Ubuntu' font-weight='300' font-size='{size}' text-anchor='middle' fill='{BURN}'>{text}</text></g>\n",
        x + 14,
        y + 36,
        size * 0.35
    )
}

fn page(body: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='240mm' height='200mm' viewBox='0 0 240 200'>\n{body}</svg>"
    )
}

/// The art of a pocket, by the pocket's number.
type Art = fn(usize) -> String;

/// What may be wrong with the art of a pocket.
fn wrong_art() -> Vec<(&'static str, Art)> {
    vec![
        ("past-zone", |i| name(i, "Bartholomew", 5.0, "")),
        ("upside-down", |i| name(i, NAMES[i], 4.0, "rotate(180)")),
        ("on-its-side", |i| name(i, NAMES[i], 4.0, "rotate(90)")),
        ("mirrored", |i| name(i, NAMES[i], 4.0, "scale(-1 1)")),
        ("tilted", |i| name(i, NAMES[i], 4.0, "rotate(4)")),
        ("off-centre", |i| name(i, NAMES[i], 4.0, "translate(3 -2)")),
        ("bare", |_| String::new()),
        ("doubled", |i| name(i, NAMES[i], 4.0, "").repeat(2)),
        ("written-over", |i| {
            name(i, NAMES[i], 4.0, "") + &name(i, "Max", 4.0, "")
        }),
        ("too-small", |i| name(i, NAMES[i], 1.2, "")),
        ("placeholder", |i| name(i, "NAME", 4.0, "")),
        ("paint", |i| {
            name(i, NAMES[i], 4.0, "").replace(BURN, "#ff00ff")
        }),
        ("hidden", |i| {
            name(i, NAMES[i], 4.0, "")
                + &format!(
                    "<g opacity='0'>{}</g>",
                    name(i, "Old", 4.0, "translate(0 10)")
                )
        }),
        ("font", |i| {
            name(i, NAMES[i], 4.0, "").replace("'Ubuntu'", "'No Such Face'")
        }),
        ("filter", |i| {
            name(i, NAMES[i], 4.0, "").replace("<g ", "<g filter='url(#f)' ")
        }),
        ("beside", |i| name(i, NAMES[i], 4.0, "translate(0 -43)")),
        ("between", |i| name(i, "MM", 8.0, "translate(18 0)")),
        ("cut", |i| {
            name(i, NAMES[i], 4.0, "") + &opening(i, CUT, "transform='translate(8 30) scale(0.05)'")
        }),
        ("off-bed", |i| {
            name(i, NAMES[i], 4.0, &format!("translate(-{} 0)", 30 * (i + 1)))
        }),
        ("fine", |i| {
            let (x, y) = corner(i);
            name(i, NAMES[i], 4.0, "")
                + &format!(
                    "<path d='M{} {}h16v0.05h-16z' fill='{BURN}'/>",
                    x + 6,
                    y + 44
                )
        }),
    ]
}

/// What may be wrong with the fixture's lines in a run, with some or one of `pockets` concerned.
fn wrong_lines(pockets: usize, some: usize) -> Vec<(&'static str, String)> {
    let off = lines(pockets, OFF, OFF, 0);
    let moved = |how: &str| format!("<g transform='{how}'>{off}</g>");
    let some_are = |paint: &str, more: &str| -> String {
        lines(pockets, OFF, OFF, some)
            + &(0..some)
                .map(|i| opening(i, paint, more))
                .collect::<String>()
    };
    vec![
        ("moved", some_are(OFF, "transform='translate(0.4 -0.3)'")),
        (
            "reshaped",
            some_are(OFF, "").replacen("width='28'", "width='26'", some),
        ),
        ("missing", lines(pockets, OFF, OFF, some)),
        ("live", some_are(CUT, "")),
        ("all-live", lines(pockets, CUT, SCORE, 0)),
        (
            "added",
            off.clone()
                + &(0..some)
                    .map(|i| opening(i, OFF, &format!("transform='translate({} -58)'", 3 * i)))
                    .collect::<String>(),
        ),
        ("shift", moved("translate(1 -1)")),
        ("turn", moved("rotate(0.3 100 100)")),
        ("scale", moved("scale(1.01)")),
        ("units", moved("scale(0.75)")),
        ("flip", moved("translate(240 0) scale(-1 1)")),
        ("absent", String::new()),
    ]
}

impl Desk {
    fn new(pockets: usize, inches: bool) -> Self {
        let desk = Self {
            folder: tempfile::tempdir().unwrap(),
            pockets,
            inches,
        };
        desk.write("fixture.svg", &page(&lines(pockets, CUT, SCORE, 0)));
        let l = |mm| desk.length(mm);
        desk.write(
            "fixture.toml",
            &format!(
                "[fixture]\nname = \"Desk\"\ndrawing = \"fixture.svg\"\n[bed]\nwidth = {}\nheight = {}\nkeep-clear = {}\nrun-out = {}\n[paints]\ncut = [\"{CUT}\"]\nscore = [\"{SCORE}\"]\nengrave = [\"{BURN}\"]\noff = [\"{OFF}\"]\n[blank]\nsize = [{}, {}]\nbody = {}\n[zone]\nmargin = {}\n[names]\nplaceholders = [\"NAME\"]\n",
                l(240.0), l(200.0), l(1.0), l(2.0), l(27.6), l(59.6), l(45.0), l(2.0)
            ),
        );
        desk
    }

    fn length(&self, mm: f64) -> String {
        if self.inches {
            format!("\"{:.5} in\"", mm / 25.4)
        } else {
            format!("\"{mm} mm\"")
        }
    }

    fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    fn write(&self, file: &str, text: &str) {
        let path = self.path(file);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    /// A run whose first `wrong` pockets have other art.
    fn art(&self, wrong: usize, art: Art) -> String {
        let sound = |i| name(i, NAMES[i], 4.0, "translate(0 1.5)");
        (0..self.pockets)
            .map(|i| if i < wrong { art(i) } else { sound(i) })
            .collect()
    }

    fn runs(&self) {
        let off = lines(self.pockets, OFF, OFF, 0);
        for some in [1, 2, self.pockets] {
            let some = some.min(self.pockets);
            for (what, art) in wrong_art() {
                let file = format!("runs/{what}-{some}.svg");
                self.write(&file, &page(&(off.clone() + &self.art(some, art))));
            }
            for (what, lines) in wrong_lines(self.pockets, some) {
                let file = format!("runs/lines-{what}-{some}.svg");
                self.write(&file, &page(&(lines + &self.art(0, |_| String::new()))));
            }
        }
        let sound = page(&(off + &self.art(0, |_| String::new())));
        self.write(
            "runs/page.svg",
            &sound.replace(
                "width='240mm' height='200mm' viewBox='0 0 240 200'",
                "width='230mm' height='200mm' viewBox='0 0 230 200'",
            ),
        );
        self.write("sound.svg", &sound);
    }

    /// All that is said of this fixture, its runs and its lists, a text a call.
    fn said(&self) -> Vec<String> {
        self.runs();
        let at = |file: &str| self.path(file).display().to_string();
        let top = self.folder.path().display().to_string();
        let record = at("shop.jsonl");
        let mut said = vec![say(&["enrol", &top]), say(&["enrol", &top])];
        said.push(say(&["inspect", &at("runs"), "--record", &record]));
        said.extend(sentences(&say(&[
            "inspect",
            &at("runs"),
            "--format",
            "json",
        ])));
        for loaded in ["A1", "A2", "A1,A3", "A1-A9"] {
            said.push(say(&["inspect", &at("sound.svg"), "--loaded", loaded]));
        }
        let here = &NAMES[..self.pockets];
        let more: Vec<&str> = here.iter().copied().chain(["Zed", "Yara"]).collect();
        let slips: Vec<String> = here.iter().map(|n| format!("{n}h")).collect();
        let slips: Vec<&str> = slips.iter().map(String::as_str).collect();
        let long = ["Wilhelmina-Bartholomea von und zu Hohenzollernfels"; 2];
        for (what, rows) in [
            ("none", &[][..]),
            ("exact", here),
            ("one-more", &more[..=self.pockets]),
            ("two-more", &more[..]),
            ("one-less", &here[1..]),
            ("slips", &slips),
            ("long", &long[..1]),
            ("both-long", &long[..]),
        ] {
            let list = format!("{what}.csv");
            self.write(
                &list,
                &rows
                    .iter()
                    .fold("Name,Qty\n".to_owned(), |all, n| all + n + ",1\n"),
            );
            let by = ["--column", "Name"];
            let sound = at("sound.svg");
            said.push(say(
                &[&["inspect", &sound, "--names", &at(&list)], &by[..]].concat()
            ));
            said.push(say(&[
                &[
                    "inspect",
                    &sound,
                    &at("runs/bare-1.svg"),
                    "--names",
                    &at(&list),
                    "--quantity",
                    "Qty",
                ],
                &by[..],
            ]
            .concat()));
            said.push(say(&[
                &[
                    "fill",
                    &at(&list),
                    "--fixture",
                    &top,
                    "-o",
                    &at(&format!("out-{what}")),
                    "--record",
                    &record,
                ],
                &by[..],
            ]
            .concat()));
            said.push(say(&["record", &record]));
            said.push(say(&["record", &record, "--find", "Ada"]));
        }
        // A repair is tried on the file, which takes its time: of one desk in either unit.
        let mended = if self.pockets == 2 {
            wrong_art()
        } else {
            Vec::new()
        };
        for (what, _) in mended {
            let run = at(&format!("runs/{what}-1.svg"));
            said.push(say(&[
                "mend",
                &run,
                "-o",
                &at(&format!("mended-{what}.svg")),
            ]));
            said.push(say(&["proof", &run, "-o", &at("proof.svg")]));
        }
        // The proof's own words, which are the file's.
        if let Ok(proof) = std::fs::read_to_string(at("proof.svg")) {
            said.push(proof.replace('<', " <"));
        }
        self.write(
            "fixture.svg",
            &page(&(lines(self.pockets, CUT, SCORE, 1) + &opening(self.pockets, CUT, ""))),
        );
        said.push(say(&["enrol", &top]));
        said.push(say(&["enrol", &top, "--renew"]));
        std::fs::create_dir(at("new")).unwrap();
        std::fs::copy(self.path("fixture.svg"), self.path("new/fixture.svg")).unwrap();
        said
    }
}

/// What a report as JSON says in sentences, without layout: a text a sentence.
fn sentences(report: &str) -> Vec<String> {
    let report: serde_json::Value = serde_json::from_str(report).unwrap();
    let list = |v: &serde_json::Value| v.as_array().cloned().unwrap_or_default();
    let text = |v: &serde_json::Value| v.as_str().unwrap_or_default().to_owned();
    let mut said = Vec::new();
    for run in list(&report["runs"]) {
        said.extend(list(&run["notes"]).iter().map(text));
        for finding in list(&run["findings"]) {
            said.extend([&finding["message"], &finding["help"]].map(text));
            for choice in list(&finding["remedy"]["choices"]) {
                said.extend([&choice["says"], &choice["assumes"]].map(text));
            }
        }
    }
    assert!(said.len() > 100, "{said:?}");
    let spaced = said.iter().find(|s| s.contains("  ") || s.trim() != *s);
    assert_eq!(spaced, None);
    said.sort();
    said.dedup();
    said
}

/// What a call says on either stream, without what it quotes from files.
fn say(words: &[&str]) -> String {
    let done = Command::new(env!("CARGO_BIN_EXE_jigwarden"))
        .args(words)
        .output()
        .unwrap();
    let both = [done.stdout, done.stderr]
        .map(|b| String::from_utf8(b).unwrap())
        .concat();
    assert!(
        done.status.code().is_some_and(|c| c <= 2),
        "{words:?}: {both}"
    );
    both.lines()
        .filter(|l| !l.contains(['│', '╭', '╰', '┆', '·']))
        .collect::<Vec<_>>()
        .join("\n")
}

/// Planned fixtures, and drafts of drawings.
fn planned_and_drafted(folder: &Path) -> Vec<String> {
    let mut said = Vec::new();
    for (n, words) in [
        "--size 28mm 92mm --body 64mm --bed 600mm 400mm",
        "--size 28mm 92mm --body 64mm --bed 600mm 400mm --count 1",
        "--size 28mm 92mm --body 64mm --bed 600mm 400mm --count 2 --layout alternating",
        "--size 1-3/16in 4-5/8in --body 2-5/8in --bed 19-1/5in 10.98in --board 1/8in",
        "--size 1-3/16in 4-5/8in --bed 19-1/5in 10.98in --count 1",
        "--round 90mm --bed 300mm 200mm --layout staggered",
        "--round 90mm --bed 100mm 105mm",
        "--round 90mm --bed 60mm 60mm",
        "--size 28mm 92mm --bed 100mm 110mm --count 5",
        "--size 28mm 92mm --bed 40mm 110mm --count 5",
        "--size 28mm 92mm --bed 300mm 200mm --web 1mm",
        "--size 28mm 92mm --bed 70mm 200mm --web 1mm",
        "--size 28mm 92mm --body 120mm --bed 300mm 200mm",
        "--size 28mm 92mm --body 3mm --bed 300mm 200mm",
        "--size 28,5mm 92mm --bed 300mm 200mm",
    ]
    .iter()
    .enumerate()
    {
        let out = folder.join(format!("plan{n}")).display().to_string();
        let mut call = vec!["plan", "-o", &out];
        call.extend(words.split(' '));
        said.push(say(&call));
        said.push(say(&["enrol", &out]));
        // A drawing alone gives a draft.
        if std::fs::remove_file(folder.join(format!("plan{n}/fixture.toml"))).is_ok() {
            said.push(say(&["enrol", &format!("{out}/fixture.svg")]));
            let draft = std::fs::read_to_string(format!("{out}/fixture.toml")).unwrap();
            let comments = draft.lines().filter_map(|l| l.trim().strip_prefix('#'));
            said.extend(comments.map(str::to_owned));
            said.push(say(&["enrol", &out]));
        }
    }
    said
}

/// Nouns and verbs after "1" that end in "s" and are no plural.
const NO_PLURAL: [&str; 9] = [
    "is", "was", "has", "lies", "stays", "holds", "less", "comes", "this",
];

/// Words between a number and what it counts.
const BETWEEN: [&str; 8] = [
    "other", "more", "closed", "open", "hidden", "sheet", "loaded", "artwork",
];

/// The slips of a text, each with the words around it.
fn slips(text: &str) -> Vec<String> {
    let words: Vec<&str> = text
        .split_whitespace()
        .map(|w| w.trim_matches(['(', ')', ',', ';', ':']))
        .collect();
    let mut found = Vec::new();
    for (n, w) in words.iter().enumerate() {
        let next = |k: usize| words.get(n + k).copied().unwrap_or_default();
        let lower =
            |w: &str| !w.is_empty() && w.chars().all(|c| c.is_ascii_lowercase() || c == '-');
        let thing = if BETWEEN.contains(&next(1)) { 2 } else { 1 };
        let noun = next(thing);
        let sizes = n > 0 && ["×", "to"].contains(&words[n - 1]);
        let why = if (*w == "1" && !sizes)
            && lower(noun)
            && noun.ends_with('s')
            && !NO_PLURAL.contains(&noun)
        {
            "one of many"
        } else if *w == "0" && !sizes && lower(next(1)) && !["mm", "in", "of"].contains(&next(1)) {
            "none counted"
        } else if ["1", "one"].contains(w)
            && ["are", "have", "stay", "hold", "lie", "were", "come"].contains(&next(thing + 1))
            && lower(noun)
        {
            "one that are"
        } else if lower(w) && *w == next(1) {
            "a word twice"
        } else if w.split_once('.').is_some_and(|(a, b)| {
            a.parse::<i64>().is_ok() && b.len() > 4 && b.bytes().all(|c| c.is_ascii_digit())
        }) {
            "a long number"
        } else if ["NaN", "inf", "-0", "None", "()", "\"\""].contains(w) && next(1) != "of" {
            "a bare value"
        } else if *w == "a"
            && lower(next(1))
            && next(1).starts_with(['a', 'e', 'i', 'o'])
            && !next(1).starts_with("one")
        {
            "a before a vowel"
        } else if *w == "an"
            && lower(next(1))
            && !next(1).starts_with(['a', 'e', 'i', 'o', 'u', 'h'])
        {
            "an before a consonant"
        } else {
            continue;
        };
        let from = n.saturating_sub(4);
        let to = (n + 5).min(words.len());
        found.push(format!("{why}: … {} …", words[from..to].join(" ")));
    }
    for bad in [" ,", " .\n", " ;", ",,", "( ", " )", "..\n", "{", "}"] {
        if text.contains(bad) && !text.contains("<svg") {
            found.push(format!("{bad:?} in {text}"));
        }
    }
    found.sort();
    found.dedup();
    found
}

#[test]
fn slips_are_seen() {
    for text in [
        "1 lines",
        "1 other lines became 7",
        "0 other lines locked",
        "6 × 1.52 in in red",
        "one run stay as it was",
        "0.30000000000000004 mm",
        "a outline",
        "an page",
        "at NaN mm",
        "and 1 more pockets: A3",
    ] {
        assert_ne!(slips(text), [""; 0], "{text}");
    }
    for text in [
        "1 line",
        "none of the 2 runs",
        "0 mm to the left",
        "1 of 12",
        "28 × 1 mm",
        "1 is wanted",
        "an outline of a one-inch tag",
    ] {
        assert_eq!(slips(text), [""; 0], "{text}");
    }
}

/// The printed texts (`--nocapture`) are for reading aloud after a change to messages.
#[test]
fn nothing_that_is_said_has_a_slip() {
    let mut wrong = Vec::new();
    let mut check = |said: Vec<String>| {
        for text in said {
            println!("{text}\n");
            wrong.extend(slips(&text));
        }
    };
    for inches in [false, true] {
        for pockets in [1, 2, 3] {
            check(Desk::new(pockets, inches).said());
        }
    }
    let folder = tempfile::tempdir().unwrap();
    check(planned_and_drafted(folder.path()));
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
